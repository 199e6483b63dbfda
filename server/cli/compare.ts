/** `compare`: what a change of plans means in the air. */
import { stat } from 'node:fs/promises';
import path from 'node:path';
import { isUnchanged, type ReadPlan, type ReadSide, readCommit, readPath } from '../node/compare-read.ts';
import { commitOf, GitError, mergeBase, placeIn, repositoryOf } from '../node/git.ts';
import { harmless } from '../plan/text.ts';
import { understand } from '../plan/understand.ts';
import { broughtBy, type ComparedFile, compare } from '../reports/compare.ts';
import { compareJson } from '../reports/compare-json.ts';
import { compareMarkdown } from '../reports/compare-markdown.ts';
import { compareText } from '../reports/compare-text.ts';
import type { Severity } from '../rules/rule.ts';
import { check, type Overrides } from '../rules/run.ts';
import { args, LEVELS, oneOf, overridesOf, type Status, type Terminal, tell, UsageError } from './commands.ts';

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
  const [base, dots, head] = range.split(/(\.\.\.?)/) as [string, string | undefined, string | undefined];
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
  const after =
    other === undefined ? await readPath(repository, repository, undefined, root) : await readCommit(repository, other);
  const kept = ({ plans, unreadable }: ReadSide): ReadSide => ({
    plans: plans.filter(
      ({ name }) =>
        places.length === 0 || places.some((place) => place === '' || name === place || name.startsWith(`${place}/`)),
    ),
    unreadable,
  });
  return [kept(before), kept(after as ReadSide)];
}

function compared({ workspace, uri, name }: ReadPlan, overrides: Overrides, terminal: Terminal): ComparedFile {
  const file = workspace.files.get(uri);
  if (!file) throw new Error(`${name} was read and is gone`);
  const understood = understand(workspace, file);
  const findings = check(workspace, understood, overrides, (code, error) => {
    terminal.err(
      `legwise: the check ${code} failed on ${harmless(name)}: ${error instanceof Error ? error.stack : String(error)}\n`,
    );
  });
  return { name, workspace, understood, findings };
}

/** The findings that the change brings decide the exit status. */
export async function compareCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { values, positionals } = args(argv, {
    git: { type: 'string' },
    format: { type: 'string' },
    'fail-on': { type: 'string' },
    severity: { type: 'string', multiple: true },
    workspace: { type: 'string' },
  });
  const overrides = overridesOf(values.severity);
  const root = values.workspace === undefined ? undefined : path.resolve(terminal.folder, values.workspace);
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
    plans.filter(({ name }) => !same.has(name)).map((plan) => compared(plan, overrides, terminal));
  const comparison = compare(filesOf(old), filesOf(now));
  if (format === 'json') terminal.out(compareJson(comparison));
  else if (format === 'markdown') terminal.out(compareMarkdown(comparison));
  else terminal.out(compareText(comparison, terminal.paint));
  const unreadable = [...old.unreadable.map((why) => `before: ${why}`), ...now.unreadable];
  for (const why of unreadable) tell(terminal, why);
  if (unreadable.length > 0) return 2;
  const most = LEVELS.indexOf(failOn);
  return broughtBy(comparison).some(({ severity }) => LEVELS.indexOf(severity) <= most) ? 1 : 0;
}
