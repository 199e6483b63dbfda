/** `compare`: what a change of plans means in the air. */
import { realpath, stat } from 'node:fs/promises';
import path from 'node:path';
import {
  askedOf,
  gitSide,
  isUnchanged,
  type ReadPlan,
  type ReadSide,
  readGitSide,
  readPath,
  type Unread,
} from '../node/compare-read.ts';
import { commitOf, GitError, mergeBase, repositoryOf } from '../node/git.ts';
import { notesOf, Revision } from '../node/revision.ts';
import { harmless } from '../plan/text.ts';
import { understand } from '../plan/understand.ts';
import { broughtBy, type ComparedFile, compare } from '../reports/compare.ts';
import { compareJson } from '../reports/compare-json.ts';
import { compareMarkdown } from '../reports/compare-markdown.ts';
import { compareText } from '../reports/compare-text.ts';
import { type CheckOptions, SEVERITIES, type Severity } from '../rules/rule.ts';
import { check, type Overrides } from '../rules/run.ts';
import {
  args,
  CHECKING,
  nameIn,
  oneOf,
  optionsOf,
  overridesOf,
  type Status,
  type Terminal,
  tell,
  UsageError,
  WHY,
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
  terminal: Terminal,
  root: string | undefined,
): Promise<Sides> {
  const { folder } = terminal;
  const repository = await repositoryOf(folder);
  const [base, dots, head, ...more] = range.split(/(\.\.\.?)/) as [string, string?, string?, ...string[]];
  if (more.length > 0) throw new UsageError(`--git takes BASE or BASE..HEAD, not ${range}`);
  const one = await commitOf(repository, base === '' ? 'HEAD' : base);
  const other = dots === undefined ? undefined : await commitOf(repository, head === '' || !head ? 'HEAD' : head);
  const from = dots === '...' && other !== undefined ? await mergeBase(repository, one, other) : one;
  const before = await gitSide(repository, from);
  const after = await gitSide(repository, other);
  const asked = await askedOf(paths, folder, repository, [before, after]);
  const bounds = root === undefined ? undefined : await realpath(root);
  const sides: Sides = [
    await readGitSide(before, repository, asked, bounds),
    await readGitSide(after, repository, asked, bounds),
  ];
  const revisions = [before, after].filter((side) => side instanceof Revision);
  for (const note of notesOf(revisions, nameIn(folder))) tell(terminal, note);
  return sides;
}

const sentence = ({ name, why }: Unread): string => `${name} ${typeof why === 'string' ? WHY[why] : why.said}`;

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
        : await fromGit(values.git, positionals, terminal, root);
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
  const unreadable = [...old.unreadable.map((one) => `before: ${sentence(one)}`), ...now.unreadable.map(sentence)];
  for (const why of unreadable) tell(terminal, why);
  if (unreadable.length > 0) return 2;
  const most = SEVERITIES.indexOf(failOn);
  return broughtBy(comparison).some(({ severity }) => SEVERITIES.indexOf(severity) <= most) ? 1 : 0;
}
