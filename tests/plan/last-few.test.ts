import { expect, test } from 'vitest';
import { keptFor, LastFew } from '../../server/plan/last-few.ts';

const among = (few: LastFew<string>, ...texts: string[]) => few.find((one) => texts.includes(one));

test('two are there, and a third takes the place of the one that was used longest ago', () => {
  const few = new LastFew<string>();
  expect([few.last, few.find((one) => one.length > 0)]).toEqual([undefined, undefined]);
  expect(few.put('a')).toBe('a');
  few.put('b');
  expect(few.last).toBe('b');
  expect(among(few, 'a')).toBe('a');
  expect(few.last).toBe('a');
  few.put('c');
  expect([among(few, 'b'), among(few, 'a'), among(few, 'c')]).toEqual([undefined, 'a', 'c']);
});

test('of several that fit the last is found, and as many are kept as are asked for', () => {
  const few = new LastFew<string>(3);
  for (const one of ['a', 'b', 'c']) few.put(one);
  expect(among(few, 'a', 'b')).toBe('b');
  few.put('d');
  expect([among(few, 'a'), among(few, 'c')]).toEqual([undefined, 'c']);
});

test('what is kept for an object is made once', () => {
  const kept = new WeakMap<object, string>();
  const key = {};
  expect(keptFor(kept, key, () => 'made')).toBe('made');
  expect(keptFor(kept, key, () => 'made again')).toBe('made');
});
