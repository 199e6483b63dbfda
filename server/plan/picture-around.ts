/**
 * What lies along the track of a leg, whatever the glider does there: the geodesic itself, the ground, what stands on
 * it, the volumes of airspace that the vertical section cuts, and how far fields lie. Kept by the ends of the track, so
 * that a keystroke costs the leg it moves.
 */
import {
  inSpace,
  type Position,
  partsWithin,
  passing,
  type Span,
  staysClear,
  type Track,
  track,
} from '../flight/index.ts';
import { shapeOfAirspace } from './airspace.ts';
import { CORRIDOR_M, groundAt, groundProfile } from './ground.ts';
import type { Airspace, Field, Obstacle, Turnpoint } from './meaning.ts';
import type { PictureLeg, PicturePosition, PictureSlice, PictureSolid } from './picture-data.ts';
import type { Seen, SeenGroup, Surroundings } from './surroundings.ts';
import { altitudeIn, type LegEvaluation, type TaskEvaluation } from './task.ts';
import type { Altitude } from './values.ts';

/** A volume is in the picture when its outline comes this near to a track, m. */
const VOLUME_BESIDE_M = 15_000;
/** Fields farther than this from a track are left out, unless they are in reach, m. */
export const FIELD_BESIDE_M = 15_000;
/** A track is drawn by points this far apart, m. */
const TRACK_STEP_M = 20_000;
/** The ground is drawn in no more steps than this a leg. */
const MOST_GROUND = 240;
/** A limit above ground is drawn in no more steps than this a leg. */
const MOST_LIMIT = 120;

export interface SolidNear {
  readonly seen: Seen<Obstacle | Field | Turnpoint>;
  readonly solid: Omit<PictureSolid, 'tooLow'>;
}

export interface VolumeNear {
  readonly seen: Seen<Airspace>;
  readonly slices: readonly Pick<PictureSlice, 'fromM' | 'toM' | 'floor' | 'ceiling'>[];
}

export interface Around {
  readonly track: readonly PicturePosition[];
  readonly ground: PictureLeg['ground'];
  readonly solids: readonly SolidNear[];
  readonly volumes: readonly VolumeNear[];
  /** Fields beside the track, by how far. */
  readonly fields: readonly { readonly seen: Seen<Field>; readonly besideM: number }[];
}

const kept = new WeakMap<Surroundings, Map<string, Around>>();
const MOST_KEPT = 200;

/** The track between the ends of a leg; undefined where one is not known. */
export function trackOf(leg: LegEvaluation): Track | undefined {
  if (leg.input) return leg.input.setting.track;
  const from = leg.from?.meaning.position;
  const to = leg.to?.meaning.position;
  return from && to && track(from, to);
}

/** What lies along a leg; undefined where an end of it is not known. */
export function aroundOf(leg: LegEvaluation, task: TaskEvaluation): Around | undefined {
  const way = trackOf(leg);
  if (!way) return undefined;
  let known = kept.get(task.surroundings);
  if (!known) {
    known = new Map();
    kept.set(task.surroundings, known);
  }
  const { from, to } = way;
  // Flight levels lie by the pressure, and ground is looked at under computed legs alone.
  const key = [from.latDeg, from.lonDeg, to.latDeg, to.lonDeg, task.air.qnhPa, task.air.deltaTK, !leg.input].join(' ');
  let around = known.get(key);
  if (!around) {
    if (known.size >= MOST_KEPT) known.clear();
    around = lookAround(way, leg, task);
    known.set(key, around);
  }
  return around;
}

function lookAround(way: Track, leg: LegEvaluation, task: TaskEvaluation): Around {
  const pieces = Math.max(1, Math.ceil(way.distanceM / TRACK_STEP_M));
  const points = Array.from({ length: pieces + 1 }, (_, i): PicturePosition => {
    if (i === 0) return plain(way.from);
    return i === pieces ? plain(way.to) : plain(way.positionAt((i * way.distanceM) / pieces));
  });
  return {
    track: points,
    ground: coarseGround(groundProfile(leg, task) ?? []),
    solids: solidsAlong(way, task),
    volumes: volumesAlong(way, leg, task),
    fields: fieldsBeside(way, task.surroundings),
  };
}

export const plain = ({ latDeg, lonDeg }: Position): PicturePosition => ({ latDeg, lonDeg });

/** The ground in few enough steps, each as high as the highest point in it; the ends of what is not known stay. */
function coarseGround(profile: NonNullable<ReturnType<typeof groundProfile>>): PictureLeg['ground'] {
  const heights = profile.map(({ xM, ground }) => ({
    xM: Math.round(xM * 10) / 10,
    highestM: ground ? ground.highestM : null,
  }));
  const lengthM = (profile.at(-1)?.xM ?? 0) - (profile[0]?.xM ?? 0);
  const stepM = lengthM / MOST_GROUND;
  if (heights.length <= 2 * MOST_GROUND) return heights;
  const coarse: { xM: number; highestM: number | null }[] = [];
  let from = 0;
  for (let i = 1; i <= heights.length; i += 1) {
    const first = heights[from] as (typeof heights)[number];
    const here = heights[i];
    if (here && (here.highestM === null) === (first.highestM === null) && here.xM - first.xM < stepM) continue;
    const part = heights.slice(from, i);
    const highestM = first.highestM === null ? null : Math.max(...part.map((one) => one.highestM ?? -Infinity));
    coarse.push({ xM: first.xM, highestM });
    if (part.length > 1) coarse.push({ xM: (part.at(-1) as typeof first).xM, highestM });
    from = i;
  }
  return coarse;
}

/** How far along a track a place lies, m: where the track passes it. */
function alongTrack(way: Track, place: Position): number {
  const from = inSpace(way.from);
  const to = inSpace(way.to);
  const at = inSpace(place);
  const d = { x: to.x - from.x, y: to.y - from.y, z: to.z - from.z };
  const square = d.x * d.x + d.y * d.y + d.z * d.z;
  if (square === 0) return 0;
  const share = ((at.x - from.x) * d.x + (at.y - from.y) * d.y + (at.z - from.z) * d.z) / square;
  return Math.min(Math.max(share, 0), 1) * way.distanceM;
}

/** Entries of a group that may lie within `radiusM` of a track. */
function beside<M extends Field | Turnpoint | Obstacle>(group: SeenGroup<M>, way: Track, radiusM: number) {
  const middle = way.positionAt(way.distanceM / 2);
  return group
    .index()
    .within(middle, (way.distanceM / 2) * 1.001 + radiusM)
    .flatMap((i) => {
      const one = group.all[i];
      return one && !staysClear(way, inSpace(one.position), radiusM) ? [one] : [];
    });
}

function solidsAlong(way: Track, task: TaskEvaluation): SolidNear[] {
  const { obstacles, fields, turnpoints } = task.surroundings;
  const found: SolidNear[] = [];
  const add = (
    seen: Seen<Obstacle | Field | Turnpoint> & { readonly position: Position },
    topM: number | undefined,
    radiusM: number,
  ): void => {
    if (topM === undefined || !passing(way, seen.position, radiusM)) return;
    const { name, kind } = seen.meaning;
    found.push({ seen, solid: { name, kind, xM: alongTrack(way, seen.position), topM } });
  };
  for (const group of obstacles) {
    const widestM = group.all.reduce((most, { meaning }) => Math.max(most, meaning.radiusM ?? 0), 0);
    for (const one of beside(group, way, widestM + CORRIDOR_M)) {
      const { top, radiusM } = one.meaning;
      add(one, top && altitudeIn(top, undefined, task.air), (radiusM ?? 0) + CORRIDOR_M);
    }
  }
  for (const group of fields)
    for (const one of beside(group, way, CORRIDOR_M)) add(one, one.meaning.elevationM, CORRIDOR_M);
  for (const group of turnpoints)
    for (const one of beside(group, way, CORRIDOR_M)) add(one, one.meaning.elevationM, CORRIDOR_M);
  return found.sort((one, other) => one.solid.xM - other.solid.xM);
}

/** A limit along a part of a leg. */
function limitAlong(
  limit: Altitude,
  which: 'floor' | 'ceiling',
  { fromM, toM }: Span,
  leg: LegEvaluation,
  task: TaskEvaluation,
): PictureSlice['floor'] {
  if (limit.kind !== 'agl') {
    const altitudeM = altitudeIn(limit, undefined, task.air) ?? null;
    return [fromM, toM].map((xM) => ({ xM, altitudeM }));
  }
  const profile = groundProfile(leg, task) ?? [];
  // The surface needs no ground to be known: nothing flies below it.
  const surface = limit.metres <= 0 && which === 'floor';
  const inner = profile.filter(({ xM }) => xM > fromM && xM < toM);
  const every = Math.max(1, Math.ceil(inner.length / MOST_LIMIT));
  const at = [fromM, ...inner.filter((_, i) => i % every === 0).map(({ xM }) => xM), toM];
  return (profile.length === 0 ? [fromM, toM] : at).map((xM) => {
    const ground = groundAt(profile, xM);
    return { xM, altitudeM: ground ? ground.groundM + Math.max(0, limit.metres) : surface ? 0 : null };
  });
}

function volumesAlong(way: Track, leg: LegEvaluation, task: TaskEvaluation): VolumeNear[] {
  const found: VolumeNear[] = [];
  for (const seen of task.surroundings.airspaces) {
    const shape = shapeOfAirspace(seen.meaning);
    const { floor, ceiling } = seen.meaning;
    if (!shape || !floor || !ceiling || staysClear(way, shape.middle, shape.reachM + VOLUME_BESIDE_M)) continue;
    const slices = partsWithin(way, shape, 0).map((span) => ({
      fromM: span.fromM,
      toM: span.toM,
      floor: limitAlong(floor.value, 'floor', span, leg, task),
      ceiling: limitAlong(ceiling.value, 'ceiling', span, leg, task),
    }));
    found.push({ seen, slices });
  }
  return found;
}

function fieldsBeside(way: Track, { fields }: Surroundings): Around['fields'] {
  const found: { seen: Seen<Field>; besideM: number }[] = [];
  for (const group of fields)
    for (const one of beside(group, way, FIELD_BESIDE_M)) {
      const besideM = track(one.position, way.positionAt(alongTrack(way, one.position))).distanceM;
      if (besideM <= FIELD_BESIDE_M) found.push({ seen: one, besideM });
    }
  return found.sort((one, other) => one.besideM - other.besideM);
}
