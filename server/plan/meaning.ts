/**
 * What each entry means: its lines as SI values. Made once an entry and kept with it, since an entry's meaning depends
 * on nothing outside it (names stay names here). A value that cannot be read, or makes no sense, is left out, and its
 * line is listed in `faulty`, so that nothing is computed as if the line were not there.
 */
import type {
  EntrySyntax,
  LineSyntax,
  NameNode,
  QuantityNode,
  RatioNode,
  Span,
  ValueNode,
} from '../../grammar/syntax.ts';
import { ENTRIES, type EntryForm, type Form, type Namespace, type Slot, slotsOf } from '../../grammar/vocabulary.ts';
import {
  checkPolar,
  type Polar,
  type PolarProblem,
  type PolarRefusal,
  type PolarResiduals,
  type Position,
  polarFromFigures,
  polarFromPoints,
} from '../flight/index.ts';
import { nearest } from './nearest.ts';
import { mustBePositive, type SenseFault, senseFaultOf } from './sense.ts';
import {
  type Altitude,
  type CalendarDate,
  type DatumUse,
  type Direction,
  datumUse,
  durationSi,
  faultOf,
  positionOf,
  quantitySi,
  utcSeconds,
  type ValueFault,
} from './values.ts';

/** A value of an entry with the place where it is written. */
export interface Written<T> {
  readonly value: T;
  readonly line: LineSyntax;
  readonly span: Span;
}

/** A value that is no value: unreadable, or out of sense. */
export interface Fault {
  readonly line: LineSyntax;
  readonly slot: Slot;
  readonly node: ValueNode;
  readonly fault: ValueFault | ({ readonly code: 'value-out-of-sense' } & SenseFault);
}

/** A line that could not be read in full. */
export interface FaultyLine {
  readonly line: LineSyntax;
  /** The detail it is, or by its spelling most likely is; undefined when it looks like none. */
  readonly detail: string | undefined;
}

interface Base {
  readonly entry: EntrySyntax;
  readonly name: string;
  /** Lines that could not be read in full, other than notes. */
  readonly faulty: readonly FaultyLine[];
  readonly faults: readonly Fault[];
}

export interface Runway {
  readonly line: LineSyntax;
  /** As written, `18/36`. */
  readonly text: string;
  /** Magnetic directions of its ends, degrees. */
  readonly directions: readonly number[];
  readonly lengthM: number | undefined;
  readonly surface: string | undefined;
  readonly circuit: string | undefined;
}

export interface Field extends Base {
  readonly kind: 'field';
  readonly position: Position | undefined;
  readonly elevationM: number | undefined;
  readonly arriveM: Written<number> | undefined;
  readonly runways: readonly Runway[];
  readonly frequencies: readonly { readonly text: string; readonly hertz: number }[];
  readonly notes: readonly string[];
}

export interface Turnpoint extends Base {
  readonly kind: 'turnpoint';
  readonly position: Position | undefined;
  readonly elevationM: number | undefined;
  readonly radiusM: number | undefined;
  readonly notes: readonly string[];
}

/** A place that an itinerary may name. */
export type Point = Field | Turnpoint;

export interface Obstacle extends Base {
  readonly kind: 'obstacle';
  readonly position: Position | undefined;
  readonly top: Altitude | undefined;
  readonly radiusM: number | undefined;
}

export interface Airspace extends Base {
  readonly kind: 'airspace';
  readonly floor: Written<Altitude> | undefined;
  readonly ceiling: Written<Altitude> | undefined;
  readonly circle: { readonly centre: Position; readonly radiusM: number } | undefined;
  readonly edge: readonly Position[];
  readonly active: readonly { readonly fromS: number; readonly toS: number }[];
}

export type PolarSource = 'points' | 'figures';

export type PolarMeaning =
  | { readonly kind: 'none' }
  | {
      readonly kind: 'refused';
      readonly source: PolarSource;
      readonly refusal: PolarRefusal | PolarProblem;
      readonly line: LineSyntax;
    }
  | {
      readonly kind: 'polar';
      readonly source: PolarSource;
      readonly polar: Polar;
      /** For points: how far they lie from the curve, and between which speeds it is measured. */
      readonly residuals: PolarResiduals | undefined;
      readonly fromMps: number;
      readonly toMps: number;
      /** For figures: the curve's own speed of minimum sink less the stated one. */
      readonly minimumSinkSpeedOffMps: number | undefined;
      readonly line: LineSyntax;
    };

export interface Aircraft extends Base {
  readonly kind: 'aircraft';
  readonly polar: PolarMeaning;
  readonly polarMassKg: Written<number> | undefined;
  readonly emptyMassKg: Written<number> | undefined;
  readonly maximumMassKg: Written<number> | undefined;
  readonly ballastMostKg: Written<number> | undefined;
  readonly pilot: { readonly leastKg: number; readonly mostKg: number; readonly line: LineSyntax } | undefined;
  readonly vsMps: Written<number> | undefined;
  readonly vaMps: Written<number> | undefined;
  readonly vnoMps: Written<number> | undefined;
  readonly vneMps: Written<number> | undefined;
  readonly crosswindMps: Written<number> | undefined;
  /** The length of runway that it needs to land. */
  readonly landingM: Written<number> | undefined;
  readonly bestGlide: Written<{ readonly ratio: number; readonly speedMps: number }> | undefined;
  readonly minimumSink: Written<{ readonly sinkMps: number; readonly speedMps: number }> | undefined;
  readonly points: readonly Written<{ readonly speedMps: number; readonly sinkMps: number }>[];
  readonly notes: readonly string[];
}

export interface WindLine {
  readonly line: LineSyntax;
  readonly altitude: Altitude | 'surface';
  readonly direction: Direction;
  readonly speedMps: number;
  readonly spreadMps: number | undefined;
}

export interface Weather extends Base {
  readonly kind: 'weather';
  readonly date: CalendarDate | undefined;
  readonly qnhPa: Written<number> | undefined;
  readonly temperature: { readonly kelvin: number; readonly at: Altitude; readonly line: LineSyntax } | undefined;
  readonly winds: readonly WindLine[];
  readonly lift: { readonly rateMps: number; readonly top: Altitude; readonly line: LineSyntax } | undefined;
  readonly sinkMps: Written<number> | undefined;
  readonly cloudbase: Written<Altitude> | undefined;
  /** Seconds after midnight UTC. */
  readonly thermals: { readonly fromS: number; readonly toS: number; readonly line: LineSyntax } | undefined;
}

export interface Reserve extends Base {
  readonly kind: 'reserve';
  readonly arriveM: Written<number> | undefined;
  readonly turnM: Written<number> | undefined;
  readonly clearM: Written<number> | undefined;
  readonly performance:
    | Written<{ readonly kind: 'share'; readonly share: number } | { readonly kind: 'ratio'; readonly ratio: number }>
    | undefined;
  readonly altimeterM: Written<number> | undefined;
}

export interface Limits extends Base {
  readonly kind: 'limits';
  /** They hold for every task of the files that bring them in, named or not. */
  readonly forAllTasks: boolean;
  readonly within: readonly { readonly distanceM: number; readonly point: NameNode; readonly line: LineSyntax }[];
  readonly fieldInGlide: LineSyntax | undefined;
  readonly landBeforeSunsetS: Written<number> | undefined;
  readonly crosswindMps: Written<number> | undefined;
  readonly durationS: Written<number> | undefined;
  readonly distanceM: Written<number> | undefined;
  readonly reserve: { readonly name: NameNode; readonly line: LineSyntax } | undefined;
}

export type SpeedMeaning =
  /** `span` where it is written, and not the speed of a line that says nothing. */
  | { readonly kind: 'bestGlide'; readonly span?: Span }
  | { readonly kind: 'indicated'; readonly indicatedMps: number; readonly span: Span }
  | { readonly kind: 'maccready'; readonly climbMps: number; readonly span: Span };

export type ItineraryLine =
  | {
      readonly kind: 'start';
      readonly line: LineSyntax;
      readonly point: NameNode | undefined;
      readonly altitude: Altitude | undefined;
    }
  | {
      readonly kind: 'climb';
      readonly line: LineSyntax;
      readonly altitude: Altitude | undefined;
      readonly rateMps: number | undefined;
      /** Undefined for a climb overhead the last point; `'unread'` when it is written but cannot be read. */
      readonly afterM: number | 'unread' | undefined;
    }
  | {
      readonly kind: 'soar';
      readonly line: LineSyntax;
      readonly lower: Altitude | undefined;
      readonly upper: Altitude | undefined;
    }
  | { readonly kind: 'glide'; readonly line: LineSyntax }
  | {
      readonly kind: 'turn' | 'finish';
      readonly line: LineSyntax;
      readonly point: NameNode | undefined;
      readonly speed: SpeedMeaning | undefined;
    };

export interface Task extends Base {
  readonly kind: 'task';
  readonly aircraft:
    | {
        readonly line: LineSyntax;
        readonly name: NameNode | undefined;
        readonly pilotKg: Written<number> | 'unread' | undefined;
        readonly ballastKg: Written<number> | 'unread' | undefined;
      }
    | undefined;
  readonly weather: { readonly line: LineSyntax; readonly name: NameNode | undefined } | undefined;
  readonly reserve: { readonly line: LineSyntax; readonly name: NameNode | undefined } | undefined;
  readonly limits: readonly { readonly line: LineSyntax; readonly name: NameNode | undefined }[];
  /** Seconds after midnight UTC, and the zone it is written in, minutes ahead of UTC. */
  readonly takeoff: { readonly utcS: number; readonly zoneMinutes: number; readonly line: LineSyntax } | undefined;
  readonly itinerary: readonly ItineraryLine[];
}

export interface Units extends Base {
  readonly kind: 'units';
  /** The unit chosen for `altitude`, `distance`, `speed`, `climb` and `mass`, as its text. */
  readonly chosen: Readonly<Record<string, string | undefined>>;
}

export interface Use extends Base {
  readonly kind: 'use';
  readonly path: Written<string> | undefined;
}

export interface Terrain extends Base {
  readonly kind: 'terrain';
  readonly path: Written<string> | undefined;
}

/** Text that is no entry: before the first one, or under a broken first line. */
export interface NoMeaning extends Base {
  readonly kind: 'none';
}

export type Meaning =
  | Field
  | Turnpoint
  | Obstacle
  | Airspace
  | Aircraft
  | Weather
  | Reserve
  | Limits
  | Task
  | Units
  | Use
  | Terrain
  | NoMeaning;

/** The namespace in which an entry's name stands. */
export function namespaceOf(meaning: Meaning): Namespace | undefined {
  return meaning.entry.form?.namespace;
}

/** The detail that a misspelt line most likely is. */
export function likelyDetail(line: LineSyntax, form: EntryForm): Form | undefined {
  const word = line.tokens[0]?.image.toLowerCase() ?? '';
  const first = nearest(
    word,
    form.details.map((detail) => detail.leading[0] as string),
  )[0];
  return first === undefined ? undefined : form.details.find((detail) => detail.leading[0] === first);
}

const kept = new WeakMap<EntrySyntax, Meaning>();

/** The meaning of an entry, kept with it. Never throws. */
export function meaningOf(entry: EntrySyntax): Meaning {
  const known = kept.get(entry);
  if (known) return known;
  const made = make(entry);
  kept.set(entry, made);
  return made;
}

/** What is asked of the values in a line of a form, which is the same for every such line. */
interface Asked {
  readonly use: DatumUse;
  readonly useOnTheWay: DatumUse;
  readonly slots: readonly { readonly slot: Slot; readonly positive: boolean }[];
}

/** By the form, which is one entry's; but for that of notes, in whose lines nothing is asked. */
const ASKED: ReadonlyMap<Form, Asked> = new Map(
  ENTRIES.flatMap((entry) =>
    [entry.head, ...entry.details].map((form): [Form, Asked] => {
      const detail = form === entry.head ? '' : form.id;
      const slots = [...slotsOf(form).values()].map((slot) => ({
        slot,
        positive: mustBePositive(slot, entry.keyword, detail),
      }));
      return [
        form,
        { use: datumUse(entry.keyword, detail), useOnTheWay: datumUse(entry.keyword, detail, true), slots },
      ];
    }),
  ),
);

const NO_LINES: readonly FaultyLine[] = [];
const NONE: readonly never[] = [];

/** The values of one entry, read slot by slot; whatever cannot be read is left out and noted. */
class Reader {
  readonly faults: Fault[] = [];
  private readonly entry: EntrySyntax;
  /** Undefined while nothing is: most entries are in order. */
  private bad: Set<ValueNode> | undefined;
  private badLines: Map<LineSyntax, string | undefined> | undefined;

  constructor(entry: EntrySyntax, form: EntryForm, head: LineSyntax) {
    this.entry = entry;
    this.read(head, form);
    for (const line of entry.details) this.read(line, form);
  }

  private read(line: LineSyntax, form: EntryForm): void {
    if (line.form?.id === 'note') return;
    let isFaulty = line.problems.length > 0 && line.problems.some((p) => p.kind !== 'not-indented');
    if (line.form) {
      const asked = ASKED.get(line.form) as Asked;
      const use = line.slots['after'] === undefined ? asked.use : asked.useOnTheWay;
      for (const { slot, positive } of asked.slots) {
        const node = line.slots[slot.slot];
        if (!node) continue;
        const fault = faultOf(node, slot, use);
        const sense = fault ? undefined : senseFaultOf(node, slot, positive);
        if (fault) this.faults.push({ line, slot, node, fault });
        else if (sense) this.faults.push({ line, slot, node, fault: { code: 'value-out-of-sense', ...sense } });
        if (!fault && !sense) continue;
        isFaulty = true;
        this.bad ??= new Set();
        this.bad.add(node);
      }
    }
    if (!isFaulty) return;
    this.badLines ??= new Map();
    this.badLines.set(line, line.form?.id ?? likelyDetail(line, form)?.id);
  }

  /** The lines that cannot be read in whole. */
  get faulty(): readonly FaultyLine[] {
    return this.badLines ? [...this.badLines].map(([line, detail]) => ({ line, detail })) : NO_LINES;
  }

  isFaulty(line: LineSyntax): boolean {
    return this.badLines?.has(line) === true;
  }

  /** The detail that a line is, or most likely is where it cannot be read. */
  detailOf(line: LineSyntax): string | undefined {
    return line.form?.id ?? this.badLines?.get(line);
  }

  lines(id: string): LineSyntax[] {
    return this.entry.details.filter((line) => line.form?.id === id);
  }

  line(id: string): LineSyntax | undefined {
    return this.entry.details.find((line) => line.form?.id === id);
  }

  node(line: LineSyntax | undefined, slot: string): ValueNode | undefined {
    const node = line?.slots[slot];
    return node && this.bad?.has(node) ? undefined : node;
  }

  quantity(line: LineSyntax | undefined, slot: string): number | undefined {
    const node = this.node(line, slot);
    if (node?.kind === 'duration') return durationSi(node);
    return node?.kind === 'quantity' ? quantitySi(node) : undefined;
  }

  /** The quantity in `slot` of the only line of this form. */
  written(id: string, slot: string): Written<number> | undefined {
    const line = this.line(id);
    const value = this.quantity(line, slot);
    return line && value !== undefined ? { value, line, span: (line.slots[slot] as ValueNode).span } : undefined;
  }

  /** A quantity that a line may leave out; `'unread'` when it is there but cannot be read. */
  optional(line: LineSyntax, slot: string): Written<number> | 'unread' | undefined {
    const node = line.slots[slot];
    if (!node) return undefined;
    const value = this.quantity(line, slot);
    return value === undefined ? 'unread' : { value, line, span: node.span };
  }

  altitude(line: LineSyntax | undefined, slot: string): Altitude | undefined {
    const node = this.node(line, slot);
    if (node?.kind === 'flightLevel') return { kind: 'fl', level: node.level };
    if (node?.kind !== 'quantity') return undefined;
    return { kind: node.datum?.datum === 'AGL' ? 'agl' : 'msl', metres: quantitySi(node) };
  }

  writtenAltitude(id: string, slot: string): Written<Altitude> | undefined {
    const line = this.line(id);
    const value = this.altitude(line, slot);
    return line && value ? { value, line, span: (line.slots[slot] as ValueNode).span } : undefined;
  }

  position(line: LineSyntax | undefined, slot: string): Position | undefined {
    const node = this.node(line, slot);
    return node?.kind === 'coordinates' ? positionOf(node) : undefined;
  }

  name(line: LineSyntax, slot: string): NameNode | undefined {
    const node = this.node(line, slot);
    return node?.kind === 'name' ? node : undefined;
  }

  /** What is made of each line of this form; of most entries there are none or one, so that nothing longer is made. */
  each<T>(id: string, make: (line: LineSyntax) => T | undefined): readonly T[] {
    let all: T[] | undefined;
    for (const line of this.entry.details) {
      if (line.form?.id !== id) continue;
      const one = make(line);
      if (one === undefined) continue;
      if (all) all.push(one);
      else all = [one];
    }
    return all ?? NONE;
  }

  /** Text as it stands: a note is read whether or not its line is in order. */
  texts(id: string): readonly string[] {
    return this.each(id, ({ slots: { text: node } }) => (node?.kind === 'text' ? node.text : undefined));
  }

  time(line: LineSyntax | undefined, slot: string): { utcS: number; zoneMinutes: number } | undefined {
    const node = this.node(line, slot);
    return node?.kind === 'time' ? { utcS: utcSeconds(node), zoneMinutes: node.zoneMinutes ?? 0 } : undefined;
  }

  span(id: string, from: string, to: string): { fromS: number; toS: number; line: LineSyntax } | undefined {
    const line = this.line(id);
    const start = this.time(line, from);
    const end = this.time(line, to);
    return line && start && end ? { fromS: start.utcS, toS: end.utcS, line } : undefined;
  }
}

function runwayOf(r: Reader, line: LineSyntax): Runway | undefined {
  const ends = r.node(line, 'ends');
  if (ends?.kind !== 'runway') return undefined;
  const surface = r.node(line, 'surface');
  const circuit = r.node(line, 'circuit');
  return {
    line,
    text: ends.text,
    directions: ends.ends.map((end) => end.number * 10),
    lengthM: r.quantity(line, 'length'),
    surface: surface?.kind === 'word' ? surface.text : undefined,
    circuit: circuit?.kind === 'word' ? circuit.text.toLowerCase() : undefined,
  };
}

type Maker = (reader: Reader, base: Base, head: LineSyntax) => Meaning;

const MAKERS: Readonly<Record<EntryForm['keyword'], Maker>> = {
  use: (r, base, head) => ({ ...base, kind: 'use', path: pathOf(r, head) }),
  terrain: (r, base, head) => ({ ...base, kind: 'terrain', path: pathOf(r, head) }),
  units: (r, base) => {
    const chosen: Record<string, string | undefined> = {};
    for (const id of ['altitude', 'distance', 'speed', 'climb', 'mass']) {
      const node = r.node(r.line(id), 'unit');
      chosen[id] = node?.kind === 'unit' ? node.unit?.text : undefined;
    }
    return { ...base, kind: 'units', chosen };
  },
  // Of most kinds there are thousands: an object that is made of another and more is held in two parts.
  field: (r, { entry, name, faulty, faults }, head) => ({
    entry,
    name,
    faulty,
    faults,
    kind: 'field',
    position: r.position(head, 'position'),
    elevationM: r.quantity(r.line('elevation'), 'elevation'),
    arriveM: r.written('arrive', 'height'),
    runways: r.each('runway', (line) => runwayOf(r, line)),
    frequencies: r.each('frequency', (line) => {
      const hertz = r.quantity(line, 'frequency');
      const node = line.slots['frequency'] as QuantityNode;
      return hertz === undefined ? undefined : { hertz, text: `${node.number.text} MHz` };
    }),
    notes: r.texts('note'),
  }),
  turnpoint: (r, { entry, name, faulty, faults }, head) => ({
    entry,
    name,
    faulty,
    faults,
    kind: 'turnpoint',
    position: r.position(head, 'position'),
    elevationM: r.quantity(r.line('elevation'), 'elevation'),
    radiusM: r.quantity(r.line('radius'), 'radius'),
    notes: r.texts('note'),
  }),
  obstacle: (r, { entry, name, faulty, faults }, head) => ({
    entry,
    name,
    faulty,
    faults,
    kind: 'obstacle',
    position: r.position(head, 'position'),
    top: r.altitude(r.line('top'), 'top'),
    radiusM: r.quantity(r.line('radius'), 'radius'),
  }),
  airspace: (r, base) => {
    const centre = r.position(r.line('circle'), 'centre');
    const radiusM = r.quantity(r.line('circle'), 'radius');
    return {
      ...base,
      kind: 'airspace',
      floor: r.writtenAltitude('floor', 'floor'),
      ceiling: r.writtenAltitude('ceiling', 'ceiling'),
      circle: centre && radiusM !== undefined ? { centre, radiusM } : undefined,
      edge: r.each('edge', (line) => r.position(line, 'corner')),
      active: r.each('active', (line) => {
        const from = r.time(line, 'from');
        const to = r.time(line, 'to');
        return from && to && { fromS: from.utcS, toS: to.utcS };
      }),
    };
  },
  aircraft: (r, base) => makeAircraft(r, base),
  weather: (r, base) => {
    const dateNode = r.node(r.line('date'), 'date');
    const temperatureLine = r.line('temperature');
    const kelvin = r.quantity(temperatureLine, 'temperature');
    const at = r.altitude(temperatureLine, 'altitude');
    const liftLine = r.line('lift');
    const rateMps = r.quantity(liftLine, 'rate');
    const top = r.altitude(liftLine, 'top');
    return {
      ...base,
      kind: 'weather',
      date: dateNode?.kind === 'date' ? { year: dateNode.year, month: dateNode.month, day: dateNode.day } : undefined,
      qnhPa: r.written('qnh', 'pressure'),
      temperature: temperatureLine && kelvin !== undefined && at ? { kelvin, at, line: temperatureLine } : undefined,
      winds: r.lines('wind').flatMap((line): WindLine[] => {
        const altitude = line.flags['surface'] ? 'surface' : r.altitude(line, 'altitude');
        const direction = r.node(line, 'direction');
        const speedMps = r.quantity(line, 'speed');
        if (!altitude || direction?.kind !== 'quantity' || speedMps === undefined) return [];
        const magnetic = direction.unit?.unit?.text === '°M';
        return [
          {
            line,
            altitude,
            direction: { degrees: quantitySi(direction), magnetic },
            speedMps,
            spreadMps: r.quantity(line, 'spread'),
          },
        ];
      }),
      lift: liftLine && rateMps !== undefined && top ? { rateMps, top, line: liftLine } : undefined,
      sinkMps: r.written('sink', 'rate'),
      cloudbase: r.writtenAltitude('cloudbase', 'altitude'),
      thermals: r.span('thermals', 'from', 'to'),
    };
  },
  reserve: (r, base) => {
    const line = r.line('performance');
    const node = r.node(line, 'share') as QuantityNode | RatioNode | undefined;
    const value = !node
      ? undefined
      : node.kind === 'ratio'
        ? ({ kind: 'ratio', ratio: node.value } as const)
        : ({ kind: 'share', share: quantitySi(node) } as const);
    return {
      ...base,
      kind: 'reserve',
      arriveM: r.written('arrive', 'height'),
      turnM: r.written('turn', 'height'),
      clearM: r.written('clear', 'height'),
      performance: line && node && value ? { value, line, span: node.span } : undefined,
      altimeterM: r.written('altimeter', 'height'),
    };
  },
  limits: (r, base, head) => {
    const reserveLine = r.line('reserve at least');
    const reserveName = reserveLine && r.name(reserveLine, 'reserve');
    return {
      ...base,
      kind: 'limits',
      forAllTasks: head.flags['forAll'] !== undefined,
      within: r.lines('within').flatMap((line) => {
        const distanceM = r.quantity(line, 'distance');
        const point = r.name(line, 'point');
        return distanceM !== undefined && point ? [{ distanceM, point, line }] : [];
      }),
      fieldInGlide: r.line('field in glide'),
      landBeforeSunsetS: r.written('land', 'duration'),
      crosswindMps: r.written('crosswind', 'speed'),
      durationS: r.written('duration', 'duration'),
      distanceM: r.written('distance', 'distance'),
      reserve: reserveLine && reserveName ? { name: reserveName, line: reserveLine } : undefined,
    };
  },
  task: (r, base) => {
    const named = (id: string, slot: string) => r.lines(id).map((line) => ({ line, name: r.name(line, slot) }));
    const aircraft = named('aircraft', 'aircraft')[0];
    const takeoffLine = r.line('takeoff');
    const takeoff = r.time(takeoffLine, 'time');
    return {
      ...base,
      kind: 'task',
      aircraft: aircraft && {
        ...aircraft,
        pilotKg: r.optional(aircraft.line, 'pilot'),
        ballastKg: r.optional(aircraft.line, 'ballast'),
      },
      weather: named('weather', 'weather')[0],
      reserve: named('reserve', 'reserve')[0],
      limits: named('limits', 'limits'),
      takeoff: takeoffLine && takeoff ? { ...takeoff, line: takeoffLine } : undefined,
      itinerary: base.entry.details.flatMap((line) => itineraryLine(r, line)),
    };
  },
};

function pathOf(r: Reader, head: LineSyntax): Written<string> | undefined {
  const node = r.node(head, 'path');
  return node?.kind === 'text' ? { value: node.text, line: head, span: node.span } : undefined;
}

function speedOf(r: Reader, line: LineSyntax): SpeedMeaning | undefined {
  if (r.isFaulty(line)) return undefined;
  const speed = line.slots['speed'];
  const climb = line.slots['climb'];
  if (speed) return { kind: 'indicated', indicatedMps: r.quantity(line, 'speed') as number, span: speed.span };
  if (climb) return { kind: 'maccready', climbMps: r.quantity(line, 'climb') as number, span: climb.span };
  const written = line.flags['bestGlide'];
  return written ? { kind: 'bestGlide', span: written } : { kind: 'bestGlide' };
}

function itineraryLine(r: Reader, line: LineSyntax): ItineraryLine[] {
  switch (r.detailOf(line)) {
    case 'start':
      return [{ kind: 'start', line, point: r.name(line, 'point'), altitude: r.altitude(line, 'altitude') }];
    case 'climb to': {
      const after = r.optional(line, 'after');
      const readable = r.isFaulty(line) ? undefined : r.altitude(line, 'altitude');
      return [
        {
          kind: 'climb',
          line,
          altitude: readable,
          rateMps: r.quantity(line, 'rate'),
          afterM: typeof after === 'object' ? after.value : after,
        },
      ];
    }
    case 'soar between': {
      const readable = !r.isFaulty(line);
      return [
        {
          kind: 'soar',
          line,
          lower: readable ? r.altitude(line, 'lower') : undefined,
          upper: readable ? r.altitude(line, 'upper') : undefined,
        },
      ];
    }
    case 'glide':
      return [{ kind: 'glide', line }];
    case 'turn':
    case 'finish':
      return [
        {
          kind: r.detailOf(line) as 'turn' | 'finish',
          line,
          point: r.name(line, 'point'),
          speed: speedOf(r, line),
        },
      ];
    default:
      return [];
  }
}

function makeAircraft(r: Reader, base: Base): Aircraft {
  const points = r.lines('polar').flatMap((line) => {
    const speedMps = r.quantity(line, 'speed');
    const sinkMps = r.quantity(line, 'sink');
    return speedMps !== undefined && sinkMps !== undefined
      ? [{ value: { speedMps, sinkMps }, line, span: line.span }]
      : [];
  });
  const bestLine = r.line('best glide');
  const ratio = r.node(bestLine, 'ratio');
  const bestSpeed = r.quantity(bestLine, 'speed');
  const minimumLine = r.line('minimum sink');
  const sinkMps = r.quantity(minimumLine, 'sink');
  const minimumSpeed = r.quantity(minimumLine, 'speed');
  const pilotLine = r.line('pilot');
  const leastKg = r.quantity(pilotLine, 'least');
  const mostKg = r.quantity(pilotLine, 'most');
  const aircraft = {
    ...base,
    kind: 'aircraft' as const,
    polarMassKg: r.written('polar mass', 'mass'),
    emptyMassKg: r.written('empty mass', 'mass'),
    maximumMassKg: r.written('maximum mass', 'mass'),
    ballastMostKg: r.written('ballast up to', 'mass'),
    pilot:
      pilotLine && leastKg !== undefined && mostKg !== undefined ? { leastKg, mostKg, line: pilotLine } : undefined,
    vsMps: r.written('vs', 'speed'),
    vaMps: r.written('va', 'speed'),
    vnoMps: r.written('vno', 'speed'),
    vneMps: r.written('vne', 'speed'),
    crosswindMps: r.written('crosswind', 'speed'),
    landingM: r.written('landing', 'length'),
    bestGlide:
      bestLine && ratio?.kind === 'ratio' && bestSpeed !== undefined
        ? { value: { ratio: ratio.value, speedMps: bestSpeed }, line: bestLine, span: bestLine.span }
        : undefined,
    minimumSink:
      minimumLine && sinkMps !== undefined && minimumSpeed !== undefined
        ? { value: { sinkMps, speedMps: minimumSpeed }, line: minimumLine, span: minimumLine.span }
        : undefined,
    points,
    notes: r.texts('note'),
  };
  const polarLines = [...r.lines('polar'), bestLine, minimumLine];
  const unread = polarLines.some((line) => line && r.isFaulty(line));
  return { ...aircraft, polar: unread ? { kind: 'none' } : polarOf(aircraft) };
}

function polarOf(aircraft: Omit<Aircraft, 'polar'>): PolarMeaning {
  const { points, bestGlide, minimumSink, polarMassKg, vsMps, vneMps } = aircraft;
  if (!polarMassKg || !vsMps || !vneMps) return { kind: 'none' };
  const limits = { vsMps: vsMps.value, vneMps: vneMps.value };
  if (points.length > 0) {
    const line = (points[0] as Written<unknown>).line;
    const fit = polarFromPoints(
      points.map((p) => p.value),
      polarMassKg.value,
    );
    if (fit.refused !== null) return { kind: 'refused', source: 'points', refusal: fit, line };
    const problem = checkPolar(fit.polar, limits);
    if (problem) return { kind: 'refused', source: 'points', refusal: problem, line };
    return {
      kind: 'polar',
      source: 'points',
      polar: fit.polar,
      residuals: fit.residuals,
      fromMps: fit.fromMps,
      toMps: fit.toMps,
      minimumSinkSpeedOffMps: undefined,
      line,
    };
  }
  if (!bestGlide || !minimumSink) return { kind: 'none' };
  const figures = {
    bestGlideRatio: bestGlide.value.ratio,
    bestGlideSpeedMps: bestGlide.value.speedMps,
    minimumSinkMps: minimumSink.value.sinkMps,
    minimumSinkSpeedMps: minimumSink.value.speedMps,
  };
  const line = bestGlide.line;
  const made = polarFromFigures(figures, polarMassKg.value);
  if (made.refused !== null) return { kind: 'refused', source: 'figures', refusal: made, line };
  const problem = checkPolar(made.polar, limits);
  if (problem) return { kind: 'refused', source: 'figures', refusal: problem, line };
  return {
    kind: 'polar',
    source: 'figures',
    polar: made.polar,
    residuals: undefined,
    fromMps: Math.min(minimumSink.value.speedMps, bestGlide.value.speedMps),
    toMps: Math.max(minimumSink.value.speedMps, bestGlide.value.speedMps),
    minimumSinkSpeedOffMps: made.minimumSinkSpeedOffMps ?? undefined,
    line,
  };
}

function make(entry: EntrySyntax): Meaning {
  if (!entry.form || !entry.head) return { kind: 'none', entry, name: '', faulty: [], faults: [] };
  const reader = new Reader(entry, entry.form, entry.head);
  const base: Base = {
    entry,
    name: entry.name?.text ?? '',
    faulty: reader.faulty,
    faults: reader.faults,
  };
  return MAKERS[entry.form.keyword](reader, base, entry.head);
}
