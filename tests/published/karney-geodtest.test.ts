/** Karney, C. F. F., geodesic test set for WGS84 (2010): the 20-line extract of the GeographicLib test suite. */
import { describe, expect, test } from 'vitest';
import { destination, track } from '../../server/flight/index.ts';
import { rows } from './table.ts';

/** The difference of two directions, degrees. */
const apart = (one: number, other: number): number => Math.abs(((one - other + 540) % 360) - 180);

describe('D-7: lines on WGS84 (0.1 mm, 1e-9 degrees)', () => {
  test.each(rows('geodesic-geodtest-20.csv'))('$lat1 $lon1 to $lat2 $lon2', (row) => {
    const from = { latDeg: Number(row.lat1), lonDeg: Number(row.lon1) };
    const to = { latDeg: Number(row.lat2), lonDeg: Number(row.lon2) };
    const distanceM = Number(row.s12);
    const line = track(from, to);
    expect(Math.abs(line.distanceM - distanceM)).toBeLessThan(1e-4);
    expect(apart(line.initialCourseDeg, Number(row.azi1))).toBeLessThan(1e-9);
    expect(apart(line.finalCourseDeg, Number(row.azi2))).toBeLessThan(1e-9);
    const reached = destination(from, Number(row.azi1), distanceM);
    expect(Math.abs(reached.latDeg - to.latDeg)).toBeLessThan(1e-9);
    expect(apart(reached.lonDeg, to.lonDeg)).toBeLessThan(1e-9);
    const end = line.positionAt(line.distanceM);
    expect(Math.abs(end.latDeg - to.latDeg)).toBeLessThan(1e-9);
    expect(apart(end.lonDeg, to.lonDeg)).toBeLessThan(1e-9);
  });
});

test('D-13: 40.6 -73.8 to 49.01666667 2.55: 5,853,226 m (0.5), 53.47022 and 111.59367 degrees (0.5e-5)', () => {
  const line = track({ latDeg: 40.6, lonDeg: -73.8 }, { latDeg: 49 + 1 / 60, lonDeg: 2.55 });
  expect(Math.abs(line.distanceM - 5_853_226)).toBeLessThan(0.5);
  expect(Math.abs(line.initialCourseDeg - 53.47022)).toBeLessThan(0.5e-5);
  expect(Math.abs(line.finalCourseDeg - 111.59367)).toBeLessThan(0.5e-5);
});

describe('lengths on WGS84 (1 mm)', () => {
  test.each([
    ['D-8 (derived): latitude 0 to 1', [0, 0, 1, 0], 110_574.389],
    ['D-9 (derived): longitude 0 to 1 on the equator', [0, 0, 0, 1], 111_319.491],
    ['D-10 (derived): latitude 45 to 46', [45, 0, 46, 0], 111_141.548],
    ['D-11 (value from memory): equator to pole', [0, 0, 90, 0], 10_001_965.729],
  ] as const)('%s', (_, [lat1, lon1, lat2, lon2], metres) => {
    const line = track({ latDeg: lat1, lonDeg: lon1 }, { latDeg: lat2, lonDeg: lon2 });
    expect(Math.abs(line.distanceM - metres)).toBeLessThan(0.001);
  });
});
