import { expect, test } from 'vitest';
import { same } from '../../server/plan/same.ts';

test('two lists are the same where each item is, in the same order, and none is more', () => {
  const [one, other] = [{}, {}];
  expect(same([one, other], [one, other])).toBe(true);
  expect(same([], [])).toBe(true);
  expect(same([one, other], [other, one])).toBe(false);
  expect(same([one], [{}])).toBe(false);
  expect(same([one], [one, other])).toBe(false);
  expect(same([one, other], [one])).toBe(false);
});
