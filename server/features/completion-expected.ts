/**
 * What may come next on a line: its form's elements walked against the tokens that are there. The table of forms is the
 * only grammar; a value whose unit is still missing is passed over when more follows, since half-typed text is normal.
 */
import {
  Angle,
  ColonPair,
  DateToken,
  Degree,
  FlightLevel,
  Fraction,
  keywordToken,
  NumberToken,
  PlainKeyword,
  RunwayEndToken,
  SlashWord,
  Str,
  type Token,
  UnitToken,
  Word,
} from '../../grammar/tokens.ts';
import type { Element, Form, Slot } from '../../grammar/vocabulary.ts';

/** A way to go on: keywords, then a value, either of which may be missing. */
export interface Expected {
  readonly form: Form;
  readonly words: readonly string[];
  readonly slot: Slot | undefined;
  /** The part of the value that is already there. */
  readonly inside: readonly Token[];
  /** Behind this the line is not complete yet. */
  readonly goesOn: boolean;
  /** A keyword that is read, and that one would write otherwise. */
  readonly unusual: boolean;
}

/** How far a value can reach: token indices behind which the line goes on, and whether the value itself may go on. */
interface Reach {
  readonly passes: readonly number[];
  readonly open: boolean;
}

const isUnitLike = (tok: Token | undefined) =>
  tok !== undefined && [UnitToken, Word, SlashWord, Degree].includes(tok.tokenType);

const isDatum = (tok: Token | undefined) => tok !== undefined && /^(?:msl|agl)$/i.test(tok.image);

function isName(tok: Token): boolean {
  return [Word, Str, UnitToken].includes(tok.tokenType) || (tok.tokenType.CATEGORIES ?? []).includes(PlainKeyword);
}

function quantityReach(slot: Slot, tokens: readonly Token[], at: number): Reach {
  if (tokens[at]?.tokenType === FlightLevel && slot.kind === 'altitude') return { passes: [at + 1], open: false };
  if (tokens[at]?.tokenType !== NumberToken) return { passes: [], open: false };
  let end = at + 1;
  if (end === tokens.length) return { passes: [], open: true };
  if (isUnitLike(tokens[end])) end++;
  if (slot.kind !== 'altitude' && slot.kind !== 'elevation') return { passes: [end], open: false };
  if (end === tokens.length) return { passes: slot.kind === 'elevation' ? [end] : [], open: true };
  return { passes: [isDatum(tokens[end]) ? end + 1 : end], open: false };
}

function durationReach(tokens: readonly Token[], at: number): Reach {
  const passes: number[] = [];
  let end = at;
  while (end < tokens.length && end < at + 4 && tokens[end]?.tokenType === NumberToken) {
    end++;
    if (end === tokens.length) return { passes, open: true };
    if (isUnitLike(tokens[end])) end++;
    passes.push(end);
  }
  return { passes: passes.slice(-1), open: end === tokens.length && end === at + 2 };
}

/** Latitude, then longitude, each with the letter of its hemisphere. */
function coordinatesReach(tokens: readonly Token[], at: number): Reach {
  let end = at;
  for (let angle = 0; angle < 2; angle++) {
    if (end === tokens.length) return { passes: [], open: true };
    const tok = tokens[end] as Token;
    if (tok.tokenType !== Angle && tok.tokenType !== NumberToken) return { passes: [], open: false };
    end++;
    if (tokens[end]?.tokenType === Degree) end++;
    if (end === tokens.length) return { passes: [], open: true };
    if (tokens[end]?.tokenType === Word || tokens[end]?.tokenType === UnitToken) end++;
  }
  return { passes: [end], open: false };
}

function reachOf(slot: Slot, tokens: readonly Token[], at: number): Reach {
  const tok = tokens[at] as Token;
  const one = (fits: boolean): Reach => ({ passes: fits ? [at + 1] : [], open: false });
  const oneOf = (...types: Token['tokenType'][]) => one(types.includes(tok.tokenType));
  switch (slot.kind) {
    case 'name':
      return one(isName(tok));
    case 'text':
      return oneOf(Str);
    case 'date':
      return oneOf(DateToken);
    case 'time':
    case 'ratio':
      return oneOf(ColonPair);
    case 'performance':
      return tok.tokenType === ColonPair ? one(true) : quantityReach(slot, tokens, at);
    case 'runway':
      return oneOf(Fraction, RunwayEndToken, NumberToken);
    case 'unit':
      return oneOf(Word, SlashWord, UnitToken, Degree);
    case 'choice':
    case 'word':
      return one(tok.tokenType === Word || (tok.tokenType.CATEGORIES ?? []).includes(PlainKeyword));
    case 'coordinates':
      return coordinatesReach(tokens, at);
    case 'duration':
      return durationReach(tokens, at);
    default:
      return quantityReach(slot, tokens, at);
  }
}

const isOptional = (element: Element) => 'optional' in element;

/** One keyword and nothing else: branches of this kind are spellings of one thing, the first the usual one. */
const isSpelling = (branch: readonly Element[]) => {
  const [first] = branch;
  return branch.length === 1 && first !== undefined && 'word' in first && !first.as;
};

/** The ways in which a line of this form may go on behind these tokens. */
export function expectedAfter(form: Form, tokens: readonly Token[]): Expected[] {
  const found: Expected[] = [];
  const end = tokens.length;

  const say = (
    words: readonly string[],
    slot: Slot | undefined,
    rest: readonly Element[],
    unusual: boolean,
    inside: readonly Token[] = [],
  ) => found.push({ form, words, slot, inside, goesOn: rest.some((one) => !isOptional(one)), unusual });

  /** Keywords from here on, up to the next value or to where one may stop. */
  const phrase = (todo: readonly Element[], words: readonly string[], unusual: boolean): void => {
    const [first, ...rest] = todo;
    if (!first || ('optional' in first && words.length > 0)) {
      if (words.length > 0) say(words, undefined, todo, unusual);
    } else if ('optional' in first) {
      phrase([...first.optional, ...rest], words, unusual);
      phrase(rest, words, unusual);
    } else if ('either' in first) {
      const spellings = first.either.every(isSpelling);
      for (const [i, branch] of first.either.entries())
        phrase([...branch, ...rest], words, unusual || (spellings && i > 0));
    } else if ('word' in first) phrase(rest, [...words, first.word], unusual);
    else say(words, first, rest, unusual);
  };

  const visit = (todo: readonly Element[], at: number): void => {
    if (at === end) {
      phrase(todo, [], false);
      return;
    }
    const [first, ...rest] = todo;
    if (!first) return;
    if ('optional' in first) {
      visit([...first.optional, ...rest], at);
      visit(rest, at);
    } else if ('either' in first) {
      for (const branch of first.either) visit([...branch, ...rest], at);
    } else if ('word' in first) {
      const tok = tokens[at] as Token;
      const same = first.word === '±' ? tok.tokenType === keywordToken('±') : tok.image.toLowerCase() === first.word;
      if (same) visit(rest, at + 1);
    } else {
      const { passes, open } = reachOf(first, tokens, at);
      if (open) say([], first, rest, false, tokens.slice(at));
      for (const pass of passes) visit(rest, pass);
      // Words that are typed without the quotes that their name needs.
      if (first.refers && end - at < 5 && tokens.slice(at).every((tok) => tok.tokenType === Word))
        say([], first, rest, false, tokens.slice(at));
    }
  };

  visit(form.elements, 0);
  return found;
}
