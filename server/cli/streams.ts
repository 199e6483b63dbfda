/** Standard input, output and error of the command line, and what becomes of the exit status when one of them fails. */
import { fstatSync, writeSync } from 'node:fs';
import { LARGEST_FILE } from '../node/files.ts';
import { reasonOf } from '../node/write.ts';
import { type Status, type Terminal, UsageError } from './commands.ts';

/** Everything there is on standard input, or enough of it to tell that it is too large: it may have no end. */
async function stdin(): Promise<Uint8Array> {
  // Node reads nothing there, as if it were empty.
  if (fstatSync(0).isDirectory()) throw new UsageError('standard input is a folder');
  const chunks: Uint8Array[] = [];
  let size = 0;
  try {
    for await (const chunk of process.stdin) {
      chunks.push(chunk as Uint8Array);
      size += (chunk as Uint8Array).length;
      if (size > LARGEST_FILE) break;
    }
  } catch (error) {
    throw new UsageError(`standard input cannot be read: ${reasonOf(error)}`);
  }
  return Buffer.concat(chunks);
}

const isFile = (fd: number): boolean => {
  try {
    return fstatSync(fd).isFile();
  } catch {
    return false;
  }
};

/** Writes all of a text to a file that is open. Node's own stream takes it for done when the disk took a part of it. */
function writeAll(fd: number, text: string): void {
  const bytes = Buffer.from(text);
  for (let at = 0; at < bytes.length; ) at += writeSync(fd, bytes, at);
}

export interface Streams extends Pick<Terminal, 'out' | 'err' | 'stdin'> {
  /** The exit status, where the work came to one: not that of work whose result was lost. */
  readonly status: (of: Status) => Status;
}

/**
 * The streams. A reader that has seen enough closes its pipe: that is no failure, and the status stays that of what was
 * found. What cannot be written for another reason is a failure, and said where it still can be.
 */
export function standardStreams(): Streams {
  let isLost = false;
  const failed = (which: 'output' | 'error') => (error: unknown) => {
    if ((error as NodeJS.ErrnoException).code === 'EPIPE' || isLost) return;
    isLost = true;
    process.exitCode = 2;
    if (which === 'output') process.stderr.write(`legwise: standard output cannot be written: ${reasonOf(error)}\n`);
  };
  const into = (fd: 1 | 2, stream: NodeJS.WriteStream, which: 'output' | 'error') => {
    const onError = failed(which);
    let isOpen = true;
    stream.on('error', (error) => {
      isOpen = false;
      onError(error);
    });
    const toFile = isFile(fd);
    return (text: string) => {
      if (!isOpen) return;
      if (!toFile) stream.write(text);
      else {
        try {
          writeAll(fd, text);
        } catch (error) {
          isOpen = false;
          onError(error);
        }
      }
    };
  };
  return {
    out: into(1, process.stdout, 'output'),
    err: into(2, process.stderr, 'error'),
    stdin,
    status: (of) => (isLost ? 2 : of),
  };
}
