/** The course of a task, from point to point. */
import { track } from '../flight/index.ts';
import type { TaskEvaluation } from './task.ts';

/** The length of a task's course, from point to point; undefined where a position is not known. */
export function courseLength({ legs }: TaskEvaluation): number | undefined {
  let lengthM = 0;
  for (const { result, from, to } of legs) {
    const here = from?.meaning.position;
    const there = to?.meaning.position;
    if (result) lengthM += result.distanceM;
    else if (here && there) lengthM += track(here, there).distanceM;
    else return undefined;
  }
  return lengthM;
}
