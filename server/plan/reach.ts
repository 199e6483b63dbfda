/** The fields in reach along the legs of a task. */
import {
  type GlidePoint,
  type GlideTo,
  glideTo,
  type InReach,
  inReachFrom,
  type Landable,
  type Landables,
  type LegPath,
  type LegResult,
  type Looks,
  type Position,
  type ReachSetting,
  reachFrom,
  type Stretch,
  stillLeast,
  stretchesWithout,
  type WorstPoint,
  worstPoint,
} from '../flight/index.ts';
import { keptFor } from './last-few.ts';
import type { Field, Meaning } from './meaning.ts';
import type { Seen, SeenChange, SeenGroup } from './surroundings.ts';
import type { ClimbEvaluation, LegEvaluation, Reference, TaskEvaluation } from './task.ts';

/** A field in view, with the altitude asked over it. */
export interface FieldAsked extends Landable, Seen<Field> {}

export type FieldStretch = Stretch<FieldAsked>;

/** The altitude asked over a field: elevation, the higher of the reserve's and its own arrival height, altimeter. */
function askedOver(field: Field, arriveM: number, altimeterM: number): number {
  return (field.elevationM ?? 0) + Math.max(arriveM, field.arriveM?.value ?? 0) + altimeterM;
}

/** A result with the circle, around the middle of its leg, beyond which no field was asked for. */
interface Around<T> {
  readonly middle: Position;
  readonly radiusM: number;
  readonly value: T;
  /** The `self` of the fields among which it was made; among others it was taken over. */
  readonly among: object;
  /** Of a result that holds for as long as every look finds the same: whether a change leaves that so. */
  readonly holds?: ((change: SeenChange) => boolean) | undefined;
}

interface KeptFields {
  /** Stands for these without holding them. */
  readonly self: object;
  /** By what a reserve asks. */
  readonly landables: Map<string, Landables<FieldAsked>>;
  /** Results by the numbers that they rest on, so that a leg that did not change is not looked at again. */
  readonly stretches: Map<string, Around<readonly FieldStretch[]>>;
  readonly worst: Map<string, Around<WorstPoint<FieldAsked> | null>>;
  /** The `self` of the fields that results were taken over from. */
  readonly from: object | undefined;
}

const kept = new WeakMap<readonly SeenGroup<Field>[], KeptFields>();
/** The fields that were kept last, by the `self` of their surroundings. */
const keptBefore = new WeakMap<object, KeptFields>();
const MOST_RESERVES = 8;
const MOST_LEGS = 1000;

/** Distances told by the sphere are this much longer than any on the ellipsoid. */
export const SPHERE = 1.01;
const EARTH_M = 6_371_009;

/** A distance, m, by the sphere: neither longer nor shorter than the true one by more than its share. */
export function sphereM(one: Position, other: Position): number {
  const rad = Math.PI / 180;
  const half = (deg: number) => Math.sin((deg * rad) / 2) ** 2;
  const h =
    half(one.latDeg - other.latDeg) +
    Math.cos(one.latDeg * rad) * Math.cos(other.latDeg * rad) * half(one.lonDeg - other.lonDeg);
  return 2 * EARTH_M * Math.asin(Math.min(1, Math.sqrt(h)));
}

/** Whether a place lies beyond a circle for certain. */
export function isBeyond(place: Position, middle: Position, radiusM: number): boolean {
  return sphereM(place, middle) > radiusM * SPHERE * SPHERE + 1;
}

/** Fields that note how far from a place they were asked for: on the sphere, as {@link isBeyond} takes it. */
function watched(
  landables: Landables<FieldAsked>,
  middle: Position,
): { readonly landables: Landables<FieldAsked>; readonly radiusM: () => number } {
  let most = 0;
  const note = (position: Position, radiusM: number) => {
    most = Math.max(most, sphereM(middle, position) + radiusM);
  };
  return {
    landables: {
      lowestAskedM: landables.lowestAskedM,
      within: (position, radiusM) => {
        note(position, radiusM);
        return landables.within(position, radiusM);
      },
      // Which are the nearest says where to begin; what is found is the best of all that lie within.
      nearest: (position, count) => landables.nearest(position, count),
    },
    radiusM: () => most,
  };
}

function landablesOf(groups: readonly SeenGroup<Field>[], arriveM: number, altimeterM: number): Landables<FieldAsked> {
  let lowestAskedM = Infinity;
  for (const { all } of groups)
    for (const { meaning } of all) lowestAskedM = Math.min(lowestAskedM, askedOver(meaning, arriveM, altimeterM));
  // Made when it is first found: of thousands of fields few ever are.
  const made: (FieldAsked | undefined)[][] = groups.map(() => []);
  const pick = (of: (group: SeenGroup<Field>) => number[]) => {
    const found: FieldAsked[] = [];
    for (const [g, group] of groups.entries()) {
      const own = made[g] as (FieldAsked | undefined)[];
      for (const i of of(group)) {
        let field = own[i];
        if (!field) {
          const one = group.all[i] as SeenGroup<Field>['all'][number];
          field = { ...one, askedAltitudeM: askedOver(one.meaning, arriveM, altimeterM) };
          own[i] = field;
        }
        found.push(field);
      }
    }
    return found;
  };
  return {
    lowestAskedM: Number.isFinite(lowestAskedM) ? lowestAskedM : 0,
    within: (position, radiusM) => pick((group) => group.index().within(position, radiusM)),
    nearest: (position, count) => pick((group) => group.index().nearest(position, count)),
  };
}

function keptOf({ surroundings }: TaskEvaluation): KeptFields {
  let known = kept.get(surroundings.fields);
  if (!known) {
    const { change } = surroundings;
    const before = change && keptBefore.get(change.before);
    known = {
      self: {},
      landables: new Map(),
      stretches: new Map(),
      worst: new Map(),
      from: before?.self,
    };
    if (before && change) {
      const fields = change.seen.filter(({ before: then, after }) => (then ?? after)?.meaning.kind === 'field');
      const { stretches, worst } = known;
      const told = toldOf(fields);
      carry(before.stretches, stretches, told, (all, { isRenewed, renew }) => {
        if (!all.some(({ worst: { least } }) => least && isRenewed(least.field))) return all;
        return all.map((one) => {
          const { least } = one.worst;
          return least ? { ...one, worst: { ...one.worst, least: { ...least, field: renew(least.field) } } } : one;
        });
      });
      carry(before.worst, worst, told, (one, { isRenewed, renew }) => {
        if (!one || ![one.least, ...one.inReach].some((glide) => glide && isRenewed(glide.field))) return one;
        const inReach = one.inReach.map((field) => ({ ...field, field: renew(field.field) }));
        return { ...one, least: one.least && { ...one.least, field: renew(one.least.field) }, inReach };
      });
    }
    kept.set(surroundings.fields, known);
  }
  keptBefore.set(surroundings.self, known);
  return known;
}

/** What changed of the fields, for results that rest on them. */
interface Told {
  /** What is not the same field, written anew; with its places before and after. */
  readonly others: readonly { readonly change: SeenChange; readonly places: readonly Position[] }[];
  isRenewed(field: FieldAsked): boolean;
  /** A field with what is written of it now. */
  renew(field: FieldAsked): FieldAsked;
}

function toldOf(seen: readonly SeenChange[]): Told {
  const renewals = new Map<Meaning, Seen<Field>>();
  const others: { change: SeenChange; places: readonly Position[] }[] = [];
  for (const change of seen) {
    const then = change.before?.meaning as Field | undefined;
    const now = change.after as Seen<Field> | undefined;
    if (then && now && asksSame(then, now.meaning)) renewals.set(then, now);
    else others.push({ change, places: placesOf([change]) });
  }
  return {
    others,
    isRenewed: ({ meaning }) => renewals.has(meaning),
    renew: (field) => {
      const now = renewals.get(field.meaning);
      return now ? { ...field, meaning: now.meaning, at: now.at } : field;
    },
  };
}

/**
 * Takes over what no changed field has to do with: one beyond the circle, or one that no look would find. Of a field
 * that asks the same at the same place, with what is written of it now.
 */
function carry<T>(
  from: ReadonlyMap<string, Around<T>>,
  to: Map<string, Around<T>>,
  told: Told,
  renewed: (value: T, told: Told) => T,
): void {
  const leaves = ({ change, places }: Told['others'][number], { middle, radiusM, holds }: Around<T>) =>
    places.every((place) => isBeyond(place, middle, radiusM)) || holds?.(change) === true;
  for (const [key, one] of from) {
    if (!told.others.every((other) => leaves(other, one))) continue;
    const value = renewed(one.value, told);
    to.set(key, value === one.value ? one : { ...one, value });
  }
}

/** Whether two fields lie at one place and ask the same. */
function asksSame(one: Field, other: Field): boolean {
  return (
    one.position?.latDeg === other.position?.latDeg &&
    one.position?.lonDeg === other.position?.lonDeg &&
    one.elevationM === other.elevationM &&
    one.arriveM?.value === other.arriveM?.value
  );
}

/** The places of what changed, before and after. */
export function placesOf(seen: readonly SeenChange[]): Position[] {
  return seen.flatMap(({ before, after }) =>
    [before?.meaning.position, after?.meaning.position].flatMap((p) => p ?? []),
  );
}

function reserveKey({ reserve }: TaskEvaluation): string {
  return `${reserve?.meaning.arriveM?.value ?? 0} ${reserve?.meaning.altimeterM?.value ?? 0}`;
}

/** Every field in view, with what it asks by the reserve of the task. */
function fieldsOf(task: TaskEvaluation): Landables<FieldAsked> {
  const { landables } = keptOf(task);
  const key = reserveKey(task);
  const known = landables.get(key);
  if (known) return known;
  if (landables.size >= MOST_RESERVES) landables.clear();
  const { arriveM, altimeterM } = task.reserve?.meaning ?? {};
  const made = landablesOf(task.surroundings.fields, arriveM?.value ?? 0, altimeterM?.value ?? 0);
  landables.set(key, made);
  return made;
}

/** A leg that is flown to its end above the ground: only there is the planned height a height. */
export function isFlown(leg: LegEvaluation): boolean {
  return leg.result?.problem === null && leg.result.reachesGroundAfterM === null;
}

/**
 * How far along it a leg is flown, m: to its end, to where it meets the height of its destination, or to the last point
 * before it makes no headway; undefined for a leg that is not computed.
 */
export function flownTo(leg: LegEvaluation): number | undefined {
  const { result } = leg;
  if (!result) return undefined;
  const endM = result.problem ? (pathOf(leg).at(-1)?.xM ?? 0) : result.distanceM;
  return result.reachesGroundAfterM ?? endM;
}

const settingsKept = new WeakMap<NonNullable<LegEvaluation['input']>, ReachSetting>();

/** What a glide of the task is made with; undefined where a leg is not computed. */
export function reachSetting({ input }: LegEvaluation): ReachSetting | undefined {
  if (!input) return undefined;
  return keptFor(settingsKept, input, () => {
    const { track: _, maxStepM: __, ...rest } = input.setting;
    return { ...rest, vsMps: input.limits.vsMps, vneMps: input.limits.vneMps };
  });
}

/** Altitudes of the planned path are taken this closely along a leg, m: between them it is all but straight. */
const PATH_STEP_M = 500;

const pathsKept = new WeakMap<LegResult, readonly GlidePoint[]>();

/** The planned path of a leg in small steps, kept with its result; a climb is two points at one distance. */
export function pathOf({ result }: LegEvaluation): readonly GlidePoint[] {
  if (!result) return [];
  let path = pathsKept.get(result);
  if (!path) {
    path = result.path(PATH_STEP_M);
    pathsKept.set(result, path);
  }
  return path;
}

/** A number of a path at a distance; behind a climb at that distance. */
function numberAt(points: readonly GlidePoint[], xM: number, which: 'altitudeM' | 'timeS'): number | undefined {
  let before = points[0];
  if (!before) return undefined;
  for (const point of points) {
    if (point.xM > xM) {
      const length = point.xM - before.xM;
      return length <= 0 ? point[which] : before[which] + ((xM - before.xM) / length) * (point[which] - before[which]);
    }
    before = point;
  }
  return before[which];
}

/** The altitude of a path at a distance; behind a climb at that distance. */
export function altitudeAt(points: readonly GlidePoint[], xM: number): number | undefined {
  return numberAt(points, xM, 'altitudeM');
}

/** The time gliding to a distance of a path, s. */
export function timeAt(points: readonly GlidePoint[], xM: number): number | undefined {
  return numberAt(points, xM, 'timeS');
}

/** Where the last glide of a path begins; undefined where the path rises on the way. */
function lastGlideFrom(points: readonly GlidePoint[]): number | undefined {
  let fromM = points[0]?.xM ?? 0;
  for (const [i, point] of points.entries()) {
    const before = points[i - 1];
    if (!before || point.altitudeM <= before.altitudeM) continue;
    if (point.xM > before.xM) return undefined;
    fromM = point.xM;
  }
  return fromM;
}

/** Whether the leg's own glide reaches the field at its end, with what that field asks. */
function makesItsField({ result, to }: LegEvaluation, setting: ReachSetting): boolean {
  if (!result || result.problem || result.marginM < 0 || to?.meaning.kind !== 'field') return false;
  // What a leg that is computed leads to is among the fields in view: both ask that all of it can be read.
  return result.indicatedMps >= setting.vsMps && result.indicatedMps <= setting.vneMps;
}

/** From where on it does. */
function knownFrom(leg: LegEvaluation, setting: ReachSetting): number | undefined {
  return makesItsField(leg, setting) ? lastGlideFrom(pathOf(leg)) : undefined;
}

/** Whether it does all the way: a glide without a climb, which goes down where the air does not rise. */
function isKnownThroughout(leg: LegEvaluation, setting: ReachSetting): boolean {
  return leg.result?.allClimbs.length === 0 && setting.sinkingAirMps >= 0 && makesItsField(leg, setting);
}

function legPath(leg: LegEvaluation, setting: ReachSetting): LegPath | undefined {
  if (!leg.input) return undefined;
  const knownFromM = knownFrom(leg, setting);
  return {
    track: leg.input.setting.track,
    points: pathOf(leg),
    ...(knownFromM === undefined ? {} : { knownFromM }),
  };
}

/** Every number that the planned path of a leg, and the reach along it, rest on. */
function numbersOf(leg: LegEvaluation, setting: ReachSetting, task: TaskEvaluation): string {
  const { windLayers } = task;
  const { polar, massKg, share, sinkingAirMps, air, vsMps, vneMps } = setting;
  const { input, result } = leg;
  if (!input || !result) return '';
  const { from, to } = input.setting.track;
  const { elevationM, reserveM, altimeterM } = input.destination;
  return [
    reserveKey(task),
    leg.to?.meaning.kind,
    from.latDeg,
    from.lonDeg,
    to.latDeg,
    to.lonDeg,
    input.departAltitudeM,
    ...input.climbs.flatMap(({ afterM, toAltitudeM }) => [afterM, toAltitudeM]),
    '|',
    result.indicatedMps,
    elevationM,
    reserveM,
    altimeterM,
    polar.a,
    polar.b,
    polar.c,
    polar.massKg,
    massKg,
    share,
    sinkingAirMps,
    air.qnhPa,
    air.deltaTK,
    vsMps,
    vneMps,
    ...windLayers.flatMap(({ altitudeM, fromDeg, speedMps }) => [altitudeM, fromDeg, speedMps]),
  ].join(' ');
}

/** The key of a leg among fields of which the lowest asks so much. */
interface KeyKept {
  readonly numbers: string;
  readonly lowestAskedM: number;
  readonly key: string;
}

const keysKept = new WeakMap<LegEvaluation, KeyKept>();

/** Every number that results of a leg among the fields rest on; kept with the leg. */
function keyAmong(
  { lowestAskedM }: Landables<FieldAsked>,
  leg: LegEvaluation,
  setting: ReachSetting,
  task: TaskEvaluation,
): string {
  const known = keysKept.get(leg);
  if (known?.lowestAskedM === lowestAskedM) return known.key;
  const numbers = known?.numbers ?? numbersOf(leg, setting, task);
  const key = `${lowestAskedM} ${numbers}`;
  keysKept.set(leg, { numbers, lowestAskedM, key });
  return key;
}

/** A result for a leg among the fields, kept by the numbers that it rests on. */
function keepIn<T>(
  which: (kept: KeptFields) => Map<string, Around<T>>,
  leg: LegEvaluation,
  setting: ReachSetting,
  task: TaskEvaluation,
  make: (
    path: () => LegPath,
    fields: Landables<FieldAsked>,
  ) => { readonly value: T; readonly holds?: Around<T>['holds'] },
): Around<T> | undefined {
  const way = leg.input?.setting.track;
  if (!way) return undefined;
  const among = keptOf(task);
  const map = which(among);
  const all = fieldsOf(task);
  const key = keyAmong(all, leg, setting, task);
  const known = map.get(key);
  if (known) return known;
  if (map.size >= MOST_LEGS) map.clear();
  const middle = way.positionAt(way.distanceM / 2);
  const { landables, radiusM } = watched(all, middle);
  const result = make(() => legPath(leg, setting) as LegPath, landables);
  const made = { middle, radiusM: radiusM(), among: among.self, ...result };
  map.set(key, made);
  return made;
}

/**
 * Whether looks find what they found after a change: none of them found the field that went, and what came needs more
 * height than what they found. So they are exactly what a check afresh would make.
 */
function holdsFor(
  setting: ReachSetting,
  looks: Looks<FieldAsked>,
  { reserve }: TaskEvaluation,
): (change: SeenChange) => boolean {
  const { arriveM, altimeterM } = reserve?.meaning ?? {};
  const [arrive, altimeter] = [arriveM?.value ?? 0, altimeterM?.value ?? 0];
  return ({ before, after }) => {
    // By its place: a field that was written anew meanwhile is the same one.
    const gone = before?.meaning.position;
    const isFound =
      gone &&
      looks.all.some(
        ({ least }) => least?.field.position.latDeg === gone.latDeg && least.field.position.lonDeg === gone.lonDeg,
      );
    if (isFound) return false;
    const came = after?.meaning as Field | undefined;
    if (!came?.position) return true;
    return stillLeast(setting, looks, {
      position: came.position,
      askedAltitudeM: askedOver(came, arrive, altimeter),
    });
  };
}

/**
 * The stretches of a leg on which no field is in reach at the planned height; undefined for a leg that is not computed,
 * makes no headway or meets the ground.
 */
export function stretchesWithoutField(leg: LegEvaluation, task: TaskEvaluation): readonly FieldStretch[] | undefined {
  const setting = reachSetting(leg);
  if (!setting || !isFlown(leg)) return undefined;
  const make = (path: () => LegPath, fields: Landables<FieldAsked>) => {
    if (isKnownThroughout(leg, setting)) return { value: [], holds: () => true };
    const looks: Looks<FieldAsked> = { lowM: 0, highM: 0, all: [] };
    const value = stretchesWithout(setting, path(), fields, looks);
    return value.length > 0 ? { value } : { value, holds: holdsFor(setting, looks, task) };
  };
  return keepIn((of) => of.stretches, leg, setting, task, make)?.value;
}

/** The point of a leg with the least height to spare, and the fields in reach there; undefined as above. */
export function worstPointOf(leg: LegEvaluation, task: TaskEvaluation): WorstPoint<FieldAsked> | undefined {
  const setting = reachSetting(leg);
  if (!setting || !isFlown(leg)) return undefined;
  const make = (path: () => LegPath, fields: Landables<FieldAsked>) => ({ value: worstPoint(setting, path(), fields) });
  return keepIn<WorstPoint<FieldAsked> | null>((of) => of.worst, leg, setting, task, make)?.value ?? undefined;
}

/**
 * Whether what is told of the fields in reach of a task may differ from what was told among the surroundings before:
 * a result was not carried over from there, or a field is missing somewhere.
 */
export function reachMayDiffer(task: TaskEvaluation): boolean {
  const now = keptOf(task);
  const { self, stretches, from } = now;
  const { change } = task.surroundings;
  const before = change && keptBefore.get(change.before);
  // Where something else than a field changed, the fields are those before, and so is all that is told of them.
  const isSame = before === now;
  // Another plan among the same fields, which was not looked at for a while, comes from others than those carried over.
  const isNext = before?.self === from;
  return task.legs.some((leg) => {
    const setting = reachSetting(leg);
    if (!setting || !isFlown(leg)) return false;
    const key = keyAmong(fieldsOf(task), leg, setting, task);
    const known = isSame || isNext ? stretches.get(key) : undefined;
    return !known || !(isSame || known.among !== self) || known.value.length > 0;
  });
}

/**
 * Every field in reach from a place of a leg at the height planned there (behind a climb at that distance), the one with
 * the most height to spare first; undefined for a leg that is not computed, makes no headway or meets the ground.
 */
export function fieldsInReachAt(
  leg: LegEvaluation,
  task: TaskEvaluation,
  xM: number,
): readonly InReach<FieldAsked>[] | undefined {
  const setting = reachSetting(leg);
  const way = leg.input?.setting.track;
  const altitudeM = altitudeAt(pathOf(leg), xM);
  if (!setting || !way || altitudeM === undefined || !isFlown(leg)) return undefined;
  return reachFrom(setting, way.positionAt(xM), altitudeM, fieldsOf(task));
}

/** The altitude that a field asks by the reserve of a task; undefined where its elevation is not known. */
export function askedBy(field: Field, { reserve }: TaskEvaluation): number | undefined {
  const { arriveM, altimeterM } = reserve?.meaning ?? {};
  return field.elevationM === undefined ? undefined : askedOver(field, arriveM?.value ?? 0, altimeterM?.value ?? 0);
}

/** The field at which a task ends. */
export function homeOf({ legs }: TaskEvaluation): Reference<Field> | undefined {
  const last = legs.at(-1);
  return last?.kind === 'finish' && last.to?.meaning.kind === 'field' ? (last.to as Reference<Field>) : undefined;
}

function homeAsked(task: TaskEvaluation): (Landable & { readonly name: string }) | undefined {
  const home = homeOf(task)?.meaning;
  if (!home?.position || home.elevationM === undefined) return undefined;
  const { arriveM, altimeterM } = task.reserve?.meaning ?? {};
  return {
    name: home.name,
    position: home.position,
    askedAltitudeM: askedOver(home, arriveM?.value ?? 0, altimeterM?.value ?? 0),
  };
}

/**
 * The point of no choice of the last leg: from there on, to its end, the finish is in reach with the reserve from the
 * planned height. A distance from the leg's start, 0 for the whole leg; null where it is not in reach at the end;
 * undefined for any other leg, and for one that is not flown to its end.
 */
export function finishInReachFrom(leg: LegEvaluation, task: TaskEvaluation): number | null | undefined {
  const setting = reachSetting(leg);
  const home = homeAsked(task);
  if (!setting || !home || leg !== task.legs.at(-1) || !isFlown(leg)) return undefined;
  const path = legPath(leg, setting);
  return path && inReachFrom(setting, path, home);
}

/** The altitude at a place from which the task's finish is in reach with the reserve, on any leg's setting. */
function homeFrom(position: Position, leg: LegEvaluation, task: TaskEvaluation): GlideTo | null | undefined {
  const setting = reachSetting(leg);
  const home = homeAsked(task);
  return setting && home && glideTo(setting, position, home);
}

/**
 * The altitude of a climb from which home itself, and not only the next field, is in reach with the reserve; null where
 * no height is enough, undefined where it is not known.
 */
export function homeInReachAt(
  climb: ClimbEvaluation,
  leg: LegEvaluation,
  task: TaskEvaluation,
): number | null | undefined {
  const way = leg.input?.setting.track;
  if (!way || climb.beyondLeg) return undefined;
  const position = climb.afterM === undefined ? way.from : way.positionAt(climb.afterM);
  const glide = homeFrom(position, leg, task);
  return glide === undefined ? undefined : (glide?.requiredM ?? null);
}
