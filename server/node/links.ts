/** The folders of a client by the names that links give them: a file that is opened by another is known by the client's. */
import { realpathSync } from 'node:fs';
import { URI } from 'vscode-uri';
import type { Links } from '../files-of-session.ts';
import { isInside } from '../plan/inside.ts';

const bare = (folder: string): string => (folder.endsWith('/') ? folder.slice(0, -1) : folder);

/** Where a folder lies once links are followed; itself where that cannot be known. */
function realOf(folder: string): string {
  const { scheme, fsPath } = URI.parse(folder);
  if (scheme !== 'file') return bare(folder);
  try {
    return bare(URI.file(realpathSync.native(fsPath)).toString());
  } catch {
    return bare(folder);
  }
}

/** The links of one session. They say what a file is called, and never whether it may be read. */
export function linksOnDisk(): Links {
  let folders: readonly string[] = [];
  /** A folder by another name, and by the one that it has from the client's. */
  const aliases: { readonly from: string; readonly to: string }[] = [];

  const uriOf = (uri: string): string => {
    for (const { from, to } of aliases) if (uri.startsWith(`${from}/`)) return to + uri.slice(from.length);
    return uri;
  };

  return {
    uriOf,
    setFolders(given) {
      folders = given;
      for (const root of folders) {
        const real = realOf(root);
        if (real !== bare(root) && !isInside(`${real}/`, folders)) aliases.push({ from: real, to: bare(root) });
      }
    },
    opens(given) {
      const uri = uriOf(given);
      if (folders.length === 0 || isInside(uri, folders)) return;
      const folder = uri.slice(0, uri.lastIndexOf('/'));
      const real = realOf(folder);
      for (const root of folders) {
        const realRoot = realOf(root);
        if (real !== realRoot && !real.startsWith(`${realRoot}/`)) continue;
        aliases.push({ from: folder, to: bare(root) + real.slice(realRoot.length) });
        return;
      }
    },
  };
}
