/** Outlines on the ellipsoid: inside, outside and how near, against geodesics and plain looking. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { destination, type Outline, type Position, partsWithin, shapeOf, track } from '../../server/flight/index.ts';
import { between, cases } from './arbitraries.ts';

const anyPlace: fc.Arbitrary<Position> = fc.record({ latDeg: between(-85, 85), lonDeg: between(-180, 180) });
const SOME = { numRuns: 300 };

function shape(outline: Outline) {
  const made = shapeOf(outline);
  if (!made) throw new Error('no shape');
  return made;
}

/** Corners on a circle, in order. */
function ring(centre: Position, radiusM: number, count: number): Position[] {
  return Array.from({ length: count }, (_, i) => destination(centre, (360 * i) / count, radiusM));
}

describe('a polygon', () => {
  test('of many corners on a circle is that circle', () => {
    fc.assert(
      fc.property(anyPlace, between(500, 60_000), between(0, 360), between(0, 2), (centre, radius, course, share) => {
        const polygon = shape({ kind: 'polygon', corners: ring(centre, radius, 720) });
        const place = destination(centre, course, radius * share);
        const circle = shape({ kind: 'circle', centre, radiusM: radius });
        const sag = radius * (1 - Math.cos(Math.PI / 720)) + 0.5;
        const near = polygon.signedDistance(place) - circle.signedDistance(place);
        // Lengths are true near the outline, and off by a share of a thousandth a hundred kilometres away.
        expect(Math.abs(near)).toBeLessThan(sag + Math.abs(circle.signedDistance(place)) * 0.002 + 1);
      }),
      cases,
    );
  });

  test('has its sign in either order of its corners, and its edges are geodesics', () => {
    fc.assert(
      fc.property(anyPlace, between(1000, 150_000), fc.integer({ min: 3, max: 9 }), (centre, radius, count) => {
        const corners = ring(centre, radius, count);
        const one = shape({ kind: 'polygon', corners });
        const other = shape({ kind: 'polygon', corners: corners.toReversed() });
        expect(one.signedDistance(centre)).toBeLessThan(0);
        expect(other.signedDistance(centre)).toBeLessThan(0);
        expect(one.signedDistance(destination(centre, 17, radius * 1.6))).toBeGreaterThan(0);
        const [a, b] = corners as [Position, Position];
        const edge = track(a, b);
        for (const share of [0.13, 0.5, 0.77])
          expect(Math.abs(one.signedDistance(edge.positionAt(edge.distanceM * share)))).toBeLessThan(0.5);
      }),
      cases,
    );
  });

  test('that crosses itself is inside in both its lobes', () => {
    const at = (latDeg: number, lonDeg: number): Position => ({ latDeg, lonDeg });
    const bow = shape({ kind: 'polygon', corners: [at(47, 19), at(47.2, 19.2), at(47, 19.2), at(47.2, 19)] });
    expect(bow.signedDistance(at(47.03, 19.1))).toBeGreaterThan(0);
    expect(bow.signedDistance(at(47.1, 19.03))).toBeLessThan(0);
    expect(bow.signedDistance(at(47.1, 19.17))).toBeLessThan(0);
  });

  test('over the antimeridian, and round a pole', () => {
    const over = shape({ kind: 'polygon', corners: ring({ latDeg: -17, lonDeg: 180 }, 30_000, 6) });
    expect(over.signedDistance({ latDeg: -17, lonDeg: 179.9 })).toBeLessThan(0);
    expect(over.signedDistance({ latDeg: -17, lonDeg: -179.9 })).toBeLessThan(0);
    const pole = shape({ kind: 'polygon', corners: ring({ latDeg: 90, lonDeg: 0 }, 30_000, 6) });
    expect(pole.signedDistance({ latDeg: 89.95, lonDeg: 123 })).toBeLessThan(0);
    expect(pole.signedDistance({ latDeg: 89, lonDeg: 123 })).toBeGreaterThan(0);
  });

  test('needs three corners; the far side of the Earth is far', () => {
    expect(shapeOf({ kind: 'polygon', corners: ring({ latDeg: 0, lonDeg: 0 }, 1000, 2) })).toBeNull();
    const here = shape({ kind: 'polygon', corners: ring({ latDeg: 47, lonDeg: 19 }, 1000, 4) });
    expect(here.signedDistance({ latDeg: -47, lonDeg: -161 })).toBeGreaterThan(100_000);
  });
});

describe('the parts of a track within an outline', () => {
  const anyOutline = (centre: Position): fc.Arbitrary<Outline> =>
    fc.oneof(
      fc
        .record({ course: between(0, 360), away: between(0, 40_000), radiusM: between(100, 20_000) })
        .map(({ course, away, radiusM }) => ({
          kind: 'circle' as const,
          centre: destination(centre, course, away),
          radiusM,
        })),
      fc
        .array(fc.record({ course: between(0, 360), away: between(0, 40_000) }), { minLength: 3, maxLength: 8 })
        .map((corners) => ({
          kind: 'polygon' as const,
          corners: corners.map(({ course, away }) => destination(centre, course, away)),
        })),
    );
  const home = { latDeg: 47.2, lonDeg: 19.4 };

  test('are those that plain looking finds', () => {
    fc.assert(
      fc.property(
        anyOutline(home),
        between(0, 360),
        between(0, 50_000),
        fc.constantFrom(0, 926),
        (outline, course, length, within) => {
          const made = shape(outline);
          const way = track(home, destination(home, course, length));
          const parts = partsWithin(way, made, within);
          for (let i = 0; i <= 100; i += 1) {
            const xM = (way.distanceM * i) / 100;
            const off = made.signedDistance(way.positionAt(xM)) - within;
            if (off < -15) expect(parts.some(({ fromM, toM }) => xM >= fromM - 1 && xM <= toM + 1)).toBe(true);
            if (off > 2) expect(parts.some(({ fromM, toM }) => xM > fromM + 2 && xM < toM - 2)).toBe(false);
          }
        },
      ),
      SOME,
    );
  });

  test('a larger distance never finds less', () => {
    fc.assert(
      fc.property(anyOutline(home), between(0, 360), between(0, 50_000), (outline, course, length) => {
        const made = shape(outline);
        const way = track(home, destination(home, course, length));
        const wide = partsWithin(way, made, 926);
        for (const { fromM, toM } of partsWithin(way, made, 0))
          expect(wide.some((one) => one.fromM <= fromM + 2 && one.toM >= toM - 2)).toBe(true);
      }),
      SOME,
    );
  });
});
