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

/** A leg flown faster than the rough-air speed, below vne. */
export const aboveVno: Rule = {
  code: 'above-vno',
  severity: 'warning',
  title: 'A leg is flown faster than vno',
  page: {
    means:
      'The indicated speed of this leg lies between `vno`, the highest speed in rough air, and `vne`: it may be flown in smooth air only, without abrupt control movements.',
    why: 'On a day with thermals the air is not smooth. A gust at this speed loads the wings beyond what they are made for, so a plan that counts on it counts on an evening, or on luck. The flight manual comes first.',
    bad: eastTask({ start: 'Larkfield at 6100 ft MSL', turn: '"Corran Dam" at 85 kt' }),
    good: eastTask({ start: 'Larkfield at 6100 ft MSL', turn: '"Corran Dam" at 80 kt' }),
    turnDown: '`severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *leg(leg, context) {
    const { vnoMps: vno, vneMps: vne } = context.evaluation.aircraft?.meaning ?? {};
    const indicated = indicatedOf(leg, context.evaluation);
    if (!vno || indicated === undefined || indicated <= vno.value + SAME) return;
    if (vne && indicated > vne.value + SAME) return;
    const { greater, less, by, excess } = speedsApart(indicated, vno.value, context.show);
    yield {
      at: speedPlace(leg, context),
      message: `${legName(leg)} is flown ${by} above vno: at ${greater}${speedOrigin(leg, context)}, in smooth air only and without abrupt control movements. Fly ${less} at most where the air may be rough.`,
      excess,
      related: aircraftRelated(context.evaluation, vno),
    };
  },
};
