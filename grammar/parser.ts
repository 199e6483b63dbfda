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
import { type Element, ENTRIES, type Form, type Slot, type SlotKind } from './vocabulary.ts';

type Rule = ParserMethod<[], CstNode>;

/** What a rule read, in the place of chevrotain's own node, whose table by label costs more than the reading. */
class Read {
  /** Its tokens stand behind each other: nothing is left out or made up inside a rule. */
  first: IToken | undefined = undefined;
  count = 0;
  /** Keywords that carry a meaning, each behind its label; undefined for none. */
  flags: (string | IToken)[] | undefined = undefined;
  /** The values in it, and the one behind this, with its label. */
  value: Read | undefined = undefined;
  last: Read | undefined = undefined;
  next: Read | undefined = undefined;
  label = '';
}

/** What the form expects where the parser stands, and what one could have written there besides; in words. */
const expecting = { words: '', besides: [] as string[] };

/** A part of a rule, made once: what happens here happens for every line of every file. */
type Part = () => void;

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
    this.reads.push(new Read());
  }
  cstPostTerminal(label: string, token: IToken): void {
    const read = this.reads[this.reads.length - 1] as Read;
    read.first ??= token;
    read.count++;
    if (label.startsWith('flag ')) {
      read.flags ??= [];
      read.flags.push(label, token);
    }
  }
  cstPostNonTerminal(value: unknown, label: string): void {
    const read = this.reads[this.reads.length - 1] as Read;
    const one = value as Read;
    one.label = label;
    if (read.last) read.last.next = one;
    else read.value = one;
    read.last = one;
  }
  private get reads(): Read[] {
    return (this as unknown as { CST_STACK: Read[] }).CST_STACK;
  }

  private anyOf(index: number, types: readonly TokenType[]): Part {
    const ways = types.map((type, i) => ({
      ALT: () => this.consume(index * 10 + i, type),
    }));
    return () => this.or(index, ways);
  }

  private defineKinds(): void {
    const kind = (name: SlotKind, body: Part) => this.kinds.set(name, this.RULE(`value ${name}`, body));
    const msl = keywordToken('msl');
    const agl = keywordToken('agl');
    const unit = (index: number) => this.anyOf(index, UNIT_LIKE);
    const quantity = (datum: readonly TokenType[]): Part => {
      const aUnit = unit(1);
      const aDatum = this.anyOf(2, datum);
      return () => {
        this.consume(100, NumberToken);
        this.option(1, aUnit);
        this.option(2, aDatum);
      };
    };
    for (const dimension of Object.keys(DIMENSION_WORDS) as Dimension[]) {
      if (dimension !== 'duration') kind(dimension, quantity([msl, agl]));
    }
    kind('elevation', quantity([msl, agl, Word]));
    const eitherOf = (token: TokenType, other: Part): Part => {
      const ways = [{ ALT: () => this.consume(101, token) }, { ALT: other }];
      return () => this.or(3, ways);
    };
    kind('altitude', eitherOf(FlightLevel, quantity([msl, agl, Word])));
    const [first, second] = [unit(1), unit(2)];
    const more = () => {
      this.consume(101, NumberToken);
      this.option(3, second);
    };
    kind('duration', () => {
      this.consume(100, NumberToken);
      this.option(1, first);
      this.option(2, more);
    });
    kind('name', this.anyOf(1, [Word, Str, UnclosedStr, PlainKeyword, UnitToken]));
    kind('text', this.anyOf(1, [Str, UnclosedStr]));
    const angle = (at: number): Part => {
      const degree = () => this.consume(102 + at, Degree);
      const ways = [
        { ALT: () => this.consume(100 + at, Angle) },
        {
          ALT: () => {
            this.consume(101 + at, NumberToken);
            this.option(at, degree);
          },
        },
      ];
      const hemisphere = this.anyOf(at + 1, [Word, UnitToken]);
      return () => {
        this.or(at, ways);
        this.option(at + 1, hemisphere);
      };
    };
    const [latitude, longitude] = [angle(1), angle(5)];
    kind('coordinates', () => {
      latitude();
      longitude();
    });
    kind('date', () => {
      this.consume(100, DateToken);
    });
    for (const name of ['time', 'ratio'] as const) {
      kind(name, () => {
        this.consume(100, ColonPair);
      });
    }
    kind('performance', eitherOf(ColonPair, quantity([msl, agl])));
    kind('runway', this.anyOf(1, [Fraction, RunwayEndToken, NumberToken]));
    kind('unit', this.anyOf(1, [Word, SlashWord, UnitToken, Degree]));
    for (const name of ['choice', 'word'] as const) kind(name, this.anyOf(1, [Word, PlainKeyword]));
  }

  private define(name: string, form: Form): void {
    this.rules.set(form, this.RULE(name, this.walk(form.elements, indexed(form.elements, new Map()))));
  }

  private walk(elements: readonly Element[], indexOf: ReadonlyMap<Element, number>): Part {
    const parts = elements.map((element) => this.part(element, indexOf));
    return () => {
      for (const part of parts) part();
    };
  }

  private part(element: Element, indexOf: ReadonlyMap<Element, number>): Part {
    const at = indexOf.get(element) as number;
    if ('optional' in element) {
      const besides = beginning(element.optional);
      const walk = this.walk(element.optional, indexOf);
      return () => {
        expecting.besides.push(besides);
        this.option(at, walk);
      };
    }
    if ('either' in element) {
      const ways = element.either.map((branch) => ({ ALT: this.walk(branch, indexOf) }));
      return () => {
        expecting.words = element.words;
        this.or(at, ways);
      };
    }
    if ('word' in element) {
      const words = `\`${element.word}\``;
      const token = keywordToken(element.word);
      const options = { LABEL: element.as ? `flag ${element.as}` : `word ${element.word}` };
      return () => {
        expecting.words = words;
        this.consume(at, token, options);
        expecting.besides.length = 0;
      };
    }
    const rule = this.kinds.get(element.kind) as Rule;
    const options = { LABEL: element.slot };
    return () => {
      expecting.words = element.words;
      this.subrule(at, rule, options);
      expecting.besides.length = 0;
    };
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

/** Where the parts of a line are among its tokens. */
interface Shape {
  readonly slots: readonly { readonly slot: Slot; readonly from: number; readonly to: number }[];
  /** Keywords that carry a meaning. */
  readonly flags: readonly { readonly flag: string; readonly at: number }[];
  readonly fault: Fault | undefined;
}

/** What is wrong with a line, and at which of its tokens; behind the last where something is missing. */
interface Fault {
  readonly kind: 'unexpected' | 'line-too-long' | 'text-unclosed';
  readonly at: number;
  readonly expected: string;
}

/** Shapes by the kinds of a line's tokens, one behind the other. */
class Shapes {
  private shape: Shape | undefined = undefined;
  private readonly next = new Map<TokenType, Shapes>();

  of(tokens: readonly Token[]): Shape | undefined {
    let at: Shapes | undefined = this;
    for (let i = 0; at && i < tokens.length; i++) at = at.next.get((tokens[i] as Token).tokenType);
    return at?.shape;
  }

  keep(tokens: readonly Token[], shape: Shape): void {
    let at: Shapes = this;
    for (const { tokenType } of tokens) {
      let next = at.next.get(tokenType);
      if (!next) {
        next = new Shapes();
        at.next.set(tokenType, next);
      }
      at = next;
    }
    at.shape = shape;
  }
}

interface Placed {
  readonly slots: Map<string, Slot>;
  readonly flags: Set<string>;
  /**
   * Of the lines that were read by the form. The rules ask for the kinds of the tokens alone, so the next line of the
   * same kinds has the same shape, and the parser, which costs most of reading it, is not asked again.
   */
  shapes: Shapes;
}

/** There are no more kept at once, and none of a line that is longer: what is wrong may be so in many ways. */
const MOST_SHAPES = 2000;
const MOST_TOKENS = 32;
let shapesKept = 0;

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
    placedIn.set(form, place(form.elements, { slots: new Map(), flags: new Set(), shapes: new Shapes() }));
  }
}

/** Has the parser read every line again, as in a process that has read none. */
export function forgetShapes(): void {
  for (const placed of placedIn.values()) placed.shapes = new Shapes();
  shapesKept = 0;
}

function faultOf(error: IRecognitionException | undefined, tokens: readonly Token[]): Fault | undefined {
  const unclosed = tokens.findIndex((tok) => tok.tokenType === UnclosedStr);
  if (unclosed >= 0) return { kind: 'text-unclosed', at: unclosed, expected: '' };
  if (!error) return undefined;
  const at = error.token.tokenType === EOF ? tokens.length : tokens.indexOf(error.token);
  const kind = error.name === 'NotAllInputParsedException' ? 'line-too-long' : 'unexpected';
  return { kind, at, expected: error.message };
}

function problemOf({ kind, at, expected }: Fault, tokens: readonly Token[]): SyntaxProblem {
  const last = tokens[tokens.length - 1] as Token;
  const span = spanOf(tokens[at] ?? last);
  if (kind === 'text-unclosed') return { kind, span };
  const found = tokens[at]?.image;
  if (kind === 'unexpected') return { kind, span, expected, found };
  return { kind, span: { start: span.start, end: spanOf(last).end }, expected, found: found as string };
}

/** The form, of those given, whose leading keywords the line's first words match best; undefined when not even the first does. */
export function formOf(forms: readonly Form[], tokens: readonly Token[]): Form | undefined {
  const first = tokens[0]?.image.toLowerCase();
  let best: Form | undefined;
  let bestMatched = 0;
  for (let i = 0; i < forms.length; i++) {
    const form = forms[i] as Form;
    const { leading } = form;
    if (leading[0] !== first) continue;
    let matched = 1;
    while (matched < leading.length && tokens[matched]?.image.toLowerCase() === leading[matched]) matched++;
    // A form with fewer keywords wins when all of them are there: `polar 60 kt …` is no half `polar mass`.
    const whole = matched === leading.length ? 0.5 : 0;
    if (matched + whole > bestMatched) {
      best = form;
      bestMatched = matched + whole;
    }
  }
  return best;
}

/** Where the words end that a line of a form begins with; of a line without a form its first word. */
function keywordEnd(form: Form | undefined, tokens: readonly Token[]): number {
  const words = form?.leading ?? [];
  let last = tokens[0] as Token;
  for (let i = 0; i < words.length && tokens[i]?.image.toLowerCase() === words[i]; i++) last = tokens[i] as Token;
  return last.startOffset + last.image.length;
}

class Line implements LineSyntax {
  readonly span: Span;
  readonly form: Form | undefined;
  readonly slots: LineSyntax['slots'];
  readonly flags: LineSyntax['flags'];
  readonly problems: LineSyntax['problems'];
  /** The text of the entry, from which the tokens are made again. */
  private readonly text: string;
  private readonly keywordEnd: number;

  constructor(
    text: string,
    span: Span,
    keywordEnd: number,
    { form, slots, flags, problems }: Pick<LineSyntax, 'form' | 'slots' | 'flags' | 'problems'>,
  ) {
    this.span = span;
    this.form = form;
    this.slots = slots;
    this.flags = flags;
    this.problems = problems;
    this.text = text;
    this.keywordEnd = keywordEnd;
  }

  get keyword(): Span {
    return { start: this.span.start, end: this.keywordEnd };
  }

  get tokens(): readonly Token[] {
    return tokensAt(this.text, this.span.start);
  }
}

const NO_PROBLEMS: readonly SyntaxProblem[] = [];
const NO_SLOTS: LineSyntax['slots'] = Object.freeze({});
const NO_FLAGS: LineSyntax['flags'] = Object.freeze({});

/** The shape of a line, from the parser; of several values or keywords under one label the first counts. */
function readShape(form: Form, { slots, flags }: Placed, tokens: readonly Token[]): Shape {
  expecting.words = '';
  expecting.besides.length = 0;
  parser.input = tokens as IToken[];
  const read = parser.rules.get(form)?.call(parser) as Read | undefined;
  const shape = {
    slots: [] as Shape['slots'][number][],
    flags: [] as Shape['flags'][number][],
    fault: faultOf(parser.errors[0], tokens),
  };
  for (let value = read?.value; value; value = value.next) {
    const slot = slots.get(value.label);
    if (!slot || shape.slots.some((one) => one.slot === slot)) continue;
    const from = value.first ? tokens.indexOf(value.first) : 0;
    shape.slots.push({ slot, from, to: from + value.count });
  }
  const labels = read?.flags ?? [];
  for (let i = 0; i < labels.length; i += 2) {
    const label = labels[i] as string;
    const flag = label.slice('flag '.length);
    if (!flags.has(label) || shape.flags.some((one) => one.flag === flag)) continue;
    shape.flags.push({ flag, at: tokens.indexOf(labels[i + 1] as IToken) });
  }
  return shape;
}

function flagsIn({ flags }: Shape, tokens: readonly Token[]): LineSyntax['flags'] {
  if (flags.length === 0) return NO_FLAGS;
  const found: Record<string, Span | undefined> = {};
  for (const { flag, at } of flags) found[flag] = spanOf(tokens[at] as Token);
  return found;
}

function slotsIn({ slots }: Shape, tokens: readonly Token[]): LineSyntax['slots'] {
  if (slots.length === 0) return NO_SLOTS;
  const found: Record<string, ValueNode | undefined> = {};
  for (const { slot, from, to } of slots) found[slot.slot] = readValue(slot, tokens.slice(from, to));
  return found;
}

/** A line of a text, read by a form or left unread (`form` undefined). `tokens`, its own, holds at least one. */
export function parseLine(
  text: string,
  form: Form | undefined,
  tokens: readonly Token[],
  problems = NO_PROBLEMS,
): LineSyntax {
  const first = tokens[0] as Token;
  const last = tokens[tokens.length - 1] as Token;
  let found = problems;
  let slots = NO_SLOTS;
  let flags = NO_FLAGS;
  if (form) {
    const placed = placedIn.get(form) as Placed;
    let shape = placed.shapes.of(tokens);
    if (!shape) {
      shape = readShape(form, placed, tokens);
      if (tokens.length <= MOST_TOKENS) {
        if (shapesKept === MOST_SHAPES) forgetShapes();
        placed.shapes.keep(tokens, shape);
        shapesKept++;
      }
    }
    // One problem a line: what comes after the first is mostly its echo.
    if (shape.fault && found.length === 0) found = [problemOf(shape.fault, tokens)];
    slots = slotsIn(shape, tokens);
    flags = flagsIn(shape, tokens);
  }
  const span = { start: first.startOffset, end: spanOf(last).end };
  return new Line(text, span, keywordEnd(form, tokens), { form, slots, flags, problems: found });
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
  if (by === 0) return new Line(text, line.span, line.keyword.end, line);
  return new Line(text, movedSpan(line.span, by), line.keyword.end + by, {
    form: line.form,
    slots: movedValues(line.slots, (value) => movedNode(value, by)),
    flags: movedValues(line.flags, (span) => span && movedSpan(span, by)),
    problems: movedNode(line.problems, by),
  });
}
