import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  CALM,
  components,
  destination,
  type Glide,
  type GlideSetting,
  glideBackward,
  glideForward,
  glidePath,
  LOWEST_AIR_M,
  type NoHeadway,
  planned,
  STANDARD_AIR,
  sinkAt,
  tasPerIas,
  track,
  windAt,
  windProfile,
  windTriangle,
} from '../../server/flight/index.ts';
import { anyAltitude, anyLayers, anySetting, anySpeed, between, cases, notFinite } from './arbitraries.ts';

function flown(result: Glide | NoHeadway): Glide {
  if (result.problem) throw new Error(`no headway at ${result.xM} m`);
  return result;
}

function forward(setting: GlideSetting, speed: number, altitude: number): Glide {
  return flown(glideForward(setting, speed, 0, setting.track.distanceM, altitude));
}

const polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };
const from = { latDeg: 47, lonDeg: 11 };

function simple(distanceM: number, change: Partial<GlideSetting> = {}): GlideSetting {
  return {
    track: track(from, destination(from, 90, distanceM)),
    polar,
    massKg: 300,
    share: 1,
    sinkingAirMps: 0,
    air: STANDARD_AIR,
    wind: CALM,
    ...change,
  };
}

describe('the integration', () => {
  test('forward and backward agree to 0.01 m and 0.01 s', () => {
    fc.assert(
      fc.property(anySetting(100_000), anySpeed, anyAltitude, (setting, speed, altitude) => {
        const there = forward(setting, speed, altitude);
        const back = flown(glideBackward(setting, speed, 0, setting.track.distanceM, there.altitudeM));
        expect(Math.abs(back.altitudeM - altitude)).toBeLessThan(0.01);
        expect(Math.abs(back.timeS - there.timeS)).toBeLessThan(0.01);
        expect(Math.abs(back.meanHeadwindMps - there.meanHeadwindMps)).toBeLessThan(1e-3);
      }),
      cases,
    );
  });

  test('halving the step changes 100 km by less than 0.1 m', () => {
    fc.assert(
      fc.property(anySetting(1), anySpeed, anyAltitude, between(0, 360), (setting, speed, altitude, course) => {
        const start = setting.track.from;
        const long = { ...setting, track: track(start, destination(start, course, 100_000)) };
        const once = forward(long, speed, altitude).altitudeM;
        const halved = forward({ ...long, maxStepM: 1000 }, speed, altitude).altitudeM;
        const fine = forward({ ...long, maxStepM: 125 }, speed, altitude).altitudeM;
        expect(Math.abs(once - halved)).toBeLessThan(0.1);
        expect(Math.abs(once - fine)).toBeLessThan(0.1);
      }),
      { numRuns: 1000 },
    );
  });

  test('agrees with a plain integration in steps of 10 m, written from the equations', () => {
    fc.assert(
      fc.property(anySetting(6000), anySpeed, anyAltitude, (setting, speed, altitude) => {
        const { distanceM } = setting.track;
        const sink = sinkAt(planned(setting.polar, setting.massKg, setting.share), speed);
        const steps = Math.ceil(distanceM / 10);
        const dx = distanceM / steps;
        const slope = (x: number, h: number): number => {
          const thinner = tasPerIas(setting.air, Math.max(h, LOWEST_AIR_M));
          const triangle = windTriangle(speed * thinner, setting.track.courseAt(x), windAt(setting.wind, h));
          if (triangle.problem) throw new Error(triangle.problem);
          return -(sink * thinner + setting.sinkingAirMps) / triangle.groundSpeedMps;
        };
        let h = altitude;
        for (let i = 0; i < steps; i += 1) {
          const x = i * dx;
          h += slope(x + dx / 2, h + (slope(x, h) * dx) / 2) * dx;
        }
        expect(Math.abs(forward(setting, speed, altitude).altitudeM - h)).toBeLessThan(0.1);
      }),
      { numRuns: 1000 },
    );
  });

  test('a shear of one metre between two winds is seen at any step', () => {
    const wind = windProfile([
      { altitudeM: 900, fromDeg: 90, speedMps: 15 },
      { altitudeM: 901, fromDeg: 270, speedMps: 15 },
    ]);
    const coarse = forward(simple(60_000, { wind, maxStepM: 5000 }), 30, 1500).altitudeM;
    const fine = forward(simple(60_000, { wind, maxStepM: 10 }), 30, 1500).altitudeM;
    expect(Math.abs(coarse - fine)).toBeLessThan(0.1);
  });

  test('in still air at sea level the loss is distance over glide ratio, the time distance over speed', () => {
    const { altitudeM, timeS, meanHeadwindMps } = forward(simple(100), 30, 0);
    expect(altitudeM).toBeCloseTo((-100 * sinkAt(polar, 30)) / 30, 3);
    expect(timeS).toBeCloseTo(100 / 30, 3);
    expect(meanHeadwindMps).toBe(0);
  });

  test('the mean headwind of a constant wind is its part along the course', () => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 120, speedMps: 8 }]);
    const { meanHeadwindMps } = forward(simple(200, { wind }), 30, 500);
    expect(meanHeadwindMps).toBeCloseTo(components(windAt(wind, 0), 90).headMps, 3);
  });

  test('by hand into a wind at sea level: loss and time over the ground speed', () => {
    for (const [fromDeg, ground] of [
      [90, 22],
      [270, 38],
      // From the side the wind triangle leaves the root of 900 - 64.
      [0, Math.sqrt(836)],
      [180, Math.sqrt(836)],
    ] as const) {
      const wind = windProfile([{ altitudeM: 0, fromDeg, speedMps: 8 }]);
      const setting = simple(100, { wind, sinkingAirMps: 0.5 });
      const { altitudeM, timeS } = forward(setting, 30, 0);
      expect(altitudeM).toBeCloseTo((-100 * (sinkAt(polar, 30) + 0.5)) / ground, 2);
      expect(timeS).toBeCloseTo(100 / ground, 2);
      const back = flown(glideBackward(setting, 30, 0, setting.track.distanceM, 0));
      expect(back.altitudeM).toBeCloseTo((100 * (sinkAt(polar, 30) + 0.5)) / ground, 2);
      expect(back.timeS).toBeCloseTo(100 / ground, 2);
    }
  });

  test('the mean headwind of a wind that grows with height is that of the heights flown through', () => {
    // Evenly from 0 at 1,000 m to 10 m/s at 2,000 m; in still air from 1,500 m over 10 km about 230 m are lost.
    const wind = windProfile([
      { altitudeM: 1000, fromDeg: 90, speedMps: 0 },
      { altitudeM: 2000, fromDeg: 90, speedMps: 10 },
    ]);
    const setting = simple(10_000, { wind });
    const { altitudeM, meanHeadwindMps } = forward(setting, 30, 1500);
    const [start, end] = [5, (altitudeM - 1000) / 100];
    expect(meanHeadwindMps).toBeLessThan(start);
    expect(meanHeadwindMps).toBeGreaterThan(end);
    expect(meanHeadwindMps).toBeCloseTo((start + end) / 2, 1);
    const back = flown(glideBackward(setting, 30, 0, setting.track.distanceM, altitudeM));
    expect(back.meanHeadwindMps).toBeCloseTo(meanHeadwindMps, 5);
  });

  test('on a track flown many ways each part is as on a track of its own', () => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 30, speedMps: 9 }]);
    const used = simple(90_000, { wind });
    for (let i = 0; i < 80; i += 1) {
      const part = [i * 500, 50_000 + i * 450] as const;
      const fresh = simple(90_000, { wind });
      expect(glideForward(used, 30, ...part, 2000)).toEqual(glideForward(fresh, 30, ...part, 2000));
      // The same again, and in other steps.
      expect(glideForward(used, 30, ...part, 2000)).toEqual(glideForward(fresh, 30, ...part, 2000));
      const fine = { maxStepM: 700 };
      expect(glideForward({ ...used, ...fine }, 30, ...part, 2000)).toEqual(
        glideForward({ ...fresh, ...fine }, 30, ...part, 2000),
      );
    }
  });

  test('below 5,000 m under the sea the air grows no denser: glides are straight', () => {
    const lost = (high: number) => high - forward(simple(10_000), 30, high).altitudeM;
    expect(lost(-7000)).toBeCloseTo(lost(-6000), 6);
    expect(lost(-6000)).toBeCloseTo((10_000 * sinkAt(polar, 30)) / 30, 6);
    const wind = windProfile([{ altitudeM: 0, fromDeg: 90, speedMps: 8 }]);
    const against = (high: number) => high - forward(simple(10_000, { wind }), 30, high).altitudeM;
    expect(against(-7000)).toBeCloseTo(against(-5300), 3);
    expect(against(-5300)).toBeGreaterThan(against(-4000) + 1);
  });

  test('over the tropopause, where the temperature stops falling, steps of any length agree', () => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 60, speedMps: 10 }]);
    const coarse = forward(simple(60_000, { wind, maxStepM: 30_000 }), 30, 11_800).altitudeM;
    const fine = forward(simple(60_000, { wind, maxStepM: 50 }), 30, 11_800).altitudeM;
    expect(coarse).toBeLessThan(11_000);
    expect(Math.abs(coarse - fine)).toBeLessThan(0.05);
  });

  test('a glide over no distance is where it starts', () => {
    expect(glideForward(simple(1000), 30, 400, 400, 700)).toEqual({
      problem: null,
      altitudeM: 700,
      timeS: 0,
      meanHeadwindMps: 0,
    });
  });

  test('a part of the track after another is the whole', () => {
    fc.assert(
      fc.property(anySetting(80_000), anySpeed, anyAltitude, between(0, 1), (setting, speed, altitude, share) => {
        const { distanceM } = setting.track;
        const first = flown(glideForward(setting, speed, 0, share * distanceM, altitude));
        const second = flown(glideForward(setting, speed, share * distanceM, distanceM, first.altitudeM));
        expect(second.altitudeM).toBeCloseTo(forward(setting, speed, altitude).altitudeM, 2);
      }),
      cases,
    );
  });
});

describe('what never happens', () => {
  test('more headwind never arrives higher', () => {
    fc.assert(
      fc.property(
        anySetting(50_000),
        anyLayers(8),
        anySpeed,
        anyAltitude,
        between(0, 8),
        (setting, layers, speed, altitude, more) => {
          const course = (setting.track.initialCourseDeg * Math.PI) / 180;
          const from = layers.length > 0 ? layers : [{ altitudeM: 0, fromDeg: 0, speedMps: 0 }];
          const stronger = from.map(({ altitudeM, fromDeg, speedMps }) => {
            const direction = (fromDeg * Math.PI) / 180;
            const east = speedMps * Math.sin(direction) + more * Math.sin(course);
            const north = speedMps * Math.cos(direction) + more * Math.cos(course);
            return { altitudeM, fromDeg: (Math.atan2(east, north) * 180) / Math.PI, speedMps: Math.hypot(east, north) };
          });
          const before = forward({ ...setting, wind: windProfile(from) }, speed, altitude);
          const after = forward({ ...setting, wind: windProfile(stronger) }, speed, altitude);
          expect(after.altitudeM).toBeLessThanOrEqual(before.altitudeM + 1e-3);
        },
      ),
      cases,
    );
  });

  test('more height never arrives lower', () => {
    fc.assert(
      fc.property(anySetting(80_000), anySpeed, anyAltitude, between(0, 500), (setting, speed, altitude, more) => {
        const low = forward(setting, speed, altitude).altitudeM;
        expect(forward(setting, speed, altitude + more).altitudeM).toBeGreaterThanOrEqual(low - 1e-3);
      }),
      cases,
    );
  });

  test('more sinking air, or less performance, never arrives higher', () => {
    fc.assert(
      fc.property(anySetting(80_000), anySpeed, anyAltitude, between(0, 1), (setting, speed, altitude, more) => {
        const before = forward(setting, speed, altitude).altitudeM;
        const sinking = { ...setting, sinkingAirMps: setting.sinkingAirMps + more };
        const worse = { ...setting, share: setting.share / (1 + more) };
        expect(forward(sinking, speed, altitude).altitudeM).toBeLessThanOrEqual(before + 1e-6);
        expect(forward(worse, speed, altitude).altitudeM).toBeLessThanOrEqual(before + 1e-6);
      }),
      cases,
    );
  });

  test('no NaN, whatever the numbers', () => {
    const wild = fc.record({
      setting: anySetting(300_000, 150),
      speed: between(0.1, 200),
      altitude: between(-30_000, 60_000),
      sinkingAirMps: between(-10, 10),
      air: fc.record({ qnhPa: between(1, 200_000), deltaTK: between(-150, 150) }),
    });
    fc.assert(
      fc.property(wild, ({ setting, speed, altitude, sinkingAirMps, air }) => {
        const wildest = { ...setting, sinkingAirMps, air };
        const { distanceM } = setting.track;
        expect(notFinite(glideForward(wildest, speed, 0, distanceM, altitude))).toEqual([]);
        expect(notFinite(glideBackward(wildest, speed, 0, distanceM, altitude))).toEqual([]);
        expect(notFinite(glidePath(wildest, speed, 0, distanceM, altitude))).toEqual([]);
      }),
      cases,
    );
  });
});

describe('symmetry', () => {
  test('the mirror image of track and wind, west for east, arrives alike', () => {
    fc.assert(
      fc.property(anySetting(80_000), anyLayers(10), anySpeed, anyAltitude, (setting, layers, speed, altitude) => {
        const { from, to } = setting.track;
        const mirror = track({ ...from, lonDeg: -from.lonDeg }, { ...to, lonDeg: -to.lonDeg });
        const mirrored = layers.map((layer) => ({ ...layer, fromDeg: -layer.fromDeg }));
        const one = forward({ ...setting, wind: windProfile(layers) }, speed, altitude);
        const other = forward({ ...setting, track: mirror, wind: windProfile(mirrored) }, speed, altitude);
        expect(other.altitudeM).toBeCloseTo(one.altitudeM, 5);
        expect(other.timeS).toBeCloseTo(one.timeS, 5);
      }),
      cases,
    );
  });

  test('along a meridian a crosswind from the left costs what it costs from the right', () => {
    fc.assert(
      fc.property(between(-60, 60), between(0, 180), between(0, 12), anySpeed, (latDeg, angle, speedMps, speed) => {
        const line = track({ latDeg, lonDeg: 8 }, { latDeg: latDeg + 0.3, lonDeg: 8 });
        const arrival = (fromDeg: number): number =>
          forward(simple(1, { track: line, wind: windProfile([{ altitudeM: 0, fromDeg, speedMps }]) }), speed, 1500)
            .altitudeM;
        expect(arrival(-angle)).toBeCloseTo(arrival(angle), 6);
      }),
      cases,
    );
  });

  test('mass: at k times the speed in still air the height lost is the same over a short way', () => {
    fc.assert(
      fc.property(anySetting(100), anySpeed, between(0.7, 1.7), (setting, speed, k) => {
        const calm = { ...setting, wind: CALM, sinkingAirMps: 0, massKg: setting.polar.massKg };
        const heavy = { ...calm, massKg: setting.polar.massKg * k * k };
        expect(forward(heavy, speed * k, 1000).altitudeM).toBeCloseTo(forward(calm, speed, 1000).altitudeM, 6);
      }),
      cases,
    );
  });
});

describe('no headway', () => {
  test('a headwind as fast as the glider is told at the start, with the numbers', () => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 90, speedMps: 30 }]);
    const stopped = glideForward(simple(10_000, { wind }), 25, 0, 10_000, 0);
    expect(stopped).toMatchObject({ problem: 'no-headway', reason: 'headwind', xM: 0, altitudeM: 0, tasMps: 25 });
    if (stopped.problem) expect(stopped.headMps).toBeCloseTo(30, 9);
  });

  test('a crosswind as fast as the glider likewise', () => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 0, speedMps: 30 }]);
    const stopped = glideForward(simple(10_000, { wind }), 25, 0, 10_000, 0);
    expect(stopped).toMatchObject({ problem: 'no-headway', reason: 'crosswind', xM: 0 });
    if (stopped.problem) expect(stopped.crossMps).toBeCloseTo(-30, 9);
  });

  test('is told where it is: at the beginning of a part, and backward at its end', () => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 90, speedMps: 31 }]);
    const setting = simple(10_000, { wind });
    expect(glideForward(setting, 30, 3000, 9000, 0)).toMatchObject({ xM: 3000, altitudeM: 0, reason: 'headwind' });
    expect(glideBackward(setting, 30, 3000, 9000, 0)).toMatchObject({ xM: 9000, altitudeM: 0, reason: 'headwind' });
    expect(glidePath(setting, 30, 3000, 9000, 0)).toEqual([{ xM: 3000, altitudeM: 0, timeS: 0 }]);
  });

  test('a headwind just short of the airspeed lets it through, one just above it stops it', () => {
    const wind = (speedMps: number) => windProfile([{ altitudeM: 0, fromDeg: 90, speedMps }]);
    const setting = (speedMps: number) => simple(100, { wind: wind(speedMps), track: short });
    const short = track(from, destination(from, 90, 100));
    expect(glideForward(setting(30.01), 30, 0, 100, 0).problem).toBe('no-headway');
    // Climbing in rising air it comes to thinner air, where it is faster.
    expect(glideForward({ ...setting(29.9), sinkingAirMps: -2 }, 30, 0, 100, 0).problem).toBeNull();
  });

  test('backward into a gale aloft stops where the gale is as fast as the glider', () => {
    const wind = windProfile([
      { altitudeM: 1000, fromDeg: 90, speedMps: 0 },
      { altitudeM: 2000, fromDeg: 90, speedMps: 60 },
    ]);
    const setting = simple(60_000, { wind });
    const stopped = glideBackward(setting, 30, 0, setting.track.distanceM, 1100);
    if (!stopped.problem) throw new Error('arrived');
    expect(stopped.reason).toBe('headwind');
    expect(stopped.xM).toBeGreaterThan(0);
    expect(stopped.xM).toBeLessThan(setting.track.distanceM - 1000);
    expect(stopped.tasMps).toBeCloseTo(30 * tasPerIas(STANDARD_AIR, stopped.altitudeM), 6);
    // The wind is not quite along the course any more, and stops it a little before it is as fast.
    expect(Math.abs(stopped.headMps - stopped.tasMps)).toBeLessThan(0.05);
    expect(stopped.headMps).toBeCloseTo((stopped.altitudeM - 1000) * 0.06, 1);
  });

  test('a wind that grows as the glider descends stops it where it is as fast as the glider', () => {
    const wind = windProfile([
      { altitudeM: 0, fromDeg: 90, speedMps: 60 },
      { altitudeM: 2000, fromDeg: 90, speedMps: 0 },
    ]);
    const stopped = glideForward(simple(60_000, { wind }), 30, 0, 60_000, 1900);
    if (!stopped.problem) throw new Error('arrived');
    expect(stopped.xM).toBeGreaterThan(0);
    expect(Math.abs(stopped.headMps - stopped.tasMps)).toBeLessThan(0.1);
    expect(glidePath(simple(60_000, { wind }), 30, 0, 60_000, 1900).length).toBeGreaterThan(1);
  });
});

describe('the path', () => {
  test('begins and ends as the glide does, its distances and times growing', () => {
    fc.assert(
      fc.property(anySetting(80_000), anySpeed, anyAltitude, (setting, speed, altitude) => {
        const { distanceM } = setting.track;
        const points = glidePath(setting, speed, 0, distanceM, altitude);
        const end = forward(setting, speed, altitude);
        expect(points[0]).toEqual({ xM: 0, altitudeM: altitude, timeS: 0 });
        expect(points.at(-1)).toEqual({ xM: distanceM, altitudeM: end.altitudeM, timeS: end.timeS });
        for (const [i, point] of points.slice(1).entries()) {
          expect(point.xM).toBeGreaterThan(points[i]?.xM ?? Infinity);
          expect(point.timeS).toBeGreaterThan(points[i]?.timeS ?? Infinity);
        }
      }),
      cases,
    );
  });
});

test('the points of a path lie at its steps, from the beginning of the part to its end', () => {
  const setting = simple(10_000, { maxStepM: 1000 });
  expect(glidePath(setting, 30, 2000, 7000, 900).map(({ xM }) => xM)).toEqual([2000, 3000, 4000, 5000, 6000, 7000]);
  // As many steps as it takes, all of one length.
  expect(glidePath(setting, 30, 2000, 4500, 900).map(({ xM }) => Math.round(xM))).toEqual([2000, 2833, 3667, 4500]);
  expect(glidePath(simple(10_000), 30, 0, 9000, 900)).toHaveLength(6);
  for (const { xM, altitudeM, timeS } of glidePath(setting, 30, 2000, 7000, 900).slice(1)) {
    const there = flown(glideForward(setting, 30, 2000, xM, 900));
    expect(altitudeM).toBeCloseTo(there.altitudeM, 6);
    expect(timeS).toBeCloseTo(there.timeS, 6);
  }
});

describe('wrong use', () => {
  test('says what is wrong', () => {
    expect(() => glideForward(simple(1000), -1, 0, 1000, 500)).toThrow(
      'a glide needs finite numbers, an airspeed above zero and an end after its beginning',
    );
    expect(() => glideForward(simple(1000), Infinity, 0, 1000, 500)).toThrow('a glide needs finite numbers');
    expect(() => glideForward(simple(1000, { maxStepM: -5 }), 30, 0, 1000, 500)).toThrow('not a step: -5 m');
    for (const part of ['a', 'b', 'c'] as const)
      expect(() => glideForward(simple(1000, { polar: { ...polar, [part]: Number.NaN } }), 30, 0, 1000, 500)).toThrow(
        'a glide needs finite numbers',
      );
    expect(() => glideForward(simple(1000, { sinkingAirMps: Number.NaN }), 30, 0, 1000, 500)).toThrow('finite');
    expect(() => glideForward(simple(1000), 30, Number.NaN, 1000, 500)).toThrow('a glide needs finite numbers');
  });
  test.each([
    ['speed 0', () => glideForward(simple(1000), 0, 0, 1000, 500)],
    ['speed NaN', () => glideForward(simple(1000), Number.NaN, 0, 1000, 500)],
    ['altitude Infinity', () => glideForward(simple(1000), 30, 0, 1000, Infinity)],
    ['end before beginning', () => glideForward(simple(1000), 30, 1000, 0, 500)],
    ['QNH 0', () => glideForward(simple(1000, { air: { qnhPa: 0, deltaTK: 0 } }), 30, 0, 1000, 500)],
    ['share 0', () => glideForward(simple(1000, { share: 0 }), 30, 0, 1000, 500)],
    ['mass 0', () => glideForward(simple(1000, { massKg: 0 }), 30, 0, 1000, 500)],
    ['step 0', () => glideForward(simple(1000, { maxStepM: 0 }), 30, 0, 1000, 500)],
  ])('%s throws a RangeError', (_, use) => expect(use).toThrow(RangeError));
});
