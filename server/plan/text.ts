/** Text from a file, made safe for where it is shown. */

/** A character by its number: `<U+200B>`. */
export function codePointText(c: string): string {
  return `<U+${(c.codePointAt(0) as number).toString(16).toUpperCase().padStart(4, '0')}>`;
}

/** Control characters, blank letters and marks that reorder text as visible signs, so that a name cannot move the cursor or turn a line round. */
export function harmless(text: string): string {
  return text.replace(
    /[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\u2800]|(?!\p{Variation_Selector})\p{Default_Ignorable_Code_Point}/gu,
    (c) => {
      const code = c.codePointAt(0) as number;
      if (c === '\t') return ' ';
      if (code < 0x20) return String.fromCodePoint(0x2400 + code);
      return code === 0x7f ? '␡' : codePointText(c);
    },
  );
}

/** As much of a text as fits in a sentence, or into `most` letters, in whole letters, with `…` where it goes on. */
export function shortened(text: string, most = 40): string {
  // A letter takes two code units at most.
  const letters = [...text.slice(0, 2 * (most + 1))];
  return letters.length > most ? `${letters.slice(0, most - 1).join('')}…` : text;
}

/** Text that means nothing to Markdown, whatever a name holds. */
export function escapeMarkdown(text: string): string {
  return harmless(text).replace(/[\\`*_{}[\]()<>#+!|~&@]/g, '\\$&');
}
