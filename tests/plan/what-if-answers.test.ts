/**
 * The answers to what a pilot asks: at the answer the margin is nothing, a little further it is gone, and the reference
 * solver, which shares no line with the program, finds the same when the answer is written into the plan.
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answersSaid } from '../../server/features/what-if-words.ts';
import { evaluateLeg, windFrom } from '../../server/flight/index.ts';
import type { Units } from '../../server/plan/meaning.ts';
import { DEFAULT_UNITS, readerUnits, show } from '../../server/plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { whatIfLegs } from '../../server/plan/what-if.ts';
import {
  againstCourse,
  answersOf,
  fastestHome,
  headwindsOf,
  heightsOf,
  MOST_HEADWIND_MPS,
  makesItIn,
} from '../../server/plan/what-if-answers.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { sampleWorkspace } from '../features/marked.ts';
import { randomPlan, WRITTEN_PLANS } from '../reference/plans.ts';
import { readPlan, solveTask, type TaskResult } from '../reference/solver.ts';

const ROOT = 'file:///plans';
const with_ = show(DEFAULT_UNITS);

function tasksOf(text: string): readonly TaskEvaluation[] {
  const workspace = createWorkspace([ROOT]);
  return understand(workspace, setFile(workspace, `${ROOT}/plan.taskplan`, text)).tasks;
}

function taskOf(text: string): TaskEvaluation {
  const [task] = tasksOf(text);
  if (!task) throw new Error('no task');
  return task;
}

function solved(text: string): TaskResult {
  const plan = readPlan(text);
  const [task] = plan.tasks;
  if (!task) throw new Error('no task');
  return solveTask(plan, task);
}

const marginOf = ({ result }: Pick<LegEvaluation, 'result'>) =>
  result?.problem === null ? result.marginM : Number.NEGATIVE_INFINITY;

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
      const marginM = solved(changed).legs.at(-1)?.flown?.marginM ?? Number.NaN;
      if (fastest.capped) expect(marginM, about).toBeGreaterThan(-HEIGHT_M);
      else expect(Math.abs(marginM), about).toBeLessThan(HEIGHT_M);
      expect(marginM).toBeCloseTo(fastest.marginM ?? Number.NaN, -0.3);
      checked += 1;
    }
    expect(checked).toBeGreaterThan(20);
  }, 120_000);
});

/** Task text with what the answers depend on at random: heights, speeds and wind between known points. */
const anyTask = fc
  .record({
    start: fc.integer({ min: 800, max: 2600 }),
    tops: fc.array(fc.option(fc.integer({ min: 700, max: 2600 }), { nil: undefined }), { minLength: 3, maxLength: 3 }),
    speeds: fc.array(fc.constantFrom('', ' at best glide', ' at 60 kt', ' at 75 kt', ' at maccready 2 kt'), {
      minLength: 3,
      maxLength: 3,
    }),
    after: fc.option(fc.integer({ min: 1, max: 6 }), { nil: undefined }),
    winds: fc.array(fc.tuple(fc.integer({ min: 0, max: 359 }), fc.integer({ min: 0, max: 18 })), {
      minLength: 0,
      maxLength: 2,
    }),
    share: fc.integer({ min: 60, max: 100 }),
  })
  .map(({ start, tops, speeds, after, winds, share }) => {
    const climb = (i: number) => (tops[i] === undefined ? '' : `  climb to ${tops[i]} m MSL\n`);
    return `field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m
turnpoint Withy at 47.2530 N 19.5500 E
  elevation 140 m
turnpoint Corran at 47.1500 N 19.6000 E
  elevation 210 m
aircraft Finch
  best glide 32:1 at 49 kt
  minimum sink 1.3 kt at 41 kt
  polar mass 300 kg
  empty mass 215 kg
  maximum mass 340 kg
  vs 36 kt
  vno 80 kt
  vne 120 kt
weather Day
  qnh 1018 hPa
  temperature 22 °C at 190 m MSL
${winds.map(([from, speed], i) => `  wind ${400 + 1200 * i} m MSL from ${from}° at ${speed} kt\n`).join('')}reserve Own
  arrive 300 m AGL
  turn 300 m AGL
  performance ${share} %
  altimeter 30 m
task T
  aircraft Finch with pilot 82 kg
  weather Day
  reserve Own
  start Larkfield at ${start} m MSL
${climb(0)}  turn Withy${speeds[0]}
${climb(1)}${after === undefined ? '' : `  climb to 1900 m MSL after ${after} km\n`}  turn Corran${speeds[1]}
${climb(2)}  finish Larkfield${speeds[2]}
`;
  });

/** Units that a reader may have chosen. */
const anyUnits = fc
  .record({ speed: fc.constantFrom('kt', 'km/h', 'mph', 'm/s'), altitude: fc.constantFrom('ft', 'm') })
  .map((chosen) => readerUnits([{ chosen } as unknown as Units]));

const cases = { numRuns: 1000 };

describe('by trying the answers', () => {
  test('in the most headwind it makes it, in a little more not; in words it is rounded on the safe side', () => {
    fc.assert(
      fc.property(anyTask, anyUnits, (text, units) => {
        const task = taskOf(text);
        const answers = answersOf(task);
        const { headwinds } = answers;
        // Without more wind it is the flight that was evaluated.
        expect(makesItIn(task, null, 0)).toBe(task.legs.every((leg) => marginOf(leg) >= 0));
        const whole = headwinds.find(({ leg }) => leg === null);
        for (const { leg, moreMps, none } of headwinds) {
          if (moreMps === null) {
            if (none === 'no limit') expect(makesItIn(task, leg, MOST_HEADWIND_MPS)).toBe(true);
            if (none === 'short') expect(makesItIn(task, leg, 0)).toBe(false);
            continue;
          }
          // A margin of nothing may be a hair below: then no more wind is allowed, and that is the answer.
          if (moreMps > 0) expect(makesItIn(task, leg, moreMps)).toBe(true);
          expect(makesItIn(task, leg, moreMps + 0.001)).toBe(false);
        }
        // On all legs at once it is no more than on the worst alone, but for what a best glide with a climb on it gains.
        if (whole?.moreMps != null)
          for (const { leg, moreMps } of headwinds)
            if (leg !== null && moreMps !== null) expect(whole.moreMps).toBeLessThanOrEqual(moreMps + 0.02);
        if (whole?.none === 'short') expect(Math.min(...task.legs.map(marginOf))).toBeLessThan(0);

        const exact = new Map<string, number | null>();
        for (const { leg, moreMps } of headwinds) exact.set(`headwind ${leg}`, moreMps);
        for (const { leg, altitudeM } of answers.heights) exact.set(`height ${leg}`, altitudeM);
        for (const { kind, leg, value, text: words } of answersSaid(task, show(units), answers)) {
          const whole_ = exact.get(`${kind} ${leg}`) ?? Number.NaN;
          if (value === null) expect(words).toMatch(/^none/);
          else if (kind === 'headwind') {
            expect(value).toBeLessThanOrEqual(whole_ + 1e-9);
            if (value > 0) expect(makesItIn(task, leg, value)).toBe(true);
            expect(words).toContain(show(units).speed(value));
          } else if (kind === 'height') {
            expect(value).toBeGreaterThanOrEqual(whole_ - 1e-5);
            expect(words).toContain(show(units).altitude(value));
          } else {
            const last = task.legs[(leg as number) - 1];
            if (!last?.input) throw new Error('not computed');
            const result = evaluateLeg({ ...last.input, speed: { kind: 'indicated', indicatedMps: value } });
            expect(marginOf({ result })).toBeGreaterThanOrEqual(0);
            // The vno of the aircraft above.
            expect(value).toBeLessThanOrEqual(80 * (1852 / 3600) + 1e-9);
          }
        }
      }),
      cases,
    );
  }, 300_000);

  test('left at the lowest height, the legs up to the next climb make it, one of them with nothing left', () => {
    fc.assert(
      fc.property(anyTask, (text) => {
        const task = taskOf(text);
        for (const { leg, altitudeM, afterM, limit, none } of heightsOf(task)) {
          expect(none).toBeNull();
          const first = task.legs[leg - 1];
          if (altitudeM === null || !first?.input) continue;
          const last = first.input.climbs.at(-1);
          const input =
            afterM === null || !last
              ? { ...first.input, departAltitudeM: altitudeM }
              : // From so low that the climb is made.
                { ...first.input, climbs: [{ ...last, toAltitudeM: altitudeM }] };
          if (afterM !== null && (first.result?.climbs.at(-1)?.fromAltitudeM ?? 0) >= altitudeM) continue;
          let result = evaluateLeg(input);
          let least = marginOf({ result });
          for (let i = leg; i < limit; i += 1) {
            const next = task.legs[i];
            if (!next?.input || result.problem) throw new Error('not computed');
            result = evaluateLeg({ ...next.input, departAltitudeM: result.arriveAltitudeM });
            least = Math.min(least, marginOf({ result }));
          }
          // A best glide with a climb on its way is chosen for the whole leg, and the climb is part of it.
          const tolerance = afterM === null ? 0.01 : 1;
          expect(Math.abs(least)).toBeLessThan(tolerance);
        }
      }),
      cases,
    );
  }, 300_000);
});

describe('none, in words', () => {
  const samples = sampleWorkspace().workspace;
  const sample = (file: string) => {
    const found = [...samples.files.values()].find(({ uri }) => uri.endsWith(`/${file}.taskplan`));
    if (!found) throw new Error(`no ${file}`);
    return understand(samples, found).tasks;
  };

  test('a leg that is short as it is, one that is soared, one that is not computed', () => {
    const short = answersSaid(sample('leg-home')[0] as TaskEvaluation, with_);
    expect(short.find(({ kind, leg }) => kind === 'headwind' && leg === null)?.text).toBe(
      'none: leg 4 to Larkfield arrives too low as it is (margin −320 ft)',
    );
    const soared = sample('soaring').flatMap((task) => answersSaid(task, with_));
    expect(
      soared.some(({ text }) => /^none: leg \d+ to .* is soared, so it climbs as often as it must$/.test(text)),
    ).toBe(true);
    const broken = answersSaid(taskOf('task T\n  start A at 3000 ft MSL\n  finish B\n'), with_);
    expect(broken.map(({ text }) => text)).toEqual(
      Array(3).fill('none: leg 1 to B is not computed, since the task names no aircraft'),
    );
    expect(answersSaid(taskOf('task T\n'), with_)).toEqual([]);
  });

  test('every sample is answered', () => {
    for (const file of samples.files.values()) {
      for (const task of understand(samples, file).tasks) {
        for (const { question, text } of answersSaid(task, with_)) {
          expect(question).not.toBe('');
          expect(text).not.toMatch(/NaN|undefined|Infinity/);
        }
        for (const leg of whatIfLegs(task.legs, task.legs, with_)) expect(leg.change).toBe('no change');
      }
    }
  });
});
