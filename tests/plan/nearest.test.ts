/** What was most likely meant by a word; distances by Levenshtein, 1966: letters put in, left out or changed. */
import { expect, test } from 'vitest';
import { nearest } from '../../server/plan/nearest.ts';

test('a word of up to three letters may have one slip, up to seven two, longer three', () => {
  for (const [word, within, beyond] of [
    // One letter changed, then two; one put in, then two; one left out, then two.
    ['cat', 'cot', 'cog'],
    ['cat', 'cart', 'crabt'],
    ['cat', 'ct', 'c'],
    // The same letters in another order are two that changed.
    ['cat', 'bat', 'act'],
    ['a', 'b', 'bc'],
    ['abcd', 'abxx', 'axxx'],
    ['abcd', 'xxabcd', 'xxxabcd'],
    ['abcdefg', 'abcdexx', 'abcdxxx'],
    ['abcdefg', 'abcde', 'abcd'],
    ['abcdefgh', 'abcdexxx', 'abcdxxxx'],
    ['abcdefgh', 'xxxabcdefgh', 'xxxxabcdefgh'],
    ['abcdefghijkl', 'abcdefghi', 'abcdefgh'],
  ] as const) {
    expect(nearest(word, [beyond, within])).toEqual([within]);
  }
});

test('the nearest comes first, and of those that are as near the first by the alphabet', () => {
  // Begun, one slip, two slips.
  expect(nearest('abcd', ['aacc', 'abcc', 'abcdz'])).toEqual(['abcdz', 'abcc', 'aacc']);
  expect(nearest('abcd', ['abcx', 'abcb', 'abcw'])).toEqual(['abcb', 'abcw', 'abcx']);
});

test('three at most, or as many as are asked', () => {
  const known = ['abc1', 'abc2', 'abc3', 'abc4'];
  expect(nearest('abcd', known)).toEqual(['abc1', 'abc2', 'abc3']);
  expect(nearest('abcd', known, 1)).toEqual(['abc1']);
});

test('a word that is begun, from three letters on', () => {
  expect(nearest('lark', ['Larkfield'])).toEqual(['Larkfield']);
  expect(nearest('lar', ['Larkfield'])).toEqual(['Larkfield']);
  expect(nearest('la', ['Larkfield'])).toEqual([]);
  // Of two letters it is a slip like any other: `la` itself is none, `lb` and `lab` are one.
  expect(nearest('la', ['lab', 'lb', 'la'])).toEqual(['la', 'lab', 'lb']);
  expect(nearest('la', ['lab', 'ka'])).toEqual(['ka', 'lab']);
  // As near as one that is begun, which comes first by the alphabet.
  expect(nearest('lark', ['Larkfield', 'lark', 'mark'])).toEqual(['lark', 'Larkfield', 'mark']);
});

test('case is nothing, and what is known twice is said once', () => {
  expect(nearest('LARKFEILD', ['larkfield', 'Larkfield', 'larkfield'])).toEqual(['larkfield', 'Larkfield']);
  expect(nearest('finch', ['FINK'])).toEqual(['FINK']);
});

test('letters beyond the English ones, whatever their case', () => {
  expect(nearest('āăą', ['ĀĂĄ'])).toEqual(['ĀĂĄ']);
  expect(nearest('ābc', ['abc'])).toEqual(['abc']);
  expect(nearest('abc', ['ābc'])).toEqual(['ābc']);
});

test('no word, and one of more than sixty letters, is like none', () => {
  expect(nearest('', ['a', ''])).toEqual([]);
  expect(nearest('a'.repeat(60), ['a'.repeat(59)])).toEqual(['a'.repeat(59)]);
  expect(nearest('a'.repeat(61), ['a'.repeat(61)])).toEqual([]);
});
