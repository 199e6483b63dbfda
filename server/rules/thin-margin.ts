import { unit } from '../../grammar/units.ts';
import { evaluateLeg } from '../flight/index.ts';
import { countedFrom, fallsShort, heightsApart, homeTask, legName, legPlace, legRelated, wayOut } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** Less than this over what is asked is thin. Common practice, no source: a minute in weak sink, or one turn to look. */
const THIN_FT = 200;

/** A leg that arrives hardly higher than is asked. */
export const thinMargin: Rule = {
  code: 'thin-margin',
  severity: 'info',
  title: 'A leg arrives hardly above the height asked',
  page: {
    means: 'The leg arrives with the height asked, and with less than 200 ft over it.',
    why: 'A little sink, one turn to look out, or a wind some knots stronger than forecast, and this leg is below its reserve. It is right as planned; whoever flies it knows that nothing is to spare.',
    bad: homeTask({ start: 'Ashmoor at 4300 ft MSL', finish: 'Larkfield at 60 kt' }),
    good: homeTask({ start: 'Ashmoor at 5000 ft MSL', finish: 'Larkfield at 60 kt' }),
    turnDown: '`severity` in the settings can make it a hint, or turn it off.',
  },
  *leg(leg, context) {
    const { result, input } = leg;
    if (!input || !result || result.problem || fallsShort(result)) return;
    const thinM = THIN_FT * unit('ft').factor;
    if (result.marginM >= thinM) return;
    const { show } = context;
    const { destination } = input;
    const asked = destination.reserveM + destination.altimeterM;
    const { less, by } = heightsApart(Math.max(asked, result.arriveHeightM), asked, show);
    const wanted = { ...input, destination: { ...destination, reserveM: destination.reserveM + thinM } };
    const more = wayOut({ ...leg, input: wanted, result: evaluateLeg(wanted) }, context);
    yield {
      at: legPlace(leg, context),
      message: `${legName(leg)} arrives ${by} above the ${less} asked${countedFrom(leg, show)}: less than ${show.height(thinM)} to spare.${more}`,
      related: legRelated(leg, context),
    };
  },
};
