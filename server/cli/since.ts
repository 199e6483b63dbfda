/** `check --since REV`: which findings a change brings, by checking the same plans as the revision has them. */
import { realpath } from 'node:fs/promises';
import path from 'node:path';
import { URI } from 'vscode-uri';
import { EntryPool, parseFile } from '../../grammar/file.ts';
import type { EntrySyntax } from '../../grammar/syntax.ts';
import { unfitFor } from '../node/compare-read.ts';
import { put, readImports, readPlanNow, workspaceFolder } from '../node/files.ts';
import { commitOf, GitError, namedIn, renamesSince, repositoryOf } from '../node/git.ts';
import { notesOf, Revision } from '../node/revision.ts';
import { createWorkspace, forgetFile, type Workspace } from '../plan/workspace.ts';
import { type Noted, nameOfEntry, notedOf, type PlanReport } from '../reports/plan-report.ts';
import { SEVERITIES } from '../rules/rule.ts';
import type { CheckSetting } from './check-plans.ts';
import {
  checkLoaded,
  nameIn,
  optionsOf,
  overridesOf,
  STDIN,
  type Terminal,
  tell,
  UsageError,
  WHY,
} from './commands.ts';

/**
 * The findings that were not there before, or are graver than they were. `isRenamed` says whether the entry of one is
 * that of the other under another name.
 */
export function brought(
  now: readonly Noted[],
  before: readonly Noted[],
  isRenamed: (now: string, before: string) => boolean = () => false,
): Noted[] {
  const known = new Map(before.map((one) => [one.fingerprint, one]));
  const renamed = new Map<string, Noted[]>();
  for (const one of before) renamed.set(one.renamedFingerprint, [...(renamed.get(one.renamedFingerprint) ?? []), one]);
  return now.filter(({ fingerprint, renamedFingerprint, entry, diagnostic }) => {
    const was = known.get(fingerprint) ?? renamed.get(renamedFingerprint)?.find((one) => isRenamed(entry, one.entry));
    return !was || SEVERITIES.indexOf(diagnostic.severity) < SEVERITIES.indexOf(was.diagnostic.severity);
  });
}

/** Whether an entry of a plan has another name than it had before; the plan is read again when that is asked. */
function renaming(now: string, before: readonly EntrySyntax[]): (now: string, before: string) => boolean {
  let names: { now: ReadonlySet<string>; before: ReadonlySet<string> } | undefined;
  return (is, was) => {
    if (!names) {
      const read = readPlanNow(URI.file(now).toString());
      const trees = 'text' in read ? parseFile(read.text).trees : [];
      names = { now: new Set(trees.map(nameOfEntry)), before: new Set(before.map(nameOfEntry)) };
    }
    return !names.now.has(was) && !names.before.has(is);
  };
}

interface Before {
  readonly noted: readonly Noted[];
  readonly trees: readonly EntrySyntax[];
}

/** What is found in plans as a revision has them, one after the other. */
function checkerOf(
  revision: Revision,
  setting: Omit<CheckSetting, 'forCache'>,
  terminal: Terminal,
): (name: string, root: string) => Promise<Before> {
  const workspaces = new Map<string, Workspace>();
  const saidOf = new Set<string>();
  const overrides = overridesOf(setting.severity);
  const options = optionsOf(setting.legalEnd);
  const nameOf = nameIn(terminal.folder);
  return async (name, root) => {
    const workspace = workspaces.get(root) ?? {
      ...createWorkspace([URI.file(root).toString()]),
      pool: new EntryPool(),
      inPart: true,
    };
    workspaces.set(root, workspace);
    const uri = URI.file(path.join(revision.repository, ...name.split('/'))).toString();
    const known = workspace.files.has(uri);
    if (!known) {
      const read = await revision.plan(uri);
      put(workspace, uri, read);
      if ('why' in read) {
        tell(terminal, `before: ${nameOf(uri)} ${WHY[read.why]}, so that all that is found in it now counts as new`);
        return { noted: [], trees: [] };
      }
    }
    await readImports(workspace, uri, revision);
    for (const [used, why] of unfitFor(workspace, uri)) {
      if (!saidOf.has(used)) tell(terminal, `before: ${nameOf(used)} ${WHY[why]}`);
      saidOf.add(used);
    }
    const { understood, told } = checkLoaded({ workspace, uri, name: nameOf(uri) }, overrides, options, terminal);
    if (!known) forgetFile(workspace, uri);
    const { text, trees } = understood.file.syntax;
    return { noted: notedOf(told, text), trees };
  };
}

/** Finds out, before anything is checked, whether a revision can be compared with; throws a usage error when not. */
export async function sinceRevision(
  revision: string,
  plans: readonly string[],
  setting: Omit<CheckSetting, 'forCache'>,
  terminal: Terminal,
): Promise<(reports: readonly PlanReport[]) => Promise<PlanReport[]>> {
  if (plans.includes(STDIN)) throw new UsageError('--since compares files, not standard input');
  return inWords(async () => {
    const byFolder = new Map<string, Promise<string>>();
    const repositoryAt = (folder: string) => {
      const known = byFolder.get(folder) ?? repositoryOf(folder);
      byFolder.set(folder, known);
      return known;
    };
    const repositories = await Promise.all(plans.map((plan) => repositoryAt(path.dirname(plan))));
    const commits = new Map<string, string>();
    for (const repository of new Set(repositories)) commits.set(repository, await commitOf(repository, revision));

    return (reports) =>
      inWords(async () => {
        const result = [...reports];
        const given = setting.workspace && (await realpath(path.resolve(setting.folder, setting.workspace)));
        for (const [repository, commit] of commits) {
          // Where nothing is found now, nothing can be new.
          const asked = plans
            .map((plan, i) => ({ plan, i }))
            .filter(({ i }) => repositories[i] === repository && (reports[i] as PlanReport).noted.length > 0);
          if (asked.length === 0) continue;
          const revision = await Revision.of(repository, commit);
          const renames = await renamesSince(repository, commit);
          const check = checkerOf(revision, setting, terminal);
          for (const { plan, i } of asked) {
            const place = await namedIn(repository, plan);
            const then = place === undefined || (await revision.holds(place)) ? place : renames.get(place);
            if (then === undefined || !(await revision.holds(then))) continue;
            const report = reports[i] as PlanReport;
            const root = given ?? (await realpath(await workspaceFolder(plan, setting.folder)));
            const before = await check(then, root);
            result[i] = { ...report, noted: brought(report.noted, before.noted, renaming(plan, before.trees)) };
          }
          for (const note of notesOf([revision], nameIn(terminal.folder))) tell(terminal, note);
        }
        return result;
      });
  });
}

async function inWords<T>(work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    throw error instanceof GitError ? new UsageError(`--since: ${error.message}`) : error;
  }
}
