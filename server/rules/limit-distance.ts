import { courseLength } from '../plan/course.ts';
import { distancesApart, eastTask, taskPlace } from './leg-words.ts';
import { AGREED, limitRelated, strictest } from './limit-words.ts';
import type { Rule } from './rule.ts';

const SOLO = (most: string) => `limits Solo\n  distance ${most}\n`;

/** A task longer than its limits allow. */
export const limitDistance: Rule = {
  code: 'limit-distance',
  severity: 'error',
  title: 'The task is longer than its limits allow',
  page: {
    means:
      'The course from the start over the turns to the finish is longer than the line `distance` of the limits allows.',
    why: 'Every leg is one more commitment, and one more hour for the weather to change in. A club sets the distance by what its pilots have flown so far.',
    bad: eastTask({ limits: 'Solo' }, SOLO('20 km')),
    good: eastTask({ limits: 'Solo' }, SOLO('30 km')),
    turnDown: AGREED,
  },
  *task(context) {
    const { evaluation, show } = context;
    const lengthM = courseLength(evaluation);
    const limit = strictest(
      evaluation,
      ({ meaning }) => meaning.distanceM,
      (a, b) => a < b,
    );
    if (lengthM === undefined || !limit || lengthM <= limit.value + 0.01) return;
    const { greater, less, by, excess } = distancesApart(lengthM, limit.value, show);
    yield {
      at: taskPlace(context),
      message: `the task is ${by} longer than ${limit.limits.meaning.name} allows: ${greater} from start to finish, ${less} at most. Choose nearer points, or fewer.`,
      excess,
      related: limitRelated(limit.limits, limit.line),
    };
  },
};
