/**
 * FAI Sporting Code, Section 3 Gliding. Editions read: 1999 as amended to AL8 (SC3-99), 2018 (SC3-18, through a club's
 * page), Annex C (Official Observer and Pilot Guide), and the FAI's page of badges. The edition in force was not read.
 */
import { describe, expect, test } from 'vitest';
import { destination } from '../../server/flight/index.ts';
import {
  badgesOf,
  DIAMOND_M,
  FURTHER_M,
  GOLD_M,
  lossPenalty,
  mostHeightLoss,
  SILVER_M,
  triangleShape,
} from '../../server/plan/badges.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { FT, present, rows } from './table.ts';

const HOME = { latDeg: 47.2031, lonDeg: 19.441 };

/** A task round points at these distances and courses from Larkfield; `zone` is written for turnpoints. */
function course(points: readonly { readonly km: number; readonly course: number }[], zone: string, closed: boolean) {
  const entries = points.map(({ km, course }, i) => {
    const { latDeg, lonDeg } = destination(HOME, course, km * 1000);
    return `turnpoint P${i} at ${latDeg.toFixed(7)} N ${lonDeg.toFixed(7)} E\n  elevation 100 m\n${zone}`;
  });
  const legs = points.map((_, i) => `  ${!closed && i === points.length - 1 ? 'finish' : 'turn'} P${i}\n`).join('');
  const text = `use "club.taskplan"\n\n${entries.join('\n')}\ntask Badge
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at 3000 ft MSL
${legs}${closed ? '  finish Larkfield\n' : ''}`;
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  const [task] = understand(workspace, setFile(workspace, 'file:///plans/plan.taskplan', text)).tasks;
  return badgesOf(present(task));
}

test('F-1, F-3, F-4, F-6: the distances of the badges', () => {
  expect([SILVER_M, GOLD_M, DIAMOND_M, FURTHER_M]).toEqual([50_000, 300_000, 500_000, 750_000]);
});

test('F-2: Silver distance is straight from the start to a point at least 50 km away', () => {
  const silver = present(course([{ km: 50.001, course: 90 }], '', false).silver);
  expect(silver.distanceM).toBeGreaterThan(SILVER_M);
  // A course of 60 km whose points lie nearer is none.
  expect(
    course(
      [
        { km: 20, course: 90 },
        { km: 20, course: 210 },
      ],
      '',
      true,
    ).silver,
  ).toBeUndefined();
  // Near enough to be told.
  expect(course([{ km: 45.1, course: 90 }], '', false).silver?.distanceM).toBeLessThan(SILVER_M);
  expect(course([{ km: 44.9, course: 90 }], '', false).silver).toBeUndefined();
});

test('F-7, F-13: beyond 1,000 m a loss of height counts a hundredfold', () => {
  expect(lossPenalty(1260)).toBeCloseTo(26_000, 9);
  expect(lossPenalty(1000)).toBe(0);
  expect(lossPenalty(-200)).toBe(0);
});

test('F-9, F-10: below 100 km no more than 1 percent, 500 m (1,640 ft) on 50 km', () => {
  expect(mostHeightLoss(50_000)).toBe(500);
  expect(Math.floor(mostHeightLoss(50_000) / FT)).toBe(1640);
});

describe('F-11: Table A of Annex C, whole feet rounded down', () => {
  test.each(rows('fai-one-percent-table.csv'))('$distance_km km: $max_loss_ft ft', ({ distance_km, max_loss_ft }) => {
    expect(Math.floor(mostHeightLoss(Number(distance_km) * 1000) / FT + 1e-9)).toBe(Number(max_loss_ft));
  });
});

describe('F-14, F-15 (from memory below 750 km): the shape of a triangle', () => {
  test('28-28-44 percent is the extreme below 750 km', () => {
    expect(triangleShape([84_000, 84_000, 132_000]).ok).toBe(true);
    expect(triangleShape([83_900, 84_100, 132_000]).ok).toBe(false);
    expect(triangleShape([100_000, 100_000, 100_000])).toMatchObject({ ok: true, least: 1 / 3 });
  });
  test('from 750 km on no leg is under 25 or over 45 percent', () => {
    expect(triangleShape([200_000, 240_000, 360_000]).ok).toBe(true);
    expect(triangleShape([199_000, 241_000, 360_000]).ok).toBe(false);
    expect(triangleShape([210_000, 225_000, 365_000]).ok).toBe(false);
  });
});

test('F-16, F-17: a cylinder of 500 m takes 500 m off for each crossing of its border', () => {
  const points = [
    { km: 110, course: 90 },
    { km: 110, course: 150 },
  ];
  const bare = present(course(points, '', true).course);
  const zones = present(course(points, '  radius 500 m\n', true).course);
  expect(bare.withZonesM).toBeCloseTo(bare.lengthM, 6);
  expect(zones.lengthM - zones.withZonesM).toBeCloseTo(4 * 500, 6);
});

test('F-4, F-5, F-20, F-21: which courses are a goal, and which free', () => {
  const at = (km: number, ...courses: number[]) => courses.map((course) => ({ km, course }));
  expect(course(at(151, 90), '', true).course?.kind).toBe('out-and-return');
  expect(course(at(110, 90, 150), '', true).course?.kind).toBe('triangle');
  expect(course(at(110, 90, 150), '', false).course).toBeUndefined();
  expect(course(at(160, 90, 150), '', false).course?.kind).toBe('free');
  const four = course(at(110, 60, 100, 140, 180), '', true).course;
  expect(four).toMatchObject({ kind: 'round', tooMany: true });
  const near = course([...at(150, 90, 93), { km: 10, course: 0 }], '', true).course;
  expect(near?.tooNear).toEqual(['P0', 'P1']);
});

test('F-22: distances are geodesics of WGS84', () => {
  // On a sphere 50 km along the parallel would be off by about 100 m.
  expect(course([{ km: 50, course: 90 }], '', false).silver?.distanceM).toBeCloseTo(50_000, 1);
});
