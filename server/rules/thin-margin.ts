import { unit } from '../../grammar/units.ts';
import { evaluateLeg } from '../flight/index.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import {
  arrivalExcess,
  asGlide,
  countedFrom,
  eastTask,
  fallsShort,
  legName,
  legPlace,
  legRelated,
  spare,
  wayOut,
} from './leg-words.ts';
import type { Rule } from './rule.ts';

/** Less than this over what is asked is thin. Common practice, no source: a minute in weak sink, or one turn to look. */
export const THIN_M = 200 * unit('ft').factor;
/** What the way out aims at: a little more, since the best glide moves a little with the height asked. */
const ENOUGH_M = THIN_M + 0.5;

/** Whether a leg is flown on the last glide of soaring, from a climb that no line writes. */
function onSoaredGlide(leg: LegEvaluation, { legs }: TaskEvaluation): boolean {
  for (const one of legs.slice(0, leg.number).reverse()) {
    if (one.soar?.lastGlide) return one.soar.climbs.length > 0;
    if (one.climbs.length > 0) return false;
  }
  return false;
}

/** A leg that arrives hardly higher than is asked. */
export const thinMargin: Rule = {
  code: 'thin-margin',
  severity: 'info',
  title: 'A leg arrives hardly above the height asked',
  page: {
    means: 'The leg arrives with the height asked, and with less than 200 ft over it.',
    why: 'A little sink, one turn to look out, or a wind some knots stronger than forecast, and this leg is below its reserve. It is right as planned; whoever flies it knows that nothing is to spare.',
    bad: eastTask({ start: 'Larkfield at 4800 ft MSL', finish: 'Ashmoor at 60 kt' }),
    good: eastTask({ start: 'Larkfield at 5000 ft MSL', finish: 'Ashmoor at 60 kt' }),
    turnDown: '`severity` in the settings can make it a hint, or turn it off.',
  },
  *leg(leg, context) {
    const { result, input } = leg;
    if (!input || !result || result.problem || fallsShort(result)) return;
    if (result.marginM >= THIN_M) return;
    // A last climb that soaring makes is as high as the last glide asks, and no higher: that is its rule.
    if (onSoaredGlide(leg, context.evaluation)) return;
    const { show } = context;
    const { destination } = input;
    const heights = spare(destination.reserveM + destination.altimeterM, result.arriveHeightM, show);
    // The best glide is that for the height asked, and stays so when one leaves higher.
    const speed =
      input.speed.kind === 'bestGlide'
        ? ({ kind: 'indicated', indicatedMps: result.indicatedMps } as const)
        : input.speed;
    const wanted = {
      ...asGlide(leg, input),
      speed,
      destination: { ...destination, reserveM: destination.reserveM + ENOUGH_M },
    };
    const more = wayOut({ ...leg, input: wanted, result: evaluateLeg(wanted) }, context);
    yield {
      at: legPlace(leg, context),
      message: `${legName(leg)} arrives ${heights.spare} above the ${heights.asked} asked${countedFrom(leg, show)}: less than ${show.height(THIN_M)} to spare.${more}`,
      related: legRelated(leg, context),
      excess: arrivalExcess(result),
    };
  },
};
