import type { Noted } from './plan-report.ts';

function plain({ diagnostic, fingerprint }: Noted): object {
  return { ...diagnostic, fingerprint };
}

/** `check --format json`: the diagnostics as in the contract of `budget`, with related places. Keys are added, never renamed. */
export function checkJson(noted: readonly Noted[], files: number): string {
  return `${JSON.stringify({ version: 1, files, diagnostics: noted.map(plain) }, null, 2)}\n`;
}

/** `check --format jsonl`: one finding a line, each the object that `json` has. */
export function checkJsonLines(noted: readonly Noted[]): string {
  // Some readers break lines at these, which JSON lets stand in text.
  const inLine = (text: string) =>
    text.replace(/[\u0085\u2028\u2029]/g, (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, '0')}`);
  return noted.map((one) => `${inLine(JSON.stringify(plain(one)))}\n`).join('');
}
