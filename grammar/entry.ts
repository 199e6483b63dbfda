/** From the text of one entry to its syntax tree. */
import { formOf, movedLine, parseLine } from './parser.ts';
import type { EntrySyntax, LineSyntax, Span, SyntaxProblem } from './syntax.ts';
import { type Lexed, linesOfTokens, spanOf, type Token, tokenize } from './tokens.ts';
import { type EntryForm, entryForm } from './vocabulary.ts';

/** The lines of a text in order: they end with `\n`, `\r\n` or a lone `\r`, as editors count them. */
export class Lines {
  private readonly text: string;
  private feed = -1;
  private carriage = -1;

  constructor(text: string) {
    this.text = text;
  }

  /** Where the line behind the one that `at` lies in starts; Infinity behind the last. `at` never goes back. */
  behind(at: number): number {
    if (this.feed < at) this.feed = this.next('\n', at);
    if (this.carriage < at) this.carriage = this.next('\r', at);
    return this.carriage + 1 < this.feed ? this.carriage + 1 : this.feed + 1;
  }

  private next(end: string, at: number): number {
    const found = this.text.indexOf(end, at);
    return found < 0 ? Infinity : found;
  }
}

/** Offsets at which lines start. */
export function lineStartsOf(text: string): number[] {
  const lines = new Lines(text);
  const starts: number[] = [];
  for (let at = 0; at < Infinity; at = lines.behind(at)) starts.push(at);
  return starts;
}

function isIndented(text: string, tok: Token): boolean {
  const before = tok.startOffset - 1;
  if (before < 0) return false;
  const c = text.charCodeAt(before);
  return c !== 10 && c !== 13 && !(before === 0 && c === 0xfeff);
}

function parseHead(
  text: string,
  tokens: readonly Token[],
): {
  head: LineSyntax;
  form: EntryForm | undefined;
} {
  const first = tokens[0] as Token;
  const form = entryForm(first.image.toLowerCase());
  if (form) return { head: parseLine(text, form.head, tokens), form };
  const found = first.image;
  return {
    head: parseLine(text, undefined, tokens, [{ kind: 'entry-unknown', span: spanOf(first), found }]),
    form: undefined,
  };
}

function parseDetail(
  text: string,
  tokens: readonly Token[],
  form: EntryForm | undefined,
  inEntry: boolean,
): LineSyntax {
  const first = tokens[0] as Token;
  if (!inEntry) {
    const { end } = spanOf(tokens[tokens.length - 1] as Token);
    return parseLine(text, undefined, tokens, [
      { kind: 'detail-without-entry', span: { start: first.startOffset, end } },
    ]);
  }
  if (!form) return parseLine(text, undefined, tokens);
  const detail = formOf(form.details, tokens);
  if (!detail) {
    const unknown: SyntaxProblem = {
      kind: 'detail-unknown',
      span: spanOf(first),
      found: first.image,
      entry: form,
    };
    return parseLine(text, undefined, tokens, [unknown]);
  }
  if (isIndented(text, first)) return parseLine(text, detail, tokens);
  return parseLine(text, detail, tokens, [{ kind: 'not-indented', span: spanOf(first), found: first.image }]);
}

/** The lines at the start and at the end of a text that stand in another as well, and what lies between them. */
interface Unchanged {
  /** Of the text: where what differs begins and ends. */
  readonly from: number;
  readonly to: number;
  /** How much further on the lines at the end stand than in the other. */
  readonly by: number;
}

function unchanged(
  text: string,
  starts: readonly number[],
  { text: other, lineStarts: others }: EntrySyntax,
): Unchanged {
  const least = Math.min(starts.length, others.length);
  const line = (of: string, at: readonly number[], i: number) => of.slice(at[i], at[i + 1]);
  let first = 0;
  // The last line of a text has no end, and may go on in the other.
  while (first < least - 1 && line(text, starts, first) === line(other, others, first)) first++;
  let last = 0;
  while (
    last < least - first &&
    line(text, starts, starts.length - 1 - last) === line(other, others, others.length - 1 - last)
  )
    last++;
  return {
    from: starts[first] as number,
    to: starts[starts.length - last] ?? text.length,
    by: text.length - other.length,
  };
}

const isWell = ({ form, problems }: LineSyntax) => form !== undefined && problems.length === 0;

/** Tokens of a part of a text that begins at `from`, with their places in the whole. */
function tokenizePart(text: string, from: number, to: number): Lexed {
  const lexed = tokenize(text.slice(from, to));
  if (from > 0) for (const tok of [...lexed.tokens, ...lexed.comments]) tok.startOffset += from;
  return lexed;
}

/**
 * The syntax tree of one entry. `startsEntry` is false for the text before a file's first entry. Of `before`, the tree of
 * the entry that an edit changed into this one, the lines that stand unchanged are taken over. Never throws.
 */
export function parseEntry(
  text: string,
  startsEntry: boolean,
  before?: EntrySyntax,
  lineStarts: readonly number[] = lineStartsOf(text),
): EntrySyntax {
  const takes = startsEntry && before?.head ? unchanged(text, lineStarts, before) : undefined;
  return (
    read(text, startsEntry, lineStarts, takes && before, takes) ?? (read(text, startsEntry, lineStarts) as EntrySyntax)
  );
}

/** Reads an entry; undefined where the lines of another are of no use, since its details are read by another form. */
function read(
  text: string,
  startsEntry: boolean,
  lineStarts: readonly number[],
  before?: EntrySyntax,
  { from, to, by }: Unchanged = { from: 0, to: text.length, by: 0 },
): EntrySyntax | undefined {
  const isStart = ({ start }: Span) => start < from;
  const isEnd = ({ start }: Span) => start + by >= to;
  const lexed = tokenizePart(text, from, to);
  let head = before?.head;
  if (head && isEnd(head.span)) return undefined;
  head = head && isStart(head.span) ? movedLine(head, text, 0) : undefined;
  let form = head && before?.form;
  let lines = linesOfTokens(lexed.tokens);
  const [first] = lines;
  if (startsEntry && !head && first) {
    ({ head, form } = parseHead(text, first));
    lines = lines.slice(1);
  }
  const own = lines.map((line) => parseDetail(text, line, form, startsEntry));
  let details: readonly LineSyntax[] = own;
  let { comments } = lexed;
  if (before) {
    if (!head || form !== before.form) return undefined;
    details = [
      ...before.details.filter(({ span }) => isStart(span)).map((line) => movedLine(line, text, 0)),
      ...own,
      ...before.details.filter(({ span }) => isEnd(span)).map((line) => movedLine(line, text, by)),
    ];
    comments = [
      ...before.comments.filter((tok) => isStart(spanOf(tok))),
      ...comments,
      ...before.comments
        .filter((tok) => isEnd(spanOf(tok)))
        .map((tok) => ({ ...tok, startOffset: tok.startOffset + by })),
    ];
  }
  const name = head?.slots['name'];
  const last = details[details.length - 1] ?? head;
  return {
    text,
    form,
    head,
    name: name?.kind === 'name' ? name : undefined,
    details,
    comments,
    lineStarts,
    span: {
      start: head?.span.start ?? details[0]?.span.start ?? 0,
      end: last?.span.end ?? 0,
    },
    isSound: (!head || isWell(head)) && details.every(isWell),
  };
}

/**
 * The same as {@link parseEntry}, read once anything but its text and lines is asked for: of the entries that a burst of
 * edits goes through, only the last is.
 */
class EntryToRead implements EntrySyntax {
  readonly text: string;
  private readonly startsEntry: boolean;
  private tree: EntrySyntax | undefined;
  /** A tree of the entry before, until its own is made. */
  private before: EntrySyntax | undefined;
  private starts: readonly number[] | undefined;

  constructor(text: string, startsEntry: boolean, before?: EntrySyntax, lineStarts?: readonly number[]) {
    this.text = text;
    this.startsEntry = startsEntry;
    this.before = before instanceof EntryToRead ? (before.tree ?? before.before) : before;
    this.starts = lineStarts;
  }

  private read(): EntrySyntax {
    if (!this.tree) {
      this.tree = parseEntry(this.text, this.startsEntry, this.before, this.lineStarts);
      this.before = undefined;
    }
    return this.tree;
  }

  get form() {
    return this.read().form;
  }
  get head() {
    return this.read().head;
  }
  get name() {
    return this.read().name;
  }
  get details() {
    return this.read().details;
  }
  get comments() {
    return this.read().comments;
  }
  get lineStarts() {
    this.starts ??= lineStartsOf(this.text);
    return this.starts;
  }
  get span() {
    return this.read().span;
  }
  get isSound() {
    return this.read().isSound;
  }
}

/** An entry that is read when it is asked for; `lineStarts` are those of the text, where they are known. */
export function entryToRead(
  text: string,
  startsEntry: boolean,
  before?: EntrySyntax,
  lineStarts?: readonly number[],
): EntrySyntax {
  return new EntryToRead(text, startsEntry, before, lineStarts);
}
