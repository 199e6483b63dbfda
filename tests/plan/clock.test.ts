/** The time over every point of a task. */
import { describe, expect, test } from 'vitest';
import { clockOf } from '../../server/plan/clock.ts';
import { eveningOf, finishUtcS } from '../../server/plan/day.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { eastTask } from '../../server/rules/leg-words.ts';

function taskOf(text: string): TaskEvaluation {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  const file = setFile(workspace, 'file:///plans/plan.taskplan', text);
  return understand(workspace, file).tasks[0] as TaskEvaluation;
}

describe('the clock', () => {
  test('adds glides and climbs up, overhead and on the way', () => {
    const task = taskOf(
      eastTask({
        takeoff: '12:00Z',
        climb: 'to 5600 ft MSL at 2 kt',
        turn: '"Corran Dam"\n  climb    to 5400 ft MSL after 3 km',
      }),
    );
    const [one, two] = task.legs;
    if (one?.result?.problem !== null || two?.result?.problem !== null) throw new Error('not flown');
    const clock = clockOf(task);
    const [first] = one.climbs;
    const [second] = two.climbs;
    if (first?.timeS === undefined || second?.timeS === undefined) throw new Error('no times');
    expect(first.timeS).toBeCloseTo((400 * 0.3048) / ((2 * 1852) / 3600), 6);
    expect(clock.climbs.get(first)).toEqual({ fromS: 0, toS: first.timeS });
    const over = clock.legs.get(one) as number;
    expect(over).toBeCloseTo(first.timeS + one.result.timeS, 9);
    const there = clock.climbs.get(second);
    const gliding = two.result.path().find(({ xM }) => xM >= 3000)?.timeS as number;
    expect(there?.fromS).toBeCloseTo(over + gliding, 6);
    expect(there && there.toS - there.fromS).toBeCloseTo(second.timeS, 9);
    expect(clock.finishS).toBeCloseTo(task.totals.timeS as number, 6);
    expect(finishUtcS(task)).toBeCloseTo(12 * 3600 + (clock.finishS as number), 6);
  });

  test('is not known behind a climb without a rate', () => {
    const dull =
      'weather Dull\n  date 2026-06-13\n  qnh 1018 hPa\n  temperature 24 °C at 190 m MSL\n  wind surface from 230° at 2 kt\n';
    const task = taskOf(
      eastTask({ weather: 'Dull', takeoff: '12:00Z', turn: '"Corran Dam"\n  climb    to 5400 ft MSL' }, dull),
    );
    const clock = clockOf(task);
    expect(clock.legs.get(task.legs[0] as never)).toBeGreaterThan(0);
    expect(clock.finishS).toBeUndefined();
    expect(finishUtcS(task)).toBeUndefined();
    expect(eveningOf(task)).toBeDefined();
  });

  const flown = (turn: string) => {
    const task = taskOf(eastTask({ takeoff: '12:00Z', turn: `"Corran Dam"\n${turn}` }));
    const clock = clockOf(task);
    return { task, clock, climbs: task.legs.flatMap((leg) => leg.climbs.map((climb) => clock.climbs.get(climb))) };
  };

  test('a climb beyond the end of its leg takes no time', () => {
    const without = flown('');
    const { clock, climbs } = flown('  climb    to 5400 ft MSL at 2 kt after 400 km');
    expect(climbs.at(-1)).toBeUndefined();
    expect(without.clock.finishS).toBeGreaterThan(0);
    expect(clock.finishS).toBe(without.clock.finishS);
  });

  test('a climb behind one without a rate, or on a leg that is not flown, has no time', () => {
    const dull =
      'weather Dull\n  date 2026-06-13\n  qnh 1018 hPa\n  temperature 24 °C at 190 m MSL\n  wind surface from 230° at 2 kt\n';
    const turn = '"Corran Dam"\n  climb    to 5400 ft MSL\n  climb    to 5600 ft MSL at 2 kt after 3 km';
    const task = taskOf(eastTask({ weather: 'Dull', takeoff: '12:00Z', turn }, dull));
    const climbs = task.legs.flatMap((leg) => leg.climbs.map((climb) => clockOf(task).climbs.get(climb)));
    expect(climbs).toHaveLength(2);
    expect(climbs).toEqual([undefined, undefined]);
    const lost = taskOf(eastTask({ takeoff: '12:00Z', climb: 'to 5600 ft MSL at 2 kt', turn: 'Nowhere' }));
    expect(lost.legs[0]?.climbs).toHaveLength(1);
    expect(lost.legs[0]?.result).toBeUndefined();
    expect([...clockOf(lost).climbs.values()]).toEqual([]);
  });

  test('nothing is known of the day without a take-off', () => {
    expect(eveningOf(taskOf(eastTask()))).toBeUndefined();
    expect(finishUtcS(taskOf(eastTask()))).toBeUndefined();
  });
});
