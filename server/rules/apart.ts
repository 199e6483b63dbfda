/**
 * Values that stand in the line in another way than the language writes them: `1 000 ft`, `30 : 1`, `12:00 Z`, `18-36`.
 * The parser sees the first piece, whose fault is told, and a rest that it has no place for: one cause, one finding.
 */
import type { EntrySyntax, Span } from '../../grammar/syntax.ts';
import { type Dimension, toSi, unitOf, unitsFor } from '../../grammar/units.ts';
import type { Fault } from '../plan/meaning.ts';
import { isSensible } from '../plan/sense.ts';
import { orList, quoted, textAt } from './rule.ts';

/** The whole of such a value, and how it is written. */
export interface Apart {
  readonly span: Span;
  /** What may be meant, to stand in its place; the likelier first. */
  readonly ways: readonly string[];
  readonly message: string;
  /** The way has something in it that nobody wrote: it is offered, and not as the obvious one. */
  readonly isGuess?: true;
  /** The way says what stands there in other numbers: `25015KT`. */
  readonly inOtherNumbers?: true;
}

/** The ends of a runway with a dash, which the number behind it takes for its sign: `18-36`. */
export function dashedEnds(source: string, start: number): { readonly end: number; readonly text: string } | undefined {
  const match = /^(\d{1,2}[LCR]?)[^\S\r\n]*[-\u2212\u2013\u2014][^\S\r\n]*(\d{1,2}[LCR]?)(?![\p{L}\p{N}])/iu.exec(
    source.slice(start, start + 20),
  );
  return match ? { end: start + match[0].length, text: `${match[1]}/${match[2]}` } : undefined;
}

function endsOf({ line, slot }: Fault, entry: EntrySyntax): Apart | undefined {
  const { ends } = line.slots;
  if (slot.slot !== 'length' || ends?.kind !== 'runway') return undefined;
  const dashed = dashedEnds(entry.text, ends.span.start);
  return dashed && endsWith(entry, ends.span.start, dashed);
}

/** The ends of a runway as they are written. */
export function endsWith(
  entry: EntrySyntax,
  start: number,
  { end, text }: { readonly end: number; readonly text: string },
): Apart {
  const span = { start, end };
  return {
    span,
    ways: [text],
    message: `${quoted(textAt(entry, span))} names the ends of a runway, which have a stroke between them. Write ${quoted(text)}.`,
  };
}

/** Where a line is at its end, but for a remark. */
const AT_END = /^[^\S\r\n]*(?:[\r\n#]|$)/u;

/** `250/15`, `250° 15 kt`, `250° at 15 kt`; and `25015KT`, as weather reports have it (ICAO Annex 3, from memory). */
const SAID =
  /^(?:(?<from>\d{1,3})(?<sign>°?)(?<between>[^\S\r\n]*[/@][^\S\r\n]*|[^\S\r\n]+(?:at[^\S\r\n]+)?)(?<speed>\d{1,3})(?![\d.])(?:[^\S\r\n]*(?!at\b)(?<unit>\p{L}+(?:\/\p{L}+)?))?|(?<from3>\d{3})(?<speed23>\d{2,3})(?<reported>KT|MPS))(?![\p{L}\p{N}])/iu;

/** The altitude behind such a wind: `at 3000 ft MSL`. */
const ALTITUDE =
  /^(?:[^\S\r\n]+at)?[^\S\r\n]+(?:(?<plain>surface|FL\d{2,3})|(?<number>\d+(?:\.\d+)?)[^\S\r\n]*(?<unit>ft|m)(?:[^\S\r\n]*(?<datum>A?MSL|AGL))?)(?![\p{L}\p{N}])/iu;

/** A wind as it is said. */
interface Said {
  /** Where it ends, which is the end of its line. */
  readonly end: number;
  /** In the words of the language: `250° at 15 kt`. */
  readonly winds: readonly string[];
  /** The word between direction and speed is there. */
  readonly hasAt: boolean;
  /**
   * The altitude that stands behind it; `isGuess` where it does not say what it is counted from. No text where that is
   * the ground, of which the line names none.
   */
  readonly altitude?: { readonly text: string | undefined; readonly isGuess: boolean };
}

function altitudeBehind(source: string): (NonNullable<Said['altitude']> & { readonly length: number }) | undefined {
  const match = ALTITUDE.exec(source);
  if (!match) return undefined;
  const [{ length }] = match;
  const { plain, number, unit, datum } = match.groups as Record<string, string | undefined>;
  if (plain !== undefined) return { length, text: /^s/i.test(plain) ? 'surface' : plain.toUpperCase(), isGuess: false };
  const text = datum?.toUpperCase() === 'AGL' ? undefined : `${number} ${unit?.toLowerCase()} MSL`;
  return { length, text, isGuess: datum === undefined };
}

/** A wind as it is said, with an altitude behind it or none, where nothing else follows. */
export function windAsSaid(source: string, start: number): Said | undefined {
  const match = SAID.exec(source.slice(start));
  if (!match) return undefined;
  const {
    from,
    sign,
    between,
    speed,
    unit: written,
    from3,
    speed23,
    reported,
  } = match.groups as Record<string, string | undefined>;
  const direction = from ?? (from3 as string);
  const number = Number(speed ?? speed23);
  const given = /^mps$/i.test(reported ?? '') ? 'm/s' : (written ?? reported);
  const unit = given === undefined ? undefined : unitOf(given);
  // Two numbers alone may be one in two pieces.
  const isWind =
    given === undefined
      ? sign === '°' || /[/@a]/i.test(between as string)
      : unit?.dimensions.includes('speed') === true;
  if (!isWind || Number(direction) > 360) return undefined;
  let end = start + match[0].length;
  const altitude = altitudeBehind(source.slice(end));
  end += altitude?.length ?? 0;
  if (!AT_END.test(source.slice(end))) return undefined;
  const units = unit ? [unit] : unitsFor('speed').filter((one) => isSensible('speed', toSi(number, one)));
  return {
    end,
    winds: units.map(({ text }) => `${direction}° at ${number} ${text}`),
    hasAt: /a/i.test(between ?? ''),
    ...(altitude ? { altitude: { text: altitude.text, isGuess: altitude.isGuess } } : {}),
  };
}

function windOf({ line, slot, node }: Fault, entry: EntrySyntax): Apart | undefined {
  const said = line.form?.id === 'wind' ? windAsSaid(entry.text, node.span.start) : undefined;
  if (!said) return undefined;
  const span = { start: node.span.start, end: said.end };
  if (slot.kind === 'altitude') return windFromItsStart(span, said, entry);
  if (slot.kind !== 'direction' || said.hasAt || said.altitude) return undefined;
  return {
    span,
    ways: said.winds,
    message: `${quoted(textAt(entry, span))} is a direction and a speed without the word between them. Write ${orList(said.winds.map(quoted))}.`,
    inOtherNumbers: true,
  };
}

/** A wind that stands where its altitude does: it names none, or names it behind. */
export function windFromItsStart(span: Span, { winds, altitude }: Said, entry: EntrySyntax): Apart {
  const written = quoted(textAt(entry, span));
  if (altitude && altitude.text === undefined)
    return {
      span,
      ways: [],
      message: `${written} is a wind with its altitude behind it, which comes first, and \`AGL\` has no ground to be counted from: the line names no place. Write the altitude in \`MSL\`, and behind it ${orList(winds.map((wind) => quoted(`from ${wind}`)))}.`,
    };
  const ways = winds.map((wind) => `${altitude?.text ?? 'surface'} from ${wind}`);
  const offered = orList(ways.map(quoted));
  const says = altitude?.isGuess ? ' (`MSL`: above the sea, on the altimeter set to QNH)' : '';
  return {
    span,
    ways,
    message: altitude
      ? `${written} is a wind with its altitude behind it, which comes first. Write ${offered}${says}.`
      : `${written} is a wind that does not say at what altitude. Write ${offered}, or the altitude in the place of ${quoted('surface')}.`,
    ...(altitude && !altitude.isGuess ? {} : { isGuess: true as const }),
    inOtherNumbers: true,
  };
}

/** A number in two pieces, `6 000 ft`, `6'000 ft` or `122 905 MHz`: as one, or with a point, whichever can be meant. */
export function inPieces(
  source: string,
  { start, end }: Span,
  kind: string,
  dimension: Dimension,
): { readonly span: Span; readonly ways: readonly string[]; readonly isPlain: boolean } | undefined {
  const number = source.slice(start, end);
  const [rest, gap, digits] = /^([^\S\r\n]+|['\u2019])(\d+)(?![\d.,:°/])/u.exec(source.slice(end)) ?? [];
  // Of a duration the pieces are its hours and its minutes.
  if (rest === undefined || gap === undefined || !/^\d+$/.test(number) || dimension === 'duration') return undefined;
  const [whole, point] = [`${number}${digits}`, `${number}.${digits}`];
  const behind = end + rest.length;
  const unit = unitOf(/^[^\S\r\n]*([\p{L}°%/]+)/u.exec(source.slice(behind))?.[1] ?? '');
  // The second number may be a value of its own, before which a unit or a word is missing.
  const isOne = !unit || unit.dimensions.includes(dimension);
  const can = (way: string) => !unit || (isOne && isSensible(kind, toSi(Number(way), unit)));
  const grouped = /^\d{1,3}$/.test(number) && digits?.length === 3;
  return {
    span: { start, end: behind },
    ways: [whole, ...(gap.trim() === '' ? [point] : [])].filter(can),
    isPlain: isOne && grouped && (can(whole) || dimension === 'frequency'),
  };
}

function withoutUnit(found: Fault, dimension: Dimension, number: Span, entry: EntrySyntax): Apart | undefined {
  const source = entry.text;
  const behind = source.slice(number.end);
  const whole = (length: number): Span => ({ start: number.start, end: number.end + length });
  const ratio =
    found.slot.kind === 'performance' ? /^[^\S\r\n]*:[^\S\r\n]*(\d+(?:\.\d+)?)(?![\d:])/u.exec(behind) : null;
  if (ratio) {
    const span = whole(ratio[0].length);
    const way = `${textAt(entry, number)}:${ratio[1]}`;
    return {
      span,
      ways: [way],
      message: `${quoted(textAt(entry, span))} belongs in one piece. Write ${quoted(way)}.`,
    };
  }
  const two = inPieces(source, number, found.slot.kind, dimension);
  const [one, other] = two?.ways ?? [];
  if (two?.isPlain && one !== undefined) {
    const way = other === undefined ? `Write ${one}.` : `Write ${one}, or ${other} if that is meant.`;
    return {
      span: two.span,
      ways: two.ways,
      message: `${quoted(textAt(entry, two.span))} is a number in two pieces. ${way}`,
    };
  }
  // `in` is a word of the language, and no unit by itself.
  const inches = dimension === 'pressure' ? /^[^\S\r\n]+in(?![\p{L}\p{N}])\.?/iu.exec(behind) : null;
  if (!inches) return undefined;
  const way = `${textAt(entry, number)} inHg`;
  return {
    span: whole(inches[0].length),
    ways: [way],
    message: `${quoted('in')} is no unit of pressure. Write ${quoted(way)}, inches of mercury.`,
  };
}

/** What stands behind a time and belongs to it, though it is written in another way: `UTC`, `+2`, `PM`. */
const BEHIND = /^[^\S\r\n]*(?:(Z|UTC|GMT)|([+-])(\d{1,2})|([AP])\.?M\.?)(?![\p{L}\p{N}_:.,+-])/iu;

function withBehind(time: Span, entry: EntrySyntax): Apart | undefined {
  const text = textAt(entry, time);
  const [hour = '', ...rest] = text.split(':');
  const match = BEHIND.exec(entry.text.slice(time.end, time.end + 20));
  if (!match) return undefined;
  const [{ length }, utc, sign, hours, half] = match;
  const span = { start: time.start, end: time.end + length };
  const written = quoted(textAt(entry, span));
  if (utc) {
    const way = `${text}Z`;
    const what = utc.toUpperCase() === 'Z' ? 'belongs in one piece' : 'says UTC in letters, which is a `Z` here';
    return { span, ways: [way], message: `${written} ${what}. Write ${quoted(way)}.` };
  }
  if (hours !== undefined) {
    const way = `${text}${sign}${hours.padStart(2, '0')}:00`;
    return { span, ways: [way], message: `${written} has no zone with hours and minutes. Write ${quoted(way)}.` };
  }
  if (Number(hour) < 1 || Number(hour) > 12) return undefined;
  const of24 = (Number(hour) % 12) + (half?.toUpperCase() === 'P' ? 12 : 0);
  const clock = [String(of24).padStart(2, '0'), ...rest].join(':');
  return {
    span,
    ways: [clock],
    message: `${written} is ${clock} on a clock of 24 hours, and has no zone. Write ${quoted(`${clock}Z`)} for UTC, or the local clock with its lead on UTC, such as ${quoted(`${clock}+02:00`)}.`,
  };
}

/** The whole of a value of which a fault tells the first piece; undefined where it stands in one. */
export function apart(found: Fault, entry: EntrySyntax): Apart | undefined {
  const { fault } = found;
  if (fault.code === 'unit-missing')
    return endsOf(found, entry) ?? windOf(found, entry) ?? withoutUnit(found, fault.dimension, fault.span, entry);
  if (fault.code === 'unit-wrong-kind') return windOf(found, entry);
  return fault.code === 'zone-missing' ? withBehind(fault.span, entry) : undefined;
}

/** Where the finding of a fault stands. */
export function placeOfFault(found: Fault, entry: EntrySyntax): Span {
  return apart(found, entry)?.span ?? found.fault.span;
}
