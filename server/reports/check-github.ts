/** `check --format github`: workflow commands, which GitHub shows as annotations on the lines of a pull request. */
import { harmless } from '../plan/text.ts';
import type { Severity } from '../rules/rule.ts';
import { summary } from './check-text.ts';
import type { Noted, PlanReport } from './plan-report.ts';

const COMMAND: Readonly<Record<Severity, string>> = {
  error: 'error',
  warning: 'warning',
  info: 'notice',
  hint: 'notice',
};

/** The value of a command: what the runner turns back. */
function value(text: string): string {
  return text.toWellFormed().replaceAll('%', '%25').replaceAll('\r', '%0D').replaceAll('\n', '%0A');
}

function property(text: string): string {
  return value(text).replaceAll(':', '%3A').replaceAll(',', '%2C');
}

function annotation({ diagnostic: d }: Noted): string {
  const where = {
    // Line ends are the runner's to turn back; nothing else of a name may steer a reader's terminal.
    file: d.file.replace(/[^\r\n]+/g, harmless),
    line: d.line,
    ...(d.endLine === d.line ? { col: d.column, endColumn: Math.max(d.column, d.endColumn - 1) } : {}),
    endLine: d.endLine,
    title: d.code,
  };
  const properties = Object.entries(where).map(([key, one]) => `${key}=${property(String(one))}`);
  const related = d.related.map((r) => `\n${harmless(r.file)}:${r.line}: ${harmless(r.message)}`);
  return `::${COMMAND[d.severity]} ${properties.join(',')}::${value(harmless(d.message) + related.join(''))}`;
}

/** One command a finding, and the summary as plain text. */
export function checkGithub(plans: readonly PlanReport[]): string {
  const noted = plans.flatMap((plan) => plan.noted);
  const unreadable = plans.flatMap((plan) => plan.unreadable ?? []);
  const lines = [
    ...noted.map(annotation),
    ...unreadable.map((why) => `::error title=unreadable::${value(harmless(why))}`),
    summary(
      noted.map(({ diagnostic }) => diagnostic),
      plans.length - unreadable.length,
    ),
  ];
  return `${lines.join('\n')}\n`;
}
