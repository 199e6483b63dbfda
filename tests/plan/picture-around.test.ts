/** What lies along the track of a leg, against geodesics of another library and the ground post by post. */
import { describe, expect, test } from 'vitest';
import { decodeTile } from '../../server/flight/index.ts';
import { groundAt, groundProfile } from '../../server/plan/ground.ts';
import { type Around, aroundOf, trackOf } from '../../server/plan/picture-around.ts';
import type { LegEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { tileBytes } from '../flight/tiles.ts';
import { CLUB, ENDS as FIELDS, LENGTH_M, legOf, PLAN, place, WEST, WGS84 } from './westing.ts';

// Source of every place and distance below: geographiclib-geodesic, WGS84.
const TASK = 'task Out\n  aircraft Finch with pilot 82 kg\n  weather Calm\n  reserve Training\n';

const ENDS = FIELDS.replace('field Easting', 'turnpoint Easting');
const OUT = `${TASK}  start Westing at 3000 m MSL\n  turn Easting\n`;

function planned(text: string, also: (workspace: Workspace) => void = () => {}) {
  const workspace = createWorkspace(['file:///plans']);
  const file = setFile(workspace, PLAN, text);
  also(workspace);
  const [task] = understand(workspace, file).tasks;
  if (!task) throw new Error('no task');
  return { workspace, task };
}

/** What lies along a leg of a plan. */
function along(text: string, also?: (workspace: Workspace) => void, number = 1): Around {
  const { task } = planned(`${CLUB}\n${text}`, also);
  const around = aroundOf(legOf(task, number), task);
  if (!around) throw new Error('nothing is known');
  return around;
}

const out = (entries: string, also?: (workspace: Workspace) => void) => along(`${ENDS}\n${entries}\n${OUT}`, also);

describe('the track', () => {
  test('is drawn in pieces of the same length, none longer than 20 km', () => {
    for (const [km, pieces] of [
      [5, 1],
      [19.9, 1],
      [20.1, 2],
      [59, 3],
    ] as const) {
      const end = WGS84.Direct(47.1, 19.2, 60, km * 1000);
      const { track } = along(
        `field Westing at 47.1000 N 19.2000 E\n  elevation 200 m\n\nturnpoint Far at ${end.lat2?.toFixed(8)} N ${end.lon2?.toFixed(8)} E\n  elevation 200 m\n\n${TASK}  start Westing at 9000 m MSL\n  turn Far\n`,
      );
      expect(track).toHaveLength(pieces + 1);
      expect(track[0]).toStrictEqual({ latDeg: 47.1, lonDeg: 19.2 });
      for (const [i, { latDeg, lonDeg }] of track.entries()) {
        const exact = WGS84.Direct(47.1, 19.2, 60, (i * km * 1000) / pieces);
        expect(latDeg).toBeCloseTo(exact.lat2 ?? Number.NaN, 7);
        expect(lonDeg).toBeCloseTo(exact.lon2 ?? Number.NaN, 7);
      }
    }
  });

  test('of a leg that goes nowhere is its one place, twice', () => {
    const around = along(
      `${ENDS}\nobstacle Mast at 47.1010 N 19.2000 E\n  top 300 m MSL\n\n${TASK}  start Westing at 3000 m MSL\n  turn Westing\n`,
    );
    expect(around.track).toStrictEqual([WEST, WEST]);
    expect(around.solids.map(({ solid }) => [solid.name, solid.xM])).toEqual([
      ['Mast', 0],
      ['Westing', 0],
    ]);
  });

  test('is known for a leg that is not computed, where its ends are', () => {
    const { task } = planned(
      `${CLUB}\n${ENDS}\nturnpoint Bare at 47.3000 N 19.6000 E\n\n${TASK}  start Westing at 3000 m MSL\n  turn Bare\n  turn Nowhere\n  turn Easting\n`,
    );
    const [first, second, third] = task.legs as [LegEvaluation, LegEvaluation, LegEvaluation];
    expect(first.input).toBeUndefined();
    const exact = WGS84.Inverse(47.1, 19.2, 47.3, 19.6);
    expect(trackOf(first)?.distanceM).toBeCloseTo(exact.s12 ?? Number.NaN, 3);
    expect(aroundOf(first, task)?.track.at(-1)).toStrictEqual({ latDeg: 47.3, lonDeg: 19.6 });
    for (const leg of [second, third]) {
      expect(trackOf(leg)).toBeUndefined();
      expect(aroundOf(leg, task)).toBeUndefined();
    }
  });
});

describe('what is known is kept', () => {
  const MORE = `${ENDS}\n${TASK}  start Westing at 3000 m MSL\n  turn Easting\n  finish Westing\n`;

  test('for each leg, and over an edit that moves none of its ends', () => {
    const { workspace, task } = planned(`${CLUB}\n${MORE}`);
    const known = [1, 2].map((number) => aroundOf(legOf(task, number), task));
    expect(known[0]).not.toBe(known[1]);
    expect(aroundOf(legOf(task, 1), task)).toBe(known[0]);
    expect(aroundOf(legOf(task, 2), task)).toBe(known[1]);
    const edited = (text: string) => {
      const [now] = understand(workspace, setFile(workspace, PLAN, text)).tasks;
      if (!now) throw new Error('no task');
      return aroundOf(legOf(now), now);
    };
    expect(edited(`${CLUB}\n${MORE.replace('3000 m', '2900 m')}`)).toBe(known[0]);
    // Limits that are flight levels lie by the pressure and the temperature of the day.
    expect(edited(`${CLUB.replace('1013.25 hPa', '1003 hPa')}\n${MORE}`)).not.toBe(known[0]);
    expect(edited(`${CLUB.replace('15 °C', '25 °C')}\n${MORE}`)).not.toBe(known[0]);
  });

  test('by ends that are written apart', () => {
    // 47.1, 19.5 and 47.11, 9.5 have the same digits.
    const { task } = planned(
      `${CLUB}\nfield One at 47.1000 N 19.5000 E\n  elevation 200 m\n\nfield Other at 47.1100 N 9.5000 E\n  elevation 200 m\n\n${ENDS}\n${TASK}  start One at 3000 m MSL\n  turn Easting\n  turn Other\n  turn Easting\n`,
    );
    expect(aroundOf(legOf(task, 1), task)?.track[0]).toStrictEqual({ latDeg: 47.1, lonDeg: 19.5 });
    expect(aroundOf(legOf(task, 3), task)?.track[0]).toStrictEqual({ latDeg: 47.11, lonDeg: 9.5 });
  });
});

/** The ground in a tile by rows from the north and columns from the west, in three seconds of arc. */
const ground =
  (of: (row: number, column: number) => number, lonDeg = 19) =>
  (workspace: Workspace): void => {
    const tile = decodeTile(tileBytes(1201, of), { latDeg: 47, lonDeg });
    if (tile) setTile(workspace, `file:///plans/tiles/N47E0${lonDeg}.hgt`, tile);
  };
const HILLS = ground((row, column) => 150 + ((row * 7 + column * 13) % 97) + (column > 400 && column < 410 ? 300 : 0));

function withGround(text: string, also: (workspace: Workspace) => void, number = 1) {
  const { task } = planned(`terrain "tiles"\n\n${CLUB}\n${ENDS}\n${text}`, also);
  const leg = legOf(task, number);
  const around = aroundOf(leg, task);
  if (!around) throw new Error('nothing is known');
  return { around, profile: groundProfile(leg, task) ?? [] };
}

describe('the ground', () => {
  test('of a short leg is drawn point by point, with the highest post around each', () => {
    const { around, profile } = withGround(OUT, HILLS);
    expect(profile.length).toBeGreaterThan(400);
    expect(profile.length).toBeLessThanOrEqual(480);
    expect(around.ground).toStrictEqual(
      profile.map(({ xM, ground: here }) => ({ xM: Number(xM.toFixed(1)), highestM: here?.highestM ?? null })),
    );
    expect(around.ground[0]?.xM).toBe(0);
    expect(Math.abs((around.ground.at(-1)?.xM ?? 0) - LENGTH_M)).toBeLessThan(0.06);
  });

  test('without tiles is none, and not known where a tile is missing', () => {
    expect(out('').ground).toEqual([]);
    const { around } = withGround(OUT, () => {});
    expect(around.ground.length).toBeGreaterThan(400);
    expect(around.ground.every(({ highestM }) => highestM === null)).toBe(true);
  });

  test('of a long leg is drawn in few steps, none lower than a point in it and none higher than its highest', () => {
    // From Easting on to the east, past 20 degrees, where no tile is.
    const { around, profile } = withGround(
      `turnpoint Far at 47.3000 N 20.2000 E\n  elevation 100 m\n\n${OUT}  turn Far\n`,
      HILLS,
      2,
    );
    const { ground: drawn } = around;
    expect(profile.length).toBeGreaterThan(800);
    // 240 steps, and one more where the known ground ends; of two points each.
    expect(drawn.length).toBeGreaterThan(400);
    expect(drawn.length).toBeLessThanOrEqual(2 * 242);
    const lengthM = profile.at(-1)?.xM ?? Number.NaN;
    expect(drawn[0]?.xM).toBe(0);
    expect(Math.abs((drawn.at(-1)?.xM ?? 0) - lengthM)).toBeLessThan(0.06);
    for (const [i, { xM }] of drawn.slice(1).entries()) expect(xM).toBeGreaterThan(drawn[i]?.xM ?? Number.NaN);
    let steps = 0;
    const points = profile.map(({ xM, ground: here }) => ({ xM: Math.round(xM * 10) / 10, here }));
    let next = 0;
    while (next < drawn.length) {
      const from = drawn[next] as (typeof drawn)[number];
      const behind = drawn[next + 1];
      const inside = points.filter(({ xM }) => xM >= from.xM && xM <= (behind?.xM ?? Number.NaN));
      // A step is two points of one height, or one point where the step holds no other.
      const isStep = behind !== undefined && behind.highestM === from.highestM && behind.xM - from.xM < lengthM / 240;
      const held = isStep ? inside : points.filter(({ xM }) => xM === from.xM);
      expect(held.length).toBeGreaterThan(isStep ? 1 : 0);
      if (from.highestM === null) expect(held.every(({ here }) => here === null)).toBe(true);
      else expect(from.highestM).toBe(Math.max(...held.map(({ here }) => here?.highestM ?? Number.NaN)));
      steps += 1;
      next += isStep ? 2 : 1;
    }
    expect(steps).toBeGreaterThan(200);
    // What is known ends at 20 degrees east.
    const known = drawn.filter(({ highestM }) => highestM !== null);
    const last = known.at(-1)?.xM ?? Number.NaN;
    const end = points.filter(({ here }) => here !== null).at(-1)?.xM;
    expect(last).toBe(end);
    expect(drawn.find(({ highestM }) => highestM === null)?.xM).toBe(points.find(({ here }) => here === null)?.xM);
  });
});

test('no point of the ground is told twice, whatever the length', () => {
  for (let km = 31; km < 40; km += 0.6) {
    const end = WGS84.Direct(47.1, 19.2, 80, km * 1000);
    const { around } = withGround(
      `turnpoint Far at ${end.lat2?.toFixed(8)} N ${end.lon2?.toFixed(8)} E\n  elevation 100 m\n\n${TASK}  start Westing at 9000 m MSL\n  turn Far\n`,
      HILLS,
    );
    expect(around.ground.length).toBeLessThanOrEqual(481);
    for (const [i, { xM }] of around.ground.slice(1).entries())
      expect(xM).toBeGreaterThan(around.ground[i]?.xM ?? Number.NaN);
  }
});

describe('what stands beside the track', () => {
  const solids = (entries: string) => out(entries).solids.map(({ solid }) => solid);
  const names = (entries: string) =>
    solids(entries)
      .map(({ name }) => name)
      .filter((name) => name !== 'Westing' && name !== 'Easting');

  test('is told in the order in which it is passed, with its top', () => {
    const found = solids(
      `obstacle Late at ${place(20_000, 400)}\n  top 1000 ft MSL\n\nfield Mid at ${place(12_000, -500)}\n  elevation 130 m\n\nturnpoint Early at ${place(3000, 800)}\n  elevation 120 m\n\nobstacle High at ${place(7000)}\n  top FL10\n`,
    );
    expect(found).toStrictEqual([
      { name: 'Westing', kind: 'field', xM: 0, topM: 200 },
      { name: 'Early', kind: 'turnpoint', xM: expect.closeTo(3000, 0), topM: 120 },
      // In the standard atmosphere a flight level is an altitude in hundreds of feet.
      { name: 'High', kind: 'obstacle', xM: expect.closeTo(7000, 0), topM: expect.closeTo(304.8, 3) },
      { name: 'Mid', kind: 'field', xM: expect.closeTo(12_000, 0), topM: 130 },
      { name: 'Late', kind: 'obstacle', xM: expect.closeTo(20_000, 0), topM: 304.8 },
      { name: 'Easting', kind: 'turnpoint', xM: expect.closeTo(LENGTH_M, 3), topM: 150 },
    ]);
  });

  test('counts within half a nautical mile, and so much more as it may stand elsewhere', () => {
    for (const side of [1, -1]) {
      const near = `at ${place(9000, side * 916)}`;
      const far = `at ${place(9000, side * 936)}`;
      expect(names(`field One ${near}\n  elevation 1 m\n\nfield Other ${far}\n  elevation 1 m\n`)).toEqual(['One']);
      expect(names(`turnpoint One ${near}\n  elevation 1 m\n\nturnpoint Other ${far}\n  elevation 1 m\n`)).toEqual([
        'One',
      ]);
      expect(names(`obstacle One ${near}\n  top 1 m MSL\n\nobstacle Other ${far}\n  top 1 m MSL\n`)).toEqual(['One']);
      // The spread of one does not widen the other.
      expect(
        names(
          `obstacle One at ${place(9000, side * 1900)}\n  top 1 m MSL\n  radius 1000 m\n\nobstacle Other at ${place(8000, side * 1950)}\n  top 1 m MSL\n  radius 1000 m\n\nobstacle Third at ${place(9500, side * 1100)}\n  top 1 m MSL\n`,
        ),
      ).toEqual(['One']);
      expect(
        names(
          `obstacle One at ${place(9000, side * 1900)}\n  top 1 m MSL\n  radius 1000 m\n\nobstacle Other at ${place(8000, side * 1500)}\n  top 1 m MSL\n  radius 500 m\n`,
        ),
      ).toEqual(['One']);
    }
  });

  test('beyond an end counts there', () => {
    const found = solids(
      `field Before at ${place(-920)}\n  elevation 1 m\n\nfield Behind at ${place(LENGTH_M + 920)}\n  elevation 1 m\n\nfield Out at ${place(-950)}\n  elevation 1 m\n`,
    ).filter(({ topM }) => topM === 1);
    expect(found.map(({ name }) => name)).toEqual(['Before', 'Behind']);
    expect(found[0]?.xM).toBe(0);
    expect(found[1]?.xM).toBeCloseTo(LENGTH_M, 6);
  });

  test('has a height that is known', () => {
    expect(
      names(
        `obstacle Bare at ${place(9000)}\n\nobstacle Above at ${place(9000)}\n  top 50 m AGL\n\nturnpoint Low at ${place(9000)}\n`,
      ),
    ).toEqual([]);
  });

  test('on a track to the south-west as well as on one to the north-east', () => {
    const entries = `obstacle Mast at ${place(10_000, 300)}\n  top 300 m MSL\n`;
    const back = along(
      `${ENDS}\n${entries}\n${TASK}  start Westing at 3000 m MSL\n  turn Easting\n  finish Westing\n`,
      undefined,
      2,
    );
    expect(back.solids.map(({ solid }) => [solid.name, Math.round(solid.xM)])).toEqual([
      ['Easting', 0],
      ['Mast', Math.round(LENGTH_M - 10_000)],
      ['Westing', Math.round(LENGTH_M)],
    ]);
  });
});

describe('volumes of airspace', () => {
  const circle = (name: string, where: string, radius: string, floor: string, ceiling: string) =>
    `airspace ${name}\n  floor ${floor}\n  ceiling ${ceiling}\n  circle ${where} radius ${radius}\n`;

  test('are seen when their outline comes within 15 km of the track', () => {
    const { volumes } = out(
      [
        circle('Cut', place(10_000), '2 km', '1000 m MSL', 'FL100'),
        circle('Near', place(10_000, 16_900), '2 km', '1000 m MSL', 'FL100'),
        circle('Far', place(10_000, 17_300), '2 km', '1000 m MSL', 'FL100'),
        'airspace Torn\n  floor 1000 m MSL\n  circle 47.2 N 19.4 E radius 3 km\n',
        'airspace Bare\n  floor 1000 m MSL\n  ceiling FL100\n',
      ].join('\n'),
    );
    expect(volumes.map(({ seen, slices }) => [seen.meaning.name, slices.length])).toEqual([
      ['Cut', 1],
      ['Near', 0],
    ]);
    const [slice] = volumes[0]?.slices ?? [];
    expect(slice?.fromM).toBeCloseTo(8000, 0);
    expect(slice?.toM).toBeCloseTo(12_000, 0);
    // FL100 is 10,000 ft in the standard atmosphere.
    expect(slice?.floor).toStrictEqual([
      { xM: slice?.fromM, altitudeM: 1000 },
      { xM: slice?.toM, altitudeM: 1000 },
    ]);
    expect(slice?.ceiling).toEqual([
      { xM: slice?.fromM, altitudeM: expect.closeTo(3048, 3) },
      { xM: slice?.toM, altitudeM: expect.closeTo(3048, 3) },
    ]);
  });

  test('with a limit above ground that is not known have none, but the surface needs no ground', () => {
    const limits = (floor: string, ceiling: string) => {
      const [slice] = out(circle('Cut', place(10_000), '2 km', floor, ceiling)).volumes[0]?.slices ?? [];
      expect(slice?.floor.map(({ xM }) => xM)).toEqual([slice?.fromM, slice?.toM]);
      expect(slice?.ceiling.map(({ xM }) => xM)).toEqual([slice?.fromM, slice?.toM]);
      return [slice?.floor[0]?.altitudeM, slice?.floor[1]?.altitudeM, slice?.ceiling[0]?.altitudeM];
    };
    expect(limits('0 ft AGL', '1000 m AGL')).toEqual([0, 0, null]);
    expect(limits('300 m AGL', '1000 m MSL')).toEqual([null, null, 1000]);
    expect(limits('0 ft AGL', '0 ft AGL')).toEqual([0, 0, null]);
  });

  test('with a limit above ground follow it, in steps enough', () => {
    const sliced = (radius: string, number = 1, more = '') => {
      const { around, profile } = withGround(
        `${circle('Cut', place(10_000), radius, '0 ft AGL', '300 m AGL')}\n${OUT}${more}`,
        HILLS,
        number,
      );
      const [slice] = around.volumes[0]?.slices ?? [];
      if (!slice) throw new Error('no slice');
      const inner = profile.filter(({ xM }) => xM > slice.fromM && xM < slice.toM);
      for (const { xM, altitudeM } of slice.floor) expect(altitudeM).toBe(groundAt(profile, xM)?.groundM ?? Number.NaN);
      for (const { xM, altitudeM } of slice.ceiling)
        expect(altitudeM).toBe((groundAt(profile, xM)?.groundM ?? Number.NaN) + 300);
      expect(slice.floor.map(({ xM }) => xM)).toEqual(slice.ceiling.map(({ xM }) => xM));
      return { slice, inner: inner.map(({ xM }) => xM) };
    };
    // 4 km: every point of the ground.
    const small = sliced('2 km');
    expect(small.inner.length).toBeGreaterThan(50);
    expect(small.inner.length).toBeLessThan(120);
    expect(small.slice.floor.map(({ xM }) => xM)).toEqual([small.slice.fromM, ...small.inner, small.slice.toM]);
    // 12 km: every second one, so that they are 120 at most.
    const large = sliced('6 km');
    expect(large.inner.length).toBeGreaterThan(120);
    expect(large.inner.length).toBeLessThanOrEqual(240);
    expect(large.slice.floor.map(({ xM }) => xM)).toEqual([
      large.slice.fromM,
      ...large.inner.filter((_, i) => i % 2 === 0),
      large.slice.toM,
    ]);
    // Over the whole of a leg each point is told once, its ends as well.
    for (const metres of [3000, 4000, 4500]) {
      const { around, profile } = withGround(
        `${circle('All', place(2000), '9 km', '0 ft AGL', '300 m AGL')}\nturnpoint Close at ${place(metres)}\n  elevation 100 m\n\n${TASK}  start Westing at 3000 m MSL\n  turn Close\n`,
        HILLS,
      );
      expect(around.volumes[0]?.slices[0]?.floor.map(({ xM }) => xM)).toEqual(
        profile.map(({ xM }) => expect.closeTo(xM, 6)),
      );
    }
    // The ground is higher than the sea: the surface is the ground.
    expect(Math.min(...small.slice.floor.map(({ altitudeM }) => altitudeM ?? 0))).toBeGreaterThan(100);
  });
});

describe('fields beside the track', () => {
  test('are told up to 15 km, the nearest first', () => {
    const strips = [
      ['Far', 9000, 14_997],
      ['Out', 9000, 15_003],
      ['Near', 20_000, -1200],
      ['Mid', 4000, 7000],
      ['Left', 11_000, -14_998],
      ['Beyond', 11_000, -15_003],
    ] as const;
    const { fields } = out(
      strips
        .map(([name, alongM, rightM]) => `field ${name} at ${place(alongM, rightM)}\n  elevation 100 m\n`)
        .join('\n'),
    );
    expect(fields.map(({ seen }) => seen.meaning.name)).toEqual(['Westing', 'Near', 'Mid', 'Far', 'Left']);
    for (const { seen, besideM } of fields) {
      const strip = strips.find(([name]) => name === seen.meaning.name);
      expect(Math.abs(besideM - Math.abs(strip?.[2] ?? 0))).toBeLessThan(1);
    }
  });
});
