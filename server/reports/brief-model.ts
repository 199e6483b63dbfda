/**
 * The sheet that is printed and carried, as data: rows of text, each with the SI value that it was made from. What it
 * looks like on paper is a matter of `brief-html.ts` and `brief-pdf.ts`, which draw the same sheet.
 */
import { totalsText } from '../plan/budget-rows.ts';
import { CAUTION, READING } from '../plan/caution.ts';
import { finishUtcS } from '../plan/day.ts';
import { type Picture, pictureOf } from '../plan/picture.ts';
import { type Show, show, timeOfDay } from '../plan/show.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import type { Finding, Severity } from '../rules/rule.ts';
import type { BriefTable } from './brief-cells.ts';
import { fieldRows } from './brief-fields.ts';
import { lastGlideOf } from './brief-glide.ts';
import { glideRows, legRows, speedRows, windRows } from './brief-rows.ts';
import { assumptions } from './brief-words.ts';
import { diagnosticsOf } from './diagnostic.ts';
import { count } from './plain.ts';

export interface BriefFinding {
  readonly severity: Severity;
  /** From 1; null for a finding whose line is gone. */
  readonly line: number | null;
  readonly message: string;
}

/** What a printed sheet is of. All of it is handed in: the sheet knows no clock and no repository. */
export interface BriefStamp {
  /** What the file is called on the sheet; without it, its name. */
  readonly file?: string;
  /** Of the repository that the file lies in, as it is to be shown; null without one. */
  readonly revision: { readonly id: string; readonly uncommitted: boolean } | null;
  /** When the sheet was made, as it is to be shown. */
  readonly time: string;
}

export interface BriefSheet {
  readonly task: TaskEvaluation;
  readonly title: string;
  /** Aircraft, day and totals, a line each. */
  readonly summary: readonly string[];
  /** Errors and warnings on the task and on what its file gives it, the gravest first. */
  readonly findings: readonly BriefFinding[];
  readonly legs: BriefTable;
  readonly glide: BriefTable | null;
  readonly speeds: BriefTable | null;
  readonly fields: BriefTable | null;
  readonly wind: BriefTable | null;
  readonly picture: Picture;
  /** Aircraft, reserve, assumptions and what is left out: a heading and its sentences. */
  readonly words: readonly { readonly title: string; readonly sentences: readonly string[] }[];
  readonly caution: string;
  /** File, revision and time. */
  readonly stamp: string;
}

const GRAVE: readonly Severity[] = ['error', 'warning'];

/** The errors and warnings that concern a task: its own, and those of the file outside other tasks. */
function findingsOf(workspace: Workspace, task: TaskEvaluation, understood: Understood, findings: readonly Finding[]) {
  const others = new Set(understood.tasks.map(({ entry }) => entry).filter((entry) => entry !== task.entry));
  return GRAVE.flatMap((severity) =>
    findings
      .filter((finding) => finding.severity === severity && !others.has(finding.at.entry))
      .map((finding): BriefFinding => {
        const [diagnostic] = diagnosticsOf(workspace, [finding], () => '');
        return { severity, line: diagnostic?.line ?? null, message: finding.message };
      }),
  );
}

/** What stands over the findings: how many there are, or that there are none. */
export function findingsTitle(findings: readonly BriefFinding[]): string {
  const parts = GRAVE.flatMap((severity) => {
    const n = findings.filter((finding) => finding.severity === severity).length;
    return n === 0 ? [] : [count(n, severity)];
  });
  return parts.length === 0 ? 'No error and no warning was found in this plan.' : `${parts.join(' and ')} in this plan`;
}

function stampText({ revision, time }: BriefStamp, file: string): string {
  const of = revision
    ? `revision ${revision.id}${revision.uncommitted ? ' with uncommitted changes' : ''}`
    : 'of no revision';
  return `${file}, ${of}, made ${time}`;
}

/** `plan.taskplan` of a URI, read as it is written on the disk. */
function nameOfUri(uri: string): string {
  const last = uri.split('/').at(-1) ?? uri;
  try {
    return decodeURIComponent(last);
  } catch {
    return last; // not every URI holds well-formed escapes
  }
}

function dayText(task: TaskEvaluation): string[] {
  const { takeoff } = task.task;
  const date = task.weather?.meaning.date;
  const day = date && [date.year, date.month, date.day].map((part) => String(part).padStart(2, '0')).join('-');
  const finish = finishUtcS(task);
  const parts = [
    day,
    takeoff && `take-off ${timeOfDay(takeoff.utcS, takeoff.zoneMinutes)}`,
    takeoff && finish !== undefined && `over the finish ${timeOfDay(finish, takeoff.zoneMinutes)}`,
  ].filter((part): part is string => typeof part === 'string');
  return parts.length === 0 ? [] : [parts.join(', ')];
}

function aircraftText(task: TaskEvaluation, with_: Show): string[] {
  if (!task.aircraft) return [];
  const { pilotKg, ballastKg } = task.task.aircraft ?? {};
  const mass = task.massKg === undefined ? '' : ` at ${with_.mass(task.massKg)}`;
  const parts = [
    typeof pilotKg === 'object' ? `pilot ${with_.mass(pilotKg.value)}` : '',
    typeof ballastKg === 'object' ? `ballast ${with_.mass(ballastKg.value)}` : '',
    task.massAssumed ? "the polar's own mass, no pilot named" : '',
  ].filter((part) => part !== '');
  return [`${task.aircraft.meaning.name}${mass}${parts.length === 0 ? '' : ` (${parts.join(', ')})`}`];
}

/**
 * The sheets of the tasks of a file, or of those given. `findings` are the file's, as `check` gives them. Never throws
 * for what a file holds; a task that is not computed has a sheet that says why.
 */
export function briefSheets(
  workspace: Workspace,
  understood: Understood,
  findings: readonly Finding[],
  stamp: BriefStamp,
  tasks: readonly TaskEvaluation[] = understood.tasks,
): BriefSheet[] {
  const with_ = show(understood.units);
  const file = stamp.file ?? nameOfUri(understood.file.uri);
  return tasks.map((task): BriefSheet => {
    const glide = lastGlideOf(task, with_.units.distance);
    return {
      task,
      title: task.task.name,
      summary: [...aircraftText(task, with_), ...dayText(task), totalsText(task, with_)],
      findings: findingsOf(workspace, task, understood, findings),
      legs: legRows(task, with_),
      glide: glide ? glideRows(glide, with_) : null,
      speeds: speedRows(task, with_),
      fields: fieldRows(task, with_),
      wind: windRows(task, with_),
      picture: pictureOf(workspace, understood, task),
      words: assumptions(task, with_),
      caution: `${READING} ${CAUTION}`,
      stamp: stampText(stamp, file),
    };
  });
}
