/** From the paths of a command line to plans: files, folders, and patterns; what `.gitignore` names is left out. */
import { readdir } from 'node:fs';
import path from 'node:path';
import ignore, { type Ignore } from 'ignore';
import { type FileSystemAdapter, glob, isDynamicPattern } from 'tinyglobby';
import { LARGEST_FILE } from '../bytes.ts';
import { keptFor } from '../plan/last-few.ts';
import { wayWithin } from './folders.ts';
import { readFile, stat } from './promised.ts';
import { reasonOf } from './write.ts';

/** A folder that could not be looked into: plans may lie there. */
export interface ClosedFolder {
  readonly folder: string;
  readonly why: string;
}

export interface Found {
  /** Absolute, sorted, each once. */
  readonly files: readonly string[];
  /** Paths that lead to nothing. */
  readonly missing: readonly string[];
  readonly closed: readonly ClosedFolder[];
  /** Whether `.gitignore` left a plan out. */
  readonly isLeftOut: boolean;
}

/** The folder of the repository that a folder lies in. */
export async function repositoryAbove(folder: string): Promise<string | undefined> {
  for (let above = folder; ; above = path.dirname(above)) {
    if (await stat(path.join(above, '.git')).catch(() => undefined)) return above;
    if (above === path.dirname(above)) return undefined;
  }
}

/** The settings of the repository at a folder, as git wrote them; also of one whose `.git` leads elsewhere. */
async function settingsOf(top: string): Promise<string> {
  let git = path.join(top, '.git');
  try {
    if ((await stat(git)).isFile()) {
      const [, leadsTo] = /^gitdir: (.*)$/m.exec(await readFile(git, 'utf8')) ?? [];
      git = path.resolve(top, leadsTo ?? '');
      const common = await readFile(path.join(git, 'commondir'), 'utf8').catch(() => '.');
      git = path.resolve(git, common.trim());
    }
    return await readFile(path.join(git, 'config'), 'utf8');
  } catch {
    return '';
  }
}

/** Whether git takes a name for the same in other cases: it notes so where it makes a repository on a disk that does. */
async function takesAnyCase(top: string): Promise<boolean> {
  let section = '';
  let takes = false;
  for (const line of (await settingsOf(top)).split('\n')) {
    section = /^\s*\[\s*([^\]]*?)\s*\]/.exec(line)?.[1]?.toLowerCase() ?? section;
    const set = /^\s*(?:\[[^\]]*\])?\s*ignorecase\s*(?:=\s*"?(\w*))?/i.exec(line);
    if (set && section === 'core') takes = /^(true|yes|on|[1-9]\d*)$/i.test(set[1] ?? 'true');
  }
  return takes;
}

async function rulesIn(folder: string, ignorecase: boolean): Promise<Ignore | undefined> {
  try {
    const file = path.join(folder, '.gitignore');
    const found = await stat(file);
    if (!found.isFile() || found.size > LARGEST_FILE) return undefined;
    return ignore({ ignorecase }).add(await readFile(file, 'utf8'));
  } catch {
    return undefined;
  }
}

/** Whether rules leave a path out by itself, whatever they say of the folders in which it lies. */
function namesItself(rules: Ignore, steps: readonly string[], isFolder: boolean): boolean {
  const escaped = steps.map((step) => step.replace(/[\\*?[\]!# ]/g, '\\$&'));
  const takenIn = steps.slice(1).map((_, i) => `!/${escaped.slice(0, i + 1).join('/')}`);
  return ignore()
    .add(rules)
    .add(takenIn)
    .ignores(steps.join('/') + (isFolder ? '/' : ''));
}

type IsIgnored = (file: string, isFolder?: boolean) => Promise<boolean>;

const liesIn = (file: string, folder: string): boolean => wayWithin(folder, file) !== undefined;

/** Whether `.gitignore` files from `top` down to a file's folder leave it out; each folder's rules are read once. */
function ignoredUnder(top: string): IsIgnored {
  const anyCase = takesAnyCase(top);
  const kept = new Map<string, Promise<Ignore | undefined>>();
  const rules = (folder: string) =>
    keptFor(kept, folder, () => anyCase.then((ignorecase) => rulesIn(folder, ignorecase)));
  /** What the rules say of one name, when nothing above it is left out. */
  const isNamed = async (steps: readonly string[], isFolder: boolean): Promise<boolean> => {
    let ignored = false;
    let folder = top;
    for (const [i, step] of steps.entries()) {
      const inFolder = await rules(folder);
      const rest = steps.slice(i);
      const result = inFolder?.test(rest.join('/') + (isFolder ? '/' : ''));
      // What these rules leave out with its folder, which others take in again, they may not name itself.
      const withFolder = () => rest.length > 1 && inFolder?.ignores(`${rest.slice(0, -1).join('/')}/`);
      if (inFolder && result?.ignored && (!withFolder() || namesItself(inFolder, rest, isFolder))) ignored = true;
      else if (result?.unignored) ignored = false;
      folder = path.join(folder, step);
    }
    return ignored;
  };
  const folders = new Map<string, Promise<boolean>>();
  /** Git looks at nothing in a folder that is left out, so that nothing there is taken in again. */
  const isOut = (steps: readonly string[]): Promise<boolean> => {
    if (steps.length === 0) return Promise.resolve(false);
    return keptFor(folders, steps.join('/'), () =>
      isOut(steps.slice(0, -1)).then((above) => above || isNamed(steps, true)),
    );
  };
  return async (file, isFolder = false) => {
    if (file === top || !liesIn(file, top)) return false;
    const steps = path.relative(top, file).split(path.sep);
    return isFolder ? isOut(steps) : (await isOut(steps.slice(0, -1))) || isNamed(steps, false);
  };
}

/** A pattern as the folder that every match lies in, and the rest of it. */
function partsOf(pattern: string): { readonly folder: string; readonly rest: string } {
  const steps = pattern.split('/');
  const first = Math.max(
    0,
    steps.findIndex((step) => /[*?!+@{}[\]()\\]/.test(step)),
  );
  const folder = steps.slice(0, first).join('/');
  return { folder: pattern.startsWith('/') ? `${folder}/` : folder, rest: steps.slice(first).join('/') };
}

/** Whether a path is a pattern, where nothing lies under that name. */
export const isPattern = (given: string): boolean => isDynamicPattern(given);

/** The folder that all lies in that a pattern finds. */
export const patternFolder = (given: string): string => partsOf(given.split(path.sep).join('/')).folder;

const LOOKING = {
  absolute: true,
  dot: false,
  ignore: ['**/node_modules/**'],
  followSymbolicLinks: false,
  expandDirectories: false,
} as const;

/** Which of some files, by their whole paths, a pattern finds from the folder where its own begins, as it would on a disk. */
export async function matching(given: string, folder: string, files: readonly string[]): Promise<string[]> {
  const found = new Map<string, Map<string, boolean>>();
  for (const file of files) {
    let isFolder = false;
    for (let at = file; at !== path.dirname(at); at = path.dirname(at)) {
      const inside = found.get(path.dirname(at)) ?? new Map<string, boolean>();
      const isKnown = inside.has(path.basename(at));
      inside.set(path.basename(at), isFolder);
      found.set(path.dirname(at), inside);
      if (isKnown) break;
      isFolder = true;
    }
  }
  const reading = (at: string, _options: unknown, done: (error: null, entries: object[]) => void) => {
    const entries = [...(found.get(path.resolve(at)) ?? [])].map(([name, isFolder]) => ({
      name,
      isFile: () => !isFolder,
      isDirectory: () => isFolder,
      isSymbolicLink: () => false,
    }));
    queueMicrotask(() => done(null, entries));
  };
  const matched = await glob(partsOf(given.split(path.sep).join('/')).rest, {
    ...LOOKING,
    cwd: folder,
    fs: { readdir: reading as unknown as NonNullable<FileSystemAdapter['readdir']> },
  });
  return matched.map((one) => path.normalize(one));
}

/** What stands in the name of a file, as Node gives it, for what is not UTF-8 there. */
export const NOT_UTF8 = '\uFFFD';

/** What the system says of a path where nothing is. */
const NOWHERE: ReadonlySet<string | undefined> = new Set(['ENOENT', 'ENOTDIR', 'ENAMETOOLONG', 'EINVAL']);

/** The plans that paths name. A file that is named is taken whatever its ending and whatever is ignored. */
export async function findPlans(paths: readonly string[], workingFolder: string): Promise<Found> {
  const files = new Set<string>();
  const missing: string[] = [];
  const closed = new Map<string, string>();
  let isLeftOut = false;
  const kept = new Map<string, IsIgnored>();
  /** The rules of the repository that a folder lies in; without one those of the working folder, where it lies inside. */
  const ignoredAt = async (folder: string): Promise<IsIgnored> => {
    const top = (await repositoryAbove(folder)) ?? (liesIn(folder, workingFolder) ? workingFolder : folder);
    const ignored = kept.get(top) ?? ignoredUnder(top);
    kept.set(top, ignored);
    // Whoever stands in a folder that is left out wants what lies there.
    return liesIn(workingFolder, folder) && (await ignored(folder, true)) ? ignoredUnder(folder) : ignored;
  };
  const under = async (pattern: string, folder: string): Promise<string[]> => {
    const ignored = await ignoredAt(folder);
    const failed: ClosedFolder[] = [];
    const noting = (at: string, options: { withFileTypes: true }, done: (...told: unknown[]) => void) =>
      readdir(at, options, (error, entries) => {
        // What is gone by now held nothing; a name that is not UTF-8 is given with a sign in place of what is not.
        const isGone = error?.code === 'ENOENT';
        if (error && (!isGone || at.includes(NOT_UTF8)))
          failed.push({ folder: path.resolve(folder, at), why: isGone ? 'its name is not UTF-8' : reasonOf(error) });
        done(error, entries);
      });
    const found = await glob(pattern, {
      ...LOOKING,
      cwd: folder,
      fs: { readdir: noting as unknown as NonNullable<FileSystemAdapter['readdir']> },
    });
    for (const { folder: at, why } of failed) if (!(await ignored(at, true))) closed.set(at, why);
    const taken: string[] = [];
    for (const file of found.map((one) => path.normalize(one))) {
      if (!(await ignored(file))) taken.push(file);
      else isLeftOut = true;
    }
    return taken;
  };
  for (const given of paths) {
    const full = path.resolve(workingFolder, given);
    const info = await stat(full).catch((error: NodeJS.ErrnoException) =>
      NOWHERE.has(error.code) ? undefined : error,
    );
    // What is there and cannot be looked at is told by whoever reads it.
    if (info instanceof Error) files.add(full);
    else if (info?.isDirectory()) for (const file of await under('**/*.taskplan', full)) files.add(file);
    else if (info) files.add(full);
    else if (isPattern(given)) {
      const before = closed.size;
      const { folder, rest } = partsOf(given.split(path.sep).join('/'));
      const found = await under(rest, path.resolve(workingFolder, folder));
      if (found.length === 0 && closed.size === before) missing.push(given);
      for (const file of found) files.add(file);
    } else missing.push(given);
  }
  return {
    files: [...files].sort(),
    missing,
    closed: [...closed].sort().map(([folder, why]) => ({ folder, why })),
    isLeftOut,
  };
}
