/** What stands at a position of a file: the entry, the line, the slot. */
import { entryAtLine, type FileSyntax, type LinePosition, type PlacedEntry } from '../../grammar/file.ts';
import { type LineSyntax, linesOf, type Span, type ValueNode } from '../../grammar/syntax.ts';
import { type Slot, slotsOf } from '../../grammar/vocabulary.ts';

export interface Located {
  readonly placed: PlacedEntry;
  /** Offset in the entry's text. */
  readonly offset: number;
  readonly line: LineSyntax | undefined;
  readonly slot: Slot | undefined;
  readonly node: ValueNode | undefined;
}

/** Whether an offset touches a span, its end included. */
export function touches(span: Span, offset: number): boolean {
  return span.start <= offset && offset <= span.end;
}

/** What stands at a position; undefined only for a position in no entry. A character past the line's end counts as its end. */
export function locate(file: FileSyntax, position: LinePosition): Located | undefined {
  const placed = entryAtLine(file, position.line);
  if (!placed) return undefined;
  const { syntax } = placed;
  const row = position.line - placed.line;
  const start = syntax.lineStarts[row];
  if (start === undefined) return undefined;
  const next = syntax.lineStarts[row + 1] ?? syntax.text.length + 1;
  const offset = Math.min(start + position.character, next - 1);
  const line = linesOf(syntax).find(({ span }) => span.start >= start && span.start < next);
  let slot: Slot | undefined;
  let node: ValueNode | undefined;
  if (line?.form) {
    for (const [name, candidate] of slotsOf(line.form)) {
      const value = line.slots[name];
      if (value && touches(value.span, offset)) {
        slot = candidate;
        node = value;
        // At the seam of two values the one that starts there is meant.
        if (value.span.start === offset) break;
      }
    }
  }
  return { placed, offset, line, slot, node };
}
