/** Growing the selection: from the word or number at the caret to its value, its line, its entry and the file. */
import type { Range, SelectionRange } from 'vscode-languageserver-types';
import { type FileSyntax, type LinePosition, type PlacedEntry, positionAt, rangeAt } from '../../grammar/file.ts';
import type { AngleNode, LineSyntax, Span, ValueNode } from '../../grammar/syntax.ts';
import { spanOf } from '../../grammar/tokens.ts';
import { commentBlocks, extentsOf } from './folding.ts';
import { locate, touches } from './locate.ts';

/** A quoted text without its quotes. */
function insideQuotes(text: string, { start, end }: Span): Span[] {
  if (text[start] !== '"') return [];
  const closed = end - start > 1 && text[end - 1] === '"';
  return [{ start: start + 1, end: closed ? end - 1 : end }];
}

function anglesOf(angle: AngleNode | undefined): Span[] {
  if (!angle) return [];
  return angle.hemisphere ? [angle.hemisphere.span, angle.span] : [angle.span];
}

/** The parts of a value that one may want to select by themselves. */
function partsOf(value: ValueNode, text: string): Span[] {
  switch (value.kind) {
    case 'name':
    case 'text':
      return insideQuotes(text, value.span);
    case 'quantity':
      return [value.number, value.unit, value.datum].flatMap((part) => (part ? [part.span] : []));
    case 'duration':
      return value.parts.flatMap((part) => [...partsOf(part, text), part.span]);
    case 'coordinates':
      return [...anglesOf(value.first), ...anglesOf(value.second)];
    case 'runway':
      return value.ends.map(({ span }) => span);
    default:
      return [];
  }
}

/** A value with the words before it that say what it is: `at 75 kt`, `with pilot 82 kg`. */
function withItsWords(line: LineSyntax, value: ValueNode): Span {
  const others = Object.values(line.slots).flatMap((one) => (one && one !== value ? [one.span] : []));
  const flags = new Set(Object.values(line.flags).map((span) => span?.start));
  let { start } = value.span;
  for (const span of line.tokens.map(spanOf).reverse()) {
    if (span.start >= value.span.start) continue;
    if (span.start < line.keyword.end || others.some((other) => touches(other, span.start))) break;
    // A word that stands for a value itself, as `surface`, unless it leads this one, as `maccready`.
    if (start < value.span.start && flags.has(span.start)) break;
    start = span.start;
  }
  return { start, end: value.span.end };
}

/** What of an entry holds an offset, from the least to the line. */
function spansAt(placed: PlacedEntry, line: LineSyntax | undefined, offset: number): Span[] {
  const { text, comments } = placed.syntax;
  const comment = comments.map(spanOf).find((span) => touches(span, offset));
  if (comment && !(line && touches(line.span, offset))) return [comment];
  if (!line) return [];
  const values = Object.values(line.slots).filter((value): value is ValueNode => value !== undefined);
  const found = values.flatMap((value) => [...partsOf(value, text), value.span, withItsWords(line, value)]);
  return [...line.tokens.map(spanOf), line.keyword, ...found, line.span];
}

const isBefore = (a: LinePosition, b: LinePosition): boolean =>
  a.line < b.line || (a.line === b.line && a.character <= b.character);

const holds = (outer: Range, inner: Range): boolean =>
  isBefore(outer.start, inner.start) && isBefore(inner.end, outer.end);

const isEqual = (a: Range, b: Range): boolean => holds(a, b) && holds(b, a);

function wholeFile(file: FileSyntax): Range {
  const last = file.entries[file.entries.length - 1] as PlacedEntry;
  return { start: { line: 0, character: 0 }, end: positionAt(last, last.syntax.text.length) };
}

function chainAt(file: FileSyntax, position: LinePosition): SelectionRange {
  const whole = wholeFile(file);
  const located = locate(file, position);
  if (!located) return { range: whole };
  const { placed, line, offset } = located;
  const at = positionAt(placed, offset);
  const ranges: Range[] = spansAt(placed, line, offset)
    .filter((span) => touches(span, offset))
    // At a seam the part that starts there is meant, as for every other question about a place.
    .sort((a, b) => a.end - a.start - (b.end - b.start) || b.start - a.start)
    .map((span) => rangeAt(placed, span));
  // A comment above an entry stands in the text of the one before.
  const extents = extentsOf(file);
  const next = file.entries[file.entries.indexOf(placed) + 1];
  const entries = [placed, next].flatMap((one) => (one && extents.get(one)) ?? []);
  ranges.push(...commentBlocks(placed), ...entries, whole);
  const here: Range = { start: at, end: at };
  const growing: Range[] = [];
  for (const range of ranges) {
    const last = growing[growing.length - 1];
    if (!holds(range, last ?? here) || (last && isEqual(range, last))) continue;
    growing.push(range);
  }
  return growing.reduceRight<SelectionRange | undefined>(
    (parent, range) => (parent ? { range, parent } : { range }),
    undefined,
  ) as SelectionRange;
}

/** For each position, ranges that hold it and grow strictly, the last being the whole file. */
export function selectionRanges(file: FileSyntax, positions: readonly LinePosition[]): SelectionRange[] {
  return positions.map((position) => chainAt(file, position));
}
