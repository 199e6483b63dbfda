import { eastTask, legPlace } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A finish over a turnpoint. */
export const finishNotLandable: Rule = {
  code: 'finish-not-landable',
  severity: 'warning',
  title: 'The task finishes at a turnpoint',
  page: {
    means:
      'The finish of the task is a `turnpoint`: a place that one may fly over, and not a `field` on which one may land.',
    why: 'The plan ends in the air. Where the glider comes down after it, with what height and in which wind, is not planned and not checked.',
    bad: eastTask({ finish: '"Corran Dam"' }),
    good: eastTask({ turn: '"Corran Dam"' }),
    turnDown:
      'Finish at a field, or write the place as a `field` if one may land there. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *leg(leg, context) {
    if (leg.kind !== 'finish' || leg.to?.meaning.kind !== 'turnpoint') return;
    const span = leg.line.slots['point']?.span;
    yield {
      at: span ? context.at(span) : legPlace(leg, context),
      message: `the finish ${leg.toName} is a turnpoint, where one may not land: nothing after it is checked. Finish at a field.`,
      related: [{ at: leg.to.at, message: `the turnpoint ${leg.toName}` }],
    };
  },
};
