/** From the tokens in a slot to the value that is written there. */
import type {
  AngleNode,
  CoordinatesNode,
  DatumPart,
  NumberPart,
  QuantityNode,
  RunwayEnd,
  Span,
  UnitPart,
  ValueNode,
} from './syntax.ts';
import {
  Angle,
  ColonPair,
  DateToken,
  Degree,
  FlightLevel,
  NumberToken,
  Str,
  spanOf,
  type Token,
  UnclosedStr,
  UnitToken,
  Word,
} from './tokens.ts';
import { unitOf } from './units.ts';
import type { Slot } from './vocabulary.ts';

function spanning(tokens: readonly Token[]): Span {
  const first = tokens[0] as Token;
  const last = tokens[tokens.length - 1] as Token;
  return { start: first.startOffset, end: spanOf(last).end };
}

/** The value of a number as written; undefined with a comma, which one reader takes for a decimal sign and the next does not. */
function readNumber(text: string): number | undefined {
  if (text.includes(',')) return undefined;
  return Number(text.replace('−', '-'));
}

function numberPart(tok: Token): NumberPart {
  return { span: spanOf(tok), text: tok.image, value: readNumber(tok.image) };
}

function quantity(tokens: readonly Token[]): QuantityNode | undefined {
  const first = tokens[0];
  if (first?.tokenType !== NumberToken) return undefined;
  let unit: UnitPart | undefined;
  let datum: DatumPart | undefined;
  for (let i = 1; i < tokens.length; i++) {
    const tok = tokens[i] as Token;
    const upper = tok.image.toUpperCase();
    if (upper === 'MSL' || upper === 'AGL') datum = { span: spanOf(tok), text: tok.image, datum: upper };
    else if (!unit) unit = { span: spanOf(tok), text: tok.image, unit: unitOf(tok.image) };
    else datum = { span: spanOf(tok), text: tok.image, datum: undefined };
  }
  return {
    kind: 'quantity',
    span: spanning(tokens),
    number: numberPart(first),
    unit,
    datum,
  };
}

function durations(tokens: readonly Token[]): QuantityNode[] {
  const parts: QuantityNode[] = [];
  let from = 0;
  for (let i = 1; i <= tokens.length; i++) {
    if (i < tokens.length && tokens[i]?.tokenType !== NumberToken) continue;
    const part = quantity(tokens.slice(from, i));
    if (part) parts.push(part);
    from = i;
  }
  return parts;
}

const ANGLE = /^([-−+]?\d+(?:\.\d+)?)°\s*(\d+(?:\.\d+)?)['′’](?:\s*(\d+(?:\.\d+)?))?/u;

function angle(tokens: readonly Token[]): AngleNode | undefined {
  const first = tokens[0];
  if (!first) return undefined;
  const last = tokens[tokens.length - 1] as Token;
  const hemisphere =
    last !== first && last.tokenType !== Degree && last.tokenType !== UnitToken
      ? { span: spanOf(last), text: last.image }
      : undefined;
  const span = spanning(tokens);
  const text = first.image;
  const match = first.tokenType === Angle ? ANGLE.exec(first.image) : null;
  if (!match) {
    const value = readNumber(first.image);
    return {
      span,
      text,
      hemisphere,
      notation: 'degrees',
      degrees: value ?? 0,
      minutes: 0,
      seconds: 0,
      value,
    };
  }
  const degrees = readNumber(match[1] as string) as number;
  const minutes = Number(match[2]);
  const seconds = match[3] === undefined ? 0 : Number(match[3]);
  const size = Math.abs(degrees) + minutes / 60 + seconds / 3600;
  const value = degrees < 0 ? -size : size;
  return {
    span,
    text,
    hemisphere,
    notation: match[3] === undefined ? 'minutes' : 'seconds',
    degrees,
    minutes,
    seconds,
    value,
  };
}

function coordinates(tokens: readonly Token[]): CoordinatesNode | undefined {
  const startsAngle = (tok: Token | undefined) => tok?.tokenType === NumberToken || tok?.tokenType === Angle;
  let second = 1;
  while (second < tokens.length && !startsAngle(tokens[second])) second++;
  const first = angle(tokens.slice(0, second));
  if (!first) return undefined;
  return {
    kind: 'coordinates',
    span: spanning(tokens),
    first,
    second: angle(tokens.slice(second)),
  };
}

const TIME = /^(\d{1,2}):(\d{2})(?::(\d{2}))?(?:([Zz])|([+-])(\d{2}):?(\d{2}))?$/;

function time(tok: Token): ValueNode | undefined {
  const match = TIME.exec(tok.image);
  if (!match) return undefined;
  const [, hour, minute, second, zulu, sign, zoneHours, zoneMinutes] = match;
  const zone = zulu ? 0 : sign ? (sign === '-' ? -1 : 1) * (Number(zoneHours) * 60 + Number(zoneMinutes)) : undefined;
  return {
    kind: 'time',
    span: spanOf(tok),
    text: tok.image,
    hour: Number(hour),
    minute: Number(minute),
    second: Number(second ?? 0),
    zoneMinutes: zone,
  };
}

const RATIO = /^(\d+(?:\.\d+)?):(\d+(?:\.\d+)?)$/;

function ratio(tok: Token): ValueNode | undefined {
  const match = RATIO.exec(tok.image);
  if (!match) return undefined;
  return {
    kind: 'ratio',
    span: spanOf(tok),
    text: tok.image,
    value: Number(match[1]) / Number(match[2]),
  };
}

function runway(tok: Token): ValueNode {
  let at = tok.startOffset;
  const ends = tok.image.split('/').map((text): RunwayEnd => {
    const start = at;
    at += text.length + 1;
    const letter = /[LCR]$/i.exec(text)?.[0].toUpperCase() ?? '';
    return { span: { start, end: start + text.length }, text, number: Number.parseFloat(text), letter };
  });
  return { kind: 'runway', span: spanOf(tok), text: tok.image, ends };
}

/** A name or text without its quotes. */
function unquoted(tok: Token): string {
  if (tok.tokenType === Str) return tok.image.slice(1, -1);
  if (tok.tokenType === UnclosedStr) return tok.image.slice(1).trimEnd();
  return tok.image;
}

/** The value in `slot`, from the tokens found in it; undefined when too little is there to say. */
export function readValue(slot: Slot, tokens: readonly Token[]): ValueNode | undefined {
  const first = tokens[0];
  if (!first) return undefined;
  const span = spanning(tokens);
  switch (slot.kind) {
    case 'name': {
      const quoted = first.tokenType === Str || first.tokenType === UnclosedStr;
      const keyword = !quoted && first.tokenType !== Word && first.tokenType !== UnitToken;
      return {
        kind: 'name',
        span,
        text: unquoted(first).normalize('NFC'),
        quoted,
        keyword,
      };
    }
    case 'text':
      return { kind: 'text', span, text: unquoted(first) };
    case 'coordinates':
      return coordinates(tokens);
    case 'date': {
      if (first.tokenType !== DateToken) return undefined;
      const [year, month, day] = first.image.split('-').map(Number) as [number, number, number];
      return { kind: 'date', span, text: first.image, year, month, day };
    }
    case 'time':
      return first.tokenType === ColonPair ? time(first) : undefined;
    case 'ratio':
      return first.tokenType === ColonPair ? ratio(first) : undefined;
    case 'performance':
      return first.tokenType === ColonPair ? ratio(first) : quantity(tokens);
    case 'runway':
      return runway(first);
    case 'unit':
      return {
        kind: 'unit',
        span,
        text: first.image,
        unit: unitOf(first.image),
      };
    case 'choice':
    case 'word':
      return { kind: 'word', span, text: first.image };
    case 'duration': {
      const parts = durations(tokens);
      return parts.length > 0 ? { kind: 'duration', span, parts } : undefined;
    }
    case 'altitude':
      if (first.tokenType === FlightLevel)
        return {
          kind: 'flightLevel',
          span,
          level: Number(first.image.replace(/\D/g, '')),
        };
      return quantity(tokens);
    default:
      return quantity(tokens);
  }
}
