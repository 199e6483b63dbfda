/** What may start a line: at its very start whole entries, indented the details that the entry lacks, in sensible order. */
import { CompletionItemKind } from 'vscode-languageserver-types';
import { ENTRIES, type EntryForm, type Form } from '../../grammar/vocabulary.ts';
import type { Show } from '../plan/show.ts';
import { type CompletionOptions, type Draft, keywordDraft } from './completion-item.ts';
import { layoutOf } from './completion-layout.ts';
import type { CompletionPlace } from './completion-place.ts';
import { templatesOf } from './completion-templates.ts';
import { saysOf } from './says.ts';

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
  'soar between': ['turn', 'finish'],
  glide: ['turn', 'finish'],
  finish: ['climb to', 'turn'],
};

interface Written {
  /** How often each detail is there, the caret's line left out. */
  readonly counts: ReadonlyMap<string, number>;
  /** The detail above the caret's line, and the itinerary line above it. */
  readonly above: string;
  readonly last: string;
  /** The itinerary begins below. */
  readonly precedesItinerary: boolean;
}

function writtenLines({ placed, lineStart, lineText }: CompletionPlace): Written {
  const counts = new Map<string, number>();
  let above = '';
  let last = '';
  let precedesItinerary = false;
  for (const { form, span } of placed.syntax.details) {
    const isHere = span.start >= lineStart && span.start <= lineStart + lineText.length;
    if (!form || isHere) continue;
    counts.set(form.id, (counts.get(form.id) ?? 0) + 1);
    if (span.start < lineStart) above = form.id;
    if (!form.itinerary) continue;
    if (span.start < lineStart) last = form.id;
    else precedesItinerary = true;
  }
  return { counts, above, last, precedesItinerary };
}

/** So many points make a polar. */
const POLAR_POINTS = 3;

/** The details that may stand on the caret's line, the most wanted first. */
function detailsInOrder(place: CompletionPlace, entry: EntryForm): Form[] {
  const { counts, above, last, precedesItinerary } = writtenLines(place);
  const ways = WAYS[entry.keyword] ?? [];
  const taken = ways.find((way) => way.some((id) => counts.has(id)));
  const unwanted = new Set(taken ? ways.filter((way) => way !== taken).flat() : []);
  const isLacking = ({ id, required }: Form): boolean => {
    if (id === 'polar') return (counts.get(id) ?? 0) < POLAR_POINTS;
    return !counts.has(id) && (required || (taken ?? ways.flat()).includes(id));
  };
  const next = NEXT[last] ?? [];
  const rank = (form: Form): number => {
    const { id, itinerary, once } = form;
    if (itinerary) {
      const at = next.includes(id) ? next.indexOf(id) : 9;
      // Under way the itinerary goes on; before it come the lines about the task, and its start.
      if (last !== '') return 10 + at;
      return id === 'start' ? 40 : 50 + at + (precedesItinerary ? 10 : 0);
    }
    if (id === 'note') return 90;
    if (isLacking(form)) return 0;
    if (!once && id === above) return 20;
    return 30;
  };
  return entry.details
    .filter(
      ({ id, once, itinerary, required }) =>
        !((once || (itinerary && required)) && counts.has(id)) && !unwanted.has(id),
    )
    .map((form, i) => ({ form, rank: rank(form), i }))
    .sort((a, b) => a.rank - b.rank || a.i - b.i)
    .map(({ form }) => form);
}

/** Details at the start of an indented line. With `tokens` the first of their keywords are there already. */
export function detailDrafts(place: CompletionPlace, entry: EntryForm): Draft[] {
  const { tokens, lineText, runStart } = place;
  const [first] = tokens;
  return detailsInOrder(place, entry).flatMap((form): Draft[] => {
    const words = form.leading;
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
        detail: saysOf(form),
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
    const keyword = { ...keywordDraft(entry.keyword, entry.head.elements.length > 1, saysOf(entry.head)), data };
    const templates = place.lastOnLine ? templatesOf(place, entry, options.snippets, with_) : [];
    if (templates.length === 0) return [keyword];
    return templates.map(({ label, text }) => ({
      label,
      text,
      filter: label,
      kind: options.snippets ? CompletionItemKind.Snippet : CompletionItemKind.Keyword,
      isSnippet: options.snippets,
      detail: saysOf(entry.head),
      data,
    }));
  });
}
