/** From the text of one entry to its syntax tree. */
import { formOf, parseLine } from './parser.ts';
import type { EntrySyntax, LineSyntax, Span, SyntaxProblem } from './syntax.ts';
import { linesOfTokens, spanOf, type Token, tokenize } from './tokens.ts';
import { type EntryForm, entryForm } from './vocabulary.ts';

/** Offsets at which lines start: behind `\n`, `\r\n` or a lone `\r`, as editors count them. */
export function lineStartsOf(text: string): number[] {
  const starts = [0];
  for (let i = 0; i < text.length; i++) {
    const c = text.charCodeAt(i);
    if (c === 10 || (c === 13 && text.charCodeAt(i + 1) !== 10)) starts.push(i + 1);
  }
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
  const line: Span = {
    start: first.startOffset,
    end: spanOf(tokens[tokens.length - 1] as Token).end,
  };
  if (!inEntry) return parseLine(text, undefined, tokens, [{ kind: 'detail-without-entry', span: line }]);
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
  const indented = isIndented(text, first);
  return parseLine(
    text,
    detail,
    tokens,
    indented ? [] : [{ kind: 'not-indented', span: spanOf(first), found: first.image }],
  );
}

/**
 * The syntax tree of one entry. `startsEntry` is false for the text before a file's first entry. Never throws.
 */
export function parseEntry(text: string, startsEntry: boolean): EntrySyntax {
  const { tokens, comments } = tokenize(text);
  const lines = linesOfTokens(tokens);
  let head: LineSyntax | undefined;
  let form: EntryForm | undefined;
  const details: LineSyntax[] = [];
  for (const line of lines) {
    if (startsEntry && !head) ({ head, form } = parseHead(text, line));
    else details.push(parseDetail(text, line, form, startsEntry));
  }
  const name = head?.slots['name'];
  const last = details[details.length - 1] ?? head;
  const isWell = (line: LineSyntax) => line.form !== undefined && line.problems.length === 0;
  return {
    text,
    form,
    head,
    name: name?.kind === 'name' ? name : undefined,
    details,
    comments,
    lineStarts: lineStartsOf(text),
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
export function entryToRead(text: string, startsEntry: boolean): EntrySyntax {
  let tree: EntrySyntax | undefined;
  let starts: readonly number[] | undefined;
  const read = (): EntrySyntax => {
    tree ??= parseEntry(text, startsEntry);
    return tree;
  };
  return {
    text,
    get form() {
      return read().form;
    },
    get head() {
      return read().head;
    },
    get name() {
      return read().name;
    },
    get details() {
      return read().details;
    },
    get comments() {
      return read().comments;
    },
    get lineStarts() {
      starts ??= tree?.lineStarts ?? lineStartsOf(text);
      return starts;
    },
    get span() {
      return read().span;
    },
    get isSound() {
      return read().isSound;
    },
  };
}
