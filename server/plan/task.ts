/**
 * A task evaluated: the aircraft at its mass, the air and the wind of the day, the reserve, and the itinerary as legs,
 * each with its budget. Where something is missing the legs that need it are not computed, and say what for; a number
 * is never made from a part of the facts.
 */
import type { EntrySyntax, LineSyntax, NameNode, Span } from '../../grammar/syntax.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import {
  type Air,
  altitudeOfFlightLevel,
  bestGlideRatio,
  climbTime,
  enoughFor,
  evaluateLeg,
  type LastGlide,
  type LegInput,
  type LegResult,
  MOST_CLIMBS,
  magneticVariation,
  planned,
  type Soaring,
  STANDARD_AIR,
  shareForRatio,
  soar,
  speedToFly,
  temperatureDeviation,
  track,
  type WindLayer,
  type WindProfile,
  windProfile,
} from '../flight/index.ts';
import { keptFor, LastFew } from './last-few.ts';
import { limitsForAll } from './limits.ts';
import {
  type Aircraft,
  type Field,
  type ItineraryLine,
  type Limits,
  type Meaning,
  meaningOf,
  type Point,
  type Reserve,
  type SpeedMeaning,
  type Task,
  type Weather,
} from './meaning.ts';
import type { Place } from './place.ts';
import { same } from './same.ts';
import { NO_SURROUNDINGS, type Surroundings } from './surroundings.ts';
import type { Altitude } from './values.ts';
import { type Defined, type NamesSeen, namesChanged, namesSeen, nearestOf, type Scope } from './workspace.ts';

export type { Place };

/** Why something is not computed, as a clause (`Corran Dam has no elevation`), and where that is. */
export interface Cause {
  readonly text: string;
  readonly at: Place;
}

/** A name in the task and the entry it stands for. */
export interface Reference<M extends Meaning> {
  readonly node: NameNode;
  readonly meaning: M;
  readonly at: Place;
}

/** Limits that a task is checked against: it names them, or they hold for all tasks. */
export interface AppliedLimits extends Reference<Limits> {
  /** The line of the task that names them. */
  readonly line: LineSyntax | undefined;
  /** Each `within`, with the place that it counts from where that is known. */
  readonly within: readonly {
    readonly limit: Limits['within'][number];
    readonly point: Reference<Point> | undefined;
  }[];
  /** The reserve that `reserve at least` names, where it is known. */
  readonly leastReserve: Reference<Reserve> | undefined;
}

export interface ClimbEvaluation {
  readonly line: LineSyntax;
  readonly fromAltitudeM: number | undefined;
  readonly toAltitudeM: number;
  /** It ends no higher than it starts, from a height that is known and not assumed. */
  readonly goesDown: boolean;
  readonly afterM: number | undefined;
  /** Beyond the end of its leg, for a climb on the way. */
  readonly beyondLeg: boolean;
  readonly rateMps: number | undefined;
  readonly timeS: number | undefined;
}

/** How a leg is soared: climbing from a lower to an upper height whenever the lower one is reached. */
export interface SoarEvaluation {
  readonly line: LineSyntax;
  readonly lowerM: number;
  readonly upperM: number;
  readonly rateMps: number;
  /** Those that soaring makes, on the way; none of them is written. */
  readonly climbs: readonly ClimbEvaluation[];
  /** Over the ground, all climbs of the leg included; undefined where a time is not known. */
  readonly averageMps: number | undefined;
  /** Where on this leg the last glide begins: there is no climb behind it. */
  readonly lastGlide: LastGlide | undefined;
}

export interface LegEvaluation {
  /** From 1. */
  readonly number: number;
  readonly kind: 'turn' | 'finish';
  readonly line: LineSyntax;
  readonly fromName: string;
  readonly toName: string;
  readonly from: Reference<Point> | undefined;
  readonly to: Reference<Point> | undefined;
  /** Climbs overhead the leg's start, then those on its way; as written. */
  readonly climbs: readonly ClimbEvaluation[];
  readonly soar: SoarEvaluation | undefined;
  /** The line that sets the height at which the leg starts, or its last climb ends: a `start` or a `climb`. */
  readonly heightLine: LineSyntax | undefined;
  /** Starts at the height asked, since the leg before does not get there. */
  readonly departAssumed: boolean;
  readonly input: LegInput | undefined;
  readonly result: LegResult | undefined;
  readonly cause: Cause | undefined;
  /** The height over the destination that is asked, and the line that asks it. */
  readonly asks: { readonly reserveM: number; readonly at: Place | undefined } | undefined;
  /** East positive, at the leg's start; undefined without a date that the model covers. */
  readonly variationDeg: number | undefined;
}

export interface Totals {
  readonly distanceM: number | null;
  readonly glideTimeS: number | null;
  readonly climbTimeS: number | null;
  readonly timeS: number | null;
}

export interface TaskEvaluation {
  readonly uri: string;
  readonly entry: EntrySyntax;
  readonly task: Task;
  readonly aircraft: Reference<Aircraft> | undefined;
  readonly weather: Reference<Weather> | undefined;
  readonly reserve: Reference<Reserve> | undefined;
  /** Those that the task names, then those for all tasks. */
  readonly limits: readonly AppliedLimits[];
  readonly massKg: number | undefined;
  /** Taken from the polar, since the task names no pilot. */
  readonly massAssumed: boolean;
  readonly share: number | undefined;
  readonly air: Air;
  readonly wind: WindProfile | undefined;
  /** Altitudes between which the wind is written. */
  readonly windLayers: readonly WindLayer[];
  readonly start:
    | {
        readonly line: LineSyntax;
        readonly point: Reference<Point> | undefined;
        readonly altitudeM: number | undefined;
      }
    | undefined;
  readonly legs: readonly LegEvaluation[];
  /** Climbs behind the last leg. */
  readonly looseClimbs: readonly ClimbEvaluation[];
  readonly totals: Totals;
  /** What keeps the whole task from being computed. */
  readonly causes: readonly Cause[];
  /** What it is flown among; no leg rests on it. */
  readonly surroundings: Surroundings;
}

interface Dependency {
  readonly namespace: Namespace;
  readonly name: string;
  readonly entry: EntrySyntax | undefined;
}

interface Kept {
  readonly uri: string;
  readonly dependencies: readonly Dependency[];
  /** The limits for all tasks that the scope held. */
  readonly forAll: readonly EntrySyntax[];
  readonly evaluation: TaskEvaluation;
  /** When every name was seen last to be what it was. */
  seen: NamesSeen;
}

const kept = new WeakMap<EntrySyntax, LastFew<Kept>>();

/** Whether every name means what it meant; of those that nothing changed in nothing is looked up. */
function holds(known: Kept, scope: Scope): boolean {
  const changed = namesChanged(scope, known.seen);
  const isSame = ({ namespace, name, entry }: Dependency): boolean =>
    changed?.has(name) === false || nearestOf(scope, namespace, name)?.entry === entry;
  if (!known.dependencies.every(isSame)) return false;
  known.seen = namesSeen(scope);
  return true;
}

/**
 * Evaluates a task. The result is kept with the entry and used again for as long as every entry that it names is the
 * same. Never throws.
 */
export function evaluateTask(defined: Omit<Defined, 'placed'>, scope: Scope): TaskEvaluation | undefined {
  if (defined.meaning.kind !== 'task') return undefined;
  const { entry } = defined.meaning;
  const few = keptFor(kept, entry, () => new LastFew<Kept>());
  const forAll = limitsForAll(scope).map(({ meaning }) => meaning.entry);
  const known = few.find((one) => one.uri === defined.file.uri && same(one.forAll, forAll) && holds(one, scope));
  if (known) return known.evaluation;
  const evaluator = new Evaluator(defined.file.uri, defined.meaning, scope);
  const evaluation = evaluator.evaluate();
  few.put({
    uri: defined.file.uri,
    dependencies: evaluator.dependencies,
    forAll,
    evaluation,
    seen: namesSeen(scope),
  });
  return evaluation;
}

const placed = new WeakMap<TaskEvaluation, TaskEvaluation>();

/** An evaluation among its surroundings; the same object for as long as both are the same. */
export function among(evaluation: TaskEvaluation, surroundings: Surroundings): TaskEvaluation {
  const known = placed.get(evaluation);
  if (known?.surroundings === surroundings) return known;
  const made = { ...evaluation, surroundings };
  placed.set(evaluation, made);
  return made;
}

/** Details whose loss changes no height. */
const HARMLESS: Readonly<Record<string, ReadonlySet<string>>> = {
  aircraft: new Set(['note', 'crosswind', 'landing', 'va', 'pilot', 'ballast up to']),
  weather: new Set(['note', 'date', 'lift', 'cloudbase', 'thermals']),
  reserve: new Set(['note', 'clear']),
  field: new Set(['note', 'runway', 'frequency']),
  turnpoint: new Set(['note', 'radius']),
};

/** The keyword of a line as it is called: without the spaces of a layout. */
function keywordText(entry: EntrySyntax, line: LineSyntax): string {
  return entry.text.slice(line.keyword.start, line.keyword.end).replace(/\s+/g, ' ');
}

type Resolved<T> = { readonly value: T } | { readonly cause: Cause };

/** Where the itinerary has got to. */
interface State {
  point: Reference<Point> | undefined;
  name: string;
  altitudeM: number | undefined;
  cause: Cause | undefined;
  assumed: boolean;
  heightLine: LineSyntax | undefined;
  overhead: ClimbEvaluation[];
  onTheWay: Extract<ItineraryLine, { kind: 'climb' }>[];
  soar: SoarLine | undefined;
  /** The last glide has begun. */
  gliding: boolean;
}

type SoarLine = Extract<ItineraryLine, { kind: 'soar' }>;
type LegLine = Extract<ItineraryLine, { kind: 'turn' | 'finish' }>;

/** What the legs of a task have in common. */
interface Given {
  readonly weather: Reference<Weather> | undefined;
  readonly aircraft: Reference<Aircraft> | undefined;
  readonly reserve: Reference<Reserve> | undefined;
  readonly air: Air;
  readonly causes: readonly Cause[];
  readonly windCause: Cause | undefined;
  readonly setting: Omit<LegInput['setting'], 'track'> | undefined;
  readonly startPoint: Reference<Point> | undefined;
}

/** A glider soars between two heights that lie this far apart at least, m. */
export const LEAST_BAND_M = 1;

/** The last climb of a soared task is this much higher than what is asked, m, so that no rounding shows it short. */
const LAST_CLIMB_SPARE_M = 1;

class Evaluator {
  readonly dependencies: Dependency[] = [];
  private readonly uri: string;
  private readonly task: Task;
  private readonly scope: Scope;
  /** As it is flown: of several starts the first one counts. */
  private readonly itinerary: readonly ItineraryLine[];

  constructor(uri: string, task: Task, scope: Scope) {
    this.uri = uri;
    this.task = task;
    this.scope = scope;
    const start = task.itinerary.find(({ kind }) => kind === 'start');
    this.itinerary = task.itinerary.filter((item) => item.kind !== 'start' || item === start);
  }

  private here(span: Span): Place {
    return { uri: this.uri, entry: this.task.entry, span };
  }

  private refer<M extends Meaning>(namespace: Namespace, node: NameNode | undefined): Reference<M> | undefined {
    if (!node || node.text === '') return undefined;
    const found = nearestOf(this.scope, namespace, node.text);
    this.dependencies.push({ namespace, name: node.text, entry: found?.entry });
    if (!found) return undefined;
    const { entry, file } = found;
    const span = entry.name?.span ?? entry.span;
    return { node, meaning: meaningOf(entry) as M, at: { uri: file.uri, entry, span } };
  }

  /** The first line of an entry whose loss would change a height. */
  private unread(reference: Reference<Aircraft | Weather | Reserve | Point>): Cause | undefined {
    const { meaning, at } = reference;
    const harmless = HARMLESS[meaning.kind] as ReadonlySet<string>;
    const broken = meaning.faulty.find(({ detail }) => detail !== undefined && !harmless.has(detail));
    if (!broken) return undefined;
    const { line } = broken;
    const what = line === meaning.entry.head ? 'the first line' : `the line \`${keywordText(meaning.entry, line)}\``;
    return { text: `${what} of ${meaning.name} cannot be read`, at: { ...at, span: line.span } };
  }

  private missing(reference: Reference<Meaning>, what: string): Cause {
    return { text: `${reference.meaning.name} has no ${what}`, at: reference.at };
  }

  private named(
    what: string,
    line: { line: LineSyntax; name: NameNode | undefined } | undefined,
    found: unknown,
  ): Cause | undefined {
    if (found) return undefined;
    if (!line)
      return { text: `the task names no ${what}`, at: this.here(this.task.entry.name?.span ?? this.task.entry.span) };
    if (!line.name) return { text: `the line \`${what}\` cannot be read`, at: this.here(line.line.span) };
    return { text: `no ${what} \`${line.name.text}\` is known`, at: this.here(line.name.span) };
  }

  private broken(detail: string): LineSyntax | undefined {
    return this.task.faulty.find((f) => f.detail === detail)?.line;
  }

  private unreadHere(detail: string): Cause | undefined {
    const line = this.broken(detail);
    return (
      line && {
        text: `the line \`${keywordText(this.task.entry, line)}\` cannot be read`,
        at: this.here(line.span),
      }
    );
  }

  private mass(aircraft: Reference<Aircraft>): Resolved<{ massKg: number; assumed: boolean }> {
    const { pilotKg, ballastKg } = this.task.aircraft as NonNullable<Task['aircraft']>;
    const { emptyMassKg, polarMassKg } = aircraft.meaning;
    if (pilotKg === 'unread' || ballastKg === 'unread') {
      return {
        cause: {
          text: 'the mass on board cannot be read',
          at: this.here((this.task.aircraft as { line: LineSyntax }).line.span),
        },
      };
    }
    if (!polarMassKg) return { cause: this.missing(aircraft, '`polar mass`') };
    const ballast = ballastKg?.value ?? 0;
    if (!pilotKg) return { value: { massKg: polarMassKg.value + ballast, assumed: true } };
    if (!emptyMassKg) return { cause: this.missing(aircraft, '`empty mass`') };
    return { value: { massKg: emptyMassKg.value + pilotKg.value + ballast, assumed: false } };
  }

  private polarCause(aircraft: Reference<Aircraft>): Cause | undefined {
    const { polar, vsMps, vneMps, polarMassKg } = aircraft.meaning;
    if (polar.kind === 'polar') return undefined;
    if (polar.kind === 'refused')
      return {
        text: `the polar of ${aircraft.meaning.name} is refused`,
        at: { ...aircraft.at, span: polar.line.span },
      };
    if (!polarMassKg) return this.missing(aircraft, '`polar mass`');
    if (!vsMps) return this.missing(aircraft, '`vs`');
    if (!vneMps) return this.missing(aircraft, '`vne`');
    return this.missing(aircraft, 'polar');
  }

  private air(weather: Reference<Weather> | undefined): Air {
    const meaning = weather?.meaning;
    const qnhPa = meaning?.qnhPa?.value ?? STANDARD_AIR.qnhPa;
    const temperature = meaning?.temperature;
    if (!temperature) return { qnhPa, deltaTK: 0 };
    const at = altitudeIn(temperature.at, undefined, { qnhPa, deltaTK: 0 });
    return { qnhPa, deltaTK: at === undefined ? 0 : temperatureDeviation(temperature.kelvin, at) };
  }

  private wind(
    weather: Reference<Weather> | undefined,
    air: Air,
    start: Reference<Point> | undefined,
  ): Resolved<WindLayer[]> {
    const layers: WindLayer[] = [];
    for (const wind of weather?.meaning.winds ?? []) {
      const at = { ...(weather as Reference<Weather>).at, span: wind.line.span };
      let altitudeM: number | undefined;
      if (wind.altitude === 'surface') {
        altitudeM = start?.meaning.elevationM;
        if (altitudeM === undefined)
          return { cause: { text: 'the elevation of the start, where the surface wind lies, is not known', at } };
      } else {
        altitudeM = altitudeIn(wind.altitude, undefined, air);
      }
      let fromDeg = wind.direction.degrees;
      if (wind.direction.magnetic) {
        const date = weather?.meaning.date;
        const position = start?.meaning.position;
        if (!date) return { cause: { text: 'a magnetic wind direction needs a `date`', at } };
        if (!position) return { cause: { text: 'a magnetic wind direction needs the position of the start', at } };
        const variation = magneticVariation(position, altitudeM ?? 0, date);
        if (variation.outside)
          return {
            cause: { text: `the magnetic model covers ${variation.fromYear} to ${variation.toYear - 1} only`, at },
          };
        fromDeg += variation.declinationDeg;
      }
      if (altitudeM !== undefined) layers.push({ altitudeM, fromDeg, speedMps: wind.speedMps });
    }
    return { value: layers };
  }

  /** The share of the polar; undefined where a ratio is given and the polar is not known. */
  private share(
    reserve: Reference<Reserve> | undefined,
    aircraft: Reference<Aircraft> | undefined,
  ): Resolved<number | undefined> {
    const performance = reserve?.meaning.performance;
    if (!performance) return { value: 1 };
    if (performance.value.kind === 'share') return { value: performance.value.share };
    const polar = aircraft?.meaning.polar;
    if (polar?.kind !== 'polar') return { value: undefined };
    const share = shareForRatio(performance.value.ratio, polar.polar);
    if (share <= 1) return { value: share };
    const best = bestGlideRatio(polar.polar).toFixed(1);
    return {
      cause: {
        text: `the reserve plans on a better glide than the ${best}:1 of ${aircraft?.meaning.name}`,
        at: { ...(reserve as Reference<Reserve>).at, span: performance.span },
      },
    };
  }

  /** The limits that hold, each once, with what their lines name. */
  private limits(): AppliedLimits[] {
    const found = new Map<EntrySyntax, AppliedLimits>();
    const add = (reference: Reference<Limits>, line: LineSyntax | undefined): void => {
      if (found.has(reference.meaning.entry)) return;
      const { within, reserve } = reference.meaning;
      found.set(reference.meaning.entry, {
        ...reference,
        line,
        within: within.map((limit) => ({ limit, point: this.refer<Point>('point', limit.point) })),
        leastReserve: this.refer<Reserve>('reserve', reserve?.name),
      });
    };
    for (const { name, line } of this.task.limits) {
      const reference = this.refer<Limits>('limits', name);
      if (reference) add(reference, line);
    }
    for (const { file, meaning } of limitsForAll(this.scope)) {
      const { entry } = meaning;
      if (entry.name)
        add({ node: entry.name, meaning, at: { uri: file.uri, entry, span: entry.name.span } }, undefined);
    }
    return [...found.values()];
  }

  evaluate(): TaskEvaluation {
    const { task } = this;
    const aircraft = this.refer<Aircraft>('aircraft', task.aircraft?.name);
    const weather = this.refer<Weather>('weather', task.weather?.name);
    const reserve = this.refer<Reserve>('reserve', task.reserve?.name);
    const limits = this.limits();
    const startLine = task.itinerary.find((line) => line.kind === 'start');
    const startPoint = this.refer<Point>('point', startLine?.point);

    const causes: Cause[] = [];
    const add = (cause: Cause | undefined): void => {
      if (cause && !causes.some((c) => c.text === cause.text)) causes.push(cause);
    };
    add(this.unreadHere('aircraft') ?? this.named('aircraft', task.aircraft, aircraft));
    if (weather) add(this.unread(weather));
    else if (task.weather) add(this.named('weather', task.weather, weather));
    else add(this.unreadHere('weather'));
    if (reserve) add(this.unread(reserve));
    else if (task.reserve) add(this.named('reserve', task.reserve, reserve));
    else add(this.unreadHere('reserve'));
    if (aircraft) add(this.unread(aircraft) ?? this.polarCause(aircraft));

    const mass = aircraft && this.mass(aircraft);
    if (mass && 'cause' in mass) add(mass.cause);
    const resolved = this.share(reserve, aircraft);
    if ('cause' in resolved) add(resolved.cause);
    const share = 'value' in resolved ? resolved.value : undefined;
    const air = this.air(weather);
    const layers = this.wind(weather, air, startPoint);
    const windCause = 'cause' in layers ? layers.cause : undefined;
    // Without a start there is no leg to compute either, and that is said first.
    if (startPoint) add(windCause);
    const windLayers = 'value' in layers ? layers.value : [];
    const wind = 'value' in layers ? windProfile(windLayers) : undefined;
    const massKg = mass && 'value' in mass ? mass.value.massKg : undefined;

    const polar = aircraft?.meaning.polar;
    const setting =
      causes.length === 0 && polar?.kind === 'polar' && massKg !== undefined && share !== undefined && wind
        ? {
            polar: polar.polar,
            massKg,
            share,
            sinkingAirMps: weather?.meaning.sinkMps?.value ?? 0,
            air,
            wind,
          }
        : undefined;

    const walked = this.walk({ aircraft, weather, reserve, air, causes, windCause, setting, startPoint });
    return {
      uri: this.uri,
      entry: task.entry,
      task,
      aircraft,
      weather,
      reserve,
      limits,
      massKg,
      massAssumed: mass !== undefined && 'value' in mass && mass.value.assumed,
      share,
      air,
      wind,
      windLayers,
      start: startLine && { line: startLine.line, point: startPoint, altitudeM: walked.startAltitudeM },
      legs: walked.legs,
      looseClimbs: walked.loose,
      totals: totalsOf(walked.legs, walked.loose),
      causes,
      surroundings: NO_SURROUNDINGS,
    };
  }

  private altitude(
    altitude: Altitude | undefined,
    line: LineSyntax,
    point: Reference<Point> | undefined,
    air: Air,
  ): Resolved<number> {
    const unread = {
      text: `the line \`${keywordText(this.task.entry, line)}\` cannot be read`,
      at: this.here(line.span),
    };
    if (!altitude) return { cause: unread };
    const metres = altitudeIn(altitude, point?.meaning.elevationM, air);
    if (metres !== undefined) return { value: metres };
    return { cause: point ? this.missing(point, '`elevation`') : unread };
  }

  private pointCause(
    line: LineSyntax,
    node: NameNode | undefined,
    point: Reference<Point> | undefined,
  ): Cause | undefined {
    if (!point) {
      const text = node
        ? `no field or turnpoint \`${node.text}\` is known`
        : `the line \`${keywordText(this.task.entry, line)}\` cannot be read`;
      return { text, at: this.here(node?.span ?? line.span) };
    }
    const unread = this.unread(point);
    if (unread) return unread;
    if (!point.meaning.position) return this.missing(point, 'position');
    return point.meaning.elevationM === undefined ? this.missing(point, '`elevation`') : undefined;
  }

  private walk(given: Given): {
    legs: LegEvaluation[];
    loose: ClimbEvaluation[];
    startAltitudeM: number | undefined;
  } {
    const { air, weather } = given;
    const legs: LegEvaluation[] = [];
    let startAltitudeM: number | undefined;
    const noStart: Cause = this.unreadHere('start') ?? {
      text: 'the task has no `start`',
      at: this.here(this.task.entry.name?.span ?? this.task.entry.span),
    };
    const state: State = {
      point: undefined,
      name: '',
      altitudeM: undefined,
      cause: noStart,
      assumed: false,
      heightLine: undefined,
      overhead: [],
      onTheWay: [],
      soar: undefined,
      gliding: false,
    };

    for (const item of this.itinerary) {
      if (item.kind === 'start') {
        const cause = this.pointCause(item.line, item.point, given.startPoint);
        const altitude = this.altitude(item.altitude, item.line, given.startPoint, air);
        state.point = given.startPoint;
        state.name = item.point?.text ?? '';
        state.altitudeM = 'value' in altitude ? altitude.value : undefined;
        state.cause = cause ?? ('cause' in altitude ? altitude.cause : undefined);
        state.heightLine = item.line;
        startAltitudeM = state.altitudeM;
      } else if (item.kind === 'climb' && item.afterM === undefined) {
        this.climbOverhead(item, state, air, weather);
      } else if (item.kind === 'climb') {
        state.onTheWay.push(item);
      } else if (item.kind === 'soar') {
        state.soar = item;
      } else if (item.kind === 'glide') {
        state.soar = undefined;
      } else {
        const leg = this.leg(item, legs.length + 1, state, given);
        legs.push(leg);
        arrive(state, leg);
      }
    }
    return { legs, loose: state.overhead, startAltitudeM };
  }

  private climbOverhead(
    item: Extract<ItineraryLine, { kind: 'climb' }>,
    state: State,
    air: Air,
    weather: Reference<Weather> | undefined,
  ): void {
    const top = this.altitude(item.altitude, item.line, state.point, air);
    if ('cause' in top) {
      state.altitudeM = undefined;
      state.cause = top.cause;
      return;
    }
    const climb = climbEvaluation(item, state.altitudeM, top.value, weather, state.assumed);
    const known = state.altitudeM;
    state.overhead.push(climb);
    state.altitudeM = Math.max(top.value, known ?? top.value);
    // A height is known again, whatever went before; where the glider is, is another question.
    if (state.point) state.cause = undefined;
    if (known === undefined || top.value > known) {
      state.heightLine = item.line;
      state.assumed = false;
      state.gliding = false;
    }
  }

  /** The band of a `soar` line and the lift that fills it. */
  private band(
    item: SoarLine,
    { air, weather }: Given,
  ): Resolved<{ lowerM: number; upperM: number; rateMps: number; line: LineSyntax }> {
    const lower = this.altitude(item.lower, item.line, undefined, air);
    if ('cause' in lower) return lower;
    const upper = this.altitude(item.upper, item.line, undefined, air);
    if ('cause' in upper) return upper;
    const at = this.here(item.line.span);
    const rateMps = weather?.meaning.lift?.rateMps;
    if (rateMps === undefined) {
      const unread = weather?.meaning.faulty.find(({ detail }) => detail === 'lift');
      if (weather && unread)
        return {
          cause: {
            text: `the line \`lift\` of ${weather.meaning.name} cannot be read`,
            at: { ...weather.at, span: unread.line.span },
          },
        };
      return { cause: { text: 'no `lift` says how fast the glider climbs', at } };
    }
    if (upper.value - lower.value < LEAST_BAND_M)
      return { cause: { text: 'the lower height of `soar` does not lie below the upper one', at } };
    return { value: { lowerM: lower.value, upperM: upper.value, rateMps, line: item.line } };
  }

  private readonly onwardKept = new Map<number, Resolved<number | null>>();

  /**
   * The altitude at the end of a leg of the itinerary from which all that follows is a glide with what is asked
   * everywhere, up to the finish or the next climb that is written; -Infinity where nothing follows, null where no
   * height is enough.
   */
  private onward(index: number, soar: SoarLine | undefined, given: Given): Resolved<number | null> {
    const known = this.onwardKept.get(index);
    if (known) return known;
    const found = this.onwardOf(index, soar, given);
    this.onwardKept.set(index, found);
    return found;
  }

  private onwardOf(index: number, soar: SoarLine | undefined, given: Given): Resolved<number | null> {
    const { itinerary } = this;
    const here = itinerary[index];
    if (here?.kind !== 'turn' || !given.setting) return { value: -Infinity };
    let mode = soar;
    for (let i = index + 1; i < itinerary.length; i += 1) {
      const item = itinerary[i] as ItineraryLine;
      if (item.kind === 'soar') mode = item;
      else if (item.kind === 'glide') mode = undefined;
      else if (item.kind === 'climb' || item.kind === 'start') return { value: -Infinity };
      else return this.gliding(here, item, i, mode, given);
    }
    return { value: -Infinity };
  }

  /** The altitude at the start of the leg from `here` to `item` from which it and what follows is a glide. */
  private gliding(
    here: LegLine,
    item: LegLine,
    index: number,
    soar: SoarLine | undefined,
    given: Given,
  ): Resolved<number | null> {
    const { reserve, setting } = given;
    const from = this.refer<Point>('point', here.point);
    const to = this.refer<Point>('point', item.point);
    const cause = this.pointCause(here.line, here.point, from) ?? this.pointCause(item.line, item.point, to);
    if (cause) return { cause };
    const fromPosition = from?.meaning.position;
    const toPosition = to?.meaning.position;
    const limits = speedLimits(given.aircraft);
    if (!item.speed) {
      return { cause: { text: `the line \`${item.kind}\` cannot be read`, at: this.here(item.line.span) } };
    }
    if (!setting || !limits || !fromPosition || !toPosition || !to) return { value: null };
    const band = soar && this.band(soar, given);
    if (band && 'cause' in band) return band;
    const onward = this.onward(index, soar, given);
    if ('cause' in onward || onward.value === null) return onward;
    const way = { ...setting, track: track(fromPosition, toPosition) };
    const destination = {
      elevationM: to.meaning.elevationM as number,
      reserveM: asksOf(to, reserve).reserveM,
      altimeterM: reserve?.meaning.altimeterM?.value ?? 0,
    };
    const askedM = destination.elevationM + destination.reserveM + destination.altimeterM;
    const indicatedMps = speedFlown(
      { setting: way, departAltitudeM: askedM, climbs: [], destination, limits },
      speedOf(item.speed, band?.value.rateMps),
    );
    return {
      value: enoughFor(way, indicatedMps, 0, Math.max(askedM + LAST_CLIMB_SPARE_M, onward.value)),
    };
  }

  private leg(item: LegLine, number: number, state: State, given: Given): LegEvaluation {
    const { weather, reserve, air, setting } = given;
    const to = this.refer<Point>('point', item.point);
    const from = state.point;
    const basics = {
      number,
      kind: item.kind,
      line: item.line,
      fromName: state.name,
      toName: item.point?.text ?? '',
      from,
      to,
      departAssumed: state.assumed,
      asks: to && asksOf(to, reserve),
      variationDeg: variationAt(from, weather),
    };
    const onTheWay: ClimbEvaluation[] = [];
    let climbCause: Cause | undefined;
    const climbs: { afterM: number; toAltitudeM: number; item: Extract<ItineraryLine, { kind: 'climb' }> }[] = [];
    for (const climb of state.onTheWay) {
      const top = this.altitude(climb.altitude, climb.line, undefined, air);
      if ('cause' in top) climbCause ??= top.cause;
      else if (typeof climb.afterM === 'number')
        climbs.push({ afterM: climb.afterM, toAltitudeM: top.value, item: climb });
    }
    climbs.sort((a, b) => a.afterM - b.afterM);
    const unreadSpeed: Cause | undefined = item.speed
      ? undefined
      : { text: `the line \`${item.kind}\` cannot be read`, at: this.here(item.line.span) };
    const band = state.soar && this.band(state.soar, given);
    const bandCause =
      band && 'cause' in band
        ? band.cause
        : band && climbs[0]
          ? {
              text: 'a climb `after` a distance stands where the glider soars',
              at: this.here(climbs[0].item.line.span),
            }
          : undefined;
    const cause =
      given.causes[0] ??
      (from ? this.unread(from) : undefined) ??
      state.cause ??
      this.pointCause(item.line, item.point, to) ??
      unreadSpeed ??
      climbCause ??
      bandCause ??
      given.windCause;
    const fromPosition = from?.meaning.position;
    const toPosition = to?.meaning.position;
    const limits = speedLimits(given.aircraft);
    if (
      cause ||
      !setting ||
      !limits ||
      state.altitudeM === undefined ||
      !fromPosition ||
      !toPosition ||
      !basics.asks ||
      !item.speed
    ) {
      return {
        ...basics,
        climbs: state.overhead,
        soar: undefined,
        heightLine: state.heightLine,
        input: undefined,
        result: undefined,
        cause,
      };
    }
    const way = track(fromPosition, toPosition);
    const glide: LegInput = {
      setting: { ...setting, track: way },
      departAltitudeM: state.altitudeM,
      climbs: climbs.map(({ afterM, toAltitudeM }) => ({ afterM, toAltitudeM })),
      destination: {
        elevationM: to.meaning.elevationM as number,
        reserveM: basics.asks.reserveM,
        altimeterM: reserve?.meaning.altimeterM?.value ?? 0,
      },
      speed: item.speed,
      limits,
      lowestM: Math.min(from?.meaning.elevationM ?? Infinity, to.meaning.elevationM ?? Infinity),
    };
    const soared = band && 'value' in band ? this.soared(item, glide, band.value, state, given) : undefined;
    if (soared && 'cause' in soared) {
      return {
        ...basics,
        climbs: state.overhead,
        soar: undefined,
        heightLine: state.heightLine,
        input: undefined,
        result: undefined,
        cause: soared.cause,
      };
    }
    const input = soared?.value.input ?? glide;
    const result = legKept(input);
    let heightLine = state.heightLine;
    let flown = 0;
    for (const { afterM, toAltitudeM, item: climb } of climbs) {
      const beyondLeg = afterM >= way.distanceM;
      const fromM = beyondLeg ? undefined : result.allClimbs[flown++]?.fromAltitudeM;
      const evaluation = { ...climbEvaluation(climb, fromM, toAltitudeM, weather, false), beyondLeg };
      onTheWay.push(evaluation);
      if (!beyondLeg && fromM !== undefined && !evaluation.goesDown) heightLine = climb.line;
    }
    const soar =
      soared && band && 'value' in band
        ? soarEvaluation(band.value, soared.value.lastGlide, result, state.overhead)
        : undefined;
    if (soar && soar.climbs.length > 0) heightLine = soar.line;
    return { ...basics, climbs: [...state.overhead, ...onTheWay], soar, heightLine, input, result, cause: undefined };
  }

  /** The input of a leg with the climbs that soaring makes on it. */
  private soared(
    item: LegLine,
    glide: LegInput,
    band: { lowerM: number; upperM: number; rateMps: number; line: LineSyntax },
    state: State,
    given: Given,
  ): Resolved<{ input: LegInput; lastGlide: LastGlide | undefined }> {
    const onward = this.onward(this.itinerary.indexOf(item), state.soar, given);
    if ('cause' in onward) return onward;
    const { destination, setting, departAltitudeM } = glide;
    const askedM = destination.elevationM + destination.reserveM + destination.altimeterM;
    const speed = speedOf(item.speed ?? { kind: 'bestGlide' }, band.rateMps);
    const indicatedMps = speedFlown(glide, speed);
    const found = soar({
      setting,
      indicatedMps,
      departAltitudeM,
      lowerM: band.lowerM,
      upperM: band.upperM,
      enoughAtEndM: onward.value === null ? null : Math.max(askedM + LAST_CLIMB_SPARE_M, onward.value),
    });
    if (found.problem) {
      const text = `between these heights of \`soar\` the way to ${item.point?.text ?? 'its end'} takes more than ${MOST_CLIMBS} climbs`;
      return { cause: { text, at: this.here(band.line.span) } };
    }
    const lastGlide = state.gliding ? undefined : (found.lastGlide ?? undefined);
    state.gliding = found.lastGlide !== null;
    // The best glide depends a little on the climbs, and they on it: it is the one of the leg without them.
    const flown: LegInput['speed'] = speed.kind === 'bestGlide' ? { kind: 'indicated', indicatedMps } : speed;
    const soaring: Soaring = {
      lowerM: band.lowerM,
      upperM: band.upperM,
      onwardM: onward.value === -Infinity ? undefined : onward.value,
      spareM: LAST_CLIMB_SPARE_M,
      madeFor: { indicatedMps, departAltitudeM, askedAltitudeM: askedM },
    };
    return { value: { input: { ...glide, speed: flown, climbs: found.climbs, soaring }, lastGlide } };
  }
}

/** Results by every number that a leg rests on: an edit leaves the other legs of its task as they were. */
const legsKept = new Map<string, LegResult>();
const MOST_LEGS = 500;

function legKept(input: LegInput): LegResult {
  const { setting, ...rest } = input;
  const { track: way, wind, ...plain } = setting;
  // Heights that are infinite stand at the ends of the wind alone.
  const key = JSON.stringify([way.from, way.to, wind.bands, plain, rest]);
  const known = legsKept.get(key);
  if (known) return known;
  const made = evaluateLeg(input);
  const oldest = legsKept.size >= MOST_LEGS ? legsKept.keys().next().value : undefined;
  if (oldest !== undefined) legsKept.delete(oldest);
  legsKept.set(key, made);
  return made;
}

/** The speed of a leg: where none is written and the glider soars, the speed to fly for its climbs. */
function speedOf(speed: SpeedMeaning, soaringMps: number | undefined): LegInput['speed'] {
  if (soaringMps === undefined || speed.kind !== 'bestGlide' || speed.span) return speed;
  return { kind: 'maccready', climbMps: soaringMps };
}

/** The indicated airspeed at which a leg without climbs is flown. */
function speedFlown(glide: Omit<LegInput, 'speed'>, speed: LegInput['speed']): number {
  if (speed.kind === 'indicated') return speed.indicatedMps;
  const { polar, massKg, share, sinkingAirMps } = glide.setting;
  if (speed.kind === 'maccready') return speedToFly(planned(polar, massKg, share), speed.climbMps, sinkingAirMps);
  return legKept({ ...glide, climbs: [], speed }).indicatedMps;
}

function soarEvaluation(
  band: { lowerM: number; upperM: number; rateMps: number; line: LineSyntax },
  lastGlide: LastGlide | undefined,
  result: LegResult,
  overhead: readonly ClimbEvaluation[],
): SoarEvaluation {
  const climbs = result.climbs.map(
    ({ afterM, fromAltitudeM, toAltitudeM }): ClimbEvaluation => ({
      line: band.line,
      fromAltitudeM,
      toAltitudeM,
      goesDown: false,
      afterM,
      beyondLeg: false,
      rateMps: band.rateMps,
      timeS: climbTime(toAltitudeM - fromAltitudeM, band.rateMps) ?? undefined,
    }),
  );
  let timeS: number | undefined = result.problem ? undefined : result.timeS;
  for (const climb of [...overhead, ...climbs])
    timeS = timeS === undefined || climb.timeS === undefined ? undefined : timeS + climb.timeS;
  const averageMps = timeS !== undefined && timeS > 0 ? result.distanceM / timeS : undefined;
  return { ...band, climbs, averageMps, lastGlide };
}

/** Every climb of a leg in the order flown: overhead its start, then on its way. */
export function climbsOf({ climbs, soar: soaring }: LegEvaluation): readonly ClimbEvaluation[] {
  return soaring ? [...climbs, ...soaring.climbs] : climbs;
}

function speedLimits(aircraft: Reference<Aircraft> | undefined): LegInput['limits'] | undefined {
  const { vsMps, vneMps, vnoMps } = aircraft?.meaning ?? {};
  if (!vsMps || !vneMps || vneMps.value < vsMps.value) return undefined;
  return { vsMps: vsMps.value, vneMps: vneMps.value, vnoMps: vnoMps?.value ?? null };
}

/** An altitude in metres above the sea; undefined for a height over ground that is not known. */
export function altitudeIn(altitude: Altitude, elevationM: number | undefined, air: Air): number | undefined {
  switch (altitude.kind) {
    case 'msl':
      return altitude.metres;
    case 'agl':
      return elevationM === undefined ? undefined : elevationM + altitude.metres;
    case 'fl':
      return altitudeOfFlightLevel(air, altitude.level);
  }
}

/** The height over a point that a reserve asks, and the line that asks it. */
function asksOf(
  to: Reference<Point>,
  reserve: Reference<Reserve> | undefined,
): { reserveM: number; at: Place | undefined } {
  const at = (line: LineSyntax | undefined): Place | undefined => line && reserve && { ...reserve.at, span: line.span };
  const { arriveM, turnM } = reserve?.meaning ?? {};
  if (to.meaning.kind === 'turnpoint') return { reserveM: turnM?.value ?? 0, at: at(turnM?.line) };
  const own = (to.meaning as Field).arriveM;
  if (own && own.value > (arriveM?.value ?? 0)) return { reserveM: own.value, at: { ...to.at, span: own.line.span } };
  return { reserveM: arriveM?.value ?? 0, at: at(arriveM?.line) };
}

function variationAt(point: Reference<Point> | undefined, weather: Reference<Weather> | undefined): number | undefined {
  const position = point?.meaning.position;
  const date = weather?.meaning.date;
  if (!position || !date) return undefined;
  const variation = magneticVariation(position, point.meaning.elevationM ?? 0, date);
  return variation.outside ? undefined : variation.declinationDeg;
}

function climbEvaluation(
  item: Extract<ItineraryLine, { kind: 'climb' }>,
  fromM: number | undefined,
  toAltitudeM: number,
  weather: Reference<Weather> | undefined,
  assumed: boolean,
): ClimbEvaluation {
  const rateMps = item.rateMps ?? weather?.meaning.lift?.rateMps;
  const gain = fromM === undefined ? undefined : Math.max(0, toAltitudeM - fromM);
  const timeS =
    gain === undefined
      ? undefined
      : gain === 0
        ? 0
        : rateMps === undefined
          ? undefined
          : (climbTime(gain, rateMps) ?? undefined);
  return {
    line: item.line,
    fromAltitudeM: fromM,
    toAltitudeM,
    goesDown: !assumed && fromM !== undefined && toAltitudeM <= fromM,
    afterM: typeof item.afterM === 'number' ? item.afterM : undefined,
    beyondLeg: false,
    rateMps,
    timeS,
  };
}

/** Moves on to the end of a leg. */
function arrive(state: State, leg: LegEvaluation): void {
  const { result } = leg;
  state.point = leg.to;
  state.name = leg.toName;
  state.overhead = [];
  state.onTheWay = [];
  state.cause = leg.cause;
  state.assumed = false;
  state.heightLine = leg.heightLine;
  if (!result) state.altitudeM = undefined;
  else if (result.problem === null && result.reachesGroundAfterM === null) state.altitudeM = result.arriveAltitudeM;
  else {
    state.altitudeM = result.askedAltitudeM;
    state.assumed = true;
  }
}

function totalsOf(legs: readonly LegEvaluation[], loose: readonly ClimbEvaluation[]): Totals {
  let distanceM: number | null = 0;
  let glideTimeS: number | null = 0;
  let climbTimeS: number | null = 0;
  for (const { result } of legs) {
    if (!result) climbTimeS = null;
    distanceM = distanceM === null || !result ? null : distanceM + result.distanceM;
    glideTimeS = glideTimeS === null || !result || result.problem ? null : glideTimeS + result.timeS;
  }
  for (const climb of [...legs.flatMap(climbsOf), ...loose]) {
    if (!climb.beyondLeg)
      climbTimeS = climbTimeS === null || climb.timeS === undefined ? null : climbTimeS + climb.timeS;
  }
  return {
    distanceM,
    glideTimeS,
    climbTimeS,
    timeS: glideTimeS === null || climbTimeS === null ? null : glideTimeS + climbTimeS,
  };
}
