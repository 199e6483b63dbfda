import { unit } from '../../grammar/units.ts';
import { massFactor } from '../flight/index.ts';
import {
  aircraftRelated,
  eastTask,
  LEAST_OVER_VS,
  legName,
  SAME,
  speedOrigin,
  speedPlace,
  speedsApart,
  wholeSpeedDown,
} from './leg-words.ts';
import type { Rule } from './rule.ts';

/** Speeds are read off an airspeed indicator no closer than this, kt. */
const TOLERANCE_KT = 0.5;
/** A best glide that comes out this near to the known speeds is as good as among them, kt. */
const BEST_GLIDE_TOLERANCE_KT = 1;

/** A curve through two handbook figures is trusted this far beyond them, as a share: common practice, no source. */
const FIGURES_TOLERANCE = 0.2;

/** A leg flown at a speed at which the polar is not known. */
export const speedOutsidePolar: Rule = {
  code: 'speed-outside-polar',
  severity: 'warning',
  title: 'A leg is flown at a speed at which the polar is not known',
  page: {
    means:
      'The indicated speed of this leg lies outside the speeds between which the polar is given: those of the measured points (a warning) or of the two handbook figures (an info), at the mass flown. The curve is simply drawn on.',
    why: 'Beyond the last point the sink is a guess of the curve, and nobody knows to which side it errs. Fast, most gliders sink more than the curve says, since their wings work well between certain speeds only; near the stall they sink more as well.',
    bad: eastTask({ start: 'Larkfield at 6100 ft MSL', turn: '"Corran Dam" at 85 kt' }),
    good: eastTask({ start: 'Larkfield at 6100 ft MSL', turn: '"Corran Dam" at 75 kt' }),
    turnDown:
      'Add a point of the polar at that speed, from the flight manual or from measured glides. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *leg(leg, context) {
    const { result, input } = leg;
    const { evaluation, show } = context;
    const { aircraft, massKg } = evaluation;
    const polar = aircraft?.meaning.polar;
    if (!result || !input || !aircraft || polar?.kind !== 'polar' || massKg === undefined) return;
    const indicated = result.indicatedMps;
    // A speed that may not be flown at all has its own error.
    if (indicated > input.limits.vneMps + SAME || indicated < LEAST_OVER_VS * input.limits.vsMps - SAME) return;
    const factor = massFactor(massKg, polar.polar.massKg);
    const low = polar.fromMps * factor;
    const high = polar.toMps * factor;
    const points = polar.source === 'points';
    // Best glide is where handbook figures hold best, and the tool's own choice: no advice against it.
    if (!points && input.speed.kind === 'bestGlide') return;
    const knots = input.speed.kind === 'bestGlide' ? BEST_GLIDE_TOLERANCE_KT : TOLERANCE_KT;
    const tolerance = points ? knots * unit('kt').factor : FIGURES_TOLERANCE * high;
    const fast = indicated > high + tolerance;
    if (!fast && indicated >= low - tolerance) return;

    const { greater, less, by, excess } = fast ? speedsApart(indicated, high, show) : speedsApart(low, indicated, show);
    const [flown, known] = fast ? [greater, less] : [less, greater];
    const where = `${points ? 'the last of the points' : fast ? '`best glide`' : '`minimum sink`'} lies at ${known}`;
    const end = points && !fast ? `the first of the points lies at ${known}` : where;
    // A polar that ends below the least speed that a plan may count on gives none to fly.
    const slowest = LEAST_OVER_VS * input.limits.vsMps;
    const way =
      fast && wholeSpeedDown(high, show) < slowest - SAME
        ? 'Give'
        : `Fly ${known} at ${fast ? 'most' : 'least'}, or give`;
    const mass = Math.abs(factor - 1) > 1e-6 ? ` with the ${show.mass(massKg)} flown` : '';
    yield {
      at: speedPlace(leg, context),
      severity: points ? 'warning' : 'info',
      message: `${legName(leg)} is flown ${by} ${fast ? 'faster' : 'slower'} than the polar is known: at ${flown}${speedOrigin(leg, context)}, and ${end}${mass}. The sink there may be more or less than computed. ${way} a point of the polar at that speed.`,
      related: aircraftRelated(evaluation, polar),
      meets: fast ? 'faster' : 'slower',
      excess,
    };
  },
};
