/** Where the planned path of a task, its legs and its climbs, enters a volume of airspace or comes near one. */
import { type GlidePoint, partsWithin, type Shape, type Span, shapeOf, type Track } from '../flight/index.ts';
import { type Clock, clockOf } from './clock.ts';
import { DAY_S } from './day.ts';
import { groundAt, groundProfile } from './ground.ts';
import { keptFor } from './last-few.ts';
import type { Airspace } from './meaning.ts';
import { isEmptyBy } from './order.ts';
import { altitudeAt, flownTo, pathOf, timeAt } from './reach.ts';
import type { Seen, Surroundings } from './surroundings.ts';
import { altitudeIn, type ClimbEvaluation, climbsOf, type LegEvaluation, type TaskEvaluation } from './task.ts';
import type { Altitude } from './values.ts';

/** Nearer than these is near. */
export const NEAR_BESIDE_M = 926;
export const NEAR_HEIGHT_M = 60.96;

/** A part of a leg inside a volume. */
export interface PartInside extends Span {
  /** The lowest and the highest altitude of the path in it. */
  readonly lowM: number;
  readonly highM: number;
  /** The volume's limits in the middle of it; infinite at the surface. */
  readonly floorM: number;
  readonly ceilingM: number;
}

/** A leg or a climb that enters a volume or comes near it. */
export interface AirspaceMet {
  readonly airspace: Seen<Airspace>;
  readonly leg: LegEvaluation;
  /** The climb that does; undefined for the leg itself. */
  readonly climb: ClimbEvaluation | undefined;
  readonly kind: 'enters' | 'near';
  /** Along the leg, from where it first enters to where it leaves for good; for a climb and a near one, one place. */
  readonly span: Span;
  /** The parts of it that lie inside, in order. */
  readonly parts: readonly PartInside[];
  /** The lowest and the highest altitude of the path in the volume; for a near one, the altitude where it is nearest. */
  readonly lowM: number;
  readonly highM: number;
  /** The volume's limits where the path enters it or is nearest; infinite at the surface. */
  readonly floorM: number;
  readonly ceilingM: number;
  /** How far beside and above or below the volume a near path is; 0 for one that enters it. */
  readonly besideM: number;
  readonly apartM: number;
}

/** What is known of the airspaces round a task. */
export interface AirspacesOfTask {
  /** Each as it is told: what only goes on from a meeting before it is left out. */
  readonly met: readonly AirspaceMet[];
  /** Every meeting. */
  readonly all: readonly AirspaceMet[];
  /** Volumes of which the outline or a limit cannot be read. */
  readonly unread: readonly Seen<Airspace>[];
  /** Volumes with a limit above ground, where a leg crosses them over ground that is not known. */
  readonly unplaced: readonly Seen<Airspace>[];
  /** Volumes of which the floor does not lie below the ceiling by the QNH of the task. */
  readonly empty: readonly Seen<Airspace>[];
  /** Volumes with one limit above ground that is not below, or above, the other over all the ground known where legs cross them. */
  readonly emptyOverGround: readonly Seen<Airspace>[];
}

/** The volumes that a task is not checked against, or not everywhere. */
export function notChecked({ unread, empty, unplaced, emptyOverGround }: AirspacesOfTask): readonly Seen<Airspace>[] {
  return [...new Set([...unread, ...empty, ...unplaced, ...emptyOverGround])];
}

const shapes = new WeakMap<Airspace, Shape | null>();

/** Whether all that the shape and height of a volume rest on could be read. */
function isRead(airspace: Airspace): boolean {
  return (
    airspace.floor !== undefined &&
    airspace.ceiling !== undefined &&
    !airspace.faulty.some(({ detail }) => detail !== 'active')
  );
}

/** The outline of a volume made ready; null where it has none, or it cannot be read. */
export function shapeOfAirspace(airspace: Airspace): Shape | null {
  let shape = shapes.get(airspace);
  if (shape === undefined) {
    const { circle, edge } = airspace;
    if (!isRead(airspace)) shape = null;
    else if (circle) shape = shapeOf({ kind: 'circle', ...circle });
    else shape = shapeOf({ kind: 'polygon', corners: edge });
    shapes.set(airspace, shape);
  }
  return shape;
}

interface Parts {
  readonly inside: readonly Span[];
  readonly near: readonly Span[];
}

const partsKept = new WeakMap<Shape, Map<string, Parts>>();
const MOST_PARTS = 100;

/** Where a way lies inside an outline or near it, kept by the way's ends. */
function partsOf(way: Track, key: string, shape: Shape): Parts {
  const known = keptFor(partsKept, shape, () => new Map<string, Parts>());
  let parts = known.get(key);
  if (!parts) {
    if (known.size >= MOST_PARTS) known.clear();
    const near = partsWithin(way, shape, NEAR_BESIDE_M);
    parts = { near, inside: near.length > 0 ? partsWithin(way, shape, 0) : [] };
    known.set(key, parts);
  }
  return parts;
}

/** A limit along a leg, m above the sea; null where it rests on ground that is not known. */
function limitAt(
  limit: Altitude,
  which: 'floor' | 'ceiling',
  leg: LegEvaluation,
  task: TaskEvaluation,
): (xM: number) => number | null {
  if (limit.kind === 'agl') {
    // The surface itself needs no ground: no path lies below it.
    if (limit.metres <= 0) return () => (which === 'floor' ? -Infinity : null);
    const profile = groundProfile(leg, task);
    return (xM) => {
      const ground = profile && groundAt(profile, xM);
      return ground ? ground.groundM + limit.metres : null;
    };
  }
  const altitudeM = altitudeIn(limit, undefined, task.air) ?? null;
  return () => altitudeM;
}

/** A stretch of time, s after midnight UTC. */
interface Times {
  readonly fromS: number;
  readonly toS: number;
}

/**
 * The parts of a stretch of time (seconds after midnight UTC) in which a volume is active, in order; the stretch itself
 * for one without times, or of which they cannot be read.
 */
function activeIn(airspace: Airspace, { fromS, toS }: Times): readonly Times[] {
  if (airspace.active.length === 0 || airspace.faulty.some(({ detail }) => detail === 'active'))
    return [{ fromS, toS }];
  const windows: Times[] = [];
  for (const window of airspace.active) {
    // Written by the clock: a window that ends before it begins goes over midnight, and each comes again every day.
    const length = (((window.toS - window.fromS) % DAY_S) + DAY_S) % DAY_S || DAY_S;
    const first = window.fromS + Math.floor((fromS - window.fromS) / DAY_S) * DAY_S;
    for (let start = first; start <= toS; start += DAY_S)
      if (start + length >= fromS) windows.push({ fromS: Math.max(fromS, start), toS: Math.min(toS, start + length) });
  }
  windows.sort((one, other) => one.fromS - other.fromS);
  const joined: Times[] = [];
  for (const window of windows) {
    const last = joined.at(-1);
    if (!last || window.fromS > last.toS) joined.push(window);
    else joined[joined.length - 1] = { fromS: last.fromS, toS: Math.max(last.toS, window.toS) };
  }
  return joined;
}

/** Whether a volume is active at some time of a stretch (seconds after midnight UTC); always, where it is not known. */
export function isActive(airspace: Airspace, fromS: number | undefined, toS: number | undefined): boolean {
  if (fromS === undefined || toS === undefined) return true;
  return activeIn(airspace, { fromS, toS }).length > 0;
}

/** The parts of a stretch of a leg on which a volume is active; all of it, where the time over it is not known. */
function whileActive(span: Span, airspace: Airspace, times: (xM: number) => number | undefined): Span[] {
  const [fromS, toS] = [times(span.fromM), times(span.toM)];
  if (fromS === undefined || toS === undefined) return [span];
  /** The distance nearest to the end of the span `fromM` at which it is as late, or as early, as is asked. */
  const closeTo = (fromM: number, toM: number, is: (atS: number) => boolean): number =>
    edgeBetween(fromM, toM, (xM) => is(times(xM) ?? 0)).insideM;
  return activeIn(airspace, { fromS, toS }).flatMap((window) => {
    if (window.fromS <= fromS && window.toS >= toS) return [span];
    // What a climb on the way takes up altogether leaves nothing of the leg: its first distance lies behind its last.
    const fromM = window.fromS <= fromS ? span.fromM : closeTo(span.fromM, span.toM, (atS) => atS >= window.fromS);
    const toM = window.toS >= toS ? span.toM : closeTo(span.toM, span.fromM, (atS) => atS <= window.toS);
    return toM > fromM ? [{ fromM, toM }] : [];
  });
}

/** The time over a distance of a leg, seconds after midnight UTC; undefined without a take-off or a time on the way. */
function timesOf(leg: LegEvaluation, task: TaskEvaluation, clock: Clock): (xM: number) => number | undefined {
  const { takeoff } = task.task;
  const number = task.legs.indexOf(leg);
  const before = task.legs[number - 1];
  if (!takeoff) return () => undefined;
  const events: { xM: number; atS: number }[] = [];
  const startS = before ? clock.legs.get(before) : 0;
  if (startS === undefined) return () => undefined;
  events.push({ xM: 0, atS: startS });
  for (const climb of climbsOf(leg)) {
    if (climb.beyondLeg) continue;
    const stretch = clock.climbs.get(climb);
    if (!stretch) return () => undefined;
    events.push({ xM: climb.afterM ?? 0, atS: stretch.toS });
  }
  const path = pathOf(leg);
  const gliding = (xM: number): number => timeAt(path, xM) ?? 0;
  return (xM) => {
    const last = events.findLast((event) => event.xM <= xM) ?? events[0];
    return last && takeoff.utcS + last.atS + gliding(xM) - gliding(last.xM);
  };
}

/** Points of a path are looked at this closely within a volume, m. */
const LOOK_M = 50;
/** And its edges found this closely, m. */
const CLOSELY_M = 1;

function looksIn({ fromM, toM }: Span, stepM: number): number[] {
  const steps = Math.max(1, Math.ceil((toM - fromM) / stepM));
  return Array.from({ length: steps + 1 }, (_, i) => (i === steps ? toM : fromM + (i * (toM - fromM)) / steps));
}

interface Volume {
  readonly airspace: Seen<Airspace>;
  readonly shape: Shape;
  readonly floor: (xM: number) => number | null;
  readonly ceiling: (xM: number) => number | null;
}

/** How far an altitude lies above or below a volume at a distance; 0 between its limits, null where they are not known. */
function apart(altitudeM: number, xM: number, { floor, ceiling }: Volume): number | null {
  const low = floor(xM);
  const high = ceiling(xM);
  if (low === null || high === null) return null;
  // A limit above ground and another one may cross over high ground: nothing is left between them there.
  if (low >= high) return Infinity;
  // On a limit itself is outside, and near.
  if (altitudeM <= low) return Math.max(low - altitudeM, 1e-6);
  return altitudeM >= high ? Math.max(altitudeM - high, 1e-6) : 0;
}

interface Told {
  readonly met: AirspaceMet[];
  unplaced: boolean;
}

/** Whether something is left between the limits of a volume somewhere within its outline; undefined where no ground is known. */
function isOpen(inside: readonly Span[], { floor, ceiling }: Volume): boolean | undefined {
  let known: false | undefined;
  for (const part of inside) {
    for (const xM of looksIn(part, LOOK_M)) {
      const [low, high] = [floor(xM), ceiling(xM)];
      if (low === null || high === null) continue;
      if (low < high) return true;
      known = false;
    }
  }
  return known;
}

/** The parts of a path in a volume, where it lies inside its outline. */
function enteredBy(points: readonly GlidePoint[], part: Span, volume: Volume, told: Told): Span[] {
  const inside = (xM: number): boolean => {
    const altitudeM = altitudeAt(points, xM);
    const off = altitudeM === undefined ? null : apart(altitudeM, xM, volume);
    if (off === null) told.unplaced = true;
    return off === 0;
  };
  const found: Span[] = [];
  let before: { xM: number; is: boolean } | undefined;
  let openedM: number | undefined;
  for (const xM of looksIn(part, LOOK_M)) {
    const is = inside(xM);
    if (is && before && !before.is) openedM = edgeBetween(before.xM, xM, inside).outsideM;
    else if (is && !before) openedM = xM;
    else if (!is && before?.is && openedM !== undefined) {
      found.push({ fromM: openedM, toM: edgeBetween(xM, before.xM, inside).outsideM });
      openedM = undefined;
    }
    before = { xM, is };
  }
  if (openedM !== undefined) found.push({ fromM: openedM, toM: part.toM });
  return found;
}

/** The last distance outside and the first inside, between one outside and one inside. */
function edgeBetween(
  outM: number,
  inM: number,
  inside: (xM: number) => boolean,
): { readonly outsideM: number; readonly insideM: number } {
  let [outsideM, insideM] = [outM, inM];
  while (Math.abs(insideM - outsideM) > CLOSELY_M) {
    const middle = (insideM + outsideM) / 2;
    if (inside(middle)) insideM = middle;
    else outsideM = middle;
  }
  return { outsideM, insideM };
}

/** The altitudes of a path within a span, in the volume: of a climb through a limit, the limit. */
function altitudesIn(points: readonly GlidePoint[], span: Span, { floor, ceiling }: Volume): number[] {
  const ends = [span.fromM, span.toM].map((xM) => ({ xM, altitudeM: altitudeAt(points, xM) ?? 0 }));
  const inner = points.filter(({ xM }) => xM > span.fromM && xM < span.toM);
  return [...inner, ...ends].map(({ xM, altitudeM }) =>
    Math.min(Math.max(altitudeM, floor(xM) ?? altitudeM), ceiling(xM) ?? altitudeM),
  );
}

/** Where a leg lies in a volume, by the parts of it that do, in order; the limits are those of the first. */
function ofParts(
  parts: readonly PartInside[],
): Pick<AirspaceMet, 'span' | 'parts' | 'lowM' | 'highM' | 'floorM' | 'ceilingM'> {
  const [first, last] = [parts[0], parts.at(-1)] as [PartInside, PartInside];
  return {
    span: { fromM: first.fromM, toM: last.toM },
    parts,
    lowM: Math.min(...parts.map(({ lowM }) => lowM)),
    highM: Math.max(...parts.map(({ highM }) => highM)),
    floorM: first.floorM,
    ceilingM: first.ceilingM,
  };
}

function legMeets(
  leg: LegEvaluation,
  volume: Volume,
  parts: Parts,
  times: (xM: number) => number | undefined,
  told: Told,
): void {
  const points = pathOf(leg);
  const way = leg.input?.setting.track;
  const endM = flownTo(leg) ?? 0;
  if (!way) return;
  const flown = (all: readonly Span[]) =>
    all.flatMap(({ fromM, toM }) => (fromM <= endM ? [{ fromM, toM: Math.min(toM, endM) }] : []));
  const { airspace } = volume;
  const entered = flown(parts.inside)
    .flatMap((part) => enteredBy(points, part, volume, told))
    .flatMap((part) => whileActive(part, volume.airspace.meaning, times))
    .map((span): PartInside => {
      const altitudes = altitudesIn(points, span, volume);
      const middleM = (span.fromM + span.toM) / 2;
      return {
        ...span,
        lowM: Math.min(...altitudes),
        highM: Math.max(...altitudes),
        floorM: volume.floor(middleM) ?? -Infinity,
        ceilingM: volume.ceiling(middleM) ?? Infinity,
      };
    });
  if (entered.length > 0) {
    told.met.push({ airspace, leg, climb: undefined, kind: 'enters', ...ofParts(entered), besideM: 0, apartM: 0 });
    return;
  }
  let nearest: { xM: number; altitudeM: number; besideM: number; apartM: number; share: number } | undefined;
  for (const part of flown(parts.near)) {
    for (const xM of looksIn(part, 2 * LOOK_M)) {
      const altitudeM = altitudeAt(points, xM);
      const apartM = altitudeM === undefined ? null : apart(altitudeM, xM, volume);
      if (altitudeM === undefined || apartM === null || apartM > NEAR_HEIGHT_M) continue;
      const atS = times(xM);
      if (!isActive(volume.airspace.meaning, atS, atS)) continue;
      const besideM = Math.max(0, volume.shape.signedDistance(way.positionAt(xM)));
      // Within it, it is active for a moment only: as it is entered, or left.
      if (besideM > NEAR_BESIDE_M || (besideM === 0 && apartM === 0)) continue;
      const share = Math.max(besideM / NEAR_BESIDE_M, apartM / NEAR_HEIGHT_M);
      if (!nearest || share < nearest.share) nearest = { xM, altitudeM, besideM, apartM, share };
    }
  }
  if (nearest) {
    const { xM, altitudeM, besideM, apartM } = nearest;
    told.met.push({
      airspace,
      leg,
      climb: undefined,
      kind: 'near',
      span: { fromM: xM, toM: xM },
      parts: [],
      lowM: altitudeM,
      highM: altitudeM,
      floorM: volume.floor(xM) ?? -Infinity,
      ceilingM: volume.ceiling(xM) ?? Infinity,
      besideM,
      apartM,
    });
  }
}

function climbMeets(
  climb: ClimbEvaluation,
  leg: LegEvaluation,
  volume: Volume,
  task: TaskEvaluation,
  told: Told,
): void {
  const way = leg.input?.setting.track;
  const fromM = climb.fromAltitudeM;
  if (!way || climb.beyondLeg || fromM === undefined || climb.toAltitudeM <= fromM) return;
  const xM = climb.afterM ?? 0;
  const besideM = Math.max(0, volume.shape.signedDistance(way.positionAt(xM)));
  if (besideM > NEAR_BESIDE_M) return;
  const floorM = volume.floor(xM);
  const ceilingM = volume.ceiling(xM);
  // The leg itself passes there, and tells that the ground is not known.
  if (floorM === null || ceilingM === null || floorM >= ceilingM) return;
  const { takeoff } = task.task;
  const stretch = clockOf(task).climbs.get(climb);
  const { toAltitudeM } = climb;
  /** The heights of the climb between these at which the volume is active: it climbs evenly. */
  const active = (lowM: number, highM: number): Heights | undefined => {
    if (lowM > highM) return undefined;
    if (!takeoff || !stretch) return { lowM, highM };
    const perS = (toAltitudeM - fromM) / (stretch.toS - stretch.fromS);
    const startS = takeoff.utcS + stretch.fromS;
    const at = (altitudeM: number) => startS + (altitudeM - fromM) / perS;
    const asked = { fromS: at(lowM), toS: at(highM) };
    const windows = activeIn(volume.airspace.meaning, asked);
    const [first, last] = [windows[0], windows.at(-1)];
    if (!first || !last) return undefined;
    const height = (atS: number) => fromM + (atS - startS) * perS;
    return {
      lowM: first.fromS <= asked.fromS ? lowM : height(first.fromS),
      highM: last.toS >= asked.toS ? highM : height(last.toS),
    };
  };
  const between = active(Math.max(fromM, floorM), Math.min(toAltitudeM, ceilingM));
  const found = (kind: AirspaceMet['kind'], { lowM, highM }: Heights, apartM: number) => {
    told.met.push({
      airspace: volume.airspace,
      leg,
      climb,
      kind,
      span: { fromM: xM, toM: xM },
      parts: [],
      lowM,
      highM,
      floorM,
      ceilingM,
      besideM,
      apartM,
    });
  };
  if (between && besideM === 0 && between.highM > between.lowM) {
    found('enters', between, 0);
    return;
  }
  const below = active(Math.max(fromM, floorM - NEAR_HEIGHT_M), Math.min(toAltitudeM, floorM));
  const above = active(Math.max(fromM, ceilingM), Math.min(toAltitudeM, ceilingM + NEAR_HEIGHT_M));
  if (between && besideM > 0) found('near', between, 0);
  else if (below) found('near', { lowM: below.highM, highM: below.highM }, floorM - below.highM);
  else if (above) found('near', { lowM: above.lowM, highM: above.lowM }, above.lowM - ceilingM);
}

interface Heights {
  readonly lowM: number;
  readonly highM: number;
}

interface Kept {
  readonly airspaces: Surroundings['airspaces'];
  readonly terrain: Surroundings['terrain'];
  readonly made: AirspacesOfTask;
}

/** By the legs: an evaluation among other surroundings has the same. */
const kept = new WeakMap<TaskEvaluation['legs'], Kept>();

/** Nearer to the end of a leg than this is at its end, m. */
const AT_END_M = 15;

/** Whether a meeting only goes on from another one at the same place: it is told there, unless this one is graver. */
function goesOn(one: AirspaceMet, before: AirspaceMet['kind'] | undefined): boolean {
  return before !== undefined && (one.kind === 'near' || before === 'enters');
}

/**
 * Every meeting that goes on from the one before (a leg that starts in the volume that a climb ended in) left out; of a
 * leg that leaves the volume and comes back, what lies behind.
 */
function withoutContinued(legs: readonly LegEvaluation[], met: readonly AirspaceMet[]): AirspaceMet[] {
  const told: AirspaceMet[] = [];
  let atEnd = new Map<Airspace, AirspaceMet['kind']>();
  for (const leg of legs) {
    const length = leg.result?.distanceM ?? 0;
    const left = new Map<Airspace, AirspaceMet['kind']>();
    const climbs: AirspaceMet[] = [];
    for (const one of met) {
      if (one.leg !== leg) continue;
      const { meaning } = one.airspace;
      const { fromM, toM } = one.span;
      const before = fromM <= AT_END_M ? atEnd.get(meaning) : undefined;
      const climbAt = (xM: number) =>
        climbs.find((other) => other.airspace.meaning === meaning && Math.abs(other.span.fromM - xM) <= AT_END_M);
      // The many climbs of a line that soars are one line.
      const sameLine = climbs.find(
        (other) => other.airspace.meaning === meaning && other.climb?.line === one.climb?.line,
      );
      if (![before, climbAt(fromM)?.kind, sameLine?.kind].some((kind) => goesOn(one, kind))) told.push(one);
      else {
        const back = one.parts.filter((part, i) => i > 0 && !climbAt(part.fromM));
        if (back.length > 0) told.push({ ...one, ...ofParts(back) });
      }
      if (one.climb) climbs.push(one);
      if (toM >= length - AT_END_M) left.set(meaning, one.kind);
    }
    atEnd = left;
  }
  return told;
}

/** Whether nothing is left between the limits of a volume by the QNH of a task. */
function isEmpty({ floor, ceiling }: Airspace, { air }: TaskEvaluation): boolean {
  return floor !== undefined && ceiling !== undefined && isEmptyBy(floor.value, ceiling.value, air.qnhPa) === true;
}

/** The volumes that a task enters or comes near, in the order flown; kept with its evaluation. */
export function airspacesOf(task: TaskEvaluation): AirspacesOfTask {
  const { airspaces, terrain } = task.surroundings;
  const known = kept.get(task.legs);
  if (known && known.airspaces === airspaces && known.terrain === terrain) return known.made;
  const met: AirspaceMet[] = [];
  const unplaced = new Set<Seen<Airspace>>();
  const empty = new Set(airspaces.filter(({ meaning }) => isEmpty(meaning, task)));
  const open = new Map<Seen<Airspace>, boolean>();
  const clock = clockOf(task);
  for (const leg of airspaces.length > 0 ? task.legs : []) {
    if (!leg.input) continue;
    const way = leg.input.setting.track;
    const key = [way.from.latDeg, way.from.lonDeg, way.to.latDeg, way.to.lonDeg].join(' ');
    const times = timesOf(leg, task, clock);
    const climbs: Told = { met: [], unplaced: false };
    const glides: Told = { met: [], unplaced: false };
    for (const airspace of airspaces) {
      const shape = shapeOfAirspace(airspace.meaning);
      const { floor, ceiling } = airspace.meaning;
      const parts = shape && partsOf(way, key, shape);
      if (!shape || !floor || !ceiling || !parts || parts.near.length === 0 || empty.has(airspace)) continue;
      const volume: Volume = {
        airspace,
        shape,
        floor: limitAt(floor.value, 'floor', leg, task),
        ceiling: limitAt(ceiling.value, 'ceiling', leg, task),
      };
      if (floor.value.kind !== ceiling.value.kind && (floor.value.kind === 'agl' || ceiling.value.kind === 'agl')) {
        const isOpenHere = isOpen(parts.inside, volume);
        if (isOpenHere !== undefined) open.set(airspace, isOpenHere || open.get(airspace) === true);
      }
      for (const climb of climbsOf(leg)) climbMeets(climb, leg, volume, task, climbs);
      legMeets(leg, volume, parts, times, glides);
      if (climbs.unplaced || glides.unplaced) unplaced.add(airspace);
      climbs.unplaced = false;
      glides.unplaced = false;
    }
    met.push(...climbs.met, ...glides.met);
  }
  const made = {
    met: withoutContinued(task.legs, met),
    all: met,
    unread: airspaces.filter(({ meaning }) => shapeOfAirspace(meaning) === null),
    unplaced: [...unplaced],
    empty: [...empty],
    emptyOverGround: [...open].flatMap(([airspace, isOpenSomewhere]) => (isOpenSomewhere ? [] : [airspace])),
  };
  kept.set(task.legs, { airspaces, terrain, made });
  return made;
}
