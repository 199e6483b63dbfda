/** Texts made from texts: changes that a hand, a paste or a broken disk could make, from a source of random numbers. */
import fc from 'fast-check';
import { ENTRIES, KEYWORDS } from '../../grammar/vocabulary.ts';
import { lineOf, plan } from '../grammar/plans.ts';

/** Numbers from 0 up to 1, the same for the same seed. Source: mulberry32, from memory. */
export function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

export type Random = () => number;

/** A longer text is cut: what is special shows in short ones, and more of them can be tried. */
export const LONGEST = 6_000;

const UNITS = ['m', 'km', 'ft', 'NM', 'mi', 'kt', 'km/h', 'mph', 'm/s', 'ft/min', 'kg', 'lb', 'hPa', 'inHg', '°C', '°'];
const NUMBERS = [
  '0',
  '-0',
  '1',
  '-1',
  '0.1',
  '1e3',
  '1,5',
  '1,000',
  '00012',
  '89.9999',
  '90',
  '180',
  '-180',
  '360',
  '9'.repeat(20),
  '9'.repeat(400),
  `0.${'0'.repeat(400)}1`,
  '.5',
  '5.',
];
const SCRAPS = [
  '"',
  '#',
  '\n',
  '\r',
  '\r\n',
  '\n  ',
  ' ',
  '\t',
  '\0',
  '\u00a0',
  '\u2028',
  '\u202e',
  '\u200b',
  '\ud800',
  '\udc00',
  '\uFEFF',
  '°',
  "'",
  '±',
  ',',
  '/',
  ':',
  '-',
  'FL65',
  'MSL',
  'constructor',
  '__proto__',
  'AGL',
  'é',
  'e\u0301',
  '東',
  '😀',
];
const WORDS = [...KEYWORDS, ...UNITS, ...SCRAPS];

const pick = <T>(random: Random, from: readonly T[]): T => from[Math.floor(random() * from.length)] as T;
const place = (random: Random, text: string): number => Math.floor(random() * (text.length + 1));

/** One of what fast-check makes, by the given random numbers. */
function sampleOf<T>(random: Random, arbitrary: fc.Arbitrary<T>): T {
  return fc.sample(arbitrary, { numRuns: 1, seed: Math.floor(random() * 0x7fffffff) })[0] as T;
}

/** Replaces one match of a pattern. */
function replacing(random: Random, text: string, pattern: RegExp, make: (was: string) => string): string {
  const found = [...text.matchAll(pattern)];
  if (found.length === 0) return text;
  const one = pick(random, found);
  return text.slice(0, one.index) + make(one[0]) + text.slice(one.index + one[0].length);
}

const inLines = (random: Random, text: string, change: (lines: string[], at: number) => void): string => {
  const lines = text.split('\n');
  change(lines, Math.floor(random() * lines.length));
  return lines.join('\n');
};

type Mutation = (random: Random, text: string, other: string) => string;

/** Written by the vocabulary, so that a new form is tried the moment it is in the table. */
const aLine: Mutation = (random, text) => {
  const entry = pick(random, ENTRIES);
  const form = random() < 0.25 || entry.details.length === 0 ? entry.head : pick(random, entry.details);
  const line = (form === entry.head ? '' : '  ') + sampleOf(random, lineOf(form));
  return inLines(random, text, (lines, at) => lines.splice(at, random() < 0.5 ? 1 : 0, line));
};

const MUTATIONS: readonly Mutation[] = [
  (random, text) => {
    const at = place(random, text);
    return text.slice(0, at) + text.slice(at + 1 + Math.floor(random() * 12));
  },
  (random, text) => {
    const at = place(random, text);
    return text.slice(0, at) + pick(random, WORDS) + text.slice(at);
  },
  (random, text) => {
    const at = place(random, text);
    return text.slice(0, at) + String.fromCharCode(Math.floor(random() * 0x10000)) + text.slice(at);
  },
  (random, text) => replacing(random, text, /\d+(\.\d+)?/g, () => pick(random, NUMBERS)),
  (random, text) =>
    replacing(random, text, /\d+(\.\d+)?/g, (was) => String(Math.round(Number(was) * 4 * random() * 10) / 10)),
  (random, text) =>
    replacing(random, text, /(?<=\d )(NM|ft|m|km|kt|km\/h|m\/s|kg|lb|hPa|MSL|AGL|°C|°)\b/g, () => pick(random, UNITS)),
  (random, text) =>
    replacing(random, text, /"[^"\n]*"|\b[A-Z]\w+/g, () => pick(random, ['Finch', 'Larkfield', '""', 'task', 'x y'])),
  (random, text) => replacing(random, text, /\S+/g, () => pick(random, WORDS)),
  (random, text) => inLines(random, text, (lines, at) => lines.splice(at, 1)),
  (random, text) => inLines(random, text, (lines, at) => lines.splice(at, 0, lines[at] as string)),
  (random, text) =>
    inLines(random, text, (lines, at) => {
      const [line] = lines.splice(at, 1);
      lines.splice(Math.floor(random() * (lines.length + 1)), 0, line as string);
    }),
  (random, text) =>
    inLines(random, text, (lines, at) => {
      const line = lines[at] as string;
      lines[at] = line.startsWith(' ') ? line.trimStart() : `  ${line}`;
    }),
  (random, text, other) => {
    const lines = other.split('\n');
    const from = Math.floor(random() * lines.length);
    return inLines(random, text, (own, at) =>
      own.splice(at, 0, ...lines.slice(from, from + 1 + Math.floor(random() * 12))),
    );
  },
  (random, text) => text.replaceAll('\n', pick(random, ['\r\n', '\r', '\n\n', '\n'])),
  aLine,
  aLine,
];

/** A text with one change or a few; `other` is a text that parts are taken from. */
export function mutate(random: Random, text: string, other: string): string {
  if (random() < 0.02) return sampleOf(random, plan);
  let now = text;
  for (let left = 1 + Math.floor(random() ** 2 * 5); left > 0; left--)
    now = pick(random, MUTATIONS)(random, now, other);
  return now.slice(0, LONGEST);
}

/** A random place in the list that favours its end, where what was found last stands. */
export function recent<T>(random: Random, all: readonly T[]): T {
  return all[Math.floor((1 - random() ** 2) * all.length)] ?? (all[0] as T);
}
