/** Any text at all: no rule throws, and what it marks lies inside the entry that it is about. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { positionAt } from '../../grammar/file.ts';
import { type EntrySyntax, linesOf, type Span } from '../../grammar/syntax.ts';
import { meaningOf } from '../../server/plan/meaning.ts';
import { DEFAULT_UNITS, show } from '../../server/plan/show.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { RULES } from '../../server/rules/index.ts';
import { rulesOf } from '../../server/rules/traits.ts';
import { EVERYTHING, PLAN } from '../grammar/example.ts';
import { checked } from './helper.ts';

const CASES = 1_000;
const TIMEOUT_MS = 240_000;

const FILES = {
  'club/fields.taskplan': EXAMPLE_CLUB,
  'club/fleet.taskplan': 'use "../plan.taskplan"\nuse "rules.taskplan"\n',
  'club/rules.taskplan': 'limits Solo\n  reserve at least Training\nreserve Training\n  arrive 1000 ft AGL\n',
  'shared/neighbours.taskplan': 'not text\0',
};

const SOURCES = [PLAN, EVERYTHING, EXAMPLE_CLUB, `${PLAN}\n${EXAMPLE_CLUB}`];
const LINES = SOURCES.flatMap((text) => text.split('\n'));
const WORDS = [...new Set(LINES.flatMap((line) => line.split(/\s+/)))].filter((word) => word !== '');

interface Change {
  readonly kind: 'cut' | 'insert' | 'line' | 'unindent' | 'twice' | 'swap';
  readonly at: number;
  readonly length: number;
  readonly text: string;
}

const change: fc.Arbitrary<Change> = fc.record({
  kind: fc.constantFrom('cut', 'insert', 'line', 'unindent', 'twice', 'swap'),
  // Evenly over the text: doubles by chance lie mostly next to 0.
  at: fc.nat(9_999).map((n) => n / 10_000),
  length: fc.integer({ min: 1, max: 40 }),
  text: fc.oneof(
    fc.constantFrom(...WORDS),
    fc.constantFrom(...LINES),
    fc.constantFrom(
      '"',
      '#',
      ',',
      '-',
      '°',
      '\r\n',
      '\r',
      '\t',
      '\u00a0',
      '\ufeff',
      '99999',
      '-5',
      'FL9999',
      '0',
      '1,000',
    ),
    fc.string({ unit: 'grapheme', maxLength: 8 }),
  ),
});

function changed(text: string, { kind, at, length, text: inserted }: Change): string {
  const offset = Math.floor(at * text.length);
  if (kind === 'cut') return text.slice(0, offset) + text.slice(offset + length);
  if (kind === 'insert') return `${text.slice(0, offset)} ${inserted} ${text.slice(offset)}`;
  const lines = text.split('\n');
  const line = Math.floor(at * (lines.length - 1));
  const here = lines[line] ?? '';
  if (kind === 'line') lines.splice(line, 1, `  ${inserted}`);
  else if (kind === 'unindent') lines[line] = here.trimStart();
  else if (kind === 'twice') lines.splice(line, 0, here);
  else lines.splice(line, 2, lines[line + 1] ?? '', here);
  return lines.join('\n');
}

function holds(text: string): void {
  const failures: string[] = [];
  const { file, findings } = checked(text, FILES, undefined, (code, error) => failures.push(`${code}: ${error}`));
  expect(failures).toEqual([]);
  for (const { at, code, message, related } of findings) {
    const placed = file.syntax.entries.find(({ syntax }) => syntax === at.entry);
    expect(placed, code).toBeDefined();
    if (!placed) continue;
    for (const span of [at, ...related.map((one) => one.at)].map((place) => ({
      ...place.span,
      text: place.entry.text,
    }))) {
      expect(span.start, code).toBeGreaterThanOrEqual(0);
      expect(span.start, code).toBeLessThanOrEqual(span.end);
      expect(span.end, code).toBeLessThanOrEqual(span.text.length);
    }
    expect(positionAt(placed, at.span.start).line, `${code} on one line`).toBe(positionAt(placed, at.span.end).line);
    expect(message, code).toMatch(/^[^\n\r]*[.?]$/u);
  }
  for (const { syntax } of file.syntax.entries) expectNothingUnasked(syntax, file.uri);
}

const SHOWN = show(DEFAULT_UNITS);

/** A rule that is not asked about an entry, since it needs what is not in it, would have found nothing. */
function expectNothingUnasked(entry: EntrySyntax, uri: string): void {
  const asked = rulesOf(entry);
  const at = (span: Span) => ({ uri, entry, span });
  const context = { entry, meaning: meaningOf(entry), show: SHOWN, at };
  for (const rule of RULES) {
    if (asked.includes(rule)) continue;
    const ofLines = linesOf(entry).flatMap((line) => [...(rule.line?.(line, context) ?? [])]);
    expect([...ofLines, ...(rule.entry?.(context) ?? [])], `${rule.code}: ${entry.text}`).toEqual([]);
  }
}

test(
  `${CASES} plans with a few slips: nothing throws, and every mark lies in its entry`,
  () => {
    fc.assert(
      fc.property(fc.constantFrom(...SOURCES), fc.array(change, { minLength: 1, maxLength: 6 }), (source, changes) => {
        holds(changes.reduce(changed, source));
      }),
      { numRuns: CASES, seed: 20260613 },
    );
  },
  TIMEOUT_MS,
);

test(
  'any text whatever',
  () => {
    const word = fc.oneof(fc.constantFrom(...WORDS, '\n', '\n  ', '  '), fc.string({ unit: 'grapheme', maxLength: 6 }));
    fc.assert(
      fc.property(
        fc.array(word, { maxLength: 40 }).map((words) => words.join(' ')),
        holds,
      ),
      { numRuns: CASES, seed: 20260614 },
    );
  },
  TIMEOUT_MS,
);
