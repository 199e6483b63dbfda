/** A leg: its glide at the chosen speed, its budget of height, and the speeds that matter on it. */
import { bestGlideBounds } from './best-glide.ts';
import {
  DEFAULT_STEP_M,
  type Glide,
  type GlidePoint,
  type GlideSetting,
  glideBackward,
  glideForward,
  glidePath,
  type NoHeadway,
} from './glide.ts';
import { bestGlideSpeed, planned } from './polar.ts';
import { type Climb, MOST_CLIMBS, type NotSoared, type Soared, soar } from './soar.ts';
import { speedToFly } from './speeds.ts';
import { CALM, isCalm } from './wind.ts';

/** What the leg ends at, and the heights asked there: all in metres. */
export interface LegDestination {
  readonly elevationM: number;
  readonly reserveM: number;
  readonly altimeterM: number;
}

/** How the speed of a leg is chosen. */
export type LegSpeed =
  | { readonly kind: 'indicated'; readonly indicatedMps: number }
  | { readonly kind: 'bestGlide' }
  | { readonly kind: 'maccready'; readonly climbMps: number };

/** Indicated airspeeds, m/s: stall, never exceed, and rough air (null when the glider has no such limit). */
export interface SpeedLimits {
  readonly vsMps: number;
  readonly vneMps: number;
  readonly vnoMps: number | null;
}

/** How a leg is soared, at whatever speed. Altitudes in metres. */
export interface Soaring {
  readonly lowerM: number;
  readonly upperM: number;
  /**
   * The altitude at the leg's end from which what follows is a glide; undefined where nothing follows, null where no
   * height is enough for that.
   */
  readonly onwardM?: number | undefined | null;
  /** The last climb leads to so much more than what the glide asks. */
  readonly spareM: number;
  /** What the leg's `climbs` were made for; for another speed, start or asked altitude they are made anew. */
  readonly madeFor: {
    readonly indicatedMps: number;
    readonly departAltitudeM: number;
    readonly askedAltitudeM: number;
  };
}

/** A leg to evaluate: the glide setting for its whole track, where it starts, climbs, and ends, and the speed. */
export interface LegInput {
  readonly setting: GlideSetting;
  /** Altitude at the start, after any climb overhead it, m. */
  readonly departAltitudeM: number;
  readonly climbs: readonly Climb[];
  readonly destination: LegDestination;
  readonly speed: LegSpeed;
  readonly limits: SpeedLimits;
  readonly soaring?: Soaring | undefined;
  /** No ground on the leg is known to be lower, m: a speed at which a climb begins below it does not make the leg. */
  readonly lowestM?: number | undefined;
}

/** A climb as flown. One that would end below where it starts goes down: it does nothing, and is marked. */
export interface ClimbFlown extends Climb {
  readonly fromAltitudeM: number;
  readonly goesDown: boolean;
}

/** Where the height of a leg goes, m: the first four sum to the height lost, the last three to the arrival height. */
export interface LegBudget {
  readonly stillAir: number;
  readonly wind: number;
  readonly sinkingAir: number;
  readonly performance: number;
  readonly reserve: number;
  readonly altimeter: number;
  readonly margin: number;
}

/** What is known of a leg whether or not it makes headway. */
export interface LegBasics {
  readonly distanceM: number;
  /** True course at the start and at the end, 0 up to 360. */
  readonly courseDeg: number;
  readonly finalCourseDeg: number;
  readonly indicatedMps: number;
  readonly departAltitudeM: number;
  /** Elevation + reserve + altimeter allowance. */
  readonly askedAltitudeM: number;
  /**
   * The altitude required where the last climb of the leg ends, or at its start without one, so as to arrive at the
   * asked altitude ({@link requiredAltitude}); null when a glide from so high makes no headway on the way.
   */
  readonly requiredDepartAltitudeM: number | null;
  /**
   * The indicated airspeed between vs and vne that asks the least height; null when none makes headway. Of a leg that is
   * soared, without its climbs. This and the next two take a search of many glides, which is made when they are first
   * asked for.
   */
  readonly bestGlideIndicatedMps: number | null;
  /**
   * The highest indicated airspeed from vs to vno (vne without a vno) that arrives with a margin of 0 or more, and begins
   * no climb below the lowest ground; null when none does. Of a leg that is soared, the highest up to which all do from
   * the speed chosen on: how many climbs it takes changes with the speed, and so it may arrive too low in between.
   */
  readonly fastestIndicatedMps: number | null;
  /** The same up to vne. */
  readonly fastestUpToVneMps: number | null;
  /** Those that lead up, in the order flown. */
  readonly climbs: readonly ClimbFlown[];
  /** Those that would lead down as well. */
  readonly allClimbs: readonly ClimbFlown[];
  /**
   * The points of the glide for drawing, computed when called; a climb is two points at one distance. Steps of at most
   * `maxStepM`.
   */
  path(maxStepM?: number): GlidePoint[];
}

/** A leg that is flown to its end, below ground included. */
export interface LegFlown extends LegBasics {
  readonly problem: null;
  readonly arriveAltitudeM: number;
  /** Above the destination's elevation; negative below it. */
  readonly arriveHeightM: number;
  /** Arrival less asked altitude. */
  readonly marginM: number;
  /** Time gliding, s. */
  readonly timeS: number;
  /** Distance over time; 0 for a leg of no length. */
  readonly meanGroundSpeedMps: number;
  /** Mean over the distance; 0 for a leg of no length. */
  readonly meanHeadwindMps: number;
  /** Distance over the height lost gliding; null when none is lost. */
  readonly glideRatioOverGround: number | null;
  /** Made when it is first asked for: it takes three more glides. */
  readonly budget: LegBudget;
  /**
   * Where the last glide first meets the destination's elevation when it arrives below it (m from the leg's start;
   * where the glide begins if it begins below); otherwise null.
   */
  readonly reachesGroundAfterM: number | null;
}

/** A leg on which the glider makes no headway at the chosen speed, with where and why. */
export interface LegStopped extends LegBasics {
  readonly problem: 'no-headway';
  readonly reason: NoHeadway['reason'];
  /** From the leg's start, m. */
  readonly atM: number;
  readonly altitudeM: number;
  readonly tasMps: number;
  readonly headMps: number;
  readonly crossMps: number;
  /** Where the last glide has met the destination's elevation before that, m from the leg's start; otherwise null. */
  readonly reachesGroundAfterM: number | null;
}

export type LegResult = LegFlown | LegStopped;

/** One glide of a leg: between climbs. */
interface Segment {
  readonly fromX: number;
  readonly toX: number;
  /** The altitude of the climb at its end; null at the leg's end. */
  readonly climbTo: number | null;
}

interface Flown {
  readonly problem: null;
  readonly arriveAltitudeM: number;
  readonly lossM: number;
  readonly timeS: number;
  readonly meanHeadwindMps: number;
  readonly climbs: readonly ClimbFlown[];
  /** The altitude at which each segment starts. */
  readonly starts: readonly number[];
}

interface Stopped {
  readonly problem: NoHeadway;
  readonly climbs: readonly ClimbFlown[];
}

/** Speeds are found this closely, m/s. */
const SPEED_TOLERANCE = 1e-4;
/** Samples between vs and vne before the search closes in. */
const SCAN = 16;
/** Its glides are flown in steps of so many metres at most: the samples lie much farther apart than that tells. */
const SCAN_STEP_M = 8000;
/** A glide at another speed is looked at from as much higher than that at the best speed in still air, at least, m. */
const ROOM_ABOVE_M = 300;
/** How closely speeds are looked at along a leg that is soared, m/s; and all of so many that make it are one to name. */
const SOARING_STEP = 0.5;
const SOARING_RUN = 0.6;
/** So many climbs are looked at for it, of all speeds together. */
const SOARING_LOOKS = 3000;
/** The best glide is found this closely, m/s: a hundredth of a knot changes the height by less than a millimetre. */
const BEST_GLIDE_WITHIN = 1e-3;
const GOLDEN = (3 - Math.sqrt(5)) / 2;

function segmentsOf(distanceM: number, climbs: readonly Climb[]): Segment[] {
  const segments: Segment[] = [];
  let fromX = 0;
  for (const { afterM, toAltitudeM } of climbs.toSorted((one, other) => one.afterM - other.afterM)) {
    if (!(afterM >= 0 && afterM < distanceM)) continue;
    segments.push({ fromX, toX: afterM, climbTo: toAltitudeM });
    fromX = afterM;
  }
  segments.push({ fromX, toX: distanceM, climbTo: null });
  return segments;
}

/** The whole leg forward at one speed. */
function fly(
  setting: GlideSetting,
  segments: readonly Segment[],
  indicatedMps: number,
  departM: number,
): Flown | Stopped {
  const climbs: ClimbFlown[] = [];
  const starts: number[] = [];
  let altitudeM = departM;
  let lossM = 0;
  let timeS = 0;
  let headwind = 0;
  let distanceM = 0;
  for (const { fromX, toX, climbTo } of segments) {
    starts.push(altitudeM);
    const glide = glideForward(setting, indicatedMps, fromX, toX, altitudeM);
    if (glide.problem) return { problem: glide, climbs };
    lossM += altitudeM - glide.altitudeM;
    timeS += glide.timeS;
    headwind += glide.meanHeadwindMps * (toX - fromX);
    distanceM += toX - fromX;
    altitudeM = glide.altitudeM;
    if (climbTo !== null) {
      const goesDown = climbTo <= altitudeM;
      climbs.push({ afterM: toX, toAltitudeM: climbTo, fromAltitudeM: altitudeM, goesDown });
      if (!goesDown) altitudeM = climbTo;
    }
  }
  const meanHeadwindMps = distanceM > 0 ? headwind / distanceM : 0;
  return { problem: null, arriveAltitudeM: altitudeM, lossM, timeS, meanHeadwindMps, climbs, starts };
}

/** The height lost by gliding each segment from its given start; null when a segment makes no headway. */
function lossFrom(
  setting: GlideSetting,
  segments: readonly Segment[],
  indicatedMps: number,
  starts: readonly number[],
): number | null {
  let lossM = 0;
  for (const [i, { fromX, toX }] of segments.entries()) {
    const start = starts[i] ?? 0;
    const glide = glideForward(setting, indicatedMps, fromX, toX, start);
    if (glide.problem) return null;
    lossM += start - glide.altitudeM;
  }
  return lossM;
}

/**
 * Where a function that may be Infinity is least between two speeds; null when it never is finite. A scan, then Brent's
 * method: parabolas, and golden sections where they do not help. The scan may go by a function that is much the same and
 * costs less. Source: Brent, Algorithms for minimization without derivatives (1973).
 */
export function leastBetween(
  low: number,
  high: number,
  of: (v: number) => number,
  roughly = of,
  samples = SCAN,
  closely = SPEED_TOLERANCE,
): { speed: number; value: number } | null {
  const step = (high - low) / samples;
  const speeds = Array.from({ length: samples + 1 }, (_, i) => (i === samples ? high : low + step * i));
  const values = speeds.map(roughly);
  const best = values.reduce((least, value, i) => (value < (values[least] as number) ? i : least), 0);
  let x = speeds[best] as number;
  let fx = values[best] as number;
  if (roughly !== of) {
    fx = of(x);
    // Where the two differ in what is finite, the function itself says where to look.
    if (!(fx < Infinity)) return leastBetween(low, high, of);
  }
  if (!(fx < Infinity)) return null;
  let left = Math.max(x - step, low);
  let right = Math.min(x + step, high);
  // x is the best so far, w the second best, v the one before.
  let [w, v, fw, fv] = [x, x, fx, fx];
  let move = 0;
  let lastMove = 0;
  const [below = Infinity, above = Infinity] = [values[best - 1], values[best + 1]];
  if (roughly === of && below < Infinity && above < Infinity) {
    // The samples around the best one are the first parabola.
    [w, v, fw, fv] = below < above ? [left, right, below, above] : [right, left, above, below];
    move = step;
    lastMove = 2 * step;
  }
  const tolerance = closely / 2;
  for (;;) {
    const middle = (left + right) / 2;
    if (Math.abs(x - middle) <= 2 * tolerance - (right - left) / 2) return { speed: x, value: fx };
    const r = (x - w) * (fx - fv);
    const q = (x - v) * (fx - fw);
    const vertex = ((x - w) * r - (x - v) * q) / (2 * (q - r));
    const at = x + vertex;
    const useful = Math.abs(vertex) < Math.abs(lastMove) / 2 && at > left && at < right;
    lastMove = useful ? move : x < middle ? right - x : left - x;
    move = useful ? vertex : GOLDEN * lastMove;
    // As near an end as can be told apart, a parabola would look there for ever: on towards the middle instead.
    if (useful && (at - left < 2 * tolerance || right - at < 2 * tolerance)) move = 0;
    if (Math.abs(move) < tolerance) move = move < 0 || (move === 0 && x > middle) ? -tolerance : tolerance;
    const u = x + move;
    const fu = of(u);
    if (fu <= fx) {
      if (u < x) right = x;
      else left = x;
      [v, fv, w, fw, x, fx] = [w, fw, x, fx, u, fu];
    } else {
      if (u < x) left = u;
      else right = u;
      if (fu <= fw || w === x) [v, fv, w, fw] = [w, fw, u, fu];
      else if (fu <= fv || v === x || v === w) [v, fv] = [u, fu];
    }
  }
}

/**
 * The root, to half a ten-thousandth of a metre a second and never beyond it, between a speed whose margin is 0 or more
 * and a faster one whose margin is below 0 (-Infinity without headway).
 */
export function lastWithMargin(enough: number, tooFast: number, margin: (v: number) => number): number {
  let good = enough;
  let bad = tooFast;
  let goodMargin = margin(good);
  let badMargin = margin(bad);
  let turn = 0;
  while (bad - good > SPEED_TOLERANCE / 2) {
    // The secant, every third time the middle: fast on a smooth curve, sure on any.
    turn += 1;
    const share = turn % 3 !== 0 && Number.isFinite(badMargin) ? goodMargin / (goodMargin - badMargin) : 0.5;
    const inside = SPEED_TOLERANCE / 4 / (bad - good);
    const speed = good + Math.min(Math.max(share, inside), 1 - inside) * (bad - good);
    const value = margin(speed);
    if (value >= 0) {
      good = speed;
      goodMargin = value;
    } else {
      bad = speed;
      badMargin = value;
    }
  }
  return good;
}

function requireInput(input: LegInput): void {
  const { destination, limits, climbs } = input;
  const numbers = [
    input.departAltitudeM,
    destination.elevationM,
    destination.reserveM,
    destination.altimeterM,
    limits.vnoMps ?? 1,
    input.lowestM ?? 0,
    ...climbs.flatMap((climb) => [climb.afterM, climb.toAltitudeM]),
  ];
  if (!numbers.every(Number.isFinite)) throw new RangeError('a leg needs finite numbers');
  if (!(input.setting.polar.a > 0)) throw new RangeError(`a polar that curves down: a is ${input.setting.polar.a}`);
  if (!(limits.vsMps > 0 && limits.vneMps >= limits.vsMps && limits.vneMps < Infinity)) {
    throw new RangeError(`not limits of speed: vs ${limits.vsMps} m/s, vne ${limits.vneMps} m/s`);
  }
}

/** What is made once a speed: a search asks the same ones again, its neighbours and limits. */
function bySpeed<T>(make: (v: number) => T): (v: number) => T {
  const made = new Map<number, T>();
  return (v) => {
    let found = made.get(v);
    if (found === undefined) {
      found = make(v);
      made.set(v, found);
    }
    return found;
  };
}

/**
 * The highest speed up to `high` to name for a leg that is soared: from the speed chosen on all speeds up to it make the
 * leg, or, where that one does not, a run of speeds below it. Null for none. Of a leg with hundreds of climbs it is the
 * highest that is known to be one when the looking ends.
 */
function fastestSoaring(
  low: number,
  chosen: number,
  high: number,
  margin: (v: number) => number,
  soared: (v: number) => Soared | NotSoared,
): number | null {
  const makes = (v: number) => margin(v) >= 0;
  let looked = 0;
  /** Speeds with as many climbs, and a last glide or none, arrive the lower the faster they are. */
  const shape = bySpeed((v) => {
    const found = soared(v);
    looked += 1 + (found.problem === null ? found.climbs.length : MOST_CLIMBS);
    return found.problem === null ? 2 * found.climbs.length + (found.lastGlide ? 1 : 0) : -1;
  });
  /** The last speed from `from`, which makes it, before one that does not; null where all do. */
  const stops = (from: number, to: number): number | null => {
    if (looked > SOARING_LOOKS) return from;
    if (shape(from) === shape(to)) return makes(to) ? null : lastWithMargin(from, to, margin);
    if (to - from < SPEED_TOLERANCE) return makes(to) ? null : from;
    const middle = (from + to) / 2;
    return stops(from, middle) ?? stops(middle, to);
  };
  const upFrom = (from: number, to: number): number => {
    for (let v = from; v < to; ) {
      const next = Math.min(v + SOARING_STEP, to);
      const stop = stops(v, next);
      if (stop !== null) return stop;
      v = next;
    }
    return to;
  };
  if (chosen >= low && chosen <= high && makes(chosen)) return upFrom(chosen, high);
  for (let v = Math.min(chosen, high); v >= low; v -= SOARING_STEP) {
    if (!makes(v)) continue;
    const last = upFrom(v, high);
    const first = last - SOARING_RUN;
    if (first >= low && makes(first) && upFrom(first, last) === last) return last;
  }
  return null;
}

/** What is made once, when it is first asked for. */
function once<T>(make: () => T): () => T {
  let made: { readonly value: T } | undefined;
  return () => {
    made ??= { value: make() };
    return made.value;
  };
}

/**
 * Evaluates a leg: the glide at the chosen speed, the budget of height, the height required, the best glide over the
 * ground, and the fastest speed that still arrives with the asked height. Climbs that do not lie on the leg (before its
 * start, or at or after its end) are left out. The speed chosen is not held within the limits; the searches are.
 * Throws RangeError for numbers that are not finite, a polar whose a is not above 0, limits that are not 0 < vs <= vne,
 * and what {@link glideForward} throws for. Source: the flight model; speeds to fly from MacCready's theory.
 */
export function evaluateLeg(input: LegInput): LegResult {
  requireInput(input);
  const { setting, departAltitudeM, destination, limits, speed } = input;
  const { distanceM } = setting.track;
  const written = segmentsOf(distanceM, input.climbs);
  const askedAltitudeM = destination.elevationM + destination.reserveM + destination.altimeterM;
  const plannedPolar = planned(setting.polar, setting.massKg, setting.share);
  const ownBestGlide = Math.min(Math.max(bestGlideSpeed(plannedPolar), limits.vsMps), limits.vneMps);

  const { soaring } = input;
  const isMadeForThis =
    soaring?.madeFor.departAltitudeM === departAltitudeM && soaring.madeFor.askedAltitudeM === askedAltitudeM;
  const soared =
    soaring &&
    bySpeed((indicatedMps) => {
      const { lowerM, upperM, onwardM = -Infinity, spareM } = soaring;
      const enoughAtEndM = onwardM === null ? null : Math.max(askedAltitudeM + spareM, onwardM);
      return soar({ setting, indicatedMps, departAltitudeM, lowerM, upperM, enoughAtEndM });
    });
  const segmentsAt = (v: number): Segment[] => {
    if (!soared || (isMadeForThis && v === soaring.madeFor.indicatedMps)) return written;
    const found = soared(v);
    return segmentsOf(distanceM, found.problem === null ? found.climbs : []);
  };

  // One leg's flights are few enough to keep.
  const flight = bySpeed((v) => fly(setting, segmentsAt(v), v, departAltitudeM));
  const lowestM = input.lowestM ?? -Infinity;
  const margin = (v: number): number => {
    const flown = flight(v);
    if (flown.problem) return -Infinity;
    let least = flown.arriveAltitudeM - askedAltitudeM;
    for (const { goesDown, fromAltitudeM } of flown.climbs)
      if (!goesDown) least = Math.min(least, fromAltitudeM - lowestM);
    return least;
  };
  /** The number of the last climb that leads up; one that the glide does not get to counts as one. */
  const lastClimb = (earlier: readonly Segment[], climbs: readonly ClimbFlown[]): number =>
    earlier.findLastIndex((_, i) => !climbs[i]?.goesDown);
  const requiredFrom = (fromX: number, v: number, by = setting): number | null => {
    const glide: Glide | NoHeadway = glideBackward(by, v, fromX, distanceM, askedAltitudeM);
    return glide.problem ? null : glide.altitudeM;
  };

  const before = soaring ? [] : written.slice(0, -1);
  const heightAsked = (v: number, by = setting): number => {
    if (before.length === 0) return requiredFrom(0, v, by) ?? Infinity;
    const flown = fly(by, before, v, departAltitudeM);
    if (flown.problem) return Infinity;
    const last = lastClimb(before, flown.climbs);
    let lossM = 0;
    for (let i = 0; i <= last; i += 1) lossM += (flown.starts[i] ?? 0) - (flown.climbs[i]?.fromAltitudeM ?? 0);
    const required = requiredFrom(before[last]?.toX ?? 0, v, by);
    return required === null ? Infinity : required + lossM;
  };
  const inLongSteps: GlideSetting = { ...setting, maxStepM: Math.max(SCAN_STEP_M, setting.maxStepM ?? 0) };
  const roughlyAsked = bySpeed((v) => heightAsked(v, inLongSteps));
  /** The same search among few speeds; undefined where those are not known. */
  const leastNear = (): { speed: number; value: number } | undefined => {
    if (before.length > 0) return undefined;
    const own = roughlyAsked(ownBestGlide);
    const topM = own + Math.max((own - askedAltitudeM) / 2, ROOM_ABOVE_M);
    const bounds = own < Infinity && bestGlideBounds(setting, askedAltitudeM, topM);
    if (!bounds) return undefined;
    const [low, high] = [bounds.low, bounds.high].map((v) => Math.min(Math.max(v, limits.vsMps), limits.vneMps)) as [
      number,
      number,
    ];
    if (!(roughlyAsked(low) <= topM && roughlyAsked(high) <= topM)) return undefined;
    const share = high > low ? (high - low) / (limits.vneMps - limits.vsMps) : 0;
    const samples = Math.max(2, Math.ceil(share * SCAN));
    return leastBetween(low, high, roughlyAsked, roughlyAsked, samples, BEST_GLIDE_WITHIN) ?? undefined;
  };
  const bestGlide = once((): number | null => {
    if (distanceM === 0) return ownBestGlide;
    const least =
      leastNear() ??
      leastBetween(limits.vsMps, limits.vneMps, (v) => heightAsked(v), roughlyAsked) ??
      // Backward from the asked height the glide may run into wind that the actual one stays below.
      leastBetween(limits.vsMps, limits.vneMps, (v) => -margin(v));
    return least?.speed ?? null;
  });

  const fastestUpTo = (limit: number): number | null => {
    if (limit < limits.vsMps) return null;
    if (soared) return fastestSoaring(limits.vsMps, indicatedMps, limit, margin, soared);
    if (margin(limit) >= 0) return limit;
    const near = bestGlide() ?? ownBestGlide;
    if (near < limit && margin(near) >= 0) return lastWithMargin(near, limit, margin);
    // Without climbs the speed that asks the least height also leaves the most margin: nothing better is to be found. One
    // that gets on from the height asked, and not from where the leg starts, tells nothing.
    if (before.length === 0 && !flight(near).problem) return null;
    const best = leastBetween(limits.vsMps, limit, (v) => -margin(v));
    return best && best.value <= 0 ? lastWithMargin(best.speed, limit, margin) : null;
  };
  const fastestUpToVne = once(() => fastestUpTo(limits.vneMps));
  const fastest = once(() => {
    const upToVne = fastestUpToVne();
    const vno = limits.vnoMps ?? limits.vneMps;
    return upToVne === null || upToVne <= vno ? upToVne : fastestUpTo(vno);
  });

  const indicatedMps =
    speed.kind === 'indicated'
      ? speed.indicatedMps
      : speed.kind === 'maccready'
        ? speedToFly(plannedPolar, speed.climbMps, setting.sinkingAirMps)
        : (bestGlide() ?? ownBestGlide);
  const flown = flight(indicatedMps);
  const segments = segmentsAt(indicatedMps);
  const earlier = segments.slice(0, -1);
  const last = lastClimb(earlier, flown.climbs);
  const lastFromX = earlier[last]?.toX ?? 0;

  const required = once(() => requiredAltitude(input, basics, askedAltitudeM));

  /** Where a glide that stops below the destination has met its elevation, if there is no climb any more. */
  const stoppedBelow = ({ climbs, problem: { xM, altitudeM } }: Stopped): number | null => {
    if (altitudeM >= destination.elevationM || climbs.length < earlier.length) return null;
    const fromM = climbs[last]?.toAltitudeM ?? departAltitudeM;
    return Math.min(xM, meetsAltitude(setting, indicatedMps, lastFromX, fromM, destination.elevationM));
  };

  const basics: LegBasics = {
    distanceM,
    courseDeg: setting.track.initialCourseDeg,
    finalCourseDeg: setting.track.finalCourseDeg,
    indicatedMps,
    departAltitudeM,
    askedAltitudeM,
    get requiredDepartAltitudeM() {
      return required();
    },
    get bestGlideIndicatedMps() {
      return bestGlide();
    },
    get fastestIndicatedMps() {
      return fastest();
    },
    get fastestUpToVneMps() {
      return fastestUpToVne();
    },
    climbs: flown.climbs.filter(({ goesDown }) => !goesDown),
    allClimbs: flown.climbs,
    path: (maxStepM = setting.maxStepM ?? DEFAULT_STEP_M) =>
      pathOf({ ...setting, maxStepM }, segments, indicatedMps, departAltitudeM),
  };
  if (flown.problem) {
    const { reason, xM, altitudeM, tasMps, headMps, crossMps } = flown.problem;
    return Object.assign(basics, {
      problem: 'no-headway',
      reason,
      atM: xM,
      altitudeM,
      tasMps,
      headMps,
      crossMps,
      reachesGroundAfterM: stoppedBelow(flown),
    } as const);
  }

  const { arriveAltitudeM, lossM, timeS, meanHeadwindMps } = flown;
  const marginM = arriveAltitudeM - askedAltitudeM;
  const budget = once(() => ({
    ...lossesByCause(setting, segments, indicatedMps, flown),
    reserve: destination.reserveM,
    altimeter: destination.altimeterM,
    margin: marginM,
  }));
  const lastStart = flown.climbs[last]?.toAltitudeM ?? departAltitudeM;
  const whole = Object.assign(basics, {
    problem: null,
    arriveAltitudeM,
    arriveHeightM: arriveAltitudeM - destination.elevationM,
    marginM,
    timeS,
    meanGroundSpeedMps: timeS > 0 ? distanceM / timeS : 0,
    meanHeadwindMps,
    glideRatioOverGround: lossM > 0 ? distanceM / lossM : null,
    reachesGroundAfterM:
      arriveAltitudeM < destination.elevationM
        ? meetsAltitude(setting, indicatedMps, lastFromX, lastStart, destination.elevationM)
        : null,
  });
  return Object.defineProperty(whole, 'budget', { enumerable: true, get: budget }) as typeof whole & LegFlown;
}

/** How often a height for a climb is raised, so that it holds at the speed that is best once it is written. */
const RAISES = 20;
/** Nothing to speak of, m. */
const NOTHING_M = 1e-6;

/**
 * The altitude required where the last climb of a leg ends, or at its start without one, so as to arrive at an altitude,
 * m; null when a glide from so high makes no headway. The best glide counts the glide to a climb as well, and where that
 * arrives above the height climbed to there is no climb: with another height it can be another speed, so each is tried.
 * Throws what {@link evaluateLeg} throws.
 */
export function requiredAltitude(input: LegInput, flown: LegBasics, arriveM: number): number | null {
  const { setting, climbs, departAltitudeM } = input;
  const last = flown.climbs.at(-1);
  const glide = glideBackward(setting, flown.indicatedMps, last?.afterM ?? 0, setting.track.distanceM, arriveM);
  if (glide.problem) return null;
  let { altitudeM } = glide;
  if (input.soaring || input.speed.kind !== 'bestGlide' || climbs.length === 0) return altitudeM;
  const isLast = ({ afterM, toAltitudeM }: Climb) => afterM === last?.afterM && toAltitudeM === last.toAltitudeM;
  const others = climbs.filter((climb) => !isLast(climb));
  const highest = others.reduce((most, { toAltitudeM }) => Math.max(most, toAltitudeM), departAltitudeM);
  // It leads up at whatever speed, so nothing else is chosen.
  if (last && Math.min(altitudeM, last.toAltitudeM) >= highest && others.every(({ afterM }) => afterM <= last.afterM))
    return altitudeM;
  /** The leg with that height written: for its last climb, or to leave its start at, with climbs that gain nothing and without. */
  const writtenWith = (toAltitudeM: number): LegInput[] => {
    if (last) return [{ ...input, climbs: climbs.map((climb) => (isLast(climb) ? { ...climb, toAltitudeM } : climb)) }];
    const leaving = { ...input, departAltitudeM: toAltitudeM };
    return [leaving, { ...leaving, climbs: [] }];
  };
  for (let raise = 0; raise < RAISES; raise += 1) {
    const missing = writtenWith(altitudeM).map((written) => {
      const tried = evaluateLeg(written);
      return tried.problem ? 0 : arriveM - tried.arriveAltitudeM;
    });
    const missingM = Math.max(...missing);
    if (missingM <= NOTHING_M) return altitudeM;
    altitudeM += Math.max(missingM, NOTHING_M * 2 ** raise);
  }
  return altitudeM;
}

/**
 * The height lost by switching on one effect after another, each segment from the altitude where it really starts. A
 * stage that would make no headway by itself counts as no difference: the next stage then carries both.
 */
function lossesByCause(
  setting: GlideSetting,
  segments: readonly Segment[],
  indicatedMps: number,
  flown: Flown,
): Pick<LegBudget, 'stillAir' | 'wind' | 'sinkingAir' | 'performance'> {
  const loss = (stage: GlideSetting): number | null => lossFrom(stage, segments, indicatedMps, flown.starts);
  const withoutShare: GlideSetting = { ...setting, share: 1 };
  const withWind: GlideSetting = { ...withoutShare, sinkingAirMps: 0 };
  const calm: GlideSetting = { ...withWind, wind: CALM };
  const stillAir = loss(calm) ?? 0;
  const wind = isCalm(setting.wind) ? stillAir : (loss(withWind) ?? stillAir);
  const sinking = setting.sinkingAirMps === 0 ? wind : (loss(withoutShare) ?? wind);
  return {
    stillAir,
    wind: wind - stillAir,
    sinkingAir: sinking - wind,
    performance: flown.lossM - sinking,
  };
}

/** Where a glide from `fromX` first meets the altitude `belowM`, at which or below which it arrives. */
function meetsAltitude(
  setting: GlideSetting,
  indicatedMps: number,
  fromX: number,
  startAltitudeM: number,
  belowM: number,
): number {
  let before: GlidePoint = { xM: fromX, altitudeM: startAltitudeM, timeS: 0 };
  for (const point of glidePath(setting, indicatedMps, fromX, setting.track.distanceM, startAltitudeM)) {
    if (point.altitudeM > belowM) {
      before = point;
      continue;
    }
    let low = before.xM;
    let high = point.xM;
    while (high - low > 1e-3) {
      const middle = (low + high) / 2;
      const glide = glideForward(setting, indicatedMps, before.xM, middle, before.altitudeM);
      if (glide.problem === null && glide.altitudeM > belowM) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  }
  return setting.track.distanceM;
}

function pathOf(
  setting: GlideSetting,
  segments: readonly Segment[],
  indicatedMps: number,
  departAltitudeM: number,
): GlidePoint[] {
  const points: GlidePoint[] = [];
  let altitudeM = departAltitudeM;
  let timeS = 0;
  for (const { fromX, toX, climbTo } of segments) {
    const glide = glidePath(setting, indicatedMps, fromX, toX, altitudeM);
    for (const point of glide) points.push({ ...point, timeS: timeS + point.timeS });
    const end = points.at(-1);
    if (!end || end.xM < toX) break;
    altitudeM = Math.max(end.altitudeM, climbTo ?? end.altitudeM);
    timeS = end.timeS;
  }
  return points;
}
