/** The length of a task's course. */
import { expect, test } from 'vitest';
import { track } from '../../server/flight/index.ts';
import { courseLength } from '../../server/plan/course.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { eastTask } from '../../server/rules/leg-words.ts';

function planned(text: string) {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  const [task] = understand(workspace, setFile(workspace, 'file:///plans/plan.taskplan', text)).tasks;
  if (!task) throw new Error('no task');
  return task;
}

/** The sum of the geodesics from point to point. */
function byHand(task: ReturnType<typeof planned>): number {
  let sum = 0;
  for (const { from, to } of task.legs) {
    const [here, there] = [from?.meaning.position, to?.meaning.position];
    if (!here || !there) return Number.NaN;
    sum += track(here, there).distanceM;
  }
  return sum;
}

test('is the sum of its legs, from point to point', () => {
  const task = planned(eastTask({ turn: '"Corran Dam"' }));
  expect(task.legs.length).toBeGreaterThan(1);
  expect(task.legs.every(({ result }) => result)).toBe(true);
  expect(byHand(task)).toBeGreaterThan(10_000);
  expect(courseLength(task)).toBeCloseTo(byHand(task), 6);
});

test('is known as well where no leg is computed, as long as every point is', () => {
  const task = planned(eastTask({ turn: '"Corran Dam"', aircraft: 'Nowhere with pilot 82 kg' }));
  expect(task.legs.every(({ result }) => !result)).toBe(true);
  expect(courseLength(task)).toBeCloseTo(byHand(planned(eastTask({ turn: '"Corran Dam"' }))), 6);
});

test('is not known with a point that is not', () => {
  expect(courseLength(planned(eastTask({ turn: '"No Such Place"' })))).toBeUndefined();
});
