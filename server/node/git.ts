/** Plans as a revision of a git repository has them, read through the `git` program. */
import { spawn } from 'node:child_process';
import { realpath } from 'node:fs/promises';
import path from 'node:path';
import { wayWithin } from './folders.ts';

/** What git cannot give, in words for the reader. */
export class GitError extends Error {}

/**
 * What tells a git which repository it works on, whatever folder it is asked about: set while a hook runs, for that
 * repository. Of `git rev-parse --local-env-vars` all but the settings (`GIT_CONFIG…`), which hold anywhere.
 */
const OF_ONE_REPOSITORY: ReadonlySet<string> = new Set([
  'GIT_ALTERNATE_OBJECT_DIRECTORIES',
  'GIT_COMMON_DIR',
  'GIT_DIR',
  'GIT_GRAFT_FILE',
  'GIT_IMPLICIT_WORK_TREE',
  'GIT_INDEX_FILE',
  'GIT_INTERNAL_SUPER_PREFIX',
  'GIT_NO_REPLACE_OBJECTS',
  'GIT_OBJECT_DIRECTORY',
  'GIT_PREFIX',
  'GIT_REPLACE_REF_BASE',
  'GIT_SHALLOW_FILE',
  'GIT_WORK_TREE',
]);

/** The environment for a git that is asked about a folder. */
function environment(): NodeJS.ProcessEnv {
  const kept = Object.entries(process.env).filter(([name]) => !OF_ONE_REPOSITORY.has(name.toUpperCase()));
  return { ...Object.fromEntries(kept), LC_ALL: 'C' };
}

/** Runs git and gives what it writes; undefined when it fails. */
async function run(
  folder: string,
  args: readonly string[],
  input?: string,
): Promise<{ out: Buffer; ok: boolean; err: string }> {
  return new Promise((resolve, reject) => {
    const child = spawn('git', ['--no-optional-locks', ...args], {
      cwd: folder,
      stdio: ['pipe', 'pipe', 'pipe'],
      env: environment(),
    });
    const out: Buffer[] = [];
    const err: Buffer[] = [];
    child.stdout.on('data', (chunk: Buffer) => out.push(chunk));
    child.stderr.on('data', (chunk: Buffer) => err.push(chunk));
    child.on('error', (error: NodeJS.ErrnoException) => {
      reject(
        new GitError(
          error.code === 'ENOENT'
            ? 'the program git is not there: it has to be installed for this'
            : `git cannot be started: ${error.message}`,
        ),
      );
    });
    child.on('close', (code) => {
      resolve({ out: Buffer.concat(out), ok: code === 0, err: Buffer.concat(err).toString('utf8') });
    });
    // A git that ends early closes its end; what it said is told by its exit status.
    child.stdin.on('error', () => {});
    child.stdin.end(input ?? '');
  });
}

const firstLine = (text: string): string =>
  text
    .trim()
    .split('\n')[0]
    ?.replace(/^fatal: /, '') ?? '';

/** The folder of the repository that a folder lies in. */
export async function repositoryOf(folder: string): Promise<string> {
  const { out, ok, err } = await run(folder, ['rev-parse', '--show-toplevel']);
  if (ok) return realpath(out.toString('utf8').replace(/\r?\n$/, ''));
  if (err.includes('not a git repository')) throw new GitError(`${folder} lies in no git repository`);
  throw new GitError(`git: ${firstLine(err)}`);
}

/** The commit that a revision names; for the branch that is checked out and has no commit yet, the tree that holds nothing. */
export async function commitOf(repository: string, revision: string): Promise<string> {
  // A revision is never an option.
  const { out, ok } = revision.startsWith('-')
    ? { out: '', ok: false }
    : await run(repository, ['rev-parse', '--verify', '--quiet', `${revision}^{commit}`]);
  if (ok) return out.toString().trim();
  if (revision === 'HEAD' && (await isUnborn(repository)))
    return (await run(repository, ['hash-object', '-t', 'tree', '--stdin'])).out.toString().trim();
  throw new GitError(`no revision ${revision} is known in ${repository}`);
}

/** Whether the branch that is checked out has no commit yet, as in a repository that was just made. */
async function isUnborn(repository: string): Promise<boolean> {
  const branch = await run(repository, ['symbolic-ref', '--quiet', 'HEAD']);
  if (!branch.ok) return false;
  const name = branch.out.toString('utf8').trim();
  const found = await run(repository, ['for-each-ref', '--', name]);
  // Of one that is broken, git says so.
  return found.ok && found.out.length === 0 && found.err === '';
}

/** The commit from which two revisions go apart. */
export async function mergeBase(repository: string, one: string, other: string): Promise<string> {
  const { out, ok } = await run(repository, ['merge-base', one, other]);
  if (!ok) throw new GitError('the revisions have no commit in common');
  return out.toString('utf8').trim();
}

/** So many paths go into one call of git. */
const MOST_PATHS = 500;

/**
 * The commit that is checked out, in short, and whether any of some files (whole paths) is not as it is there; undefined
 * without a commit.
 */
export async function checkedOut(
  repository: string,
  files: readonly string[],
): Promise<{ readonly id: string; readonly uncommitted: boolean } | undefined> {
  const { out, ok } = await run(repository, ['rev-parse', '--verify', '--quiet', '--short=10', 'HEAD']);
  if (!ok) return undefined;
  const id = out.toString('utf8').trim();
  const places = await Promise.all(files.map((file) => placeIn(repository, file)));
  const inside = places.filter((place) => place !== undefined);
  // What lies outside is of no commit.
  let uncommitted = inside.length < places.length;
  for (let i = 0; i < inside.length && !uncommitted; i += MOST_PATHS) {
    const paths = inside.slice(i, i + MOST_PATHS);
    const status = ['--literal-pathspecs', 'status', '--porcelain', '-z', '--untracked-files=all', '--ignored'];
    const told = await run(repository, [...status, '--', ...paths]);
    if (!told.ok) throw new GitError(`git: ${firstLine(told.err)}`);
    uncommitted = told.out.length > 0;
  }
  return { id, uncommitted };
}

/** What a commit holds under a name: a plain file, a symbolic link, or a submodule, of which it knows the commit alone. */
export interface TreeEntry {
  readonly kind: 'file' | 'link' | 'submodule';
  /** From the repository's folder, with `/`. */
  readonly name: string;
  readonly id: string;
  readonly bytes: number;
}

/**
 * Where a file of a commit lies under a folder. A commit may hold any name, also one that leads out of the folder, which
 * git itself refuses to check out: so is it here.
 */
export function pathUnder(folder: string, name: string): string {
  const parts = name.split('/');
  const unfit = (part: string) =>
    part === '' ||
    part === '.' ||
    part === '..' ||
    part.includes('\0') ||
    (path.sep === '\\' && (/[\\:]/.test(part) || /[. ]$/.test(part)));
  if (parts.some(unfit))
    throw new GitError(`the commit holds ${name}, which leads out of its folder: nothing of it is read`);
  return path.join(folder, ...parts);
}

const KINDS = { '100': 'file', '120': 'link', '160': 'submodule' } as const;

/** All that a commit holds. */
export async function entriesOf(repository: string, commit: string): Promise<TreeEntry[]> {
  const { out, ok, err } = await run(repository, ['ls-tree', '-r', '-z', '-l', '--full-tree', commit]);
  if (!ok) throw new GitError(`git: ${firstLine(err)}`);
  return out
    .toString('utf8')
    .split('\0')
    .flatMap((line) => {
      const found = /^(100|120|160)\d{3} \w+ ([0-9a-f]+) +(\d+|-)\t(.*)$/s.exec(line);
      if (!found) return [];
      const [, mode, id, bytes, name] = found as unknown as [string, keyof typeof KINDS, string, string, string];
      return [{ kind: KINDS[mode], id, bytes: Number(bytes) || 0, name }];
    });
}

/** Whether a repository has a commit, without asking another one for it. */
export async function hasCommit(repository: string, commit: string): Promise<boolean> {
  return (await run(repository, ['cat-file', '-e', `${commit}^{tree}`])).ok;
}

/** What files hold, in order. */
export async function contentsOf(
  repository: string,
  files: readonly Pick<TreeEntry, 'id' | 'bytes' | 'name'>[],
): Promise<Buffer[]> {
  if (files.length === 0) return [];
  const ids = files.map(({ id }) => `${id}\n`).join('');
  const { out, ok, err } = await run(repository, ['cat-file', '--batch'], ids);
  if (!ok) throw new GitError(`git: ${firstLine(err)}`);
  const found: Buffer[] = [];
  let at = 0;
  for (const { name, bytes } of files) {
    const start = out.indexOf(0x0a, at) + 1;
    if (start === 0 || start + bytes > out.length) throw new GitError(`git does not give ${name}`);
    found.push(out.subarray(start, start + bytes));
    at = start + bytes + 1;
  }
  return found;
}

/** Where a path lies in a repository, with `/`; empty for the repository itself. */
export async function placeIn(repository: string, file: string): Promise<string | undefined> {
  const parent = await realpath(path.dirname(file)).catch(() => path.dirname(file));
  const whole = await realpath(file).catch(() => path.join(parent, path.basename(file)));
  return wayWithin(repository, whole)?.split(path.sep).join('/');
}

/**
 * Where a file lies in a repository by the names that lead to it, with `/`: links on the way are a revision's own to
 * follow. Where the names do not lead through the repository's folder, as `placeIn`.
 */
export async function namedIn(repository: string, file: string): Promise<string | undefined> {
  for (let above = path.dirname(file); ; above = path.dirname(above)) {
    if ((await realpath(above).catch(() => undefined)) === repository)
      return path.relative(above, file).split(path.sep).join('/');
    if (above === path.dirname(above)) return placeIn(repository, file);
  }
}

/** Whether a folder is one of a repository by itself, such as a submodule that is checked out. */
export async function isRepository(folder: string): Promise<boolean> {
  const found = await realpath(folder).catch(() => undefined);
  if (found === undefined) return false;
  const { out, ok } = await run(found, ['rev-parse', '--show-cdup']);
  return ok && out.toString('utf8').trim() === '';
}

/** Whether git leaves a file out of what it keeps: it is told to, and has it not all the same. */
export async function isLeftOut(repository: string, name: string): Promise<boolean> {
  return (await run(repository, ['check-ignore', '-z', '--stdin'], `${name}\0`)).out.length > 0;
}

/** Where Git LFS keeps what it keeps apart, by its hash. */
export async function keptApart(repository: string, hash: string): Promise<string> {
  const { out } = await run(repository, ['rev-parse', '--git-common-dir']);
  const folder = path.resolve(repository, out.toString('utf8').trim());
  return path.join(folder, 'lfs', 'objects', hash.slice(0, 2), hash.slice(2, 4), hash);
}

export interface WorkingFiles {
  /** What git keeps and what it would take, as far as it is not deleted; some may be links. */
  readonly names: readonly string[];
  /** Folders that it could not look into. */
  readonly closed: readonly { readonly name: string; readonly why: string }[];
}

/** The files of the working tree as git sees them, with those of submodules that are checked out. */
export async function workingFiles(repository: string, prefix = ''): Promise<WorkingFiles> {
  const listed = async (...args: string[]) => {
    const { out, ok, err } = await run(repository, ['ls-files', '-z', ...args]);
    if (!ok) throw new GitError(`git: ${firstLine(err)}`);
    return {
      names: out
        .toString('utf8')
        .split('\0')
        .filter((name) => name !== ''),
      err,
    };
  };
  const staged = await listed('--stage');
  const deleted = new Set((await listed('--deleted')).names);
  const others = await listed('--others', '--exclude-standard');
  const names = new Set<string>();
  const closed = [...others.err.matchAll(/^warning: could not open directory '(.*?)\/?': (.*)$/gm)].map(
    ([, name, why]) => ({ name: prefix + name, why: (why as string).toLowerCase() }),
  );
  for (const line of staged.names) {
    const [, mode, name] = /^(\d{3})\d{3} [^\t]*\t(.*)$/s.exec(line) ?? [];
    if (mode === '100' && !deleted.has(name as string)) names.add(prefix + name);
    if (mode !== '160' || !(await isRepository(path.join(repository, name as string)))) continue;
    const inside = await workingFiles(path.join(repository, name as string), `${prefix}${name}/`);
    for (const one of inside.names) names.add(one);
    closed.push(...inside.closed);
  }
  // A repository that lies inside and is no submodule is told as a folder.
  for (const name of others.names) if (!name.endsWith('/')) names.add(prefix + name);
  return { names: [...names], closed };
}

/** The files that a commit has under another name: new to old, as far as git follows them to the working tree. */
export async function renamesSince(repository: string, commit: string): Promise<Map<string, string>> {
  const { out, ok, err } = await run(repository, [
    'diff',
    '--name-status',
    '-z',
    '-M',
    '--diff-filter=R',
    commit,
    '--',
  ]);
  if (!ok) throw new GitError(`git: ${firstLine(err)}`);
  const parts = out.toString('utf8').split('\0');
  const renames = new Map<string, string>();
  for (let i = 0; i + 2 < parts.length; i += 3) renames.set(parts[i + 2] as string, parts[i + 1] as string);
  return renames;
}
