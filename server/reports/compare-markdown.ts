/** `compare --format markdown`: for a bot to post under a pull request; short first, the details folded. */
import { CAUTION, READING } from '../plan/caution.ts';
import { escapeMarkdown, harmless } from '../plan/text.ts';
import type { AlteredFinding, Comparison, FindingChange, FindingChanges, TaskDifference } from './compare.ts';
import {
  apart,
  beforeWords,
  CHANGE_HEADS,
  changeCells,
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

/** Text inside a tag, where Markdown is not read. */
function escapeHtml(text: string): string {
  const signs: Readonly<Record<string, string>> = {
    '&': '&amp;',
    '<': '&lt;',
    '>': '&gt;',
    '"': '&quot;',
    "'": '&#39;',
  };
  return harmless(text).replace(/[&<>"']/g, (sign) => signs[sign] as string);
}

const folded = (summary: string, lines: readonly string[]): string[] => [
  '<details>',
  `<summary>${summary}</summary>`,
  '',
  ...lines,
  '',
  '</details>',
  '',
];

const row = (cells: readonly string[]): string => `| ${cells.map(escapeMarkdown).join(' | ')} |`;

function findingLine(what: string, { file, line, message }: FindingChange): string {
  return `- ${what}, ${escapeMarkdown(`${file}:${line}: ${message}`)}`;
}

const namedLine = (what: string, finding: FindingChange): string =>
  findingLine(`${what} ${finding.severity} \`${finding.code}\``, finding);

function alteredLine(finding: AlteredFinding): string {
  const line = findingLine(stillWords(finding, `\`${finding.code}\``), finding);
  if (isLesser(finding)) return line;
  const before = `${beforeWords(finding, `\`${finding.codeBefore}\``)}${escapeMarkdown(finding.messageBefore)}`;
  return `${line}; before: ${before}`;
}

function findingLines({ appeared, altered, gone }: FindingChanges): string[] {
  return [
    ...appeared.map((one) => namedLine('new', one)),
    ...altered.map(alteredLine),
    ...gone.map((one) => namedLine('gone', one)),
  ];
}

const isError = ({ severity }: FindingChange): boolean => severity === 'error';

/** How many lines of a task stand above the fold. */
const SHORT = 3;

function shortLines(task: TaskDifference): string[] {
  const with_ = showOf(task);
  const { name, about } = titleOf(task);
  const lines = [`- **${escapeMarkdown(name)}** (${escapeMarkdown(about)}): **${verdictOf(task)}**`];
  const legs = changedLegs(task);
  for (const leg of legs.slice(0, SHORT)) {
    const [first, ...more] = reasonTexts(leg, with_)?.reasons ?? [];
    const why = first ? `: ${first.what}${first.much === '' ? '' : `: ${first.much}`}` : '';
    lines.push(
      `  - ${escapeMarkdown(`leg ${legTitle(leg)}: ${changeText(leg, with_)}${why}`)}${more.length > 0 ? ` and ${more.length} more` : ''}`,
    );
  }
  if (legs.length > SHORT) lines.push(`  - and ${legs.length - SHORT} more legs`);
  const times = timeTexts(task);
  if (times.length > 0) lines.push(`  - ${escapeMarkdown(`times: ${times.join(', ')}`)}`);
  const errors = [
    ...task.appeared.filter(isError).map((finding) => namedLine('new', finding)),
    ...task.altered.filter((finding) => isError(finding) && finding.course === 'worse').map(alteredLine),
  ];
  for (const error of errors.slice(0, SHORT)) lines.push(`  ${error}`);
  return lines;
}

function details(task: TaskDifference): string[] {
  const with_ = showOf(task);
  const lines: string[] = [];
  const rows = task.change
    ? task.change.legs.map((leg) => changeCells(leg, with_))
    : onlyLegs(task).map((leg) => [legTitle({ before: leg, after: leg }), '', '', '', marginOf(leg, with_), '']);
  if (rows.length > 0)
    lines.push(row(CHANGE_HEADS), `| ${CHANGE_HEADS.map((_, i) => (i === 0 ? '---' : '---:')).join(' | ')} |`);
  lines.push(...rows.map(row), '');
  for (const leg of changedLegs(task)) {
    const why = reasonTexts(leg, with_);
    if (!why) continue;
    lines.push(`Leg ${escapeMarkdown(legTitle(leg))}${why.of === '' ? '' : `, ${why.of}`}:`, '');
    for (const { what, much } of why.reasons)
      lines.push(`- ${escapeMarkdown(what)}${much === '' ? '' : `: ${escapeMarkdown(much)}`}`);
    lines.push('');
  }
  const { head, facts } = otherFacts(task);
  if (facts.length > 0)
    lines.push(`${head.replace('w', 'W')}:`, '', ...facts.map((fact) => `- ${escapeMarkdown(fact)}`), '');
  return [...lines, ...findingLines(task)];
}

/** The comparison as Markdown. */
export function compareMarkdown(comparison: Comparison): string {
  const { files, entries } = comparison;
  const { told: tasks, slight } = apart(comparison);
  const lines = [`**${headline(comparison)}**`, ''];
  for (const task of tasks) lines.push(...shortLines(task));
  if (tasks.length > 0) lines.push('');
  for (const task of tasks) lines.push(...folded(`<code>${escapeHtml(task.name)}</code>, leg by leg`, details(task)));
  if (slight.length > 0)
    lines.push(
      ...folded(
        `${slight.length} ${SLIGHT}`,
        slight.map(({ name, file }) => `- ${escapeMarkdown(`${name} (${file})`)}`),
      ),
    );
  if (files.length > 0) lines.push(...folded('Findings outside the tasks', files.flatMap(findingLines)));
  if (entries.length > 0)
    lines.push(
      ...folded(
        'Entries that differ',
        entries.map(({ what, file, fate }) => `- ${escapeMarkdown(`${what} (${file})`)}: ${fate}`),
      ),
    );
  return `${lines.join('\n')}\n> ${READING}\n> ${CAUTION}\n`;
}
