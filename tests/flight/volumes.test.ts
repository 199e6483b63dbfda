/** Outlines on the ellipsoid: inside, outside and how near, against geodesics and plain looking. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  destination,
  inSpace,
  type Outline,
  type Position,
  partsWithin,
  shapeOf,
  straight,
  track,
} from '../../server/flight/index.ts';
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

  // Along the equator, where 111,319.49 m are a degree.
  const line = track({ latDeg: 0, lonDeg: 10 }, { latDeg: 0, lonDeg: 10.5 });
  const on = (eastM: number, northM: number) =>
    destination(destination({ latDeg: 0, lonDeg: 10 }, 90, eastM), 0, northM);
  const box = (fromM: number, toM: number, southM: number, northM: number): Outline => ({
    kind: 'polygon',
    corners: [on(fromM, southM), on(toM, southM), on(toM, northM), on(fromM, northM)],
  });
  /** To a metre, and rather too long. */
  const near = (outline: Outline, withinM: number, ...spans: [number, number][]) => {
    const found = partsWithin(line, shape(outline), withinM);
    expect(found).toHaveLength(spans.length);
    for (const [i, [fromM, toM]] of spans.entries()) {
      const { fromM: from = Infinity, toM: to = -Infinity } = found[i] ?? {};
      expect(from).toBeLessThanOrEqual(fromM + 0.2);
      expect(from).toBeGreaterThan(fromM - 1.2);
      expect(to).toBeGreaterThanOrEqual(toM - 0.2);
      expect(to).toBeLessThan(toM + 1.2);
    }
  };

  test('by hand: a circle, a box, what lies at the ends, and by Pythagoras beside them', () => {
    const circle = (eastM: number, northM: number, radiusM: number): Outline => ({
      kind: 'circle',
      centre: on(eastM, northM),
      radiusM,
    });
    near(circle(20_000, 0, 3000), 0, [17_000, 23_000]);
    near(circle(20_000, 3000, 5000), 0, [16_000, 24_000]);
    near(circle(20_000, -4000, 3000), 2000, [17_000, 23_000]);
    near(circle(0, 0, 3000), 0, [0, 3000]);
    near(circle(line.distanceM, 0, 3000), 0, [line.distanceM - 3000, line.distanceM]);
    near(circle(20_000, 0, 90_000), 0, [0, line.distanceM]);
    near(circle(20_000, 3010, 3000), 0);
    near(box(10_000, 30_000, -2000, 2000), 0, [10_000, 30_000]);
    near(box(10_000, 30_000, 1000, 2000), 0);
    near(box(10_000, 30_000, 1000, 2000), 1500, [10_000 - Math.sqrt(1.25e6), 30_000 + Math.sqrt(1.25e6)]);
  });

  test('an outline is met as often as it is crossed', () => {
    const comb: Outline = {
      kind: 'polygon',
      corners: [
        on(5000, -2000),
        on(45_000, -2000),
        on(45_000, 2000),
        on(35_000, 2000),
        on(35_000, -1000),
        on(15_000, -1000),
        on(15_000, 2000),
        on(5000, 2000),
      ],
    };
    near(comb, 0, [5000, 15_000], [35_000, 45_000]);
  });

  test('what lies on a border itself lies within', () => {
    for (const [eastM, northM] of [
      [20_000, 0],
      [20_000, 2000],
      [0, 0],
      [line.distanceM, 0],
      [line.distanceM + 2900, 0],
      [20_000, 4000],
    ] as const) {
      const circle = shape({ kind: 'circle', centre: on(eastM, northM), radiusM: 3000 });
      // The same outline with a border as deep as itself.
      const border = { ...circle, signedDistance: (place: Position) => Math.max(0, circle.signedDistance(place)) };
      const [inside, within] = [partsWithin(line, circle, 0), partsWithin(line, border, 0)];
      expect(within).toHaveLength(inside.length);
      for (const [i, { fromM, toM }] of inside.entries()) {
        expect(Math.abs((within[i]?.fromM ?? Infinity) - fromM)).toBeLessThan(1.2);
        expect(Math.abs((within[i]?.toM ?? Infinity) - toM)).toBeLessThan(1.2);
      }
    }
  });

  test('a track that starts on a circle and leaves it has touched it', () => {
    const centre = on(-5000, 0);
    const made = shape({ kind: 'circle', centre, radiusM: track(line.from, centre).distanceM });
    const [only, ...rest] = partsWithin(line, made, 0);
    expect(rest).toEqual([]);
    expect(only?.fromM).toBe(0);
    expect(only?.toM).toBeLessThan(1.2);
  });
});

describe('an outline', () => {
  const on = (latDeg: number, lonDeg: number): Position => ({ latDeg, lonDeg });

  test('a circle may be a point, and has no radius below that', () => {
    const centre = on(47, 19);
    expect(shape({ kind: 'circle', centre, radiusM: 0 }).signedDistance(centre)).toBe(0);
    for (const radiusM of [-1, Number.NaN]) expect(shapeOf({ kind: 'circle', centre, radiusM })).toBeNull();
  });

  test('lies within its reach of its middle, and the reach is not much more than that takes', () => {
    fc.assert(
      fc.property(anyPlace, between(500, 200_000), fc.integer({ min: 3, max: 9 }), (centre, radius, count) => {
        const made = shape({ kind: 'polygon', corners: ring(centre, radius, count) });
        expect(straight(made.middle, inSpace(centre))).toBeLessThan(radius * 0.1 + 1);
        for (let i = 0; i < 24; i += 1) {
          const place = destination(centre, i * 15, radius);
          if (made.signedDistance(place) <= 0) expect(straight(inSpace(place), made.middle)).toBeLessThan(made.reachM);
        }
        expect(made.reachM).toBeGreaterThan(radius + 90);
        expect(made.reachM).toBeLessThan(radius * 1.12 + 102);
      }),
      SOME,
    );
  });

  test('a place in line with its corners: the diamond W, S, E, N of a place on the equator', () => {
    const corners = [on(0, 10), on(-0.1, 10.1), on(0, 10.2), on(0.1, 10.1)];
    for (const order of [corners, corners.toReversed()]) {
      const made = shape({ kind: 'polygon', corners: order });
      for (const lonDeg of [10.05, 10.1, 10.15]) expect(made.signedDistance(on(0, lonDeg))).toBeLessThan(-3000);
      for (const lonDeg of [9.9, 10.3]) expect(made.signedDistance(on(0, lonDeg))).toBeGreaterThan(11_000);
    }
  });

  test('a place in line with an edge along the equator is outside', () => {
    for (const north of [0.1, -0.1]) {
      const corners = [on(0, 10), on(0, 10.2), on(north, 10.2), on(north, 10)];
      for (const order of [corners, corners.toReversed()]) {
        const made = shape({ kind: 'polygon', corners: order });
        for (const lonDeg of [9.9, 10.3]) expect(made.signedDistance(on(0, lonDeg))).toBeGreaterThan(11_000);
        expect(made.signedDistance(on(north / 2, 10.1))).toBeLessThan(-5000);
      }
    }
  });

  test('a corner written twice is one', () => {
    const corners = [on(47, 19), on(47.2, 19), on(47.2, 19), on(47.1, 19.2)];
    const place = on(47.1, 19.05);
    const once = shape({ kind: 'polygon', corners: corners.filter((_, i) => i !== 2) });
    expect(shape({ kind: 'polygon', corners }).signedDistance(place)).toBeCloseTo(once.signedDistance(place), 9);
  });

  test('200 km away is 200 km away, to 100 m', () => {
    for (const courseDeg of [0, 90, 200, 310]) {
      const from = on(0.5, 10);
      const corners = [
        [-1, 0],
        [1, 0],
        [1, 1],
        [-1, 1],
      ].map(([side = 0, far = 0]) =>
        destination(destination(from, courseDeg, 200_000 + far * 20_000), courseDeg + 90, side * 10_000),
      );
      expect(Math.abs(shape({ kind: 'polygon', corners }).signedDistance(from) - 200_000)).toBeLessThan(100);
    }
  });
});
