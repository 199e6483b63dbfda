/**
 * The formatter. It works line by line: a detail's text starts in a column that depends on the kind of entry alone, so
 * adding, dropping or changing one line never moves another, and one fact stays one line of a diff. A line that cannot
 * be read for certain stays as it is written, and every line is read again before it is given out.
 */
import { parseEntry } from './entry.ts';
import { entryTexts, type FileSyntax, parseFile } from './file.ts';
import type { AngleNode, EntrySyntax, LineSyntax, ValueNode } from './syntax.ts';
import { linesOf } from './syntax.ts';
import { Angle, Degree, NumberToken, PlusMinus, Str, type Token, tokenize } from './tokens.ts';
import { unitOf } from './units.ts';
import { CONNECTORS, type Element, type EntryForm, type Form, KEYWORDS } from './vocabulary.ts';

const INDENT = '  ';
const BOM = '\uFEFF';

/** A remark without the spaces behind it. A byte order mark is one to nobody but `trimEnd`: what hides is told, and stays. */
const trimmed = (remark: string): string => remark.replace(/[^\S\uFEFF]+$/u, '');

/** Words that already belong to what is said behind the keyword: `climb` | `to 4800 ft MSL`. */
const JOINING: ReadonlySet<string> = new Set([...CONNECTORS, 'up', 'in']);

const isWord = (element: Element) => 'word' in element;

/** The keywords of a detail that stand in front of its column. */
function leadOf(form: Form): readonly string[] {
  const words = form.leading;
  if (form.elements.every(isWord)) return words;
  const joining = words.findIndex((word) => JOINING.has(word));
  return joining < 0 ? words : words.slice(0, joining);
}

const columns = new Map<EntryForm, number>();

/** How far behind the indentation the text of an entry's details starts: even, so that it lies on a tab stop of two. */
function columnOf(entry: EntryForm): number {
  let column = columns.get(entry);
  if (column === undefined) {
    const leads = entry.details.filter((form) => !form.elements.every(isWord)).map((form) => leadOf(form).join(' '));
    const widest = Math.max(0, ...leads.map((lead) => lead.length));
    column = widest + 1 + ((widest + 1) % 2);
    columns.set(entry, column);
  }
  return column;
}

/** What each token of a value is written as, by the token's offset, where that may differ from what stands there. */
interface Spelling {
  readonly text: Map<number, string>;
  /** Tokens that follow the one before them without a space. */
  readonly tight: Set<number>;
}

function spellAngle(angle: AngleNode, into: Spelling): void {
  const marks = angle.text
    .replace(/\s+/g, '')
    .replace(/''|′′|[″”]/g, '"')
    .replace(/[′’]/g, "'");
  into.text.set(angle.span.start, marks);
  if (!angle.hemisphere) return;
  const { span, text } = angle.hemisphere;
  if (/^[nsew]$/i.test(text)) into.text.set(span.start, text.toUpperCase());
  if (angle.notation !== 'degrees') into.tight.add(span.start);
}

function spell(value: ValueNode, into: Spelling): void {
  switch (value.kind) {
    case 'quantity': {
      const { unit, datum } = value;
      if (unit) into.text.set(unit.span.start, unit.unit?.text ?? unit.text);
      // What is no unit stays as close as it stands: `3h30min` is no 3 of anything.
      if (unit && !unit.unit && unit.span.start === value.number.span.end) into.tight.add(unit.span.start);
      if (datum) into.text.set(datum.span.start, datum.datum ?? datum.text);
      break;
    }
    case 'duration':
      for (const part of value.parts) spell(part, into);
      break;
    case 'coordinates':
      spellAngle(value.first, into);
      if (value.second) spellAngle(value.second, into);
      break;
    case 'unit':
      into.text.set(value.span.start, value.unit?.text ?? value.text);
      break;
    case 'time':
    case 'runway':
      into.text.set(value.span.start, value.text.toUpperCase());
      break;
    default:
      break;
  }
}

/** The texts of a line's tokens in standard spelling, and which of them stand close to the one before. */
function piecesOf(text: string, line: LineSyntax): { pieces: string[]; tight: boolean[] } {
  const spelling: Spelling = { text: new Map(), tight: new Set() };
  const names: { start: number; end: number }[] = [];
  for (const value of Object.values(line.slots)) {
    if (!value) continue;
    spell(value, spelling);
    if (value.kind === 'flightLevel') {
      const written = text.slice(value.span.start, value.span.end);
      spelling.text.set(value.span.start, `FL${written.replace(/\D/g, '')}`);
    }
    const isChoice = value.kind === 'word' && KEYWORDS.has(value.text.toLowerCase());
    if (value.kind === 'name' || value.kind === 'text' || (value.kind === 'word' && !isChoice)) names.push(value.span);
  }
  const isName = (tok: Token) => names.some((span) => tok.startOffset >= span.start && tok.startOffset < span.end);
  const { tokens } = line;
  const pieces = tokens.map((tok) => {
    const own = spelling.text.get(tok.startOffset);
    if (own !== undefined) return own;
    if (isName(tok)) return tok.image;
    if (tok.tokenType === PlusMinus) return '±';
    const lower = tok.image.toLowerCase();
    return KEYWORDS.has(lower) ? lower : tok.image;
  });
  const tight = tokens.map((tok, i) => {
    const before = tokens[i - 1];
    if (!before) return false;
    if (spelling.tight.has(tok.startOffset)) return true;
    if (before.tokenType === NumberToken) return pieces[i] === '°' || pieces[i] === '°M';
    // `47.2031°N`, as `47°12.19'N`; but a wind's `230° at` is no coordinate.
    return before.tokenType === Degree && /^[NSEW]$/.test(pieces[i] as string);
  });
  return { pieces, tight };
}

/** Whether a text reads as the line of these tokens, each written as its piece. */
function readsAs(text: string, tokens: readonly Token[], pieces: readonly string[], comment: string): boolean {
  const again = tokenize(text);
  return (
    again.tokens.length === tokens.length &&
    again.tokens.every((tok, i) => tok.tokenType === tokens[i]?.tokenType && tok.image === pieces[i]) &&
    (again.comments[0]?.image ?? '') === comment
  );
}

/** A line in the standard layout; undefined where it stays as written. */
function formatLine(entry: EntrySyntax, line: LineSyntax, comment: string): string | undefined {
  const { form } = line;
  if (!form || !entry.form || line.problems.length > 0) return undefined;
  const { pieces, tight } = piecesOf(entry.text, line);
  const join = (from: number, to: number) => {
    let out = '';
    for (let i = from; i < to; i++) out += (i > from && !tight[i] ? ' ' : '') + pieces[i];
    return out;
  };
  let text: string;
  if (line === entry.head) text = join(0, pieces.length);
  else {
    const behind = leadOf(form).length;
    const lead = join(0, behind);
    text = INDENT + (behind < pieces.length ? lead.padEnd(columnOf(entry.form)) + join(behind, pieces.length) : lead);
  }
  if (comment) text += `  ${comment}`;
  return readsAs(text, line.tokens, pieces, comment) ? text : undefined;
}

const isLineEnd = (c: number) => c === 10 || c === 13;

const linesKept = new WeakMap<EntrySyntax, readonly string[]>();

/**
 * Every line of an entry's text without its line end, formatted; without a byte order mark. The last one is empty when
 * the text ends with a line end. Kept with the entry.
 */
export function formattedLines(entry: EntrySyntax): readonly string[] {
  let lines = linesKept.get(entry);
  if (!lines) {
    lines = layOutLines(entry);
    linesKept.set(entry, lines);
  }
  return lines;
}

function layOutLines(entry: EntrySyntax): string[] {
  const { text, lineStarts } = entry;
  const lines = linesOf(entry);
  const out: string[] = [];
  let nextLine = 0;
  let nextComment = 0;
  for (const [i, lineStart] of lineStarts.entries()) {
    const start = i === 0 && text.startsWith(BOM) ? 1 : lineStart;
    const behind = lineStarts[i + 1] ?? text.length;
    let end = behind;
    while (end > start && isLineEnd(text.charCodeAt(end - 1))) end--;
    const line = (lines[nextLine]?.span.start ?? text.length) < behind ? lines[nextLine++] : undefined;
    const found = entry.comments[nextComment];
    const commentToken = found && found.startOffset < behind ? found : undefined;
    if (commentToken) nextComment++;
    const comment = commentToken ? trimmed(commentToken.image) : '';
    if (line) out.push(formatLine(entry, line, comment) ?? text.slice(start, end));
    else if (commentToken) out.push((commentToken.startOffset > start ? INDENT : '') + comment);
    else out.push('');
  }
  return out;
}

/**
 * The lines of an entry in the standard layout, one for each line of its text (the last one is empty when the text ends
 * with a line end), so that any range of lines can be formatted. Lines that cannot be read for certain are as written.
 */
export function formatEntryLines(entry: EntrySyntax): readonly string[] {
  const lines = formattedLines(entry);
  return entry.text.startsWith(BOM) ? [BOM + (lines[0] ?? ''), ...lines.slice(1)] : lines;
}

/** Without runs of empty lines; `before` is the line above. */
function withoutRuns(lines: readonly string[], before: string): string[] {
  return lines.filter((line, i) => line !== '' || (i === 0 ? before : lines[i - 1]) !== '');
}

/** The line end of a text: that of its first line. */
function lineEndOf(text: string): string {
  const first = /\r\n|\n|\r/.exec(text)?.[0];
  return first === '\r\n' ? first : '\n';
}

/**
 * An entry's text in the standard layout, with the line ends of its first line; the last line ends as it did.
 * Undefined when the result would not say what the text says.
 */
export function formatEntryText(entry: EntrySyntax): string | undefined {
  const bom = entry.text.startsWith(BOM) ? BOM : '';
  const lines = formattedLines(entry);
  const ends = lines.at(-1) === '' && lines.length > 1;
  const kept = withoutRuns(ends ? lines.slice(0, -1) : lines, '-');
  const lineEnd = lineEndOf(entry.text);
  const text = bom + kept.join(lineEnd) + (ends ? lineEnd : '');
  return saysTheSame(parseFile(entry.text).trees, parseFile(text).trees) ? text : undefined;
}

/** The image of a token as far as the formatter must not change it. */
function essence(tok: Token): string {
  if (tok.tokenType === Str) return tok.image;
  if (tok.tokenType === PlusMinus) return '±';
  const unit = unitOf(tok.image);
  if (unit) return unit.text;
  const folded = tok.image.toLowerCase().replace(/\s+/g, '');
  if (tok.tokenType !== Angle) return folded;
  return folded.replace(/''|′′|[″”]/g, '"').replace(/[′’]/g, "'");
}

/** Whether two lots of entries hold the same tokens and comments, in the same lines, read by the same forms. */
function saysTheSame(before: readonly EntrySyntax[], after: readonly EntrySyntax[]): boolean {
  const linesIn = (all: readonly EntrySyntax[]) => all.flatMap((entry) => linesOf(entry));
  const commentsIn = (all: readonly EntrySyntax[]) => all.flatMap(({ comments }) => comments);
  const [a, b] = [linesIn(before), linesIn(after)];
  const [commentsA, commentsB] = [commentsIn(before), commentsIn(after)];
  return (
    a.length === b.length &&
    a.every((line, i) => {
      const other = b[i] as LineSyntax;
      const [tokens, twins] = [line.tokens, other.tokens];
      return (
        line.form === other.form &&
        line.problems.length === other.problems.length &&
        tokens.length === twins.length &&
        tokens.every((tok, j) => {
          const twin = twins[j] as Token;
          return tok.tokenType === twin.tokenType && (tok.image === twin.image || essence(tok) === essence(twin));
        })
      );
    }) &&
    commentsA.length === commentsB.length &&
    commentsA.every((comment, i) => trimmed(comment.image) === trimmed(commentsB[i]?.image ?? ''))
  );
}

/** An entry as the formatter writes it, below a line that is empty or not. */
interface Block {
  readonly belowEmpty: boolean;
  readonly lineEnd: string;
  readonly text: string;
}

const blocksKept = new WeakMap<EntrySyntax, Block>();

/** The text of an entry's lines, without runs of empty ones; kept with the entry. */
function blockOf(entry: EntrySyntax, belowEmpty: boolean, lineEnd: string): string {
  const known = blocksKept.get(entry);
  if (known?.belowEmpty === belowEmpty && known.lineEnd === lineEnd) return known.text;
  const lines = withoutRuns(ownLines(entry), belowEmpty ? '' : '-');
  const text = lines.map((line) => line + lineEnd).join('');
  blocksKept.set(entry, { belowEmpty, lineEnd, text });
  return text;
}

/** An entry's lines but the empty one behind the last line end: that is the next entry's first line, or nothing. */
function ownLines(entry: EntrySyntax): readonly string[] {
  const lines = formattedLines(entry);
  return lines.at(-1) === '' && entry.text !== '' ? lines.slice(0, -1) : lines;
}

const soundKept = new WeakMap<EntrySyntax, { readonly block: string; readonly isSound: boolean }>();

/** Whether the formatted text of an entry is one entry again, which says what it says; kept with the entry. */
function isSoundBlock(entry: EntrySyntax, block: string): boolean {
  let known = soundKept.get(entry);
  if (known?.block !== block) {
    const isEntry = entry.head !== undefined;
    const [piece, ...more] = entryTexts(block);
    const isOne = more.length === 0 && piece?.isEntry === isEntry;
    known = { block, isSound: isOne && saysTheSame([entry], [parseEntry(block, isEntry)]) };
    soundKept.set(entry, known);
  }
  return known.isSound;
}

/**
 * Whether blocks, one behind the other, are each an entry that says what its own says: then the whole says the same. An
 * entry begins where one of its lines says so, whatever stands around it; only what stands first needs no such line.
 */
function fallsInto(blocks: readonly string[], entries: readonly EntrySyntax[]): boolean {
  let isFirst = true;
  for (const [i, block] of blocks.entries()) {
    const entry = entries[i] as EntrySyntax;
    if (block === '' && linesOf(entry).length + entry.comments.length === 0) continue;
    if (block === '' || (!isFirst && !entry.head) || !isSoundBlock(entry, block)) return false;
    isFirst = false;
  }
  return !isFirst;
}

/** A formatted text; or why there is none. */
export type Formatted = { readonly text: string } | { readonly refused: string };

/** A formatted text, with its line end and whether its first line would stand below an empty one; or why there is none. */
export type LaidOut =
  | { readonly text: () => string; readonly lineEnd: string; readonly belowEmpty: boolean }
  | { readonly refused: string };

/**
 * A file in the standard layout. Nothing is lost: lines that cannot be read for certain stay as written, and a result
 * that would not hold the same tokens and comments is refused. Formatting the result again changes nothing. What an edit
 * leaves as it is is not laid out again.
 */
export function formatFile(file: FileSyntax): Formatted {
  const laid = layOut(file);
  return 'refused' in laid ? laid : { text: laid.text() };
}

/** The same, for whoever makes edits of it. */
export function layOut(file: FileSyntax): LaidOut {
  const { trees: entries } = file;
  const bom = entries[0]?.text.startsWith(BOM) ? BOM : '';
  const lineEnd = lineEndOf(entries.find(({ text }) => /[\r\n]/.test(text))?.text ?? '');
  // A byte order mark further down is white space; at the start of the text it would be one.
  const isFirstMarked = (): boolean => {
    for (const entry of entries) {
      const first = formattedLines(entry).find((line) => line !== '');
      if (first !== undefined) return first.startsWith(BOM);
    }
    return false;
  };
  const belowEmpty = bom !== '' || !isFirstMarked();
  let isEmpty = belowEmpty;
  const blocks = entries.map((entry) => {
    const block = blockOf(entry, isEmpty, lineEnd);
    isEmpty = (ownLines(entry).at(-1) ?? (isEmpty ? '' : '-')) === '';
    return block;
  });
  // No empty lines at the end.
  for (let i = blocks.length - 1; i >= 0; i--) {
    let block = blocks[i] as string;
    while (block === lineEnd || block.endsWith(lineEnd + lineEnd)) block = block.slice(0, -lineEnd.length);
    blocks[i] = block;
    if (block !== '') break;
  }
  const text = () => bom + blocks.join('');
  const isMarked = bom !== '' || blocks.find((block) => block !== '')?.startsWith(BOM) === true;
  const isSame = (!isMarked && fallsInto(blocks, entries)) || saysTheSame(entries, parseFile(text(), file).trees);
  if (!isSame) return { refused: 'the result would not say what the text says' };
  return { text, lineEnd, belowEmpty };
}
