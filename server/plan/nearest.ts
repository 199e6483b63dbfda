/** What was most likely meant by a word that is not known. */
import { distance } from 'fastest-levenshtein';

/** The characters of a word as bits, some of them sharing one, whatever their case; -1 where that would say too little. */
function signsOf(word: string): number {
  let signs = 0;
  for (let i = 0; i < word.length; i++) {
    const c = word.charCodeAt(i);
    if (c > 127) return -1;
    signs |= 1 << (c & 31);
  }
  return signs;
}

function bitsIn(signs: number): number {
  let count = 0;
  for (let left = signs; left !== 0; left &= left - 1) count++;
  return count;
}

/**
 * The known words nearest to `word`, best first, at most `most`: those that a slip or two of the keys turn into it, case
 * aside, and those that it starts.
 */
export function nearest(word: string, known: Iterable<string>, most = 3): string[] {
  const lower = word.toLowerCase();
  if (lower === '' || lower.length > 60) return [];
  const reach = lower.length < 4 ? 1 : lower.length < 8 ? 2 : 3;
  const signs = signsOf(lower);
  const found = new Map<string, number>();
  for (const text of known) {
    if (signs !== -1) {
      // A slip brings in one new character at most, and takes away one: most words need no closer look.
      const others = signsOf(text);
      if (others !== -1) {
        const missing = bitsIn(signs & ~others);
        if (missing > reach || (missing > 0 && bitsIn(others & ~signs) > reach)) continue;
      }
    }
    const other = text.toLowerCase();
    if (Math.abs(other.length - lower.length) > reach && !(lower.length > 2 && other.startsWith(lower))) continue;
    const far = other.startsWith(lower) && lower.length > 2 ? 0.5 : distance(lower, other);
    if (far <= reach) found.set(text, far);
  }
  return [...found]
    .sort(([a, farA], [b, farB]) => farA - farB || a.localeCompare(b))
    .slice(0, most)
    .map(([text]) => text);
}
