/** An entry with what belongs to it: the remarks right above its first line, and those indented below its last. */
import { type FileSyntax, indexOfEntry, rangeAt } from '../../../grammar/file.ts';
import type { EntrySyntax } from '../../../grammar/syntax.ts';
import { type Edit, lineEndOf, rowAt } from './edit.ts';

/** Offsets in the file; `end` is behind the line end of the last row. */
export interface Block {
  readonly start: number;
  readonly end: number;
}

/** The row above the one that starts at `start`; none above the first, which may stand behind a byte order mark. */
function rowAbove(text: string, start: number): { start: number; end: number } | undefined {
  const first = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  return start <= first ? undefined : rowAt(text, start - (text.slice(0, start).endsWith('\r\n') ? 2 : 1));
}

/**
 * The block of an entry. Remarks above it belong to it when no empty line parts them, unless they are the first thing
 * in the file and a `use` line stands below them: those speak of the file.
 */
export function blockOf(file: FileSyntax, entry: EntrySyntax): Block | undefined {
  const { text } = file;
  const placed = file.placed.at(indexOfEntry(file, entry));
  if (!placed || !entry.head) return undefined;
  const head = rowAt(text, placed.offset + entry.head.span.start);
  let { start } = head;
  for (let above = rowAbove(text, start); above; above = rowAbove(text, above.start)) {
    if (!text.startsWith('#', above.start)) break;
    start = above.start;
  }
  const first = start === 0 || (start === 1 && text.charCodeAt(0) === 0xfeff);
  if (first && entry.form?.keyword === 'use') start = head.start;
  let { next: end } = rowAt(text, placed.offset + Math.max(entry.span.end - 1, entry.head.span.start));
  const limit = placed.offset + entry.text.length;
  while (end < limit) {
    const row = rowAt(text, end);
    if (!/^[^\S\r\n]+#/u.test(text.slice(row.start, row.end))) break;
    end = row.next;
  }
  return { start, end };
}

/** Takes an entry out with its block, and the empty lines that would be left between its neighbours. */
export function removeEntry(uri: string, file: FileSyntax, entry: EntrySyntax): Edit | undefined {
  const block = blockOf(file, entry);
  if (!block) return undefined;
  const { text } = file;
  let { start, end } = block;
  const isOneLine = entry.form?.keyword === 'use' || entry.form?.keyword === 'terrain';
  const above = rowAbove(text, start);
  const openAbove = !above || text.slice(above.start, above.end).trim() === '';
  if (!isOneLine || openAbove) {
    while (end < text.length) {
      const row = rowAt(text, end);
      if (text.slice(row.start, row.end).trim() !== '' || row.next === end) break;
      end = row.next;
    }
  }
  if (end >= text.length || text.slice(end).trim() === '') {
    // Nothing follows: the empty lines above go too.
    for (let row = rowAbove(text, start); row; row = rowAbove(text, row.start)) {
      if (text.slice(row.start, row.end).trim() !== '') break;
      start = row.start;
    }
  }
  return { uri, start, end, text: '' };
}

/** Takes several entries out at once: what two of them would both take is taken once. */
export function removeEntries(uri: string, file: FileSyntax, entries: readonly EntrySyntax[]): Edit[] {
  const all = entries.flatMap((entry) => removeEntry(uri, file, entry) ?? []).toSorted((a, b) => a.start - b.start);
  const joined: Edit[] = [];
  for (const edit of all) {
    const last = joined.at(-1);
    if (last && edit.start <= last.end) joined[joined.length - 1] = { ...last, end: Math.max(last.end, edit.end) };
    else joined.push(edit);
  }
  return joined;
}

/** The text of an entry's block, without its last line end. */
export function blockText(file: FileSyntax, block: Block): string {
  return file.text.slice(block.start, block.end).trimEnd();
}

/** Puts a new entry above the block of another, with an empty line between them. */
export function entryAbove(uri: string, file: FileSyntax, entry: EntrySyntax, text: string): Edit | undefined {
  const block = blockOf(file, entry);
  if (!block) return undefined;
  const eol = lineEndOf(file.text);
  return { uri, start: block.start, end: block.start, text: `${text.replaceAll('\n', eol)}${eol}${eol}` };
}

/** Where new `use` lines go: below the last one, or at the top, below the remarks that open the file. */
export function useLines(uri: string, file: FileSyntax, paths: readonly string[]): Edit {
  const { text } = file;
  const eol = lineEndOf(text);
  const lines = paths.map((path) => `use "${path}"`).join(eol);
  const last = file.entries.findLast(({ syntax }) => syntax.form?.keyword === 'use');
  if (last?.syntax.head) {
    const { end } = rowAt(text, last.offset + last.syntax.head.span.start);
    return { uri, start: end, end, text: eol + lines };
  }
  const first = file.entries.find(({ syntax }) => syntax.head);
  const block = first && blockOf(file, first.syntax);
  if (block) return { uri, start: block.start, end: block.start, text: `${lines}${eol}${eol}` };
  const end = text.length;
  return { uri, start: end, end, text: `${text === '' || /[\r\n]$/.test(text) ? '' : eol}${lines}${eol}` };
}

/** The entries that a range of lines touches. */
export function entriesBetween(file: FileSyntax, from: number, to: number): EntrySyntax[] {
  return file.entries.flatMap((placed) => {
    if (!placed.syntax.head) return [];
    const { start } = rangeAt(placed, placed.syntax.head.span);
    const { end } = rangeAt(placed, placed.syntax.span);
    return start.line <= to && end.line >= from ? [placed.syntax] : [];
  });
}
