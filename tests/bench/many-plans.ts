/** 5,000 plans over shared fields: time and memory of `check` with 1 and 2 threads and a warm cache, beside a linter. */
import { spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

const ROOT = path.resolve(import.meta.dirname, '../..');

export const PLANS = 5000;

export interface Timed {
  readonly what: string;
  readonly seconds: number;
  readonly megabytes: number;
}

/** What a program took: its memory is told by itself when it ends. */
function timed(what: string, folder: string, args: readonly string[]): Timed {
  const told = path.join(folder, 'memory.txt');
  const teller = path.join(folder, 'teller.cjs');
  writeFileSync(
    teller,
    `if (require('node:worker_threads').isMainThread) process.on('exit', () => require('node:fs').writeFileSync(${JSON.stringify(told)}, String(process.resourceUsage().maxRSS)));`,
  );
  const begun = performance.now();
  const run = spawnSync(process.execPath, ['--require', teller, ...args], { cwd: folder, encoding: 'utf8' });
  const seconds = (performance.now() - begun) / 1000;
  if (run.status === 2 || run.error) throw new Error(`${what}: ${run.stderr}`);
  return { what, seconds, megabytes: Number(readFileSync(told, 'utf8')) / 1024 };
}

/** A linter of JavaScript, its own process the memory of which is not told. */
function linter(folder: string, files: string): number {
  const begun = performance.now();
  spawnSync(process.execPath, [path.join(ROOT, 'node_modules/@biomejs/biome/bin/biome'), 'lint', files], {
    cwd: folder,
    stdio: 'ignore',
  });
  return (performance.now() - begun) / 1000;
}

/** The checks, and how long Biome takes over as many JavaScript files of the same size. */
export function manyPlans(plans = PLANS): { readonly checks: readonly Timed[]; readonly linterSeconds: number } {
  const folder = mkdtempSync(path.join(tmpdir(), 'legwise-bench-'));
  try {
    cpSync(path.join(ROOT, 'samples/club'), path.join(folder, 'club'), { recursive: true });
    for (const name of ['plans', 'scripts', '.git']) mkdirSync(path.join(folder, name));
    writeFileSync(path.join(folder, 'biome.json'), '{}');
    const text = readFileSync(path.join(ROOT, 'samples/plans/practice-triangle.taskplan'), 'utf8');
    for (let i = 0; i < plans; i++) {
      const plan = `${text}\n# ${i}\n`;
      writeFileSync(path.join(folder, `plans/${i}.taskplan`), plan);
      let script = `export const plan${i} = [`;
      for (let n = 0; script.length < plan.length - 20; n++) script += `\n  { leg: ${n}, height: ${i + n} },`;
      writeFileSync(path.join(folder, `scripts/${i}.js`), `${script}\n];\n`);
    }
    const check = (what: string, ...args: string[]) =>
      timed(what, folder, [path.join(ROOT, 'dist/legwise.cjs'), 'check', 'plans', ...args]);
    const checks = [
      check('1 thread', '--jobs', '1'),
      check('2 threads', '--jobs', '2'),
      check('2 threads, filling a cache', '--jobs', '2', '--cache', 'kept'),
      check('a warm cache', '--cache', 'kept'),
    ];
    return { checks, linterSeconds: linter(folder, 'scripts') };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
