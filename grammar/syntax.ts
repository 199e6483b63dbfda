/**
 * The syntax tree: what is written, with exact places, and nothing of what it means. Every part of a line may be
 * missing, since half-typed text is the normal case in an editor. Places are offsets from the start of the entry's
 * text, so that an entry keeps its tree wherever it moves in the file.
 */
import type { Token } from './tokens.ts';
import type { Unit } from './units.ts';
import type { EntryForm, Form } from './vocabulary.ts';

/** Offsets in UTF-16 code units from the start of the entry; `end` is exclusive. */
export interface Span {
  readonly start: number;
  readonly end: number;
}

export interface NameNode {
  readonly kind: 'name';
  readonly span: Span;
  /** Normalised (NFC), without quotes: names compare by this. */
  readonly text: string;
  readonly quoted: boolean;
  /** Unquoted though it is a keyword: an error, but its meaning is plain. */
  readonly keyword: boolean;
}

export interface TextNode {
  readonly kind: 'text';
  readonly span: Span;
  readonly text: string;
}

export interface NumberPart {
  readonly span: Span;
  readonly text: string;
  /** Undefined when it cannot be read for certain, as `1,000`. */
  readonly value: number | undefined;
}

export interface UnitPart {
  readonly span: Span;
  readonly text: string;
  /** Undefined for a word that is no unit. */
  readonly unit: Unit | undefined;
}

export type Datum = 'MSL' | 'AGL';

export interface DatumPart {
  readonly span: Span;
  readonly text: string;
  readonly datum: Datum | undefined;
}

export interface QuantityNode {
  readonly kind: 'quantity';
  readonly span: Span;
  readonly number: NumberPart;
  readonly unit: UnitPart | undefined;
  readonly datum: DatumPart | undefined;
}

export interface FlightLevelNode {
  readonly kind: 'flightLevel';
  readonly span: Span;
  /** In hundreds of feet on 1013.25 hPa. */
  readonly level: number;
}

export interface DurationNode {
  readonly kind: 'duration';
  readonly span: Span;
  readonly parts: readonly QuantityNode[];
}

export interface AngleNode {
  readonly span: Span;
  readonly text: string;
  readonly notation: 'degrees' | 'minutes' | 'seconds';
  readonly degrees: number;
  readonly minutes: number;
  readonly seconds: number;
  /** Undefined for a number that cannot be read for certain. */
  readonly value: number | undefined;
  readonly hemisphere: { readonly span: Span; readonly text: string } | undefined;
}

export interface CoordinatesNode {
  readonly kind: 'coordinates';
  readonly span: Span;
  readonly first: AngleNode;
  readonly second: AngleNode | undefined;
}

export interface DateNode {
  readonly kind: 'date';
  readonly span: Span;
  readonly text: string;
  readonly year: number;
  readonly month: number;
  readonly day: number;
}

export interface TimeNode {
  readonly kind: 'time';
  readonly span: Span;
  readonly text: string;
  readonly hour: number;
  readonly minute: number;
  readonly second: number;
  /** Minutes ahead of UTC; undefined when no zone is written. */
  readonly zoneMinutes: number | undefined;
}

export interface RatioNode {
  readonly kind: 'ratio';
  readonly span: Span;
  readonly text: string;
  readonly value: number;
}

export interface RunwayEnd {
  readonly span: Span;
  readonly text: string;
  readonly number: number;
  readonly letter: string;
}

export interface RunwayNode {
  readonly kind: 'runway';
  readonly span: Span;
  readonly text: string;
  readonly ends: readonly RunwayEnd[];
}

export interface UnitNode {
  readonly kind: 'unit';
  readonly span: Span;
  readonly text: string;
  readonly unit: Unit | undefined;
}

export interface WordNode {
  readonly kind: 'word';
  readonly span: Span;
  readonly text: string;
}

export type ValueNode =
  | NameNode
  | TextNode
  | QuantityNode
  | FlightLevelNode
  | DurationNode
  | CoordinatesNode
  | DateNode
  | TimeNode
  | RatioNode
  | RunwayNode
  | UnitNode
  | WordNode;

/** What is wrong with the writing of a line; the rules put it in words. */
export type SyntaxProblem =
  | {
      readonly kind: 'unexpected';
      readonly span: Span;
      readonly expected: string;
      readonly found: string | undefined;
    }
  | {
      readonly kind: 'line-too-long';
      readonly span: Span;
      readonly expected: string;
      readonly found: string;
    }
  | {
      readonly kind: 'entry-unknown';
      readonly span: Span;
      readonly found: string;
    }
  | {
      readonly kind: 'detail-unknown';
      readonly span: Span;
      readonly found: string;
      readonly entry: EntryForm;
    }
  | { readonly kind: 'detail-without-entry'; readonly span: Span }
  | {
      readonly kind: 'not-indented';
      readonly span: Span;
      readonly found: string;
    }
  | { readonly kind: 'text-unclosed'; readonly span: Span };

/** A line of an entry that holds more than a comment. */
export interface LineSyntax {
  /** From its first token to its last (comments not included). */
  readonly span: Span;
  /** The keyword that the line starts with, as far as it is written. */
  readonly keyword: Span;
  /** Undefined when the line could not be told for any form. */
  readonly form: Form | undefined;
  /** Made when they are asked for: who needs them more than once keeps them meanwhile. */
  readonly tokens: readonly Token[];
  /** What stands in each slot of the form, by the slot's name. */
  readonly slots: Readonly<Record<string, ValueNode | undefined>>;
  /** Keywords of the form that carry a meaning (`surface`, `bestGlide`, …), with their place. */
  readonly flags: Readonly<Record<string, Span | undefined>>;
  readonly problems: readonly SyntaxProblem[];
}

export interface EntrySyntax {
  /** The entry's text, up to the start of the next entry. */
  readonly text: string;
  /** Undefined for text before the first entry, and when the keyword is unknown. */
  readonly form: EntryForm | undefined;
  /** Undefined for text before the first entry. */
  readonly head: LineSyntax | undefined;
  /** What the head names the entry, where it does. */
  readonly name: NameNode | undefined;
  readonly details: readonly LineSyntax[];
  readonly comments: readonly Token[];
  /** Offsets at which the entry's lines start. */
  readonly lineStarts: readonly number[];
  /** From the head's first token to the last token of its last detail. */
  readonly span: Span;
  /** Every line could be told for a form, and none has a problem. */
  readonly isSound: boolean;
}

/** Every line of an entry that holds something. */
export function linesOf(entry: EntrySyntax): readonly LineSyntax[] {
  return entry.head ? [entry.head, ...entry.details] : entry.details;
}

/** The details of an entry that have this form, in order. */
export function detailsOf(entry: EntrySyntax, id: string): LineSyntax[] {
  return entry.details.filter((line) => line.form?.id === id);
}
