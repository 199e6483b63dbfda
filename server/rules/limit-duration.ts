import { durationsApart, eastTask, taskPlace } from './leg-words.ts';
import { AGREED, limitRelated, notChecked, strictest } from './limit-words.ts';
import type { Rule } from './rule.ts';

const SOLO = (most: string) => `limits Solo\n  duration ${most}\n`;

/** A task that takes longer than its limits allow. */
export const limitDuration: Rule = {
  code: 'limit-duration',
  severity: 'error',
  title: 'The task takes longer than its limits allow',
  page: {
    means:
      'Gliding and climbing from the start to the finish take longer than the line `duration` of the limits allows. Where a climb has no rate, the time is not known, and a warning says that the limit is not checked.',
    why: 'Attention fades before the lift does. A pilot who has never flown for longer than an hour is tired on the last glide of a flight of three, which is the one that has to be right.',
    bad: eastTask({ limits: 'Solo', climb: 'to 5600 ft MSL at 1 kt' }, SOLO('15 min')),
    good: eastTask({ limits: 'Solo', climb: 'to 5600 ft MSL at 1 kt' }, SOLO('45 min')),
    turnDown: AGREED,
  },
  *task(context) {
    const { evaluation, show } = context;
    const { legs, totals } = evaluation;
    const limit = strictest(
      evaluation,
      ({ meaning }) => meaning.durationS,
      (a, b) => a < b,
    );
    // What keeps a leg from being computed, or flown, is told by itself.
    if (!limit || legs.some(({ result }) => result?.problem !== null)) return;
    if (totals.timeS === null) {
      yield notChecked(
        limit.limits,
        limit.line,
        'a climb has no rate. Write the rate behind it, such as `at 3 kt`, or `lift` in the weather.',
        context,
      );
      return;
    }
    if (totals.timeS <= limit.value + 0.01) return;
    const { greater, less, by, excess } = durationsApart(totals.timeS, limit.value, show);
    yield {
      at: taskPlace(context),
      message: `the task takes ${by} longer than ${limit.limits.meaning.name} allows: ${greater} from start to finish, ${less} at most. Choose nearer points, or fewer.`,
      excess,
      related: limitRelated(limit.limits, limit.line),
    };
  },
};
