/** Characters that nobody sees. */
import { expect, test } from 'vitest';
import { hiddenIn, isBlank, mayHide, showHidden, withoutHidden } from '../../server/plan/hidden.ts';

/** How many are hidden, and the text without them. */
const seen = (text: string) => [hiddenIn(text).length, withoutHidden(text)];

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

test('control characters, but for those that end lines or set columns', () => {
  // BEL, BS, VT, FF, ESC, DEL, and of C1 the first, NEL and the last.
  for (const mark of '\u0000\u0007\u0008\u000b\u000c\u001b\u007f\u0080\u0085\u009f') {
    expect(seen(`Lark${mark}field`)).toEqual([1, 'Larkfield']);
    expect(mayHide(`a${mark}`)).toBe(true);
  }
  expect(seen('a\tb\r\nc\n d')).toEqual([0, 'a\tb\r\nc\n d']);
});

test('ends of lines and of annotations that are none here', () => {
  for (const mark of '\ufff9\ufffa\ufffb') expect(seen(`Lark${mark}field`)).toEqual([1, 'Larkfield']);
  for (const mark of '\u2028\u2029') expect(seen(`Lark${mark}field`)).toEqual([1, 'Lark field']);
  // What stands for a character that cannot be shown is seen.
  expect(seen('a\ufffcb\ufffd')).toEqual([0, 'a\ufffcb\ufffd']);
});

test('letters that are blank', () => {
  for (const mark of '\u3164\u115f\u1160\uffa0\u034f') expect(seen(`Lark${mark}field`)).toEqual([1, 'Larkfield']);
  expect(seen('Lark\u2800field')).toEqual([1, 'Lark field']);
  expect(seen('⠁한\u1100')).toEqual([0, '⠁한\u1100']);
});

test('a space of another kind, but where one writes prose', () => {
  for (const mark of '\u00a0\u1680\u2000\u2003\u200a\u202f\u205f\u3000') {
    const text = `Withy${mark}Bridge`;
    expect(seen(text)).toEqual([1, 'Withy Bridge']);
    expect(mayHide(text)).toBe(true);
    expect([hiddenIn(text, true), withoutHidden(text, true), showHidden(text, true)]).toEqual([[], text, text]);
  }
  expect(withoutHidden('5\u00a0km\u200b', true)).toBe('5\u00a0km');
  // A line end is none that prose may have.
  expect(hiddenIn('a\u2028b', true)).toEqual(['\u2028']);
});

test('which of them look like a space', () => {
  for (const mark of ['\u00a0', '\u3000', '\u2028', '\u2800', ' ']) expect(isBlank(mark)).toBe(true);
  for (const mark of ['\u200b', '\u0007', '\u3164', 'x']) expect(isBlank(mark)).toBe(false);
});

test('a mark that chooses the look of a sign, behind one that has no other', () => {
  for (const mark of ['\ufe00', '\ufe0e', '\ufe0f', '\u{e0100}', '\u{e01ef}', '\u180b', '\u180f']) {
    for (const before of ['k', 'α', 'д', '9', '#', '*', '', ' ', 'א', 'か'])
      expect([before, ...seen(`${before}${mark}Mill`)]).toEqual([before, 1, `${before}Mill`]);
    // A second one chooses nothing.
    expect(seen(`葛${mark}${mark}`)).toEqual([1, `葛${mark}`]);
  }
  for (const text of [
    '葛\u{e0100}',
    '\u5e78\ufe00',
    '≨\ufe00',
    '\u1000\ufe00',
    'ꡂ\ufe00',
    'ᠠ\u180b',
    '✈\ufe0e',
    '©\ufe0f',
  ])
    expect(seen(text)).toEqual([0, text]);
  for (const text of ['1\ufe0f\u20e3', 'Key #\ufe0f\u20e3', '*\ufe0f\u20e3']) expect(seen(text)).toEqual([0, text]);
  expect(seen('1\ufe0fx')).toEqual([1, '1x']);
  expect(seen('x\ufe0f\u20e3')).toEqual([1, 'x\u20e3']);
  expect(seen('1\ufe0e\u20e3')).toEqual([1, '1\u20e3']);
});

test('they are shown by their numbers', () => {
  expect(showHidden('a\u200bb\u0007c\u{e0100}👩\u200d🚀')).toBe('a<U+200B>b<U+0007>c<U+E0100>👩\u200d🚀');
  expect(showHidden('a\u00a0b')).toBe('a<U+00A0>b');
});

test('what is hidden is looked for', () => {
  for (let code = 0; code < 0x30000; code++) {
    const text = `a${String.fromCodePoint(code)}b`;
    if (code === 0x0a || code === 0x0d || (code >= 0xd800 && code < 0xe000)) continue;
    if (hiddenIn(text).length > 0 && !mayHide(text)) throw new Error(code.toString(16));
    // What is taken out is out.
    if (hiddenIn(withoutHidden(text)).length > 0) throw new Error(code.toString(16));
  }
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
