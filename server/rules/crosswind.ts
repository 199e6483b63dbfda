import { crosswindOf } from './crosswind-words.ts';
import { aircraftRelated, eastTask, legPlace, speedsApart } from './leg-words.ts';
import type { Rule } from './rule.ts';

const NORTHERLY = (surface: string) => `weather Northerly
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 350° at ${surface}
  wind        6000 ft MSL from 340° at 22 kt
`;

/** More crosswind at the finish than was demonstrated with the aircraft. */
export const crosswind: Rule = {
  code: 'crosswind',
  severity: 'warning',
  title: 'The crosswind at the finish is more than was demonstrated with the aircraft',
  page: {
    means:
      'On every runway of the finish that is long enough, the wind written for the height of the field blows across at more than the `crosswind` of the aircraft. Runways are magnetic: the variation of the place and date turns them into true directions; without a date they are taken as they are written, and the message says so. More than a club allows is told by `limit-crosswind` alone.',
    why: 'Up to the demonstrated crosswind somebody has shown that the rudder holds the glider straight. Above it nobody has, and the place to find out is not the end of a long flight.',
    bad: eastTask({ weather: 'Northerly', start: 'Larkfield at 6500 ft MSL' }, NORTHERLY('15 kt')),
    good: eastTask({ weather: 'Northerly', start: 'Larkfield at 6500 ft MSL' }, NORTHERLY('8 kt')),
    turnDown:
      'Finish at a field with a runway into the wind. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *task(context) {
    const { evaluation, show } = context;
    const demonstrated = evaluation.aircraft?.meaning.crosswindMps;
    const found = demonstrated && crosswindOf(evaluation);
    if (!demonstrated || !found || typeof found === 'string') return;
    const { leg, best, crossMps, sayRunways } = found;
    if (crossMps <= demonstrated.value + 1e-6) return;
    // One wind, one finding: the club's limit is the graver.
    if (evaluation.limits.some(({ meaning }) => meaning.crosswindMps && crossMps > meaning.crosswindMps.value + 1e-6))
      return;
    const { greater, less, by, excess } = speedsApart(crossMps, demonstrated.value, show);
    yield {
      at: legPlace(leg, context),
      message: `the crosswind at ${leg.toName} is ${by} more than was demonstrated with ${evaluation.aircraft?.meaning.name}: ${greater} on ${best.end}, its best runway, ${less} demonstrated${sayRunways}. Finish at another field, or wait for less wind.`,
      excess,
      related: [...aircraftRelated(evaluation, demonstrated), ...found.related],
    };
  },
};
