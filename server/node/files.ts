/** The file system, for the entry points that have one: reading plans, finding them, and the folder that bounds them. */
import { readFileSync, realpathSync, type Stats, statSync } from 'node:fs';
import path from 'node:path';
import pLimit from 'p-limit';
import { URI } from 'vscode-uri';
import { decode, LARGEST_FILE } from '../bytes.ts';
import { cornerOf, decodeTile, TILE_BYTES, type Tile } from '../flight/index.ts';
import { wantedTiles } from '../plan/ground.ts';
import { isInside } from '../plan/inside.ts';
import { understand } from '../plan/understand.ts';
import { wantedBy } from '../plan/wanted.ts';
import { setFile, setTile, setUnreadable, type Unreadable, type Workspace } from '../plan/workspace.ts';
import { findPlans, repositoryAbove } from './find.ts';
import { wayWithin } from './folders.ts';
import { readFile, realpath, stat } from './promised.ts';

export { decode, LARGEST_FILE };

export type ReadResult = { readonly text: string } | { readonly why: Unreadable };

function whyNot(error: unknown): Unreadable {
  const code = (error as NodeJS.ErrnoException).code;
  if (code === 'ENOENT' || code === 'ENOTDIR' || code === 'ENAMETOOLONG') return 'missing';
  if (code === 'EISDIR') return 'folder';
  if (code === 'ELOOP') return 'special';
  return 'denied';
}

const realKept = new WeakMap<readonly string[], Promise<readonly string[]>>();

/** Whether a file lies in one of the folders once links are followed. */
async function reallyInside(file: string, roots: readonly string[]): Promise<boolean> {
  const real = URI.file(await realpath(file)).toString();
  const known = realKept.get(roots);
  if (known && isInside(real, await known)) return true;
  // A folder that is a link may lead elsewhere by now.
  const folders = Promise.all(roots.map(async (root) => URI.file(await realpath(URI.parse(root).fsPath)).toString()));
  realKept.set(roots, folders);
  folders.catch(() => realKept.delete(roots));
  return isInside(real, await folders);
}

/** What a file is not that no plan is. */
function unfit(found: Stats): Unreadable | undefined {
  if (found.isDirectory()) return 'folder';
  if (!found.isFile()) return 'special';
  return found.size > LARGEST_FILE ? 'too-large' : undefined;
}

/** The text of bytes, where they are one and no more than a plan may have. */
export function textOf(bytes: Uint8Array): ReadResult {
  if (bytes.length > LARGEST_FILE) return { why: 'too-large' };
  const text = decode(bytes);
  return text === undefined ? { why: 'not-text' } : { text };
}

/** A system lets a program have so many files open and no more; one beyond would look as if it may not be read. */
const inTurn = pLimit(32);

/** Reads a plan. With `roots`, one that lies outside them once links are followed is not read. Never throws. */
export function readPlan(uri: string, roots?: readonly string[]): Promise<ReadResult> {
  return inTurn(() => readOne(uri, roots));
}

async function readOne(uri: string, roots: readonly string[] | undefined): Promise<ReadResult> {
  const file = URI.parse(uri).fsPath;
  try {
    if (roots && !(await reallyInside(file, roots))) return { why: 'outside' };
    const why = unfit(await stat(file));
    return why ? { why } : textOf(await readFile(file));
  } catch (error) {
    return { why: whyNot(error) };
  }
}

const realKeptNow = new WeakMap<readonly string[], readonly string[]>();

/** The same for a program that has nothing else to do meanwhile, and thousands of plans to read: it is much faster. */
export function readPlanNow(uri: string, roots?: readonly string[]): ReadResult {
  const file = URI.parse(uri).fsPath;
  try {
    if (roots) {
      const real = URI.file(realpathSync.native(file)).toString();
      let folders = realKeptNow.get(roots);
      if (!folders || !isInside(real, folders)) {
        folders = roots.map((root) => URI.file(realpathSync.native(URI.parse(root).fsPath)).toString());
        realKeptNow.set(roots, folders);
      }
      if (!isInside(real, folders)) return { why: 'outside' };
    }
    const why = unfit(statSync(file));
    return why ? { why } : textOf(readFileSync(file));
  } catch (error) {
    return { why: whyNot(error) };
  }
}

/** Reads an elevation tile, and none outside the folders or of another size than tiles have. Never throws. */
export async function readTile(uri: string, roots: readonly string[]): Promise<Tile | Unreadable> {
  const file = URI.parse(uri).fsPath;
  const corner = cornerOf(path.basename(file));
  try {
    if (!(await reallyInside(file, roots))) return 'outside';
    const found = await stat(file);
    if (found.isDirectory()) return 'folder';
    if (!found.isFile()) return 'denied';
    if (!corner || !TILE_BYTES.includes(found.size)) return 'not-text';
    return decodeTile(await readFile(file), corner) ?? 'not-text';
  } catch (error) {
    return whyNot(error);
  }
}

/** Where plans and elevation tiles are read from: the disk, or a revision. Neither throws for what cannot be read. */
export interface PlanSource {
  /** Reads a plan; with `roots`, none that lies outside them once links are followed. */
  plan(uri: string, roots?: readonly string[]): ReadResult | Promise<ReadResult>;
  tile(uri: string, roots: readonly string[]): Promise<Tile | Unreadable>;
}

export const ON_DISK: PlanSource = { plan: readPlanNow, tile: readTile };

/** Reads the elevation tiles that the tasks of a file ask for and that nobody has looked for yet. */
export async function readTiles(workspace: Workspace, uri: string, from: PlanSource = ON_DISK): Promise<void> {
  for (;;) {
    const file = workspace.files.get(uri);
    const wanted = file ? wantedTiles(understand(workspace, file)) : [];
    if (wanted.length === 0) return;
    for (const other of wanted) setTile(workspace, other, await from.tile(other, workspace.roots));
  }
}

/** Puts what was read into a workspace. */
export function put(workspace: Workspace, uri: string, result: ReadResult): void {
  if ('text' in result) setFile(workspace, uri, result.text);
  else setUnreadable(workspace, uri, result.why);
}

/**
 * Reads every file that a file brings in, directly or through others, and the elevation tiles that its tasks ask for,
 * as far as they are not known yet.
 */
export async function readImports(workspace: Workspace, uri: string, from: PlanSource = ON_DISK): Promise<void> {
  let wanted = wantedBy(workspace, [uri]);
  while (wanted.length > 0) {
    for (const other of wanted) put(workspace, other, await from.plan(other, workspace.roots));
    wanted = wantedBy(workspace, wanted);
  }
  return readTiles(workspace, uri, from);
}

/**
 * The folder whose files a plan may use: the repository that it lies in; else the working folder, where the plan lies
 * inside it; else the folder above the plan's own.
 */
export async function workspaceFolder(file: string, workingFolder: string): Promise<string> {
  const repository = await repositoryAbove(path.dirname(file));
  if (repository !== undefined) return repository;
  if (wayWithin(workingFolder, file) !== undefined) return workingFolder;
  return path.dirname(path.dirname(file));
}

/** The URIs of every plan in the folders, as the command line would find them. */
export async function listPlans(roots: readonly string[]): Promise<string[]> {
  const found = await Promise.all(
    roots.map(async (root) => {
      const folder = URI.parse(root).fsPath;
      const { files } = await findPlans([folder], folder);
      return files.map((file) => URI.file(file).toString());
    }),
  );
  return found.flat();
}
