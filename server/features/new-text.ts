/**
 * What is asked for a new plan or a new club: the names that a workspace has to choose from, and what is wrong with an
 * answer. The texts themselves are made in new-text-plan.ts and new-text-club.ts.
 */
import type { EntrySyntax } from '../../grammar/syntax.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import { bestGlideRatio, type Position, track } from '../flight/index.ts';
import type { Meaning } from '../plan/meaning.ts';
import { DEFAULT_UNITS, number, type Show, show } from '../plan/show.ts';
import { harmless } from '../plan/text.ts';
import { understand } from '../plan/understand.ts';
import {
  createWorkspace,
  type Defined,
  fileName,
  type SourceFile,
  setFile,
  tableOf,
  type Workspace,
} from '../plan/workspace.ts';
import { check } from '../rules/run.ts';

/** An entry that is chosen. */
export interface Chosen {
  readonly name: string;
  /** The file that it stands in. */
  readonly uri: string;
}

/** A name to choose from. */
export interface Choice extends Chosen {
  /** What it is, in a few words, in feet, nautical miles and knots. */
  readonly about: string;
  /** The file that it stands in, for the reader. */
  readonly file: string;
  /** Its file holds tasks too: it is a plan of its own, not a file that plans share. */
  readonly inPlan: boolean;
}

export interface Choices {
  /** Places to land: those where the plans start first, or by distance from the point that was asked for. */
  readonly fields: readonly Choice[];
  readonly turnpoints: readonly Choice[];
  readonly aircraft: readonly Choice[];
  readonly weather: readonly Choice[];
  readonly reserves: readonly Choice[];
  readonly limits: readonly Choice[];
  /** The folder in which most plans lie, as a URI; undefined where there is none yet. */
  readonly folder: string | undefined;
}

const isTask = ({ form }: EntrySyntax): boolean => form?.keyword === 'task';

/** Whether a file holds a task. */
export function holdsTask(file: SourceFile): boolean {
  return file.syntax.trees.some(isTask);
}

/** How often each name is where a task starts. */
function startsIn(workspace: Workspace): ReadonlyMap<string, number> {
  const starts = new Map<string, number>();
  for (const file of workspace.files.values()) {
    for (const syntax of file.syntax.trees) {
      if (!isTask(syntax)) continue;
      for (const { form, slots } of syntax.details) {
        const point = slots['point'];
        if (form?.id === 'start' && point?.kind === 'name') starts.set(point.text, (starts.get(point.text) ?? 0) + 1);
      }
    }
  }
  return starts;
}

/** The folder that holds most plans. */
function planFolder(workspace: Workspace): string | undefined {
  const counts = new Map<string, number>();
  for (const file of workspace.files.values()) {
    if (!holdsTask(file)) continue;
    const folder = file.uri.slice(0, file.uri.lastIndexOf('/'));
    counts.set(folder, (counts.get(folder) ?? 0) + 1);
  }
  return [...counts].sort((a, b) => b[1] - a[1] || a[0].localeCompare(b[0]))[0]?.[0];
}

function dateText(date: { year: number; month: number; day: number }): string {
  const two = (n: number) => String(n).padStart(2, '0');
  return `${date.year}-${two(date.month)}-${two(date.day)}`;
}

function aboutOf(meaning: Meaning, from: Position | undefined, with_: Show): string {
  const parts: string[] = [];
  if (meaning.kind === 'field' || meaning.kind === 'turnpoint') {
    const way = from && meaning.position ? track(from, meaning.position) : undefined;
    if (way && way.distanceM > 0) parts.push(`${with_.distance(way.distanceM)}, ${with_.course(way.initialCourseDeg)}`);
    if (meaning.elevationM !== undefined) parts.push(with_.altitude(meaning.elevationM));
    if (meaning.kind === 'field' && meaning.runways[0]) parts.push(`runway ${meaning.runways[0].text}`);
  } else if (meaning.kind === 'aircraft') {
    parts.push(
      meaning.polar.kind === 'polar' ? `best glide ${with_.ratio(bestGlideRatio(meaning.polar.polar))}` : 'no polar',
    );
    if (meaning.pilot) parts.push(`pilot ${with_.mass(meaning.pilot.leastKg)} to ${with_.mass(meaning.pilot.mostKg)}`);
  } else if (meaning.kind === 'weather') {
    if (meaning.date) parts.push(dateText(meaning.date));
    parts.push(meaning.winds.length === 1 ? '1 wind' : `${meaning.winds.length} winds`);
  } else if (meaning.kind === 'reserve') {
    if (meaning.arriveM) parts.push(`${with_.height(meaning.arriveM.value, 'up')} over a field`);
    const planned = meaning.performance?.value;
    if (planned) parts.push(planned.kind === 'share' ? `${number(planned.share * 100)} %` : with_.ratio(planned.ratio));
  }
  return harmless(parts.join(' · '));
}

/** The name of a file below the folders of the workspace, with the folder that it lies in. */
function shortPath(workspace: Workspace, uri: string): string {
  const root = workspace.roots.find((one) => uri.startsWith(`${one.replace(/\/$/, '')}/`));
  const below = root === undefined ? fileName(uri) : uri.slice(root.replace(/\/$/, '').length + 1);
  try {
    return harmless(decodeURIComponent(below));
  } catch {
    return harmless(below);
  }
}

/** The entry that was chosen; undefined when it is no longer there. */
export function entryOf(workspace: Workspace, namespace: Namespace, chosen: Chosen): Defined | undefined {
  const file = workspace.files.get(chosen.uri);
  return file && tableOf(file).get(namespace)?.get(chosen.name)?.[0];
}

/**
 * The names of a workspace to choose from. With a point to measure from, the points come by their distance from there.
 * Files that plans share come before plans.
 */
export function choicesOf(workspace: Workspace, from?: Chosen): Choices {
  const with_ = show(DEFAULT_UNITS);
  const starts = startsIn(workspace);
  const point = from && entryOf(workspace, 'point', from)?.meaning;
  const origin = point?.kind === 'field' || point?.kind === 'turnpoint' ? point.position : undefined;
  const files = [...workspace.files.values()]
    .filter(({ uri, notText }) => !notText && uri.endsWith('.taskplan'))
    .map((file) => ({ file, inPlan: holdsTask(file) }))
    .sort((a, b) => Number(a.inPlan) - Number(b.inPlan) || a.file.uri.localeCompare(b.file.uri));

  const of = (namespace: Namespace, only?: Meaning['kind']): { choice: Choice; meaning: Meaning }[] =>
    files.flatMap(({ file, inPlan }) =>
      [...(tableOf(file).get(namespace) ?? [])].flatMap(([name, [defined]]) => {
        if (!defined || (only && defined.meaning.kind !== only)) return [];
        const { meaning } = defined;
        const about = aboutOf(meaning, origin, with_);
        return [{ choice: { name, uri: file.uri, about, file: shortPath(workspace, file.uri), inPlan }, meaning }];
      }),
    );

  const points = (only: 'field' | 'turnpoint'): Choice[] => {
    const found = of('point', only).map(({ choice, meaning }) => {
      const { position } = meaning as Extract<Meaning, { kind: typeof only }>;
      const away = origin && position ? track(origin, position).distanceM : Infinity;
      return { choice, away, started: starts.get(choice.name) ?? 0 };
    });
    // Sorting is stable: where neither tells, the order of the files stays.
    found.sort((a, b) => (origin ? a.away - b.away || 0 : b.started - a.started));
    return found.map(({ choice }) => choice);
  };

  return {
    fields: points('field'),
    turnpoints: points('turnpoint'),
    aircraft: of('aircraft').map(({ choice }) => choice),
    weather: of('weather').map(({ choice }) => choice),
    reserves: of('reserve').map(({ choice }) => choice),
    limits: of('limits').map(({ choice }) => choice),
    folder: planFolder(workspace),
  };
}

/** What an answer is for. */
export const ANSWER_KINDS = ['name', 'height', 'mass', 'date', 'time', 'position', 'elevation', 'runway'] as const;
export type AnswerKind = (typeof ANSWER_KINDS)[number];

/** A text in which the answer stands where it will stand. */
const TRIALS: Readonly<Record<AnswerKind, (answer: string) => string>> = {
  name: (answer) => `turnpoint ${answer} at 1.0 N 1.0 E\n  elevation 0 m\n`,
  height: (answer) => `task "Trial"\n  start Home at ${answer}\n`,
  mass: (answer) => `task "Trial"\n  aircraft Trial with pilot ${answer}\n`,
  date: (answer) => `weather Trial\n  date ${answer}\n`,
  time: (answer) => `task "Trial"\n  takeoff ${answer}\n`,
  position: (answer) => `field Trial at ${answer}\n  elevation 0 m\n`,
  elevation: (answer) => `field Trial at 1.0 N 1.0 E\n  elevation ${answer}\n`,
  runway: (answer) => `field Trial at 1.0 N 1.0 E\n  elevation 0 m\n  runway ${answer}\n`,
};

const TRIAL_URI = 'file:///trial.taskplan';

/** What a name may not hold: it could not be written, or could not be seen. */
const UNWRITABLE = /["\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/u;

/** What is wrong with an answer, as one line of words; undefined when it can be written as it is. */
export function faultOfAnswer(kind: AnswerKind, answer: string): string | undefined {
  const text = answer.trim();
  if (text === '') return 'Nothing is written.';
  if (text.length > 200) return 'This is too long: 200 characters at most.';
  if (kind === 'name') {
    if (UNWRITABLE.test(text)) return 'A name holds no quotation marks and no characters that cannot be seen.';
    return undefined;
  }
  if (/[\r\n\0"#]/.test(text)) return 'This cannot be read: write one value, without quotation marks and `#`.';
  const workspace = createWorkspace(['file:///']);
  const file = setFile(workspace, TRIAL_URI, TRIALS[kind](text));
  // Names that the trial does not define, and what a task lacks, are no fault of the answer.
  const fault = check(workspace, understand(workspace, file)).find(
    ({ severity, code }) => severity === 'error' && code !== 'unknown-name' && code !== 'detail-missing',
  );
  if (fault) return fault.message;
  // What was read must be the whole answer, and nothing beside it.
  const entry = file.syntax.entries[0]?.syntax;
  const lines = entry ? [entry.head, ...entry.details] : [];
  return lines.some((line) => line && line.problems.length > 0) ? 'This cannot be read.' : undefined;
}
