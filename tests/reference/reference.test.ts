/**
 * The program's numbers against a second, separately made reading of the design: the solver beside this file shares no
 * line, no library and no method with the program, which is only run, as `legwise budget FILE --format json`.
 */

import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { randomPlan, WRITTEN_PLANS } from './plans.ts';
import { courseAfter, inverse, type LegResult, readPlan, solveTask, type TaskResult } from './solver.ts';

const PROGRAM = fileURLToPath(new URL('../../dist/legwise.cjs', import.meta.url));
const FIRST_SEED = 1;
const RANDOM_PLANS = 60;

/** What `budget --format json` says of one leg, as far as it is compared. */
interface ReportedLeg {
  readonly number: number;
  readonly from: string;
  readonly to: string;
  readonly distanceM: number;
  readonly courseDeg: number;
  readonly speed: { readonly kind: string; readonly indicatedMps: number };
  readonly departAltitudeM: number;
  readonly departAssumed: boolean;
  readonly arriveAltitudeM: number | null;
  readonly arriveHeightM: number | null;
  readonly askedAltitudeM: number;
  readonly marginM: number | null;
  readonly requiredDepartAltitudeM: number | null;
  readonly timeS: number | null;
  readonly meanGroundSpeedMps: number | null;
  readonly meanHeadwindMps: number | null;
  readonly glideRatioOverGround: number | null;
  readonly climbs: readonly { readonly afterM: number; readonly fromAltitudeM: number; readonly toAltitudeM: number }[];
  readonly budgetM: Readonly<Record<string, number>> | null;
  readonly fastestIndicatedMps: number | null;
  readonly fastestUpToVneMps: number | null;
  readonly bestGlideIndicatedMps: number | null;
  readonly reachesGroundAfterM: number | null;
}

interface ReportedTask {
  readonly name: string;
  readonly massKg: number;
  readonly performanceShare: number;
  readonly temperatureDeviationK: number;
  readonly polar: { readonly a: number; readonly b: number; readonly c: number; readonly massKg: number };
  readonly legs: readonly ReportedLeg[];
  readonly totals: Readonly<Record<string, number | null>>;
}

/** Runs the program on a text; its exit status says what it found, which is not the question here. */
function budget(text: string): Promise<readonly ReportedTask[]> {
  return new Promise((resolve, reject) => {
    const options = { encoding: 'utf8', maxBuffer: 2 ** 26 } as const;
    const child = execFile(
      process.execPath,
      [PROGRAM, 'budget', '-', '--format', 'json'],
      options,
      (error, out, err) => {
        if (error && error.code !== 1) reject(new Error(err || error.message));
        else resolve(JSON.parse(out).tasks);
      },
    );
    child.stdin?.end(text);
  });
}

/** How far two numbers may lie apart, by what they measure. */
const TOLERANCE = {
  distance: 0.1,
  course: 1e-3,
  height: 0.5,
  speed: 0.1,
  bestGlide: 0.3,
  time: 0.5,
  ratio: 1e-3,
} as const;

const none = (value: number | null | undefined) => value === null || value === undefined || Number.isNaN(value);

function near(what: string, theirs: number | null | undefined, ours: number | null | undefined, tolerance: number) {
  if (none(ours) || none(theirs)) expect([what, none(theirs)]).toEqual([what, none(ours)]);
  else
    expect(Math.abs(Number(theirs) - Number(ours)), `${what}: ${theirs}, by the reference ${ours}`).toBeLessThanOrEqual(
      tolerance,
    );
}

function compareLegs(task: string, theirs: ReportedLeg, ours: LegResult) {
  const { flown } = ours;
  const at = (what: string) => `${task}, leg ${ours.number}, ${what}`;
  expect([theirs.number, theirs.from, theirs.to]).toEqual([ours.number, ours.from, ours.to]);
  expect(theirs.speed.kind).toBe(ours.speedKind);
  expect(theirs.departAssumed, at('departAssumed')).toBe(ours.departAssumed);
  expect(theirs.climbs.length, at('climbs')).toBe(flown?.climbs.length ?? 0);

  near(at('distanceM'), theirs.distanceM, ours.distanceM, TOLERANCE.distance);
  near(at('reachesGroundAfterM'), theirs.reachesGroundAfterM, flown?.reachesGroundAfterM, groundTolerance(ours));
  const turn = (((theirs.courseDeg - ours.courseDeg) % 360) + 540) % 360;
  near(at('courseDeg'), turn, 180, TOLERANCE.course);

  const best = ours.speedKind === 'bestGlide' ? TOLERANCE.bestGlide : TOLERANCE.speed;
  near(at('indicatedMps'), theirs.speed.indicatedMps, ours.indicatedMps, best);
  near(at('bestGlideIndicatedMps'), theirs.bestGlideIndicatedMps, ours.bestGlideIndicatedMps, TOLERANCE.bestGlide);
  near(at('fastestIndicatedMps'), theirs.fastestIndicatedMps, ours.fastestIndicatedMps, TOLERANCE.speed);
  near(at('fastestUpToVneMps'), theirs.fastestUpToVneMps, ours.fastestUpToVneMps, TOLERANCE.speed);
  near(at('meanGroundSpeedMps'), theirs.meanGroundSpeedMps, flown?.meanGroundSpeedMps, TOLERANCE.speed);
  near(at('meanHeadwindMps'), theirs.meanHeadwindMps, flown?.meanHeadwindMps, TOLERANCE.speed);

  near(at('departAltitudeM'), theirs.departAltitudeM, ours.departAltitudeM, TOLERANCE.height);
  near(at('arriveAltitudeM'), theirs.arriveAltitudeM, flown?.arriveAltitudeM, TOLERANCE.height);
  near(at('arriveHeightM'), theirs.arriveHeightM, flown?.arriveHeightM, TOLERANCE.height);
  near(at('askedAltitudeM'), theirs.askedAltitudeM, ours.askedAltitudeM, TOLERANCE.height);
  near(at('marginM'), theirs.marginM, flown?.marginM, TOLERANCE.height);
  near(at('requiredDepartAltitudeM'), theirs.requiredDepartAltitudeM, ours.requiredDepartAltitudeM, TOLERANCE.height);
  for (const term of ['stillAir', 'wind', 'sinkingAir', 'performance', 'reserve', 'altimeter', 'margin'] as const)
    near(at(`budgetM.${term}`), theirs.budgetM?.[term], flown?.budgetM[term], TOLERANCE.height);
  for (const [i, climb] of (flown?.climbs ?? []).entries()) {
    near(at(`climb ${i + 1} afterM`), theirs.climbs[i]?.afterM, climb.afterM, TOLERANCE.distance);
    near(at(`climb ${i + 1} from`), theirs.climbs[i]?.fromAltitudeM, climb.fromAltitudeM, TOLERANCE.height);
    near(at(`climb ${i + 1} to`), theirs.climbs[i]?.toAltitudeM, climb.toAltitudeM, TOLERANCE.height);
  }
  near(at('timeS'), theirs.timeS, flown?.timeS, TOLERANCE.time);
  const ratio = flown?.glideRatioOverGround;
  near(at('glideRatioOverGround'), theirs.glideRatioOverGround, ratio, TOLERANCE.ratio * Math.abs(ratio ?? 1));
}

/** Half a metre of height, as a distance along the glide. */
const groundTolerance = (leg: LegResult) => TOLERANCE.height * Math.max(1, leg.flown?.glideRatioOverGround ?? 1);

function compareTasks(theirs: ReportedTask | undefined, ours: TaskResult) {
  if (!theirs) throw new Error(`${ours.name} is not reported`);
  expect(theirs.name).toBe(ours.name);
  expect(theirs.massKg).toBe(ours.massKg);
  expect(theirs.polar.massKg).toBe(ours.polar.massKg);
  for (const coefficient of ['a', 'b', 'c'] as const)
    near(
      `${ours.name}, polar ${coefficient}`,
      theirs.polar[coefficient],
      ours.polar[coefficient],
      1e-6 * Math.abs(ours.polar[coefficient]),
    );
  near(`${ours.name}, performanceShare`, theirs.performanceShare, ours.performanceShare, 1e-6);
  near(`${ours.name}, temperatureDeviationK`, theirs.temperatureDeviationK, ours.temperatureDeviationK, 1e-6);
  expect(theirs.legs.length).toBe(ours.legs.length);
  for (const [i, leg] of ours.legs.entries()) compareLegs(ours.name, theirs.legs[i] as ReportedLeg, leg);
  near(`${ours.name}, total distance`, theirs.totals['distanceM'], ours.totals.distanceM, TOLERANCE.distance);
  for (const total of ['glideTimeS', 'climbTimeS', 'timeS'] as const)
    near(`${ours.name}, total ${total}`, theirs.totals[total], ours.totals[total], TOLERANCE.time);
}

const solve = (text: string): TaskResult[] => {
  const plan = readPlan(text);
  return plan.tasks.map((task) => solveTask(plan, task));
};

describe('the reference itself', () => {
  it('finds the line from Flinders Peak to Buninyong (Geoscience Australia, the worked example to Vincenty 1975)', () => {
    const dms = (degrees: number, minutes: number, seconds: number) => degrees + minutes / 60 + seconds / 3600;
    const line = inverse(
      { latitude: -dms(37, 57, 3.7203), longitude: dms(144, 25, 29.5244) },
      { latitude: -dms(37, 39, 10.1561), longitude: dms(143, 55, 35.3839) },
    );
    // The numbers are quoted from memory. The example is on GRS 80, whose flattening differs from WGS 84 in the ninth digit: 0.1 mm here.
    expect(line.distance).toBeCloseTo(54_972.271, 3);
    expect((line.course * 180) / Math.PI + 360).toBeCloseTo(dms(306, 52, 5.37), 5);
    const back = courseAfter(-dms(37, 57, 3.7203), line.course, line.distance);
    expect((back * 180) / Math.PI + 360).toBeCloseTo(dms(127, 10, 25.07) + 180, 5);
  });

  it('meets the closed form of a glide in still standard air at sea level, as the leg shrinks', () => {
    const text = (WRITTEN_PLANS.find((plan) => plan.about.includes('kilometre'))?.text ?? '')
      .replace(/temperature .*/, 'temperature 15 °C at 0 m MSL')
      .replace(/qnh .*/, 'qnh 1013.25 hPa')
      .replaceAll(/ {2}wind .*\n/g, '')
      .replace('at 900 m MSL', 'at 400 m MSL');
    const task = solve(text)[0];
    const leg = task?.legs[0];
    if (!task || !leg?.flown) throw new Error('not solved');
    const k = Math.sqrt(task.massKg / task.polar.massKg);
    const sink = k * (task.polar.a * (30 / k) ** 2 + (task.polar.b * 30) / k + task.polar.c);
    // Sink and speed grow alike with height: the glide ratio does not depend on the density.
    expect(leg.flown.glideRatioOverGround).toBeCloseTo((0.7 * 30) / sink, 9);
  });
});

describe('plans written by hand', () => {
  it.for(WRITTEN_PLANS.map((plan) => [plan.about, plan.text] as const))('%s', async ([, text]) => {
    const reported = await budget(text);
    const solved = solve(text);
    expect(solved.length).toBeGreaterThan(0);
    expect(reported.length).toBe(solved.length);
    for (const [i, task] of solved.entries()) compareTasks(reported[i], task);
  });
});

describe('plans at random', () => {
  const seeds = Array.from({ length: RANDOM_PLANS }, (_, i) => FIRST_SEED + i);
  let reported: readonly ReportedTask[] = [];

  beforeAll(async () => {
    reported = await budget(seeds.map(randomPlan).join('\n'));
  });

  it.for(seeds)('seed %i', (seed) => {
    const [task] = solve(randomPlan(seed));
    if (!task) throw new Error('no task');
    compareTasks(
      reported.find((one) => one.name === task.name),
      task,
    );
  });
});
