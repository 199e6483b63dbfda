/** The bounds of the best glide: the search within them finds what a search among all speeds does. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bestGlideBounds } from '../../server/flight/best-glide.ts';
import {
  bestGlideInWind,
  CALM,
  destination,
  evaluateLeg,
  type GlideSetting,
  glideBackward,
  leastBetween,
  planned,
  STANDARD_AIR,
  track,
  windProfile,
} from '../../server/flight/index.ts';
import { anyLeg, between, cases } from './arbitraries.ts';

const polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };
const from = { latDeg: 47, lonDeg: 11 };

const setting = (change: Partial<GlideSetting> = {}): GlideSetting => ({
  track: track(from, destination(from, 90, 10_000)),
  polar,
  massKg: 300,
  share: 1,
  sinkingAirMps: 0,
  air: STANDARD_AIR,
  wind: CALM,
  ...change,
});

const boundsOf = (of: GlideSetting, askedM = 0, topM = 0) => {
  const bounds = bestGlideBounds(of, askedM, topM);
  if (!bounds) throw new Error('not known');
  return bounds;
};

describe('at one altitude', () => {
  // A meridian's course does not turn.
  const north = track(from, { latDeg: 47.1, lonDeg: 11 });

  test.each([
    [0, 0],
    [8, 0],
    [-8, 0.5],
    [12, 1],
  ])('a headwind of %d m/s and air that sinks at %d m/s: the tangent from there', (speedMps, sinkingAirMps) => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: speedMps < 0 ? 180 : 0, speedMps: Math.abs(speedMps) }]);
    const { low, high } = boundsOf(setting({ track: north, wind, sinkingAirMps }));
    const exact = bestGlideInWind(planned(polar, 300, 1), speedMps, sinkingAirMps);
    expect(low).toBeLessThan(exact);
    expect(high).toBeGreaterThan(exact);
    expect(high - low).toBeLessThan(0.003);
  });

  test('a crosswind: the least of a table', () => {
    const wind = windProfile([{ altitudeM: 0, fromDeg: 70, speedMps: 15 }]);
    const { low, high } = boundsOf(setting({ track: north, wind }));
    // The wind triangle: G = sqrt(V2 - cross2) - head.
    const head = 15 * Math.cos((70 * Math.PI) / 180);
    const cross = 15 * Math.sin((70 * Math.PI) / 180);
    const slope = (v: number) => ((polar.a * v + polar.b) * v + polar.c) / (Math.sqrt(v * v - cross * cross) - head);
    const speeds = Array.from({ length: 40_000 }, (_, i) => 25 + i / 1000);
    const exact = speeds.reduce((best, v) => (slope(v) < slope(best) ? v : best));
    expect(exact).toBeGreaterThan(bestGlideInWind(polar, head, 0) + 1);
    expect(low).toBeLessThan(exact + 1e-3);
    expect(high).toBeGreaterThan(exact - 1e-3);
    expect(high - low).toBeLessThan(0.01);
  });
});

test('the wind at every altitude between counts, and none above', () => {
  const layer = (altitudeM: number, speedMps: number) => ({ altitudeM, fromDeg: 90, speedMps });
  const strongBetween = setting({ wind: windProfile([layer(0, 2), layer(500, 12), layer(1000, 2)]) });
  const strongAbove = setting({ wind: windProfile([layer(0, 2), layer(1000, 2), layer(1500, 12)]) });
  expect(boundsOf(strongBetween, 0, 1000).high).toBeGreaterThan(bestGlideInWind(polar, 11, 0));
  expect(boundsOf(strongAbove, 0, 1000).high).toBeLessThan(bestGlideInWind(polar, 3, 0));
});

test('any leg: no speed beyond the bounds asks less height', () => {
  let widest = 0;
  fc.assert(
    fc.property(anyLeg(80_000, 25), between(0, 1), (leg, share) => {
      const { setting: of, limits, destination: to } = leg;
      const askedM = to.elevationM + to.reserveM + to.altimeterM;
      const required = (v: number) => {
        const glide = glideBackward(of, v, 0, of.track.distanceM, askedM);
        return glide.problem ? Infinity : glide.altitudeM;
      };
      const bounds = bestGlideBounds(of, askedM, askedM + 8000);
      if (!bounds) return;
      widest = Math.max(widest, bounds.high - bounds.low);
      for (const [end, other] of [
        [bounds.low, limits.vsMps],
        [bounds.high, limits.vneMps],
      ] as const) {
        if (Math.sign(other - end) !== (end === bounds.low ? -1 : 1) || required(end) > askedM + 8000) continue;
        expect(required(end)).toBeLessThanOrEqual(required(end + share * (other - end)) + 1e-3);
      }
      // What the leg says is what a search among all speeds finds.
      const best = evaluateLeg({ ...leg, climbs: [], speed: { kind: 'bestGlide' } });
      const all = leastBetween(limits.vsMps, limits.vneMps, required);
      if (all && best.bestGlideIndicatedMps !== null)
        expect(required(best.bestGlideIndicatedMps)).toBeLessThanOrEqual(all.value + 1e-4);
    }),
    { ...cases, numRuns: 1000 },
  );
  expect(widest).toBeGreaterThan(5);
});

test('nothing is said of rising air, of a polar that somewhere does not sink, of a course that turns, of a top below', () => {
  expect(bestGlideBounds(setting({ sinkingAirMps: -0.1 }), 0, 1000)).toBeNull();
  expect(bestGlideBounds(setting({ polar: { ...polar, b: -0.1 } }), 0, 1000)).toBeNull();
  expect(bestGlideBounds(setting({ polar: { ...polar, a: 0 } }), 0, 1000)).toBeNull();
  const far = track({ latDeg: 60, lonDeg: 0 }, { latDeg: 60, lonDeg: 30 });
  expect(bestGlideBounds(setting({ track: far }), 0, 1000)).toBeNull();
  // Beside a pole the two ends have the same course, and the middle has not.
  const overPole = track({ latDeg: 89.9, lonDeg: 0 }, { latDeg: 89.9, lonDeg: 170 });
  expect(bestGlideBounds(setting({ track: overPole }), 0, 1000)).toBeNull();
  expect(bestGlideBounds(setting(), 1000, 999)).toBeNull();
  expect(bestGlideBounds(setting(), 1000, 1000)).not.toBeNull();
});
