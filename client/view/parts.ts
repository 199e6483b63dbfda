/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
/** Further parts of the flight view's panel, each in a section of its own: its identifier is the part's name. */
import type { FlightViewTask } from '../../server/features/flight-view.ts';

/** What the view shows: the tasks of a file, and which of them. */
export interface Shown {
  readonly uri: string;
  readonly file: string;
  /** Of the answer that the tasks came with. */
  readonly id: string;
  readonly tasks: readonly FlightViewTask[];
  /** Index of the task that is drawn, from 0. */
  readonly task: number;
  /** Number of the leg that is lit, from 1; null for none. */
  readonly leg: number | null;
}

/** What a part can do in the view. */
export interface PartHost {
  /** Sends a body to the part's other half in the extension. */
  post(body: unknown): void;
  /** Is told of what its other half sends. The body has yet to be checked. */
  onMessage(told: (body: unknown) => void): void;
  /** Is told of what is shown, at once and after every change; undefined while there is nothing to show. */
  onShown(told: (shown: Shown | undefined) => void): void;
  /**
   * Draws another flight in place of the task of that index, with words over the drawing that say what it is (such as
   * `what-if, not written`); undefined draws the plan again. The plan's own next change does not end it.
   */
  showInstead(
    instead: { readonly task: number; readonly flight: FlightViewTask; readonly note: string } | undefined,
  ): void;
  /** What the part kept of itself, across hiding the panel and reloading the window; it has yet to be checked. */
  readonly kept: unknown;
  /** Keeps a JSON value. */
  keep(state: unknown): void;
  /** Says words to a screen reader, politely. */
  say(words: string): void;
}

/** Builds itself into its section, which is empty. */
export type Part = (section: HTMLElement, host: PartHost) => void;
