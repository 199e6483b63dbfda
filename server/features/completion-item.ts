/** An item as the parts of completion make it, and as the protocol has it. */
import {
  type CompletionItem,
  CompletionItemKind,
  type CompletionItemLabelDetails,
  type CompletionList,
  InsertTextFormat,
  InsertTextMode,
  type Range,
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

/** The items in the order in which they are given, each text once. */
export function itemsOf(
  place: CompletionPlace,
  drafts: readonly Draft[],
  options: CompletionOptions,
): CompletionItem[] {
  const seen = new Set<string>();
  const items: CompletionItem[] = [];
  const { lineText, runEnd, runStart } = place;
  const spaceFollows = /\s/.test(lineText[runEnd] ?? '');
  for (const draft of drafts) {
    const key = `${draft.from ?? runStart} ${draft.text}`;
    if (seen.has(key)) continue;
    seen.add(key);
    const text = draft.goesOn ? draft.text.trimEnd() : draft.text;
    const space = !draft.goesOn || spaceFollows ? '' : draft.text.slice(text.length) || ' ';
    const labelDetails: CompletionItemLabelDetails = {
      ...(draft.beside === undefined ? {} : { detail: ` ${draft.beside}` }),
      ...(draft.far === undefined ? {} : { description: draft.far }),
    };
    const detail = detailOf(draft, options);
    items.push({
      label: draft.label,
      kind: draft.kind,
      sortText: String(items.length).padStart(5, '0'),
      ...((draft.filter ?? draft.text) === draft.label ? {} : { filterText: draft.filter ?? draft.text }),
      textEdit: {
        range: rangeOnLine(place, draft.from ?? runStart, runEnd),
        newText: text + space,
      },
      // The layout is the formatter's, whatever the editor indents with.
      ...(text.includes('\n') ? { insertTextMode: InsertTextMode.asIs } : {}),
      ...(draft.isSnippet ? { insertTextFormat: InsertTextFormat.Snippet } : {}),
      ...(Object.keys(labelDetails).length > 0 ? { labelDetails } : {}),
      ...(detail ? { detail } : {}),
      ...(draft.edits && draft.edits.length > 0 ? { additionalTextEdits: [...draft.edits] } : {}),
      ...(draft.goesOn && options.again ? { command: { title: 'Complete', command: options.again } } : {}),
      ...(draft.data ? { data: { uri: place.understood.file.uri, of: draft.data } satisfies CompletionData } : {}),
    });
  }
  return items;
}

const isAt = (one: Range, other: Range) =>
  one.start.line === other.start.line &&
  one.start.character === other.start.character &&
  one.end.line === other.end.line &&
  one.end.character === other.end.character;

/** A list of items; to a client that fills it in, what is the same of most is told once. */
export function listOf(
  items: CompletionItem[],
  isIncomplete: boolean,
  { defaults }: CompletionOptions,
): CompletionList {
  const [first] = items;
  if (!defaults || !first?.textEdit || !('range' in first.textEdit)) return { isIncomplete, items };
  const editRange = first.textEdit.range;
  // An item that stands for nothing must not take another's.
  const data = items.every((item) => item.data !== undefined) ? (first.data as CompletionData) : undefined;
  const written = JSON.stringify(data?.of);
  const shorter = items.map(({ textEdit, data: own, ...rest }): CompletionItem => {
    const isHere = textEdit && 'range' in textEdit && isAt(textEdit.range, editRange);
    const of = (own as CompletionData | undefined)?.of;
    const isSame = data !== undefined && (of === data.of || JSON.stringify(of) === written);
    return {
      ...rest,
      ...(!isHere && textEdit ? { textEdit } : {}),
      ...(isHere && textEdit.newText !== rest.label ? { textEditText: textEdit.newText } : {}),
      ...(isSame || own === undefined ? {} : { data: own }),
    };
  });
  return { isIncomplete, itemDefaults: { editRange, ...(data ? { data } : {}) }, items: shorter };
}

/** A keyword or a phrase of keywords. */
export function keywordDraft(text: string, goesOn: boolean, detail?: string): Draft {
  return { label: text, text, kind: CompletionItemKind.Keyword, goesOn, ...(detail ? { detail } : {}) };
}
