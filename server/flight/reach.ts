/**
 * Fields within reach: from a point at a height, and along a leg. A field is in reach when the best glide over the
 * ground to it arrives at or above what the field asks. The height that this needs does not depend on the height one
 * has, so more height never loses a field. Bounds are cheap and on the safe side: they never drop a field that is in
 * reach, and whatever they leave is flown.
 */
import { tasPerIas } from './air.ts';
import { type Position, type Track, track } from './earth.ts';
import { type GlidePoint, type GlideSetting, glideBackward } from './glide.ts';
import { leastBetween } from './leg.ts';
import { type Polar, planned } from './polar.ts';
import { dot, type Frame, frameAt, inSpace, type Vector } from './space.ts';
import { windAt, windsBetween } from './wind.ts';

/** Everything about a glide but where it goes: the glider, the air, and the speeds (m/s, indicated) it may fly. */
export interface ReachSetting extends Omit<GlideSetting, 'track'> {
  readonly vsMps: number;
  readonly vneMps: number;
}

/** A place to land, and the altitude asked over it, m. */
export interface Landable {
  readonly position: Position;
  readonly askedAltitudeM: number;
}

/** Many places to land. What `within` finds may hold more than was asked for, and never less. */
export interface Landables<L extends Landable> {
  /** The lowest altitude that any of them asks. */
  readonly lowestAskedM: number;
  within(position: Position, radiusM: number): readonly L[];
  nearest(position: Position, count: number): readonly L[];
}

/** The best glide over the ground from a point to a field. */
export interface GlideTo {
  readonly distanceM: number;
  /** The least altitude at the point from which the field is in reach. */
  readonly requiredM: number;
  /** The indicated airspeed of that glide; 0 overhead the field. */
  readonly indicatedMps: number;
}

/** The first bracket of the search for the speed, as a share of it. */
const BRACKET = 0.06;
const MOST_BRACKETS = 8;
/** Steps in which a speed is searched for, m. */
const COARSE_STEP_M = 8000;
/** A field is missed only by more than glides are computed closely, m. */
const NOTHING_M = 1e-3;
/** Nearer than this is overhead, m. */
const OVERHEAD_M = 0.01;

/** The speed of the flattest glide into `head`, where the air thins speeds by `thin`: the closed form, within limits. */
function flattest(polar: Polar, setting: ReachSetting, head: number, thin: number): number {
  const h = head / thin;
  const square = h * h + (polar.c + setting.sinkingAirMps / thin + polar.b * h) / polar.a;
  const v = square > 0 ? h + Math.sqrt(square) : 0;
  return Math.min(Math.max(v, setting.vsMps), setting.vneMps);
}

/**
 * The best glide over the ground along `way` so as to arrive at `askedM`; null when no speed between vs and vne makes
 * headway all the way. The altitude is that of a glide at a real speed, at most a few centimetres above the least (or
 * 0.005 % of the height lost, where that is more). A field that could be reached only by arriving high above the asked
 * altitude, over wind that stops the glider there, counts as out of reach. Throws what {@link glideBackward} throws.
 */
export function glideAlong(setting: ReachSetting, way: Track, askedM: number): GlideTo | null {
  const { distanceM } = way;
  if (distanceM < OVERHEAD_M) return { distanceM, requiredM: askedM, indicatedMps: 0 };
  const { vsMps, vneMps } = setting;
  // The speed is searched for in long steps; the height then counts in short ones.
  const fine: GlideSetting = { ...setting, track: way };
  const coarse: GlideSetting = distanceM > 2 * COARSE_STEP_M ? { ...fine, maxStepM: COARSE_STEP_M } : fine;
  const required = (v: number): number => {
    const flown = glideBackward(coarse, v, 0, distanceM, askedM);
    return flown.problem ? Infinity : flown.altitudeM;
  };
  const flownAt = (v: number, requiredM: number): GlideTo | null => {
    if (coarse === fine) return { distanceM, requiredM, indicatedMps: v };
    const flown = glideBackward(fine, v, 0, distanceM, askedM);
    return flown.problem ? null : { distanceM, requiredM: flown.altitudeM, indicatedMps: v };
  };
  const polar = planned(setting.polar, setting.massKg, setting.share);
  const thin = tasPerIas(setting.air, askedM + distanceM / 50);
  const there = windAt(setting.wind, askedM + distanceM / 50);
  const course = (way.initialCourseDeg * Math.PI) / 180;
  const head = -(there.u * Math.sin(course) + there.v * Math.cos(course));
  let middle = flattest(polar, setting, head, thin);
  let at = required(middle);
  for (let i = 0; i < MOST_BRACKETS && at < Infinity; i += 1) {
    const low = Math.max(middle * (1 - BRACKET), vsMps);
    const high = Math.min(middle * (1 + BRACKET), vneMps);
    const atLow = low < middle ? required(low) : Infinity;
    const atHigh = high > middle ? required(high) : Infinity;
    if (atLow < at || atHigh < at) {
      [middle, at] = atLow < atHigh ? [low, atLow] : [high, atHigh];
      continue;
    }
    // At a limit the best speed may be the limit itself.
    if (low < middle && high > middle && atLow < Infinity && atHigh < Infinity) {
      const down = middle - low;
      const up = high - middle;
      const bend = (atHigh - at) / up + (atLow - at) / down;
      const vertex = middle - ((atHigh - at) * (down / up) - (atLow - at) * (up / down)) / (2 * bend);
      if (bend > 0 && vertex > low && vertex < high) {
        const atVertex = required(vertex);
        if (atVertex < at) return flownAt(vertex, atVertex);
      }
      return flownAt(middle, at);
    }
    if ((low < middle && atLow < Infinity) || (high > middle && atHigh < Infinity)) {
      const one = leastBetween(Math.max(low, vsMps), Math.min(high, vneMps), required);
      if (one && one.value < at) return flownAt(one.speed, one.value);
    }
    return flownAt(middle, at);
  }
  const least = leastBetween(vsMps, vneMps, required);
  return least && flownAt(least.speed, least.value);
}

/** The best glide over the ground from a point to a field; see {@link glideAlong}. */
export function glideTo(setting: ReachSetting, from: Position, field: Landable): GlideTo | null {
  return glideAlong(setting, track(from, field.position), field.askedAltitudeM);
}

/** Lower bounds of the height that a glide loses over each metre, between two altitudes. */
interface Bounds {
  readonly highM: number;
  /** The least slope in the direction (east, north), a unit vector, which may turn by `turnRad` on the way. */
  slope(east: number, north: number, turnRad: number): number;
  /** The least slope in any direction. */
  readonly leastSlope: number;
  /** The steepest that the best glide can be, into the strongest wind; Infinity where it may make no headway. */
  readonly steepest: number;
}

/** Bounds for glides that stay between two altitudes, m. */
function boundsBetween(setting: ReachSetting, lowM: number, highM: number): Bounds {
  const polar = planned(setting.polar, setting.massKg, setting.share);
  const low = Math.min(lowM, highM);
  const high = Math.max(lowM, highM);
  const thins = [tasPerIas(setting.air, low), tasPerIas(setting.air, high)];
  const winds = windsBetween(setting.wind, low, high);
  const strongest = Math.max(...winds.map(({ u, v }) => Math.hypot(u, v)));
  const atSpeed = (v: number, head: number, thin: number): number => {
    const over = v * thin - head;
    const sink = ((polar.a * v + polar.b) * v + polar.c) * thin + setting.sinkingAirMps;
    return over > 0 ? sink / over : Infinity;
  };
  const against = (head: number): number => {
    let least = Infinity;
    // At one speed the slope changes one way with the thinness of the air: it is least at an end.
    for (const thin of thins) least = Math.min(least, atSpeed(flattest(polar, setting, head, thin), head, thin));
    return least;
  };
  const worst = (): number => {
    const thin = Math.min(...thins);
    return atSpeed(flattest(polar, setting, strongest, thin), strongest, thin);
  };
  return {
    highM: high,
    leastSlope: against(-strongest),
    steepest: worst(),
    slope: (east, north, turnRad) => {
      let head = Infinity;
      for (const { u, v } of winds) head = Math.min(head, -(u * east + v * north));
      return against(Math.max(head - strongest * turnRad, -strongest));
    },
  };
}

/** A way over the ground may be this much longer than the straight line through the Earth, as a share. */
const LONGER = 1.005;
/** A course in space and on the ellipsoid differ by less than this over the distances of glides, radians. */
const TURN = 0.01;
/** Nearer to a pole than this courses turn too quickly for a bound in a direction, degrees of latitude. */
const POLAR_DEG = 80;

/**
 * No field farther than this is in reach from `altitudeM` (m, over the ground); Infinity where the air carries a glide
 * without end.
 */
export function farthestReach(setting: ReachSetting, altitudeM: number, lowestAskedM: number): number {
  if (altitudeM <= lowestAskedM) return 0;
  const { leastSlope } = boundsBetween(setting, lowestAskedM, altitudeM);
  return leastSlope > 0 ? ((altitudeM - lowestAskedM) / leastSlope) * LONGER : Infinity;
}

/** A field with its place in space. */
interface Candidate<L> {
  readonly field: L;
  readonly at: Vector;
}

/** A lower bound of the altitude that a field needs, for glides that stay below `bounds.highM`. */
function boundTo(bounds: Bounds, frame: Frame, latDeg: number, { at, field }: Candidate<Landable>): number {
  const d = { x: at.x - frame.at.x, y: at.y - frame.at.y, z: at.z - frame.at.z };
  const distance = Math.hypot(d.x, d.y, d.z);
  if (distance < 1) return field.askedAltitudeM;
  const east = dot(d, frame.east);
  const north = dot(d, frame.north);
  const over = Math.hypot(east, north);
  const turns = Math.abs(latDeg) < POLAR_DEG && over > distance / 2;
  const slope = turns
    ? bounds.slope(east / over, north / over, TURN + (distance / 6e6) * Math.tan((Math.abs(latDeg) * Math.PI) / 180))
    : bounds.leastSlope;
  return field.askedAltitudeM + slope * distance * (slope < 0 ? LONGER : 1);
}

/** The field that needs the least altitude from a point, and that altitude. */
export interface Least<L> extends GlideTo {
  readonly field: L;
}

/** The least of candidates whose bounds allow less than `below`. */
function leastOf<L extends Landable>(
  setting: ReachSetting,
  bounds: Bounds,
  from: Position,
  candidates: readonly Candidate<L>[],
  below: number,
): Least<L> | null {
  const frame = frameAt(from);
  const open: { bound: number; field: L }[] = [];
  for (const candidate of candidates) {
    const bound = boundTo(bounds, frame, from.latDeg, candidate);
    if (bound < below) open.push({ bound, field: candidate.field });
  }
  open.sort((one, other) => one.bound - other.bound);
  let least: Least<L> | null = null;
  for (const { bound, field } of open) {
    if (least && bound >= least.requiredM) break;
    const glide = glideTo(setting, from, field);
    if (glide && (!least || glide.requiredM < least.requiredM)) least = { ...glide, field };
  }
  return least;
}

const candidatesOf = <L extends Landable>(fields: readonly L[]): Candidate<L>[] =>
  fields.map((field) => ({ field, at: inSpace(field.position) }));

/** Of so many of the nearest the one that seems best is flown first, to know how far a better one may lie. */
const FIRST = 6;
/** How they are told apart: by bounds for glides that start no higher than this above the lowest of them, m. */
const FIRST_ABOVE_M = 3000;
/** No glide starts higher than this, m: the air of this model ends there, and so does every glider's. */
export const HIGHEST_GLIDE_M = 20_000;

/**
 * The field that needs the least altitude from a point; null when none can be glided to from any up to
 * {@link HIGHEST_GLIDE_M}.
 */
export function leastFrom<L extends Landable>(
  setting: ReachSetting,
  from: Position,
  landables: Landables<L>,
): Least<L> | null {
  const { lowestAskedM } = landables;
  const frame = frameAt(from);
  const guess = boundsBetween(setting, lowestAskedM, lowestAskedM + FIRST_ABOVE_M);
  const most = boundsBetween(setting, lowestAskedM, HIGHEST_GLIDE_M);
  const nearest = candidatesOf(landables.nearest(from, FIRST))
    .filter((candidate) => boundTo(most, frame, from.latDeg, candidate) <= HIGHEST_GLIDE_M)
    .map((candidate) => ({ field: candidate.field, bound: boundTo(guess, frame, from.latDeg, candidate) }))
    .sort((one, other) => one.bound - other.bound);
  let first: Least<L> | null = null;
  for (const { field } of nearest) {
    const glide = glideTo(setting, from, field);
    if (!glide || glide.requiredM > HIGHEST_GLIDE_M) continue;
    first = { ...glide, field };
    break;
  }
  const highM = first?.requiredM ?? HIGHEST_GLIDE_M;
  const radiusM = farthestReach(setting, highM, lowestAskedM);
  const bounds = boundsBetween(setting, lowestAskedM, highM);
  const flown = first?.field;
  const others = landables.within(from, radiusM).filter((field) => field !== flown);
  const better = leastOf(setting, bounds, from, candidatesOf(others), highM);
  return better && better.requiredM < (first?.requiredM ?? HIGHEST_GLIDE_M) ? better : first;
}

/** A field in reach from a point. */
export interface InReach<L> extends Least<L> {
  /** Height to spare at the point. */
  readonly spareM: number;
}

/** Every field in reach from a point at an altitude, the one with the most height to spare first. */
export function reachFrom<L extends Landable>(
  setting: ReachSetting,
  from: Position,
  altitudeM: number,
  landables: Landables<L>,
): InReach<L>[] {
  const bounds = boundsBetween(setting, landables.lowestAskedM, altitudeM);
  const radiusM = farthestReach(setting, altitudeM, landables.lowestAskedM);
  const frame = frameAt(from);
  const found: InReach<L>[] = [];
  for (const candidate of candidatesOf(landables.within(from, radiusM))) {
    if (boundTo(bounds, frame, from.latDeg, candidate) > altitudeM + NOTHING_M) continue;
    const glide = glideTo(setting, from, candidate.field);
    if (glide && glide.requiredM <= altitudeM + NOTHING_M)
      found.push({ ...glide, field: candidate.field, spareM: Math.max(0, altitudeM - glide.requiredM) });
  }
  return found.sort((one, other) => other.spareM - one.spareM);
}

/** A stretch of a leg, distances from its start, on which no field is in reach. */
export interface Stretch<L> {
  readonly fromM: number;
  readonly toM: number;
  /** Where the most height is missing, and the altitude planned there. */
  readonly worst: {
    readonly xM: number;
    readonly altitudeM: number;
    /** The field that needs the least altitude there; null when none can be reached from any. */
    readonly least: Least<L> | null;
  };
}

/** One glide of a leg. */
interface Piece {
  readonly fromM: number;
  readonly toM: number;
  readonly points: readonly GlidePoint[];
}

/** The glides of a path: a climb on the way is two points at one distance. */
function piecesOf(points: readonly GlidePoint[]): Piece[] {
  const pieces: Piece[] = [];
  let from = 0;
  for (let i = 1; i <= points.length; i += 1) {
    const before = points[i - 1] as GlidePoint;
    const here = points[i];
    if (here && here.xM > before.xM) continue;
    const part = points.slice(from, i);
    if (part.length > 0) pieces.push({ fromM: (part[0] as GlidePoint).xM, toM: before.xM, points: part });
    from = i;
  }
  return pieces;
}

/** The altitude of a path of points at a distance. */
function altitudeOn(points: readonly GlidePoint[], xM: number): number {
  let low = 0;
  let high = points.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((points[middle] as GlidePoint).xM <= xM) low = middle;
    else high = middle;
  }
  const before = points[low] as GlidePoint;
  const behind = points[high] as GlidePoint;
  const length = behind.xM - before.xM;
  if (length <= 0) return behind.altitudeM;
  return before.altitudeM + ((xM - before.xM) / length) * (behind.altitudeM - before.altitudeM);
}

/** The ends of a stretch are found this closely, m. */
const CLOSELY_M = 3;
/** Points are looked at no nearer to each other than this, m, or than this share of the leg. */
const LEAST_STEP_M = 25;
const LEAST_STEP_SHARE = 1 / 400;
/** How much faster the height needed may change than the steepest slope: the course to the field turns too. */
const TURNING = 1.5;
/** With less than this to spare from the last field, others are looked at, m. */
const LITTLE_SPARE_M = 40;
/** The worst point of a stretch is looked for this closely first, m. */
const WORST_STEP_M = 1000;
const MOST_WORST_STEPS = 40;

/** What is asked of a leg: its way, its planned path (altitudes along the way), and where a field is known to be. */
export interface LegPath {
  readonly track: Track;
  readonly points: readonly GlidePoint[];
  /** From this distance on the leg's own glide reaches a field with the height asked. */
  readonly knownFromM?: number;
}

/** Where, along a leg, the field that needs the least altitude was looked for, and what was found. */
export interface Looks<L> {
  /** The altitudes, m, that the bounds of the search were made for. */
  lowM: number;
  highM: number;
  readonly all: { readonly from: Position; readonly least: Least<L> | null }[];
}

/**
 * Whether each look would find what it found if a place to land came, as it would where all are looked through again.
 * It is asked of looks that found other places than one that went.
 */
export function stillLeast(setting: ReachSetting, looks: Looks<Landable>, came: Landable): boolean {
  const bounds = boundsBetween(setting, looks.lowM, looks.highM);
  const candidate: Candidate<Landable> = { field: came, at: inSpace(came.position) };
  return looks.all.every(({ from, least }) => {
    const bound = boundTo(bounds, frameAt(from), from.latDeg, candidate);
    if (bound > (least?.requiredM ?? looks.highM)) return true;
    const glide = glideTo(setting, from, came);
    return !glide || (least !== null && glide.requiredM > least.requiredM);
  });
}

/**
 * The stretches of a leg on which no field is in reach at the planned height, their ends to a few metres. Between the
 * points looked at the height to spare changes by no more than the steepest slopes allow, so that no gap is missed but
 * where the height to spare is all but nothing, and then none longer than a step. Properties: more fields or more
 * height never make a stretch longer. `looks` takes in where was looked, beside the worst points of stretches.
 */
export function stretchesWithout<L extends Landable>(
  setting: ReachSetting,
  leg: LegPath,
  landables: Landables<L>,
  looks?: Looks<L>,
): Stretch<L>[] {
  const { points } = leg;
  const length = leg.track.distanceM;
  if (points.length === 0) return [];
  const highest = Math.max(...points.map(({ altitudeM }) => altitudeM));
  const lowest = Math.min(landables.lowestAskedM, highest);
  // Fields that need a little more than the highest point are looked at too: how much is missing tells how far to go.
  const highM = highest + 300;
  const bounds = boundsBetween(setting, lowest, highM);
  if (looks) {
    looks.lowM = lowest;
    looks.highM = highM;
  }
  // Asked for once they are needed: most legs reach the field that they lead to from their start.
  let candidates: Candidate<L>[] | undefined;
  const leastAt = (from: Position): Least<L> | null => {
    if (!candidates) {
      const radiusM = farthestReach(setting, highM, lowest) + (length / 2) * LONGER;
      candidates = candidatesOf(landables.within(leg.track.positionAt(length / 2), radiusM));
    }
    return leastOf(setting, bounds, from, candidates, highM);
  };
  const leastStep = Math.max(LEAST_STEP_M, length * LEAST_STEP_SHARE);

  const found: Stretch<L>[] = [];
  let last: { field: L; speed: number } | null = null;
  /** Whether a field can be in reach from an altitude below `highM`, by its bound. */
  const mayReach = (from: Position, field: L, altitudeM: number): boolean =>
    boundTo(bounds, frameAt(from), from.latDeg, { field, at: inSpace(field.position) }) < altitudeM;

  /** The glide to a field at a speed that was the best to it from elsewhere: a real one, so it needs no less than the best. */
  const atSpeed = (way: Track, { askedAltitudeM }: L, speed: number) =>
    glideBackward({ ...setting, track: way }, speed, 0, way.distanceM, askedAltitudeM);

  /** Height to spare above the least that any field needs; at most `-300` m below the highest point. */
  const spareAt = (piece: Piece, xM: number, enough: boolean): number => {
    const altitudeM = altitudeOn(piece.points, xM) + NOTHING_M;
    const from = leg.track.positionAt(xM);
    if (enough && last && mayReach(from, last.field, altitudeM)) {
      // What the last field at the last speed spares is there.
      const way = track(from, last.field.position);
      if (way.distanceM < OVERHEAD_M) return altitudeM - last.field.askedAltitudeM;
      const glide = atSpeed(way, last.field, last.speed);
      if (glide.problem === null && altitudeM - glide.altitudeM > LITTLE_SPARE_M) return altitudeM - glide.altitudeM;
    }
    const least = leastAt(from);
    looks?.all.push({ from, least });
    if (!least) return altitudeM - highM;
    last = least.indicatedMps > 0 ? { field: least.field, speed: least.indicatedMps } : last;
    return altitudeM - least.requiredM;
  };

  for (const piece of piecesOf(points)) {
    const end = Math.min(piece.toM, Math.max(piece.fromM, leg.knownFromM ?? Infinity));
    const [first] = piece.points;
    if (!first || (piece.toM === piece.fromM && length > 0)) continue;
    let steepest = 0;
    for (const [i, point] of piece.points.entries()) {
      const before = piece.points[i - 1];
      if (before && point.xM > before.xM)
        steepest = Math.max(steepest, (before.altitudeM - point.altitudeM) / (point.xM - before.xM));
    }
    const rate = Math.min(Math.max(TURNING * Math.abs(bounds.steepest) + steepest, 1e-4), 1);
    let xM = piece.fromM;
    if ((leg.knownFromM ?? Infinity) <= xM) continue;
    let spare = spareAt(piece, xM, true);
    let openedM = spare < 0 ? xM : null;
    const close = (toM: number): void => {
      if (openedM !== null && (toM > openedM || length === 0))
        found.push({ fromM: openedM, toM, worst: worstOf(piece, openedM, toM) });
      openedM = null;
    };
    while (xM < end) {
      const nextM = Math.min(end, xM + Math.max(Math.abs(spare) / rate, leastStep));
      const known = nextM >= (leg.knownFromM ?? Infinity);
      const next = known ? 0 : spareAt(piece, nextM, true);
      if (next < 0 !== spare < 0) {
        let low = xM;
        let high = nextM;
        while (high - low > CLOSELY_M) {
          const between = (low + high) / 2;
          if (spareAt(piece, between, false) < 0 === spare < 0) low = between;
          else high = between;
        }
        // A stretch is never shown shorter than it is.
        if (next < 0) openedM = low;
        else close(high);
      }
      xM = nextM;
      spare = next;
    }
    if (spare < 0) close(end);
  }
  return joined(found);

  function worstOf(piece: Piece, fromM: number, toM: number): Stretch<L>['worst'] {
    const at = (xM: number): Stretch<L>['worst'] => ({
      xM,
      altitudeM: altitudeOn(piece.points, xM),
      least: leastFrom(setting, leg.track.positionAt(xM), landables),
    });
    const missing = (one: Stretch<L>['worst']) => (one.least ? one.least.requiredM - one.altitudeM : Infinity);
    const steps = Math.max(2, Math.min(MOST_WORST_STEPS, Math.ceil((toM - fromM) / WORST_STEP_M)));
    let step = (toM - fromM) / steps;
    let worst = at(fromM);
    let latest = worst;
    /** Whether more may be missing than at the worst, for all that the best glide from another point tells. */
    const missesMore = (xM: number, { least }: Stretch<L>['worst']): boolean => {
      if (!least || least.indicatedMps === 0) return true;
      const way = track(leg.track.positionAt(xM), least.field.position);
      const glide = atSpeed(way, least.field, least.indicatedMps);
      return glide.problem !== null || glide.altitudeM - altitudeOn(piece.points, xM) > missing(worst);
    };
    const look = (xM: number): void => {
      if (missing(worst) === Infinity || !missesMore(xM, worst) || (latest !== worst && !missesMore(xM, latest)))
        return;
      latest = at(xM);
      if (missing(latest) > missing(worst)) worst = latest;
    };
    // Where a stretch is longer than any glide, its end or its middle tells so: nothing is worse.
    const between = Array.from({ length: steps - 1 }, (_, i) => i + 1);
    for (const i of new Set([steps, steps >> 1, ...between])) look(i === steps ? toM : fromM + i * step);
    while (step > 20) {
      step /= 2;
      for (const xM of [worst.xM - step, worst.xM + step]) if (xM >= fromM && xM <= toM) look(xM);
    }
    return worst;
  }
}

/** Stretches that meet, as at a climb that is not high enough, are one. */
function joined<L>(stretches: readonly Stretch<L>[]): Stretch<L>[] {
  const all: Stretch<L>[] = [];
  const missing = ({ worst }: Stretch<L>) => (worst.least ? worst.least.requiredM - worst.altitudeM : Infinity);
  for (const one of stretches) {
    const before = all.at(-1);
    if (!before || one.fromM > before.toM + CLOSELY_M) all.push(one);
    else {
      const worst = missing(one) > missing(before) ? one.worst : before.worst;
      all[all.length - 1] = { fromM: before.fromM, toM: Math.max(before.toM, one.toM), worst };
    }
  }
  return all;
}

/** The point of a leg with the least height to spare, and the fields in reach there. */
export interface WorstPoint<L> {
  readonly xM: number;
  readonly altitudeM: number;
  /** The field that needs the least altitude there. */
  readonly least: Least<L> | null;
  /** The most height to spare first. */
  readonly inReach: readonly InReach<L>[];
}

/** Points of a leg that are looked at for the worst one. */
const LOOKS = 40;

/** The worst point of a leg: of points along it, closely spaced, the one with the least height to spare. */
export function worstPoint<L extends Landable>(
  setting: ReachSetting,
  { track: way, points }: LegPath,
  landables: Landables<L>,
): WorstPoint<L> | null {
  let worst: { xM: number; altitudeM: number; least: Least<L> | null } | null = null;
  const missing = (one: { altitudeM: number; least: Least<L> | null }) =>
    one.least ? one.least.requiredM - one.altitudeM : Infinity;
  for (const piece of piecesOf(points)) {
    const looks = Math.max(1, Math.ceil((LOOKS * (piece.toM - piece.fromM)) / Math.max(way.distanceM, 1)));
    for (let i = 0; i <= looks; i += 1) {
      const xM = i === looks ? piece.toM : piece.fromM + (i * (piece.toM - piece.fromM)) / looks;
      const altitudeM = altitudeOn(piece.points, xM);
      const one = { xM, altitudeM, least: leastFrom(setting, way.positionAt(xM), landables) };
      if (!worst || missing(one) > missing(worst)) worst = one;
    }
  }
  return worst && { ...worst, inReach: reachFrom(setting, way.positionAt(worst.xM), worst.altitudeM, landables) };
}

/**
 * From where on along a leg one field stays in reach to the leg's end, as a distance from its start (to a few metres);
 * 0 when it is from the start, null when it is not at the end.
 */
export function inReachFrom(setting: ReachSetting, leg: LegPath, field: Landable): number | null {
  const one: Landables<Landable> = {
    lowestAskedM: field.askedAltitudeM,
    within: () => [field],
    nearest: () => [field],
  };
  const last = stretchesWithout(setting, leg, one).at(-1);
  if (!last) return 0;
  return last.toM >= leg.track.distanceM - CLOSELY_M ? null : last.toM;
}
