/** What checks came to, kept in a folder between runs: good for as long as every file that a plan rests on is the same. */
import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { URI } from 'vscode-uri';
import { understand } from '../plan/understand.ts';
import { linksOf, type SourceFile, scopeOf, type Workspace } from '../plan/workspace.ts';
import { readPlan, readTile } from './files.ts';
import { makeFolder } from './folders.ts';
import { writeWhole } from './write.ts';

/** A file by its path from the workspace's folder, and its state: a hash of what it holds, or why it cannot be read. */
export type Dependency = readonly [path: string, state: string];

interface Entry<R> {
  readonly program: string;
  readonly dependencies: readonly Dependency[];
  readonly result: R;
}

export function hashOf(content: string | Uint8Array): string {
  return createHash('sha256').update(content).digest('hex');
}

/** States of files, each read once. */
export class States {
  private readonly known = new Map<string, Promise<string>>();
  private readonly ofFile = new WeakMap<SourceFile, string>();

  /** The state of a plan as it was understood. */
  of(file: SourceFile): string {
    let state = this.ofFile.get(file);
    if (state === undefined) {
      // What is not text is not kept, so it has no hash of its own.
      state = file.notText ? 'not-text' : hashOf(file.syntax.text);
      this.ofFile.set(file, state);
    }
    return state;
  }

  /** The state of a file on disk, seen from a workspace's folder. */
  onDisk(root: string, relative: string): Promise<string> {
    const key = `${root}\0${relative}`;
    let state = this.known.get(key);
    if (!state) {
      state = this.read(root, relative);
      this.known.set(key, state);
    }
    return state;
  }

  private async read(root: string, relative: string): Promise<string> {
    const file = path.join(root, relative);
    const uri = URI.file(file).toString();
    const roots = [URI.file(root).toString()];
    if (relative.endsWith('.taskplan')) {
      const read = await readPlan(uri, roots);
      return 'why' in read ? read.why : read.text.includes('\0') ? 'not-text' : hashOf(read.text);
    }
    const tile = await readTile(uri, roots);
    return typeof tile === 'string' ? tile : hashOf(await readFile(file).catch(() => ''));
  }
}

/** Every file besides itself that the findings of a plan rest on. Undefined when one lies where it cannot be found again. */
export async function dependenciesOf(
  workspace: Workspace,
  uri: string,
  states: States,
): Promise<Dependency[] | undefined> {
  const file = workspace.files.get(uri);
  const root = workspace.roots[0] && URI.parse(workspace.roots[0]).fsPath;
  if (!file || !root) return undefined;
  const relative = (of: string) => path.relative(root, URI.parse(of).fsPath).split(path.sep).join('/');
  const found = new Map<string, string>();
  for (const one of scopeOf(workspace, file).files) {
    if (one !== file) found.set(relative(one.uri), states.of(one));
    for (const { target } of linksOf(workspace, one)) {
      const why = target && workspace.unreadable.get(target);
      if (why) found.set(relative(target), why);
    }
  }
  const terrains = understand(workspace, file).tasks.flatMap(({ surroundings }) => surroundings.terrain ?? []);
  for (const { folders } of terrains) {
    for (const tile of workspace.tiles.keys()) {
      if (!folders.some((folder) => tile.startsWith(`${folder}/`))) continue;
      const at = relative(tile);
      found.set(at, await states.onDisk(root, at));
    }
  }
  return [...found];
}

/** A folder of results. `program` is what made them: with another, none of them holds. What does not fit is none. */
export class ResultCache<R> {
  private readonly folder: string;
  private readonly program: string;
  private readonly fits: (result: unknown) => result is R;
  private readonly states: States;

  private constructor(folder: string, program: string, fits: (result: unknown) => result is R) {
    this.folder = folder;
    this.program = program;
    this.fits = fits;
    this.states = new States();
  }

  static async open<R>(
    folder: string,
    program: string,
    fits: (result: unknown) => result is R,
  ): Promise<ResultCache<R>> {
    makeFolder(folder);
    return new ResultCache<R>(folder, program, fits);
  }

  private place(key: string): string {
    const name = hashOf(key);
    return path.join(this.folder, name.slice(0, 2), `${name.slice(2)}.json`);
  }

  async get(key: string, root: string, text: string): Promise<R | undefined> {
    try {
      const entry = JSON.parse(await readFile(this.place(key), 'utf8')) as Entry<R>;
      if (entry.program !== `${this.program} ${hashOf(text)}`) return undefined;
      for (const [relative, state] of entry.dependencies) {
        if ((await this.states.onDisk(root, relative)) !== state) return undefined;
      }
      return this.fits(entry.result) ? entry.result : undefined;
    } catch {
      return undefined; // none, or one that was spoilt
    }
  }

  async put(key: string, textHash: string, dependencies: readonly Dependency[], result: R): Promise<void> {
    const place = this.place(key);
    const entry: Entry<R> = { program: `${this.program} ${textHash}`, dependencies, result };
    makeFolder(path.dirname(place));
    await writeWhole(place, JSON.stringify(entry));
  }
}
