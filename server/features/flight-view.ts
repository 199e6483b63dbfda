/** The flight view: every task of a file as a picture, with the same numbers as text, and the place of the caret in it. */
import type { Picture } from '../plan/picture.ts';
import type { Severity } from '../rules/rule.ts';

export interface FlightViewFinding {
  /** The number of the leg that it is of; null for the task's others. */
  readonly leg: number | null;
  /** From 0. */
  readonly line: number;
  readonly severity: Severity;
  readonly code: string;
  readonly message: string;
}

/** A task as the flight view shows it. */
export interface FlightViewTask {
  readonly picture: Picture;
  /** The legs as text, each under the heads of every budget table (`LEG_HEADS`). */
  readonly rows: readonly (readonly string[])[];
  /** Distance and times, in words. */
  readonly totals: string;
  /** The least margin with its leg, in words; null where no leg has one. */
  readonly least: string | null;
  /** What it is computed with, in words. */
  readonly madeWith: string;
  readonly findings: readonly FlightViewFinding[];
}
