/** An open plan against an earlier text of it and of the files that it uses. */

import type { SessionFiles } from './files-of-session.ts';
import { wantedTiles } from './plan/ground.ts';
import { type Understood, understand } from './plan/understand.ts';
import { createWorkspace, scopeOf, setFile, setTile, setUnreadable, type Workspace } from './plan/workspace.ts';
import { type ComparedFile, compare } from './reports/compare.ts';
import { compareMarkdown } from './reports/compare-markdown.ts';
import type { Finding } from './rules/rule.ts';

/** Earlier texts by the URI of their file; null for a file that was not there. */
export type EarlierTexts = ReadonlyMap<string, string | null>;

/** The comparison as Markdown, or the files whose earlier texts are still wanted for it. */
export type ComparedWith = { readonly wanted: readonly string[] } | { readonly markdown: string };

/**
 * Compares a plan as it is with what it was. Elevation tiles are taken as they are now on both sides. `check` finds what
 * is wrong with a file of a workspace; `name` is what the plan is called.
 */
export async function compareWith(
  files: SessionFiles,
  now: Understood,
  earlier: EarlierTexts,
  name: string,
  check: (workspace: Workspace, understood: Understood) => readonly Finding[],
): Promise<ComparedWith> {
  const { uri } = now.file;
  if (!earlier.has(uri)) return { wanted: [uri] };
  const before = createWorkspace(files.workspace.roots);
  for (const [one, text] of earlier) {
    if (text === null) setUnreadable(before, one, 'missing');
    else setFile(before, one, text);
  }
  const sideOf = (workspace: Workspace, understood: Understood): ComparedFile => ({
    name,
    workspace,
    understood,
    findings: check(workspace, understood),
  });
  const after = sideOf(files.workspace, now);
  const file = before.files.get(uri);
  if (!file) return { markdown: compareMarkdown(compare([], [after])) };
  const { wanted } = scopeOf(before, file);
  if (wanted.length > 0) return { wanted };
  for (;;) {
    const understood = understand(before, file);
    const tiles = wantedTiles(understood);
    if (tiles.length === 0) return { markdown: compareMarkdown(compare([sideOf(before, understood)], [after])) };
    for (const tile of tiles) setTile(before, tile, await files.tile(tile));
  }
}
