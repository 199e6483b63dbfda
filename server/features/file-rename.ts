/** When files or folders are renamed or moved: the paths of `use` and `terrain` lines keep leading where they led. */
import type { TextEdit, WorkspaceEdit } from 'vscode-languageserver-types';
import { URI, Utils } from 'vscode-uri';
import { rangeAt } from '../../grammar/file.ts';
import type { Span } from '../../grammar/syntax.ts';
import { meaningOf } from '../plan/meaning.ts';
import type { SourceFile, Workspace } from '../plan/workspace.ts';

/** A file or folder before and after, as the client names them. */
export interface FileRename {
  readonly oldUri: string;
  readonly newUri: string;
}

const withoutSlash = (path: string): string => (path.length > 1 ? path.replace(/\/+$/, '') : path);

function normal(uri: string): URI {
  // Through its text and back, so that a drive letter has one spelling.
  const parsed = URI.parse(URI.parse(uri).toString());
  return parsed.with({ path: withoutSlash(parsed.path) });
}

const sameRoot = (a: URI, b: URI): boolean => a.scheme === b.scheme && a.authority === b.authority;

/** Where a URI leads after the renames; the innermost folder that is renamed counts. */
function moved(uri: URI, renames: readonly { from: URI; to: URI }[]): URI {
  for (const { from, to } of renames) {
    if (!sameRoot(uri, from)) continue;
    if (uri.path === from.path) return to;
    if (uri.path.startsWith(`${from.path}/`)) return to.with({ path: to.path + uri.path.slice(from.path.length) });
  }
  return uri;
}

/** The path from a folder to a file or folder, with `/`; `.` for the folder itself. */
function relative(folder: string, to: string): string {
  const from = folder.split('/').filter((part) => part !== '');
  const parts = to.split('/').filter((part) => part !== '');
  let same = 0;
  while (same < from.length && same < parts.length && from[same] === parts[same]) same++;
  return [...from.slice(same).map(() => '..'), ...parts.slice(same)].join('/') || '.';
}

/** Where a path written in a file leads; undefined for a path that is none. */
function targetOf(file: URI, path: string): URI | undefined {
  const isPath = path.trim() !== '' && !path.includes('\\') && !path.startsWith('/');
  if (!isPath || /^[A-Za-z][A-Za-z0-9+.-]*:/.test(path) || !file.path.startsWith('/')) return undefined;
  const target = Utils.joinPath(Utils.dirname(file), path.toWellFormed());
  return target.with({ path: withoutSlash(target.path) });
}

/** The paths of a file with the places of their texts, without the quotes. */
function* pathsIn(file: SourceFile): Iterable<{ path: string; range: TextEdit['range'] }> {
  for (const placed of file.syntax.entries) {
    const meaning = meaningOf(placed.syntax);
    if ((meaning.kind !== 'use' && meaning.kind !== 'terrain') || !meaning.path) continue;
    const { value: path, span } = meaning.path;
    // Without the closing quotes it is not certain where the path ends.
    if (placed.syntax.text.slice(span.start, span.end) !== `"${path}"`) continue;
    const inside: Span = { start: span.start + 1, end: span.end - 1 };
    yield { path, range: rangeAt(placed, inside) };
  }
}

/**
 * The edits, to be made before the files are renamed, after which every path leads to what it led to before.
 */
export function willRenameFiles(workspace: Workspace, renames: readonly FileRename[]): WorkspaceEdit {
  const pairs = renames
    .map(({ oldUri, newUri }) => ({ from: normal(oldUri), to: normal(newUri) }))
    .sort((a, b) => b.from.path.length - a.from.path.length);
  const changes: Record<string, TextEdit[]> = {};
  for (const file of workspace.files.values()) {
    const before = normal(file.uri);
    const after = moved(before, pairs);
    for (const { path, range } of pathsIn(file)) {
      const target = targetOf(before, path);
      if (!target) continue;
      const wanted = moved(target, pairs);
      if (!sameRoot(wanted, after)) continue;
      const leadsThere = targetOf(after, path)?.path === wanted.path;
      const isShortest = path === relative(Utils.dirname(before).path, target.path);
      // A path that is written in a way of its own and leads there still is left; the shortest stays the shortest.
      if (leadsThere && !isShortest) continue;
      const newText = relative(Utils.dirname(after).path, wanted.path);
      if (newText === path) continue;
      // Some names cannot be written as a path here; that line is left, and its finding says so.
      if (/["\\\r\n]/.test(newText) || targetOf(after, newText)?.path !== wanted.path) continue;
      const edits = changes[file.uri] ?? [];
      changes[file.uri] = edits;
      edits.push({ range, newText });
    }
  }
  return { changes };
}
