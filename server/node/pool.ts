/** Work handed out in chunks to threads that run this very program, and done in this one meanwhile. */
import { parentPort, Worker } from 'node:worker_threads';

interface Request<T> {
  readonly index: number;
  readonly chunk: T;
}

interface Answer<R> {
  readonly index: number;
  readonly result: R;
}

/** So many chunks a thread has at once: the next one lies there when it has done one. */
const AHEAD = 2;

/**
 * Has this thread and `jobs - 1` others, which run `program`, work through the chunks; `done` gets each result as it
 * comes, in any order.
 */
export async function inThreads<T, R>(
  program: string,
  workerData: unknown,
  chunks: readonly T[],
  jobs: number,
  work: (chunk: T) => Promise<R>,
  done: (index: number, result: R) => void,
): Promise<void> {
  let next = 0;
  let hasFailed = false;
  const thread = () =>
    new Promise<void>((resolve, reject) => {
      const worker = new Worker(program, { workerData });
      let open = 0;
      const hand = () => {
        for (; open < AHEAD && next < chunks.length; open++, next++)
          worker.postMessage({ index: next, chunk: chunks[next] as T } satisfies Request<T>);
        if (open > 0) return;
        resolve();
        void worker.terminate();
      };
      const fail = (error: Error) => {
        hasFailed = true;
        reject(error);
      };
      worker.on('message', ({ index, result }: Answer<R>) => {
        done(index, result);
        open--;
        hand();
      });
      worker.on('error', fail);
      // After the last chunk the promise is kept already.
      worker.on('exit', (code) => {
        if (open > 0) fail(new Error(`a thread ended with ${code} before its work was done`));
      });
      hand();
    });
  const here = async () => {
    while (next < chunks.length && !hasFailed) {
      const index = next++;
      done(index, await work(chunks[index] as T));
      // What the others answered is taken, and the next chunks handed to them, in between.
      await new Promise((resolve) => setImmediate(resolve));
    }
  };
  const others = Math.min(jobs, chunks.length) - 1;
  await Promise.all([...Array.from({ length: others }, thread), here()]);
}

/** The other side: answers every chunk that comes. */
export function serveChunks<T, R>(work: (chunk: T) => Promise<R>): void {
  let last = Promise.resolve();
  parentPort?.on('message', ({ index, chunk }: Request<T>) => {
    // A rejection ends the thread, and with it the program: nothing is left out in silence.
    last = last
      .then(() => work(chunk))
      .then((result) => parentPort?.postMessage({ index, result } satisfies Answer<R>));
  });
}
