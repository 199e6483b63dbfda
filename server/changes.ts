/** Edits as a client sends them. */
import type { TextDocumentContentChangeEvent } from 'vscode-languageserver-textdocument';

const isCount = (value: unknown): boolean => Number.isInteger(value) && (value as number) >= 0;
const isPlace = (at: { line?: unknown; character?: unknown } | undefined): boolean =>
  isCount(at?.line) && isCount(at?.character);

/** Whether something from a client is an edit: text, and where it goes if it is not the whole. */
export function isChange(change: unknown): change is TextDocumentContentChangeEvent {
  const { range, text } = (change ?? {}) as { range?: { start?: object; end?: object } | null; text?: unknown };
  if (typeof text !== 'string') return false;
  return range === undefined || (range !== null && isPlace(range.start) && isPlace(range.end));
}

/** Two edits as one, where the second lies within what the first has written on a line; undefined of any others. */
function joinedWith(
  one: TextDocumentContentChangeEvent,
  other: TextDocumentContentChangeEvent,
): TextDocumentContentChangeEvent | undefined {
  if (!('range' in one && 'range' in other) || /[\r\n]/.test(one.text)) return undefined;
  const { start, end } = one.range;
  const [from, to] = [other.range.start, other.range.end];
  if (end.line < start.line || (end.line === start.line && end.character < start.character)) return undefined;
  if (from.line !== start.line || to.line !== start.line) return undefined;
  const [first, last] = [from.character - start.character, to.character - start.character];
  if (first < 0 || last < first || last > one.text.length) return undefined;
  return { range: one.range, text: one.text.slice(0, first) + other.text + one.text.slice(last) };
}

/**
 * Applies edits, each in the text that the one before left, with those joined that lie within each other, such as what is
 * typed letter by letter. Characters are counted in UTF-16. `lineOf` tells a line of the text as it is then.
 */
export function applyJoined(
  changes: readonly TextDocumentContentChangeEvent[],
  lineOf: (line: number) => string,
  apply: (change: TextDocumentContentChangeEvent) => void,
): void {
  for (let i = 0; i < changes.length; ) {
    let change = changes[i++] as TextDocumentContentChangeEvent;
    // Beyond the end of a line the places of the text and of the edit are not the same.
    const { line, character } = 'range' in change ? change.range.start : { line: 0, character: 0 };
    if (character > 0 && character <= lineOf(line).length) {
      for (let next = changes[i]; next; next = changes[i]) {
        const both = joinedWith(change, next);
        if (!both) break;
        change = both;
        i++;
      }
    }
    apply(change);
  }
}
