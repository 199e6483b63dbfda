/**
 * The files of a session: what is open in the client, what lies on the disk, and the workspace made of both. What is
 * open counts; a file that is closed is again what lies on the disk.
 */
import { TextDocument, type TextDocumentContentChangeEvent } from 'vscode-languageserver-textdocument';
import { URI, Utils } from 'vscode-uri';
import { lineAt, offsetAt, parseFile } from '../grammar/file.ts';
import { applyJoined } from './changes.ts';
import type { Encoding } from './encoding.ts';
import type { Tile } from './flight/index.ts';
import { wantedTiles } from './plan/ground.ts';
import { tasksIn, type Understood, understand } from './plan/understand.ts';
import { wantedBy } from './plan/wanted.ts';
import {
  createWorkspace,
  editFile,
  forgetFile,
  forgetTile,
  forgetUnnamed,
  scopeOf,
  setFile,
  setTile,
  setUnreadable,
  type Unreadable,
  type Workspace,
} from './plan/workspace.ts';

/** What files are called, where links give them several names. */
export interface Links {
  /** The folders whose files may be used. */
  setFolders(folders: readonly string[]): void;
  /** A file is opened, by whatever name. */
  opens(uri: string): void;
  /** The name of a file in those folders; the same for a file outside. */
  uriOf(uri: string): string;
}

/** What a session needs of the disk; elsewhere there may be another. */
export interface Disk {
  /** Reads a plan, and none that lies outside the folders once links are followed. */
  read(uri: string, roots: readonly string[]): Promise<{ readonly text: string } | { readonly why: Unreadable }>;
  /** Reads an elevation tile; without one, ground heights are not known. */
  readTile?(uri: string, roots: readonly string[]): Promise<Tile | Unreadable>;
  /** Where links are known. */
  readonly links?: Links;
  /** Every plan in the folders. */
  list(roots: readonly string[]): Promise<readonly string[]>;
}

const normals = new Map<string, string>();
const MOST_NORMAL = 1000;

/** A URI in one spelling, whatever the client's. */
export function normalUri(uri: string): string {
  let known = normals.get(uri);
  if (known === undefined) {
    // A list of one text would be taken for that text.
    if (typeof uri !== 'string') throw new TypeError('the URI is no text');
    const parsed = URI.parse(uri);
    const { scheme, authority, path } = parsed;
    known = parsed
      .with({
        authority: scheme === 'file' && /^localhost$/i.test(authority) ? '' : authority,
        path: /\/\.\.?(?:\/|$)/.test(path) ? Utils.joinPath(parsed).path : path,
      })
      .toString();
    if (normals.size >= MOST_NORMAL) normals.clear();
    normals.set(uri, known);
  }
  return known;
}

/** The kinds of events that matter here. Source: Language Server Protocol 3.17, `FileChangeType`. */
const CHANGED = 2;
const GONE = 3;

interface FileEvent {
  readonly uri: string;
  readonly type: number;
}

/** Paths below the client's folders that hardly any folder with plans has: hidden ones, and those of files by their ending. */
const NO_FOLDER = /(?:^|\/)\.|\.[^/.]*[a-z][^/.]*$/i;

/** A file that is open in the client. */
export interface OpenFile {
  readonly version: number;
  /** What it holds, where the workspace keeps none of it since it is no text. */
  readonly notText?: string | undefined;
}

/** So many files that cannot be read are known before those that no file names are forgotten. */
const MOST_UNREADABLE = 100;

export class SessionFiles {
  readonly open = new Map<string, OpenFile>();
  readonly workspace: Workspace = createWorkspace([]);
  /** Told of folders that came on the disk. */
  onFolder: () => void = () => {};
  /** Told of files that changed, with every open one that sees them. */
  onChange: (changed: readonly string[]) => void = () => {};
  /** Once every plan of the folders is read, as far as it can be. */
  allRead: Promise<unknown> = Promise.resolve();
  private readonly named = new Map<string, string>();
  private readonly reading = new Map<string, Promise<void>>();
  private readonly readingTiles = new Map<string, Promise<void>>();
  private folders: readonly string[] = [];
  private mostUnreadable = MOST_UNREADABLE;
  private readonly disk: Disk;
  private readonly log: (what: string, error: unknown) => void;

  constructor(disk: Disk, log: (what: string, error: unknown) => void) {
    this.disk = disk;
    this.log = log;
  }

  /** A URI as it is known here: in one spelling, and by the folder that the client opened where links lead there. */
  uriOf(given: string): string {
    const uri = normalUri(given);
    return this.open.has(uri) ? uri : (this.disk.links?.uriOf(uri) ?? uri);
  }

  /** What the client calls a file. */
  nameOf(uri: string): string {
    return this.named.get(uri) ?? uri;
  }

  textOf(uri: string): string | undefined {
    const normal = this.uriOf(uri);
    return this.open.get(normal)?.notText ?? this.workspace.files.get(normal)?.syntax.text;
  }

  /** A line of a file as it stands, without its end. */
  lineOf(uri: string, line: number): string {
    const normal = this.uriOf(uri);
    const file = this.workspace.files.get(normal);
    if (file && !file.notText) return lineAt(file.syntax, line);
    const text = this.open.get(normal)?.notText;
    return text === undefined ? '' : lineAt(parseFile(text), line);
  }

  setFolders(folders: readonly string[]): void {
    this.folders = folders.map(normalUri);
    this.disk.links?.setFolders(this.folders);
    this.updateRoots();
  }

  changeFolders(added: readonly string[], removed: readonly string[]): void {
    const gone = new Set(removed.map(normalUri));
    this.setFolders([...this.folders.filter((uri) => !gone.has(uri)), ...added]);
  }

  /** The folders whose files may be used: the client's, or without any the folder above each open plan's own. */
  private updateRoots(): void {
    const above = (uri: string) => Utils.joinPath(Utils.dirname(URI.parse(uri)), '..').toString();
    const wanted = [...new Set(this.folders.length > 0 ? this.folders : [...this.open.keys()].map(above))];
    const { roots, unreadable } = this.workspace;
    if (wanted.length === roots.length && wanted.every((root, i) => root === roots[i])) return;
    this.workspace.roots = wanted;
    // A file that was outside may be inside now.
    for (const [uri, why] of unreadable) if (why === 'outside') unreadable.delete(uri);
    this.onChange([...this.open.keys()]);
  }

  private read(uri: string): Promise<void> {
    const known = this.reading.get(uri);
    if (known) return known;
    const put = (result: Awaited<ReturnType<Disk['read']>>) => {
      // What was read before the file changed again is not what it holds.
      if (this.open.has(uri) || this.reading.get(uri) !== run) return;
      if ('text' in result) setFile(this.workspace, uri, result.text);
      else {
        setUnreadable(this.workspace, uri, result.why);
        this.tidy();
      }
    };
    const run = this.disk
      .read(uri, this.workspace.roots)
      .then(put, (error: unknown) => {
        this.log(`reading ${uri}`, error);
        put({ why: 'denied' });
      })
      .finally(() => {
        if (this.reading.get(uri) === run) this.reading.delete(uri);
      });
    this.reading.set(uri, run);
    return run;
  }

  /** A path being typed names a file that is not there with every key: those are not kept for ever. */
  private tidy(): void {
    const { unreadable } = this.workspace;
    if (unreadable.size < this.mostUnreadable) return;
    forgetUnnamed(this.workspace);
    this.mostUnreadable = Math.max(MOST_UNREADABLE, 2 * unreadable.size);
  }

  /** Forgets what the disk held; what is being read just now is out of date. */
  private forget(uri: string): void {
    this.reading.delete(uri);
    forgetFile(this.workspace, uri);
  }

  /** A file understood, with all that it uses read; undefined when there is no such file. */
  async ready(uri: string): Promise<Understood | undefined> {
    for (;;) {
      const file = this.workspace.files.get(uri);
      if (!file) return undefined;
      let wanted = wantedBy(this.workspace, [uri]);
      if (wanted.length === 0) {
        const understood = understand(this.workspace, file);
        const tiles = wantedTiles(understood);
        if (tiles.length === 0) return understood;
        // Each is put in, or noted as not there, so that none is wanted twice.
        await Promise.all(tiles.map((tile) => this.readTile(tile)));
        continue;
      }
      while (wanted.length > 0) {
        await Promise.all(wanted.map((other) => this.read(other)));
        wanted = wantedBy(this.workspace, wanted);
      }
    }
  }

  /** An elevation tile, read if it is not known yet. */
  async tile(uri: string): Promise<Tile | Unreadable> {
    for (;;) {
      const known = this.workspace.tiles.get(uri);
      if (known !== undefined) return known;
      await this.readTile(uri);
    }
  }

  private readTile(uri: string): Promise<void> {
    const known = this.readingTiles.get(uri);
    if (known) return known;
    const put = (tile: Tile | Unreadable) => {
      // What was read before the tile changed again is not what it holds: whoever waits for it asks anew.
      if (this.readingTiles.get(uri) === run) setTile(this.workspace, uri, tile);
    };
    const read = async () => (await this.disk.readTile?.(uri, this.workspace.roots)) ?? 'missing';
    const run = read()
      .then(put, (error: unknown) => {
        this.log(`reading ${uri}`, error);
        put('denied');
      })
      .finally(() => {
        if (this.readingTiles.get(uri) === run) this.readingTiles.delete(uri);
      });
    this.readingTiles.set(uri, run);
    return run;
  }

  /** Reads every plan of the folders that is not known yet; `step` is told how far it is. */
  async readAll(step: (done: number, of: number) => void): Promise<void> {
    const all = (await this.disk.list(this.workspace.roots)).filter((uri) => !this.workspace.files.has(uri));
    let done = 0;
    const AT_ONCE = 16;
    for (let i = 0; i < all.length; i += AT_ONCE) {
      await Promise.all(all.slice(i, i + AT_ONCE).map((uri) => this.read(uri)));
      done = Math.min(all.length, i + AT_ONCE);
      step(done, all.length);
    }
  }

  /** The open files that see a file, itself included. */
  private seers(uri: string): string[] {
    return [...this.open.keys()].filter((open) => {
      if (open === uri) return true;
      const file = this.workspace.files.get(open);
      if (!file) return false;
      const { files, wanted } = scopeOf(this.workspace, file);
      return files.some((seen) => seen.uri === uri) || wanted.includes(uri);
    });
  }

  /** The open plans that a file brings in: what they hold may be there for it alone. */
  private brought(uri: string): string[] {
    const file = this.workspace.files.get(uri);
    // Mostly the file is the only one that is open.
    if (!file || this.open.size === (this.open.has(uri) ? 1 : 0)) return [];
    return scopeOf(this.workspace, file).files.flatMap((seen) =>
      seen !== file && this.open.has(seen.uri) && tasksIn(seen.syntax).length > 0 ? [seen.uri] : [],
    );
  }

  /** The open files whose findings may differ once a file does. */
  private concerned(uri: string): string[] {
    return [...this.seers(uri), ...this.brought(uri)];
  }

  didOpen(given: string, version: number, text: string): void {
    this.disk.links?.opens(normalUri(given));
    const uri = this.uriOf(given);
    const before = this.brought(uri);
    this.named.set(uri, given);
    this.put(uri, version, text);
    this.updateRoots();
    this.onChange([...this.concerned(uri), ...before]);
  }

  /** Puts the whole text of an open file in. */
  private put(uri: string, version: number, text: string): void {
    const { notText } = setFile(this.workspace, uri, text);
    this.open.set(uri, { version, notText: notText ? text : undefined });
  }

  didChange(
    given: string,
    version: number,
    changes: readonly TextDocumentContentChangeEvent[],
    encoding: Encoding,
  ): void {
    const uri = this.uriOf(given);
    if (!this.open.has(uri)) return;
    const before = this.brought(uri);
    // Each change is counted in the text that the one before left.
    const apply = (change: TextDocumentContentChangeEvent) => this.change(uri, version, change);
    if (encoding.kind === 'utf-16') applyJoined(changes, (line) => this.lineOf(uri, line), apply);
    else for (const change of changes) apply(encoding.fromClient(change, uri));
    this.open.set(uri, { ...this.open.get(uri), version });
    this.onChange([...this.concerned(uri), ...before]);
  }

  private change(uri: string, version: number, change: TextDocumentContentChangeEvent): void {
    const file = this.workspace.files.get(uri);
    if (!('range' in change)) this.put(uri, version, change.text);
    else if (file && !file.notText) {
      const whole = file.syntax;
      if (editFile(this.workspace, file, change).notText) {
        const { text } = whole;
        const [start, end] = [offsetAt(whole, change.range.start), offsetAt(whole, change.range.end)];
        const notText = text.slice(0, Math.min(start, end)) + change.text + text.slice(Math.max(start, end));
        this.open.set(uri, { version, notText });
      }
    } else this.put(uri, version, TextDocument.update(this.document(uri), [change], version).getText());
  }

  private document(uri: string): TextDocument {
    return TextDocument.create(uri, 'taskplan', 0, this.textOf(uri) ?? '');
  }

  didClose(given: string): void {
    const uri = this.uriOf(given);
    const concerned = this.concerned(uri).filter((one) => one !== uri);
    this.open.delete(uri);
    this.named.delete(uri);
    this.forget(uri);
    this.updateRoots();
    this.read(uri).then(() => this.onChange(this.concerned(uri)));
    this.onChange(concerned);
  }

  /** What came, changed or went on the disk; whether it is of any interest here. */
  didChangeOnDisk(given: readonly FileEvent[]): boolean {
    const touched = new Map<string, boolean>();
    const others = new Map<string, boolean>();
    for (const { uri, type } of given) {
      const known = this.uriOf(uri);
      const isOurs = /\.(?:taskplan|hgt)$/i.test(known);
      if (isOurs || type !== CHANGED) (isOurs ? touched : others).set(known, type === GONE);
    }
    // Of a folder that comes or goes a client tells that alone.
    const { files, unreadable, tiles } = this.workspace;
    for (const uri of others.size > 0
      ? [...files.keys(), ...unreadable.keys(), ...tiles.keys(), ...this.reading.keys()]
      : []) {
      for (let end = uri.lastIndexOf('/'); end > 0; end = uri.lastIndexOf('/', end - 1)) {
        const gone = others.get(uri.slice(0, end));
        if (gone !== undefined && !touched.has(uri)) touched.set(uri, gone);
      }
    }
    const changed = new Set<string>();
    for (const [uri, gone] of touched) this.touch(uri, gone, changed);
    this.onChange([...changed]);
    for (const [uri, gone] of others) {
      const { roots } = this.workspace;
      const root = roots.find((one) => uri.startsWith(one));
      if (gone || root === undefined || NO_FOLDER.test(uri.slice(root.length))) continue;
      this.disk.read(uri, roots).then(
        (found) => 'why' in found && found.why === 'folder' && this.onFolder(),
        () => {},
      );
    }
    return touched.size > 0;
  }

  private touch(uri: string, gone: boolean, changed: Set<string>): void {
    if (this.open.has(uri)) return;
    if (uri.toLowerCase().endsWith('.hgt')) {
      this.readingTiles.delete(uri);
      forgetTile(this.workspace, uri);
      for (const open of this.open.keys()) changed.add(open);
      return;
    }
    for (const one of this.concerned(uri)) changed.add(one);
    // Whoever wanted a missing file sees it now.
    if (this.workspace.unreadable.has(uri)) for (const open of this.open.keys()) changed.add(open);
    this.forget(uri);
    if (!gone) this.read(uri).then(() => this.onChange(this.concerned(uri)));
  }
}
