/** What a quick fix is, and how it is tried before it is offered. */

import { indexOfEntry } from '../../../grammar/file.ts';
import { linesOf } from '../../../grammar/syntax.ts';
import { LastFew } from '../../plan/last-few.ts';
import { type Meaning, meaningOf } from '../../plan/meaning.ts';
import type { Understood } from '../../plan/understand.ts';
import { understand } from '../../plan/understand.ts';
import { scopeOf, setFile, type Workspace } from '../../plan/workspace.ts';
import { ruleOf } from '../../rules/index.ts';
import type { CheckOptions, Finding } from '../../rules/rule.ts';
import { check } from '../../rules/run.ts';
import { type Edit, editedText, type NewFile, rowAt } from './edit.ts';

/** One way out of a finding. */
export interface Fix {
  /** What it does, as an order in plain words: `Climb to 5750 ft MSL`. */
  readonly title: string;
  readonly edits: readonly Edit[];
  readonly created?: readonly NewFile[];
  /** The one obvious way. */
  readonly preferred?: boolean;
  /** Cannot change what is meant, or there is one reading only: it may be done without a look. */
  readonly safe?: boolean;
  /** Only a way out where nothing is wrong on the line then: what cannot be read is put aside, say. */
  readonly onlyWhenRight?: boolean;
  /** Says the value in other numbers than those that stand there: `2:30 PM` as `14:30Z`. */
  readonly inOtherNumbers?: boolean;
}

export interface FixContext {
  readonly workspace: Workspace;
  readonly understood: Understood;
  /** Whether files may be made. */
  readonly createFiles: boolean;
  /** What the rules were told when the findings were made. */
  readonly rules: CheckOptions;
  /** What has been tried last for this request, by its edits: a leg that was looked at is not computed again. */
  readonly trials: LastFew<{ readonly key: string; readonly workspace: Workspace }>;
}

/** So many trials are kept: as many as the ways out of a leg that arrives too low. */
const KEPT_TRIALS = 32;

/** What a request needs to try its fixes. */
export function fixContext(
  workspace: Workspace,
  understood: Understood,
  createFiles: boolean,
  rules: CheckOptions,
): FixContext {
  return { workspace, understood, createFiles, rules, trials: new LastFew(KEPT_TRIALS) };
}

/** What the entry of a finding means; undefined when it stands in another file. */
export function meaningAt({ at }: Finding, { understood }: FixContext): Meaning | undefined {
  return at.uri === understood.file.uri ? meaningOf(at.entry) : undefined;
}

/** The ways out of one finding, the best first. */
export type Fixer = (finding: Finding, context: FixContext) => Iterable<Fix>;

/**
 * What a fix may bring to light besides: nothing; what the legs of a task lack, once the text can be read and is
 * honest; or anything, where a part of the text was not read at all before.
 */
export type Reveals = 'nothing' | 'flight' | 'anything';

/**
 * Whether a finding is about a flight, and no slip of writing. Such findings appear once a plan can be read, and are no
 * fault of the fix that made it readable.
 */
function isOfFlight(code: string): boolean {
  const rule = ruleOf(code);
  if (!rule || code === 'variation-unknown') return rule !== undefined;
  return (rule.task ?? rule.leg) !== undefined && !rule.line && !rule.entry && !rule.file;
}

/** A workspace in which edits are made: the given one stays as it is. */
export function triedOut(
  { workspace, trials }: FixContext,
  edits: readonly Edit[],
  created: readonly NewFile[] = [],
): Workspace {
  const key = JSON.stringify([edits, created]);
  const known = trials.find((one) => one.key === key);
  if (known) return known.workspace;
  const trial: Workspace = {
    ...workspace,
    files: new Map(workspace.files),
    unreadable: new Map(workspace.unreadable),
  };
  for (const { uri, text } of created) setFile(trial, uri, text);
  for (const uri of new Set(edits.map((edit) => edit.uri))) {
    const file = workspace.files.get(uri);
    if (!file) continue;
    const own = edits.filter((edit) => edit.uri === uri);
    setFile(trial, uri, editedText(file.syntax.text, own));
  }
  return trials.put({ key, workspace: trial }).workspace;
}

/** The file of the request understood and checked after edits. */
export function checkedAfter(
  context: FixContext,
  edits: readonly Edit[],
  created: readonly NewFile[] = [],
): { workspace: Workspace; understood: Understood; findings: readonly Finding[] } | undefined {
  const trial = triedOut(context, edits, created);
  const file = trial.files.get(context.understood.file.uri);
  if (!file) return undefined;
  // Findings of files that are not there are for the caller to know; here they count as missing.
  for (const wanted of scopeOf(trial, file).wanted) trial.unreadable.set(wanted, 'missing');
  const understood = understand(trial, file);
  return { workspace: trial, understood, findings: check(trial, understood, undefined, undefined, context.rules) };
}

/** An arrival that is too low by less is told by another code: for whether there are more errors, they are one. */
const TOO_LOW: ReadonlySet<string> = new Set(['below-reserve', 'below-turn-height', 'reaches-ground']);
const groupOf = (code: string) => (TOO_LOW.has(code) ? 'below-reserve' : code);

function counts(findings: readonly Finding[]): Map<string, number> {
  const by = new Map<string, number>();
  for (const finding of findings) {
    const group = groupOf(finding.code);
    by.set(group, (by.get(group) ?? 0) + 1);
  }
  return by;
}

/** Codes of errors of which there are more than before. */
export function newErrors(before: readonly Finding[], after: readonly Finding[], reveals: Reveals): string[] {
  if (reveals === 'anything') return [];
  const known = counts(before);
  const errors = new Set(after.filter(({ severity }) => severity === 'error').map(({ code }) => groupOf(code)));
  const now = counts(after);
  return [...errors].filter(
    (code) => (now.get(code) ?? 0) > (known.get(code) ?? 0) && !(reveals === 'flight' && isOfFlight(code)),
  );
}

function offsetOf(finding: Finding, understood: Understood): number {
  const { syntax } = understood.file;
  const index = indexOfEntry(syntax, finding.at.entry);
  return (index < 0 ? 0 : syntax.placed.offsetOf(index)) + finding.at.span.start;
}

/** Where an offset of a file lies after edits. */
function moved(offset: number, uri: string, edits: readonly Edit[]): number {
  let by = 0;
  for (const edit of edits)
    if (edit.uri === uri && edit.end <= offset) by += edit.text.length - (edit.end - edit.start);
  return offset + by;
}

/** The rows that edits touch, from the first to the last of them: as they stand, and as they will. */
function touched(
  text: string,
  edits: readonly Edit[],
): { readonly from: number; readonly old: string; readonly now: string } {
  const from = Math.min(...edits.map(({ start }) => rowAt(text, start).start));
  const to = Math.max(...edits.map(({ end }) => rowAt(text, end).end));
  const within = edits.map((edit) => ({ ...edit, start: edit.start - from, end: edit.end - from }));
  const old = text.slice(from, to);
  return { from, old, now: editedText(old, within) };
}

/** The numbers of a text by their digits, so that a comma may become a point. */
function numbersIn(text: string): string[] {
  return (text.match(/\d[\d.,]*/g) ?? []).map((number) => number.replace(/\D/g, ''));
}

/** Whether each number of one text stands in another, as often. */
export function keepsNumbers(before: string, after: string): boolean {
  const left = numbersIn(after);
  return numbersIn(before).every((number) => {
    const at = left.indexOf(number);
    if (at >= 0) left.splice(at, 1);
    return at >= 0;
  });
}

/** What is left to mend on the lines that a fix wrote. */
export interface LeftOver {
  /** A line reads another way than its form. */
  readonly unread: boolean;
  /** A value cannot be read, or makes no sense. */
  readonly faulty: boolean;
  /** A number that stood there is gone. */
  readonly numberLost: boolean;
}

/** Whether a fix takes a number away that stood on its lines. */
export function losesNumber(fix: Fix, { understood }: FixContext): boolean {
  const { uri, syntax } = understood.file;
  const edits = fix.edits.filter((edit) => edit.uri === uri);
  if (edits.length === 0 || fix.inOtherNumbers === true) return false;
  const { old, now } = touched(syntax.text, edits);
  return !keepsNumbers(old, now);
}

/** What a fix of how a line is written leaves to mend there. */
export function leftOver(fix: Fix, context: FixContext): LeftOver {
  const { uri, syntax } = context.understood.file;
  const edits = fix.edits.filter((edit) => edit.uri === uri);
  const after = checkedAfter(context, fix.edits, fix.created);
  let unread = false;
  let faulty = false;
  if (!after || edits.length === 0) return { unread, faulty, numberLost: false };
  const { from, now } = touched(syntax.text, edits);
  for (const { placed, meaning } of after.understood.entries) {
    if (placed.offset > from + now.length || placed.offset + placed.syntax.text.length < from) continue;
    for (const line of linesOf(placed.syntax)) {
      const start = placed.offset + line.span.start;
      if (start < from || start > from + now.length) continue;
      unread ||= line.problems.length > 0;
      faulty ||= meaning.faults.some((fault) => fault.line === line);
    }
  }
  return { unread, faulty, numberLost: losesNumber(fix, context) };
}

/** Whether a fix takes its finding away and brings no error that was not there. */
export function holds(
  fix: Fix,
  finding: Finding,
  before: readonly Finding[],
  context: FixContext,
  reveals: Reveals,
): boolean {
  const { understood } = context;
  const { uri } = understood.file;
  const after = checkedAfter(context, fix.edits, fix.created);
  if (!after) return false;
  if (newErrors(before, after.findings, reveals).length > 0) return false;
  const count = (all: readonly Finding[]) => all.filter(({ code }) => code === finding.code).length;
  if (count(after.findings) < count(before)) return true;
  if (reveals !== 'anything') return false;
  const where = moved(offsetOf(finding, understood), uri, fix.edits);
  return !after.findings.some(
    (other) => other.code === finding.code && Math.abs(offsetOf(other, after.understood) - where) < 3,
  );
}
