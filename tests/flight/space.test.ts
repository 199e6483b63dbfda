/** Places in space: NIMA TR8350.2 (2000), the half axes of the WGS84 ellipsoid, and what follows from them by hand. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { destination, dot, frameAt, inSpace, straight, type Vector } from '../../server/flight/index.ts';
import { between, cases } from './arbitraries.ts';

function close(found: Vector, x: number, y: number, z: number): void {
  expect(Math.hypot(found.x - x, found.y - y, found.z - z)).toBeLessThan(1e-3);
}

const minus = (one: Vector, other: Vector): Vector => ({ x: one.x - other.x, y: one.y - other.y, z: one.z - other.z });

describe('a place in space', () => {
  test('on the equator and at the poles: the half axes 6,378,137 m and 6,356,752.3142 m', () => {
    close(inSpace({ latDeg: 0, lonDeg: 0 }), 6_378_137, 0, 0);
    close(inSpace({ latDeg: 0, lonDeg: 90 }), 0, 6_378_137, 0);
    close(inSpace({ latDeg: 90, lonDeg: 0 }), 0, 0, 6_356_752.3142);
    close(inSpace({ latDeg: -90, lonDeg: 77 }), 0, 0, -6_356_752.3142);
  });

  test('at 45 N 0 E, derived: x = a2/sqrt(2 (a2 + b2)) 2/sqrt 2, z its b2/a2', () => {
    const [a2, b2] = [6_378_137 ** 2, 6_356_752.3142 ** 2];
    const x = a2 / Math.sqrt(a2 + b2);
    close(inSpace({ latDeg: 45, lonDeg: 0 }), x, 0, (x * b2) / a2);
  });

  test('is as far from another as the chord between them', () => {
    expect(straight({ x: 1, y: 2, z: 3 }, { x: 3, y: 5, z: 9 })).toBe(7);
  });
});

test('the product of two vectors', () => {
  expect(dot({ x: 2, y: 3, z: 5 }, { x: 7, y: 11, z: 13 })).toBe(112);
});

test('east and north are where a few metres that way lead', () => {
  fc.assert(
    fc.property(between(-80, 80), between(-180, 180), (latDeg, lonDeg) => {
      const here = { latDeg, lonDeg };
      const { at, east, north } = frameAt(here);
      expect(at).toEqual(inSpace(here));
      for (const [way, courseDeg] of [
        [north, 0],
        [east, 90],
      ] as const) {
        const gone = minus(inSpace(destination(here, courseDeg, 10)), at);
        expect(straight(gone, { x: 10 * way.x, y: 10 * way.y, z: 10 * way.z })).toBeLessThan(1e-3);
      }
      expect(dot(east, north)).toBeCloseTo(0, 12);
    }),
    cases,
  );
});
