/** What the fuzzer found once stays mended, and what it tries is tried a little in every run of the tests. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { mutated, plan } from '../grammar/plans.ts';
import { corpusTexts } from './corpus.ts';
import { holds } from './invariants.ts';
import { LONGEST, mutate, randomFrom } from './mutations.ts';

const SAMPLES = path.join(import.meta.dirname, '../../samples');
const samples = readdirSync(SAMPLES, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.taskplan'))
  .sort()
  .map((name) => readFileSync(path.join(SAMPLES, name), 'utf8').slice(0, LONGEST));

/** Every `step`-th offset of a text. */
const every = (text: string, step: number) =>
  Array.from({ length: Math.ceil((text.length + 1) / step) }, (_, i) => i * step);

describe('what once broke something holds', () => {
  test.each(corpusTexts().map((one) => [one.name, one] as const))('%s', (_, { text, before }) => {
    holds(text, every(text, 7), before);
    for (const cut of [1, 3]) holds(text.slice(0, -cut), [0, text.length], text);
  });
});

test('plans made from the vocabulary hold, and so do they with a slip of the hand', () => {
  fc.assert(
    fc.property(plan, fc.nat(), (text, offset) => holds(text, [offset])),
    { numRuns: 150 },
  );
  fc.assert(
    fc.property(mutated(plan), plan, fc.nat(), (text, before, offset) => holds(text, [offset], before)),
    { numRuns: 100 },
  );
});

test('samples changed as the fuzzer changes them hold', () => {
  fc.assert(
    fc.property(fc.constantFrom(...samples), fc.constantFrom(...samples), fc.nat(), (text, other, seed) => {
      const random = randomFrom(seed);
      const changed = mutate(random, text, other);
      holds(changed, [Math.floor(random() * changed.length)], text);
    }),
    { numRuns: 120 },
  );
});

test('the same seed makes the same text', () => {
  const [one, other] = [samples[0] as string, samples[1] as string];
  for (let seed = 0; seed < 50; seed++)
    expect(mutate(randomFrom(seed), one, other)).toBe(mutate(randomFrom(seed), one, other));
});
