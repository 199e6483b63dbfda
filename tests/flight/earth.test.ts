import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { destination, normalizedDegrees, track } from '../../server/flight/index.ts';
import { between, cases } from './arbitraries.ts';

const anyPosition = fc.record({ latDeg: between(-90, 90), lonDeg: between(-180, 180) });

describe('tracks', () => {
  test('lead from one end to the other, and courses lie from 0 up to 360', () => {
    fc.assert(
      fc.property(anyPosition, anyPosition, between(0, 1), (from, to, share) => {
        const line = track(from, to);
        const middle = line.positionAt(share * line.distanceM);
        const parts = track(from, middle).distanceM + track(middle, to).distanceM;
        expect(Math.abs(parts - line.distanceM)).toBeLessThan(1e-3);
        expect(track(line.positionAt(line.distanceM), to).distanceM).toBeLessThan(1e-3);
        for (const course of [line.initialCourseDeg, line.finalCourseDeg, line.courseAt(share * line.distanceM)]) {
          expect(course).toBeGreaterThanOrEqual(0);
          expect(course).toBeLessThan(360);
        }
      }),
      cases,
    );
  });

  test('the way back is as long', () => {
    fc.assert(
      fc.property(anyPosition, anyPosition, (from, to) => {
        expect(Math.abs(track(from, to).distanceM - track(to, from).distanceM)).toBeLessThan(1e-6);
      }),
      cases,
    );
  });

  test('destination is the inverse', () => {
    fc.assert(
      fc.property(anyPosition, between(0, 360), between(0, 1e6), (from, course, distance) => {
        expect(Math.abs(track(from, destination(from, course, distance)).distanceM - distance)).toBeLessThan(1e-5);
      }),
      cases,
    );
  });

  test('of no length have course 0', () => {
    const line = track({ latDeg: 47, lonDeg: 11 }, { latDeg: 47, lonDeg: 11 });
    expect(line).toMatchObject({ distanceM: 0, initialCourseDeg: 0, finalCourseDeg: 0 });
    expect(line.courseAt(0)).toBe(0);
    expect(line.positionAt(0).latDeg).toBeCloseTo(47, 12);
  });

  test('cross the antimeridian the short way', () => {
    const line = track({ latDeg: 0, lonDeg: 179.5 }, { latDeg: 0, lonDeg: -179.5 });
    expect(line.distanceM).toBeCloseTo(111_319.491, 2);
    expect(line.initialCourseDeg).toBeCloseTo(90, 9);
  });

  test('cross a pole', () => {
    const line = track({ latDeg: 89, lonDeg: 0 }, { latDeg: 89, lonDeg: 180 });
    expect(line.initialCourseDeg).toBeCloseTo(0, 9);
    expect(line.finalCourseDeg).toBeCloseTo(180, 9);
    expect(line.distanceM).toBeCloseTo(2 * 111_693.9, -1);
  });

  test('wrong use throws', () => {
    expect(() => track({ latDeg: 91, lonDeg: 0 }, { latDeg: 0, lonDeg: 0 })).toThrow(RangeError);
    expect(() => track({ latDeg: 0, lonDeg: 0 }, { latDeg: 0, lonDeg: Number.NaN })).toThrow(RangeError);
    expect(() => track({ latDeg: -91, lonDeg: 7 }, { latDeg: 0, lonDeg: 0 })).toThrow(
      'not a position: latitude -91, longitude 7',
    );
    expect(() => destination({ latDeg: 91, lonDeg: 0 }, 0, 1)).toThrow('not a position: latitude 91, longitude 0');
    expect(() => destination({ latDeg: 0, lonDeg: 0 }, Infinity, 1)).toThrow(
      'not a course and distance: Infinity degrees, 1 m',
    );
  });
});

test('directions are brought to 0 up to 360', () => {
  expect([-90, 0, 360, 725, -1e-20].map(normalizedDegrees)).toEqual([270, 0, 0, 5, 0]);
  expect(Object.is(normalizedDegrees(-0), 0)).toBe(true);
  // One that lies there stays as it is, to the last digit.
  for (const deg of [1e-20, 0.1, 359.9]) expect(normalizedDegrees(deg)).toBe(deg);
});
