/** Every rule's page: its examples do what they say, and nothing on it is empty. */
import { readdirSync } from 'node:fs';
import { expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { RULES, ruleOf } from '../../server/rules/index.ts';
import type { Page, Rule } from '../../server/rules/rule.ts';
import { checked, type Files, rendered } from './helper.ts';

const folder = new URL('../../server/rules/', import.meta.url);

/** The files that examples may use. */
const FILES: Files = {
  'club.taskplan': EXAMPLE_CLUB,
  'round.taskplan': 'use "plan.taskplan"\n',
  'photo.taskplan': 'not text\0',
};

/** An example as the file it stands for: a page draws a zero byte, which no page can hold. */
const example = (text: string) => checked(text.replaceAll('␀', '\0'), FILES);

const fields: readonly (keyof Page)[] = ['means', 'why', 'bad', 'good', 'turnDown'];

for (const rule of RULES) {
  test(`${rule.code}: the page is complete, and its examples do what they say`, () => {
    for (const field of fields) expect(rule.page[field].trim(), field).not.toBe('');
    expect(rule.title.trim()).not.toBe('');
    expect(rule.title).not.toMatch(/[.!\n]/);
    for (const field of ['means', 'why', 'turnDown'] as const) {
      expect(rule.page[field], field).toMatch(/^[^\n!]*[.?`)]$/u);
    }

    const bad = example(rule.page.bad);
    expect(
      bad.findings.map(({ code }) => code),
      'the bad example raises it',
    ).toContain(rule.code);

    const good = example(rule.page.good);
    const wrong = good.findings.filter(({ code, severity }) => code === rule.code || severity === 'error');
    expect(rendered({ ...good, findings: wrong }), 'the good example raises neither it nor an error').toBe('');
  });
}

test('codes are unique, words with hyphens, and found by', () => {
  const codes = RULES.map(({ code }) => code);
  expect(new Set(codes).size).toBe(codes.length);
  for (const rule of RULES) {
    expect(rule.code).toMatch(/^[a-z]+(-[a-z]+)*$/);
    expect(ruleOf(rule.code)).toBe(rule);
  }
  expect(ruleOf('no-such-rule')).toBeUndefined();
});

const isRule = (value: unknown): value is Rule =>
  typeof value === 'object' && value !== null && 'code' in value && 'page' in value && 'severity' in value;

test('every file that holds a rule is named like its code and is in the list', async () => {
  const found = new Map<string, Rule>();
  for (const name of readdirSync(folder).filter((file) => file.endsWith('.ts'))) {
    const module: Record<string, unknown> = await import(new URL(name, folder).href);
    for (const value of Object.values(module)) if (isRule(value)) found.set(name, value);
  }
  expect([...found].map(([name, { code }]) => [name, code])).toEqual(
    [...found.keys()].map((name) => [name, name.replace(/\.ts$/, '')]),
  );
  expect([...found.values()].map(({ code }) => code).sort()).toEqual(RULES.map(({ code }) => code).sort());
});

test('the club that examples use is sound', () => {
  expect(rendered(checked(EXAMPLE_CLUB))).toBe('');
});
