/** Checks many plans: what a cache knows first, the rest here or, when there are many, in threads. Results come in the order of the plans. */
import { readFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { isMainThread, workerData } from 'node:worker_threads';
import { URI } from 'vscode-uri';
import packageJson from '../../package.json' with { type: 'json' };
import { readPlan, workspaceFolder } from '../node/files.ts';
import { wayWithin } from '../node/folders.ts';
import { inThreads, serveChunks } from '../node/pool.ts';
import { type Dependency, dependenciesOf, hashOf, ResultCache, States } from '../node/result-cache.ts';
import { forgetFile } from '../plan/workspace.ts';
import { NO_PAINT } from '../reports/plain.ts';
import { isPlanReport, notedOf, type PlanReport } from '../reports/plan-report.ts';
import {
  checkLoaded,
  Loader,
  nameIn,
  optionsOf,
  overridesOf,
  STDIN,
  type Terminal,
  tell,
  UsageError,
} from './commands.ts';

/** What a check depends on besides the files. Plain data, for threads. */
export interface CheckSetting {
  readonly folder: string;
  readonly workspace: string | undefined;
  readonly severity: readonly string[];
  /** The end of the legal day, as written; sunset without one. */
  readonly legalEnd: string | undefined;
  /** Whether the files that each plan rests on are wanted with it. */
  readonly forCache: boolean;
}

interface Made {
  readonly report: PlanReport;
  /** What checks say of themselves when they fail. */
  readonly failures: readonly string[];
  /** Where the result may be kept, and until when it holds. */
  readonly keep: { readonly textHash: string; readonly dependencies: readonly Dependency[] } | undefined;
}

/** This program as one file: a cache tells by it who made its results. */
const PROGRAM = fileURLToPath(import.meta.url);
/** What loads it with what Node kept of compiling it. */
const STARTER = path.join(path.dirname(PROGRAM), 'legwise.cjs');
/** Starting a thread costs as much as checking about so many plans. */
const MANY = 150;
const CHUNK = 25;

/** A check of one plan after the other, over files that are read once. */
function checker(setting: CheckSetting, stdin: Terminal['stdin']): (plan: string) => Promise<Made> {
  const failures: string[] = [];
  const terminal: Terminal = {
    folder: setting.folder,
    paint: NO_PAINT,
    watched: false,
    out: () => {},
    err: (text) => failures.push(text),
    now: () => 0,
    stdin,
  };
  const loader = new Loader(terminal, setting.workspace);
  const overrides = overridesOf(setting.severity);
  const options = optionsOf(setting.legalEnd);
  const states = new States();
  return async (plan) => {
    const known = plan !== STDIN && loader.knows(URI.file(plan).toString());
    const loaded = await loader.load(plan);
    if (!loaded) {
      const unreadable = loader.unreadable.splice(0).join(', ');
      const name = plan === STDIN ? '<stdin>' : nameIn(setting.folder)(URI.file(plan).toString());
      return { report: { name, noted: [], unreadable }, failures: [], keep: undefined };
    }
    const { workspace, uri, name } = loaded;
    const { understood, told } = checkLoaded(loaded, overrides, options, terminal);
    const report = { name, noted: notedOf(told, understood.file.syntax.text), unreadable: null };
    const failed = failures.splice(0);
    const dependencies =
      setting.forCache && failed.length === 0 && plan !== STDIN
        ? await dependenciesOf(workspace, uri, states)
        : undefined;
    const keep = dependencies && { textHash: states.of(understood.file), dependencies };
    // A plan that no other has used so far is done with; should one use it after all, it is read again.
    if (!known) forgetFile(workspace, uri);
    return { report, failures: failed, keep };
  };
}

interface Chunk {
  readonly plans: readonly string[];
}

/** What a thread of this program does: checks the plans that it is handed. */
export function workChecks(): void {
  const check = checker(workerData as CheckSetting, async () => new Uint8Array());
  serveChunks((chunk: Chunk) => checkChunk(check, chunk));
}

async function checkChunk(check: (plan: string) => Promise<Made>, { plans }: Chunk): Promise<Made[]> {
  const made: Made[] = [];
  for (const plan of plans) made.push(await check(plan));
  return made;
}

export interface Many {
  /** A folder of results, kept between runs. */
  readonly cache?: string | undefined;
  readonly jobs?: number | undefined;
  readonly progress?: (checked: number) => void;
}

/** The reports of plans, in their order. */
export async function checkPlans(
  plans: readonly string[],
  setting: Omit<CheckSetting, 'forCache'>,
  terminal: Terminal,
  { cache: cacheFolder, jobs, progress = () => {} }: Many = {},
): Promise<PlanReport[]> {
  const reports: (PlanReport | undefined)[] = plans.map(() => undefined);
  const cache = cacheFolder === undefined ? undefined : await openCache(path.resolve(setting.folder, cacheFolder));
  const folders = folderOf(setting);
  // Of two for one finding the last counts; between findings the order says nothing.
  const severities = [...overridesOf(setting.severity)].map((one) => one.join('=')).sort();
  const keyOf = (plan: string, root: string) =>
    [path.relative(setting.folder, root), path.relative(root, plan), setting.legalEnd ?? '', ...severities].join('\0');

  let cacheWorks = true;
  let checked = 0;
  const left: number[] = [];
  for (const [i, plan] of plans.entries()) {
    if (cache && plan !== STDIN) {
      const read = await readPlan(URI.file(plan).toString());
      const root = await folders(plan);
      const known = 'text' in read ? await cache.get(keyOf(plan, root), root, read.text) : undefined;
      if (known) {
        reports[i] = known;
        progress(++checked);
        continue;
      }
    }
    left.push(i);
  }

  const take = async (i: number, { report, failures, keep }: Made) => {
    reports[i] = report;
    for (const failure of failures) terminal.err(failure);
    const plan = plans[i] as string;
    if (cache && keep) {
      const key = keyOf(plan, await folders(plan));
      await cache.put(key, keep.textHash, keep.dependencies, report).catch((error: Error) => {
        // The check itself is as good without.
        if (cacheWorks) tell(terminal, `a result could not be kept: ${error.message}`);
        cacheWorks = false;
      });
    }
    progress(++checked);
  };

  const full: CheckSetting = { ...setting, severity: [...setting.severity], forCache: cache !== undefined };
  const check = checker(full, terminal.stdin);
  const threads = jobs ?? (left.length > MANY ? availableParallelism() : 1);
  if (threads > 1 && isMainThread) {
    const elsewhere = left.filter((i) => plans[i] !== STDIN);
    const chunks: number[][] = [];
    for (let i = 0; i < elsewhere.length; i += CHUNK) chunks.push(elsewhere.slice(i, i + CHUNK));
    const taken: Promise<void>[] = [];
    await inThreads(
      STARTER,
      full,
      chunks.map((chunk): Chunk => ({ plans: chunk.map((i) => plans[i] as string) })),
      threads,
      (chunk) => checkChunk(check, chunk),
      (index, made) => {
        for (const [j, one] of made.entries()) taken.push(take((chunks[index] as number[])[j] as number, one));
      },
    );
    await Promise.all(taken);
  }
  for (const i of left) if (!reports[i]) await take(i, await check(plans[i] as string));
  return reports as PlanReport[];
}

/** The folder whose files a plan may use, as the loader has it; looked for once a folder. */
function folderOf({
  folder,
  workspace,
}: Pick<CheckSetting, 'folder' | 'workspace'>): (plan: string) => Promise<string> {
  const known = new Map<string, Promise<string>>();
  return (plan) => {
    if (workspace !== undefined) return Promise.resolve(path.resolve(folder, workspace));
    const at = path.dirname(plan);
    const found = known.get(at) ?? workspaceFolder(plan, folder);
    known.set(at, found);
    return found;
  };
}

/** The folders that hold plans and all that they may use, none inside another. */
export async function foldersOf(
  plans: readonly string[],
  setting: Pick<CheckSetting, 'folder' | 'workspace'>,
): Promise<string[]> {
  const of = folderOf(setting);
  const found = new Set(await Promise.all(plans.flatMap((plan) => [of(plan), Promise.resolve(path.dirname(plan))])));
  const inside = (one: string, other: string) => one !== other && wayWithin(other, one) !== undefined;
  return [...found].filter((one) => ![...found].some((other) => inside(one, other)));
}

async function openCache(folder: string): Promise<ResultCache<PlanReport>> {
  try {
    return await ResultCache.open(folder, `${packageJson.version} ${hashOf(readFileSync(PROGRAM))}`, isPlanReport);
  } catch (error) {
    throw new UsageError(`no results can be kept in ${folder}: ${(error as Error).message}`);
  }
}
