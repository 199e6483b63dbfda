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

/** What a file is called from the top of a checkout, by what it is called in other reports. */
export type InCheckout = (file: string) => string;

function annotation({ diagnostic: d }: Noted, nameOf: InCheckout): string {
  const where = {
    // Line ends are the runner's to turn back; nothing else of a name may steer a reader's terminal.
    file: nameOf(d.file).replace(/[^\r\n]+/g, harmless),
    line: d.line,
    ...(d.endLine === d.line ? { col: d.column, endColumn: Math.max(d.column, d.endColumn - 1) } : {}),
    endLine: d.endLine,
    title: d.code,
  };
  const properties = Object.entries(where).map(([key, one]) => `${key}=${property(String(one))}`);
  const related = d.related.map((r) => `\n${harmless(nameOf(r.file))}:${r.line}: ${harmless(r.message)}`);
  return `::${COMMAND[d.severity]} ${properties.join(',')}::${value(harmless(d.message) + related.join(''))}`;
}

/** One command a finding, and the summary as plain text. */
export function checkGithub(plans: readonly PlanReport[], nameOf: InCheckout): string {
  const noted = plans.flatMap((plan) => plan.noted);
  const unreadable = plans.flatMap((plan) => plan.unreadable ?? []);
  const lines = [
    ...noted.map((one) => annotation(one, nameOf)),
    ...unreadable.map((why) => `::error title=unreadable::${value(harmless(why))}`),
    summary(
      noted.map(({ diagnostic }) => diagnostic),
      plans.length - unreadable.length,
    ),
  ];
  return `${lines.join('\n')}\n`;
}
