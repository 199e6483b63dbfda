/** From the paths of a command line to plans: files, folders, and patterns; what `.gitignore` names is left out. */
import { readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import ignore, { type Ignore } from 'ignore';
import { glob, isDynamicPattern } from 'tinyglobby';

export interface Found {
  /** Absolute, sorted, each once. */
  readonly files: readonly string[];
  /** Paths that lead to nothing. */
  readonly missing: readonly string[];
}

async function rulesIn(folder: string): Promise<Ignore | undefined> {
  try {
    return ignore().add(await readFile(path.join(folder, '.gitignore'), 'utf8'));
  } catch {
    return undefined;
  }
}

/** Whether `.gitignore` files from `top` down to a file's folder leave it out; each folder's rules are read once. */
function ignoredUnder(top: string): (file: string) => Promise<boolean> {
  const kept = new Map<string, Promise<Ignore | undefined>>();
  const rules = (folder: string) => {
    const known = kept.get(folder) ?? rulesIn(folder);
    kept.set(folder, known);
    return known;
  };
  return async (file) => {
    let ignored = false;
    const steps = path.relative(top, file).split(path.sep);
    let folder = top;
    for (let i = 0; i < steps.length; i++) {
      const inFolder = await rules(folder);
      if (inFolder) {
        const result = inFolder.test(steps.slice(i).join('/'));
        if (result.ignored) ignored = true;
        else if (result.unignored) ignored = false;
      }
      folder = path.join(folder, steps[i] as string);
    }
    return ignored;
  };
}

/** The plans that paths name. A file that is named is taken whatever its ending and whatever is ignored. */
export async function findPlans(paths: readonly string[], workingFolder: string): Promise<Found> {
  const files = new Set<string>();
  const missing: string[] = [];
  const ignoredHere = ignoredUnder(workingFolder);
  const under = async (pattern: string, folder: string): Promise<string[]> => {
    // Elsewhere, the rules of the working folder do not hold.
    const outside = /^\.\.([/\\]|$)/.test(path.relative(workingFolder, folder));
    const ignored =
      outside || path.isAbsolute(path.relative(workingFolder, folder)) ? ignoredUnder(folder) : ignoredHere;
    const found = await glob(pattern, {
      cwd: folder,
      absolute: true,
      dot: false,
      ignore: ['**/node_modules/**'],
      followSymbolicLinks: false,
      expandDirectories: false,
    });
    const kept = await Promise.all(found.map(async (file) => ((await ignored(file)) ? [] : [path.normalize(file)])));
    return kept.flat();
  };
  for (const given of paths) {
    const full = path.resolve(workingFolder, given);
    const info = await stat(full).catch(() => undefined);
    if (info?.isDirectory()) for (const file of await under('**/*.taskplan', full)) files.add(file);
    else if (info) files.add(full);
    else if (isDynamicPattern(given)) {
      const found = await under(given.split(path.sep).join('/'), workingFolder);
      if (found.length === 0) missing.push(given);
      for (const file of found) files.add(file);
    } else missing.push(given);
  }
  return { files: [...files].sort(), missing };
}
