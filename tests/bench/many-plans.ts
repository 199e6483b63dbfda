/** 5,000 plans over shared fields: time and memory of `check` with 1 and 2 threads and a warm cache, beside a linter. */
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';

const ROOT = path.resolve(import.meta.dirname, '../..');

export const PLANS = 5000;

export interface Timed {
  readonly what: string;
  readonly seconds: number;
  /** The peak; 0 where nothing tells it. */
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

/** The program of Biome itself, which its script in Node would start as a child. */
function biome(): string {
  const ours = createRequire(path.join(ROOT, 'node_modules/@biomejs/biome/package.json'));
  const name = `@biomejs/cli-${process.platform}-${process.arch}`;
  const file = process.platform === 'win32' ? 'biome.exe' : 'biome';
  for (const variant of [name, `${name}-musl`])
    try {
      return ours.resolve(`${variant}/${file}`);
    } catch {} // the other one is there
  throw new Error(`no ${name}`);
}

/** The most memory that a process had so far, MB, as Linux tells it; undefined where nothing tells it, or when it is gone. */
function peakOf(pid: number): number | undefined {
  try {
    const [, kilobytes] = /^VmHWM:\s+(\d+) kB$/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [];
    return kilobytes === undefined ? undefined : Number(kilobytes) / 1024;
  } catch {
    return undefined;
  }
}

/** A linter of JavaScript, a program of its own: the peak of its memory is asked for until it ends. */
async function linter(folder: string, files: string): Promise<Timed> {
  const begun = performance.now();
  const run = spawn(biome(), ['lint', files], { cwd: folder, stdio: 'ignore' });
  let megabytes = 0;
  const look = () => {
    megabytes = Math.max(megabytes, (run.pid && peakOf(run.pid)) || 0);
  };
  const looking = setInterval(look, 5);
  await once(run, 'exit');
  clearInterval(looking);
  return { what: 'Biome on JavaScript of the same size', seconds: (performance.now() - begun) / 1000, megabytes };
}

/** The checks, and what Biome takes for as many JavaScript files of the same size. */
export async function manyPlans(plans = PLANS): Promise<{ readonly checks: readonly Timed[]; readonly lint: Timed }> {
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
    return { checks, lint: await linter(folder, 'scripts') };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
