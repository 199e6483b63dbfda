/** Text from a file, as it is shown. */
import { expect, test } from 'vitest';
import { escapeMarkdown, harmless, shortened } from '../../server/plan/text.ts';

test('signs that control something are shown as signs', () => {
  for (const [from, to] of [
    ['a\tb', 'a b'],
    ['a b', 'a b'],
    // The pictures of control characters start at U+2400, in their order. Source: the Unicode standard, chapter 24.
    ['a\u0000b', 'a\u2400b'],
    ['a\nb', 'a␊b'],
    ['a\u001bb', 'a␛b'],
    ['a\u001fb', 'a\u241fb'],
    ['a\u007fb', 'a␡b'],
    ['a\u0085b', 'a<U+0085>b'],
    ['a\u00adb', 'a<U+00AD>b'],
    ['a\u202eb', 'a<U+202E>b'],
    ['a\u2028b\u2029', 'a<U+2028>b<U+2029>'],
    ['a\u{e0001}b', 'a<U+E0001>b'],
    // Letters that are blank, but not the marks that choose the look of a sign.
    ['a\u3164b\u2800c\u034fd', 'a<U+3164>b<U+2800>c<U+034F>d'],
    ['✈\ufe0f 5\u00a0km', '✈\ufe0f 5\u00a0km'],
    ['Übungsplatz – 航空 ✈', 'Übungsplatz – 航空 ✈'],
  ] as const)
    expect(harmless(from)).toBe(to);
});

test('a text of up to forty letters stays, a longer one is cut', () => {
  expect(shortened('a'.repeat(40))).toBe('a'.repeat(40));
  expect(shortened('a'.repeat(41))).toBe(`${'a'.repeat(39)}…`);
  expect(shortened('')).toBe('');
  // Letters of two code units each, and of one.
  expect(shortened('👩'.repeat(40))).toBe('👩'.repeat(40));
  expect(shortened('👩'.repeat(41))).toBe(`${'👩'.repeat(39)}…`);
  expect(shortened('🛩'.repeat(40))).toBe('🛩'.repeat(40));
  expect(shortened('🛩'.repeat(41))).toBe(`${'🛩'.repeat(39)}…`);
  expect(shortened(`a${'🛩'.repeat(1000)}`)).toBe(`a${'🛩'.repeat(38)}…`);
});

test('nothing in a text is Markdown', () => {
  expect(escapeMarkdown('a*b_c [d](e) <f> `g` #h + !i | ~j & @k {l} \\ m.n-o')).toBe(
    'a\\*b\\_c \\[d\\]\\(e\\) \\<f\\> \\`g\\` \\#h \\+ \\!i \\| \\~j \\& \\@k \\{l\\} \\\\ m.n-o',
  );
  expect(escapeMarkdown('a\nb')).toBe('a␊b');
});
