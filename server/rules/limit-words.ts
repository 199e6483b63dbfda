/** What the rules of a club's limits share. */
import type { LineSyntax } from '../../grammar/syntax.ts';
import type { AppliedLimits, Place, TaskEvaluation } from '../plan/task.ts';
import { taskPlace } from './leg-words.ts';
import { type Found, quoted, type Related, type TaskContext, textAt } from './rule.ts';

/** Where the line of a limit is written. */
export function limitPlace(limits: AppliedLimits, line: LineSyntax): Place {
  return { ...limits.at, span: line.span };
}

/** The line of a limit as a related place. */
export function limitRelated(limits: AppliedLimits, line: LineSyntax): Related[] {
  return [{ at: limitPlace(limits, line), message: `the limit, in ${limits.meaning.name}` }];
}

/** Of several limits of a kind the strictest is told, so that one cause gives one finding. */
export function strictest<T>(
  evaluation: TaskEvaluation,
  of: (limits: AppliedLimits) => { readonly value: T; readonly line: LineSyntax } | undefined,
  stricter: (one: T, other: T) => boolean,
): { readonly limits: AppliedLimits; readonly value: T; readonly line: LineSyntax } | undefined {
  let found: { limits: AppliedLimits; value: T; line: LineSyntax } | undefined;
  for (const limits of evaluation.limits) {
    const one = of(limits);
    if (one && (!found || stricter(one.value, found.value))) found = { limits, ...one };
  }
  return found;
}

/** Where a task names limits; for those of all tasks, its name. */
export function namedPlace(limits: AppliedLimits, context: TaskContext): Place {
  return limits.line ? context.at(limits.node.span) : taskPlace(context);
}

/** A limit that nobody can check is told too: what it waits for, and the way out. */
export function notChecked(limits: AppliedLimits, line: LineSyntax, why: string, context: TaskContext): Found {
  const written = textAt(limits.meaning.entry, line.span).replace(/\s+/g, ' ');
  return {
    at: namedPlace(limits, context),
    message: `${quoted(written)} of ${limits.meaning.name} is not checked: ${why}`,
    related: limitRelated(limits, line),
    meets: `limits ${limits.meaning.name}`,
    severity: 'warning',
  };
}

/** The end of every limit's page. */
export const AGREED =
  'It is not turned off: change the task, or the limit where the club agrees on it. `severity` in the settings can make it a warning, no less.';
