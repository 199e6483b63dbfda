/**
 * The Sun: the weather service forecast printed in the FAA Glider Flying Handbook, FAA-H-8083-13B (2024), Fig 11-2
 * (rows NWS); Reda and Andreas, Solar Position Algorithm, NREL/TP-560-34302 (rev. 2008), worked example (NREL); Almanac
 * for Computers 1990, US Naval Observatory (AC90); derived rows, two methods within 8 s (CALC). The sunsets printed by
 * NWS (N-3) and NREL (N-6) are those of the evening before, so the table has the corrected ones.
 */
import { Body, Equator, Horizon, Observer } from 'astronomy-engine';
import { describe, expect, test } from 'vitest';
import { sunHeightDeg, sunTimes } from '../../server/flight/index.ts';
import { dms, present, rows } from './table.ts';

/** A local clock time of a date as a UTC instant. */
function instant(date: string, clock: string, offsetHours: number): number {
  return Date.parse(`${date}T${clock}Z`) - offsetHours * 3_600_000;
}

function dateOf(text: string): { year: number; month: number; day: number } {
  const [year = 0, month = 0, day = 0] = text.split('-').map(Number);
  return { year, month, day };
}

/** Seconds allowed: AC90 is a low-precision formula; the corrected rows and ours differ by method. */
const tolerances: Record<string, number> = { NWS: 30, NREL: 30, AC90: 60, CALC: 30 };

describe('N-1, N-3, N-6, N-7, N-9: the table of times', () => {
  test.each(rows('sun-times.csv'))('$source $date $lat $lon', (row) => {
    const { source = '', date = '', sunrise = '', sunset = '', civil_dusk = '' } = row;
    const offset = Number(row.utc_offset_h);
    const tolerance = (tolerances[source] ?? 0) * 1000;
    const found = sunTimes({ latDeg: Number(row.lat), lonDeg: Number(row.lon) }, dateOf(date), offset);
    expect(Math.abs(present(found.sunrise) - instant(date, sunrise, offset))).toBeLessThan(tolerance);
    expect(Math.abs(present(found.sunset) - instant(date, sunset, offset))).toBeLessThan(tolerance);
    if (civil_dusk)
      expect(Math.abs(present(found.civilDusk) - instant(date, civil_dusk, offset))).toBeLessThan(tolerance);
    // Of one local day, in order.
    expect(present(found.civilDawn)).toBeLessThan(present(found.sunrise));
    expect(present(found.sunrise)).toBeLessThan(present(found.sunset));
    expect(present(found.sunset)).toBeLessThan(present(found.civilDusk));
  });
});

test('N-1: sunrise as printed, 25 Aug 2010 06:20:55 at UTC-6 (10 s)', () => {
  const at = { latDeg: dms(39, 46, 5.016), lonDeg: -dms(104, 52, 9.984) };
  const found = sunTimes(at, { year: 2010, month: 8, day: 25 }, -6);
  expect(Math.abs(present(found.sunrise) - instant('2010-08-25', '06:20:55', -6))).toBeLessThan(10_000);
});

/** The Sun over the horizon without refraction, by the library itself. */
function sunAt(observer: Observer, time: Date): { altitude: number; azimuth: number } {
  const { ra, dec } = Equator(Body.Sun, time, observer, true, true);
  return Horizon(time, observer, ra, dec);
}

test("N-2: the Sun's height at local noon, 13:01:25: 60.82 degrees (0.02)", () => {
  const at = { latDeg: dms(39, 46, 5.016), lonDeg: -dms(104, 52, 9.984) };
  expect(Math.abs(sunHeightDeg(at, instant('2010-08-25', '13:01:25', -6)) - 60.82)).toBeLessThan(0.02);
});

test('N-5: NREL worked example: zenith 50.1280 without refraction, azimuth 194.3402 (0.001)', () => {
  const observer = new Observer(39.742476, -105.1786, 1830.14);
  const { altitude, azimuth } = sunAt(observer, new Date(instant('2003-10-17', '12:30:30', -7)));
  expect(Math.abs(90 - altitude - 50.128)).toBeLessThan(0.001);
  expect(Math.abs(azimuth - 194.3402)).toBeLessThan(0.001);
  const at = { latDeg: 39.742476, lonDeg: -105.1786 };
  expect(Math.abs(90 - sunHeightDeg(at, instant('2003-10-17', '12:30:30', -7)) - 50.128)).toBeLessThan(0.001);
});

test('N-8: the zenith angles of AC90: 90 50 for sunrise and sunset, 96 for civil twilight (0.02 degrees)', () => {
  const at = { latDeg: 47, lonDeg: 11 };
  const found = sunTimes(at, { year: 2026, month: 8, day: 1 }, 2);
  const observer = new Observer(at.latDeg, at.lonDeg, 0);
  const zenith = (time: number | null) => 90 - sunAt(observer, new Date(present(time))).altitude;
  expect(Math.abs(zenith(found.sunrise) - dms(90, 50, 0))).toBeLessThan(0.02);
  expect(Math.abs(zenith(found.sunset) - dms(90, 50, 0))).toBeLessThan(0.02);
  expect(Math.abs(zenith(found.civilDawn) - 96)).toBeLessThan(0.02);
  expect(Math.abs(zenith(found.civilDusk) - 96)).toBeLessThan(0.02);
});
