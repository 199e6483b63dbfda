/**
 * The answers to what a pilot asks of a task, written into the plan: the reference solver, which shares no line with the
 * program, finds nothing left.
 */
import { describe, expect, test } from 'vitest';
import { evaluateLeg, windFrom } from '../../server/flight/index.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { againstCourse, fastestHome, headwindsOf, heightsOf } from '../../server/plan/what-if-answers.ts';
import { marginOf, taskOf, tasksOf } from '../plan/tasks-of.ts';
import { randomPlan, WRITTEN_PLANS } from './plans.ts';
import { readPlan, solveTask, type TaskResult } from './solver.ts';

function solved(text: string): TaskResult {
  const plan = readPlan(text);
  const [task] = plan.tasks;
  if (!task) throw new Error('no task');
  return solveTask(plan, task);
}

/** Half a metre of height, as the reference is compared elsewhere; a little more for what the answer is rounded by. */
const HEIGHT_M = 0.6;

/** The wind lines of the weather changed by so much more wind from a direction; a calm one where there is none. */
function withMoreWind(text: string, task: TaskEvaluation, fromDeg: number, moreMps: number): string {
  const more = windFrom(fromDeg, moreMps);
  const lines = task.windLayers.map(({ altitudeM, fromDeg: own, speedMps }) => {
    const wind = windFrom(own, speedMps);
    const [u, v] = [wind.u + more.u, wind.v + more.v];
    const from = ((Math.atan2(-u, -v) * 180) / Math.PI + 360) % 360;
    return `  wind ${altitudeM.toFixed(6)} m MSL from ${from.toFixed(9)}° at ${Math.hypot(u, v).toFixed(9)} m/s`;
  });
  if (lines.length === 0) lines.push(`  wind 500 m MSL from ${fromDeg.toFixed(9)}° at ${moreMps.toFixed(9)} m/s`);
  const rest = text.replace(/^ +wind .*\n/gm, '');
  return rest.replace(/^(weather .*\n)/m, `$1${lines.join('\n')}\n`);
}

const plans: readonly (readonly [string, string])[] = [
  ...WRITTEN_PLANS.map(({ about, text }) => [about, text] as const),
  ...Array.from({ length: 40 }, (_, i) => [`seed ${i + 1}`, randomPlan(i + 1)] as const),
];

describe('by the reference solver', () => {
  test('the most headwind on a leg, written as wind, leaves nothing', () => {
    let checked = 0;
    for (const [about, text] of plans) {
      if (tasksOf(text).length !== 1) continue;
      const task = taskOf(text);
      for (const { leg, moreMps, limit } of headwindsOf(task)) {
        const of = leg === null ? undefined : task.legs[leg - 1];
        // Where the next leg gives out first, or where the leg starts where another one ends, the wind would be elsewhere too.
        if (!of?.result || moreMps === null || limit !== leg || of.departAssumed) continue;
        const isOwn = leg === 1 || of.climbs.some(({ afterM, goesDown }) => afterM === undefined && !goesDown);
        if (!isOwn) continue;
        const { input, result } = of;
        if (!input) continue;
        const wind = againstCourse(input.setting.wind, result.courseDeg, moreMps);
        const own = evaluateLeg({ ...input, setting: { ...input.setting, wind } });
        // Some legs lose their headway before their margin.
        if (marginOf({ result: own }) > HEIGHT_M) continue;
        const changed = withMoreWind(text, task, result.courseDeg, moreMps);
        const reference = solved(changed).legs[(leg as number) - 1];
        const depart = reference?.departAltitudeM ?? Number.NaN;
        if (Math.abs(depart - of.result.departAltitudeM) > 0.01) continue;
        expect(Math.abs(reference?.flown?.marginM ?? Number.NaN), `${about}, leg ${leg}`).toBeLessThan(HEIGHT_M);
        checked += 1;
      }
    }
    expect(checked).toBeGreaterThan(25);
  }, 120_000);

  test('the lowest height to start at, written, leaves nothing', () => {
    let checked = 0;
    for (const [about, text] of plans) {
      if (tasksOf(text).length !== 1) continue;
      const task = taskOf(text);
      const [first] = heightsOf(task);
      const { line } = task.start ?? {};
      if (!first || first.altitudeM === null || first.afterM !== null || task.legs[0]?.heightLine !== line || !line)
        continue;
      const changed = text.replace(/^( +start .*) at .*$/m, `$1 at ${first.altitudeM.toFixed(6)} m MSL`);
      const legs = solved(changed).legs.slice(0, first.limit);
      const least = Math.min(...legs.map(({ flown }) => flown?.marginM ?? Number.NaN));
      expect(Math.abs(least), about).toBeLessThan(HEIGHT_M);
      checked += 1;
    }
    expect(checked).toBeGreaterThan(10);
  }, 120_000);

  test('the fastest home, written as the speed of the last leg, leaves nothing, or is a limit', () => {
    let checked = 0;
    for (const [about, text] of plans) {
      if (tasksOf(text).length !== 1) continue;
      const task = taskOf(text);
      const fastest = fastestHome(task);
      const last = task.legs.at(-1);
      if (!fastest || fastest.indicatedMps === null || last?.kind !== 'finish') continue;
      const name = last.line.slots['point'];
      const written = name && task.entry.text.slice(name.span.start, name.span.end);
      const changed = text.replace(/^( +finish ).*$/m, `$1${written} at ${fastest.indicatedMps.toFixed(9)} m/s`);
      const flown = solved(changed).legs.at(-1)?.flown;
      const marginM = flown?.marginM ?? Number.NaN;
      // Or it begins its climb at the ground.
      const lowestM = last.input?.lowestM ?? Number.NaN;
      const overGround = (flown?.climbs ?? []).map(({ fromAltitudeM }) => fromAltitudeM - lowestM);
      if (fastest.capped) expect(marginM, about).toBeGreaterThan(-HEIGHT_M);
      else expect(Math.abs(Math.min(marginM, ...overGround)), about).toBeLessThan(HEIGHT_M);
      expect(marginM).toBeCloseTo(fastest.marginM ?? Number.NaN, -0.3);
      checked += 1;
    }
    expect(checked).toBeGreaterThan(20);
  }, 120_000);
});
