/**
 * What a change of a task means in the air: leg by leg the figures before and after, and for each changed fact what it
 * alone makes of them.
 */
import { evaluateFacts, type Fact, type Facts, factsOf, type TaskFacts } from './compare-facts.ts';
import type { LegEvaluation, TaskEvaluation } from './task.ts';

/** The figures of a leg in SI; null for what is not known of it. */
export interface LegFigures {
  readonly distanceM: number | null;
  readonly requiredAltitudeM: number | null;
  readonly arriveAltitudeM: number | null;
  readonly marginM: number | null;
  readonly timeS: number | null;
}

export const FIGURES = ['distanceM', 'requiredAltitudeM', 'arriveAltitudeM', 'marginM', 'timeS'] as const;
export type Figure = (typeof FIGURES)[number];

/** A fact that changed. */
export interface FactChange {
  readonly label: string;
  /** As written; undefined where the fact is only on the other side. */
  readonly before: string | undefined;
  readonly after: string | undefined;
}

/** What one changed fact alone makes of a leg: the figure with it less the figure without, null where one is not known. */
export interface Reason extends FactChange {
  readonly alone: LegFigures;
}

export interface LegChange {
  readonly before: LegEvaluation | undefined;
  readonly after: LegEvaluation | undefined;
  readonly figuresBefore: LegFigures | undefined;
  readonly figuresAfter: LegFigures | undefined;
  /** After less before. */
  readonly change: LegFigures | undefined;
  readonly changed: boolean;
  /** Those that move a figure of this leg, what moves the margin most first. */
  readonly reasons: readonly Reason[];
  /** What the reasons leave of the change: what the facts do only together. */
  readonly together: LegFigures | undefined;
}

/** The times of a task that no leg's figures hold, in SI; null for what is not known or not written. */
export interface TaskTimes {
  /** Seconds of the day, UTC. */
  readonly takeoffUtcS: number | null;
  readonly climbTimeS: number | null;
  /** Climbs and glides. */
  readonly timeS: number | null;
}

export interface TaskChange {
  readonly before: TaskEvaluation;
  readonly after: TaskEvaluation;
  readonly facts: readonly FactChange[];
  readonly legs: readonly LegChange[];
  readonly timesBefore: TaskTimes;
  readonly timesAfter: TaskTimes;
  /** Another take-off, or other times of the climbs: every point is passed at another time. */
  readonly timesChanged: boolean;
  readonly changed: boolean;
}

const NOTHING: LegFigures = {
  distanceM: null,
  requiredAltitudeM: null,
  arriveAltitudeM: null,
  marginM: null,
  timeS: null,
};

/** Less than this is no change: half a foot, a metre of way, half a second. */
const LEAST: Readonly<Record<Figure, number>> = {
  distanceM: 1,
  requiredAltitudeM: 0.15,
  arriveAltitudeM: 0.15,
  marginM: 0.15,
  timeS: 0.5,
};

export function figuresOf(leg: LegEvaluation): LegFigures {
  const { result } = leg;
  if (!result) return NOTHING;
  const flown = result.problem === null ? result : undefined;
  return {
    distanceM: result.distanceM,
    requiredAltitudeM: result.requiredDepartAltitudeM,
    arriveAltitudeM: flown?.arriveAltitudeM ?? null,
    marginM: flown?.marginM ?? null,
    timeS: flown?.timeS ?? null,
  };
}

export function timesOf({ task, totals }: TaskEvaluation): TaskTimes {
  return { takeoffUtcS: task.takeoff?.utcS ?? null, climbTimeS: totals.climbTimeS, timeS: totals.timeS };
}

function combine(one: LegFigures, other: LegFigures, how: (a: number, b: number) => number): LegFigures {
  const of = (figure: Figure): number | null => {
    const a = one[figure];
    const b = other[figure];
    return a === null || b === null ? null : how(a, b);
  };
  return {
    distanceM: of('distanceM'),
    requiredAltitudeM: of('requiredAltitudeM'),
    arriveAltitudeM: of('arriveAltitudeM'),
    marginM: of('marginM'),
    timeS: of('timeS'),
  };
}

/** Whether a figure differs enough to be seen, or is known on one side only. */
function moved(one: LegFigures, other: LegFigures): boolean {
  return FIGURES.some((figure) => {
    const a = one[figure];
    const b = other[figure];
    return a === null || b === null ? a !== b : Math.abs(b - a) >= LEAST[figure];
  });
}

/** All facts whose keys start so, as one. */
function merged(facts: Facts, prefix: string, key: string, label: string, value: string): Map<string, Fact> {
  const rest = new Map<string, Fact>();
  const taken: Fact[] = [];
  for (const [own, fact] of facts) {
    if (own.startsWith(prefix)) taken.push(fact);
    else rest.set(own, fact);
  }
  if (taken.length === 0) return rest;
  return rest.set(key, {
    key,
    label,
    value,
    meaning: [value, ...taken.map(({ meaning }) => meaning)].join('\n'),
    source: taken.flatMap(({ source }) => source),
  });
}

/** Both sides with the same facts told apart: another aircraft is one fact, and so is another way round. */
function aligned(before: TaskEvaluation, after: TaskEvaluation): { old: TaskFacts; now: TaskFacts; rerouted: boolean } {
  let old = factsOf(before);
  let now = factsOf(after);
  const names = [before, after].map((task) => task.aircraft?.meaning.name ?? 'none known') as [string, string];
  if (names[0] !== names[1]) {
    old = { ...old, facts: merged(old.facts, 'aircraft ', 'aircraft ', 'aircraft', names[0]) };
    now = { ...now, facts: merged(now.facts, 'aircraft ', 'aircraft ', 'aircraft', names[1]) };
  }
  const rerouted = old.route.key !== now.route.key;
  if (rerouted) {
    const way = ({ facts, route }: TaskFacts) =>
      merged(facts, 'line\n', 'line\n0\n0', 'itinerary', route.points.join(' – '));
    old = { ...old, facts: way(old) };
    now = { ...now, facts: way(now) };
  }
  // A point that only one side names is there on both: it does nothing where the itinerary does not name it.
  const known = (facts: Facts) =>
    new Set([...facts.keys()].filter((key) => key.startsWith('point\n')).map((key) => key.split('\n')[1]));
  const filled = (facts: Facts, other: Facts): Facts => {
    const own = known(facts);
    const more = [...other].filter(([key]) => key.startsWith('point\n') && !own.has(key.split('\n')[1]));
    return new Map([...facts, ...more]);
  };
  if (!rerouted) return { old, now, rerouted };
  return {
    old: { ...old, facts: filled(old.facts, now.facts) },
    now: { ...now, facts: filled(now.facts, old.facts) },
    rerouted,
  };
}

/** Pairs of legs that go between the same points, in order: the longest such list. */
function pairLegs(
  before: readonly LegEvaluation[],
  after: readonly LegEvaluation[],
): (readonly [number | undefined, number | undefined])[] {
  const same = (i: number, j: number) =>
    before[i]?.fromName === after[j]?.fromName && before[i]?.toName === after[j]?.toName;
  const best: number[][] = Array.from({ length: before.length + 1 }, () => new Array<number>(after.length + 1).fill(0));
  const at = (i: number, j: number) => best[i]?.[j] ?? 0;
  for (let i = before.length - 1; i >= 0; i--)
    for (let j = after.length - 1; j >= 0; j--)
      (best[i] as number[])[j] = same(i, j) ? 1 + at(i + 1, j + 1) : Math.max(at(i + 1, j), at(i, j + 1));
  const pairs: [number | undefined, number | undefined][] = [];
  let i = 0;
  let j = 0;
  while (i < before.length || j < after.length) {
    if (i < before.length && j < after.length && same(i, j)) pairs.push([i++, j++]);
    else if (i < before.length && (j >= after.length || at(i + 1, j) >= at(i, j + 1))) pairs.push([i++, undefined]);
    else pairs.push([undefined, j++]);
  }
  return pairs;
}

interface Alone {
  readonly change: FactChange;
  readonly legs: readonly LegEvaluation[];
  /** It flies the new itinerary. */
  readonly rerouted: boolean;
}

function changesOf(old: Facts, now: Facts): { fact: FactChange; facts: Facts; key: string }[] {
  const keys = [...new Set([...old.keys(), ...now.keys()])];
  return keys.flatMap((key) => {
    const before = old.get(key);
    const after = now.get(key);
    if (before?.meaning === after?.meaning) return [];
    const facts = new Map(old);
    if (after) facts.set(key, after);
    else facts.delete(key);
    const label = (after ?? before)?.label ?? '';
    return [{ key, facts, fact: { label, before: before?.value, after: after?.value } }];
  });
}

/** Whether the facts give what the task itself gives. */
function reproduces(legs: readonly LegEvaluation[], own: readonly LegEvaluation[]): boolean {
  return (
    legs.length === own.length && !own.some((leg, i) => moved(figuresOf(leg), figuresOf(legs[i] as LegEvaluation)))
  );
}

/** Compares a task with what it was. */
export function compareTasks(before: TaskEvaluation, after: TaskEvaluation): TaskChange {
  const { old, now, rerouted } = aligned(before, after);
  const changes = changesOf(old.facts, now.facts);
  const differ = changes.length > 0;
  const base = differ ? evaluateFacts(old.facts) : undefined;
  const whole = differ ? evaluateFacts(now.facts) : undefined;
  // Reasons are given only where the facts are all that the numbers rest on.
  const explained =
    base !== undefined &&
    whole !== undefined &&
    reproduces(base.legs, before.legs) &&
    reproduces(whole.legs, after.legs);
  const alone = explained
    ? changes.map(
        ({ key, fact, facts }): Alone => ({
          change: fact,
          legs: evaluateFacts(facts)?.legs ?? [],
          rerouted: rerouted && key === 'line\n0\n0',
        }),
      )
    : [];

  const legs = pairLegs(before.legs, after.legs).map(([i, j]): LegChange => {
    const one = i === undefined ? undefined : before.legs[i];
    const other = j === undefined ? undefined : after.legs[j];
    const figuresBefore = one && figuresOf(one);
    const figuresAfter = other && figuresOf(other);
    const sides = { before: one, after: other, figuresBefore, figuresAfter };
    if (!figuresBefore || !figuresAfter)
      return { ...sides, change: undefined, changed: true, reasons: [], together: undefined };
    const change = combine(figuresAfter, figuresBefore, (a, b) => a - b);
    const changed = moved(figuresBefore, figuresAfter);
    if (!changed || !explained) return { ...sides, change, changed, reasons: [], together: undefined };
    let together = change;
    const reasons = alone.flatMap((variant): Reason[] => {
      const leg = variant.legs[(variant.rerouted ? j : i) as number];
      const figures = leg ? figuresOf(leg) : NOTHING;
      if (!moved(figuresBefore, figures)) return [];
      const own = combine(figures, figuresBefore, (a, b) => a - b);
      together = combine(together, zeroForUnknown(own), (a, b) => a - b);
      return [{ ...variant.change, alone: own }];
    });
    reasons.sort((a, b) => Math.abs(b.alone.marginM ?? 0) - Math.abs(a.alone.marginM ?? 0));
    return { ...sides, change, changed, reasons, together };
  });
  const [timesBefore, timesAfter] = [timesOf(before), timesOf(after)];
  const timesChanged = (['takeoffUtcS', 'climbTimeS'] as const).some((time) => {
    const [a, b] = [timesBefore[time], timesAfter[time]];
    return a === null || b === null ? a !== b : Math.abs(b - a) >= LEAST.timeS;
  });
  return {
    before,
    after,
    facts: changes.map(({ fact }) => fact),
    legs,
    timesBefore,
    timesAfter,
    timesChanged,
    changed: timesChanged || legs.some(({ changed }) => changed),
  };
}

/** A figure that a fact alone leaves unknown counts nothing towards the sum; what it does is told with the rest. */
function zeroForUnknown(figures: LegFigures): LegFigures {
  return {
    distanceM: figures.distanceM ?? 0,
    requiredAltitudeM: figures.requiredAltitudeM ?? 0,
    arriveAltitudeM: figures.arriveAltitudeM ?? 0,
    marginM: figures.marginM ?? 0,
    timeS: figures.timeS ?? 0,
  };
}
