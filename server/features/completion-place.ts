/** Where completion is asked for: the line up to the caret in tokens, and the stretch that an accepted item replaces. */
import type { Range } from 'vscode-languageserver-types';
import { entryAtLine, type LinePosition, type PlacedEntry } from '../../grammar/file.ts';
import { Str, spanOf, type Token, tokenize, UnclosedStr } from '../../grammar/tokens.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';

/** Columns count from the start of the line. */
export interface CompletionPlace {
  readonly workspace: Workspace;
  readonly understood: Understood;
  /** The entry in whose text the line lies. */
  readonly placed: PlacedEntry;
  /** Of the file, from 0. */
  readonly row: number;
  /** Offset of the line in the entry's text. */
  readonly lineStart: number;
  /** Without its line end. */
  readonly lineText: string;
  readonly indented: boolean;
  /** Tokens that are complete before the caret: what is being typed is not among them. */
  readonly tokens: readonly Token[];
  /** What is being typed, up to the caret; may be empty. */
  readonly run: string;
  readonly runStart: number;
  /** Where the word or text at the caret ends. */
  readonly runEnd: number;
  /** Nothing but a comment follows. */
  readonly lastOnLine: boolean;
}

const BOM = '\uFEFF';

/** A word's end: that of the white space to come, of a comment, or of text in quotes. */
function wordEnd(text: string, from: number): number {
  let end = from;
  while (end < text.length && !/[\s#"]/.test(text[end] as string)) end++;
  return end;
}

/** The place at a position; undefined inside a comment, and where there is no such line. */
export function completionPlace(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
): CompletionPlace | undefined {
  const placed = entryAtLine(understood.file.syntax, position.line);
  const { syntax } = placed ?? {};
  const lineStart = syntax?.lineStarts[position.line - (placed as PlacedEntry).line];
  if (!placed || !syntax || lineStart === undefined) return undefined;
  const behind = syntax.lineStarts[position.line - placed.line + 1] ?? syntax.text.length;
  const lineText = syntax.text.slice(lineStart, behind).replace(/[\r\n]+$/, '');
  const bom = position.line === 0 && lineText.startsWith(BOM) ? 1 : 0;
  const caret = Math.max(bom, Math.min(position.character, lineText.length));
  const before = tokenize(lineText.slice(0, caret));
  if (before.comments.length > 0) return undefined;
  const last = before.tokens.at(-1);
  const end = last ? spanOf(last).end : 0;
  let runStart = caret;
  if (last && (last.tokenType === UnclosedStr || (last.tokenType === Str && end === caret)))
    runStart = last.startOffset;
  else if (end === caret) {
    const quoteEnd = before.tokens.reduce((at, tok) => (tok.tokenType === Str ? spanOf(tok).end : at), bom);
    while (runStart > quoteEnd && !/\s/.test(lineText[runStart - 1] as string)) runStart--;
  }
  const whole = tokenize(lineText).tokens.find((tok) => tok.startOffset === runStart);
  const quoted = whole?.tokenType === Str ? spanOf(whole).end : undefined;
  const runEnd = Math.max(caret, quoted ?? wordEnd(lineText, caret));
  return {
    workspace,
    understood,
    placed,
    row: position.line,
    lineStart,
    lineText,
    indented: /^\s/.test(lineText.slice(bom)),
    tokens: before.tokens.filter((tok) => spanOf(tok).end <= runStart),
    run: lineText.slice(runStart, caret),
    runStart,
    runEnd,
    lastOnLine: /^\s*(?:#.*)?$/.test(lineText.slice(runEnd)),
  };
}

/** The range of the file between two columns of the line. */
export function rangeOnLine({ row }: CompletionPlace, from: number, to: number): Range {
  return { start: { line: row, character: from }, end: { line: row, character: to } };
}

/** The line end that the file is written with. */
export function lineEndIn({ understood }: CompletionPlace): string {
  const first = /\r\n|\n|\r/.exec(understood.file.syntax.text)?.[0];
  return first === '\r\n' ? first : '\n';
}
