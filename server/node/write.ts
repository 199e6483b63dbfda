/** Writing files: whole or not at all, where they really lie, and never over what was read. */
import { fstatSync } from 'node:fs';
import { type FileHandle, open, readlink, realpath, rename, rm, stat, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { getSystemErrorMap } from 'node:util';

/** Why the system refused, in its own words, without the call and the path that were meant for a programmer. */
export function reasonOf(error: unknown): string {
  const { errno, message } = error as NodeJS.ErrnoException;
  return (errno === undefined ? undefined : getSystemErrorMap().get(errno)?.[1]) ?? message;
}

/** What the system finds behind a path; undefined where nothing is. */
async function foundAt(file: string) {
  try {
    return await stat(file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
}

/** So many links lead on from each other at most, as for Linux itself. */
const MOST_LINKS = 40;
/** Where the system lists what a program has open: no file can be put beside there. */
const OPENED = /^(?:\/proc\/.*|\/dev)\/fd$/;

/** Where a file really lies once links are followed, also where nothing lies yet; undefined for one that is open already. */
async function placeOf(file: string): Promise<string | undefined> {
  let place = file;
  for (let i = 0; i < MOST_LINKS; i++) {
    const folder = await realpath(path.dirname(place));
    if (OPENED.test(folder)) return undefined;
    place = path.join(folder, path.basename(place));
    const leadsTo = await readlink(place).catch(() => undefined);
    if (leadsTo === undefined) return place;
    place = path.resolve(folder, leadsTo);
  }
  throw new Error('its links lead round in a circle');
}

/** Makes a file beside another, for a short name always fits; readable by whoever may read what it will replace. */
async function openBeside(place: string, mode: number): Promise<{ beside: string; handle: FileHandle }> {
  for (;;) {
    const four = Math.floor(Math.random() * 36 ** 4).toString(36);
    const beside = path.join(path.dirname(place), `.new${four.padStart(4, '0')}`);
    try {
      return { beside, handle: await open(beside, 'wx', mode) };
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    }
  }
}

/** Gives a new file the owner, the group and the mode of the one that it replaces, as far as the system allows. */
async function takeOver(handle: FileHandle, from: { uid: number; gid: number; mode: number }): Promise<void> {
  const made = await handle.stat();
  if (made.uid !== from.uid || made.gid !== from.gid)
    await handle.chown(from.uid, from.gid).catch(() => handle.chown(made.uid, from.gid).catch(() => {}));
  // Some file systems know no modes.
  if ((made.mode & 0o777) !== (from.mode & 0o777)) await handle.chmod(from.mode & 0o777).catch(() => {});
}

/**
 * Writes a file beside and puts it in its place, so that no half of one is ever there; what stood there stays on failure.
 * A link stays a link, and leads to what was written; what replaces a file has its mode. What is no regular file, such
 * as a pipe or a device, is written to as it is.
 */
export async function writeWhole(file: string, content: string | Uint8Array): Promise<void> {
  const found = await foundAt(file);
  if (found?.isDirectory()) throw new Error('it is a folder');
  const place = found && !found.isFile() ? undefined : await placeOf(file);
  if (place === undefined) {
    await writeFile(file, content, { flag: 'a' });
    return;
  }
  const { beside, handle } = await openBeside(place, found ? found.mode & 0o777 : 0o666);
  try {
    try {
      if (found) await takeOver(handle, found);
      await handle.writeFile(content);
    } finally {
      await handle.close();
    }
    await rename(beside, place);
  } catch (error) {
    await rm(beside, { force: true });
    throw error;
  }
}

/** Whether a path leads to one of some files, each told by its path or, where it is open, by its number. */
export async function isOneOf(file: string, others: readonly (string | number)[]): Promise<boolean> {
  const exact = { bigint: true } as const;
  const found = await stat(file, exact).catch(() => undefined);
  if (!found?.isFile()) return false;
  for (const other of others) {
    const one = await (async () =>
      typeof other === 'number' ? fstatSync(other, exact) : await stat(other, exact))().catch(() => undefined);
    if (one && one.dev === found.dev && one.ino === found.ino) return true;
  }
  return false;
}
