/**
 * What a worker of the fuzzer does: it changes texts, holds them to the invariants, and keeps those that reach code in a
 * way that none before did. The code is counted by istanbul's counters, which the build puts into this bundle.
 */
import { parentPort, workerData } from 'node:worker_threads';
import { holds } from './invariants.ts';
import { mutate, randomFrom, recent } from './mutations.ts';

interface Given {
  readonly seeds: readonly string[];
  readonly seed: number;
  readonly untilMs: number;
  /** Where the text stands that is being tried, for whoever looks when it hangs: its number and length, then the text. */
  readonly current: SharedArrayBuffer;
}

/** A text may cost so much processor time, plus so much for each 1,000 characters: far more than any needs. */
const MOST_MS = 4_000;
const MOST_MS_PER_KB = 1_000;

interface Counters {
  readonly s: Record<string, number>;
  readonly b: Record<string, number[]>;
}

const port = parentPort;
if (!port) throw new Error('a worker of tests/fuzz/fuzz.ts');
const { seeds, seed, untilMs, current } = workerData as Given;
const random = randomFrom(seed);
const head = new Int32Array(current, 0, 2);
const letters = new Uint16Array(current, 8);

const maps = Object.values((globalThis as { __coverage__?: Record<string, Counters> }).__coverage__ ?? {});
/** Every counter: a statement's or a way's, with the classes of counts that were seen at it. */
const seen = new Map<number[] | Record<string, number>, Uint8Array>();
let reached = 0;

/** How often code ran, in classes: once, twice, three times, up to 7, 15, 31, 127, more. */
const classOf = (count: number): number =>
  count < 4 ? count : count < 8 ? 4 : count < 16 ? 5 : count < 32 ? 6 : count < 128 ? 7 : 8;

/** Whether the last text reached something new; the counters start again at nothing. */
function isNew(): boolean {
  let found = false;
  const look = (counters: number[] | Record<string, number>, keys: readonly string[]): void => {
    const own = counters as Record<string, number>;
    let known = seen.get(counters);
    if (!known) {
      known = new Uint8Array(keys.length * 9);
      seen.set(counters, known);
    }
    for (const [i, key] of keys.entries()) {
      const count = own[key] as number;
      if (count === 0) continue;
      own[key] = 0;
      const at = i * 9 + classOf(count);
      if (known[at] === 1) continue;
      if (!known.subarray(i * 9, i * 9 + 9).includes(1)) reached++;
      known[at] = 1;
      found = true;
    }
  };
  for (const { s, b } of maps) {
    look(s, keysOf(s));
    for (const counters of Object.values(b)) look(counters, keysOf(counters));
  }
  return found;
}

const keys = new WeakMap<object, readonly string[]>();
function keysOf(counters: object): readonly string[] {
  let own = keys.get(counters);
  if (!own) {
    own = Object.keys(counters);
    keys.set(counters, own);
  }
  return own;
}

/** What does not hold of a text, in words; undefined when all does. Over its time it is twice, not once on a busy machine. */
function wrongWith(
  text: string,
  offsets: readonly number[],
  before: string | undefined,
  isSecond = false,
): string | undefined {
  const start = process.threadCpuUsage();
  try {
    holds(text, offsets, before);
  } catch (error) {
    return error instanceof Error
      ? `${error.stack}${error.cause ? `\n${String((error.cause as Error).stack)}` : ''}`
      : String(error);
  }
  const { user, system } = process.threadCpuUsage(start);
  const ms = (user + system) / 1000;
  const most = MOST_MS + (MOST_MS_PER_KB * (text.length + (before?.length ?? 0))) / 1000;
  if (ms <= most) return undefined;
  return isSecond
    ? `takes ${ms.toFixed(0)} ms, ${most.toFixed(0)} ms are allowed`
    : wrongWith(text, offsets, before, true);
}

function announce(text: string): void {
  for (let i = 0; i < text.length && i < letters.length; i++) letters[i] = text.charCodeAt(i);
  Atomics.store(head, 1, Math.min(text.length, letters.length));
  Atomics.add(head, 0, 1);
}

const corpus: string[] = [];
let tried = 0;
let said = Date.now();

/** The features cost most of the time, so they are for texts that are new to the rest, and for some of the others. */
function attempt(text: string, before: string | undefined): void {
  announce(text);
  let wrong = wrongWith(text, [], before);
  let isKept = isNew();
  if (wrong === undefined && (isKept || random() < 0.1)) {
    wrong = wrongWith(text, [Math.floor(random() * (text.length + 1))], undefined);
    isKept = isNew() || isKept;
  }
  tried++;
  if (wrong !== undefined) port?.postMessage({ kind: 'wrong', text, before, wrong });
  if (isKept && wrong === undefined) {
    corpus.push(text);
    port?.postMessage({ kind: 'kept', text });
  }
  if (Date.now() - said > 10_000) {
    said = Date.now();
    port?.postMessage({ kind: 'step', tried, reached, corpus: corpus.length });
  }
}

for (const text of seeds) attempt(text, undefined);
if (corpus.length === 0) corpus.push('');
while (Date.now() < untilMs) {
  const from = recent(random, corpus);
  const text = mutate(random, from, recent(random, corpus));
  attempt(text, random() < 0.3 ? from : undefined);
}
port.postMessage({ kind: 'step', tried, reached, corpus: corpus.length });
port.postMessage({ kind: 'done' });
