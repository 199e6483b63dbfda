/** Whether a file lies in a folder. */
import { expect, test } from 'vitest';
import { isInside } from '../../server/plan/inside.ts';

test('below one of the folders, by whole names', () => {
  const roots = ['file:///other', 'file:///plans'];
  expect(isInside('file:///plans/a.taskplan', roots)).toBe(true);
  expect(isInside('file:///plans/deep/a.taskplan', roots)).toBe(true);
  expect(isInside('file:///plans/a.taskplan', ['file:///plans/'])).toBe(true);
  expect(isInside('file:///plans2/a.taskplan', roots)).toBe(false);
  expect(isInside('file:///a/plans/a.taskplan', roots)).toBe(false);
  expect(isInside('file:///plans/a.taskplan', [])).toBe(false);
});

test('a folder itself, with or without a stroke at the end', () => {
  for (const uri of ['file:///plans', 'file:///plans/'])
    for (const root of ['file:///plans', 'file:///plans/']) expect(isInside(uri, [root])).toBe(true);
  expect(isInside('file:///', ['file:///plans'])).toBe(false);
  expect(isInside('file:///plan', ['file:///plans'])).toBe(false);
});

test('of the same kind, on the same machine', () => {
  expect(isInside('memory:///plans/a.taskplan', ['file:///plans'])).toBe(false);
  expect(isInside('file://server/plans/a.taskplan', ['file:///plans'])).toBe(false);
  expect(isInside('file://server/plans/a.taskplan', ['file://server/plans'])).toBe(true);
});
