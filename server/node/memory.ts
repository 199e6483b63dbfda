/** How much memory the server takes before what it no longer needs is collected. */
import { getHeapStatistics, setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';

/** From here on the collector is told to be quick: bytes. */
const MUCH = 48 * 1024 * 1024;
/** And by how much memory may grow until it collects again, in per cent. */
const GROWS_BY = 25;
/** Memory is looked at behind every so many answers: each look takes a hundredth of a keystroke. */
const LOOK_EVERY = 8;
/** By how much memory may grow behind a collection before a long message, in per cent. */
const ROOM = 400;

/** By how much it may grow from now on, in per cent; nought leaves that to V8. */
let growing = 0;
const grow = (percent: number) => setFlagsFromString(`--heap-growing-percent=${percent}`);

/** Has V8 collect all there is, and lets memory grow by so much until it does so again by itself. */
function collect(percent: number): void {
  try {
    grow(percent);
    setFlagsFromString('--expose-gc');
    (runInNewContext('gc') as () => void)();
  } catch {
    // Without it all is the same, but for the memory.
  } finally {
    setFlagsFromString('--no-expose-gc');
  }
}

/**
 * To be called before the first long message is read. V8 takes less and less for much while little of what is new stays,
 * as at a start, and then looks at all of it in the midst of reading a long plan, which takes three times as long as to
 * do so before, and to let it grow.
 */
export function makeRoom(): void {
  collect(ROOM);
  grow(growing);
}

/**
 * To be called behind each answer. V8 does not look at what has lived for a while before there are hundreds of
 * megabytes of it: a session over many fields that needs 60 MB goes up to 300. Once memory has grown to more than a
 * small plan needs, all of it is looked at (some 30 ms, behind an answer, once in a session), and from then on V8 does so
 * by itself, in small steps, when it has grown by a quarter.
 */
export function collectsSoon(): () => void {
  let isDone = false;
  let answers = 0;
  return () => {
    if (isDone || answers++ % LOOK_EVERY > 0 || getHeapStatistics().used_heap_size < MUCH) return;
    isDone = true;
    setImmediate(() => {
      growing = GROWS_BY;
      collect(growing);
      // What V8 compiled is kept at the end for a process that starts with the flags that this one started with.
      process.prependOnceListener('exit', () => grow(0));
    });
  };
}
