import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  bestGlideInWind,
  bestGlideSpeed,
  climbTime,
  crossCountrySpeed,
  minimumSinkSpeed,
  sinkAt,
  speedToFly,
} from '../../server/flight/index.ts';
import { anyPolar, between, cases } from './arbitraries.ts';

test('no other speed is faster across country', () => {
  fc.assert(
    fc.property(anyPolar, between(0.1, 6), between(-0.3, 1), between(10, 90), (polar, climb, sinking, other) => {
      const speed = speedToFly(polar, climb, sinking);
      const best = crossCountrySpeed(polar, speed, climb, sinking);
      if (sinkAt(polar, other) + sinking <= 0 || sinkAt(polar, speed) + sinking <= 0) return;
      expect(crossCountrySpeed(polar, other, climb, sinking)).toBeLessThanOrEqual(best + 1e-9);
    }),
    cases,
  );
});

test('no other speed glides flatter over the ground', () => {
  fc.assert(
    fc.property(anyPolar, between(-15, 15), between(0, 1), between(0, 1), (polar, head, sinking, share) => {
      const speed = bestGlideInWind(polar, head, sinking);
      const other = minimumSinkSpeed(polar) + share * 60;
      if (other <= head) return;
      const glide = (v: number) => (v - head) / (sinkAt(polar, v) + sinking);
      expect(glide(other)).toBeLessThanOrEqual(glide(speed) + 1e-9);
    }),
    cases,
  );
});

test('without a climb, wind or sinking air both are the best glide', () => {
  fc.assert(
    fc.property(anyPolar, (polar) => {
      expect(speedToFly(polar, 0, 0)).toBeCloseTo(bestGlideSpeed(polar), 9);
      expect(bestGlideInWind(polar, 0, 0)).toBeCloseTo(bestGlideSpeed(polar), 9);
    }),
    cases,
  );
});

test('wrong use throws', () => {
  const flat = { a: 0, b: -0.1, c: 1, massKg: 300 };
  expect(() => speedToFly(flat, 1, 0)).toThrow(RangeError);
  expect(() => bestGlideInWind({ ...flat, a: 0.001 }, Number.NaN, 0)).toThrow(RangeError);
});

test('climbs take gain over rate; none takes no time; one without a rate never ends', () => {
  expect(climbTime(600, 2)).toBe(300);
  expect(climbTime(-5, 0)).toBe(0);
  expect(climbTime(600, 0)).toBeNull();
  expect(climbTime(600, -1)).toBeNull();
  expect(climbTime(600, Number.NaN)).toBeNull();
});

test('across country: no climb, no progress; no sink, no climb needed', () => {
  const polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };
  expect(crossCountrySpeed(polar, 30, 0, 0)).toBe(0);
  expect(crossCountrySpeed(polar, 30, 1, -5)).toBe(30);
});
