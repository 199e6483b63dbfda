/** An item as the parts of completion make it, and as the protocol has it. */
import {
  type CompletionItem,
  CompletionItemKind,
  type CompletionItemLabelDetails,
  type CompletionList,
  InsertTextFormat,
  InsertTextMode,
  type TextEdit,
} from 'vscode-languageserver-types';
import type { Namespace } from '../../grammar/vocabulary.ts';
import { type CompletionPlace, rangeOnLine } from './completion-place.ts';

export interface CompletionOptions {
  /** The client can fill in snippets. */
  readonly snippets: boolean;
  /** A command of the client that asks for completion again, run where the line goes on; none without one. */
  readonly again?: string;
  /** The client fills in what most items of a list have alike. */
  readonly defaults?: boolean;
  /** The client shows what is told beside a label, and asks for the rest of the item that is looked at. */
  readonly detailLater?: boolean;
}

/** What resolving an item needs to find again what it stands for. */
export interface CompletionData {
  /** The file that is being written. */
  readonly uri: string;
  readonly of:
    | { readonly kind: 'form'; readonly entry: string; readonly detail: string | undefined }
    | {
        readonly kind: 'name';
        readonly namespace: Namespace;
        /** The item's label where it is left out. */
        readonly name?: string;
        /** The file that gives the name; the one that is being written where it is left out. */
        readonly in?: string;
        /** The point from which it is seen. */
        readonly from?: string;
      };
}

export interface Draft {
  readonly label: string;
  readonly kind: CompletionItemKind;
  readonly text: string;
  /** What is typed is compared with this; the text where it is left out. */
  readonly filter?: string;
  /** Where it replaces more than what is being typed: the column from which on. */
  readonly from?: number;
  readonly detail?: string;
  /** The same, of an item that has its detail from resolving too. */
  readonly detailAgain?: () => string;
  /** Short, close behind the label. */
  readonly beside?: string;
  /** Short, at the far end of the row. */
  readonly far?: string;
  readonly isSnippet?: boolean;
  /** The line is not complete behind it, so that a space follows. */
  readonly goesOn?: boolean;
  readonly edits?: readonly TextEdit[];
  readonly data?: CompletionData['of'];
}

/** Text that a snippet shows as it is. */
export function escapeSnippet(text: string): string {
  return text.replace(/[\\$}]/g, '\\$&');
}

function detailOf({ detail, detailAgain, beside, far }: Draft, { detailLater }: CompletionOptions): string {
  if (detailAgain) return detailLater ? '' : detailAgain();
  return detail ?? [beside, far].filter(Boolean).join(' · ');
}

/** What most items of a list have alike, told once to a client that fills it in. */
interface Alike {
  /** The column from which on they replace what stands there. */
  readonly from: number;
  /** Undefined where an item stands for nothing: it must not take another's. */
  readonly data: CompletionData['of'] | undefined;
  readonly written: string | undefined;
}

function alikeIn(drafts: readonly Draft[], runStart: number): Alike | undefined {
  const [first] = drafts;
  if (!first) return undefined;
  const data = drafts.every((draft) => draft.data !== undefined) ? first.data : undefined;
  return { from: first.from ?? runStart, data, written: JSON.stringify(data) };
}

/** Something while it is written out: objects of which there are many are not spread together. */
export type Making<T> = { -readonly [K in keyof T]: T[K] };

/** The items in the order in which they are given, each text once. */
export function listOf(
  place: CompletionPlace,
  drafts: readonly Draft[],
  isIncomplete: boolean,
  options: CompletionOptions,
): CompletionList {
  const { lineText, runEnd, runStart } = place;
  const { uri } = place.understood.file;
  const spaceFollows = /\s/.test(lineText[runEnd] ?? '');
  const seen = new Set<string>();
  const isOther = ({ from = runStart, text }: Draft): boolean => {
    const { size } = seen;
    return seen.add(from === runStart ? text : `${from}\n${text}`).size > size;
  };
  const all = drafts.filter(isOther);
  const alike = options.defaults ? alikeIn(all, runStart) : undefined;
  const items: CompletionItem[] = [];
  for (const draft of all) {
    const { label, from = runStart, data } = draft;
    const text = draft.goesOn ? draft.text.trimEnd() : draft.text;
    const space = !draft.goesOn || spaceFollows ? '' : draft.text.slice(text.length) || ' ';
    const filter = draft.filter ?? draft.text;
    const detail = detailOf(draft, options);
    const item: Making<CompletionItem> = { label, kind: draft.kind, sortText: String(items.length).padStart(5, '0') };
    if (filter !== label) item.filterText = filter;
    if (from !== alike?.from) item.textEdit = { range: rangeOnLine(place, from, runEnd), newText: text + space };
    else if (text + space !== label) item.textEditText = text + space;
    // The layout is the formatter's, whatever the editor indents with.
    if (text.includes('\n')) item.insertTextMode = InsertTextMode.asIs;
    if (draft.isSnippet) item.insertTextFormat = InsertTextFormat.Snippet;
    if (draft.beside !== undefined || draft.far !== undefined) {
      const besideIt: CompletionItemLabelDetails = {};
      if (draft.beside !== undefined) besideIt.detail = ` ${draft.beside}`;
      if (draft.far !== undefined) besideIt.description = draft.far;
      item.labelDetails = besideIt;
    }
    if (detail) item.detail = detail;
    if (draft.edits && draft.edits.length > 0) item.additionalTextEdits = [...draft.edits];
    if (draft.goesOn && options.again) item.command = { title: 'Complete', command: options.again };
    const isAlike = alike?.data && (data === alike.data || JSON.stringify(data) === alike.written);
    if (data && !isAlike) item.data = { uri, of: data } satisfies CompletionData;
    items.push(item);
  }
  if (!alike) return { isIncomplete, items };
  const { data } = alike;
  const editRange = rangeOnLine(place, alike.from, runEnd);
  return {
    isIncomplete,
    itemDefaults: { editRange, ...(data ? { data: { uri, of: data } satisfies CompletionData } : {}) },
    items,
  };
}

/** A keyword or a phrase of keywords. */
export function keywordDraft(text: string, goesOn: boolean, detail?: string): Draft {
  return { label: text, text, kind: CompletionItemKind.Keyword, goesOn, ...(detail ? { detail } : {}) };
}
