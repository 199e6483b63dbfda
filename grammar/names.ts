/** How a name is written. */
import { tokenize, Word } from './tokens.ts';

/** Whether a name has to stand in quotes: it is not one bare word, or it is a word of the language. */
export function needsQuotes(name: string): boolean {
  const { tokens, comments } = tokenize(name);
  return tokens.length !== 1 || comments.length > 0 || tokens[0]?.tokenType !== Word || tokens[0].image !== name;
}

/** A name as a plan writes it: bare where it may be, else in quotes. It holds no quotation marks and no line ends. */
export function writtenName(name: string): string {
  return needsQuotes(name) ? `"${name}"` : name;
}
