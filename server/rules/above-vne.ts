import {
  aircraftRelated,
  eastTask,
  indicatedOf,
  legName,
  SAME,
  speedOrigin,
  speedPlace,
  speedsApart,
} from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A leg flown faster than the speed never to exceed. */
export const aboveVne: Rule = {
  code: 'above-vne',
  severity: 'error',
  title: 'A leg is flown faster than vne',
  page: {
    means:
      'The indicated speed of this leg, written or worked out from an expected climb, is above `vne` of the aircraft: the speed never to exceed.',
    why: 'Beyond vne the control surfaces may flutter and the wings may not hold a gust. There is no margin behind it for a plan to use. Higher up the limit is lower still: the flight manual gives the table, and comes first.',
    bad: eastTask({ finish: 'Ashmoor at 120 kt' }),
    good: eastTask({ finish: 'Ashmoor at 60 kt' }),
    turnDown: 'It is not turned off: fly slower. `severity` in the settings can make it a warning, no less.',
  },
  *leg(leg, context) {
    const vne = context.evaluation.aircraft?.meaning.vneMps;
    const indicated = indicatedOf(leg, context.evaluation);
    if (!vne || indicated === undefined || indicated <= vne.value + SAME) return;
    const { greater, less, by, excess } = speedsApart(indicated, vne.value, context.show);
    yield {
      at: speedPlace(leg, context),
      message: `${legName(leg)} is flown ${by} above vne: at ${greater}${speedOrigin(leg, context)}, and ${less} is never to be exceeded. Fly ${less} at most, and less high up as the flight manual says.`,
      excess,
      related: aircraftRelated(context.evaluation, vne),
    };
  },
};
