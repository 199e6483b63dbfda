/** Soaring along a leg: the climbs that it makes. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  CALM,
  destination,
  enoughFor,
  evaluateLeg,
  glideBackward,
  glideForward,
  type LegInput,
  planned,
  polarFromPoints,
  type SoarInput,
  STANDARD_AIR,
  soar,
  speedToFly,
  track,
  windProfile,
} from '../../server/flight/index.ts';
import { anySetting, between, cases } from './arbitraries.ts';

const KT = 1852 / 3600;
const made = polarFromPoints(
  [
    { speedMps: 45 * KT, sinkMps: 1.4 * KT },
    { speedMps: 60 * KT, sinkMps: 2.0 * KT },
    { speedMps: 85 * KT, sinkMps: 4.5 * KT },
  ],
  310,
);
if (made.refused) throw new Error(made.refused);
const { polar } = made;

const home = { latDeg: 47, lonDeg: 19 };

function input(distanceM: number, change: Partial<SoarInput> = {}): SoarInput {
  const setting = {
    track: track(home, destination(home, 90, distanceM)),
    polar,
    massKg: 310,
    share: 1,
    sinkingAirMps: 0,
    air: STANDARD_AIR,
    wind: CALM,
  };
  const indicatedMps = speedToFly(planned(polar, 310, 1), 1.5, 0);
  return { setting, indicatedMps, departAltitudeM: 1000, lowerM: 800, upperM: 1600, enoughAtEndM: 500, ...change };
}

function flown(given: SoarInput) {
  const found = soar(given);
  if (found.problem) throw new Error(found.problem);
  const leg: LegInput = {
    setting: given.setting,
    departAltitudeM: given.departAltitudeM,
    climbs: found.climbs,
    destination: { elevationM: 0, reserveM: 0, altimeterM: 0 },
    speed: { kind: 'indicated', indicatedMps: given.indicatedMps },
    limits: { vsMps: 18, vneMps: 60, vnoMps: null },
  };
  const result = evaluateLeg(leg);
  if (result.problem) throw new Error(result.problem);
  return { found, result };
}

describe('soaring', () => {
  test('climbs from the lower to the upper height, and the last time only as high as is asked', () => {
    const given = input(120_000);
    const { found, result } = flown(given);
    expect(found.climbs.length).toBeGreaterThan(3);
    for (const [i, climb] of result.climbs.entries()) {
      expect(climb.fromAltitudeM).toBeCloseTo(800, 3);
      if (i < result.climbs.length - 1) expect(climb.toAltitudeM).toBe(1600);
      else expect(climb.toAltitudeM).toBeLessThanOrEqual(1600);
    }
    expect(result.arriveAltitudeM).toBeGreaterThanOrEqual(500);
    expect(result.arriveAltitudeM).toBeLessThan(500.01);
    const last = result.climbs.at(-1);
    expect(found.lastGlide).toEqual({ afterM: last?.afterM, altitudeM: last?.toAltitudeM });
    const { budget } = result;
    const spent = budget.stillAir + budget.wind + budget.sinkingAir + budget.performance;
    const gained = result.climbs.reduce((sum, climb) => sum + climb.toAltitudeM - climb.fromAltitudeM, 0);
    expect(spent).toBeCloseTo(given.departAltitudeM + gained - result.arriveAltitudeM, 6);
  });

  test('makes no climb where the height is enough, even below the lower one', () => {
    const { found, result } = flown(input(5_000, { departAltitudeM: 790 }));
    expect(found.climbs).toEqual([]);
    expect(found.lastGlide).toEqual({ afterM: 0, altitudeM: 790 });
    expect(result.arriveAltitudeM).toBeGreaterThan(500);
  });

  test('leaves a point as it is, and climbs at once where that is too low', () => {
    const { found } = flown(input(80_000, { departAltitudeM: 700 }));
    expect(found.climbs[0]).toEqual({ afterM: 0, toAltitudeM: 1600 });
    const high = flown(input(80_000, { departAltitudeM: 2500 })).found;
    expect(high.climbs[0]?.afterM).toBeGreaterThan(20_000);
  });

  test('without a last glide it goes on to the end', () => {
    const { found, result } = flown(input(60_000, { enoughAtEndM: 1700 }));
    expect(found.lastGlide).toBeNull();
    expect(result.arriveAltitudeM).toBeGreaterThan(800 - 1e-3);
    expect(flown(input(60_000, { enoughAtEndM: null })).found.lastGlide).toBeNull();
  });

  test('no band, and one too narrow, are no plan', () => {
    expect(soar(input(10_000, { upperM: 800 }))).toEqual({ problem: 'no-band' });
    expect(soar(input(400_000, { upperM: 810 }))).toEqual({ problem: 'too-many-climbs' });
  });

  test('makes no headway: no climb is made up', () => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 90, speedMps: 100 }]);
    const against = { ...input(60_000).setting, wind };
    expect(soar({ ...input(60_000), setting: against })).toEqual({ problem: null, climbs: [], lastGlide: null });
  });

  test('in still air a cycle is the band over the sink: climbs lie evenly', () => {
    // Each glide from 1,600 to 800 m is as long as the one before.
    const { found } = flown(input(200_000, { departAltitudeM: 1600 }));
    const gaps = found.climbs.slice(1).map(({ afterM }, i) => afterM - (found.climbs[i]?.afterM ?? 0));
    expect(gaps.length).toBeGreaterThan(4);
    for (const gap of gaps) expect(Math.abs(gap - (gaps[0] ?? 0))).toBeLessThan(1);
    expect(Math.abs((found.climbs[0]?.afterM ?? 0) - (gaps[0] ?? 0))).toBeLessThan(1);
  });

  test('at the lower height exactly it climbs at once, above it not', () => {
    expect(flown(input(80_000, { departAltitudeM: 800 })).found.climbs[0]?.afterM).toBe(0);
    const above = flown(input(80_000, { departAltitudeM: 801 })).found.climbs[0]?.afterM ?? 0;
    expect(above).toBeGreaterThan(20);
    expect(above).toBeLessThan(50);
  });

  test('finds the lower height to a millimetre where the wind bends the glide, near and far', () => {
    const wind = windProfile([
      { altitudeM: 700, fromDeg: 90, speedMps: 22 },
      { altitudeM: 1200, fromDeg: 270, speedMps: 22 },
      { altitudeM: 1400, fromDeg: 90, speedMps: 5 },
    ]);
    for (const departAltitudeM of [801, 850, 1150, 1590, 3000]) {
      const given = input(90_000, { departAltitudeM, enoughAtEndM: null });
      const { result } = flown({ ...given, setting: { ...given.setting, wind } });
      expect(result.climbs.length).toBeGreaterThan(1);
      for (const climb of result.climbs) expect(Math.abs(climb.fromAltitudeM - 800)).toBeLessThan(1e-5);
    }
  });

  test('the height enough for the last glide never falls short of it by the error of the integration', () => {
    for (const distanceM of [1000, 30_000, 120_000]) {
      const { setting, indicatedMps } = input(distanceM);
      const enough = enoughFor(setting, indicatedMps, 0, 500);
      if (enough === null) throw new Error('no height');
      const there = glideForward(setting, indicatedMps, 0, setting.track.distanceM, enough);
      if (there.problem) throw new Error(there.problem);
      expect(there.altitudeM).toBeGreaterThanOrEqual(500);
      expect(there.altitudeM).toBeLessThan(500 + 1e-4);
    }
    // In one step through a wind that turns, forward and backward differ by far more than they do otherwise.
    const turning = windProfile([0, 1, 2, 3, 4].map((i) => ({ altitudeM: 500 * i, fromDeg: 90 * i, speedMps: 12 })));
    for (const indicatedMps of [24, 28, 33, 40]) {
      const setting = { ...input(50_000).setting, wind: turning, maxStepM: 60_000 };
      const enough = enoughFor(setting, indicatedMps, 0, 500) ?? Number.NaN;
      const there = glideForward(setting, indicatedMps, 0, setting.track.distanceM, enough);
      expect(there.problem === null && there.altitudeM).toBeGreaterThanOrEqual(500);
    }
    const gale = windProfile([{ altitudeM: 0, fromDeg: 90, speedMps: 100 }]);
    expect(enoughFor({ ...input(9000).setting, wind: gale }, 30, 0, 500)).toBeNull();
  });

  test('with just the height that the last glide asks it makes no climb; with a millimetre less it does', () => {
    const given = input(20_000);
    const enough = enoughFor(given.setting, given.indicatedMps, 0, 500) ?? Number.NaN;
    expect(flown({ ...given, departAltitudeM: enough, lowerM: 900 }).found.climbs).toEqual([]);
    expect(flown({ ...given, departAltitudeM: enough - 1e-3, lowerM: 950 }).found.climbs.length).toBe(1);
  });

  test('a climb to the last glide ends at the upper height at most: asked for more, it goes on soaring', () => {
    const given = input(60_000);
    const start = enoughFor(given.setting, given.indicatedMps, 0, 500) ?? Number.NaN;
    const just = soar({ ...given, departAltitudeM: 700, upperM: start });
    expect(just).toEqual({
      problem: null,
      climbs: [{ afterM: 0, toAltitudeM: start }],
      lastGlide: { afterM: 0, altitudeM: start },
    });
    const less = soar({ ...given, departAltitudeM: 700, upperM: start - 1 });
    expect(less.problem === null && less.climbs.length).toBe(2);
    expect(less.problem === null && less.lastGlide?.afterM).toBeGreaterThan(20_000);
  });

  test('a glide that comes down to the lower height just at the end makes no climb there', () => {
    const given = input(30_000, { enoughAtEndM: null });
    const there = glideForward(given.setting, given.indicatedMps, 0, given.setting.track.distanceM, 1400);
    if (there.problem) throw new Error(there.problem);
    for (const off of [0, 1e-3, 1])
      expect(flown({ ...given, departAltitudeM: 1400, lowerM: there.altitudeM - off }).found.climbs).toEqual([]);
    expect(flown({ ...given, departAltitudeM: 1400, lowerM: there.altitudeM + 1 }).found.climbs.length).toBe(1);
  });

  test('any air: every climb starts at the lower height, none is higher than the upper, and the end is as asked', () => {
    fc.assert(
      fc.property(
        anySetting(150_000, 8),
        between(24, 45),
        between(-200, 2500),
        between(300, 1500),
        between(200, 2000),
        between(-200, 2500),
        (setting, indicatedMps, departAltitudeM, lowerM, height, enoughAtEndM) => {
          const upperM = lowerM + height;
          const given = { setting, indicatedMps, departAltitudeM, lowerM, upperM, enoughAtEndM };
          const found = soar(given);
          if (found.problem) return;
          // No glide that was enough was left for a climb, or for a higher one.
          const enough = (xM: number) => enoughFor(setting, indicatedMps, xM, enoughAtEndM) ?? Infinity;
          const isLast = (xM: number) => found.lastGlide?.afterM === xM;
          if (found.climbs.length > 0) expect(enough(0)).toBeGreaterThan(departAltitudeM);
          for (const { afterM } of found.climbs) if (!isLast(afterM)) expect(enough(afterM)).toBeGreaterThan(upperM);
          const leg = evaluateLeg({
            setting,
            departAltitudeM,
            climbs: found.climbs,
            destination: { elevationM: 0, reserveM: 0, altimeterM: 0 },
            speed: { kind: 'indicated', indicatedMps },
            limits: { vsMps: 18, vneMps: 60, vnoMps: null },
          });
          if (leg.problem) return;
          expect(leg.climbs).toHaveLength(found.climbs.length);
          for (const [i, climb] of leg.climbs.entries()) {
            if (climb.afterM > 0) expect(Math.abs(climb.fromAltitudeM - lowerM)).toBeLessThan(1e-3);
            else expect(i === 0 && climb.fromAltitudeM <= lowerM).toBe(true);
            expect(climb.toAltitudeM).toBeLessThanOrEqual(upperM);
          }
          if (found.lastGlide) expect(leg.arriveAltitudeM).toBeGreaterThan(enoughAtEndM - 1e-3);
          if (found.lastGlide && found.climbs.length > 0) {
            expect(leg.arriveAltitudeM).toBeLessThan(enoughAtEndM + 0.05);
            const back = glideBackward(
              setting,
              indicatedMps,
              found.lastGlide.afterM,
              setting.track.distanceM,
              enoughAtEndM,
            );
            if (!back.problem) expect(Math.abs(found.lastGlide.altitudeM - back.altitudeM)).toBeLessThan(0.05);
          }
        },
      ),
      { ...cases, numRuns: 300 },
    );
  });
});
