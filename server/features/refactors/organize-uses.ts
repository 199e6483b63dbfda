/** The `use` lines of a file in order: at the top, sorted, each file once, and only those that are needed. */
import type { EntrySyntax, LineSyntax } from '../../../grammar/syntax.ts';
import { linksOf } from '../../plan/workspace.ts';
import type { Finding } from '../../rules/rule.ts';
import { blockOf, removeEntries } from '../fixes/blocks.ts';
import { type Edit, editedText, lineEndOf, rowAt } from '../fixes/edit.ts';
import { checkedAfter, type FixContext, newErrors } from '../fixes/fix.ts';

interface UseBlock {
  readonly entry: EntrySyntax;
  readonly path: string;
  readonly target: string | undefined;
  readonly text: string;
}

const isBroken = (line: LineSyntax | undefined) => !line || line.problems.length > 0;

/** Sorted by path as it is read: the folders above first, letters by their code. */
function byPath(a: UseBlock, b: UseBlock): number {
  return a.path < b.path ? -1 : a.path > b.path ? 1 : 0;
}

/** Below the remarks that open a file: the start of the row where its first `use` belongs. */
function topOf(text: string): number {
  let at = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  const start = at;
  while (text.startsWith('#', at)) at = rowAt(text, at).next;
  if (at === start) return start;
  const row = rowAt(text, at);
  // Remarks right above an entry speak of the entry, but for those above a `use`.
  if (text.slice(row.start, row.end).trim() === '') return row.next;
  return /^use\b/i.test(text.slice(row.start, row.end)) ? at : start;
}

/** The edits that put the `use` lines in order; none when they are, or when their order decides what a name means. */
export function organized(findings: readonly Finding[], context: FixContext): Edit[] {
  const { workspace, understood } = context;
  const { uri, syntax: file } = understood.file;
  const { text } = file;
  const uses = file.trees.filter(({ form }) => form?.keyword === 'use');
  if (uses.length === 0 || uses.some(({ head }) => isBroken(head))) return [];
  // Of two files that define one name the first counts.
  if (findings.some(({ code }) => code === 'defined-twice')) return [];
  const links = new Map(linksOf(workspace, understood.file).map((link) => [link.entry, link]));
  const unused = new Set(findings.filter(({ code }) => code === 'never-used').map(({ at }) => at.entry));
  const seen = new Set<string>();
  const blocks: UseBlock[] = [];
  for (const entry of uses) {
    const link = links.get(entry);
    const block = blockOf(file, entry);
    if (!link || !block) return [];
    const key = link.target ?? link.path;
    if (unused.has(entry) || seen.has(key)) continue;
    seen.add(key);
    const own = text.slice(block.start, block.end).replace(/[\r\n]+$/, '');
    blocks.push({ entry, path: link.path, target: link.target, text: own });
  }
  const eol = lineEndOf(text);
  const sorted = blocks.toSorted(byPath);
  const lines = sorted.map((block) => block.text).join(eol);
  const removed = removeEntries(uri, file, uses);
  const rest = editedText(text, removed);
  const top = topOf(rest);
  const behind = rest.slice(top).replace(/^(?:[^\S\r\n]*(?:\r\n|\n|\r))+/u, '');
  const after = rest.slice(0, top) + (lines === '' ? '' : lines + eol + (behind === '' ? '' : eol)) + behind;
  const edit = between(uri, text, ended(after, text, eol));
  if (!edit) return [];
  const checked = checkedAfter(context, [edit]);
  return checked && newErrors(findings, checked.findings, 'nothing').length === 0 ? [edit] : [];
}

/** A text without the empty lines that lines taken out have left at its end. */
function ended(after: string, before: string, eol: string): string {
  const kept = after.trimEnd();
  const ends = before.slice(before.trimEnd().length).match(/\r\n|\n|\r/g) ?? [];
  return ends.length > 1 || kept === after ? after : kept + eol;
}

/** One text made into another by what lies between their common beginning and end, in whole rows. */
function between(uri: string, before: string, after: string): Edit | undefined {
  if (before === after) return undefined;
  let start = 0;
  while (start < before.length && before[start] === after[start]) start++;
  start = rowAt(before, start).start;
  let tail = 0;
  while (tail < Math.min(before.length, after.length) - start && before.at(-1 - tail) === after.at(-1 - tail)) tail++;
  // Back to the start of a row, which is not between the two characters of one line end.
  const isRowStart = (at: number) => /[\r\n]/.test(before.charAt(at - 1)) && before.slice(at - 1, at + 1) !== '\r\n';
  while (tail > 0 && !isRowStart(before.length - tail)) tail--;
  return { uri, start, end: before.length - tail, text: after.slice(start, after.length - tail) };
}
