import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  bestGlideInWind,
  bestGlideSpeed,
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
  expect(() => speedToFly({ ...flat, a: -0.001 }, 1, 0)).toThrow('no polar, or numbers that are not finite');
  expect(() => bestGlideInWind({ ...flat, a: 0.001 }, Number.NaN, 0)).toThrow(RangeError);
});

test('across country: no climb, no progress; no sink, no climb needed', () => {
  const polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };
  expect(crossCountrySpeed(polar, 30, 0, 0)).toBe(0);
  expect(crossCountrySpeed(polar, 30, -1, 0)).toBe(0);
  expect(crossCountrySpeed(polar, 30, 1, -5)).toBe(30);
  expect(crossCountrySpeed(polar, 30, 0, -sinkAt(polar, 30))).toBe(30);
});

test('a headwind at which the glider hangs level in rising air: the root of nought is its speed', () => {
  // W = (V - 2)2/4, and air that rises by 0.25: level at 3. H2 + (c + s + b H)/a = 9 + (1 - 0.25 - 3)/0.25 = 0.
  expect(bestGlideInWind({ a: 0.25, b: -1, c: 1, massKg: 300 }, 3, -0.25)).toBe(3);
});
