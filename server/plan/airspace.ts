/** Where the planned path of a task, its legs and its climbs, enters a volume of airspace or comes near one. */
import { type GlidePoint, partsWithin, type Shape, type Span, shapeOf, type Track } from '../flight/index.ts';
import { type Clock, clockOf } from './clock.ts';
import { groundAt, groundProfile } from './ground.ts';
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
  let known = partsKept.get(shape);
  if (!known) {
    known = new Map();
    partsKept.set(shape, known);
  }
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

const DAY_S = 86_400;

/** Whether a volume is active at some time of a stretch (seconds after midnight UTC); always, where it is not known. */
export function isActive(airspace: Airspace, fromS: number | undefined, toS: number | undefined): boolean {
  if (airspace.active.length === 0 || airspace.faulty.some(({ detail }) => detail === 'active')) return true;
  if (fromS === undefined || toS === undefined) return true;
  return airspace.active.some((window) => {
    // Written by the clock: a window that ends before it begins goes over midnight, and each comes again every day.
    const length = (((window.toS - window.fromS) % DAY_S) + DAY_S) % DAY_S || DAY_S;
    const first = window.fromS + Math.floor((fromS - window.fromS) / DAY_S) * DAY_S;
    return [first, first + DAY_S].some((start) => start <= toS && start + length >= fromS);
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
    if (is && before && !before.is) openedM = edgeOf(before.xM, xM, inside);
    else if (is && !before) openedM = xM;
    else if (!is && before?.is && openedM !== undefined) {
      found.push({ fromM: openedM, toM: edgeOf(xM, before.xM, inside) });
      openedM = undefined;
    }
    before = { xM, is };
  }
  if (openedM !== undefined) found.push({ fromM: openedM, toM: part.toM });
  return found;
}

/** The last distance outside between one outside and one inside. */
function edgeOf(outsideM: number, insideM: number, inside: (xM: number) => boolean): number {
  let out = outsideM;
  let in_ = insideM;
  while (Math.abs(in_ - out) > CLOSELY_M) {
    const middle = (in_ + out) / 2;
    if (inside(middle)) in_ = middle;
    else out = middle;
  }
  return out;
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
  const active = ({ fromM, toM }: Span) => isActive(volume.airspace.meaning, times(fromM), times(toM));
  const { airspace } = volume;
  const entered = flown(parts.inside)
    .flatMap((part) => enteredBy(points, part, volume, told))
    .filter(active)
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
      if (!active({ fromM: xM, toM: xM })) continue;
      const besideM = Math.max(0, volume.shape.signedDistance(way.positionAt(xM)));
      if (besideM > NEAR_BESIDE_M) continue;
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
  const [fromS, toS] =
    takeoff && stretch ? [takeoff.utcS + stretch.fromS, takeoff.utcS + stretch.toS] : [undefined, undefined];
  if (!isActive(volume.airspace.meaning, fromS, toS)) return;
  const apartM = Math.max(0, floorM - climb.toAltitudeM, fromM - ceilingM);
  if (apartM > NEAR_HEIGHT_M) return;
  const enters = besideM === 0 && climb.toAltitudeM > floorM && fromM < ceilingM;
  told.met.push({
    airspace: volume.airspace,
    leg,
    climb,
    kind: enters ? 'enters' : 'near',
    span: { fromM: xM, toM: xM },
    parts: [],
    lowM: Math.max(fromM, floorM),
    highM: Math.min(climb.toAltitudeM, ceilingM),
    floorM,
    ceilingM,
    besideM,
    apartM,
  });
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
      const climb = climbs.find(
        (other) => other.airspace.meaning === meaning && Math.abs(other.span.fromM - fromM) <= AT_END_M,
      );
      // The many climbs of a line that soars are one line.
      const sameLine = climbs.find(
        (other) => other.airspace.meaning === meaning && other.climb?.line === one.climb?.line,
      );
      if (![before, climb?.kind, sameLine?.kind].some((kind) => goesOn(one, kind))) told.push(one);
      else {
        const back = one.parts.filter(
          (part, i) =>
            i > 0 &&
            !climbs.some(
              (other) => other.airspace.meaning === meaning && Math.abs(other.span.fromM - part.fromM) <= AT_END_M,
            ),
        );
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
