/** `compare`: what a change of plans means in the air. */
import { lstat, stat } from 'node:fs/promises';
import path from 'node:path';
import { isUnchanged, type ReadPlan, type ReadSide, readCommit, readPath, usedBy } from '../node/compare-read.ts';
import { commitOf, GitError, mergeBase, placeIn, repositoryOf } from '../node/git.ts';
import { harmless } from '../plan/text.ts';
import { understand } from '../plan/understand.ts';
import { broughtBy, type ComparedFile, compare } from '../reports/compare.ts';
import { compareJson } from '../reports/compare-json.ts';
import { compareMarkdown } from '../reports/compare-markdown.ts';
import { compareText } from '../reports/compare-text.ts';
import type { CheckOptions, Severity } from '../rules/rule.ts';
import { check, type Overrides } from '../rules/run.ts';
import {
  args,
  CHECKING,
  LEVELS,
  oneOf,
  optionsOf,
  overridesOf,
  type Status,
  type Terminal,
  tell,
  UsageError,
  workspaceGiven,
} from './commands.ts';

const FORMATS = ['text', 'markdown', 'json'] as const;
type Sides = readonly [ReadSide, ReadSide];

async function fromPaths(
  [old, now, ...more]: readonly string[],
  folder: string,
  root: string | undefined,
): Promise<Sides> {
  if (old === undefined || now === undefined || more.length > 0)
    throw new UsageError('compare takes two files or two folders, or --git BASE[..HEAD]');
  const kinds = await Promise.all(
    [old, now].map(async (one) => (await stat(path.resolve(folder, one)).catch(() => undefined))?.isDirectory()),
  );
  const missing = [old, now].filter((_, i) => kinds[i] === undefined);
  if (missing.length > 0) throw new UsageError(`${missing.join(', ')}: no such file or folder`);
  if (kinds[0] !== kinds[1]) throw new UsageError('compare takes two files or two folders, not one of each');
  const name = now.split(path.sep).join('/');
  const sides = await Promise.all([readPath(old, folder, name, root), readPath(now, folder, name, root)]);
  return sides as unknown as Sides;
}

async function fromGit(
  range: string,
  paths: readonly string[],
  folder: string,
  root: string | undefined,
): Promise<Sides> {
  const repository = await repositoryOf(folder);
  const [base, dots, head, ...more] = range.split(/(\.\.\.?)/) as [string, string?, string?, ...string[]];
  if (more.length > 0) throw new UsageError(`--git takes BASE or BASE..HEAD, not ${range}`);
  const one = await commitOf(repository, base === '' ? 'HEAD' : base);
  const other = dots === undefined ? undefined : await commitOf(repository, head === '' || !head ? 'HEAD' : head);
  const from = dots === '...' && other !== undefined ? await mergeBase(repository, one, other) : one;
  const places = await Promise.all(
    paths.map(async (given) => {
      const place = await placeIn(repository, path.resolve(folder, given));
      if (place === undefined) throw new UsageError(`${given} lies outside the repository ${repository}`);
      return place;
    }),
  );
  const before = await readCommit(repository, from);
  const tree = other === undefined ? undefined : await readCommit(repository, other);
  const after = tree ?? (await readPath(repository, repository, undefined, root));
  const liesIn = (name: string, place: string) => place === '' || name === place || name.startsWith(`${place}/`);
  const names = [...before.names, ...(tree?.names ?? [])];
  for (const [i, place] of places.entries()) {
    const given = paths[i] as string;
    const onDisk = tree === undefined && (await lstat(path.join(repository, place)).catch(() => undefined));
    if (!onDisk && !names.some((name) => liesIn(name, place)))
      throw new UsageError(`${given}: no such file or folder, neither before nor after`);
  }
  const isAsked = (name: string) => places.length === 0 || places.some((place) => liesIn(name, place));
  const kept = (side: ReadSide): ReadSide => {
    const plans = side.plans.filter(({ name }) => isAsked(name));
    const used = usedBy(plans);
    // A folder that could not be looked into may hold what is asked for.
    const unreadable = side.unreadable.filter(
      ({ name, uri }) => isAsked(name) || used.has(uri) || places.some((place) => liesIn(place, name)),
    );
    return { plans, unreadable };
  };
  return [kept(before), kept(after as ReadSide)];
}

function compared(
  { workspace, uri, name }: ReadPlan,
  overrides: Overrides,
  options: CheckOptions,
  terminal: Terminal,
): ComparedFile {
  const file = workspace.files.get(uri);
  if (!file) throw new Error(`${name} was read and is gone`);
  const understood = understand(workspace, file);
  const onFailure = (code: string, error: unknown) =>
    terminal.err(
      `legwise: the check ${code} failed on ${harmless(name)}: ${error instanceof Error ? error.stack : String(error)}\n`,
    );
  const findings = check(workspace, understood, overrides, onFailure, options);
  return { name, workspace, understood, findings };
}

/** The findings that the change brings decide the exit status. */
export async function compareCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { values, positionals } = args(argv, { ...CHECKING, git: { type: 'string' } });
  const overrides = overridesOf(values.severity);
  const options = optionsOf(values['legal-end']);
  const given = workspaceGiven(values.workspace, terminal);
  const root = given === undefined ? undefined : path.resolve(terminal.folder, given);
  const format = oneOf(values.format, FORMATS, '--format', 'text');
  const failOn: Severity = oneOf(values['fail-on'], ['error', 'warning', 'info'], '--fail-on', 'error');
  let sides: Sides;
  try {
    sides =
      values.git === undefined
        ? await fromPaths(positionals, terminal.folder, root)
        : await fromGit(values.git, positionals, terminal.folder, root);
  } catch (error) {
    if (error instanceof GitError) throw new UsageError(error.message);
    throw error;
  }
  const [old, now] = sides;
  const byName = new Map(now.plans.map((plan) => [plan.name, plan]));
  const same = new Set(
    old.plans.flatMap((plan) => {
      const other = byName.get(plan.name);
      return other && isUnchanged(plan, other) ? [plan.name] : [];
    }),
  );
  const filesOf = ({ plans }: ReadSide) =>
    plans.filter(({ name }) => !same.has(name)).map((plan) => compared(plan, overrides, options, terminal));
  const comparison = compare(filesOf(old), filesOf(now));
  if (format === 'json') terminal.out(compareJson(comparison));
  else if (format === 'markdown') terminal.out(compareMarkdown(comparison));
  else terminal.out(compareText(comparison, terminal.paint));
  const unreadable = [
    ...old.unreadable.map(({ name, why }) => `before: ${name} ${why}`),
    ...now.unreadable.map(({ name, why }) => `${name} ${why}`),
  ];
  for (const why of unreadable) tell(terminal, why);
  if (unreadable.length > 0) return 2;
  const most = LEVELS.indexOf(failOn);
  return broughtBy(comparison).some(({ severity }) => LEVELS.indexOf(severity) <= most) ? 1 : 0;
}
