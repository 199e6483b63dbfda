/** Outlines on the ground, circles and polygons on the ellipsoid: where a track lies within them, and how near. */
import { destination, type Position, type Track, track } from './earth.ts';
import { type Span, staysClear } from './passes.ts';
import { frameAt, inSpace, straight, type Vector } from './space.ts';

export type Outline =
  | { readonly kind: 'circle'; readonly centre: Position; readonly radiusM: number }
  /** Corners in order, three or more; the last is joined to the first. Its edges are geodesics. */
  | { readonly kind: 'polygon'; readonly corners: readonly Position[] };

/** An outline made ready to be asked. */
export interface Shape {
  readonly middle: Vector;
  /** Everything inside lies within this of the middle, m. */
  readonly reachM: number;
  /** How far a place lies outside, m; negative inside. Exact within a few hundred kilometres of the outline. */
  signedDistance(position: Position): number;
}

/** An edge longer than this is cut: its pieces are straight seen from the Earth's centre, to a centimetre, m. */
const EDGE_M = 20_000;
/** Beyond this from an outline, its distance is only known to be large, m. */
const FAR_M = 500_000;

/** An outline made ready; null for a polygon of fewer than three corners or a radius below zero. */
export function shapeOf(outline: Outline): Shape | null {
  if (outline.kind === 'circle') {
    const { centre, radiusM } = outline;
    if (!(radiusM >= 0)) return null;
    return {
      middle: inSpace(centre),
      reachM: radiusM,
      signedDistance: (position) => track(position, centre).distanceM - radiusM,
    };
  }
  const { corners } = outline;
  if (corners.length < 3) return null;
  const points: Vector[] = [];
  for (const [i, corner] of corners.entries()) {
    const next = corners[(i + 1) % corners.length] as Position;
    const edge = track(corner, next);
    const pieces = Math.max(1, Math.ceil(edge.distanceM / EDGE_M));
    for (let k = 0; k < pieces; k += 1) {
      const at = k === 0 ? corner : destination(corner, edge.initialCourseDeg, (k * edge.distanceM) / pieces);
      points.push(inSpace(at));
    }
  }
  const sum = points.reduce((one, other) => ({ x: one.x + other.x, y: one.y + other.y, z: one.z + other.z }));
  const middle = { x: sum.x / points.length, y: sum.y / points.length, z: sum.z / points.length };
  // The middle lies under the ground, so that distances from it hold the bulge as well.
  const reachM = Math.max(...points.map((point) => straight(point, middle))) * 1.01 + 100;
  return { middle, reachM, signedDistance: (position) => signedDistance(points, position) };
}

/**
 * Seen from the Earth's centre on the plane that touches at `position`: there the edges are straight, and near that
 * place lengths are true. Inside is where the outline goes round it, once or more.
 */
function signedDistance(points: readonly Vector[], position: Position): number {
  const { at, east } = frameAt(position);
  const length = Math.hypot(at.x, at.y, at.z);
  const up = { x: at.x / length, y: at.y / length, z: at.z / length };
  const north = {
    x: up.y * east.z - up.z * east.y,
    y: up.z * east.x - up.x * east.z,
    z: up.x * east.y - up.y * east.x,
  };
  let winding = 0;
  let least = Infinity;
  let px = 0;
  let py = 0;
  for (let i = -1; i < points.length; i += 1) {
    const q = points[i < 0 ? points.length - 1 : i] as Vector;
    const height = q.x * up.x + q.y * up.y + q.z * up.z;
    // More than some thousand kilometres away: no distance that matters.
    if (height < length / 2) return FAR_M;
    const scale = length / height;
    const x = (q.x * east.x + q.y * east.y + q.z * east.z) * scale;
    const y = (q.x * north.x + q.y * north.y + q.z * north.z) * scale;
    if (i >= 0) {
      const dx = x - px;
      const dy = y - py;
      const square = dx * dx + dy * dy;
      const t = square > 0 ? Math.min(Math.max(-(px * dx + py * dy) / square, 0), 1) : 0;
      least = Math.min(least, Math.hypot(px + t * dx, py + t * dy));
      const side = px * dy - py * dx;
      if (py <= 0 && y > 0 && side > 0) winding += 1;
      else if (py > 0 && y <= 0 && side < 0) winding -= 1;
    }
    px = x;
    py = y;
  }
  return winding === 0 ? least : -least;
}

/** Ends of what is found are this close, m. */
const CLOSELY_M = 1;
/** The least step along a track, m: a corner cut by less may be missed. */
const LEAST_STEP_M = 10;

/**
 * The parts of a track that lie within `withinM` of an outline (0: inside it), to a metre and rather too long. The
 * distance to an outline changes by no more than one goes, so that no part longer than ten metres is missed.
 */
export function partsWithin(way: Track, shape: Shape, withinM: number): Span[] {
  if (staysClear(way, shape.middle, shape.reachM + withinM)) return [];
  const over = (xM: number): number => shape.signedDistance(way.positionAt(xM)) - withinM;
  const edge = (from: number, to: number, insideTo: boolean): number => {
    let low = from;
    let high = to;
    while (high - low > CLOSELY_M) {
      const middle = (low + high) / 2;
      if (over(middle) <= 0 === insideTo) high = middle;
      else low = middle;
    }
    return insideTo ? low : high;
  };
  const found: Span[] = [];
  const { distanceM } = way;
  let xM = 0;
  let here = over(0);
  // Where the part began that one is in; of no account outside.
  let openedM = 0;
  while (xM < distanceM) {
    const next = Math.min(distanceM, xM + Math.max(Math.abs(here) * 0.999, LEAST_STEP_M));
    const there = over(next);
    if (there <= 0 !== here <= 0) {
      const at = edge(xM, next, there <= 0);
      if (there <= 0) openedM = at;
      else found.push({ fromM: openedM, toM: at });
    }
    xM = next;
    here = there;
  }
  if (here <= 0) found.push({ fromM: openedM, toM: distanceM });
  return found;
}
