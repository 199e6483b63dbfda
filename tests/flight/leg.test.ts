import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  CALM,
  destination,
  evaluateLeg,
  glideForward,
  type LegFlown,
  type LegInput,
  type LegResult,
  planned,
  STANDARD_AIR,
  speedToFly,
  track,
  windProfile,
} from '../../server/flight/index.ts';
import { anyAltitude, anyLeg, between, cases, notFinite } from './arbitraries.ts';

const polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };
const from = { latDeg: 47, lonDeg: 11 };
const headwind = (speedMps: number) => windProfile([{ altitudeM: 0, fromDeg: 90, speedMps }]);

/** A leg eastwards in still air with 300 m asked over a field at 500 m, with whatever the test changes. */
function simple(
  distanceM: number,
  change: Partial<LegInput> = {},
  setting: Partial<LegInput['setting']> = {},
): LegInput {
  return {
    setting: {
      track: track(from, destination(from, 90, distanceM)),
      polar,
      massKg: 300,
      share: 1,
      sinkingAirMps: 0,
      air: STANDARD_AIR,
      wind: CALM,
      ...setting,
    },
    departAltitudeM: 1500,
    climbs: [],
    destination: { elevationM: 500, reserveM: 250, altimeterM: 50 },
    speed: { kind: 'indicated', indicatedMps: 30 },
    limits: { vsMps: 18, vneMps: 70, vnoMps: 50 },
    ...change,
  };
}

function flown(result: LegResult): LegFlown {
  if (result.problem) throw new Error(`no headway at ${result.atM} m`);
  return result;
}

const at = (input: LegInput, indicatedMps: number): LegResult =>
  evaluateLeg({ ...input, speed: { kind: 'indicated', indicatedMps } });

describe('the budget', () => {
  test('its losses sum to departure + climbs - arrival, the rest to the arrival height', () => {
    fc.assert(
      fc.property(anyLeg(80_000), (input) => {
        const leg = evaluateLeg(input);
        if (leg.problem) return;
        const gained = leg.climbs.reduce(
          (sum, climb) => sum + (climb.goesDown ? 0 : climb.toAltitudeM - climb.fromAltitudeM),
          0,
        );
        const { stillAir, wind, sinkingAir, performance, reserve, altimeter, margin } = leg.budget;
        const lost = leg.departAltitudeM + gained - leg.arriveAltitudeM;
        expect(Math.abs(stillAir + wind + sinkingAir + performance - lost)).toBeLessThan(0.01);
        expect(Math.abs(reserve + altimeter + margin - leg.arriveHeightM)).toBeLessThan(0.01);
        expect(leg.arriveHeightM).toBeCloseTo(leg.arriveAltitudeM - input.destination.elevationM, 9);
        expect(leg.marginM).toBeCloseTo(leg.arriveAltitudeM - leg.askedAltitudeM, 9);
      }),
      cases,
    );
  });

  test('an effect that is not there costs nothing; one that is there costs', () => {
    const calm = flown(evaluateLeg(simple(20_000)));
    expect(calm.budget).toMatchObject({ wind: 0, sinkingAir: 0, performance: 0, reserve: 250, altimeter: 50 });
    const all = flown(evaluateLeg(simple(20_000, {}, { wind: headwind(5), sinkingAirMps: 0.3, share: 0.8 })));
    expect(all.budget.stillAir).toBeCloseTo(calm.budget.stillAir, 9);
    for (const term of [all.budget.wind, all.budget.sinkingAir, all.budget.performance])
      expect(term).toBeGreaterThan(0);
    expect(flown(evaluateLeg(simple(20_000, {}, { wind: headwind(0.001) }))).budget.wind).toBeGreaterThan(0);
  });
});

describe('the height required', () => {
  test('departing at it, a leg without climbs arrives with no margin', () => {
    fc.assert(
      fc.property(anyLeg(80_000), (input) => {
        const leg = evaluateLeg({ ...input, climbs: [] });
        if (leg.problem || leg.requiredDepartAltitudeM === null) return;
        const again = at({ ...input, climbs: [], departAltitudeM: leg.requiredDepartAltitudeM }, leg.indicatedMps);
        expect(Math.abs(flown(again).marginM)).toBeLessThan(0.01);
      }),
      { numRuns: 1000 },
    );
  });

  test('with climbs it is that where the last one ends', () => {
    const input = simple(60_000, { climbs: [{ afterM: 25_000, toAltitudeM: 2000 }] });
    const whole = flown(evaluateLeg(input));
    const required = whole.requiredDepartAltitudeM ?? Number.NaN;
    const climbs = [{ afterM: 25_000, toAltitudeM: required }];
    expect(Math.abs(flown(evaluateLeg({ ...input, climbs })).marginM)).toBeLessThan(0.01);
  });
});

describe('best glide over the ground', () => {
  test('asks no more height than 2 m/s slower or faster, or than any other speed', () => {
    fc.assert(
      fc.property(anyLeg(60_000), between(0, 1), (input, share) => {
        const alone = { ...input, climbs: [] };
        const best = evaluateLeg({ ...alone, speed: { kind: 'bestGlide' } }).bestGlideIndicatedMps;
        if (best === null) return;
        const { vsMps, vneMps } = input.limits;
        const required = (v: number) => at(alone, v).requiredDepartAltitudeM ?? Infinity;
        for (const v of [best - 2, best + 2, vsMps + share * (vneMps - vsMps)]) {
          if (v >= vsMps && v <= vneMps) expect(required(best)).toBeLessThanOrEqual(required(v) + 1e-3);
        }
        expect(best).toBeGreaterThanOrEqual(vsMps);
        expect(best).toBeLessThanOrEqual(vneMps);
      }),
      { numRuns: 1000 },
    );
  });

  test('is faster into the wind and slower with it', () => {
    const speed = (wind: LegInput['setting']['wind']) =>
      evaluateLeg(simple(20_000, {}, { wind })).bestGlideIndicatedMps ?? Number.NaN;
    const tailwind = windProfile([{ altitudeM: 0, fromDeg: 270, speedMps: 10 }]);
    expect(speed(headwind(10))).toBeGreaterThan(speed(CALM) + 1);
    expect(speed(tailwind)).toBeLessThan(speed(CALM) - 1);
  });

  test('counts the glides before a climb as well', () => {
    const input = simple(60_000, { climbs: [{ afterM: 30_000, toAltitudeM: 2000 }], speed: { kind: 'bestGlide' } });
    const best = flown(evaluateLeg(input));
    const lost = (leg: LegFlown) =>
      leg.budget.stillAir + leg.budget.wind + leg.budget.sinkingAir + leg.budget.performance;
    for (const off of [-1, 1]) {
      expect(lost(best)).toBeLessThan(lost(flown(at(input, best.indicatedMps + off))));
    }
  });
});

describe('the fastest speed that still makes it', () => {
  test('has a margin of nothing, or is the limit; a little faster does not make it', () => {
    fc.assert(
      fc.property(anyLeg(60_000), (input) => {
        const leg = evaluateLeg(input);
        const { vsMps, vneMps, vnoMps } = input.limits;
        for (const [fastest, limit] of [
          [leg.fastestIndicatedMps, vnoMps ?? vneMps],
          [leg.fastestUpToVneMps, vneMps],
        ] as const) {
          if (fastest === null) continue;
          expect(fastest).toBeGreaterThanOrEqual(vsMps);
          expect(fastest).toBeLessThanOrEqual(limit);
          expect(flown(at(input, fastest)).marginM).toBeGreaterThanOrEqual(0);
          if (fastest < limit - 1e-3) {
            const faster = at(input, fastest + 2e-4);
            if (!faster.problem) expect(faster.marginM).toBeLessThan(0);
          }
        }
      }),
      { numRuns: 1000 },
    );
  });

  test('there is none when no speed makes it', () => {
    fc.assert(
      fc.property(anyLeg(60_000), between(0, 1), (input, share) => {
        const leg = evaluateLeg(input);
        if (leg.fastestUpToVneMps !== null) return;
        const { vsMps, vneMps } = input.limits;
        const tried = at(input, vsMps + share * (vneMps - vsMps));
        if (!tried.problem) expect(tried.marginM).toBeLessThan(0.01);
      }),
      { numRuns: 1000 },
    );
  });

  test('with height to spare it is vno, and vne; without a vno both are vne', () => {
    const high = simple(5000, { departAltitudeM: 3000 });
    expect(evaluateLeg(high)).toMatchObject({ fastestIndicatedMps: 50, fastestUpToVneMps: 70 });
    const free = { ...high, limits: { vsMps: 18, vneMps: 70, vnoMps: null } };
    expect(evaluateLeg(free)).toMatchObject({ fastestIndicatedMps: 70, fastestUpToVneMps: 70 });
  });

  test('more height is never slower', () => {
    fc.assert(
      fc.property(anyLeg(40_000), between(0, 400), (input, more) => {
        const low = evaluateLeg(input).fastestUpToVneMps ?? 0;
        const high = evaluateLeg({ ...input, departAltitudeM: input.departAltitudeM + more }).fastestUpToVneMps ?? 0;
        expect(high).toBeGreaterThanOrEqual(low - 1e-3);
      }),
      { numRuns: 1000 },
    );
  });
});

describe('speeds', () => {
  test('for a climb: as the theory says, with mass, share and sinking air, whatever the wind', () => {
    const input = simple(
      20_000,
      { speed: { kind: 'maccready', climbMps: 1.5 } },
      { share: 0.8, massKg: 360, sinkingAirMps: 0.2 },
    );
    const speed = speedToFly(planned(polar, 360, 0.8), 1.5, 0.2);
    expect(evaluateLeg(input).indicatedMps).toBe(speed);
    expect(evaluateLeg({ ...input, setting: { ...input.setting, wind: headwind(12) } }).indicatedMps).toBe(speed);
  });

  test('mean ground speed is distance over time; the glide ratio distance over height lost', () => {
    const leg = flown(evaluateLeg(simple(20_000, {}, { wind: headwind(6) })));
    expect(leg.meanGroundSpeedMps).toBeCloseTo(leg.distanceM / leg.timeS, 9);
    expect(leg.glideRatioOverGround).toBeCloseTo(20_000 / (1500 - leg.arriveAltitudeM), 9);
    expect(leg.meanHeadwindMps).toBeCloseTo(6, 2);
    expect(leg.courseDeg).toBeCloseTo(90, 6);
    expect(leg.finalCourseDeg).toBeGreaterThan(90);
  });

  test('a glide that loses no height has no ratio', () => {
    expect(flown(evaluateLeg(simple(20_000, {}, { sinkingAirMps: -2 }))).glideRatioOverGround).toBeNull();
  });
});

describe('climbs on the way', () => {
  test('start from where the glide is, in order, and reset the height', () => {
    const leg = flown(
      evaluateLeg(
        simple(60_000, {
          climbs: [
            { afterM: 40_000, toAltitudeM: 2200 },
            { afterM: 20_000, toAltitudeM: 2000 },
          ],
        }),
      ),
    );
    const first = glideForward(simple(60_000).setting, 30, 0, 20_000, 1500);
    expect(leg.climbs.map((climb) => climb.afterM)).toEqual([20_000, 40_000]);
    expect(leg.climbs[0]).toMatchObject({ toAltitudeM: 2000, goesDown: false });
    expect(leg.climbs[0]?.fromAltitudeM).toBeCloseTo(first.altitudeM, 9);
    const last = glideForward(simple(60_000).setting, 30, 40_000, leg.distanceM, 2200);
    expect(leg.arriveAltitudeM).toBeCloseTo(last.altitudeM, 9);
  });

  test('one that would go down does nothing and says so', () => {
    const without = flown(evaluateLeg(simple(20_000)));
    const leg = flown(evaluateLeg(simple(20_000, { climbs: [{ afterM: 10_000, toAltitudeM: 900 }] })));
    expect(leg.climbs[0]?.goesDown).toBe(true);
    expect(leg.arriveAltitudeM).toBeCloseTo(without.arriveAltitudeM, 3);
  });

  test('those off the leg are left out', () => {
    const climbs = [-1, 20_001, 30_000].map((afterM) => ({ afterM, toAltitudeM: 3000 }));
    expect(flown(evaluateLeg(simple(20_000, { climbs }))).climbs).toEqual([]);
  });

  test('the path shows them as two points at one distance', () => {
    const leg = flown(evaluateLeg(simple(20_000, { climbs: [{ afterM: 10_000, toAltitudeM: 2000 }] })));
    const path = leg.path();
    const there = path.filter((point) => point.xM === 10_000);
    expect(there.length).toBe(2);
    expect(there[1]?.altitudeM).toBe(2000);
    expect(path.at(-1)?.altitudeM).toBeCloseTo(leg.arriveAltitudeM, 9);
    expect(path.at(-1)?.timeS).toBeCloseTo(leg.timeS, 9);
    expect(leg.path(100).length).toBeGreaterThan(200);
  });
});

describe('a glide that meets the ground', () => {
  test('is said to do so where its altitude is that of the destination', () => {
    fc.assert(
      fc.property(anyLeg(80_000), (input) => {
        const leg = evaluateLeg(input);
        if (leg.problem) return;
        const { elevationM } = input.destination;
        expect(leg.reachesGroundAfterM !== null).toBe(leg.arriveAltitudeM < elevationM);
        if (leg.reachesGroundAfterM === null) return;
        const last = leg.climbs.at(-1);
        const fromX = last?.afterM ?? 0;
        const start = last ? Math.max(last.toAltitudeM, last.fromAltitudeM) : input.departAltitudeM;
        if (start <= elevationM) {
          expect(leg.reachesGroundAfterM).toBe(fromX);
          return;
        }
        const there = glideForward(input.setting, leg.indicatedMps, fromX, leg.reachesGroundAfterM, start);
        expect(Math.abs((there.problem ? Number.NaN : there.altitudeM) - elevationM)).toBeLessThan(0.01);
      }),
      cases,
    );
  });
});

describe('no headway', () => {
  test('is a result with where and why, and with all that is known without it', () => {
    const leg = evaluateLeg(simple(20_000, {}, { wind: headwind(40) }));
    expect(leg).toMatchObject({
      problem: 'no-headway',
      reason: 'headwind',
      atM: 0,
      altitudeM: 1500,
      askedAltitudeM: 800,
    });
    expect(leg.requiredDepartAltitudeM).toBeNull();
    // A faster speed does get on, steeply.
    expect(leg.bestGlideIndicatedMps).toBeGreaterThan(45);
    expect(leg.path().length).toBe(1);
  });

  test('at no speed at all', () => {
    const leg = evaluateLeg(simple(20_000, { speed: { kind: 'bestGlide' } }, { wind: headwind(100) }));
    expect(leg).toMatchObject({
      problem: 'no-headway',
      bestGlideIndicatedMps: null,
      fastestIndicatedMps: null,
      fastestUpToVneMps: null,
    });
  });
});

describe('a leg of no length', () => {
  const leg = flown(
    evaluateLeg({
      ...simple(1000),
      setting: { ...simple(1000).setting, track: track(from, from) },
      speed: { kind: 'bestGlide' },
    }),
  );
  test('arrives as it departs, at the best glide of the polar itself', () => {
    expect(leg).toMatchObject({
      distanceM: 0,
      courseDeg: 0,
      arriveAltitudeM: 1500,
      marginM: 700,
      timeS: 0,
      meanGroundSpeedMps: 0,
      meanHeadwindMps: 0,
      glideRatioOverGround: null,
    });
    expect(leg.indicatedMps).toBeCloseTo(Math.sqrt(polar.c / polar.a), 9);
  });
});

describe('no NaN', () => {
  test('for any leg, in gales as well', () => {
    fc.assert(
      fc.property(anyLeg(200_000, 80), anyAltitude, (input, altitude) => {
        const leg = evaluateLeg({ ...input, departAltitudeM: altitude * 3 });
        expect(notFinite(leg)).toEqual([]);
        expect(notFinite(leg.path())).toEqual([]);
      }),
      { numRuns: 1000 },
    );
  });

  test.each([
    ['NaN departure', { departAltitudeM: Number.NaN }],
    ['a climb to infinity', { climbs: [{ afterM: 1, toAltitudeM: Infinity }] }],
    ['vne below vs', { limits: { vsMps: 30, vneMps: 20, vnoMps: null } }],
    ['NaN climb rate', { speed: { kind: 'maccready', climbMps: Number.NaN } }],
  ] as const)('%s throws a RangeError', (_, change) => {
    expect(() => evaluateLeg(simple(10_000, change as Partial<LegInput>))).toThrow(RangeError);
  });
  test('a polar that curves down throws a RangeError', () => {
    expect(() => evaluateLeg(simple(10_000, {}, { polar: { ...polar, a: 0 } }))).toThrow(RangeError);
  });
});
