/** Other plans of the workspace: as paths in a `use` line, and as the `use` line that a name from there needs. */
import { CompletionItemKind, type TextEdit } from 'vscode-languageserver-types';
import { URI, Utils } from 'vscode-uri';
import { rangeAt } from '../../grammar/file.ts';
import { harmless } from '../plan/text.ts';
import { linksOf, reaches, resolvePath } from '../plan/workspace.ts';
import type { Draft } from './completion-item.ts';
import { type CompletionPlace, lineEndIn } from './completion-place.ts';

const partsOf = (path: string) => path.split('/').filter((part) => part !== '');

/** The path from one file to another as a `use` line writes it; undefined where none can be written. */
export function usePath({ workspace, understood }: CompletionPlace, to: string): string | undefined {
  const from = understood.file.uri;
  // An untitled file lies nowhere.
  if (!URI.parse(from).path.startsWith('/')) return undefined;
  const folder = partsOf(Utils.dirname(URI.parse(from)).path);
  const parts = partsOf(URI.parse(to).path);
  let same = 0;
  while (same < folder.length && same < parts.length && folder[same] === parts[same]) same++;
  const path = [...folder.slice(same).map(() => '..'), ...parts.slice(same)].join('/');
  if (/["\r\n]/.test(path)) return undefined;
  const resolved = resolvePath(from, path, workspace.roots);
  return 'uri' in resolved && resolved.uri === to ? path : undefined;
}

/** How far away a path leads: steps up count more than steps down. */
function distanceOf(path: string): number {
  return partsOf(path).reduce((sum, part) => sum + (part === '..' ? 10 : 1), 0);
}

function placedAt(place: CompletionPlace, offset: number): { line: number; character: number } {
  const text = place.understood.file.syntax.text.slice(0, offset);
  const lines = text.split(/\r\n|\n|\r/);
  return { line: lines.length - 1, character: (lines.at(-1) as string).length };
}

/** The paths of the plans that are not used yet, the nearest first; those that would go in a circle come last. */
export function pathDrafts(place: CompletionPlace): Draft[] {
  const { workspace, understood } = place;
  const own = understood.file.uri;
  const used = new Set(
    linksOf(workspace, understood.file)
      .filter(({ entry }) => entry !== place.placed.syntax)
      .map(({ target }) => target),
  );
  const found: { path: string; circle: boolean }[] = [];
  for (const { uri, notText } of workspace.files.values()) {
    if (uri === own || used.has(uri) || notText || !uri.endsWith('.taskplan')) continue;
    const path = usePath(place, uri);
    if (path !== undefined) found.push({ path, circle: reaches(workspace, uri, own) });
  }
  found.sort(
    (a, b) =>
      Number(a.circle) - Number(b.circle) || distanceOf(a.path) - distanceOf(b.path) || a.path.localeCompare(b.path),
  );
  const typed = place.run.startsWith('"');
  return found.map(({ path, circle }) => ({
    label: harmless(path),
    text: `"${path}"`,
    filter: typed ? `"${path}"` : path,
    kind: CompletionItemKind.File,
    ...(circle ? { detail: 'uses this file itself: they would go in a circle' } : {}),
  }));
}

/** The edit that brings in a file: behind the last `use`, or at the top, below the file's own remarks. */
export function useEdit(place: CompletionPlace, path: string): TextEdit {
  const { file } = place.understood;
  const line = `use "${path}"`;
  const end = lineEndIn(place);
  const last = file.syntax.entries.findLast(({ syntax }) => syntax.form?.keyword === 'use' && syntax.head);
  if (last) {
    const { syntax } = last;
    // Behind the line's own remark, where it has one.
    const comment = syntax.comments.find(({ startOffset }) => startOffset < (syntax.lineStarts[1] ?? Infinity));
    const at = comment
      ? comment.startOffset + comment.image.trimEnd().length
      : (syntax.head as { span: { end: number } }).span.end;
    const { start } = rangeAt(last, { start: at, end: at });
    return { range: { start, end: start }, newText: `${end}${line}` };
  }
  const remarks = /^\uFEFF?(?:#[^\r\n]*(?:\r\n|\n|\r))+(?=[^\S\r\n]*(?:\r\n|\n|\r))/.exec(file.syntax.text);
  const bom = file.syntax.text.startsWith('\uFEFF') ? 1 : 0;
  const start = placedAt(place, remarks ? remarks[0].length : bom);
  return { range: { start, end: start }, newText: remarks ? `${line}${end}` : `${line}${end}${end}` };
}
