/** The distances of a course for badges, against geodesics of another library. */
import geodesy from 'geographiclib-geodesic';
import { describe, expect, test } from 'vitest';
import { type Badges, badgesOf, isNear, lossPenalty, mostHeightLoss, triangleShape } from '../../server/plan/badges.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';

// Source of every place and distance below: geographiclib-geodesic, WGS84.
const { WGS84 } = geodesy.Geodesic;
const CLUB = EXAMPLE_CLUB.slice(EXAMPLE_CLUB.indexOf('aircraft Finch'));
const HOME = { latDeg: 47.2, lonDeg: 19.4 };

type Place = readonly [km: number, azimuthDeg: number];

/** The place so far from home in a direction. */
function place([km, azimuth]: Place): { latDeg: number; lonDeg: number } {
  const { lat2 = 0, lon2 = 0 } = WGS84.Direct(HOME.latDeg, HOME.lonDeg, azimuth, km * 1000);
  return { latDeg: Number(lat2.toFixed(8)), lonDeg: Number(lon2.toFixed(8)) };
}

const apart = (one: Place, other: Place): number => {
  const [from, to] = [place(one), place(other)];
  return WGS84.Inverse(from.latDeg, from.lonDeg, to.latDeg, to.lonDeg).s12 ?? Number.NaN;
};

/** A plan whose points are P0 (home), P1, P2 ... at places, as fields or, with a radius in km, as turnpoints. */
function taskOf(points: readonly (readonly [...Place, number?])[], lines: readonly string[]): TaskEvaluation {
  const entries = [[0, 0] as const, ...points].map(([km, azimuth, radius], i) => {
    const { latDeg, lonDeg } = place([km, azimuth]);
    const kind = radius === undefined ? 'field' : 'turnpoint';
    const circle = radius ? `  radius ${radius} km\n` : '';
    return `${kind} P${i} at ${latDeg} N ${lonDeg} E\n  elevation 100 m\n${circle}`;
  });
  const task = `task Out\n  aircraft Finch with pilot 82 kg\n  weather Calm\n  reserve Training\n${lines.map((line) => `  ${line}\n`).join('')}`;
  const workspace = createWorkspace(['file:///plans']);
  const file = setFile(workspace, 'file:///plans/plan.taskplan', `${entries.join('\n')}\n${CLUB}\n${task}`);
  const [one] = understand(workspace, file).tasks;
  if (!one) throw new Error('no task');
  return one;
}

const badges = (points: Parameters<typeof taskOf>[0], ...lines: string[]): Badges => badgesOf(taskOf(points, lines));
const course = (points: Parameters<typeof taskOf>[0], ...lines: string[]) => badges(points, ...lines).course;
const silver = (points: Parameters<typeof taskOf>[0], ...lines: string[]) => badges(points, ...lines).silver;

describe('the figures of the code', () => {
  // Sources: as named beside the rules in badges.ts.
  test('of the height that may be lost', () => {
    expect(mostHeightLoss(50_000)).toBe(500);
    expect([0, 1000, 1001, 1500].map(lossPenalty)).toStrictEqual([0, 0, 100, 50_000]);
  });

  test('of the shape of a triangle: its least leg, and from 750 km on its most', () => {
    expect(triangleShape([28, 30, 42])).toStrictEqual({ ok: true, least: 0.28, most: 0.42 });
    expect(triangleShape([27, 31, 42])).toStrictEqual({ ok: false, least: 0.27, most: 0.42 });
    const long = [187_500, 225_000, 337_500] as const;
    expect(triangleShape([...long])).toStrictEqual({ ok: true, least: 0.25, most: 0.45 });
    // The least of one is too short (24.9 %), the most of the other too long (45.8 %).
    expect(triangleShape([187_000, 230_000, 335_000]).ok).toBe(false);
    expect(triangleShape([190_000, 218_000, 345_000]).ok).toBe(false);
  });

  test('of what is near: nine tenths', () => {
    expect([269_999, 270_000, 300_000].map((countedM) => isNear(countedM, 300_000))).toStrictEqual([false, true, true]);
  });
});

describe('the Silver distance', () => {
  test('is that of the point furthest from the start, less the radius of a turnpoint', () => {
    expect(silver([[44.9, 90]], 'start P0 at 3000 ft MSL', 'finish P1')).toBeUndefined();
    const one = silver([[45.1, 90]], 'start P0 at 3000 ft MSL', 'finish P1');
    expect(one?.toName).toBe('P1');
    expect(one?.distanceM).toBeCloseTo(45_100, 1);
    expect(one?.mostLossM).toBeCloseTo(451, 3);
    for (const [first, second] of [
      [46, 48],
      [48, 46],
      [60, 70],
      [70, 60],
    ] as const) {
      const best = silver(
        [
          [first, 90],
          [second, 100],
        ],
        'start P0 at 3000 ft MSL',
        'turn P1',
        'turn P2',
        'finish P0',
      );
      expect(best?.distanceM).toBeCloseTo(Math.max(first, second) * 1000, 1);
      expect(best?.toName).toBe(first > second ? 'P1' : 'P2');
    }
    const zone = silver([[51, 90, 2]], 'start P0 at 3000 ft MSL', 'turn P1', 'finish P0');
    expect(zone?.distanceM).toBeCloseTo(49_000, 1);
    expect(silver([[51, 90, 0]], 'start P0 at 3000 ft MSL', 'turn P1', 'finish P0')?.distanceM).toBeCloseTo(51_000, 1);
  });

  test('asks a loss of height of 1 percent, and of 1,000 m from 100 km on', () => {
    const most = (km: number) => silver([[km, 90]], 'start P0 at 3000 ft MSL', 'finish P1')?.mostLossM;
    expect(most(99)).toBeCloseTo(990, 2);
    expect(most(140)).toBe(1000);
  });

  test('prefers a point that loses little to one further away that loses too much', () => {
    // At about 20:1 it loses some 2,500 m in 50 km, and 1,500 m in the 30 km from one point to the other.
    const near: Place = [52, 90];
    const far: Place = [60, 120];
    // The climb on the way takes the first point back to about the height of the start.
    const there = silver(
      [near, far],
      'start P0 at 6000 m MSL',
      'climb to 6000 m MSL after 50 km',
      'turn P1',
      'finish P2',
    );
    const back = silver([far, near], 'start P0 at 6000 m MSL', 'turn P1', 'climb to 7300 m MSL', 'finish P2');
    expect([there?.toName, back?.toName]).toStrictEqual(['P1', 'P2']);
    expect(there?.distanceM).toBeCloseTo(52_000, 1);
    expect(back?.distanceM).toBeCloseTo(52_000, 1);
    for (const one of [there, back]) {
      expect(one?.lossM).toBeLessThan(one?.mostLossM as number);
      expect(one?.lossM).toBeGreaterThanOrEqual(0);
    }
    // Both lose too much, or one is too near: the further one.
    expect(silver([far, near], 'start P0 at 6000 m MSL', 'turn P1', 'finish P2')?.toName).toBe('P1');
    expect(
      silver([[48, 90], far], 'start P0 at 6000 m MSL', 'climb to 6000 m MSL after 46 km', 'turn P1', 'finish P2')
        ?.toName,
    ).toBe('P2');
  });

  test('of a point that is reached twice is that of the first time', () => {
    const twice = ['start P0 at 6000 m MSL', 'climb to 6000 m MSL after 50 km', 'turn P1', 'climb to 7000 m MSL'];
    const loss = (...lines: string[]) => silver([[52, 90]], ...twice, ...lines)?.lossM;
    const first = loss('finish P0');
    expect(first).toBeGreaterThan(0);
    expect(loss('turn P0', 'climb to 7000 m MSL', 'climb to 6100 m MSL after 50 km', 'finish P1')).toBe(first);
  });

  test('knows no loss of a leg that is not flown, meets the ground, or begins at a height that is only asked', () => {
    const loss = (lines: string[], points: Place[] = [[60, 90]]) => silver(points, ...lines)?.lossM;
    const flown = taskOf([[60, 90]], ['start P0 at 6000 m MSL', 'finish P1']);
    const arrive = flown.legs[0]?.result?.problem === null ? flown.legs[0].result.arriveAltitudeM : Number.NaN;
    expect(loss(['start P0 at 6000 m MSL', 'finish P1'])).toBeCloseTo(6000 - arrive, 6);
    expect(loss(['start P0 at 300 m MSL', 'finish P1'])).toBeUndefined();
    expect(loss(['start P0', 'finish P1'])).toBeUndefined();
    expect(loss(['start P0', 'climb to 6000 m MSL', 'finish P1'])).toBeUndefined();
    // Without a climb the second leg begins at the height asked over P1.
    expect(
      loss(
        ['start P0 at 300 m MSL', 'turn P1', 'finish P2'],
        [
          [40, 90],
          [52, 90],
        ],
      ),
    ).toBeUndefined();
    expect(loss(['start P0 at 3000 m MSL', 'climb to 6000 m MSL after 20 km', 'finish P1'])).toBe(0);
  });
});

describe('the course', () => {
  const START = 'start P0 at 3000 m MSL';

  test('straight to one point', () => {
    expect(course([[265, 90]], START, 'finish P1')).toBeUndefined();
    const one = course([[280, 90]], START, 'finish P1');
    expect(one?.lengthM).toBeCloseTo(280_000, 1);
    expect(one).toStrictEqual({
      kind: 'straight',
      turns: 0,
      lengthM: one?.lengthM,
      withZonesM: one?.lengthM,
      countedM: one?.lengthM,
      lossM: undefined,
      tooMany: false,
      tooNear: undefined,
      shape: undefined,
    });
  });

  test('out and return counts a border of a turn in and out, that of the finish once', () => {
    const out = course([[150, 90, 0.5]], START, 'turn P1', 'finish P0');
    expect(out?.lengthM).toBeCloseTo(300_000, 1);
    expect(out).toStrictEqual({
      kind: 'out-and-return',
      turns: 1,
      lengthM: out?.lengthM,
      withZonesM: (out?.lengthM as number) - 1000,
      countedM: (out?.lengthM as number) - 1000,
      lossM: undefined,
      tooMany: false,
      tooNear: undefined,
      shape: undefined,
    });
    const finish = course(
      [
        [150, 90, 0.5],
        [0.5, 0, 3],
      ],
      START,
      'turn P1',
      'finish P2',
    );
    const length = 150_000 + apart([150, 90], [0.5, 0]);
    expect(finish?.kind).toBe('out-and-return');
    expect(finish?.lengthM).toBeCloseTo(length, 1);
    expect(finish?.withZonesM).toBeCloseTo(length - 1000 - 3000, 1);
  });

  test('is closed within a kilometre of the start', () => {
    const kind = (km: number) =>
      course(
        [
          [150, 90],
          [km, 90],
        ],
        START,
        'turn P1',
        'finish P2',
      )?.kind;
    expect([kind(0.99), kind(1.01)]).toStrictEqual(['out-and-return', 'free']);
  });

  test('a triangle has its shape, a course of more turns has none', () => {
    const [a, b]: [Place, Place] = [
      [110, 60],
      [110, 120],
    ];
    const triangle = course([a, b], START, 'turn P1', 'turn P2', 'finish P0');
    const side = apart(a, b);
    expect(triangle?.kind).toBe('triangle');
    expect(triangle?.lengthM).toBeCloseTo(220_000 + side, 1);
    expect(triangle?.shape?.ok).toBe(true);
    expect(triangle?.shape?.least).toBeCloseTo(Math.min(side, 110_000) / (220_000 + side), 8);
    expect(triangle?.shape?.most).toBeCloseTo(Math.max(side, 110_000) / (220_000 + side), 8);
    const round = course([a, [120, 90], b], START, 'turn P1', 'turn P2', 'turn P3', 'finish P0');
    expect([round?.kind, round?.turns, round?.shape, round?.tooMany]).toStrictEqual(['round', 3, undefined, false]);
    const free = course([a, b], START, 'turn P1', 'turn P2', 'finish P1');
    expect([free?.kind, free?.turns, free?.shape]).toStrictEqual(['free', 2, undefined]);
  });

  test('turn points of a free distance lie 10 km apart, and are three at most', () => {
    const near = (km: number, last = 140) => {
      const points: Place[] = [
        [100, 90],
        [120, 70],
        [100 + km, 90],
        [last, 20],
      ];
      const found = course(points, START, 'turn P1', 'turn P2', 'turn P3', 'turn P4', 'finish P1');
      return [found?.tooMany, found?.tooNear];
    };
    expect(near(9.9)).toStrictEqual([true, ['P1', 'P3']]);
    expect(near(10.1)).toStrictEqual([true, undefined]);
    // Those of a triangle may lie as near as its shape allows.
    const thin = course(
      [
        [150, 90],
        [150, 92],
      ],
      START,
      'turn P1',
      'turn P2',
      'finish P0',
    );
    expect([thin?.kind, thin?.tooNear]).toStrictEqual(['triangle', undefined]);
  });

  test('a triangle is told from 100 km on where it narrowly misses its shape', () => {
    // Legs of a, a and a share s of 2a + s: at 27.5 % a word is worth it, at 24 % (below 0.9 of 28 %) none.
    const triangle = (around: number, share: number) => {
      const side = around * share;
      const leg = (around - side) / 2;
      // On so small a part of the Earth the plane is near enough.
      const half = (Math.asin(side / 2 / leg) * 180) / Math.PI;
      return course(
        [
          [leg, 90 - half],
          [leg, 90 + half],
        ],
        START,
        'turn P1',
        'turn P2',
        'finish P0',
      );
    };
    expect(triangle(110, 0.275)?.shape?.ok).toBe(false);
    expect(triangle(110, 0.275)?.shape?.least).toBeCloseTo(0.275, 3);
    expect(triangle(110, 0.255)?.shape?.least).toBeCloseTo(0.255, 3);
    expect(triangle(110, 0.24)).toBeUndefined();
    expect(triangle(90, 0.275)).toBeUndefined();
    expect(triangle(110, 0.3)).toBeUndefined();
  });

  test('counts 100 times the loss beyond 1,000 m less, where the finish is reached', () => {
    const points: Place[] = [[140, 90]];
    const climbs = 'climb to 7000 m MSL after 130 km';
    const lines = [START, climbs, 'turn P1', 'climb to 7000 m MSL after 130 km', 'finish P0'];
    const high = course(points, ...lines);
    expect(high?.lossM).toBe(0);
    expect(high?.countedM).toBe(high?.withZonesM);
    const task = taskOf(points, [
      'start P0 at 7000 m MSL',
      climbs,
      'turn P1',
      'climb to 5000 m MSL after 130 km',
      'finish P0',
    ]);
    const last = task.legs.at(-1)?.result;
    const arrive = last?.problem === null ? last.arriveAltitudeM : Number.NaN;
    expect(arrive).toBeLessThan(5000);
    const low = badgesOf(task).course;
    expect(low?.lossM).toBeCloseTo(7000 - arrive, 6);
    expect(low?.countedM).toBeCloseTo((low?.withZonesM as number) - 100 * (7000 - arrive - 1000), 3);
    const three = taskOf(
      [...points, [140, 100]],
      ['start P0 at 7000 m MSL', climbs, 'turn P1', 'turn P2', 'climb to 6500 m MSL after 130 km', 'finish P0'],
    );
    const end = three.legs[2]?.result;
    expect(badgesOf(three).course?.lossM).toBeCloseTo(
      7000 - (end?.problem === null ? end.arriveAltitudeM : Number.NaN),
      6,
    );
    // Nor is one known of a start without a height, though the climb over it says from where the glide is.
    const unknown = course(
      points,
      'start P0',
      'climb to 7000 m MSL',
      climbs,
      'turn P1',
      'climb to 5000 m MSL after 130 km',
      'finish P0',
    );
    expect(unknown?.kind).toBe('out-and-return');
    expect([unknown?.lossM, unknown?.countedM]).toStrictEqual([undefined, unknown?.withZonesM]);
    // A last leg that is no finish has no loss.
    const open = course(points, START, climbs, 'turn P1', climbs, 'turn P0');
    expect([open?.kind, open?.lossM]).toStrictEqual(['out-and-return', undefined]);
  });

  test('is none where a position on the way is not known, and on a task without legs', () => {
    expect(badges([[280, 90]], START)).toStrictEqual({ silver: undefined, course: undefined });
    expect(course([[280, 90]], START, 'turn Nowhere', 'turn P1', 'finish P0')).toBeUndefined();
    expect(badges([[280, 90]], 'start Nowhere at 3000 m MSL', 'finish P1')).toStrictEqual({
      silver: undefined,
      course: undefined,
    });
    expect(badges([[280, 90]], 'turn P1', 'finish P0')).toStrictEqual({ silver: undefined, course: undefined });
    expect(silver([[60, 90]], START, 'turn Nowhere', 'finish P1')?.toName).toBe('P1');
  });
});
