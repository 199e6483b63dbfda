/** `budget --format markdown`: for a pull request or a club's page. */

import { budgetTerms, LEG_HEADS, legCells, totalsText } from '../plan/budget-rows.ts';
import { CAUTION, madeWith, READING } from '../plan/caution.ts';
import { type ReaderUnits, show } from '../plan/show.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import { escapeMarkdown } from '../plan/text.ts';

function table(head: readonly string[], rows: readonly (readonly string[])[]): string[] {
  const line = (cells: readonly string[]) => `| ${cells.map(escapeMarkdown).join(' | ')} |`;
  return [line(head), `| ${head.map((_, i) => (i === 0 ? '---' : '---:')).join(' | ')} |`, ...rows.map(line)];
}

/** The budgets of tasks as Markdown. */
export function budgetMarkdown(tasks: readonly TaskEvaluation[], units: ReaderUnits): string {
  const with_ = show(units);
  const blocks = tasks.map((task) => {
    const terms = task.legs.flatMap((leg) => {
      const found = budgetTerms(leg, with_);
      return found
        ? [
            [
              `${leg.number} to ${leg.toName}`,
              ...found.spent.map(([, v]) => v),
              found.lost,
              ...found.left.map(([, v]) => v),
              found.over,
            ],
          ]
        : [];
    });
    const uncomputed = task.legs.filter((leg) => leg.cause);
    return [
      `## ${escapeMarkdown(task.task.name)}`,
      '',
      `${escapeMarkdown(madeWith(task, with_).join('; '))}.`,
      '',
      `${escapeMarkdown(totalsText(task, with_))}.`,
      '',
      ...table(
        LEG_HEADS,
        task.legs.map((leg) => legCells(leg, with_)),
      ),
      '',
      ...(terms.length > 0
        ? [
            ...table(
              [
                'where the height goes',
                'still air',
                'wind',
                'sinking air',
                'share of the polar',
                'lost',
                'reserve',
                'altimeter',
                'margin',
                'over the point',
              ],
              terms,
            ),
            '',
          ]
        : []),
      ...uncomputed.map(
        (leg) =>
          `- leg ${leg.number} to ${escapeMarkdown(leg.toName)} is not computed: ${escapeMarkdown(leg.cause?.text ?? '')}`,
      ),
    ].join('\n');
  });
  return `${blocks.join('\n')}\n\n> ${READING}\n> ${CAUTION}\n`;
}
