/** The flight view: every task of a file as a picture, with the same numbers as text, and the place of the caret in it. */
import { marginText, totalsText } from '../plan/budget-rows.ts';
import { madeWith } from '../plan/caution.ts';
import { type Picture, type PictureLines, type PictureReach, pictureOf, reachAtPlace } from '../plan/picture.ts';
import { rangeOf } from '../plan/places.ts';
import { worstPointOf } from '../plan/reach.ts';
import { type Show, show } from '../plan/show.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import { harmless } from '../plan/text.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import type { Finding, Severity } from '../rules/rule.ts';

export interface FlightViewFinding {
  /** The number of the leg that it is of; null for the task's others. */
  readonly leg: number | null;
  /** From 0. */
  readonly line: number;
  readonly severity: Severity;
  readonly code: string;
  readonly message: string;
}

/** A task as the flight view shows it. */
export interface FlightViewTask {
  readonly picture: Picture;
  /** Distance and times, in words. */
  readonly totals: string;
  /** The least margin with its leg, in words; null where no leg has one. */
  readonly least: string | null;
  /** What it is computed with, in words. */
  readonly madeWith: string;
  readonly findings: readonly FlightViewFinding[];
}

export interface FlightViewCaret {
  /** Index of the task that the caret is in, from 0; null in none. */
  readonly task: number | null;
  /** Number of the leg that the caret is on, from 1; null on none. */
  readonly leg: number | null;
  /** The fields in reach at the caret's place on that leg; null where there is none or they are not known. */
  readonly reach: PictureReach | null;
}

/** The answer to `legwise/picture`. */
export interface FlightViewAnswer {
  /** The version of the text that it is made from; null for a file that is not open. */
  readonly version: number | null;
  /** Names what the tasks hold: the same for as long as they hold the same. */
  readonly id: string;
  /** Null when they hold what the client said it knows. */
  readonly tasks: readonly FlightViewTask[] | null;
  readonly caret: FlightViewCaret;
}

const holds = ({ first, last }: PictureLines, line: number) => first <= line && line <= last;

/** The leg whose lines hold a line: the one that ends it, or one of its climbs; null for none. */
function legAt({ legs }: Picture, line: number): number | null {
  const leg = legs.find((one) => holds(one.lines, line) || one.climbs.some(({ lines }) => holds(lines, line)));
  return leg?.number ?? null;
}

function findingsOf(
  workspace: Workspace,
  task: TaskEvaluation,
  picture: Picture,
  findings: readonly Finding[],
): FlightViewFinding[] {
  return findings.flatMap(({ at, severity, code, message }) => {
    if (at.uri !== task.uri || at.entry !== task.entry) return [];
    const line = rangeOf(workspace, at)?.start.line;
    return line === undefined ? [] : [{ leg: legAt(picture, line), line, severity, code, message: harmless(message) }];
  });
}

function leastText({ legs }: TaskEvaluation, { least }: Picture, with_: Show): string | null {
  const leg = least && legs.find(({ number }) => number === least.leg);
  return leg ? `${marginText(leg, with_)} on leg ${leg.number} to ${harmless(leg.toName)}` : null;
}

/** A task of a file as the flight view shows it; `findings` are those of the file. */
export function flightViewTask(
  workspace: Workspace,
  understood: Understood,
  task: TaskEvaluation,
  findings: readonly Finding[],
): FlightViewTask {
  const with_ = show(understood.units);
  const picture = pictureOf(workspace, understood, task);
  return {
    picture,
    totals: totalsText(task, with_),
    least: leastText(task, picture, with_),
    madeWith: harmless(madeWith(task, with_).join('; ')),
    findings: findingsOf(workspace, task, picture, findings),
  };
}

/** Where on its leg a line is: a climb where it is flown, the start at the start, a turn or finish at the leg's worst point. */
function placeOf(task: TaskEvaluation, picture: Picture, line: number): { leg: number; xM: number } | undefined {
  const first = picture.legs[0];
  if (picture.start && holds(picture.start.lines, line)) return first && { leg: first.number, xM: 0 };
  for (const { number, lines, climbs } of picture.legs) {
    const climb = climbs.find((one) => holds(one.lines, line) && !one.soared);
    if (climb) return { leg: number, xM: climb.xM };
    if (!holds(lines, line)) continue;
    const leg = task.legs.find((one) => one.number === number);
    const worst = leg && worstPointOf(leg, task);
    return worst && { leg: number, xM: worst.xM };
  }
  return undefined;
}

/** The place of a caret on a line (from 0) in the tasks of a file, with the fields in reach there. */
export function flightViewCaret(
  understood: Understood,
  tasks: readonly FlightViewTask[],
  line: number,
): FlightViewCaret {
  const index = tasks.findIndex(({ picture }) => holds(picture.lines, line));
  const picture = tasks[index]?.picture;
  const task = understood.tasks[index];
  if (!picture || !task) return { task: null, leg: null, reach: null };
  const place = placeOf(task, picture, line);
  return { task: index, leg: legAt(picture, line), reach: place ? reachAtPlace(task, place.leg, place.xM) : null };
}

/** The answer to `legwise/reach`: the fields in reach from a place of a leg; null where it is none. */
export function flightViewReach(understood: Understood, task: unknown, leg: unknown, xM: unknown): PictureReach | null {
  const evaluation = typeof task === 'number' ? understood.tasks[task] : undefined;
  return evaluation && typeof leg === 'number' && typeof xM === 'number' ? reachAtPlace(evaluation, leg, xM) : null;
}
