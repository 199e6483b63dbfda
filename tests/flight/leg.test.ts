import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  CALM,
  destination,
  evaluateLeg,
  glideBackward,
  glideForward,
  type LegFlown,
  type LegInput,
  type LegResult,
  lastWithMargin,
  leastBetween,
  planned,
  polarFromPoints,
  requiredAltitude,
  type SoarInput,
  soar,
  speedToFly,
  track,
  windProfile,
} from '../../server/flight/index.ts';
import { anyAltitude, anyLeg, between, cases, notFinite } from './arbitraries.ts';
import { from, glidesFlown, polar, simpleSetting } from './simple.ts';

const headwind = (speedMps: number) => windProfile([{ altitudeM: 0, fromDeg: 90, speedMps }]);

/** A leg eastwards in still air with 300 m asked over a field at 500 m, with whatever the test changes. */
function simple(
  distanceM: number,
  change: Partial<LegInput> = {},
  setting: Partial<LegInput['setting']> = {},
): LegInput {
  return {
    setting: simpleSetting(distanceM, setting),
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

/** Low in a headwind to a climb, then high in a tailwind to a field at 2,200 m, where 2,500 m are asked. */
function lowThenHigh(toAltitudeM = 4000): LegInput {
  const wind = windProfile([
    { altitudeM: 1600, fromDeg: 90, speedMps: 14 },
    { altitudeM: 2300, fromDeg: 270, speedMps: 14 },
  ]);
  return simple(
    45_000,
    { climbs: [{ afterM: 15_000, toAltitudeM }], destination: { elevationM: 2200, reserveM: 250, altimeterM: 50 } },
    { wind },
  );
}

/** The speed that asks the least height of its last glide, and that height, by plain looking. */
function leastAsked(): { speed: number; heightM: number } {
  const { setting } = lowThenHigh();
  const required = (speed: number): number => {
    const glide = glideBackward(setting, speed, 15_000, setting.track.distanceM, 2500);
    return glide.problem ? Infinity : glide.altitudeM;
  };
  const looks = Array.from({ length: 100 }, (_, i) => 20 + i / 5).map((speed) => ({ speed, heightM: required(speed) }));
  return looks.reduce((least, one) => (one.heightM < least.heightM ? one : least));
}

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

  describe('of a best glide that some speeds end above the climb, and others below', () => {
    // At 800 m with the wind behind, and higher up against it: the top of the climb decides which speed is best.
    const given = (climbs: LegInput['climbs'], change: Partial<LegInput> = {}): LegInput => ({
      ...simple(40_000, { departAltitudeM: 800, climbs, speed: { kind: 'bestGlide' }, ...change }),
      setting: {
        ...simple(40_000).setting,
        share: 0.7,
        wind: windProfile([
          { altitudeM: 500, fromDeg: 270, speedMps: 5 },
          { altitudeM: 1500, fromDeg: 90, speedMps: 14 },
        ]),
      },
    });
    const climb = { afterM: 19_000, toAltitudeM: 220 };
    /** The height from which the speed that is best as planned would make it. */
    const asPlanned = (input: LegInput): number => {
      const { indicatedMps, askedAltitudeM, climbs, distanceM } = evaluateLeg(input);
      const glide = glideBackward(input.setting, indicatedMps, climbs.at(-1)?.afterM ?? 0, distanceM, askedAltitudeM);
      return glide.problem ? Number.NaN : glide.altitudeM;
    };
    const requiredOf = (input: LegInput): number => evaluateLeg(input).requiredDepartAltitudeM ?? Number.NaN;
    const marginWith = (input: LegInput, toAltitudeM: number): number =>
      flown(
        evaluateLeg({ ...input, climbs: input.climbs.map((one) => (one === climb ? { ...one, toAltitudeM } : one)) }),
      ).marginM;

    test.each([
      ['alone', [climb]],
      ['behind one that leads up', [{ afterM: 4000, toAltitudeM: 670 }, climb], 700],
      ['behind one that leads down', [{ afterM: 4000, toAltitudeM: 100 }, climb]],
      ['behind one to the same height', [{ afterM: 17_000, toAltitudeM: 220 }, climb]],
      ['at the place of one that leads down', [{ afterM: 19_000, toAltitudeM: 150 }, climb]],
      ['before one that leads down', [climb, { afterM: 30_000, toAltitudeM: -300 }]],
    ] as [string, LegInput['climbs'], number?][])('%s', (_, climbs, departAltitudeM = 800) => {
      const input = given(climbs, { departAltitudeM });
      expect(evaluateLeg(input).climbs.at(-1)).toMatchObject(climb);
      const planned_ = asPlanned(input);
      const required = requiredOf(input);
      expect(marginWith(input, planned_)).toBeLessThan(-0.5);
      expect(marginWith(input, required)).toBeGreaterThan(-1e-5);
      // And hardly more.
      expect(required).toBeGreaterThan(planned_ + 1);
      expect(marginWith(input, required - 0.01)).toBeLessThan(0);
    });

    test('at a speed that is given, and of a leg without a climb, it is as it is', () => {
      const fixed = given([climb], { speed: { kind: 'indicated', indicatedMps: 31 } });
      expect(requiredOf(fixed)).toBe(asPlanned(fixed));
      const whole = given([]);
      expect(requiredOf(whole)).toBe(asPlanned(whole));
    });

    test('where no other speed can be best, nothing is tried', () => {
      const looks = (climbs: LegInput['climbs']): number => {
        const leg = given(climbs);
        const flown_ = evaluateLeg(leg);
        return glidesFlown(leg.setting, (setting) =>
          requiredAltitude({ ...leg, setting }, flown_, flown_.askedAltitudeM),
        );
      };
      const one = looks([]);
      expect(looks([{ afterM: 9000, toAltitudeM: 2500 }])).toBe(one);
      expect(
        looks([
          { afterM: 4000, toAltitudeM: 790 },
          { afterM: 9000, toAltitudeM: 2500 },
        ]),
      ).toBe(one);
      expect(looks([{ afterM: 9000, toAltitudeM: 790 }])).toBeGreaterThan(10 * one);
      expect(
        looks([
          { afterM: 4000, toAltitudeM: 2600 },
          { afterM: 9000, toAltitudeM: 2700 },
        ]),
      ).toBeGreaterThan(10 * one);
      expect(
        looks([
          { afterM: 9000, toAltitudeM: 2500 },
          { afterM: 30_000, toAltitudeM: 0 },
        ]),
      ).toBeGreaterThan(10 * one);
    });
  });

  test('climbed to it, the leg arrives as asked, whatever speed is the best glide then', () => {
    const found = { other: 0, same: 0 };
    fc.assert(
      fc.property(
        anyLeg(40_000),
        between(0.02, 0.6),
        between(-40, 40),
        between(0, 1),
        between(300, 2500),
        (leg, share, moreM, second, departM) => {
          const { distanceM } = leg.setting.track;
          const afterM = share * distanceM;
          const bare: LegInput = {
            ...leg,
            climbs: [],
            speed: { kind: 'bestGlide' },
            departAltitudeM: departM,
            soaring: undefined,
          };
          // About as high as the glide arrives there, so that it depends on the speed whether there is a climb.
          const glide = glideForward(leg.setting, evaluateLeg(bare).indicatedMps, 0, afterM, departM);
          if (glide.problem) return;
          const climb = { afterM, toAltitudeM: glide.altitudeM + moreM };
          const more = second > 0.7 ? [{ afterM: afterM * second, toAltitudeM: departM - 5 }] : [];
          const input = { ...bare, climbs: [climb, ...more].sort((a, b) => a.afterM - b.afterM) };
          const first = evaluateLeg(input);
          const last = first.climbs.at(-1);
          if (!last || first.requiredDepartAltitudeM === null || first.problem) return;
          const toAltitudeM = first.requiredDepartAltitudeM;
          const climbs = input.climbs.map((one) => (one.afterM === last.afterM ? { ...one, toAltitudeM } : one));
          const then = evaluateLeg({ ...input, climbs });
          if (then.problem) return;
          expect(then.marginM).toBeGreaterThan(-1e-3);
          found[then.indicatedMps === first.indicatedMps ? 'same' : 'other'] += 1;
        },
      ),
      { numRuns: 2000 },
    );
    expect(Math.min(found.other, found.same)).toBeGreaterThan(0);
  });
});

describe('best glide over the ground', () => {
  const layered = (low: number, high: number): Partial<LegInput['setting']> => ({
    wind: windProfile([
      { altitudeM: 500, fromDeg: 90, speedMps: low },
      { altitudeM: 2000, fromDeg: 90, speedMps: high },
    ]),
  });

  // Looking at every speed takes 17 glides and some ten more.
  test('takes few glides, where it is known between which speeds it lies', () => {
    const legs: Record<string, LegInput> = {
      'in still air': simple(20_000),
      'a headwind': simple(20_000, {}, { wind: headwind(10) }),
      'more wind above': simple(20_000, {}, layered(4, 12)),
      far: simple(100_000, {}, layered(4, 12)),
      'much more wind above': simple(40_000, {}, layered(2, 30)),
      'slower than may be flown': simple(20_000, { limits: { vsMps: 35, vneMps: 70, vnoMps: 50 } }),
      'faster than may be flown': simple(20_000, { limits: { vsMps: 18, vneMps: 25, vnoMps: 24 } }),
      'air that rises': simple(20_000, {}, { sinkingAirMps: -0.2 }),
      'no headway at the best speed of still air': simple(10_000, {}, { wind: headwind(34) }),
      'a climb on the way': simple(40_000, { climbs: [{ afterM: 10_000, toAltitudeM: 2000 }] }),
    };
    const glides = Object.entries(legs).map(([name, leg]) => {
      const { limits } = leg;
      let best = Number.NaN;
      const looks = glidesFlown(leg.setting, (setting) => {
        const found = evaluateLeg({ ...leg, setting, departAltitudeM: 9000, speed: { kind: 'bestGlide' } });
        best = found.bestGlideIndicatedMps ?? Number.NaN;
      });
      // Whatever it took: none asks less.
      const required = (v: number) => at({ ...leg, climbs: [] }, v).requiredDepartAltitudeM ?? Infinity;
      if (leg.climbs.length === 0)
        for (let v = limits.vsMps; v <= limits.vneMps; v += 0.5)
          expect(required(best)).toBeLessThanOrEqual(required(v) + 1e-4);
      return [name, looks];
    });
    // Among all speeds it takes 17 and some ten more, and twice that with a climb.
    expect(Object.fromEntries(glides)).toEqual({
      'in still air': 7,
      'a headwind': 9,
      'more wind above': 11,
      far: 11,
      'much more wind above': 16,
      'slower than may be flown': 3,
      'faster than may be flown': 3,
      'air that rises': 29,
      'no headway at the best speed of still air': 28,
      'a climb on the way': 54,
    });
  });

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
    const speed = evaluateLeg(lowThenHigh()).bestGlideIndicatedMps ?? Number.NaN;
    const asked = (v: number) => {
      const leg = flown(at(lowThenHigh(), v));
      return (leg.requiredDepartAltitudeM ?? Infinity) + 1500 - (leg.climbs[0]?.fromAltitudeM ?? Number.NaN);
    };
    for (const off of [-1, 1]) expect(asked(speed)).toBeLessThan(asked(speed + off));
    expect(leastAsked().speed).toBeLessThan(speed - 1);
  });

  test('where no speed leads back from the height asked, it is the one that arrives highest', () => {
    // Backward from 2,400 m the glide comes into a gale; the one that is flown stays below it.
    const gale = windProfile([
      { altitudeM: 2500, fromDeg: 90, speedMps: 0 },
      { altitudeM: 2600, fromDeg: 90, speedMps: 150 },
    ]);
    const input = simple(
      20_000,
      { departAltitudeM: 1500, destination: { elevationM: 2400, reserveM: 0, altimeterM: 0 } },
      { wind: gale },
    );
    const leg = evaluateLeg(input);
    expect(leg.requiredDepartAltitudeM).toBeNull();
    expect(leg.bestGlideIndicatedMps).toBeCloseTo(Math.sqrt(polar.c / polar.a), 1);
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

  test.each([1290, 1400, 1600, 2000])(
    'departing at %d m it is known to a ten-thousandth of a metre a second',
    (high) => {
      const input = simple(20_000, { departAltitudeM: high });
      const leg = evaluateLeg(input);
      const fastest = leg.fastestUpToVneMps ?? Number.NaN;
      expect(fastest).toBeGreaterThan(30);
      expect(flown(at(input, fastest)).marginM).toBeGreaterThanOrEqual(0);
      expect(flown(at(input, fastest + 1e-4)).marginM).toBeLessThan(0);
      // Below vno both are the very same.
      const free = evaluateLeg({ ...input, limits: { ...input.limits, vnoMps: 69 } });
      expect(free.fastestIndicatedMps).toBe(fastest);
    },
  );

  test('by hand, near the sea: at 9 kilometres and 300 m to lose, a glide ratio of 30', () => {
    // V/(a V2 + b V + c) = 30: 0.0016 V2 - (0.07 + 1/30) V + 1.36 = 0, the larger root. The air is 2 % thinner: 1 %.
    const b = 0.07 + 1 / 30;
    const root = (b + Math.sqrt(b * b - 4 * 0.0016 * 1.36)) / (2 * 0.0016);
    const input = simple(9000, {
      departAltitudeM: 300,
      destination: { elevationM: 0, reserveM: 0, altimeterM: 0 },
    });
    expect(evaluateLeg(input).fastestUpToVneMps).toBeCloseTo(root, 3);
  });

  test('a headwind that asks for more than vno: up to vne there is one, up to vno none', () => {
    const wind = headwind(25);
    const best = evaluateLeg(simple(20_000, { speed: { kind: 'bestGlide' } }, { wind }));
    const required = best.requiredDepartAltitudeM ?? Number.NaN;
    expect(best.indicatedMps).toBeGreaterThan(40);
    const limits = { vsMps: 18, vneMps: 70, vnoMps: 40 };
    const leg = evaluateLeg(simple(20_000, { departAltitudeM: required + 5, limits }, { wind }));
    expect(leg.fastestUpToVneMps).toBeGreaterThan(best.indicatedMps);
    expect(leg.fastestIndicatedMps).toBeNull();
  });

  test('beyond a climb: where the best glide of all does not make it, a speed that suits the last glide does', () => {
    const best = evaluateLeg(lowThenHigh()).bestGlideIndicatedMps ?? Number.NaN;
    const input = lowThenHigh(leastAsked().heightM + 0.5);
    expect(flown(at(input, best)).marginM).toBeLessThan(0);
    const fastest = evaluateLeg(input).fastestUpToVneMps ?? Number.NaN;
    expect(fastest).toBeGreaterThanOrEqual(leastAsked().speed);
    expect(fastest).toBeLessThan(best);
    expect(flown(at(input, fastest)).marginM).toBeGreaterThanOrEqual(0);
    expect(flown(at(input, fastest + 1e-3)).marginM).toBeLessThan(0);
    expect(evaluateLeg(lowThenHigh(leastAsked().heightM - 0.5)).fastestUpToVneMps).toBeNull();
  });

  test('is never below vs: a vno below it leaves none, a vno at it that speed', () => {
    const high = (vnoMps: number) =>
      evaluateLeg(simple(5000, { departAltitudeM: 3000, limits: { vsMps: 18, vneMps: 70, vnoMps } }));
    expect(high(17)).toMatchObject({ fastestIndicatedMps: null, fastestUpToVneMps: 70 });
    expect(high(18)).toMatchObject({ fastestIndicatedMps: 18, fastestUpToVneMps: 70 });
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
  test('lie before the end: one at the start counts, one at the end does not', () => {
    const { distanceM } = simple(20_000).setting.track;
    const climbs = [0, distanceM].map((afterM) => ({ afterM, toAltitudeM: 3000 }));
    const leg = flown(evaluateLeg(simple(20_000, { climbs })));
    expect(leg.climbs.map((climb) => climb.afterM)).toEqual([0]);
    expect(leg.arriveAltitudeM).toBeGreaterThan(2000);
  });

  test('one to where the glide is already goes down', () => {
    const { altitudeM } = glideForward(simple(20_000).setting, 30, 0, 10_000, 1500);
    const climbs = [{ afterM: 10_000, toAltitudeM: altitudeM }];
    const leg = flown(evaluateLeg(simple(20_000, { climbs })));
    expect(leg.allClimbs[0]?.goesDown).toBe(true);
    expect(leg.climbs).toEqual([]);
  });

  test('the mean headwind counts each glide by its length', () => {
    const wind = windProfile([
      { altitudeM: 1000, fromDeg: 90, speedMps: 0 },
      { altitudeM: 3000, fromDeg: 90, speedMps: 10 },
    ]);
    const input = simple(60_000, { climbs: [{ afterM: 20_000, toAltitudeM: 3000 }] }, { wind });
    const { distanceM } = input.setting.track;
    const mean = (fromX: number, toX: number, high: number) => {
      const glide = glideForward(input.setting, 30, fromX, toX, high);
      return glide.problem ? Number.NaN : glide.meanHeadwindMps;
    };
    const both = (mean(0, 20_000, 1500) * 20_000 + mean(20_000, distanceM, 3000) * (distanceM - 20_000)) / distanceM;
    expect(flown(evaluateLeg(input)).meanHeadwindMps).toBeCloseTo(both, 9);
  });

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
    expect(leg.allClimbs[0]?.goesDown).toBe(true);
    expect(leg.climbs).toEqual([]);
    expect(leg.arriveAltitudeM).toBeCloseTo(without.arriveAltitudeM, 3);
  });

  test('before which a slow glide would make no headway is not flown at that speed', () => {
    const wind = windProfile([
      { altitudeM: 500, fromDeg: 90, speedMps: 4 },
      { altitudeM: 1800, fromDeg: 90, speedMps: 34 },
    ]);
    const input = simple(
      30_000,
      { climbs: [{ afterM: 4000, toAltitudeM: 1500 }], speed: { kind: 'bestGlide' } },
      { wind },
    );
    const leg = evaluateLeg(input);
    const best = leg.bestGlideIndicatedMps as number;
    const backward = (v: number) => {
      const glide = glideBackward(input.setting, v, 4000, input.setting.track.distanceM, leg.askedAltitudeM);
      return glide.problem ? Infinity : glide.altitudeM;
    };
    expect(backward(input.limits.vsMps)).toBe(Infinity);
    expect(backward(best)).toBeLessThan(Infinity);
    expect(leg.requiredDepartAltitudeM).toBeCloseTo(backward(best), 3);
  });

  test('one that would go down leaves every other number as it is without it', () => {
    const wind = windProfile([
      { altitudeM: 0, fromDeg: 270, speedMps: 2 },
      { altitudeM: 3000, fromDeg: 300, speedMps: 14 },
    ]);
    const up = { afterM: 6000, toAltitudeM: 1900 };
    const down = { afterM: 22_000, toAltitudeM: 300 };
    for (const departAltitudeM of [1000, 1500, 2600])
      for (const climbs of [[], [up], [up, { afterM: 9000, toAltitudeM: 1850 }]])
        for (const more of [[down], [down, { afterM: 23_000, toAltitudeM: 250 }]]) {
          const of = (all: LegInput['climbs']) =>
            evaluateLeg(simple(30_000, { climbs: all, departAltitudeM, speed: { kind: 'bestGlide' } }, { wind }));
          const [leg, without] = [of([...climbs, ...more]), of(climbs)];
          expect(leg.allClimbs.at(-1)?.goesDown).toBe(true);
          expect(leg.climbs).toHaveLength(without.climbs.length);
          for (const key of [
            'requiredDepartAltitudeM',
            'fastestIndicatedMps',
            'fastestUpToVneMps',
            'bestGlideIndicatedMps',
            'arriveAltitudeM',
            'marginM',
            'reachesGroundAfterM',
          ] as const) {
            const [one, other] = [flown(leg)[key], flown(without)[key]];
            if (other === null) expect(one, key).toBeNull();
            else expect(one, key).toBeCloseTo(other, 2);
          }
        }
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

  test('the path has the steps of the setting, unless others are asked for', () => {
    const leg = evaluateLeg(simple(20_000, {}, { maxStepM: 500 }));
    expect(leg.path().length).toBeGreaterThanOrEqual(41);
    expect(leg.path().length).toBeLessThan(45);
    expect(leg.path(5000).length).toBeLessThan(8);
    expect(evaluateLeg(simple(20_000)).path().length).toBeLessThan(14);
  });

  test('where headway ends the path ends, and does not go on from a climb beyond', () => {
    const wind = windProfile([
      { altitudeM: 0, fromDeg: 90, speedMps: 60 },
      { altitudeM: 2000, fromDeg: 90, speedMps: 0 },
    ]);
    const climbs = [{ afterM: 50_000, toAltitudeM: 3000 }];
    const leg = evaluateLeg(simple(60_000, { climbs, departAltitudeM: 1900 }, { wind }));
    expect(leg.problem).toBe('no-headway');
    expect(leg.climbs).toEqual([]);
    const path = leg.path();
    expect(path.length).toBeGreaterThan(1);
    expect(path.at(-1)?.xM).toBeLessThan(50_000);
  });
});

describe('a glide that meets the ground', () => {
  test('is the last one, and begins where the last climb ends', () => {
    const climbs = [
      { afterM: 10_000, toAltitudeM: 3000 },
      { afterM: 20_000, toAltitudeM: 1500 },
      { afterM: 40_000, toAltitudeM: 900 },
    ];
    const input = simple(200_000, { climbs: climbs.slice(0, 2) });
    const { reachesGroundAfterM } = flown(evaluateLeg(input));
    const high = flown(evaluateLeg(input)).allClimbs[1];
    const start = high?.goesDown ? high.fromAltitudeM : 1500;
    const there = glideForward(input.setting, 30, 20_000, reachesGroundAfterM ?? 0, start);
    expect((there.problem ? Number.NaN : there.altitudeM) - 500).toBeCloseTo(0, 2);
    // Below the ground already where it begins.
    const below = simple(80_000, {
      destination: { elevationM: 950, reserveM: 0, altimeterM: 0 },
      climbs: climbs.slice(2),
      departAltitudeM: 1000,
    });
    expect(flown(evaluateLeg(below)).reachesGroundAfterM).toBe(40_000);
  });

  test('arriving on the ground it does not meet it before', () => {
    const still = { ...simple(1000).setting, track: track(from, from) };
    const leg = flown(evaluateLeg({ ...simple(1000), setting: still, departAltitudeM: 500 }));
    expect(leg.reachesGroundAfterM).toBeNull();
  });

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

test('a wind that the glide would not get through without rising air: the air carries both', () => {
  // Level in air that rises as fast as the glider sinks; without it down into a headwind of 60 m/s.
  const wind = windProfile([
    { altitudeM: 0, fromDeg: 90, speedMps: 60 },
    { altitudeM: 2000, fromDeg: 90, speedMps: 0 },
  ]);
  const { budget, arriveAltitudeM } = flown(
    evaluateLeg(simple(60_000, { departAltitudeM: 1950 }, { wind, sinkingAirMps: -0.79 })),
  );
  expect(budget.wind).toBe(0);
  expect(budget.stillAir + budget.sinkingAir).toBeCloseTo(1950 - arriveAltitudeM, 6);
  expect(budget.performance).toBeCloseTo(0, 6);
});

describe('the least of a curve between two speeds', () => {
  /** What was found, and at which speeds it looked. */
  const search = (of: (v: number) => number, low = 18.1, high = 69.7) => {
    const asked: number[] = [];
    const found = leastBetween(low, high, (v) => {
      asked.push(v);
      return of(v);
    });
    for (const v of asked) {
      expect(v).toBeGreaterThanOrEqual(low);
      expect(v).toBeLessThanOrEqual(high);
    }
    return { found, asked };
  };

  test.each([
    ['a parabola', (v: number) => (v - 33.3) ** 2 + 5, 33.3],
    ['a steep and a shallow side', (v: number) => Math.exp(v / 10) + 4000 / v, 34.91056],
    ['height over distance', (v: number) => (0.0016 * v * v - 0.07 * v + 1.36) / (v - 10), 10 + Math.sqrt(512.5)],
    ['a fourth power', (v: number) => (v - 50.05) ** 4, 50.05],
    ['no headway below 30 m/s', (v: number) => (v <= 30 ? Infinity : 1 / (v - 30) + v / 50), 30 + Math.sqrt(50)],
  ])('%s takes few looks, of which each is a glide', (_, of, at) => {
    const { found, asked } = search(of);
    const flat = of(at + 1e-4) - of(at) < 1e-12;
    expect(Math.abs((found?.speed ?? 0) - at)).toBeLessThan(flat ? 0.01 : 1e-3);
    expect(found?.value).toBe(of(found?.speed ?? 0));
    // 17 to see where it lies; sections alone would take 24 more.
    expect(asked.length).toBeLessThanOrEqual(17 + 20);
  });

  // Sections alone would take 17 looks and 24 more, however the curve lies: parabolas take few on a smooth one, and not
  // many more on one with a bend, a step or a flat piece.
  test.each([
    ['a parabola', (v: number) => (v - 31.3) ** 2, 20],
    ['sink over speed', (v: number) => (0.002083 * v * v - 0.0708 * v + 1.302) / v, 23],
    ['a bend', (v: number) => Math.abs(v - 31.3), 30],
    ['a fourth power', (v: number) => (v - 31.3) ** 4, 27],
    ['a steep side', (v: number) => Math.exp(v / 5) - 30 * v, 23],
    ['rising all the way', (v: number) => v * v, 28],
    ['falling all the way', (v: number) => -v, 28],
    ['a step to no headway', (v: number) => (v < 31.3 ? Infinity : v), 39],
    ['a parabola beside one', (v: number) => (v < 31.3 ? Infinity : (v - 33) ** 2), 22],
    ['a flat piece', (v: number) => Math.max(0, Math.abs(v - 31.3) - 1), 36],
    ['a cusp', (v: number) => Math.sqrt(Math.abs(v - 31.3)), 34],
    ['many valleys', (v: number) => Math.cos(v / 6), 22],
    ['level', () => 1, 39],
    ['a third power and a line', (v: number) => Math.abs(v - 40) ** 3 + 0.5 * v, 28],
    ['a side like a wall', (v: number) => Math.exp(v / 0.9 - 25) - v / 0.9, 27],
    ['a steep side and a line', (v: number) => Math.exp(v / 9 - 3) - v / 9, 23],
    ['a hole beside no headway', (v: number) => (v <= 52.2 ? Infinity : 1 / (v - 52.2) + v * 0.015), 28],
    ['a bend between a curve and a line', (v: number) => (v < 40 ? (v - 41) ** 2 : (v - 40) * 9 + 1), 41],
  ])('%s: by so many looks', (_, of, looks) => {
    const { found, asked } = search(of, 17, 60);
    const least = Math.min(...Array.from({ length: 43_001 }, (_, i) => of(17 + i / 1000)));
    expect(of(found?.speed ?? 0)).toBeLessThanOrEqual(least + 0.02);
    expect(asked).toHaveLength(looks);
  });

  test.each([20.5, 33.3, 47.77, 69.6])('a kink at %d m/s is found to a ten-thousandth', (at) => {
    const { found, asked } = search((v) => Math.abs(v - at));
    expect(Math.abs((found?.speed ?? 0) - at)).toBeLessThanOrEqual(1e-4);
    expect(asked.length).toBeLessThanOrEqual(17 + 60);
  });

  test('at an end it is that end', () => {
    for (const high of [69.7, 43.21, 70]) expect(search((v) => -v, 18.1, high).found?.speed).toBe(high);
    expect(search((v) => v).found?.speed).toBe(18.1);
    expect(search(() => 7).found?.value).toBe(7);
    expect(search((v) => v, 30, 30).found).toEqual({ speed: 30, value: 30 });
  });

  test('a rough look says where to search, and nothing else', () => {
    const of = (v: number) => (v - 41.3) ** 2;
    const roughly: number[] = [];
    const closely: number[] = [];
    const found = leastBetween(
      17,
      60,
      (v) => {
        closely.push(v);
        return of(v);
      },
      (v) => {
        roughly.push(v);
        return of(v) + Math.sin(v);
      },
    );
    expect(Math.abs((found?.speed ?? 0) - 41.3)).toBeLessThanOrEqual(1e-4);
    expect(found?.value).toBe(of(found?.speed ?? 0));
    expect(roughly).toHaveLength(17);
    expect(closely.length).toBeLessThan(30);
    // Of two valleys it takes the one that looks deeper.
    const valleys = (one: number, other: number) => (v: number) => Math.min((v - 25) ** 2 + one, (v - 50) ** 2 + other);
    expect(leastBetween(17, 60, valleys(1, 1.1), valleys(9, 0))?.value).toBeCloseTo(1.1, 6);
  });

  test('where the rough look finds no headway, or finds some where there is none, all is looked at closely', () => {
    const of = (v: number) => (v < 31.3 ? Infinity : v);
    const closely = leastBetween(17, 60, of);
    expect(leastBetween(17, 60, of, () => Infinity)).toEqual(closely);
    expect(leastBetween(17, 60, of, (v) => v)).toEqual(closely);
    expect(
      leastBetween(
        17,
        60,
        () => Infinity,
        (v) => v,
      ),
    ).toBeNull();
  });

  test('none where there is none', () => {
    expect(search(() => Infinity).found).toBeNull();
    expect(search(() => Number.NaN).found).toBeNull();
  });
});

describe('the last speed with a margin', () => {
  test.each([
    ['a line', (v: number) => 41.234 - v, 41.234, 4],
    ['a hyperbola', (v: number) => 1000 / v - 25, 40, 15],
    ['a cube', (v: number) => 40 ** 3 - v ** 3, 40, 16],
    ['a steep one', (v: number) => Math.exp(5) - Math.exp(v / 8), 40, 16],
    ['no headway beyond', (v: number) => (v > 33.3 ? -Infinity : 5), 33.3, 22],
    ['hardly any margin', (v: number) => (v < 30 ? 1e-9 * (30 - v) : 30 - v), 30, 59],
  ])('%s takes few looks, of which each is a flight', (_, of, root, most) => {
    const asked: number[] = [];
    const found = lastWithMargin(18.5, 69.7, (v) => {
      asked.push(v);
      return of(v);
    });
    expect(of(found)).toBeGreaterThanOrEqual(0);
    expect(found).toBeLessThanOrEqual(root + 1e-12);
    expect(root - found).toBeLessThanOrEqual(5.01e-5);
    for (const v of asked) {
      expect(v).toBeGreaterThanOrEqual(18.5);
      expect(v).toBeLessThanOrEqual(69.7);
    }
    expect(asked.length).toBeLessThanOrEqual(most);
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

  test('below the destination is behind the ground that the glide has met', () => {
    const wind = windProfile([
      { altitudeM: 0, fromDeg: 90, speedMps: 40 },
      { altitudeM: 500, fromDeg: 90, speedMps: 10 },
    ]);
    const input = simple(90_000, {}, { wind });
    const leg = evaluateLeg(input);
    if (!leg.problem) throw new Error('gets there');
    expect(leg.altitudeM).toBeLessThan(500);
    const there = glideForward(input.setting, 30, 0, leg.reachesGroundAfterM ?? 0, 1500);
    expect(there.problem === null && there.altitudeM).toBeCloseTo(500, 1);
    expect(leg.reachesGroundAfterM).toBeLessThan(leg.atM);
    // From a climb on the way; and not where a climb would still have come, or the destination lies lower.
    const climbs = [{ afterM: 20_000, toAltitudeM: 1800 }];
    const climbed = evaluateLeg({ ...input, climbs });
    const from = glideForward(input.setting, 30, 20_000, climbed.reachesGroundAfterM ?? 0, 1800);
    expect(from.problem === null && from.altitudeM).toBeCloseTo(500, 1);
    const beyond = evaluateLeg({ ...input, climbs: [{ afterM: 80_000, toAltitudeM: 1800 }] });
    expect([beyond.problem, beyond.reachesGroundAfterM]).toEqual(['no-headway', null]);
    const low = evaluateLeg({ ...input, destination: { elevationM: 0, reserveM: 0, altimeterM: 0 } });
    expect([low.problem, low.reachesGroundAfterM]).toEqual(['no-headway', null]);
  });

  test('at the speed that asks the least, and not at a faster one that arrives', () => {
    // From the height asked it gets on at any speed; higher up the wind is faster than a slow glider.
    const wind = windProfile([
      { altitudeM: 1000, fromDeg: 270, speedMps: 20 },
      { altitudeM: 2000, fromDeg: 0, speedMps: 32 },
    ]);
    const input = simple(12_000, { departAltitudeM: 2400, speed: { kind: 'bestGlide' } }, { wind });
    const leg = evaluateLeg(input);
    expect(leg.problem).toBe('no-headway');
    expect(leg.fastestIndicatedMps).not.toBeNull();
    const indicatedMps = leg.fastestIndicatedMps ?? 0;
    expect(flown(evaluateLeg({ ...input, speed: { kind: 'indicated', indicatedMps } })).marginM).toBeGreaterThanOrEqual(
      0,
    );
  });

  test('at the speed that asks the least, of which the fastest that arrives is found beyond those that stop', () => {
    const wind = windProfile([
      { altitudeM: 1000, fromDeg: 270, speedMps: 20 },
      { altitudeM: 2000, fromDeg: 0, speedMps: 32 },
    ]);
    const limits = { vsMps: 18, vneMps: 70, vnoMps: null };
    const input = simple(30_000, { departAltitudeM: 2400, speed: { kind: 'bestGlide' }, limits }, { wind });
    const leg = evaluateLeg(input);
    expect([leg.problem, at(input, 70).problem]).toEqual(['no-headway', null]);
    // By plain looking, every centimetre a second.
    const arrives = (mps: number) => {
      const other = at(input, mps);
      return other.problem === null && other.marginM >= 0;
    };
    const fastest = Array.from({ length: 5201 }, (_, i) => 70 - i / 100).find(arrives) ?? Number.NaN;
    expect(fastest).toBeLessThan(69);
    expect(leg.fastestIndicatedMps).toBeGreaterThanOrEqual(fastest);
    expect(leg.fastestIndicatedMps).toBeLessThan(fastest + 0.01);
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
  test('departing with just the height asked every speed makes it', () => {
    const still = { ...simple(1000).setting, track: track(from, from) };
    const limits = { vsMps: 18, vneMps: 70, vnoMps: 50 };
    const just = evaluateLeg({ ...simple(1000), setting: still, limits, departAltitudeM: 800 });
    expect(just).toMatchObject({ marginM: 0, fastestIndicatedMps: 50, fastestUpToVneMps: 70 });
    const less = evaluateLeg({ ...simple(1000), setting: still, limits, departAltitudeM: 799 });
    expect(less).toMatchObject({ marginM: -1, fastestIndicatedMps: null, fastestUpToVneMps: null });
  });
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

describe('the search of a speed ends', () => {
  test('where a function is flat but for the last bits, wherever they fall', () => {
    fc.assert(
      fc.property(between(15, 30), between(0.5, 60), fc.integer({ min: 0, max: 2 ** 31 - 1 }), (low, wide, seed) => {
        let calls = 0;
        const noise = (v: number) => {
          calls++;
          // Not more often than each ten-thousandth of a metre a second of the range once.
          if (calls > 100 + wide / 5e-5) throw new Error(`looked ${calls} times`);
          return 1 + ((Math.imul(Math.floor(v * 1e9), 2_654_435_761) ^ seed) % 5) * 2 ** -52;
        };
        expect(leastBetween(low, low + wide, noise)?.value).toBeLessThanOrEqual(1 + 2 ** -50);
      }),
      cases,
    );
  });

  test('on a leg of a metre, in a shear and with a climb that leads nowhere', () => {
    // Found by a run of the property below that did not end.
    const from = { latDeg: 0, lonDeg: -96.80387511849403 };
    const polar = {
      a: 0.0007601917408737083,
      b: -0.029441065059076923,
      c: 0.7679688587347767,
      massKg: 595.6109653227031,
    };
    for (let i = 0; i < 400; i++) {
      const leg = evaluateLeg({
        setting: {
          track: track(from, destination(from, 0, 1 + i / 400)),
          polar,
          massKg: 896.0425670102866,
          share: 0.83034711452201,
          sinkingAirMps: 0.2739859400317073,
          air: { qnhPa: 100544.71164941788, deltaTK: -6.854498963803053 },
          wind: windProfile([
            { altitudeM: 2960, fromDeg: 0, speedMps: 68 },
            { altitudeM: 3977, fromDeg: 0, speedMps: 0 },
          ]),
        },
        departAltitudeM: 3 * 1919.4828744977713 + i,
        destination: { elevationM: 1128.6809891462326, reserveM: 496.9889293424785, altimeterM: 0 },
        speed: { kind: 'bestGlide' },
        limits: { vsMps: 19.253671057522297, vneMps: 56.085495064755925, vnoMps: 50.906173313679986 },
        climbs: [{ afterM: 0.5122874275782032, toAltitudeM: 2655.630987510085 }],
      });
      expect(leg.problem).toBe(null);
    }
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
    ['NaN departure', { departAltitudeM: Number.NaN }, 'a leg needs finite numbers'],
    ['a climb to infinity', { climbs: [{ afterM: 1, toAltitudeM: Infinity }] }, 'a leg needs finite numbers'],
    ['a climb nowhere', { climbs: [{ afterM: Number.NaN, toAltitudeM: 1 }] }, 'a leg needs finite numbers'],
    ['NaN elevation', { destination: { elevationM: Number.NaN, reserveM: 0, altimeterM: 0 } }, 'finite numbers'],
    ['NaN reserve', { destination: { elevationM: 0, reserveM: Number.NaN, altimeterM: 0 } }, 'finite numbers'],
    ['NaN altimeter', { destination: { elevationM: 0, reserveM: 0, altimeterM: Number.NaN } }, 'finite numbers'],
    ['vno without end', { limits: { vsMps: 18, vneMps: 70, vnoMps: Infinity } }, 'finite numbers'],
    ['vne below vs', { limits: { vsMps: 30, vneMps: 20, vnoMps: null } }, 'limits of speed: vs 30 m/s, vne 20 m/s'],
    ['vs of nothing', { limits: { vsMps: 0, vneMps: 20, vnoMps: null } }, 'limits of speed: vs 0 m/s, vne 20 m/s'],
    ['vs below it', { limits: { vsMps: -1, vneMps: 20, vnoMps: null } }, 'limits of speed: vs -1 m/s, vne 20 m/s'],
    ['vne without end', { limits: { vsMps: 18, vneMps: Infinity, vnoMps: null } }, 'vs 18 m/s, vne Infinity m/s'],
    ['NaN climb rate', { speed: { kind: 'maccready', climbMps: Number.NaN } }, 'no polar'],
  ] as const)('%s throws a RangeError', (_, change, message) => {
    const evaluate = () => evaluateLeg(simple(10_000, change as Partial<LegInput>));
    expect(evaluate).toThrow(RangeError);
    expect(evaluate).toThrow(message);
  });
  test('a polar that curves down throws a RangeError', () => {
    const evaluate = () => evaluateLeg(simple(10_000, {}, { polar: { ...polar, a: 0 } }));
    expect(evaluate).toThrow(RangeError);
    expect(evaluate).toThrow('a polar that curves down: a is 0');
  });
  test('vs and vne may be one speed', () => {
    const leg = evaluateLeg(simple(10_000, { limits: { vsMps: 30, vneMps: 30, vnoMps: null } }));
    expect(leg).toMatchObject({ bestGlideIndicatedMps: 30, fastestUpToVneMps: 30 });
  });
});

describe('no climb below the lowest ground', () => {
  test('at the fastest speed, which begins its climb there', () => {
    const given = simple(60_000, { climbs: [{ afterM: 30_000, toAltitudeM: 2600 }] });
    const anywhere = evaluateLeg(given).fastestUpToVneMps ?? Number.NaN;
    const fastest = evaluateLeg({ ...given, lowestM: 450 }).fastestUpToVneMps ?? Number.NaN;
    expect(fastest).toBeLessThan(anywhere - 1);
    const there = glideForward(given.setting, fastest, 0, 30_000, 1500);
    expect(there.problem === null && there.altitudeM).toBeCloseTo(450, 1);
    expect(flown(at(given, fastest + 1)).climbs[0]?.fromAltitudeM).toBeLessThan(450);
    // One that would lead down is none, and ground below every climb changes nothing.
    const over = { ...given, climbs: [{ afterM: 1000, toAltitudeM: 600 }, ...given.climbs] };
    expect(evaluateLeg({ ...over, lowestM: 450 }).fastestUpToVneMps).toBeCloseTo(fastest, 6);
    expect(evaluateLeg({ ...given, lowestM: -100_000 }).fastestUpToVneMps).toBe(anywhere);
    expect(() => evaluateLeg({ ...given, lowestM: Number.NaN })).toThrow(RangeError);
  });
});

describe('the fastest speed of a leg that is soared', () => {
  const figures = [
    { speedMps: 23.15, sinkMps: 0.72 },
    { speedMps: 30.87, sinkMps: 1.03 },
    { speedMps: 43.73, sinkMps: 2.32 },
  ];
  const made = polarFromPoints(figures, 310);
  if (made.refused) throw new Error(made.refused);
  /** Soared between 800 and 1,600 m at a speed, with a margin of 1 m at least above the reserve. */
  const leg = (distanceM: number, mps: number, change: Partial<SoarInput> = {}, reserveM = 0): LegInput => {
    const { setting } = simple(distanceM, {}, { polar: made.polar, massKg: 310 });
    const own = { departAltitudeM: 1000, lowerM: 800, upperM: 1600, enoughAtEndM: reserveM + 1 };
    const given: SoarInput = { setting, indicatedMps: mps, ...own, ...change };
    const found = soar(given);
    const { departAltitudeM, lowerM, upperM } = given;
    return {
      setting,
      departAltitudeM,
      climbs: found.problem === null ? found.climbs : [],
      destination: { elevationM: 0, reserveM, altimeterM: 0 },
      speed: { kind: 'indicated', indicatedMps: mps },
      limits: { vsMps: 18, vneMps: 60, vnoMps: null },
      soaring: {
        lowerM,
        upperM,
        onwardM: change.enoughAtEndM,
        spareM: 1,
        madeFor: { indicatedMps: mps, departAltitudeM, askedAltitudeM: reserveM },
      },
    };
  };
  const marginOf = (given: LegInput): number => {
    const result = evaluateLeg(given);
    return result.problem ? -Infinity : result.marginM;
  };

  test('at another speed its climbs are those of soaring at that speed', () => {
    for (const mps of [22, 27, 31, 40]) {
      const other = evaluateLeg({ ...leg(60_000, 25), speed: { kind: 'indicated', indicatedMps: mps } });
      const own = evaluateLeg(leg(60_000, mps));
      expect(other.climbs).toEqual(own.climbs);
      expect(other.path(500)).toEqual(own.path(500));
    }
    // With no height that is enough for what follows, or one that no climb gives.
    for (const enoughAtEndM of [null, 3000]) {
      const other = evaluateLeg({
        ...leg(60_000, 25, { enoughAtEndM }),
        speed: { kind: 'indicated', indicatedMps: 31 },
      });
      expect(other.climbs).toEqual(evaluateLeg(leg(60_000, 31, { enoughAtEndM })).climbs);
      expect(other.climbs.at(-1)?.toAltitudeM).toBe(1600);
    }
    // Its best glide is that without any climb.
    const { soaring, ...alone } = leg(60_000, 25);
    const best = evaluateLeg({ ...alone, climbs: [], speed: { kind: 'bestGlide' } }).indicatedMps;
    expect(evaluateLeg(leg(60_000, 25)).bestGlideIndicatedMps).toBe(best);
    const higher = { ...leg(60_000, 25), departAltitudeM: 1300 };
    expect(evaluateLeg(higher).climbs).toEqual(evaluateLeg(leg(60_000, 25, { departAltitudeM: 1300 })).climbs);
    const more = { ...leg(60_000, 25), destination: { elevationM: 0, reserveM: 300, altimeterM: 0 } };
    expect(evaluateLeg(more).climbs).toEqual(evaluateLeg(leg(60_000, 25, {}, 300)).climbs);
  });

  test('is one up to which all speeds make it, though a faster one may again, with one climb more', () => {
    // What follows asks more than a climb gives, so that the glider arrives where in its cycle it happens to be.
    const given = leg(60_000, 24, { enoughAtEndM: 3000 }, 900);
    const fastest = evaluateLeg(given).fastestIndicatedMps ?? Number.NaN;
    const at = (mps: number) => marginOf({ ...given, speed: { kind: 'indicated', indicatedMps: mps } });
    for (let mps = 24; mps <= fastest; mps += 0.01) expect(at(mps)).toBeGreaterThanOrEqual(0);
    expect(at(fastest)).toBeGreaterThanOrEqual(0);
    expect(at(fastest + 2e-4)).toBeLessThan(0);
    const faster = Array.from({ length: 100 }, (_, i) => fastest + ((60 - fastest) * i) / 100);
    expect(faster.some((mps) => at(mps) >= 0)).toBe(true);
  });

  test('lies within the limits, with speeds below it that make it, too', () => {
    const given = leg(60_000, 24, { enoughAtEndM: 3000 }, 900);
    const within = (mps: number, vsMps: number, vneMps: number, vnoMps: number | null = null) =>
      evaluateLeg({ ...given, speed: { kind: 'indicated', indicatedMps: mps }, limits: { vsMps, vneMps, vnoMps } });
    const makes = (mps: number) => marginOf({ ...given, speed: { kind: 'indicated', indicatedMps: mps } }) >= 0;
    // By plain looking: runs of speeds that make it, each with a climb more than the one before.
    const looks = Array.from({ length: 560 }, (_, i) => ({ mps: 18 + i / 20, does: makes(18 + i / 20) }));
    const ends = looks.flatMap(({ mps, does }, i) => (i > 0 && does !== looks[i - 1]?.does ? [mps] : []));
    const [first, second, third] = [ends[0], ends[1], ends[2]] as [number, number, number];
    expect([first, second, third].map(Math.round)).toEqual([37, 38, 45]);
    const near = (found: number | null, end: number) =>
      expect(Math.abs((found ?? 0) - (end - 0.025))).toBeLessThan(0.026);
    // From a speed that makes it up to the end of its run, or to the limit; from others that of the run below.
    near(within(40, 18, 60).fastestIndicatedMps, third);
    expect(within(40, 18, 60, 44).fastestIndicatedMps).toBe(44);
    expect(within(40, 18, 60, 40).fastestIndicatedMps).toBe(40);
    expect(within(first - 0.3, 18, 60, first - 0.15).fastestIndicatedMps).toBe(first - 0.15);
    expect(within(second + 0.1, 18, second + 0.1).fastestIndicatedMps).toBe(second + 0.1);
    near(within((first + second) / 2, 18, 60).fastestIndicatedMps, first);
    near(within(third + 0.3, 18, 60).fastestIndicatedMps, third);
    near(within(40, 18, 60, (first + second) / 2).fastestIndicatedMps, first);
    near(within(first - 0.3, first - 0.3, 60).fastestIndicatedMps, first);
    // A run of less than 0.6 m/s is none to name, and a speed below the limits none to begin with.
    near(within(45, 18, 60, second + 0.3).fastestIndicatedMps, first);
    expect(within(third + 0.1, 40 - 0.6, 40).fastestIndicatedMps).toBe(40);
    expect(within(third + 0.1, 40 - 0.59, 40).fastestIndicatedMps).toBeNull();
    expect(within(third + 0.1, third - 0.5, third + 0.2).fastestIndicatedMps).toBeNull();
    expect(within(first - 0.4, first - 0.3, 60).fastestIndicatedMps).toBeNull();
    expect(within(first - 2, first - 1, first + 0.1).fastestIndicatedMps).toBeNull();
  });

  test('stops before a short gap, and none is named above a speed that is too slow', () => {
    // One climb, and from a certain speed on a second one just before the end, from which what follows is a glide.
    const given = leg(29_000, 24, { enoughAtEndM: 1500 }, 810);
    const at = (mps: number) => {
      const result = evaluateLeg({ ...given, speed: { kind: 'indicated', indicatedMps: mps } });
      return { makes: result.problem === null && result.marginM >= 0, climbs: result.climbs.length };
    };
    const looks = Array.from({ length: 1200 }, (_, i) => ({ mps: 24 + i / 100, ...at(24 + i / 100) }));
    const gap = looks.filter(({ makes, climbs }) => !makes && climbs === 1);
    expect(gap.length).toBeGreaterThan(2);
    expect(gap.length).toBeLessThan(45);
    expect(looks.find(({ climbs }) => climbs === 2)?.makes).toBe(true);
    const fastest = evaluateLeg(given).fastestIndicatedMps ?? Number.NaN;
    expect(fastest).toBeLessThan(gap[0]?.mps ?? 0);
    expect(fastest).toBeGreaterThan((gap[0]?.mps ?? 0) - 0.011);
    // From a faster one than may be flown, too, though the run behind the gap and one before it are not half a metre apart.
    const vneMps = (gap.at(-1)?.mps ?? 0) + 0.1;
    const speed = { kind: 'indicated', indicatedMps: vneMps + 1 } as const;
    expect(evaluateLeg({ ...given, speed, limits: { ...given.limits, vneMps } }).fastestIndicatedMps).toBeCloseTo(
      fastest,
      3,
    );
    // Without a climb, and a slow glide that arrives lower than faster ones.
    const glide = (mps: number, reserveM: number) => leg(4000, mps, { enoughAtEndM: null }, reserveM);
    const arrives = (mps: number) => marginOf(glide(mps, 0));
    const between18and20 = (arrives(18) + arrives(20)) / 2;
    expect([arrives(18) < between18and20, glide(18, 0).climbs.length]).toEqual([true, 0]);
    expect(evaluateLeg(glide(18, between18and20)).fastestIndicatedMps).toBeNull();
    expect(evaluateLeg(glide(20, between18and20)).fastestIndicatedMps).toBeGreaterThan(25);
    expect(evaluateLeg(glide(18.8, arrives(19))).fastestIndicatedMps).toBeNull();
    expect(evaluateLeg(glide(19.3, arrives(19))).fastestIndicatedMps).toBeGreaterThan(25);
  });

  test('is looked for as long as there are few climbs; of hundreds it is one that makes it', () => {
    const makes = (given: LegInput, indicatedMps: number) =>
      marginOf({ ...given, speed: { kind: 'indicated', indicatedMps } }) >= 0;
    const few = leg(60_000, 24);
    expect([few.climbs.length, evaluateLeg(few).fastestIndicatedMps]).toEqual([2, 60]);
    // Each speed asks as many looks as it has climbs: some twenty speeds, half a metre a second from each other at most.
    const many = leg(480_000, 25, { upperM: 900 });
    expect(many.climbs.length).toBeGreaterThan(130);
    const fastest = evaluateLeg(many).fastestIndicatedMps ?? Number.NaN;
    expect(fastest).toBeGreaterThan(26.8);
    expect(fastest).toBeLessThan(30);
    expect([makes(many, fastest), makes(many, fastest + 0.5)]).toEqual([true, true]);
    // A little faster there are more of them than are counted, which is no soaring.
    const most = leg(12_300, 29.5, { upperM: 801, enoughAtEndM: null }, 500);
    expect([most.climbs.length, leg(12_300, 30, { upperM: 801, enoughAtEndM: null }, 500).climbs]).toEqual([196, []]);
    const counted = evaluateLeg(most).fastestIndicatedMps ?? Number.NaN;
    expect(counted).toBeGreaterThanOrEqual(29.5);
    expect(leg(12_300, counted, { upperM: 801, enoughAtEndM: null }, 500).climbs.length).toBeGreaterThan(190);
    const more = evaluateLeg({ ...most, speed: { kind: 'indicated', indicatedMps: 31 } });
    expect([more.problem, more.climbs]).toEqual([null, []]);
  });

  test('any: all from the speed chosen make it; from one that does not, a run below it', () => {
    const found = { same: 0, slower: 0, none: 0, limit: 0, unfinished: 0 };
    fc.assert(
      fc.property(
        between(20_000, 120_000),
        between(20, 45),
        between(0, 1200),
        between(900, 1500),
        between(400, 800),
        fc.constantFrom(undefined, 3000, null),
        between(0, 1),
        (distanceM, mps, reserveM, upperM, bandM, onward, share) => {
          const given = leg(
            distanceM,
            mps,
            { upperM, lowerM: upperM - bandM, ...(onward === undefined ? {} : { enoughAtEndM: onward }) },
            reserveM,
          );
          const { fastestUpToVneMps: fastest } = evaluateLeg(given);
          const at = (v: number) => marginOf({ ...given, speed: { kind: 'indicated', indicatedMps: v } });
          if (fastest === null) {
            found.none += 1;
            expect(marginOf(given)).toBeLessThan(0);
            return;
          }
          const from = marginOf(given) >= 0 ? mps : fastest - 0.6;
          expect(fastest).toBeGreaterThanOrEqual(from);
          expect(at(fastest)).toBeGreaterThanOrEqual(0);
          expect(at(from + share * (fastest - from))).toBeGreaterThanOrEqual(0);
          if (fastest === 60) found.limit += 1;
          else if (at(fastest + 3e-4) >= 0) found.unfinished += 1;
          if (from === mps) found.same += 1;
          else found.slower += 1;
        },
      ),
      { ...cases, numRuns: 200 },
    );
    const { unfinished, ...all } = found;
    for (const count of Object.values(all)) expect(count).toBeGreaterThan(0);
    // Of hundreds of climbs not all speeds are looked at.
    expect(unfinished).toBeLessThan((all.same + all.slower + all.none) / 5);
  });
});
