/** Repeats a piece of work whenever a file under some folders changes, until the reader has enough. */
import { type FSWatcher, watch } from 'node:fs';
import path from 'node:path';
import type { Status } from './commands.ts';

export interface Watching {
  /** Folders to watch, with all that is in them. */
  readonly folders: readonly string[];
  /** Files that count whatever their ending. */
  readonly files: ReadonlySet<string>;
  /** A terminal is redrawn; anything else gets one report after the other. */
  readonly redraws: boolean;
  readonly out: (text: string) => void;
  readonly work: () => Promise<Status>;
}

/** An editor writes a file in several steps: wait for the last. */
const SETTLES_MS = 120;
const CLEAR = '\u001b[H\u001b[2J\u001b[3J';
/** q, Q, Ctrl-C and Ctrl-D, as a terminal sends them. */
const ENDING: ReadonlySet<number> = new Set([0x71, 0x51, 3, 4]);
const IGNORED = /(^|[/\\])(\.git|node_modules)([/\\]|$)/;
const READ = /(\.taskplan|\.hgt|\.gitignore)$/i;

/** Ends with the status of the last work, on q or Ctrl-C at a terminal, on an interrupt anywhere. */
export async function watching({ folders, files, redraws, out, work }: Watching): Promise<Status> {
  let status: Status = 0;
  let ended: () => void = () => {};
  const end = new Promise<void>((resolve) => {
    ended = resolve;
  });
  let busy = false;
  let again = false;
  let failure: unknown;
  const round = async () => {
    if (busy) {
      again = true;
      return;
    }
    busy = true;
    try {
      do {
        again = false;
        if (redraws) out(CLEAR);
        status = await work();
        out(redraws ? '\nwatching for changes; q ends\n' : '\n');
      } while (again);
    } catch (error) {
      failure = error;
      ended();
    } finally {
      busy = false;
    }
  };

  let timer: NodeJS.Timeout | undefined;
  const counts = (folder: string, name: string) => {
    if (files.has(path.join(folder, name))) return true;
    // A folder that moves is told by its own name, without an ending.
    return !IGNORED.test(name) && (!/\.[^/\\]*$/.test(name) || READ.test(name));
  };
  const changed = (folder: string, name: string | null) => {
    if (name !== null && !counts(folder, name)) return;
    clearTimeout(timer);
    timer = setTimeout(round, SETTLES_MS);
  };
  const watchers: FSWatcher[] = folders.map((folder) =>
    watch(folder, { recursive: true }, (_, name) => changed(folder, name)),
  );
  // A folder that goes away while it is watched is told by the next round.
  for (const watcher of watchers) watcher.on('error', () => changed('', null));

  const keys = process.stdin.isTTY === true && redraws ? process.stdin : undefined;
  const pressed = (key: Buffer) => {
    if (key.some((byte) => ENDING.has(byte))) ended();
  };
  keys?.setRawMode(true).on('data', pressed).resume();
  // Nobody reads any more.
  process.stdout.once('error', ended);
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.once(signal, ended);
  try {
    await round();
    await end;
  } finally {
    clearTimeout(timer);
    for (const watcher of watchers) watcher.close();
    keys?.off('data', pressed).setRawMode(false).pause();
  }
  if (failure !== undefined) throw failure;
  return status;
}
