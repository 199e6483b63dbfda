/**
 * FAA Pilot's Handbook of Aeronautical Knowledge, FAA-H-8083-25 (figure numbers of the 25A edition), chapters 10 and
 * 15, read in page-by-page copies. W-9 (a unit) belongs elsewhere.
 */
import { describe, expect, test } from 'vitest';
import {
  densityAltitude,
  evaluateLeg,
  polarFromPoints,
  pressureAltitude,
  sinkAt,
  standardPressure,
  windFrom,
  windProfile,
  windTriangle,
} from '../../server/flight/index.ts';
import { FT, INHG, KT, leg, NM, setting } from './table.ts';

describe('the wind triangle (Fig 15-21): course 090, 120 kt, wind from 045 at 40 kt', () => {
  const solved = windTriangle(120 * KT, 90, windFrom(45, 40 * KT));
  if (solved.problem) throw new Error(solved.problem);
  test('W-1: ground speed 88 kt (0.5)', () => expect(Math.abs(solved.groundSpeedMps / KT - 88)).toBeLessThan(0.5));
  test('W-2 (from memory, Fig 15-22): heading 076, 14 degrees left (0.5)', () => {
    expect(Math.abs(solved.headingDeg - 76)).toBeLessThan(0.5);
    expect(Math.abs(solved.correctionDeg + 14)).toBeLessThan(0.5);
  });
});

/** Seconds for a distance at a true airspeed: flown level at sea level, the air rising as fast as the glider sinks. */
function time(distanceNm: number, speedKt: number, headKt = 0): number {
  const made = polarFromPoints(
    [
      { speedMps: 60 * KT, sinkMps: 0.8 },
      { speedMps: 100 * KT, sinkMps: 1.6 },
      { speedMps: 160 * KT, sinkMps: 4 },
    ],
    400,
  );
  if (made.refused) throw new Error(made.refused);
  const flown = evaluateLeg(
    leg(
      setting(made.polar, distanceNm * NM, {
        sinkingAirMps: -sinkAt(made.polar, speedKt * KT),
        wind: windProfile([{ altitudeM: 0, fromDeg: 0, speedMps: headKt * KT }]),
      }),
      speedKt * KT,
    ),
  );
  if (flown.problem) throw new Error(flown.problem);
  return flown.timeS;
}

describe('times (exact)', () => {
  test('W-3 (from memory): 220 NM at a ground speed of 88 kt takes 2 h 30 min', () => {
    expect(time(220, 120, 32)).toBeCloseTo(9000, 3);
  });
  test('W-6: 210 NM at 140 kt takes 1 h 30 min', () => expect(time(210, 140)).toBeCloseTo(5400, 3));
  test('W-7: 1 h 45 min at 120 kt is 210 NM', () => expect(time(210, 120)).toBeCloseTo(6300, 3));
  test('W-8: 270 NM in 3 h is 90 kt', () => expect(time(270, 90)).toBeCloseTo(10_800, 3));
});

describe('density altitude (Fig 10-21, sample 1)', () => {
  const pressureAltitudeFt = 5883 + pressureAltitude(30.1 * INHG) / FT;
  test('W-10: 5,883 ft with 30.10 inHg: pressure altitude 5,718 ft (1)', () => {
    expect(Math.abs(pressureAltitudeFt - 5718)).toBeLessThan(1);
  });
  test('W-11: at 70 F about 7,700 ft (50; a chart, dry air)', () => {
    const kelvin = (70 - 32) / 1.8 + 273.15;
    const feet = densityAltitude(standardPressure(pressureAltitudeFt * FT), kelvin) / FT;
    expect(Math.abs(feet - 7700)).toBeLessThan(50);
  });
});
