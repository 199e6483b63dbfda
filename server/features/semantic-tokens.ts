/**
 * Colours by meaning: what a name stands for, and what each part of a value is. The types are those of the protocol, so
 * that any editor and theme knows them; modifiers of our own tell kinds apart that share one.
 */
import type { Range, SemanticTokensEdit, SemanticTokensLegend } from 'vscode-languageserver-types';
import { type EntrySyntax, type LineSyntax, linesOf, type Span, type ValueNode } from '../../grammar/syntax.ts';
import { PlusMinus, spanOf } from '../../grammar/tokens.ts';
import { KEYWORDS, type Namespace, type Slot, slotsOf } from '../../grammar/vocabulary.ts';
import type { Understood } from '../plan/understand.ts';
import { lookUp } from '../plan/workspace.ts';

/** The token types, in the order of the legend; a comment says what each one means here. */
export const TOKEN_TYPES = [
  'keyword', // the first word of an entry
  'property', // the first words of a detail
  'operator', // the words and signs that join the parts of a line
  'variable', // a field or turnpoint
  'struct', // an obstacle
  'namespace', // an airspace
  'class', // an aircraft
  'event', // a weather
  'parameter', // a reserve
  'interface', // limits
  'function', // a task
  'number', // any number, with what is written of figures: coordinates, times, ratios, runways, flight levels
  'type', // a unit
  'modifier', // a datum
  'enumMember', // one of a few words, as `left` or `grass`
  'string', // a path or a note
  'comment',
] as const;

/** The token modifiers, in the order of the legend. */
export const TOKEN_MODIFIERS = ['declaration', 'coordinates', 'time', 'path'] as const;

export const SEMANTIC_TOKENS_LEGEND: SemanticTokensLegend = {
  tokenTypes: [...TOKEN_TYPES],
  tokenModifiers: [...TOKEN_MODIFIERS],
};

type TokenTypeName = (typeof TOKEN_TYPES)[number];
type ModifierName = (typeof TOKEN_MODIFIERS)[number];

const typeIndex = (name: TokenTypeName): number => TOKEN_TYPES.indexOf(name);
const bit = (name: ModifierName): number => 1 << TOKEN_MODIFIERS.indexOf(name);

const NAME_TYPES: Readonly<Record<Namespace, TokenTypeName>> = {
  point: 'variable',
  obstacle: 'struct',
  airspace: 'namespace',
  aircraft: 'class',
  weather: 'event',
  reserve: 'parameter',
  limits: 'interface',
  task: 'function',
};

/** A token of an entry, by the entry's own lines, so that it stays where it is when lines are added above. */
interface Item {
  readonly line: number;
  readonly character: number;
  readonly length: number;
  readonly type: number;
  readonly modifiers: number;
  /** The name that it uses: without an entry of that name it gets no colour. */
  readonly uses: { readonly namespace: Namespace; readonly name: string } | undefined;
}

interface Piece {
  readonly span: Span;
  readonly type: TokenTypeName;
  readonly modifiers?: number;
  readonly uses?: Item['uses'];
}

const number = (span: Span, modifiers = 0): Piece => ({ span, type: 'number', modifiers });

function valuePieces(value: ValueNode, slot: Slot, entry: EntrySyntax): Piece[] {
  switch (value.kind) {
    case 'name': {
      const { span, text: name } = value;
      if (slot.refers) return [{ span, type: NAME_TYPES[slot.refers], uses: { namespace: slot.refers, name } }];
      const own = entry.form?.namespace;
      return own ? [{ span, type: NAME_TYPES[own], modifiers: bit('declaration') }] : [];
    }
    case 'text':
      return [{ span: value.span, type: 'string', modifiers: slot.slot === 'path' ? bit('path') : 0 }];
    case 'quantity': {
      const { unit, datum } = value;
      const pieces = [number(value.number.span)];
      if (unit?.unit) pieces.push({ span: unit.span, type: 'type' });
      if (datum?.datum) pieces.push({ span: datum.span, type: 'modifier' });
      return pieces;
    }
    case 'duration':
      return value.parts.flatMap((part) => valuePieces(part, slot, entry));
    case 'coordinates':
      return [value.first, value.second].flatMap((angle) => (angle ? [number(angle.span, bit('coordinates'))] : []));
    case 'date':
    case 'time':
      return [number(value.span, bit('time'))];
    case 'flightLevel':
    case 'ratio':
    case 'runway':
      return [number(value.span)];
    case 'unit':
      return value.unit ? [{ span: value.span, type: 'type' }] : [];
    case 'word':
      return [{ span: value.span, type: 'enumMember' }];
  }
}

function linePieces(line: LineSyntax, entry: EntrySyntax): Piece[] {
  if (!line.form) return [];
  const pieces: Piece[] = [];
  const values: Span[] = [];
  for (const [name, slot] of slotsOf(line.form)) {
    const value = line.slots[name];
    if (!value) continue;
    values.push(value.span);
    pieces.push(...valuePieces(value, slot, entry));
  }
  for (const tok of line.tokens) {
    const span = spanOf(tok);
    if (values.some((value) => span.start >= value.start && span.start < value.end)) continue;
    if (tok.tokenType !== PlusMinus && !KEYWORDS.has(tok.image.toLowerCase())) continue;
    const leads = span.end <= line.keyword.end;
    pieces.push({ span, type: !leads ? 'operator' : line === entry.head ? 'keyword' : 'property' });
  }
  return pieces;
}

const kept = new WeakMap<EntrySyntax, readonly Item[]>();

/** The tokens of an entry in order; kept with it. */
function itemsOf(entry: EntrySyntax): readonly Item[] {
  const known = kept.get(entry);
  if (known) return known;
  const pieces = linesOf(entry).flatMap((line) => linePieces(line, entry));
  for (const tok of entry.comments) pieces.push({ span: spanOf(tok), type: 'comment' });
  pieces.sort((a, b) => a.span.start - b.span.start);
  let line = 0;
  const items = pieces.map(({ span, type, modifiers = 0, uses }): Item => {
    while ((entry.lineStarts[line + 1] ?? Number.POSITIVE_INFINITY) <= span.start) line++;
    const character = span.start - (entry.lineStarts[line] as number);
    return { line, character, length: span.end - span.start, type: typeIndex(type), modifiers, uses };
  });
  kept.set(entry, items);
  return items;
}

/**
 * The tokens of a file, or of the lines that a range touches, as the protocol writes them: five numbers each, the place
 * relative to the token before.
 */
export function tokensOf(understood: Understood, range?: Range): number[] {
  const { entries } = understood.file.syntax;
  const from = range?.start.line ?? 0;
  const to = range?.end.line ?? Number.POSITIVE_INFINITY;
  const found = new Map<string, boolean>();
  const isKnown = ({ namespace, name }: NonNullable<Item['uses']>): boolean => {
    const key = `${namespace} ${name}`;
    const before = found.get(key);
    if (before !== undefined) return before;
    const is = lookUp(understood.scope, namespace, name).length > 0;
    found.set(key, is);
    return is;
  };
  const data: number[] = [];
  let line = 0;
  let character = 0;
  for (const placed of entries) {
    if (placed.line > to || placed.line + placed.syntax.lineStarts.length <= from) continue;
    for (const item of itemsOf(placed.syntax)) {
      const at = placed.line + item.line;
      if (at < from || at > to || (item.uses && !isKnown(item.uses))) continue;
      const along = at === line ? item.character - character : item.character;
      data.push(at - line, along, item.length, item.type, item.modifiers);
      line = at;
      character = item.character;
    }
  }
  return data;
}

/** Numbers in a token. */
const WIDTH = 5;

/** What turns the numbers `before` into `after`: one edit between what both start and end with, by whole tokens. */
export function deltaOf(before: readonly number[], after: readonly number[]): SemanticTokensEdit[] {
  const same = (i: number, j: number): boolean => {
    for (let k = 0; k < WIDTH; k++) if (before[i + k] !== after[j + k]) return false;
    return true;
  };
  const most = Math.min(before.length, after.length);
  let start = 0;
  while (start < most && same(start, start)) start += WIDTH;
  let end = 0;
  while (end < most - start && same(before.length - end - WIDTH, after.length - end - WIDTH)) end += WIDTH;
  const deleteCount = before.length - end - start;
  const data = after.slice(start, after.length - end);
  if (deleteCount === 0 && data.length === 0) return [];
  return [{ start, deleteCount, ...(data.length > 0 ? { data } : {}) }];
}
