import type { Cause, LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { eastTask, legName, legPlace, taskPlace } from './leg-words.ts';
import { causeRelated, type Rule } from './rule.ts';

interface Group {
  readonly cause: Cause;
  readonly legs: LegEvaluation[];
}

/** The legs that are not computed, by what keeps them. */
function groupsOf({ legs }: TaskEvaluation): Group[] {
  const groups: Group[] = [];
  for (const leg of legs) {
    // A leg that names no cause of its own waits for what the leg before it waits for: no leg is silent.
    const cause = leg.cause ?? groups.at(-1)?.cause;
    if (leg.result || !cause) continue;
    const same = groups.find(
      (group) =>
        group.cause.text === cause.text &&
        group.cause.at.entry === cause.at.entry &&
        group.cause.at.span.start === cause.at.span.start,
    );
    if (same) same.legs.push(leg);
    else groups.push({ cause, legs: [leg] });
  }
  return groups;
}

function legsText(legs: readonly LegEvaluation[]): string {
  const [first] = legs;
  if (!first) return '';
  const more = legs.length - 1;
  const together = legs.every((leg, i) => leg.number === first.number + i);
  if (more === 0) return `${legName(first)} is`;
  const others = more === 1 ? (together ? 'the leg after it' : 'another leg') : `${more} other legs`;
  return `${legName(first)} and ${together && more > 1 ? `the ${more} legs after it` : others} are`;
}

/** Legs that are not computed, with what they wait for. */
export const notComputed: Rule = {
  code: 'not-computed',
  severity: 'warning',
  title: 'Legs are not computed',
  page: {
    means:
      'A fact that these legs need is missing or cannot be read, so no height is computed for them. The message names it; it stands once, on the first leg that waits for it. It is an error where the cause lies in another file, since nothing in this one would tell of it.',
    why: 'A leg without a number looks like a leg without a problem. Nothing is made from a part of the facts, so until this one is there, nobody has checked whether the leg arrives.',
    bad: eastTask({ turn: 'Mill' }, 'turnpoint Mill at 47.2500 N 19.5200 E\n'),
    good: eastTask({ turn: 'Mill' }, 'turnpoint Mill at 47.2500 N 19.5200 E\n  elevation 140 m\n'),
    turnDown:
      '`severity` in the settings can make the warning an info or a hint, or turn it off; an error stays a warning.',
  },
  *task(context) {
    const { evaluation } = context;
    const elsewhere = (cause: Cause) => (cause.at.uri === evaluation.uri ? {} : { severity: 'error' as const });
    const [cause] = evaluation.causes;
    if (evaluation.legs.length === 0) {
      if (!cause) return;
      yield {
        at: taskPlace(context),
        message: `the task is not computed: ${cause.text}.`,
        related: evaluation.causes.map(causeRelated),
        ...elsewhere(cause),
      };
      return;
    }
    for (const group of groupsOf(evaluation)) {
      const { at } = group.cause;
      // A leg whose own line says what is wrong needs no second word.
      const own = (leg: LegEvaluation) =>
        at.entry === evaluation.entry && at.span.start >= leg.line.span.start && at.span.end <= leg.line.span.end;
      const legs = group.legs.filter((leg) => !own(leg));
      const [first] = legs;
      if (!first) continue;
      // What keeps the whole task comes with all that does, so that one look is enough.
      const all = group.cause === cause ? evaluation.causes : [group.cause];
      yield {
        at: legPlace(first, context),
        message: `${legsText(legs)} not computed: ${group.cause.text}.`,
        related: all.map(causeRelated),
        ...elsewhere(group.cause),
      };
    }
  },
};
