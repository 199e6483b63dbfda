import { countedFrom, eastTask, fallsShort, legName, legPlace, legRelated, shortfall, wayOut } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A leg to a turnpoint that arrives lower than the reserve asks over it. */
export const belowTurnHeight: Rule = {
  code: 'below-turn-height',
  severity: 'error',
  title: 'A leg arrives over a turnpoint below the height asked there',
  page: {
    means:
      'The glide to this turnpoint arrives lower above the ground there than the line `turn` of the reserve asks, the altimeter allowance included.',
    why: 'A turnpoint is no place to land. The height over it is what finds the next climb, or takes the glider to a field if there is none; a pilot who arrives low has to take whatever lift comes, however weak and however near the ground.',
    bad: eastTask({ start: 'Larkfield at 3000 ft MSL', turn: '"Corran Dam"' }),
    good: eastTask({ turn: '"Corran Dam"' }),
    turnDown:
      'It is not turned off: leave higher, climb on the way, fly slower, or change `turn` in the reserve in the open, where a reviewer sees it. `severity` in the settings can make it a warning, no less.',
  },
  *leg(leg, context) {
    const { result, to } = leg;
    if (!result || result.problem || to?.meaning.kind !== 'turnpoint') return;
    if (!fallsShort(result) || result.reachesGroundAfterM !== null) return;
    const heights = shortfall(leg, context.show);
    if (!heights) return;
    const { short, arrival, asked, excess } = heights;
    const counted = countedFrom(leg, context.show);
    yield {
      at: legPlace(leg, context),
      message: `${legName(leg)} arrives ${short} below turn height: ${arrival} above the ground there, ${asked} asked${counted}.${wayOut(leg, context)}`,
      related: legRelated(leg, context),
      excess,
    };
  },
};
