/** The entries of a file, and where each stands. */
import type { EntrySyntax } from './syntax.ts';

/** An entry where it stands in its file. */
export interface PlacedEntry {
  readonly syntax: EntrySyntax;
  /** Offset of the entry's text in the file. */
  readonly offset: number;
  /** Line, from 0, on which the entry's text starts. */
  readonly line: number;
}

/** Numbers kept of the place of each entry: its offset and its line. */
const WIDTH = 2;

/**
 * An edit moves every entry behind it. So a place is two numbers in a list of all of them, and a {@link PlacedEntry} is
 * made for whoever asks.
 */
export class PlacedEntries {
  readonly trees: readonly EntrySyntax[];
  private readonly places: Int32Array;
  /** Those that were asked for, so that each is one object. */
  private readonly made = new Map<number, PlacedEntry>();
  private list: readonly PlacedEntry[] | undefined;

  /** `places` holds the offset and the line of each tree, one after the other. */
  constructor(trees: readonly EntrySyntax[], places: Int32Array) {
    this.trees = trees;
    this.places = places;
  }

  /** The offset of an entry that is there. */
  offsetOf(index: number): number {
    return this.places[WIDTH * index] as number;
  }

  /** The line of an entry that is there. */
  lineOf(index: number): number {
    return this.places[WIDTH * index + 1] as number;
  }

  at(index: number): PlacedEntry | undefined {
    const known = this.made.get(index);
    if (known) return known;
    const syntax = this.trees[index];
    if (!syntax) return undefined;
    const placed = { syntax, offset: this.offsetOf(index), line: this.lineOf(index) };
    this.made.set(index, placed);
    return placed;
  }

  all(): readonly PlacedEntry[] {
    this.list ??= this.trees.map((_, index) => this.at(index) as PlacedEntry);
    return this.list;
  }

  /** The last entry that starts at or before an offset; 0 for none. */
  byOffset(offset: number): number {
    return this.last(0, offset);
  }

  /** The last entry that starts on or above a line; 0 for none. */
  byLine(line: number): number {
    return this.last(1, line);
  }

  private last(part: number, value: number): number {
    let low = 0;
    let high = this.trees.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if ((this.places[WIDTH * middle + part] as number) <= value) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  /**
   * With others in the place of those from `first` up to `behind`. Those that stand behind move by `moved` characters and
   * `down` lines.
   */
  spliced(
    first: number,
    behind: number,
    others: readonly PlacedEntry[],
    { moved, down }: { readonly moved: number; readonly down: number },
  ): PlacedEntries {
    const trees = this.trees.slice(0, first);
    for (const { syntax } of others) trees.push(syntax);
    const more = others.length - (behind - first);
    const places = new Int32Array(WIDTH * (this.trees.length + more));
    places.set(this.places.subarray(0, WIDTH * first));
    let at = WIDTH * first;
    for (const { offset, line } of others) {
      places[at++] = offset;
      places[at++] = line;
    }
    places.set(this.places.subarray(WIDTH * behind), at);
    for (let i = behind; i < this.trees.length; i++) trees.push(this.trees[i] as EntrySyntax);
    if (moved !== 0 || down !== 0) {
      for (; at < places.length; at += WIDTH) {
        (places[at] as number) += moved;
        (places[at + 1] as number) += down;
      }
    }
    return new PlacedEntries(trees, places);
  }
}

export const NO_ENTRIES = new PlacedEntries([], new Int32Array(0));
