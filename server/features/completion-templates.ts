/**
 * Whole entries to fill in. What is left as it stands does no harm: a number is zero, which is told where it makes no
 * sense, or what would be assumed if the line were not there.
 */
import type { EntryForm, EntryKeyword, Namespace } from '../../grammar/vocabulary.ts';
import type { Show } from '../plan/show.ts';
import { escapeSnippet } from './completion-item.ts';
import { layoutOf } from './completion-layout.ts';
import { writtenNames } from './completion-names.ts';
import { type CompletionPlace, lineEndIn } from './completion-place.ts';

export interface Template {
  readonly label: string;
  readonly text: string;
}

/** Makes the parts of a template that are to be filled in. */
interface Blanks {
  readonly with_: Show;
  blank(text: string): string;
  /** One of the names in scope, or a name to be written. */
  name(namespace: Namespace, only?: string): string;
}

type Line = readonly [id: string, value: (blanks: Blanks) => string];

interface Plan {
  readonly entry: EntryKeyword;
  readonly label?: string;
  readonly head: (blanks: Blanks) => string;
  readonly details?: readonly Line[];
}

const position = ({ blank }: Blanks) => blank('0.0000 N 0.0000 E');
const height = ({ blank, with_ }: Blanks) => `${blank('0')} ${with_.units.altitude.text}`;
const speed = ({ blank, with_ }: Blanks) => `${blank('0')} ${with_.units.speed.text}`;
const climb = ({ blank, with_ }: Blanks) => `${blank('0')} ${with_.units.climb.text}`;
const mass = ({ blank, with_ }: Blanks) => `${blank('0')} ${with_.units.mass.text}`;
const msl = (b: Blanks) => `${height(b)} MSL`;
const agl = (b: Blanks) => `${height(b)} AGL`;

const MASSES_AND_SPEEDS: readonly Line[] = [
  ['polar mass', mass],
  ['empty mass', mass],
  ['maximum mass', mass],
  ['pilot', (b) => `${mass(b)} to ${mass(b)}`],
  ['vs', speed],
  ['va', speed],
  ['vno', speed],
  ['vne', speed],
];
const point = (b: Blanks): string => `${speed(b)} sink ${climb(b)}`;

const PLANS: readonly Plan[] = [
  {
    entry: 'units',
    head: () => '',
    details: [
      ['altitude', ({ blank, with_ }) => blank(with_.units.altitude.text)],
      ['distance', ({ blank, with_ }) => blank(with_.units.distance.text)],
      ['speed', ({ blank, with_ }) => blank(with_.units.speed.text)],
      ['climb', ({ blank, with_ }) => blank(with_.units.climb.text)],
      ['mass', ({ blank, with_ }) => blank(with_.units.mass.text)],
    ],
  },
  {
    entry: 'field',
    head: (b) => `${b.blank('Name')} at ${position(b)}`,
    details: [
      ['elevation', height],
      ['runway', ({ blank }) => `${blank('18/36')} ${blank('0')} m surface ${blank('grass')}`],
      ['frequency', ({ blank }) => `${blank('0')} MHz`],
    ],
  },
  {
    entry: 'turnpoint',
    head: (b) => `"${b.blank('Name')}" at ${position(b)}`,
    details: [['elevation', height]],
  },
  {
    entry: 'obstacle',
    head: (b) => `"${b.blank('Name')}" at ${position(b)}`,
    details: [['top', msl]],
  },
  { entry: 'terrain', head: ({ blank }) => `"${blank('folder')}"` },
  {
    entry: 'airspace',
    head: (b) => `"${b.blank('Name')}"`,
    details: [
      ['floor', msl],
      ['ceiling', msl],
      ['circle', (b) => `${position(b)} radius ${b.blank('0')} ${b.with_.units.distance.text}`],
    ],
  },
  {
    entry: 'aircraft',
    label: 'aircraft by measured points',
    head: ({ blank }) => blank('Name'),
    details: [['polar', point], ['polar', point], ['polar', point], ...MASSES_AND_SPEEDS],
  },
  {
    entry: 'aircraft',
    label: 'aircraft by handbook figures',
    head: ({ blank }) => blank('Name'),
    details: [
      ['best glide', (b) => `${b.blank('0')}:1 at ${speed(b)}`],
      ['minimum sink', (b) => `${climb(b)} at ${speed(b)}`],
      ...MASSES_AND_SPEEDS,
    ],
  },
  {
    entry: 'weather',
    head: ({ blank }) => blank('Name'),
    details: [
      ['date', ({ blank }) => blank('2026-01-01')],
      ['qnh', ({ blank }) => `${blank('1013.25')} hPa`],
      ['temperature', (b) => `${b.blank('15')} °C at ${msl(b)}`],
      ['wind', (b) => `surface from ${b.blank('000')}° at ${speed(b)}`],
      ['wind', (b) => `${msl(b)} from ${b.blank('000')}° at ${speed(b)}`],
      ['lift', (b) => `${climb(b)} to ${msl(b)}`],
      ['cloudbase', msl],
    ],
  },
  {
    entry: 'reserve',
    head: ({ blank }) => blank('Name'),
    details: [
      ['arrive', agl],
      ['turn', agl],
      ['clear', height],
      ['performance', ({ blank }) => `${blank('0')} %`],
      ['altimeter', height],
    ],
  },
  {
    entry: 'limits',
    head: ({ blank }) => blank('Name'),
    details: [
      ['within', (b) => `${b.blank('0')} ${b.with_.units.distance.text} of ${b.name('point', 'field')}`],
      ['field in glide', () => ''],
      ['land', ({ blank }) => `${blank('0')} min before sunset`],
      ['crosswind', speed],
      ['duration', ({ blank }) => `${blank('0')} h`],
      ['reserve at least', (b) => b.name('reserve')],
    ],
  },
  {
    entry: 'task',
    head: ({ blank }) => `"${blank('Name')}"`,
    details: [
      ['aircraft', (b) => `${b.name('aircraft')} with pilot ${mass(b)}`],
      ['weather', (b) => b.name('weather')],
      ['reserve', (b) => b.name('reserve')],
      ['start', (b) => `${b.name('point', 'field')} at ${msl(b)}`],
      ['climb to', msl],
      ['turn', (b) => b.name('point')],
      ['finish', (b) => b.name('point', 'field')],
    ],
  },
];

function blanksFor(place: CompletionPlace, snippets: boolean, with_: Show): Blanks {
  let count = 0;
  const blank = (text: string): string => {
    count++;
    return snippets ? `\${${count}:${escapeSnippet(text)}}` : text;
  };
  return {
    with_,
    blank,
    name: (namespace, only) => {
      const names = writtenNames(place, namespace, only);
      if (!snippets || names.length < 2) return blank(names[0] ?? 'Name');
      count++;
      return `\${${count}|${names.map((name) => name.replace(/[\\,|$}]/g, '\\$&')).join(',')}|}`;
    },
  };
}

/** The templates of an entry: as a snippet, or as the text that a snippet would leave when nothing is filled in. */
export function templatesOf(place: CompletionPlace, entry: EntryForm, snippets: boolean, with_: Show): Template[] {
  return PLANS.filter((plan) => plan.entry === entry.keyword).map(({ label, head, details = [] }) => {
    const blanks = blanksFor(place, snippets, with_);
    const lines = [`${entry.keyword} ${head(blanks)}`.trimEnd()];
    for (const [id, value] of details) {
      const form = entry.details.find((detail) => detail.id === id);
      if (form) lines.push(`  ${layoutOf(entry, form).lead}${value(blanks)}`);
    }
    return { label: label ?? entry.keyword, text: lines.join(lineEndIn(place)) };
  });
}
