/** The paths of `use` lines as links to their files. */
import type { DocumentLink } from 'vscode-languageserver-types';
import { rangeAt } from '../../grammar/file.ts';
import { placedEntry } from '../plan/places.ts';
import { harmless } from '../plan/text.ts';
import type { Understood } from '../plan/understand.ts';
import { fileName, linksOf, type Workspace } from '../plan/workspace.ts';

/** A link for each path that leads to a plan of the workspace; one that is known not to be readable gets none. */
export function documentLinks(workspace: Workspace, understood: Understood): DocumentLink[] {
  const { file } = understood;
  return linksOf(workspace, file).flatMap(({ entry, span, target }) => {
    const placed = placedEntry(workspace, { uri: file.uri, entry, span });
    if (!target || !placed || workspace.unreadable.has(target)) return [];
    const closed = span.end - span.start > 1 && entry.text[span.end - 1] === '"';
    const inside = { start: span.start + 1, end: closed ? span.end - 1 : span.end };
    return [{ range: rangeAt(placed, inside), target, tooltip: `Open ${harmless(fileName(target))}` }];
  });
}
