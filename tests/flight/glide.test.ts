import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  CALM,
  components,
  destination,
  type Glide,
  type GlidePoint,
  type GlideSetting,
  glideBackward,
  glideForward,
  glidePath,
  HIGHEST_ALTITUDE_M,
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
import { from, polar, simpleSetting as simple } from './simple.ts';

function flown(result: Glide | NoHeadway): Glide {
  if (result.problem) throw new Error(`no headway at ${result.xM} m`);
  return result;
}

function forward(setting: GlideSetting, speed: number, altitude: number): Glide {
  return flown(glideForward(setting, speed, 0, setting.track.distanceM, altitude));
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

  test('over 50 km the air grows no thinner: glides are straight', () => {
    const lost = (high: number) => high - forward(simple(10_000), 30, high).altitudeM;
    expect(lost(140_000)).toBeCloseTo(lost(120_000), 6);
    expect(lost(120_000)).toBeCloseTo((10_000 * sinkAt(polar, 30)) / 30, 6);
    const wind = windProfile([{ altitudeM: 0, fromDeg: 90, speedMps: 500 }]);
    const against = (high: number) => high - forward(simple(10_000, { wind }), 30, high).altitudeM;
    expect(against(140_000)).toBeCloseTo(against(HIGHEST_ALTITUDE_M + 1000), 6);
    expect(against(HIGHEST_ALTITUDE_M)).toBeGreaterThan(against(HIGHEST_ALTITUDE_M + 1000) + 0.01);
    const back = glideBackward(simple(10_000, { wind }), 30, 0, 10_000, 120_000 - against(120_000));
    expect(flown(back).altitudeM).toBeCloseTo(120_000, 6);
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
        const last = points.at(-1);
        expect(last?.xM).toBe(distanceM);
        expect(Math.abs((last?.altitudeM ?? Infinity) - end.altitudeM)).toBeLessThan(0.01);
        expect(Math.abs((last?.timeS ?? Infinity) - end.timeS)).toBeLessThan(1e-4 * end.timeS + 1e-3);
        for (const [i, point] of points.slice(1).entries()) {
          expect(point.xM).toBeGreaterThan(points[i]?.xM ?? Infinity);
          expect(point.timeS).toBeGreaterThan(points[i]?.timeS ?? Infinity);
        }
        // Ended early, it is the same path up to there.
        const isLow = (atM: number) => atM < (altitude + end.altitudeM) / 2;
        const low = points.findIndex((point) => isLow(point.altitudeM));
        expect(glidePath(setting, speed, 0, distanceM, altitude, isLow)).toEqual(points.slice(0, low + 1 || undefined));
      }),
      cases,
    );
  });
});

test('between the points of a path a straight line is as good as the glide, be the wind ever so different above', () => {
  for (const [lowMps, highMps, betweenM, fromDeg] of [
    [2.5, 18, 457, 90],
    [18, 2.5, 457, 90],
    [5, 18, 305, 110],
    [5, 18, 305, 270],
    [0, 3, 1000, 90],
  ] as const) {
    const wind = windProfile([
      { altitudeM: 305, fromDeg, speedMps: lowMps },
      { altitudeM: 305 + betweenM, fromDeg, speedMps: highMps },
    ]);
    const setting = simple(9000, { wind, maxStepM: 500 });
    const points = glidePath(setting, 28, 0, 9000, 1060);
    for (let xM = 50; xM < 9000; xM += 50) {
      const next = points.findIndex((point) => point.xM > xM);
      const [before, behind] = [points[next - 1] as GlidePoint, points[next] as GlidePoint];
      const share = (xM - before.xM) / (behind.xM - before.xM);
      const glide = glideForward(setting, 28, 0, xM, 1060);
      const exact = glide.problem ? Number.NaN : glide.altitudeM;
      expect(Math.abs(before.altitudeM + share * (behind.altitudeM - before.altitudeM) - exact)).toBeLessThan(0.05);
    }
    expect(points.length).toBeLessThan(19 + 700);
  }
});

test('beside a pole, where the course turns quickly, a glide is as good as in the shortest steps', () => {
  const wind = windProfile([{ altitudeM: 0, fromDeg: 180, speedMps: 15.4 }]);
  for (const latDeg of [89.9, 89.99, 89.5, -89.9, 88]) {
    const way = track({ latDeg, lonDeg: 0 }, { latDeg: latDeg * 0.9995, lonDeg: 170 });
    const setting = simple(1, { wind, track: way });
    const part = Math.min(way.distanceM, 60_000);
    const height = (maxStepM: number) => {
      const glide = glideForward({ ...setting, maxStepM }, 31, 0, part, 3000);
      return glide.problem ? Number.NaN : glide.altitudeM;
    };
    expect(Math.abs(height(2000) - height(20))).toBeLessThan(0.1);
  }
  // Over a pole itself it turns at once, and the glide has an end.
  const over = track({ latDeg: 89.9, lonDeg: 0 }, { latDeg: 89.9, lonDeg: 180 });
  const across = glideForward(simple(1, { track: over }), 31, 0, over.distanceM, 3000);
  expect(across.problem).toBeNull();
});

test('one part of a track in steps of two lengths', () => {
  const setting = simple(10_000);
  const points = (maxStepM: number) => glidePath({ ...setting, maxStepM }, 30, 0, 8000, 2000).length;
  expect([points(2000), points(500), points(2000), points(1000)]).toEqual([5, 17, 5, 9]);
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

const equator = { latDeg: 0, lonDeg: 0 };

/** Standard air that counts how often it is looked at. */
function watchedAir() {
  let looks = 0;
  const air = {
    qnhPa: STANDARD_AIR.qnhPa,
    get deltaTK() {
      looks += 1;
      return 0;
    },
  };
  return { air, looks: () => looks };
}

/** A glide east along the equator, where the course is the same all the way, and how often the air is looked at. */
function looksAtAir(distanceM: number, altitudeM: number, change: Partial<GlideSetting> = {}, backward = false) {
  const { air, looks } = watchedAir();
  const setting = simple(1, { track: track(equator, destination(equator, 90, distanceM)), air, ...change });
  const glide = backward
    ? glideBackward(setting, 30, 0, distanceM, altitudeM)
    : glideForward(setting, 30, 0, distanceM, altitudeM);
  // Once to see whether it is air at all.
  return { looks: looks() - 1, glide };
}

describe('the work of a glide', () => {
  /** Below -5,000 m the air is as dense as there, so that everything is even. */
  const thin = tasPerIas(STANDARD_AIR, LOWEST_AIR_M);
  const tas = 30 * thin;
  const eastWind = (speedMps: number) => windProfile([{ altitudeM: 0, fromDeg: 90, speedMps }]);
  /** The same to all digits, and not the same at all heights: where it is, a step is one piece down there. */
  const uneven = (speedMps: number) => ({
    bands: eastWind(speedMps).bands.map((band) => ({ ...band, du: Number.MIN_VALUE })),
  });

  test('four looks at the air for a step of 2 km', () => {
    expect(looksAtAir(2000, 500).looks).toBe(4);
    expect(looksAtAir(10_000, 500).looks).toBe(20);
    expect(looksAtAir(10_000, 500, {}, true).looks).toBe(20);
    expect(looksAtAir(10_100, 500).looks).toBe(24);
    expect(looksAtAir(10_000, 500, { maxStepM: 5000 }).looks).toBe(8);
  });

  test('a steep step is flown in pieces of 250 m of height', () => {
    // The air sinks by 10 m/s: the glide by 0.7 thin + 10, over 2,000 m at the airspeed: 883 m, three pieces and a rest.
    const sinking = looksAtAir(2000, -6000, { sinkingAirMps: 10, wind: uneven(0) });
    expect(flown(sinking.glide).altitudeM).toBeCloseTo(-6000 - (2000 * (0.7 * thin + 10)) / tas, 6);
    expect(sinking.looks).toBe(4 * 4);
  });

  test('with little headway in shorter ones', () => {
    // A quarter of 0.6 of the indicated airspeed is left: 250 / 8 m of height, where 0.1239 of 2,000 m is lost.
    const against = looksAtAir(2000, -6000, { wind: uneven(tas - 4.5) });
    expect(flown(against.glide).altitudeM).toBeCloseTo(-6000 - (2000 * 0.7 * thin) / 4.5, 4);
    expect(against.looks).toBe(4 * Math.ceil((2000 * 0.7 * thin) / 4.5 / 31.25));
  });

  test('a fall in a thousand pieces and one', () => {
    // A millimetre a second of headway: 55,762 m over 100 m, in pieces of 1 m until it gives up.
    const fall = looksAtAir(100, -6000, { wind: uneven(tas - 0.001) });
    expect(flown(fall.glide).altitudeM).toBeCloseTo(-6000 - (100 * 0.7 * thin) / 0.001, 0);
    expect(fall.looks).toBe(4 * 1001);
    // Nor is it cut at a border any more.
    const [even] = uneven(tas - 0.001).bands;
    if (!even) throw new Error('no band');
    const wind = {
      bands: [
        { ...even, highM: -20_000 },
        { ...even, lowM: -20_000 },
      ],
    };
    expect(looksAtAir(100, -6000, { wind })).toEqual(fall);
  });

  test('where air and wind are the same at all heights, a step is one piece however steep', () => {
    const sinking = looksAtAir(2000, -6000, { sinkingAirMps: 10 });
    expect(flown(sinking.glide).altitudeM).toBeCloseTo(-6000 - (2000 * (0.7 * thin + 10)) / tas, 6);
    expect(sinking.looks).toBe(4);
    const fall = looksAtAir(10_000, -6000, { wind: eastWind(tas - 0.001) });
    expect(flown(fall.glide).altitudeM / 1e6).toBeCloseTo((-6000 - (10_000 * 0.7 * thin) / 0.001) / 1e6, 3);
    expect(fall.looks).toBe(20);
    // In a wind that changes with height it may be another at each.
    expect(looksAtAir(2000, -6000, { sinkingAirMps: 10, wind: uneven(0) }).looks).toBe(16);
    expect(looksAtAir(2000, 150_000, { sinkingAirMps: 1000 }).looks).toBe(4);
    expect(looksAtAir(2000, 150_000, { sinkingAirMps: 1000, wind: uneven(0) }).looks).toBeGreaterThan(4);
    // It is cut where the air begins to be another.
    expect(looksAtAir(2000, HIGHEST_ALTITUDE_M - 10, {}, true).looks).toBe(9);
    // Above, where the air grows thinner, it is flown in pieces: 621 m of height in three.
    expect(looksAtAir(2000, 3000, { sinkingAirMps: 10 }).looks).toBe(12);
  });

  test('a step over a border of the air, or of the winds, is cut there', () => {
    // Two pieces, and in thinning air another try of three looks at the border; one look more to see on which side it is.
    for (const [altitudeM, backward] of [
      [11_030, false],
      [10_990, true],
      [-4970, false],
    ] as const)
      expect(looksAtAir(2000, altitudeM, {}, backward).looks).toBe(9);
    for (const [altitudeM, backward] of [
      [11_100, false],
      [10_990, false],
      [-4900, false],
      [-5010, false],
    ] as const)
      expect(looksAtAir(2000, altitudeM, {}, backward).looks).toBe(4);
    const wind = windProfile([
      { altitudeM: 900, fromDeg: 90, speedMps: 2 },
      { altitudeM: 1000, fromDeg: 90, speedMps: 4 },
    ]);
    expect(looksAtAir(2000, 1020, { wind }).looks).toBe(12);
    expect(looksAtAir(2000, 980, { wind }, true).looks).toBe(16);
    expect(looksAtAir(6000, 1060, { wind }).looks).toBe(20);
  });

  test('a glide that neither sinks nor rises goes on in whole steps', () => {
    const sinkingAirMps = -sinkAt(polar, 30) * thin;
    const level = looksAtAir(2000, -6000, { sinkingAirMps });
    expect(flown(level.glide)).toMatchObject({ altitudeM: -6000 });
    expect(flown(level.glide).timeS).toBeCloseTo(2000 / tas, 9);
    expect(level.looks).toBe(4);
  });

  test('the courses of a way are asked for once, of its last parts at least', () => {
    let asked = 0;
    const way = track(from, destination(from, 70, 90_000));
    const counting = {
      ...way,
      courseAt: (xM: number) => {
        asked += 1;
        return way.courseAt(xM);
      },
    };
    const setting = simple(1, { track: counting });
    const askedBy = (toX: number, speed = 30): number => {
      asked = 0;
      glideForward(setting, speed, 0, toX, 2000);
      return asked;
    };
    // At both ends, in the middle, and at one more place that shows whether the rest lies between them.
    expect(askedBy(20_000)).toBe(4);
    expect(askedBy(20_000, 35)).toBe(0);
    expect(askedBy(19_990)).toBe(4);
    expect(askedBy(20_000)).toBe(0);
    // One step is not worth it.
    expect(askedBy(1500)).toBe(3);
    expect(askedBy(1500)).toBe(3);
    // Thirty-two are kept, and then none.
    for (let i = 0; i < 30; i += 1) expect(askedBy(21_000 + i)).toBe(4);
    expect(askedBy(20_000)).toBe(0);
    expect(askedBy(19_990)).toBe(0);
    expect(askedBy(30_000)).toBe(4);
    expect(askedBy(30_000)).toBe(0);
    expect(askedBy(20_000)).toBe(4);
  });

  test('of a course that turns much, or unevenly, more are asked for, until what lies between is known', () => {
    const askedOf = (latDeg: number, courseDeg: number, toX: number): number => {
      let asked = 0;
      const start = { latDeg, lonDeg: 11 };
      const way = track(start, destination(start, courseDeg, toX));
      const courseAt = (xM: number) => {
        asked += 1;
        return way.courseAt(xM);
      };
      glideForward(simple(1, { track: { ...way, courseAt } }), 30, 0, way.distanceM, 4000);
      return asked;
    };
    expect(askedOf(47, 90, 40_000)).toBe(4);
    // Two steps are five places; one is three, each for itself.
    expect(askedOf(47, 90, 3900)).toBe(4);
    expect(askedOf(47, 90, 1900)).toBe(3);
    // 0.0094 and 0.0114 radians from end to end.
    expect(askedOf(60, 90, 34_600)).toBe(4);
    expect(askedOf(60, 90, 42_000)).toBe(3 + 4);
    // A little turn, most of it where it comes by the pole.
    expect(askedOf(84, 2, 99_990)).toBe(3 + 9);
    // 42 degrees in all.
    expect(askedOf(47, 90, 3_200_000)).toBe(193);
    // Over the pole itself there is nothing between.
    expect(askedOf(89.9, 0, 42_000)).toBe(136);
  });

  test('what lies between the courses that are asked for changes no height', () => {
    const anyStart = fc.record({ latDeg: between(-85, 85), courseDeg: between(0, 360), lengthM: between(1e5, 3e6) });
    fc.assert(
      fc.property(anyStart, between(0, 360), ({ latDeg, courseDeg, lengthM }, fromDeg) => {
        const start = { latDeg, lonDeg: 11 };
        const way = track(start, destination(start, courseDeg, lengthM));
        const wind = windProfile([{ altitudeM: 0, fromDeg, speedMps: 12 }]);
        const setting = simple(1, { track: way, wind });
        const whole = flown(glideForward(setting, 35, 0, way.distanceM, 4000)).altitudeM;
        // In parts of two steps every course is asked for.
        const parts = Math.ceil(way.distanceM / 4000);
        let altitudeM = 4000;
        const at = (i: number) => (i / parts) * way.distanceM;
        for (let i = 0; i < parts; i += 1)
          altitudeM = flown(glideForward(setting, 35, at(i), at(i + 1), altitudeM)).altitudeM;
        expect(Math.abs(whole - altitudeM)).toBeLessThan(1e-6 * (4000 - altitudeM));
      }),
      { numRuns: 30 },
    );
  });

  test('the bands of a wind are made once', () => {
    const { bands } = windProfile([{ altitudeM: 0, fromDeg: 90, speedMps: 5 }]);
    let asked = 0;
    const wind = {
      get bands() {
        asked += 1;
        return bands;
      },
    };
    for (let i = 0; i < 3; i += 1) glideForward(simple(9000, { wind }), 30, 0, 9000, 900);
    expect(asked).toBe(1);
  });
});

describe('winds that change in one direction alone', () => {
  // To the north the wind from the north has no part towards east at any height.
  const north = (speeds: readonly [number, number]) =>
    windProfile([
      { altitudeM: 500, fromDeg: 0, speedMps: speeds[0] },
      { altitudeM: 1500, fromDeg: 0, speedMps: speeds[1] },
    ]);
  const onto = (course: number, wind: GlideSetting['wind']) =>
    forward(simple(1, { track: track(equator, destination(equator, course, 5000)), wind }), 30, 1050);

  test('north alone, or east alone, is that along the course', () => {
    const wind = north([0, 10]);
    const { meanHeadwindMps, altitudeM } = onto(0, wind);
    expect(wind.bands[1]?.du).toBeCloseTo(0, 15);
    // From 5.5 m/s at 1,050 m down.
    expect(meanHeadwindMps).toBeCloseTo((5.5 + (altitudeM - 500) / 100) / 2, 1);
    const [below, amid, above] = wind.bands;
    if (!below || !amid || !above) throw new Error('no bands');
    const turned = {
      bands: [below, amid, above].map((band) => ({ ...band, u: band.v, v: 0, du: band.dv, dv: 0 })),
    };
    const east = onto(90, turned);
    expect(east.meanHeadwindMps).toBeCloseTo(meanHeadwindMps, 2);
    expect(east.altitudeM).toBeCloseTo(altitudeM, 1);
    const still = { bands: wind.bands.map((band) => ({ ...band, u: 0, du: 0 })) };
    expect(onto(0, still).meanHeadwindMps).toBeCloseTo(meanHeadwindMps, 6);
  });
});

describe('by the pole, where the course turns', () => {
  const pole = { latDeg: 88.5, lonDeg: 0 };
  const way = track(pole, destination(pole, 60, 300_000));

  test('long steps that are cut at many heights agree with short ones', () => {
    const wind = windProfile(
      [800, 900, 1000, 1100, 1200].map((altitudeM, i) => ({ altitudeM, fromDeg: 40 * i, speedMps: 4 + 2 * i })),
    );
    for (const [fromX, toX] of [
      [0, 9000],
      [140_000, 149_000],
      [291_000, 300_000],
    ] as const) {
      const by = (maxStepM: number) =>
        flown(glideForward(simple(1, { track: way, wind, maxStepM }), 30, fromX, toX, 1190));
      const coarse = by(9000);
      const fine = by(50);
      expect(Math.abs(coarse.altitudeM - fine.altitudeM)).toBeLessThan(0.05);
      expect(Math.abs(coarse.timeS - fine.timeS)).toBeLessThan(0.05);
    }
  });

  // Level flight in even air: sinking and rising air are the same. The wind is faster than the glider, and carries it on
  // for as long as the part across the course is slower.
  test('headway ends where the wind across is as fast as the glider, forward and backward', () => {
    const thin = tasPerIas(STANDARD_AIR, LOWEST_AIR_M);
    const sinkingAirMps = -sinkAt(polar, 30) * thin;
    // Half metres are closed in on by halves of a step, as few as it takes; steps are shorter near the pole.
    for (const [fromDeg, backward, most] of [
      [240, false, 404],
      [200, false, 267],
      [260, false, 508],
      [300, true, 590],
      [320, true, 566],
    ] as const) {
      const wind = windProfile([{ altitudeM: 0, fromDeg, speedMps: 30 }]);
      const { air, looks } = watchedAir();
      const setting = simple(1, { track: way, wind, sinkingAirMps, air, maxStepM: 5000 });
      const across = (xM: number) => Math.abs(components(windAt(wind, 0), way.courseAt(xM)).crossMps) - 30 * thin;
      let [slow, fast] = backward ? [way.distanceM, 0] : [0, way.distanceM];
      expect(across(slow)).toBeLessThan(0);
      while (Math.abs(fast - slow) > 0.01) {
        const middle = (slow + fast) / 2;
        // The first place on the way at which it is too fast.
        const step = (middle - slow) / 50;
        const crossed = Array.from({ length: 50 }, (_, i) => slow + step * (i + 1)).some((xM) => across(xM) > 0);
        if (crossed) fast = middle;
        else slow = middle;
      }
      const before = looks();
      const stopped = (backward ? glideBackward : glideForward)(setting, 30, 0, way.distanceM, -6000);
      if (!stopped.problem) throw new Error('arrived');
      expect(looks() - before).toBeLessThanOrEqual(most);
      expect(stopped.reason).toBe('crosswind');
      // Near the pole the course is taken in steps so short that it turns evenly in each.
      expect(Math.abs(stopped.xM - slow)).toBeLessThan(3);
      expect(stopped.tasMps).toBeCloseTo(30 * thin, 9);
      expect(Math.abs(stopped.crossMps)).toBeCloseTo(30 * thin, 3);
      expect(stopped.altitudeM).toBe(-6000);
    }
  });
});

test('a part from anywhere to anywhere ends just there, and its mean headwind is that of the part', () => {
  const wind = windProfile([{ altitudeM: 0, fromDeg: 90, speedMps: 8 }]);
  const setting = simple(1, { track: track(equator, destination(equator, 90, 90_000)), wind });
  for (let i = 0; i < 60; i += 1) {
    const [fromX, toX] = [1000 + i / 7, 12_000 + 13 * i + i / 3];
    const points = glidePath(setting, 30, fromX, toX, 2000);
    expect(points[0]?.xM).toBe(fromX);
    expect(points.at(-1)?.xM).toBe(toX);
    expect(points).toHaveLength(1 + Math.ceil((toX - fromX) / 2000));
  }
  // Nine ninths of this are a little more than it.
  expect((16_081.92 / 9) * 9).not.toBe(16_081.92);
  expect(glidePath(setting, 30, 0, 16_081.92, 2000).at(-1)?.xM).toBe(16_081.92);
  expect(flown(glideForward(setting, 30, 40_000, 60_000, 2000)).meanHeadwindMps).toBeCloseTo(8, 9);
  expect(flown(glideBackward(setting, 30, 40_000, 60_000, 2000)).meanHeadwindMps).toBeCloseTo(8, 9);
});

describe('wrong use', () => {
  test('says what is wrong', () => {
    expect(() => glideForward(simple(1000), -1, 0, 1000, 500)).toThrow(
      'a glide needs finite numbers, an airspeed above zero and an end after its beginning',
    );
    expect(() => glideForward(simple(1000), Infinity, 0, 1000, 500)).toThrow('a glide needs finite numbers');
    expect(() => glideForward(simple(1000, { maxStepM: -5 }), 30, 0, 1000, 500)).toThrow('not a step: -5 m');
    expect(() => glideForward(simple(1000, { maxStepM: 0 }), 30, 0, 1000, 500)).toThrow('not a step: 0 m');
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
