/** What was most likely meant by a word that is not known. */
import { distance } from 'fastest-levenshtein';

/**
 * The known words nearest to `word`, best first, at most `most`: those that a slip or two of the keys turn into it, case
 * aside, and those that it starts.
 */
export function nearest(word: string, known: Iterable<string>, most = 3): string[] {
  const lower = word.toLowerCase();
  if (lower === '' || lower.length > 60) return [];
  const reach = lower.length < 4 ? 1 : lower.length < 8 ? 2 : 3;
  const found: { text: string; far: number }[] = [];
  for (const text of new Set(known)) {
    const other = text.toLowerCase();
    if (Math.abs(other.length - lower.length) > reach && !(lower.length > 2 && other.startsWith(lower))) continue;
    const far = other.startsWith(lower) && lower.length > 2 ? 0.5 : distance(lower, other);
    if (far <= reach) found.push({ text, far });
  }
  return found
    .sort((a, b) => a.far - b.far || a.text.localeCompare(b.text))
    .slice(0, most)
    .map(({ text }) => text);
}
