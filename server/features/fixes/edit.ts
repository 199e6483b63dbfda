/** Edits of plan text: replacements by offset in a file, and the places that they need. */
import type { Range, TextEdit, WorkspaceEdit } from 'vscode-languageserver-types';
import { lineStartsOf } from '../../../grammar/entry.ts';
import type { PlacedEntry } from '../../../grammar/file.ts';
import type { EntrySyntax, LineSyntax, Span } from '../../../grammar/syntax.ts';
import { placedEntry } from '../../plan/places.ts';
import type { Place } from '../../plan/task.ts';
import type { SourceFile, Workspace } from '../../plan/workspace.ts';

/** The text between two offsets of a file, and what it becomes. */
export interface Edit {
  readonly uri: string;
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

/** A file that an edit makes, with its whole text. */
export interface NewFile {
  readonly uri: string;
  readonly text: string;
}

const startsKept = new WeakMap<SourceFile, number[]>();

function startsOf(file: SourceFile): number[] {
  let starts = startsKept.get(file);
  if (!starts) {
    starts = lineStartsOf(file.syntax.text);
    startsKept.set(file, starts);
  }
  return starts;
}

function positionAt(starts: readonly number[], offset: number): { line: number; character: number } {
  let low = 0;
  let high = starts.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((starts[middle] as number) <= offset) low = middle;
    else high = middle - 1;
  }
  return { line: low, character: offset - (starts[low] as number) };
}

/** Two offsets of a file as a range of lines and characters. */
export function rangeBetween(file: SourceFile, start: number, end: number): Range {
  const starts = startsOf(file);
  return { start: positionAt(starts, start), end: positionAt(starts, end) };
}

/** The offset of a position in a file; a character past the end of its line counts as that end. */
export function offsetAt(file: SourceFile, position: { readonly line: number; readonly character: number }): number {
  const starts = startsOf(file);
  const { text } = file.syntax;
  const start = starts[position.line];
  if (start === undefined) return position.line < 0 ? 0 : text.length;
  let end = starts[position.line + 1] ?? text.length;
  while (end > start && isLineEnd(text.charCodeAt(end - 1))) end--;
  return Math.min(start + Math.max(0, position.character), end);
}

const isLineEnd = (code: number) => code === 10 || code === 13;

/** A text after edits that do not overlap. */
export function editedText(text: string, edits: readonly Edit[]): string {
  const pieces: string[] = [];
  let at = 0;
  for (const { start, end, text: piece } of edits.toSorted((a, b) => a.start - b.start || a.end - b.end)) {
    pieces.push(text.slice(at, start), piece);
    at = end;
  }
  return pieces.join('') + text.slice(at);
}

/** Whether two edits touch the same text. */
export function overlap(a: Edit, b: Edit): boolean {
  if (a.uri !== b.uri) return false;
  return a.start === b.start || (a.start < b.end && b.start < a.end);
}

/** Edits of which no two touch the same text; the first comer has its place. */
export class Disjoint {
  /** By file, in order. */
  private readonly taken = new Map<string, Edit[]>();

  /** Takes edits in, all or none; whether it did. */
  take(edits: readonly Edit[]): boolean {
    if (edits.some((edit) => this.touches(edit))) return false;
    for (const edit of edits) {
      const own = this.taken.get(edit.uri);
      if (own) own.splice(this.indexIn(own, edit.start), 0, edit);
      else this.taken.set(edit.uri, [edit]);
    }
    return true;
  }

  private touches(edit: Edit): boolean {
    const own = this.taken.get(edit.uri) ?? [];
    const index = this.indexIn(own, edit.start);
    return [own[index - 1], own[index]].some((other) => other !== undefined && overlap(edit, other));
  }

  /** The first that starts at an offset or behind it. */
  private indexIn(own: readonly Edit[], offset: number): number {
    let low = 0;
    let high = own.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((own[middle] as Edit).start < offset) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}

/** Edits, and files made by them, as the protocol has it. */
export function workspaceEdit(
  workspace: Workspace,
  edits: readonly Edit[],
  created: readonly NewFile[] = [],
): WorkspaceEdit {
  const changes = new Map<string, TextEdit[]>();
  for (const { uri, start, end, text } of edits.toSorted((a, b) => a.start - b.start)) {
    const file = workspace.files.get(uri);
    if (!file) continue;
    const own = changes.get(uri) ?? [];
    own.push({ range: rangeBetween(file, start, end), newText: text });
    changes.set(uri, own);
  }
  if (created.length === 0) return { changes: Object.fromEntries(changes) };
  const zero = { line: 0, character: 0 };
  return {
    documentChanges: [
      ...created.flatMap(({ uri, text }) => [
        { kind: 'create' as const, uri, options: { ignoreIfExists: true } },
        ...(text === ''
          ? []
          : [{ textDocument: { uri, version: null }, edits: [{ range: { start: zero, end: zero }, newText: text }] }]),
      ]),
      ...[...changes].map(([uri, own]) => ({ textDocument: { uri, version: null }, edits: own })),
    ],
  };
}

/** Where an entry stands now. */
export interface Spot {
  readonly file: SourceFile;
  readonly placed: PlacedEntry;
}

export function spotOf(workspace: Workspace, uri: string, entry: EntrySyntax): Spot | undefined {
  const file = workspace.files.get(uri);
  const placed = placedEntry(workspace, { uri, entry, span: entry.span });
  return file && placed && { file, placed };
}

/** The span of a place becomes this text. */
export function replaceAt(workspace: Workspace, place: Place, text: string): Edit[] {
  const spot = spotOf(workspace, place.uri, place.entry);
  if (!spot) return [];
  const { offset } = spot.placed;
  return [{ uri: place.uri, start: offset + place.span.start, end: offset + place.span.end, text }];
}

/** The span of an entry's own text becomes this text. */
export function replaceIn({ file, placed }: Spot, span: Span, text: string): Edit {
  return { uri: file.uri, start: placed.offset + span.start, end: placed.offset + span.end, text };
}

/** The line end that a text uses. */
export function lineEndOf(text: string): string {
  return /\r\n|\n|\r/.exec(text)?.[0] === '\r\n' ? '\r\n' : '\n';
}

/** The whole row in which an offset lies: its start, its end without and with the line end. */
export function rowAt(text: string, offset: number): { start: number; end: number; next: number } {
  let start = offset;
  while (start > 0 && !isLineEnd(text.charCodeAt(start - 1))) start--;
  let end = offset;
  while (end < text.length && !isLineEnd(text.charCodeAt(end))) end++;
  const next = end + (text.startsWith('\r\n', end) ? 2 : end < text.length ? 1 : 0);
  if (start === 0 && text.charCodeAt(0) === 0xfeff) start = 1;
  return { start: Math.min(start, end), end, next };
}

/** Takes a line out, with its remark and its line end. */
export function removeLine({ file, placed }: Spot, line: LineSyntax): Edit {
  const { text } = file.syntax;
  const { start, next, end } = rowAt(text, placed.offset + line.span.start);
  // The last row has no line end of its own: the one before it goes.
  if (next === end && start > 0) {
    const before = start - (text.slice(0, start).endsWith('\r\n') ? 2 : 1);
    return { uri: file.uri, start: Math.max(0, before), end, text: '' };
  }
  return { uri: file.uri, start, end: next, text: '' };
}

/** How the lines of an entry are set: their indentation, and the column in which their text starts behind it. */
export function layoutOf(entry: EntrySyntax): { indent: string; column: number } {
  for (const line of entry.details) {
    const [first] = line.tokens;
    // `climb to` and its like have a part of what they say among their keywords.
    if (!first || !line.form || /\b(to|in|least)\b/.test(line.form.id)) continue;
    const row = rowAt(entry.text, first.startOffset);
    const indent = entry.text.slice(row.start, first.startOffset);
    const after = line.tokens.find((tok) => tok.startOffset >= line.keyword.end);
    if (indent.trim() === '' && indent !== '' && after)
      return { indent, column: after.startOffset - line.keyword.start };
  }
  return { indent: '  ', column: 0 };
}

/** A detail as a line of its entry: `keyword` and what it says, set like the lines beside it. */
export function detailLine(entry: EntrySyntax, keyword: string, says: string): string {
  const { indent, column } = layoutOf(entry);
  return says === '' ? indent + keyword : `${indent}${keyword.padEnd(Math.max(column - 1, 0))} ${says}`;
}

/** Puts rows below the row of `line`; below the head of the entry without one. */
export function insertBelow({ file, placed }: Spot, line: LineSyntax | undefined, rows: readonly string[]): Edit {
  const { text } = file.syntax;
  const eol = lineEndOf(text);
  const anchor = line ?? placed.syntax.head;
  const { end } = rowAt(text, placed.offset + (anchor?.span.start ?? 0));
  return { uri: file.uri, start: end, end, text: rows.map((row) => eol + row).join('') };
}

/** Puts rows above the row of `line`. */
export function insertAbove({ file, placed }: Spot, line: LineSyntax, rows: readonly string[]): Edit {
  const { text } = file.syntax;
  const eol = lineEndOf(text);
  const { start } = rowAt(text, placed.offset + line.span.start);
  return { uri: file.uri, start, end: start, text: rows.map((row) => row + eol).join('') };
}
