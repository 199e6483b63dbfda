/** Places in space: metres from the Earth's centre, for bounds and near things where a geodesic would cost too much. */
import type { Position } from './earth.ts';

/** The WGS84 ellipsoid: its larger half axis (m) and its first eccentricity squared. */
const A = 6_378_137;
const F = 1 / 298.257223563;
const E2 = F * (2 - F);
const RADIANS = Math.PI / 180;

/** A vector: towards (0 N, 0 E), towards (0 N, 90 E), and towards the north pole. */
export interface Vector {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/** A position on the ellipsoid in metres from the Earth's centre. Source: definition of the WGS84 ellipsoid. */
export function inSpace({ latDeg, lonDeg }: Position): Vector {
  const sin = Math.sin(latDeg * RADIANS);
  const cos = Math.cos(latDeg * RADIANS);
  const normal = A / Math.sqrt(1 - E2 * sin * sin);
  return {
    x: normal * cos * Math.cos(lonDeg * RADIANS),
    y: normal * cos * Math.sin(lonDeg * RADIANS),
    z: normal * (1 - E2) * sin,
  };
}

/** The straight distance between two places in space, m: never more than the way over the ground. */
export function straight(one: Vector, other: Vector): number {
  return Math.hypot(one.x - other.x, one.y - other.y, one.z - other.z);
}

/** A place with its directions east and north. */
export interface Frame {
  readonly at: Vector;
  readonly east: Vector;
  readonly north: Vector;
}

export function frameAt(position: Position): Frame {
  const sinLat = Math.sin(position.latDeg * RADIANS);
  const cosLat = Math.cos(position.latDeg * RADIANS);
  const sinLon = Math.sin(position.lonDeg * RADIANS);
  const cosLon = Math.cos(position.lonDeg * RADIANS);
  return {
    at: inSpace(position),
    east: { x: -sinLon, y: cosLon, z: 0 },
    north: { x: -sinLat * cosLon, y: -sinLat * sinLon, z: cosLat },
  };
}

export function dot(one: Vector, other: Vector): number {
  return one.x * other.x + one.y * other.y + one.z * other.z;
}
