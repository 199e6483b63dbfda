import { evaluateLeg, glideBackward, type LegInput } from '../flight/index.ts';
import { clearanceAsked, type TooLow, tooLow } from '../plan/ground.ts';
import { isFlown } from '../plan/reach.ts';
import type { Show } from '../plan/show.ts';
import type { LegEvaluation } from '../plan/task.ts';
import { aboveTheDay, asGlide, countedFrom, eastTask, heightsApart, legName, legPlace, wholeUp } from './leg-words.ts';
import { partsText } from './reach-words.ts';
import type { Related, Rule, TaskContext } from './rule.ts';

/** Points of a stretch that are flown back from, for the way out. */
const MOST_POINTS = 60;

/** Heights to leave at that are tried; the last is enough, or none is told. */
const TRIES = 4;

/** The altitude to leave at so as to pass clear of what a leg is known to be too low over, in whole units of the reader. */
function clearOf(input: LegInput, indicatedMps: number, { asked }: TooLow, show: Show): number | undefined {
  const every = Math.max(1, Math.floor(asked.length / MOST_POINTS));
  const highest = asked.reduce((one, other) => (other.altitudeM > one.altitudeM ? other : one));
  let departM = 0;
  for (const [i, { xM, altitudeM }] of [...asked, highest].entries()) {
    if (i % every !== 0 && i < asked.length) continue;
    const glide = glideBackward(input.setting, indicatedMps, 0, xM, altitudeM);
    if (glide.problem) return undefined;
    departM = Math.max(departM, glide.altitudeM);
  }
  return wholeUp(departM, show);
}

/**
 * The altitude to leave at so as to pass clear, in whole units of the reader; undefined for a leg with climbs. A leg that
 * does not get to its end is looked at as far as it is flown, so that from higher it may be too low further on: tried,
 * not guessed.
 */
function leaveAt(leg: LegEvaluation, low: TooLow, { evaluation, show }: TaskContext): number | undefined {
  const { input, result } = leg;
  if (!input || !result || result.climbs.length > 0) return undefined;
  const { indicatedMps } = result;
  let still: TooLow | undefined = low;
  let departM = result.departAltitudeM;
  for (let i = 0; i < TRIES && still; i += 1) {
    const clearM = clearOf(input, indicatedMps, still, show);
    if (clearM === undefined) return undefined;
    departM = Math.max(clearM, departM);
    if (isFlown(leg)) return departM;
    const higher = {
      ...asGlide(leg, input),
      departAltitudeM: departM,
      speed: { kind: 'indicated', indicatedMps },
    } as const;
    still = tooLow({ ...leg, input: higher, result: evaluateLeg(higher) }, evaluation).find(
      ({ over }) => over === low.over,
    );
  }
  return still ? undefined : departM;
}

const MAST = (top: string) => `obstacle Mast at 47.2600 N 19.5900 E
  top     ${top}
`;

/** A leg that passes something solid lower than the reserve asks. */
export const belowClearance: Rule = {
  code: 'below-clearance',
  severity: 'error',
  title: 'A leg passes an obstacle or the ground lower than the clearance asked',
  page: {
    means:
      'At the height planned, the leg passes an obstacle, another field or turnpoint, or the ground, lower than the line `clear` of the reserve and its allowance for the altimeter ask. What stands within half a nautical mile of the line counts, since nobody flies a line more closely; an obstacle counts to the end of its `radius` and that much beyond. The ground comes from the elevation tiles of a `terrain` entry, the highest of the posts around each point of the line; near the ends of a leg the heights asked there count.',
    why: 'A mast has no lights by day and its guys are not seen until too late; a ridge that is cleared by little sinks the air on its far side. The clearance is for the sink that was not forecast and the altimeter that is a little off.',
    bad: eastTask({}, MAST('3600 ft MSL')),
    good: eastTask({}, MAST('1100 ft MSL')),
    turnDown:
      'It is not turned off: leave higher, climb on the way, or go round. `severity` in the settings can make it a warning, no less.',
  },
  *leg(leg, context) {
    const { show, evaluation } = context;
    for (const low of tooLow(leg, evaluation)) {
      const askedM = clearanceAsked(evaluation);
      const overM = low.altitudeM - low.topM;
      const { greater, less, by, excess } = heightsApart(askedM, overM, show);
      const name = low.over === 'ground' ? 'the ground' : low.over.meaning.name;
      const of = low.over === 'ground' ? 'it' : 'its height';
      const where =
        low.over === 'ground'
          ? `${show.distance(low.xM)} after ${leg.fromName}, where it rises to ${show.altitude(low.topM, 'up')}`
          : `${show.distance(low.xM)} after ${leg.fromName}`;
      const height =
        overM >= 0
          ? `${less} above ${of} ${where}, ${greater} asked`
          : `${show.height(-overM, 'up')} below ${of} ${where}, ${greater} above it asked`;
      const part =
        low.over === 'ground' && low.span.toM - low.span.fromM > 500
          ? ` (too low from ${partsText([low.span], leg.result?.distanceM, show).between[0]})`
          : '';
      const departM = leaveAt(leg, low, context);
      const way =
        departM === undefined
          ? `Climb higher before it, or go round`
          : `Leave ${leg.fromName} at ${show.altitude(departM)}${aboveTheDay(departM, context)}, or go round`;
      const clear = evaluation.reserve?.meaning.clearM;
      const related: Related[] = [];
      if (low.over !== 'ground') related.push({ at: low.over.at, message: `${low.over.meaning.name} stands here` });
      if (clear && evaluation.reserve)
        related.push({ at: { ...evaluation.reserve.at, span: clear.line.span }, message: 'the clearance asked' });
      if (low.over === 'ground' && evaluation.surroundings.terrain)
        related.push({ at: evaluation.surroundings.terrain.at, message: 'the ground is read from here' });
      yield {
        at: legPlace(leg, context),
        message: `${legName(leg)} passes ${name} ${by} too low: ${height}${part}${countedFrom(leg, show)}. ${way}.`,
        related,
        excess,
        meets: low.over === 'ground' ? 'the ground' : `${low.over.meaning.kind} ${name}`,
      };
    }
  },
};
