/**
 * The parser: one chevrotain rule a form of the vocabulary, and one a kind of value. A line is parsed alone, so a
 * broken line costs that line and nothing else, and recovery inside it keeps every part that could be read.
 */
import {
  type CstNode,
  CstParser,
  EOF,
  type IParserErrorMessageProvider,
  type IRecognitionException,
  type IToken,
  NoViableAltException,
  type ParserMethod,
  type TokenType,
} from 'chevrotain';
import { ANALYSIS } from './analysed.ts';
import { type Analysis, analyse } from './analysis.ts';
import type { LineSyntax, Span, SyntaxProblem, ValueNode } from './syntax.ts';
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
  spanOf,
  TOKENS,
  type Token,
  tokensAt,
  UnclosedStr,
  UnitToken,
  Word,
} from './tokens.ts';
import { DIMENSION_WORDS, type Dimension } from './units.ts';
import { readValue } from './values.ts';
import { type Element, ENTRIES, type Form, leadingWords, type Slot, type SlotKind } from './vocabulary.ts';

type Rule = ParserMethod<[], CstNode>;

/** What a rule read, in the place of chevrotain's own node, whose table by label costs more than the reading. */
interface Read {
  readonly tokens: IToken[];
  /** Keywords that carry a meaning, and values, each behind its label; undefined for none. */
  flags: (string | IToken)[] | undefined;
  values: (string | Read)[] | undefined;
}

/** What the form expects where the parser stands, and what one could have written there besides; in words. */
const expecting = { words: '', besides: [] as string[] };

/** A message is what was expected at that moment; `unexpected` makes the finding from it. */
const WORDS: IParserErrorMessageProvider = {
  buildMismatchTokenMessage: () => expecting.words,
  buildNoViableAltMessage: () => expecting.words,
  buildEarlyExitMessage: () => expecting.words,
  buildNotAllInputParsedMessage: () => expecting.besides.join(' or '),
};

/** Behind a number these are taken for a unit, so that an unknown unit is told as one. */
const UNIT_LIKE: TokenType[] = [UnitToken, Word, SlashWord, Degree];

class LineParser extends CstParser {
  readonly rules = new Map<Form, Rule>();
  private readonly kinds = new Map<SlotKind, Rule>();

  constructor(checked: boolean, analysis: Analysis | undefined) {
    super(TOKENS, {
      recoveryEnabled: true,
      maxLookahead: 1,
      nodeLocationTracking: 'none',
      errorMessageProvider: WORDS,
      skipValidations: !checked,
    });
    this.defineKinds();
    for (const entry of ENTRIES) {
      this.define(`${entry.keyword}, the entry`, entry.head);
      for (const detail of entry.details) this.define(`${entry.keyword}, ${detail.id}`, detail);
    }
    if (analysis) analyse(this, analysis);
    else this.performSelfAnalysis();
  }

  /** Chevrotain asks these two: nothing that was typed is dropped, and nothing is made up that was not. */
  canRecoverWithSingleTokenDeletion(): boolean {
    return false;
  }
  canRecoverWithSingleTokenInsertion(): boolean {
    return false;
  }

  /** Hence nobody needs what may follow behind a token that is missing. */
  getFollowsForInRuleRecovery(): TokenType[] {
    return [];
  }
  /** And a message says what was expected without all the ways that there would have been. */
  raiseNoAltException(): never {
    const { SAVE_ERROR } = this as unknown as { SAVE_ERROR(error: Error): Error };
    throw SAVE_ERROR.call(this, new NoViableAltException(expecting.words, this.LA(1), this.LA(0)));
  }

  /** And these build the tree. */
  cstInvocationStateUpdate(): void {
    this.reads.push({ tokens: [], flags: undefined, values: undefined });
  }
  cstPostTerminal(label: string, token: IToken): void {
    const read = this.reads[this.reads.length - 1] as Read;
    read.tokens.push(token);
    if (label.startsWith('flag ')) {
      read.flags ??= [];
      read.flags.push(label, token);
    }
  }
  cstPostNonTerminal(value: unknown, label: string): void {
    const read = this.reads[this.reads.length - 1] as Read;
    read.values ??= [];
    read.values.push(label, value as Read);
  }
  private get reads(): Read[] {
    return (this as unknown as { CST_STACK: Read[] }).CST_STACK;
  }

  private anyOf(index: number, types: readonly TokenType[]): void {
    this.or(
      index,
      types.map((type, i) => ({
        ALT: () => this.consume(index * 10 + i, type),
      })),
    );
  }

  private defineKinds(): void {
    const kind = (name: SlotKind, body: () => void) => this.kinds.set(name, this.RULE(`value ${name}`, body));
    const msl = keywordToken('msl');
    const agl = keywordToken('agl');
    const quantity = (datum: readonly TokenType[]) => {
      this.consume(100, NumberToken);
      this.option(1, () => this.anyOf(1, UNIT_LIKE));
      this.option(2, () => this.anyOf(2, datum));
    };
    for (const dimension of Object.keys(DIMENSION_WORDS) as Dimension[]) {
      if (dimension !== 'duration') kind(dimension, () => quantity([msl, agl]));
    }
    kind('elevation', () => quantity([msl, agl, Word]));
    kind('altitude', () => {
      this.or(3, [{ ALT: () => this.consume(101, FlightLevel) }, { ALT: () => quantity([msl, agl, Word]) }]);
    });
    kind('duration', () => {
      this.consume(100, NumberToken);
      this.option(1, () => this.anyOf(1, UNIT_LIKE));
      this.option(2, () => {
        this.consume(101, NumberToken);
        this.option(3, () => this.anyOf(2, UNIT_LIKE));
      });
    });
    kind('name', () => this.anyOf(1, [Word, Str, UnclosedStr, PlainKeyword, UnitToken]));
    kind('text', () => this.anyOf(1, [Str, UnclosedStr]));
    kind('coordinates', () => {
      const angle = (at: number) => {
        this.or(at, [
          { ALT: () => this.consume(100 + at, Angle) },
          {
            ALT: () => {
              this.consume(101 + at, NumberToken);
              this.option(at, () => this.consume(102 + at, Degree));
            },
          },
        ]);
        this.option(at + 1, () => this.anyOf(at + 1, [Word, UnitToken]));
      };
      angle(1);
      angle(5);
    });
    kind('date', () => {
      this.consume(100, DateToken);
    });
    for (const name of ['time', 'ratio'] as const) {
      kind(name, () => {
        this.consume(100, ColonPair);
      });
    }
    kind('performance', () => {
      this.or(3, [{ ALT: () => this.consume(101, ColonPair) }, { ALT: () => quantity([msl, agl]) }]);
    });
    kind('runway', () => this.anyOf(1, [Fraction, RunwayEndToken, NumberToken]));
    kind('unit', () => this.anyOf(1, [Word, SlashWord, UnitToken, Degree]));
    for (const name of ['choice', 'word'] as const) kind(name, () => this.anyOf(1, [Word, PlainKeyword]));
  }

  private define(name: string, form: Form): void {
    const indexOf = indexed(form.elements, new Map());
    const body = () => {
      const walk = (elements: readonly Element[]): void => {
        for (const element of elements) {
          const at = indexOf.get(element) as number;
          if ('optional' in element) {
            expecting.besides.push(beginning(element.optional));
            this.option(at, () => walk(element.optional));
          } else if ('either' in element) {
            expecting.words = element.words;
            this.or(
              at,
              element.either.map((branch) => ({ ALT: () => walk(branch) })),
            );
          } else {
            expecting.words = 'word' in element ? `\`${element.word}\`` : element.words;
            if ('word' in element) {
              this.consume(at, keywordToken(element.word), {
                LABEL: element.as ? `flag ${element.as}` : `word ${element.word}`,
              });
            } else {
              this.subrule(at, this.kinds.get(element.kind) as Rule, {
                LABEL: element.slot,
              });
            }
            expecting.besides = [];
          }
        }
      };
      walk(form.elements);
    };
    this.rules.set(form, this.RULE(name, body));
  }
}

/** An index for every element of a form: chevrotain tells the calls inside a rule apart by it. */
function indexed(elements: readonly Element[], into: Map<Element, number>): Map<Element, number> {
  for (const element of elements) {
    into.set(element, into.size);
    if ('optional' in element) indexed(element.optional, into);
    else if ('either' in element) for (const branch of element.either) indexed(branch, into);
  }
  return into;
}

/** How an optional part begins, for a message that offers it. */
function beginning(elements: readonly Element[]): string {
  const first = elements[0];
  if (!first || 'optional' in first) return '';
  if (!('word' in first)) return first.words;
  const next = elements[1];
  const value = next && !('word' in next) && !('optional' in next) ? ` and ${next.words}` : '';
  return `\`${first.word}\`${value}`;
}

/**
 * `checked` has chevrotain validate the grammar, which a test does once; it costs start-up time. So does the analysis,
 * which a parser makes that is given none.
 */
export function makeParser(checked: boolean, analysis?: Analysis): LineParser {
  return new LineParser(checked, analysis);
}

const parser = makeParser(false, ANALYSIS);

interface Placed {
  readonly slots: Map<string, Slot>;
  readonly flags: Set<string>;
}

function place(elements: readonly Element[], into: Placed): Placed {
  for (const element of elements) {
    if ('optional' in element) place(element.optional, into);
    else if ('either' in element) for (const branch of element.either) place(branch, into);
    else if (!('word' in element)) into.slots.set(element.slot, element);
    else if (element.as) into.flags.add(`flag ${element.as}`);
  }
  return into;
}

const placedIn = new Map<Form, Placed>();
for (const entry of ENTRIES) {
  for (const form of [entry.head, ...entry.details]) {
    placedIn.set(form, place(form.elements, { slots: new Map(), flags: new Set() }));
  }
}

function problemOf(error: IRecognitionException, tokens: readonly Token[]): SyntaxProblem {
  const last = tokens[tokens.length - 1] as Token;
  const atEnd = error.token.tokenType === EOF;
  const span = spanOf(atEnd ? last : error.token);
  if (error.name === 'NotAllInputParsedException') {
    return {
      kind: 'line-too-long',
      span: { start: span.start, end: spanOf(last).end },
      expected: error.message,
      found: error.token.image,
    };
  }
  return {
    kind: 'unexpected',
    span,
    expected: error.message,
    found: atEnd ? undefined : error.token.image,
  };
}

/** The form, of those given, whose leading keywords the line's first words match best; undefined when not even the first does. */
export function formOf(forms: readonly Form[], tokens: readonly Token[]): Form | undefined {
  let best: Form | undefined;
  let bestMatched = 0;
  for (const form of forms) {
    const words = leadingWords(form);
    let matched = 0;
    while (matched < words.length && tokens[matched]?.image.toLowerCase() === words[matched]) matched++;
    // A form with fewer keywords wins when all of them are there: `polar 60 kt …` is no half `polar mass`.
    const whole = matched === words.length ? 0.5 : 0;
    if (matched > 0 && matched + whole > bestMatched) {
      best = form;
      bestMatched = matched + whole;
    }
  }
  return best;
}

function keywordSpan(form: Form | undefined, tokens: readonly Token[]): Span {
  const first = tokens[0] as Token;
  let end = spanOf(first).end;
  for (const [i, word] of (form ? leadingWords(form) : []).entries()) {
    const tok = tokens[i];
    if (tok?.image.toLowerCase() !== word) break;
    end = spanOf(tok).end;
  }
  return { start: first.startOffset, end };
}

class Line implements LineSyntax {
  readonly span: Span;
  readonly keyword: Span;
  readonly form: Form | undefined;
  readonly slots: LineSyntax['slots'];
  readonly flags: LineSyntax['flags'];
  readonly problems: LineSyntax['problems'];
  /** The text of the entry, from which the tokens are made again. */
  private readonly text: string;

  constructor(text: string, { span, keyword, form, slots, flags, problems }: Omit<LineSyntax, 'tokens'>) {
    this.span = span;
    this.keyword = keyword;
    this.form = form;
    this.slots = slots;
    this.flags = flags;
    this.problems = problems;
    this.text = text;
  }

  get tokens(): readonly Token[] {
    return tokensAt(this.text, this.span.start);
  }
}

/** A line of a text, read by a form or left unread (`form` undefined). `tokens`, its own, holds at least one. */
export function parseLine(
  text: string,
  form: Form | undefined,
  tokens: readonly Token[],
  problems: readonly SyntaxProblem[] = [],
): LineSyntax {
  const first = tokens[0] as Token;
  const last = tokens[tokens.length - 1] as Token;
  const found: SyntaxProblem[] = [...problems];
  const slots: Record<string, ValueNode | undefined> = {};
  const flags: Record<string, Span | undefined> = {};
  if (form) {
    expecting.words = '';
    expecting.besides = [];
    parser.input = tokens as IToken[];
    const read = parser.rules.get(form)?.call(parser) as Read | undefined;
    const error = parser.errors[0];
    const unclosed = tokens.find((tok) => tok.tokenType === UnclosedStr);
    // One problem a line: what comes after the first is mostly its echo.
    if (found.length === 0) {
      if (unclosed) found.push({ kind: 'text-unclosed', span: spanOf(unclosed) });
      else if (error) found.push(problemOf(error, tokens));
    }
    const { slots: wanted, flags: marked } = placedIn.get(form) as Placed;
    // Of several under one label the first counts.
    const { flags: meant = [], values = [] } = read ?? {};
    for (let i = 0; i < meant.length; i += 2) {
      const label = meant[i] as string;
      const flag = label.slice('flag '.length);
      if (marked.has(label) && !Object.hasOwn(flags, flag)) flags[flag] = spanOf(meant[i + 1] as IToken);
    }
    for (let i = 0; i < values.length; i += 2) {
      const label = values[i] as string;
      const slot = wanted.get(label);
      if (slot && !Object.hasOwn(slots, label)) slots[label] = readValue(slot, (values[i + 1] as Read).tokens);
    }
  }
  return new Line(text, {
    span: { start: first.startOffset, end: spanOf(last).end },
    keyword: keywordSpan(form, tokens),
    form,
    slots,
    flags,
    problems: found,
  });
}

/** A node, `by` characters further on. What is in it without a place, such as a unit, stays the same object. */
function movedNode<T>(node: T, by: number): T {
  if (Array.isArray(node)) return node.map((one) => movedNode(one, by)) as T;
  if (typeof node !== 'object' || node === null || !('span' in node)) return node;
  const made: Record<string, unknown> = { ...node };
  for (const key in made) {
    if (key === 'span') made[key] = movedSpan(made[key] as Span, by);
    else if (typeof made[key] === 'object') made[key] = movedNode(made[key], by);
  }
  return made as T;
}

function movedSpan({ start, end }: Span, by: number): Span {
  return { start: start + by, end: end + by };
}

function movedValues<T>(of: Readonly<Record<string, T>>, move: (one: T) => T): Record<string, T> {
  const made: Record<string, T> = {};
  for (const key in of) made[key] = move(of[key] as T);
  return made;
}

/** A line that stands unchanged in another text, `by` characters further on. */
export function movedLine(line: LineSyntax, text: string, by: number): LineSyntax {
  if (by === 0) return new Line(text, line);
  return new Line(text, {
    span: movedSpan(line.span, by),
    keyword: movedSpan(line.keyword, by),
    form: line.form,
    slots: movedValues(line.slots, (value) => movedNode(value, by)),
    flags: movedValues(line.flags, (span) => span && movedSpan(span, by)),
    problems: movedNode(line.problems, by),
  });
}
