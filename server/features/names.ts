/**
 * Names and what they stand for: the name at a position, the entries it may mean, and every place that uses an entry,
 * over all files of the workspace.
 */
import type { LinePosition, PlacedEntry } from '../../grammar/file.ts';
import type { LineSyntax, NameNode } from '../../grammar/syntax.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import { meaningOf, namespaceOf } from '../plan/meaning.ts';
import { type NameUse, nameUsesIn } from '../plan/references.ts';
import type { Understood } from '../plan/understand.ts';
import { type Defined, lookUp, type SourceFile, scopeOf, type Workspace } from '../plan/workspace.ts';
import { locate } from './locate.ts';

/** A name of a file, where it is used or where an entry is given it. */
export interface NameAt {
  readonly namespace: Namespace;
  /** Normalised, without quotes. */
  readonly text: string;
  readonly node: NameNode;
  readonly line: LineSyntax;
  /** The entry in which it is written. */
  readonly placed: PlacedEntry;
  /** The entry's own name, not the use of another's. */
  readonly isDefinition: boolean;
}

/** The name at a position, its end included; undefined where no name stands. */
export function nameAt(understood: Understood, position: LinePosition): NameAt | undefined {
  const located = locate(understood.file.syntax, position);
  if (!located) return undefined;
  const { placed, line, node, slot } = located;
  if (!line || !slot || node?.kind !== 'name' || node.text === '') return undefined;
  const isDefinition = node === placed.syntax.name;
  const namespace = slot.refers ?? (isDefinition ? namespaceOf(meaningOf(placed.syntax)) : undefined);
  return namespace && { namespace, text: node.text, node, line, placed, isDefinition };
}

/** The entry that gives itself this name. */
export function definedHere(understood: Understood, placed: PlacedEntry): Defined {
  return { file: understood.file, placed, meaning: meaningOf(placed.syntax) };
}

/**
 * The entries that a name may mean, the one that counts first; none when it is unknown. A name that an entry gives itself
 * means that entry alone, even when another of the same name comes first.
 */
export function definitionsOf(understood: Understood, name: NameAt): Defined[] {
  if (name.isDefinition) return [definedHere(understood, name.placed)];
  return lookUp(understood.scope, name.namespace, name.text);
}

/** A use of a name where it stands in its file. */
export interface PlacedUse {
  readonly placed: PlacedEntry;
  readonly use: NameUse;
}

const indexes = new WeakMap<SourceFile, ReadonlyMap<string, readonly PlacedUse[]>>();

const keyOf = (namespace: Namespace, text: string): string => `${namespace} ${text}`;

function indexOf(file: SourceFile): ReadonlyMap<string, readonly PlacedUse[]> {
  const known = indexes.get(file);
  if (known) return known;
  const index = new Map<string, PlacedUse[]>();
  for (const placed of file.syntax.entries) {
    for (const use of nameUsesIn(placed.syntax)) {
      const key = keyOf(use.namespace, use.node.text);
      const alike = index.get(key);
      if (alike) alike.push({ placed, use });
      else index.set(key, [{ placed, use }]);
    }
  }
  indexes.set(file, index);
  return index;
}

/** The uses of a name in one file, in order, whatever it stands for there. */
export function usesInFile(file: SourceFile, namespace: Namespace, text: string): readonly PlacedUse[] {
  return indexOf(file).get(keyOf(namespace, text)) ?? [];
}

/** The uses of an entry in one file. */
export interface UsesInFile {
  readonly file: SourceFile;
  /** In order; at least one. */
  readonly uses: readonly PlacedUse[];
}

/** Whether two are the same entry of the same file. */
export function isSame(a: Defined, b: Defined): boolean {
  return a.file.uri === b.file.uri && a.placed.syntax === b.placed.syntax;
}

/**
 * Every use of an entry in the files of the workspace, by file: where the name, in the scope of the file that uses it,
 * means this entry and no nearer one.
 */
export function usesOf(workspace: Workspace, definition: Defined): UsesInFile[] {
  const namespace = namespaceOf(definition.meaning);
  const { name } = definition.meaning;
  if (!namespace || name === '') return [];
  const found: UsesInFile[] = [];
  for (const file of workspace.files.values()) {
    const uses = usesInFile(file, namespace, name);
    if (uses.length === 0) continue;
    const meant = lookUp(scopeOf(workspace, file), namespace, name)[0];
    if (meant && isSame(meant, definition)) found.push({ file, uses });
  }
  return found;
}
