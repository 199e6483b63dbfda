/**
 * MacCready's theory on the quadratic polar. A published example with all inputs was not found: worked values are
 * derived, not published, on an invented polar, each confirmed by numeric minimisation. S-11 and S-12 were read second
 * hand.
 */
import { describe, expect, test } from 'vitest';
import {
  atMass,
  bestGlideInWind,
  bestGlideRatio,
  bestGlideSpeed,
  crossCountrySpeed,
  evaluateLeg,
  massFactor,
  minimumSink,
  minimumSinkSpeed,
  type Polar,
  polarFromPoints,
  sinkAt,
  speedToFly,
  windProfile,
} from '../../server/flight/index.ts';
import { KMH, leg, present, rows, setting } from './table.ts';

const polar: Polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };

describe('worked values (derived; 0.01 km/h, 0.001 m/s, 0.1 m)', () => {
  test('S-20, S-1: minimum sink', () => {
    expect(minimumSinkSpeed(polar) / KMH).toBeCloseTo(78.75, 2);
    expect(Math.abs(minimumSink(polar) - 0.5944)).toBeLessThan(0.001);
  });
  test('S-21, S-2, S-3: best glide', () => {
    expect(Math.abs(bestGlideSpeed(polar) / KMH - 104.957)).toBeLessThan(0.01);
    expect(Math.abs(sinkAt(polar, bestGlideSpeed(polar)) - 0.6792)).toBeLessThan(0.001);
    expect(Math.abs(bestGlideRatio(polar) - 42.927)).toBeLessThan(0.001);
  });
  test.each([
    ['S-22', 0.5, 0, 122.744, 0.8333, 40.915, 46.029],
    ['S-23', 1, 0, 138.261, 1.0316, 37.229, 68.055],
    ['S-24', 2, 0, 164.973, 1.5122, 30.304, 93.943],
    ['S-25', 3, 0, 187.926, 2.0659, 25.268, 111.289],
    ['S-26', 4, 0, 208.365, 2.6685, 21.69, 124.985],
    ['S-27', 2, 1, 187.926, 2.0659, 17.027, 74.192],
  ])('%s, S-4, S-6: climb %d m/s, air sinking %d m/s', (_, climb, sinking, kmh, sink, glide, average) => {
    const speed = speedToFly(polar, climb, sinking);
    expect(Math.abs(speed / KMH - kmh)).toBeLessThan(0.01);
    expect(Math.abs(sinkAt(polar, speed) - sink)).toBeLessThan(0.001);
    expect(Math.abs(speed / (sinkAt(polar, speed) + sinking) - glide)).toBeLessThan(0.001);
    expect(Math.abs(crossCountrySpeed(polar, speed, climb, sinking) / KMH - average)).toBeLessThan(0.01);
  });
  test.each([
    ['S-28', 10, 117.498, 0.7797, 29.033],
    ['S-29', -10, 98.097, 0.6406, 58.149],
  ])('%s, S-5: headwind %d m/s', (_, head, kmh, sink, glide) => {
    const speed = bestGlideInWind(polar, head, 0);
    expect(Math.abs(speed / KMH - kmh)).toBeLessThan(0.01);
    expect(Math.abs(sinkAt(polar, speed) - sink)).toBeLessThan(0.001);
    expect(Math.abs((speed - head) / sinkAt(polar, speed) - glide)).toBeLessThan(0.001);
  });
});

test.each(rows('speed-to-fly-derived.csv'))(
  'table: climb $maccready_ms, sinking $air_sink_ms, headwind $headwind_ms',
  (row) => {
    const climb = Number(row.maccready_ms);
    const sinking = Number(row.air_sink_ms);
    const head = Number(row.headwind_ms);
    const speed = climb > 0 ? speedToFly(polar, climb, sinking) : bestGlideInWind(polar, head, sinking);
    expect(Math.abs(speed - Number(row.speed_ms))).toBeLessThan(1e-4);
    expect(Math.abs(sinkAt(polar, speed) - Number(row.polar_sink_ms))).toBeLessThan(1e-4);
    expect(Math.abs((speed - head) / (sinkAt(polar, speed) + sinking) - Number(row.ground_glide_ratio))).toBeLessThan(
      1e-3,
    );
    if (row.xc_speed_kmh) {
      expect(Math.abs(crossCountrySpeed(polar, speed, climb, sinking) / KMH - Number(row.xc_speed_kmh))).toBeLessThan(
        1e-3,
      );
    }
    if (climb === 0) {
      // The leg's own search, near sea level, finds the same speed and glide.
      const wind = windProfile([{ altitudeM: 0, fromDeg: head < 0 ? 180 : 0, speedMps: Math.abs(head) }]);
      const flown = evaluateLeg(
        leg(setting(polar, 10, { wind, sinkingAirMps: sinking }), 30, { speed: { kind: 'bestGlide' } }),
      );
      if (flown.problem) throw new Error(flown.problem);
      expect(Math.abs(flown.indicatedMps - Number(row.speed_ms))).toBeLessThan(0.002);
      expect(Math.abs(present(flown.glideRatioOverGround) - Number(row.ground_glide_ratio))).toBeLessThan(0.005);
    }
  },
);

test('S-7: the share of time climbing is sink/(climb + sink)', () => {
  const speed = speedToFly(polar, 2, 0);
  const average = crossCountrySpeed(polar, speed, 2, 0);
  expect(1 - average / speed).toBeCloseTo(sinkAt(polar, speed) / (2 + sinkAt(polar, speed)), 12);
});

test('S-8: mass m0 to m: a/r, b, c r', () => {
  const r = massFactor(450, 300);
  const heavy = atMass(polar, 450);
  expect(heavy.a).toBeCloseTo(polar.a / r, 15);
  expect(heavy.b).toBe(polar.b);
  expect(heavy.c).toBeCloseTo(polar.c * r, 15);
});

test('S-10: the speed for a climb does not depend on the wind; the height for the leg does', () => {
  const at = (headMps: number) => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 0, speedMps: headMps }]);
    const input = leg(setting(polar, 20_000, { wind }), 30, {
      departAltitudeM: 1000,
      speed: { kind: 'maccready', climbMps: 2 },
    });
    const flown = evaluateLeg(input);
    if (flown.problem) throw new Error(flown.problem);
    return flown;
  };
  expect(at(10).indicatedMps).toBe(at(0).indicatedMps);
  expect(at(10).arriveAltitudeM).toBeLessThan(at(0).arriveAltitudeM);
});

test('S-11: a polar from the drag law: climb over the sink at best glide is x3 - 1/x; at x = 1.2, 0.8947', () => {
  // The law itself is not a quadratic; laid through three of its points around x it obeys MacCready's equation there.
  const x = 1.2;
  const drag = (v: number) => (v ** 3 + 1 / v) / 2;
  const points = [x - 1e-3, x, x + 1e-3].map((v) => ({ speedMps: v, sinkMps: drag(v) }));
  const made = polarFromPoints(points, 300);
  if (made.refused) throw new Error(made.refused);
  expect(x ** 3 - 1 / x).toBeCloseTo(0.8947, 4);
  expect(speedToFly(made.polar, x ** 3 - 1 / x, 0)).toBeCloseTo(x, 5);
});

test("S-12: climb + sink(v) = v sink'(v)", () => {
  for (const climb of [0, 0.5, 1, 3, 5]) {
    const speed = speedToFly(polar, climb, 0);
    expect(climb + sinkAt(polar, speed)).toBeCloseTo(speed * (2 * polar.a * speed + polar.b), 12);
  }
});

test('below minimum sink the speed is that of minimum sink: strongly rising air, strong tailwind', () => {
  expect(speedToFly(polar, 0, -5)).toBe(minimumSinkSpeed(polar));
  expect(bestGlideInWind(polar, -1, -5)).toBe(minimumSinkSpeed(polar));
});

test('the half-the-wind rule: into 10 m/s, 122.96 km/h gives 28.91 against 29.03', () => {
  const rule = bestGlideSpeed(polar) + 5;
  expect(rule / KMH).toBeCloseTo(122.96, 2);
  expect((rule - 10) / sinkAt(polar, rule)).toBeCloseTo(28.91, 2);
});

test('three points (40, 1.9), (50, 2.1), (70, 3.82) give 0.0022, -0.178, 5.5 (1e-12)', () => {
  const made = polarFromPoints(
    [
      { speedMps: 40, sinkMps: 1.9 },
      { speedMps: 50, sinkMps: 2.1 },
      { speedMps: 70, sinkMps: 3.82 },
    ],
    300,
  );
  if (made.refused) throw new Error(made.refused);
  expect(Math.abs(made.polar.a - 0.0022)).toBeLessThan(1e-12);
  expect(Math.abs(made.polar.b + 0.178)).toBeLessThan(1e-12);
  expect(Math.abs(made.polar.c - 5.5)).toBeLessThan(1e-12);
  expect(made.residuals.maxMps).toBeLessThan(1e-12);
});
