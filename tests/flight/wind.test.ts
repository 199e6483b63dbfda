import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { CALM, components, isCalm, windAt, windFrom, windProfile, windTriangle } from '../../server/flight/index.ts';
import { anyLayers, between, cases } from './arbitraries.ts';

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

  test('wrong use throws', () => {
    expect(() => windProfile([{ altitudeM: Number.NaN, fromDeg: 0, speedMps: 1 }])).toThrow(RangeError);
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
  });
});
