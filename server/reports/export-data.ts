/** What the open formats are made of: the points, and each task as its legs, with the words that go with them. */
import type { Position } from '../flight/index.ts';
import { LEG_HEADS, legCells, totalsText } from '../plan/budget-rows.ts';
import { CAUTION, madeWith, READING } from '../plan/caution.ts';
import type { Point } from '../plan/meaning.ts';
import { type Show, show } from '../plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';

export interface ExportedPoint {
  readonly point: Point;
  readonly name: string;
  readonly position: Position;
  readonly elevationM: number | undefined;
  /** `field`, its elevation, runways, frequencies and notes. */
  readonly words: readonly string[];
}

export interface ExportedLeg {
  readonly leg: LegEvaluation;
  readonly from: ExportedPoint;
  readonly to: ExportedPoint;
  /** `required 5,748 ft MSL`, and so on. */
  readonly words: readonly string[];
}

export interface ExportedTask {
  readonly task: TaskEvaluation;
  readonly name: string;
  /** The points in order, the start first, as far as each is known. */
  readonly route: readonly ExportedPoint[];
  readonly legs: readonly ExportedLeg[];
  /** What it is made with, and its totals. */
  readonly words: readonly string[];
}

export interface Exported {
  readonly name: string;
  readonly points: readonly ExportedPoint[];
  readonly tasks: readonly ExportedTask[];
  readonly caution: string;
  /** What cannot be shown, for the reader of the error stream. */
  readonly left: readonly string[];
}

function pointWords(point: Point, with_: Show): string[] {
  const words: string[] = [point.kind];
  if (point.elevationM !== undefined) words.push(`elevation ${with_.height(point.elevationM)}`);
  if (point.kind === 'field') {
    for (const { text, lengthM, surface } of point.runways)
      words.push(
        ['runway', text, lengthM === undefined ? '' : `${Math.round(lengthM)} m`, surface ?? '']
          .filter(Boolean)
          .join(' '),
      );
    for (const { text } of point.frequencies) words.push(text);
  }
  return [...words, ...point.notes];
}

function exportedPoint(point: Point | undefined, with_: Show): ExportedPoint | undefined {
  if (!point?.position) return undefined;
  const { name, position, elevationM } = point;
  return { point, name, position, elevationM, words: pointWords(point, with_) };
}

/** What an understood file holds for a map: the tasks given, their points, and the points of the file itself. */
export function exportedOf(understood: Understood, tasks: readonly TaskEvaluation[], name: string): Exported {
  const with_ = show(understood.units);
  const points = new Map<Point, ExportedPoint>();
  const left: string[] = [];
  const add = (point: Point | undefined): ExportedPoint | undefined => {
    const made = (point && points.get(point)) ?? exportedPoint(point, with_);
    if (point && made) points.set(point, made);
    return made;
  };
  const exported = tasks.map((task): ExportedTask => {
    const { name: taskName } = task.task;
    const start = add(task.start?.point?.meaning);
    const ends = task.legs.map(({ to }) => add(to?.meaning));
    const legs = task.legs.flatMap((leg, i): ExportedLeg[] => {
      const from = i === 0 ? start : ends[i - 1];
      const to = ends[i];
      if (!from || !to) {
        left.push(`leg ${leg.number} of ${taskName} is left out: the position of one of its ends is not known`);
        return [];
      }
      if (leg.cause) left.push(`leg ${leg.number} of ${taskName} has no heights, since ${leg.cause.text}`);
      const cells = legCells(leg, with_);
      const words = leg.result
        ? LEG_HEADS.slice(1).map((head, at) => `${head} ${cells[at + 1]}`)
        : [`not computed${leg.cause ? `, since ${leg.cause.text}` : ''}`];
      return [{ leg, from, to, words }];
    });
    return {
      task,
      name: taskName,
      route: [start, ...ends].filter((point) => point !== undefined),
      legs,
      words: [...madeWith(task, with_), totalsText(task, with_)],
    };
  });
  for (const { meaning } of understood.entries)
    if (meaning.kind === 'field' || meaning.kind === 'turnpoint') {
      if (!add(meaning)) left.push(`${meaning.kind} ${meaning.name} is left out: its position is not known`);
    }
  return { name, points: [...points.values()], tasks: exported, caution: `${READING} ${CAUTION}`, left };
}

/** Degrees to a centimetre, without the last bits of a conversion. */
export function degrees(value: number): number {
  return Number(value.toFixed(7)) + 0;
}

/** The same for XML, which takes no exponents. */
export function degreesText(value: number): string {
  const text = value.toFixed(7).replace(/\.?0+$/, '');
  return text === '-0' ? '0' : text;
}

/** A straight line on the map as positions, in two pieces where it crosses the antimeridian (RFC 7946, 3.1.9). */
export function linesBetween(from: Position, to: Position): [number, number][][] {
  const start: [number, number] = [degrees(from.lonDeg), degrees(from.latDeg)];
  const end: [number, number] = [degrees(to.lonDeg), degrees(to.latDeg)];
  const east = to.lonDeg - from.lonDeg;
  if (Math.abs(east) <= 180) return [[start, end]];
  const edge = from.lonDeg > 0 ? 180 : -180;
  const way = east > 0 ? east - 360 : east + 360;
  // From 180° E to 180° W is no way: both ends lie on the edge.
  const share = way === 0 ? 1 : (edge - from.lonDeg) / way;
  const lat = degrees(from.latDeg + share * (to.latDeg - from.latDeg));
  const whole: [number, number][][] = [
    [start, [edge, lat]],
    [[-edge, lat], end],
  ];
  // An end on the edge leaves a piece without length on its side.
  const pieces = whole.filter(([one, other]) => String(one) !== String(other));
  return pieces.length > 0 ? pieces : whole.slice(0, 1);
}
