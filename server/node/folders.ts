/** Folders: what lies in them, and those made where they are missing. */
import { mkdirSync, statSync } from 'node:fs';
import path from 'node:path';

/**
 * Makes a folder and those above it that are missing; throws where that cannot be done. Node's own way never comes back
 * from places where nothing can be made, such as `/proc`.
 */
export function makeFolder(folder: string, mode = 0o777): void {
  try {
    mkdirSync(folder, { mode });
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST' && statSync(folder).isDirectory()) return;
    const above = path.dirname(folder);
    if (code !== 'ENOENT' || above === folder) throw error;
    makeFolder(above, mode);
    mkdirSync(folder, { mode });
  }
}

/**
 * The way from a folder to what lies in it, by the names alone: empty for the folder itself, undefined for what lies
 * elsewhere. A name may begin with two dots.
 */
export function wayWithin(folder: string, file: string): string | undefined {
  const way = path.relative(folder, file);
  return way === '..' || way.startsWith(`..${path.sep}`) || path.isAbsolute(way) ? undefined : way;
}
