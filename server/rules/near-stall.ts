import {
  aircraftRelated,
  eastTask,
  indicatedOf,
  LEAST_OVER_VS,
  legName,
  SAME,
  speedOrigin,
  speedPlace,
  speedsApart,
} from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A leg flown hardly faster than the stall. */
export const nearStall: Rule = {
  code: 'near-stall',
  severity: 'error',
  title: 'A leg is flown too near to the stall',
  page: {
    means:
      'The indicated speed of this leg, written or worked out, is below 1.1 times `vs`, the stalling speed of the aircraft.',
    why: 'A gust, a turn or a moment without looking at the airspeed takes the last tenth, and the glider stalls; in a turn it stalls earlier still, and so it does with more mass than `vs` is stated for. The polar says little at such speeds. The flight manual comes first.',
    bad: eastTask({ finish: 'Ashmoor at 36 kt' }),
    good: eastTask({ finish: 'Ashmoor at 50 kt' }),
    turnDown: 'It is not turned off: fly faster. `severity` in the settings can make it a warning, no less.',
  },
  *leg(leg, context) {
    const vs = context.evaluation.aircraft?.meaning.vsMps;
    const indicated = indicatedOf(leg, context.evaluation);
    if (!vs || indicated === undefined || indicated >= LEAST_OVER_VS * vs.value - SAME) return;
    const { show } = context;
    const { greater, less, by, excess } = speedsApart(LEAST_OVER_VS * vs.value, indicated, show);
    yield {
      at: speedPlace(leg, context),
      message: `${legName(leg)} is flown ${by} below the least speed: at ${less}${speedOrigin(leg, context)}, and 1.1 × vs is ${greater}. Fly ${greater} at least.`,
      excess,
      related: aircraftRelated(context.evaluation, vs),
    };
  },
};
