/**
 * The units that a plan may be written in: one row a unit. Where text is read, a number and its unit become an SI value;
 * where text is written, an SI value becomes a number in the reader's unit. Nothing between the two knows a unit.
 *
 * Factors: the international foot, statute mile and nautical mile (BIPM SI Brochure, 9th edition, table 8 and its notes),
 * the international pound 0.45359237 kg, and the conventional inch of mercury 3386.389 Pa.
 */

/** What a quantity measures. `length` serves distances and heights alike. */
export type Dimension =
  | 'length'
  | 'speed'
  | 'climb'
  | 'mass'
  | 'pressure'
  | 'temperature'
  | 'direction'
  | 'share'
  | 'duration'
  | 'frequency';

export interface Unit {
  /** As the formatter writes it. */
  readonly text: string;
  /** The dimensions it can measure; `kt` and `m/s` measure speed and climb. */
  readonly dimensions: readonly Dimension[];
  /** SI value = number × factor + offset (offset only for temperatures). */
  readonly factor: number;
  readonly offset?: number;
  /** Other spellings that are read and formatted to `text`; all are compared in lower case. */
  readonly also?: readonly string[];
  /** In words, for messages and hovers. */
  readonly words: string;
}

const FOOT = 0.3048;
const NAUTICAL_MILE = 1852;
const KNOT = NAUTICAL_MILE / 3600;
const STATUTE_MILE = 1609.344;

export const UNITS = [
  { text: 'm', dimensions: ['length'], factor: 1, words: 'metres' },
  { text: 'km', dimensions: ['length'], factor: 1000, words: 'kilometres' },
  { text: 'ft', dimensions: ['length'], factor: FOOT, words: 'feet' },
  {
    text: 'NM',
    dimensions: ['length'],
    factor: NAUTICAL_MILE,
    words: 'nautical miles',
  },
  {
    text: 'mi',
    dimensions: ['length'],
    factor: STATUTE_MILE,
    words: 'statute miles',
  },
  { text: 'kt', dimensions: ['speed', 'climb'], factor: KNOT, words: 'knots' },
  {
    text: 'km/h',
    dimensions: ['speed'],
    factor: 1 / 3.6,
    words: 'kilometres an hour',
  },
  {
    text: 'mph',
    dimensions: ['speed'],
    factor: STATUTE_MILE / 3600,
    words: 'statute miles an hour',
  },
  {
    text: 'm/s',
    dimensions: ['speed', 'climb'],
    factor: 1,
    words: 'metres a second',
  },
  {
    text: 'ft/min',
    dimensions: ['climb'],
    factor: FOOT / 60,
    words: 'feet a minute',
  },
  { text: 'kg', dimensions: ['mass'], factor: 1, words: 'kilograms' },
  { text: 'lb', dimensions: ['mass'], factor: 0.45359237, words: 'pounds' },
  { text: 'hPa', dimensions: ['pressure'], factor: 100, words: 'hectopascals' },
  {
    text: 'inHg',
    dimensions: ['pressure'],
    factor: 3386.389,
    words: 'inches of mercury',
  },
  {
    text: '°C',
    dimensions: ['temperature'],
    factor: 1,
    offset: 273.15,
    also: ['c'],
    words: 'degrees Celsius',
  },
  {
    text: '°F',
    dimensions: ['temperature'],
    factor: 5 / 9,
    offset: 273.15 - (32 * 5) / 9,
    also: ['f'],
    words: 'degrees Fahrenheit',
  },
  { text: '°', dimensions: ['direction'], factor: 1, words: 'degrees true' },
  {
    text: '°M',
    dimensions: ['direction'],
    factor: 1,
    words: 'degrees magnetic',
  },
  { text: '%', dimensions: ['share'], factor: 0.01, words: 'per cent' },
  { text: 'h', dimensions: ['duration'], factor: 3600, words: 'hours' },
  { text: 'min', dimensions: ['duration'], factor: 60, words: 'minutes' },
  { text: 'MHz', dimensions: ['frequency'], factor: 1e6, words: 'megahertz' },
] as const satisfies readonly Unit[];

export type UnitText = (typeof UNITS)[number]['text'];

const byWord = new Map<string, Unit>();
for (const unit of UNITS as readonly Unit[]) {
  byWord.set(unit.text.toLowerCase(), unit);
  for (const other of unit.also ?? []) byWord.set(other, unit);
}

/** The unit that a word stands for, in any case and with any space behind a degree sign; undefined when there is none. */
export function unitOf(word: string): Unit | undefined {
  return byWord.get(word.toLowerCase().replace(/\s+/g, ''));
}

/** The unit of this exact standard spelling. */
export function unit(text: UnitText): Unit {
  return byWord.get(text.toLowerCase()) as Unit;
}

/** The units that can measure `dimension`, in the table's order. */
export function unitsFor(dimension: Dimension): readonly Unit[] {
  return (UNITS as readonly Unit[]).filter((u) => u.dimensions.includes(dimension));
}

/** A number in `from` as an SI value (m, m/s, kg, Pa, K, degrees, share 0 to 1, s, Hz). */
export function toSi(value: number, from: Unit): number {
  return value * from.factor + (from.offset ?? 0);
}

/** An SI value as a number in `to`. */
export function fromSi(value: number, to: Unit): number {
  return (value - (to.offset ?? 0)) / to.factor;
}

/** What a dimension is called in a message, with an example that reads well behind "such as". */
export const DIMENSION_WORDS: Readonly<Record<Dimension, { noun: string; example: string }>> = {
  length: { noun: 'a length', example: '500 m' },
  speed: { noun: 'a speed', example: '75 kt' },
  climb: { noun: 'a rate of climb or sink', example: '3 kt' },
  mass: { noun: 'a mass', example: '82 kg' },
  pressure: { noun: 'a pressure', example: '1018 hPa' },
  temperature: { noun: 'a temperature', example: '24 °C' },
  direction: { noun: 'a direction', example: '230°' },
  share: { noun: 'a share', example: '70 %' },
  duration: { noun: 'a duration', example: '45 min' },
  frequency: { noun: 'a frequency', example: '122.905 MHz' },
};

/** What pilots also write for a unit, in lower case. It is not read, but a message and a fix know what is meant. */
const HABITS: Readonly<Record<string, UnitText>> = {
  fpm: 'ft/min',
  'feet/min': 'ft/min',
  foot: 'ft',
  kts: 'kt',
  kias: 'kt',
  kph: 'km/h',
  kmph: 'km/h',
  kmh: 'km/h',
  mps: 'm/s',
  mb: 'hPa',
  mbar: 'hPa',
  millibar: 'hPa',
  meter: 'm',
  meters: 'm',
  hours: 'h',
  hr: 'h',
  deg: '°',
  percent: '%',
};

/** The unit, of those given, that an unknown word stands for by habit or in full: no guess. */
function unitMeant(text: string, of: readonly Unit[]): Unit | undefined {
  const word = text.toLowerCase();
  return of.find((one) => one.text === HABITS[word] || one.words === word || one.words === `${word}s`);
}

/** The same, or those that a word stands for in one country and in another: `sm`, a statute mile and a Seemeile. */
export function unitsMeant(text: string, of: readonly Unit[]): readonly Unit[] {
  const sure = unitMeant(text, of);
  if (sure) return [sure];
  return of.filter((one) => text.toLowerCase() === 'sm' && (one.text === 'NM' || one.text === 'mi'));
}
