import { eveningOf, finishUtcS } from '../plan/day.ts';
import { timeOfDay } from '../plan/show.ts';
import { landBefore, lateAfterDay, takeOffEarlier } from './after-sunset.ts';
import { durationsApart, eastTask, legName, legPlace, unreadable } from './leg-words.ts';
import { AGREED, limitRelated, notChecked } from './limit-words.ts';
import type { Rule } from './rule.ts';

const SOLO = 'limits Solo\n  land 60 min before sunset\n';

/** A landing later than the limits of the task allow. */
export const limitLandingBeforeSunset: Rule = {
  code: 'limit-landing-before-sunset',
  severity: 'error',
  title: 'The landing is later than the limits of the task allow',
  page: {
    means:
      'By the times of take-off, climbs and glides the task is over its finish later before sunset than the line `land … before sunset` of the limits allows. Sunset is that of the finish on the date of the weather. Where the take-off, the date or the rate of a climb is missing, a warning says that the limit is not checked.',
    why: 'Fields in shadow look flat, a low sun blinds on final approach, and a glider that lands out wants to be found by daylight. A plan that ends an hour before sunset has room for an hour of things that go otherwise.',
    bad: eastTask({ limits: 'Solo', takeoff: '18:10Z' }, SOLO),
    good: eastTask({ limits: 'Solo', takeoff: '15:30Z' }, SOLO),
    turnDown: AGREED,
  },
  *task(context) {
    const { evaluation, show, options } = context;
    const { legs, task, weather, totals } = evaluation;
    const limit = landBefore(evaluation);
    const leg = legs.at(-1);
    if (!limit || leg?.kind !== 'finish' || legs.some(({ result }) => result?.problem !== null)) return;
    const not = (why: string) => notChecked(limit.limits, limit.line, why, context);
    if (!task.takeoff) {
      if (!unreadable(task, 'takeoff')) yield not('the task has no `takeoff`. Write it, such as `takeoff 12:00Z`.');
      return;
    }
    if (!weather?.meaning.date) {
      if (!weather || !unreadable(weather.meaning, 'date'))
        yield not('no `date` says when the sun sets. Write it in the weather.');
      return;
    }
    const finishS = finishUtcS(evaluation);
    const evening = eveningOf(evaluation);
    if (finishS === undefined) {
      if (totals.timeS === null)
        yield not('a climb has no rate. Write the rate behind it, such as `at 3 kt`, or `lift` in the weather.');
      return;
    }
    // After the legal day is graver, and told by itself.
    if (!evening || evening.sunsetS === null || lateAfterDay(evaluation, options)) return;
    const { zoneMinutes } = task.takeoff;
    const time = (seconds: number) => timeOfDay(seconds, zoneMinutes);
    const { name } = limit.limits.meaning;
    const related = limitRelated(limit.limits, limit.line);
    const at = legPlace(leg, context);
    // Whole minutes, the earlier ones, so that what is shown adds up and is never too late.
    const sunsetS = Math.floor(evening.sunsetS / 60) * 60;
    const latestS = sunsetS - limit.value;
    if (finishS <= latestS + 0.5) return;
    const late = durationsApart(Math.ceil(finishS / 60) * 60, latestS, show).by;
    yield {
      at,
      message: `${legName(leg)} ends ${late} later than ${name} allows: at ${time(Math.ceil(finishS / 60) * 60)}, and ${show.duration(limit.value)} before sunset is ${time(latestS)}. ${takeOffEarlier(finishS - latestS, context)}`,
      related: [...related, { at: context.at(task.takeoff.line.span), message: 'the take-off' }],
      excess: { of: 'time', si: finishS - latestS },
    };
  },
};
