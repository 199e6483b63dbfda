import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decimalYear, magneticVariation } from '../../server/flight/index.ts';
import { anyDate, between } from './arbitraries.ts';

describe('magnetic variation', () => {
  test('is a number anywhere, poles and antimeridian included', () => {
    fc.assert(
      fc.property(between(-90, 90), between(-180, 180), between(0, 10_000), anyDate, (latDeg, lonDeg, h, date) => {
        const found = magneticVariation({ latDeg, lonDeg }, h, date);
        expect(found.outside ? Number.NaN : Math.abs(found.declinationDeg)).toBeLessThanOrEqual(180);
      }),
      { numRuns: 1000 },
    );
  });

  test('the year in decimals counts leap days', () => {
    expect(decimalYear({ year: 2026, month: 1, day: 1 })).toBe(2026);
    expect(decimalYear({ year: 2028, month: 7, day: 2 })).toBeCloseTo(2028.5, 9);
    expect(decimalYear({ year: 2028, month: 12, day: 31 })).toBeCloseTo(2028 + 365 / 366, 9);
  });

  test('wrong use throws', () => {
    expect(() => magneticVariation({ latDeg: Number.NaN, lonDeg: 0 }, 0, { year: 2026, month: 1, day: 1 })).toThrow(
      'not a position, altitude and date',
    );
  });
});
