/**
 * Formatting as edits, the least for each line, so that the caret and the folds stay where they are. What a line may
 * become is the formatter's to say (`grammar/format.ts`): a line that cannot be read for certain stays as it is.
 */
import type { Position, Range, TextEdit } from 'vscode-languageserver-types';
import { lineStartsOf } from '../../grammar/entry.ts';
import { entryAtLine, type PlacedEntry, rangeAt } from '../../grammar/file.ts';
import { formattedLines, layOut } from '../../grammar/format.ts';
import { type EntrySyntax, linesOf, type QuantityNode, type Span } from '../../grammar/syntax.ts';
import type { Understood } from '../plan/understand.ts';

export { ON_TYPE_TRIGGERS } from './advertised.ts';

const INDENT = '  ';
const BOM = '\uFEFF';

/** A line of a text without a byte order mark: what it holds, how it ends, and the column it starts in. */
interface TextLine {
  readonly text: string;
  readonly end: string;
  readonly column: number;
}

function textLines(text: string, starts: readonly number[] = lineStartsOf(text)): TextLine[] {
  return starts.map((lineStart, i) => {
    const column = i === 0 && text.startsWith(BOM) ? 1 : 0;
    const whole = text.slice(lineStart + column, starts[i + 1] ?? text.length);
    const end = /(?:\r\n|\n|\r)$/.exec(whole)?.[0] ?? '';
    return { text: whole.slice(0, whole.length - end.length), end, column };
  });
}

const isHighHalf = (code: number): boolean => code >= 0xd800 && code < 0xdc00;
const isLowHalf = (code: number): boolean => code >= 0xdc00 && code < 0xe000;

/** The edit that gives a line another text, leaving what both start and end with; undefined when they are alike. */
function lineEdit(line: number, { text: before, column }: TextLine, after: string): TextEdit | undefined {
  if (before === after) return undefined;
  const most = Math.min(before.length, after.length);
  let start = 0;
  while (start < most && before[start] === after[start]) start++;
  let end = 0;
  while (end < most - start && before.at(-1 - end) === after.at(-1 - end)) end++;
  // No edit cuts a character in two.
  if (isHighHalf(before.charCodeAt(start - 1))) start--;
  if (isLowHalf(before.charCodeAt(before.length - end))) end--;
  return {
    range: {
      start: { line, character: column + start },
      end: { line, character: column + before.length - end },
    },
    newText: after.slice(start, after.length - end),
  };
}

/** The edit that gives a line another line end. */
function endEdit(line: number, { text, end, column }: TextLine, after: string): TextEdit | undefined {
  if (end === after) return undefined;
  const at = { line, character: column + text.length };
  return { range: { start: at, end: end === '' ? at : { line: line + 1, character: 0 } }, newText: after };
}

/** What lays out an entry that starts on a line of the file, below a line that is empty or not. */
interface EntryLaidOut {
  readonly line: number;
  readonly belowEmpty: boolean;
  readonly lineEnd: string;
  readonly edits: readonly TextEdit[];
}

const editsKept = new WeakMap<EntrySyntax, EntryLaidOut>();

/** The edits that lay out the lines of an entry; lines behind the row `last` are taken out. */
function wholeEntryEdits(
  syntax: EntrySyntax,
  line: number,
  belowEmpty: boolean,
  lineEnd: string,
  last: number,
): readonly TextEdit[] {
  const own = textLines(syntax.text, syntax.lineStarts);
  const formatted = formattedLines(syntax);
  const edits: (TextEdit | undefined)[] = [];
  let isEmpty = belowEmpty;
  for (const [row, written] of own.entries()) {
    const at = line + row;
    const after = formatted[row] as string;
    if (row > last || (after === '' && isEmpty)) edits.push(removal(at, written));
    else edits.push(lineEdit(at, written, after), endEdit(at, written, lineEnd));
    isEmpty = after === '';
  }
  return edits.filter((edit) => edit !== undefined);
}

/** The edit that takes a line out; undefined for the one behind the last line end. */
function removal(line: number, { text, end, column }: TextLine): TextEdit | undefined {
  if (text + end === '') return undefined;
  const to = end === '' ? { line, character: column + text.length } : { line: line + 1, character: 0 };
  return { range: { start: { line, character: column }, end: to }, newText: '' };
}

/** The edits that lay out a whole file; none when the formatter refuses. Those of an entry are kept with it. */
export function formatDocument(understood: Understood): TextEdit[] {
  const { syntax, notText } = understood.file;
  const formatted = notText ? undefined : layOut(syntax);
  if (!formatted || 'refused' in formatted) return [];
  const { lineEnd } = formatted;
  const { trees, placed } = syntax;
  // The formatter takes empty lines out and changes others; it never joins, splits or moves a line.
  const lastEntry = trees.findLastIndex((entry) => formattedLines(entry).some((line) => line !== ''));
  const edits: TextEdit[] = [];
  let isEmpty = formatted.belowEmpty;
  for (const [i, entry] of trees.entries()) {
    const line = placed.lineOf(i);
    const lines = formattedLines(entry);
    let own: readonly TextEdit[];
    if (i < lastEntry) {
      const known = editsKept.get(entry);
      const fits = known?.line === line && known.belowEmpty === isEmpty && known.lineEnd === lineEnd;
      own = fits ? known.edits : entryWithin(entry, line, isEmpty, lineEnd);
    } else {
      const last = i > lastEntry ? -1 : lines.findLastIndex((text) => text !== '');
      own = wholeEntryEdits(entry, line, isEmpty, lineEnd, last);
    }
    for (const edit of own) edits.push(edit);
    // The line behind an entry's last line end is the next entry's first.
    const ends = lines.length - (i < trees.length - 1 ? 2 : 1);
    if (ends >= 0) isEmpty = lines[ends] === '';
  }
  return edits;
}

/** The edits of an entry that others follow, kept with it. */
function entryWithin(syntax: EntrySyntax, line: number, belowEmpty: boolean, lineEnd: string): readonly TextEdit[] {
  const rows = syntax.lineStarts.length - 1;
  const edits = wholeEntryEdits(syntax, line, belowEmpty, lineEnd, Infinity).filter(
    ({ range: { start } }) => start.line < line + rows,
  );
  editsKept.set(syntax, { line, belowEmpty, lineEnd, edits });
  return edits;
}

/** The edits that lay out some of an entry's lines, counted from the entry's first. */
function entryEdits({ syntax, line }: PlacedEntry, from: number, to: number): TextEdit[] {
  const own = textLines(syntax.text, syntax.lineStarts);
  const formatted = formattedLines(syntax);
  const edits: TextEdit[] = [];
  for (let i = Math.max(0, from); i <= Math.min(to, own.length - 1); i++) {
    const edit = lineEdit(line + i, own[i] as TextLine, formatted[i] as string);
    if (edit) edits.push(edit);
  }
  return edits;
}

/** The edits that lay out the lines that a range touches. A range that ends before a line's first character does not touch it. */
export function formatRange(understood: Understood, { start, end }: Range): TextEdit[] {
  const last = end.line > start.line && end.character === 0 ? end.line - 1 : end.line;
  const { placed: all } = understood.file.syntax;
  const edits: TextEdit[] = [];
  for (let i = all.byLine(start.line); i <= all.byLine(last); i++) {
    const placed = all.at(i);
    if (placed) edits.push(...entryEdits(placed, start.line - placed.line, last - placed.line));
  }
  return edits;
}

/** Whether every detail that the entry must have is there. */
function isComplete({ form, details }: EntrySyntax): boolean {
  return !!form && form.details.every((detail) => !detail.required || details.some((line) => line.form === detail));
}

const indentOf = (text: string): string => /^\s*/u.exec(text)?.[0] ?? '';

/** How far the empty line below `row` is indented. */
function indentBelow({ syntax }: PlacedEntry, row: number, above: string): string {
  const from = syntax.lineStarts[row] as number;
  const to = syntax.lineStarts[row + 1] ?? syntax.text.length;
  const line = linesOf(syntax).find(({ span }) => span.start >= from && span.start < to);
  if (!line) return indentOf(above);
  if (line === syntax.head) return syntax.form?.details.length === 0 ? '' : INDENT;
  if (!syntax.head) return indentOf(above);
  return line.problems.length === 0 ? INDENT : indentOf(above) || INDENT;
}

/** After a line end: the line above is laid out, and the new one indented for what comes next. */
function onLineEnd(understood: Understood, line: number): TextEdit[] {
  const placed = line > 0 ? entryAtLine(understood.file.syntax, line - 1) : undefined;
  if (!placed) return [];
  const { syntax } = placed;
  const row = line - 1 - placed.line;
  const own = textLines(syntax.text, syntax.lineStarts);
  const above = own[row];
  if (!above) return [];
  const edits = entryEdits(placed, row, row);
  // A line that holds something is not ours to move, nor is the next entry's first line.
  const below = own[row + 1];
  const isBeyond = row + 1 === own.length - 1 && below?.text === '' && syntax !== understood.file.syntax.trees.at(-1);
  if (below?.text.trim() !== '' || isBeyond) return edits;
  const leaves = above.text.trim() === '' && isComplete(syntax);
  const indent = leaves ? '' : indentBelow(placed, row, above.text);
  const edit = lineEdit(line, below, indent);
  return edit ? [...edits, edit] : edits;
}

/** A number as far as it is written, spelled as units and datums are: `4800ft msl` is `4800 ft MSL`. */
function spelling({ number, unit, datum }: QuantityNode, text: string): { span: Span; text: string } | undefined {
  let end = number.span.end;
  let spelled = '';
  if (unit) {
    if (!unit.unit) return undefined;
    // A degree sign may still become another unit.
    if (unit.unit.text === '°' && !datum) return undefined;
    spelled += unit.unit.text.startsWith('°M') || unit.unit.text === '°' ? unit.unit.text : ` ${unit.unit.text}`;
    end = unit.span.end;
  }
  if (datum) {
    if (!datum.datum) return undefined;
    spelled += ` ${datum.datum}`;
    end = datum.span.end;
  }
  const span = { start: number.span.end, end };
  return text.slice(span.start, span.end) === spelled ? undefined : { span, text: spelled };
}

/**
 * After a space: the unit or datum before it in standard spelling. The rest of the line is mostly not written yet, so
 * nothing but that one quantity is touched.
 */
function onSpace(understood: Understood, { line, character }: Position): TextEdit[] {
  const placed = entryAtLine(understood.file.syntax, line);
  const start = placed?.syntax.lineStarts[line - placed.line];
  if (!placed || start === undefined) return [];
  const end = start + character - 1;
  for (const { slots, span } of linesOf(placed.syntax)) {
    if (end < span.start || end > span.end) continue;
    for (const value of Object.values(slots)) {
      const parts = value?.kind === 'duration' ? value.parts : value?.kind === 'quantity' ? [value] : [];
      const quantity = parts.find((part) => part.span.end === end);
      const spelled = quantity && spelling(quantity, placed.syntax.text);
      if (spelled) return [{ range: rangeAt(placed, spelled.span), newText: spelled.text }];
    }
  }
  return [];
}

/** The edits after a character of {@link ON_TYPE_TRIGGERS} has been typed; the position is behind it. */
export function formatOnType(understood: Understood, position: Position, typed: string): TextEdit[] {
  if (typed === '\n') return onLineEnd(understood, position.line);
  return typed === ' ' ? onSpace(understood, position) : [];
}
