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

/** A degree of latitude is nowhere shorter, m, than on the sphere of the search with its margin. */
const LEAST_DEGREE_M = 110_000;
/** Nearer to a pole than this, degrees, a box of longitudes is none. */
const POLAR_DEG = 85;
const RAD = Math.PI / 180;
/** The sphere of the search, m. */
const RADIUS_M = 6_371_000;

/** An index over places (finite numbers; any longitude). */
export function placeIndex(positions: readonly Position[]): PlaceIndex {
  if (positions.length === 0) return { within: () => [], nearest: () => [] };
  const tree = new KDBush(positions.length);
  const turned = positions.map(({ lonDeg }) => turn(lonDeg));
  // Longitudes of one turn: the search goes over the antimeridian by itself.
  for (const [i, { latDeg }] of positions.entries()) tree.add(turned[i] as number, latDeg);
  tree.finish();
  const all = positions.map((_, i) => i);
  const cosines = positions.map(({ latDeg }) => Math.cos(latDeg * RAD));
  return {
    within: ({ latDeg, lonDeg }, radiusM) => {
      if (radiusM * SPHERE >= ANYWHERE_M) return all;
      const mostM = radiusM * SPHERE + 1;
      const up = mostM / LEAST_DEGREE_M;
      const edge = Math.abs(latDeg) + up;
      const along = edge < POLAR_DEG ? up / Math.cos(edge * RAD) : Infinity;
      const middle = turn(lonDeg);
      if (!(middle - along > -180 && middle + along < 180)) return around(tree, lonDeg, latDeg, Infinity, mostM / 1000);
      // In a box, which is found much faster than a circle, and then by the square of half the chord.
      const most = Math.sin(mostM / RADIUS_M / 2) ** 2;
      const cosine = Math.cos(latDeg * RAD);
      const found: { readonly i: number; readonly far: number }[] = [];
      for (const i of tree.range(middle - along, latDeg - up, middle + along, latDeg + up)) {
        const north = Math.sin((((positions[i] as Position).latDeg - latDeg) * RAD) / 2);
        const east = Math.sin((((turned[i] as number) - middle) * RAD) / 2);
        const far = north * north + cosine * (cosines[i] as number) * east * east;
        if (far <= most) found.push({ i, far });
      }
      return found.sort((one, other) => one.far - other.far).map(({ i }) => i);
    },
    nearest: ({ latDeg, lonDeg }, count) => around(tree, lonDeg, latDeg, count),
  };
}

/** A longitude from -180 up to 180. */
function turn(lonDeg: number): number {
  return ((((lonDeg + 180) % 360) + 360) % 360) - 180;
}
