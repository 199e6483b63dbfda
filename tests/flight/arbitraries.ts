/** Flights for the property tests: everything that a plan could hold, drawn at random. */
import fc from 'fast-check';
import {
  type Air,
  destination,
  type GlideSetting,
  type LegInput,
  type Polar,
  polarFromFigures,
  type Track,
  track,
  type WindLayer,
  windProfile,
} from '../../server/flight/index.ts';

/** At least this many cases for every property. */
export const cases = { numRuns: 1000 };

/**
 * A number of a range. Doubles by themselves are drawn evenly over all that there are, of which half lie below 1e-150:
 * so most are drawn evenly over the range, and some of them still as they come.
 */
export const between = (min: number, max: number): fc.Arbitrary<number> =>
  fc.oneof(
    { weight: 3, arbitrary: fc.noBias(fc.integer({ min: 0, max: STEPS })).map((n) => min + ((max - min) * n) / STEPS) },
    { weight: 1, arbitrary: fc.double({ min, max, noNaN: true }) },
  );
const STEPS = 2 ** 30;

export const anyPolar: fc.Arbitrary<Polar> = fc
  .record({ ratio: between(18, 60), speed: between(20, 33), share: between(0.7, 0.95), mass: between(200, 700) })
  .map(({ ratio, speed, share, mass }) => {
    const made = polarFromFigures(
      {
        bestGlideRatio: ratio,
        bestGlideSpeedMps: speed,
        minimumSinkMps: (speed / ratio) * share,
        minimumSinkSpeedMps: null,
      },
      mass,
    );
    if (made.refused) throw new Error(made.refused);
    return made.polar;
  });

export const anyAir: fc.Arbitrary<Air> = fc.record({ qnhPa: between(95_000, 105_000), deltaTK: between(-30, 30) });

export const anyLayers = (fastest: number): fc.Arbitrary<WindLayer[]> =>
  fc.array(fc.record({ altitudeM: between(-200, 4000), fromDeg: between(0, 360), speedMps: between(0, fastest) }), {
    maxLength: 4,
  });

export const anyTrack = (longest: number): fc.Arbitrary<Track> =>
  fc
    .record({
      latDeg: between(-70, 70),
      lonDeg: between(-180, 180),
      course: between(0, 360),
      distance: between(1, longest),
    })
    .map(({ latDeg, lonDeg, course, distance }) => {
      const from = { latDeg, lonDeg };
      return track(from, destination(from, course, distance));
    });

export const anySetting = (longest: number, fastestWind = 10): fc.Arbitrary<GlideSetting> =>
  fc
    .record({
      track: anyTrack(longest),
      polar: anyPolar,
      heavier: between(0.8, 1.6),
      share: between(0.5, 1.2),
      sinkingAirMps: between(0, 1),
      air: anyAir,
      layers: anyLayers(fastestWind),
    })
    .map(({ heavier, layers, ...rest }) => ({
      ...rest,
      massKg: rest.polar.massKg * heavier,
      wind: windProfile(layers),
    }));

/** Fast enough to make headway in the winds above at any altitude of these tests. */
export const anySpeed = between(22, 60);
export const anyAltitude = between(-300, 4000);

export const anyLeg = (longest: number, fastestWind = 10): fc.Arbitrary<LegInput> =>
  fc
    .record({
      setting: anySetting(longest, fastestWind),
      departAltitudeM: anyAltitude,
      climbs: fc.array(fc.record({ share: between(0, 1.1), toAltitudeM: anyAltitude }), { maxLength: 2 }),
      destination: fc.record({
        elevationM: between(-100, 1500),
        reserveM: between(0, 500),
        altimeterM: between(0, 100),
      }),
      speed: fc.oneof(
        fc.record({ kind: fc.constant('indicated' as const), indicatedMps: anySpeed }),
        fc.record({ kind: fc.constant('bestGlide' as const) }),
        fc.record({ kind: fc.constant('maccready' as const), climbMps: between(0, 5) }),
      ),
      limits: fc.record({
        vsMps: between(15, 20),
        vneMps: between(55, 80),
        vnoMps: fc.option(between(40, 55), { nil: null }),
      }),
    })
    .map(({ climbs, ...rest }) => ({
      ...rest,
      climbs: climbs.map(({ share, toAltitudeM }) => ({ afterM: share * rest.setting.track.distanceM, toAltitudeM })),
    }));

/** A day in the years of the magnetic model. */
export const anyDate = fc
  .date({ min: new Date('2025-01-01'), max: new Date('2029-12-31'), noInvalidDate: true })
  .map((date) => ({
    year: date.getUTCFullYear(),
    month: date.getUTCMonth() + 1,
    day: date.getUTCDate(),
  }));

/** The paths of all numbers in a value that are not finite. */
export function notFinite(value: unknown, path = ''): string[] {
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [`${path} ${value}`];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => notFinite(inner, `${path}.${key}`));
}
