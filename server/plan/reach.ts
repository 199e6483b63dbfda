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
  type Position,
  type ReachSetting,
  reachFrom,
  type Stretch,
  stretchesWithout,
  type WorstPoint,
  worstPoint,
} from '../flight/index.ts';
import type { Field } from './meaning.ts';
import type { Seen, SeenGroup } from './surroundings.ts';
import type { ClimbEvaluation, LegEvaluation, Reference, TaskEvaluation } from './task.ts';

/** A field in view, with the altitude asked over it. */
export interface FieldAsked extends Landable, Seen<Field> {}

export type FieldStretch = Stretch<FieldAsked>;

/** The altitude asked over a field: elevation, the higher of the reserve's and its own arrival height, altimeter. */
function askedOver(field: Field, arriveM: number, altimeterM: number): number {
  return (field.elevationM ?? 0) + Math.max(arriveM, field.arriveM?.value ?? 0) + altimeterM;
}

interface KeptFields {
  /** By what a reserve asks. */
  readonly landables: Map<string, Landables<FieldAsked>>;
  /** Results by the numbers that they rest on, so that a leg that did not change is not looked at again. */
  readonly stretches: Map<string, readonly FieldStretch[]>;
  readonly worst: Map<string, WorstPoint<FieldAsked> | null>;
}

const kept = new WeakMap<readonly SeenGroup<Field>[], KeptFields>();
const MOST_RESERVES = 8;
const MOST_LEGS = 1000;

function landablesOf(groups: readonly SeenGroup<Field>[], arriveM: number, altimeterM: number): Landables<FieldAsked> {
  const asked = groups.map(({ all, index }) => ({
    index,
    fields: all.map((one): FieldAsked => ({ ...one, askedAltitudeM: askedOver(one.meaning, arriveM, altimeterM) })),
  }));
  let lowestAskedM = Infinity;
  for (const { fields } of asked)
    for (const { askedAltitudeM } of fields) lowestAskedM = Math.min(lowestAskedM, askedAltitudeM);
  const pick = (of: (index: ReturnType<SeenGroup<Field>['index']>) => number[]) =>
    asked.flatMap(({ index, fields }) => of(index()).flatMap((i) => fields[i] ?? []));
  return {
    lowestAskedM: Number.isFinite(lowestAskedM) ? lowestAskedM : 0,
    within: (position, radiusM) => pick((index) => index.within(position, radiusM)),
    nearest: (position, count) => pick((index) => index.nearest(position, count)),
  };
}

function keptOf({ surroundings }: TaskEvaluation): KeptFields {
  let known = kept.get(surroundings.fields);
  if (!known) {
    known = { landables: new Map(), stretches: new Map(), worst: new Map() };
    kept.set(surroundings.fields, known);
  }
  return known;
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

/** What a glide of the task is made with; undefined where a leg is not computed. */
export function reachSetting(leg: LegEvaluation): ReachSetting | undefined {
  if (!leg.input) return undefined;
  const { setting, limits } = leg.input;
  const { track: _, maxStepM: __, ...rest } = setting;
  return { ...rest, vsMps: limits.vsMps, vneMps: limits.vneMps };
}

/** Altitudes of the planned path are taken this closely along a leg, m: between them it is all but straight. */
const PATH_STEP_M = 1000;

const pathsKept = new WeakMap<LegEvaluation, readonly GlidePoint[]>();

/** The planned path of a leg in small steps, kept with it; a climb is two points at one distance. */
export function pathOf(leg: LegEvaluation): readonly GlidePoint[] {
  let path = pathsKept.get(leg);
  if (!path) {
    path = leg.result?.path(PATH_STEP_M) ?? [];
    pathsKept.set(leg, path);
  }
  return path;
}

/** The altitude of a path at a distance; behind a climb at that distance. */
export function altitudeAt(points: readonly GlidePoint[], xM: number): number | undefined {
  let before = points[0];
  if (!before) return undefined;
  for (const point of points) {
    if (point.xM > xM) {
      const length = point.xM - before.xM;
      return length <= 0
        ? point.altitudeM
        : before.altitudeM + ((xM - before.xM) / length) * (point.altitudeM - before.altitudeM);
    }
    before = point;
  }
  return before.altitudeM;
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

/** From where on the leg's own glide reaches the field at its end, with what that field asks. */
function knownFrom(leg: LegEvaluation, setting: ReachSetting, { surroundings }: TaskEvaluation): number | undefined {
  const { result, to } = leg;
  if (!result || result.problem || result.marginM < 0 || to?.meaning.kind !== 'field') return undefined;
  if (result.indicatedMps < setting.vsMps || result.indicatedMps > setting.vneMps) return undefined;
  const counted = surroundings.fields.some(({ all }) => all.some(({ meaning }) => meaning === to.meaning));
  return counted ? lastGlideFrom(pathOf(leg)) : undefined;
}

function legPath(leg: LegEvaluation, setting: ReachSetting, task: TaskEvaluation): LegPath | undefined {
  if (!leg.input) return undefined;
  const knownFromM = knownFrom(leg, setting, task);
  return {
    track: leg.input.setting.track,
    points: pathOf(leg),
    ...(knownFromM === undefined ? {} : { knownFromM }),
  };
}

/** Every number that the planned path of a leg, and the reach along it, rest on. */
function keyOf(leg: LegEvaluation, setting: ReachSetting, task: TaskEvaluation): string {
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

function keepIn<T>(map: Map<string, T>, key: string, make: () => T): T {
  const known = map.get(key);
  if (known !== undefined) return known;
  if (map.size >= MOST_LEGS) map.clear();
  const made = make();
  map.set(key, made);
  return made;
}

/**
 * The stretches of a leg on which no field is in reach at the planned height; undefined for a leg that is not computed,
 * makes no headway or meets the ground.
 */
export function stretchesWithoutField(leg: LegEvaluation, task: TaskEvaluation): readonly FieldStretch[] | undefined {
  const setting = reachSetting(leg);
  if (!setting || !isFlown(leg)) return undefined;
  return keepIn(keptOf(task).stretches, keyOf(leg, setting, task), () => {
    const path = legPath(leg, setting, task);
    return path ? stretchesWithout(setting, path, fieldsOf(task)) : [];
  });
}

/** The point of a leg with the least height to spare, and the fields in reach there; undefined as above. */
export function worstPointOf(leg: LegEvaluation, task: TaskEvaluation): WorstPoint<FieldAsked> | undefined {
  const setting = reachSetting(leg);
  if (!setting || !isFlown(leg)) return undefined;
  const found = keepIn(keptOf(task).worst, keyOf(leg, setting, task), () => {
    const path = legPath(leg, setting, task);
    return path ? worstPoint(setting, path, fieldsOf(task)) : null;
  });
  return found ?? undefined;
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
  const path = legPath(leg, setting, task);
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
