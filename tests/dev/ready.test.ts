import { spawn } from 'node:child_process';
import {
  chmodSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');
const { ENTRIES } = (await import(path.join(root, '.dev/build.mjs'))) as { ENTRIES: string[] };
let tree: string;

/** A small checkout with the real scripts, whose node_modules and whose `npm` are stand-ins: no network. */
beforeEach(() => {
  tree = mkdtempSync(path.join(tmpdir(), 'ready-'));
  for (const script of ['ready.mjs', 'build.mjs', 'parts.mjs', 'slim.mjs'])
    cpSync(path.join(root, '.dev', script), path.join(tree, '.dev', script));
  write('package.json', '{}');
  write('package-lock.json', JSON.stringify(lock('1.0.0')));
  write('server/cli.ts', "import { air } from './flight/air.ts';\nconsole.log(air);");
  write('server/flight/air.ts', 'export const air = 1.2250001;');
  write('server/rules/index.ts', 'export const RULES = [];');
  write('server/rules/page.ts', "export const pageOf = () => '';");
  write('grammar/vocabulary.ts', 'export const ENTRIES = [];');
  for (const entry of ENTRIES) if (entry !== 'server/cli.ts') write(entry, /css$/.test(entry) ? '' : 'export {};');
  for (const file of ['server/start.ts', 'server/node/compiled.ts', 'server/node/folders.ts'])
    write(file, readFileSync(path.join(root, file), 'utf8'));
  mkdirSync(path.join(tree, 'stand-in'));
});
afterEach(() => rmSync(tree, { recursive: true }));

function lock(version: string) {
  const packages = {
    '': {},
    'node_modules/node': { version: '24.0.0' },
    'node_modules/esbuild': { version: '0.0.1' },
    'node_modules/dep': { version },
    'node_modules/elsewhere': { version, optional: true },
  };
  return { packages };
}

function write(file: string, text: string): void {
  mkdirSync(path.dirname(path.join(tree, file)), { recursive: true });
  writeFileSync(path.join(tree, file), text);
}

/** Puts into node_modules what `npm ci` would. */
function fillModules(): void {
  write('node_modules/node/package.json', '{}');
  mkdirSync(path.join(tree, 'node_modules/node/bin'), { recursive: true });
  symlinkSync(process.execPath, path.join(tree, 'node_modules/node/bin/node'));
  symlinkSync(path.join(root, 'node_modules/esbuild'), path.join(tree, 'node_modules/esbuild'));
  write('node_modules/dep/package.json', '{"name":"dep","version":"1.0.0","license":"MIT"}');
  write('node_modules/dep/LICENSE', 'Do what you like.');
  write('node_modules/dep/index.js', 'export const dep = 42;');
  write('node_modules/.package-lock.json', readFileSync(path.join(tree, 'package-lock.json'), 'utf8'));
}

/** An `npm` that notes each call in `npm-calls` and then runs the shell lines BODY, in the tree. */
function standInNpm(body: string): void {
  write('stand-in/npm', `#!/bin/sh\necho "$@" >> npm-calls\n${body}\n`);
  chmodSync(path.join(tree, 'stand-in/npm'), 0o755);
}

/** The lines with which a stand-in npm fills node_modules from a copy. */
function npmThatInstalls(): void {
  fillModules();
  cpSync(path.join(tree, 'node_modules'), path.join(tree, 'modules'), { recursive: true, verbatimSymlinks: true });
  rmSync(path.join(tree, 'node_modules'), { recursive: true });
  standInNpm('sleep 0.3; rm -rf node_modules; cp -a modules node_modules; echo "npm warn EBADENGINE" >&2');
}

function ready(...args: string[]): Promise<{ status: number | null; out: string; err: string }> {
  const env = { ...process.env, PATH: `${path.join(tree, 'stand-in')}${path.delimiter}${process.env.PATH}` };
  const child = spawn(process.execPath, ['.dev/ready.mjs', ...args], { cwd: tree, env });
  let out = '';
  let err = '';
  child.stdout.on('data', (data) => (out += data));
  child.stderr.on('data', (data) => (err += data));
  return new Promise((resolve) => child.on('close', (status) => resolve({ status, out, err })));
}

const calls = () =>
  existsSync(path.join(tree, 'npm-calls'))
    ? readFileSync(path.join(tree, 'npm-calls'), 'utf8').trim().split('\n').length
    : 0;

test('a fresh clone is installed and built, in one line and without noise; then there is nothing to do', async () => {
  npmThatInstalls();
  const first = await ready();
  expect(first).toMatchObject({ status: 0, out: '' });
  expect(first.err).toMatch(/^ready: installed \d+ packages, built in \d+\.\d s\n$/);
  expect(await ready()).toEqual({ status: 0, out: '', err: 'ready: nothing to do\n' });
  expect(calls()).toBe(1);
});

test('a plain npm ci counts as installed', async () => {
  fillModules();
  standInNpm('exit 1');
  expect((await ready()).err).toMatch(/^ready: built in/);
  expect(calls()).toBe(0);
});

test.each([
  ['a lock file that asks for another version', () => write('package-lock.json', JSON.stringify(lock('1.0.1')))],
  ['a missing package', () => rmSync(path.join(tree, 'node_modules/dep'), { recursive: true })],
  ['a missing pinned Node', () => rmSync(path.join(tree, 'node_modules/node/bin'), { recursive: true })],
])('%s is installed anew', async (_, change) => {
  npmThatInstalls();
  await ready();
  change();
  expect((await ready()).err).toMatch(/^ready: installed/);
  expect(calls()).toBe(2);
});

test('a failed install shows what npm said', async () => {
  standInNpm('echo "npm error E404 no such package" >&2; exit 1');
  const { status, err } = await ready();
  expect(status).toBe(1);
  expect(err).toContain('E404 no such package');
  expect(err).toContain('ready: npm ci failed');
});

test('the build follows the content of the sources, not their dates', async () => {
  fillModules();
  await ready();
  const later = new Date(Date.now() + 60_000);
  utimesSync(path.join(tree, 'server/flight/air.ts'), later, later);
  expect((await ready()).err).toBe('ready: nothing to do\n');
  write('server/flight/air.ts', 'export const air = 1.1;');
  expect((await ready()).err).toMatch(/^ready: built/);
  rmSync(path.join(tree, 'dist/legwise.cjs'));
  expect((await ready()).err).toMatch(/^ready: built/);
  expect((await ready('dist/legwise.cjs')).out).toBe('1.1\n');
});

test('a script gets its arguments, and its exit status is handed on', async () => {
  fillModules();
  await ready();
  write('script.mjs', 'console.log(process.argv.slice(2).join()); process.exitCode = 7;');
  expect(await ready('script.mjs', 'a', '--b=c d')).toEqual({ status: 7, out: 'a,--b=c d\n', err: '' });
});

test('of two at once, one installs and the other waits for it', async () => {
  npmThatInstalls();
  const both = await Promise.all([ready(), ready()]);
  expect(both.map(({ status }) => status)).toEqual([0, 0]);
  expect(calls()).toBe(1);
});

test('a lock that a killed process left behind does not block', async () => {
  fillModules();
  write('.cache/ready.lock', '2147483646'); // no process has this number
  expect((await ready()).err).toMatch(/^ready: built/);
  expect(existsSync(path.join(tree, '.cache/ready.lock'))).toBe(false);
});

test('a bundled package brings its licence along, and an unfit licence fails the build', async () => {
  fillModules();
  write('server/cli.ts', "import { dep } from 'dep';\nconsole.log(dep);");
  await ready();
  expect(readFileSync(path.join(tree, 'dist/NOTICE.txt'), 'utf8')).toContain('dep 1.0.0 (MIT)\n\nDo what you like.');
  write('node_modules/dep/package.json', '{"name":"dep","version":"1.0.0","license":"GPL-3.0"}');
  write('server/node.ts', 'console.log(1);');
  const { status, err } = await ready();
  expect(status).toBe(1);
  expect(err).toContain('dep 1.0.0 is bundled, but its licence is GPL-3.0');
});
