/**
 * Fuzzing, guided by the code that each text reaches, for so many minutes:
 *
 *   npm run fuzz [MINUTES] [-- --seed N]
 *
 * It starts from the samples, the pages of the rules and tests/fuzz/corpus. What breaks an invariant, or hangs, is made
 * smaller and written to .cache/fuzz/crashes; it belongs into tests/fuzz/corpus once it is mended. Exit 1 when there is any.
 */
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { Worker } from 'node:worker_threads';
import { build } from 'esbuild';
import { createInstrumenter } from 'istanbul-lib-instrument';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { RULES } from '../../server/rules/index.ts';
import { corpusTexts } from './corpus.ts';
import { LONGEST } from './mutations.ts';

const ROOT = path.resolve(import.meta.dirname, '../..');
const CACHE = path.join(ROOT, '.cache/fuzz');
const HANGS_AFTER_MS = 60_000;

interface Wrong {
  readonly text: string;
  readonly before?: string;
  readonly wrong: string;
}

/** The target with counters in all of our own code. */
async function instrumented(): Promise<string> {
  const outfile = path.join(CACHE, 'target.mjs');
  const instrumenter = createInstrumenter({ esModules: true, compact: false });
  const { transform } = await import('esbuild');
  await build({
    absWorkingDir: ROOT,
    entryPoints: ['tests/fuzz/target.ts'],
    outfile,
    bundle: true,
    format: 'esm',
    platform: 'node',
    mainFields: ['module', 'main'],
    external: ['vitest'],
    logLevel: 'error',
    plugins: [
      {
        name: 'counters',
        setup(on) {
          on.onLoad({ filter: /[\\/](grammar|server)[\\/].*\.ts$/ }, async ({ path: file }) => {
            if (!file.startsWith(path.join(ROOT, 'grammar')) && !file.startsWith(path.join(ROOT, 'server')))
              return null;
            const { code } = await transform(readFileSync(file, 'utf8'), { loader: 'ts', target: 'esnext' });
            return { contents: instrumenter.instrumentSync(code, file), loader: 'js' };
          });
        },
      },
    ],
    banner: { js: 'import { createRequire as __r } from "node:module"; const require = __r(import.meta.url);' },
  });
  return outfile;
}

function seedTexts(): string[] {
  const samples = path.join(ROOT, 'samples');
  const texts = [...corpusTexts().map(({ text }) => text), EXAMPLE_CLUB];
  for (const { page } of RULES) texts.push(page.bad, page.good);
  for (const name of readdirSync(samples, { recursive: true, encoding: 'utf8' }).sort())
    if (name.endsWith('.taskplan')) texts.push(readFileSync(path.join(samples, name), 'utf8'));
  return texts.map((text) => text.slice(0, LONGEST));
}

const args = process.argv.slice(2);
const seedAt = args.indexOf('--seed');
const seed = seedAt < 0 ? Date.now() % 1_000_000_007 : Number(args[seedAt + 1]);
const minutes = Number(
  args.find((one, i) => (seedAt < 0 || (i !== seedAt && i !== seedAt + 1)) && /^[\d.]+$/.test(one)) ?? 5,
);
mkdirSync(path.join(CACHE, 'crashes'), { recursive: true });
mkdirSync(path.join(CACHE, 'corpus'), { recursive: true });
console.log(`fuzz: ${minutes} min, seed ${seed}`);

const program = await instrumented();
const kept: string[] = [];
const wrongs = new Map<string, Wrong & { readonly file: string }>();
let last = { tried: 0, reached: 0, corpus: 0 };
let triedBefore = 0;
const start = Date.now();
const until = start + minutes * 60_000;

/** What is told of alike failures is one thing: the first line without its numbers, and where it was thrown. */
const kindOf = (wrong: string): string =>
  wrong
    .split('\n')
    .filter((line, i) => i === 0 || /^ +at /.test(line))
    .slice(0, 3)
    .join('\n')
    .replaceAll(/\d+|"[^"]*"/g, 'N')
    .slice(0, 300);

function note(found: Wrong): void {
  const kind = kindOf(found.wrong);
  const known = wrongs.get(kind);
  if (known && known.text.length <= found.text.length) return;
  const file = known?.file ?? path.join(CACHE, 'crashes', `${wrongs.size + 1}.json`);
  if (!known) console.log(`fuzz: ${path.relative(ROOT, file)}\n  ${found.wrong.split('\n').slice(0, 4).join('\n  ')}`);
  wrongs.set(kind, { ...found, file });
  writeFileSync(file, JSON.stringify(found, undefined, 2));
}

/** One worker until the time is over or it hangs; whether it hung. */
function work(seeds: readonly string[], turn: number): Promise<boolean> {
  const current = new SharedArrayBuffer(8 + 2 * LONGEST);
  const head = new Int32Array(current, 0, 2);
  const workerData = { seeds, seed: seed + turn, untilMs: until, current };
  const worker = new Worker(program, { workerData, resourceLimits: { maxOldGenerationSizeMb: 2048 } });
  return new Promise((resolve, reject) => {
    let at = -1;
    let since = Date.now();
    const watch = setInterval(() => {
      const now = Atomics.load(head, 0);
      if (now !== at) {
        at = now;
        since = Date.now();
      } else if (Date.now() - since > HANGS_AFTER_MS) {
        const length = Atomics.load(head, 1);
        note({ text: String.fromCharCode(...new Uint16Array(current, 8, length)), wrong: 'hangs' });
        clearInterval(watch);
        void worker.terminate().then(() => resolve(true));
      }
    }, 1000);
    worker.on('message', (told: { kind: string } & Wrong & typeof last) => {
      if (told.kind === 'wrong') note(told);
      if (told.kind === 'kept') kept.push(told.text);
      if (told.kind === 'step') {
        last = told;
        const seconds = Math.round((Date.now() - start) / 1000);
        console.log(
          `fuzz: ${seconds} s, ${triedBefore + told.tried} texts, ${told.reached} places reached, ${told.corpus} kept, ${wrongs.size} wrong`,
        );
      }
      if (told.kind === 'done') {
        clearInterval(watch);
        void worker.terminate().then(() => resolve(false));
      }
    });
    worker.on('error', (error) => {
      clearInterval(watch);
      reject(error);
    });
  });
}

let hung = false;
let turn = 0;
do {
  triedBefore += last.tried;
  last = { tried: 0, reached: 0, corpus: 0 };
  hung = await work(turn === 0 ? seedTexts() : kept.slice(), turn);
  turn++;
} while (hung && Date.now() < until);

for (const [i, text] of kept.entries()) writeFileSync(path.join(CACHE, 'corpus', `${i}.taskplan`), text);
for (const { file, wrong } of wrongs.values())
  console.log(`fuzz: ${path.relative(ROOT, file)}\n  ${wrong.split('\n')[0]}`);
console.log(
  `fuzz: ${triedBefore + last.tried} texts in ${((Date.now() - start) / 60_000).toFixed(1)} min, ${last.reached} places reached, ${kept.length} texts kept, ${wrongs.size} wrong`,
);
process.exitCode = wrongs.size > 0 ? 1 : 0;
