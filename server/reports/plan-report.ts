/** What the check of one plan came to: plain data, so that it may come from another thread, a cache or another revision. */
import type { Diagnostic } from './diagnostic.ts';
import { stableHash } from './stable-hash.ts';

/** A finding with what reports need beside it. */
export interface Noted {
  readonly diagnostic: Diagnostic;
  /** The line that it starts on, as written. */
  readonly source: string;
  /** The same for the same finding on the same line, wherever that line has moved to in its file. */
  readonly fingerprint: string;
}

export interface PlanReport {
  readonly name: string;
  readonly noted: readonly Noted[];
  /** Why the plan could not be read, as a sentence that begins with its name. */
  readonly unreadable: string | null;
}

/** The findings of a file, with its text. */
export function notedOf(diagnostics: readonly Diagnostic[], text: string): Noted[] {
  if (diagnostics.length === 0) return [];
  const lines = text.split(/\r\n|\n|\r/);
  const seen = new Map<string, number>();
  return diagnostics.map((diagnostic) => {
    const source = lines[diagnostic.line - 1] ?? '';
    const what = `${diagnostic.code}\n${source.trim().replace(/\s+/g, ' ')}`;
    const before = seen.get(what) ?? 0;
    seen.set(what, before + 1);
    return { diagnostic, source, fingerprint: stableHash(`${what}\n${before}`) };
  });
}
