/**
 * Folding, and the lines that a reader takes for one entry: the comment right above it is its own, though the text of
 * the entry before holds it.
 */
import { type FoldingRange, FoldingRangeKind, type Range } from 'vscode-languageserver-types';
import { type FileSyntax, type PlacedEntry, positionAt } from '../../grammar/file.ts';
import type { EntrySyntax, Span } from '../../grammar/syntax.ts';
import { spanOf, type Token } from '../../grammar/tokens.ts';

/** The row of an entry's text in which an offset lies. */
function rowAt(entry: EntrySyntax, offset: number): number {
  return positionAt({ syntax: entry, offset: 0, line: 0 }, offset).line;
}

/** What stands alone on a line, as against behind a detail. */
interface CommentLine {
  readonly row: number;
  readonly span: Span;
  readonly indented: boolean;
}

function commentLine(entry: EntrySyntax, token: Token): CommentLine | undefined {
  const span = spanOf(token);
  const row = rowAt(entry, span.start);
  const before = entry.text.slice(entry.lineStarts[row], span.start).replace(/^\uFEFF/, '');
  return before.trim() === '' ? { row, span, indented: before !== '' } : undefined;
}

/** What an entry's text says of where it ends for a reader; the same wherever the entry stands. */
interface Ends {
  readonly comments: readonly CommentLine[];
  /** Behind its last detail, or the indented comment that follows it. */
  readonly end: number;
  /** How many lines at the very end are unindented comments: those of the entry that follows. */
  readonly lent: number;
}

const endsKept = new WeakMap<EntrySyntax, Ends>();

function endsOf(entry: EntrySyntax): Ends {
  const known = endsKept.get(entry);
  if (known) return known;
  const comments = entry.comments.flatMap((token) => commentLine(entry, token) ?? []);
  let end = entry.span.end;
  // What stands alone and unindented below the last detail belongs to no entry, or to the next.
  const free = new Set(comments.filter(({ indented }) => !indented).map(({ span }) => span.start));
  for (const token of entry.comments) {
    const span = spanOf(token);
    if (!free.has(span.start)) end = Math.max(end, span.end);
  }
  let lent = 0;
  for (let i = comments.length - 1, row = entry.lineStarts.length - 2; i >= 0; i--, row--) {
    const comment = comments[i] as CommentLine;
    if (comment.indented || comment.row !== row) break;
    lent++;
  }
  const ends = { comments, end, lent };
  endsKept.set(entry, ends);
  return ends;
}

const extentsKept = new WeakMap<FileSyntax, ReadonlyMap<PlacedEntry, Range>>();

/** The entries of a file, each from the comment right above it to the end of its last line. Text before the first is none. */
export function extentsOf(file: FileSyntax): ReadonlyMap<PlacedEntry, Range> {
  const known = extentsKept.get(file);
  if (known) return known;
  const extents = new Map<PlacedEntry, Range>();
  let lent = 0;
  for (const placed of file.entries) {
    const { end, lent: toNext } = endsOf(placed.syntax);
    if (placed.syntax.head) {
      const head = positionAt(placed, placed.syntax.span.start);
      const start = lent > 0 ? { line: placed.line - lent, character: 0 } : head;
      extents.set(placed, { start, end: positionAt(placed, end) });
    }
    lent = toNext;
  }
  extentsKept.set(file, extents);
  return extents;
}

/** Comments of two lines and more in the text of an entry, as ranges of the file; an indented one and an unindented one are two. */
export function commentBlocks(placed: PlacedEntry): Range[] {
  const blocks: CommentLine[][] = [];
  for (const comment of endsOf(placed.syntax).comments) {
    const block = blocks[blocks.length - 1];
    const above = block?.[block.length - 1];
    if (above && above.row === comment.row - 1 && above.indented === comment.indented) block?.push(comment);
    else blocks.push([comment]);
  }
  return blocks
    .filter((block) => block.length > 1)
    .map((block) => {
      const [first, last] = [block[0], block[block.length - 1]] as [CommentLine, CommentLine];
      return { start: { line: placed.line + first.row, character: 0 }, end: positionAt(placed, last.span.end) };
    });
}

/** Entries with details, comments of several lines, and runs of `use` lines. */
export function foldingRanges(file: FileSyntax): FoldingRange[] {
  const folds: FoldingRange[] = [];
  const fold = (startLine: number, endLine: number, kind?: FoldingRangeKind): void => {
    if (endLine > startLine) folds.push({ startLine, endLine, ...(kind ? { kind } : {}) });
  };
  let uses: { from: number; to: number } | undefined;
  const closeUses = (): void => {
    if (uses) fold(uses.from, uses.to, FoldingRangeKind.Imports);
    uses = undefined;
  };
  for (const [placed, { end }] of extentsOf(file)) {
    const head = positionAt(placed, placed.syntax.span.start).line;
    if (placed.syntax.form?.keyword === 'use') {
      uses = { from: uses?.from ?? head, to: end.line };
      continue;
    }
    closeUses();
    fold(head, end.line);
  }
  closeUses();
  for (const placed of file.entries) {
    for (const { start, end } of commentBlocks(placed)) fold(start.line, end.line, FoldingRangeKind.Comment);
  }
  return folds.sort((a, b) => a.startLine - b.startLine || b.endLine - a.endLine);
}
