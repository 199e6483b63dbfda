/**
 * A file as a list of entries. An entry is an unindented line and the lines below it up to the next one, so a scan of
 * the lines splits the file, and an entry whose text did not change keeps its tree.
 */
import { parseEntry } from './entry.ts';
import type { EntrySyntax, Span } from './syntax.ts';
import { DETAIL_ONLY } from './vocabulary.ts';

/** An entry where it stands in its file. */
export interface PlacedEntry {
  readonly syntax: EntrySyntax;
  /** Offset of the entry's text in the file. */
  readonly offset: number;
  /** Line, from 0, on which the entry's text starts. */
  readonly line: number;
}

export interface FileSyntax {
  readonly text: string;
  /** In the order of the text; together they are the whole text. The first may be text before any entry. */
  readonly entries: readonly PlacedEntry[];
}

/** From 0; `character` counts UTF-16 code units. */
export interface LinePosition {
  readonly line: number;
  readonly character: number;
}

const FIRST_WORD = /[\p{L}]+/uy;

/** Whether an unindented line at `at` starts an entry: not when it is a comment, or a detail that lost its indentation. */
function startsEntry(text: string, at: number): boolean {
  const c = text[at] as string;
  if (c === '#' || c === '\r' || c === '\n' || c.trim() === '') return false;
  FIRST_WORD.lastIndex = at;
  const word = FIRST_WORD.exec(text)?.[0].toLowerCase();
  return word === undefined || !DETAIL_ONLY.has(word);
}

interface Piece {
  readonly text: string;
  readonly offset: number;
  readonly line: number;
  readonly isEntry: boolean;
}

function split(text: string): Piece[] {
  const pieces: Piece[] = [];
  let from = 0;
  let fromLine = 0;
  let fromEntry = false;
  let line = 0;
  let at = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  while (at <= text.length) {
    if (at < text.length && startsEntry(text, at)) {
      if (at > from && (fromEntry || at > (text.charCodeAt(0) === 0xfeff ? 1 : 0))) {
        pieces.push({
          text: text.slice(from, at),
          offset: from,
          line: fromLine,
          isEntry: fromEntry,
        });
        from = at;
        fromLine = line;
      }
      fromEntry = true;
    }
    while (at < text.length && text.charCodeAt(at) !== 10 && text.charCodeAt(at) !== 13) at++;
    if (at >= text.length) break;
    at += text.charCodeAt(at) === 13 && text.charCodeAt(at + 1) === 10 ? 2 : 1;
    line++;
  }
  if (text.length > from || pieces.length === 0) {
    pieces.push({
      text: text.slice(from),
      offset: from,
      line: fromLine,
      isEntry: fromEntry,
    });
  }
  return pieces;
}

/**
 * The entries of a text. Entries of `before` whose text stands unchanged are kept as the same objects (the n-th of
 * several alike for the n-th), so that whatever is known of them can be kept by identity. Never throws.
 */
export function parseFile(text: string, before?: FileSyntax): FileSyntax {
  const known = new Map<string, { readonly alike: EntrySyntax[]; next: number }>();
  for (const { syntax } of before?.entries ?? []) {
    const key = (syntax.head ? 'e' : 'p') + syntax.text;
    const kept = known.get(key);
    if (kept) kept.alike.push(syntax);
    else known.set(key, { alike: [syntax], next: 0 });
  }
  const entries = split(text).map(({ text: own, offset, line, isEntry }): PlacedEntry => {
    const kept = known.get((isEntry ? 'e' : 'p') + own);
    return { syntax: kept?.alike[kept.next++] ?? parseEntry(own, isEntry), offset, line };
  });
  return { text, entries };
}

/** The position of an offset inside an entry, in its file. */
export function positionAt(placed: PlacedEntry, offset: number): LinePosition {
  const starts = placed.syntax.lineStarts;
  let low = 0;
  let high = starts.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((starts[middle] as number) <= offset) low = middle;
    else high = middle - 1;
  }
  return {
    line: placed.line + low,
    character: offset - (starts[low] as number),
  };
}

/** A span inside an entry as a range of its file. */
export function rangeAt(placed: PlacedEntry, span: Span): { start: LinePosition; end: LinePosition } {
  return {
    start: positionAt(placed, span.start),
    end: positionAt(placed, span.end),
  };
}

/** The entry that a line of the file lies in. */
export function entryAtLine(file: FileSyntax, line: number): PlacedEntry | undefined {
  let low = 0;
  let high = file.entries.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((file.entries[middle] as PlacedEntry).line <= line) low = middle;
    else high = middle - 1;
  }
  return file.entries[low];
}
