import { countedFrom, eastTask, fallsShort, legName, legPlace, legRelated, shortfall, wayOut } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A leg to a field that arrives lower than the field and the reserve ask. */
export const belowReserve: Rule = {
  code: 'below-reserve',
  severity: 'error',
  title: 'A leg arrives over a field below the reserve',
  page: {
    means:
      'The glide to this field, with this aircraft at this mass, in this wind, at this speed and on the planned share of the polar, arrives lower over the field than the reserve (or the field itself) asks, the altimeter allowance included.',
    why: 'The reserve is the height for a circuit, a look at the field and a second thought. Sink, lift or wind a little off the forecast is taken from it first; a plan that has spent it before take-off has nothing left for the day.',
    bad: eastTask({ start: 'Larkfield at 5000 ft MSL', finish: 'Ashmoor at 75 kt' }),
    good: eastTask({ start: 'Larkfield at 5000 ft MSL', finish: 'Ashmoor at 55 kt' }),
    turnDown:
      'It is not turned off: leave higher, fly slower, or change the reserve in the open, where a reviewer sees it. `severity` in the settings can make it a warning, no less.',
  },
  *leg(leg, context) {
    const { result, to } = leg;
    if (!result || result.problem || to?.meaning.kind !== 'field') return;
    if (!fallsShort(result) || result.reachesGroundAfterM !== null) return;
    const heights = shortfall(leg, context.show);
    if (!heights) return;
    const { short, arrival, asked, excess } = heights;
    const counted = countedFrom(leg, context.show);
    yield {
      at: legPlace(leg, context),
      message: `${legName(leg)} arrives ${short} below reserve: ${arrival} above the field, ${asked} asked${counted}.${wayOut(leg, context)}`,
      related: legRelated(leg, context),
      excess,
    };
  },
};
