/**
 * The files of a workspace as far as they are known, and how they bring each other in. It reads nothing itself: what
 * is wanted and not there yet is listed, and whoever has the files hands them in.
 */
import { URI, Utils } from 'vscode-uri';
import {
  changedSince,
  type EntryPool,
  editFile as editSyntax,
  type FileSyntax,
  indexOfEntry,
  type LinePosition,
  offsetAt,
  type PlacedEntry,
  parseFile,
} from '../../grammar/file.ts';
import { picking } from '../../grammar/pick.ts';
import type { EntrySyntax, LineSyntax, Span } from '../../grammar/syntax.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import type { Tile } from '../flight/index.ts';
import { isInside } from './inside.ts';
import { keptFor } from './last-few.ts';
import { type Meaning, meaningOf } from './meaning.ts';

/** Why a file could not be read. */
export type Unreadable = 'missing' | 'folder' | 'special' | 'denied' | 'too-large' | 'not-text' | 'outside';

export interface SourceFile {
  readonly uri: string;
  readonly syntax: FileSyntax;
  /** Not text, though it could be read: it is not looked at further. */
  readonly notText: boolean;
}

export interface Workspace {
  /** Folders, as URIs; a file outside them is not brought in. */
  roots: readonly string[];
  readonly files: Map<string, SourceFile>;
  readonly unreadable: Map<string, Unreadable>;
  /** Elevation tiles by their URI, or why there is none; another map whenever one changes. */
  tiles: ReadonlyMap<string, Tile | Unreadable>;
  /** Entries that many files may share, where thousands of plans are read that are much alike. */
  readonly pool?: EntryPool;
  /** Whether it holds what some plans need, and not every plan there is: who else uses a file is not known then. */
  readonly inPart?: boolean;
}

export function createWorkspace(roots: readonly string[]): Workspace {
  return { roots, files: new Map(), unreadable: new Map(), tiles: new Map() };
}

/** Puts an elevation tile in, or why it cannot be read. */
export function setTile(workspace: Workspace, uri: string, tile: Tile | Unreadable): void {
  workspace.tiles = new Map(workspace.tiles).set(uri, tile);
}

/** Forgets an elevation tile, so that it is wanted again. */
export function forgetTile(workspace: Workspace, uri: string): void {
  if (!workspace.tiles.has(uri)) return;
  const tiles = new Map(workspace.tiles);
  tiles.delete(uri);
  workspace.tiles = tiles;
}

const EMPTY = parseFile('');

/** Puts a file in, or its new text; entries whose text is unchanged stay the same objects. */
export function setFile(workspace: Workspace, uri: string, text: string): SourceFile {
  const before = workspace.files.get(uri);
  if (before?.syntax.text === text && !before.notText) return before;
  if (before && !before.notText) return putChanged(workspace, uri, parseFile(text, before.syntax), text);
  const notText = text.includes('\0');
  return put(workspace, { uri, syntax: notText ? EMPTY : parseFile(text, undefined, workspace.pool), notText });
}

/** A stretch of a text, from one position up to another, and what takes its place. */
export interface Replacement {
  readonly range: { readonly start: LinePosition; readonly end: LinePosition };
  readonly text: string;
}

/** Edits a file that is text, at the cost of what changes. */
export function editFile(workspace: Workspace, file: SourceFile, { range, text }: Replacement): SourceFile {
  const one = offsetAt(file.syntax, range.start);
  const other = offsetAt(file.syntax, range.end);
  const syntax = editSyntax(file.syntax, Math.min(one, other), Math.max(one, other), text);
  return putChanged(workspace, file.uri, syntax, text);
}

const settledIn = new WeakMap<Workspace, Map<string, FileSyntax>>();

/**
 * Notes that what can be known of these files is known. What comes after several edits is then told as one change since:
 * a burst of edits costs one look at what they changed.
 */
export function settle(workspace: Workspace, files: readonly SourceFile[]): void {
  let settled = settledIn.get(workspace);
  if (!settled) {
    settled = new Map();
    settledIn.set(workspace, settled);
  }
  for (const { uri, syntax } of files) settled.set(uri, syntax);
}

/** Puts in what a file that is text became; `come` holds what came. */
function putChanged(workspace: Workspace, uri: string, changed: FileSyntax, come: string): SourceFile {
  const settled = settledIn.get(workspace)?.get(uri);
  const syntax = settled ? changedSince(settled, changed) : changed;
  const notText = come.includes('\0');
  return put(workspace, { uri, syntax: notText ? EMPTY : syntax, notText });
}

function put(workspace: Workspace, file: SourceFile): SourceFile {
  workspace.files.set(file.uri, file);
  workspace.unreadable.delete(file.uri);
  usersKept.get(workspace)?.stale.add(file.uri);
  return file;
}

export function setUnreadable(workspace: Workspace, uri: string, why: Unreadable): void {
  forgetFile(workspace, uri);
  workspace.unreadable.set(uri, why);
}

export function forgetFile(workspace: Workspace, uri: string): void {
  workspace.files.delete(uri);
  workspace.unreadable.delete(uri);
  settledIn.get(workspace)?.delete(uri);
  usersKept.get(workspace)?.stale.add(uri);
}

/** An entry of some file. */
export interface Defined {
  readonly file: SourceFile;
  readonly placed: PlacedEntry;
  readonly meaning: Meaning;
}

/** An entry of a file as it is there; where it stands is looked for when it is asked. */
class Definition implements Defined {
  readonly file: SourceFile;
  readonly meaning: Meaning;

  constructor(file: SourceFile, entry: EntrySyntax) {
    this.file = file;
    this.meaning = meaningOf(entry);
  }

  get placed(): PlacedEntry {
    const { syntax } = this.file;
    return syntax.placed.at(indexOfEntry(syntax, this.meaning.entry)) as PlacedEntry;
  }
}

/** The entries of one kind in a file, by name; those of one name in the order of the text, and so are the names. */
export interface NameTable {
  get(name: string): readonly Defined[] | undefined;
  has(name: string): boolean;
  keys(): IterableIterator<string>;
  values(): readonly (readonly Defined[])[];
  [Symbol.iterator](): Iterator<readonly [string, readonly Defined[]]>;
  /** The first entry of each name, in the same order; nothing is made for each. */
  firsts(): readonly EntrySyntax[];
  /** The names that stand for more than one entry, in any order. */
  repeated(): readonly string[];
}

export interface FileTable {
  get(namespace: Namespace): NameTable | undefined;
  has(namespace: Namespace): boolean;
  values(): readonly NameTable[];
}

type Names = ReadonlyMap<Namespace, ReadonlyMap<string, readonly EntrySyntax[]>>;

const NO_NAMES: ReadonlyMap<string, readonly EntrySyntax[]> = new Map();

/** So many names may differ from the names as they were last listed; then they are listed anew. */
const MOST_CHANGED = 100;

/** Names as they were listed for some text, and those that differ since. */
interface NamesKnown {
  listed: Names;
  /** No name came, went or moved since: the order of the names is that of the list. */
  isInOrder: boolean;
  readonly changed: Map<Namespace, Map<string, readonly EntrySyntax[]>>;
}

/** The names of a file. */
class Table implements FileTable {
  readonly known: NamesKnown;
  private readonly file: SourceFile;
  /** How many names were changed when this table was made. */
  private count = 0;

  constructor(file: SourceFile, before: NamesKnown | undefined) {
    this.file = file;
    const { change } = file.syntax;
    if (!before || !change || change.removed.length + change.added.length > MOST_CHANGED) {
      this.known = { listed: namesOf(file), isInOrder: true, changed: new Map() };
      return;
    }
    const [gone, come] = [change.removed.map(nameOf), change.added.map(nameOf)];
    const isInOrder =
      before.isInOrder &&
      gone.length === come.length &&
      gone.every((one, i) => one?.name === come[i]?.name && one?.namespace === come[i]?.namespace);
    this.known = { listed: before.listed, isInOrder, changed: new Map() };
    for (const [namespace, names] of before.changed) {
      this.known.changed.set(namespace, new Map(names));
      this.count += names.size;
    }
    for (const entry of change.removed) this.put(entry, (alike) => alike.filter((one) => one !== entry));
    for (const entry of change.added) this.put(entry, (alike) => [...alike, entry]);
    if (this.count > MOST_CHANGED) this.list();
  }

  private put(entry: EntrySyntax, to: (alike: readonly EntrySyntax[]) => readonly EntrySyntax[]): void {
    const named = nameOf(entry);
    if (!named) return;
    const { namespace, name } = named;
    const { changed } = this.known;
    const names = changed.get(namespace) ?? new Map<string, readonly EntrySyntax[]>();
    changed.set(namespace, names);
    const alike = to(this.entries(namespace, name));
    const { syntax } = this.file;
    names.set(
      name,
      alike.length < 2 ? alike : alike.toSorted((a, b) => indexOfEntry(syntax, a) - indexOfEntry(syntax, b)),
    );
  }

  /** Lists the names as they stand. */
  private list(): Names {
    const { known } = this;
    if (!known.isInOrder || this.count > MOST_CHANGED) {
      known.listed = namesOf(this.file);
      known.isInOrder = true;
      known.changed.clear();
      this.count = 0;
    }
    return known.listed;
  }

  entries(namespace: Namespace, name: string): readonly EntrySyntax[] {
    const { changed, listed } = this.known;
    return changed.get(namespace)?.get(name) ?? listed.get(namespace)?.get(name) ?? NONE;
  }

  get(namespace: Namespace): NameTable {
    return new NamesOfKind(this, this.file, namespace);
  }

  all(namespace: Namespace): ReadonlyMap<string, readonly EntrySyntax[]> {
    const listed = this.list().get(namespace) ?? new Map();
    const changed = this.known.changed.get(namespace);
    if (!changed || changed.size === 0) return listed;
    const made = new Map(listed);
    for (const [name, alike] of changed) made.set(name, alike);
    return made;
  }

  names(namespace: Namespace): IterableIterator<string> {
    // Once a name came or went the list is made anew, so that it holds every name.
    return (this.list().get(namespace) ?? NO_NAMES).keys();
  }

  firsts(namespace: Namespace): EntrySyntax[] {
    const found: EntrySyntax[] = [];
    // Once a name came or went the list is made anew, so that it holds every name.
    const listed = this.list().get(namespace);
    const changed = this.known.changed.get(namespace);
    for (const [name, alike] of listed ?? []) {
      const [first] = changed?.get(name) ?? alike;
      if (first) found.push(first);
    }
    return found;
  }

  has(namespace: Namespace): boolean {
    return this.list().has(namespace);
  }

  repeated(namespace: Namespace): string[] {
    const changed = this.known.changed.get(namespace);
    const listed = this.known.listed.get(namespace);
    const found = (listed ? repeatedIn(listed) : []).filter((name) => !changed?.has(name));
    for (const [name, { length }] of changed ?? []) if (length > 1) found.push(name);
    return found;
  }

  values(): NameTable[] {
    return [...this.list().keys()].map((namespace) => this.get(namespace));
  }
}

class NamesOfKind implements NameTable {
  private readonly table: Table;
  private readonly file: SourceFile;
  private readonly namespace: Namespace;

  constructor(table: Table, file: SourceFile, namespace: Namespace) {
    this.table = table;
    this.file = file;
    this.namespace = namespace;
  }

  private defined(entries: readonly EntrySyntax[]): Defined[] {
    return entries.map((entry) => new Definition(this.file, entry));
  }

  get(name: string): readonly Defined[] | undefined {
    const entries = this.table.entries(this.namespace, name);
    return entries.length === 0 ? undefined : this.defined(entries);
  }

  has(name: string): boolean {
    return this.table.entries(this.namespace, name).length > 0;
  }

  keys(): IterableIterator<string> {
    return this.table.names(this.namespace);
  }

  values(): readonly (readonly Defined[])[] {
    return [...this.table.all(this.namespace).values()].map((entries) => this.defined(entries));
  }

  *[Symbol.iterator](): Iterator<readonly [string, readonly Defined[]]> {
    for (const [name, entries] of this.table.all(this.namespace)) yield [name, this.defined(entries)];
  }

  firsts(): readonly EntrySyntax[] {
    return this.table.firsts(this.namespace);
  }

  repeated(): readonly string[] {
    return this.table.repeated(this.namespace);
  }
}

const NONE: readonly EntrySyntax[] = [];

const repeatedKept = new WeakMap<ReadonlyMap<string, readonly EntrySyntax[]>, readonly string[]>();

function repeatedIn(names: ReadonlyMap<string, readonly EntrySyntax[]>): readonly string[] {
  let known = repeatedKept.get(names);
  if (!known) {
    known = [...names].flatMap(([name, { length }]) => (length > 1 ? [name] : []));
    repeatedKept.set(names, known);
  }
  return known;
}

/** By what name an entry is known; undefined for one that has none. */
function nameOf({
  form,
  head,
  name,
}: EntrySyntax): { readonly namespace: Namespace; readonly name: string } | undefined {
  return form?.namespace && head && name && name.text !== ''
    ? { namespace: form.namespace, name: name.text }
    : undefined;
}

function namesOf(file: SourceFile): Names {
  const table = new Map<Namespace, Map<string, EntrySyntax[]>>();
  for (const syntax of file.syntax.trees) {
    const named = nameOf(syntax);
    if (!named) continue;
    const names = table.get(named.namespace) ?? new Map<string, EntrySyntax[]>();
    table.set(named.namespace, names);
    const alike = names.get(named.name);
    if (alike) alike.push(syntax);
    else names.set(named.name, [syntax]);
  }
  return table;
}

const tables = new WeakMap<SourceFile, Table>();
/** By the `self` of a file, for the next one; without the file, or each would keep the one before it. */
const namesBefore = new WeakMap<object, NamesKnown>();

function tableFor(file: SourceFile): Table {
  let known = tables.get(file);
  if (!known) {
    const { self, change } = file.syntax;
    known = new Table(file, change && namesBefore.get(change.before));
    tables.set(file, known);
    namesBefore.set(self, known.known);
  }
  return known;
}

/** An entry of a file as one that is defined there. */
export function definedIn(file: SourceFile, entry: EntrySyntax): Defined {
  return new Definition(file, entry);
}

/** The named entries of one file, by kind and name. */
export function tableOf(file: SourceFile): FileTable {
  return tableFor(file);
}

/** Why a path in a `use` or `terrain` line leads nowhere. */
export type PathFault = 'empty' | 'absolute' | 'backslash' | 'ending' | 'outside' | 'itself';

/** A `use` line and where it leads. */
export interface UseLink {
  readonly entry: EntrySyntax;
  readonly line: LineSyntax;
  readonly path: string;
  readonly span: Span;
  readonly target: string | undefined;
  readonly fault: PathFault | undefined;
}

/** The last part of a URI's path, as people write it. */
export function fileName(uri: string): string {
  return Utils.basename(URI.parse(uri));
}

/** The URI that a path in the file `from` leads to, or why it leads nowhere. */
export function resolvePath(
  from: string,
  path: string,
  roots: readonly string[],
): { uri: string } | { fault: PathFault } {
  if (path.trim() === '') return { fault: 'empty' };
  if (path.includes('\\')) return { fault: 'backslash' };
  if (path.startsWith('/') || /^[A-Za-z][A-Za-z0-9+.-]*:/.test(path)) return { fault: 'absolute' };
  const base = URI.parse(from);
  // An untitled file lies nowhere, so a path beside it leads nowhere.
  if (!base.path.startsWith('/')) return { fault: 'outside' };
  // Half a character, as an edit may leave it, cannot be part of a URI.
  const uri = Utils.joinPath(Utils.dirname(base), path.toWellFormed()).toString();
  return isInside(uri, roots) ? { uri } : { fault: 'outside' };
}

const usesIn = picking(({ form }) => form?.keyword === 'use');

const linksKept = new WeakMap<SourceFile, { roots: readonly string[]; links: readonly UseLink[] }>();

/** The `use` lines of a file that name a path. */
export function linksOf(workspace: Workspace, file: SourceFile): readonly UseLink[] {
  const known = linksKept.get(file);
  if (known?.roots === workspace.roots) return known.links;
  const links: UseLink[] = [];
  for (const syntax of usesIn(file.syntax)) {
    const meaning = meaningOf(syntax);
    if (meaning.kind !== 'use' || !meaning.path) continue;
    const { value: path, line, span } = meaning.path;
    const resolved = resolvePath(file.uri, path, workspace.roots);
    const written = { entry: syntax, line, path, span };
    if ('fault' in resolved) links.push({ ...written, target: undefined, fault: resolved.fault });
    else if (resolved.uri === file.uri) links.push({ ...written, target: undefined, fault: 'itself' });
    else if (!path.endsWith('.taskplan')) links.push({ ...written, target: undefined, fault: 'ending' });
    else links.push({ ...written, target: resolved.uri, fault: undefined });
  }
  linksKept.set(file, { roots: workspace.roots, links });
  return links;
}

/** Forgets why files cannot be read that no file names any more, such as those of a path while it was typed. */
export function forgetUnnamed(workspace: Workspace): void {
  const named = new Set<string>();
  for (const file of workspace.files.values())
    for (const { target } of linksOf(workspace, file)) if (target) named.add(target);
  for (const uri of workspace.unreadable.keys()) if (!named.has(uri)) workspace.unreadable.delete(uri);
}

/** What a file sees: itself, then every file it brings in, directly or through others. */
export interface Scope {
  readonly files: readonly SourceFile[];
  /** Files that are wanted and neither known nor known to be unreadable. */
  readonly wanted: readonly string[];
}

/** The scope of a file, by a walk that a cycle cannot trap. */
export function scopeOf(workspace: Workspace, file: SourceFile): Scope {
  const files: SourceFile[] = [];
  const wanted: string[] = [];
  const seen = new Set([file.uri]);
  const toVisit: SourceFile[] = [file];
  for (let next = toVisit.pop(); next; next = toVisit.pop()) {
    files.push(next);
    const found: SourceFile[] = [];
    for (const { target } of linksOf(workspace, next)) {
      if (!target || seen.has(target)) continue;
      seen.add(target);
      const known = workspace.files.get(target);
      if (known) found.push(known);
      else if (!workspace.unreadable.has(target)) wanted.push(target);
    }
    toVisit.push(...found.reverse());
  }
  return { files, wanted };
}

/** Which files name which in their `use` lines. */
interface Users {
  readonly roots: readonly string[];
  /** Those that name a file, and those that a file names. */
  readonly of: Map<string, Set<string>>;
  readonly targets: Map<string, readonly string[]>;
  /** Files that came, changed or went since. */
  readonly stale: Set<string>;
}

const usersKept = new WeakMap<Workspace, Users>();

/** The files that bring a file in, directly or through others, without itself; none where they are not all known. */
export function usersOf(workspace: Workspace, uri: string): SourceFile[] {
  if (workspace.inPart) return [];
  const { files, roots } = workspace;
  let known = usersKept.get(workspace);
  if (known?.roots !== roots) {
    known = { roots, of: new Map(), targets: new Map(), stale: new Set(files.keys()) };
    usersKept.set(workspace, known);
  }
  const { of, targets, stale } = known;
  for (const one of stale) {
    for (const target of targets.get(one) ?? []) of.get(target)?.delete(one);
    const file = files.get(one);
    const named = file ? linksOf(workspace, file).flatMap(({ target }) => target ?? []) : [];
    if (named.length > 0) targets.set(one, named);
    else targets.delete(one);
    for (const target of named) of.set(target, (of.get(target) ?? new Set()).add(one));
  }
  stale.clear();
  const seen = new Set([uri]);
  for (const one of seen) for (const user of of.get(one) ?? []) seen.add(user);
  seen.delete(uri);
  return [...seen].flatMap((one) => files.get(one) ?? []);
}

/** Whether a file brings in `to`, directly or through others. */
export function reaches(workspace: Workspace, from: string, to: string): boolean {
  const file = workspace.files.get(from);
  return file !== undefined && (from === to || scopeOf(workspace, file).files.some((f) => f.uri === to));
}

/** Every entry of this name that a scope holds, the nearest first. */
export function lookUp(scope: Scope, namespace: Namespace, name: string): Defined[] {
  const found: Defined[] = [];
  for (const file of scope.files)
    for (const entry of tableFor(file).entries(namespace, name)) found.push(new Definition(file, entry));
  return found;
}

/** Whether some entry of this name is as `fits` says. */
export function someOf(
  scope: Scope,
  namespace: Namespace,
  name: string,
  fits: (entry: EntrySyntax) => boolean,
): boolean {
  return scope.files.some((file) => tableFor(file).entries(namespace, name).some(fits));
}

/** The nearest entry of this name with its file; undefined for none. */
export function nearestOf(
  scope: Scope,
  namespace: Namespace,
  name: string,
): { readonly file: SourceFile; readonly entry: EntrySyntax } | undefined {
  for (const file of scope.files) {
    const [entry] = tableFor(file).entries(namespace, name);
    if (entry) return { file, entry };
  }
  return undefined;
}

/** A scope when its names were looked up. */
export interface NamesSeen {
  /** A number for the text of each of its files. */
  readonly texts: readonly number[];
}

/** Numbers for texts, by the `self` of a file: what notes a text by its number holds nothing that is known of it. */
const numbersOfTexts = new WeakMap<object, number>();
let texts = 0;
const numberOf = (self: object): number => keptFor(numbersOfTexts, self, () => ++texts);

const seenKept = new WeakMap<Scope, NamesSeen>();

/** Stands for a scope as it is, to be asked later which names changed since. */
export function namesSeen(scope: Scope): NamesSeen {
  return keptFor(seenKept, scope, () => ({ texts: scope.files.map(({ syntax }) => numberOf(syntax.self)) }));
}

/** What was asked for last of a scope: most that asks was seen at one time. Not kept with it, so that no state holds all before. */
const changedKept = new WeakMap<
  Scope,
  { readonly before: NamesSeen; readonly names: ReadonlySet<string> | undefined }
>();

/**
 * The names that may mean something else than when a scope was seen, of every kind: those of entries that came, went or
 * changed. Undefined where it cannot be told, as of other files or of texts with more than one change between.
 */
export function namesChanged(scope: Scope, before: NamesSeen): ReadonlySet<string> | undefined {
  const known = changedKept.get(scope);
  if (known?.before === before) return known.names;
  const names = changedIn(scope, before);
  changedKept.set(scope, { before, names });
  return names;
}

function changedIn({ files }: Scope, before: NamesSeen): ReadonlySet<string> | undefined {
  if (files.length !== before.texts.length) return undefined;
  const names = new Set<string>();
  for (const [i, { syntax }] of files.entries()) {
    if (numberOf(syntax.self) === before.texts[i]) continue;
    const { change } = syntax;
    if (!change || numberOf(change.before) !== before.texts[i]) return undefined;
    for (const list of [change.removed, change.added]) {
      for (const entry of list) {
        const named = nameOf(entry);
        if (named) names.add(named.name);
      }
    }
  }
  return names;
}

/** Every name of a kind in a scope, one that several files define several times. */
export function* eachName(scope: Scope, namespace: Namespace): Iterable<string> {
  for (const file of scope.files) yield* tableOf(file).get(namespace)?.keys() ?? [];
}

/** Every name of a kind in a scope. */
export function namesIn(scope: Scope, namespace: Namespace): string[] {
  return [...new Set(eachName(scope, namespace))];
}
