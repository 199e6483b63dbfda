// Makes a checkout ready to use: installs what the lock file asks for, builds what the sources say, and tells in one line
// what it did. Every npm script goes through here, so any of them can be the first command of a fresh clone.
//
//   node .dev/ready.mjs                    make ready
//   node .dev/ready.mjs SCRIPT [ARGS...]   make ready, then run SCRIPT on the Node that package.json pins
//
// Only Node's own modules may be imported at the top, here and in build.mjs: node_modules need not exist yet.
import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { constants } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { build, isBuilt } from './build.mjs';

const LOCK_WAIT_MS = 10 * 60_000;

const json = (file) => JSON.parse(readFileSync(file, 'utf8'));
const has = (file) => existsSync(file);

/** Where the pinned Node's binary stands. */
export function pinnedNode(root) {
  return path.join(root, 'node_modules/node/bin', process.platform === 'win32' ? 'node.exe' : 'node');
}

const installStamp = (root) => path.join(root, 'node_modules/.ready');

function installKey(root) {
  const lock = readFileSync(path.join(root, 'package-lock.json'));
  return createHash('sha256').update(lock).update(`${process.platform} ${process.arch}`).digest('hex');
}

/**
 * Whether node_modules holds what the lock file asks for. Decided by content, not by dates: a checkout, a copy and a CI
 * cache all change dates. Optional packages (binaries for other platforms) may be absent.
 */
export function isInstalled(root) {
  if (!has(pinnedNode(root))) return false;
  const wanted = Object.entries(json(path.join(root, 'package-lock.json')).packages).filter(
    ([where, entry]) => where !== '' && !entry.optional && !entry.link,
  );
  if (!wanted.every(([where]) => has(path.join(root, where, 'package.json')))) return false;
  if (has(installStamp(root)) && readFileSync(installStamp(root), 'utf8') === installKey(root)) return true;
  // Installed by a plain `npm ci` or `npm install`: npm's own record says which versions it put there.
  const record = path.join(root, 'node_modules/.package-lock.json');
  if (!has(record)) return false;
  const installed = json(record).packages;
  return wanted.every(([where, entry]) => installed[where]?.version === entry.version);
}

function install(root) {
  rmSync(installStamp(root), { force: true });
  const env = { ...process.env };
  // npm ci deletes node_modules, and with it the pinned Node: npm itself must run on the system's.
  const bin = path.join(root, 'node_modules', '.bin');
  const pathKey = Object.keys(env).find((key) => key.toUpperCase() === 'PATH') ?? 'PATH';
  env[pathKey] = (env[pathKey] ?? '')
    .split(path.delimiter)
    .filter((part) => path.resolve(part) !== bin)
    .join(path.delimiter);
  const run = spawnSync('npm', ['ci', '--include=dev', '--no-audit', '--no-fund', '--loglevel=warn'], {
    cwd: root,
    env,
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'pipe'],
    shell: process.platform === 'win32',
    maxBuffer: 64 << 20,
  });
  if (run.status !== 0 || !has(pinnedNode(root))) {
    process.stderr.write(`${run.stdout ?? ''}${run.stderr ?? ''}`);
    if (run.error) process.stderr.write(`${run.error.message}\n`);
    const why = run.status === 0 ? `it left no ${path.relative(root, pinnedNode(root))}` : 'see above';
    throw new Error(`npm ci failed (${why})`);
  }
  writeFileSync(installStamp(root), installKey(root));
  return Object.keys(json(path.join(root, 'node_modules/.package-lock.json')).packages).length;
}

function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

/** Two scripts started at once must not install or build over each other: the second waits, then finds all done. */
async function withLock(root, work) {
  const lock = path.join(root, '.cache/ready.lock');
  mkdirSync(path.dirname(lock), { recursive: true });
  const until = Date.now() + LOCK_WAIT_MS;
  for (;;) {
    try {
      writeFileSync(lock, String(process.pid), { flag: 'wx' });
      break;
    } catch (error) {
      if (error.code !== 'EEXIST') throw error;
    }
    try {
      const holder = Number(readFileSync(lock, 'utf8'));
      const justMade = holder === 0 && Date.now() - statSync(lock).mtimeMs < 5000; // made, its pid not yet written
      if (!justMade && !(holder > 0 && isAlive(holder))) {
        // Left by a process that was killed. Renaming lets one of several waiters take it away.
        const stale = `${lock}.${process.pid}`;
        renameSync(lock, stale);
        rmSync(stale, { force: true });
        continue;
      }
    } catch (error) {
      if (error.code !== 'ENOENT') throw error; // gone meanwhile: try again
    }
    if (Date.now() > until) throw new Error(`waited 10 minutes for another process; if there is none, delete ${lock}`);
    await new Promise((resolve) => setTimeout(resolve, 200));
  }
  try {
    return await work();
  } finally {
    rmSync(lock, { force: true });
  }
}

/** Installs and builds what is missing or stale; returns what was done, in words. */
export async function makeReady(root) {
  if (isInstalled(root) && isBuilt(root)) return [];
  return withLock(root, async () => {
    const done = [];
    if (!isInstalled(root)) done.push(`installed ${install(root)} packages`);
    else if (!has(installStamp(root))) writeFileSync(installStamp(root), installKey(root));
    if (!isBuilt(root)) {
      const start = performance.now();
      await build(root);
      done.push(`built in ${((performance.now() - start) / 1000).toFixed(1)} s`);
    }
    return done;
  });
}

function run(root, args) {
  const child = spawn(pinnedNode(root), args, {
    cwd: process.cwd(),
    stdio: 'inherit',
  });
  // Ctrl+C reaches the child too; this process only has to outlive it, to hand on how it ended.
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => child.kill(signal));
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('exit', (code, signal) => resolve(code ?? 128 + (constants.signals[signal] ?? 0)));
  });
}

if (process.argv[1] && fileURLToPath(import.meta.url) === path.resolve(process.argv[1])) {
  const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..');
  try {
    const done = await makeReady(root);
    if (done.length > 0) console.error(`ready: ${done.join(', ')}`);
    const args = process.argv.slice(2);
    if (args.length > 0) process.exitCode = await run(root, args);
    else if (done.length === 0) console.error('ready: nothing to do');
  } catch (error) {
    console.error(`ready: ${error.message}`);
    process.exitCode = 1;
  }
}
