/** The tasks of a plan that uses no other file. */
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';

const ROOT = 'file:///plans';

export function tasksOf(text: string): readonly TaskEvaluation[] {
  const workspace = createWorkspace([ROOT]);
  return understand(workspace, setFile(workspace, `${ROOT}/plan.taskplan`, text)).tasks;
}

/** The first. Throws where there is none. */
export function taskOf(text: string): TaskEvaluation {
  const [task] = tasksOf(text);
  if (!task) throw new Error('no task');
  return task;
}

/** The margin of a leg, m; below everything where it makes no headway, or is not computed. */
export const marginOf = ({ result }: Pick<LegEvaluation, 'result'>): number =>
  result?.problem === null ? result.marginM : Number.NEGATIVE_INFINITY;
