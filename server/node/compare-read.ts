/** Reads the two sides of a comparison: files and folders from the disk, revisions through git. */
import { stat } from 'node:fs/promises';
import path from 'node:path';
import { URI } from 'vscode-uri';
import { cornerOf, decodeTile, TILE_BYTES } from '../flight/index.ts';
import { wantedTiles } from '../plan/ground.ts';
import { understand } from '../plan/understand.ts';
import {
  createWorkspace,
  linksOf,
  scopeOf,
  setFile,
  setTile,
  setUnreadable,
  type Workspace,
} from '../plan/workspace.ts';
import { decode, LARGEST_FILE, put, readImports, readPlan, workspaceFolder } from './files.ts';
import { findPlans } from './find.ts';
import { contentsOf, filesOf, pathUnder } from './git.ts';

/** A plan that was read, with all that it uses. */
export interface ReadPlan {
  /** What it is called on both sides. */
  readonly name: string;
  readonly uri: string;
  readonly workspace: Workspace;
}

/** What cannot be read: a plan, or a folder that may hold some; the sentence goes on behind the name. */
export interface Unread {
  readonly name: string;
  readonly uri: string;
  readonly why: string;
}

export interface ReadSide {
  readonly plans: readonly ReadPlan[];
  readonly unreadable: readonly Unread[];
}

/** A commit, with the names of all that it holds. */
export interface ReadTree extends ReadSide {
  readonly names: readonly string[];
}

async function readDisk(
  files: readonly string[],
  nameOf: (file: string) => string,
  folder: string,
  given: string | undefined,
): Promise<ReadSide> {
  const workspaces = new Map<string, Workspace>();
  const plans: ReadPlan[] = [];
  const unreadable: Unread[] = [];
  for (const file of files) {
    const root = given ?? (await workspaceFolder(file, folder));
    const workspace = workspaces.get(root) ?? createWorkspace([URI.file(root).toString()]);
    workspaces.set(root, workspace);
    const uri = URI.file(file).toString();
    if (!workspace.files.has(uri)) put(workspace, uri, await readPlan(uri));
    if (workspace.files.has(uri)) {
      await readImports(workspace, uri);
      plans.push({ name: nameOf(file), uri, workspace });
    } else unreadable.push({ name: nameOf(file), uri, why: 'cannot be read' });
  }
  return { plans, unreadable };
}

/**
 * One file under a name, or every plan of a folder under its path from there; undefined where nothing is. `root` is the
 * folder whose files they may use, the repository that each lies in unless it is given.
 */
export async function readPath(
  given: string,
  folder: string,
  name?: string,
  root?: string,
): Promise<ReadSide | undefined> {
  const whole = path.resolve(folder, given);
  const info = await stat(whole).catch(() => undefined);
  if (!info) return undefined;
  if (!info.isDirectory()) return readDisk([whole], () => name ?? given.split(path.sep).join('/'), folder, root);
  const { files, closed } = await findPlans([whole], whole);
  const nameIn = (file: string) => path.relative(whole, file).split(path.sep).join('/');
  const side = await readDisk(files, nameIn, folder, root);
  const shut = closed.map(({ folder: at, why }) => ({
    name: nameIn(at) || '.',
    uri: URI.file(at).toString(),
    why: `cannot be looked into, and may hold plans: ${why}`,
  }));
  return { ...side, unreadable: [...side.unreadable, ...shut] };
}

/** The plans of a commit, with the elevation tiles that it holds. */
export async function readCommit(repository: string, commit: string): Promise<ReadTree> {
  const tree = await filesOf(repository, commit);
  const uriOf = (name: string) => URI.file(pathUnder(repository, name)).toString();
  const workspace = createWorkspace([URI.file(repository).toString()]);
  const unreadable: Unread[] = [];
  const named = tree.filter(({ name }) => name.endsWith('.taskplan'));
  for (const { name } of named.filter(({ bytes }) => bytes > LARGEST_FILE)) {
    setUnreadable(workspace, uriOf(name), 'too-large');
    unreadable.push({ name, uri: uriOf(name), why: `is larger than ${LARGEST_FILE / 1024 / 1024} MB` });
  }
  const files = named.filter(({ bytes }) => bytes <= LARGEST_FILE);
  const contents = await contentsOf(repository, files);
  for (const [i, { name }] of files.entries()) {
    const text = decode(contents[i] as Buffer);
    if (text !== undefined) setFile(workspace, uriOf(name), text);
    else {
      setUnreadable(workspace, uriOf(name), 'not-text');
      unreadable.push({ name, uri: uriOf(name), why: 'is not UTF-8 text' });
    }
  }
  const byUri = new Map(tree.filter(({ name }) => /\.hgt$/i.test(name)).map((file) => [uriOf(file.name), file]));
  const plans = files.flatMap(({ name }): ReadPlan[] => {
    const uri = uriOf(name);
    return workspace.files.has(uri) ? [{ name, uri, workspace }] : [];
  });
  for (const { uri } of plans) {
    for (;;) {
      const file = workspace.files.get(uri);
      if (!file) break;
      for (const other of scopeOf(workspace, file).wanted) setUnreadable(workspace, other, 'missing');
      const tiles = wantedTiles(understand(workspace, file));
      if (tiles.length === 0) break;
      for (const tile of tiles) {
        const found = byUri.get(tile);
        const corner = cornerOf(path.basename(URI.parse(tile).fsPath));
        const fits = found && corner && TILE_BYTES.includes(found.bytes);
        const [bytes] = fits ? await contentsOf(repository, [found]) : [];
        setTile(
          workspace,
          tile,
          bytes && corner ? (decodeTile(bytes, corner) ?? 'not-text') : found ? 'not-text' : 'missing',
        );
      }
    }
  }
  return { plans, unreadable, names: tree.map(({ name }) => name) };
}

/** The files that plans use, directly or through others, by their URIs. */
export function usedBy(plans: readonly ReadPlan[]): ReadonlySet<string> {
  const used = plans.flatMap(({ workspace, uri }) => {
    const file = workspace.files.get(uri);
    const files = file ? scopeOf(workspace, file).files : [];
    return files.flatMap((one) => linksOf(workspace, one).flatMap(({ target }) => target ?? []));
  });
  return new Set(used);
}

/** Whether two plans, with all that they use, are the same text; never so with terrain, of which the tiles may differ. */
export function isUnchanged(one: ReadPlan, other: ReadPlan): boolean {
  const texts = ({ workspace, uri }: ReadPlan): string[] | undefined => {
    const file = workspace.files.get(uri);
    if (!file) return undefined;
    const { files } = scopeOf(workspace, file);
    if (files.some(({ syntax }) => syntax.trees.some(({ form }) => form?.keyword === 'terrain'))) return undefined;
    return files.map(({ syntax }) => syntax.text);
  };
  const before = texts(one);
  const after = texts(other);
  return before !== undefined && after?.length === before.length && before.every((text, i) => text === after[i]);
}
