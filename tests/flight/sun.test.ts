import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decimalYear, magneticVariation, sunTimes } from '../../server/flight/index.ts';
import { between } from './arbitraries.ts';

const anyDate = fc
  .date({ min: new Date('2025-01-01'), max: new Date('2029-12-31'), noInvalidDate: true })
  .map((date) => ({
    year: date.getUTCFullYear(),
    month: date.getUTCMonth() + 1,
    day: date.getUTCDate(),
  }));

describe('the Sun', () => {
  test('rises before it sets, on the local date, anywhere outside the polar circles', () => {
    fc.assert(
      fc.property(between(-60, 60), between(-180, 180), anyDate, (latDeg, lonDeg, date) => {
        const { civilDawn, sunrise, sunset, civilDusk } = sunTimes({ latDeg, lonDeg }, date);
        if (sunrise === null || sunset === null || civilDawn === null || civilDusk === null) throw new Error('no day');
        expect(civilDawn).toBeLessThan(sunrise);
        expect(sunrise).toBeLessThan(sunset);
        expect(sunset).toBeLessThan(civilDusk);
        const midnight = Date.UTC(date.year, date.month - 1, date.day) - Math.round(lonDeg / 15) * 3_600_000;
        const noon = (sunrise + sunset) / 2;
        expect(Math.abs(noon - midnight - 12 * 3_600_000)).toBeLessThan(3_600_000);
      }),
      { numRuns: 1000 },
    );
  });

  test('neither rises nor sets in polar summer and winter', () => {
    const north = { latDeg: 78, lonDeg: 15 };
    const none = { civilDawn: null, sunrise: null, sunset: null, civilDusk: null };
    expect(sunTimes(north, { year: 2026, month: 6, day: 21 }, 2)).toEqual(none);
    expect(sunTimes(north, { year: 2026, month: 12, day: 21 }, 1)).toEqual(none);
  });

  test('civil twilight may be all there is', () => {
    const day = sunTimes({ latDeg: 69, lonDeg: 19 }, { year: 2026, month: 12, day: 21 }, 1);
    expect(day.sunrise).toBeNull();
    expect(day.civilDawn).not.toBeNull();
  });

  test('the clock chosen does not move the evening', () => {
    const at = { latDeg: 40, lonDeg: -105 };
    const date = { year: 2026, month: 7, day: 4 };
    expect(sunTimes(at, date, -6).sunset).toBe(sunTimes(at, date).sunset);
  });

  test('wrong use throws', () => {
    expect(() => sunTimes({ latDeg: 95, lonDeg: 0 }, { year: 2026, month: 6, day: 1 })).toThrow(RangeError);
    expect(() => sunTimes({ latDeg: 5, lonDeg: 0 }, { year: Number.NaN, month: 6, day: 1 })).toThrow(RangeError);
  });
});

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
      RangeError,
    );
  });
});
