/**
 * Positions as a client counts them. Inside, characters are UTF-16 code units; a client may count bytes of UTF-8 or
 * whole characters (UTF-32). Values of the protocol are converted as a whole, each position by the text of its own file.
 */
import type { Position } from 'vscode-languageserver-types';

/** A line of a file, by the file's URI, without its line end; empty when it is not known. */
export type LineOf = (uri: string, line: number) => string;

export type EncodingKind = 'utf-8' | 'utf-16' | 'utf-32';

export interface Encoding {
  readonly kind: EncodingKind;
  /** A value for the client; `uri` is the file that positions outside any named file belong to. */
  toClient<T>(value: T, uri: string): T;
  /** A value from the client. */
  fromClient<T>(value: T, uri: string): T;
  /** Semantic tokens: five numbers each, places relative to the one before. */
  tokensToClient(data: readonly number[], uri: string): number[];
}

type Count = (line: string, character: number) => number;

function utf8Length(code: number): number {
  if (code < 0x80) return 1;
  if (code < 0x800) return 2;
  return code < 0x10000 ? 3 : 4;
}

/** How much a character counts for the client; a lone half of a pair counts as what it is replaced by when sent. */
const WIDTH: Readonly<Record<string, (code: number) => number>> = { 'utf-8': utf8Length, 'utf-32': () => 1 };

function counts(width: (code: number) => number): { to: Count; from: Count } {
  const to: Count = (line, character) => {
    let units = 0;
    let count = 0;
    for (const c of line) {
      if (units >= character) break;
      units += c.length;
      count += width(c.codePointAt(0) as number);
    }
    return count;
  };
  const from: Count = (line, character) => {
    let units = 0;
    let count = 0;
    for (const c of line) {
      if (count >= character) break;
      count += width(c.codePointAt(0) as number);
      units += c.length;
    }
    return units;
  };
  return { to, from };
}

const IDENTITY: Encoding = {
  kind: 'utf-16',
  toClient: (value) => value,
  fromClient: (value) => value,
  tokensToClient: (data) => [...data],
};

type Json = null | boolean | number | string | undefined | Json[] | { [key: string]: Json };

function isPosition(value: object): value is Position {
  const { line, character } = value as Partial<Position>;
  return typeof line === 'number' && typeof character === 'number' && Object.keys(value).length === 2;
}

/** Keys whose value lies in another file than the object they stand in, with the key that names that file. */
const OTHER_FILE: Readonly<Record<string, string>> = { targetRange: 'targetUri', targetSelectionRange: 'targetUri' };

function convert(value: Json, uri: string, at: (uri: string, position: Position) => Position): Json {
  if (Array.isArray(value)) return value.map((one) => convert(one, uri, at));
  if (value === null || typeof value !== 'object') return value;
  if (isPosition(value)) return at(uri, value) as unknown as Json;
  const named = value['uri'] ?? (value['textDocument'] as { uri?: Json } | null | undefined)?.uri;
  const own = typeof named === 'string' ? named : uri;
  const made: { [key: string]: Json } = {};
  for (const [key, inner] of Object.entries(value)) {
    const elsewhere = OTHER_FILE[key];
    const file = elsewhere ? value[elsewhere] : undefined;
    if (key === 'changes' && inner !== null && typeof inner === 'object' && !Array.isArray(inner)) {
      made[key] = Object.fromEntries(Object.entries(inner).map(([of, edits]) => [of, convert(edits, of, at)]));
    } else {
      made[key] = convert(inner, typeof file === 'string' ? file : own, at);
    }
  }
  return made;
}

/** The encoding that a client asks for, the first it names that is known; UTF-16 without a wish, or when they are no list. */
export function encodingFor(wishes: readonly string[] | undefined, lineOf: LineOf): Encoding {
  const known = Array.isArray(wishes) ? wishes : [];
  const kind = (known.find((wish) => wish === 'utf-16' || Object.hasOwn(WIDTH, wish)) ?? 'utf-16') as EncodingKind;
  const width = WIDTH[kind];
  if (!width) return IDENTITY;
  const { to, from } = counts(width);
  const through =
    (count: Count) =>
    (uri: string, { line, character }: Position): Position => ({
      line,
      character: count(lineOf(uri, line), character),
    });
  return {
    kind,
    toClient: <T>(value: T, uri: string) => convert(value as Json, uri, through(to)) as T,
    fromClient: <T>(value: T, uri: string) => convert(value as Json, uri, through(from)) as T,
    tokensToClient(data, uri) {
      const made: number[] = [];
      let line = 0;
      let character = 0;
      let before = 0;
      for (let i = 0; i < data.length; i += 5) {
        const [down, along, length, type, modifiers] = data.slice(i, i + 5) as [number, number, number, number, number];
        line += down;
        character = down === 0 ? character + along : along;
        if (down !== 0) before = 0;
        const text = lineOf(uri, line);
        const start = to(text, character);
        made.push(down, start - before, to(text, character + length) - start, type, modifiers);
        before = start;
      }
      return made;
    },
  };
}
