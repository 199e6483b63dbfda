/** Characters that nobody sees, or that turn round what stands beside them: one text then looks like another. */
import { codePointText } from './text.ts';

/**
 * Marks without width, marks that set the direction of writing, control characters, letters and signs that are blank,
 * and every space but the usual one; letters of scripts that are written from right to left are not among them. Nor are
 * the marks that choose the look of a sign, behind one that has several: pictures, signs of mathematics, and letters of
 * scripts for which such forms are agreed. Sources: the Unicode character database's Default_Ignorable_Code_Point, and
 * the scripts of its StandardizedVariants.txt and of the Ideographic Variation Database (from memory).
 */
const HIDDEN =
  /(?![\t\n\r -~])(?:[\p{Cc}\p{Z}\uFFF9-\uFFFB\u2800]|(?!\p{Variation_Selector})\p{Default_Ignorable_Code_Point}|(?<!(?![#*\d]|\p{Variation_Selector})[\p{Emoji}\p{Sm}\p{Script=Han}\p{Script=Mongolian}\p{Script=Myanmar}\p{Script=Phags_Pa}])\p{Variation_Selector})/gu;
const ANY_HIDDEN = new RegExp(HIDDEN.source, 'u');

/** Whether a text holds such a character, be it to spell something. */
export function mayHide(text: string): boolean {
  return ANY_HIDDEN.test(text);
}

/** Where letters join or do not join, words of some scripts are spelt by it, and pictures are put together. */
const JOINERS = /[\u200C\u200D]/u;
const JOINED = /[\p{L}\p{M}\p{Emoji}]/u;
const PLAIN = /[\p{Script=Latin}\p{Script=Greek}\p{Script=Cyrillic}\p{Nd}]/u;
/** A digit as the key of a telephone: the digit, the mark for a picture, and the key around it. */
const KEY = /[#*\d]\uFE0F\u20E3/uy;
const SPACE = /[\p{Z}\u2800]/u;

function isSpelling(mark: string, at: number, text: string): boolean {
  KEY.lastIndex = at - 1;
  if (KEY.test(text)) return true;
  if (!JOINERS.test(mark)) return false;
  const before = [...text.slice(Math.max(0, at - 2), at)].at(-1) ?? '';
  const after = String.fromCodePoint(text.codePointAt(at + 1) ?? 0x20);
  return [before, after].every((one) => JOINED.test(one) && !PLAIN.test(one));
}

/** A text in which each hidden character has become what `to` makes of it. In `prose` any space is as good as another. */
function replaced(text: string, prose: boolean, to: (mark: string) => string): string {
  return text.replace(HIDDEN, (mark: string, at: number) =>
    isSpelling(mark, at, text) || (prose && /\p{Zs}/u.test(mark)) ? mark : to(mark),
  );
}

/** The characters of a text that nobody sees, those that spell something left out. */
export function hiddenIn(text: string, prose = false): string[] {
  const marks: string[] = [];
  replaced(text, prose, (mark) => {
    marks.push(mark);
    return mark;
  });
  return marks;
}

/** Whether a character looks like a space. */
export function isBlank(mark: string): boolean {
  return SPACE.test(mark);
}

/** A text without them; what looked like a space is one. */
export function withoutHidden(text: string, prose = false): string {
  return replaced(text, prose, (mark) => (isBlank(mark) ? ' ' : ''));
}

/** A text in which they are seen: `<U+200B>`. */
export function showHidden(text: string, prose = false): string {
  return replaced(text, prose, codePointText);
}
