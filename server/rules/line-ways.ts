/** How a line that cannot be read was meant, where that can be told: what the finding offers, and what its fix writes. */
import type { EntrySyntax, LineSyntax } from '../../grammar/syntax.ts';
import { spanOf, type Token } from '../../grammar/tokens.ts';
import { CONNECTORS, type Element, KEYWORDS } from '../../grammar/vocabulary.ts';
import { dashedEnds, endsWith, windAsSaid, windFromItsStart } from './apart.ts';
import { clause, instead, insteadOf, type LineWay, reads, shown, type TooLong, type Unexpected } from './line-way.ts';
import { orList, quoted, textAt } from './rule.ts';
import { indicatedAlready, settingAsSaid, speedToFly, valueWay } from './value-ways.ts';

/** Single, low, curved and angled ones. */
const QUOTES =
  /^['\u2018\u2019\u201a\u201c\u201d\u201e«»\u2039\u203a`´]([^\r\n"]*?)['\u2018\u2019\u201c\u201d«»\u2039\u203a`´]/u;

/** A text in quotes of another kind than the language has, `'x'`, in its own. */
function otherQuotes(source: string): { readonly length: number; readonly text: string } | undefined {
  const match = QUOTES.exec(source);
  const text = match?.[1]?.trim();
  return match && text ? { length: match[0].length, text: `"${text}"` } : undefined;
}

const MARK = /^[.'\u2018\u2019`´&+/]$/u;

/** A name that stands without quotes and needs them, of several words or with marks in it, where the problem is that. */
function namePart(problem: Unexpected | TooLong, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const { tokens, slots } = line;
  const from = tokens.findIndex((tok) => tok.startOffset === problem.span.start);
  const before = tokens[from - 1];
  if (!before || problem.found === undefined) return undefined;
  const named = Object.values(slots).some(
    (node) => node?.kind === 'name' && !node.quoted && node.span.start === before.startOffset,
  );
  if (!named) return undefined;
  const isConnector = ({ image }: Token) => CONNECTORS.has(image.toLowerCase());
  const isWord = (tok: Token | undefined) =>
    tok !== undefined && /^\p{L}/u.test(tok.image) && !KEYWORDS.has(tok.image.toLowerCase());
  const adheres = (i: number) => spanOf(tokens[i - 1] as Token).end === tokens[i]?.startOffset;
  const isMark = (i: number) => adheres(i) && MARK.test(tokens[i]?.image ?? '');
  const marked = isMark(from);
  const next = tokens[from + 1];
  // Behind a mark the name goes on at once, or with another word behind a full stop: `St. Mary`.
  const goesOn =
    next && /^[\p{L}\d]/u.test(next.image) && (adheres(from + 1) || (problem.found === '.' && isWord(next)));
  if (marked ? !goesOn || (!adheres(from + 1) && isConnector(next)) : !isWord(tokens[from])) return undefined;
  let to = from;
  for (let i = from; i < tokens.length; i++) {
    const tok = tokens[i] as Token;
    if (!isMark(i) && (!/^[\p{L}\d]/u.test(tok.image) || isConnector(tok))) break;
    to = i;
  }
  const { end } = spanOf(tokens[to] as Token);
  const span = { start: before.startOffset, end };
  const written = textAt(entry, span);
  const name = `"${written.replace(/\s+/gu, ' ')}"`;
  if (name.slice(1, -1).includes('"') || /\S/u.test(entry.text.charAt(end))) return undefined;
  const rest = { start: problem.span.start, end };
  return {
    at: marked ? span : rest,
    message: marked
      ? `${shown(written)} is no name without quotes: it has more in it than letters, digits, ${quoted('-')} and ${quoted('_')}. Write ${shown(name)}.`
      : `${shown(textAt(entry, rest))} does not belong to the name before it: a name of several words stands in quotes. Write ${quoted(name)}.`,
    span,
    ways: [name],
    quotes: 'name',
    isSure: true,
  };
}

/** What stands where a name is wanted and is none, but would be in quotes. */
function notAName({ expected, found, span }: Unexpected, entry: EntrySyntax): LineWay | undefined {
  if (found === undefined || !/^(a|the) name\b/.test(expected)) return undefined;
  const rest = /^[^\r\n]*/.exec(entry.text.slice(span.start))?.[0] ?? found;
  const other = otherQuotes(rest);
  const word = /^[^\s"]+/.exec(rest)?.[0] ?? found;
  if (!other && !/[\p{L}\p{N}]/u.test(word)) return undefined;
  const name = other?.text ?? `"${word}"`;
  let way = `If that is the name, write it in quotes: ${shown(name)}.`;
  if (other) way = `A name stands in quotes of this kind: ${shown(name)}.`;
  else if (/^\d/.test(found)) way = `A name that starts with a digit stands in quotes: ${shown(name)}.`;
  return {
    at: span,
    message: `${clause(expected)} was expected, but ${shown(found)} stands here. ${way}`,
    span: { start: span.start, end: span.start + (other?.length ?? word.length) },
    ways: [name],
    quotes: 'name',
  };
}

/** A text without its quotes, or in other ones. */
function notAText({ expected, found, span }: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const whole = { start: span.start, end: line.span.end };
  const rest = textAt(entry, whole);
  if (found === undefined || !expected.includes('in quotes') || rest.includes('"')) return undefined;
  const other = otherQuotes(rest);
  const text = other?.length === rest.length ? other.text : `"${rest}"`;
  return {
    at: span,
    message: `${clause(expected)} was expected, but ${shown(found)} stands here. Put the text in quotes: ${shown(text)}.`,
    span: whole,
    ways: [text],
    quotes: 'text',
  };
}

/** The first word of a part that may be left out. */
function firstWord(element: Element): string | undefined {
  const first = 'optional' in element ? element.optional[0] : undefined;
  return first && 'word' in first ? first.word : undefined;
}

/** Parts that may be left out, and stand the wrong way round: `after 8 NM at 3 kt`. */
function inOrder({ span: rest }: TooLong, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const words = (line.form?.elements ?? []).flatMap((element) => firstWord(element) ?? []);
  const first = words.indexOf(line.tokens.find((tok) => tok.startOffset === rest.start)?.image.toLowerCase() ?? '');
  if (first < 0) return undefined;
  const later = line.tokens.find(
    (tok) => tok.startOffset < rest.start && words.indexOf(tok.image.toLowerCase()) > first,
  );
  if (!later) return undefined;
  const behind = entry.text.slice(later.startOffset, rest.start).trimEnd();
  const own = textAt(entry, rest);
  const span = { start: later.startOffset, end: rest.end };
  const way = `${own} ${behind}`;
  const whole = instead(line, span, way, entry);
  if (!reads(whole, line, entry)) return undefined;
  return {
    at: rest,
    message: `${shown(own)} belongs before ${shown(behind)}. Write ${shown(whole.replace(/\s+/gu, ' '))}.`,
    span,
    ways: [way],
  };
}

/** A part that may be left out, without the word that it begins with: `turn Mill 75 kt`, `900 m grass`. */
function withItsWord({ span: rest, expected }: TooLong, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const words = [...expected.matchAll(/`([^`\s]+)([^`]*)`/g)].flatMap(([, one, more]) => [one ?? '', `${one}${more}`]);
  const own = textAt(entry, rest);
  const ways = [...new Set(words)]
    .map((word) => `${word} ${own}`)
    .filter((way) => reads(instead(line, rest, way, entry), line, entry));
  if (ways.length === 0) return undefined;
  return {
    at: rest,
    message: `${shown(own)} stands without the word before it. Write ${orList(ways.map(shown))}.`,
    span: rest,
    ways,
  };
}

/** `T` behind a direction, which is true without it. */
function trueAnyway({ found, span }: Unexpected, line: LineSyntax): LineWay | undefined {
  const degree = line.tokens.find((tok) => tok.image === '°' && tok.startOffset + 1 === span.start);
  if (found?.toUpperCase() !== 'T' || !degree) return undefined;
  const number = line.tokens[line.tokens.indexOf(degree) - 1];
  if (!number) return undefined;
  const way = `${number.image}°`;
  return {
    at: span,
    message: `${shown(`${way}${found}`)} needs no letter: directions are true, unless ${quoted('°M')} says magnetic. Write ${quoted(way)}.`,
    span: { start: number.startOffset, end: span.end },
    ways: [way],
    says: 'degrees true',
  };
}

function runwayEnds({ expected }: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const { ends } = line.slots;
  if (ends?.kind !== 'runway' || !expected.startsWith('the length of the runway')) return undefined;
  const dashed = dashedEnds(entry.text, ends.span.start);
  if (!dashed) return undefined;
  const way = endsWith(entry, ends.span.start, dashed);
  return { at: way.span, ...way };
}

/** A wind without a direction, in a word or a group of weather reports. Source of the group: ICAO Annex 3, from memory. */
const VARIABLE = /^(?:VRB|variable)(?![\p{L}])/iu;

function variable({ span }: Unexpected, entry: EntrySyntax): LineWay | undefined {
  if (!VARIABLE.test(entry.text.slice(span.start))) return undefined;
  return {
    at: span,
    message: `${shown(textAt(entry, span))} is a wind without a direction, and no leg can be planned in it. Write the direction that is the worst for the glide home, such as ${quoted('surface from 230° at 3 kt')}.`,
    span,
    ways: [],
  };
}

/** Where there is no wind, in a word: `wind calm`, `wind surface calm`. */
function calm({ expected, span, found }: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  if (found?.toLowerCase() !== 'calm') return undefined;
  const isAlone = expected.startsWith('`surface`');
  const way = `${isAlone ? 'surface ' : ''}${expected.startsWith('a direction') ? '' : 'from '}0° at 0 kt`;
  if (!reads(instead(line, span, way, entry), line, entry)) return undefined;
  return {
    at: span,
    message: `${shown(found)} is a wind of 0 kt. Write ${quoted(way)}${isAlone ? `, or the altitude in the place of ${quoted('surface')}` : ''}.`,
    span,
    ways: [way],
    inOtherNumbers: true,
    ...(isAlone ? { isGuess: true } : {}),
  };
}

/** A wind without its words: `wind 3000 ft MSL 250/15`. */
function windWords(problem: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  if (line.form?.id !== 'wind') return undefined;
  const { expected, span } = problem;
  const said = windAsSaid(entry.text, span.start);
  if (!said) return calm(problem, line, entry) ?? variable(problem, entry);
  const whole = { start: span.start, end: said.end };
  const reading = (ways: readonly string[]) =>
    ways.filter((way) => reads(instead(line, whole, way, entry), line, entry));
  if (expected.startsWith('`surface`')) {
    const way = windFromItsStart(whole, said, entry);
    return way.ways.length === 0 || reading(way.ways).length > 0 ? { at: whole, ...way } : undefined;
  }
  const { winds, altitude } = said;
  if (altitude) return undefined;
  const ways = reading(expected.startsWith('a direction') ? winds : winds.map((wind) => `from ${wind}`));
  if (ways.length === 0) return undefined;
  return {
    at: whole,
    message: `${shown(textAt(entry, whole))} is a wind without its words. Write ${orList(ways.map(quoted))}.`,
    span: whole,
    ways,
    inOtherNumbers: true,
  };
}

/** Words that stand between others and say nothing of their own here: `arrive at 300 m AGL`. */
const IDLE: ReadonlySet<string> = new Set(['at', 'from', 'to', 'up', 'of', 'on', 'is', 'the']);

function withoutWord({ found, span }: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  if (found === undefined || !IDLE.has(found.toLowerCase())) return undefined;
  const rest = entry.text.slice(span.end, line.span.end);
  const way = rest.trimStart();
  const whole = { start: span.start, end: line.span.end };
  const without = instead(line, whole, way, entry);
  if (way === rest || !reads(without, line, entry)) return undefined;
  return {
    at: span,
    message: `${shown(found)} is a word too much here. Write ${shown(without.replace(/\s+/gu, ' '))}.`,
    span: whole,
    ways: [way],
  };
}

/** What some write for a word of the language. Never one that turns the sense round, as `to` for the `from` of a wind. */
const FOR_WORD: ReadonlyMap<string, ReadonlySet<string>> = new Map([
  ['to', new Set(['until', 'till'])],
  ['of', new Set(['from', 'around'])],
  ['mass', new Set(['weight'])],
]);

function otherWord(problem: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const { expected, found, span } = problem;
  const word = /^`(\p{L}+)`$/u.exec(expected)?.[1];
  if (word === undefined || !FOR_WORD.get(word)?.has(found?.toLowerCase() ?? '')) return undefined;
  return insteadOf(problem, span, word, line, entry);
}

/** How a line was meant that has this problem; undefined where that cannot be told. */
export function lineWay(problem: Unexpected | TooLong, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const name =
    settingAsSaid(problem, line, entry) ??
    speedToFly(problem, line, entry) ??
    indicatedAlready(problem, line, entry) ??
    namePart(problem, line, entry);
  if (name) return name;
  if (problem.kind === 'line-too-long') return inOrder(problem, line, entry) ?? withItsWord(problem, line, entry);
  return (
    trueAnyway(problem, line) ??
    runwayEnds(problem, line, entry) ??
    windWords(problem, line, entry) ??
    valueWay(problem, line, entry) ??
    withoutWord(problem, line, entry) ??
    otherWord(problem, line, entry) ??
    notAText(problem, line, entry) ??
    notAName(problem, entry)
  );
}
