/** Characters that nobody sees. */
import { expect, test } from 'vitest';
import { countHidden, mayHide, withoutHidden } from '../../server/plan/hidden.ts';

/** How many are hidden, and the text without them. */
const seen = (text: string) => [countHidden(text), withoutHidden(text)];

test('marks without width and marks of direction', () => {
  expect(seen('Larkfield')).toEqual([0, 'Larkfield']);
  expect(seen('Lark\u200bfield')).toEqual([1, 'Larkfield']);
  expect(seen('\u202eLark\u2060field\u00ad')).toEqual([3, 'Larkfield']);
  expect(seen('क\u200bष')).toEqual([1, 'कष']);
  // A mark that chooses the look of a sign is none of them.
  expect(seen('✈\ufe0f')).toEqual([0, '✈\ufe0f']);
});

test('a joiner that spells a word or puts a picture together is seen', () => {
  for (const text of ['क\u200dष', 'क्\u200dष', 'می\u200cخواهم', 'ab क्\u200dष', '👩\u200d🚀', 'ab 👩\u200d🚀'])
    expect(seen(text)).toEqual([0, text]);
});

test('a joiner beside letters that never join is hidden', () => {
  for (const [text, without] of [
    ['a\u200db', 'ab'],
    ['α\u200dβ', 'αβ'],
    ['д\u200cж', 'дж'],
    ['1\u200d2', '12'],
    ['ab\u200cخ', 'abخ'],
    ['خ\u200cab', 'خab'],
    ['\u200dक', 'क'],
    ['क\u200d', 'क'],
    ['क \u200dक', 'क क'],
    ['क\u200d क', 'क क'],
    ['क-\u200dक', 'क-क'],
  ] as const)
    expect(seen(text)).toEqual([1, without]);
});

test('whether there may be any: marks that spell something are looked at too', () => {
  for (const text of ['', 'Larkfield', 'é ✈ क्ष', '✈\ufe0f', 'field Larkfield\r\n\televation 190 m'])
    expect(mayHide(text)).toBe(false);
  for (const text of ['\u200b', 'Lark\u200bfield', 'soft\u00adly', 'क\u200dष']) {
    expect(mayHide(text)).toBe(true);
    // Asked again it says the same.
    expect(mayHide(text)).toBe(true);
  }
});
