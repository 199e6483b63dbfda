import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { sunHeightDeg, sunTimes } from '../../server/flight/index.ts';
import { anyDate, between } from './arbitraries.ts';

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

  test('at the poles stands as high as its declination, 23.44 degrees at the solstice', () => {
    const solstice = Date.UTC(2026, 5, 21, 8, 24);
    expect(sunHeightDeg({ latDeg: 90, lonDeg: 0 }, solstice)).toBeCloseTo(23.44, 1);
    expect(sunHeightDeg({ latDeg: -90, lonDeg: 0 }, solstice)).toBeCloseTo(-23.44, 1);
    const none = { civilDawn: null, sunrise: null, sunset: null, civilDusk: null };
    expect(sunTimes({ latDeg: 90, lonDeg: 0 }, { year: 2026, month: 6, day: 21 })).toEqual(none);
  });

  test('the clock chosen does not move the evening', () => {
    const at = { latDeg: 40, lonDeg: -105 };
    const date = { year: 2026, month: 7, day: 4 };
    expect(sunTimes(at, date, -6).sunset).toBe(sunTimes(at, date).sunset);
  });

  test('wrong use throws', () => {
    expect(() => sunTimes({ latDeg: 95, lonDeg: 0 }, { year: 2026, month: 6, day: 1 })).toThrow(RangeError);
    expect(() => sunTimes({ latDeg: 5, lonDeg: 0 }, { year: Number.NaN, month: 6, day: 1 })).toThrow(
      'not a position, date and offset',
    );
    const wrong: [number, number, number][] = [
      [91, 0, 0],
      [Number.NaN, 0, 0],
      [0, Infinity, 0],
      [0, 0, Number.NaN],
    ];
    for (const [latDeg, lonDeg, atMs] of wrong)
      expect(() => sunHeightDeg({ latDeg, lonDeg }, atMs)).toThrow('not a position and instant');
  });
});
