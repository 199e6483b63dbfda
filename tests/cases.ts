/**
 * Which cases properties are tried with. `npm test` takes the same ones each time, so that a checkout passes or fails
 * for good; `npm run properties` takes other ones each time, and many more.
 */
import { vi } from 'vitest';

const SEED = 20_261_129;
/** So many times the cases of each property, from another seed each time. Unset: the same cases, once. */
const times = process.env.LEGWISE_CASES;

vi.mock('fast-check', async (original: () => Promise<typeof import('fast-check')>) => {
  const whole = await original();
  const assert = ((property: Parameters<typeof whole.assert>[0], options: Parameters<typeof whole.assert>[1]) =>
    whole.assert(property, {
      ...(times === undefined ? { seed: SEED } : {}),
      ...options,
      numRuns: Math.ceil((options?.numRuns ?? 100) * Number(times ?? 1)),
    })) as typeof whole.assert;
  return { ...whole, assert, default: { ...whole.default, assert } };
});
