/**
 * Tokens. The lexer knows few kinds; words become keywords or units afterwards, by the vocabulary and by what stands
 * before them (`m` behind a number is metres, elsewhere a name may be called so). The last kind takes any character,
 * so that every character of the text is in some token and nothing is lost.
 */
import { createToken, type IToken, Lexer, type TokenType } from 'chevrotain';
import { unitOf } from './units.ts';
import { CONNECTORS, KEYWORDS } from './vocabulary.ts';

export type Token = IToken;

type Match = (text: string, offset: number) => [string] | null;

/** What a sticky pattern finds at an offset. Only its text is asked for, so that one answer serves for all. */
function matching(sticky: RegExp): Match {
  const found: [string] = [''];
  return (text, offset) => {
    sticky.lastIndex = offset;
    if (!sticky.test(text)) return null;
    found[0] = text.slice(offset, sticky.lastIndex);
    return found;
  };
}

/** Chevrotain drops a pattern's `u` flag, so patterns that need it are matched by a function. */
function token(name: string, pattern: RegExp, startChars?: (string | number)[], more: object = {}): TokenType {
  return createToken({
    name,
    pattern: pattern.unicode ? matching(new RegExp(pattern.source, 'uy')) : pattern,
    line_breaks: false,
    ...(startChars ? { start_chars_hint: startChars } : {}),
    ...more,
  });
}

const DIGITS = [...'0123456789'];
const ASCII_AND_LATIN = Array.from({ length: 256 }, (_, code) => code);
/**
 * One character of each part in which the lexer looks for kinds beyond Latin 1, where every kind may begin. Were there a
 * kind for which it is not said how it may begin, every kind would be tried at every place.
 */
const BEYOND = [256, ...Array.from({ length: 256 }, (_, part) => 255 * (part + 2)).filter((code) => code < 65_536)];
const beginning = (with_: RegExp) => [
  ...ASCII_AND_LATIN.filter((code) => with_.test(String.fromCharCode(code))),
  ...BEYOND,
];
const LETTERS = beginning(/\p{L}/u);

export const Newline = token('Newline', /\r\n|\n|\r/, ['\r', '\n'], {
  line_breaks: true,
});
const Space = token('Space', /[^\S\r\n]+/, beginning(/[^\S\r\n]/), {
  group: Lexer.SKIPPED,
});
export const Comment = token('Comment', /#[^\r\n]*/, ['#'], {
  group: 'comments',
});
export const Str = token('Str', /"[^"\r\n]*"/, ['"']);
export const UnclosedStr = token('UnclosedStr', /"[^"\r\n]*/, ['"']);
export const DateToken = token('Date', /\d{4}-\d{1,2}-\d{1,2}(?![\p{L}\p{N}_-])/u, DIGITS);
/** A time or a ratio: the slot in which it stands tells which. */
export const ColonPair = token(
  'ColonPair',
  /\d+(?:\.\d+)?:\d+(?:\.\d+)?(?::\d{2})?(?:[Zz](?![\p{L}\p{N}_]|-(?!\d))|[+-]\d{2}:?\d{2})?/u,
  DIGITS,
);
export const Fraction = token('Fraction', /\d{1,3}[LCRlcr]?\/\d{1,3}[LCRlcr]?(?![\p{L}\p{N}_-])/u, DIGITS);
const runwayEnd = matching(/\d{1,2}[LCRlcr](?![\p{L}\p{N}_-])/uy);
/** One end alone, read only behind `runway`: elsewhere `24C` is a temperature. */
export const RunwayEndToken = createToken({
  name: 'RunwayEnd',
  pattern: (text: string, offset: number, before: IToken[]): [string] | null =>
    before[before.length - 1]?.image.toLowerCase() === 'runway' ? runwayEnd(text, offset) : null,
  line_breaks: false,
  start_chars_hint: DIGITS,
});
/** Degrees and minutes, or degrees, minutes and seconds. */
export const Angle = token(
  'Angle',
  /[-−+]?\d{1,3}(?:\.\d+)?°[^\S\r\n]*\d{1,3}(?:\.\d+)?['′’](?:[^\S\r\n]*\d{1,3}(?:\.\d+)?(?:["″”]|''|′′))?/u,
  [...DIGITS, '-', '−', '+'],
);
export const NumberToken = token('Number', /[-−+]?(?:\d+(?:,\d+)*(?:\.\d+)?|\.\d+)/, [...DIGITS, '-', '−', '+', '.']);
export const Degree = token('Degree', /°(?:[^\S\r\n]*[CcFfMm](?![\p{L}\p{N}_-]))?/u, ['°']);
export const Percent = token('Percent', /%/, ['%']);
export const PlusMinus = token('PlusMinus', /±|\+\/?-/, ['±', '+']);
/** Two words with a stroke between them: a unit, known or not. */
export const SlashWord = token('SlashWord', /\p{L}+\/\p{L}+(?![\p{L}\p{N}_-])/u, LETTERS);
export const FlightLevel = token('FlightLevel', /[Ff][Ll][^\S\r\n]?\d{1,4}(?![\p{L}\p{N}_-])/u, ['F', 'f']);
export const Word = token('Word', /[\p{L}_][\p{L}\p{M}\p{N}_-]*/u, ['_', ...LETTERS]);
export const Unknown = token('Unknown', /[^\s]/u, beginning(/[^\s]/u));

/** The category of words that are units, given to a word behind a number. */
export const UnitToken = createToken({ name: 'Unit', pattern: Lexer.NA });
/** Keywords that an unquoted name can be mistaken for, and those that join the parts of a line. */
export const PlainKeyword = createToken({
  name: 'PlainKeyword',
  pattern: Lexer.NA,
});
export const Connector = createToken({ name: 'Connector', pattern: Lexer.NA });

const keywordTokens = new Map<string, TokenType>();
for (const keyword of KEYWORDS) {
  const category = CONNECTORS.has(keyword) ? Connector : PlainKeyword;
  keywordTokens.set(
    keyword,
    createToken({
      name: `\`${keyword}\``,
      pattern: Lexer.NA,
      categories: [category],
    }),
  );
}
keywordTokens.set('±', PlusMinus);

/** The token type of a keyword of the vocabulary. */
export function keywordToken(keyword: string): TokenType {
  return keywordTokens.get(keyword) as TokenType;
}

const lexed = [
  Newline,
  Space,
  Comment,
  Str,
  UnclosedStr,
  PlusMinus,
  DateToken,
  ColonPair,
  Fraction,
  Angle,
  RunwayEndToken,
  NumberToken,
  Degree,
  Percent,
  SlashWord,
  FlightLevel,
  Word,
  Unknown,
];

/** Every token type, for the parser. */
export const TOKENS: TokenType[] = [...lexed, UnitToken, PlainKeyword, Connector, ...new Set(keywordTokens.values())];

const lexer = new Lexer(lexed, {
  positionTracking: 'onlyOffset',
  lineTerminatorsPattern: /\r\n|\n|\r/g,
  lineTerminatorCharacters: ['\n', '\r'],
  skipValidations: true,
  ensureOptimizations: true,
});

function retype(tok: IToken, type: TokenType): void {
  tok.tokenType = type;
  tok.tokenTypeIdx = type.tokenTypeIdx as number;
}

export interface Lexed {
  readonly tokens: readonly Token[];
  readonly comments: readonly Token[];
}

/** Splits text into tokens; it never fails. Newlines are tokens, spaces are left out, comments stand apart. */
export function tokenize(text: string): Lexed {
  const { tokens, groups } = lexer.tokenize(text);
  let previous: IToken | undefined;
  for (const tok of tokens) {
    if (tok.tokenType === Word) {
      const lower = tok.image.toLowerCase();
      const behindNumber = previous?.tokenType === NumberToken;
      const keyword = keywordTokens.get(lower);
      if (behindNumber && unitOf(lower)) retype(tok, UnitToken);
      else if (keyword) retype(tok, keyword);
    } else if (tok.tokenType === SlashWord || tok.tokenType === Percent) {
      if (unitOf(tok.image)) retype(tok, UnitToken);
    } else if (tok.tokenType === Degree && tok.image.length > 1) {
      // A lone degree sign stays what it is: behind a coordinate it is no unit.
      retype(tok, UnitToken);
    }
    previous = tok;
  }
  return {
    tokens,
    comments: (groups['comments'] as IToken[] | undefined) ?? [],
  };
}

/** The tokens of every line that has any. */
export function linesOfTokens(tokens: readonly Token[]): Token[][] {
  const lines: Token[][] = [];
  let from = 0;
  for (let i = 0; i <= tokens.length; i++) {
    if (i < tokens.length && tokens[i]?.tokenType !== Newline) continue;
    if (i > from) lines.push(tokens.slice(from, i));
    from = i + 1;
  }
  return lines;
}

/** The texts that were split last, by where each line begins: who compares two asks for the lines of both in turn. */
let lately: { readonly text: string; readonly lines: ReadonlyMap<number, readonly Token[]> }[] = [];

/**
 * The tokens of the line of a text that has its first one at an offset; empty where there is none. They are made when
 * they are asked for: kept for every line of a long file, they would take more memory than what was read from them.
 */
export function tokensAt(text: string, start: number): readonly Token[] {
  let found = lately.find((one) => one.text === text);
  if (!found) {
    const lines = linesOfTokens(tokenize(text).tokens);
    found = { text, lines: new Map(lines.map((line) => [(line[0] as Token).startOffset, line])) };
    lately = [found, ...lately.slice(0, 1)];
  }
  return found.lines.get(start) ?? [];
}

/** Where a token stands. */
export function spanOf(tok: IToken): { start: number; end: number } {
  return { start: tok.startOffset, end: tok.startOffset + tok.image.length };
}
