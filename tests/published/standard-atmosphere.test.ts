/**
 * ICAO Doc 7488/3 (1993) = ISO 2533:1975 = US Standard Atmosphere 1976 below 32 km. The table's digits are from memory
 * and recomputed from the defining constants; further rows are as printed by the handbooks named.
 */
import { describe, expect, test } from 'vitest';
import {
  altitudeOfFlightLevel,
  density,
  densityRatio,
  pressure,
  pressureAltitude,
  RHO0,
  STANDARD_AIR,
  speedOfSound,
  standardPressure,
  standardTemperature,
  tasPerIas,
} from '../../server/flight/index.ts';
import { FT, INHG, KT, rows } from './table.ts';

/** One in the last printed digit. */
const lastDigit = (digits: number): number => 1.001 * 10 ** -digits;

function near(value: number, printed: number, tolerance: number): void {
  expect(Math.abs(value - printed)).toBeLessThanOrEqual(tolerance);
}

test('sea-level density 1.225 kg/m3', () => near(RHO0, 1.225, 1e-6));

describe('A-1: the table by geopotential altitude (one in the last digit)', () => {
  test.each(rows('standard-atmosphere.csv'))('$geopotential_m m', (row) => {
    const h = Number(row.geopotential_m);
    near(standardTemperature(h) - 273.15, Number(row.temperature_C), lastDigit(2));
    near(standardPressure(h) / 100, Number(row.pressure_hPa), lastDigit(3));
    near(density(STANDARD_AIR, h), Number(row.density_kgm3), lastDigit(5));
    near(densityRatio(STANDARD_AIR, h), Number(row.density_ratio), lastDigit(5));
    near(speedOfSound(standardTemperature(h)), Number(row.speed_of_sound_ms), lastDigit(3));
    near(tasPerIas(STANDARD_AIR, h), Number(row.tas_over_eas), lastDigit(5));
    near(pressureAltitude(standardPressure(h)), h, 1e-6);
  });
  // Feet: pressure in inHg, speed of sound in knots.
  test.each([
    [1000, 28.856, 659.2],
    [5000, 24.896, 650.01],
    [10_000, 20.577, 638.33],
    [18_000, 14.942, 619.2],
    [20_000, 13.75, 614.32],
  ])('%d ft: %d inHg, %d kt', (feet, inHg, sound) => {
    near(standardPressure(feet * FT) / INHG, inHg, lastDigit(3));
    near(speedOfSound(standardTemperature(feet * FT)) / KT, sound, lastDigit(2));
  });
});

/** Geopotential altitude of a geometric one. */
const geopotential = (z: number): number => (z * 6_356_766) / (6_356_766 + z);

describe("A-2: Mechanical Engineers' Handbook vol. 4, Table 6 (geometric altitude; one in the last digit)", () => {
  test.each([
    [1000, 281.65, 0.8988, 1.1117, 336.4],
    [2000, 275.15, 0.795, 1.0066, 332.5],
    [3000, 268.66, 0.7012, 0.9093, 328.6],
    [5000, 255.68, 0.5405, 0.7364, 320.6],
    [10_000, 223.25, 0.265, 0.4135, 299.5],
  ])('%d m', (z, kelvin, bar, rho, sound) => {
    const h = geopotential(z);
    near(standardTemperature(h), kelvin, lastDigit(2));
    near(standardPressure(h) / 1e5, bar, lastDigit(4));
    near(density(STANDARD_AIR, h), rho, lastDigit(4));
    near(speedOfSound(standardTemperature(h)), sound, lastDigit(1));
  });
});

test('A-3: engineeringtoolbox.com US 1976: 5,000 and 10,000 ft, geometric (last digit)', () => {
  for (const [feet, fahrenheit, psi] of [
    [5000, 41.17, 12.228],
    [10_000, 23.36, 10.108],
  ] as const) {
    const h = geopotential(feet * FT);
    near((standardTemperature(h) - 273.15) * 1.8 + 32, fahrenheit, lastDigit(2));
    near(standardPressure(h) / 6894.757, psi, lastDigit(3));
  }
});

test('A-4: engineeringtoolbox.com: density at 2,000 to 16,000 ft in percent of sea level (0.1)', () => {
  const percents = [94.3, 88.8, 83.6, 78.6, 73.8, 69.3, 65, 60.9];
  for (const [i, percent] of percents.entries()) {
    near(100 * densityRatio(STANDARD_AIR, 2000 * (i + 1) * FT), percent, 0.1);
  }
});

test('A-5 (derived, not published): 1 hPa near sea level is 8.33 m (0.01)', () => {
  near(pressureAltitude(101_275) - pressureAltitude(101_375), 8.33, 0.01);
});

test('A-6 (derived, not published): QNH offsets, low QNH makes pressure altitude exceed altitude (0.5 m)', () => {
  for (const [qnhHpa, offset] of [
    [993.25, -167.8],
    [1003, -85.7],
    [1030, 138.5],
  ] as const) {
    near(-pressureAltitude(qnhHpa * 100), offset, 0.5);
    // The same through the pressure law: the altitude on QNH where the pressure is the standard one at FL 0.
    near(altitudeOfFlightLevel({ qnhPa: qnhHpa * 100, deltaTK: 0 }, 0), offset, 2);
  }
});

test('a known misprint is not followed: at 4,572 m it is -14.72 C', () =>
  near(standardTemperature(4572) - 273.15, -14.72, 0.005));

test('with the standard QNH the pressure is the standard one', () => {
  for (const h of [-500, 0, 3000, 11_000, 15_000]) near(pressure(STANDARD_AIR, h), standardPressure(h), 1e-9);
});
