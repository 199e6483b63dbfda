/**
 * What a pilot asks of a task: the highest headwind that still makes it, the lowest height to leave each point, the
 * fastest speed home. Found by flying the legs of its evaluation again, as they were flown there.
 */
import {
  evaluateLeg,
  glideForward,
  type LegInput,
  type LegResult,
  requiredAltitude,
  type WindProfile,
  windFrom,
} from '../flight/index.ts';
import type { LegEvaluation, TaskEvaluation } from './task.ts';
import { NOTHING_M } from './what-if.ts';

/**
 * Why there is no number: a leg arrives too low as it is; a leg is not computed, or makes no headway; a leg is soared,
 * so that it climbs as often as it must; or there is no end to it within what is flown.
 */
export type NoAnswer = 'short' | 'not computed' | 'no headway' | 'soared' | 'no limit';

/**
 * The most wind on top of the planned one, blowing straight against the course of a leg at its start, the same at every
 * height, with which it still arrives as asked, best glides and climbs flown anew.
 */
export interface HeadwindAnswer {
  /**
   * The leg, from 1, on which alone it blows; every leg that makes it as planned still does. Null: on every leg at once,
   * against each one's own course.
   */
  readonly leg: number | null;
  /** m/s; null where there is none. */
  readonly moreMps: number | null;
  /** The leg that would be the first to arrive too low, or that keeps an answer from being. */
  readonly limit: number | null;
  readonly none: NoAnswer | null;
}

/** The lowest height from which the glide from a point makes it, and with it every leg up to the next climb. */
export interface HeightAnswer {
  /** The leg that leaves the point, from 1. */
  readonly leg: number;
  readonly from: string;
  /** From the leg's start, where its last climb is, m; null where it is that of leaving the point. */
  readonly afterM: number | null;
  /** m above the sea; null where there is none. */
  readonly altitudeM: number | null;
  /** As planned; null where it is not known. */
  readonly plannedM: number | null;
  /** The leg whose height asked decides it. */
  readonly limit: number;
  readonly none: NoAnswer | null;
}

/** The highest indicated airspeed on the last leg with which it arrives as asked, from the height planned. */
export interface SpeedAnswer {
  readonly leg: number;
  readonly to: string;
  /** m/s; null where there is none. */
  readonly indicatedMps: number | null;
  /** The limit of the aircraft that it is, with a margin left. */
  readonly capped: 'vno' | 'vne' | null;
  /** What is left at that speed, m. */
  readonly marginM: number | null;
  readonly none: NoAnswer | null;
}

export interface Answers {
  readonly headwinds: readonly HeadwindAnswer[];
  readonly heights: readonly HeightAnswer[];
  readonly fastest: SpeedAnswer | null;
}

/** More headwind than this is no weather to glide in, m/s (about 97 kt). */
export const MOST_HEADWIND_MPS = 50;
/** Headwinds are found this closely, m/s: below what any unit shows. */
const WIND_TOLERANCE = 1e-4;

/** A wind profile with so much more wind, m/s, from `courseDeg`, at every height. */
export function againstCourse(wind: WindProfile, courseDeg: number, moreMps: number): WindProfile {
  const more = windFrom(courseDeg, moreMps);
  return { bands: wind.bands.map((band) => ({ ...band, u: band.u + more.u, v: band.v + more.v })) };
}

function withHeadwind(input: LegInput, moreMps: number): LegInput {
  if (moreMps === 0) return input;
  const { setting } = input;
  const wind = againstCourse(setting.wind, setting.track.initialCourseDeg, moreMps);
  return { ...input, setting: { ...setting, wind } };
}

/** Where a leg arrives; null where it makes no headway. */
type Arrival = number | null;

/**
 * Where a leg arrives. A speed that is written, or is that to fly for a climb, does not depend on the wind: its glides are
 * flown alone, without the speeds and the budget that the evaluation of a leg looks for besides.
 */
function arrivalOf(input: LegInput, indicatedMps: number): Arrival {
  const { setting, climbs, speed } = input;
  if (speed.kind === 'bestGlide') {
    const result = evaluateLeg(input);
    return result.problem === null ? result.arriveAltitudeM : null;
  }
  let altitudeM = input.departAltitudeM;
  let fromX = 0;
  const { distanceM } = setting.track;
  const onIt = climbs.filter(({ afterM }) => afterM >= 0 && afterM < distanceM).toSorted((a, b) => a.afterM - b.afterM);
  for (const { afterM, toAltitudeM } of [...onIt, { afterM: distanceM, toAltitudeM: -Infinity }]) {
    const glide = glideForward(setting, indicatedMps, fromX, afterM, altitudeM);
    if (glide.problem) return null;
    altitudeM = Math.max(glide.altitudeM, toAltitudeM);
    fromX = afterM;
  }
  return altitudeM;
}

const marginAt = (arrival: Arrival, { askedAltitudeM }: LegResult): number =>
  arrival === null ? -Infinity : arrival - askedAltitudeM;

/** The height to which the climbs over the start of a leg take the glider; -Infinity without one. */
function overheadTop({ climbs }: LegEvaluation): number {
  return climbs.reduce(
    (top, { afterM, toAltitudeM }) => (afterM === undefined ? Math.max(top, toAltitudeM) : top),
    -Infinity,
  );
}

/** The height at which the next leg starts: climbs over its start included. Behind a leg that does not get there, that asked. */
function departAfter(arrival: Arrival, leg: Computed, next: LegEvaluation): number {
  const { destination } = leg.input;
  const isThere = arrival !== null && arrival >= destination.elevationM;
  return Math.max(isThere ? arrival : leg.result.askedAltitudeM, overheadTop(next));
}

type Computed = LegEvaluation & { readonly input: LegInput; readonly result: LegResult };

const isGlide = (leg: LegEvaluation | undefined): leg is Computed =>
  leg?.input !== undefined && leg.result !== undefined && leg.soar === undefined;

/** Why a leg cannot be asked about; undefined for one that is flown and not soared. */
function obstacleTo(leg: LegEvaluation): NoAnswer | undefined {
  if (!leg.input || !leg.result) return 'not computed';
  if (leg.soar) return 'soared';
  return leg.result.problem ? 'no headway' : undefined;
}

const isShort = (leg: LegEvaluation): boolean => leg.result?.problem === null && leg.result.marginM < -NOTHING_M;

interface Least {
  readonly marginM: number;
  readonly leg: number;
}

/** The least margin, in so much more headwind, of the legs from `first` on that count. */
type LeastMargin = (moreMps: number) => Least;

/** Every leg in the same headwind, each against its own course. */
function everyLeg(legs: readonly Computed[]): LeastMargin {
  return (moreMps) => {
    let least: Least = { marginM: Infinity, leg: 0 };
    let departAltitudeM = legs[0]?.input.departAltitudeM ?? 0;
    for (const [i, leg] of legs.entries()) {
      const { input, result } = leg;
      const arrival = arrivalOf({ ...withHeadwind(input, moreMps), departAltitudeM }, result.indicatedMps);
      const marginM = marginAt(arrival, result);
      if (marginM < least.marginM) least = { marginM, leg: leg.number };
      const next = legs[i + 1];
      if (arrival === null || !next) break;
      departAltitudeM = departAfter(arrival, leg, next);
    }
    return least;
  };
}

/** One leg in the headwind, and those behind it as far as they start lower for it. */
function oneLeg(legs: readonly LegEvaluation[], first: Computed): LeastMargin {
  return (moreMps) => {
    let arrival = arrivalOf(withHeadwind(first.input, moreMps), first.result.indicatedMps);
    let least: Least = { marginM: marginAt(arrival, first.result), leg: first.number };
    let before = first;
    for (let i = first.number; i < legs.length && arrival !== null; i += 1) {
      const leg = legs[i];
      if (!isGlide(leg)) break;
      const departAltitudeM = departAfter(arrival, before, leg);
      if (departAltitudeM === leg.input.departAltitudeM) break;
      arrival = arrivalOf({ ...leg.input, departAltitudeM }, leg.result.indicatedMps);
      before = leg;
      // A leg that does not make it as planned is no measure.
      if (isShort(leg) || leg.result.problem) continue;
      const marginM = marginAt(arrival, leg.result);
      if (marginM < least.marginM) least = { marginM, leg: leg.number };
    }
    return least;
  };
}

/** The most headwind with which no margin is below 0; `limit` is the leg that gives out first. */
function mostHeadwind(least: LeastMargin): { moreMps: number | null; limit: number | null } {
  let good = 0;
  let bad = 4;
  let goodMargin = least(0).marginM;
  let limit = least(bad);
  while (limit.marginM >= 0) {
    if (bad >= MOST_HEADWIND_MPS) return { moreMps: null, limit: null };
    good = bad;
    goodMargin = limit.marginM;
    bad = Math.min(2 * bad, MOST_HEADWIND_MPS);
    limit = least(bad);
  }
  // The secant, every third time the middle: fast on a smooth curve, sure on any.
  for (let turn = 1; bad - good > WIND_TOLERANCE; turn += 1) {
    const share =
      turn % 3 !== 0 && Number.isFinite(limit.marginM)
        ? Math.max(goodMargin, 0) / (Math.max(goodMargin, 0) - limit.marginM)
        : 0.5;
    const inside = WIND_TOLERANCE / 4 / (bad - good);
    const middle = good + Math.min(Math.max(share, inside), 1 - inside) * (bad - good);
    const here = least(middle);
    if (here.marginM >= 0) {
      good = middle;
      goodMargin = here.marginM;
    } else {
      bad = middle;
      limit = here;
    }
  }
  return { moreMps: good, limit: limit.leg };
}

function answer(leg: number | null, found: { moreMps: number | null; limit: number | null }): HeadwindAnswer {
  return { leg, ...found, none: found.moreMps === null ? 'no limit' : null };
}

const noHeadwind = (leg: number | null, limit: number, none: NoAnswer): HeadwindAnswer => ({
  leg,
  moreMps: null,
  limit,
  none,
});

/** For all legs at once, then leg by leg. */
export function headwindsOf({ legs }: TaskEvaluation): readonly HeadwindAnswer[] {
  const own = legs.map((leg): HeadwindAnswer => {
    const none = obstacleTo(leg) ?? (isShort(leg) ? 'short' : undefined);
    if (none || !isGlide(leg)) return noHeadwind(leg.number, leg.number, none ?? 'not computed');
    return answer(leg.number, mostHeadwind(oneLeg(legs, leg)));
  });
  if (legs.length < 2) return own;
  const stop = own.find(({ none }) => none !== null && none !== 'no limit');
  if (stop?.none) return [noHeadwind(null, stop.limit ?? 1, stop.none), ...own];
  return [answer(null, mostHeadwind(everyLeg(legs.filter(isGlide)))), ...own];
}

/**
 * The lowest height to leave each point, from the last leg backward: what is asked at the end of a leg is the height over
 * its point, or the height that the next leg needs where no climb gives it.
 */
export function heightsOf({ legs }: TaskEvaluation): readonly HeightAnswer[] {
  const found: HeightAnswer[] = [];
  /** The height at which the leg behind must start, and the leg whose height asked decides that. */
  let onward: { altitudeM: number; limit: number } | undefined;
  for (const leg of legs.toReversed()) {
    const none = (kind: NoAnswer): HeightAnswer => ({
      leg: leg.number,
      from: leg.fromName,
      afterM: null,
      altitudeM: null,
      plannedM: leg.result?.departAltitudeM ?? null,
      limit: leg.number,
      none: kind,
    });
    if (!isGlide(leg)) {
      found.unshift(none(obstacleTo(leg) ?? 'not computed'));
      onward = undefined;
      continue;
    }
    const { input, result } = leg;
    const asked =
      onward && onward.altitudeM > result.askedAltitudeM
        ? onward
        : { altitudeM: result.askedAltitudeM, limit: leg.number };
    const last = result.climbs.at(-1);
    // The best glide over the ground is that for the height asked over the point, from wherever the leg starts.
    const altitudeM = requiredAltitude(input, result, asked.altitudeM);
    if (altitudeM === null) {
      found.unshift(none('no headway'));
      onward = undefined;
      continue;
    }
    found.unshift({
      leg: leg.number,
      from: leg.fromName,
      afterM: last?.afterM ?? null,
      altitudeM,
      plannedM: last?.toAltitudeM ?? input.departAltitudeM,
      limit: asked.limit,
      none: null,
    });
    onward = neededBefore(leg, legs[leg.number - 2], { altitudeM, limit: asked.limit });
  }
  return found;
}

/** What the leg before has to arrive with, beside what its own point asks; undefined where a climb gives the height. */
function neededBefore(
  leg: Computed,
  before: LegEvaluation | undefined,
  needed: { altitudeM: number; limit: number },
): { altitudeM: number; limit: number } | undefined {
  // A climb on the way is entered from whatever height is left.
  if (!isGlide(before) || leg.result.climbs.length > 0) return undefined;
  const top = overheadTop(leg);
  if (top >= needed.altitudeM) return undefined;
  const arrived = before.result.problem === null ? before.result.arriveAltitudeM : -Infinity;
  return top > arrived ? undefined : needed;
}

/** The fastest on the last leg. */
export function fastestHome({ legs }: TaskEvaluation): SpeedAnswer | null {
  const leg = legs.findLast(({ kind }) => kind === 'finish') ?? legs.at(-1);
  if (!leg) return null;
  const none = (kind: NoAnswer): SpeedAnswer => ({
    leg: leg.number,
    to: leg.toName,
    indicatedMps: null,
    capped: null,
    marginM: null,
    none: kind,
  });
  if (!isGlide(leg)) return none(obstacleTo(leg) ?? 'not computed');
  const { input, result } = leg;
  const { fastestIndicatedMps } = result;
  if (fastestIndicatedMps === null) return none(result.problem ? 'no headway' : 'short');
  const { vnoMps, vneMps } = input.limits;
  const limit = vnoMps !== null && vnoMps < vneMps ? vnoMps : vneMps;
  const capped = fastestIndicatedMps < limit ? null : vnoMps === limit ? 'vno' : 'vne';
  const flown = evaluateLeg({ ...input, speed: { kind: 'indicated', indicatedMps: fastestIndicatedMps } });
  return {
    leg: leg.number,
    to: leg.toName,
    indicatedMps: fastestIndicatedMps,
    capped,
    marginM: flown.problem === null ? flown.marginM : null,
    none: null,
  };
}

/** Every answer for a task. */
export function answersOf(task: TaskEvaluation): Answers {
  return { headwinds: headwindsOf(task), heights: heightsOf(task), fastest: fastestHome(task) };
}

/**
 * Whether a task makes it on a leg, or on every leg, in so much more headwind, m/s: as {@link headwindsOf} means it. For
 * an answer that is rounded, and then tried.
 */
export function makesItIn({ legs }: TaskEvaluation, leg: number | null, moreMps: number): boolean {
  if (leg === null) return legs.every(isGlide) && everyLeg(legs.filter(isGlide))(moreMps).marginM >= 0;
  const one = legs[leg - 1];
  return isGlide(one) && oneLeg(legs, one)(moreMps).marginM >= 0;
}
