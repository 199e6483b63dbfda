/** The users' reference of the language says what is so: its examples are read, and it leaves nothing out. */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { UNITS } from '../../grammar/units.ts';
import { ENTRIES, KEYWORDS } from '../../grammar/vocabulary.ts';
import { PLAN } from './example.ts';
import { problemsIn } from './reading.ts';

const page = readFileSync(new URL('../../grammar/LANGUAGE.md', import.meta.url), 'utf8');
const blocks = [...page.matchAll(/^```(\S*)\n([\s\S]*?)^```$/gm)].map(([, kind, text]) => ({
  kind,
  text: text as string,
}));
const good = blocks.filter(({ kind }) => kind === 'taskplan').map(({ text }) => text);
const broken = blocks.filter(({ kind }) => kind === 'taskplan-broken').map(({ text }) => text);

/** The part of the page under an entry's own heading. */
const section = (keyword: string) => page.split(/^## /m).find((part) => part.startsWith(`\`${keyword}\``)) ?? '';

describe('examples', () => {
  test('are all marked', () => {
    expect(good.length + broken.length).toBe(blocks.length);
    expect(good.length).toBeGreaterThan(12);
    expect(broken.length).toBeGreaterThan(1);
  });

  test.each(good)('%s', (text) => {
    expect(problemsIn(text)).toEqual([]);
    expect(formatFile(parseFile(text))).toEqual({ text });
  });

  test.each(broken)('broken: %s', (text) => {
    expect(problemsIn(text).length).toBeGreaterThan(0);
  });

  test('the first one is the one that the tests know', () => {
    expect(good[0]).toBe(PLAN);
  });
});

describe('completeness', () => {
  test.each(ENTRIES.map((entry) => [entry.keyword, entry] as const))('%s', (keyword, entry) => {
    const text = section(keyword);
    expect(text).not.toBe('');
    const examples = good.filter((block) => text.includes(block)).join('');
    expect(new RegExp(`^${keyword}\\b`, 'm').test(examples)).toBe(true);
    for (const { id } of entry.details) {
      const example = new RegExp(`^  ${id.replaceAll(' ', ' +')}\\b`, 'm').test(examples);
      const told = text.includes(`\`${id}`) || text.replaceAll(' … ', ' ').includes(`\`${id}`);
      expect([
        id,
        'in an example',
        example,
        'in words',
        told || new RegExp(`\`${id.split(' ')[0]}`).test(text),
      ]).toEqual([id, 'in an example', true, 'in words', true]);
    }
  });

  test('every unit and every keyword occurs', () => {
    for (const { text } of UNITS) expect([text, page.includes(text)]).toEqual([text, true]);
    for (const keyword of KEYWORDS)
      expect([keyword, new RegExp(`\\b${keyword}\\b`, 'i').test(page)]).toEqual([keyword, true]);
  });

  test('every heading that the page links to is there', () => {
    const anchors = new Set(
      [...page.matchAll(/^## (.*)$/gm)].map(([, title]) =>
        (title as string)
          .toLowerCase()
          .replace(/[^\p{L}\p{N} -]/gu, '')
          .replaceAll(' ', '-'),
      ),
    );
    for (const [, anchor] of page.matchAll(/\]\(#([^)]*)\)/g)) expect([...anchors]).toContain(anchor);
  });
});
