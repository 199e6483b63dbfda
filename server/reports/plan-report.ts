/** What the check of one plan came to: plain data, so that it may come from another thread, a cache or another revision. */
import type { Severity } from '../rules/rule.ts';
import type { Diagnostic } from './diagnostic.ts';
import { stableHash } from './stable-hash.ts';

const SEVERITIES: readonly Severity[] = ['error', 'warning', 'info', 'hint'];

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

/** Whether keys of a value are of these types; a list is one of objects that pass a test of their own. */
type Shape = Readonly<Record<string, 'string' | 'number' | ((one: unknown) => boolean)>>;

const has = (value: unknown, shape: Shape): boolean =>
  typeof value === 'object' &&
  value !== null &&
  Object.entries(shape).every(([key, wanted]) => {
    const own: unknown = Object.hasOwn(value, key) ? value[key as keyof typeof value] : undefined;
    return typeof wanted === 'function' ? wanted(own) : typeof own === wanted;
  });
const listOf = (shape: Shape) => (list: unknown) => Array.isArray(list) && list.every((one) => has(one, shape));

const PLACED: Shape = { file: 'string', line: 'number', column: 'number', message: 'string' };
const DIAGNOSTIC: Shape = {
  ...PLACED,
  endLine: 'number',
  endColumn: 'number',
  severity: (one) => SEVERITIES.some((severity) => severity === one),
  code: 'string',
  related: listOf(PLACED),
};
const REPORT: Shape = {
  name: 'string',
  noted: listOf({ diagnostic: (one) => has(one, DIAGNOSTIC), source: 'string', fingerprint: 'string' }),
  unreadable: (why) => why === null || typeof why === 'string',
};

/** Whether what was read from somewhere, such as a cache, is the report of a plan. */
export function isPlanReport(value: unknown): value is PlanReport {
  return has(value, REPORT);
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
