/** Two sets of plans, before and after: which tasks came, went, or changed, and which findings; the gravest first. */
import type { Span } from '../../grammar/syntax.ts';
import { compareTasks, figuresOf, type LegChange, type TaskChange } from '../plan/compare.ts';
import { meaningOfLine } from '../plan/compare-facts.ts';
import { rangeOf } from '../plan/places.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import { type Excess, type Finding, SEVERITIES, type Severity } from '../rules/rule.ts';

/** A plan as it was, or as it is. */
export interface ComparedFile {
  /** Its path from the compared folder; plans of one name are the same plan. */
  readonly name: string;
  readonly workspace: Workspace;
  readonly understood: Understood;
  readonly findings: readonly Finding[];
}

export interface FindingChange {
  readonly file: string;
  /** From 1; on the side where the finding is. */
  readonly line: number;
  readonly severity: Severity;
  readonly code: string;
  readonly message: string;
}

export interface FindingChanges {
  readonly appeared: readonly FindingChange[];
  readonly gone: readonly FindingChange[];
  /** On both sides, and not graver in kind: as they are, with what they said before. One that was graver is among the gone, too. */
  readonly altered: readonly AlteredFinding[];
}

export interface AlteredFinding extends FindingChange {
  readonly severityBefore: Severity;
  readonly codeBefore: string;
  readonly messageBefore: string;
  /**
   * Whether it is more wrong than before, or less, or by so little that nobody flies the difference (`same`); where it has
   * no measure, `other`.
   */
  readonly course: 'worse' | 'better' | 'same' | 'other';
}

export type TaskFate = 'added' | 'removed' | 'renamed' | 'changed';

export interface TaskDifference extends FindingChanges {
  readonly fate: TaskFate;
  readonly name: string;
  readonly file: string;
  readonly oldName: string | undefined;
  readonly oldFile: string | undefined;
  readonly after: TaskEvaluation | undefined;
  readonly before: TaskEvaluation | undefined;
  readonly change: TaskChange | undefined;
  /** How units are shown: those of the file after, else before. */
  readonly units: Understood['units'];
  readonly weight: Weight;
}

/** How grave a change is, the gravest first. */
export const WEIGHTS = [
  'unsafe',
  'less safe',
  'to be looked at',
  'less margin',
  'more margin',
  'other',
  'none',
] as const;
export type Weight = (typeof WEIGHTS)[number];

export interface Comparison {
  readonly tasks: readonly TaskDifference[];
  /** Findings that belong to no task. */
  readonly files: readonly ({ readonly file: string } & FindingChanges)[];
  /** Entries whose facts changed though no task's numbers did: `field Ashmoor`. */
  readonly entries: readonly {
    readonly file: string;
    readonly what: string;
    readonly fate: 'added' | 'removed' | 'changed';
  }[];
}

const within = (outer: Span, inner: Span): boolean => outer.start <= inner.start && inner.start <= outer.end;

/** Where a finding belongs in a task or an entry, whatever the lines around it. Legs of both sides that are one have one anchor. */
function anchorOf(finding: Finding, task: TaskEvaluation | undefined, pairs: readonly LegChange[]): string {
  const { entry, span } = finding.at;
  const items = task?.task.itinerary ?? [];
  const at = items.findIndex((item) => within(item.line.span, span));
  const item = items[at];
  if (task && item) {
    const i = task.legs.findLastIndex(({ line: { span: own } }) => own.start <= item.line.span.start);
    const leg = task.legs[i];
    const pair = pairs.findIndex(({ before, after }) => leg && (before === leg || after === leg));
    const from = items.findIndex(({ line }) => line === leg?.line);
    // Of what stands behind a point, such as climbs, each kind is counted from there.
    const turn = items.slice(from + 1, at).filter(({ kind }) => kind === item.kind).length;
    return [item.kind, leg ? `${leg.fromName} → ${leg.toName}` : 'start', pair < 0 ? i : `pair ${pair}`, turn].join(
      ' ',
    );
  }
  const line = entry.details.find((one) => within(one.span, span));
  return `${task ? '' : `${entry.form?.keyword} ${entry.name?.text}`} ${line ? (line.form?.id ?? 'line') : 'head'}`;
}

function told(file: ComparedFile, finding: Finding): FindingChange {
  const range = rangeOf(file.workspace, finding.at);
  const { severity, code, message } = finding;
  return { file: file.name, line: (range?.start.line ?? 0) + 1, severity, code, message };
}

interface Anchored {
  readonly file: ComparedFile;
  readonly finding: Finding;
  /** The same for findings of one cause at one place. */
  readonly key: string;
}

/** What tells one cause, how high a leg arrives, by how grave it is: the graver later. */
const ARRIVALS: readonly string[] = ['thin-margin', 'below-turn-height', 'below-reserve', 'reaches-ground'];

function anchored(
  file: ComparedFile | undefined,
  task: TaskEvaluation | undefined,
  pairs: readonly LegChange[] = [],
): Anchored[] {
  if (!file) return [];
  const tasks = new Set(file.understood.tasks.map(({ entry }) => entry));
  return file.findings
    .filter(({ at }) => (task ? at.entry === task.entry : !tasks.has(at.entry)))
    .map((finding) => ({
      file,
      finding,
      key: [
        ARRIVALS.includes(finding.code) ? 'arrival' : finding.code,
        finding.meets ?? '',
        anchorOf(finding, task, pairs),
      ].join('\n'),
    }));
}

const NUMBER = /[\d,]*\d(?:\.\d+)?/g;

/** Whether two messages of one finding say something else, and not the same in another rounding or on another leg. */
function saysOther(one: string, other: string): boolean {
  const [was, is] = [one, other].map((message) => message.replace(/\b(legs?) \d+/g, '$1')) as [string, string];
  if (was.replace(NUMBER, '0') !== is.replace(NUMBER, '0')) return true;
  const before = was.match(NUMBER) ?? [];
  const value = (text: string | undefined) => Number(text?.replaceAll(',', ''));
  // One step of the last place is what a rounding may make.
  return (is.match(NUMBER) ?? []).some((text, i) => {
    const step = 10 ** -(text.split('.')[1]?.length ?? 0);
    return Math.abs(value(text) - value(before[i])) > 1.01 * step;
  });
}

const unitsText = ({ understood }: ComparedFile) =>
  Object.values(understood.units)
    .map(({ text }: { text: string }) => text)
    .join(' ');

/** Below zero where one finding of a cause is graver in kind than another, above where it is less grave. */
function byGravity(one: Finding, other: Finding): number {
  return (
    SEVERITIES.indexOf(one.severity) - SEVERITIES.indexOf(other.severity) ||
    ARRIVALS.indexOf(other.code) - ARRIVALS.indexOf(one.code)
  );
}

/** Less than this is no change that anybody flies: 5 ft, 50 m of way, 10 s, half a knot, half a kilogram. */
const LEAST: Readonly<Record<Excess['of'], number>> = { height: 1.5, distance: 50, time: 10, speed: 0.25, mass: 0.5 };

function courseOf(was: Finding, is: Finding): AlteredFinding['course'] {
  if (is.severity !== was.severity) return 'better';
  const otherwise = byGravity(is, was) > 0 ? 'better' : undefined;
  const [before, after] = [was.excess, is.excess];
  if (!before || !after || before.of !== after.of) return otherwise ?? 'other';
  const more = before.si === after.si ? 0 : after.si - before.si;
  return Math.abs(more) < LEAST[after.of] ? (otherwise ?? 'same') : more > 0 ? 'worse' : 'better';
}

/** Findings of both sides that are the same, or of one cause at one place: in the order of the text, the very same kind first. */
function pairFindings(before: readonly Anchored[], after: readonly Anchored[]): Map<Anchored, Anchored> {
  const pairs = new Map<Anchored, Anchored>();
  let [old, now] = [before, after];
  for (const keyOf of [
    ({ key, finding }: Anchored) => `${key}\n${finding.code}\n${finding.severity}`,
    ({ key }: Anchored) => key,
  ]) {
    const waiting = new Map<string, Anchored[]>();
    for (const one of old) waiting.set(keyOf(one), [...(waiting.get(keyOf(one)) ?? []), one]);
    now = now.filter((one) => {
      const was = waiting.get(keyOf(one))?.shift();
      if (was) pairs.set(one, was);
      return !was;
    });
    old = [...waiting.values()].flat();
  }
  return pairs;
}

/** Which findings are on one side only, or graver in kind now, and which say something else. */
function findingChanges(before: readonly Anchored[], after: readonly Anchored[]): FindingChanges {
  const pairs = pairFindings(before, after);
  for (const [is, was] of pairs) if (byGravity(is.finding, was.finding) < 0) pairs.delete(is);
  // An error of which a warning is left is gone, and the warning is nothing that the change brings.
  const kept = new Set([...pairs].flatMap(([is, was]) => (is.finding.severity === was.finding.severity ? [was] : [])));
  const altered = after.flatMap((is): AlteredFinding[] => {
    const was = pairs.get(is);
    if (!was) return [];
    const { severity, code, message } = was.finding;
    const course = courseOf(was.finding, is.finding);
    // Messages in other units cannot be compared.
    const says = unitsText(was.file) === unitsText(is.file) && saysOther(message, is.finding.message);
    if (course !== 'worse' && course !== 'better' && !says) return [];
    const now = told(is.file, is.finding);
    return [{ ...now, severityBefore: severity, codeBefore: code, messageBefore: message, course }];
  });
  return {
    appeared: after.filter((one) => !pairs.has(one)).map(({ file, finding }) => told(file, finding)),
    gone: before.filter((one) => !kept.has(one)).map(({ file, finding }) => told(file, finding)),
    altered,
  };
}

const SAFE = (margin: number | null | undefined): boolean => typeof margin === 'number' && margin >= -1e-6;

/** How grave the change of a leg is. */
export function weightOfLeg({ figuresBefore, figuresAfter, change, changed }: LegChange): Weight {
  if (!changed) return 'none';
  if (!figuresAfter) return 'other';
  if (!figuresBefore) return SAFE(figuresAfter.marginM) ? 'other' : 'unsafe';
  const margin = change?.marginM ?? null;
  if (!SAFE(figuresAfter.marginM)) {
    if (SAFE(figuresBefore.marginM)) return 'unsafe';
    if (margin === null) return 'less safe';
    return margin < -0.15 ? 'less safe' : margin > 0.15 ? 'more margin' : 'other';
  }
  if (margin === null) return 'more margin';
  return margin < -0.15 ? 'less margin' : margin > 0.15 ? 'more margin' : 'other';
}

/** Whether what changed of a task that became neither unsafe nor less safe was unsafe and still is: a leg, or an error. */
export function isStillUnsafe({ weight, change, altered }: TaskDifference): boolean {
  if (weight === 'unsafe' || weight === 'less safe') return false;
  const misses = (change?.legs ?? []).some((leg) => leg.changed && (leg.figuresAfter?.marginM ?? 0) < -1e-6);
  return misses || altered.some(({ severity }) => severity === 'error');
}

function gravest(weights: readonly Weight[]): Weight {
  return WEIGHTS.find((one) => weights.includes(one)) ?? 'none';
}

function weightOf(task: Omit<TaskDifference, 'weight'>): Weight {
  const weights: Weight[] = (task.change?.legs ?? []).map(weightOfLeg);
  if (task.change?.timesChanged) weights.push('other');
  if (task.fate === 'added' && task.after)
    weights.push(task.after.legs.every((leg) => SAFE(figuresOf(leg).marginM)) ? 'other' : 'unsafe');
  if (task.fate === 'removed') weights.push('other');
  if (task.appeared.some(({ severity }) => severity === 'error')) weights.push('unsafe');
  const worse = task.altered.filter(({ course }) => course === 'worse');
  if (worse.some(({ severity }) => severity === 'error')) weights.push('less safe');
  if ([...task.appeared, ...worse].some(({ severity }) => severity === 'warning')) weights.push('to be looked at');
  if (task.appeared.length + task.gone.length + task.altered.length > 0 || task.fate === 'renamed')
    weights.push('other');
  return gravest(weights);
}

interface Side {
  readonly file: ComparedFile;
  readonly task: TaskEvaluation;
}

const sidesOf = (files: readonly ComparedFile[]): Side[] =>
  files.flatMap((file) => file.understood.tasks.map((task) => ({ file, task })));

const itinerary = ({ task }: Side): string =>
  task.task.itinerary.map((item) => ('point' in item ? `${item.kind} ${item.point?.text}` : item.kind)).join('\n');

/** Tasks of both sides that are the same: by file and name, by a name that moved, by an itinerary under another name. */
function pairTasks(before: readonly Side[], after: readonly Side[]): (readonly [Side | undefined, Side | undefined])[] {
  const pairs: [Side | undefined, Side | undefined][] = [];
  let old = [...before];
  let now = [...after];
  for (const key of [
    (side: Side) => `${side.file.name}\n${side.task.task.name}`,
    (side: Side) => `${side.task.task.name}\n${itinerary(side)}`,
    (side: Side) => `${side.file.name}\n${itinerary(side)}`,
    itinerary,
  ]) {
    const waiting = new Map<string, Side[]>();
    for (const side of old) waiting.set(key(side), [...(waiting.get(key(side)) ?? []), side]);
    now = now.filter((side) => {
      const one = waiting.get(key(side))?.shift();
      if (one) pairs.push([one, side]);
      return !one;
    });
    old = [...waiting.values()].flat();
  }
  return [...pairs, ...old.map((side) => [side, undefined] as const), ...now.map((side) => [undefined, side] as const)];
}

function difference(one: Side | undefined, other: Side | undefined): TaskDifference | undefined {
  const side = (other ?? one) as Side;
  const change = one && other && compareTasks(one.task, other.task);
  const legs = change?.legs;
  const findings = findingChanges(anchored(one?.file, one?.task, legs), anchored(other?.file, other?.task, legs));
  const renamed = one && other && (one.task.task.name !== other.task.task.name || one.file.name !== other.file.name);
  const base = {
    fate: !one
      ? ('added' as const)
      : !other
        ? ('removed' as const)
        : renamed
          ? ('renamed' as const)
          : ('changed' as const),
    name: side.task.task.name,
    file: side.file.name,
    oldName: one?.task.task.name,
    oldFile: one?.file.name,
    before: one?.task,
    after: other?.task,
    change,
    units: side.file.understood.units,
    ...findings,
  };
  const weight = weightOf(base);
  return weight === 'none' ? undefined : { ...base, weight };
}

/** Named entries of a file other than its tasks, each with what it says. */
function entriesOf(files: readonly ComparedFile[]): Map<string, { file: string; what: string; says: string }> {
  const found = new Map<string, { file: string; what: string; says: string }>();
  for (const { name, understood } of files) {
    for (const { meaning } of understood.entries) {
      const { entry } = meaning;
      if (!entry.form || ['task', 'use', 'units'].includes(entry.form.keyword) || !entry.head) continue;
      const what = `${entry.form.keyword} ${meaning.name}`.trim();
      const says = [entry.head, ...entry.details]
        .filter((line) => line.form?.id !== 'note')
        .map((line) => meaningOfLine(entry, line));
      let key = `${name}\n${what}`;
      for (let n = 2; found.has(key); n++) key = `${name}\n${what}\n${n}`;
      found.set(key, { file: name, what, says: [says[0], ...says.slice(1).sort()].join('\n') });
    }
  }
  return found;
}

function entryChanges(before: readonly ComparedFile[], after: readonly ComparedFile[]): Comparison['entries'] {
  const old = entriesOf(before);
  const now = entriesOf(after);
  const changes: Comparison['entries'][number][] = [];
  // What says the same in another file has moved, and means the same.
  const gone = [...old].filter(([key]) => !now.has(key)).map(([, entry]) => entry);
  for (const [key, { file, what, says }] of now) {
    const was = old.get(key);
    if (was && was.says !== says) changes.push({ file, what, fate: 'changed' });
    if (was) continue;
    const moved = gone.findIndex((one) => one.what === what && one.says === says);
    if (moved < 0) changes.push({ file, what, fate: 'added' });
    else gone.splice(moved, 1);
  }
  for (const { file, what } of gone) changes.push({ file, what, fate: 'removed' });
  return changes;
}

/** Compares plans as they were with plans as they are. */
export function compare(before: readonly ComparedFile[], after: readonly ComparedFile[]): Comparison {
  const rank = ({ weight }: TaskDifference) => WEIGHTS.indexOf(weight);
  const least = (task: TaskDifference) =>
    Math.min(...(task.change?.legs ?? []).map(({ change }) => change?.marginM ?? 0), 0);
  const tasks = pairTasks(sidesOf(before), sidesOf(after))
    .flatMap(([one, other]) => difference(one, other) ?? [])
    .sort(
      (a, b) =>
        rank(a) - rank(b) ||
        least(a) - least(b) ||
        a.file.localeCompare(b.file, 'en') ||
        a.name.localeCompare(b.name, 'en'),
    );
  const names = [...new Set([...before, ...after].map(({ name }) => name))].sort();
  const files = names.flatMap((file) => {
    const of = (side: readonly ComparedFile[]) =>
      anchored(
        side.find(({ name }) => name === file),
        undefined,
      );
    const findings = findingChanges(of(before), of(after));
    return findings.appeared.length + findings.gone.length + findings.altered.length > 0 ? [{ file, ...findings }] : [];
  });
  return { tasks, files, entries: entryChanges(before, after) };
}

/** Whether a comparison has nothing to tell. */
export function isNothing({ tasks, files, entries }: Comparison): boolean {
  return tasks.length + files.length + entries.length === 0;
}

/** The findings that a change brings, or makes worse. */
export function broughtBy({ tasks, files }: Comparison): readonly FindingChange[] {
  return [...tasks, ...files].flatMap(({ appeared, altered }) => [
    ...appeared,
    ...altered.filter(({ course }) => course === 'worse'),
  ]);
}
