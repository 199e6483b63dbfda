/** Work handed out in chunks to threads that run this very program. */
import { parentPort, Worker } from 'node:worker_threads';

interface Request<T> {
  readonly index: number;
  readonly chunk: T;
}

interface Answer<R> {
  readonly index: number;
  readonly result: R;
}

/** Has `jobs` threads of `program` work through the chunks; `done` gets each result as it comes, in any order. */
export async function inThreads<T, R>(
  program: string,
  workerData: unknown,
  chunks: readonly T[],
  jobs: number,
  done: (index: number, result: R) => void,
): Promise<void> {
  let next = 0;
  const thread = () =>
    new Promise<void>((resolve, reject) => {
      const worker = new Worker(program, { workerData });
      const hand = () => {
        const index = next++;
        if (index < chunks.length) worker.postMessage({ index, chunk: chunks[index] as T } satisfies Request<T>);
        else {
          resolve();
          void worker.terminate();
        }
      };
      worker.on('message', ({ index, result }: Answer<R>) => {
        done(index, result);
        hand();
      });
      worker.on('error', reject);
      // After the last chunk the promise is kept already.
      worker.on('exit', (code) => reject(new Error(`a thread ended with ${code} before its work was done`)));
      hand();
    });
  await Promise.all(Array.from({ length: Math.min(jobs, chunks.length) }, thread));
}

/** The other side: answers every chunk that comes. */
export function serveChunks<T, R>(work: (chunk: T) => Promise<R>): void {
  parentPort?.on('message', ({ index, chunk }: Request<T>) => {
    // A rejection ends the thread, and with it the program: nothing is left out in silence.
    void work(chunk).then((result) => parentPort?.postMessage({ index, result } satisfies Answer<R>));
  });
}
