/**
 * The formatter. It works line by line: a detail's text starts in a column that depends on the kind of entry alone, so
 * adding, dropping or changing one line never moves another, and one fact stays one line of a diff. A line that cannot
 * be read for certain stays as it is written, and every line is read again before it is given out.
 */
import { type FileSyntax, parseFile } from './file.ts';
import type { AngleNode, EntrySyntax, LineSyntax, ValueNode } from './syntax.ts';
import { linesOf } from './syntax.ts';
import { Angle, Degree, NumberToken, PlusMinus, Str, type Token, tokenize } from './tokens.ts';
import { unitOf } from './units.ts';
import { CONNECTORS, type Element, type EntryForm, type Form, KEYWORDS, leadingWords } from './vocabulary.ts';

const INDENT = '  ';
const BOM = '\uFEFF';

/** Words that already belong to what is said behind the keyword: `climb` | `to 4800 ft MSL`. */
const JOINING: ReadonlySet<string> = new Set([...CONNECTORS, 'up', 'in']);

const isWord = (element: Element) => 'word' in element;

/** The keywords of a detail that stand in front of its column. */
function leadOf(form: Form): readonly string[] {
  const words = leadingWords(form);
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
  const pieces = line.tokens.map((tok) => {
    const own = spelling.text.get(tok.startOffset);
    if (own !== undefined) return own;
    if (isName(tok)) return tok.image;
    if (tok.tokenType === PlusMinus) return '±';
    const lower = tok.image.toLowerCase();
    return KEYWORDS.has(lower) ? lower : tok.image;
  });
  const tight = line.tokens.map((tok, i) => {
    const before = line.tokens[i - 1];
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

/** Every line of an entry's text without its line end, formatted; without a byte order mark. */
function formattedLines(entry: EntrySyntax): string[] {
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
    const comment = commentToken?.image.trimEnd() ?? '';
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
export function formatEntryLines(entry: EntrySyntax): string[] {
  const lines = formattedLines(entry);
  if (entry.text.startsWith(BOM)) lines[0] = BOM + lines[0];
  return lines;
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
  return saysTheSame(parseFile(entry.text), parseFile(text)) ? text : undefined;
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

/** Whether two files hold the same tokens and comments, in the same lines, read by the same forms. */
function saysTheSame(before: FileSyntax, after: FileSyntax): boolean {
  const linesIn = (file: FileSyntax) => file.entries.flatMap(({ syntax }) => linesOf(syntax));
  const commentsIn = (file: FileSyntax) => file.entries.flatMap(({ syntax }) => syntax.comments);
  const [a, b] = [linesIn(before), linesIn(after)];
  const [commentsA, commentsB] = [commentsIn(before), commentsIn(after)];
  return (
    a.length === b.length &&
    a.every((line, i) => {
      const other = b[i] as LineSyntax;
      return (
        line.form === other.form &&
        line.problems.length === other.problems.length &&
        line.tokens.length === other.tokens.length &&
        line.tokens.every((tok, j) => {
          const twin = other.tokens[j] as Token;
          return tok.tokenType === twin.tokenType && (tok.image === twin.image || essence(tok) === essence(twin));
        })
      );
    }) &&
    commentsA.length === commentsB.length &&
    commentsA.every((comment, i) => comment.image.trimEnd() === commentsB[i]?.image.trimEnd())
  );
}

/** A formatted text, or why there is none. */
export type Formatted = { readonly text: string } | { readonly refused: string };

/**
 * A file in the standard layout. Nothing is lost: lines that cannot be read for certain stay as written, and a result
 * that would not hold the same tokens and comments is refused. Formatting the result again changes nothing.
 */
export function formatFile(file: FileSyntax): Formatted {
  const bom = file.text.startsWith(BOM) ? BOM : '';
  const lineEnd = lineEndOf(file.text);
  const all: string[] = [];
  for (const { syntax } of file.entries) {
    const lines = formattedLines(syntax);
    // The piece behind the last line end is the next entry's first line, or nothing.
    if (lines.at(-1) === '' && syntax.text !== '') lines.pop();
    for (const line of lines) all.push(line);
  }
  // A byte order mark further down is white space; at the start of the text it would be one.
  const first = all.find((line) => line !== '');
  const lines = withoutRuns(all, bom === '' && first?.startsWith(BOM) ? '-' : '');
  while (lines.at(-1) === '') lines.pop();
  const text = bom + lines.map((line) => line + lineEnd).join('');
  if (!saysTheSame(file, parseFile(text, file))) return { refused: 'the result would not say what the text says' };
  return { text };
}
