/** Paths between the files of a workspace, as `use` lines write them. */
import { URI } from 'vscode-uri';
import { reaches, resolvePath, type SourceFile, type Workspace } from '../../plan/workspace.ts';

/** The path from one file to another as a `use` line writes it; undefined where there is none. */
export function relativePath(workspace: Workspace, from: string, to: string): string | undefined {
  const [a, b] = [URI.parse(from), URI.parse(to)];
  if (a.scheme !== b.scheme || a.authority !== b.authority) return undefined;
  const folders = a.path.split('/').slice(0, -1);
  const parts = b.path.split('/');
  let same = 0;
  while (same < folders.length && same < parts.length - 1 && folders[same] === parts[same]) same++;
  const path = [...folders.slice(same).map(() => '..'), ...parts.slice(same)].join('/');
  if (/["\r\n]/.test(path)) return undefined;
  const there = resolvePath(from, path, workspace.roots);
  return 'uri' in there && there.uri === to ? path : undefined;
}

/** The plans that a file may bring in without a circle, those in its own folder and near by first. */
export function usable(workspace: Workspace, from: string): SourceFile[] {
  const near = (uri: string) => {
    const path = relativePath(workspace, from, uri);
    return path === undefined ? Infinity : path.split('/').length;
  };
  return [...workspace.files.values()]
    .filter((file) => file.uri !== from && !file.notText && near(file.uri) < Infinity)
    .filter(({ uri }) => !reaches(workspace, uri, from))
    .sort((a, b) => near(a.uri) - near(b.uri) || a.uri.localeCompare(b.uri));
}
