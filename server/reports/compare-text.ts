/** `compare` for a person at a terminal. */
import { CAUTION } from '../plan/caution.ts';
import { harmless } from '../plan/text.ts';
import { type Comparison, type FindingChanges, isStillUnsafe, type TaskDifference } from './compare.ts';
import {
  apart,
  beforeWords,
  changedLegs,
  changeText,
  headline,
  isLesser,
  legTitle,
  marginOf,
  onlyLegs,
  otherFacts,
  reasonTexts,
  SLIGHT,
  showOf,
  stillWords,
  timeTexts,
  titleOf,
  verdictOf,
} from './compare-words.ts';
import type { Paint } from './plain.ts';

function findingLines({ appeared, gone, altered }: FindingChanges): string[] {
  return [
    ...appeared.map(
      ({ severity, code, file, line, message }) => `  new ${severity} ${code}, ${file}:${line}: ${message}`,
    ),
    ...altered.flatMap((one) => [
      `  ${stillWords(one, one.code)}, ${one.file}:${one.line}: ${one.message}`,
      ...(isLesser(one) ? [] : [`    before: ${beforeWords(one, one.codeBefore)}${one.messageBefore}`]),
    ]),
    ...gone.map(({ severity, code, message }) => `  gone: ${severity} ${code}: ${message}`),
  ];
}

function taskLines(task: TaskDifference): string[] {
  const with_ = showOf(task);
  const lines: string[] = [];
  for (const leg of changedLegs(task)) {
    lines.push(`  leg ${legTitle(leg)}: ${changeText(leg, with_)}`);
    const why = reasonTexts(leg, with_);
    if (why && why.of !== '' && why.of !== 'margin') lines.push(`    ${why.of}:`);
    for (const { what, much } of why?.reasons ?? []) lines.push(`    ${what}${much === '' ? '' : `: ${much}`}`);
  }
  for (const leg of onlyLegs(task))
    lines.push(`  leg ${legTitle({ before: leg, after: leg })}: margin ${marginOf(leg, with_)}`);
  const times = timeTexts(task);
  if (times.length > 0) lines.push(`  times: ${times.join(', ')}`);
  const { head, facts } = otherFacts(task);
  if (facts.length > 0) lines.push(`  ${head}:`, ...facts.map((fact) => `    ${fact}`));
  return [...lines, ...findingLines(task)];
}

/** The comparison as text, what became unsafe first. */
export function compareText(comparison: Comparison, paint: Paint): string {
  const { told, slight } = apart(comparison);
  const blocks = told.map((task) => {
    const { name, about } = titleOf(task);
    const verdict = verdictOf(task);
    const grave = task.weight === 'unsafe' || task.weight === 'less safe' || isStillUnsafe(task);
    const colour = grave ? paint.red : paint.yellow;
    return [
      `${paint.bold(harmless(name))} (${harmless(about)}): ${colour(verdict)}`,
      ...taskLines(task).map(harmless),
    ].join('\n');
  });
  if (slight.length > 0)
    blocks.push([`${SLIGHT}:`, ...slight.map(({ name, file }) => harmless(`  ${name} (${file})`))].join('\n'));
  for (const file of comparison.files)
    blocks.push([harmless(file.file), ...findingLines(file).map(harmless)].join('\n'));
  if (comparison.entries.length > 0)
    blocks.push(
      [
        'entries that differ:',
        ...comparison.entries.map(({ what, file, fate }) => harmless(`  ${what} (${file}): ${fate}`)),
      ].join('\n'),
    );
  const head = paint.bold(headline(comparison));
  return `${[head, ...blocks, paint.dim(CAUTION)].join('\n\n')}\n`;
}
