/** Whether a file or a folder lies in a folder, by their names alone. */
import { URI } from 'vscode-uri';

/** Whether a URI is one of the folders, or lies below one. */
export function isInside(uri: string, roots: readonly string[]): boolean {
  const path = URI.parse(uri);
  return roots.some((root) => {
    const folder = URI.parse(root);
    const prefix = folder.path.endsWith('/') ? folder.path : `${folder.path}/`;
    return folder.scheme === path.scheme && folder.authority === path.authority && `${path.path}/`.startsWith(prefix);
  });
}
