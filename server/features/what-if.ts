/**
 * What-if: a task evaluated and checked with changes, by the very text that writing them would make, and that writing as
 * one edit. The plan itself is not touched.
 */
import type { WorkspaceEdit } from 'vscode-languageserver-types';
import { type FileSyntax, type PlacedEntry, parseFile, positionAt } from '../../grammar/file.ts';
import type { EntrySyntax, LineSyntax } from '../../grammar/syntax.ts';
import type { Unit } from '../../grammar/units.ts';
import type { LegSpeed } from '../flight/index.ts';
import { CAUTION } from '../plan/caution.ts';
import { meaningOf } from '../plan/meaning.ts';
import { altitudeText, type Show, show } from '../plan/show.ts';
import { among, evaluateTask, type TaskEvaluation } from '../plan/task.ts';
import { type Understood, understand } from '../plan/understand.ts';
import { changesOf, type WhatIfChanges, type WhatIfLeg, whatIfLegs } from '../plan/what-if.ts';
import { type Defined, type SourceFile, scopeOf, type Workspace } from '../plan/workspace.ts';
import type { Finding, Severity } from '../rules/rule.ts';
import { editedText, rangeBetween, workspaceEdit } from './fixes/edit.ts';
import { type FlightViewTask, flightViewTask } from './flight-view.ts';
import {
  type ChangeWritten,
  type SharedChoice,
  type SharedEntry,
  type WhatIfEdits,
  whatIfEdits,
} from './what-if-edits.ts';
import { ANSWERS_MEAN, type AnswerSaid, answersSaid } from './what-if-words.ts';

/** What a client asks. */
export interface WhatIfParams {
  readonly textDocument: { readonly uri: string };
  /** The task: its index in the file, from 0, or its name. */
  readonly task: unknown;
  readonly changes?: unknown;
  /** Whether the answers are wanted; they take longer than the rest. */
  readonly answers?: unknown;
  /** Whether the edit is wanted. */
  readonly write?: unknown;
  /** Whether the flight is wanted, to be drawn. */
  readonly flight?: unknown;
  /** Where what other tasks share is changed: `copy` (taken where it is left out) or `in place`. */
  readonly shared?: unknown;
}

/** A number that can be set, as the plan has it now. */
export interface WhatIfControls {
  /** The reader's units, by their text. */
  readonly units: { readonly altitude: string; readonly speed: string; readonly climb: string; readonly mass: string };
  readonly weather: string | null;
  /** The wind lines, or the one that would be written where there is none. */
  readonly winds: readonly {
    readonly index: number;
    /** `surface`, or its altitude. */
    readonly at: string;
    readonly fromDeg: number;
    readonly magnetic: boolean;
    readonly speedMps: number;
  }[];
  readonly start: { readonly point: string; readonly altitudeM: number; readonly elevationM: number | null } | null;
  readonly legs: readonly {
    readonly number: number;
    readonly to: string;
    readonly speed: LegSpeed | null;
    /** Whether the glider soars on it: without a speed written it then flies that of its climbs. */
    readonly soared: boolean;
    /** What is flown, whatever is written; m/s. */
    readonly indicatedMps: number | null;
  }[];
  readonly vsMps: number | null;
  readonly vnoMps: number | null;
  readonly vneMps: number | null;
  readonly reserve: string | null;
  readonly share: number | null;
  readonly aircraft: string | null;
  /** Null where the plan takes the mass of the polar. */
  readonly pilotKg: number | null;
  readonly pilotLeastKg: number | null;
  readonly pilotMostKg: number | null;
  readonly ballastKg: number;
  readonly ballastMostKg: number;
  readonly massKg: number | null;
  readonly maximumMassKg: number | null;
}

export interface WhatIfFinding {
  readonly fate: 'new' | 'gone' | 'changed';
  readonly code: string;
  readonly severity: Severity;
  readonly message: string;
  /** The line of the plan as it stands, from 0; null for a line that is not there. */
  readonly line: number | null;
}

export interface WhatIfAnswer {
  readonly task: string;
  /** Its index in the file, from 0. */
  readonly index: number;
  /** Whether anything is changed. */
  readonly changed: boolean;
  readonly changes: readonly ChangeWritten[];
  /** Changes that cannot be made, a sentence each. */
  readonly refused: readonly string[];
  readonly legs: readonly WhatIfLeg[];
  /** The leg with the least margin after, in words. */
  readonly least: { readonly leg: number; readonly before: string; readonly after: string } | null;
  readonly findings: readonly WhatIfFinding[];
  readonly shared: readonly SharedEntry[];
  readonly controls: WhatIfControls;
  readonly answers: readonly AnswerSaid[] | null;
  readonly answersMean: string;
  readonly edit: WorkspaceEdit | null;
  /** With the lines of the plan as it stands. */
  readonly flight: FlightViewTask | null;
  readonly caution: string;
}

/** A request that makes no sense, and why. */
export interface WhatIfRefused {
  readonly why: string;
}

/** A what-if worked out: both sides, and the edits between them. */
export interface WhatIf {
  readonly before: TaskEvaluation;
  /** The task in its changed text; undefined where an edit leaves none. */
  readonly after: TaskEvaluation | undefined;
  readonly index: number;
  readonly edits: WhatIfEdits;
  /** The file with the edits made, in a workspace of its own. */
  readonly workspace: Workspace;
  readonly understood: Understood;
}

/** One workspace for all trials of another, so that what does not change is known the next time. */
const trials = new WeakMap<Workspace, Workspace>();

function trialOf(workspace: Workspace): Workspace {
  let trial = trials.get(workspace);
  if (!trial) {
    trial = { roots: workspace.roots, files: new Map(), unreadable: new Map(), tiles: workspace.tiles };
    trials.set(workspace, trial);
  }
  trial.roots = workspace.roots;
  trial.tiles = workspace.tiles;
  trial.files.clear();
  for (const [uri, file] of workspace.files) trial.files.set(uri, file);
  trial.unreadable.clear();
  for (const [uri, why] of workspace.unreadable) trial.unreadable.set(uri, why);
  return trial;
}

/**
 * A text parsed with what is known of the one before, and of the last trial; but for an entry that is read anew, so that
 * what is kept with it stays.
 */
function parsedBeside(text: string, before: FileSyntax, last: FileSyntax | undefined, but: EntrySyntax): FileSyntax {
  const known = [...before.trees, ...(last && last !== before ? last.trees : [])];
  return parseFile(
    text,
    known.filter((entry) => entry !== but),
  );
}

/**
 * The file of a trial understood. Other tasks are as they were, unless what they share was changed, and so is what the
 * task is flown among, so that what is known of them serves on.
 */
function understoodAgain(
  trial: Workspace,
  own: SourceFile,
  before: Understood,
  index: number,
  all: boolean,
): Understood {
  const surroundings = before.tasks[index]?.surroundings;
  if (all || !surroundings) return understand(trial, own);
  const scope = scopeOf(trial, own);
  const entries = own.syntax.entries.map(
    (placed): Defined => ({ file: own, placed, meaning: meaningOf(placed.syntax) }),
  );
  const tasks = entries
    .filter(({ meaning }) => meaning.kind === 'task')
    .flatMap((defined, i) => {
      const known = before.tasks[i];
      if (known && known.entry === defined.placed.syntax) return known;
      const evaluation = evaluateTask(defined, scope);
      return evaluation ? among(evaluation, surroundings) : [];
    });
  return { file: own, scope, entries, tasks, units: before.units };
}

/**
 * Works out a what-if of the task with that index in an understood file. Its workspace is that of all trials: what is
 * asked of it is asked before the next one.
 */
export function whatIf(
  workspace: Workspace,
  understood: Understood,
  index: number,
  changes: WhatIfChanges,
  choice: SharedChoice = 'copy',
): WhatIf | undefined {
  const before = understood.tasks[index];
  if (!before) return undefined;
  const edits = whatIfEdits(workspace, understood, before, changes, choice);
  if (edits.edits.length === 0) return { before, after: before, index, edits, workspace, understood };
  const last = new Map(edits.edits.map(({ uri }) => [uri, trials.get(workspace)?.files.get(uri)?.syntax]));
  const trial = trialOf(workspace);
  let own: SourceFile | undefined;
  for (const uri of new Set([...edits.edits.map((edit) => edit.uri), understood.file.uri])) {
    const file = workspace.files.get(uri);
    if (!file) continue;
    const text = editedText(
      file.syntax.text,
      edits.edits.filter((edit) => edit.uri === uri),
    );
    const changed = { ...file, syntax: parsedBeside(text, file.syntax, last.get(uri), before.entry) };
    trial.files.set(uri, changed);
    if (uri === understood.file.uri) own = changed;
  }
  if (!own) return undefined;
  const after = understoodAgain(trial, own, understood, index, edits.shared.length > 0 && choice === 'in place');
  return { before, after: after.tasks[index], index, edits, workspace: trial, understood: after };
}

/** What a finding is about, wherever its line now stands: its code, its entry, and which of the lines of a kind. */
function keyOf({ code, at: { entry, span } }: Finding, copies: ReadonlyMap<string, string>): string {
  const written = entry.name?.text ?? '';
  const line = lineAt(entry, span.start);
  const alike = line ? entry.details.filter(({ form }) => form === line.form).indexOf(line) : -1;
  return [code, entry.form?.keyword, copies.get(written) ?? written, line?.form?.id, alike].join('\n');
}

function lineAt(entry: EntrySyntax, offset: number): LineSyntax | undefined {
  return entry.details.find(({ span }) => span.start <= offset && offset <= span.end);
}

const NO_COPIES: ReadonlyMap<string, string> = new Map();

/** Findings that come, go, or say something else. */
function findingsOf(
  { edits, understood: after }: WhatIf,
  before: Understood,
  back: (line: number) => number | null,
  found: { readonly before: readonly Finding[]; readonly after: readonly Finding[] },
): WhatIfFinding[] {
  const line = (finding: Finding, in_: Understood): number | null => {
    const placed: PlacedEntry | undefined = in_.file.syntax.entries.find(({ syntax }) => syntax === finding.at.entry);
    return placed ? positionAt(placed, finding.at.span.start).line : null;
  };
  const group = (findings: readonly Finding[], copies: ReadonlyMap<string, string>) => {
    const groups = new Map<string, Finding[]>();
    for (const finding of findings) {
      const key = keyOf(finding, copies);
      const alike = groups.get(key);
      if (alike) alike.push(finding);
      else groups.set(key, [finding]);
    }
    return groups;
  };
  const was = group(found.before, NO_COPIES);
  const is = group(found.after, edits.copies);
  const out: WhatIfFinding[] = [];
  const lineNow = (finding: Finding): number | null => {
    const now = line(finding, after);
    return now === null ? null : back(now);
  };
  const add = (fate: WhatIfFinding['fate'], finding: Finding, at: number | null): void => {
    const { code, severity, message } = finding;
    out.push({ fate, code, severity, message, line: at });
  };
  for (const [key, now] of is) {
    const old = was.get(key) ?? [];
    for (const [i, finding] of now.entries()) {
      const same = old[i];
      if (!same) add('new', finding, lineNow(finding));
      else if (same.message !== finding.message || same.severity !== finding.severity)
        add('changed', finding, line(same, before));
    }
  }
  for (const [key, old] of was) {
    const now = is.get(key) ?? [];
    for (const finding of old.slice(now.length)) add('gone', finding, line(finding, before));
  }
  return after === before ? [] : out;
}

/** Rows that the edits of a what-if add to the plan: above a row of it, from 0. */
interface Added {
  readonly above: number;
  readonly rows: number;
}

const rowsIn = (text: string): number => text.split(/\r\n|\n|\r/).length - 1;

/** From a line of the changed plan to that line of the plan as it stands; null for one that the edits add. */
function lineBack(workspace: Workspace, uri: string, { edits }: WhatIfEdits): (line: number) => number | null {
  const file = workspace.files.get(uri);
  const added: Added[] = [];
  for (const { uri: own, start, end, text } of edits.toSorted((a, b) => a.start - b.start)) {
    const rows = rowsIn(text);
    if (!file || own !== uri || start !== end || rows === 0) continue;
    const { line } = rangeBetween(file, start, end).start;
    added.push({ above: /^[\r\n]/.test(text) ? line + 1 : line, rows });
  }
  return (line) => {
    let before = 0;
    for (const { above, rows } of added) {
      if (line < above + before) break;
      if (line < above + before + rows) return null;
      before += rows;
    }
    return line - before;
  };
}

/** A flight with the lines of the plan as it stands, so that a click finds them there. */
function withLines(flight: FlightViewTask, back: (line: number) => number | null): FlightViewTask {
  const lines = <L extends { readonly first: number; readonly last: number }>(of: L): L => {
    const last = back(of.last) ?? of.last;
    return { ...of, first: back(of.first) ?? last, last };
  };
  const { picture, findings } = flight;
  return {
    ...flight,
    picture: {
      ...picture,
      lines: lines(picture.lines),
      start: picture.start && { ...picture.start, lines: lines(picture.start.lines) },
      legs: picture.legs.map((leg) => ({
        ...leg,
        lines: lines(leg.lines),
        climbs: leg.climbs.map((climb) => ({ ...climb, lines: lines(climb.lines) })),
      })),
    },
    findings: findings.map((finding) => ({ ...finding, line: back(finding.line) ?? finding.line })),
  };
}

/** What can be set, as the plan has it. */
export function controlsOf(task: TaskEvaluation, with_: Show): WhatIfControls {
  const { units } = with_;
  const text = ({ text: unit }: Unit) => unit;
  const aircraft = task.aircraft?.meaning;
  const load = task.task.aircraft;
  const winds = (task.weather?.meaning.winds ?? []).map(({ altitude, direction, speedMps }, index) => ({
    index,
    at: altitude === 'surface' ? 'surface' : altitudeText(altitude, with_),
    fromDeg: direction.degrees,
    magnetic: direction.magnetic,
    speedMps,
  }));
  const ballastMost = aircraft?.ballastMostKg?.value ?? 0;
  const ballastKg = typeof load?.ballastKg === 'object' ? load.ballastKg.value : 0;
  return {
    units: {
      altitude: text(units.altitude),
      speed: text(units.speed),
      climb: text(units.climb),
      mass: text(units.mass),
    },
    weather: task.weather?.meaning.name ?? null,
    winds: winds.length > 0 ? winds : [{ index: 0, at: 'surface', fromDeg: 0, magnetic: false, speedMps: 0 }],
    start:
      task.start?.altitudeM === undefined
        ? null
        : {
            point: task.start.point?.meaning.name ?? '',
            altitudeM: task.start.altitudeM,
            elevationM: task.start.point?.meaning.elevationM ?? null,
          },
    legs: task.legs.map(({ number, toName, line, result, soar }) => {
      const item = task.task.itinerary.find((one) => one.line === line);
      return {
        number,
        to: toName,
        speed: item && 'speed' in item && item.speed ? speedWritten(item.speed) : null,
        soared: soar !== undefined,
        indicatedMps: result?.indicatedMps ?? null,
      };
    }),
    vsMps: aircraft?.vsMps?.value ?? null,
    vnoMps: aircraft?.vnoMps?.value ?? null,
    vneMps: aircraft?.vneMps?.value ?? null,
    reserve: task.reserve?.meaning.name ?? null,
    share: task.reserve ? (task.share ?? null) : null,
    aircraft: aircraft?.name ?? null,
    pilotKg: typeof load?.pilotKg === 'object' ? load.pilotKg.value : null,
    pilotLeastKg: aircraft?.pilot?.leastKg ?? null,
    pilotMostKg: aircraft?.pilot?.mostKg ?? null,
    ballastKg,
    ballastMostKg: Math.max(ballastMost, ballastKg),
    massKg: task.massKg ?? null,
    maximumMassKg: aircraft?.maximumMassKg?.value ?? null,
  };
}

function speedWritten(speed: LegSpeed): LegSpeed {
  switch (speed.kind) {
    case 'indicated':
      return { kind: 'indicated', indicatedMps: speed.indicatedMps };
    case 'maccready':
      return { kind: 'maccready', climbMps: speed.climbMps };
    case 'bestGlide':
      return { kind: 'bestGlide' };
  }
}

/** The index of the task that a client means, by its index or its name. */
function indexOf({ tasks }: Understood, task: unknown): number | undefined {
  if (task === undefined || task === null) return tasks.length === 1 ? 0 : undefined;
  const index = typeof task === 'number' ? task : tasks.findIndex((one) => one.task.name === task);
  return Number.isInteger(index) && tasks[index] ? index : undefined;
}

function leastOf(legs: readonly WhatIfLeg[]): WhatIfAnswer['least'] {
  let least: WhatIfLeg | undefined;
  const rank = ({ after }: WhatIfLeg) =>
    after.marginM === null ? (after.makes === null ? Infinity : -Infinity) : after.marginM;
  for (const leg of legs) if (!least || rank(leg) < rank(least)) least = leg;
  return least ? { leg: least.number, before: least.before.text.margin, after: least.after.text.margin } : null;
}

/** The answer to a request. `check` gives the findings of a file, as the settings have them. */
export function whatIfAnswer(
  workspace: Workspace,
  understood: Understood,
  params: WhatIfParams,
  check: (workspace: Workspace, understood: Understood) => readonly Finding[],
): (WhatIfAnswer & { readonly worked: WhatIf }) | WhatIfRefused {
  const index = indexOf(understood, params.task);
  if (index === undefined) return { why: 'the file has no such task: name one, or give its index from 0' };
  const changes = changesOf(params.changes);
  if ('refused' in changes) return { why: changes.refused };
  const shared = params.shared ?? 'copy';
  if (shared !== 'copy' && shared !== 'in place') return { why: '`shared` is `copy` or `in place`' };
  const worked = whatIf(workspace, understood, index, changes, shared);
  if (!worked?.after) return { why: 'the task cannot be changed so' };
  const { before, after, edits } = worked;
  const with_ = show(understood.units);
  const legs = whatIfLegs(before.legs, after.legs, with_);
  const isChanged = edits.edits.length > 0;
  const back = lineBack(workspace, understood.file.uri, edits);
  const found = check(worked.workspace, worked.understood);
  const findings = isChanged
    ? findingsOf(worked, understood, back, { before: check(workspace, understood), after: found })
    : [];
  return {
    task: before.task.name,
    index,
    changed: isChanged,
    changes: edits.changes,
    refused: edits.refused,
    legs,
    least: leastOf(legs),
    findings,
    shared: edits.shared,
    controls: controlsOf(before, with_),
    answers: params.answers === true ? answersSaid(after, with_) : null,
    answersMean: ANSWERS_MEAN,
    edit: params.write === true && isChanged ? workspaceEdit(workspace, edits.edits) : null,
    flight:
      params.flight === true
        ? withLines(flightViewTask(worked.workspace, worked.understood, after, found), back)
        : null,
    caution: CAUTION,
    worked,
  };
}
