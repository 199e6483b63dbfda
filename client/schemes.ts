/**
 * Where plans are looked after: on the disk, unsaved, beside a remote editor, and wherever the folders of the window
 * lie. Not everywhere: the old side of a comparison is a plan as well, and must bring no findings.
 */

/** The editor's own name for remote files is there for a client that runs beside the window, not beside the files. */
const ALWAYS = ['file', 'untitled', 'vscode-remote', 'vscode-vfs'];

/** Names that stand for another state of a file, or for what no plan lies in, even where a folder has them. */
const NEVER = new Set(['git', 'output', 'legwise-page']);

/** The URI schemes to look after in a window whose folders have the schemes `folders`; sorted, each once. */
export function schemesOf(folders: readonly string[]): string[] {
  return [...new Set([...ALWAYS, ...folders])].filter((scheme) => !NEVER.has(scheme)).sort();
}
