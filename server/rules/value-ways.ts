/** Values as pilots write them elsewhere, where the line wants them in the language's own way. */
import type { EntrySyntax, LineSyntax } from '../../grammar/syntax.ts';
import { unitOf, unitsFor } from '../../grammar/units.ts';
import { slotsOf } from '../../grammar/vocabulary.ts';
import { clause, instead, insteadOf, type LineWay, reads, shown, type TooLong, type Unexpected } from './line-way.ts';
import { orList, quoted, textAt } from './rule.ts';

/** The same value in other numbers. */
function inOtherNumbers(way: LineWay | undefined): LineWay | undefined {
  return way && { ...way, inOtherNumbers: true };
}

/** A glide ratio in pieces, or without its `:1`. */
function ratio(problem: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const { expected, found, span } = problem;
  if (found === undefined || !expected.startsWith('a glide ratio')) return undefined;
  const match = /^(\d+(?:\.\d+)?)(?:[^\S\r\n]*[:/][^\S\r\n]*(\d+(?:\.\d+)?))?/.exec(entry.text.slice(span.start));
  if (!match) return undefined;
  const whole = { start: span.start, end: span.start + match[0].length };
  return insteadOf(problem, whole, `${match[1]}:${match[2] ?? 1}`, line, entry);
}

/** A clock in other signs: `1130Z`, `11.30Z`, `11h30`; and by its hour alone, where a zone says that it is one: `9Z`. */
const CLOCK = /^([01]?\d|2[0-3])(?:[.h]?([0-5]\d)(Z|[+-]\d{2}:\d{2})?|(Z|[+-]\d{2}:\d{2}))(?![\p{L}\p{N}:.])/iu;

function clock({ expected, span }: Unexpected, entry: EntrySyntax): LineWay | undefined {
  const match = expected.startsWith('a time') ? CLOCK.exec(entry.text.slice(span.start)) : null;
  if (!match) return undefined;
  const [{ length }, hour = '', minute = '00', behind, alone] = match;
  const zone = behind ?? alone;
  const time = `${hour.padStart(2, '0')}:${minute}`;
  const whole = { start: span.start, end: span.start + length };
  const written = shown(textAt(entry, whole));
  const way = `${time}${zone?.toUpperCase() ?? ''}`;
  return {
    at: whole,
    message: zone
      ? `${written} is a time without its ${alone === undefined ? 'colon' : 'minutes'}. Write ${quoted(way)}.`
      : `${written} is a time without its colon and its zone. Write ${quoted(`${time}Z`)} for UTC, or the local clock with its lead on UTC, such as ${quoted(`${time}+02:00`)}.`,
    span: whole,
    ways: [way],
    inOtherNumbers: true,
  };
}

/** A time that runs, as on a stop watch: `3:30`. */
function lasting({ expected, span }: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const match = expected.startsWith('a duration')
    ? /^(\d{1,2}):([0-5]\d)(?![\d:])/.exec(entry.text.slice(span.start))
    : null;
  if (!match) return undefined;
  const whole = { start: span.start, end: span.start + match[0].length };
  const way = `${Number(match[1])} h ${Number(match[2])} min`;
  if (!reads(instead(line, whole, way, entry), line, entry)) return undefined;
  return {
    at: whole,
    message: `${clause(expected)} was expected, but ${shown(match[0])} stands here. If hours and minutes are meant, write ${quoted(way)}.`,
    span: whole,
    ways: [way],
    isGuess: true,
    inOtherNumbers: true,
  };
}

/** Where an airspace begins at the ground, as charts write it. Source: ICAO Annex 4, abbreviations GND and SFC, from memory. */
const GROUND: ReadonlySet<string> = new Set(['gnd', 'sfc', 'ground', 'surface']);

function ground(problem: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const { expected, found, span } = problem;
  if (!expected.startsWith('a height') || found === undefined || !GROUND.has(found.toLowerCase())) return undefined;
  return inOtherNumbers(insteadOf(problem, span, '0 ft AGL', line, entry));
}

/** No cloud, in a word or a group of weather reports. Source of the groups: ICAO Annex 3, from memory. */
const NO_CLOUD: ReadonlySet<string> = new Set('none unlimited clear no nil cavok skc nsc ncd'.split(' '));

function noCloud({ found, span }: Unexpected, line: LineSyntax): LineWay | undefined {
  if (line.form?.id !== 'cloudbase' || !NO_CLOUD.has(found?.toLowerCase() ?? '')) return undefined;
  return {
    at: span,
    message: `${shown(found as string)} is no height. Without a ${quoted('cloudbase')} no cloud limits a climb: take the line out.`,
    span,
    ways: [],
    takesOut: true,
  };
}

const MONTHS = 'january february march april may june july august september october november december'.split(' ');
const MONTH = '(?<month>\\p{L}{3,9})';
const ENDS = '(?![\\p{L}\\p{N}])';
/** `13.6.2026`, `6/13/2026`, `2026/6/13` and `20260613`; `13 June 2026` and `June 13, 2026`. */
const DATES = [
  new RegExp(
    String.raw`^(?<a>\d{1,4})[^\S\r\n]?(?<sign>[./-])[^\S\r\n]?(?<b>\d{1,2})[^\S\r\n]?\k<sign>[^\S\r\n]?(?<c>\d{1,4})${ENDS}`,
    'u',
  ),
  new RegExp(String.raw`^(?<a>\d{4})(?<b>\d{2})(?<c>\d{2})${ENDS}`, 'u'),
  new RegExp(
    String.raw`^(?<day>\d{1,2})(?:st|nd|rd|th)?[-.]?[^\S\r\n]*${MONTH}[-.]?[^\S\r\n]*(?<year>\d{4})${ENDS}`,
    'iu',
  ),
  new RegExp(String.raw`^${MONTH}\.?[^\S\r\n]*(?<day>\d{1,2})(?:st|nd|rd|th)?,?[^\S\r\n]+(?<year>\d{4})${ENDS}`, 'iu'),
];

/** What a date may be, the day before the month first. */
function datesOf({ a, b, c, day, month, year }: Record<string, string | undefined>): string[] {
  const iso = (y = '', m = '', d = '') =>
    /^\d{4}$/.test(y) && m.length <= 2 && d.length <= 2 ? [`${y}-${m.padStart(2, '0')}-${d.padStart(2, '0')}`] : [];
  if (month !== undefined)
    return iso(year, String(MONTHS.findIndex((name) => name.startsWith(month.toLowerCase())) + 1), day);
  return [...new Set([...iso(a, b, c), ...iso(c, b, a), ...iso(c, a, b)])];
}

function date({ expected, span, found }: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  if (found === undefined || !expected.startsWith('a date')) return undefined;
  const source = entry.text.slice(span.start);
  const match = DATES.map((one) => one.exec(source)).find((one) => one !== null);
  if (!match) return undefined;
  const whole = { start: span.start, end: span.start + match[0].length };
  const ways = datesOf(match.groups ?? {}).filter((way) => reads(instead(line, whole, way, entry), line, entry));
  const [one, other] = ways.map(quoted);
  if (one === undefined) return undefined;
  const written = shown(textAt(entry, whole));
  return {
    at: whole,
    message:
      other === undefined
        ? `${written} is a date written in another way. Write ${one}.`
        : `${written} is ${one} where the day stands first, and ${other} where the month does. Write the one that is meant.`,
    span: whole,
    ways,
    inOtherNumbers: true,
    ...(other === undefined ? {} : { isGuess: true as const }),
  };
}

/** A pressure as weather reports have it: `Q1018`, `A2992`. Source: ICAO Annex 3 and WMO-No. 306, from memory. */
const REPORTED = /^(?:Q(?:NH)?[^\S\r\n]*(\d{3,4})|A(\d\d)(\d\d))(?![\p{L}\p{N}.])/iu;

function pressure(problem: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const { expected, span } = problem;
  const match = expected.startsWith('a pressure') ? REPORTED.exec(entry.text.slice(span.start)) : null;
  if (!match) return undefined;
  const [{ length }, hectopascals, inches, hundredths] = match;
  const whole = { start: span.start, end: span.start + length };
  const way = hectopascals === undefined ? `${inches}.${hundredths} inHg` : `${Number(hectopascals)} hPa`;
  return inOtherNumbers(insteadOf(problem, whole, way, line, entry));
}

/** A MacCready setting as it is said: `MC 3 kt`, `mc2`. Common practice, no source. */
const SETTING =
  /^m(?:c|ac|c?cready|acready)[^\S\r\n]*(\d+(?:\.\d+)?)(?:[^\S\r\n]*(\p{L}+(?:\/\p{L}+)?))?(?![\p{L}\p{N}.])/iu;

/** Such a setting where a leg has its speed, with `at` before it or without. */
export function settingAsSaid(
  { span }: Unexpected | TooLong,
  line: LineSyntax,
  entry: EntrySyntax,
): LineWay | undefined {
  const match = SETTING.exec(entry.text.slice(span.start));
  if (!match) return undefined;
  const [{ length }, number, written] = match;
  const whole = { start: span.start, end: span.start + length };
  const unit = written === undefined ? undefined : unitOf(written);
  const units = unit ? [unit] : unitsFor('climb');
  const of = (before: string) =>
    units
      .map(({ text }) => `${before}maccready ${number} ${text}`)
      .filter((way) => reads(instead(line, whole, way, entry), line, entry));
  const ways = [of(''), of('at ')].find(({ length: many }) => many > 0);
  if (!ways) return undefined;
  return {
    at: whole,
    message: `${shown(textAt(entry, whole))} is a MacCready setting, which is written in full${unit ? '' : ' and has a unit'}. Write ${orList(ways.map(quoted))}.`,
    span: whole,
    ways,
    ...(unit ? {} : { isGuess: true as const }),
  };
}

/** The speed to fly without the setting that it follows from, where a leg has its speed. Common practice, no source. */
const TO_FLY = /^(?:speed[^\S\r\n-]*-?to[^\S\r\n-]*-?fly|STF|maccready)(?![\p{L}\p{N}])/iu;

export function speedToFly({ span }: Unexpected | TooLong, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const match = TO_FLY.exec(entry.text.slice(span.start));
  const whole = { start: span.start, end: span.start + (match?.[0].length ?? 0) };
  const isSpeed = ['', 'at '].some((before) =>
    reads(instead(line, whole, `${before}maccready 3 kt`, entry), line, entry),
  );
  if (!match || !isSpeed) return undefined;
  return {
    at: whole,
    message: `${shown(textAt(entry, whole))} follows from the climb that is expected, and none is named. Write that climb behind ${quoted('maccready')}, such as ${quoted('at maccready 3 kt')}.`,
    span: whole,
    ways: [],
  };
}

/** What some write behind a speed: `130 kt IAS`. */
const WHICH_SPEED = /^(?:(?<indicated>K?IAS|indicated)|K?[CET]AS|true|calibrated)(?![\p{L}\p{N}])/iu;

/** Whether a speed through the air stands right before a place; that of a wind is none. */
function isBehindAirspeed(start: number, { form, slots }: LineSyntax, entry: EntrySyntax): boolean {
  const keyword = entry.form?.keyword;
  if (!form || form.id === 'crosswind' || (keyword !== 'task' && keyword !== 'aircraft')) return false;
  return [...slotsOf(form)].some(([name, { kind }]) => {
    const end = kind === 'speed' ? slots[name]?.span.end : undefined;
    return end !== undefined && end <= start && entry.text.slice(end, start).trim() === '';
  });
}

export function indicatedAlready(
  { span }: Unexpected | TooLong,
  line: LineSyntax,
  entry: EntrySyntax,
): LineWay | undefined {
  const match = isBehindAirspeed(span.start, line, entry) ? WHICH_SPEED.exec(entry.text.slice(span.start)) : null;
  if (!match) return undefined;
  const end = span.start + match[0].length;
  const rest = entry.text.slice(end, line.span.end).trimStart();
  const before = entry.text.slice(line.span.start, span.start).trimEnd();
  const start = line.span.start + before.length;
  const way = rest === '' ? '' : ` ${rest}`;
  if (!reads(before + way, line, entry)) return undefined;
  const at = { start: span.start, end };
  const written = shown(textAt(entry, at));
  const whole = { start, end: line.span.end };
  return match.groups?.indicated === undefined
    ? {
        at,
        message: `${written} is not the speed that stands here: the line wants the indicated one, as the airspeed indicator shows it. Write that, without a word behind it.`,
        span: whole,
        ways: [],
      }
    : {
        at,
        message: `${written} is too much: the speeds of an aircraft and of a leg are indicated. Write ${shown((before + way).replace(/\s+/gu, ' '))}.`,
        span: whole,
        ways: [way],
        leavesOut: match[0],
        isSure: true,
      };
}

/** A layer of a weather report: `BKN040`, `FEW035CU`. In hundreds of feet. Source: ICAO Annex 3, from memory. */
const LAYER = /^(?:FEW|SCT|BKN|OVC|VV)(\d{3})(?:CB|TCU|CU)?(?![\p{L}\p{N}])/iu;

function layer({ span }: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  const match = line.form?.id === 'cloudbase' ? LAYER.exec(entry.text.slice(span.start)) : null;
  if (!match) return undefined;
  const whole = { start: span.start, end: span.start + match[0].length };
  return {
    at: whole,
    message: `${shown(match[0])} is a layer ${Number(match[1]) * 100} ft above the aerodrome of the report, and this line is counted from the sea. Add the elevation of that aerodrome, and write the sum with ${quoted('ft MSL')} behind it.`,
    span: whole,
    ways: [],
  };
}

/** How a value was meant that the line cannot be read by. */
export function valueWay(problem: Unexpected, line: LineSyntax, entry: EntrySyntax): LineWay | undefined {
  return (
    ratio(problem, line, entry) ??
    clock(problem, entry) ??
    lasting(problem, line, entry) ??
    date(problem, line, entry) ??
    pressure(problem, line, entry) ??
    ground(problem, line, entry) ??
    noCloud(problem, line) ??
    layer(problem, line, entry)
  );
}
