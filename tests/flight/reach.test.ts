/** Fields in reach: against the leg evaluator, against plain looking everywhere, and against themselves. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  destination,
  evaluateLeg,
  farthestReach,
  type GlidePoint,
  glideForward,
  glideTo,
  inReachFrom,
  inSpace,
  type Landable,
  type Landables,
  leastFrom,
  placeIndex,
  polarFromFigures,
  type ReachSetting,
  reachFrom,
  STANDARD_AIR,
  straight,
  stretchesWithout,
  track,
  windProfile,
  worstPoint,
} from '../../server/flight/index.ts';
import { anyAir, anyLayers, anyPolar, between, cases } from './arbitraries.ts';

const home = { latDeg: 47.2, lonDeg: 19.4 };

const anyReach = (fastest: number): fc.Arbitrary<ReachSetting> =>
  fc
    .record({
      polar: anyPolar,
      share: between(0.5, 1),
      sinkingAirMps: between(0, 0.5),
      air: anyAir,
      layers: anyLayers(fastest),
      vsMps: between(15, 20),
      vneMps: between(55, 80),
    })
    .map(({ layers, ...rest }) => ({ ...rest, massKg: rest.polar.massKg, wind: windProfile(layers) }));

/** Fields round a place, up to 40 km away. */
const anyFields = (most: number): fc.Arbitrary<Landable[]> =>
  fc.array(
    fc
      .record({ course: between(0, 360), distance: between(0, 40_000), askedAltitudeM: between(0, 900) })
      .map(({ course, distance, askedAltitudeM }) => ({
        position: destination(home, course, distance),
        askedAltitudeM,
      })),
    { maxLength: most },
  );

function landables(fields: readonly Landable[]): Landables<Landable> {
  const index = placeIndex(fields.map(({ position }) => position));
  const of = (ids: readonly number[]) => ids.map((i) => fields[i] as Landable);
  return {
    lowestAskedM: Math.min(...fields.map(({ askedAltitudeM }) => askedAltitudeM)),
    within: (position, radiusM) => of(index.within(position, radiusM)),
    nearest: (position, count) => of(index.nearest(position, count)),
  };
}

/** A straight path that loses height evenly. */
const anyPath = fc
  .record({
    course: between(0, 360),
    length: between(100, 40_000),
    fromM: between(600, 2500),
    loss: between(0, 1500),
  })
  .map(({ course, length, fromM, loss }) => {
    const way = track(home, destination(home, course, length));
    const points: GlidePoint[] = [];
    for (let i = 0; i <= 20; i += 1)
      points.push({ xM: (way.distanceM * i) / 20, altitudeM: fromM - (loss * i) / 20, timeS: 0 });
    return { track: way, points };
  });

const limits = (setting: ReachSetting) => ({ vsMps: setting.vsMps, vneMps: setting.vneMps, vnoMps: null });

describe('the best glide to a field', () => {
  test('is that of the leg evaluator', () => {
    fc.assert(
      fc.property(anyReach(12), anyFields(1), (setting, [field]) => {
        if (!field) return;
        const way = track(home, field.position);
        const glide = glideTo(setting, home, field);
        const leg = evaluateLeg({
          setting: { ...setting, track: way },
          departAltitudeM: 1500,
          climbs: [],
          destination: { elevationM: field.askedAltitudeM, reserveM: 0, altimeterM: 0 },
          speed: { kind: 'bestGlide' },
          limits: limits(setting),
        });
        if (way.distanceM < 1) return;
        if (leg.requiredDepartAltitudeM === null || leg.problem) expect(glide).toBeNull();
        else {
          // A few centimetres more at most, or a little of kilometres of height, and never less.
          const over = (glide?.requiredM ?? Infinity) - leg.requiredDepartAltitudeM;
          expect(over).toBeGreaterThan(-0.02);
          expect(over).toBeLessThan(Math.max(0.1, (leg.requiredDepartAltitudeM - field.askedAltitudeM) * 5e-5));
        }
      }),
      cases,
    );
  });

  test('arrives at the height asked when flown forward', () => {
    fc.assert(
      fc.property(anyReach(10), anyFields(1), (setting, [field]) => {
        const glide = field && glideTo(setting, home, field);
        if (!field || !glide || glide.indicatedMps === 0) return;
        const way = track(home, field.position);
        const flown = glideForward({ ...setting, track: way }, glide.indicatedMps, 0, way.distanceM, glide.requiredM);
        expect(flown.problem).toBeNull();
        expect(flown.altitudeM).toBeCloseTo(field.askedAltitudeM, 1);
      }),
      cases,
    );
  });

  test('overhead a field is at the height it asks', () => {
    const setting = { ...still, askedAltitudeM: 500 };
    expect(glideTo(setting, home, { position: home, askedAltitudeM: 500 })).toEqual({
      distanceM: 0,
      requiredM: 500,
      indicatedMps: 0,
    });
  });
});

const made = polarFromFigures(
  { bestGlideRatio: 30, bestGlideSpeedMps: 25, minimumSinkMps: 0.7, minimumSinkSpeedMps: null },
  400,
);
if (made.refused) throw new Error(made.refused);
const still: ReachSetting = {
  polar: made.polar,
  massKg: 400,
  share: 1,
  sinkingAirMps: 0,
  air: STANDARD_AIR,
  wind: windProfile([]),
  vsMps: 17,
  vneMps: 60,
};

describe('bounds', () => {
  test('never leave out a field that is in reach', () => {
    fc.assert(
      fc.property(anyReach(20), anyFields(12), between(300, 3000), (setting, fields, altitudeM) => {
        const all = fields.filter((field) => {
          const glide = glideTo(setting, home, field);
          return glide !== null && glide.requiredM <= altitudeM + 1e-3;
        });
        const found = reachFrom(setting, home, altitudeM, landables(fields)).map(({ field }) => field);
        expect(new Set(found)).toEqual(new Set(all));
        const farthest = farthestReach(setting, altitudeM, landables(fields).lowestAskedM);
        for (const { position } of all) expect(track(home, position).distanceM).toBeLessThanOrEqual(farthest + 0.1);
      }),
      cases,
    );
  });

  test('nor the field that needs the least', () => {
    fc.assert(
      fc.property(anyReach(20), anyFields(12), (setting, fields) => {
        const least = Math.min(...fields.map((field) => glideTo(setting, home, field)?.requiredM ?? Infinity));
        const found = fields.length === 0 ? null : leastFrom(setting, home, landables(fields));
        expect(found?.requiredM ?? Infinity).toBe(least);
      }),
      cases,
    );
  });

  test('the straight line is never longer than the way over the ground', () => {
    fc.assert(
      fc.property(between(-90, 90), between(0, 360), between(0, 500_000), (latDeg, course, distance) => {
        const from = { latDeg, lonDeg: 10 };
        const to = destination(from, course, distance);
        const straightM = straight(inSpace(from), inSpace(to));
        expect(straightM).toBeLessThanOrEqual(distance + 1e-6);
        expect(straightM).toBeGreaterThan(distance * 0.9995 - 1e-6);
      }),
      cases,
    );
  });

  test('the index finds every place within a radius, over the antimeridian and the poles', () => {
    fc.assert(
      fc.property(
        fc.array(fc.record({ latDeg: between(-90, 90), lonDeg: between(-180, 180) }), { maxLength: 60 }),
        fc.record({ latDeg: between(-90, 90), lonDeg: between(-180, 180) }),
        between(0, 3_000_000),
        (places, from, radius) => {
          const found = new Set(placeIndex(places).within(from, radius));
          for (const [i, place] of places.entries())
            if (track(from, place).distanceM <= radius) expect(found.has(i)).toBe(true);
        },
      ),
      cases,
    );
  });
});

const SOME = { numRuns: 300 };

describe('stretches of a leg without a field', () => {
  test('are those that plain looking everywhere finds', () => {
    fc.assert(
      fc.property(anyReach(12), anyFields(6), anyPath, (setting, fields, path) => {
        const all = landables(fields);
        const stretches = fields.length === 0 ? [] : stretchesWithout(setting, path, all);
        if (fields.length === 0) return;
        const length = path.track.distanceM;
        for (let i = 0; i <= 100; i += 1) {
          const xM = (length * i) / 100;
          const at = path.points[Math.min(19, Math.floor(i / 5))] as GlidePoint;
          const next = path.points[Math.min(19, Math.floor(i / 5)) + 1] as GlidePoint;
          const altitudeM = at.altitudeM + ((xM - at.xM) / (next.xM - at.xM)) * (next.altitudeM - at.altitudeM);
          const least = leastFrom(setting, path.track.positionAt(xM), all);
          const spare = altitudeM - (least?.requiredM ?? Infinity);
          const inside = stretches.some(({ fromM, toM }) => xM >= fromM - 5 && xM <= toM + 5);
          const wellInside = stretches.some(({ fromM, toM }) => xM > fromM + 5 && xM < toM - 5);
          if (spare < -3) expect(inside).toBe(true);
          if (spare > 3) expect(wellInside).toBe(false);
        }
      }),
      SOME,
    );
  });

  test('another field makes none longer; more height makes none longer', () => {
    fc.assert(
      fc.property(anyReach(12), anyFields(6), anyPath, between(0, 500), (setting, fields, path, more) => {
        const [extra, ...rest] = fields;
        if (!extra || rest.length === 0) return;
        const few = stretchesWithout(setting, path, landables(rest));
        const many = stretchesWithout(setting, path, landables(fields));
        const higher = stretchesWithout(
          setting,
          { ...path, points: path.points.map((point) => ({ ...point, altitudeM: point.altitudeM + more })) },
          landables(rest),
        );
        for (const other of [many, higher]) {
          for (const { fromM, toM } of other) {
            const within = few.some((one) => one.fromM <= fromM + 30 && one.toM >= toM - 30);
            if (toM - fromM > 60) expect(within).toBe(true);
          }
        }
      }),
      SOME,
    );
  });

  test('say what would have kept one: from that altitude the field is in reach, and from less none is', () => {
    fc.assert(
      fc.property(anyReach(12), anyFields(6), anyPath, (setting, fields, path) => {
        if (fields.length === 0) return;
        const all = landables(fields);
        for (const { worst, fromM, toM } of stretchesWithout(setting, path, all)) {
          expect(worst.xM).toBeGreaterThanOrEqual(fromM);
          expect(worst.xM).toBeLessThanOrEqual(toM);
          if (!worst.least) continue;
          const from = path.track.positionAt(worst.xM);
          expect(reachFrom(setting, from, worst.least.requiredM + 0.01, all).length).toBeGreaterThan(0);
          expect(reachFrom(setting, from, worst.least.requiredM - 0.01, all)).toEqual([]);
        }
      }),
      SOME,
    );
  });

  // 30:1 in still air: 1000 m of height reach 30 km near the ground (a little more above it, where the air is thinner
  // all speeds and sinks grow alike).
  test('a field at each end: none in the middle, by the glide ratio', () => {
    const far = destination(home, 90, 60_000);
    const fields = [home, far].map((position) => ({ position, askedAltitudeM: 0 }));
    const way = track(home, far);
    const points = [0, 30_000, 60_000].map((xM) => ({ xM, altitudeM: 500, timeS: 0 }));
    const [one, ...more] = stretchesWithout(still, { track: way, points }, landables(fields));
    expect(more).toEqual([]);
    expect(one?.fromM).toBeGreaterThan(14_990);
    expect(one?.fromM).toBeLessThan(15_005);
    expect(one?.toM).toBeGreaterThan(44_995);
    expect(one?.toM).toBeLessThan(45_010);
    expect(one?.worst.xM).toBeCloseTo(30_000, -2);
    expect(one?.worst.least?.requiredM).toBeCloseTo(1000, 0);
  });

  test('a climb on the way ends one', () => {
    const far = destination(home, 90, 60_000);
    const way = track(home, far);
    const points = [
      { xM: 0, altitudeM: 500, timeS: 0 },
      { xM: 40_000, altitudeM: 500, timeS: 0 },
      { xM: 40_000, altitudeM: 2000, timeS: 0 },
      { xM: 60_000, altitudeM: 2000, timeS: 0 },
    ];
    const fields = [{ position: home, askedAltitudeM: 0 }];
    const [one, two] = stretchesWithout(still, { track: way, points }, landables(fields));
    expect(one?.toM).toBe(40_000);
    expect(two).toBeUndefined();
  });

  test('a short gap between two fields is found', () => {
    const far = destination(home, 90, 30_100);
    const way = track(home, far);
    const points = [0, 15_000, 30_100].map((xM) => ({ xM, altitudeM: 500, timeS: 0 }));
    const fields = [home, far].map((position) => ({ position, askedAltitudeM: 0 }));
    const [one] = stretchesWithout(still, { track: way, points }, landables(fields));
    expect((one?.toM ?? 0) - (one?.fromM ?? 0)).toBeGreaterThan(90);
    expect((one?.toM ?? 0) - (one?.fromM ?? 0)).toBeLessThan(125);
  });

  test('the point of no choice lies where the finish comes in reach', () => {
    const far = destination(home, 90, 40_000);
    const way = track(home, far);
    const points = [
      { xM: 0, altitudeM: 500, timeS: 0 },
      { xM: 40_000, altitudeM: 500, timeS: 0 },
    ];
    const field = { position: far, askedAltitudeM: 0 };
    expect(inReachFrom(still, { track: way, points }, field)).toBeCloseTo(25_000, -2);
    expect(inReachFrom(still, { track: way, points }, { ...field, askedAltitudeM: 600 })).toBeNull();
    expect(inReachFrom(still, { track: way, points }, { ...field, askedAltitudeM: -2000 })).toBe(0);
    const worst = worstPoint(still, { track: way, points }, landables([field]));
    expect(worst?.xM).toBe(0);
    expect(worst?.inReach).toEqual([]);
    expect(worst?.least?.requiredM).toBeCloseTo(1333, -1);
  });
});
