/**
 * Geoscience Australia, GDA technical manual: the worked line Flinders Peak to Buninyong (GRS80; the same on WGS84).
 */
import { expect, test } from 'vitest';
import { track } from '../../server/flight/index.ts';
import { dms } from './table.ts';

test('D-1: 54,972.271 m (1 mm), azimuth 306 52 05.37 and reverse 127 10 25.07 (0.01")', () => {
  const line = track(
    { latDeg: -dms(37, 57, 3.7203), lonDeg: dms(144, 25, 29.5244) },
    { latDeg: -dms(37, 39, 10.1561), lonDeg: dms(143, 55, 35.3839) },
  );
  expect(Math.abs(line.distanceM - 54_972.271)).toBeLessThan(0.001);
  expect(Math.abs(line.initialCourseDeg - dms(306, 52, 5.37))).toBeLessThan(0.01 / 3600);
  expect(Math.abs(line.finalCourseDeg - 180 - dms(127, 10, 25.07))).toBeLessThan(0.01 / 3600);
});
