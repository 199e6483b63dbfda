import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  CALM,
  components,
  isCalm,
  windAt,
  windFrom,
  windProfile,
  windsBetween,
  windTriangle,
} from '../../server/flight/index.ts';
import { bandAt } from '../../server/flight/wind.ts';
import { anyLayers, between, cases } from './arbitraries.ts';

const EVEN = { lowM: -Infinity, highM: Infinity, fromM: 0, u: 0, v: 0, du: 0, dv: 0 };

describe('layers', () => {
  test('none is calm', () => {
    expect(windAt(windProfile([]), 1234)).toEqual({ u: 0, v: 0 });
    expect(isCalm(CALM)).toBe(true);
    expect(isCalm(windProfile([{ altitudeM: 0, fromDeg: 0, speedMps: 1 }]))).toBe(false);
  });

  test('between two the vector is linear, outside them constant', () => {
    const profile = windProfile([
      { altitudeM: 2000, fromDeg: 270, speedMps: 10 },
      { altitudeM: 1000, fromDeg: 360, speedMps: 6 },
    ]);
    const close = (h: number, u: number, v: number) => {
      expect(windAt(profile, h).u).toBeCloseTo(u, 9);
      expect(windAt(profile, h).v).toBeCloseTo(v, 9);
    };
    close(-500, 0, -6);
    close(1000, 0, -6);
    close(1500, 5, -3);
    close(2000, 10, 0);
    close(9000, 10, 0);
  });

  test('between two altitudes are those of both, and of the layers between', () => {
    const profile = windProfile(
      [1000, 2000, 3000, 4000].map((altitudeM, i) => ({ altitudeM, fromDeg: 180, speedMps: i })),
    );
    const speeds = (lowM: number, highM: number) => windsBetween(profile, lowM, highM).map(({ v }) => v);
    expect(speeds(1500, 3200)).toEqual([0.5, 2.2, 1, 2].map((speed) => expect.closeTo(speed, 9)));
    expect(speeds(-9000, 9000)).toEqual([0, 3, 0, 1, 2, 3].map((speed) => expect.closeTo(speed, 9)));
    expect(speeds(2100, 2900)).toHaveLength(2);
    expect(speeds(2000, 3000)).toHaveLength(2);
    expect(windsBetween(CALM, 0, 1000)).toEqual([
      { u: 0, v: 0 },
      { u: 0, v: 0 },
    ]);
  });

  test('at the same altitude the last one holds', () => {
    const profile = windProfile([
      { altitudeM: 1000, fromDeg: 0, speedMps: 5 },
      { altitudeM: 1000, fromDeg: 180, speedMps: 7 },
    ]);
    expect(windAt(profile, 1000).v).toBeCloseTo(7, 9);
  });

  test('the wind at a layer is that layer, and nowhere stronger than the strongest', () => {
    fc.assert(
      fc.property(anyLayers(30), between(-5000, 20_000), (layers, h) => {
        const profile = windProfile(layers);
        const { u, v } = windAt(profile, h);
        expect(Math.hypot(u, v)).toBeLessThanOrEqual(Math.max(0, ...layers.map((layer) => layer.speedMps)) + 1e-9);
        for (const layer of layers) {
          if (layers.some((other) => other !== layer && Math.abs(other.altitudeM - layer.altitudeM) < 1)) continue;
          const at = windAt(profile, layer.altitudeM);
          const given = windFrom(layer.fromDeg, layer.speedMps);
          expect(at.u).toBeCloseTo(given.u, 6);
          expect(at.v).toBeCloseTo(given.v, 6);
        }
      }),
      cases,
    );
  });

  test('three layers: above the highest its wind', () => {
    const layers = [1000, 2000, 3000].map((altitudeM, i) => ({ altitudeM, fromDeg: 0, speedMps: 5 + 5 * i }));
    expect(windAt(windProfile(layers), 9000).v).toBeCloseTo(-15, 9);
  });

  test('a wind that grows along one axis alone', () => {
    const north = windProfile([
      { altitudeM: 1000, fromDeg: 0, speedMps: 5 },
      { altitudeM: 2000, fromDeg: 0, speedMps: 15 },
    ]);
    expect(windAt(north, 1500).v).toBeCloseTo(-10, 9);
    expect(windAt({ bands: [{ ...EVEN, u: 4, du: 0.01 }] }, 100)).toEqual({ u: 5, v: 0 });
    expect(windAt({ bands: [{ ...EVEN, v: 4, dv: 0.01 }] }, 100)).toEqual({ u: 0, v: 5 });
  });

  test('calm is calm at every altitude and in both directions', () => {
    const aloft = windProfile([
      { altitudeM: 0, fromDeg: 0, speedMps: 0 },
      { altitudeM: 1000, fromDeg: 0, speedMps: 5 },
    ]);
    expect(isCalm(aloft)).toBe(false);
    expect(isCalm({ bands: [EVEN] })).toBe(true);
    for (const part of [{ u: 1 }, { v: 1 }, { du: 1 }, { dv: 1 }])
      expect([part, isCalm({ bands: [{ ...EVEN, ...part }] })]).toEqual([part, false]);
  });

  test('layers a millimetre apart are two, closer ones are one', () => {
    const apart = (altitudeM: number) =>
      windProfile([
        { altitudeM: 0, fromDeg: 0, speedMps: 5 },
        { altitudeM, fromDeg: 180, speedMps: 7 },
      ]);
    expect(windAt(apart(0.001), 0).v).toBeCloseTo(-5, 9);
    expect(windAt(apart(0.0009), 0).v).toBeCloseTo(7, 9);
  });

  test('a border belongs to the band below it', () => {
    const { bands } = windProfile([1000, 2000].map((altitudeM) => ({ altitudeM, fromDeg: 0, speedMps: altitudeM })));
    expect([999, 1000, 1001, 2000, 2001].map((hM) => bandAt(bands, hM))).toEqual([0, 0, 1, 1, 2]);
  });

  test('a profile without a band is calm', () => {
    expect(windAt({ bands: [] }, 100)).toEqual({ u: 0, v: 0 });
  });

  test('wrong use throws', () => {
    expect(() => windProfile([{ altitudeM: Number.NaN, fromDeg: 0, speedMps: 1 }])).toThrow(RangeError);
    expect(() => windProfile([{ altitudeM: 7, fromDeg: 8, speedMps: -9 }])).toThrow(
      'not a wind layer: 7 m, from 8 degrees, -9 m/s',
    );
    expect(() => windProfile([{ altitudeM: 0, fromDeg: 0, speedMps: -1 }])).toThrow(RangeError);
    expect(() => windProfile([{ altitudeM: 0, fromDeg: 0, speedMps: Infinity }])).toThrow(RangeError);
  });
});

describe('the triangle', () => {
  test('signs: headwind against, crosswind from the right, correction towards it', () => {
    const right = windTriangle(30, 360, windFrom(90, 10));
    expect(right).toMatchObject({ problem: null });
    expect(right.crossMps).toBeCloseTo(10, 9);
    expect(right.headMps).toBeCloseTo(0, 9);
    if (!right.problem) expect(right.correctionDeg).toBeGreaterThan(0);
    expect(components(windFrom(20, 10), 20).headMps).toBeCloseTo(10, 9);
  });

  test('holds: airspeed along the heading and wind add to the ground speed along the course', () => {
    fc.assert(
      fc.property(
        between(10, 80),
        between(0, 360),
        between(0, 360),
        between(0, 40),
        (tas, course, fromDeg, speedMps) => {
          const wind = windFrom(fromDeg, speedMps);
          const solved = windTriangle(tas, course, wind);
          const { headMps, crossMps } = components(wind, course);
          expect(headMps).toBeCloseTo(speedMps * Math.cos(((fromDeg - course) * Math.PI) / 180), 9);
          expect(crossMps).toBeCloseTo(speedMps * Math.sin(((fromDeg - course) * Math.PI) / 180), 9);
          if (solved.problem) {
            const blown = tas <= Math.abs(crossMps) || Math.sqrt(tas ** 2 - crossMps ** 2) <= headMps + 1e-9;
            expect(blown).toBe(true);
            return;
          }
          const heading = (solved.headingDeg * Math.PI) / 180;
          const way = (course * Math.PI) / 180;
          expect(tas * Math.sin(heading) + wind.u).toBeCloseTo(solved.groundSpeedMps * Math.sin(way), 6);
          expect(tas * Math.cos(heading) + wind.v).toBeCloseTo(solved.groundSpeedMps * Math.cos(way), 6);
        },
      ),
      cases,
    );
  });

  test('without a solution says why', () => {
    expect(windTriangle(20, 0, windFrom(90, 20)).problem).toBe('crosswind');
    expect(windTriangle(20, 0, windFrom(0, 20)).problem).toBe('headwind');
    expect(windTriangle(0, 0, windFrom(0, 0)).problem).toBe('crosswind');
    expect(windTriangle(Number.NaN, 0, windFrom(0, 1)).problem).toBe('headwind');
    expect(windTriangle(Infinity, 0, windFrom(0, 1)).problem).toBe('headwind');
  });
});
