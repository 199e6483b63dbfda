/** Characters that nobody sees, or that turn round what stands beside them: one text then looks like another. */

/**
 * Marks without width, and marks that set the direction of writing; letters of scripts that are written from right to
 * left are not among them, nor are the marks that choose the look of a sign. Source: the Unicode character database's
 * Default_Ignorable_Code_Point.
 */
const HIDDEN = /(?!\p{Variation_Selector})\p{Default_Ignorable_Code_Point}/gu;
const ANY_HIDDEN = new RegExp(HIDDEN.source, 'u');

/** Whether a text holds such a character, be it to spell something. */
export function mayHide(text: string): boolean {
  return ANY_HIDDEN.test(text);
}

/** Where letters join or do not join, words of some scripts are spelt by it, and pictures are put together. */
const JOINERS = /[\u200C\u200D]/u;
const JOINED = /[\p{L}\p{M}\p{Emoji}]/u;
const PLAIN = /[\p{Script=Latin}\p{Script=Greek}\p{Script=Cyrillic}\p{Nd}]/u;

function isSpelling(mark: string, at: number, text: string): boolean {
  if (!JOINERS.test(mark)) return false;
  const before = [...text.slice(Math.max(0, at - 2), at)].at(-1) ?? '';
  const after = String.fromCodePoint(text.codePointAt(at + 1) ?? 0x20);
  return [before, after].every((one) => JOINED.test(one) && !PLAIN.test(one));
}

/** How many characters of a text nobody sees, those that spell something left out. */
export function countHidden(text: string): number {
  let count = 0;
  for (const { 0: mark, index } of text.matchAll(HIDDEN)) if (!isSpelling(mark, index, text)) count++;
  return count;
}

/** A text without them. */
export function withoutHidden(text: string): string {
  return text.replace(HIDDEN, (mark: string, at: number) => (isSpelling(mark, at, text) ? mark : ''));
}
