/**
 * The files of a workspace as far as they are known, and how they bring each other in. It reads nothing itself: what
 * is wanted and not there yet is listed, and whoever has the files hands them in.
 */
import { URI, Utils } from 'vscode-uri';
import { type FileSyntax, type PlacedEntry, parseFile } from '../../grammar/file.ts';
import type { EntrySyntax, LineSyntax, Span } from '../../grammar/syntax.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import type { Tile } from '../flight/index.ts';
import { isInside } from './inside.ts';
import { type Meaning, meaningOf, namespaceOf } from './meaning.ts';

/** Why a file could not be read. */
export type Unreadable = 'missing' | 'folder' | 'denied' | 'too-large' | 'not-text' | 'outside';

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
  const notText = text.includes('\0');
  const file = { uri, syntax: notText ? EMPTY : parseFile(text, before?.syntax), notText };
  workspace.files.set(uri, file);
  workspace.unreadable.delete(uri);
  return file;
}

export function setUnreadable(workspace: Workspace, uri: string, why: Unreadable): void {
  workspace.files.delete(uri);
  workspace.unreadable.set(uri, why);
}

export function forgetFile(workspace: Workspace, uri: string): void {
  workspace.files.delete(uri);
  workspace.unreadable.delete(uri);
}

/** An entry of some file. */
export interface Defined {
  readonly file: SourceFile;
  readonly placed: PlacedEntry;
  readonly meaning: Meaning;
}

export type FileTable = ReadonlyMap<Namespace, ReadonlyMap<string, readonly Defined[]>>;

const tables = new WeakMap<SourceFile, FileTable>();

/** The named entries of one file, by kind and name. */
export function tableOf(file: SourceFile): FileTable {
  const known = tables.get(file);
  if (known) return known;
  const table = new Map<Namespace, Map<string, Defined[]>>();
  for (const placed of file.syntax.entries) {
    const meaning = meaningOf(placed.syntax);
    const namespace = namespaceOf(meaning);
    if (!namespace || meaning.name === '') continue;
    const names = table.get(namespace) ?? new Map<string, Defined[]>();
    table.set(namespace, names);
    const defined = { file, placed, meaning };
    const alike = names.get(meaning.name);
    if (alike) alike.push(defined);
    else names.set(meaning.name, [defined]);
  }
  tables.set(file, table);
  return table;
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

const linksKept = new WeakMap<SourceFile, { roots: readonly string[]; links: readonly UseLink[] }>();

/** The `use` lines of a file that name a path. */
export function linksOf(workspace: Workspace, file: SourceFile): readonly UseLink[] {
  const known = linksKept.get(file);
  if (known?.roots === workspace.roots) return known.links;
  const links: UseLink[] = [];
  for (const { syntax } of file.syntax.entries) {
    if (syntax.form?.keyword !== 'use') continue;
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

/** Whether a file brings in `to`, directly or through others. */
export function reaches(workspace: Workspace, from: string, to: string): boolean {
  const file = workspace.files.get(from);
  return file !== undefined && (from === to || scopeOf(workspace, file).files.some((f) => f.uri === to));
}

/** Every entry of this name that a scope holds, the nearest first. */
export function lookUp(scope: Scope, namespace: Namespace, name: string): Defined[] {
  const found: Defined[] = [];
  for (const file of scope.files) found.push(...(tableOf(file).get(namespace)?.get(name) ?? []));
  return found;
}

/** Every name of a kind in a scope. */
export function namesIn(scope: Scope, namespace: Namespace): string[] {
  const names = new Set<string>();
  for (const file of scope.files) for (const name of tableOf(file).get(namespace)?.keys() ?? []) names.add(name);
  return [...names];
}
