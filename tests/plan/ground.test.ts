/** The ground under a task and what stands on it, against geodesics of another library and the ground post by post. */
import { describe, expect, test } from 'vitest';
import { decodeTile, type GroundPoint, type LegFlown } from '../../server/flight/index.ts';
import {
  clearanceAsked,
  groundAt,
  groundProfile,
  mayDiffer,
  pointsWithin,
  type TooLow,
  tooLow,
  unknownGround,
  wantedTiles,
} from '../../server/plan/ground.ts';
import { altitudeAt, flownTo, pathOf, reachMayDiffer, stretchesWithoutField } from '../../server/plan/reach.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { tileBytes } from '../flight/tiles.ts';
import { CLUB, ENDS, LENGTH_M, legOf, PLAN, place, SAME_DIGITS, WGS84 } from './westing.ts';

// Source of every place and distance below: geographiclib-geodesic, WGS84.
/** `clear 500 ft` and `altimeter 150 ft` of the reserve. */
const ASKED_M = 650 * 0.3048;
/** So far beside the track something counts: half a nautical mile. */
const BESIDE_M = 926;

const task = (lines = '  start Westing at 2500 m MSL\n  finish Easting\n', reserve = 'Training') =>
  `task Out\n  aircraft Finch with pilot 82 kg\n  weather Calm\n  reserve ${reserve}\n${lines}`;
const plan = (entries: string, lines?: string, reserve?: string) =>
  `${ENDS}\n${entries}\n${CLUB}\n${task(lines, reserve)}`;

function evaluated(text: string, also: (workspace: Workspace) => void = () => {}, workspace = spaceOf()) {
  const file = setFile(workspace, PLAN, text);
  also(workspace);
  const understood = understand(workspace, file);
  const [one] = understood.tasks;
  if (!one) throw new Error('no task');
  return { workspace, understood, task: one };
}
const spaceOf = () => createWorkspace(['file:///plans']);
const lowOf = (one: TaskEvaluation, number = 1) => tooLow(legOf(one, number), one);
const low = (text: string, also?: (workspace: Workspace) => void) => lowOf(evaluated(text, also).task);
const names = (found: readonly TooLow[]) => found.map(({ over }) => (over === 'ground' ? over : over.meaning.name));
/** The planned altitude over a point of the leg of a plan. */
function planned(xM: number, lines?: string): number {
  return altitudeAt(pathOf(legOf(evaluated(plan('', lines)).task)), xM) ?? Number.NaN;
}
const mast = (topM: number, at: string, radius = '', name = 'Mast') =>
  `obstacle ${name} at ${at}\n  top ${topM} m MSL\n${radius === '' ? '' : `  radius ${radius}\n`}`;

describe('by the lowest point of a leg', () => {
  test('what is passed too low by decimetres there is told, and what is not is none', () => {
    const arriveM = (legOf(evaluated(plan('')).task).result as LegFlown).arriveAltitudeM;
    for (const [byM, found] of [
      [0.4, ['Mast']],
      [0.05, ['Mast']],
      [-0.05, []],
      [-0.4, []],
    ] as const)
      expect(names(low(plan(mast(arriveM - ASKED_M + byM, place(LENGTH_M - 500)))))).toEqual(found);
  });

  test('a leg that makes no headway any more is looked at as far as it is flown', () => {
    // A gale from ahead below 1400 m.
    const lines = '  start Westing at 2000 m MSL\n  finish Easting at 55 kt\n';
    const gale = `weather Gale\n  wind 1000 m MSL from 054° at 90 kt\n  wind 1500 m MSL from 054° at 5 kt\n`;
    const text = (entries: string) =>
      plan(`${gale}\n${entries}`, lines).replace('weather Calm\n  reserve', 'weather Gale\n  reserve');
    const leg = legOf(evaluated(text('')).task);
    expect(leg.result?.problem).toBe('no-headway');
    const endM = flownTo(leg) as number;
    expect(endM).toBeGreaterThan(5000);
    expect(endM).toBeLessThan(LENGTH_M - 3000);
    const passedM = altitudeAt(pathOf(leg), 4000) as number;
    expect(names(low(text(mast(passedM - ASKED_M + 30, place(4000)))))).toEqual(['Mast']);
    expect(names(low(text(mast(passedM - ASKED_M + 30, place(endM + 2000)))))).toEqual([]);
  });
});

describe('the ground at a distance', () => {
  test('is that of the nearest point of the profile, the farther along of two', () => {
    const xs = [0, 10, 20, 50, 80, 82, 90];
    const profile: GroundPoint[] = xs.map((xM, i) => ({
      xM,
      ground: i === 3 ? null : { groundM: i, highestM: 100 + i },
    }));
    for (let x = -5; x <= 100; x += 0.5) {
      const nearest = xs.reduce((best, xM, i) => (Math.abs(xM - x) <= Math.abs((xs[best] ?? 0) - x) ? i : best), 0);
      expect(groundAt(profile, x)?.groundM).toBe(nearest === 3 ? undefined : nearest);
    }
    expect(groundAt(profile.slice(0, 1), 7)).toStrictEqual({ groundM: 0, highestM: 100 });
    expect(groundAt([], 7)).toBeUndefined();
  });

  test('the points of a path within a span are its ends and what lies between, both sides of a climb', () => {
    const path = [
      [0, 1000],
      [10, 900],
      [20, 800],
      [20, 950],
      [30, 850],
    ].map(([xM = 0, altitudeM = 0]) => ({ xM, altitudeM, timeS: 0 }));
    const within = (fromM: number, toM: number) => pointsWithin(path, { fromM, toM }).map((p) => [p.xM, p.altitudeM]);
    expect(within(5, 15)).toStrictEqual([
      [5, 950],
      [10, 900],
      [15, 850],
    ]);
    expect(within(20, 25)).toStrictEqual([
      [20, 950],
      [20, 800],
      [20, 950],
      [25, 900],
    ]);
    expect(within(15, 20)).toStrictEqual([
      [15, 850],
      [20, 800],
      [20, 950],
      [20, 950],
    ]);
    expect(within(12, 14)).toStrictEqual([
      [12, 880],
      [14, 860],
    ]);
  });
});

const NEAR_TILE = 'file:///plans/tiles/N47E019.hgt';
const FAR_TILE = 'file:///plans/tiles/N47E020.hgt';
const POSTS = 1201;
const tile = (of: (row: number, column: number) => number, lonDeg = 19) => {
  const made = decodeTile(tileBytes(POSTS, of), { latDeg: 47, lonDeg });
  if (!made) throw new Error('no tile');
  return made;
};
const TERRAIN = 'terrain "tiles"\n';

describe('the ground under a task', () => {
  const BEYOND = `field Beyond at 47.1000 N 20.3000 E\n  elevation 100 m\n`;
  const OUT = '  start Westing at 5000 m MSL\n  turn Beyond\n  finish Easting\n';

  test('is wanted of the legs that are computed, where a terrain is written', () => {
    const wanted = (text: string) => wantedTiles(evaluated(text).understood);
    expect(wanted(plan(`${TERRAIN}\n${BEYOND}`, OUT))).toStrictEqual([NEAR_TILE, FAR_TILE]);
    expect(wanted(plan(BEYOND, OUT))).toStrictEqual([]);
    expect(wanted(plan(`terrain "../../elsewhere"\n${BEYOND}`, OUT))).toStrictEqual([]);
    // Written in a file that the plan uses, which has lines before its first entry.
    const workspace = spaceOf();
    setFile(workspace, PLAN.replace(/[^/]+$/, 'ground.taskplan'), `# tiles\n\n${TERRAIN}\n`);
    const uses = evaluated(`use "ground.taskplan"\n${plan(BEYOND, OUT)}`, undefined, workspace);
    expect(wantedTiles(uses.understood)).toStrictEqual([NEAR_TILE, FAR_TILE]);
    expect(wanted(plan(TERRAIN, '  start Westing at 2500 m MSL\n  turn Nowhere\n  finish Easting\n'))).toStrictEqual(
      [],
    );
  });

  test('each leg has its own, and keeps it while the tiles are the same', () => {
    const { task: one } = evaluated(plan(`${TERRAIN}\n${BEYOND}`, OUT), (workspace) => {
      setTile(
        workspace,
        NEAR_TILE,
        tile((_, column) => column),
      );
      setTile(
        workspace,
        FAR_TILE,
        tile((_, column) => POSTS - 1 + column, 20),
      );
    });
    const [out, back] = [groundProfile(legOf(one, 1), one) ?? [], groundProfile(legOf(one, 2), one) ?? []];
    // A post of this ground is as high as it lies east: 1,200 columns to a degree.
    expect(out[0]?.ground?.groundM).toBeCloseTo(0.2 * 1200, 3);
    expect(out.at(-1)?.ground?.groundM).toBeCloseTo(1.3 * 1200, 3);
    expect(back[0]?.ground?.groundM).toBeCloseTo(1.3 * 1200, 3);
    expect(back.at(-1)?.ground?.groundM).toBeCloseTo(0.5 * 1200, 3);
    expect(unknownGround(one)).toBeUndefined();
    expect(groundProfile(legOf(one, 1), one)).toStrictEqual(out);
  });

  test('is none without a terrain, and of a leg that is not computed', () => {
    const { task: bare } = evaluated(plan(''));
    expect(groundProfile(legOf(bare), bare)).toBeUndefined();
    expect(unknownGround(bare)).toBeUndefined();
    const { task: lost } = evaluated(
      plan(TERRAIN, '  start Westing at 2500 m MSL\n  turn Nowhere\n  finish Easting\n'),
    );
    expect(groundProfile(legOf(lost), lost)).toBeUndefined();
    expect(unknownGround(lost)).toBeUndefined();
    expect(lowOf(lost)).toStrictEqual([]);
  });

  test('what is not known under one leg says nothing of another', () => {
    const lines = '  start Westing at 5000 m MSL\n  turn Easting\n  finish Beyond\n';
    const { task: one } = evaluated(plan(`${TERRAIN}\n${BEYOND}`, lines), (workspace) =>
      setTile(
        workspace,
        NEAR_TILE,
        tile(() => 90),
      ),
    );
    const { lengthM, ...rest } = unknownGround(one) ?? {};
    expect(lengthM).toBeGreaterThan(20_000);
    expect(rest).toStrictEqual({ tiles: ['N47E020.hgt'], voids: false });
  });

  test('what is not known of it has its length, its tiles, and whether anything was measured there', () => {
    const beyond = WGS84.Inverse(47.1, 19.2, 47.1, 20.3);
    // Where that leg crosses 20 E, found by halves.
    let [lowM, highM] = [0, beyond.s12 ?? 0];
    while (highM - lowM > 0.01) {
      const middle = (lowM + highM) / 2;
      const { lon2 = 0 } = WGS84.Direct(47.1, 19.2, beyond.azi1 ?? 0, middle);
      if (lon2 < 20) lowM = middle;
      else highM = middle;
    }
    const east = (beyond.s12 ?? 0) - lowM;
    const lines = '  start Westing at 5000 m MSL\n  finish Beyond\n';
    const unknown = (also: (workspace: Workspace) => void) =>
      unknownGround(evaluated(plan(`${TERRAIN}\n${BEYOND}`, lines), also).task);
    const half = unknown((workspace) =>
      setTile(
        workspace,
        NEAR_TILE,
        tile(() => 90),
      ),
    );
    // To a post's distance, 93 m.
    expect(Math.abs((half?.lengthM ?? 0) - east)).toBeLessThan(93);
    expect({ ...half, lengthM: 0 }).toStrictEqual({ lengthM: 0, tiles: ['N47E020.hgt'], voids: false });
    const none = unknown(() => {});
    expect(none?.lengthM).toBeCloseTo(beyond.s12 ?? 0, 3);
    expect({ ...none, lengthM: 0 }).toStrictEqual({ lengthM: 0, tiles: ['N47E019.hgt', 'N47E020.hgt'], voids: false });
    // Columns 480 to 599 of nothing measured: 19.4 to 19.5 E, and what lies between them and their neighbours.
    const voids = unknown((workspace) => {
      setTile(
        workspace,
        NEAR_TILE,
        tile((_, column) => (column >= 480 && column < 600 ? -32_768 : 90)),
      );
      setTile(
        workspace,
        FAR_TILE,
        tile(() => 90, 20),
      );
    });
    const wide = WGS84.Inverse(47.1, 19.4, 47.1, 19.5).s12 ?? 0;
    expect(Math.abs((voids?.lengthM ?? 0) - wide)).toBeLessThan(2 * 93);
    expect({ ...voids, lengthM: 0 }).toStrictEqual({ lengthM: 0, tiles: [], voids: true });
  });
});

describe('something solid is passed too low', () => {
  test('by the clearance and the altimeter that the reserve asks', () => {
    expect(clearanceAsked(evaluated(plan('')).task)).toBeCloseTo(ASKED_M, 9);
    const own = 'reserve Own\n  arrive 1000 ft AGL\n';
    expect(clearanceAsked(evaluated(plan(own, undefined, 'Own')).task)).toBe(0);
    expect(clearanceAsked(evaluated(plan(own, undefined, 'Nobody')).task)).toBe(0);
  });

  test('on the part of the leg that passes within its radius and half a nautical mile, where the most is missing', () => {
    const [along, right, radius] = [12_000, 700, 400];
    const half = Math.sqrt((radius + BESIDE_M) ** 2 - right ** 2);
    const [found, ...others] = low(plan(mast(planned(12_000), place(along, right), `${radius} m`)));
    if (!found) throw new Error('nothing');
    expect(others).toStrictEqual([]);
    expect(names([found])).toStrictEqual(['Mast']);
    expect(Math.abs(found.span.fromM - (along - half))).toBeLessThan(1);
    expect(Math.abs(found.span.toM - (along + half))).toBeLessThan(1);
    // It glides down all the way, so the most is missing at the far end.
    expect(found.xM).toBe(found.span.toM);
    expect(found.altitudeM).toBeCloseTo(planned(found.span.toM), 6);
    expect(found.topM).toBeCloseTo(planned(12_000), 6);
    const { fromM, toM } = found.span;
    const between = pathOf(legOf(evaluated(plan('')).task)).filter(({ xM }) => xM > fromM && xM < toM);
    expect(between.length).toBeGreaterThan(1);
    expect(found.asked.map(({ xM }) => xM)).toStrictEqual([fromM, ...between.map(({ xM }) => xM), toM]);
    for (const { altitudeM } of found.asked) expect(altitudeM).toBeCloseTo(planned(12_000) + ASKED_M, 6);
  });

  test('where it is lower than asked by more than a centimetre', () => {
    const at = 12_000;
    const end = low(plan(mast(planned(at), place(at))))[0]?.span.toM ?? 0;
    const top = planned(end) - ASKED_M;
    const told = (byM: number) => low(plan(mast(Number((top + byM).toFixed(6)), place(at)))).length;
    expect([-0.005, 0.005, 0.015].map(told)).toStrictEqual([0, 0, 1]);
    const [only] = low(plan(mast(Number((top + 0.015).toFixed(6)), place(at))));
    expect(only?.asked.map(({ xM }) => xM)).toStrictEqual([end]);
  });

  test('by a climb on the way: the side before it is the lower', () => {
    // By so little that the side behind it is too low as well, and as far as the mast counts.
    for (const byM of [1000, 100]) {
      const to = planned(12_000) + byM;
      const lines = `  start Westing at 2500 m MSL\n  climb to ${to.toFixed(3)} m MSL after 12 km\n  finish Easting\n`;
      const before = planned(11_999.9, lines);
      const [found] = low(plan(mast(before, place(12_000)), lines));
      expect(found?.xM).toBeCloseTo(12_000, 6);
      expect(found?.altitudeM).toBeCloseTo(before, 1);
    }
  });

  test('as far beside the track as its radius and half a nautical mile, and no farther', () => {
    const told = (right: number, radius = '') => names(low(plan(mast(3000, place(12_000, right), radius))));
    expect([told(925), told(-925), told(927), told(-927)]).toStrictEqual([['Mast'], ['Mast'], [], []]);
    expect([told(1925, '1 km'), told(1927, '1 km')]).toStrictEqual([['Mast'], []]);
    const beyond = (along: number) => names(low(plan(mast(3000, place(along)))));
    expect([beyond(-920), beyond(-960), beyond(LENGTH_M + 920), beyond(LENGTH_M + 960)]).toStrictEqual([
      ['Mast'],
      [],
      ['Mast'],
      [],
    ]);
    // One wide, one narrow, of which the wide one makes the search wider.
    const wide = mast(3000, place(20_000, 6000), '5.2 km', 'Wide');
    expect(names(low(plan(`${wide}\n${mast(3000, place(12_000, 3000))}`)))).toStrictEqual(['Wide']);
    expect(names(low(plan(`${mast(3000, place(12_000, 500))}\n${wide}`)))).toStrictEqual(['Mast', 'Wide']);
  });

  test('of other fields and turnpoints, not of its own ends, and not without a height', () => {
    const other = (kind: string, elevation = '  elevation 2400 m\n', right = 500) =>
      names(low(plan(`${kind} Hill at ${place(12_000, right)}\n${elevation}`)));
    expect([other('field'), other('turnpoint')]).toStrictEqual([['Hill'], ['Hill']]);
    expect([other('field', ''), other('turnpoint', ''), other('field', undefined, 927)]).toStrictEqual([[], [], []]);
    // Over its ends a leg may be lower than asked over others: 150 m over Westing at the start.
    expect(
      names(
        low(
          plan(
            `field Spare at ${place(0, 5)}\n  elevation 200 m\n`,
            '  start Westing at 350 m MSL\n  climb to 2500 m MSL after 300 m\n  finish Easting\n',
          ),
        ),
      ),
    ).toStrictEqual(['Spare']);
    const short = '  start Westing at 1600 m MSL\n  finish Easting\n';
    const arrive = planned(LENGTH_M, short);
    expect(arrive - 150).toBeLessThan(ASKED_M);
    expect(names(low(plan(`turnpoint Spare at ${place(LENGTH_M, 5)}\n  elevation 150 m\n`, short)))).toStrictEqual([
      'Spare',
    ]);
    expect(names(low(plan('', short)))).toStrictEqual([]);
  });

  test('as far as the leg is flown, where it does not get to its end', () => {
    const LOW = '  start Westing at 700 m MSL\n  finish Easting\n';
    const { task } = evaluated(plan('', LOW));
    const endM = flownTo(legOf(task)) as number;
    expect(endM).toBe((legOf(task).result as LegFlown).reachesGroundAfterM);
    const found = (topM: number, xM: number) => names(low(plan(mast(topM, place(xM)), LOW)));
    expect(found(3000, 12_000)).toStrictEqual(['Mast']);
    expect(found(100, 3000)).toStrictEqual([]);
    expect(found(3000, endM + 900)).toStrictEqual(['Mast']);
    expect(found(3000, endM + 1000)).toStrictEqual([]);
    // The part beyond is not told.
    expect(low(plan(mast(3000, place(endM)), LOW))[0]?.span.toM).toBeCloseTo(endM, 6);
    // What is about as high as the end is told by the glide that does not get there.
    const elevationM = legOf(task).to?.meaning.elevationM as number;
    const beside = (kind: string, highM: number) =>
      names(low(plan(`${kind} Other at ${place(endM - 1500)}\n  elevation ${highM} m\n`, LOW)));
    for (const kind of ['field', 'turnpoint']) {
      expect(beside(kind, elevationM + 29)).toStrictEqual([]);
      expect(beside(kind, elevationM + 60)).toStrictEqual(['Other']);
    }
    expect(found(elevationM + 29, endM - 1500)).toStrictEqual(['Mast']);
  });

  test('not without a top, or where the clearance cannot be read', () => {
    expect(names(low(plan(`obstacle Mast at ${place(12_000)}\n`)))).toStrictEqual([]);
    const all = mast(3000, place(12_000));
    const own = (line: string) =>
      names(low(plan(`${all}\nreserve Own\n  arrive 1000 ft AGL\n${line}`, undefined, 'Own')));
    expect(own('')).toStrictEqual(['Mast']);
    expect(own('  clear 500 ft\n')).toStrictEqual(['Mast']);
    expect(own('  clear 500\n')).toStrictEqual([]);
    expect(own('  zzzzz 17\n')).toStrictEqual(['Mast']);
    const nobody = evaluated(plan(all, undefined, 'Nobody')).task;
    expect(() => lowOf(nobody)).not.toThrow();
  });
});

test('legs whose places are written with the same digits have each the ground under them', () => {
  const one = (name: string, from: string, to: string) =>
    task(`  start ${from} at 2500 m MSL\n  finish ${to}\n\n`).replace('task Out', `task ${name}`);
  const workspace = spaceOf();
  setTile(
    workspace,
    NEAR_TILE,
    tile(() => 100),
  );
  const text = `${TERRAIN}\n${SAME_DIGITS}${CLUB}\n${one('East', 'A', 'B')}${one('West', 'C', 'D')}`;
  const { tasks } = understand(workspace, setFile(workspace, PLAN, text));
  expect(tasks.map((each) => unknownGround(each)?.tiles)).toStrictEqual([undefined, ['N47E009.hgt']]);
});

describe('the ground is passed too low', () => {
  /** The same, point by point of the profile. */
  function expected(one: TaskEvaluation, elevations: readonly [number, number]) {
    const leg = legOf(one);
    const asked = (groundProfile(leg, one) ?? []).flatMap(({ xM, ground }) => {
      const altitudeM = altitudeAt(pathOf(leg), xM) ?? Number.NaN;
      if (!ground || altitudeM >= ground.highestM + ASKED_M - 0.01) return [];
      // Within a kilometre of an end, ground up to 30 m higher than it is told by the height asked there.
      if (xM < 1000 && ground.highestM <= elevations[0] + 30) return [];
      if (LENGTH_M - xM < 1000 && ground.highestM <= elevations[1] + 30) return [];
      return [{ xM, altitudeM, topM: ground.highestM }];
    });
    const worst = asked.toSorted((a, b) => a.altitudeM - a.topM - (b.altitudeM - b.topM) || a.xM - b.xM)[0];
    return { asked, worst };
  }

  function compared(of: (row: number, column: number) => number, lines?: string) {
    const { task: one } = evaluated(plan(TERRAIN, lines), (workspace) => setTile(workspace, NEAR_TILE, tile(of)));
    const { asked, worst } = expected(one, [200, 150]);
    const found = lowOf(one);
    if (!worst) {
      expect(found).toStrictEqual([]);
      return [];
    }
    expect(names(found)).toStrictEqual(['ground']);
    const [ground] = found;
    expect(ground?.xM).toBe(worst.xM);
    expect(ground?.altitudeM).toBeCloseTo(worst.altitudeM, 6);
    expect(ground?.topM).toBe(worst.topM);
    expect(ground?.span).toStrictEqual({ fromM: asked[0]?.xM, toM: asked.at(-1)?.xM });
    expect(ground?.asked.map(({ xM }) => xM)).toStrictEqual(asked.map(({ xM }) => xM));
    for (const [i, { altitudeM }] of (ground?.asked ?? []).entries())
      expect(altitudeM).toBeCloseTo((asked[i]?.topM ?? 0) + ASKED_M, 6);
    return asked.map(({ xM }) => Math.round(xM));
  }

  test('over ridges, where the most is missing, and not over ground that is low or not known', () => {
    expect(compared(() => 100)).toStrictEqual([]);
    // Two ridges, the second lower and the more in the way, with a void on the top of the first.
    const both = compared((_, column) =>
      column === 340 ? -32_768 : column > 330 && column < 350 ? 2300 : column > 500 && column < 520 ? 1900 : 100,
    );
    expect(both.length).toBeGreaterThan(20);
    // Ground that rises against the leg, in waves.
    expect(compared((row, column) => 200 + column * 3 + 60 * Math.round(3 * Math.sin(row / 9))).length).toBeGreaterThan(
      20,
    );
  });

  test('on both sides of a climb on the way', () => {
    const lines = '  start Westing at 2000 m MSL\n  climb to 3000 m MSL after 12 km\n  finish Easting\n';
    const found = compared(() => 1600, lines);
    expect(found.some((xM) => xM > 11_000 && xM < 12_000)).toBe(true);
    expect(found.some((xM) => xM > 12_000 && xM < 20_000)).toBe(false);
  });

  test('at a start, from the top of a climb at no distance behind it', () => {
    const lines = '  start Westing at 500 m MSL\n  climb to 2000 m MSL after 0 km\n  finish Easting\n';
    expect(compared(() => 1000, lines)[0]).toBeGreaterThan(10_000);
  });

  test('as far as the glide gets, but for ground about as high as where it would have led', () => {
    const lines = '  start Westing at 700 m MSL\n  finish Easting\n';
    const { task: one } = evaluated(plan('', lines));
    const endM = flownTo(legOf(one)) as number;
    expect(endM).toBeLessThan(LENGTH_M - 2000);
    const low = (of: (row: number, column: number) => number) =>
      lowOf(evaluated(plan(TERRAIN, lines), (workspace) => setTile(workspace, NEAR_TILE, tile(of))).task);
    // Easting lies 150 m high.
    expect(low(() => 150)).toStrictEqual([]);
    expect(low(() => 180)).toStrictEqual([]);
    const [ground] = low(() => 200);
    expect(ground?.over).toBe('ground');
    expect(ground?.span.toM).toBeLessThanOrEqual(endM);
    expect(ground?.span.toM).toBeGreaterThan(endM - 200);
    // A mountain that it does not get to.
    const column = (xM: number) => Math.floor((600 * xM) / LENGTH_M);
    const behind = (xM: number) => low((_, at) => (at > column(xM) ? 2000 : 20));
    expect(behind(endM + 2500).every(({ xM }) => xM <= endM)).toBe(true);
    expect(names(behind(endM - 4000))).toStrictEqual(['ground']);
  });

  test('where it is lower than asked by more than a centimetre', () => {
    const ridge = (_: number, column: number) => (column === 400 ? 1500 : 20);
    const of = (startM: number) => {
      const lines = `  start Westing at ${startM.toFixed(6)} m MSL\n  finish Easting\n`;
      const { task: one } = evaluated(plan(TERRAIN, lines), (workspace) => setTile(workspace, NEAR_TILE, tile(ridge)));
      const over = (groundProfile(legOf(one), one) ?? []).flatMap(({ xM, ground }) =>
        ground?.highestM === 1500 ? [(altitudeAt(pathOf(legOf(one)), xM) ?? 0) - 1500 - ASKED_M] : [],
      );
      return { sparedM: Math.min(...over), told: names(lowOf(one)) };
    };
    // The start at which the ridge is passed by just the height asked, found by trying.
    let start = 2500;
    for (let i = 0; i < 4; i++) start -= of(start).sparedM;
    expect(Math.abs(of(start).sparedM)).toBeLessThan(0.001);
    expect([0.005, -0.005, -0.015].map((byM) => of(start + byM).told)).toStrictEqual([[], [], ['ground']]);
  });

  test('at the ends of a leg, unless it is about as high as they are', () => {
    const low = '  start Westing at 380 m MSL\n  climb to 1540 m MSL after 2 km\n  finish Easting\n';
    const starts = (height: number) => compared((_, column) => (column < 300 ? height : 20), low)[0];
    // The start, 200 m high, is told of by what is asked there.
    expect(starts(230)).toBeGreaterThan(1000);
    expect(starts(231)).toBe(0);
    // As high as the end is: that tells nothing of ground on the way.
    expect(compared(() => 170, low).some((xM) => xM > 1000 && xM < 2000)).toBe(true);
    const ends = (height: number) =>
      LENGTH_M - (compared((_, column) => (column > 500 ? height : 20), low).at(-1) ?? 0);
    expect(ends(180)).toBeGreaterThan(1000);
    expect(ends(181)).toBeLessThan(1);
  });
});

describe('after an edit', () => {
  const own = (clear: number) => `reserve Own\n  arrive 1000 ft AGL\n  clear ${clear} m\n`;
  const hill = (elevation: number, right = 500) =>
    `turnpoint Hill at ${place(9000, right)}\n  elevation ${elevation} m\n`;
  const LINES = '  start Westing at 2500 m MSL\n  finish Easting\n';

  /** What is told of each text in turn in one workspace, the same as of each by itself. */
  function oneAfterAnother(texts: readonly string[]) {
    const workspace = spaceOf();
    const plain = (found: readonly TooLow[]) =>
      found.map(({ over, ...rest }) => ({ over: over === 'ground' ? over : over.meaning.name, ...rest }));
    const told = texts.map((text) => {
      const { task: one } = evaluated(text, undefined, workspace);
      const found = plain(lowOf(one));
      expect(plain(lowOf(one))).toStrictEqual(found);
      return found;
    });
    // What each comes to by itself is asked behind them all: what is told of a leg is kept with its numbers.
    for (const [i, text] of texts.entries()) expect(told[i]).toStrictEqual(plain(low(text)));
    return told.map((found) => found.map(({ over }) => over));
  }

  test('of an obstacle: what stands beside the leg is told, and no longer once it went', () => {
    const at = (...obstacles: string[]) => plan(obstacles.join('\n'), LINES);
    expect(
      oneAfterAnother([
        at(mast(3000, place(12_000, 90_000))),
        at(mast(3000, place(12_000, 900))),
        at(mast(3000, place(12_000, 940))),
        at(mast(3000, place(12_000, 5000), '4.1 km')),
        at(mast(3000, place(12_000, 5000), '4 km')),
        at(mast(3000, place(12_000, 5000), '4.1 km'), mast(3000, place(-900), '', 'Post')),
        at(mast(100, place(12_000, 5000), '4.1 km'), mast(3000, place(-900), '', 'Post')),
        at(mast(3000, place(LENGTH_M + 900), '', 'Post')),
        at(mast(3000, place(LENGTH_M + 900), '', 'Post'), mast(3000, place(LENGTH_M / 2, 60_000), '59.5 km')),
        at(),
      ]),
    ).toStrictEqual([[], ['Mast'], [], ['Mast'], [], ['Mast', 'Post'], ['Post'], ['Post'], ['Post', 'Mast'], []]);
  });

  test('of another point, of an end, and of the reserve', () => {
    const texts = [
      plan(`${hill(1900)}\n${own(10)}`, LINES, 'Own'),
      plan(`${hill(1900)}\n${own(400)}`, LINES, 'Own'),
      plan(`${hill(1200)}\n${own(400)}`, LINES, 'Own'),
      plan(`${hill(1900, 950)}\n${own(400)}`, LINES, 'Own'),
      plan(`${hill(1900)}\n${own(400)}`, LINES, 'Own'),
      plan(`${hill(1900)}\n${own(400)}\nfield Twin at 47.2500 N 19.5000 E\n  elevation 1800 m\n`, LINES, 'Own'),
      plan(
        `${hill(1900)}\n${own(400)}\nfield Twin at 47.2500 N 19.5000 E\n  elevation 150 m\n`,
        LINES.replace('finish Easting', 'finish Twin'),
        'Own',
      ),
    ];
    expect(oneAfterAnother(texts)).toStrictEqual([[], ['Hill'], [], [], ['Hill'], ['Twin', 'Hill'], ['Hill']]);
  });

  test('of the end or the start that is another at the same place, as high', () => {
    const twins = `field Westwood at 47.1000 N 19.2000 E\n  elevation 200 m\n\nfield Eastwood at 47.2500 N 19.5000 E\n  elevation 150 m\n`;
    const lines = (start: string, finish: string) =>
      `  start ${start} at 380 m MSL\n  climb to 1510 m MSL after 2 km\n  finish ${finish}\n`;
    const texts = [
      lines('Westing', 'Easting'),
      lines('Westing', 'Eastwood'),
      lines('Westwood', 'Eastwood'),
      lines('Westwood', 'Easting'),
      lines('Westing', 'Eastwood'),
    ].map((each) => plan(twins, each));
    expect(oneAfterAnother(texts).map((found) => found.toSorted())).toStrictEqual([
      ['Eastwood', 'Westwood'],
      ['Easting', 'Westwood'],
      ['Easting', 'Westing'],
      ['Eastwood', 'Westing'],
      ['Easting', 'Westwood'],
    ]);
  });

  test('of a point that moves, or is something else at the same place', () => {
    const peak = (kind: string, at: string, elevation = '  elevation 1900 m\n') =>
      `${kind} Peak at ${at}\n${elevation}`;
    const [near, aside] = [place(15_000, 500), place(15_000, 5000)];
    const [nearLat = '', nearLon = ''] = near.split(' N ');
    const [asideLat = '', asideLon = ''] = aside.split(' N ');
    // On the line's left and right: apart in latitude alone, and in longitude alone.
    const inLatitude = `${asideLat} N ${nearLon}`;
    const inLongitude = `${nearLat} N ${asideLon}`;
    const both = (one: string, other: string) =>
      oneAfterAnother([one, other].map((entry) => plan(`${entry}\n${own(400)}`, LINES, 'Own')));
    const here = peak('turnpoint', near);
    expect(both(peak('turnpoint', inLatitude), here)).toStrictEqual([[], ['Peak']]);
    expect(both(peak('turnpoint', inLongitude), here)).toStrictEqual([[], ['Peak']]);
    expect(both(here, peak('turnpoint', inLatitude))).toStrictEqual([['Peak'], []]);
    expect(both(mast(100, near, '', 'Peak'), mast(3000, near, '', 'Peak'))).toStrictEqual([[], ['Peak']]);
    expect(both(peak('turnpoint', near, ''), mast(3000, near, '', 'Peak'))).toStrictEqual([[], ['Peak']]);
    expect(both(mast(100, near, '', 'Peak'), here)).toStrictEqual([[], ['Peak']]);
    expect(both(here, peak('field', near))).toStrictEqual([['Peak'], ['Peak']]);
    expect(both(peak('field', near), peak('turnpoint', near, ''))).toStrictEqual([['Peak'], []]);
  });

  test('of one that goes, of which another is left at the same place', () => {
    const twin = 'field Westwood at 47.1000 N 19.2000 E\n  elevation 200 m\n';
    const lines = (start: string) => `  start ${start} at 2500 m MSL\n  finish Easting\n`;
    expect(
      oneAfterAnother([plan(twin, lines('Westwood')), plan('', lines('Westing')), plan(twin, lines('Westwood'))]),
    ).toStrictEqual([[], [], []]);
  });

  test('of an end that goes, and then comes anew', () => {
    const twin = (elevation: number) => `field Eastwood at 47.2500 N 19.5000 E\n  elevation ${elevation} m\n`;
    const lines = '  start Westing at 2500 m MSL\n  finish Eastwood\n';
    const workspace = spaceOf();
    const told = (text: string) => lowOf(evaluated(text, undefined, workspace).task).map(({ over }) => over);
    const first = told(plan(twin(150), lines));
    // Nobody asks for what is told while it is not there.
    evaluated(plan('', lines), undefined, workspace);
    expect(told(plan(`${twin(150)}  runway 09/27 700 m\n`, lines))).toStrictEqual(first);
    expect(told(plan(`${hill(1900)}\n${twin(150)}`, lines)).length).toBe(first.length + 1);
  });

  test('what was told two edits ago holds no longer, whatever the last one was', () => {
    const workspace = spaceOf();
    const at = (top: number, post: number) =>
      plan(`${mast(top, place(12_000))}\n${mast(post, place(12_000, 300_000), '', 'Post')}`, LINES);
    const told = (text: string) => {
      const { task: one } = evaluated(text, undefined, workspace);
      expect(stretchesWithoutField(legOf(one), one)).toStrictEqual([]);
      return names(lowOf(one));
    };
    expect(told(at(500, 500))).toStrictEqual([]);
    evaluated(at(3000, 500), undefined, workspace);
    expect(told(at(3000, 600))).toStrictEqual(['Mast']);
    // Nor what was asked for in the meantime: what was told before it is another.
    const { task: one } = evaluated(at(500, 600), undefined, workspace);
    expect(stretchesWithoutField(legOf(one), one)).toStrictEqual([]);
    expect(lowOf(one)).toStrictEqual([]);
    expect(one.surroundings.change && mayDiffer(one, one.surroundings.change)).toBe(true);
  });

  test('of words alone: what is told stays the same, and of what is told as too low it is told anew', () => {
    const workspace = spaceOf();
    const hut = (note: string, elevation = 1200, right = 500, kind = 'turnpoint') =>
      `${kind} Hut at ${place(15_000, right)}\n  elevation ${elevation} m\n  note "${note}"\n`;
    const ends = (note: string) => `${ENDS}  note "${note}"\n`;
    const text = (ofHill: string, ofHut: string, ofEnd = '') =>
      `${ends(ofEnd)}\n${hill(1900)}  note "${ofHill}"\n\n${ofHut}\n${own(400)}\n${CLUB}\n${task(LINES, 'Own')}`;
    let before: readonly TooLow[] | undefined;
    const entriesOf = (found: readonly TooLow[]) =>
      found.map(({ over }) => (over === 'ground' ? over : over.at.entry.text));
    const shown: [string, string[]][] = [];
    const told = (of: string) => {
      const { task: one } = evaluated(of, undefined, workspace);
      const { change } = one.surroundings;
      const differs = change && mayDiffer(one, change);
      expect(stretchesWithoutField(legOf(one), one)).toStrictEqual([]);
      const found = lowOf(one);
      const isKept = found === before;
      before = found;
      shown.push([of, entriesOf(found)]);
      return [differs, isKept, found.length];
    };
    expect(told(text('a', hut('a')))).toStrictEqual([undefined, false, 1]);
    expect(told(text('a', hut('ab')))).toStrictEqual([false, true, 1]);
    expect(told(text('a', hut('abc')))).toStrictEqual([false, true, 1]);
    // Taken back, and typed anew.
    expect(told(text('a', hut('ab'))).slice(1)).toStrictEqual([true, 1]);
    expect(told(text('a', hut('abd')))).toStrictEqual([false, true, 1]);
    expect(told(text('a', hut('abc')))).toStrictEqual([false, true, 1]);
    // The hill is told, with the place of its entry.
    expect(told(text('ab', hut('abc')))).toStrictEqual([true, false, 1]);
    // Of the end of the leg nothing is told here, and the leg is the same.
    expect(told(text('ab', hut('abc'), 'x')).slice(1)).toStrictEqual([true, 1]);
    expect(told(text('ab', hut('abc'), 'xy')).slice(1)).toStrictEqual([true, 1]);
    // What counts for the height.
    expect(told(text('ab', hut('abc', 1900), 'xy'))).toStrictEqual([true, false, 2]);
    expect(told(text('ab', hut('abcd', 1900), 'xy'))).toStrictEqual([true, false, 2]);
    expect(told(text('ab', hut('abcd', 1200), 'xy'))).toStrictEqual([true, false, 1]);
    expect(told(text('ab', hut('abcd', 1200, 510), 'xy'))).toStrictEqual([true, false, 1]);
    expect(told(text('ab', hut('abcd', 1200, 510, 'field'), 'xy'))).toStrictEqual([true, false, 1]);
    expect(told(text('ab', hut('abcde', 1200, 510, 'field'), 'xy'))).toStrictEqual([false, true, 1]);
    expect(told(text('ab', mast(1200, place(15_000, 500)), 'xy'))).toStrictEqual([true, false, 1]);
    expect(told(text('ab', `${mast(1200, place(15_000, 500))}  note "a"\n`, 'xy'))).toStrictEqual([true, false, 1]);
    // And that is what each comes to by itself.
    for (const [of, entries] of shown) expect(entries).toStrictEqual(entriesOf(low(of)));
  });

  test('what is told may differ where a field in reach changed, whoever asked for the fields in reach before', () => {
    const workspace = spaceOf();
    const points = `turnpoint West at ${place(0)}\n  elevation 200 m\n\nturnpoint East at ${place(LENGTH_M)}\n  elevation 150 m\n`;
    const lines = '  start West at 4000 m MSL\n  turn East\n  finish Spare\n';
    const differs = (elevation: number, top: number) => {
      // The one place to land all the way.
      const spare = `field Spare at ${place(14_000, 3000)}\n  elevation ${elevation} m\n`;
      const post = mast(top, place(12_000, 300_000), '', 'Post');
      const { task: one } = evaluated(`${points}\n${spare}\n${post}\n${CLUB}\n${task(lines)}`, undefined, workspace);
      for (const number of [1, 2]) expect(stretchesWithoutField(legOf(one, number), one)).toStrictEqual([]);
      const { change } = one.surroundings;
      return change && [reachMayDiffer(one), mayDiffer(one, change)];
    };
    expect(differs(300, 500)).toBeUndefined();
    expect(differs(301, 500)).toStrictEqual([true, true]);
    // Of something else that is far away the fields are the same.
    expect(differs(301, 600)).toStrictEqual([false, false]);
    expect(differs(302, 600)).toStrictEqual([true, true]);
  });

  test('whether anything may differ: where something near the leg changed, and not by something far away', () => {
    const workspace = spaceOf();
    const then = (entries: string) => {
      const { task: one } = evaluated(plan(entries, LINES), undefined, workspace);
      const { change } = one.surroundings;
      const differs = change && mayDiffer(one, change);
      // A field is in reach all the way.
      expect(stretchesWithoutField(legOf(one), one)).toStrictEqual([]);
      return differs;
    };
    const far = place(12_000, 200_000);
    const others = (elevation = 1000) =>
      `${mast(500, far, '', 'Post')}\nfield Away at ${far}\n  elevation ${elevation} m\n`;
    expect(then(`${mast(500, far)}\n${others(1010)}`)).toBeUndefined();
    // What is told of the fields in reach is carried over from here on.
    const differs = [
      `${mast(500, far)}\n${others()}`,
      `${mast(600, far)}\n${others()}`,
      `${mast(600, place(12_000))}\n${others()}`,
      `${mast(600, place(12_000, 120_000))}\n${others()}`,
      `${mast(600, place(12_000, 110_000))}\n${others()}`,
      `${mast(600, place(12_000, 110_000), '109 km')}\n${others()}`,
      `${mast(601, place(12_000, 110_000))}\n${others()}`,
      others(),
      `${others()}\nfield Spare at ${place(5000, 500)}\n  elevation 300 m\n`,
    ].map(then);
    expect(differs).toStrictEqual([false, false, true, true, false, true, true, false, true]);
  });

  test('nor under a leg that is not computed', () => {
    const workspace = spaceOf();
    const lines = '  start Westing at 2500 m MSL\n  turn Easting\n  finish Nowhere\n';
    const away = (elevation: number) => `field Away at ${place(12_000, 200_000)}\n  elevation ${elevation} m\n`;
    const differs = [
      `${away(1010)}\n${mast(500, place(12_000, 200_000))}`,
      `${away(1000)}\n${mast(500, place(12_000, 200_000))}`,
      `${away(1000)}\n${mast(500, place(12_000, 2000))}`,
    ].map((entries) => {
      const { task: one } = evaluated(plan(entries, lines), undefined, workspace);
      const { change } = one.surroundings;
      const is = change && mayDiffer(one, change);
      expect(stretchesWithoutField(legOf(one), one)).toStrictEqual([]);
      return is;
    });
    expect(differs).toStrictEqual([undefined, false, true]);
  });
});
