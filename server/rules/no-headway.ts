import { evaluateLeg, type LegBasics } from '../flight/index.ts';
import {
  aircraftRelated,
  countedFrom,
  eastTask,
  LEAST_OVER_VS,
  legName,
  makes,
  SAME,
  speedOrigin,
  speedPlace,
  wholeSpeedDown,
  windRelated,
} from './leg-words.ts';
import type { Rule } from './rule.ts';

const GALE = `weather Gale
  date        2026-06-13
  qnh         1002 hPa
  temperature 12 °C at 190 m MSL
  wind        surface from 065° at 45 kt
  wind        6000 ft MSL from 070° at 80 kt
`;

/** A leg on which the wind is as fast as the glider. */
export const noHeadway: Rule = {
  code: 'no-headway',
  severity: 'error',
  title: 'A leg makes no headway against the wind',
  page: {
    means:
      'At the speed of this leg, the glider does not get on somewhere along it: the wind across the leg is faster than the glider flies, or nothing of its speed is left over the ground against the wind.',
    why: 'A glider that stands still over the ground comes down where it stands. The wind grows with height, so a leg that gets on near the ground may stand still in the height that it needs.',
    bad: eastTask({ weather: 'Gale', finish: 'Ashmoor at 50 kt' }, GALE),
    good: eastTask({ finish: 'Ashmoor at 50 kt' }),
    turnDown:
      'It is not turned off: fly faster within the limits of the flight manual, lower in less wind, or on another day. `severity` in the settings can make it a warning, no less.',
  },
  *leg(leg, context) {
    const { result, input } = leg;
    // One that has reached the ground before is told of that.
    if (!input || result?.problem !== 'no-headway' || result.reachesGroundAfterM !== null) return;
    const { show } = context;
    const across = Math.abs(result.crossMps);
    const wind =
      result.reason === 'crosswind'
        ? `the glider flies no faster than the ${show.speed(across)} of wind across the leg`
        : `the headwind of ${show.speed(result.headMps)}${across >= 0.5 ? `, with ${show.speed(across)} across the leg,` : ''} leaves nothing of its speed over the ground`;
    const airspeed = `${show.speed(result.tasMps, 'down')} true airspeed, ${show.speed(result.indicatedMps)} indicated${speedOrigin(leg, context)}`;
    const on = result.atM < 1 ? 'from its start' : `${show.distance(result.atM)} on`;
    const where = `${on}, at ${show.altitude(result.altitudeM)}`;
    yield {
      at: speedPlace(leg, context),
      message: `${legName(leg)} makes no headway ${where}: ${wind} (${airspeed})${countedFrom(leg, show)}.${way()}`,
      related: [...windRelated(leg, context.evaluation), ...aircraftRelated(context.evaluation)],
    };

    /** Another speed that arrives with what is asked, where best glide does not get on from so high. Tried, not guessed. */
    function faster({ fastestIndicatedMps, fastestUpToVneMps }: LegBasics): string | undefined {
      const fastest = fastestIndicatedMps ?? fastestUpToVneMps;
      if (!input || fastest === null) return undefined;
      const indicatedMps = wholeSpeedDown(fastest, show);
      if (!makes(input, { kind: 'indicated', indicatedMps })) return undefined;
      return ` Fly ${show.speed(indicatedMps)}, which gets there${smoothOnly(indicatedMps)}.`;
    }

    function smoothOnly(indicatedMps: number): string {
      const vnoMps = input?.limits.vnoMps ?? null;
      return vnoMps !== null && indicatedMps > vnoMps + SAME ? ', in smooth air only: it is above vno' : '';
    }

    function way(): string {
      if (!input) return '';
      const best = evaluateLeg({ ...input, speed: { kind: 'bestGlide' } });
      if (best.bestGlideIndicatedMps === null)
        return ` No speed from ${show.speed(input.limits.vsMps)} to ${show.speed(input.limits.vneMps)} gets on: wait for less wind, or go another way.`;
      if (best.problem || best.indicatedMps < LEAST_OVER_VS * input.limits.vsMps)
        return faster(best) ?? ' Wait for less wind, or go another way.';
      return ` Fly at best glide, ${show.speed(best.indicatedMps)}, which gets on${smoothOnly(best.indicatedMps)}.`;
    }
  },
};
