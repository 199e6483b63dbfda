import { fromSi, unit } from '../../grammar/units.ts';
import { minimumSinkSpeed, sinkAt } from '../flight/index.ts';
import { exampleAircraft, sinkText } from './leg-words.ts';
import type { Rule } from './rule.ts';

/*
 * From where on a residual is worth a word. Common practice, no source: a polar is read off a printed curve to about
 * 0.1 kt at best, and about one part in twenty is what bugs, rain and a gap in a seal cost before anyone speaks of them.
 */
const LARGE_KT = 0.1;
const LARGE_SHARE = 0.05;
/** A quadratic seldom meets both figures: a speed of minimum sink off by less than this is no news. Common practice, no source. */
const LARGE_SPEED_SHARE = 0.2;

const OTHERS = ['polar 42 kt sink 1.35 kt', 'polar 49 kt sink 1.53 kt', 'polar 60 kt sink 2.05 kt'];

/** A polar that its own numbers do not lie on. */
export const polarPoorFit: Rule = {
  code: 'polar-poor-fit',
  severity: 'warning',
  title: 'The polar does not fit its own points',
  page: {
    means:
      'The curve through the points (a quadratic, by least squares) passes one of them at a distance: more than 0.1 kt, and more than 5 % of the sink there. Or, with handbook figures, the curve that has the stated best glide and minimum sink has its minimum sink at quite another speed.',
    why: 'Near that speed a glide is computed with a sink that was not measured. Often one point is a slip of the pen; sometimes the points reach to speeds at which no quadratic follows the glider.',
    bad: exampleAircraft([...OTHERS, 'polar 70 kt sink 2.20 kt', 'polar 80 kt sink 3.70 kt']),
    good: exampleAircraft([...OTHERS, 'polar 70 kt sink 2.80 kt', 'polar 80 kt sink 3.70 kt']),
    turnDown:
      'Correct the point, or leave out points at speeds that no task flies. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  needs: 'aircraft',
  *entry({ meaning, show, at }) {
    if (meaning.kind !== 'aircraft' || meaning.polar.kind !== 'polar') return;
    const { polar, residuals, minimumSinkSpeedOffMps: off } = meaning.polar;
    if (residuals && fromSi(residuals.maxMps, unit('kt')) > LARGE_KT) {
      const point = meaning.points.find(
        ({ value: { speedMps, sinkMps } }) =>
          speedMps === residuals.atSpeedMps &&
          Math.abs(Math.abs(sinkAt(polar, speedMps) - sinkMps) - residuals.maxMps) < 1e-9,
      );
      if (!point || residuals.maxMps <= LARGE_SHARE * point.value.sinkMps) return;
      const { speedMps, sinkMps } = point.value;
      const onCurve = sinkAt(polar, speedMps);
      const percent = Math.round((residuals.maxMps / sinkMps) * 100);
      yield {
        at: at(point.span),
        message: `the point at ${show.speed(speedMps)} lies ${percent} % off the curve through the points: ${sinkText(sinkMps, show)} as written, ${sinkText(onCurve, show)} on the curve, which is what is flown. Check this point and its neighbours, or leave out speeds that no task flies.`,
      };
    }
    const stated = meaning.minimumSink;
    if (off === undefined || !stated || Math.abs(off) <= LARGE_SPEED_SHARE * stated.value.speedMps) return;
    yield {
      at: at(stated.span),
      message: `the curve of these figures sinks least at ${show.speed(minimumSinkSpeed(polar))}, not at ${show.speed(stated.value.speedMps)}: it keeps the best glide and the least sink, and is wrong in between. Give three or more points of the polar instead.`,
    };
  },
};
