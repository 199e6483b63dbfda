/** Properties with few cases, always the same: for mutation testing alone, where the tests run once for every mutant. */
import { vi } from 'vitest';

const CASES = 40;

vi.mock('fast-check', async (original: () => Promise<typeof import('fast-check')>) => {
  const whole = await original();
  const assert = ((property: Parameters<typeof whole.assert>[0], options: Parameters<typeof whole.assert>[1]) =>
    whole.assert(property, {
      ...options,
      numRuns: Math.min(options?.numRuns ?? CASES, CASES),
      seed: 1,
    })) as typeof whole.assert;
  return { ...whole, assert, default: { ...whole.default, assert } };
});
