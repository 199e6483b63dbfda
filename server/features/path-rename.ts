/** Renaming the path in a `use` line renames the file, and every path that leads to it. */
import type { Range, RenameFile, WorkspaceEdit } from 'vscode-languageserver-types';
import { type LinePosition, rangeAt } from '../../grammar/file.ts';
import type { Understood } from '../plan/understand.ts';
import { linksOf, resolvePath, type UseLink, type Workspace } from '../plan/workspace.ts';
import { willRenameFiles } from './file-rename.ts';
import { locate, touches } from './locate.ts';
import { type Refused, unfit } from './rename.ts';

function linkAt(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
): { link: UseLink; range: Range } | undefined {
  const located = locate(understood.file.syntax, position);
  if (!located) return undefined;
  const link = linksOf(workspace, understood.file).find(({ entry }) => entry === located.placed.syntax);
  if (!link?.target || !touches(link.span, located.offset)) return undefined;
  return { link, range: rangeAt(located.placed, { start: link.span.start + 1, end: link.span.end - 1 }) };
}

/** The path at a position that leads to a file, to be renamed; undefined where there is none. */
export function preparePathRename(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
): { range: Range; placeholder: string } | undefined {
  const found = linkAt(workspace, understood, position);
  return found && { range: found.range, placeholder: found.link.path };
}

/**
 * The file renamed, with the paths that lead to it; the path alone where there is no such file. A reason when the new
 * path leads nowhere, or when the client cannot rename a file by an edit; undefined where there is no path.
 */
export function renamePath(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
  path: string,
  renamesFiles: boolean,
): WorkspaceEdit | Refused | undefined {
  const found = linkAt(workspace, understood, position);
  if (!found?.link.target) return undefined;
  const refused = unfit(path, 'path');
  if (refused) return { refused };
  const resolved = resolvePath(understood.file.uri, path, workspace.roots);
  if ('fault' in resolved || !path.endsWith('.taskplan')) {
    return {
      refused:
        'The path leads to no plan of this workspace: it is relative to this file, with `/`, and ends in `.taskplan`.',
    };
  }
  const { target } = found.link;
  if (resolved.uri === target) return { changes: {} };
  const isThere = (uri: string) =>
    workspace.files.has(uri) || (workspace.unreadable.get(uri) ?? 'missing') !== 'missing';
  if (!isThere(target)) return { changes: { [understood.file.uri]: [{ range: found.range, newText: path }] } };
  if (isThere(resolved.uri)) return { refused: 'A file of that name is already there.' };
  if (!renamesFiles)
    return { refused: 'This editor renames no file by way of a path: rename the file itself, then correct the path.' };
  const edits = Object.entries(willRenameFiles(workspace, [{ oldUri: target, newUri: resolved.uri }]).changes ?? {});
  const rename: RenameFile = { kind: 'rename', oldUri: target, newUri: resolved.uri, options: { overwrite: false } };
  return {
    documentChanges: [
      ...edits.map(([uri, changes]) => ({ textDocument: { uri, version: null }, edits: changes })),
      rename,
    ],
  };
}
