/** What has still to be read. */
import { scopeOf, type Workspace } from './workspace.ts';

/**
 * The files that these bring in, directly or through others, and that nobody has looked for yet. Asked of those that
 * were just read alone, a chain of files is read in a time that grows with its length and not with the square of it.
 */
export function wantedBy(workspace: Workspace, uris: readonly string[]): readonly string[] {
  const wanted = new Set<string>();
  for (const uri of uris) {
    const file = workspace.files.get(uri);
    if (file) for (const other of scopeOf(workspace, file).wanted) wanted.add(other);
  }
  return [...wanted];
}
