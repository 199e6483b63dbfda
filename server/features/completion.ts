/**
 * Completion: whatever may stand at the caret, the likeliest first. What may stand there is read off the table of forms
 * (`completion-expected.ts`); the other parts know what goes into each place.
 */
import { type CompletionItem, type CompletionList, MarkupKind } from 'vscode-languageserver-types';
import type { LinePosition } from '../../grammar/file.ts';
import {
  DETAIL_ONLY,
  ENTRIES,
  type EntryForm,
  entryForm,
  type Namespace,
  type Slot,
} from '../../grammar/vocabulary.ts';
import { type Show, show } from '../plan/show.ts';
import { type Understood, understand } from '../plan/understand.ts';
import { tableOf, type Workspace } from '../plan/workspace.ts';
import { type Expected, expectedAfter } from './completion-expected.ts';
import { type CompletionData, type CompletionOptions, type Draft, keywordDraft, listOf } from './completion-item.ts';
import { layoutOf } from './completion-layout.ts';
import { detailDrafts, entryDrafts } from './completion-lines.ts';
import { nameDetail, nameDrafts, pointNamed } from './completion-names.ts';
import { pathDrafts } from './completion-paths.ts';
import { type CompletionPlace, completionPlace } from './completion-place.ts';
import { hemisphereDrafts, unitDrafts } from './completion-units.ts';
import { choiceDrafts, ratioDrafts, runwayDrafts, timeDrafts, valueDraft, valuesFor } from './completion-values.ts';
import { describeEntry } from './hover-entries.ts';
import { saysOf } from './says.ts';

export { COMPLETION_TRIGGERS } from './advertised.ts';
export type { CompletionOptions } from './completion-item.ts';

interface Found {
  readonly drafts: Draft[];
  readonly isCut: boolean;
}

/** What goes into a slot at the caret. */
function slotDrafts(place: CompletionPlace, expected: Expected, slot: Slot, with_: Show): Found {
  const { inside, goesOn, form } = expected;
  const whole = (drafts: Draft[]): Found => ({ drafts, isCut: false });
  if (slot.refers) return nameDrafts(place, expected, slot as Slot & { refers: Namespace }, with_);
  switch (slot.kind) {
    case 'name':
      return whole([]);
    case 'text':
      return whole(form.id === 'use' ? pathDrafts(place) : []);
    case 'unit':
    case 'choice':
    case 'word':
      return whole(choiceDrafts(place, expected, slot));
    case 'runway':
      return whole(runwayDrafts(place, expected));
    case 'ratio':
      return whole(ratioDrafts(place, expected));
    case 'coordinates':
      return whole(hemisphereDrafts(place, expected));
    default: {
      const typed = place.run;
      const values =
        inside.length > 0 ? [] : valuesFor(place, expected, slot, with_).filter(({ text }) => text.startsWith(typed));
      const drafts = values.map((value) => valueDraft(value, goesOn));
      if (slot.kind === 'time') drafts.push(...timeDrafts(place, expected));
      else drafts.push(...unitDrafts(place, expected, slot, with_));
      if (slot.kind === 'performance' && inside.length === 0) drafts.push(...ratioDrafts(place, expected));
      return whole(drafts);
    }
  }
}

/** Keywords, alone and with a value worth writing behind them. */
function phraseDrafts(place: CompletionPlace, expected: Expected, with_: Show): Draft[] {
  const { words, slot, goesOn, unusual } = expected;
  const phrase = words.join(' ');
  if (unusual && (place.run === '' || !phrase.startsWith(place.run.toLowerCase()))) return [];
  const values = slot ? valuesFor(place, expected, slot, with_) : [];
  return [
    ...values.map((value) => valueDraft(value, goesOn, phrase)),
    keywordDraft(phrase, slot !== undefined || goesOn, slot?.words),
  ];
}

/** What may follow on a line whose first words are there. */
function lineDrafts(place: CompletionPlace, forms: readonly EntryForm['head'][], with_: Show): Found {
  const drafts: Draft[] = [];
  const phrases: Draft[] = [];
  let isCut = false;
  for (const form of forms) {
    for (const expected of expectedAfter(form, place.tokens)) {
      if (expected.words.length > 0) phrases.push(...phraseDrafts(place, expected, with_));
      else if (expected.slot) {
        const found = slotDrafts(place, expected, expected.slot, with_);
        drafts.push(...found.drafts);
        isCut ||= found.isCut;
      }
    }
  }
  return { drafts: [...drafts, ...phrases], isCut };
}

function found(place: CompletionPlace, options: CompletionOptions, with_: Show): Found {
  const { tokens, indented, placed } = place;
  const word = tokens[0]?.image.toLowerCase();
  // A detail that lost its indentation is read as one.
  const isDetail = indented || (word !== undefined && DETAIL_ONLY.has(word));
  if (!isDetail) {
    if (word === undefined) return { drafts: entryDrafts(place, options, with_), isCut: false };
    const entry = entryForm(word);
    return lineDrafts(place, entry ? [entry.head] : [], with_);
  }
  const entry = placed.syntax.form;
  if (!entry) return { drafts: [], isCut: false };
  const leads = detailDrafts(place, entry);
  if (word === undefined) return { drafts: leads, isCut: false };
  const rest = lineDrafts(place, entry.details, with_);
  // What leads on to a detail as a whole is laid out; the bare keyword is not offered beside it.
  const led = new Set(leads.map(({ label }) => label.split(' ').slice(tokens.length).join(' ')));
  return { drafts: [...rest.drafts.filter(({ label }) => !led.has(label)), ...leads], isCut: rest.isCut };
}

/** What may stand at a position; nothing inside a comment, a note or a name that is being given. */
export function completion(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
  options: CompletionOptions,
): CompletionList {
  const place = completionPlace(workspace, understood, position);
  if (!place) return { isIncomplete: false, items: [] };
  const { drafts, isCut } = found(place, options, show(understood.units));
  // Behind each further digit other texts fit.
  const run = place.run.toLowerCase();
  const isNumber = /^[-−+]?\d/.test(place.run);
  const fitting = isNumber ? drafts.filter(({ text, filter = text }) => filter.toLowerCase().startsWith(run)) : drafts;
  return listOf(place, fitting, isCut || isNumber, options);
}

/** What resolving tells of an item: its documentation, and the detail that its list may have left out. */
function resolved(
  workspace: Workspace,
  { uri, of }: CompletionData,
  label: string,
): Partial<CompletionItem> | undefined {
  const documentation = (value: string) => ({ documentation: { kind: MarkupKind.Markdown, value } });
  if (of.kind === 'form') {
    const entry = ENTRIES.find(({ keyword }) => keyword === of.entry);
    const detail = entry?.details.find(({ id }) => id === of.detail);
    if (!entry) return undefined;
    if (!detail) return documentation(saysOf(entry.head));
    return documentation(`${saysOf(detail)}\n\n\`\`\`taskplan\n${layoutOf(entry, detail).example}\n\`\`\``);
  }
  const file = workspace.files.get(uri);
  const from = workspace.files.get(of.in ?? uri);
  const defined =
    from &&
    tableOf(from)
      .get(of.namespace)
      ?.get(of.name ?? label)?.[0];
  if (!file || !defined) return undefined;
  const understood = understand(workspace, file);
  const with_ = show(understood.units);
  const seenFrom = of.from === undefined ? undefined : pointNamed(understood, of.from);
  return { detail: nameDetail(defined, seenFrom, with_), ...documentation(describeEntry(defined, understood, with_)) };
}

/** An item with its documentation: the sentence of the vocabulary, or what the entry of that name is. */
export function resolveCompletion(workspace: Workspace, item: CompletionItem): CompletionItem {
  const data = item.data as CompletionData | undefined;
  const more = data?.of && resolved(workspace, data, item.label);
  return more ? { ...more, ...item } : item;
}
