/**
 * A file as a list of entries. An entry is an unindented line and the lines below it up to the next one, so a scan of
 * the lines splits the file, and an entry whose text did not change keeps its tree.
 */
import { entryToRead, Lines, parseEntry } from './entry.ts';
import { NO_ENTRIES, type PlacedEntries, type PlacedEntry } from './placed.ts';
import type { EntrySyntax, Span } from './syntax.ts';
import { DETAIL_ONLY } from './vocabulary.ts';

export type { PlacedEntry } from './placed.ts';

/** How a file came from the one before: in one place, entries took the place of others. Some may be the same objects. */
export interface Change {
  /** The `self` of the file before. */
  readonly before: object;
  /** Where they stand in the list of entries, before and after. */
  readonly index: number;
  readonly removed: readonly EntrySyntax[];
  readonly added: readonly EntrySyntax[];
}

export interface FileSyntax {
  /** Put together when it is first asked for, of a file that came from {@link editFile}. */
  readonly text: string;
  /** In the order of the text; together they are the whole text. The first may be text before any entry. */
  readonly trees: readonly EntrySyntax[];
  /** The same with their places: made when they are first asked for, an object each. */
  readonly entries: readonly PlacedEntry[];
  /** The same, to ask for some. */
  readonly placed: PlacedEntries;
  /** Stands for this file where what is known of it is kept, without keeping its text. */
  readonly self: object;
  /** Undefined for a file that was parsed afresh. */
  readonly change: Change | undefined;
  /** Entries that edits took out, the last first: one that comes back, such as by an undo, is the same object again. */
  readonly recent: readonly Recent[];
}

class File implements FileSyntax {
  readonly placed: PlacedEntries;
  readonly self = {};
  readonly change: Change | undefined;
  readonly recent: readonly Recent[];
  private all: string | undefined;

  constructor(placed: PlacedEntries, change: Change | undefined, recent: readonly Recent[], text?: string) {
    this.placed = placed;
    this.change = change;
    this.recent = recent;
    this.all = text;
  }

  /** A long text costs more than all else of an edit. */
  get text(): string {
    this.all ??= this.trees.map(({ text }) => text).join('');
    return this.all;
  }

  get trees(): readonly EntrySyntax[] {
    return this.placed.trees;
  }

  get entries(): readonly PlacedEntry[] {
    return this.placed.all();
  }
}

interface Recent {
  /** Its text, and whether that starts an entry. */
  readonly key: string;
  readonly entry: EntrySyntax;
}

/** So many entries that went are remembered, and none longer than so many characters. */
const MOST_RECENT = 8;
const LONGEST_RECENT = 4000;

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

/** Whether the first piece of a file starts with an entry's first line. */
function isEntryText(text: string): boolean {
  const top = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  return top < text.length && startsEntry(text, top);
}

interface Piece {
  readonly text: string;
  readonly offset: number;
  readonly line: number;
  readonly isEntry: boolean;
}

/** How a text falls into entries: the text of each, and whether it starts with an entry's first line. */
export function entryTexts(text: string): readonly { readonly text: string; readonly isEntry: boolean }[] {
  return split(text, 0, 0).pieces;
}

/** The pieces of a text, or of a part of one that starts with a piece at `offset`, on line `beginLine`; and the line at its end. */
function split(text: string, offset: number, beginLine: number): { pieces: Piece[]; line: number } {
  const pieces: Piece[] = [];
  const end = text.length;
  const top = offset === 0 && text.charCodeAt(0) === 0xfeff ? 1 : 0;
  let from = 0;
  let fromLine = beginLine;
  let fromEntry = false;
  let line = beginLine;
  const lines = new Lines(text);
  for (let at = top; ; line++) {
    if (at < end && startsEntry(text, at)) {
      if (at > from && (fromEntry || at > top)) {
        pieces.push({ text: text.slice(from, at), offset: offset + from, line: fromLine, isEntry: fromEntry });
        from = at;
        fromLine = line;
      }
      fromEntry = true;
    }
    at = lines.behind(at);
    if (at > end) break;
  }
  if (end > from || pieces.length === 0)
    pieces.push({ text: text.slice(from, end), offset: offset + from, line: fromLine, isEntry: fromEntry });
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

/** So many texts are remembered, and so many entries kept, before it starts anew. */
const MOST_POOLED = 5000;

/**
 * Entries that many files may share, by their text: those that were seen before. One that a single file has is not kept,
 * so that it is gone while it is young, which costs the collector of garbage next to nothing.
 */
export class EntryPool {
  private readonly seen = new Set<string>();
  private readonly shared = new Map<string, EntrySyntax>();

  get(key: string): EntrySyntax | undefined {
    return this.shared.get(key);
  }

  /** Takes in an entry whose text was seen before, and notes the text of another. */
  put(key: string, entry: EntrySyntax): void {
    if (this.seen.delete(key)) {
      if (this.shared.size < MOST_POOLED) this.shared.set(key, entry);
      return;
    }
    if (this.seen.size >= MOST_POOLED) this.seen.clear();
    this.seen.add(key);
  }
}

/**
 * The entries of a text. Entries of `before` whose text stands unchanged are kept as the same objects (the n-th of
 * several alike for the n-th), so that whatever is known of them can be kept by identity. Where `before` is a file, only
 * what stands around a difference is looked at; it may be entries alone. Entries of a `pool` are used where they read the
 * same, and it takes in what is new: several files may then hold the same object, and one file never twice. Never throws.
 */
export function parseFile(text: string, before?: FileSyntax | readonly EntrySyntax[], pool?: EntryPool): FileSyntax {
  if (!before || !('self' in before)) {
    const old = before ?? [];
    return reparsed({ old, first: 0, behind: old.length, text }, undefined, pool, parseEntry, text);
  }
  const { placed, trees: old } = before;
  const start = alikeAtStart(before.text, text);
  const end = alikeAtEnd(before.text, text, Math.min(before.text.length, text.length) - start);
  const { first, behind } = entriesAround(placed, start, before.text.length - end);
  const isAll = first === 0 && behind === old.length;
  const moved = text.length - before.text.length;
  const to = moved + (behind < old.length ? placed.offsetOf(behind) : before.text.length);
  const part = isAll ? text : text.slice(first > 0 ? placed.offsetOf(first) : 0, to);
  return reparsed({ old, first, behind, text: part }, before, pool, parseEntry, text);
}

/** How many characters a file has. */
function lengthOf({ placed }: FileSyntax): number {
  const last = placed.trees.length - 1;
  return last < 0 ? 0 : placed.offsetOf(last) + (placed.trees[last] as EntrySyntax).text.length;
}

/** The offset of a position in a file; the nearest that there is, and never between the two characters of a line end. */
export function offsetAt(file: FileSyntax, { line, character }: LinePosition): number {
  const placed = entryAtLine(file, line);
  if (!placed) return 0;
  const { text, lineStarts } = placed.syntax;
  const start = lineStarts[line - placed.line];
  if (start === undefined) return line < placed.line ? placed.offset : lengthOf(file);
  const end = lineEndAt(text, start, lineStarts[line - placed.line + 1]);
  return placed.offset + Math.min(Math.max(start + character, start), end);
}

const isLineEnd = (c: number): boolean => c === 10 || c === 13;

/**
 * A file with `inserted` in the place of what stands from the offset `start` up to `end`: as {@link parseFile} would
 * read it, at the cost of the entries that it touches. Never throws.
 */
export function editFile(before: FileSyntax, start: number, end: number, inserted: string): FileSyntax {
  return editedWithin(before, start, end, inserted) ?? editedAround(before, start, end, inserted);
}

function editedAround(before: FileSyntax, start: number, end: number, inserted: string): FileSyntax {
  const { placed, trees: old } = before;
  const { first, behind } = entriesAround(placed, start, end);
  const from = first < old.length ? placed.offsetOf(first) : 0;
  let whole = '';
  for (let i = first; i < behind; i++) whole += (old[i] as EntrySyntax).text;
  const text = whole.slice(0, start - from) + inserted + whole.slice(end - from);
  return reparsed({ old, first, behind, text }, before, undefined, entryToRead);
}

const isBlank = (c: number): boolean => c === 32 || c === 9;

/**
 * What most edits are, cheaper: one behind the first character of an indented line, and within it, so that no entry
 * begins or ends elsewhere than before. Undefined of any other edit.
 */
function editedWithin(before: FileSyntax, start: number, end: number, inserted: string): FileSyntax | undefined {
  const { placed, recent, self } = before;
  const index = placed.byOffset(start);
  const offset = placed.offsetOf(index);
  const old = placed.trees[index] as EntrySyntax;
  const { text, lineStarts } = old;
  const row = rowAt(lineStarts, start - offset);
  const at = lineStarts[row] as number;
  const isWithin = start - offset > at && end - offset <= lineEndAt(text, at, lineStarts[row + 1]);
  if (!isWithin || !isBlank(text.charCodeAt(at)) || /[\r\n]/.test(inserted)) return undefined;
  const moved = inserted.length - (end - start);
  const own = ownCopy(text.slice(0, start - offset) + inserted + text.slice(end - offset));
  // Of text before any entry alone the first line may be an indented one, which begins none.
  const isEntry = index > 0 || isEntryText(text);
  const kind = isEntry ? 'e' : 'p';
  const back = own === text ? old : recent.find(({ key }) => key === kind + own)?.entry;
  const starts = lineStarts.map((one, i) => (i > row ? one + moved : one));
  const entry = back ?? entryToRead(own, isEntry, old, starts);
  const change = { before: self, index, removed: [old], added: [entry] };
  const there = placed.spliced(index, index + 1, [{ syntax: entry, offset, line: placed.lineOf(index) }], {
    moved,
    down: 0,
  });
  const others = recent.filter((one) => one.entry !== entry);
  const went = entry !== old && text.length < LONGEST_RECENT ? [{ key: kind + text, entry: old }] : [];
  return new File(there, change, [...went, ...others].slice(0, MOST_RECENT));
}

/** The same file, as one that came from `before` in one step; several steps may lie between. */
export function changedSince(before: FileSyntax, file: FileSyntax): FileSyntax {
  if (file.change?.before === before.self) return file;
  const old = before.trees;
  const { trees } = file;
  const least = Math.min(old.length, trees.length);
  let index = 0;
  while (index < least && old[index] === trees[index]) index++;
  let behind = 0;
  while (behind < least - index && old[old.length - 1 - behind] === trees[trees.length - 1 - behind]) behind++;
  const part = (all: readonly EntrySyntax[]) => all.slice(index, all.length - behind);
  return new File(file.placed, { before: before.self, index, removed: part(old), added: part(trees) }, file.recent);
}

/** A part of a file that is read anew: the entries that stood there, and its text now. */
interface Part {
  readonly old: readonly EntrySyntax[];
  /** The first of them, and the first behind them. */
  readonly first: number;
  readonly behind: number;
  readonly text: string;
}

/**
 * The entries around a difference that reaches from `start` to `end`. The one before it and the one behind it are read
 * again: a line end may join or part lines there.
 */
function entriesAround(
  placed: PlacedEntries,
  start: number,
  end: number,
): { readonly first: number; readonly behind: number } {
  return {
    first: Math.max(0, placed.byOffset(start) - 1),
    behind: Math.min(placed.trees.length, placed.byOffset(end) + 2),
  };
}

function reparsed(
  { old, first, behind, text }: Part,
  before: FileSyntax | undefined,
  pool: EntryPool | undefined,
  read: typeof parseEntry,
  all?: string,
): FileSyntax {
  const known = new Map<string, { readonly alike: EntrySyntax[]; next: number }>();
  const removed: EntrySyntax[] = [];
  const left = new Map<EntrySyntax, string>();
  for (let i = first; i < behind; i++) {
    const syntax = old[i] as EntrySyntax;
    removed.push(syntax);
    // Only the first may be none. Its tree is not asked for, since it may have yet to be read.
    const key = (i > 0 || isEntryText(syntax.text) ? 'e' : 'p') + syntax.text;
    left.set(syntax, key);
    const kept = known.get(key);
    if (kept) kept.alike.push(syntax);
    else known.set(key, { alike: [syntax], next: 0 });
  }
  const was = before?.placed ?? NO_ENTRIES;
  const offset = first > 0 ? was.offsetOf(first) : 0;
  const { pieces, line: endLine } = split(text, offset, first > 0 ? was.lineOf(first) : 0);
  const isRest = behind < old.length;
  const isPart = isRest || first > 0;
  const pooled = new Set<EntrySyntax>();
  const recent = [...(before?.recent ?? [])];
  const isAlike = pieces.length === behind - first;
  const added = pieces.map(({ text: own, isEntry }, i): EntrySyntax => {
    const key = (isEntry ? 'e' : 'p') + own;
    const kept = known.get(key);
    const again = kept?.alike[kept.next++];
    if (again) {
      left.delete(again);
      return again;
    }
    const back = recent.findIndex((one) => one.key === key);
    if (back >= 0) return (recent.splice(back, 1)[0] as Recent).entry;
    const shared = pool?.get(key);
    if (shared && !pooled.has(shared)) {
      pooled.add(shared);
      return shared;
    }
    const made = read(isPart || pool ? ownCopy(own) : own, isEntry, isAlike ? old[first + i] : undefined);
    if (pool && !shared) {
      pool.put(key, made);
      pooled.add(made);
    }
    return made;
  });
  const others = pieces.map(({ offset: at, line }, i) => ({ syntax: added[i] as EntrySyntax, offset: at, line }));
  const shift = {
    moved: isRest ? offset + text.length - was.offsetOf(behind) : 0,
    down: isRest ? endLine - was.lineOf(behind) : 0,
  };
  const placed = was.spliced(first, before ? behind : first, others, shift);
  for (const [entry, key] of left) if (key.length <= LONGEST_RECENT) recent.unshift({ key, entry });
  const change = before?.self && { before: before.self, index: first, removed, added };
  return new File(placed, change, recent.slice(0, MOST_RECENT), all);
}

/** The same text as one of its own: a slice would keep the whole text that it was cut from. */
function ownCopy(text: string): string {
  return ` ${text}`.slice(1);
}

const lastIndex = new WeakMap<EntrySyntax, number>();

/** Where an entry stands in a file, by its place in the list; -1 when it is not there. */
export function indexOfEntry({ trees }: FileSyntax, entry: EntrySyntax): number {
  // Edits move an entry by little: it is looked for around where it stood last.
  const guess = lastIndex.get(entry);
  if (guess !== undefined) {
    if (trees[guess] === entry) return guess;
    for (let off = 1; off <= 4; off++) {
      for (const index of [guess - off, guess + off]) {
        if (trees[index] !== entry) continue;
        lastIndex.set(entry, index);
        return index;
      }
    }
  }
  const found = trees.indexOf(entry);
  if (found >= 0) lastIndex.set(entry, found);
  return found;
}

/** The line of an entry that an offset lies in, from 0. */
export function rowAt(starts: readonly number[], offset: number): number {
  let low = 0;
  let high = starts.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((starts[middle] as number) <= offset) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** The position of an offset inside an entry, in its file. */
export function positionAt({ syntax: { lineStarts }, line }: PlacedEntry, offset: number): LinePosition {
  const row = rowAt(lineStarts, offset);
  return { line: line + row, character: offset - (lineStarts[row] as number) };
}

/** A span inside an entry as a range of its file. */
export function rangeAt(placed: PlacedEntry, span: Span): { start: LinePosition; end: LinePosition } {
  return {
    start: positionAt(placed, span.start),
    end: positionAt(placed, span.end),
  };
}

/** A line of a file, without its end; empty where there is no such line. */
export function lineAt(file: FileSyntax, line: number): string {
  const placed = entryAtLine(file, line);
  const row = placed ? line - placed.line : -1;
  const start = placed?.syntax.lineStarts[row];
  if (!placed || start === undefined) return '';
  const { text, lineStarts } = placed.syntax;
  return text.slice(start, lineEndAt(text, start, lineStarts[row + 1]));
}

/** Where a line that starts at `start` ends, before its line end; `next` is where the next one starts. */
function lineEndAt(text: string, start: number, next: number | undefined): number {
  let end = next ?? text.length;
  while (end > start && isLineEnd(text.charCodeAt(end - 1))) end--;
  return end;
}

/** The entry that a line of the file lies in. */
export function entryAtLine({ placed }: FileSyntax, line: number): PlacedEntry | undefined {
  return placed.at(placed.byLine(line));
}
