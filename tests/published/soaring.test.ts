/**
 * The average speed across country of MacCready's theory: V MC/(MC + sink + S). The polar and the worked values are
 * derived (no published set with all inputs was found); the closed form is the theory's.
 */
import { describe, expect, test } from 'vitest';
import { crossCountrySpeed, evaluateLeg, soar, speedToFly } from '../../server/flight/index.ts';
import { KMH, setting } from './table.ts';

const polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };

/** The average over a leg that is soared close to sea level, where true and indicated speeds are the same. */
function average(climbMps: number, sinkingAirMps: number, distanceM: number): number {
  const indicatedMps = speedToFly(polar, climbMps, sinkingAirMps);
  const way = setting(polar, distanceM, { sinkingAirMps });
  const [lowerM, upperM] = [-100, 100];
  const found = soar({ setting: way, indicatedMps, departAltitudeM: lowerM, lowerM, upperM, enoughAtEndM: lowerM });
  if (found.problem) throw new Error(found.problem);
  const leg = evaluateLeg({
    setting: way,
    departAltitudeM: lowerM,
    climbs: found.climbs,
    destination: { elevationM: lowerM, reserveM: 0, altimeterM: 0 },
    speed: { kind: 'maccready', climbMps },
    limits: { vsMps: 15, vneMps: 75, vnoMps: null },
  });
  if (leg.problem) throw new Error(leg.problem);
  const gained = leg.climbs.reduce((sum, climb) => sum + climb.toAltitudeM - climb.fromAltitudeM, 0);
  return leg.distanceM / (leg.timeS + gained / climbMps);
}

describe('S-6: the average over a long leg that is soared', () => {
  test.each([
    ['S-22', 0.5, 0, 46.029],
    ['S-23', 1, 0, 68.055],
    ['S-24', 2, 0, 93.943],
    ['S-25', 3, 0, 111.289],
    ['S-26', 4, 0, 124.985],
    ['S-27', 2, 1, 74.192],
  ])('%s: climb %f m/s, air sinking %f m/s: %f km/h (0.1 percent)', (_, climbMps, sinkingAirMps, kmh) => {
    expect(
      crossCountrySpeed(polar, speedToFly(polar, climbMps, sinkingAirMps), climbMps, sinkingAirMps) / KMH,
    ).toBeCloseTo(kmh, 2);
    expect(Math.abs(average(climbMps, sinkingAirMps, 300_000) / KMH / kmh - 1)).toBeLessThan(1e-3);
  });
});
