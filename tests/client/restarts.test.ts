import { expect, test } from 'vitest';
import { RestartBudget } from '../../client/restarts.ts';

const MINUTE = 60_000;

test('five restarts within three minutes, and no sixth', () => {
  const budget = new RestartBudget(5, 3 * MINUTE);
  expect([0, 1, 2, 3, 4, 5].map((second) => budget.take(second * 1000))).toEqual([true, true, true, true, true, false]);
});

test('restarts longer ago than that no longer count', () => {
  const budget = new RestartBudget(5, 3 * MINUTE);
  for (let minute = 0; minute < 60; minute++) expect(budget.take(minute * MINUTE)).toBe(true);
});

test('a restart that was asked for starts the count afresh', () => {
  const budget = new RestartBudget(1, MINUTE);
  expect([budget.take(0), budget.take(1)]).toEqual([true, false]);
  budget.reset();
  expect(budget.take(2)).toBe(true);
});
