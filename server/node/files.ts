/** The file system, for the entry points that have one: reading plans, finding them, and the folder that bounds them. */
import { constants } from 'node:fs';
import { access, readFile, realpath, stat } from 'node:fs/promises';
import path from 'node:path';
import { URI } from 'vscode-uri';
import { isInside, scopeOf, setFile, setUnreadable, type Unreadable, type Workspace } from '../plan/workspace.ts';
import { findPlans } from './find.ts';

/** A plan larger than this is not read: no club has so many fields, and a mistyped path may lead anywhere. */
export const LARGEST_FILE = 16 * 1024 * 1024;

export type ReadResult = { readonly text: string } | { readonly why: Unreadable };

const decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });

/** The text of bytes that are UTF-8; undefined when they are not. */
export function decode(bytes: Uint8Array): string | undefined {
  try {
    return decoder.decode(bytes);
  } catch {
    return undefined;
  }
}

function whyNot(error: unknown): Unreadable {
  const code = (error as NodeJS.ErrnoException).code;
  if (code === 'ENOENT' || code === 'ENOTDIR' || code === 'ENAMETOOLONG') return 'missing';
  if (code === 'EISDIR') return 'folder';
  return 'denied';
}

/** Reads a plan. With `roots`, one that lies outside them once links are followed is not read. Never throws. */
export async function readPlan(uri: string, roots?: readonly string[]): Promise<ReadResult> {
  const file = URI.parse(uri).fsPath;
  try {
    if (roots) {
      const real = URI.file(await realpath(file)).toString();
      const folders = await Promise.all(
        roots.map(async (root) => URI.file(await realpath(URI.parse(root).fsPath)).toString()),
      );
      if (!isInside(real, folders)) return { why: 'outside' };
    }
    const found = await stat(file);
    if (found.isDirectory()) return { why: 'folder' };
    if (!found.isFile()) return { why: 'denied' };
    if (found.size > LARGEST_FILE) return { why: 'too-large' };
    const text = decode(await readFile(file));
    return text === undefined ? { why: 'not-text' } : { text };
  } catch (error) {
    return { why: whyNot(error) };
  }
}

/** Puts what was read into a workspace. */
export function put(workspace: Workspace, uri: string, result: ReadResult): void {
  if ('text' in result) setFile(workspace, uri, result.text);
  else setUnreadable(workspace, uri, result.why);
}

/** Reads every file that a file brings in, directly or through others, and that is not known yet. */
export async function readImports(workspace: Workspace, uri: string): Promise<void> {
  for (;;) {
    const file = workspace.files.get(uri);
    const wanted = file ? scopeOf(workspace, file).wanted : [];
    if (wanted.length === 0) return;
    await Promise.all(wanted.map(async (other) => put(workspace, other, await readPlan(other, workspace.roots))));
  }
}

async function exists(file: string): Promise<boolean> {
  try {
    await access(file, constants.F_OK);
    return true;
  } catch {
    return false;
  }
}

/**
 * The folder whose files a plan may use: the repository that it lies in; else the working folder, where the plan lies
 * inside it; else the folder above the plan's own.
 */
export async function workspaceFolder(file: string, workingFolder: string): Promise<string> {
  for (let folder = path.dirname(file); ; folder = path.dirname(folder)) {
    if (await exists(path.join(folder, '.git'))) return folder;
    if (folder === path.dirname(folder)) break;
  }
  const inside = path.relative(workingFolder, file);
  if (!inside.startsWith('..') && !path.isAbsolute(inside)) return workingFolder;
  return path.dirname(path.dirname(file));
}

/** The URIs of every plan in the folders, as the command line would find them. */
export async function listPlans(roots: readonly string[]): Promise<string[]> {
  const found = await Promise.all(
    roots.map(async (root) => {
      const folder = URI.parse(root).fsPath;
      const { files } = await findPlans([folder], folder);
      return files.map((file) => URI.file(file).toString());
    }),
  );
  return found.flat();
}
