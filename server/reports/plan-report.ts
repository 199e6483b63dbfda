/** What the check of one plan came to: plain data, so that it may come from another thread, a cache or another revision. */

import { rowAt } from '../../grammar/file.ts';
import type { EntrySyntax } from '../../grammar/syntax.ts';
import { keptFor } from '../plan/last-few.ts';
import { SEVERITIES } from '../rules/rule.ts';
import type { Diagnostic, Told } from './diagnostic.ts';
import { stableHash } from './stable-hash.ts';

/** A finding with what reports need beside it. */
export interface Noted {
  readonly diagnostic: Diagnostic;
  /** The line that it starts on, as written. */
  readonly source: string;
  /** The same for the same finding on the same line of the same entry, wherever that has moved to. */
  readonly fingerprint: string;
  /** What code and line alone give, whichever entry the line is of: what was published first. */
  readonly lineFingerprint: string;
  /** The entry that it is in, such as `task Home`. */
  readonly entry: string;
  /** The fingerprint of a finding in an entry that differs from this one in nothing but its name. */
  readonly renamedFingerprint: string;
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
  noted: listOf({
    diagnostic: (one) => has(one, DIAGNOSTIC),
    source: 'string',
    fingerprint: 'string',
    lineFingerprint: 'string',
    entry: 'string',
    renamedFingerprint: 'string',
  }),
  unreadable: (why) => why === null || typeof why === 'string',
};

/** Whether what was read from somewhere, such as a cache, is the report of a plan. */
export function isPlanReport(value: unknown): value is PlanReport {
  return has(value, REPORT);
}

const squeezed = (text: string): string => text.trim().replace(/\s+/g, ' ');

/** What an entry is called: `task Home`. */
export function nameOfEntry({ form, name }: EntrySyntax): string {
  return `${form?.keyword ?? ''} ${name?.text ?? ''}`.trim();
}

/** What fingerprints take from an entry. */
interface Marks {
  readonly name: string;
  /** All that it says besides its name. */
  readonly body: string;
  /** What each line says besides the name, with how many before it say the same. */
  readonly lines: readonly string[];
}

function marksOf(entry: EntrySyntax): Marks {
  const { text, lineStarts } = entry;
  const { start, end } = entry.name?.span ?? { start: 0, end: 0 };
  const nameless = text.slice(0, start) + ' '.repeat(end - start) + text.slice(end);
  const seen = new Map<string, number>();
  const lines = lineStarts.map((from, i) => {
    const says = squeezed(nameless.slice(from, lineStarts[i + 1]));
    const before = seen.get(says) ?? 0;
    seen.set(says, before + 1);
    return `${says}\n${before}`;
  });
  return { name: nameOfEntry(entry), body: stableHash(squeezed(nameless)), lines };
}

/** The findings of a file, with its text. */
export function notedOf(told: readonly Told[], text: string): Noted[] {
  if (told.length === 0) return [];
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\n|\r/);
  const marks = new Map<EntrySyntax, Marks>();
  const seen = new Map<string, number>();
  /** Those that have everything in common are told apart by their turn. */
  const hashOf = (...parts: readonly string[]) => {
    const what = parts.join('\n');
    const before = seen.get(what) ?? 0;
    seen.set(what, before + 1);
    return stableHash(`${what}\n${before}`);
  };
  return told.map(({ diagnostic, finding }) => {
    const { code, meets = '' } = finding;
    const source = lines[diagnostic.line - 1] ?? '';
    const { entry, span } = finding.at;
    const { name, body, lines: says } = keptFor(marks, entry, () => marksOf(entry));
    const line = says[rowAt(entry.lineStarts, span.start)] ?? '';
    return {
      diagnostic,
      source,
      fingerprint: hashOf('named', code, name, line, meets),
      lineFingerprint: hashOf(code, squeezed(source)),
      entry: name,
      renamedFingerprint: hashOf('renamed', code, body, line, meets),
    };
  });
}
