/**
 * The distances of the FAI Sporting Code (Section 3, Gliding) that a course meets or narrowly misses. The editions read
 * are named beside each rule; paragraph numbers and figures move, so whoever flies for a badge reads the one in force.
 */
import { type Position, track } from '../flight/index.ts';
import { keptFor } from './last-few.ts';
import type { Point } from './meaning.ts';
import type { LegEvaluation, TaskEvaluation } from './task.ts';

/** Below this no badge is near: plans of a practice day stay quiet. */
const NEAR = 0.9;
export const SILVER_M = 50_000;
export const GOLD_M = 300_000;
export const DIAMOND_M = 500_000;
/** Further badges, by steps of 250 km. Source: FAI, badges and diplomas (from its page). */
export const FURTHER_M = 750_000;
export const FURTHER_STEP_M = 250_000;
/** From here on a course loses height at the price of length. Source: SC3 1999, 1.2.12 and 4.4.2a. */
const LONG_M = 100_000;
const FREE_LOSS_M = 1000;
const LOSS_TIMES = 100;
/** A finish this near to the start closes the course. Source: SC3, in a discussion that quotes it. */
const CLOSED_M = 1000;
/** Turn points of a free distance lie this far apart, and there are three at most. Source: SC3 1999, 1.4.3c. */
const APART_M = 10_000;
const MOST_TURNS = 3;
/** The least share of a triangle's leg, below 750 km. Source: SC3 1999, 1.4.3d(iii), from memory below 750 km. */
export const LEAST_LEG = 0.28;
/** The least and the most from 750 km on. Source: SC3 1999, 1.4.3d(iii). */
export const LEAST_LEG_LONG = 0.25;
export const MOST_LEG_LONG = 0.45;

/**
 * The most height that a flight of less than 100 km may lose, m: 1 percent of its distance. Source: SC3 Annex C, 2.1 and
 * Table A; SC3 2018, 2.4.4b.
 */
export function mostHeightLoss(distanceM: number): number {
  return distanceM / 100;
}

/** What is taken off the length of a course of 100 km and more: 100 times the loss of height beyond 1,000 m. */
export function lossPenalty(lossM: number): number {
  return Math.max(0, lossM - FREE_LOSS_M) * LOSS_TIMES;
}

/** Whether the legs of a triangle have the shape that the code asks of one. */
export function triangleShape(legsM: readonly [number, number, number]): { ok: boolean; least: number; most: number } {
  const sum = legsM[0] + legsM[1] + legsM[2];
  const least = Math.min(...legsM) / sum;
  const most = Math.max(...legsM) / sum;
  const ok = sum >= FURTHER_M ? least >= LEAST_LEG_LONG && most <= MOST_LEG_LONG : least >= LEAST_LEG;
  return { ok, least, most };
}

export interface Silver {
  readonly toName: string;
  readonly distanceM: number;
  /** From the start to the arrival over the point; undefined where it is not computed. */
  readonly lossM: number | undefined;
  readonly mostLossM: number;
}

export type CourseKind = 'straight' | 'out-and-return' | 'triangle' | 'round' | 'free';

export interface Course {
  readonly kind: CourseKind;
  readonly turns: number;
  /** From point to point. */
  readonly lengthM: number;
  /** Less the radius of a turnpoint's cylinder for each time its border is crossed. Source: SC3 1999, 1.2.11. */
  readonly withZonesM: number;
  /** With the penalty for height lost; the same where the loss is not known. */
  readonly countedM: number;
  readonly lossM: number | undefined;
  /** Turns of a course that may have too many, or too near to each other. */
  readonly tooMany: boolean;
  readonly tooNear: readonly [string, string] | undefined;
  readonly shape: ReturnType<typeof triangleShape> | undefined;
}

export interface Badges {
  readonly silver: Silver | undefined;
  /** The course, where it comes near to 300 km, or is a triangle of 100 km and more. */
  readonly course: Course | undefined;
}

const distancesKept = new WeakMap<Position, WeakMap<Position, number>>();

/** Between two points of entries, m; kept with them. */
function distance(from: Position, to: Position): number {
  const known = keptFor(distancesKept, from, () => new WeakMap<Position, number>());
  return keptFor(known, to, () => track(from, to).distanceM);
}

const positionOf = (point: Point | undefined) => point?.position;
const radiusOf = (point: Point | undefined) => (point?.kind === 'turnpoint' ? (point.radiusM ?? 0) : 0);

function altitudeOver(leg: LegEvaluation | undefined): number | undefined {
  return leg?.result?.problem === null && leg.result.reachesGroundAfterM === null && !leg.departAssumed
    ? leg.result.arriveAltitudeM
    : undefined;
}

function silverOf(task: TaskEvaluation): Silver | undefined {
  const start = positionOf(task.start?.point?.meaning);
  const startM = task.start?.altitudeM;
  if (!start) return undefined;
  let best: Silver | undefined;
  for (const leg of task.legs) {
    const there = positionOf(leg.to?.meaning);
    if (!there) continue;
    // Over a turnpoint the near side of its zone is enough.
    const distanceM = distance(start, there) - radiusOf(leg.to?.meaning);
    const arriveM = altitudeOver(leg);
    const lossM = arriveM === undefined || startM === undefined ? undefined : Math.max(0, startM - arriveM);
    const mostLossM = distanceM < LONG_M ? mostHeightLoss(distanceM) : FREE_LOSS_M;
    const one = { toName: leg.toName, distanceM, lossM, mostLossM };
    const right = (silver: Silver) => silver.distanceM >= SILVER_M && (silver.lossM ?? 0) <= silver.mostLossM;
    if (!best || (right(one) && !right(best)) || (right(one) === right(best) && distanceM > best.distanceM)) best = one;
  }
  return best;
}

function courseOf(task: TaskEvaluation): Course | undefined {
  const points: { readonly point: Point; readonly position: Position }[] = [];
  for (const point of [task.start?.point?.meaning, ...task.legs.map((leg) => leg.to?.meaning)]) {
    if (!point?.position) return undefined;
    points.push({ point, position: point.position });
  }
  const legsM = points
    .slice(1)
    .map(({ position }, i) => distance((points[i] as (typeof points)[0]).position, position));
  const [start] = points;
  const finish = points.at(-1);
  const last = task.legs.at(-1);
  if (!start || !finish || !last) return undefined;
  const turns = points.slice(1, -1);
  const closed = legsM.length > 1 && distance(start.position, finish.position) <= CLOSED_M;
  const kind: CourseKind = !closed
    ? legsM.length === 1
      ? 'straight'
      : 'free'
    : turns.length === 1
      ? 'out-and-return'
      : turns.length === 2
        ? 'triangle'
        : 'round';
  const lengthM = legsM.reduce((sum, one) => sum + one, 0);
  // The border of a turn is crossed in and out, that of the finish once.
  const zones = points.slice(1).reduce((sum, { point }, i) => sum + radiusOf(point) * (i < turns.length ? 2 : 1), 0);
  const withZonesM = Math.max(0, lengthM - zones);
  const startM = task.start?.altitudeM;
  const finishM = last.kind === 'finish' ? altitudeOver(last) : undefined;
  const lossM = startM === undefined || finishM === undefined ? undefined : Math.max(0, startM - finishM);
  const near = turns.flatMap((one, i) =>
    turns
      .slice(i + 1)
      .filter((other) => distance(one.position, other.position) < APART_M)
      .map((other): [string, string] => [one.point.name, other.point.name]),
  );
  return {
    kind,
    turns: turns.length,
    lengthM,
    withZonesM,
    countedM: Math.max(0, withZonesM - lossPenalty(lossM ?? 0)),
    lossM,
    tooMany: turns.length > MOST_TURNS,
    tooNear: kind === 'triangle' || kind === 'out-and-return' ? undefined : near[0],
    shape: kind === 'triangle' ? triangleShape(legsM as [number, number, number]) : undefined,
  };
}

/** A triangle of 100 km and more that narrowly misses the shape. The shortest triangles flown for are of 100 km, from memory. */
function nearlyShaped({ shape, lengthM }: Course): boolean {
  return shape !== undefined && !shape.ok && lengthM >= LONG_M && shape.least >= NEAR * LEAST_LEG;
}

/** Whether a course comes so near to a distance that it is worth a word. */
export function isNear(countedM: number, distanceM: number): boolean {
  return countedM >= NEAR * distanceM;
}

/** The badge distances that a task meets or comes near to. */
export function badgesOf(task: TaskEvaluation): Badges {
  const silver = silverOf(task);
  const course = courseOf(task);
  return {
    silver: silver && silver.distanceM >= NEAR * SILVER_M ? silver : undefined,
    course: course && (course.lengthM >= NEAR * GOLD_M || nearlyShaped(course)) ? course : undefined,
  };
}
