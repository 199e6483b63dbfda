/** Moves entries to another file, known or new, and brings them in from there. */
import { CodeActionKind, type Range } from 'vscode-languageserver-types';
import { URI, Utils } from 'vscode-uri';
import type { EntrySyntax } from '../../../grammar/syntax.ts';
import type { Namespace } from '../../../grammar/vocabulary.ts';
import { nameUsesIn } from '../../plan/references.ts';
import { fileName, linksOf, nearestOf, reaches, type SourceFile, scopeOf, someOf } from '../../plan/workspace.ts';
import { blockOf, blockText, entriesBetween, removeEntries, useLines } from '../fixes/blocks.ts';
import { type Edit, lineEndOf } from '../fixes/edit.ts';
import type { FixContext } from '../fixes/fix.ts';
import { relativePath, usable } from '../fixes/paths.ts';
import { shownName } from '../fixes/writing.ts';
import { locate, touches } from '../locate.ts';
import type { Refactorer, Refactoring } from './refactoring.ts';

const MOST_FILES = 5;

/** The entries to be moved: those that the selection touches, or the one on whose first line the caret stands. */
function chosen(range: Range, { understood }: FixContext): EntrySyntax[] {
  const file = understood.file.syntax;
  const { start, end } = range;
  const isEmpty = start.line === end.line && start.character === end.character;
  const located = locate(file, start);
  const head = located?.placed.syntax.head;
  if (isEmpty && !(head && located.line === head && touches(head.span, located.offset))) return [];
  const last = end.character === 0 && end.line > start.line ? end.line - 1 : end.line;
  const entries = entriesBetween(file, start.line, last).filter(({ form, name }) => form?.namespace && name);
  // A selection inside one entry is about what is selected there.
  const [only] = entries;
  if (!isEmpty && entries.length === 1 && only && located?.placed.syntax === only && located.line !== only.head)
    return [];
  return entries;
}

/** What moved entries name and where it is: files to be used from their new place. */
interface Needs {
  readonly files: ReadonlySet<SourceFile>;
  /** They name something that stays. */
  readonly stays: boolean;
}

function needsOf(entries: readonly EntrySyntax[], { understood }: FixContext): Needs {
  const moved = new Set(entries);
  const files = new Set<SourceFile>();
  let stays = false;
  for (const { namespace, node } of entries.flatMap(nameUsesIn)) {
    const found = nearestOf(understood.scope, namespace, node.text);
    if (!found || moved.has(found.entry)) continue;
    if (found.file === understood.file) stays = true;
    else files.add(found.file);
  }
  return { files, stays };
}

/** Whether what stays in the file names something that is moved. */
function isNamed(entries: readonly EntrySyntax[], { understood }: FixContext): boolean {
  const moved = new Set(entries);
  return understood.entries.some(
    ({ placed }) =>
      !moved.has(placed.syntax) &&
      nameUsesIn(placed.syntax).some(({ namespace, node }) => {
        const found = nearestOf(understood.scope, namespace, node.text);
        return found !== undefined && moved.has(found.entry);
      }),
  );
}

/** The entries with their remarks, as text. */
function textOf(entries: readonly EntrySyntax[], { understood }: FixContext, eol: string): string {
  const file = understood.file.syntax;
  return entries
    .flatMap((entry) => {
      const block = blockOf(file, entry);
      return block ? [blockText(file, block).replace(/\r\n|\n|\r/g, eol)] : [];
    })
    .join(eol + eol);
}

/** Whether a file brings another in already, directly or through others. */
function sees(from: SourceFile, to: string, { workspace }: FixContext): boolean {
  return reaches(workspace, from.uri, to);
}

/** The `use` lines that the new place of the entries wants. */
function usesIn(
  target: string,
  known: SourceFile | undefined,
  needs: Needs,
  context: FixContext,
): string[] | undefined {
  const { workspace, understood } = context;
  const paths: string[] = [];
  const wanted = [...needs.files].filter((file) => file.uri !== target && !(known && sees(known, file.uri, context)));
  // What one of them brings in need not be named beside it.
  const direct = wanted.filter((file) => !wanted.some((other) => other !== file && sees(other, file.uri, context)));
  // Through this file all is seen that is seen here.
  const uris = needs.stays ? [understood.file.uri] : direct.map(({ uri }) => uri);
  for (const uri of uris) {
    if (known && sees(known, uri, context)) continue;
    const path = relativePath(workspace, target, uri);
    if (path === undefined || reaches(workspace, uri, target)) return undefined;
    paths.push(path);
  }
  return paths;
}

/** The edits that take the entries out here, and bring them in again where that is wanted. */
function leave(
  entries: readonly EntrySyntax[],
  target: string,
  imports: boolean,
  context: FixContext,
): Edit[] | undefined {
  const { workspace, understood } = context;
  const { uri, syntax } = understood.file;
  const edits = removeEntries(uri, syntax, entries);
  const isThere = linksOf(workspace, understood.file).some((link) => link.target === target);
  if (!imports || isThere) return edits;
  const path = relativePath(workspace, uri, target);
  if (path === undefined) return undefined;
  const use = useLines(uri, syntax, [path]);
  // The line goes in where an entry goes out: one edit at that place.
  const at = edits.findIndex(({ start, end }) => start <= use.start && use.start <= end);
  if (at < 0) return [...edits, use];
  return edits.map((edit, i) => (i === at ? { ...edit, text: use.text } : edit));
}

/** A new file beside this one, named after the first of the entries. */
function newName(entry: EntrySyntax, { workspace, understood }: FixContext): string {
  const name = (entry.name?.text ?? '').toLowerCase().replace(/[^\p{L}\p{N}]+/gu, '-');
  const base = name.replace(/^-+|-+$/g, '').slice(0, 40) || (entry.form?.keyword ?? 'plan');
  const folder = Utils.dirname(URI.parse(understood.file.uri));
  const uriOf = (count: number) =>
    Utils.joinPath(folder, `${base}${count === 1 ? '' : `-${count}`}.taskplan`).toString();
  const isThere = (uri: string) => {
    const why = workspace.unreadable.get(uri);
    return workspace.files.has(uri) || (why !== undefined && why !== 'missing');
  };
  let count = 1;
  while (isThere(uriOf(count))) count++;
  return uriOf(count);
}

/** Whether an entry of one of the names is there already, seen from the new place or from here. */
function isTaken(entries: readonly EntrySyntax[], known: SourceFile | undefined, context: FixContext): boolean {
  const moved = new Set(entries);
  const scopes = [context.understood.scope, ...(known ? [scopeOf(context.workspace, known)] : [])];
  const names = new Map(entries.map(({ form, name }) => [`${form?.namespace} ${name?.text ?? ''}`, { form, name }]));
  return [...names.values()].some(({ form, name }) =>
    scopes.some((scope) => someOf(scope, form?.namespace as Namespace, name?.text ?? '', (entry) => !moved.has(entry))),
  );
}

export const moveEntries: Refactorer = function* (range, context) {
  const { workspace, understood, createFiles } = context;
  const { file } = understood;
  const entries = chosen(range, context);
  const [first] = entries;
  if (!first) return;
  const what =
    entries.length === 1
      ? `the ${first.form?.keyword} ${shownName(first.name?.text ?? '')}`
      : `${entries.length} entries`;
  const needs = needsOf(entries, context);
  const named = isNamed(entries, context);
  // Each would use the other.
  if (needs.stays && named) return;
  const onlyTasks = entries.every(({ form }) => form?.keyword === 'task');
  // A task is called by no name, so nothing here wants it; and where what is moved needs this file, this one cannot use it.
  const imports = !needs.stays && (named || !onlyTasks);
  const offer = (target: string, known: SourceFile | undefined): Refactoring | undefined => {
    if (isTaken(entries, known, context)) return undefined;
    const uses = usesIn(target, known, needs, context);
    const here = leave(entries, target, imports, context);
    if (!uses || !here) return undefined;
    const eol = lineEndOf((known ?? file).syntax.text);
    const text = textOf(entries, context, eol);
    if (!known) {
      const lines = uses.map((path) => `use "${path}"${eol}`).join('');
      const created = [{ uri: target, text: `${lines}${lines === '' ? '' : eol}${text}${eol}` }];
      return {
        title: `Move ${what} to a new file, ${shownName(fileName(target))}`,
        kind: CodeActionKind.RefactorExtract,
        edits: here,
        created,
      };
    }
    const whole = known.syntax.text;
    const bodyEnd = whole.trimEnd().length;
    const gap = bodyEnd === 0 ? '' : eol + eol;
    const end = { uri: target, start: bodyEnd, end: whole.length, text: `${gap}${text}${eol}` };
    const head = uses.length > 0 ? [useLines(target, known.syntax, uses)] : [];
    const edits = [...here, ...head, end];
    if (head.some((edit) => edit.start >= bodyEnd)) return undefined;
    return {
      title: `Move ${what} to ${shownName(relativePath(workspace, file.uri, target) ?? fileName(target))}`,
      kind: CodeActionKind.RefactorMove,
      edits,
    };
  };
  const inScope = new Set(scopeOf(workspace, file).files);
  const targets = usable(workspace, file.uri).sort((a, b) => Number(inScope.has(b)) - Number(inScope.has(a)));
  for (const known of targets.slice(0, MOST_FILES)) {
    const made = offer(known.uri, known);
    if (made) yield made;
  }
  if (!createFiles) return;
  const made = offer(newName(first, context), undefined);
  if (made) yield made;
};
