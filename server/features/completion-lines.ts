/** What may start a line: at its very start whole entries, indented the details that the entry lacks, in sensible order. */
import { CompletionItemKind } from 'vscode-languageserver-types';
import { ENTRIES, type EntryForm, type Form, leadingWords } from '../../grammar/vocabulary.ts';
import type { Show } from '../plan/show.ts';
import { type CompletionOptions, type Draft, keywordDraft } from './completion-item.ts';
import { layoutOf } from './completion-layout.ts';
import type { CompletionPlace } from './completion-place.ts';
import { templatesOf } from './completion-templates.ts';

/** Two ways of saying one thing: where one is there, the other is not wanted; where neither is, both are. */
const WAYS: Readonly<Record<string, readonly (readonly string[])[]>> = {
  aircraft: [['polar'], ['best glide', 'minimum sink']],
  airspace: [['circle'], ['edge']],
};

/** The order in which lines of an itinerary follow, by the one before. */
const NEXT: Readonly<Record<string, readonly string[]>> = {
  '': ['start'],
  start: ['climb to', 'turn', 'finish'],
  'climb to': ['turn', 'finish', 'climb to'],
  turn: ['climb to', 'turn', 'finish'],
  finish: ['climb to', 'turn'],
};

interface Written {
  readonly ids: ReadonlySet<string>;
  /** The itinerary line before the caret's. */
  readonly last: string;
  readonly precedesItinerary: boolean;
}

function writtenLines({ placed, lineStart, lineText }: CompletionPlace): Written {
  const ids = new Set<string>();
  let last = '';
  let precedesItinerary = false;
  for (const { form, span } of placed.syntax.details) {
    const isHere = span.start >= lineStart && span.start <= lineStart + lineText.length;
    if (!form || isHere) continue;
    ids.add(form.id);
    if (!form.itinerary) continue;
    if (span.start < lineStart) last = form.id;
    else precedesItinerary = true;
  }
  return { ids, last, precedesItinerary };
}

/** The details that may stand on the caret's line, the most wanted first. */
function detailsInOrder(place: CompletionPlace, entry: EntryForm): Form[] {
  const { ids, last, precedesItinerary } = writtenLines(place);
  const ways = WAYS[entry.keyword] ?? [];
  const taken = ways.find((way) => way.some((id) => ids.has(id)));
  const unwanted = new Set(taken ? ways.filter((way) => way !== taken).flat() : []);
  const wanted = new Set(taken ? [] : ways.flat());
  for (const id of taken ?? []) if (!ids.has(id)) wanted.add(id);
  const next = NEXT[last] ?? [];
  const rank = (form: Form): number => {
    const { id, itinerary, required, once } = form;
    if (itinerary) {
      const at = next.indexOf(id);
      // On the way round the itinerary goes on; before it the lines about the task come first.
      const group = last === '' ? (precedesItinerary && id !== 'start' ? 50 : 20) : 10;
      return (last === '' && id !== 'start' ? 30 : group) + (at < 0 ? 9 : at);
    }
    if (id === 'note') return 60;
    const isMissing = (required && !ids.has(id)) || wanted.has(id);
    if (isMissing) return 0;
    return last === '' && !precedesItinerary && once ? 15 : 40;
  };
  return entry.details
    .filter(({ id, once }) => !(once && ids.has(id)) && !unwanted.has(id))
    .filter(({ id, required, itinerary }) => !(required && itinerary && ids.has(id)))
    .map((form, i) => ({ form, rank: rank(form), i }))
    .sort((a, b) => a.rank - b.rank || a.i - b.i)
    .map(({ form }) => form);
}

/** Details at the start of an indented line. With `tokens` the first of their keywords are there already. */
export function detailDrafts(place: CompletionPlace, entry: EntryForm): Draft[] {
  const { tokens, lineText, runStart } = place;
  const [first] = tokens;
  return detailsInOrder(place, entry).flatMap((form): Draft[] => {
    const words = leadingWords(form);
    const rest = words.slice(tokens.length);
    if (rest.length === 0 || !tokens.every(({ image }, i) => image.toLowerCase() === words[i])) return [];
    const { lead, example } = layoutOf(entry, form);
    const typed = first ? lineText.slice(first.startOffset, runStart) : '';
    return [
      {
        label: words.join(' '),
        text: lead,
        filter: typed + rest.join(' '),
        kind: CompletionItemKind.Property,
        detail: form.says,
        goesOn: lead !== example,
        ...(form.required ? { far: 'needed' } : {}),
        ...(first ? { from: first.startOffset } : {}),
        data: { kind: 'form', entry: entry.keyword, detail: form.id },
      },
    ];
  });
}

/** Entries at the start of a line: whole ones where the line holds nothing else, else their keywords. */
export function entryDrafts(place: CompletionPlace, options: CompletionOptions, with_: Show): Draft[] {
  return ENTRIES.flatMap((entry): Draft[] => {
    const data = { kind: 'form', entry: entry.keyword, detail: undefined } as const;
    const keyword = { ...keywordDraft(entry.keyword, entry.head.elements.length > 1, entry.head.says), data };
    const templates = place.lastOnLine ? templatesOf(place, entry, options.snippets, with_) : [];
    if (templates.length === 0) return [keyword];
    return templates.map(({ label, text }) => ({
      label,
      text,
      filter: label,
      kind: options.snippets ? CompletionItemKind.Snippet : CompletionItemKind.Keyword,
      isSnippet: options.snippets,
      detail: entry.head.says,
      data,
    }));
  });
}
