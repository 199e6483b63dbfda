/** Runs the rules over an understood file. */
import { type EntrySyntax, linesOf, type Span } from '../../grammar/syntax.ts';
import { type Show, show } from '../plan/show.ts';
import type { Place, TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import { RULES } from './index.ts';
import type { CheckOptions, EntryContext, FileContext, Finding, Found, Rule, Severity, TaskContext } from './rule.ts';

/** Severities that a reader wishes other than they are, by code. An error stays at least a warning. */
export type Overrides = ReadonlyMap<string, Severity | 'off'>;

/** Told when a rule throws: that answer is lost, and nothing else. */
export type OnFailure = (code: string, error: unknown) => void;

const NONE: Overrides = new Map();

function findings(rule: Rule, found: Iterable<Found> | undefined, into: Finding[]): void {
  for (const one of found ?? []) {
    into.push({ ...one, code: rule.code, severity: one.severity ?? rule.severity, related: one.related ?? [] });
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
const keptTasks = new WeakMap<TaskEvaluation, Kept>();

function unitsKey({ units }: Show): string {
  return Object.values(units)
    .map((unit: { text: string }) => unit.text)
    .join(' ');
}

function keptOr<K extends object>(
  kept: WeakMap<K, Kept>,
  key: K,
  uri: string,
  with_: string,
  make: (into: Finding[]) => void,
): readonly Finding[] {
  const known = kept.get(key);
  if (known && known.uri === uri && known.with === with_) return known.findings;
  const made: Finding[] = [];
  make(made);
  kept.set(key, { uri, with: with_, findings: made });
  return made;
}

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
  const units = unitsKey(with_);
  const unitsAndOptions = `${units} ${JSON.stringify(options)}`;
  const { uri } = understood.file;
  const all: Finding[] = [];

  for (const { placed, meaning } of understood.entries) {
    const entry = placed.syntax;
    const at = (span: Span): Place => ({ uri, entry, span });
    const context: EntryContext = { entry, meaning, show: with_, at };
    const own = keptOr(keptEntries, entry, uri, units, (into) => {
      for (const rule of RULES) {
        const { line: checkLine, entry: checkEntry } = rule;
        if (checkLine)
          guarded(rule, onFailure, () => {
            for (const line of linesOf(entry)) findings(rule, checkLine(line, context), into);
          });
        if (checkEntry) guarded(rule, onFailure, () => findings(rule, checkEntry(context), into));
      }
    });
    all.push(...own);
  }

  for (const evaluation of understood.tasks) {
    const at = (span: Span): Place => ({ uri, entry: evaluation.entry, span });
    const context: TaskContext = { evaluation, show: with_, options, at };
    const own = keptOr(keptTasks, evaluation, uri, unitsAndOptions, (into) => {
      for (const rule of RULES) {
        const { task: checkTask, leg: checkLeg } = rule;
        if (checkTask) guarded(rule, onFailure, () => findings(rule, checkTask(context), into));
        if (checkLeg)
          guarded(rule, onFailure, () => {
            for (const leg of evaluation.legs) findings(rule, checkLeg(leg, context), into);
          });
      }
    });
    all.push(...own);
  }

  const context: FileContext = { workspace, understood, show: with_ };
  for (const rule of RULES) {
    const { file: checkFile } = rule;
    if (checkFile) guarded(rule, onFailure, () => findings(rule, checkFile(context), all));
  }

  const offsets = new Map(understood.entries.map(({ placed }) => [placed.syntax, placed.offset]));
  const offset = (finding: Finding) => (offsets.get(finding.at.entry) ?? 0) + finding.at.span.start;
  return all
    .flatMap((finding) => tuned(finding, overrides) ?? [])
    .sort((a, b) => offset(a) - offset(b) || ORDER[a.severity] - ORDER[b.severity] || a.code.localeCompare(b.code));
}
