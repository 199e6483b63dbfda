/** One lens over each task with what it comes to, and one over each leg with its whole budget. */
import type { CodeLens } from 'vscode-languageserver-types';
import { courseText, marginText, totalsText, wholeHeights } from '../plan/budget-rows.ts';
import { rangeOf } from '../plan/places.ts';
import { number, type Show, show } from '../plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';

/** The leg of a task with the least margin. */
export function worstLeg(task: TaskEvaluation): { leg: LegEvaluation; marginM: number } | undefined {
  let worst: { leg: LegEvaluation; marginM: number } | undefined;
  for (const leg of task.legs) {
    if (leg.result?.problem === null && (!worst || leg.result.marginM < worst.marginM))
      worst = { leg, marginM: leg.result.marginM };
  }
  return worst;
}

function taskTitle(task: TaskEvaluation, with_: Show): string {
  const parts = [totalsText(task, with_)];
  const worst = worstLeg(task);
  if (worst)
    parts.push(`least margin ${marginText(worst.leg, with_)} on leg ${worst.leg.number} to ${worst.leg.toName}`);
  const open = task.legs.filter(({ result }) => !result).length;
  if (open > 0) parts.push(open === 1 ? '1 leg not computed' : `${open} legs not computed`);
  const stopped = task.legs.filter(({ result }) => result?.problem).length;
  if (stopped > 0) parts.push(stopped === 1 ? '1 leg makes no headway' : `${stopped} legs make no headway`);
  return parts.join(' · ');
}

/** Terms as a sum behind what they add up to, without those that are nothing: ` = still air 2,377 + wind 422`. */
function sum(terms: readonly (readonly [string, number])[]): string {
  return terms
    .filter(([, value]) => value !== 0)
    .map(
      ([what, value], i) =>
        `${i === 0 ? ' = ' : value < 0 ? ' − ' : ' + '}${what} ${number(i === 0 ? value : Math.abs(value))}`,
    )
    .join('');
}

/** A lens is cut off at the window's edge, so what matters stands first. */
function legTitle(leg: LegEvaluation, with_: Show): string {
  const { result } = leg;
  const name = `leg ${leg.number}`;
  if (!result) return `${name} · not computed${leg.cause ? `: ${leg.cause.text}` : ''}`;
  const way = `${with_.distance(result.distanceM)} ${courseText(leg, with_)}`;
  if (result.problem) return `${name} · makes no headway at ${with_.speed(result.indicatedMps)} · ${way}`;
  const required =
    result.requiredDepartAltitudeM === null
      ? 'no height is enough'
      : `needs ${with_.altitude(result.requiredDepartAltitudeM, 'up')}`;
  const heights = wholeHeights(leg, with_);
  if (!heights) return `${name} · ${required} · ${way}`;
  const [stillAir, wind, sinkingAir, share] = heights.spent;
  const unit = with_.units.altitude.text;
  const spent = sum([
    ['still air', stillAir],
    ['wind', wind],
    ['sinking air', sinkingAir],
    ['share of polar', share],
  ]);
  const left = sum([
    ['reserve', heights.reserve],
    ['altimeter', heights.altimeter],
    ['margin', heights.margin],
  ]);
  return `${name} · margin ${marginText(leg, with_)} · ${required} · ${way} · loses ${number(heights.lost)} ${unit}${spent} · over it ${number(heights.over)} ${unit}${left}`;
}

/** The lenses of a file. */
export function codeLenses(workspace: Workspace, understood: Understood): CodeLens[] {
  const with_ = show(understood.units);
  const lenses: CodeLens[] = [];
  const add = (task: TaskEvaluation, span: { start: number; end: number } | undefined, title: string): void => {
    const range = span && rangeOf(workspace, { uri: task.uri, entry: task.entry, span });
    if (range) lenses.push({ range: { start: range.start, end: range.end }, command: { title, command: '' } });
  };
  for (const task of understood.tasks) {
    add(task, task.entry.head?.span, taskTitle(task, with_));
    for (const leg of task.legs) add(task, leg.line.span, legTitle(leg, with_));
  }
  return lenses;
}
