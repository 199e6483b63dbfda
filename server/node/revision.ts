/** Plans, and all that they use, as a revision of a git repository has them. Nothing is written. */
import { createHash } from 'node:crypto';
import { lstat, readFile, realpath } from 'node:fs/promises';
import path from 'node:path';
import { URI } from 'vscode-uri';
import { cornerOf, decodeTile, TILE_BYTES, type Tile } from '../flight/index.ts';
import { isInside } from '../plan/inside.ts';
import { keptFor } from '../plan/last-few.ts';
import type { Unreadable } from '../plan/workspace.ts';
import { LARGEST_FILE, ON_DISK, type PlanSource, type ReadResult, textOf } from './files.ts';
import { wayWithin } from './folders.ts';
import {
  contentsOf,
  entriesOf,
  hasCommit,
  isLeftOut,
  isRepository,
  keptApart,
  pathUnder,
  type TreeEntry,
  workingFiles,
} from './git.ts';

/** An entry, and the repository that has what it holds: that of a submodule for what lies there. */
interface Kept extends TreeEntry {
  readonly store: string;
}

/** Where a path leads: to what the revision holds, to a file of the disk, or nowhere. */
type Place =
  | { readonly entry: Kept }
  | { readonly disk: string; readonly submodule?: string }
  | { readonly why: Unreadable };

/** So many links lead on from each other at most, as for Linux itself. */
const MOST_LINKS = 40;
/** What git has of a file that is kept apart from it (Git LFS). */
const POINTER = /^version https:\/\/git-lfs\.github\.com\/spec\/v1\n(?:.*\n)*?oid sha256:([0-9a-f]{64})\nsize \d+\n/;
const LONGEST_POINTER = 1024;

/**
 * A revision. Links are followed among what it holds, and submodules are read at the commit that it names. What git is
 * told not to keep, and what lies outside the repository, has no revision: it is taken from the disk as it is now,
 * within the same bounds as ever, and so is a submodule whose commit is not there.
 */
export class Revision implements PlanSource {
  readonly repository: string;
  /** The files that were taken from the disk, and the submodules, by their names, with the commit that is not there. */
  readonly fromDisk = new Set<string>();
  readonly lost = new Map<string, string>();
  /** Files of which there is only a pointer. */
  readonly apart = new Set<string>();
  private readonly entries = new Map<string, Kept>();
  private readonly folders = new Set<string>(['']);
  /** The folders of submodules, by their names. */
  private readonly stores = new Map<string, string>();
  private readonly onDisk = new Set<string>();
  private readonly contents = new Map<string, Buffer>();
  private readonly leftOut = new Map<string, Promise<boolean>>();
  private readonly real = new Map<string, Promise<string>>();

  private constructor(repository: string) {
    this.repository = repository;
  }

  /** A commit of a repository, or a tree. */
  static async of(repository: string, commit: string): Promise<Revision> {
    const revision = new Revision(repository);
    await revision.add(repository, commit, '');
    return revision;
  }

  private async add(store: string, commit: string, prefix: string): Promise<void> {
    const entries = await entriesOf(store, commit);
    // All of them before the first is looked at.
    for (const { name } of entries) pathUnder(store, name);
    for (const entry of entries) {
      const name = prefix + entry.name;
      this.entries.set(name, { ...entry, name, store });
      this.addFolders(name);
      if (entry.kind === 'submodule') await this.addSubmodule(name, entry.id);
    }
  }

  private addFolders(name: string): void {
    for (let at = name.lastIndexOf('/'); at > 0; at = name.lastIndexOf('/', at - 1)) {
      const folder = name.slice(0, at);
      if (this.folders.has(folder)) return;
      this.folders.add(folder);
    }
  }

  private async addSubmodule(name: string, commit: string): Promise<void> {
    const store = pathUnder(this.repository, name);
    // A link in its place may lead anywhere.
    const isThere = (await realpath(store).catch(() => undefined)) === store && (await isRepository(store));
    if (isThere) this.stores.set(name, store);
    if (isThere && (await hasCommit(store, commit))) {
      this.entries.delete(name);
      this.folders.add(name);
      await this.add(store, commit, `${name}/`);
    } else if (isThere) for (const one of (await workingFiles(store, `${name}/`)).names) this.onDisk.add(one);
  }

  /** The files that it holds, by their names from the repository's folder. */
  get names(): readonly string[] {
    const files = [...this.entries.values()].filter(({ kind }) => kind === 'file');
    return [...files.map(({ name }) => name), ...this.onDisk];
  }

  /** Whether a path leads to a file that it holds. */
  async holds(name: string): Promise<boolean> {
    const place = await this.placeOf(path.join(this.repository, ...name.split('/')));
    return 'entry' in place || ('disk' in place && place.submodule !== undefined && this.onDisk.has(name));
  }

  /** The folder of the repository that a file belongs to: that of the submodule that it lies in, or of the whole. */
  folderOf(name: string): string {
    for (let at = name.lastIndexOf('/'); at > 0; at = name.lastIndexOf('/', at - 1)) {
      const store = this.stores.get(name.slice(0, at));
      if (store) return store;
    }
    return this.repository;
  }

  private async placeOf(file: string): Promise<Place> {
    const start = wayWithin(this.repository, file);
    if (start === undefined) return { disk: file };
    const at: string[] = [];
    const rest = start.split(path.sep);
    /** Goes on from another path; says whether that lies in the repository. */
    const goOn = (whole: string): boolean => {
      const way = wayWithin(this.repository, whole);
      if (way === undefined) return false;
      at.length = 0;
      rest.splice(0, rest.length, ...way.split(path.sep));
      return true;
    };
    for (let links = 0; rest.length > 0; ) {
      const step = rest.shift() as string;
      if (step === '' || step === '.') continue;
      if (step === '..') {
        if (at.pop() !== undefined) continue;
        const whole = path.resolve(this.repository, '..', ...rest);
        if (goOn(whole)) continue;
        return { disk: whole };
      }
      at.push(step);
      const name = at.join('/');
      const entry = this.entries.get(name);
      if (!entry && this.folders.has(name)) continue;
      if (!entry) return this.absent(path.posix.normalize([name, ...rest].join('/')));
      if (entry.kind === 'file') return rest.length === 0 ? { entry } : { why: 'missing' };
      if (entry.kind === 'submodule') return { disk: path.join(this.repository, ...at, ...rest), submodule: name };
      if (++links > MOST_LINKS) return { why: 'special' };
      const target = (await this.bytesOf(entry)).toString('utf8');
      at.pop();
      if (!path.isAbsolute(target)) rest.unshift(...target.split('/'));
      else {
        const whole = path.resolve(target, ...rest);
        if (!goOn(whole)) return { disk: whole };
      }
    }
    return { why: 'folder' };
  }

  /** What the revision does not hold is on the disk alone where git is told to leave it out; else it is not there yet. */
  private async absent(name: string): Promise<Place> {
    let asked = '';
    for (const step of name.split('/')) {
      asked = asked === '' ? step : `${asked}/${step}`;
      const found = await lstat(path.join(this.repository, ...asked.split('/'))).catch(() => undefined);
      if (step === '..' || !found) return { why: 'missing' };
      // What lies behind a link is nothing that git knows of.
      if (found.isSymbolicLink()) break;
    }
    const folder = this.folderOf(asked);
    const within = path.relative(folder, path.join(this.repository, asked)).split(path.sep).join('/');
    return (await keptFor(this.leftOut, asked, () => isLeftOut(folder, within)))
      ? { disk: path.join(this.repository, ...name.split('/')) }
      : { why: 'missing' };
  }

  /** What an entry holds. Plans are many and small: they are asked for together. */
  private async bytesOf(entry: Kept): Promise<Buffer> {
    const isPlan = ({ kind, name, bytes, store }: Kept) =>
      kind === 'file' && name.endsWith('.taskplan') && bytes <= LARGEST_FILE && store === entry.store;
    if (!this.contents.has(entry.id)) {
      const wanted = isPlan(entry) ? [...this.entries.values()].filter(isPlan) : [entry];
      const contents = await contentsOf(entry.store, wanted);
      if (!isPlan(entry) && entry.kind === 'file') return contents[0] as Buffer;
      for (const [i, { id }] of wanted.entries()) this.contents.set(id, contents[i] as Buffer);
    }
    return this.contents.get(entry.id) as Buffer;
  }

  /** Whether what the revision holds lies in one of the folders; as on the disk, once links are followed. */
  private async liesIn({ name }: Kept, roots: readonly string[]): Promise<boolean> {
    const realOf = (root: string) =>
      keptFor(this.real, root, () => {
        const folder = URI.parse(root).fsPath;
        return realpath(folder).catch(() => folder);
      });
    const folders = await Promise.all(roots.map(async (root) => URI.file(await realOf(root)).toString()));
    return isInside(URI.file(path.join(this.repository, ...name.split('/'))).toString(), folders);
  }

  private noteDisk(place: { readonly disk: string; readonly submodule?: string }): void {
    const { disk, submodule } = place;
    if (submodule === undefined) this.fromDisk.add(disk);
    else this.lost.set(submodule, (this.entries.get(submodule) as Kept).id);
  }

  async plan(uri: string, roots?: readonly string[]): Promise<ReadResult> {
    const place = await this.placeOf(URI.parse(uri).fsPath);
    if ('why' in place) return place;
    if ('disk' in place) {
      const read = await ON_DISK.plan(URI.file(place.disk).toString(), roots);
      if (!('why' in read) || (place.submodule !== undefined && read.why !== 'outside')) this.noteDisk(place);
      return read;
    }
    const { entry } = place;
    if (roots && !(await this.liesIn(entry, roots))) return { why: 'outside' };
    if (entry.bytes > LARGEST_FILE) return { why: 'too-large' };
    const bytes = await this.whole(entry, await this.bytesOf(entry));
    return bytes ? textOf(bytes) : { why: 'denied' };
  }

  async tile(uri: string, roots: readonly string[]): Promise<Tile | Unreadable> {
    const file = URI.parse(uri).fsPath;
    const place = await this.placeOf(file);
    if ('why' in place) return place.why;
    if ('disk' in place) {
      const read = await ON_DISK.tile(URI.file(place.disk).toString(), roots);
      if (typeof read !== 'string') this.noteDisk(place);
      return read;
    }
    const { entry } = place;
    if (!(await this.liesIn(entry, roots))) return 'outside';
    const corner = cornerOf(path.basename(file));
    const isTile = TILE_BYTES.includes(entry.bytes);
    if (!corner || !(isTile || entry.bytes <= LONGEST_POINTER)) return 'not-text';
    const bytes = await this.whole(entry, await this.bytesOf(entry));
    if (!bytes) return 'denied';
    return (TILE_BYTES.includes(bytes.length) ? decodeTile(bytes, corner) : undefined) ?? 'not-text';
  }

  /** The bytes of a file, also of one that is kept apart from git, where they are on this disk. */
  private async whole(entry: Kept, bytes: Buffer): Promise<Uint8Array | undefined> {
    const [, hash] = bytes.length <= LONGEST_POINTER ? (POINTER.exec(bytes.toString('latin1')) ?? []) : [];
    if (hash === undefined) return bytes;
    const inTree = path.join(this.repository, ...entry.name.split('/'));
    for (const file of [await keptApart(entry.store, hash), inTree]) {
      const found = await lstat(file).catch(() => undefined);
      if (file === inTree && wayWithin(this.repository, await realpath(file).catch(() => '/')) === undefined) continue;
      if (!found?.isFile() || found.size > Math.max(LARGEST_FILE, ...TILE_BYTES)) continue;
      const read = await readFile(file).catch(() => undefined);
      if (read && createHash('sha256').update(read).digest('hex') === hash) return read;
    }
    this.apart.add(entry.name);
    return undefined;
  }
}

/** So many names stand in a sentence. */
const MOST_NAMED = 3;

/** What was not read as revisions have it, in sentences. */
export function notesOf(revisions: readonly Revision[], nameOf: (uri: string) => string): string[] {
  const notes: string[] = [];
  const all = (of: (revision: Revision) => Iterable<string>) => [...new Set(revisions.flatMap((one) => [...of(one)]))];
  const named = (names: readonly string[]) => {
    const more = names.length - MOST_NAMED;
    return `${names.slice(0, MOST_NAMED).join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
  };
  const disk = all(({ fromDisk }) => fromDisk).map((file) => nameOf(URI.file(file).toString()));
  if (disk.length > 0)
    notes.push(
      `${named(disk.sort())}: not kept in this repository, so taken from the disk as ${disk.length > 1 ? 'they are' : 'it is'} now, before the change too`,
    );
  const lost = new Map(revisions.flatMap((one) => [...one.lost].map(([name, id]) => [`${name} ${id}`, { name, id }])));
  for (const { name, id } of lost.values())
    notes.push(
      `the submodule ${name} has no commit ${id.slice(0, 10)} on this disk: what lies there now is taken in its place`,
    );
  const apart = all((one) => one.apart);
  if (apart.length > 0)
    notes.push(
      `${named(apart.sort())}: the revision has a pointer for Git LFS alone, and what it points to is not on this disk`,
    );
  return notes;
}
