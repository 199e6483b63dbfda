/** Any text at all can be opened: nothing throws, nothing is lost, and nothing takes more than its share of time. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type FileSyntax, parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { linesOf } from '../../grammar/syntax.ts';
import { EVERYTHING } from './example.ts';
import { anyText, mutated, plan } from './plans.ts';
import { lines, plain } from './reading.ts';

function checkSpans(value: unknown, length: number): void {
  if (typeof value !== 'object' || value === null) return;
  const { start, end } = value as { start?: unknown; end?: unknown };
  if (typeof start === 'number' && typeof end === 'number') {
    if (!(start >= 0 && end >= start && end <= length)) throw new Error(`span ${start} to ${end} of ${length}`);
    return;
  }
  for (const [key, inner] of Object.entries(value)) {
    if (key !== 'form' && key !== 'tokens' && key !== 'comments' && key !== 'entry' && key !== 'unit')
      checkSpans(inner, length);
    if (key === 'unit' && inner && 'span' in inner) checkSpans(inner.span, length);
  }
}

function holds(text: string): FileSyntax {
  const file = parseFile(text);
  let at = 0;
  for (const { syntax, offset } of file.entries) {
    expect(offset).toBe(at);
    at += syntax.text.length;
    checkSpans({ ...syntax, text: '' }, syntax.text.length);
    const covered = new Uint8Array(syntax.text.length);
    const read = linesOf(syntax);
    // Plain throws here: an expectation for each character would take most of the time.
    for (const tok of [...read.flatMap((line) => line.tokens), ...syntax.comments]) {
      if (!syntax.text.startsWith(tok.image, tok.startOffset)) throw new Error(`no ${tok.image} at ${tok.startOffset}`);
      for (let i = tok.startOffset; i < tok.startOffset + tok.image.length; i++) {
        if (covered[i] === 1) throw new Error(`two tokens hold character ${i}`);
        covered[i] = 1;
      }
    }
    for (let i = 0; i < covered.length; i++) {
      if (covered[i] === 0 && /\S/.test(syntax.text[i] as string)) throw new Error(`no token holds character ${i}`);
    }
    for (const line of read) if (line.problems.length > 1) throw new Error('more than one problem in a line');
  }
  expect(file.entries.map(({ syntax }) => syntax.text).join('')).toBe(text);
  return file;
}

describe('any text', () => {
  test('is read without a throw, in whole, with one problem a line at most', () => {
    fc.assert(
      fc.property(anyText, (text) => void holds(text)),
      { numRuns: 1500 },
    );
    fc.assert(
      fc.property(mutated(plan), (text) => void holds(text)),
      { numRuns: 500 },
    );
  });

  test('is the same read afresh or after any other', () => {
    fc.assert(
      fc.property(anyText, anyText, (one, other) => {
        expect(plain(parseFile(other, parseFile(one)))).toBe(plain(parseFile(other)));
        expect(plain(parseFile(one + other, parseFile(one)))).toBe(plain(parseFile(one + other)));
      }),
      { numRuns: 500 },
    );
  });

  test('that is being typed', () => {
    for (let end = 0; end < EVERYTHING.length; end += 11) holds(EVERYTHING.slice(Math.max(0, end - 700), end));
  });
});

describe('long texts', () => {
  const n = 100_000;
  test.each<[string, string]>([
    ['digits', `field ${'1'.repeat(5 * n)}`],
    ['digits behind a sign', `task T\n  turn A at -${'1'.repeat(5 * n)} kt`],
    ['one word', 'a'.repeat(5 * n)],
    ['stroke after stroke', 'a/'.repeat(n / 2)],
    ['spaces', `task${' '.repeat(5 * n)}T`],
    ['spaces behind a degree sign', `1°${' '.repeat(5 * n)}x`],
    ['spaces behind many degree signs', `1°${' '.repeat(1000)}`.repeat(300)],
    ['degree signs', '1°'.repeat(n)],
    ['quotes', `task ${'"'.repeat(n + 1)}`],
    ['unclosed quotes', '  note "\n'.repeat(n / 10)],
    ['number signs', '#'.repeat(5 * n)],
    ['colons', '1:'.repeat(n)],
    ['commas', '1,'.repeat(n)],
    ['one line of words', `task T\n  turn ${'turn '.repeat(n / 2)}`],
    ['entries alike', 'use "a"\n'.repeat(n / 8)],
    ['details', `task T\n${'  turn A\n'.repeat(n / 8)}`],
    ['broken details', `task T\n${'  turn at\n'.repeat(n / 50)}`],
    ['line ends', '\r'.repeat(n)],
    ['combining marks', '\u0301'.repeat(n)],
  ])('%s', (_, text) => {
    const before = process.cpuUsage();
    const file = parseFile(text);
    parseFile(`${text} `, file);
    formatFile(file);
    // In processor time, so that a busy machine does not fail it. A linear reading takes about a tenth of this, a quadratic
    // one minutes.
    expect(process.cpuUsage(before).user / 1e6).toBeLessThan(8);
    expect(lines(file).length).toBeGreaterThanOrEqual(0);
  });
});
