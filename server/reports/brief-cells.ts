/** What the tables of a sheet are made of. */

/** A piece of text, and the SI value that it says; null for words. */
export interface BriefText {
  readonly text: string;
  readonly si: number | null;
}

export interface BriefCell {
  readonly main: BriefText;
  /** Stands small below, a line each. */
  readonly under: readonly BriefText[];
  /** The number that the sheet is carried for. */
  readonly strong?: boolean;
}

export interface BriefHead {
  readonly text: string;
  /** Of every number in the column; empty where the cells say it or there is none. */
  readonly unit: string;
  /** Words are set to the left, numbers to the right. */
  readonly words?: boolean;
}

export interface BriefRow {
  /** The first one names the row. */
  readonly cells: readonly BriefCell[];
  /** Small across the whole row, below its cells. */
  readonly notes: readonly BriefText[];
}

export interface BriefTable {
  readonly title: string;
  readonly heads: readonly BriefHead[];
  readonly rows: readonly BriefRow[];
  /** Where only some rows have room: the place of each among those that matter, from 0; without it, in their order. */
  readonly ranks?: readonly number[];
  /** What must be known to read it. */
  readonly notes: readonly string[];
}

/** Words. */
export const plainText = (text: string): BriefText => ({ text, si: null });
