/**
 * Soaring: a leg flown by climbing from a lower to an upper height whenever the lower one is reached, until a climb is
 * enough for the last glide. It makes the climbs of a leg; the leg itself is then flown like any other.
 */
import { type GlideSetting, glideBackward, glideForward, glidePath } from './glide.ts';

/** A climb on the way, at a distance from the leg's start, to an altitude. */
export interface Climb {
  readonly afterM: number;
  readonly toAltitudeM: number;
}

/** A leg to soar along. Heights are altitudes, m. */
export interface SoarInput {
  readonly setting: GlideSetting;
  readonly indicatedMps: number;
  readonly departAltitudeM: number;
  readonly lowerM: number;
  readonly upperM: number;
  /**
   * The altitude at the leg's end from which all that follows is a glide that arrives everywhere with what is asked;
   * null where no height is enough for that.
   */
  readonly enoughAtEndM: number | null;
}

/** Where the last glide begins: the glider does not climb again. */
export interface LastGlide {
  readonly afterM: number;
  readonly altitudeM: number;
}

export interface Soared {
  readonly problem: null;
  readonly climbs: readonly Climb[];
  /** Null where the leg ends before a climb is enough for it. */
  readonly lastGlide: LastGlide | null;
}

/** Why a leg is not soared: the band is no band, or so narrow that the climbs of the leg cannot be counted. */
export interface NotSoared {
  readonly problem: 'no-band' | 'too-many-climbs';
}

/** More climbs than this on one leg are no plan. */
export const MOST_CLIMBS = 200;
/** Altitudes closer than this are the same, m. */
const SAME_M = 1e-6;
const MOST_TRIES = 60;
/** A glide that comes down this far below what is asked at its end is not enough, whatever the error of it, m. */
const SHORT_M = 10;

/** Where a glide from `fromX` comes down to an altitude; null where it does not before the end, or makes no headway. */
function reaches(
  setting: GlideSetting,
  indicatedMps: number,
  fromX: number,
  fromAltitudeM: number,
  altitudeM: number,
): number | null {
  let low = fromX;
  let high = fromX;
  let found = false;
  const isDown = (atM: number) => atM <= altitudeM;
  for (const point of glidePath(setting, indicatedMps, fromX, setting.track.distanceM, fromAltitudeM, isDown)) {
    if (point.altitudeM > altitudeM) low = point.xM;
    else {
      high = point.xM;
      found = true;
    }
  }
  if (!found) return null;
  const above = (xM: number): number => {
    const glide = glideForward(setting, indicatedMps, fromX, xM, fromAltitudeM);
    return glide.problem ? Number.NaN : glide.altitudeM - altitudeM;
  };
  let overLow = low === fromX ? fromAltitudeM - altitudeM : above(low);
  let overHigh = above(high);
  // The false position with the Illinois correction: altitude falls almost evenly with distance.
  let side = 0;
  for (let i = 0; i < MOST_TRIES && high - low > SAME_M; i += 1) {
    const share = overLow / (overLow - overHigh);
    const xM = Number.isFinite(share) ? low + Math.min(Math.max(share, 0), 1) * (high - low) : (low + high) / 2;
    const over = above(xM);
    if (!Number.isFinite(over)) return null;
    if (Math.abs(over) < SAME_M) return xM;
    if (over > 0) {
      low = xM;
      overLow = over;
      if (side === 1) overHigh /= 2;
      side = 1;
    } else {
      high = xM;
      overHigh = over;
      if (side === -1) overLow /= 2;
      side = -1;
    }
  }
  return high;
}

/**
 * The altitude at `fromX` from which a glide to the end of the track arrives with `endM`, and no less for the error of
 * the integration; null where no height does. Otherwise as {@link glideBackward}.
 */
export function enoughFor(setting: GlideSetting, indicatedMps: number, fromX: number, endM: number): number | null {
  const { distanceM } = setting.track;
  const back = glideBackward(setting, indicatedMps, fromX, distanceM, endM);
  if (back.problem) return null;
  const forward = glideForward(setting, indicatedMps, fromX, distanceM, back.altitudeM);
  return forward.problem ? null : back.altitudeM + Math.max(0, endM - forward.altitudeM) + SAME_M;
}

/**
 * The climbs of a leg that is soared. It leaves its start as it is; whenever it is at the lower height or below, it
 * climbs to the upper one, and the last time only as high as the last glide asks. Where that glide is in reach the lower
 * height is of no account any more. Speeds and heights are not held within limits. Throws what {@link glideForward}
 * throws. Source: the flight model; the cycle of MacCready's theory.
 */
export function soar(input: SoarInput): Soared | NotSoared {
  const { setting, indicatedMps, lowerM, upperM } = input;
  const { distanceM } = setting.track;
  if (!(upperM - lowerM > SAME_M)) return { problem: 'no-band' };
  const { enoughAtEndM } = input;
  // A glide never climbs again: one that is below what is asked at the end stays below it, and most are so early.
  const fallsShort = (xM: number, fromAltitudeM: number, endM: number): boolean => {
    const isShort = (atM: number) => atM < endM - SHORT_M;
    const last = glidePath(setting, indicatedMps, xM, distanceM, fromAltitudeM, isShort).at(-1);
    return last !== undefined && isShort(last.altitudeM);
  };
  /** The altitude that is enough; null also where `mostM` is not. */
  const enoughAt = (xM: number, mostM: number): number | null =>
    enoughAtEndM === null || fallsShort(xM, mostM, enoughAtEndM)
      ? null
      : enoughFor(setting, indicatedMps, xM, enoughAtEndM);
  const climbs: Climb[] = [];
  let afterM = 0;
  let altitudeM = input.departAltitudeM;
  let enough = enoughAt(afterM, altitudeM);
  for (;;) {
    if (enough !== null && altitudeM >= enough - 2 * SAME_M)
      return { problem: null, climbs, lastGlide: { afterM, altitudeM } };
    const next = altitudeM <= lowerM ? afterM : reaches(setting, indicatedMps, afterM, altitudeM, lowerM);
    if (next === null || next >= distanceM) return { problem: null, climbs, lastGlide: null };
    if (climbs.length === MOST_CLIMBS) return { problem: 'too-many-climbs' };
    const asked = enoughAt(next, upperM);
    if (asked !== null && asked <= upperM) {
      climbs.push({ afterM: next, toAltitudeM: asked });
      return { problem: null, climbs, lastGlide: { afterM: next, altitudeM: asked } };
    }
    climbs.push({ afterM: next, toAltitudeM: upperM });
    afterM = next;
    altitudeM = upperM;
    enough = asked;
  }
}
