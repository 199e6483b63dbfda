/** `check` for a person at a terminal: the line, the marker under it, the message, the way out. */

import { harmless } from '../plan/text.ts';
import { SEVERITIES, type Severity } from '../rules/rule.ts';
import type { Diagnostic } from './diagnostic.ts';
import { count, type Paint } from './plain.ts';

const LABEL: Readonly<Record<Severity, string>> = {
  error: 'error',
  warning: 'warning',
  info: 'info',
  hint: 'hint',
};
const LONGEST = 160;

function painted(severity: Severity, text: string, paint: Paint): string {
  if (severity === 'error') return paint.red(text);
  if (severity === 'warning') return paint.yellow(text);
  return severity === 'info' ? paint.blue(text) : paint.dim(text);
}

/** The first sentence on a line, what follows (the way out) on the next. */
function sentences(message: string): string[] {
  const at = message.search(/\. (?=[\p{Lu}`])/u);
  return at < 0 ? [message] : [message.slice(0, at + 1), message.slice(at + 2)];
}

/** The window of a long line around its marker. */
function windowOf(text: string, from: number, to: number): { shown: string; from: number; to: number } {
  if (text.length <= LONGEST) return { shown: text, from, to };
  const start = Math.max(0, Math.min(from - 40, text.length - LONGEST));
  const before = start > 0 ? '… ' : '';
  const cut = text.slice(start, start + LONGEST);
  const shown = `${before}${cut}${start + LONGEST < text.length ? ' …' : ''}`;
  const shift = before.length - start;
  return { shown, from: from + shift, to: Math.min(to + shift, shown.length) };
}

function diagnosticText(d: Diagnostic, sourceLine: string, paint: Paint): string {
  const number = String(d.line);
  const gutter = ' '.repeat(number.length);
  const lineEnd = d.endLine > d.line ? sourceLine.length : d.endColumn - 1;
  const { shown, from, to } = windowOf(sourceLine.trimEnd(), d.column - 1, Math.max(lineEnd, d.column));
  const before = harmless(shown.slice(0, from));
  const marked = harmless(shown.slice(from, to));
  const marker = ' '.repeat([...before].length) + '^'.repeat(Math.max(1, [...marked].length));
  const lines = [
    `${paint.bold(`${harmless(d.file)}:${d.line}:${d.column}`)}  ${painted(d.severity, LABEL[d.severity], paint)}  ${paint.dim(d.code)}`,
    `  ${paint.dim(`${number} |`)} ${before}${marked}${harmless(shown.slice(to))}`,
    `  ${paint.dim(`${gutter} |`)} ${painted(d.severity, marker, paint)}`,
    ...sentences(harmless(d.message)).map((sentence) => `  ${sentence}`),
    ...d.related.map((r) => paint.dim(`    ${harmless(r.file)}:${r.line}:${r.column}  ${harmless(r.message)}`)),
  ];
  return lines.join('\n');
}

/** What was found in all, in one line. */
export function summary(diagnostics: readonly Diagnostic[], files: number): string {
  const of = (severity: Severity) => diagnostics.filter((d) => d.severity === severity).length;
  const parts = SEVERITIES.filter((severity) => of(severity) > 0).map((severity) =>
    count(of(severity), severity === 'info' ? 'info' : severity),
  );
  const where = files === 1 ? 'in 1 file' : `in ${files} files`;
  return parts.length === 0 ? `nothing to say ${where}` : `${parts.join(', ')} ${where}`;
}

/** All diagnostics, by file and line; `lineOf` gives the text of a file's line (from 1). */
export function checkText(
  diagnostics: readonly Diagnostic[],
  files: number,
  lineOf: (file: string, line: number) => string,
  paint: Paint,
): string {
  const blocks = diagnostics.map((d) => diagnosticText(d, lineOf(d.file, d.line), paint));
  return `${[...blocks, summary(diagnostics, files)].join('\n\n')}\n`;
}
