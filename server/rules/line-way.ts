/** What a finding offers of a line that cannot be read, and whether that would read. */
import { parseLine } from '../../grammar/parser.ts';
import type { EntrySyntax, LineSyntax, Span, SyntaxProblem } from '../../grammar/syntax.ts';
import { tokenize } from '../../grammar/tokens.ts';
import { KEYWORDS, type Slot, slotsOf } from '../../grammar/vocabulary.ts';
import { mustBePositive, senseFaultOf } from '../plan/sense.ts';
import { shortened } from '../plan/text.ts';
import { datumUseIn, faultOf } from '../plan/values.ts';
import type { Apart } from './apart.ts';
import { quoted, textAt } from './rule.ts';

export type Unexpected = Extract<SyntaxProblem, { kind: 'unexpected' }>;
export type TooLong = Extract<SyntaxProblem, { kind: 'line-too-long' }>;

/** What is wrong, in full, and the texts that may stand in the place of `span`. */
export interface LineWay extends Apart {
  /** Where the finding stands. */
  readonly at: Span;
  /** What that means, for a title. */
  readonly says?: string;
  /** It is a name, or a text, that is put in quotes. */
  readonly quotes?: 'name' | 'text';
  /** The word that is too much; what is left is the way. */
  readonly leavesOut?: string;
  /** The line says nothing, and is taken out. */
  readonly takesOut?: boolean;
  /** There is no other reading. */
  readonly isSure?: boolean;
}

/** Words of a plan in a message; what is long is cut. */
export function shown(text: string): string {
  return quoted(shortened(text));
}

/** Whether a line of this form would read so, with values that can be read and make sense. */
export function reads(text: string, { form }: LineSyntax, entry: EntrySyntax): boolean {
  if (!form) return false;
  const line = parseLine(text, form, tokenize(text).tokens);
  if (line.problems.length > 0) return false;
  const keyword = entry.form?.keyword ?? '';
  const detail = form === entry.form?.head ? '' : form.id;
  const use = datumUseIn(entry, line);
  const isWell = ([name, slot]: [string, Slot]) => {
    const node = line.slots[name];
    if (!node) return true;
    // A keyword of the line is no surface.
    if (slot.kind === 'word' && node.kind === 'word' && KEYWORDS.has(node.text.toLowerCase())) return false;
    return !faultOf(node, slot, use) && !senseFaultOf(node, slot, mustBePositive(slot, keyword, detail));
  };
  return [...slotsOf(form)].every(isWell);
}

/** The line with a text in the place of a span of it. */
export function instead(line: LineSyntax, { start, end }: Span, text: string, entry: EntrySyntax): string {
  return entry.text.slice(line.span.start, start) + text + entry.text.slice(end, line.span.end);
}

/** `a, such as b` inside a sentence. */
export function clause(expected: string): string {
  return expected.includes(', such as') ? `${expected},` : expected;
}

/** What stands in the place of what was expected, as it is written; undefined where the line would not read with that. */
export function insteadOf(
  { expected }: Unexpected,
  whole: Span,
  way: string,
  line: LineSyntax,
  entry: EntrySyntax,
): LineWay | undefined {
  if (!reads(instead(line, whole, way, entry), line, entry)) return undefined;
  return {
    at: whole,
    message: `${clause(expected)} was expected, but ${shown(textAt(entry, whole))} stands here. Write ${quoted(way)}.`,
    span: whole,
    ways: [way],
  };
}
