/**
 * NOAA NCEI and BGS, World Magnetic Model WMM2025: technical report Tables 6 and 3b, and an extract of its test file.
 */
import { describe, expect, test } from 'vitest';
import { magneticField, magneticVariation } from '../../server/flight/index.ts';
import { rows } from './table.ts';

const declination = (north: number, east: number): number => (Math.atan2(east, north) * 180) / Math.PI;

describe('M-1, M-2: declination of Table 6 and the test file (0.01 degrees)', () => {
  test.each(rows('wmm2025-test-values.csv'))('$source $decimal_year $height_km km $lat $lon', (row) => {
    const at = { latDeg: Number(row.lat), lonDeg: Number(row.lon) };
    const { northNT, eastNT, downNT } = magneticField(at, Number(row.height_km) * 1000, Number(row.decimal_year));
    expect(Math.abs(declination(northNT, eastNT) - Number(row.declination_deg))).toBeLessThan(0.01);
    if (row.inclination_deg) {
      const inclination = (Math.atan2(downNT, Math.hypot(northNT, eastNT)) * 180) / Math.PI;
      expect(Math.abs(inclination - Number(row.inclination_deg))).toBeLessThan(0.01);
    }
  });
});

test('M-3: Table 3b: 2027.5, 100 km, 80 S 240 E (0.001 nT)', () => {
  const field = magneticField({ latDeg: -80, lonDeg: 240 }, 100_000, 2027.5);
  expect(Math.abs(field.northNT - 5983.976)).toBeLessThan(0.001);
  expect(Math.abs(field.eastNT - 14_760.136)).toBeLessThan(0.001);
  expect(Math.abs(field.downNT + 49_317.6706)).toBeLessThan(0.001);
  expect(declination(field.northNT, field.eastNT)).toBeCloseTo(67.9316, 4);
});

test('M-4: valid from 2025.0 up to 2030.0, the last weeks of 2029 included', () => {
  const at = { latDeg: 47, lonDeg: 11 };
  const outside = { outside: true, fromYear: 2025, toYear: 2030 };
  expect(magneticVariation(at, 0, { year: 2024, month: 12, day: 31 })).toEqual(outside);
  expect(magneticVariation(at, 0, { year: 2030, month: 1, day: 1 })).toEqual(outside);
  expect(magneticVariation(at, 0, { year: 2025, month: 1, day: 1 }).outside).toBe(false);
  expect(magneticVariation(at, 0, { year: 2029, month: 12, day: 31 }).outside).toBe(false);
});

test.each([
  [47, 11, 4.116],
  [51.5, -0.13, 1.145],
  [40, -105, 7.551],
  [-33, 150, 12.041],
  [34, -118, 11.304],
])('M-5 (derived): 1 June 2026, 1 km, %d %d: %d degrees (0.02)', (latDeg, lonDeg, expected) => {
  const found = magneticVariation({ latDeg, lonDeg }, 1000, { year: 2026, month: 6, day: 1 });
  if (found.outside) throw new Error('outside');
  expect(Math.abs(found.declinationDeg - expected)).toBeLessThan(0.02);
});
