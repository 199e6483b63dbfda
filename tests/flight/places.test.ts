/** The index of places, against geodesics to each of them. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { destination, type Position, placeIndex, track } from '../../server/flight/index.ts';
import { between, cases } from './arbitraries.ts';

const distance = (one: Position, other: Position): number => track(one, other).distanceM;
const anyPlace: fc.Arbitrary<Position> = fc.record({ latDeg: between(-89, 89), lonDeg: between(-180, 180) });
/** Around a place, most of them near. */
const scattered = (middle: Position, longestM: number): fc.Arbitrary<Position[]> =>
  fc
    .array(fc.record({ course: between(0, 360), share: between(0, 1) }), { maxLength: 60 })
    .map((all) => all.map(({ course, share }) => destination(middle, course, share * longestM)));

/** All that lie within a radius, none that lies well beyond, the nearest first. */
function check(places: readonly Position[], from: Position, radiusM: number): void {
  const found = placeIndex(places).within(from, radiusM);
  expect(new Set(found).size).toBe(found.length);
  for (const [i, place] of places.entries()) {
    const far = distance(from, place);
    if (far <= radiusM) expect(found).toContain(i);
    if (far > radiusM * 1.02 + 2) expect(found).not.toContain(i);
  }
  const order = found.map((i) => distance(from, places[i] as Position));
  for (let i = 1; i < order.length; i += 1)
    expect(order[i]).toBeGreaterThanOrEqual((order[i - 1] as number) * 0.99 - 0.01);
}

describe('within a radius', () => {
  test('is every place that lies there, and few beyond, anywhere on the Earth', () => {
    fc.assert(
      fc.property(
        anyPlace.chain((middle) => fc.tuple(fc.constant(middle), scattered(middle, 200_000))),
        between(0, 360),
        between(0, 100_000),
        between(0, 150_000),
        ([middle, places], course, off, radiusM) => check(places, destination(middle, course, off), radiusM),
      ),
      cases,
    );
  });

  test.each([
    ['amid the map', { latDeg: 47, lonDeg: 19 }],
    ['on the equator', { latDeg: 0, lonDeg: 0 }],
    ['south', { latDeg: -34, lonDeg: 18 }],
    ['far north', { latDeg: 78, lonDeg: 15 }],
    ['west of the antimeridian', { latDeg: -17, lonDeg: 179.9 }],
    ['east of the antimeridian', { latDeg: -17, lonDeg: -179.9 }],
    ['a turn further east', { latDeg: 47, lonDeg: 379 }],
    ['by the north pole', { latDeg: 89.7, lonDeg: 40 }],
    ['by the south pole', { latDeg: -89.7, lonDeg: -140 }],
    ['where a box of longitudes is none any more', { latDeg: 84.9, lonDeg: 10 }],
  ])('rings around a place %s: those inside, the inner before the outer', (_, middle) => {
    const radii = [40_000, 10_000, 30_000, 52_000, 20_000, 60_000];
    const places = radii.flatMap((radiusM) =>
      Array.from({ length: 12 }, (_, i) => destination(middle, i * 30, radiusM)),
    );
    check(places, middle, 50_000);
    check(places, middle, 25_000);
    check(places, destination(middle, 135, 35_000), 20_000);
  });

  test('places are looked for as well where their longitude has a turn too many', () => {
    const places = [
      { latDeg: 47, lonDeg: 379 },
      { latDeg: 47.1, lonDeg: -341 },
      { latDeg: 48.5, lonDeg: 19 },
    ];
    expect(placeIndex(places).within({ latDeg: 47, lonDeg: 19 }, 20_000)).toEqual([0, 1]);
  });

  test('half the way round the Earth is everywhere', () => {
    const places = [
      { latDeg: 47, lonDeg: 19 },
      { latDeg: -47, lonDeg: -161 },
      { latDeg: 0, lonDeg: 0 },
    ];
    const index = placeIndex(places);
    expect(index.within({ latDeg: 47, lonDeg: 19 }, 20_004_000).toSorted()).toEqual([0, 1, 2]);
    expect(index.within({ latDeg: 47, lonDeg: 19 }, 15_000_000)).toEqual([0, 2]);
  });

  test('of nothing is what lies there', () => {
    const places = [
      { latDeg: 47, lonDeg: 19 },
      { latDeg: 47.001, lonDeg: 19 },
    ];
    expect(placeIndex(places).within({ latDeg: 47, lonDeg: 19 }, 0)).toEqual([0]);
  });

  test('of no places is none', () => {
    expect(placeIndex([]).within({ latDeg: 0, lonDeg: 0 }, 1e9)).toEqual([]);
    expect(placeIndex([]).nearest({ latDeg: 0, lonDeg: 0 }, 5)).toEqual([]);
  });
});

test('the nearest are so many, the nearest first', () => {
  const middle = { latDeg: -17, lonDeg: 179.9 };
  const places = [50_000, 10_000, 90_000, 30_000].map((radiusM, i) => destination(middle, i * 80, radiusM));
  expect(placeIndex(places).nearest(middle, 3)).toEqual([1, 3, 0]);
});
