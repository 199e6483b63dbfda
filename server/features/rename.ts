/** Renames an entry: its own name, and every line of every file that means it. */
import type { Range, TextEdit, WorkspaceEdit } from 'vscode-languageserver-types';
import { type LinePosition, type PlacedEntry, rangeAt } from '../../grammar/file.ts';
import { needsQuotes } from '../../grammar/names.ts';
import type { NameNode, Span } from '../../grammar/syntax.ts';
import { hiddenIn } from '../plan/hidden.ts';
import { namespaceOf } from '../plan/meaning.ts';
import { NAMESPACE_NOUNS } from '../plan/references.ts';
import { harmless } from '../plan/text.ts';
import type { Understood } from '../plan/understand.ts';
import {
  type Defined,
  fileName,
  linksOf,
  lookUp,
  type SourceFile,
  scopeOf,
  type Workspace,
} from '../plan/workspace.ts';
import { definitionsOf, isSame, type NameAt, nameAt, usesOf } from './names.ts';

/** Why something cannot be renamed, as a sentence for the reader. */
export interface Refused {
  readonly refused: string;
}

/** What is to be renamed. */
export interface Prepared {
  /** The name without quotes. */
  readonly range: Range;
  readonly placeholder: string;
}

/** Where a name stands, without its quotes. */
export function insideOf(placed: PlacedEntry, { span, quoted }: NameNode): Span {
  if (!quoted) return span;
  const written = placed.syntax.text.slice(span.start + 1, span.end);
  const inside = written.endsWith('"') ? written.slice(0, -1) : written.trimEnd();
  return { start: span.start + 1, end: span.start + 1 + inside.length };
}

/** A file that the scope of another wants and that cannot be read. */
function unreadableIn(workspace: Workspace, understood: Understood): string | undefined {
  for (const file of understood.scope.files) {
    for (const { target } of linksOf(workspace, file)) {
      if (target && !workspace.files.has(target)) return fileName(target);
    }
  }
  return undefined;
}

function found(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
): { name: NameAt; definition: Defined } | Refused {
  const name = nameAt(understood, position);
  if (!name)
    return { refused: 'Only names can be renamed: put the cursor on the name of an entry, or where a line uses it.' };
  if (name.line.problems.some(({ kind }) => kind === 'text-unclosed'))
    return { refused: 'Close the quotes first: without them it is not certain where the name ends.' };
  const [definition] = definitionsOf(understood, name);
  if (definition) return { name, definition };
  const missing = unreadableIn(workspace, understood);
  const why = missing
    ? `\`${missing}\`, which may define it, cannot be read`
    : 'correct the name, define it, or use the file that does';
  return { refused: `No ${NAMESPACE_NOUNS[name.namespace]} is called \`${harmless(name.text)}\` here: ${why}.` };
}

/** What a rename at this position is about, or why there is nothing to rename. */
export function prepareRename(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
): Prepared | Refused {
  const target = found(workspace, understood, position);
  if ('refused' in target) return target;
  const { placed, node, text } = target.name;
  return { range: rangeAt(placed, insideOf(placed, node)), placeholder: text };
}

/** Why a text cannot be a name, or a path, at all. */
export function unfit(text: string, what: 'name' | 'path'): string | undefined {
  if (text === '') return `A ${what} has at least one letter.`;
  if (text.includes('"')) return `A ${what} cannot hold quotation marks: they say where it ends.`;
  if (/[\p{Cc}\p{Zl}\p{Zp}]/u.test(text))
    return `A ${what} stands on one line, without line ends, tabs or other control characters.`;
  if (hiddenIn(text).length > 0)
    return `The ${what} holds a character that nobody sees: it would not be what it looks like.`;
  return text.isWellFormed() ? undefined : `The ${what} holds half a character.`;
}

/** The entry that already has a name wherever the renamed one is seen, and the file from which both are. */
function clash(
  workspace: Workspace,
  definition: Defined,
  name: string,
): { with_: Defined; seenBy: SourceFile } | undefined {
  const namespace = namespaceOf(definition.meaning);
  if (!namespace) return undefined;
  const home = definition.file.uri;
  for (const file of workspace.files.values()) {
    const scope = scopeOf(workspace, file);
    if (!scope.files.some(({ uri }) => uri === home)) continue;
    // Tasks are not called by name, so those of other files may be called alike.
    const others = lookUp(scope, namespace, name).filter((other) => namespace !== 'task' || other.file.uri === home);
    const with_ = others.find((other) => !isSame(other, definition));
    if (with_) return { with_, seenBy: file };
  }
  return undefined;
}

/** A name as it is written where another stood: in quotes if it needs them or the other had them. */
function nameEdit(placed: PlacedEntry, node: NameNode, name: string): TextEdit {
  const newText = !node.quoted && needsQuotes(name) ? `"${name}"` : name;
  return { range: rangeAt(placed, insideOf(placed, node)), newText };
}

/** The edits of a rename in all files, or why it cannot be. No edits when the name stays what it is. */
export function rename(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
  newName: string,
): WorkspaceEdit | Refused {
  const target = found(workspace, understood, position);
  if ('refused' in target) return target;
  const { definition } = target;
  const name = newName.trim().normalize('NFC');
  if (name === definition.meaning.name) return { changes: {} };
  const refused = unfit(name, 'name');
  if (refused) return { refused };
  const taken = clash(workspace, definition, name);
  if (taken) {
    const { with_, seenBy } = taken;
    const where = `in \`${fileName(with_.file.uri)}\``;
    const seen = seenBy.uri === with_.file.uri ? '' : `, which \`${fileName(seenBy.uri)}\` sees too`;
    return {
      refused: `Another ${NAMESPACE_NOUNS[target.name.namespace]} is called \`${harmless(name)}\` already, ${where}${seen}.`,
    };
  }
  const edits = new Map<string, TextEdit[]>();
  const add = ({ uri }: SourceFile, edit: TextEdit): void => {
    const own = edits.get(uri);
    if (own) own.push(edit);
    else edits.set(uri, [edit]);
  };
  const own = definition.placed.syntax.name;
  if (own) add(definition.file, nameEdit(definition.placed, own, name));
  for (const { file, uses } of usesOf(workspace, definition)) {
    for (const { placed, use } of uses) add(file, nameEdit(placed, use.node, name));
  }
  return { changes: Object.fromEntries(edits) };
}
