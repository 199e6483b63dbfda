import type { Diagnostic } from './diagnostic.ts';

/** `check --format json`: the diagnostics as in the contract of `budget`, with related places. Keys are added, never renamed. */
export function checkJson(diagnostics: readonly Diagnostic[], files: number): string {
  return `${JSON.stringify({ version: 1, files, diagnostics }, null, 2)}\n`;
}
