/** Where a track passes a place, and how near. */
import type { Position, Track } from './earth.ts';
import { inSpace, straight, type Vector } from './space.ts';

/** Part of a track, distances from its start, m. */
export interface Span {
  readonly fromM: number;
  readonly toM: number;
}

/** Distances along a track are found this closely, m. */
const CLOSELY_M = 2;
/** The straight distance of places up to 100 km apart is short of the way over the ground by less than this share. */
const ROUND = 1e-5;

/** How far a place lies from the straight line between the ends of a track, at least, m: the track bends beside it. */
function atLeast(at: Vector, from: Vector, to: Vector, lengthM: number): number {
  const along = { x: to.x - from.x, y: to.y - from.y, z: to.z - from.z };
  const square = along.x * along.x + along.y * along.y + along.z * along.z;
  const d = { x: at.x - from.x, y: at.y - from.y, z: at.z - from.z };
  const share = square > 0 ? (d.x * along.x + d.y * along.y + d.z * along.z) / square : 0;
  const t = Math.min(Math.max(share, 0), 1);
  const away = Math.hypot(d.x - t * along.x, d.y - t * along.y, d.z - t * along.z);
  // Between its ends the track stands off the straight line by no more than its arc does.
  return away - (lengthM * lengthM) / 50e6 - 1;
}

const ends = new WeakMap<Track, { readonly from: Vector; readonly to: Vector }>();

function endsOf(way: Track): { readonly from: Vector; readonly to: Vector } {
  let known = ends.get(way);
  if (!known) {
    known = { from: inSpace(way.from), to: inSpace(way.to) };
    ends.set(way, known);
  }
  return known;
}

/** Whether a track certainly stays farther than `radiusM` from a place (given in space). */
export function staysClear(way: Track, at: Vector, radiusM: number): boolean {
  const { from, to } = endsOf(way);
  return atLeast(at, from, to, way.distanceM) > radiusM;
}

/**
 * The part of a track within `radiusM` of a place, to a few metres and rather too long; null where it passes farther
 * away. For tracks up to a few thousand kilometres.
 */
export function passing(way: Track, place: Position, radiusM: number): Span | null {
  const at = inSpace(place);
  if (staysClear(way, at, radiusM)) return null;
  const away = (xM: number): number => straight(inSpace(way.positionAt(xM)), at) * (1 - ROUND);
  // The distance to a place falls and rises again once along a track.
  let low = 0;
  let high = way.distanceM;
  while (high - low > CLOSELY_M) {
    const third = (high - low) / 3;
    if (away(low + third) <= away(high - third)) high -= third;
    else low += third;
  }
  let nearest = (low + high) / 2;
  for (const end of [0, way.distanceM]) if (away(end) < away(nearest)) nearest = end;
  if (away(nearest) > radiusM) return null;
  const edge = (inside: number, outside: number): number => {
    if (away(outside) <= radiusM) return outside;
    let within = inside;
    let beyond = outside;
    while (Math.abs(beyond - within) > CLOSELY_M) {
      const middle = (within + beyond) / 2;
      if (away(middle) <= radiusM) within = middle;
      else beyond = middle;
    }
    return beyond;
  };
  return { fromM: edge(nearest, 0), toM: edge(nearest, way.distanceM) };
}
