import { detailsOf } from '../../grammar/syntax.ts';
import type { Aircraft } from '../plan/meaning.ts';
import { quoted, type Rule } from './rule.ts';

/** A line such as one would write for a detail that is asked for, by entry and detail. */
const EXAMPLES: Readonly<Record<string, string>> = {
  'field elevation': 'elevation 190 m',
  'turnpoint elevation': 'elevation 140 m',
  'obstacle top': 'top 1320 ft MSL',
  'airspace floor': 'floor 4500 ft MSL',
  'airspace ceiling': 'ceiling FL95',
  'aircraft polar mass': 'polar mass 300 kg',
  'aircraft empty mass': 'empty mass 215 kg',
  'aircraft maximum mass': 'maximum mass 340 kg',
  'aircraft vs': 'vs 36 kt',
  'aircraft vne': 'vne 120 kt',
  'reserve arrive': 'arrive 1000 ft AGL',
  'task aircraft': 'aircraft Finch',
  'task reserve': 'reserve Training',
  'task start': 'start Larkfield at 3200 ft MSL',
  'task finish': 'finish Larkfield',
};

const POLAR_DETAILS = new Set<string | undefined>(['polar', 'best glide', 'minimum sink']);

interface Missing {
  readonly what: string;
  /** What to add, to follow on `Add`. */
  readonly add: string;
}

/** What the polar of an aircraft lacks; undefined when it is complete, or when a line of it cannot be read. */
function polarLacks(aircraft: Aircraft): Missing | undefined {
  if (aircraft.faulty.some(({ detail }) => POLAR_DETAILS.has(detail))) return undefined;
  const { entry } = aircraft;
  const points = detailsOf(entry, 'polar').length;
  const best = detailsOf(entry, 'best glide').length > 0;
  const minimum = detailsOf(entry, 'minimum sink').length > 0;
  if (points >= 3) return undefined;
  if (points > 0) {
    const more = 3 - points;
    return {
      what: `only ${points} of the 3 \`polar\` points that make a curve`,
      add: `${more} more such as \`polar 60 kt sink 1.95 kt\``,
    };
  }
  if (best && minimum) return undefined;
  if (best) return { what: 'no `minimum sink`', add: 'a line such as `minimum sink 1.3 kt at 41 kt`' };
  if (minimum) return { what: 'no `best glide`', add: 'a line such as `best glide 32:1 at 49 kt`' };
  return {
    what: 'no polar',
    add: 'three or more points such as `polar 60 kt sink 1.95 kt`, or `best glide` and `minimum sink` from the handbook',
  };
}

/** `a`, `a and b`, `a, b and c`. */
function listed(items: readonly string[]): string {
  if (items.length < 2) return items.join('');
  return `${items.slice(0, -1).join(', ')} and ${items[items.length - 1]}`;
}

/** An entry without a detail that it needs. */
export const detailMissing: Rule = {
  code: 'detail-missing',
  severity: 'error',
  title: 'An entry lacks a detail that it needs',
  needs: ['lacks', 'aircraft'],
  page: {
    means:
      'The entry lacks one or more details without which nothing can be computed from it: a field its elevation, an aircraft its polar or its masses, a task its start or its finish.',
    why: 'A field without an elevation is a place on the map and not a height to arrive at. Rather than guess one, every leg that needs it stays without a number.',
    bad: 'field Larkfield at 47.2031 N 19.4410 E\n  runway 18/36 900 m\n',
    good: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n  runway    18/36 900 m\n',
    turnDown: 'It is not turned down: add the line.',
  },
  *entry({ entry, meaning, at }) {
    const { form, head } = entry;
    if (!form || !head) return;
    // Without a name nothing can mean the entry, and that is told.
    if (form.namespace && !entry.name) return;
    const here = new Set(entry.details.map((line) => line.form?.id));
    for (const { detail } of meaning.faulty) if (detail !== undefined) here.add(detail);
    const ids = form.details.filter(({ required, id }) => required && !here.has(id)).map(({ id }) => id);
    const polar = meaning.kind === 'aircraft' ? polarLacks(meaning) : undefined;
    if (ids.length === 0 && !polar) return;
    const whats = [...(polar ? [polar.what] : []), ...ids.map((id) => `no ${quoted(id)}`)];
    const lines = ids.map((id) => quoted(EXAMPLES[`${form.keyword} ${id}`] ?? id));
    const adds = [
      ...(lines.length > 0 ? [`${lines.length === 1 ? 'a line' : 'lines'} such as ${listed(lines)}`] : []),
      ...(polar ? [polar.add] : []),
    ];
    yield {
      at: at(entry.name?.span ?? head.keyword),
      message: `${entry.name?.text ?? `this ${form.keyword}`} has ${listed(whats)}. Add ${adds.join('; and ')}.`,
    };
  },
};
