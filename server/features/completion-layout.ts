/** Details as the formatter lays them out: where their values start, and an example of each. */
import { parseEntry } from '../../grammar/entry.ts';
import { formatEntryLines } from '../../grammar/format.ts';
import type { Token } from '../../grammar/tokens.ts';
import type { Element, EntryForm, Form, Slot } from '../../grammar/vocabulary.ts';

/** A value such as the vocabulary names one. */
function exampleOf({ kind, of, words, refers }: Slot): string {
  if (kind === 'name') return refers ? 'Name' : 'Example';
  if (of) return of[0] as string;
  return /such as (.+?)(?:, | or |$)/.exec(words)?.[1] ?? '"Text"';
}

function exampleText(elements: readonly Element[]): string[] {
  return elements.flatMap((element): string[] => {
    if ('word' in element) return [element.word];
    if ('optional' in element) return [];
    if ('either' in element) return exampleText(element.either[0] ?? []);
    return [exampleOf(element)];
  });
}

interface Layout {
  /** The whole line, without indentation. */
  readonly example: string;
  /** As far as its keywords go, with the space behind them. */
  readonly lead: string;
}

const layouts = new Map<Form, Layout>();

/** An example of a detail, laid out by the formatter: so a line starts as the formatter would have it. */
export function layoutOf(entry: EntryForm, form: Form): Layout {
  const known = layouts.get(form);
  if (known) return known;
  const text = `${exampleText(entry.head.elements).join(' ')}\n  ${exampleText(form.elements).join(' ')}\n`;
  const syntax = parseEntry(text, true);
  const example = (formatEntryLines(syntax)[1] ?? '').trim();
  const tokens = (syntax.details[0]?.tokens ?? []) as readonly Token[];
  const value = tokens[form.leading.length];
  // The formatter changes the space in front of a value, never the value of an example.
  const rest = value ? text.slice(value.startOffset, -1).length : 0;
  const made = { example, lead: rest > 0 ? example.slice(0, -rest) : example };
  layouts.set(form, made);
  return made;
}
