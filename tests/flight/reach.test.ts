/** Fields in reach: against the leg evaluator, against plain looking everywhere, and against themselves. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  destination,
  evaluateLeg,
  farthestReach,
  type GlidePoint,
  glideAlong,
  glideBackward,
  glideForward,
  glideTo,
  inReachFrom,
  inSpace,
  type Landable,
  type Landables,
  type Least,
  type LegPath,
  type Looks,
  leastFrom,
  type Position,
  placeIndex,
  planned,
  polarFromFigures,
  type ReachSetting,
  reachFrom,
  STANDARD_AIR,
  sinkAt,
  stillLeast,
  straight,
  stretchesWithout,
  type Track,
  tasPerIas,
  track,
  windAt,
  windProfile,
  worstPoint,
} from '../../server/flight/index.ts';
import { anyAir, anyLayers, anyPolar, between, cases } from './arbitraries.ts';
import { glidesFlown } from './simple.ts';

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

/** A setting in the air of {@link still} with a wind, and what else is other. */
const inWind = (fromDeg: number, speedMps: number, change: Partial<ReachSetting> = {}): ReachSetting => ({
  ...still,
  wind: windProfile([{ altitudeM: 0, fromDeg, speedMps }]),
  ...change,
});

/** The best glide, by trying every speed in steps of 0.01 m/s. */
function byTrying(setting: ReachSetting, way: Track, askedM: number): { speed: number; requiredM: number } {
  let best = { speed: Number.NaN, requiredM: Infinity };
  for (let i = 0; setting.vsMps + i / 100 <= setting.vneMps; i += 1) {
    const speed = setting.vsMps + i / 100;
    const flown = glideBackward({ ...setting, track: way }, speed, 0, way.distanceM, askedM);
    if (flown.problem === null && flown.altitudeM < best.requiredM) best = { speed, requiredM: flown.altitudeM };
  }
  return best;
}

describe('the search of the best speed to a field', () => {
  // The first guess, the speeds 6 % to each side and the vertex between them are four; a long glide is flown once more
  // in short steps. Each bracket that the search moves on costs two more.
  // At a limit, and where there is no headway, every speed is looked through: from about 18 on.
  test.each([
    ['still air', 10_000, 0, 0, 17, 60, 4],
    ['still air, far', 40_000, 0, 0, 17, 60, 5],
    ['just short of long steps', 15_990, 0, 0, 17, 60, 4],
    ['just beyond', 16_010, 0, 0, 17, 60, 5],
    ['a headwind', 10_000, 90, 15, 17, 60, 4],
    ['a tailwind', 10_000, 270, 15, 17, 60, 4],
    ['a gale ahead, far', 40_000, 90, 25, 17, 60, 7],
    ['a crosswind, which the guess leaves out', 10_000, 0, 8, 17, 60, 6],
    ['a stronger one', 10_000, 0, 15, 17, 60, 8],
    ['the slowest speed is faster than the best', 10_000, 0, 0, 30, 60, 27],
    ['the fastest is slower', 10_000, 0, 0, 17, 24, 27],
    ['slower, in a headwind', 10_000, 90, 15, 17, 24, 27],
    ['a limit is well beyond the best', 10_000, 90, 15, 30, 60, 4],
    ['only one speed', 10_000, 90, 8, 25, 25, 1],
    ['only one speed, far', 40_000, 90, 8, 25, 25, 2],
    ['a wind from ahead on one side', 10_000, 50, 12, 17, 60, 6],
    ['a wind from behind on one side', 30_000, 230, 12, 17, 60, 5],
    ['a headwind, far', 40_000, 90, 15, 17, 60, 5],
    // A slowest or fastest speed next to the best one: between it and the next bracket every speed is looked through.
    ['a little faster than the slowest speed', 10_000, 0, 8, 25.3, 60, 22],
    ['a little slower than the fastest', 10_000, 0, 8, 17, 26.2, 25],
    // Nearer to one end of its bracket than to the other.
    ['between the slowest speed and the next bracket', 10_000, 0, 5, 24.7, 60, 4],
  ])('%s: over %d m, wind from %d at %d m/s, %d to %d m/s', (_, distance, fromDeg, speedMps, vsMps, vneMps, glides) => {
    const setting = inWind(fromDeg, speedMps, { vsMps, vneMps });
    const field = { position: destination(home, 90, distance), askedAltitudeM: 300 };
    const found = glideTo(setting, home, field);
    const best = byTrying(setting, track(home, field.position), 300);
    expect(found?.distanceM).toBeCloseTo(distance, 6);
    expect(found?.requiredM).toBeGreaterThan(best.requiredM - 0.005);
    expect(found?.requiredM).toBeLessThan(best.requiredM + Math.max(0.02, (best.requiredM - 300) * 5e-5));
    expect(Math.abs((found?.indicatedMps ?? 0) - best.speed)).toBeLessThan(0.3);
    expect(glidesFlown(setting, (one) => glideTo(one, home, field))).toBe(glides);
  });

  test.each([
    ['from ahead', 30, 10_000, 30, 4],
    ['to the south', 160, 10_000, 160, 4],
    ['from behind', 20, 20_000, 200, 5],
  ])('on a course of its own, the wind %s', (_, course, distance, fromDeg, glides) => {
    const setting = inWind(fromDeg, 12);
    const place = { position: destination(home, course, distance), askedAltitudeM: 300 };
    const best = byTrying(setting, track(home, place.position), 300);
    expect(glideTo(setting, home, place)?.requiredM).toBeCloseTo(best.requiredM, 1);
    expect(glidesFlown(setting, (one) => glideTo(one, home, place))).toBe(glides);
  });

  test('long steps are for more than 16 km, and a centimetre away is not overhead', () => {
    const way = track(home, destination(home, 90, 16_000));
    expect(glidesFlown(still, (one) => glideAlong(one, { ...way, distanceM: 16_000 }, 300))).toBe(4);
    const near = track(home, destination(home, 90, 0.01));
    expect(glideAlong(still, { ...near, distanceM: 0.01 }, 300)?.indicatedMps).toBeCloseTo(25, 1);
  });

  test('where only the fastest speed makes headway, it is taken without a search', () => {
    const setting = inWind(0, 24.5, { vneMps: 25 });
    const place = { position: destination(home, 90, 10_000), askedAltitudeM: 300 };
    const best = byTrying(setting, track(home, place.position), 300);
    expect(best.speed).toBe(25);
    expect(glideTo(setting, home, place)?.requiredM).toBe(best.requiredM);
    expect(glidesFlown(setting, (one) => glideTo(one, home, place))).toBe(4);
  });

  // A gale in a few metres of height, which nothing much slower than the best speed gets through: no parabola is laid
  // through a side without headway, every speed between is looked through.
  test('next to a speed without headway', () => {
    const wind = windProfile(
      [
        [340, 3],
        [350, 26],
        [350.5, 26],
        [360.5, 3],
      ].map(([altitudeM = 0, speedMps = 0]) => ({ altitudeM, fromDeg: 90, speedMps })),
    );
    const setting = { ...still, wind };
    const place = { position: destination(home, 90, 10_000), askedAltitudeM: 300 };
    const best = byTrying(setting, track(home, place.position), 300);
    expect(glideTo(setting, home, place)?.requiredM).toBeLessThan(best.requiredM + 0.005);
    expect(glidesFlown(setting, (one) => glideTo(one, home, place))).toBe(25);
  });

  // The guess is made for the wind half way up, where it is calm in this one; the best speed is more than half as fast
  // again, eight brackets away and more, and every speed is looked through.
  test('far from the guess, no more than eight brackets are gone on', () => {
    const place = { position: destination(home, 90, 10_000), askedAltitudeM: 300 };
    for (const speedMps of [22, 23.5]) {
      const wind = windProfile([
        { altitudeM: 490, fromDeg: 90, speedMps },
        { altitudeM: 500, fromDeg: 90, speedMps: 0 },
        { altitudeM: 510, fromDeg: 90, speedMps },
      ]);
      const setting = { ...still, wind };
      const best = byTrying(setting, track(home, place.position), 300);
      expect(best.speed).toBeGreaterThan(25 * 1.06 ** 7.5);
      expect(glideTo(setting, home, place)?.requiredM).toBeCloseTo(best.requiredM, 1);
      expect(glidesFlown(setting, (one) => glideTo(one, home, place))).toBe(40);
    }
  });

  test('no speed makes headway', () => {
    const field = { position: destination(home, 90, 10_000), askedAltitudeM: 300 };
    // From the side as fast as vne.
    expect(glideTo(inWind(0, 25, { vneMps: 24 }), home, field)).toBeNull();
    expect(glideTo(inWind(90, 60, { vneMps: 55 }), home, field)).toBeNull();
    expect(glidesFlown(inWind(90, 60, { vneMps: 55 }), (one) => glideTo(one, home, field))).toBe(18);
  });

  test('of two fields overhead and nearly so, the one a centimetre away is overhead', () => {
    const at = (distance: number) =>
      glideTo(still, home, { position: destination(home, 90, distance), askedAltitudeM: 500 });
    expect(at(0.009)).toMatchObject({ requiredM: 500, indicatedMps: 0 });
    expect(at(0.009)?.distanceM).toBeCloseTo(0.009, 6);
    expect(at(0.02)?.indicatedMps).toBeCloseTo(25, 1);
  });
});

/**
 * The least height that a metre of a glide can cost between two altitudes, by looking at many altitudes and speeds: with
 * the best wind among them along a course that may turn by so much, or, without a course, with the strongest from behind.
 */
function leastSlope(
  setting: ReachSetting,
  lowM: number,
  highM: number,
  courseDeg: number | null,
  turnRad: number,
): number {
  const course = ((courseDeg ?? 0) * Math.PI) / 180;
  const polar = planned(setting.polar, setting.massKg, setting.share);
  let strongest = 0;
  let head = Infinity;
  const altitudes = Array.from({ length: 31 }, (_, i) => lowM + ((highM - lowM) * i) / 30);
  for (const altitudeM of altitudes) {
    const { u, v } = windAt(setting.wind, altitudeM);
    strongest = Math.max(strongest, Math.hypot(u, v));
    head = Math.min(head, -(u * Math.sin(course) + v * Math.cos(course)));
  }
  head = courseDeg === null ? -strongest : Math.max(head - strongest * turnRad, -strongest);
  let least = Infinity;
  for (const altitudeM of altitudes) {
    const thin = tasPerIas(setting.air, altitudeM);
    for (let i = 0; i <= 20_000; i += 1) {
      const v = setting.vsMps + ((setting.vneMps - setting.vsMps) * i) / 20_000;
      const over = v * thin - head;
      if (over > 0) least = Math.min(least, (sinkAt(polar, v) * thin + setting.sinkingAirMps) / over);
    }
  }
  return least;
}

/** Winds of layers, the strongest amid them, and a setting out of the ordinary in everything. */
const LAYERS = [
  { altitudeM: 0, fromDeg: 250, speedMps: 4 },
  { altitudeM: 800, fromDeg: 275, speedMps: 16 },
  { altitudeM: 2000, fromDeg: 310, speedMps: 9 },
  { altitudeM: 4000, fromDeg: 20, speedMps: 30 },
];
const layered: ReachSetting = {
  ...still,
  massKg: 480,
  share: 0.85,
  sinkingAirMps: 0.2,
  air: { qnhPa: 100_500, deltaTK: 12 },
  wind: windProfile(LAYERS),
};

describe('how far a field may lie', () => {
  // 0.5 % more, for the way over the ground against the straight line through the Earth.
  test('in still air, the glide ratio times the height above the lowest field', () => {
    expect(farthestReach(still, 1000, 0)).toBeCloseTo(30 * 1000 * 1.005, 3);
    expect(farthestReach(still, 1000, 400)).toBeCloseTo(30 * 600 * 1.005, 3);
    expect(farthestReach(still, 400, 400)).toBe(0);
    expect(farthestReach(still, 399, 400)).toBe(0);
  });

  test('without end in air that rises as the glider sinks', () => {
    expect(farthestReach({ ...still, sinkingAirMps: -2 }, 1000, 0)).toBe(Infinity);
    expect(farthestReach({ ...still, sinkingAirMps: -0.6 }, 1000, 0)).toBeGreaterThan(100_000);
    expect(farthestReach({ ...still, sinkingAirMps: -2 }, 400, 400)).toBe(0);
  });

  test.each([
    ['a wind, whichever way it blows', inWind(10, 12), 1500, 200],
    ['layers of wind, the strongest amid them', layered, 2000, 0],
    ['the strongest of them above the glide', layered, 700, 100],
    ['between two of them', layered, 1900, 900],
    ['the slowest speed faster than the best', inWind(10, 12, { vsMps: 30 }), 1500, 200],
    ['the fastest speed slower than the best', inWind(10, 2, { vneMps: 21, sinkingAirMps: 1 }), 1500, 200],
    ['sinking air, heavy', inWind(10, 5, { sinkingAirMps: 0.8, massKg: 520, share: 0.7 }), 2500, 100],
    ['rising air', inWind(10, 5, { sinkingAirMps: -0.5 }), 2500, 100],
  ])('%s: by the least that a metre can cost', (_, setting, altitudeM, lowestM) => {
    const slope = leastSlope(setting, lowestM, altitudeM, null, 0);
    expect(farthestReach(setting, altitudeM, lowestM) / (((altitudeM - lowestM) / slope) * 1.005)).toBeCloseTo(1, 5);
  });

  // At the border between two layers the winds are those of the layer: none of it is seen twice or left out.
  test('a layer just at an end of the heights counts once', () => {
    const at = (highM: number) => farthestReach(inWind(0, 0, { wind: windProfile(LAYERS) }), highM, 0) / highM;
    expect(at(800)).toBeCloseTo(at(800.001), 3);
  });
});

/** Fields that tell when their place is asked for: once to be looked at, and again for each glide flown to them. */
function told(fields: readonly (Landable & { readonly name: string })[]) {
  const asked: string[] = [];
  const flownTo = (): string[] => {
    const seen = new Set<string>();
    return asked.filter((name) => seen.has(name) || !seen.add(name));
  };
  const all = fields.map(({ name, position, askedAltitudeM }) => ({
    name,
    askedAltitudeM,
    get position() {
      asked.push(name);
      return position;
    },
  }));
  return { asked, flownTo, all };
}

/** All fields, wherever they lie, with a lowest altitude of its own; it notes what it is asked. */
function everywhere<L extends Landable>(fields: readonly L[], lowestAskedM: number) {
  const within: { position: Position; radiusM: number }[] = [];
  const nearest: { position: Position; count: number }[] = [];
  const landables: Landables<L> = {
    lowestAskedM,
    within: (position, radiusM) => {
      within.push({ position, radiusM });
      return fields;
    },
    nearest: (position, count) => {
      nearest.push({ position, count });
      return fields.slice(0, count);
    },
  };
  return { landables, within, nearest };
}

describe('which fields are flown to at all', () => {
  /** The least altitude asked with which a field is not flown to any more. */
  function notFlownFrom(setting: ReachSetting, from: Position, place: Position, altitudeM: number): number {
    let low = altitudeM - 40_000;
    let high = altitudeM + 40_000;
    while (high - low > 1e-6) {
      const middle = (low + high) / 2;
      const { all, flownTo } = told([{ name: 'it', position: place, askedAltitudeM: middle }]);
      const { landables } = everywhere(all, 0);
      reachFrom(setting, from, altitudeM, landables);
      if (flownTo().length > 0) low = middle;
      else high = middle;
    }
    return low;
  }
  /** How much a course may turn on the way: 0.01 rad, and with the distance as meridians draw together. */
  const turn = (distance: number, latDeg: number) =>
    0.01 + (distance / 6e6) * Math.tan((Math.abs(latDeg) * Math.PI) / 180);

  test.each([
    ['still air', still, home, 90, 20_000, 1500],
    ['a headwind', inWind(90, 10), home, 90, 20_000, 1500],
    ['a tailwind', inWind(270, 10), home, 90, 20_000, 1500],
    ['a crosswind', inWind(0, 10), home, 90, 40_000, 2500],
    ['another', inWind(180, 10), home, 90, 40_000, 2500],
    ['to the north', inWind(300, 10), home, 0, 40_000, 2500],
    ['to the south-west', inWind(300, 10), home, 215, 40_000, 2500],
    ['layers, east', layered, home, 90, 40_000, 2000],
    ['layers, west', layered, home, 270, 20_000, 2000],
    ['layers, south', layered, home, 180, 20_000, 2000],
    ['layers, low', layered, home, 45, 9000, 700],
    ['far south', inWind(20, 10), { latDeg: -55, lonDeg: -68 }, 120, 60_000, 2500],
    ['north of 79', inWind(20, 10), { latDeg: 79.5, lonDeg: 15 }, 120, 30_000, 1500],
    ['south of 79', inWind(20, 10), { latDeg: -79.5, lonDeg: 15 }, 120, 30_000, 1500],
    ['only fast', inWind(20, 10, { vsMps: 32 }), home, 200, 30_000, 1500],
    ['only slow', inWind(20, 10, { vneMps: 21 }), home, 20, 15_000, 1500],
  ])(
    '%s: those that the best wind on the way might bring in reach',
    (_, setting, from, course, distance, altitudeM) => {
      const place = destination(from, course, distance);
      const slope = leastSlope(setting, 0, altitudeM, course, turn(distance, from.latDeg));
      const left = altitudeM - notFlownFrom(setting, from, place, altitudeM);
      expect(left / (slope * straight(inSpace(from), inSpace(place)))).toBeCloseTo(1, 4);
    },
  );

  test.each([
    ['by the poles courses turn too quickly: any wind counts', 80.5],
    ['by the other as well', -80.5],
    ['from 80 on', 80],
  ])('%s', (_, latDeg) => {
    const from = { latDeg, lonDeg: 15 };
    const place = destination(from, 200, 20_000);
    const setting = inWind(200, 10);
    const left = 1500 - notFlownFrom(setting, from, place, 1500);
    const slope = leastSlope(setting, 0, 1500, null, 0);
    expect(left / (slope * straight(inSpace(from), inSpace(place)))).toBeCloseTo(1, 4);
  });

  test('in rising air a glide may gain, over the longest way there is', () => {
    const place = destination(home, 90, 30_000);
    const setting = { ...still, sinkingAirMps: -2 };
    const slope = leastSlope(setting, 0, 1500, null, 0);
    expect(slope).toBeLessThan(0);
    const left = 1500 - notFlownFrom(setting, home, place, 1500);
    expect(left / (slope * straight(inSpace(home), inSpace(place)) * 1.005)).toBeCloseTo(1, 4);
  });

  test('round a third of the Earth and more the way there is not told by the straight line', () => {
    const from = { latDeg: 0, lonDeg: 0 };
    const setting = inWind(90, 10, { sinkingAirMps: -0.8, vsMps: 25, vneMps: 25 });
    // 0.52 of the straight line lies level for the first, 0.42 for the second.
    for (const [lonDeg, course] of [
      [117, 90],
      [130, null],
    ] as const) {
      const place = { latDeg: 0, lonDeg };
      const slope = leastSlope(setting, 0, 1500, course, 0.01);
      const left = 1500 - notFlownFrom(setting, from, place, 1500);
      expect(left / (slope * straight(inSpace(from), inSpace(place)))).toBeCloseTo(1, 4);
    }
  });

  test('one overhead by what it asks alone', () => {
    expect(notFlownFrom(still, home, home, 1500)).toBeCloseTo(1500.001, 5);
    expect(notFlownFrom(still, home, destination(home, 90, 0.9), 1500)).toBeCloseTo(1500.001, 5);
    expect(notFlownFrom(still, home, destination(home, 90, 1.1), 1500)).toBeCloseTo(1500.001 - 1.1 / 30, 4);
  });
});

/** A field east of home (or on another course), named by its distance in metres. */
const field = (distance: number, askedAltitudeM: number, course = 90) => ({
  name: `${distance}`,
  position: destination(home, course, distance),
  askedAltitudeM,
});

/** A leg east from home with its points as [distance, altitude]. */
function legOf(...points: readonly (readonly [number, number])[]) {
  const length = points.at(-1)?.[0] ?? 0;
  // Its length without what a geodesic there and back leaves, less than a micrometre.
  const way: Track = { ...track(home, destination(home, 90, length)), distanceM: length };
  return { track: way, points: points.map(([xM, altitudeM]) => ({ xM, altitudeM, timeS: 0 })) };
}

const eastOfHome = (position: Position): number => track(home, position).distanceM;
const newLooks = (): Looks<Landable> => ({ lowM: Number.NaN, highM: Number.NaN, all: [] });

/** The distances along a leg at which fields were looked through, to 0.1 m, and the stretches found. */
function looked(setting: ReachSetting, leg: LegPath, landables: Landables<Landable>) {
  const looks = newLooks();
  const stretches = stretchesWithout(setting, leg, landables, looks);
  return { looks, at: looks.all.map(({ from }) => Math.round(eastOfHome(from) * 10) / 10), stretches };
}

describe('the field that needs the least from a point', () => {
  // A leg of no length is one look: every field is given, and those are flown to that may be the best.
  test('is sought with few glides: the best bound first, and none once no bound is better', () => {
    const { all, flownTo } = told([field(20_000, 0), field(5000, 200), field(10_000, 0), field(17_000, 90)]);
    const { looks } = looked(still, legOf([0, 600]), everywhere(all, 0).landables);
    // 10,000 / 30 = 333.3; 200 + 5,000 / 30 = 366.7; 666.7; 90 + 566.7 = 656.7.
    expect(looks.all).toHaveLength(1);
    expect(looks.all[0]?.least?.requiredM).toBeCloseTo(1000 / 3, 3);
    expect(looks.all[0]?.least?.field).toBe(all[2]);
    expect(flownTo()).toEqual(['10000']);
    expect(looks.lowM).toBe(0);
    expect(looks.highM).toBe(900);
  });

  test('a wind that the bound does not know in full costs another glide', () => {
    // Into 10 m/s from the east, and 30 degrees off: bounds let the course turn, so both are flown.
    const { all, flownTo } = told([field(10_010, 0), field(10_000, 0), field(9990, 40, 270)]);
    const { looks } = looked(inWind(90, 10), legOf([0, 1600]), everywhere(all, 0).landables);
    expect(looks.all[0]?.least?.field).toBe(all[2]);
    expect(flownTo()).toEqual(['9990']);
    const ahead = told([field(10_010, 0, 30), field(10_000, 0, 150)]);
    looked(inWind(90, 10), legOf([0, 1600]), everywhere(ahead.all, 0).landables);
    expect(ahead.flownTo()).toEqual(['10000', '10010']);
  });

  test('of two that are flown to, the one that needs less, in either order', () => {
    const looksOf = (setting: ReachSetting, fields: readonly Landable[]) =>
      looked(setting, legOf([0, 1600]), everywhere(fields, 0).landables).looks.all[0]?.least;
    // The bound lets the course turn a little, so the second is flown to as well.
    const [farther, nearer] = [field(10_010, 0, 30), field(10_000, 0, 150)];
    expect(looksOf(inWind(90, 10), [farther, nearer])?.field).toBe(nearer);
    // Nor does it know what a crosswind costs: 5 % more than 333 m, where the other needs 341 m.
    const across = field(10_000, 0, 0);
    const short = field(30, 340);
    expect(looksOf(inWind(90, 10), [across, short])?.field).toBe(short);
    expect(looksOf(inWind(90, 10), [across])?.requiredM).toBeGreaterThan(345);
  });

  test('of fields that none can glide to there is none', () => {
    const gale = inWind(90, 58, { vneMps: 55 });
    const { looks, stretches } = looked(gale, legOf([0, 1600]), landables([field(3000, 0), field(2000, 0)]));
    expect(looks.all[0]?.least).toBeNull();
    expect(stretches[0]?.worst).toEqual({ xM: 0, altitudeM: 1600, least: null });
    expect(leastFrom(gale, home, landables([field(3000, 0)]))).toBeNull();
    // Downwind there is one.
    const both = landables([field(3000, 0), field(2000, 0, 270)]);
    expect(leastFrom(gale, home, both)?.field.position).toEqual(field(2000, 0, 270).position);
  });

  test('the six nearest are told apart by bounds, the best of them is flown, and tells how far a better one may lie', () => {
    const { all, asked } = told([
      field(3000, 500),
      field(4000, 500),
      field(9000, 200),
      field(8000, 400),
      field(5000, 500),
      field(6000, 500),
      // 400 above the lowest asks 12 km at most.
      field(11_900, 100),
      field(12_100, 100),
    ]);
    const { landables: given, within, nearest } = everywhere(all, 100);
    const least = leastFrom(still, home, given);
    // 100 + 11,900 / 30 = 496.7, where the best of the six needs 200 + 300.
    expect(least?.requiredM).toBeCloseTo(100 + 11_900 / 30, 3);
    expect(least?.field).toBe(all[6]);
    expect(nearest).toEqual([{ position: home, count: 6 }]);
    expect(within).toHaveLength(1);
    expect(within[0]?.position).toBe(home);
    expect(within[0]?.radiusM).toBeCloseTo(400 * 30 * 1.005, 1);
    expect(asked.slice(0, 7)).toEqual(['3000', '4000', '9000', '8000', '5000', '6000', '9000']);
    expect(asked.slice(7)).toEqual(['3000', '4000', '8000', '5000', '6000', '11900', '12100', '11900']);
  });

  test('the six nearest are told apart by the wind above the lowest of them', () => {
    const { all, asked } = told([field(10_000, 0), field(10_500, 0, 270)]);
    // A wind from the east below all fields makes the western one no nearer.
    const wind = windProfile([
      { altitudeM: -100, fromDeg: 90, speedMps: 20 },
      { altitudeM: 0, fromDeg: 90, speedMps: 0 },
    ]);
    expect(leastFrom({ ...still, wind }, home, everywhere(all, 0).landables)?.field).toBe(all[0]);
    expect(asked.slice(0, 3)).toEqual(['10000', '10500', '10000']);
  });

  test('of the nearest, those that cannot be glided to are passed over', () => {
    // In a gale from the east only what lies west of it is in reach.
    const gale = inWind(90, 58, { vneMps: 55 });
    const { all, flownTo } = told([field(1000, 300, 88), field(1100, 300), field(2500, 300, 270)]);
    const { landables: given } = everywhere(all, 300);
    expect(leastFrom(gale, home, given)?.field).toBe(all[2]);
    expect(flownTo().filter((name) => name === '2500')).toHaveLength(1);
  });

  test('without one among the nearest, all are looked through that a glide from 20 km might reach', () => {
    const gale = inWind(90, 58, { vneMps: 55 });
    const ahead = Array.from({ length: 6 }, (_, i) => field(1000 + i, 0));
    const { landables: given, within } = everywhere([...ahead, field(9000, 0, 270)], 0);
    expect(leastFrom(gale, home, given)?.field.name).toBe('9000');
    expect(within[0]?.radiusM).toBeCloseTo(farthestReach(gale, 20_000, 0), 3);
  });

  test('one that would have to start above 20 km is none, and none beyond is flown to', () => {
    const far = told([field(610_000, 0), field(3_000_000, 0), field(580_000, 700)]);
    const { landables: given, within } = everywhere(far.all, 0);
    expect(leastFrom(still, home, given)).toBeNull();
    expect(within[0]?.radiusM).toBeCloseTo(20_000 * 30 * 1.005, 1);
    // 580 km and 700 m ask 20,033 m. Each is looked at among the nearest and among all, and not flown to.
    expect(far.asked).toHaveLength(6);
    const near = told([field(610_000, 0), field(590_000, 300)]);
    expect(leastFrom(still, home, everywhere(near.all, 0).landables)?.requiredM).toBeCloseTo(590_000 / 30 + 300, 0);
    // Bounds let a course turn in the wind: it is flown to, and needs more than 20 km.
    const into = told([field(550_000, 0)]);
    expect(leastFrom(inWind(90, 8), home, everywhere(into.all, 0).landables)).toBeNull();
  });

  test('where the worst of a stretch cannot be glided out of at all, nothing worse is sought', () => {
    const { all, asked } = told([field(0, 0)]);
    const way = track(home, destination(home, 90, 2_000_000));
    const { points } = legOf([0, 900], [2_000_000, 400]);
    const { landables: given, nearest } = everywhere(all, 0);
    const [stretch] = stretchesWithout(still, { track: way, points }, given);
    expect(stretch?.worst).toMatchObject({ xM: way.distanceM, least: null });
    // Where it begins, and at its end.
    expect(nearest).toHaveLength(2);
    // Of most looks along the leg the bound alone, and no glide.
    expect(asked.length).toBe(218);
  });

  test('of two that need the same, the first that was flown to', () => {
    const [one, other] = [field(9000, 100), field(9000, 100)];
    expect(leastFrom(still, home, everywhere([one, other], 100).landables)?.field).toBe(one);
  });
});

describe('the fields in reach', () => {
  test('each with what it spares, the most first; one that needs a millimetre too much is none', () => {
    const fields = [field(20_000, 0), field(5000, 200), field(10_000, 0), field(17_000, 90), field(21_000, 0)];
    const found = reachFrom(still, home, 680, landables(fields));
    expect(found.map(({ field: { position } }) => Math.round(eastOfHome(position)))).toEqual([
      10_000, 5000, 17_000, 20_000,
    ]);
    const spare = [680 - 1000 / 3, 680 - 200 - 500 / 3, 680 - 90 - 1700 / 3, 680 - 2000 / 3];
    for (const [i, { spareM, requiredM, distanceM, indicatedMps }] of found.entries()) {
      expect(spareM).toBeCloseTo(spare[i] as number, 3);
      expect(requiredM).toBe(680 - spareM);
      expect(distanceM).toBeCloseTo([10_000, 5000, 17_000, 20_000][i] as number, 3);
      expect(indicatedMps).toBeCloseTo(25, 1);
    }
    const overhead = [{ position: home, askedAltitudeM: 500 }];
    expect(reachFrom(still, home, 500, landables(overhead))[0]?.spareM).toBe(0);
    // Within the millimetre there is nothing to spare, and not less.
    expect(reachFrom(still, home, 499.9995, everywhere(overhead, 0).landables)[0]?.spareM).toBe(0);
    expect(reachFrom(still, home, 499.998, everywhere(overhead, 0).landables)).toEqual([]);
  });

  test('are asked for within the farthest reach, and a bound leaves out the others', () => {
    const { all, flownTo } = told([field(14_990, 0), field(15_010, 0), field(15_100, 0)]);
    const { landables: given, within } = everywhere(all, 0);
    expect(reachFrom(still, home, 500, given).map(({ field: { name } }) => name)).toEqual(['14990']);
    expect(within).toEqual([{ position: home, radiusM: farthestReach(still, 500, 0) }]);
    expect(flownTo()).toEqual(['14990']);
  });
});

describe('the looks along a leg', () => {
  // In still air at 30:1 the height needed changes by 1 m in 30, and the height to spare by half as much again at most:
  // by 0.05 of the distance where the leg is level. So from 500 m to spare the next look is 10,000 m on. Looks are no
  // nearer to each other than 25 m or a 400th of the leg. With more than 40 m above what the last field needs, that
  // glide is enough, and nothing is looked through.
  test('a level leg between two fields', () => {
    const { at, stretches } = looked(still, legOf([0, 500], [60_000, 500]), landables([field(0, 0), field(60_000, 0)]));
    expect(at).toEqual([
      // Overhead a field there is no glide to try again. Then 166.7 m to spare, which take it to 13,333.3 (no look)
      // and 14,444.5; from 18.5 m 370.4 on; from 6.2 m the least step of 150 m; twice, into the gap.
      0, 10_000, 14_444.5, 14_814.8, 14_964.8, 15_114.8,
      // Halved down to 3 m: the gap opens at 15,000.
      15_039.8, 15_002.3, 14_983.6, 14_993, 14_997.7, 15_000,
      // 3.8 m are missing, 8.8 m, 14.7 m, 24.5 m, 40.9 m, 68.1 m, 113.5 m, 189.2 m.
      15_264.8, 15_441.4, 15_735.6, 16_226, 17_043.4, 18_405.6, 20_675.9, 24_459.9,
      // Fields that need 300 m more than the leg's highest point are not looked at: 6,000 m on, twice.
      30_459.8, 36_459.8,
      // 284.7 m are missing from the other field, 94.9 m, 31.6 m, 10.5 m, 3.5 m.
      42_153.3, 44_051.1, 44_683.7, 44_894.5, 45_044.5,
      // Halved.
      44_969.5, 45_007, 44_988.3, 44_997.7, 45_002.3, 45_000,
      // 1.5 m to spare, 6.5 m, 11.5 m, 19.1 m, 31.9 m; then 53.1 m, which is enough.
      45_194.5, 45_344.5, 45_574.2, 45_957.1,
    ]);
    expect(stretches).toHaveLength(1);
    expect(stretches[0]?.fromM).toBeCloseTo(15_000, 0);
    expect(stretches[0]?.toM).toBeCloseTo(45_000, 0);
  });

  // 500 m level, then 160 m down over 4,000 m (0.04, so that the rate is 0.09), then 40 m over 10,000 m.
  test('a leg that goes down, its steepest part deciding the steps', () => {
    const { at, stretches, looks } = looked(
      still,
      legOf([0, 500], [6000, 500], [10_000, 340], [20_000, 300]),
      landables([field(0, 0)]),
    );
    expect(at.slice(0, 7)).toEqual([
      // 500 / 0.09; 314.8 m to spare take it to 9,053.5, where 76.1 m are enough; 42 m less the halves; 20.1 m.
      0, 5555.6, 9898.8,
      // 344.0 - 330.0 = 14.1 m; 4.6 m; 2.6 m and the least step, 50 m; 0.9 m short of it at 10,206.5.
      10_055.3, 10_106.5, 10_156.5, 10_206.5,
    ]);
    // 340 - 0.004 (x - 10,000) = x / 30.
    expect(stretches).toHaveLength(1);
    expect(stretches[0]?.fromM).toBeLessThan(380 / (1 / 30 + 0.004));
    expect(stretches[0]?.fromM).toBeGreaterThan(380 / (1 / 30 + 0.004) - 3);
    expect(stretches[0]?.toM).toBe(20_000);
    expect(stretches[0]?.worst).toMatchObject({ xM: 20_000, altitudeM: 300 });
    expect(looks).toMatchObject({ lowM: 0, highM: 800 });
    // Its worst point is at the end: of the others, the glide from there shows that less is missing.
    const { landables: given, nearest } = everywhere([field(0, 0)], 0);
    looked(still, legOf([0, 500], [6000, 500], [10_000, 340], [20_000, 300]), given);
    expect(nearest).toHaveLength(2);
  });

  test('overhead the last field there is nothing to look through', () => {
    const leg = legOf([0, 130], [3000, 20]);
    const { at, stretches } = looked(still, leg, landables([field(3000, 0)]));
    expect(at[0]).toBe(0);
    expect(Math.max(...at)).toBeLessThan(3000);
    expect(stretches).toEqual([]);
  });

  // Level at 900 m, away from the only field, with a gale from the other side above 600 m: a glide back may start no
  // higher, so it is in reach for the 18 km that 600 m make.
  test('a last glide that makes no headway any more spares nothing', () => {
    const wind = windProfile([
      { altitudeM: 600, fromDeg: 270, speedMps: 0 },
      { altitudeM: 601, fromDeg: 270, speedMps: 80 },
    ]);
    const { stretches } = looked({ ...still, wind }, legOf([0, 900], [25_000, 900]), landables([field(0, 0)]));
    expect(stretches).toHaveLength(1);
    expect(stretches[0]?.fromM).toBeCloseTo(18_000, -2);
    expect(stretches[0]?.toM).toBe(25_000);
  });

  // Nothing is in reach: 300 m more than the highest point would not do either, and the steps are 300 m over the rate.
  test('without a field in reach, by the steepest that a best glide may be', () => {
    const none = landables([field(90_000, 0)]);
    expect(looked(still, legOf([0, 500], [15_000, 500]), none).at).toEqual([0, 6000, 12_000, 15_000]);
    // Into 10 m/s: the least of the sinks over the ground speed, in the densest air.
    const polar = planned(still.polar, 400, 1);
    const into = Math.min(
      ...Array.from({ length: 2001 }, (_, i) => 17 + i * 0.02).map((v) => sinkAt(polar, v) / (v - 10)),
    );
    for (const fromDeg of [90, 200])
      expect(looked(inWind(fromDeg, 10), legOf([0, 500], [6000, 500]), none).at[1]).toBeCloseTo(300 / (1.5 * into), 0);
    // A climb takes nothing from what is to spare; down it takes 100 m in 1,000 more.
    expect(looked(still, legOf([0, 400], [5000, 500], [15_000, 500]), none).at.slice(0, 2)).toEqual([0, 8000]);
    expect(looked(still, legOf([0, 500], [1000, 400], [15_000, 400]), none).at.slice(0, 2)).toEqual([0, 2000]);
    // Where the strongest wind stops the glider, metre by metre.
    expect(looked(inWind(90, 70), legOf([0, 500], [1000, 500]), none).at.slice(0, 5)).toEqual([0, 300, 600, 900, 1000]);
    // Where it sinks by next to nothing.
    const rising = { ...still, sinkingAirMps: -25 / 30 };
    const sinking = legOf([0, 500], [70_000, 500]);
    expect(looked({ ...rising, vsMps: 25, vneMps: 25 }, sinking, landables([field(0, 900)])).at.slice(0, 2)).toEqual([
      0, 70_000,
    ]);
  });

  test('each glide between climbs by itself', () => {
    const leg = legOf([0, 500], [12_000, 400], [12_000, 700], [30_000, 100]);
    const { at, stretches, looks } = looked(still, leg, landables([field(0, 0), field(30_000, 0)]));
    // Down 1 m in 120 and 1 m in 30: rates of 0.0583 and 0.0833.
    expect(at).toEqual([0, 8571.4, 11_720.1, 11_920.1, 11_995.1, 12_000, 16_320]);
    expect(looks.highM).toBe(1000);
    expect(stretches).toEqual([]);
  });

  test('only up to where a field is known to be', () => {
    const leg = { ...legOf([0, 500], [60_000, 500]), knownFromM: 15_400 };
    const { at, stretches } = looked(still, leg, landables([field(0, 0), field(60_000, 0)]));
    expect(at.slice(0, 12)).toEqual([
      0, 10_000, 14_444.5, 14_814.8, 14_964.8, 15_114.8, 15_039.8, 15_002.3, 14_983.6, 14_993, 14_997.7, 15_000,
    ]);
    expect(at[12]).toBeCloseTo(15_264.8, 1);
    expect(Math.max(...at)).toBeLessThan(15_400);
    expect(stretches).toHaveLength(1);
    expect(stretches[0]?.toM).toBe(15_400);
    // From its start on: nothing is looked at.
    expect(looked(still, { ...leg, knownFromM: 0 }, landables([field(0, 0)]))).toMatchObject({ at: [], stretches: [] });
    // Within the second glide: the first is looked at in full, and it needs a field.
    const two = { ...legOf([0, 100], [10_000, 100], [10_000, 900], [30_000, 500]), knownFromM: 10_000 };
    const both = looked(still, two, landables([field(90_000, 0)]));
    expect(both.stretches).toHaveLength(1);
    expect(both.stretches[0]).toMatchObject({ fromM: 0, toM: 10_000 });
    expect(Math.max(...both.at)).toBeLessThan(10_000);
  });

  test('the fields are asked for once, within what the highest point and 300 m more may reach', () => {
    const { landables: given, within } = everywhere([field(0, 0)], 0);
    looked(still, legOf([0, 450], [8000, 450]), given);
    expect(within).toHaveLength(1);
    expect(eastOfHome(within[0]?.position ?? home)).toBeCloseTo(4000, 3);
    expect(within[0]?.radiusM).toBeCloseTo(750 * 30 * 1.005 + 4000 * 1.005, 1);
    // When all fields ask more than there is, from the highest point on.
    const high = everywhere([field(0, 700)], 700);
    const { looks } = looked(still, legOf([0, 450], [8000, 450]), high.landables);
    expect(looks).toMatchObject({ lowM: 450, highM: 750 });
    expect(high.within[0]?.radiusM).toBeCloseTo(300 * 30 * 1.005 + 4000 * 1.005, 1);
  });

  test('a path without points has none', () => {
    expect(stretchesWithout(still, { track: track(home, field(0, 0).position), points: [] }, landables([]))).toEqual(
      [],
    );
  });

  test('a leg of no length is one look', () => {
    const far = landables([field(20_000, 0)]);
    const { at, stretches } = looked(still, legOf([0, 100]), far);
    expect(at).toEqual([0]);
    expect(stretches).toHaveLength(1);
    expect(stretches[0]).toMatchObject({ fromM: 0, toM: 0, worst: { xM: 0, altitudeM: 100 } });
    expect(stretches[0]?.worst.least?.requiredM).toBeCloseTo(2000 / 3, 3);
    expect(looked(still, legOf([0, 700]), far).stretches).toEqual([]);
    // A climb overhead: low before it and after it is one stretch, with the more that is missing.
    const twice = looked(still, legOf([0, 100], [0, 150]), far);
    expect(twice.at).toEqual([0, 0]);
    expect(twice.stretches).toHaveLength(1);
    expect(twice.stretches[0]).toMatchObject({ fromM: 0, toM: 0, worst: { altitudeM: 100 } });
    expect(looked(still, legOf([0, 150], [0, 100]), far).stretches[0]?.worst.altitudeM).toBe(100);
  });

  test('a climb at the start of a leg with a length is not a glide', () => {
    const far = landables([field(20_000, 0)]);
    const leg = legOf([0, 100], [0, 690], [6000, 500]);
    const { at, stretches } = looked(still, leg, far);
    expect(stretches).toEqual([]);
    expect(at.filter((xM) => xM === 0)).toHaveLength(1);
  });

  test('stretches on both sides of a climb that is not high enough are one', () => {
    // Missing 1,000 - 400 and, after the climb, 800 - 500 at least.
    const leg = legOf([0, 400], [6000, 400], [6000, 500], [12_000, 500]);
    const far = landables([field(42_000, 0)]);
    const { stretches } = looked(still, leg, far);
    expect(stretches).toHaveLength(1);
    expect(stretches[0]).toMatchObject({ fromM: 0, toM: 12_000, worst: { xM: 0, altitudeM: 400 } });
    // The worse one after the climb: 42 km from a field behind.
    const behind = landables([field(30_000, 0, 270)]);
    const after = looked(still, legOf([0, 400], [6000, 400], [6000, 420], [18_000, 420]), behind).stretches;
    expect(after).toHaveLength(1);
    expect(after[0]).toMatchObject({ fromM: 0, toM: 18_000, worst: { xM: 18_000, altitudeM: 420 } });
    // Nothing to be reached from either: the first point of all.
    const gale = looked(
      inWind(90, 80),
      legOf([0, 500], [2000, 500], [2000, 600], [4000, 600]),
      landables([field(9000, 0)]),
    );
    expect(gale.stretches).toEqual([{ fromM: 0, toM: 4000, worst: { xM: 0, altitudeM: 500, least: null } }]);
    // A climb from which the field is in reach for a while parts them.
    const high = looked(still, legOf([0, 400], [6000, 400], [6000, 1400], [18_000, 1200]), behind).stretches;
    expect(high.map(({ toM }) => toM)).toEqual([6000, 18_000]);
    // 1,400 - 0.01667 (x - 6,000) = (x + 30,000) / 30, at 10,000.
    expect(high[1]?.fromM).toBeCloseTo(10_000, -1);
  });
});

describe('the worst point of a stretch', () => {
  /** Where it was looked for the worst, and where all fields were: a glide from another point may tell enough. */
  function worstLooks(leg: LegPath, fields: readonly Landable[]) {
    const lowest = Math.min(...fields.map(({ askedAltitudeM }) => askedAltitudeM));
    const { landables: given, nearest } = everywhere(fields, lowest);
    const looks: number[] = [];
    const positionAt = (xM: number) => {
      if (nearest.length > 0 && xM !== looks.at(-1)) looks.push(xM);
      return leg.track.positionAt(xM);
    };
    const [stretch, ...more] = stretchesWithout(still, { ...leg, track: { ...leg.track, positionAt } }, given);
    expect(more).toEqual([]);
    const full = nearest.map(({ position }) => Math.round(eastOfHome(position) * 1000) / 1000);
    return { looks, full, worst: stretch?.worst };
  }

  test('at an end, by steps of a kilometre and then by halves of it on both sides', () => {
    const { looks, full, worst } = worstLooks(legOf([0, 300], [6000, 300]), [field(90_000, 0)]);
    expect(looks).toEqual([6000, 3000, 1000, 2000, 4000, 5000, 500, 250, 125, 62.5, 31.25, 15.625]);
    expect(full).toEqual([0]);
    expect(worst).toMatchObject({ xM: 0, altitudeM: 300 });
    const behind = worstLooks(legOf([0, 300], [6000, 300]), [field(90_000, 0, 270)]);
    expect(behind.looks).toEqual([6000, 3000, 1000, 2000, 4000, 5000, 5500, 5750, 5875, 5937.5, 5968.75, 5984.375]);
    expect(behind.full).toEqual([0, 6000]);
    expect(behind.worst?.xM).toBe(6000);
  });

  test('in the middle, from both sides', () => {
    // The lowest point of the leg, 20 m down in 1,500 m: 1 m in 75, less than what the field comes nearer by.
    const { looks, full, worst } = worstLooks(legOf([0, 300], [2600, 200], [6000, 300]), [field(90_000, 0)]);
    // 100 m in 2,600 is steeper than 1 in 30: missing most at 2,600.
    expect(looks).toEqual([
      6000, 3000, 1000, 2000, 4000, 5000, 1500, 2500, 2250, 2750, 2375, 2625, 2437.5, 2562.5, 2531.25, 2593.75,
      2578.125, 2609.375,
    ]);
    expect(full).toEqual([0, 1000, 2000, 2500, 2562.5, 2593.75]);
    expect(worst?.xM).toBeCloseTo(2593.75, 3);
    expect(worst?.altitudeM).toBeCloseTo(300 - 2593.75 / 26, 3);
    expect(worst?.least?.requiredM).toBeCloseTo((90_000 - 2593.75) / 30, 1);
  });

  test('of a stretch that begins behind the start of its leg, by its own length', () => {
    const { looks, full } = worstLooks(legOf([0, 300], [14_900, 300]), [field(0, 0)]);
    // From 9,000 on, where 300 m last: six steps of 983 m.
    const to100 = (all: readonly number[]) => all.map((xM) => Math.round(xM / 100) * 100);
    expect(to100(looks.slice(0, 6))).toEqual([14_900, 11_900, 10_000, 11_000, 12_900, 13_900]);
    expect(to100(full)).toEqual([9000, 14_900]);
  });

  test('between two fields by glides to either', () => {
    const { full, worst } = worstLooks(legOf([0, 300], [40_000, 300]), [field(0, 0), field(40_000, 0)]);
    // At its ends and where more is missing than before; the others by a glide to the field of the worst or of the last.
    expect(full.map((xM) => Math.round(xM))).toEqual([9000, 31_001, 19_522, 20_479, 20_000, 19_761]);
    expect(worst?.xM).toBeCloseTo(20_000, -1);
  });

  test('a glide from another point that makes no headway here tells nothing', () => {
    // A gale from the west above 600 m: no way back from there. 500 m are missing at the start, and 10 at the end to that.
    const wind = windProfile([
      { altitudeM: 600, fromDeg: 270, speedMps: 0 },
      { altitudeM: 601, fromDeg: 270, speedMps: 80 },
    ]);
    const behind = field(300, 500, 270);
    const [stretch] = stretchesWithout({ ...still, wind }, legOf([0, 0], [6000, 590]), landables([behind]));
    expect(stretch?.worst).toMatchObject({ xM: 6000, least: null });
  });

  test('a short stretch in two halves at least, a long one in forty at most', () => {
    expect(worstLooks(legOf([0, 300], [82, 300]), [field(90_000, 0)]).looks).toEqual([82, 41, 20.5, 10.25]);
    expect(worstLooks(legOf([0, 300], [38, 300]), [field(90_000, 0)]).looks).toEqual([38, 19]);
    expect(worstLooks(legOf([0, 300], [40, 300]), [field(90_000, 0)]).looks).toEqual([40, 20]);
    const long = worstLooks(legOf([0, 300], [80_000, 300]), [field(200_000, 0)]).looks;
    const between = Array.from({ length: 39 }, (_, i) => (i + 1) * 2000).filter((xM) => xM !== 40_000);
    expect(long.slice(0, 41)).toEqual([80_000, 40_000, ...between, 1000]);
    expect(long).toHaveLength(40 + 7);
  });

  test('is none that the glide from another point shows to miss less, whatever field and wind', () => {
    fc.assert(
      fc.property(
        anyReach(20),
        anyFields(6),
        between(100, 900),
        between(2000, 60_000),
        (setting, fields, h, length) => {
          const leg = legOf([0, h], [length / 3, h * 0.8], [length, h * 0.9]);
          const given = landables(fields);
          for (const { fromM, toM, worst } of stretchesWithout(setting, leg, given)) {
            const missing = (xM: number): number => {
              const altitudeM =
                xM < length / 3
                  ? h - (xM / (length / 3)) * h * 0.2
                  : h * (0.8 + (0.1 * (xM - length / 3)) / (length - length / 3));
              const least = leastFrom(setting, leg.track.positionAt(xM), given);
              return least ? least.requiredM - altitudeM : Infinity;
            };
            const most = worst.least ? worst.least.requiredM - worst.altitudeM : Infinity;
            for (let i = 0; i <= 40; i += 1)
              expect(missing(fromM + ((toM - fromM) * i) / 40)).toBeLessThanOrEqual(most + 0.1);
          }
        },
      ),
      { numRuns: 60 },
    );
  });

  test('one from which nothing is in reach at all is worse than any', () => {
    // Half way along the leg the air comes to a wind that lets nothing through.
    const wind = windProfile([
      { altitudeM: 1000, fromDeg: 90, speedMps: 0 },
      { altitudeM: 1010, fromDeg: 90, speedMps: 80 },
    ]);
    const leg = legOf([0, 900], [10_000, 900]);
    const [stretch] = stretchesWithout({ ...still, wind }, leg, landables([field(40_000, 0)]));
    expect(stretch?.worst.least).toBeNull();
    expect(stretch?.worst.xM).toBe(0);
  });
});

describe('the worst point of a leg', () => {
  test('of 41 points along it, by the height to spare', () => {
    const { landables: given, nearest } = everywhere([field(0, 0), field(20_000, 0)], 0);
    const worst = worstPoint(still, legOf([0, 900], [4000, 800], [20_000, 700]), given);
    expect(nearest.map(({ position }) => Math.round(eastOfHome(position)))).toEqual(
      Array.from({ length: 41 }, (_, i) => i * 500),
    );
    // 10,000 / 30 are needed, and there are 800 - 6,000 / 160.
    expect(worst?.xM).toBeCloseTo(10_000, 6);
    expect(worst?.altitudeM).toBeCloseTo(762.5, 6);
    expect(worst?.least?.requiredM).toBeCloseTo(1000 / 3, 2);
    expect(worst?.inReach.map(({ spareM }) => Math.round(spareM))).toEqual([429, 429]);
  });

  test('each glide between climbs by its share of the leg', () => {
    const { landables: given, nearest } = everywhere([field(0, 0)], 0);
    const worst = worstPoint(still, legOf([0, 300], [300, 290], [300, 900], [4000, 800]), given);
    const at = nearest.map(({ position }) => Math.round(eastOfHome(position)));
    expect(at.slice(0, 4)).toEqual([0, 100, 200, 300]);
    expect(at).toHaveLength(4 + 38);
    expect(at.slice(4, 6)).toEqual([300, 400]);
    expect(at[41]).toBe(4000);
    expect(worst).toMatchObject({ xM: 300, altitudeM: 290 });
    expect(worst?.inReach).toHaveLength(1);
  });

  test('on a leg of no length, before and after a climb; of equal points the first', () => {
    const fields = landables([field(3000, 0)]);
    expect(worstPoint(still, legOf([0, 500], [0, 900]), fields)).toMatchObject({ xM: 0, altitudeM: 500 });
    expect(worstPoint(still, legOf([0, 900], [0, 500]), fields)).toMatchObject({ xM: 0, altitudeM: 500 });
    expect(worstPoint(still, { ...legOf([0, 900]), points: [] }, fields)).toBeNull();
    const level = worstPoint(still, legOf([0, 500], [4000, 500]), landables([field(0, 0), field(4000, 0)]));
    expect(level?.xM).toBeCloseTo(2000, 6);
    const gale = worstPoint(inWind(90, 80), legOf([0, 500], [4000, 500]), landables([field(9000, 0)]));
    expect(gale).toMatchObject({ xM: 0, least: null, inReach: [] });
  });
});

describe('from where on a field stays in reach', () => {
  const at20 = field(20_000, 0);
  test('where the last stretch without it ends, and not at all when it is open at the end', () => {
    // 300 m reach 9,000 m.
    expect(inReachFrom(still, legOf([0, 300], [20_000, 300]), at20)).toBeCloseTo(11_000, -1);
    // Out of reach again at the end.
    const behind = field(0, 0);
    expect(inReachFrom(still, legOf([0, 300], [20_000, 300]), behind)).toBeNull();
    // The last glide alone comes below what the field asks by its last metres.
    expect(inReachFrom(still, legOf([0, 700], [19_000, 60], [20_000, -10]), at20)).toBeNull();
    expect(inReachFrom(still, legOf([0, 700], [20_000, 10]), at20)).toBe(0);
    // A climb on the way brings it in reach for good.
    expect(inReachFrom(still, legOf([0, 300], [5000, 250], [5000, 700], [20_000, 100]), at20)).toBe(5000);
  });
});

describe('whether looks still find what they found, when a field comes', () => {
  const from = home;
  const was = field(9000, 100);
  const least = leastFrom(still, from, landables([was]));
  const looks = (...all: readonly (Least<Landable> | null)[]): Looks<Landable> => ({
    lowM: 0,
    highM: 1000,
    all: all.map((one) => ({ from, least: one })),
  });
  const flownTo = (came: ReturnType<typeof field>, of: Looks<Landable>, setting = still) => {
    const { all, flownTo: flown } = told([came]);
    return [stillLeast(setting, of, all[0] as Landable), flown().length] as const;
  };

  test('it needs more, told by its bound or by its glide', () => {
    // 400 m are needed so far.
    expect(flownTo(field(15_000, 0), looks(least))).toEqual([true, 0]);
    expect(flownTo(field(10_000, 0, 200), looks(least))).toEqual([false, 1]);
    expect(flownTo(field(3000, 350), looks(least))).toEqual([true, 0]);
    // A bound counts on a course that turns a little: from the wind's side it is flown.
    const wind = inWind(0, 12);
    const found = leastFrom(wind, from, landables([was]));
    const bit = { ...was, askedAltitudeM: was.askedAltitudeM + 0.3 };
    expect(flownTo(bit, looks(found), wind)).toEqual([true, 1]);
    expect(flownTo({ ...bit, askedAltitudeM: 99 }, looks(found), wind)).toEqual([false, 1]);
  });

  test('it needs the very same: which is found is not told', () => {
    expect(flownTo(was, looks(least))).toEqual([false, 1]);
  });

  test('where nothing was found, one that can be reached from anywhere changes it, unless it lies too high', () => {
    expect(flownTo(field(15_000, 0), looks(null))).toEqual([false, 1]);
    // 1,000 m is the most that was looked for.
    expect(flownTo(field(31_000, 0), looks(null))).toEqual([true, 0]);
    // Into the gale no bound allows it; across it the glide itself is not to be had.
    expect(flownTo(field(3000, 0), looks(null), inWind(90, 58, { vneMps: 55 }))).toEqual([true, 0]);
    expect(flownTo(field(3000, 0), looks(null), inWind(0, 58, { vneMps: 55 }))).toEqual([true, 1]);
  });

  test('every look has to', () => {
    const near = leastFrom(still, from, landables([field(1000, 100)]));
    expect(flownTo(field(8000, 0), looks(near, near))[0]).toBe(true);
    expect(flownTo(field(8000, 0), looks(near, least))[0]).toBe(false);
    expect(flownTo(field(8000, 0), looks(least, near))[0]).toBe(false);
    expect(flownTo(field(8000, 0), looks())).toEqual([true, 0]);
  });

  test('by the heights that the search was made for', () => {
    // A wind aloft from behind, above what was looked at: bounds leave it out.
    const wind = windProfile([
      { altitudeM: 1000, fromDeg: 90, speedMps: 0 },
      { altitudeM: 3000, fromDeg: 270, speedMps: 20 },
    ]);
    const setting = { ...still, wind };
    const came = field(12_200, 0);
    expect(flownTo(came, looks(least), setting)).toEqual([true, 0]);
    expect(flownTo(came, { ...looks(least), highM: 3000 }, setting)).toEqual([true, 1]);
    expect(flownTo(came, { ...looks(least), lowM: 3000 }, setting)).toEqual([true, 1]);
  });
});
