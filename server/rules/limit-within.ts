import type { NameNode } from '../../grammar/syntax.ts';
import { track } from '../flight/index.ts';
import type { Point } from '../plan/meaning.ts';
import type { AppliedLimits, Reference, TaskEvaluation } from '../plan/task.ts';
import { distancesApart, eastTask } from './leg-words.ts';
import { AGREED, limitRelated, notChecked } from './limit-words.ts';
import type { Found, Rule, TaskContext } from './rule.ts';

const SOLO = (most: string) => `limits Solo\n  within ${most} of Larkfield\n`;

/** Every point of a task once, where it is named first. */
function pointsOf({ start, task, legs }: TaskEvaluation): { node: NameNode; point: Reference<Point> }[] {
  const named = task.itinerary.find((item) => item.kind === 'start');
  const first =
    named?.kind === 'start' && named.point && start?.point ? [{ node: named.point, point: start.point }] : [];
  const all = [...first, ...legs.flatMap(({ to }) => (to ? [{ node: to.node, point: to }] : []))];
  return all.filter(({ point }, i) => all.findIndex((one) => one.point.meaning === point.meaning) === i);
}

function* beyond(
  applied: AppliedLimits,
  { limit, point: middle }: AppliedLimits['within'][number],
  context: TaskContext,
): Iterable<Found> {
  const centre = middle?.meaning.position;
  if (!centre) {
    const why = middle
      ? `${limit.point.text} has no position.`
      : `no field or turnpoint \`${limit.point.text}\` is known.`;
    yield notChecked(applied, limit.line, why, context);
    return;
  }
  for (const { node, point } of pointsOf(context.evaluation)) {
    const { position } = point.meaning;
    const distanceM = position && track(centre, position).distanceM;
    if (distanceM === undefined || distanceM <= limit.distanceM + 0.01) continue;
    const { greater, less, by, excess } = distancesApart(distanceM, limit.distanceM, context.show);
    const { name } = applied.meaning;
    yield {
      at: context.at(node.span),
      message: `${point.meaning.name} lies ${by} further out than ${name} allows: ${greater} from ${limit.point.text}, ${less} at most. Choose a nearer point.`,
      excess,
      related: limitRelated(applied, limit.line),
      meets: `limits ${name} of ${limit.point.text}`,
    };
  }
}

/** A point further from a place than the limits of the task allow. */
export const limitWithin: Rule = {
  code: 'limit-within',
  severity: 'error',
  title: 'A point lies further out than the limits of the task allow',
  page: {
    means:
      'A point of the task lies further from a place than a line `within … of` of the limits allows. Between two points inside such a circle the way lies inside it too.',
    why: 'Near the home field the ground is known, help is near and the way home is short. A club lets its pilots go further step by step.',
    bad: eastTask({ limits: 'Solo' }, SOLO('8 NM')),
    good: eastTask({ limits: 'Solo' }, SOLO('15 NM')),
    turnDown: AGREED,
  },
  *task(context) {
    // Of several circles round one place the narrowest is told.
    const all = context.evaluation.limits.flatMap((applied) => applied.within.map((within) => ({ applied, within })));
    for (const { applied, within } of all) {
      const { limit, point } = within;
      const narrower = all.some(
        ({ within: other }) =>
          other !== within &&
          point !== undefined &&
          other.point?.meaning === point.meaning &&
          (other.limit.distanceM < limit.distanceM ||
            (other.limit.distanceM === limit.distanceM &&
              all.findIndex((one) => one.within === other) < all.findIndex((one) => one.within === within))),
      );
      if (!narrower) yield* beyond(applied, within, context);
    }
  },
};
