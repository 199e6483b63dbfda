/** Elevation tiles that the tests make themselves, and the ground that is read from them. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  cornerOf,
  cornersUnder,
  decodeTile,
  destination,
  groundIn,
  groundUnder,
  TILE_BYTES,
  type Tile,
  tileCorner,
  tileName,
  track,
} from '../../server/flight/index.ts';
import { between, cases } from './arbitraries.ts';
import { tileBytes } from './tiles.ts';

const corner = { latDeg: 47, lonDeg: 19 };
function tile(size: number, of: (row: number, column: number) => number): Tile {
  const made = decodeTile(tileBytes(size, of), corner);
  if (!made) throw new Error('no tile');
  return made;
}

describe('a tile', () => {
  test('is named by its south-west corner', () => {
    expect(tileName(tileCorner({ latDeg: 47.2, lonDeg: 19.4 }))).toBe('N47E019.hgt');
    expect(tileName(tileCorner({ latDeg: -0.5, lonDeg: -0.5 }))).toBe('S01W001.hgt');
    expect(tileName(tileCorner({ latDeg: 0, lonDeg: 180 }))).toBe('N00W180.hgt');
    expect(tileName(tileCorner({ latDeg: 90, lonDeg: 12 }))).toBe('N89E012.hgt');
    fc.assert(
      fc.property(fc.integer({ min: -90, max: 89 }), fc.integer({ min: -180, max: 179 }), (latDeg, lonDeg) => {
        expect(cornerOf(tileName({ latDeg, lonDeg }))).toEqual({ latDeg: latDeg + 0, lonDeg: lonDeg + 0 });
      }),
      cases,
    );
    expect(tileName({ latDeg: 0, lonDeg: 0 })).toBe('N00E000.hgt');
    expect(cornerOf('S00W000.hgt')).toEqual({ latDeg: 0, lonDeg: 0 });
    expect(cornerOf('s01e179.HGT')).toEqual({ latDeg: -1, lonDeg: 179 });
    for (const name of ['readme.txt', 'xN47E019.hgt', 'N47E019.hgt.zip', 'N47E19.hgt', 'E019N47.hgt'])
      expect([name, cornerOf(name)]).toEqual([name, null]);
  });

  test('has one of two sizes', () => {
    expect(decodeTile(new Uint8Array(2 * 1201 * 1201), corner)?.size).toBe(1201);
    expect(decodeTile(new Uint8Array(2 * 3601 * 3601), corner)?.size).toBe(3601);
    expect(decodeTile(new Uint8Array(2 * 1201 * 1200), corner)).toBeNull();
    expect(decodeTile(new Uint8Array(0), corner)).toBeNull();
    expect(TILE_BYTES).toEqual([2_884_802, 25_934_402]);
  });

  test('begins in the north-west, row by row, the high byte first', () => {
    const bytes = tileBytes(1201, () => 0);
    bytes[0] = 0x01;
    bytes[1] = 0x02;
    const made = decodeTile(bytes, corner) as Tile;
    expect(groundIn(made, { latDeg: 48, lonDeg: 19 })?.groundM).toBeCloseTo(258, 9);
    const south = tile(1201, (row, column) => (row === 1200 && column === 1200 ? 99 : 0));
    expect(groundIn(south, { latDeg: 47, lonDeg: 20 })?.groundM).toBeCloseTo(99, 9);
  });

  test.each([1201, 3601])('a slope is read exactly between its posts (%i a side)', (size) => {
    const steps = size - 1;
    const made = tile(size, (row, column) => Math.round((row * 1200) / steps) + Math.round((column * 2400) / steps));
    fc.assert(
      fc.property(between(47, 48), between(19, 20), (latDeg, lonDeg) => {
        const at = groundIn(made, { latDeg, lonDeg });
        const exact = (48 - latDeg) * 1200 + (lonDeg - 19) * 2400;
        // Heights are whole metres.
        expect(Math.abs((at?.groundM ?? 0) - exact)).toBeLessThan(1.01);
        expect(at?.highestM).toBeGreaterThanOrEqual((at?.groundM ?? 0) - 1e-9);
      }),
      cases,
    );
  });

  test('a void is no height, and is not filled from its neighbours', () => {
    const made = tile(1201, (row, column) => (row === 600 && column === 600 ? -32_768 : 500));
    expect(groundIn(made, { latDeg: 47.5, lonDeg: 19.5 })).toBeNull();
    expect(groundIn(made, { latDeg: 47.5 + 0.9 / 1200, lonDeg: 19.5 })).toBeNull();
    expect(groundIn(made, { latDeg: 47.5 + 1.1 / 1200, lonDeg: 19.5 })).toEqual({ groundM: 500, highestM: 500 });
  });

  test.each([
    ['north-west', 0, 0],
    ['north-east', 0, 1],
    ['south-west', 1, 0],
    ['south-east', 1, 1],
  ])('a void at the %s of a place alone is a void there', (_, row, column) => {
    const made = tile(1201, (r, c) => (r === 600 + row && c === 600 + column ? -32_768 : 500));
    expect(groundIn(made, { latDeg: 47.5 - 0.5 / 1200, lonDeg: 19.5 + 0.5 / 1200 })).toBeNull();
  });

  test('below the sea is below the sea', () => {
    expect(
      groundIn(
        tile(1201, () => -400),
        { latDeg: 47.3, lonDeg: 19.9 },
      )?.groundM,
    ).toBe(-400);
  });
});

describe('the ground under a track', () => {
  const flat = tile(1201, () => 200);
  const only = (made: Tile) => (at: { latDeg: number; lonDeg: number }) =>
    at.latDeg === corner.latDeg && at.lonDeg === corner.lonDeg ? made : null;

  test('ends at both ends, in steps no longer than from post to post', () => {
    fc.assert(
      fc.property(between(0, 360), between(0, 30_000), (course, length) => {
        const from = { latDeg: 47.5, lonDeg: 19.5 };
        const way = track(from, destination(from, course, length));
        const profile = groundUnder(way, only(flat));
        expect(profile[0]?.xM).toBe(0);
        expect(profile.at(-1)?.xM).toBeCloseTo(way.distanceM, 6);
        for (const [i, { xM }] of profile.entries()) if (i > 0) expect(xM - (profile[i - 1]?.xM ?? 0)).toBeLessThan(93);
        expect(profile.every(({ ground }) => ground?.groundM === 200)).toBe(true);
      }),
      { numRuns: 200 },
    );
  });

  test('a wall one post wide is met wherever it is crossed', () => {
    const wall = tile(1201, (_, column) => (column === 700 ? 3000 : 100));
    fc.assert(
      fc.property(between(47.1, 47.9), between(47.1, 47.9), (south, north) => {
        const way = track({ latDeg: south, lonDeg: 19.2 }, { latDeg: north, lonDeg: 19.9 });
        const highest = Math.max(...groundUnder(way, only(wall)).map(({ ground }) => ground?.highestM ?? 0));
        expect(highest).toBe(3000);
      }),
      { numRuns: 200 },
    );
  });

  test('is that of the very places of the track', () => {
    // A slope of a metre from post to post, eastwards and half as much southwards.
    const slope = tile(1201, (row, column) => column + row / 2);
    fc.assert(
      fc.property(between(0, 360), between(0, 30_000), (course, length) => {
        const from = { latDeg: 47.5, lonDeg: 19.5 };
        const way = track(from, destination(from, course, length));
        const points = groundUnder(way, only(slope));
        for (const { xM, ground } of points.filter((_, i) => i % 17 === 0)) {
          const at = groundIn(slope, way.positionAt(xM));
          // Posts are whole metres, so that the slope has steps of one.
          expect(Math.abs((ground?.groundM ?? Infinity) - (at?.groundM ?? 0))).toBeLessThan(0.02);
        }
      }),
      { numRuns: 200 },
    );
  });

  test.each([
    // A post of 3 arc seconds is 92.6 m north to south, of 1 arc second 30.9 m; at 60 N half of that east to west.
    [1201, 47, 92.7],
    [3601, 47, 30.9],
    [1201, 60, 92.7],
    [3601, 60, 30.9],
  ])('no step is longer than between posts (%i a side, from %i N), nor many times shorter', (size, latDeg, post) => {
    const there = { latDeg, lonDeg: 19 };
    const made = decodeTile(
      tileBytes(size, () => 7),
      there,
    );
    const way = track({ latDeg: latDeg + 0.2, lonDeg: 19.2 }, { latDeg: latDeg + 0.2, lonDeg: 19.7 });
    const points = groundUnder(way, (at) => (at.latDeg === latDeg && at.lonDeg === 19 ? made : null));
    const steps = points.slice(1).map(({ xM }, i) => xM - (points[i]?.xM ?? 0));
    const east = post * Math.cos(((latDeg + 0.2) * Math.PI) / 180);
    expect(Math.max(...steps)).toBeLessThan(east * 1.01);
    expect(Math.min(...steps)).toBeGreaterThan(east * 0.9);
  });

  test('a tile is asked for once as long as the track stays in it', () => {
    const asked: string[] = [];
    const way = track({ latDeg: 47.5, lonDeg: 19.8 }, { latDeg: 47.5, lonDeg: 20.2 });
    groundUnder(way, (at) => {
      asked.push(tileName(at));
      return null;
    });
    expect(asked).toEqual(['N47E019.hgt', 'N47E020.hgt']);
  });

  test('the tiles under a long track are all of them, those of its ends and of a corner cut as well', () => {
    const names = (from: [number, number], to: [number, number]) =>
      cornersUnder({ latDeg: from[0], lonDeg: from[1] }, { latDeg: to[0], lonDeg: to[1] }).map(tileName).toSorted();
    expect(names([0.5, 10.5], [0.5, 14.5])).toEqual([10, 11, 12, 13, 14].map((lon) => `N00E0${lon}.hgt`));
    // Over the corner at 1 N 11 E: past it to the north-west by a tenth of a degree.
    expect(names([0.6, 10.5], [1.5, 11.4])).toEqual(['N00E010.hgt', 'N01E010.hgt', 'N01E011.hgt']);
    // Eleven metres beyond a border, and a kilometre short of it.
    expect(names([0.5, 10.5], [0.5, 11.0001])).toEqual(['N00E010.hgt', 'N00E011.hgt']);
    expect(names([0.5, 10.5], [0.5, 10.99])).toEqual(['N00E010.hgt']);
    expect(names([0.5, 10.5], [0.5, 10.5])).toEqual(['N00E010.hgt']);
    expect(names([0.9999, 10.5], [1.0001, 10.5])).toEqual(['N00E010.hgt', 'N01E010.hgt']);
  });

  test('beyond the tiles nothing is known', () => {
    const way = track({ latDeg: 47.5, lonDeg: 19.9 }, { latDeg: 47.5, lonDeg: 20.1 });
    const profile = groundUnder(way, only(flat));
    expect(profile[0]?.ground).not.toBeNull();
    expect(profile.at(-1)?.ground).toBeNull();
    expect(cornersUnder(way.from, way.to).map(tileName).sort()).toEqual(['N47E019.hgt', 'N47E020.hgt']);
  });

  test('over the antimeridian', () => {
    const way = track({ latDeg: -17.5, lonDeg: 179.9 }, { latDeg: -17.5, lonDeg: -179.9 });
    expect(cornersUnder(way.from, way.to).map(tileName).sort()).toEqual(['S18E179.hgt', 'S18W180.hgt']);
  });
});
