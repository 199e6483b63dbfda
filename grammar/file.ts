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

/** How a file came from the one before: in one place, entries took the place of others. Some may be the same objects. */
export interface Change {
  /** The `self` of the file before. */
  readonly before: object;
  readonly removed: readonly EntrySyntax[];
  readonly added: readonly EntrySyntax[];
}

export interface FileSyntax {
  readonly text: string;
  /** In the order of the text; together they are the whole text. The first may be text before any entry. */
  readonly entries: readonly PlacedEntry[];
  /** Stands for this file where what is known of it is kept, without keeping its text. */
  readonly self?: object;
  /** Undefined for a file that was parsed afresh. */
  readonly change?: Change | undefined;
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

/** The pieces of a text from `begin`, where a piece starts on line `beginLine`, to `end`, where one ends; and the line there. */
function split(text: string, begin: number, beginLine: number, end: number): { pieces: Piece[]; line: number } {
  const pieces: Piece[] = [];
  const top = begin === 0 && text.charCodeAt(0) === 0xfeff ? 1 : begin;
  let from = begin;
  let fromLine = beginLine;
  let fromEntry = false;
  let line = beginLine;
  let at = top;
  while (at <= end) {
    if (at < end && startsEntry(text, at)) {
      if (at > from && (fromEntry || at > top)) {
        pieces.push({ text: text.slice(from, at), offset: from, line: fromLine, isEntry: fromEntry });
        from = at;
        fromLine = line;
      }
      fromEntry = true;
    }
    while (at < end && text.charCodeAt(at) !== 10 && text.charCodeAt(at) !== 13) at++;
    if (at >= end) break;
    at += text.charCodeAt(at) === 13 && text.charCodeAt(at + 1) === 10 ? 2 : 1;
    line++;
  }
  if (end > from || pieces.length === 0)
    pieces.push({ text: text.slice(from, end), offset: from, line: fromLine, isEntry: fromEntry });
  return { pieces, line };
}

/** Texts are compared in parts of so many characters, then the last part more closely. */
const PARTS = [8192, 512, 32, 1];

/** How many characters two texts have in common at their start. */
function alikeAtStart(one: string, other: string): number {
  const most = Math.min(one.length, other.length);
  let at = 0;
  for (const part of PARTS)
    while (at + part <= most && one.slice(at, at + part) === other.slice(at, at + part)) at += part;
  return at;
}

/** And at their end, of `most` at most. */
function alikeAtEnd(one: string, other: string, most: number): number {
  let behind = 0;
  const same = (part: number) =>
    one.slice(one.length - behind - part, one.length - behind) ===
    other.slice(other.length - behind - part, other.length - behind);
  for (const part of PARTS) while (behind + part <= most && same(part)) behind += part;
  return behind;
}

/** The last entry that starts at or before an offset; 0 for none. */
function entryAtOffset(entries: readonly PlacedEntry[], offset: number): number {
  let low = 0;
  let high = entries.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((entries[middle] as PlacedEntry).offset <= offset) low = middle;
    else high = middle - 1;
  }
  return low;
}

/**
 * The entries of a text. Entries of `before` whose text stands unchanged are kept as the same objects (the n-th of
 * several alike for the n-th), so that whatever is known of them can be kept by identity. Where `before` was parsed here,
 * only what stands around a difference is looked at. Entries of a `pool` are used where they read the same, and it takes
 * in what is new: several files may then hold the same object, and one file never twice. Never throws.
 */
export function parseFile(text: string, before?: FileSyntax, pool?: Map<string, EntrySyntax>): FileSyntax {
  const self = {};
  const old = before?.entries ?? [];
  // The entry before the difference and the one behind it are read again: a line end may join or part lines there.
  let first = 0;
  let behind = old.length;
  if (before?.self) {
    const start = alikeAtStart(before.text, text);
    const end = alikeAtEnd(before.text, text, Math.min(before.text.length, text.length) - start);
    first = Math.max(0, entryAtOffset(old, start) - 1);
    behind = Math.min(old.length, entryAtOffset(old, before.text.length - end) + 2);
  }
  const known = new Map<string, { readonly alike: EntrySyntax[]; next: number }>();
  const removed: EntrySyntax[] = [];
  for (let i = first; i < behind; i++) {
    const { syntax } = old[i] as PlacedEntry;
    removed.push(syntax);
    const key = (syntax.head ? 'e' : 'p') + syntax.text;
    const kept = known.get(key);
    if (kept) kept.alike.push(syntax);
    else known.set(key, { alike: [syntax], next: 0 });
  }
  const begin = old[first];
  const rest = old[behind];
  const moved = before ? text.length - before.text.length : 0;
  const { pieces, line: endLine } = split(
    text,
    first > 0 && begin ? begin.offset : 0,
    first > 0 && begin ? begin.line : 0,
    rest ? rest.offset + moved : text.length,
  );
  const isPart = rest !== undefined || first > 0;
  const pooled = new Set<EntrySyntax>();
  const added = pieces.map(({ text: own, isEntry }): EntrySyntax => {
    const key = (isEntry ? 'e' : 'p') + own;
    const kept = known.get(key);
    const again = kept?.alike[kept.next++];
    if (again) return again;
    const shared = pool?.get(key);
    if (shared && !pooled.has(shared)) {
      pooled.add(shared);
      return shared;
    }
    const made = parseEntry(isPart || pool ? ownCopy(own) : own, isEntry);
    if (pool && !shared && pool.size < MOST_POOLED) {
      pool.set(key, made);
      pooled.add(made);
    }
    return made;
  });
  const entries = old.slice(0, first);
  for (const [i, { offset, line }] of pieces.entries()) entries.push({ syntax: added[i] as EntrySyntax, offset, line });
  const down = rest ? endLine - rest.line : 0;
  for (let i = behind; i < old.length; i++) {
    const placed = old[i] as PlacedEntry;
    entries.push(
      moved === 0 && down === 0
        ? placed
        : { syntax: placed.syntax, offset: placed.offset + moved, line: placed.line + down },
    );
  }
  return { text, entries, self, change: before?.self && { before: before.self, removed, added } };
}

/** A pool takes in no more entries than these. */
const MOST_POOLED = 5000;

/** The same text as one of its own: a slice would keep the whole text that it was cut from. */
function ownCopy(text: string): string {
  return ` ${text}`.slice(1);
}

const lastIndex = new WeakMap<EntrySyntax, number>();

/** Where an entry stands in a file, by its place in the list; -1 when it is not there. */
export function indexOfEntry({ entries }: FileSyntax, entry: EntrySyntax): number {
  // Edits move an entry by little: it is looked for around where it stood last.
  const guess = lastIndex.get(entry);
  if (guess !== undefined) {
    if (entries[guess]?.syntax === entry) return guess;
    for (let off = 1; off <= 4; off++) {
      for (const index of [guess - off, guess + off]) {
        if (entries[index]?.syntax !== entry) continue;
        lastIndex.set(entry, index);
        return index;
      }
    }
  }
  const found = entries.findIndex(({ syntax }) => syntax === entry);
  if (found >= 0) lastIndex.set(entry, found);
  return found;
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
