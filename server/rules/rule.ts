/** What a rule is: one file with its check, its message and its page. */
import type { EntrySyntax, LineSyntax, Span } from '../../grammar/syntax.ts';
import type { LegalEnd } from '../plan/day.ts';
import type { Fault, Meaning } from '../plan/meaning.ts';
import type { Show } from '../plan/show.ts';
import type { Cause, LegEvaluation, Place, TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';

/** The gravest first. */
export const SEVERITIES = ['error', 'warning', 'info', 'hint'] as const;

export type Severity = (typeof SEVERITIES)[number];

/** What `explain` and the editor show of a rule. */
export interface Page {
  /** What the finding says, in a sentence or three. */
  readonly means: string;
  /** Why it matters in the air. */
  readonly why: string;
  /** A plan that raises it; it may `use "club.taskplan"`, the club in `club.ts`. */
  readonly bad: string;
  /** The same plan, mended. */
  readonly good: string;
  /** How to turn it down, or why one cannot. */
  readonly turnDown: string;
}

export interface Related {
  readonly at: Place;
  readonly message: string;
}

/** By how much something is wrong, in SI: of two findings of one cause about the same, the greater is the graver. */
export interface Excess {
  readonly of: 'height' | 'distance' | 'time' | 'speed' | 'mass';
  readonly si: number;
}

/** What a check found. Message: plain and complete, the number that matters first, the way out last. */
export interface Found {
  readonly at: Place;
  readonly message: string;
  readonly related?: readonly Related[];
  /** Where it differs from the rule's own. */
  readonly severity?: Severity;
  /**
   * What is met, asked or named twice, or the side on which something is wrong, where one place may have such a finding
   * for several: `airspace Aldmere`. With another one it is another finding.
   */
  readonly meets?: string;
  readonly excess?: Excess;
  /** The text is not needed; editors grey it. */
  readonly unnecessary?: boolean;
}

export interface Finding extends Found {
  readonly code: string;
  readonly severity: Severity;
  readonly related: readonly Related[];
}

/** An entry by itself. What a check sees here depends on nothing outside the entry, so its findings are kept with it. */
export interface EntryContext {
  readonly entry: EntrySyntax;
  readonly meaning: Meaning;
  readonly show: Show;
  at(span: Span): Place;
}

/** What the rules of a reader's country and the like set. */
export interface CheckOptions {
  /** When the legal day ends; at sunset, unless said otherwise. */
  readonly legalEnd?: LegalEnd;
}

export interface TaskContext {
  readonly evaluation: TaskEvaluation;
  readonly show: Show;
  readonly options: CheckOptions;
  at(span: Span): Place;
}

export interface FileContext {
  readonly workspace: Workspace;
  readonly understood: Understood;
  readonly show: Show;
}

/**
 * What there is in an entry: faults in its values, problems in how its lines are built, no line for a detail that it
 * needs, two for one that it may have once, characters that nobody sees, a keyword as a name; or that it is of a kind.
 */
export type Trait =
  | 'faults'
  | 'problems'
  | 'lacks'
  | 'repeats'
  | 'hides'
  | 'keyword-named'
  | Exclude<Meaning['kind'], 'none'>;

export interface Rule {
  /** Stable: words with hyphens. */
  readonly code: string;
  readonly severity: Severity;
  /** One line for lists. */
  readonly title: string;
  readonly page: Page;
  /** Entries without any of these are not looked at, neither their lines nor as a whole: nothing is found there. */
  readonly needs?: Trait | readonly Trait[];
  /** A line of an entry, as written. */
  readonly line?: (line: LineSyntax, context: EntryContext) => Iterable<Found>;
  readonly entry?: (context: EntryContext) => Iterable<Found>;
  readonly task?: (context: TaskContext) => Iterable<Found>;
  /** A leg of a task; called for every leg, computed or not. */
  readonly leg?: (leg: LegEvaluation, context: TaskContext) => Iterable<Found>;
  readonly file?: (context: FileContext) => Iterable<Found>;
}

/** The faults of an entry that have this code. */
export function faultsOf<C extends Fault['fault']['code']>(
  context: EntryContext,
  code: C,
): (Fault & { readonly fault: Extract<Fault['fault'], { code: C }> })[] {
  return context.meaning.faults.filter(
    (f): f is Fault & { readonly fault: Extract<Fault['fault'], { code: C }> } => f.fault.code === code,
  );
}

/** A cause as a related place. */
export function causeRelated(cause: Cause): Related {
  return { at: cause.at, message: cause.text };
}

/** The text of a span of an entry. */
export function textAt(entry: EntrySyntax, span: Span): string {
  return entry.text.slice(span.start, span.end);
}

/** `a`, `a or b`, `a, b or c`. */
export function orList(items: readonly string[]): string {
  if (items.length < 2) return items.join('');
  return `${items.slice(0, -1).join(', ')} or ${items[items.length - 1]}`;
}

/** A name as one would write it in a plan. */
export function quoted(name: string): string {
  return `\`${name}\``;
}
