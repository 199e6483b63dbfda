/** The bounds of the best glide: the search within them finds what a search among all speeds does. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bestGlideBounds } from '../../server/flight/best-glide.ts';
import {
  bestGlideInWind,
  destination,
  evaluateLeg,
  type GlideSetting,
  glideBackward,
  leastBetween,
  planned,
  STANDARD_AIR,
  tasPerIas,
  track,
  windProfile,
} from '../../server/flight/index.ts';
import { anyLeg, between, cases } from './arbitraries.ts';
import { from, polar, simpleSetting } from './simple.ts';

const setting = (change: Partial<GlideSetting> = {}): GlideSetting => simpleSetting(10_000, change);

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
    const exact = flattest(0, 15 * Math.cos((70 * Math.PI) / 180), 15 * Math.sin((70 * Math.PI) / 180));
    expect(exact).toBeGreaterThan(bestGlideInWind(polar, 15 * Math.cos((70 * Math.PI) / 180), 0) + 1);
    expect([exact - low, high - exact]).toEqual([expect.closeTo(0.001, 5), expect.closeTo(0.001, 5)]);
    // From the other side it is the same.
    const other = boundsOf(
      setting({ track: north, wind: windProfile([{ altitudeM: 0, fromDeg: -70, speedMps: 15 }]) }),
    );
    expect([other.low, other.high]).toEqual([expect.closeTo(low, 9), expect.closeTo(high, 9)]);
  });
});

/**
 * The flattest speed in air that does not change, by the wind triangle, G = sqrt(V2 - cross2) - head: thirds of an interval
 * in which the slope falls and then rises.
 */
function flattest(sinking: number, head: number, cross: number): number {
  const slope = (v: number) => {
    const ground = Math.sqrt(v * v - cross * cross) - head;
    return ground > 0 ? ((polar.a * v + polar.b) * v + polar.c + sinking) / ground : Infinity;
  };
  let [low, high] = [Math.max(cross, head, 20), 200];
  while (high - low > 1e-7) {
    const [one, other] = [low + (high - low) / 3, high - (high - low) / 3];
    if (slope(one) < slope(other) || slope(other) === Infinity) high = other;
    else low = one;
    if (slope(one) === Infinity) low = one;
  }
  return low;
}

describe('between altitudes', () => {
  const north = track(from, { latDeg: 47.1, lonDeg: 11 });
  const winds = (...layers: [altitudeM: number, headMps: number, fromRightMps: number][]) =>
    windProfile(
      layers.map(([altitudeM, head, right]) => ({
        altitudeM,
        fromDeg: (Math.atan2(right, head) * 180) / Math.PI,
        speedMps: Math.hypot(head, right),
      })),
    );
  const [thick, thin] = [300, 2300].map((altitudeM) => tasPerIas(STANDARD_AIR, altitudeM)) as [number, number];
  const closeTo = (speed: number) => expect.closeTo(speed, 4);

  test.each([
    // Head and cross at 300 and at 2300 m; what counts at each end, in true airspeed, and in which air.
    ['more headwind above', [4, 3], [12, 9], [4 / thin, 3 / thin], [12 / thick, 9 / thick]],
    ['less headwind above', [12, 9], [4, 3], [4 / thin, 3 / thin], [12 / thick, 9 / thick]],
    ['a tailwind', [-5, 4], [-11, 6], [-11 / thick, 4 / thin], [-5 / thin, 6 / thick]],
    ['from behind, and from ahead', [-5, 0], [7, 0], [-5 / thick, 0], [7 / thick, 0]],
    ['from the left', [3, -4], [3, -10], [3 / thin, 4 / thin], [3 / thick, 10 / thick]],
    ['from the left below, from the right above', [3, -4], [3, 10], [3 / thin, 0], [3 / thick, 10 / thick]],
    ['from the right below, from the left above', [3, 4], [3, -10], [3 / thin, 0], [3 / thick, 10 / thick]],
  ] as const)('%s', (_, [lowHead, lowCross], [highHead, highCross], slow, fast) => {
    const wind = winds([300, lowHead, lowCross], [2300, highHead, highCross]);
    for (const sinkingAirMps of [0, 0.8]) {
      const { low, high } = boundsOf(setting({ track: north, wind, sinkingAirMps }), 300, 2300);
      expect([low, high]).toEqual([
        closeTo(flattest(sinkingAirMps / thin, slow[0], slow[1]) - 0.001),
        closeTo(flattest(sinkingAirMps / thick, fast[0], fast[1]) + 0.001),
      ]);
    }
  });

  test('deep below the sea the air is as dense as at -5000 m', () => {
    const wind = winds([0, 10, 0]);
    const thickest = tasPerIas(STANDARD_AIR, -5000);
    const { low, high } = boundsOf(setting({ track: north, wind }), -9000, -8000);
    expect([low, high]).toEqual([
      closeTo(flattest(0, 10 / thickest, 0) - 0.001),
      closeTo(flattest(0, 10 / thickest, 0) + 0.001),
    ]);
  });

  test('a course that turns has room for twice its turn, by the strongest wind', () => {
    const east = track(from, destination(from, 90, 100_000));
    const turn = ((east.finalCourseDeg - east.initialCourseDeg) * Math.PI) / 180;
    expect(turn).toBeGreaterThan(0.015);
    // From ahead at the start of it.
    const wind = windProfile([
      { altitudeM: 300, fromDeg: 90, speedMps: 6 },
      { altitudeM: 2300, fromDeg: 90, speedMps: 14 },
    ]);
    const { low, high } = boundsOf(setting({ track: east, wind }), 300, 2300);
    const room = 14 * 2 * turn;
    expect([low, high]).toEqual([
      closeTo(flattest(0, (6 - room) / thin, 0) - 0.001),
      closeTo(flattest(0, (14 + room) / thick, room / thick) + 0.001),
    ]);
  });
});

test('the wind at every altitude between counts, and none above or below', () => {
  const layer = (altitudeM: number, speedMps: number) => ({ altitudeM, fromDeg: 90, speedMps });
  const strongBetween = setting({ wind: windProfile([layer(0, 2), layer(500, 12), layer(1000, 2)]) });
  const strongAbove = setting({ wind: windProfile([layer(0, 2), layer(1000, 2), layer(1500, 12)]) });
  expect(boundsOf(strongBetween, 0, 1000).high).toBeGreaterThan(bestGlideInWind(polar, 11, 0));
  expect(boundsOf(strongAbove, 0, 1000).high).toBeLessThan(bestGlideInWind(polar, 3, 0));
  const strongBelow = setting({ wind: windProfile([layer(0, 12), layer(500, 2), layer(1000, 2)]) });
  expect(boundsOf(strongBelow, 600, 1000).high).toBeLessThan(bestGlideInWind(polar, 3, 0));
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
  expect(bestGlideBounds(setting({ polar: { ...polar, a: -0.001 } }), 0, 1000)).toBeNull();
  // Over the equator both ends have the same course, and the middle has not.
  const overEquator = track({ latDeg: -40, lonDeg: 0 }, { latDeg: 40, lonDeg: 60 });
  expect(Math.abs(overEquator.finalCourseDeg - overEquator.initialCourseDeg)).toBeLessThan(0.1);
  expect(bestGlideBounds(setting({ track: overEquator }), 0, 1000)).toBeNull();
  expect(bestGlideBounds(setting(), 1000, 999)).toBeNull();
  expect(bestGlideBounds(setting(), 1000, 1000)).not.toBeNull();
});
