/**
 * How wide letters are that a browser will set: the advances of Helvetica, which Arial, Liberation Sans and their like
 * share, from its published font metrics (AFM). Other letters are taken for rather too wide.
 */
import type { Letters } from './brief-ink.ts';

/** In thousandths of an em, from the space on. */
const REGULAR =
  '278,278,355,556,556,889,667,222,333,333,389,584,278,333,278,278,556,556,556,556,556,556,556,556,556,556,278,278,584,584,584,556,1015,667,667,722,722,667,611,778,722,278,500,667,556,833,722,778,667,778,722,667,611,722,667,944,667,667,611,278,278,278,469,556,222,556,556,500,556,556,278,556,556,222,222,500,222,833,556,556,556,556,333,500,278,556,500,722,500,500,500,334,260,334,584'
    .split(',')
    .map((width) => Number(width) / 1000);
const BOLD =
  '278,333,474,556,556,889,722,278,333,333,389,584,278,333,278,278,556,556,556,556,556,556,556,556,556,556,333,333,584,584,584,611,975,722,722,722,722,667,611,778,722,278,556,722,611,833,722,778,667,778,722,667,611,722,667,944,667,667,611,333,278,333,584,556,278,556,611,556,611,556,333,611,611,278,278,556,278,889,611,611,611,611,389,556,333,611,556,778,556,556,500,389,280,389,584'
    .split(',')
    .map((width) => Number(width) / 1000);

function advanceOf(code: number, bold: boolean): number {
  const table = bold ? BOLD : REGULAR;
  const plain = table[code - 32];
  if (plain !== undefined) return plain;
  if (code < 32) return 1;
  // A letter with a mark is as wide as the letter; the signs of punctuation and of sums are as wide as figures.
  const base = String.fromCodePoint(code).normalize('NFD').codePointAt(0) as number;
  const marked = table[base - 32];
  if (marked !== undefined) return marked;
  if (code >= 0x1100 && !(code >= 0x1e00 && code < 0x2200)) return 1.05;
  return code === 0x2026 || code === 0x2014 || code === 0x2192
    ? 1
    : /\p{Ll}|\p{P}|\p{S}/u.test(String.fromCodePoint(code))
      ? 0.62
      : 0.8;
}

const known: readonly [Map<number, number>, Map<number, number>] = [new Map(), new Map()];

/** The letters of the usual sans serif of a browser. */
export const SCREEN_LETTERS: Letters = {
  advance(code, bold) {
    const kept = known[bold ? 1 : 0];
    let width = kept.get(code);
    if (width === undefined) {
      width = advanceOf(code, bold);
      kept.set(code, width);
    }
    return width;
  },
  // A browser finds some font for every letter.
  has: () => true,
};
