/** `budget` for a person at a terminal: a table of legs, and under it where the height of each goes. */

import { budgetTerms, LEG_HEADS, legCells, totalsText } from '../plan/budget-rows.ts';
import { CAUTION, madeWith, READING } from '../plan/caution.ts';
import { type ReaderUnits, type Show, show } from '../plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { harmless } from '../plan/text.ts';
import { columns, type Paint } from './plain.ts';

const RIGHT = new Set(LEG_HEADS.map((_, i) => i).slice(1));

function legLines(leg: LegEvaluation, with_: Show): string[] {
  const name = `  ${leg.number} to ${leg.toName || '?'}:`;
  const { result } = leg;
  if (!result) return [`${name} not computed${leg.cause ? `, since ${leg.cause.text}` : ''}`];
  if (result.problem) return [`${name} makes no headway at ${with_.speed(result.indicatedMps)}`];
  const terms = budgetTerms(leg, with_);
  if (!terms) return [];
  const sum = (parts: [string, string][]) => parts.map(([what, value]) => `${what} ${value}`).join(' + ');
  const lines = [
    `${name} loses ${terms.lost} = ${sum(terms.spent)}`,
    `${' '.repeat(name.length)} arrives ${terms.over} over the point = ${sum(terms.left)}`,
  ];
  if (result.reachesGroundAfterM !== null) {
    lines.push(
      `${' '.repeat(name.length)} does not get there: down to the height of ${leg.toName} after ${with_.distance(result.reachesGroundAfterM)}`,
    );
  }
  for (const climb of result.climbs) {
    lines.push(
      `${' '.repeat(name.length)} climbs after ${with_.distance(climb.afterM)} from ${with_.altitude(climb.fromAltitudeM, 'down')} to ${with_.altitude(climb.toAltitudeM)}`,
    );
  }
  return lines;
}

/** The budgets of tasks as text. */
export function budgetText(tasks: readonly TaskEvaluation[], units: ReaderUnits, paint: Paint): string {
  const with_ = show(units);
  const blocks = tasks.map((task) => {
    const rows = columns([[...LEG_HEADS], ...task.legs.map((leg) => legCells(leg, with_).map(harmless))], RIGHT);
    return [
      paint.bold(harmless(task.task.name)),
      `  ${harmless(madeWith(task, with_).join('; '))}`,
      `  ${totalsText(task, with_)}`,
      '',
      ...rows.map((row, i) => `  ${i === 0 ? paint.dim(row) : row}`),
      '',
      paint.dim('  Where the height goes'),
      ...task.legs.flatMap((leg) => legLines(leg, with_).map(harmless)),
    ].join('\n');
  });
  return `${blocks.join('\n\n')}\n\n${paint.dim(`${READING}\n${CAUTION}`)}\n`;
}
