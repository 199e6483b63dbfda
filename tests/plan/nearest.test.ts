import fc from 'fast-check';
import { distance } from 'fastest-levenshtein';
import { describe, expect, test } from 'vitest';
import { nearest } from '../../server/plan/nearest.ts';

describe('the nearest words', () => {
  test('are those that a slip or two turn into the word, and those that it starts', () => {
    const known = ['Larkfield', 'Larkfield South', 'Ashmoor', 'Ash', 'Kestrel Hill'];
    expect(nearest('Larkfeild', known)).toEqual(['Larkfield']);
    expect(nearest('lark', known)).toEqual(['Larkfield', 'Larkfield South']);
    expect(nearest('Asg', known)).toEqual(['Ash']);
    expect(nearest('Axg', known)).toEqual([]);
    expect(nearest('', known)).toEqual([]);
    expect(nearest('x'.repeat(61), ['x'.repeat(61)])).toEqual([]);
  });

  test('come best first, alike ones by the alphabet, each once, and three at most', () => {
    expect(nearest('Pitt', ['Pits', 'Pitt', 'Pita', 'Pits', 'Pitb', 'pitt'])).toEqual(['pitt', 'Pitt', 'Pita']);
    expect(nearest('Pitt', ['Pits', 'Pita', 'Pits'], 1)).toEqual(['Pita']);
  });

  test('of any words are what a look at each finds', () => {
    const words = fc.oneof(
      fc.string({ unit: fc.constantFrom(...'abcABC1Qq _-'), maxLength: 9 }),
      fc.string({ unit: fc.constantFrom(...'abäÄßİı1'), maxLength: 5 }),
    );
    fc.assert(
      fc.property(words, fc.array(words, { maxLength: 12 }), (word, known) => {
        const lower = word.toLowerCase();
        const reach = lower.length < 4 ? 1 : lower.length < 8 ? 2 : 3;
        const far = (one: string) =>
          lower.length > 2 && one.toLowerCase().startsWith(lower) ? 0.5 : distance(lower, one.toLowerCase());
        const wanted = [...new Set(known)]
          .filter((one) => word !== '' && far(one) <= reach)
          .sort((a, b) => far(a) - far(b) || a.localeCompare(b))
          .slice(0, 3);
        expect(nearest(word, known)).toEqual(wanted);
      }),
      { numRuns: 2000 },
    );
  });
});
