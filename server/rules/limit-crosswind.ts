import { crosswindOf } from './crosswind-words.ts';
import { eastTask, legPlace, speedsApart } from './leg-words.ts';
import { AGREED, limitRelated, notChecked, strictest } from './limit-words.ts';
import type { Rule } from './rule.ts';

const SOLO = (most: string) => `limits Solo\n  crosswind ${most}\n`;
const GUSTY = `weather Northerly
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 340° at 11 kt
  wind        6000 ft MSL from 340° at 15 kt
`;

/** More crosswind at the finish than the limits of the task allow. */
export const limitCrosswind: Rule = {
  code: 'limit-crosswind',
  severity: 'error',
  title: 'The crosswind at the finish is more than the limits of the task allow',
  page: {
    means:
      'On every runway of the finish that is long enough, the wind written for the height of the field blows across at more than the line `crosswind` of the limits allows. Runways are magnetic: the variation of the place and date turns them into true directions; without a date they are taken as they are written, and the message says so.',
    why: 'A crosswind landing is the one that a pilot in training has done least. Close to the ground the wind is rough, and a glider that swings takes its wing to the grass.',
    bad: eastTask(
      { weather: 'Northerly', limits: 'Solo', start: 'Larkfield at 6500 ft MSL' },
      `${GUSTY}\n${SOLO('8 kt')}`,
    ),
    good: eastTask(
      { weather: 'Northerly', limits: 'Solo', start: 'Larkfield at 6500 ft MSL' },
      `${GUSTY}\n${SOLO('12 kt')}`,
    ),
    turnDown: AGREED,
  },
  *task(context) {
    const { evaluation, show } = context;
    const limit = strictest(
      evaluation,
      ({ meaning }) => meaning.crosswindMps,
      (a, b) => a < b,
    );
    const found = limit && crosswindOf(evaluation);
    if (!limit || !found) return;
    if (found === 'no-runway' || found === 'no-wind') {
      const why =
        found === 'no-runway'
          ? `no runway of ${evaluation.legs.at(-1)?.toName} is written. Add its \`runway\`.`
          : 'no wind is written. Write it in the weather.';
      yield notChecked(limit.limits, limit.line, why, context);
      return;
    }
    const { leg, best, crossMps, sayRunways } = found;
    if (crossMps <= limit.value + 1e-6) return;
    const { greater, less, by, excess } = speedsApart(crossMps, limit.value, show);
    yield {
      at: legPlace(leg, context),
      message: `the crosswind at ${leg.toName} is ${by} more than ${limit.limits.meaning.name} allows: ${greater} on ${best.end}, its best runway, ${less} at most${sayRunways}. Finish at another field, or wait for less wind.`,
      excess,
      related: [...limitRelated(limit.limits, limit.line), ...found.related],
    };
  },
};
