/** Two sets of plans, before and after: which tasks came, went, or changed, and which findings; the gravest first. */
import type { Span } from '../../grammar/syntax.ts';
import { compareTasks, figuresOf, type LegChange, type TaskChange } from '../plan/compare.ts';
import { meaningOfLine } from '../plan/compare-facts.ts';
import { rangeOf } from '../plan/places.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import type { Finding, Severity } from '../rules/rule.ts';

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
  /** On both sides, with other figures: as they are, with what they said before. */
  readonly altered: readonly (FindingChange & { readonly messageBefore: string })[];
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

/** Where a finding belongs in a task or an entry, whatever the lines around it. */
function anchorOf(finding: Finding, task: TaskEvaluation | undefined): string {
  const { entry, span } = finding.at;
  const leg = task?.legs.find(({ line }) => within(line.span, span));
  if (leg) return `${leg.kind} ${leg.fromName} → ${leg.toName}`;
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
  readonly key: string;
}

function anchored(file: ComparedFile | undefined, task: TaskEvaluation | undefined): Anchored[] {
  if (!file) return [];
  const tasks = new Set(file.understood.tasks.map(({ entry }) => entry));
  return file.findings
    .filter(({ at }) => (task ? at.entry === task.entry : !tasks.has(at.entry)))
    .map((finding) => ({
      file,
      finding,
      key: `${finding.code}\n${finding.severity}\n${anchorOf(finding, task)}`,
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

/** Findings on both sides, in the order of the text, that say something else; in other units no two can be compared. */
function alteredOf(before: readonly Anchored[], after: readonly Anchored[]): FindingChanges['altered'] {
  const waiting = new Map<string, Anchored[]>();
  for (const one of before) waiting.set(one.key, [...(waiting.get(one.key) ?? []), one]);
  return after.flatMap(({ file, finding, key }) => {
    const one = waiting.get(key)?.shift();
    if (!one || unitsText(one.file) !== unitsText(file) || !saysOther(one.finding.message, finding.message)) return [];
    return [{ ...told(file, finding), messageBefore: one.finding.message }];
  });
}

/** Which findings are on one side only, and which say something else. */
function findingChanges(before: readonly Anchored[], after: readonly Anchored[]): FindingChanges {
  const less = (these: readonly Anchored[], those: readonly Anchored[]): FindingChange[] => {
    const count = new Map<string, number>();
    for (const { key } of those) count.set(key, (count.get(key) ?? 0) + 1);
    return these.flatMap(({ file, finding, key }) => {
      const there = count.get(key) ?? 0;
      count.set(key, there - 1);
      return there > 0 ? [] : [told(file, finding)];
    });
  };
  return { appeared: less(after, before), gone: less(before, after), altered: alteredOf(before, after) };
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
  if (task.appeared.some(({ severity }) => severity === 'warning')) weights.push('to be looked at');
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
  const findings = findingChanges(anchored(one?.file, one?.task), anchored(other?.file, other?.task));
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

/** The findings that a change brings. */
export function broughtBy({ tasks, files }: Comparison): readonly FindingChange[] {
  return [...tasks, ...files].flatMap(({ appeared }) => appeared);
}
