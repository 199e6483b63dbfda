/** Many places: which of them lie near another. A k-d tree (kdbush) searched on the sphere (geokdbush). */
import { around } from 'geokdbush';
import KDBush from 'kdbush';
import type { Position } from './earth.ts';

/** An index over places; what it finds are their numbers in the list it was made from. */
export interface PlaceIndex {
  /** Every place within `radiusM` of a position, the nearest first, and some that lie little beyond. */
  within(position: Position, radiusM: number): number[];
  /** The places nearest to a position, the nearest first, to about half a per cent of their distance. */
  nearest(position: Position, count: number): number[];
}

/**
 * The search measures on a sphere of 6371 km: on the ellipsoid a distance may be up to 0.6 % more or less. A search
 * takes 1 % more, so that it never leaves one out.
 */
const SPHERE = 1.01;
/** Half the way round the Earth, m: a radius beyond it holds every place. */
const ANYWHERE_M = 20_100_000;

/** An index over places (finite numbers; any longitude). */
export function placeIndex(positions: readonly Position[]): PlaceIndex {
  if (positions.length === 0) return { within: () => [], nearest: () => [] };
  const tree = new KDBush(positions.length);
  // Longitudes of one turn: the search goes over the antimeridian by itself.
  for (const { latDeg, lonDeg } of positions) tree.add(((((lonDeg + 180) % 360) + 360) % 360) - 180, latDeg);
  tree.finish();
  const all = positions.map((_, i) => i);
  return {
    within: ({ latDeg, lonDeg }, radiusM) =>
      radiusM * SPHERE >= ANYWHERE_M ? all : around(tree, lonDeg, latDeg, Infinity, (radiusM * SPHERE + 1) / 1000),
    nearest: ({ latDeg, lonDeg }, count) => around(tree, lonDeg, latDeg, count),
  };
}
