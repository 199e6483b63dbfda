/** The least margin of a file in a line, for a client to show while the text is open. */
import type { Range } from 'vscode-languageserver-types';
import { marginText } from '../plan/budget-rows.ts';
import { madeWith } from '../plan/caution.ts';
import { rangeOf } from '../plan/places.ts';
import { show } from '../plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { harmless } from '../plan/text.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import { fallsShort } from '../rules/leg-words.ts';
import type { Finding } from '../rules/rule.ts';

export interface WorstMargin {
  /** `least margin +120 ft on leg 4 to Larkfield`. */
  readonly text: string;
  /** What it is computed with. */
  readonly detail: string;
  /** An error: a leg falls short, or makes no headway. A warning: thin, or a leg is not computed. */
  readonly severity: 'error' | 'warning' | 'info';
  /** The line of that leg. */
  readonly range: Range;
}

interface Candidate {
  readonly task: TaskEvaluation;
  readonly leg: LegEvaluation;
  /** What is worst comes first: no headway is worse than any margin. */
  readonly marginM: number;
}

function candidatesOf(task: TaskEvaluation): Candidate[] {
  return task.legs.flatMap((leg) => {
    if (!leg.result) return [];
    return [{ task, leg, marginM: leg.result.problem ? -Infinity : leg.result.marginM }];
  });
}

/** The least margin of all tasks of a file, and how many legs it does not speak for; undefined without a leg. */
export function worstMargin(
  workspace: Workspace,
  { tasks, units, file }: Understood,
  findings: readonly Finding[],
): WorstMargin | undefined {
  const with_ = show(units);
  const legs = tasks.flatMap((task) => task.legs.map((leg) => ({ task, leg })));
  const open = legs.filter(({ leg }) => !leg.result);
  const [first] = legs;
  if (!first) return undefined;
  let worst: Candidate | undefined;
  for (const one of tasks.flatMap(candidatesOf)) if (!worst || one.marginM < worst.marginM) worst = one;

  const { task, leg } = worst ?? open[0] ?? first;
  const name = `leg ${leg.number} to ${leg.toName || '?'}`;
  const of = tasks.length > 1 ? ` of ${task.task.name}` : '';
  const notComputed = open.length === 1 ? '1 leg not computed' : `${open.length} legs not computed`;
  const parts: string[] = [];
  if (leg.result?.problem) parts.push(`${name}${of} makes no headway`);
  else if (leg.result) parts.push(`least margin ${marginText(leg, with_)} on ${name}${of}`);
  if (open.length > 0) parts.push(notComputed);

  const isThin = findings.some(
    ({ code, at }) =>
      code === 'thin-margin' &&
      at.entry === task.entry &&
      at.span.start >= leg.line.span.start &&
      at.span.end <= leg.line.span.end,
  );
  const isShort = leg.result !== undefined && (leg.result.problem !== null || fallsShort(leg.result));
  const range = rangeOf(workspace, { uri: file.uri, entry: task.entry, span: leg.line.span });
  if (!range) return undefined;
  return {
    text: harmless(parts.join(', ')),
    detail: harmless(leg.result ? madeWith(task, with_).join(', ') : (leg.cause?.text ?? '')),
    severity: isShort ? 'error' : isThin || open.length > 0 ? 'warning' : 'info',
    range: { start: range.start, end: range.end },
  };
}
