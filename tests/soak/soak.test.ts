/** A short soak in every run of the tests; the long one is `npm run soak`. */
import { expect, test } from 'vitest';
import { slope, soak } from './soak.ts';

test('2,000 random steps of an editor leave a server that says what a fresh one says', async () => {
  const { wrong, compared } = await soak(2000, 20261125, undefined, 500);
  expect(wrong).toEqual([]);
  expect(compared).toBe(4);
});

test('the slope is that of a line, whatever came before', () => {
  const memory = Array.from({ length: 20 }, (_, i) => ({
    step: i * 1000,
    heap: { bytes: i < 10 ? 5e6 : 1e6 + i * 3000, rss: 0 },
  }));
  expect(slope(memory, 0.5)).toBeCloseTo(3, 9);
});
