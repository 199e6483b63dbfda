/** The ground under the legs of a task, and what stands on it: how high the planned path passes over them. */
import { picking } from '../../grammar/pick.ts';
import {
  cornersUnder,
  type GlidePoint,
  type GroundPoint,
  groundUnder,
  inSpace,
  type LegResult,
  type Position,
  passing,
  type Span,
  staysClear,
  type Track,
  tileName,
} from '../flight/index.ts';
import { keptFor, LastFew } from './last-few.ts';
import type { Field, Obstacle, Turnpoint } from './meaning.ts';
import { altitudeAt, flownTo, isBeyond, isFlown, pathOf, placesOf, reachMayDiffer } from './reach.ts';
import {
  type Seen,
  type SeenChange,
  type SeenGroup,
  type Surroundings,
  type SurroundingsChange,
  type Terrain,
  tileIn,
} from './surroundings.ts';
import { altitudeIn, type LegEvaluation, type TaskEvaluation } from './task.ts';
import type { Understood } from './understand.ts';

/** By the tiles that are known: whoever tries an edit of a plan sees the same ones. */
const profiles = new WeakMap<Terrain['tiles'], Map<string, readonly GroundPoint[]>>();
const MOST_PROFILES = 200;

/** The ground under a leg, a post's distance apart; undefined without a `terrain` entry, or for a leg not computed. */
export function groundProfile(leg: LegEvaluation, task: TaskEvaluation): readonly GroundPoint[] | undefined {
  const { terrain } = task.surroundings;
  const way = leg.input?.setting.track;
  if (!terrain || !way) return undefined;
  let known = profiles.get(terrain.tiles);
  if (!known) {
    known = new Map();
    profiles.set(terrain.tiles, known);
  }
  const key = [way.from.latDeg, way.from.lonDeg, way.to.latDeg, way.to.lonDeg, ...terrain.folders].join(' ');
  let profile = known.get(key);
  if (!profile) {
    if (known.size >= MOST_PROFILES) known.clear();
    profile = groundUnder(way, (corner) => tileIn(terrain, corner).tile);
    known.set(key, profile);
  }
  return profile;
}

/** The ground at a distance of a leg, the nearest point of its profile; undefined where it is not known. */
export function groundAt(profile: readonly GroundPoint[], xM: number): GroundPoint['ground'] | undefined {
  let low = 0;
  let high = profile.length - 1;
  if (high < 0) return undefined;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((profile[middle] as GroundPoint).xM <= xM) low = middle;
    else high = middle;
  }
  const before = profile[low] as GroundPoint;
  const behind = profile[high] as GroundPoint;
  return (xM - before.xM < behind.xM - xM ? before : behind).ground ?? undefined;
}

const terrainIn = picking(({ form }) => form?.keyword === 'terrain');

/** The URIs of elevation tiles that the tasks of a file ask for and nobody has looked for yet. */
export function wantedTiles(understood: Understood): string[] {
  // Where no `terrain` is written the tasks need not be known for that.
  if (!understood.scope.files.some(({ syntax }) => terrainIn(syntax).length > 0)) return [];
  const wanted = new Set<string>();
  for (const { legs, surroundings } of understood.tasks) {
    if (!surroundings.terrain) continue;
    for (const { input } of legs) {
      if (!input) continue;
      const { from, to } = input.setting.track;
      for (const corner of cornersUnder(from, to))
        for (const uri of tileIn(surroundings.terrain, corner).wanted) wanted.add(uri);
    }
  }
  return [...wanted];
}

/** What is not known of the ground under a task. */
export interface UnknownGround {
  readonly lengthM: number;
  /** Tiles that are not there, or cannot be read. */
  readonly tiles: readonly string[];
  /** Under some of it nothing was measured. */
  readonly voids: boolean;
}

const unknownUnder = new WeakMap<readonly GroundPoint[], UnknownGround>();

/** What is not known under one leg; kept with its profile, which is long where the leg is. */
function unknownIn(profile: readonly GroundPoint[], { from, to }: Track, terrain: Terrain): UnknownGround {
  let known = unknownUnder.get(profile);
  if (!known) {
    let lengthM = 0;
    for (const [i, { xM, ground }] of profile.entries())
      if (!ground) lengthM += ((profile[i + 1]?.xM ?? xM) - (profile[i - 1]?.xM ?? xM)) / 2;
    const missing = profile.some(({ ground }) => !ground);
    const absent = missing ? cornersUnder(from, to).filter((corner) => !tileIn(terrain, corner).tile) : [];
    known = { lengthM, tiles: absent.map(tileName), voids: missing && absent.length === 0 };
    unknownUnder.set(profile, known);
  }
  return known;
}

/** What is not known of the ground under the legs of a task; undefined when all is, or no `terrain` is written. */
export function unknownGround(task: TaskEvaluation): UnknownGround | undefined {
  const { terrain } = task.surroundings;
  if (!terrain) return undefined;
  let lengthM = 0;
  const tiles = new Set<string>();
  let voids = false;
  for (const leg of task.legs) {
    const profile = groundProfile(leg, task);
    const way = leg.input?.setting.track;
    if (!profile || !way) continue;
    const own = unknownIn(profile, way, terrain);
    lengthM += own.lengthM;
    for (const tile of own.tiles) tiles.add(tile);
    voids ||= own.voids;
  }
  return lengthM > 0 ? { lengthM, tiles: [...tiles], voids } : undefined;
}

/** The height asked over obstacles and ground: the reserve's `clear` and the allowance for the altimeter. */
export function clearanceAsked({ reserve }: TaskEvaluation): number {
  const { clearM, altimeterM } = reserve?.meaning ?? {};
  return (clearM?.value ?? 0) + (altimeterM?.value ?? 0);
}

/** Where a leg passes something solid lower than asked. */
export interface TooLow {
  readonly over: Seen<Obstacle | Field | Turnpoint> | 'ground';
  /** Where the most is missing, from the leg's start. */
  readonly xM: number;
  readonly altitudeM: number;
  readonly topM: number;
  /** The part of the leg on which it is too low. */
  readonly span: Span;
  /** Points at which it is too low, with the altitude asked there, for a way out. */
  readonly asked: readonly { readonly xM: number; readonly altitudeM: number }[];
}

/**
 * How far beside the track something solid still counts, m: nobody flies a line more closely than half a nautical mile.
 * Common practice, no source.
 */
export const CORRIDOR_M = 926;
/** Within this of a leg's own ends, ground about as high as they are is told by the heights asked there, m. */
const OWN_GROUND_M = 1000;
const ABOUT_AS_HIGH_M = 30;
/** Lower by less than this is not lower, m. */
const NOTHING_M = 0.01;

/** The points of a path within a span: its ends, and the points between, both sides of a climb. */
export function pointsWithin(points: readonly GlidePoint[], { fromM, toM }: Span): { xM: number; altitudeM: number }[] {
  const at = (xM: number) => ({ xM, altitudeM: altitudeAt(points, xM) ?? 0 });
  return [at(fromM), ...points.filter(({ xM }) => xM >= fromM && xM <= toM), at(toM)];
}

const largest = new WeakMap<SeenGroup<Obstacle>, number>();

function largestRadius(group: SeenGroup<Obstacle>): number {
  let known = largest.get(group);
  if (known === undefined) {
    known = group.all.reduce((most, { meaning }) => Math.max(most, meaning.radiusM ?? 0), 0);
    largest.set(group, known);
  }
  return known;
}

/** The entries of a group that count, and lie within `radiusM` of a track, or little beyond. */
function near<M extends Obstacle | Field | Turnpoint>(
  group: SeenGroup<M>,
  way: Track,
  radiusM: number,
  counts: (meaning: M) => boolean,
): SeenGroup<M>['all'] {
  const middle = way.positionAt(way.distanceM / 2);
  return group
    .index()
    .within(middle, way.distanceM / 2 + radiusM)
    .flatMap((i) => {
      const one = group.all[i];
      return one && counts(one.meaning) && !staysClear(way, inSpace(one.position), radiusM) ? [one] : [];
    });
}

/** Whether all that the height of an obstacle rests on could be read. */
function standsAt(obstacle: Obstacle, task: TaskEvaluation): number | undefined {
  return obstacle.top && altitudeIn(obstacle.top, undefined, task.air);
}

function overPlace(
  over: Seen<Obstacle | Field | Turnpoint>,
  topM: number,
  leg: LegEvaluation,
  way: Track,
  radiusM: number,
  askedM: number,
): TooLow | undefined {
  const { position } = over.meaning;
  const passed = position && passing(way, position, radiusM);
  const endM = flownTo(leg) ?? 0;
  if (!passed || passed.fromM > endM) return undefined;
  const span = { fromM: passed.fromM, toM: Math.min(passed.toM, endM) };
  const points = pointsWithin(pathOf(leg), span);
  const low = points.filter(({ altitudeM }) => altitudeM < topM + askedM - NOTHING_M);
  const worst = low.reduce<(typeof low)[number] | undefined>(
    (one, other) => (!one || other.altitudeM < one.altitudeM ? other : one),
    undefined,
  );
  if (!worst) return undefined;
  const asked = low.map(({ xM }) => ({ xM, altitudeM: topM + askedM }));
  return { over, ...worst, topM, span, asked };
}

const own = (elevationM: number | undefined, highestM: number): boolean =>
  elevationM !== undefined && highestM <= elevationM + ABOUT_AS_HIGH_M;

function overGround(leg: LegEvaluation, task: TaskEvaluation, askedM: number): TooLow | undefined {
  const profile = groundProfile(leg, task);
  if (!profile) return undefined;
  const points = pathOf(leg);
  const length = leg.result?.distanceM ?? 0;
  const endM = flownTo(leg) ?? 0;
  if (points.length === 0) return undefined;
  let worst: { xM: number; altitudeM: number; topM: number } | undefined;
  const asked: { xM: number; altitudeM: number }[] = [];
  let next = 0;
  for (const { xM, ground } of profile) {
    if (xM > endM) break;
    if (!ground) continue;
    // The path's points and the profile's run side by side.
    while (next < points.length - 1 && (points[next + 1] as GlidePoint).xM <= xM) next += 1;
    const before = points[next] as GlidePoint;
    const behind = points[next + 1];
    const altitudeM =
      behind && behind.xM > before.xM
        ? before.altitudeM + ((xM - before.xM) / (behind.xM - before.xM)) * (behind.altitudeM - before.altitudeM)
        : before.altitudeM;
    const topM = ground.highestM;
    if (altitudeM >= topM + askedM - NOTHING_M) continue;
    if (xM < OWN_GROUND_M && own(leg.from?.meaning.elevationM, topM)) continue;
    if ((length - xM < OWN_GROUND_M || endM < length) && own(leg.to?.meaning.elevationM, topM)) continue;
    asked.push({ xM, altitudeM: topM + askedM });
    if (!worst || altitudeM - topM < worst.altitudeM - worst.topM) worst = { xM, altitudeM, topM };
  }
  const first = asked[0];
  const last = asked.at(-1);
  return worst && first && last && { over: 'ground', ...worst, span: { fromM: first.xM, toM: last.xM }, asked };
}

/** What was found, and all that it rests on besides the result of the leg. */
interface KeptLow {
  /** The `self` of the surroundings. */
  readonly among: object;
  readonly from: unknown;
  readonly to: unknown;
  readonly reserve: unknown;
  readonly low: readonly TooLow[];
}

const lowKept = new WeakMap<LegResult, LastFew<KeptLow>>();

/** Whether what was found rests on these. */
const restsOn = (known: KeptLow, among: object, from: unknown, to: unknown, reserve: unknown): boolean =>
  known.among === among && known.from === from && known.to === to && known.reserve === reserve;

/**
 * Where a leg passes over or beside an obstacle, another field or turnpoint, or over the ground, lower than the reserve
 * asks; kept with its result. Nothing for a leg that is not computed. Of one that does not get to its end, as far as it is
 * flown, and nothing that is about as high as its destination: there one cause has its finding already.
 */
export function tooLow(leg: LegEvaluation, task: TaskEvaluation): readonly TooLow[] {
  if (!leg.result) return [];
  const { self, change } = task.surroundings;
  const [from, to, reserve] = [leg.from?.meaning, leg.to?.meaning, task.reserve?.meaning];
  const few = keptFor(lowKept, leg.result, () => new LastFew<KeptLow>());
  const same = few.find((known) => restsOn(known, self, from, to, reserve));
  if (same) return same.low;
  const low = (change && carriedLow(leg, task, change, few)) ?? findLow(leg, task);
  few.put({ among: self, from, to, reserve, low });
  return low;
}

/** What was told among the surroundings before, where nothing that changed since counts for it. */
function carriedLow(
  leg: LegEvaluation,
  task: TaskEvaluation,
  { before, seen }: SurroundingsChange,
  few: LastFew<KeptLow>,
): readonly TooLow[] | undefined {
  // The fields at its ends may be written anew.
  const then = (meaning: unknown) => seen.find((one) => one.after?.meaning === meaning)?.before?.meaning ?? meaning;
  const [from, to, reserve] = [then(leg.from?.meaning), then(leg.to?.meaning), task.reserve?.meaning];
  const low = few.find((known) => restsOn(known, before, from, to, reserve))?.low;
  const others = low && seen.filter((one) => !standsTheSame(one, low));
  return others && !isBeside(leg, { seen: others }, task.surroundings) ? low : undefined;
}

/** The elevation that counts; of an obstacle none that is like another. */
const elevationOf = ({ meaning }: Seen<Obstacle | Field | Turnpoint>) =>
  meaning.kind === 'obstacle' ? Number.NaN : meaning.elevationM;

/** Whether something is another than before only in what is written of it, and was not told as too close. */
function standsTheSame({ before, after }: SeenChange, low: readonly TooLow[]): boolean {
  return (
    before !== undefined &&
    after !== undefined &&
    before.position.latDeg === after.position.latDeg &&
    before.position.lonDeg === after.position.lonDeg &&
    elevationOf(before) === elevationOf(after) &&
    !low.some(({ over }) => over !== 'ground' && over.meaning === before.meaning)
  );
}

/** Whether something that changed stands, or stood, where it may count for a leg. */
function isBeside(
  leg: LegEvaluation,
  { seen }: Pick<SurroundingsChange, 'seen'>,
  { obstacles }: Surroundings,
): boolean {
  const way = leg.input?.setting.track;
  if (!way) return false;
  const { places, widestM } = changedPlaces(seen, obstacles);
  const middle = keptFor(middlesKept, way, () => way.positionAt(way.distanceM / 2));
  const radiusM = way.distanceM / 2 + widestM + CORRIDOR_M;
  return !places.every((place) => isBeyond(place, middle, radiusM));
}

const middlesKept = new WeakMap<Track, Position>();

/** The places of what changed, and how far any obstacle may reach: for every leg that is looked at. */
interface ChangedPlaces {
  readonly obstacles: Surroundings['obstacles'];
  readonly places: readonly Position[];
  readonly widestM: number;
}

const placesKept = new WeakMap<SurroundingsChange['seen'], ChangedPlaces>();

function changedPlaces(seen: SurroundingsChange['seen'], obstacles: Surroundings['obstacles']): ChangedPlaces {
  const known = placesKept.get(seen);
  if (known?.obstacles === obstacles) return known;
  const radius = (one: Seen<Obstacle | Field | Turnpoint> | undefined) =>
    one?.meaning.kind === 'obstacle' ? (one.meaning.radiusM ?? 0) : 0;
  let widestM = 0;
  for (const group of obstacles) widestM = Math.max(widestM, largestRadius(group));
  for (const { before, after } of seen) widestM = Math.max(widestM, radius(before), radius(after));
  const made = { obstacles, places: placesOf(seen), widestM };
  placesKept.set(seen, made);
  return made;
}

/** Whether what is told of a task may differ from what was told of it among the surroundings before. */
export function mayDiffer(task: TaskEvaluation, change: SurroundingsChange): boolean {
  const lowMayDiffer = (leg: LegEvaluation) => {
    if (!isBeside(leg, change, task.surroundings)) return false;
    const before = leg.result && lowKept.get(leg.result)?.find(({ among }) => among === change.before);
    return !before || tooLow(leg, task) !== before.low;
  };
  return reachMayDiffer(task) || task.legs.some(lowMayDiffer);
}

/** The path is flown in other steps than the leg, which makes millimetres; with so much to spare, m, no part of it is left out. */
const STEPS_M = 1;

/** An altitude that no part of a leg as flown lies below; of most legs without making the path. */
function lowestFlown(leg: LegEvaluation, endM: number): number {
  const { result } = leg;
  if (result && !result.problem) {
    const ends = [result.departAltitudeM, result.arriveAltitudeM, ...result.climbs.map((climb) => climb.fromAltitudeM)];
    return Math.min(...ends) - STEPS_M;
  }
  const flown = pointsWithin(pathOf(leg), { fromM: 0, toM: endM });
  return flown.reduce((lowest, { altitudeM }) => Math.min(lowest, altitudeM), Infinity);
}

function findLow(leg: LegEvaluation, task: TaskEvaluation): TooLow[] {
  const way = leg.input?.setting.track;
  const endM = flownTo(leg) ?? 0;
  if (!way || task.reserve?.meaning.faulty.some(({ detail }) => detail === 'clear')) return [];
  const askedM = clearanceAsked(task);
  const found: TooLow[] = [];
  const { obstacles, fields, turnpoints } = task.surroundings;
  // Nothing is too high where it would not be at the lowest point.
  const lowestM = lowestFlown(leg, endM);
  const mayBeLow = (topM: number | undefined): topM is number =>
    topM !== undefined && lowestM < topM + askedM - NOTHING_M;
  for (const group of obstacles) {
    for (const one of near(group, way, largestRadius(group) + CORRIDOR_M, (meaning) =>
      mayBeLow(standsAt(meaning, task)),
    )) {
      // A spread that cannot be read is none that one may count on: only the place itself is sure.
      const topM = standsAt(one.meaning, task) as number;
      const low = overPlace(one, topM, leg, way, (one.meaning.radiusM ?? 0) + CORRIDOR_M, askedM);
      if (low) found.push(low);
    }
  }
  const isOther = (meaning: Field | Turnpoint) =>
    mayBeLow(meaning.elevationM) &&
    meaning !== leg.from?.meaning &&
    meaning !== leg.to?.meaning &&
    (isFlown(leg) || !own(leg.to?.meaning.elevationM, meaning.elevationM));
  for (const group of [...fields, ...turnpoints]) {
    for (const one of near<Field | Turnpoint>(group as SeenGroup<Field | Turnpoint>, way, CORRIDOR_M, isOther)) {
      const low = overPlace(one, one.meaning.elevationM as number, leg, way, CORRIDOR_M, askedM);
      if (low) found.push(low);
    }
  }
  const ground = overGround(leg, task, askedM);
  if (ground) found.push(ground);
  return found;
}
