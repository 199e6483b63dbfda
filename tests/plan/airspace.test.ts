/** Where a task meets airspace: places by geodesics of another library, times and heights point by point of the path. */
import { describe, expect, test } from 'vitest';
import { decodeTile, type LegFlown } from '../../server/flight/index.ts';
import {
  type AirspaceMet,
  airspacesOf,
  isActive,
  NEAR_BESIDE_M,
  NEAR_HEIGHT_M,
  notChecked,
} from '../../server/plan/airspace.ts';
import type { Airspace } from '../../server/plan/meaning.ts';
import { altitudeAt, flownTo, pathOf } from '../../server/plan/reach.ts';
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { tileBytes } from '../flight/tiles.ts';
import { CLUB, ENDS, LENGTH_M, legOf, PLAN, place, SAME_DIGITS, WAY, WEST, WGS84 } from './westing.ts';

// Source of every place and distance below: geographiclib-geodesic, WGS84.

interface Volume {
  readonly name?: string;
  readonly floor?: string | number;
  readonly ceiling?: string | number;
  readonly at?: string;
  readonly radiusM?: number;
  readonly more?: string;
}
const limit = (value: string | number) => (typeof value === 'number' ? `${value.toFixed(4)} m MSL` : value);
const volume = ({
  name = 'Aldmere',
  floor = 100,
  ceiling = 9000,
  at = place(12_000),
  radiusM = 1000,
  more = '',
}: Volume) =>
  `airspace ${name}\n  floor ${limit(floor)}\n  ceiling ${limit(ceiling)}\n  circle ${at} radius ${radiusM} m\n${more}\n`;

const OUT = '  start Westing at 2500 m MSL\n  finish Easting\n';
function taskOf(
  entries: string,
  lines = OUT,
  {
    takeoff = '',
    also,
    workspace = createWorkspace(['file:///plans']),
  }: {
    readonly takeoff?: string;
    readonly also?: (workspace: Workspace) => void;
    readonly workspace?: Workspace;
  } = {},
): TaskEvaluation {
  const head = `task Out\n  aircraft Finch with pilot 82 kg\n  weather Calm\n  reserve Training\n${takeoff === '' ? '' : `  takeoff ${takeoff}\n`}`;
  const file = setFile(workspace, PLAN, `${ENDS}\n${entries}\n${CLUB}\n${head}${lines}`);
  also?.(workspace);
  const [one] = understand(workspace, file).tasks;
  if (!one) throw new Error('no task');
  return one;
}
const met = (...given: Parameters<typeof taskOf>) => airspacesOf(taskOf(...given)).met;
const glides = (...given: Parameters<typeof taskOf>) => airspacesOf(taskOf(...given)).all.filter((one) => !one.climb);
const named = (found: readonly AirspaceMet[]) =>
  found.map(({ airspace, kind, climb }) => `${kind} ${airspace.meaning.name}${climb ? ' climbing' : ''}`);
/** The planned altitude at a distance of a leg. */
function planned(xM: number, lines = OUT, number = 1): number {
  return altitudeAt(pathOf(legOf(taskOf('', lines), number)), xM) ?? Number.NaN;
}
/** The distance at which a gliding path is at an altitude. */
function down(to: number, lines = OUT, [fromM, toM] = [0, LENGTH_M], number = 1): number {
  let [high, low] = [fromM as number, toM as number];
  const path = pathOf(legOf(taskOf('', lines), number));
  while (low - high > 1e-6) {
    const middle = (high + low) / 2;
    if ((altitudeAt(path, middle) ?? 0) > to) high = middle;
    else low = middle;
  }
  return high;
}

describe('a leg through a volume', () => {
  test('is inside from border to border, between its limits', () => {
    const [one, ...others] = met(volume({ radiusM: 1000, at: place(12_000, 600) }));
    if (!one) throw new Error('nothing');
    expect(others).toStrictEqual([]);
    // The chord of a circle passed 600 m beside its middle: 800 m to both sides.
    expect(Math.abs(one.span.fromM - 11_200)).toBeLessThan(1);
    expect(Math.abs(one.span.toM - 12_800)).toBeLessThan(1);
    expect(one.highM).toBeCloseTo(planned(one.span.fromM), 6);
    expect(one.lowM).toBeCloseTo(planned(one.span.toM), 6);
    const { lowM, highM, floorM, ceilingM } = one;
    expect([one.kind, one.parts, floorM, ceilingM, one.besideM, one.apartM, one.climb]).toStrictEqual([
      'enters',
      [{ ...one.span, lowM, highM, floorM, ceilingM }],
      100,
      9000,
      0,
      0,
      undefined,
    ]);
  });

  test('enters it from above and leaves it below, to the metre', () => {
    const [high, low] = [planned(10_500), planned(12_345)];
    const [one] = met(volume({ radiusM: 5000, floor: low, ceiling: high }));
    expect(named(one ? [one] : [])).toStrictEqual(['enters Aldmere']);
    expect(Math.abs((one?.span.fromM ?? 0) - 10_500)).toBeLessThan(1.1);
    expect(Math.abs((one?.span.toM ?? 0) - 12_345)).toBeLessThan(1.1);
    expect(one?.highM).toBeCloseTo(high, 0);
    expect(one?.lowM).toBeCloseTo(low, 0);
    // A slice so thin that it is passed in 120 m is found as well.
    const thin = met(volume({ radiusM: 5000, floor: planned(12_120), ceiling: planned(12_000) }))[0];
    expect(thin?.kind).toBe('enters');
    expect(Math.abs((thin?.span.fromM ?? 0) - 12_000)).toBeLessThan(1.1);
  });

  test('in parts, where a climb on the way takes it up again', () => {
    const lines = '  start Westing at 2500 m MSL\n  climb to 2600 m MSL after 14 km\n  finish Easting\n';
    const floor = planned(11_000, lines);
    const again = down(floor, lines, [14_001, LENGTH_M]);
    const [one] = glides(volume({ radiusM: 20_000, floor }), lines);
    expect(one?.parts.length).toBe(2);
    const edges = one?.parts.flatMap(({ fromM, toM }) => [fromM, toM]) ?? [];
    for (const [i, edge] of [0, 11_000, 14_000, again].entries())
      expect(Math.abs((edges[i] ?? 0) - edge)).toBeLessThan(1.1);
    expect(one?.span).toStrictEqual({ fromM: edges[0], toM: edges[3] });
    expect(one?.highM).toBe(2600);
    // The climb begins below the floor, and is in the volume from there on.
    expect(one?.lowM).toBeCloseTo(floor, 3);
    // One that is left at the climb only, when it is above.
    const [under] = glides(volume({ radiusM: 20_000, floor: 100, ceiling: floor }), lines);
    expect(under?.parts.length).toBe(2);
    expect(under?.highM).toBeCloseTo(floor, 0);
    // The lowest point lies between the ends of a part.
    const [whole] = glides(volume({ radiusM: 900, at: place(14_000) }), lines);
    expect(whole?.parts.length).toBe(1);
    expect(whole?.lowM).toBeCloseTo(planned(13_999.9, lines), 1);
    expect(whole?.highM).toBe(2600);
  });

  test('not on a limit itself, which is near', () => {
    const level = met(volume({ radiusM: 20_000, floor: 2500, ceiling: 9000 }));
    expect(named(level)).toStrictEqual(['near Aldmere']);
    expect(level[0]?.span).toStrictEqual({ fromM: 0, toM: 0 });
    expect(level[0]?.apartM).toBeCloseTo(0, 5);
  });

  test('is told of a leg that does not get to its end as far as it is flown, and not of one that is not computed', () => {
    const low = (given: Volume) => met(volume(given), '  start Westing at 700 m MSL\n  finish Easting\n');
    const [one] = low({});
    const task = taskOf('', '  start Westing at 700 m MSL\n  finish Easting\n');
    const endM = flownTo(legOf(task)) as number;
    expect(endM).toBe((legOf(task).result as LegFlown).reachesGroundAfterM);
    expect([one?.kind, (one?.span.fromM ?? 0) < endM]).toStrictEqual(['enters', true]);
    expect(one?.span.toM).toBeLessThanOrEqual(endM + 1e-6);
    // Beyond the end of it nothing is met, nor near.
    expect(named(low({ at: place(endM + 5000), radiusM: 1000 }))).toStrictEqual([]);
    expect(
      named(
        met(volume({}), '  start Westing at 2500 m MSL\n  turn Nowhere\n  climb to 3000 m MSL\n  finish Easting\n'),
      ),
    ).toStrictEqual([]);
    expect(airspacesOf(taskOf(''))).toStrictEqual({
      met: [],
      all: [],
      unread: [],
      unplaced: [],
      empty: [],
      emptyOverGround: [],
    });
  });
});

test('the climbs of a line that soars through a volume are told once', () => {
  const soaring = '  start Westing at 1200 m MSL\n  soar between 900 m MSL and 1300 m MSL\n  finish Easting\n';
  const weather = 'weather Good\n  qnh 1013.25 hPa\n  lift 3 kt to 2000 m MSL\n';
  const text = `${ENDS}\n${weather}${volume({ radiusM: 30_000 })}${CLUB}\ntask Out\n  aircraft Finch with pilot 82 kg\n  weather Good\n  reserve Training\n${soaring}`;
  const workspace = createWorkspace(['file:///plans']);
  const [task] = understand(workspace, setFile(workspace, PLAN, text)).tasks;
  const { all, met: told } = airspacesOf(task as TaskEvaluation);
  expect(named(all).filter((one) => one === 'enters Aldmere climbing').length).toBeGreaterThan(1);
  expect(named(told)).toStrictEqual(['enters Aldmere climbing', 'enters Aldmere']);
});

test('legs whose places are written with the same digits are two', () => {
  const task = (name: string, from: string, to: string) =>
    `task ${name}\n  aircraft Finch with pilot 82 kg\n  weather Calm\n  reserve Training\n  start ${from} at 2500 m MSL\n  finish ${to}\n\n`;
  const workspace = createWorkspace(['file:///plans']);
  const text = `${SAME_DIGITS}${volume({ at: '47.15 N 19.35 E' })}${CLUB}\n${task('East', 'A', 'B')}${task('West', 'C', 'D')}`;
  const { tasks } = understand(workspace, setFile(workspace, PLAN, text));
  expect(tasks.map((one) => named(airspacesOf(one).met))).toStrictEqual([['enters Aldmere'], []]);
});

describe('a leg near a volume', () => {
  const near = (given: Volume, lines?: string) => met(volume(given), lines)[0];

  test('comes nearest beside it where it passes its middle', () => {
    const one = near({ at: place(12_000, 1500) });
    expect([one?.kind, one?.apartM, one?.floorM, one?.ceilingM, one?.parts]).toStrictEqual(['near', 0, 100, 9000, []]);
    expect(Math.abs((one?.besideM ?? 0) - 500)).toBeLessThan(2);
    // Looked at every 100 m.
    expect(Math.abs((one?.span.fromM ?? 0) - 12_000)).toBeLessThan(60);
    expect(one?.span.toM).toBe(one?.span.fromM);
    expect([one?.lowM, one?.highM]).toStrictEqual([planned(one?.span.fromM ?? 0), planned(one?.span.fromM ?? 0)]);
  });

  test('within half a nautical mile beside it, and 200 ft above or below', () => {
    expect([NEAR_BESIDE_M, NEAR_HEIGHT_M]).toStrictEqual([926, 60.96]);
    const beside = (right: number) => near({ at: place(12_000, right) })?.kind;
    expect([beside(1920), beside(-1920), beside(1930), beside(-1930)]).toStrictEqual([
      'near',
      'near',
      undefined,
      undefined,
    ]);
    const below = (by: number) => near({ at: place(0), floor: 2500 + by });
    expect([below(60.9)?.kind, below(61)?.kind]).toStrictEqual(['near', undefined]);
    expect(below(60.9)?.apartM).toBeCloseTo(60.9, 6);
    const end = planned(LENGTH_M);
    const above = (by: number) => near({ at: place(LENGTH_M), ceiling: end - by });
    expect([above(60.9)?.kind, above(61)?.kind]).toStrictEqual(['near', undefined]);
    expect(above(60.9)?.apartM).toBeCloseTo(60.9, 3);
    expect(above(60.9)?.span.fromM).toBeCloseTo(LENGTH_M, 3);
  });

  test('is told where the greater of both shares is the least', () => {
    // It passes 300 to 926 m beside, and glides from 60 m above the ceiling into its height.
    for (const [right, ceilingAt] of [
      [2300, 12_400],
      [2800, 12_400],
      [2300, 11_000],
      [2500, 13_300],
    ] as const) {
      const ceiling = planned(ceilingAt);
      const one = near({ at: place(12_000, right), radiusM: 2000, ceiling });
      if (!one) throw new Error('nothing');
      const path = pathOf(legOf(taskOf('')));
      const share = (x: number) => {
        const beside = Math.hypot(x - 12_000, right) - 2000;
        return Math.max(beside / 926, Math.max(0, (altitudeAt(path, x) ?? 0) - ceiling) / 60.96);
      };
      let least = Number.POSITIVE_INFINITY;
      for (let x = 9000; x < 15_000; x += 5) least = Math.min(least, share(x));
      const told = Math.max(one.besideM / 926, one.apartM / 60.96);
      expect(told).toBeGreaterThan(least - 0.002);
      expect(told).toBeLessThan(least + 0.05);
      expect(one.besideM).toBeCloseTo(Math.hypot(one.span.fromM - 12_000, right) - 2000, 0);
      expect(one.apartM).toBeCloseTo(Math.max(0, planned(one.span.fromM) - ceiling), 4);
    }
  });
});

describe('a climb', () => {
  const climbs = (given: Volume, climb: string, start = 2000) =>
    met(volume(given), `  start Westing at ${start} m MSL\n  climb to ${climb}\n  finish Easting\n`).filter(
      (one) => one.climb,
    );

  test('enters a volume over its foot between its limits', () => {
    const [one] = climbs({ at: place(0), floor: 2200, ceiling: 2400 }, '2500 m MSL');
    expect([one?.kind, one?.lowM, one?.highM, one?.floorM, one?.ceilingM]).toStrictEqual([
      'enters',
      2200,
      2400,
      2200,
      2400,
    ]);
    expect([one?.span, one?.parts, one?.besideM, one?.apartM]).toStrictEqual([{ fromM: 0, toM: 0 }, [], 0, 0]);
    const [up] = climbs({ at: place(0), floor: 1000, ceiling: 3000 }, '2500 m MSL');
    expect([up?.kind, up?.lowM, up?.highM]).toStrictEqual(['enters', 2000, 2500]);
    const [way] = climbs({ floor: 100 }, '2500 m MSL after 12.5 km');
    expect([way?.kind, way?.span.fromM, way?.highM]).toStrictEqual(['enters', 12_500, 2500]);
  });

  test('up to a floor, or from a ceiling on, is near it, within 200 ft and half a nautical mile', () => {
    const kind = (given: Volume) =>
      climbs({ at: place(0), ...given }, '2500 m MSL').map((one) => [one.kind, one.apartM]);
    expect(kind({ floor: 2500 })).toStrictEqual([['near', 0]]);
    expect(kind({ floor: 2560.9 })[0]?.[0]).toBe('near');
    expect(kind({ floor: 2560.9 })[0]?.[1]).toBeCloseTo(60.9, 6);
    expect(kind({ floor: 2561 })).toStrictEqual([]);
    expect(kind({ ceiling: 2000 })).toStrictEqual([['near', 0]]);
    expect(kind({ ceiling: 1939.1 })[0]?.[1]).toBeCloseTo(60.9, 6);
    expect(kind({ ceiling: 1939 })).toStrictEqual([]);
    const heights = (given: Volume) =>
      climbs({ at: place(0), ...given }, '2500 m MSL').map(({ lowM, highM }) => [lowM, highM]);
    expect([heights({ floor: 2520 }), heights({ ceiling: 1980 })]).toStrictEqual([[[2500, 2500]], [[2000, 2000]]]);
    const beside = (right: number) => climbs({ at: place(0, right) }, '2500 m MSL').map((one) => one.kind);
    expect([beside(990), beside(1010), beside(1920), beside(1930)]).toStrictEqual([['enters'], ['near'], ['near'], []]);
    expect(climbs({ at: place(0, 1500) }, '2500 m MSL')[0]?.besideM).toBeCloseTo(500, 0);
    const [low] = climbs({ at: place(0, 1500), floor: 2520 }, '2500 m MSL');
    expect([low?.kind, low?.apartM, low?.highM]).toStrictEqual(['near', 20, 2500]);
  });

  test('that goes down, lies beyond its leg, or begins at no known height, is none', () => {
    expect(climbs({ at: place(0) }, '1900 m MSL')).toStrictEqual([]);
    expect(climbs({ at: place(0) }, '2000 m MSL')).toStrictEqual([]);
    expect(climbs({ at: place(0, 1500) }, '2000 m MSL')).toStrictEqual([]);
    expect(climbs({ at: place(29_000), radiusM: 5000 }, '2500 m MSL after 29 km')).toStrictEqual([]);
    expect(
      met(volume({ at: place(0) }), '  start Westing\n  climb to 2500 m MSL\n  finish Easting\n').filter(
        (one) => one.climb,
      ),
    ).toStrictEqual([]);
  });
});

describe('the time of it', () => {
  /** Twenty-five volumes of one circle, each active for one minute from 12:00Z on; those that are told, by minute. */
  const minutes = Array.from({ length: 45 }, (_, i) => i);
  const clocked = (given: Volume) =>
    minutes
      .map((i) => {
        const two = (n: number) => String(n).padStart(2, '0');
        return volume({ ...given, name: `M${i}`, more: `  active 12:${two(i)}Z to 12:${two(i + 1)}Z\n` });
      })
      .join('\n');
  const told = (found: readonly AirspaceMet[], kind: AirspaceMet['kind'] = 'enters') =>
    found.flatMap((one) => (one.kind === kind ? [Number(one.airspace.meaning.name.slice(1))] : []));
  /** The minutes that a stretch of seconds since noon touches. */
  const touched = (fromS: number, toS: number) => minutes.filter((i) => i * 60 <= toS && (i + 1) * 60 >= fromS);
  /** Gliding to a distance of a leg, s. */
  function gliding(leg: LegEvaluation, xM: number): number {
    const path = leg.result?.problem === null ? leg.result.path() : [];
    const i = path.findIndex((point) => point.xM >= xM);
    const [one, other] = [path[i - 1], path[i]];
    if (!one || !other) return 0;
    return one.timeS + ((xM - one.xM) / (other.xM - one.xM)) * (other.timeS - one.timeS);
  }
  /** By the lift of Calm, 3 kt. */
  const climbing = (fromM: number, toM: number) => (toM - fromM) / ((3 * 1852) / 3600);
  const around = (at: number) => ({ at: place(at), radiusM: 1500 });

  test('of a glide is that over its borders', () => {
    const task = taskOf(clocked(around(12_000)), OUT, { takeoff: '12:00Z' });
    const leg = legOf(task);
    const expected = touched(gliding(leg, 10_500), gliding(leg, 13_500));
    expect(expected.length).toBeLessThan(6);
    expect(told(airspacesOf(task).met)).toStrictEqual(expected);
    // Without a take-off nothing is known, and everything is told.
    expect(told(met(clocked(around(12_000)))).length).toBe(minutes.length);
    const always = met(volume({ ...around(12_000), more: '  active 12:00 to 12:01Z\n' }), OUT, { takeoff: '20:00Z' });
    expect(named(always)).toStrictEqual(['enters Aldmere']);
  });

  test('of a glide is exact to the second', () => {
    const leg = legOf(taskOf(''));
    for (const k of [3, 6, 8, 10, 12]) {
      // Where it is a second after a full minute, and so not in the window that ends with it.
      let [low, high] = [0, LENGTH_M];
      while (high - low > 0.01) {
        const middle = (low + high) / 2;
        if (gliding(leg, middle) < k * 60 + 1) low = middle;
        else high = middle;
      }
      const task = taskOf(clocked({ at: place(low + 1000), radiusM: 1000 }), OUT, { takeoff: '12:00Z' });
      const found = told(airspacesOf(task).met);
      expect(found).toStrictEqual(touched(gliding(leg, low), gliding(leg, low + 2000)));
      expect(found[0]).toBe(k);
    }
  });

  test('is not known behind a climb without a rate, and then everything is told', () => {
    const still = 'weather Still\n  qnh 1013 hPa\n  temperature 15 °C at 0 m MSL\n  wind surface from 270° at 0 kt\n\n';
    const lines = '  start Westing at 2500 m MSL\n  climb to 3000 m MSL\n  turn Easting\n  finish Westing\n';
    const text = `${still}${volume({ more: '  active 03:00Z to 03:01Z\n' })}`;
    const calm = airspacesOf(taskOf(text, lines, { takeoff: '12:00Z' })).all;
    expect(calm).toStrictEqual([]);
    const workspace = createWorkspace(['file:///plans']);
    const file = setFile(
      workspace,
      PLAN,
      `${ENDS}\n${text}${CLUB}\ntask Out\n  aircraft Finch with pilot 82 kg\n  weather Still\n  reserve Training\n  takeoff 12:00Z\n${lines}`,
    );
    const [task] = understand(workspace, file).tasks;
    expect(task && airspacesOf(task).all.map(({ leg }) => leg.number)).toStrictEqual([1, 2]);
  });

  test('goes on over a climb before it, and not over one behind it', () => {
    for (const [climb, before] of [
      ['climb to 2700 m MSL', climbing(2500, 2700)],
      ['climb to 2700 m MSL after 6 km', climbing(planned(6000), 2700)],
      ['climb to 2700 m MSL after 20 km', 0],
      // Beyond the end of the leg it is never flown.
      ['climb to 2700 m MSL after 29 km', 0],
    ] as const) {
      const lines = `  start Westing at 2500 m MSL\n  ${climb}\n  finish Easting\n`;
      const task = taskOf(clocked(around(12_000)), lines, { takeoff: '12:00Z' });
      const leg = legOf(task);
      const expected = touched(before + gliding(leg, 10_500), before + gliding(leg, 13_500));
      expect(told(airspacesOf(task).met.filter((one) => !one.climb))).toStrictEqual(expected);
    }
  });

  test('of a glide from a climb overhead begins at its top', () => {
    const lines = '  start Westing at 2500 m MSL\n  climb to 2900 m MSL\n  finish Easting\n';
    const task = taskOf(clocked(around(0)), lines, { takeoff: '12:00Z' });
    const top = climbing(2500, 2900);
    expect(told(airspacesOf(task).all.filter((one) => !one.climb))).toStrictEqual(
      touched(top, top + gliding(legOf(task), 1500)),
    );
  });

  test('of a climb is from its foot to its top', () => {
    const lines = '  start Westing at 2500 m MSL\n  climb to 3000 m MSL after 12 km\n  finish Easting\n';
    const task = taskOf(clocked(around(12_000)), lines, { takeoff: '12:00Z' });
    const from = gliding(legOf(task), 12_000);
    const found = airspacesOf(task).all.filter((one) => one.climb);
    expect(told(found)).toStrictEqual(touched(from, from + climbing(planned(12_000), 3000)));
    expect(told(airspacesOf(taskOf(clocked(around(12_000)), lines)).all.filter((one) => one.climb)).length).toBe(
      minutes.length,
    );
  });

  test('of a second leg begins when the first has ended', () => {
    const lines = '  start Westing at 3000 m MSL\n  turn Easting\n  finish Westing\n';
    const task = taskOf(clocked(around(20_000)), lines, { takeoff: '12:00Z' });
    const [out, back] = [legOf(task, 1), legOf(task, 2)];
    const first = out.result?.problem === null ? out.result.timeS : Number.NaN;
    const found = airspacesOf(task).all;
    expect(told(found.filter(({ leg }) => leg === out))).toStrictEqual(
      touched(gliding(out, 18_500), gliding(out, 21_500)),
    );
    const passed = (x: number) => first + gliding(back, LENGTH_M - x);
    expect(told(found.filter(({ leg }) => leg === back))).toStrictEqual(touched(passed(21_500), passed(18_500)));
  });

  test('of a near one is that of the place where it is near', () => {
    const task = taskOf(clocked({ at: place(12_000, 2400), radiusM: 2000 }), OUT, { takeoff: '12:00Z' });
    const half = Math.sqrt(2926 ** 2 - 2400 ** 2);
    const expected = touched(gliding(legOf(task), 12_000 - half), gliding(legOf(task), 12_000 + half));
    expect(told(airspacesOf(task).met, 'near')).toStrictEqual(expected);
  });

  test('of a glide leaves what is flown while it is active, in parts', () => {
    const hm = (fromS: number, toS: number) => {
      const at = (s: number) => new Date(s * 1000).toISOString().slice(11, 19);
      return `  active ${at(43_200 + fromS)}Z to ${at(43_200 + toS)}Z\n`;
    };
    const wide = { at: place(12_000), radiusM: 6000 };
    const leg = legOf(taskOf(''));
    const times = [8000, 10_000, 13_000, 15_000].map((xM) => Math.round(gliding(leg, xM))) as [
      number,
      number,
      number,
      number,
    ];
    const more = `${hm(times[0], times[1])}${hm(times[2], times[3])}`;
    const [one, ...others] = met(volume({ ...wide, more }), OUT, { takeoff: '12:00Z' });
    expect(others).toStrictEqual([]);
    expect(one?.parts.length).toBe(2);
    // To the second and the metre.
    for (const [i, edge] of (one?.parts ?? []).flatMap(({ fromM, toM }) => [fromM, toM]).entries())
      expect(Math.abs(gliding(leg, edge) - (times[i] ?? 0))).toBeLessThan(0.1);
    expect(one?.highM).toBeCloseTo(planned(one?.parts[0]?.fromM ?? 0), 6);
    expect(one?.lowM).toBeCloseTo(planned(one?.parts[1]?.toM ?? 0), 6);
    // Over before the first of it, and begun behind the last.
    const [inS, outS] = [gliding(leg, 6000), gliding(leg, 18_000)];
    const before = hm(Math.floor(inS) - 300, Math.floor(inS) - 1);
    const behind = hm(Math.ceil(outS) + 1, Math.ceil(outS) + 300);
    // It comes near a second behind its border, when it is active.
    expect(named(met(volume({ ...wide, more: `${before}${behind}` }), OUT, { takeoff: '12:00Z' }))).toStrictEqual([
      'near Aldmere',
    ]);
    // Begun before it is entered, or going on behind it, it leaves the rest, from border or to border as without times.
    const [all] = met(volume(wide));
    const partsOf = (windows: string) =>
      met(volume({ ...wide, more: windows }), OUT, { takeoff: '12:00Z' }).flatMap(({ parts }) => parts);
    const [early, ...notEarly] = partsOf(hm(0, times[1]));
    expect([early?.fromM, notEarly]).toStrictEqual([all?.span.fromM, []]);
    expect(Math.abs(gliding(leg, early?.toM ?? 0) - times[1])).toBeLessThan(0.1);
    const [late, ...notLate] = partsOf(hm(times[2], 3600));
    expect([late?.toM, notLate]).toStrictEqual([all?.span.toM, []]);
    expect(Math.abs(gliding(leg, late?.fromM ?? 0) - times[2])).toBeLessThan(0.1);
    expect(partsOf(hm(0, 3600))).toStrictEqual(all?.parts);
    // Windows that overlap, meet, or lie in each other are one, in whatever order they are written.
    const edges = (windows: string) => partsOf(windows).map(({ fromM, toM }) => [fromM, toM]);
    const one3 = edges(hm(times[0], times[2]));
    for (const windows of [
      hm(times[0], times[1]) + hm(times[1], times[2]),
      hm(times[1] - 20, times[2]) + hm(times[0], times[1]),
      hm(times[0], times[2]) + hm(times[0] + 10, times[1]),
    ])
      expect(edges(windows)).toStrictEqual(one3);
    expect(edges(hm(times[2], times[3]) + hm(times[0], times[1]))).toStrictEqual(edges(more));
    // While a climb on the way in it lasts nothing of the leg is flown.
    const climb = '  start Westing at 2500 m MSL\n  climb to 2900 m MSL after 12 km\n  finish Easting\n';
    const footS = gliding(legOf(taskOf('', climb)), 12_000);
    const found = airspacesOf(
      taskOf(volume({ ...wide, more: hm(Math.ceil(footS) + 5, Math.ceil(footS) + 60) }), climb, { takeoff: '12:00Z' }),
    ).all;
    expect(named(found)).toStrictEqual(['enters Aldmere climbing']);
    expect((found[0]?.lowM ?? 0) - planned(11_999.9, climb)).toBeGreaterThan(5 * 1.5);
    // From 5 s behind its foot, by the lift of 3 kt, and 55 s long.
    expect((found[0]?.highM ?? 0) - (found[0]?.lowM ?? 0)).toBeCloseTo(55 / climbing(0, 1), 6);
  });

  test('ends with the take-off: nothing of the climb, or of the glide, is flown in it', () => {
    const over = volume({ at: place(0), more: '  active 11:00Z to 12:00Z\n' });
    const climb = '  start Westing at 2000 m MSL\n  climb to 2500 m MSL\n  finish Easting\n';
    for (const lines of [OUT, climb]) {
      expect(airspacesOf(taskOf(over, lines, { takeoff: '12:00Z' })).all).toStrictEqual([]);
      expect(airspacesOf(taskOf(over, lines, { takeoff: '11:59Z' })).all.length).toBeGreaterThan(0);
    }
    // Beside the start while the climb lasts, it is near the climb alone.
    const beside = volume({ at: place(0, 1500), more: '  active 11:00Z to 12:01Z\n' });
    expect(named(airspacesOf(taskOf(beside, climb, { takeoff: '12:00Z' })).all)).toStrictEqual([
      'near Aldmere climbing',
    ]);
  });

  test('of a climb is that between the limits, by its rate', () => {
    const lines = '  start Westing at 2000 m MSL\n  climb to 3000 m MSL\n  finish Easting\n';
    const at = (s: number) => new Date((43_200 + s) * 1000).toISOString().slice(11, 19);
    const climb = (fromS: number, toS: number, limits: Volume = { floor: 2600, ceiling: 2800 }) =>
      airspacesOf(
        taskOf(
          volume({ at: place(0), radiusM: 1000, ...limits, more: `  active ${at(fromS)}Z to ${at(toS)}Z\n` }),
          lines,
          { takeoff: '12:00Z' },
        ),
      ).all.filter((one) => one.climb);
    const [floorS, topS] = [climbing(2000, 2600), climbing(2000, 2800)];
    // Below its floor by more than 200 ft, or above its ceiling, whenever it is active.
    expect(climb(0, Math.floor(climbing(2000, 2538)))).toStrictEqual([]);
    expect(climb(Math.ceil(climbing(2000, 2862)), 3600)).toStrictEqual([]);
    const near = climb(0, Math.floor(climbing(2000, 2580)));
    expect(named(near)).toStrictEqual(['near Aldmere climbing']);
    expect(near[0]?.apartM).toBeGreaterThan(20);
    expect(near[0]?.apartM).toBeLessThan(22);
    const over = climb(Math.ceil(climbing(2000, 2830)), 3600);
    expect(named(over)).toStrictEqual(['near Aldmere climbing']);
    expect(over[0]?.apartM).toBeGreaterThan(30);
    expect(over[0]?.lowM).toBe(over[0]?.highM);
    // All of it, and a part.
    const [whole] = climb(Math.floor(floorS), Math.ceil(topS));
    expect([whole?.kind, whole?.lowM, whole?.highM]).toStrictEqual(['enters', 2600, 2800]);
    const [part] = climb(Math.floor(floorS) + 30, Math.floor(floorS) + 60);
    expect(part?.kind).toBe('enters');
    expect((part?.highM ?? 0) - (part?.lowM ?? 0)).toBeCloseTo(30 / climbing(0, 1), 6);
    expect(part?.lowM).toBeCloseTo(2000 + (Math.floor(floorS) + 30) / climbing(0, 1), 6);
  });

  test('comes every day, in any of its windows', () => {
    const of = (...windows: [number, number][]) =>
      ({ active: windows.map(([fromS, toS]) => ({ fromS, toS })), faulty: [] }) as unknown as Airspace;
    expect(isActive(of([0, 10], [50, 60]), 20, 30)).toBe(false);
    expect(isActive(of([0, 10], [50, 60]), 55, 56)).toBe(true);
    expect(isActive(of([50, 60]), 40, 50)).toBe(true);
    expect(isActive(of([50, 60]), 60, 70)).toBe(true);
    expect(isActive(of([50, 60]), 61, 70)).toBe(false);
    const next = 2 * 86_400;
    expect([isActive(of([50, 60]), next + 55, next + 56), isActive(of([50, 60]), next + 61, next + 70)]).toStrictEqual([
      true,
      false,
    ]);
    expect([isActive(of([50, 60]), undefined, 5), isActive(of([50, 60]), 5, undefined)]).toStrictEqual([true, true]);
    expect(isActive(of(), 5, 5)).toBe(true);
    const broken = { active: [{ fromS: 50, toS: 60 }], faulty: [{ detail: 'active' }] } as unknown as Airspace;
    const other = { active: [{ fromS: 50, toS: 60 }], faulty: [{ detail: 'note' }] } as unknown as Airspace;
    expect([isActive(broken, 5, 5), isActive(other, 5, 5)]).toStrictEqual([true, false]);
  });
});

describe('limits above ground', () => {
  const TERRAIN = 'terrain "tiles"\n\n';
  const also = (of: (column: number) => number) => (workspace: Workspace) => {
    const tile = decodeTile(
      tileBytes(1201, (_, column) => of(column)),
      { latDeg: 47, lonDeg: 19 },
    );
    if (tile) setTile(workspace, 'file:///plans/tiles/N47E019.hgt', tile);
  };
  const names = (found: readonly { readonly meaning: Airspace }[]) => found.map(({ meaning }) => meaning.name);

  test('follow the ground, those at the surface need none', () => {
    const [one] = met(TERRAIN + volume({ floor: '500 m AGL', ceiling: '3000 m AGL', radiusM: 4000 }), OUT, {
      also: also((column) => column),
    });
    // 1,200 columns to a degree: the ground is as high as its column.
    const { lon2 = 0 } = WGS84.Direct(WEST.latDeg, WEST.lonDeg, WAY.azi1 ?? 0, 12_000);
    const ground = (lon2 - 19) * 1200;
    expect(one?.kind).toBe('enters');
    expect(Math.abs((one?.floorM ?? 0) - ground - 500)).toBeLessThan(1.5);
    expect(Math.abs((one?.ceilingM ?? 0) - ground - 3000)).toBeLessThan(1.5);
    const surface = airspacesOf(taskOf(volume({ floor: '0 ft AGL' })));
    expect(surface.met[0]?.floorM).toBe(Number.NEGATIVE_INFINITY);
    expect(surface.unplaced).toStrictEqual([]);
    // A ceiling at the surface itself leaves nothing that could be told.
    const flat = airspacesOf(taskOf(volume({ floor: 100, ceiling: '0 ft AGL' })));
    expect([flat.met, names(flat.unplaced)]).toStrictEqual([[], ['Aldmere']]);
  });

  test('are told of where the ground is not known, each volume by itself', () => {
    const above = (name: string, given: Volume = {}) => volume({ name, floor: '500 m AGL', ...given });
    const found = airspacesOf(
      taskOf(`${above('One')}${volume({ name: 'Two' })}${above('Three', { at: place(12_000, 1500) })}`),
    );
    expect([named(found.met), names(found.unplaced)]).toStrictEqual([['enters Two'], ['One']]);
    const climb = '  start Westing at 2000 m MSL\n  climb to 2500 m MSL after 12 km\n  finish Easting\n';
    const climbs = (given: string) => names(airspacesOf(taskOf(given, climb)).unplaced);
    expect(climbs(`${above('One')}${volume({ name: 'Two' })}`)).toStrictEqual(['One']);
    expect(climbs(volume({ floor: 100, ceiling: '9000 m AGL' }))).toStrictEqual(['Aldmere']);
    expect(climbs(above('One', { at: place(12_000, 1500) }))).toStrictEqual([]);
    // A climb over a point of which the leg itself is not flown to its end.
    const low = '  start Westing at 400 m MSL\n  climb to 600 m MSL\n  finish Easting\n';
    const over = (name: string, given: Volume) => volume({ name, at: place(0), ...given });
    const start = airspacesOf(
      taskOf(`${above('One', { at: place(0) })}${over('Two', {})}${over('Three', { ceiling: '9000 m AGL' })}`, low),
    );
    expect([named(start.all), names(start.unplaced)]).toStrictEqual([
      ['enters Two climbing', 'enters Two'],
      ['One', 'Three'],
    ]);
    expect(named(start.met)).toStrictEqual(['enters Two climbing']);
    // Hardly above the sea, too, a ceiling that is not known is none.
    const shore = `field Shore at ${place(0)}\n  elevation 2 m\n${over('Three', { ceiling: '9000 m AGL' })}`;
    const fromShore = airspacesOf(taskOf(shore, '  start Shore at 20 m MSL\n  climb to 120 m MSL\n  finish Easting\n'));
    expect([named(fromShore.all), names(fromShore.unplaced)]).toStrictEqual([[], ['Three']]);
    const surface = shore.replace('floor 100.0000 m MSL', 'floor 0 ft AGL');
    const onSurface = airspacesOf(
      taskOf(surface, '  start Shore at 20 m MSL\n  climb to 120 m MSL\n  finish Easting\n'),
    );
    expect([surface === shore, named(onSurface.all), names(onSurface.unplaced)]).toStrictEqual([false, [], ['Three']]);
  });

  test('leave nothing where they cross, and that is told where they do so over all the ground known', () => {
    const over = (given: Volume, of?: (column: number) => number, lines = OUT) =>
      airspacesOf(taskOf(TERRAIN + volume(given), lines, of ? { also: also(of) } : {}));
    const empty = (...given: Parameters<typeof over>) => {
      const found = over(...given);
      return [names(found.emptyOverGround), names(found.empty), named(found.all)];
    };
    const low = (): number => 100;
    const high = (): number => 1000;
    // The glide comes by 1,470 m over it, in reach of both floors; the climb begins there, too.
    const start = 1470 + (2500 - planned(12_000));
    const lines = `  start Westing at ${start.toFixed(1)} m MSL\n  climb to 2500 m MSL after 12 km\n  finish Easting\n`;
    expect(Math.abs(planned(11_999, lines) - 1470)).toBeLessThan(20);
    for (const given of [
      { floor: '500 m AGL', ceiling: 800 },
      { floor: '500 m AGL', ceiling: 1500 },
      { floor: 1600, ceiling: '500 m AGL' },
      { floor: 1500, ceiling: '500 m AGL' },
    ] as const)
      expect(empty(given, high, lines)).toStrictEqual([['Aldmere'], [], []]);
    // Over lower ground something is left; so there is over some of it, whatever leg crosses it there.
    expect(empty({ floor: '500 m AGL', ceiling: 800 }, low)).toStrictEqual([[], [], []]);
    expect(empty({ floor: 1400, ceiling: '1500 m AGL' }, low)).toStrictEqual([[], [], []]);
    const wide = { floor: '500 m AGL', ceiling: 1000, radiusM: 6000 };
    const { lon2 = 0 } = WGS84.Direct(WEST.latDeg, WEST.lonDeg, WAY.azi1 ?? 0, 11_000);
    const cliff = (lowM: number, highM: number) => (column: number) => (column < (lon2 - 19) * 1200 ? lowM : highM);
    const mid = `turnpoint Mid at ${place(12_000)}\n  elevation 100 m\n\n`;
    const there = '  start Westing at 2500 m MSL\n  turn Mid\n  finish Easting\n';
    const back = '  start Easting at 2500 m MSL\n  turn Mid\n  finish Westing\n';
    for (const way of [OUT, there, back]) {
      const found = airspacesOf(taskOf(TERRAIN + mid + volume(wide), way, { also: also(cliff(100, 1000)) }));
      expect(names(found.emptyOverGround)).toStrictEqual([]);
      const all = airspacesOf(taskOf(TERRAIN + mid + volume(wide), way, { also: also(high) }));
      expect(names(all.emptyOverGround)).toStrictEqual(['Aldmere']);
    }
    // Ground that is not known tells nothing, neither all of it nor a part.
    const VOID = -32_768;
    for (const given of [
      { floor: '500 m AGL', ceiling: 800 },
      { floor: 1600, ceiling: '500 m AGL' },
    ]) {
      expect(empty(given, undefined)[0]).toStrictEqual([]);
      expect(empty({ ...given, radiusM: 6000 }, cliff(VOID, 1000))[0]).toStrictEqual(['Aldmere']);
    }
    // Counted from one thing, or by the QNH, they are told whatever the ground.
    for (const given of [
      { floor: 3000, ceiling: 2000 },
      { floor: '400 m AGL', ceiling: '300 m AGL' },
      { floor: 'FL100', ceiling: 2900 },
    ])
      expect(empty(given, low)).toStrictEqual([[], ['Aldmere'], []]);
  });

  test('change with the ground that comes, and with the volumes', () => {
    const workspace = createWorkspace(['file:///plans']);
    const of = (entries: string, ground?: number) =>
      named(met(TERRAIN + entries, OUT, { workspace, ...(ground === undefined ? {} : { also: also(() => ground) }) }));
    const high = volume({ floor: '1500 m AGL' });
    expect(of(high)).toStrictEqual([]);
    expect(of(high, 100)).toStrictEqual(['enters Aldmere']);
    expect(of(high, 800)).toStrictEqual([]);
    expect(of(volume({ floor: 100 }))).toStrictEqual(['enters Aldmere']);
    expect(of(volume({ floor: 4000 }))).toStrictEqual([]);
    expect(of('')).toStrictEqual([]);
    expect(of(`${volume({ floor: 100 })}${volume({ name: 'Glen', at: place(20_000) })}`)).toStrictEqual([
      'enters Aldmere',
      'enters Glen',
    ]);
  });

  test('what cannot be read is said', () => {
    const of = (text: string) => {
      const found = airspacesOf(taskOf(text));
      return [named(found.met), names(found.unread)];
    };
    const whole = volume({});
    expect(of(whole.replace(/ {2}floor.*\n/, ''))).toStrictEqual([[], ['Aldmere']]);
    expect(of(whole.replace(/ {2}ceiling.*\n/, ''))).toStrictEqual([[], ['Aldmere']]);
    expect(of(whole.replace(/ {2}circle.*\n/, ''))).toStrictEqual([[], ['Aldmere']]);
    expect(of(whole.replace('radius 1000 m', 'radius 1000'))).toStrictEqual([[], ['Aldmere']]);
    expect(of(`${whole.trimEnd()}\n  active 12 to 13\n\n`)).toStrictEqual([['enters Aldmere'], []]);
    const edges = [place(10_000, -900), place(10_000, 900), place(13_000, 900), place(13_000, -900)];
    const polygon = `airspace Glen\n  floor 100 m MSL\n  ceiling 9000 m MSL\n${edges.map((at) => `  edge ${at}\n`).join('')}`;
    expect(of(polygon)).toStrictEqual([['enters Glen'], []]);
    const [one] = met(polygon);
    expect(Math.abs((one?.span.fromM ?? 0) - 10_000)).toBeLessThan(2);
    expect(Math.abs((one?.span.toM ?? 0) - 13_000)).toBeLessThan(2);
    // A corner that cannot be read might lie anywhere.
    expect(of(polygon.replace(`edge ${edges[3]}`, 'edge 47.1 N'))).toStrictEqual([[], ['Glen']]);
  });
});

describe('what goes on is told once', () => {
  const both = (entries: string, lines: string) => {
    const found = airspacesOf(taskOf(entries, lines));
    const plain = (list: readonly AirspaceMet[]) =>
      list.map(
        ({ leg, kind, airspace, climb }) => `${leg.number} ${kind} ${airspace.meaning.name}${climb ? ' climbing' : ''}`,
      );
    return [plain(found.met), plain(found.all)];
  };
  const BACK = '  start Westing at 3000 m MSL\n  turn Easting\n  finish Westing\n';

  test('by the next leg from where this one ends, and not when it left the volume before', () => {
    expect(both(volume({ at: place(LENGTH_M) }), BACK)).toStrictEqual([
      ['1 enters Aldmere'],
      ['1 enters Aldmere', '2 enters Aldmere'],
    ]);
    expect(both(volume({ at: place(LENGTH_M - 1200) }), BACK)[0]).toStrictEqual([
      '1 enters Aldmere',
      '2 enters Aldmere',
    ]);
    const two = `${volume({ name: 'One', at: place(LENGTH_M) })}${volume({ name: 'Two', at: place(20_000) })}`;
    expect(both(two, BACK)[0]).toStrictEqual(['1 enters One', '1 enters Two', '2 enters Two']);
    // Left by its floor 300 m before the end, it is another meeting.
    const floor = planned(LENGTH_M - 300, BACK);
    expect(both(volume({ at: place(LENGTH_M), floor }), BACK)[0]).toStrictEqual(['1 enters Aldmere', '2 near Aldmere']);
    // A leg that is near to its end, and another that is near from its start.
    const low = planned(LENGTH_M, BACK) - 100;
    expect(both(volume({ at: place(LENGTH_M + 1500), ceiling: 9000, floor: low }), BACK)).toStrictEqual([
      ['1 near Aldmere'],
      ['1 near Aldmere', '2 near Aldmere'],
    ]);
  });

  test('and what is graver is told again', () => {
    const end = planned(LENGTH_M, BACK);
    // The first leg ends 30 m above the ceiling, and the second glides down into the volume.
    expect(both(volume({ at: place(LENGTH_M - 500), radiusM: 4000, ceiling: end - 30 }), BACK)).toStrictEqual([
      ['1 near Aldmere', '2 enters Aldmere'],
      ['1 near Aldmere', '2 enters Aldmere'],
    ]);
  });

  test('within 15 m of where it was told, and not farther on', () => {
    const end = planned(LENGTH_M, BACK);
    // Ends 0.3 m above the ceiling: the next leg is below it some metres on, which is graver.
    expect(both(volume({ at: place(LENGTH_M), radiusM: 4000, ceiling: end - 0.3 }), BACK)[0]).toStrictEqual([
      '1 near Aldmere',
      '2 enters Aldmere',
    ]);
    // Up and out of it over the turn, and down into it again later.
    const up = `  start Westing at 3000 m MSL\n  turn Easting\n  climb to ${(end + 300).toFixed(3)} m MSL\n  finish Westing\n`;
    expect(
      both(volume({ at: place(LENGTH_M), radiusM: 20_000, ceiling: end + 100, floor: end - 10 }), up),
    ).toStrictEqual([
      ['1 enters Aldmere', '2 enters Aldmere'],
      ['1 enters Aldmere', '2 enters Aldmere climbing', '2 enters Aldmere'],
    ]);
    // Into it by a climb on the way, from which the glide goes on in it.
    const climb = '  start Westing at 2500 m MSL\n  climb to 2600 m MSL after 12 km\n  finish Easting\n';
    expect(both(volume({ floor: 2300, radiusM: 2000 }), climb)).toStrictEqual([
      ['1 enters Aldmere climbing'],
      ['1 enters Aldmere climbing', '1 enters Aldmere'],
    ]);
  });

  test('and where a leg that began in it comes back into it, that is told', () => {
    const ceiling = planned(LENGTH_M, BACK) + 20;
    const lines = `  start Westing at 3000 m MSL\n  turn Easting\n  climb to ${(ceiling + 150).toFixed(1)} m MSL after 5 km\n  finish Westing\n`;
    const around = volume({ at: place(LENGTH_M), radiusM: 30_000, ceiling });
    const back = down(ceiling, lines, [5001, LENGTH_M], 2);
    const found = met(around, lines);
    expect(named(found)).toStrictEqual(['enters Aldmere', 'enters Aldmere climbing', 'enters Aldmere']);
    const [, , again] = found;
    expect(again?.parts).toHaveLength(1);
    expect(again?.span).toStrictEqual({ fromM: again?.parts[0]?.fromM, toM: again?.parts[0]?.toM });
    expect(Math.abs((again?.span.fromM ?? 0) - back)).toBeLessThan(1.1);
    expect(Math.abs((again?.span.toM ?? 0) - LENGTH_M)).toBeLessThan(1.1);
    expect(again?.highM).toBeCloseTo(ceiling, 3);
    expect(again?.lowM).toBeCloseTo(planned(LENGTH_M, lines, 2), 6);
    expect(again?.ceilingM).toBeCloseTo(ceiling, 3);
  });

  test('not where it comes back into it by a climb, which is told', () => {
    const straight = BACK.replace('finish', 'climb to 3000 m MSL after 5 km\n  finish');
    const floor = planned(4000, straight, 2);
    const around = volume({ at: place(LENGTH_M), radiusM: 30_000, floor });
    expect(both(around, straight)).toStrictEqual([
      ['1 enters Aldmere', '2 enters Aldmere climbing'],
      ['1 enters Aldmere', '2 enters Aldmere climbing', '2 enters Aldmere'],
    ]);
  });

  test('and where it comes back into it by a later window, without any climb', () => {
    const at = (s: number) => new Date((43_200 + Math.round(s)) * 1000).toISOString().slice(11, 19);
    const task = taskOf('', BACK, { takeoff: '12:00Z' });
    const timeOf = (number: number) => {
      const { result } = legOf(task, number);
      return result?.problem === null ? result.timeS : Number.NaN;
    };
    const [first, second] = [timeOf(1), timeOf(2)];
    const windows = `  active ${at(0)}Z to ${at(first + second / 4)}Z\n  active ${at(first + second / 2)}Z to ${at(first + second)}Z\n`;
    const found = met(volume({ at: place(LENGTH_M), radiusM: 40_000, more: windows }), BACK, { takeoff: '12:00Z' });
    expect(found.map(({ leg, parts }) => [leg.number, parts.length])).toStrictEqual([
      [1, 1],
      [2, 1],
    ]);
  });

  test('and where it comes back into it beside a climb in another volume alone', () => {
    const at = (s: number) => new Date((43_200 + s) * 1000).toISOString().slice(11, 19);
    const lines = (toM: number) => BACK.replace('finish', `climb to ${toM.toFixed(4)} m MSL after 5 km\n  finish`);
    const legs = taskOf('', lines(3000)).legs;
    const timeS = (number: number) => pathOf(legs[number] as LegEvaluation);
    // The climb ends 0.2 s before a full second, at which the volume becomes active: some metres of the glide behind it.
    const footS = (timeS(0).at(-1)?.timeS ?? 0) + (timeS(1).find(({ xM }) => xM >= 5000)?.timeS ?? 0);
    const topS = Math.ceil(footS + 100);
    const topM = planned(4999.9, lines(3000), 2) + ((topS - 0.2 - footS) * 3 * 1852) / 3600;
    const windows = `  active ${at(0)}Z to ${at(Math.floor(footS) - 60)}Z\n  active ${at(topS)}Z to ${at(topS + 60)}Z\n`;
    const around = volume({ at: place(LENGTH_M), radiusM: 40_000, more: windows });
    const other = volume({ name: 'Bend', at: place(LENGTH_M - 5000) });
    const found = met(`${around}${other}`, lines(topM), { takeoff: '12:00Z' }).filter(({ leg }) => leg.number === 2);
    expect(named(found)).toStrictEqual(['enters Bend climbing', 'enters Aldmere', 'enters Bend']);
    expect(found[1]?.span.fromM).toBeGreaterThan(5000);
    expect(found[1]?.span.fromM).toBeLessThan(5015);
  });

  test('by a leg that begins in the volume that a climb ended in, and by the glide through that of a climb on the way', () => {
    const climb = (after: string) => `  start Westing at 2000 m MSL\n  climb to 2500 m MSL${after}\n  finish Easting\n`;
    expect(both(volume({ at: place(0) }), climb(''))).toStrictEqual([
      ['1 enters Aldmere climbing'],
      ['1 enters Aldmere climbing', '1 enters Aldmere'],
    ]);
    expect(both(volume({ at: place(20_000) }), climb(''))[0]).toStrictEqual(['1 enters Aldmere']);
    // Another volume than the climb's, and the same elsewhere on the way.
    expect(
      both(`${volume({ name: 'One', at: place(0) })}${volume({ name: 'Two', at: place(0) })}`, climb(''))[0],
    ).toStrictEqual(['1 enters One climbing', '1 enters Two climbing']);
    expect(both(volume({}), climb(' after 12 km'))[0]).toStrictEqual(['1 enters Aldmere climbing', '1 enters Aldmere']);
    const twice =
      '  start Westing at 2000 m MSL\n  climb to 2300 m MSL\n  climb to 2500 m MSL after 400 m\n  finish Easting\n';
    expect(both(volume({ at: place(0) }), twice)[0]).toStrictEqual([
      '1 enters Aldmere climbing',
      '1 enters Aldmere climbing',
    ]);
  });
});

test('what a task is not checked against is each volume once, for whatever reason', () => {
  const [unread, empty, unplaced, overGround] = ['A', 'B', 'C', 'D'].map((name) => ({ meaning: { name } }));
  const all = {
    unread: [unread],
    empty: [empty, unread],
    unplaced: [unplaced],
    emptyOverGround: [unplaced, overGround],
  } as unknown as Parameters<typeof notChecked>[0];
  expect(notChecked(all)).toEqual([unread, empty, unplaced, overGround]);
  expect(notChecked({ ...all, unread: [], empty: [], unplaced: [], emptyOverGround: [] })).toEqual([]);
});
