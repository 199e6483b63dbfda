/** Runs the rules over an understood file. */
import { indexOfEntry } from '../../grammar/file.ts';
import { type EntrySyntax, linesOf, type Span } from '../../grammar/syntax.ts';
import { mayDiffer } from '../plan/ground.ts';
import { keptFor, LastFew } from '../plan/last-few.ts';
import { meaningOf } from '../plan/meaning.ts';
import { show, unitsKey } from '../plan/show.ts';
import type { Place, TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { SourceFile, Workspace } from '../plan/workspace.ts';
import { RULES } from './index.ts';
import type { CheckOptions, EntryContext, FileContext, Finding, Found, Rule, Severity, TaskContext } from './rule.ts';
import { rulesOf } from './traits.ts';

/** Severities that a reader wishes other than they are, by code. An error stays at least a warning. */
export type Overrides = ReadonlyMap<string, Severity | 'off'>;

/** Told when a rule throws: that answer is lost, and nothing else. */
export type OnFailure = (code: string, error: unknown) => void;

const NONE: Overrides = new Map();
const NOTHING: readonly Finding[] = [];

/** So many characters a message may have; a name or a number in it may have any. */
const LONGEST_MESSAGE = 1000;

/** A message without its middle where it is too long for any reader: what matters first and the way out last stay. */
function readable(message: string): string {
  if (message.length <= LONGEST_MESSAGE) return message;
  const half = LONGEST_MESSAGE / 2 - 2;
  return `${message.slice(0, half)} … ${message.slice(-half)}`.toWellFormed();
}

function findings(rule: Rule, found: Iterable<Found> | undefined, into: Finding[]): void {
  for (const one of found ?? []) {
    into.push({
      ...one,
      code: rule.code,
      severity: one.severity ?? rule.severity,
      message: readable(one.message),
      related: (one.related ?? []).map(({ at, message }) => ({ at, message: readable(message) })),
    });
  }
}

function guarded(rule: Rule, onFailure: OnFailure, run: () => void): void {
  try {
    run();
  } catch (error) {
    onFailure(rule.code, error);
  }
}

interface Kept {
  readonly uri: string;
  /** What else they depend on: the reader's units, and the options. */
  readonly with: string;
  readonly findings: readonly Finding[];
}

const keptEntries = new WeakMap<EntrySyntax, Kept>();
interface KeptAmong extends Kept {
  /** The `self` of the surroundings. */
  readonly among: object;
}

/** By the legs: an evaluation among other surroundings has the same. */
const keptTasks = new WeakMap<TaskEvaluation['legs'], LastFew<KeptAmong>>();

function ofEntryKept(
  entry: EntrySyntax,
  uri: string,
  with_: string,
  make: (into: Finding[]) => void,
): readonly Finding[] {
  const known = keptEntries.get(entry);
  // The file shows in the places of findings alone: where there are none, any file will do.
  if (known && known.with === with_ && (known.uri === uri || known.findings.length === 0)) return known.findings;
  const made: Finding[] = [];
  make(made);
  keptEntries.set(entry, { uri, with: with_, findings: made });
  return made;
}

/** The findings of a task; those from before, where nothing changed near its legs. */
function ofTask(
  evaluation: TaskEvaluation,
  uri: string,
  with_: string,
  make: (into: Finding[]) => void,
): readonly Finding[] {
  const { legs, surroundings } = evaluation;
  const { self, change } = surroundings;
  const few = keptFor(keptTasks, legs, () => new LastFew<KeptAmong>());
  const among = (it: object) => few.find((one) => one.among === it && one.uri === uri && one.with === with_);
  const same = among(self);
  if (same) return same.findings;
  const before = change && among(change.before);
  const holds = before && !mayDiffer(evaluation, change);
  const made: Finding[] = [];
  if (!holds) make(made);
  return few.put({ uri, with: with_, findings: holds ? before.findings : made, among: self }).findings;
}

/** Findings of the entries of a file that have any, by its `self`. */
const keptFiles = new WeakMap<object, Omit<Kept, 'findings'> & { readonly of: Map<EntrySyntax, readonly Finding[]> }>();

/** The findings of the entries that have any; after an edit only those that changed are looked at. */
function ofEntries(
  { uri, syntax }: SourceFile,
  with_: string,
  ofEntry: (entry: EntrySyntax) => readonly Finding[],
): ReadonlyMap<EntrySyntax, readonly Finding[]> {
  const { self, change } = syntax;
  const fits = (key: object | undefined) => {
    const known = key && keptFiles.get(key);
    return known?.uri === uri && known.with === with_ ? known.of : undefined;
  };
  const known = fits(self);
  if (known) return known;
  const before = fits(change?.before);
  const of = new Map(before);
  for (const entry of (before && change?.removed) ?? []) of.delete(entry);
  for (const entry of (before && change?.added) ?? syntax.trees) {
    const found = ofEntry(entry);
    if (found.length > 0) of.set(entry, found);
  }
  keptFiles.set(self, { uri, with: with_, of });
  return of;
}

const OF_TASKS = RULES.filter(({ task, leg }) => task || leg);
const OF_FILES = RULES.filter(({ file }) => file);

const ORDER: Readonly<Record<Severity, number>> = { error: 0, warning: 1, info: 2, hint: 3 };

function tuned(finding: Finding, overrides: Overrides): Finding | undefined {
  const wish = overrides.get(finding.code);
  if (wish === undefined) return finding;
  const floor = finding.severity === 'error' ? ORDER.warning : ORDER.hint;
  if (wish === 'off') return finding.severity === 'error' ? { ...finding, severity: 'warning' } : undefined;
  return { ...finding, severity: ORDER[wish] > floor ? 'warning' : wish };
}

/** Every finding of a file, in the order of the text, the graver first on one place. Never throws. */
export function check(
  workspace: Workspace,
  understood: Understood,
  overrides: Overrides = NONE,
  onFailure: OnFailure = () => {},
  options: CheckOptions = {},
): Finding[] {
  const with_ = show(understood.units);
  const units = unitsKey(understood.units);
  const unitsAndOptions = `${units} ${JSON.stringify(options)}`;
  const { uri } = understood.file;
  const all: Finding[] = [];

  const ofEntry = (entry: EntrySyntax): readonly Finding[] => {
    const rules = rulesOf(entry);
    if (rules.length === 0) return NOTHING;
    return ofEntryKept(entry, uri, units, (into) => {
      const at = (span: Span): Place => ({ uri, entry, span });
      const context: EntryContext = { entry, meaning: meaningOf(entry), show: with_, at };
      const lines = linesOf(entry);
      for (const rule of rules) {
        const { line: checkLine, entry: checkEntry } = rule;
        if (checkLine)
          guarded(rule, onFailure, () => {
            for (const line of lines) findings(rule, checkLine(line, context), into);
          });
        if (checkEntry) guarded(rule, onFailure, () => findings(rule, checkEntry(context), into));
      }
    });
  };
  for (const own of ofEntries(understood.file, units, ofEntry).values()) all.push(...own);

  for (const evaluation of understood.tasks) {
    const at = (span: Span): Place => ({ uri, entry: evaluation.entry, span });
    const context: TaskContext = { evaluation, show: with_, options, at };
    all.push(
      ...ofTask(evaluation, uri, unitsAndOptions, (into) => {
        for (const rule of OF_TASKS) {
          const { task: checkTask, leg: checkLeg } = rule;
          if (checkTask) guarded(rule, onFailure, () => findings(rule, checkTask(context), into));
          if (checkLeg)
            guarded(rule, onFailure, () => {
              for (const leg of evaluation.legs) findings(rule, checkLeg(leg, context), into);
            });
        }
      }),
    );
  }

  const context: FileContext = { workspace, understood, show: with_ };
  for (const rule of OF_FILES) {
    const { file: checkFile } = rule;
    if (checkFile) guarded(rule, onFailure, () => findings(rule, checkFile(context), all));
  }

  const { syntax } = understood.file;
  const placed = new Map<EntrySyntax, number>();
  const offset = ({ at: { entry, span } }: Finding): number => {
    let start = placed.get(entry);
    if (start === undefined) {
      const index = indexOfEntry(syntax, entry);
      start = index < 0 ? 0 : syntax.placed.offsetOf(index);
      placed.set(entry, start);
    }
    return start + span.start;
  };
  return all
    .flatMap((finding) => tuned(finding, overrides) ?? [])
    .sort((a, b) => offset(a) - offset(b) || ORDER[a.severity] - ORDER[b.severity] || a.code.localeCompare(b.code));
}
