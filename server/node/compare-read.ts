/** Reads the two sides of a comparison: files and folders from the disk, revisions through git. */
import { lstat, stat } from 'node:fs/promises';
import path from 'node:path';
import { URI } from 'vscode-uri';
import { createWorkspace, linksOf, scopeOf, type Unreadable, type Workspace } from '../plan/workspace.ts';
import { ON_DISK, type PlanSource, put, readImports, workspaceFolder } from './files.ts';
import { findPlans, isPattern, matching, patternFolder } from './find.ts';
import { wayWithin } from './folders.ts';
import { GitError, placeIn, type WorkingFiles, workingFiles } from './git.ts';
import { Revision } from './revision.ts';

/** A plan that was read, with all that it uses. */
export interface ReadPlan {
  /** What it is called on both sides. */
  readonly name: string;
  readonly uri: string;
  readonly workspace: Workspace;
}

/** What cannot be read: a plan or what one uses, and why, or a folder that may hold some, and a sentence behind its name. */
export interface Unread {
  readonly name: string;
  readonly why: Unreadable | { readonly said: string };
}

export interface ReadSide {
  readonly plans: readonly ReadPlan[];
  readonly unreadable: readonly Unread[];
}

/** What is there and holds no plan that one could read; the rest is told where it is used. */
const UNFIT: ReadonlySet<Unreadable> = new Set(['denied', 'too-large', 'not-text']);

/** Reads plans, by their whole paths, with all that they use. */
async function readSide(
  files: readonly string[],
  nameOf: (file: string) => string,
  rootOf: (file: string) => string | Promise<string>,
  from: PlanSource,
): Promise<ReadSide> {
  const workspaces = new Map<string, Workspace>();
  const plans: ReadPlan[] = [];
  const unreadable = new Map<string, Unread>();
  for (const file of files) {
    const root = await rootOf(file);
    const workspace = workspaces.get(root) ?? createWorkspace([URI.file(root).toString()]);
    workspaces.set(root, workspace);
    const uri = URI.file(file).toString();
    // One that is asked for may lie wherever it likes.
    if (!workspace.files.has(uri)) put(workspace, uri, await from.plan(uri));
    if (workspace.files.has(uri)) {
      await readImports(workspace, uri, from);
      plans.push({ name: nameOf(file), uri, workspace });
    } else unreadable.set(uri, { name: nameOf(file), why: workspace.unreadable.get(uri) ?? 'denied' });
  }
  for (const { workspace, uri } of plans)
    for (const [used, why] of unfitFor(workspace, uri))
      if (!unreadable.has(used)) unreadable.set(used, { name: nameOf(URI.parse(used).fsPath), why });
  return { plans, unreadable: [...unreadable.values()] };
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
  const rootOf = (file: string) => root ?? workspaceFolder(file, folder);
  if (!info.isDirectory()) {
    const called = name ?? given.split(path.sep).join('/');
    const nameOf = (file: string) => (file === whole ? called : path.relative(folder, file).split(path.sep).join('/'));
    return readSide([whole], nameOf, rootOf, ON_DISK);
  }
  const { files, closed } = await findPlans([whole], whole);
  const nameIn = (file: string) => path.relative(whole, file).split(path.sep).join('/');
  const side = await readSide(files, nameIn, rootOf, ON_DISK);
  const shut = closed.map(({ folder: at, why }) => ({ name: nameIn(at) || '.', why: { said: closedWhy(why) } }));
  return { ...side, unreadable: [...side.unreadable, ...shut] };
}

const closedWhy = (why: string) => `cannot be looked into, and may hold plans: ${why}`;

/** A side of a comparison by git: a revision, or the working tree. */
export type GitSide = Revision | WorkingFiles;

/** The working tree, or a commit. */
export function gitSide(repository: string, commit: string | undefined): Promise<GitSide> {
  return commit === undefined ? workingFiles(repository) : Revision.of(repository, commit);
}

/** Whether a file, by its name from the repository's folder, is one of those that paths ask for. */
export type IsAsked = (name: string) => boolean;

const liesIn = (name: string, place: string) => place === '' || name === place || name.startsWith(`${place}/`);
const isPlan = (name: string) => name.endsWith('.taskplan');

/** What paths ask for, among the files of both sides; throws for one that asks for nothing on either. */
export async function askedOf(
  paths: readonly string[],
  folder: string,
  repository: string,
  sides: readonly GitSide[],
): Promise<{ readonly isAsked: IsAsked; readonly places: readonly string[] }> {
  const asked: IsAsked[] = [];
  const places: string[] = [];
  const names = sides.flatMap((side) => side.names);
  const isDiskSide = sides.some((side) => !(side instanceof Revision));
  for (const given of paths) {
    const whole = path.resolve(folder, given);
    const place = await placeIn(repository, whole);
    const onDisk = isDiskSide && (await lstat(whole).catch(() => undefined));
    if (place !== undefined && (onDisk || names.some((name) => liesIn(name, place)))) {
      places.push(place);
      // A file that is named is taken whatever its ending.
      asked.push((name) => name === place || (isPlan(name) && liesIn(name, place)));
      continue;
    }
    const isGlob = place === undefined ? !onDisk && isPattern(given) : isPattern(given);
    const from = isGlob ? path.resolve(folder, patternFolder(given)) : whole;
    const at = await placeIn(repository, from);
    if (at === undefined) throw new GitError(`${given} lies outside the repository ${repository}`);
    const inside = names.map((name) => path.join(repository, ...name.split('/')));
    const found = isGlob ? await matching(given, path.join(repository, ...at.split('/')), inside) : [];
    if (found.length === 0) throw new GitError(`${given}: no such file or folder, neither before nor after`);
    places.push(at);
    const taken = new Set(found.map((file) => (wayWithin(repository, file) as string).split(path.sep).join('/')));
    asked.push((name) => taken.has(name));
  }
  return { isAsked: paths.length === 0 ? isPlan : (name) => asked.some((is) => is(name)), places };
}

/** Reads the plans of a side that are asked for; `root` is the folder whose files they may use, if one is given. */
export async function readGitSide(
  side: GitSide,
  repository: string,
  { isAsked, places }: { readonly isAsked: IsAsked; readonly places: readonly string[] },
  root: string | undefined,
): Promise<ReadSide> {
  const fileOf = (name: string) => path.join(repository, ...name.split('/'));
  const nameOf = (file: string) => (wayWithin(repository, file) ?? file).split(path.sep).join('/');
  const names = [...new Set(side.names.filter(isAsked))];
  if (side instanceof Revision) {
    const rootOf = (file: string) => root ?? side.folderOf(nameOf(file));
    return readSide(names.sort().map(fileOf), nameOf, rootOf, side);
  }
  // One that is named counts also where git keeps it not; a link is no plan of its own.
  const named = places.filter((place) => place !== '' && isAsked(place) && !names.includes(place));
  const isFile = async (file: string) => (await lstat(file).catch(() => undefined))?.isFile();
  const files: string[] = [];
  for (const file of [...names, ...named].sort().map(fileOf)) if (await isFile(file)) files.push(file);
  const read = await readSide(files, nameOf, (file) => root ?? workspaceFolder(file, repository), ON_DISK);
  // A folder that could not be looked into may hold what is asked for.
  const closed = side.closed.filter(({ name }) =>
    places.length === 0 ? true : places.some((place) => liesIn(place, name) || liesIn(name, place)),
  );
  const shut = closed.map(({ name, why }) => ({ name, why: { said: closedWhy(why) } }));
  return { ...read, unreadable: [...read.unreadable, ...shut] };
}

/** The files that a plan uses, directly or through others, that are there and cannot be read, by their URIs, and why. */
export function unfitFor(workspace: Workspace, uri: string): ReadonlyMap<string, Unreadable> {
  const file = workspace.files.get(uri);
  const files = file && workspace.unreadable.size > 0 ? scopeOf(workspace, file).files : [];
  const unfit = new Map<string, Unreadable>();
  for (const one of files) {
    for (const { target } of linksOf(workspace, one)) {
      const why = target && workspace.unreadable.get(target);
      if (why && UNFIT.has(why)) unfit.set(target, why);
    }
  }
  return unfit;
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
