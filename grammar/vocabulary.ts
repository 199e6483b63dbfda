/**
 * The vocabulary: every entry and every detail of the language, as a table of forms. The parser is built from it, and
 * completion, the formatter, the highlighting test and the checks for missing and repeated details read it too, so a
 * new detail is one new row here (and its meaning in `server/plan`).
 */
import { DIMENSION_WORDS, type Dimension } from './units.ts';

/** What a slot holds. */
export type SlotKind =
  | Dimension
  /** A height or altitude: a length with a datum (MSL, AGL), or a flight level. */
  | 'altitude'
  /** Above sea level by definition: a length, with `MSL` if one likes. */
  | 'elevation'
  /** The name of an entry. */
  | 'name'
  /** Text in quotes: a note or a path. */
  | 'text'
  | 'coordinates'
  | 'date'
  | 'time'
  /** `32:1`. */
  | 'ratio'
  /** `70 %` or `20:1`. */
  | 'performance'
  /** `18/36`, `09L/27R` or one end alone. */
  | 'runway'
  /** A unit word, of the dimensions named by the slot. */
  | 'unit'
  /** One of a few words. */
  | 'choice'
  /** A free word, as `grass`. */
  | 'word';

export type EntryKeyword =
  | 'use'
  | 'units'
  | 'field'
  | 'turnpoint'
  | 'obstacle'
  | 'terrain'
  | 'airspace'
  | 'aircraft'
  | 'weather'
  | 'reserve'
  | 'limits'
  | 'task';

/** The kinds of name; fields and turnpoints share one, since an itinerary may name either. */
export type Namespace = 'point' | 'obstacle' | 'airspace' | 'aircraft' | 'weather' | 'reserve' | 'limits' | 'task';

export interface Slot {
  readonly slot: string;
  readonly kind: SlotKind;
  /** In a message: what was expected here. */
  readonly words: string;
  /** For names: which kind of entry it refers to. Absent where the entry itself is being named. */
  readonly refers?: Namespace;
  /** For units and choices. */
  readonly of?: readonly string[];
}

export type Element =
  | { readonly word: string; readonly as?: string }
  | Slot
  | { readonly optional: readonly Element[] }
  | {
      readonly either: readonly (readonly Element[])[];
      readonly words: string;
    };

export interface Form {
  /** What messages call it, its leading keywords as written: `wind`, `best glide`. */
  readonly id: string;
  /** Its leading keywords; they tell which form a line means. */
  readonly leading: readonly string[];
  readonly elements: readonly Element[];
  /** At most one such line an entry. */
  readonly once?: true;
  /** An entry without such a line is incomplete. */
  readonly required?: true;
  /** Part of a task's itinerary: order has meaning. */
  readonly itinerary?: true;
  /** One sentence for completion and hover. */
  readonly says: string;
}

export interface EntryForm {
  readonly keyword: EntryKeyword;
  readonly head: Form;
  readonly details: readonly Form[];
  readonly namespace?: Namespace;
}

const word = (text: string, as?: string): Element => (as ? { word: text, as } : { word: text });
const optional = (...elements: Element[]): Element => ({ optional: elements });
const either = (words: string, ...either: Element[][]): Element => ({
  either,
  words,
});

const EXAMPLES: Partial<Record<SlotKind, string>> = {
  altitude: 'a height with its datum, such as 3200 ft MSL, 1000 ft AGL or FL65',
  elevation: 'a height above sea level, such as 190 m',
  name: 'a name',
  text: 'text in quotes',
  coordinates: 'coordinates, such as 47.2031 N 19.4410 E',
  date: 'a date, such as 2026-06-13',
  time: 'a time with its zone, such as 14:30Z or 14:30+02:00',
  ratio: 'a glide ratio, such as 32:1',
  performance: 'a share such as 70 %, or a glide ratio such as 20:1',
  runway: 'runway ends, such as 18/36',
};

function slot(name: string, kind: SlotKind, more: Partial<Slot> = {}): Slot {
  const dimension = DIMENSION_WORDS[kind as Dimension];
  const words =
    more.words ?? EXAMPLES[kind] ?? (dimension ? `${dimension.noun}, such as ${dimension.example}` : 'a word');
  return { slot: name, kind, ...more, words };
}

const refers = (name: string, refers: Namespace, noun: string): Slot =>
  slot(name, 'name', { refers, words: `the name of ${noun}` });

type Flags = Pick<Form, 'once' | 'required' | 'itinerary'>;
const ONCE: Flags = { once: true };
const REQUIRED: Flags = { once: true, required: true };
const MANY: Flags = {};
const LINE: Flags = { itinerary: true };

function form(flags: Flags, says: string, ...elements: Element[]): Form {
  const leading: string[] = [];
  for (const element of elements) {
    if (!('word' in element)) break;
    leading.push(element.word);
  }
  return { id: leading.join(' '), leading, elements, says, ...flags };
}

const entry = (head: Form, namespace: Namespace | undefined, details: Form[]): EntryForm => ({
  keyword: head.id as EntryKeyword,
  head,
  details,
  ...(namespace ? { namespace } : {}),
});

const NOTE = form(MANY, 'A remark for readers.', word('note'), slot('text', 'text'));
const ELEVATION = (says: string) => form(REQUIRED, says, word('elevation'), slot('elevation', 'elevation'));
const SPEED_CHOICE = optional(
  word('at'),
  either(
    'a speed such as 75 kt, `best glide` or `maccready 3 kt`',
    [slot('speed', 'speed', { words: 'an indicated speed, such as 75 kt' })],
    [word('best', 'bestGlide'), word('glide')],
    [word('maccready', 'maccready'), slot('climb', 'climb', { words: 'the expected climb, such as 3 kt' })],
  ),
);
const surface = () => [word('surface'), slot('surface', 'word', { words: 'the surface, such as grass' })];
const circuit = () => [
  word('circuit'),
  slot('circuit', 'choice', { of: ['left', 'right'], words: '`left` or `right`' }),
];
const POINT = refers('point', 'point', 'a field or turnpoint');

export const ENTRIES: readonly EntryForm[] = [
  entry(
    form(
      MANY,
      'Brings in the entries of another file.',
      word('use'),
      slot('path', 'text', {
        words: 'a path in quotes, such as "club/fields.taskplan"',
      }),
    ),
    undefined,
    [],
  ),

  entry(
    form(MANY, 'How numbers are shown to a reader of this file; it never changes how anything is read.', word('units')),
    undefined,
    [
      form(
        ONCE,
        'Heights and altitudes.',
        word('altitude'),
        slot('unit', 'unit', { of: ['ft', 'm'], words: '`ft` or `m`' }),
      ),
      form(
        ONCE,
        'Distances.',
        word('distance'),
        slot('unit', 'unit', {
          of: ['NM', 'km', 'mi'],
          words: '`NM`, `km` or `mi`',
        }),
      ),
      form(
        ONCE,
        'Speeds through the air and over the ground, and of the wind.',
        word('speed'),
        slot('unit', 'unit', {
          of: ['kt', 'km/h', 'mph', 'm/s'],
          words: '`kt`, `km/h`, `mph` or `m/s`',
        }),
      ),
      form(
        ONCE,
        'Rates of climb and sink.',
        word('climb'),
        slot('unit', 'unit', {
          of: ['kt', 'm/s', 'ft/min'],
          words: '`kt`, `m/s` or `ft/min`',
        }),
      ),
      form(ONCE, 'Masses.', word('mass'), slot('unit', 'unit', { of: ['kg', 'lb'], words: '`kg` or `lb`' })),
    ],
  ),

  entry(
    form(
      MANY,
      'A place where one may land.',
      word('field'),
      slot('name', 'name'),
      word('at'),
      slot('position', 'coordinates'),
    ),
    'point',
    [
      ELEVATION('Height of the field above sea level.'),
      form(
        MANY,
        'A runway: its ends, its length, and if one likes its surface and the side of the circuit.',
        word('runway'),
        slot('ends', 'runway'),
        slot('length', 'length', {
          words: 'the length of the runway, such as 900 m',
        }),
        optional(
          either(
            '`surface` or `circuit`',
            [...surface(), optional(...circuit())],
            [...circuit(), optional(...surface())],
          ),
        ),
      ),
      form(MANY, 'A radio frequency.', word('frequency'), slot('frequency', 'frequency')),
      form(
        ONCE,
        "This field's own arrival height; where the reserve gives one too, the higher counts.",
        word('arrive'),
        slot('height', 'altitude', {
          words: 'a height above the field, such as 900 ft AGL',
        }),
      ),
      NOTE,
    ],
  ),

  entry(
    form(
      MANY,
      'A place that one may only fly over.',
      word('turnpoint'),
      slot('name', 'name'),
      word('at'),
      slot('position', 'coordinates'),
    ),
    'point',
    [
      ELEVATION('Height of the ground there, above sea level.'),
      form(ONCE, 'Radius of the observation zone, a cylinder.', word('radius'), slot('radius', 'length')),
      NOTE,
    ],
  ),

  entry(
    form(
      MANY,
      'Something solid that stands up.',
      word('obstacle'),
      slot('name', 'name'),
      word('at'),
      slot('position', 'coordinates'),
    ),
    'obstacle',
    [
      form(REQUIRED, 'Height of its top.', word('top'), slot('top', 'altitude')),
      form(ONCE, 'How far it spreads round its position.', word('radius'), slot('radius', 'length')),
      NOTE,
    ],
  ),

  entry(
    form(
      MANY,
      'The folder in which elevation tiles lie.',
      word('terrain'),
      slot('path', 'text', {
        words: 'the path of a folder in quotes, such as "terrain"',
      }),
    ),
    undefined,
    [],
  ),

  entry(form(MANY, 'A volume of airspace to stay out of.', word('airspace'), slot('name', 'name')), 'airspace', [
    form(REQUIRED, 'Its lower limit.', word('floor'), slot('floor', 'altitude')),
    form(REQUIRED, 'Its upper limit.', word('ceiling'), slot('ceiling', 'altitude')),
    form(
      ONCE,
      'Its outline, a circle.',
      word('circle'),
      slot('centre', 'coordinates'),
      word('radius'),
      slot('radius', 'length'),
    ),
    form(MANY, 'A corner of its outline; the corners stand in order.', word('edge'), slot('corner', 'coordinates')),
    form(MANY, 'When it is active.', word('active'), slot('from', 'time'), word('to'), slot('to', 'time')),
    NOTE,
  ]),

  entry(form(MANY, 'An aircraft of the fleet.', word('aircraft'), slot('name', 'name')), 'aircraft', [
    form(
      MANY,
      'A measured point of the polar: indicated speed and sink at sea level.',
      word('polar'),
      slot('speed', 'speed'),
      word('sink'),
      slot('sink', 'climb', { words: 'a rate of sink, such as 1.95 kt' }),
    ),
    form(
      ONCE,
      'Best glide, as the handbook gives it.',
      word('best'),
      word('glide'),
      slot('ratio', 'ratio'),
      word('at'),
      slot('speed', 'speed'),
    ),
    form(
      ONCE,
      'Minimum sink, as the handbook gives it.',
      word('minimum'),
      word('sink'),
      slot('sink', 'climb', { words: 'a rate of sink, such as 1.3 kt' }),
      word('at'),
      slot('speed', 'speed'),
    ),
    form(REQUIRED, 'The mass for which the polar holds.', word('polar'), word('mass'), slot('mass', 'mass')),
    form(REQUIRED, 'Mass without pilot and ballast.', word('empty'), word('mass'), slot('mass', 'mass')),
    form(REQUIRED, 'The most it may weigh in flight.', word('maximum'), word('mass'), slot('mass', 'mass')),
    form(ONCE, 'The most water ballast it takes.', word('ballast'), word('up'), word('to'), slot('mass', 'mass')),
    form(
      ONCE,
      'The least and the most that the crew may weigh.',
      word('pilot'),
      slot('least', 'mass'),
      word('to'),
      slot('most', 'mass'),
    ),
    form(REQUIRED, 'Stalling speed (indicated).', word('vs'), slot('speed', 'speed')),
    form(ONCE, 'Manoeuvring speed (indicated).', word('va'), slot('speed', 'speed')),
    form(ONCE, 'Highest speed in rough air (indicated).', word('vno'), slot('speed', 'speed')),
    form(REQUIRED, 'Speed never to exceed (indicated).', word('vne'), slot('speed', 'speed')),
    form(ONCE, 'Demonstrated crosswind.', word('crosswind'), slot('speed', 'speed')),
    form(
      ONCE,
      'The length of runway that it needs to land.',
      word('landing'),
      slot('length', 'length', { words: 'a length, such as 450 m' }),
    ),
    NOTE,
  ]),

  entry(
    form(MANY, 'The day: wind, pressure, temperature and lift.', word('weather'), slot('name', 'name')),
    'weather',
    [
      form(ONCE, 'The day it holds for.', word('date'), slot('date', 'date')),
      form(
        ONCE,
        'The altimeter setting that shows altitude above sea level.',
        word('qnh'),
        slot('pressure', 'pressure'),
      ),
      form(
        ONCE,
        'Temperature at an altitude.',
        word('temperature'),
        slot('temperature', 'temperature'),
        word('at'),
        slot('altitude', 'altitude'),
      ),
      form(
        MANY,
        'Wind at an altitude: the direction it blows from, and its speed.',
        word('wind'),
        either(
          '`surface`, or an altitude such as 3000 ft MSL',
          [word('surface', 'surface')],
          [slot('altitude', 'altitude')],
        ),
        word('from'),
        slot('direction', 'direction'),
        word('at'),
        slot('speed', 'speed', { words: 'a wind speed, such as 14 kt' }),
        optional(
          word('±'),
          slot('spread', 'speed', {
            words: 'how far it may differ, such as 4 kt',
          }),
        ),
      ),
      form(
        ONCE,
        'Expected climb in thermals, and the working top.',
        word('lift'),
        slot('rate', 'climb'),
        word('to'),
        slot('top', 'altitude'),
      ),
      form(ONCE, 'Sinking air to expect on glides.', word('sink'), slot('rate', 'climb')),
      form(ONCE, 'Base of the clouds.', word('cloudbase'), slot('altitude', 'altitude')),
      form(
        ONCE,
        'First and last usable thermals.',
        word('thermals'),
        slot('from', 'time'),
        word('to'),
        slot('to', 'time'),
      ),
      NOTE,
    ],
  ),

  entry(form(MANY, 'What a pilot keeps in hand.', word('reserve'), slot('name', 'name')), 'reserve', [
    form(
      REQUIRED,
      'Height over a field on which one means to land.',
      word('arrive'),
      slot('height', 'altitude', {
        words: 'a height above the field, such as 1000 ft AGL',
      }),
    ),
    form(
      ONCE,
      'Lowest height over a turnpoint.',
      word('turn'),
      slot('height', 'altitude', {
        words: 'a height above the ground there, such as 1500 ft AGL',
      }),
    ),
    form(
      ONCE,
      'Clearance over obstacles and along the ground.',
      word('clear'),
      slot('height', 'length', { words: 'a height, such as 500 ft' }),
    ),
    form(
      ONCE,
      "The share of the polar's glide ratio that one plans on, or the glide ratio itself.",
      word('performance'),
      slot('share', 'performance'),
    ),
    form(
      ONCE,
      'Allowance for instrument error, added to every height one must have.',
      word('altimeter'),
      slot('height', 'length', { words: 'a height, such as 150 ft' }),
    ),
    NOTE,
  ]),

  entry(
    form(
      MANY,
      'What a club asks of every task that names it, or of all tasks of the files that bring it in.',
      word('limits'),
      slot('name', 'name'),
      optional(word('for', 'forAll'), word('all'), word('tasks')),
    ),
    'limits',
    [
      form(
        MANY,
        'Every point of the task lies this near to a place.',
        word('within'),
        slot('distance', 'length', { words: 'a distance, such as 12 NM' }),
        word('of'),
        refers('point', 'point', 'a field or turnpoint'),
      ),
      form(ONCE, 'A field is in reach from every point of every leg.', word('field'), word('in'), word('glide')),
      form(
        ONCE,
        'Latest landing, before sunset.',
        word('land'),
        slot('duration', 'duration'),
        word('before'),
        word('sunset'),
      ),
      form(ONCE, 'Most crosswind on landing.', word('crosswind'), slot('speed', 'speed')),
      form(ONCE, 'Longest task in time.', word('duration'), slot('duration', 'duration')),
      form(
        ONCE,
        'Longest task in distance.',
        word('distance'),
        slot('distance', 'length', { words: 'a distance, such as 80 km' }),
      ),
      form(
        ONCE,
        'The least reserve that a task may name.',
        word('reserve'),
        word('at'),
        word('least'),
        refers('reserve', 'reserve', 'a reserve'),
      ),
      NOTE,
    ],
  ),

  entry(form(MANY, 'A flight around points, from a start to a finish.', word('task'), slot('name', 'name')), 'task', [
    form(
      REQUIRED,
      'The aircraft, and what it carries.',
      word('aircraft'),
      refers('aircraft', 'aircraft', 'an aircraft'),
      optional(
        either('`with pilot` or `with ballast`', [word('with')], [word('and')]),
        either(
          '`pilot` or `ballast`',
          [word('pilot'), slot('pilot', 'mass'), optional(word('and'), word('ballast'), slot('ballast', 'mass'))],
          [word('ballast'), slot('ballast', 'mass'), optional(word('and'), word('pilot'), slot('pilot', 'mass'))],
        ),
      ),
    ),
    form(ONCE, 'The weather it is planned for.', word('weather'), refers('weather', 'weather', 'a weather')),
    form(REQUIRED, 'The reserve to keep.', word('reserve'), refers('reserve', 'reserve', 'a reserve')),
    form(MANY, 'Limits to be checked against.', word('limits'), refers('limits', 'limits', 'limits')),
    form(ONCE, 'Time of take-off.', word('takeoff'), slot('time', 'time')),
    NOTE,
    form(
      { ...REQUIRED, ...LINE },
      'Where the task starts, and how high.',
      word('start'),
      POINT,
      word('at'),
      slot('altitude', 'altitude'),
    ),
    form(
      LINE,
      'Climb to an altitude, overhead the last point or that far along the leg that follows.',
      word('climb'),
      word('to'),
      slot('altitude', 'altitude'),
      optional(word('at'), slot('rate', 'climb')),
      optional(word('after'), slot('after', 'length', { words: 'a distance, such as 8 NM' })),
    ),
    form(LINE, 'Glide to a point; the next leg starts there.', word('turn'), POINT, SPEED_CHOICE),
    form(
      { ...REQUIRED, ...LINE },
      'Glide to the finish and arrive with the reserve.',
      word('finish'),
      POINT,
      SPEED_CHOICE,
    ),
    form(
      LINE,
      'From here on climb from a lower to an upper height in the lift of the weather, whenever the lower one is reached.',
      word('soar'),
      word('between'),
      slot('lower', 'altitude', { words: 'the lower height, such as 2500 ft MSL' }),
      word('and'),
      slot('upper', 'altitude', { words: 'the upper height, such as 5500 ft MSL' }),
    ),
    form(LINE, 'From here on glide, without soaring on the way.', word('glide')),
  ]),
];

const byKeyword = new Map(ENTRIES.map((e) => [e.keyword as string, e]));

/** The form of an entry, by its keyword in lower case. */
export function entryForm(keyword: string): EntryForm | undefined {
  return byKeyword.get(keyword);
}

function collect(elements: readonly Element[], into: Set<string>): void {
  for (const element of elements) {
    if ('word' in element) into.add(element.word);
    else if ('optional' in element) collect(element.optional, into);
    else if ('either' in element) for (const branch of element.either) collect(branch, into);
    else if (element.kind === 'choice') for (const choice of element.of ?? []) into.add(choice);
  }
}

const keywords = new Set<string>(['msl', 'agl']);
const detailStarts = new Set<string>();
for (const e of ENTRIES) {
  collect(e.head.elements, keywords);
  for (const detail of e.details) {
    collect(detail.elements, keywords);
    detailStarts.add(detail.leading[0] as string);
  }
}
keywords.delete('±');
for (const e of ENTRIES) detailStarts.delete(e.keyword);

/** Every keyword, in lower case. A name that is one of them is quoted. */
export const KEYWORDS: ReadonlySet<string> = keywords;

/** Words that start a detail and no entry: unindented, they still belong to the entry above. */
export const DETAIL_ONLY: ReadonlySet<string> = detailStarts;

/** Keywords that join the parts of a line: never taken for a name that was left unquoted. */
export const CONNECTORS: ReadonlySet<string> = new Set([
  'at',
  'to',
  'from',
  'with',
  'and',
  'after',
  'of',
  'for',
  'between',
  'msl',
  'agl',
]);

function slotsUnder(elements: readonly Element[], into: Map<string, Slot>): Map<string, Slot> {
  for (const element of elements) {
    if ('optional' in element) slotsUnder(element.optional, into);
    else if ('either' in element) for (const branch of element.either) slotsUnder(branch, into);
    else if ('slot' in element && !into.has(element.slot)) into.set(element.slot, element);
  }
  return into;
}

const slotsByForm = new Map<Form, ReadonlyMap<string, Slot>>();
for (const { head, details } of ENTRIES) {
  for (const form of [head, ...details]) slotsByForm.set(form, slotsUnder(form.elements, new Map()));
}

/** The slots of a form by name, in the order in which they are written. */
export function slotsOf(form: Form): ReadonlyMap<string, Slot> {
  return slotsByForm.get(form) as ReadonlyMap<string, Slot>;
}
