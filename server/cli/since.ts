/** `check --since REV`: which findings a change brings, by checking the same plans as the revision has them. */
import { mkdir, mkdtemp, realpath, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { URI } from 'vscode-uri';
import { parseFile } from '../../grammar/file.ts';
import { readPlanNow } from '../node/files.ts';
import {
  commitOf,
  contentsOf,
  filesOf,
  GitError,
  pathUnder,
  placeIn,
  renamesSince,
  repositoryOf,
} from '../node/git.ts';
import { type Noted, nameOfEntry, type PlanReport } from '../reports/plan-report.ts';
import { type CheckSetting, checkPlans } from './check-plans.ts';
import { LEVELS, STDIN, type Terminal, UsageError } from './commands.ts';

/** What a check may read. */
const READABLE = /\.(taskplan|hgt)$/i;

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
    return !was || LEVELS.indexOf(diagnostic.severity) < LEVELS.indexOf(was.diagnostic.severity);
  });
}

/** Whether an entry of a file has another name than it had in an earlier text; the files are read when that is asked. */
function renaming(now: string, before: string): (now: string, before: string) => boolean {
  const namesIn = (file: string) => {
    const read = readPlanNow(URI.file(file).toString());
    return new Set('text' in read ? parseFile(read.text).trees.map(nameOfEntry) : []);
  };
  let names: { now: ReadonlySet<string>; before: ReadonlySet<string> } | undefined;
  return (is, was) => {
    names ??= { now: namesIn(now), before: namesIn(before) };
    return !names.now.has(was) && !names.before.has(is);
  };
}

/** Writes the files of a commit that a check may read, and those that are `named`, into a folder. */
async function checkOut(
  repository: string,
  commit: string,
  folder: string,
  named: ReadonlySet<string>,
): Promise<ReadonlySet<string>> {
  const files = (await filesOf(repository, commit)).filter(({ name }) => READABLE.test(name) || named.has(name));
  // All of them before the first is written.
  const places = files.map(({ name }) => pathUnder(folder, name));
  const contents = await contentsOf(repository, files);
  for (const [i, { name }] of files.entries()) {
    const place = places[i] as string;
    try {
      await mkdir(path.dirname(place), { recursive: true });
      await writeFile(place, contents[i] as Buffer);
    } catch (error) {
      throw new GitError(`${name} of that revision cannot be written to ${folder}: ${(error as Error).message}`);
    }
  }
  return new Set(files.map(({ name }) => name));
}

/** Finds out, before anything is checked, whether a revision can be compared with; throws a usage error when not. */
export async function sinceRevision(
  revision: string,
  plans: readonly string[],
  setting: Omit<CheckSetting, 'forCache'>,
  terminal: Terminal,
): Promise<(reports: readonly PlanReport[], jobs: number | undefined) => Promise<PlanReport[]>> {
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

    return (reports, jobs) =>
      inWords(async () => {
        const result = [...reports];
        for (const [repository, commit] of commits) {
          // Where nothing is found now, nothing can be new.
          const asked = plans
            .map((plan, i) => ({ plan, i }))
            .filter(({ i }) => repositories[i] === repository && (reports[i] as PlanReport).noted.length > 0);
          if (asked.length === 0) continue;
          const folder = await temporaryFolder();
          try {
            const renames = await renamesSince(repository, commit);
            const places = await Promise.all(asked.map(({ plan }) => placeIn(repository, plan)));
            const named = new Set(
              places.flatMap((place) => (place === undefined ? [] : [place, renames.get(place) ?? place])),
            );
            const there = await checkOut(repository, commit, folder, named);
            const then = asked.flatMap(({ i }, j) => {
              const place = places[j];
              const name = place === undefined || there.has(place) ? place : renames.get(place);
              return name !== undefined && there.has(name) ? [{ i, file: path.join(folder, ...name.split('/')) }] : [];
            });
            const given = setting.workspace && path.resolve(setting.folder, setting.workspace);
            const workspace = path.join(folder, (given && (await placeIn(repository, given))) ?? '');
            const before = await checkPlans(
              then.map(({ file }) => file),
              { ...setting, folder, workspace },
              terminal,
              { jobs },
            );
            for (const [j, { i, file }] of then.entries()) {
              const report = reports[i] as PlanReport;
              const was = (before[j] as PlanReport).noted;
              result[i] = { ...report, noted: brought(report.noted, was, renaming(plans[i] as string, file)) };
            }
          } finally {
            await rm(folder, { recursive: true, force: true });
          }
        }
        return result;
      });
  });
}

async function temporaryFolder(): Promise<string> {
  try {
    return await realpath(await mkdtemp(path.join(tmpdir(), 'legwise-since-')));
  } catch (error) {
    const { message } = error as Error;
    throw new UsageError(`--since needs a folder for temporary files, and none can be made in ${tmpdir()}: ${message}`);
  }
}

async function inWords<T>(work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    throw error instanceof GitError ? new UsageError(`--since: ${error.message}`) : error;
  }
}
