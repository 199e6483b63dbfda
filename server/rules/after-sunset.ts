import { eveningOf, finishUtcS, legalEndS, legalEndText, legalStartS, SUNSET } from '../plan/day.ts';
import { timeOfDay } from '../plan/show.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import { durationsApart, eastTask, legName, legPlace } from './leg-words.ts';
import { strictest } from './limit-words.ts';
import type { CheckOptions, Rule, TaskContext } from './rule.ts';

/** How late a task is over its finish after the end of the legal day; undefined where it is not, or nobody can tell. */
export function lateAfterDay(
  evaluation: TaskEvaluation,
  { legalEnd = SUNSET }: CheckOptions,
): { readonly finishS: number; readonly endS: number | null } | undefined {
  const evening = eveningOf(evaluation);
  const finishS = finishUtcS(evaluation);
  const endS = legalEndS(evaluation, legalEnd);
  if (!evening || finishS === undefined || endS === undefined) return undefined;
  // No end: the Sun stays up, or no lower than the law asks, or it never comes up.
  if (endS === null) return evening.lightAllDay || evening.sunsetS !== null ? undefined : { finishS, endS };
  return finishS > endS ? { finishS, endS } : undefined;
}

/** The strictest of the limits on how long before sunset a task is to be over. */
export function landBefore(evaluation: TaskEvaluation): ReturnType<typeof strictest<number>> {
  return strictest(
    evaluation,
    ({ meaning }) => meaning.landBeforeSunsetS,
    (a, b) => a > b,
  );
}

/** The way out by taking off so much earlier, s; without one where that is before the legal day. */
export function takeOffEarlier(byS: number, { evaluation, options }: TaskContext): string {
  const { takeoff } = evaluation.task;
  if (!takeoff) return '';
  const takeoffS = Math.floor((takeoff.utcS - byS) / 60) * 60;
  const startS = legalStartS(evaluation, options.legalEnd ?? SUNSET);
  if (typeof startS === 'number' && takeoffS < startS) return 'No take-off by day is early enough: fly less far.';
  return `Take off by ${timeOfDay(takeoffS, takeoff.zoneMinutes)}.`;
}

/** A task that ends after the legal day. */
export const afterSunset: Rule = {
  code: 'after-sunset',
  severity: 'error',
  title: 'The task ends after the legal day',
  page: {
    means:
      'By the times of take-off, climbs and glides the task is over its finish after the end of the legal day there: sunset, or what the settings say (`sunset + 30 min`, `civil dusk`). Sunset is that of the finish on the date of the weather, over a level horizon.',
    why: 'A glider has no lights. After sunset the ground loses its contrast, height over it is misjudged, and other pilots do not see the glider. Behind hills and under cloud it is dark earlier still.',
    bad: eastTask({ takeoff: '19:00Z' }),
    good: eastTask({ takeoff: '12:00Z' }),
    turnDown:
      'It is not turned off: take off earlier, or fly less far. The end of the legal day is a setting (`--legal-end` on the command line); `severity` in the settings can make it a warning, no less.',
  },
  *task(context) {
    const { evaluation, show, options } = context;
    const late = lateAfterDay(evaluation, options);
    const leg = evaluation.legs.at(-1);
    const { takeoff } = evaluation.task;
    if (!late || !leg || !takeoff) return;
    const at = legPlace(leg, context);
    const related = [{ at: context.at(takeoff.line.span), message: 'the take-off' }];
    const { endS, finishS } = late;
    if (endS === null) {
      yield {
        at,
        message: `${legName(leg)} ends by night: the sun does not rise there that day. Choose another day.`,
        related,
        excess: { of: 'time', si: Infinity },
      };
      return;
    }
    // Whole minutes, so that what is shown adds up: the flight's rounded up, the day's rounded down.
    const overS = Math.ceil(finishS / 60) * 60;
    const dayEndsS = Math.floor(endS / 60) * 60;
    // An hour that meets the law alone is no way out where a limit asks for more.
    const limit = landBefore(evaluation);
    const sunsetS = eveningOf(evaluation)?.sunsetS;
    const landS = limit && typeof sunsetS === 'number' ? Math.floor(sunsetS / 60) * 60 - limit.value : Infinity;
    const asks =
      limit && landS < dayEndsS
        ? `; ${limit.limits.meaning.name} asks to land ${show.duration(limit.value)} before sunset`
        : '';
    const time = (seconds: number) => timeOfDay(seconds, takeoff.zoneMinutes);
    const end = legalEndText(options.legalEnd ?? SUNSET);
    yield {
      at,
      message: `${legName(leg)} ends ${durationsApart(overS, dayEndsS, show).by} after the legal day: at ${time(overS)}, and ${end} is ${time(dayEndsS)}${asks}. ${takeOffEarlier(overS - Math.min(dayEndsS, landS), context)}`,
      related,
      excess: { of: 'time', si: finishS - endS },
    };
  },
};
