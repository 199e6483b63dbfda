import { spawnSync } from 'node:child_process';
import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { folderWith, legwise } from './run.ts';

const TASK = (name: string, finish = 'Larkfield') => `task "${name}"
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    "Withy Bridge" at 5000 ft MSL
  finish   ${finish}
`;
const PLAN = `use "club.taskplan"\n\n${TASK('Home')}\n${TASK('Home again')}`;
const NAME = 'mein plan ü.taskplan';
let folder: string;
let remove: () => void;
beforeEach(() => {
  ({ folder, remove } = folderWith({ 'club.taskplan': EXAMPLE_CLUB, [NAME]: PLAN }));
});
afterEach(() => remove());
const run = (...args: string[]) => legwise(['brief', ...args], { folder });
const read = (name: string) => readFileSync(path.join(folder, name));

test('HTML and PDF by the ending, whatever its case; nothing else is left', () => {
  expect(run(NAME, '-o', 'out put.HTML')).toEqual({ status: 0, out: '', err: '' });
  expect(read('out put.HTML').toString()).toMatch(
    /^<!DOCTYPE html>.*<h1\b[^>]*>Home<\/h1>.*<h1\b[^>]*>Home again<\/h1>/s,
  );
  expect(run(NAME, '--output', 'out.pdf', '--paper', 'a5')).toEqual({ status: 0, out: '', err: '' });
  expect(read('out.pdf').subarray(0, 5).toString()).toBe('%PDF-');
  expect(readdirSync(folder).sort()).toEqual(['club.taskplan', NAME, 'out put.HTML', 'out.pdf'].sort());
});

test('to standard output, from standard input, one task', () => {
  const { status, out, err } = run(NAME, '-o', '-', '--task', 'Home again', '--paper', 'a5');
  expect({ status, err }).toEqual({ status: 0, err: '' });
  expect(out).toContain('size: A5');
  expect(out.match(/<h1\b/g)?.length).toBe(1);
  expect(out).toContain(`${NAME}, of no revision, made `);
  const piped = legwise(['brief', '-', '-o', '-'], { folder, input: PLAN });
  expect([piped.status, piped.err]).toEqual([0, '']);
  expect(piped.out).toContain('&lt;stdin&gt;, of no revision, made ');
});

test('the time is that of the machine', () => {
  const made = (TZ: string) =>
    /made ([^<]*)</.exec(legwise(['brief', NAME, '-o', '-'], { folder, env: { TZ } }).out)?.[1] ?? '';
  expect(made('UTC')).toMatch(/^\d{4}-\d\d-\d\d \d\d:\d\dZ$/);
  expect(made('Asia/Kolkata')).toMatch(/\+05:30$/);
  expect(made('America/St_Johns')).toMatch(/-0[23]:30$/);
});

test('a finding makes the status 1, and the sheet is written with it on top', () => {
  writeFileSync(path.join(folder, 'low.taskplan'), PLAN.replaceAll('5000 ft', '3300 ft'));
  expect(run('low.taskplan', '-o', 'low.html').status).toBe(1);
  expect(read('low.html').toString()).toMatch(/<h2>\d+ errors?[^<]* in this plan<\/h2>/);
  expect(run('low.taskplan', '-o', 'low.html', '--severity', 'below-reserve=warning').status).toBe(0);
  expect(
    run('low.taskplan', '-o', 'low.html', '--severity', 'below-reserve=warning', '--fail-on', 'warning').status,
  ).toBe(1);
});

test('the git revision, and what is not committed: of the plan and of what it uses', () => {
  const git = (...args: string[]) => {
    const { status, stderr, stdout } = spawnSync('git', args, { cwd: folder, encoding: 'utf8' });
    if (status !== 0) throw new Error(stderr);
    return stdout.trim();
  };
  git('init', '-q');
  const stamp = () => /(?:revision|of no revision)[^<]*(?=, made)/.exec(run(NAME, '-o', '-').out)?.[0];
  expect(stamp()).toBe('of no revision');
  git('add', '.');
  git('-c', 'user.name=A', '-c', 'user.email=a@b', 'commit', '-qm', 'x');
  const id = git('rev-parse', '--short=10', 'HEAD');
  expect(stamp()).toBe(`revision ${id}`);
  writeFileSync(path.join(folder, 'other.taskplan'), '');
  expect(stamp()).toBe(`revision ${id}`);
  writeFileSync(path.join(folder, 'club.taskplan'), `${EXAMPLE_CLUB}\n# more\n`);
  expect(stamp()).toBe(`revision ${id} with uncommitted changes`);
  expect(legwise(['brief', NAME, '-o', '-'], { folder, env: { PATH: '/nowhere' } }).out).toContain('of no revision');
});

test('wrong use is status 2, and nothing is left behind', () => {
  mkdirSync(path.join(folder, 'taken.html'));
  for (const wrong of [
    [],
    [NAME],
    [NAME, '-o', 'out.txt'],
    [NAME, '-o', 'out'],
    [NAME, '-o', 'out.html', '--paper', 'a6'],
    [NAME, '-o', 'out.html', '--task', 'Homer'],
    ['nowhere.taskplan', '-o', 'out.html'],
    ['.', '-o', 'out.html'],
    ['club.taskplan', '-o', 'out.html'],
    [NAME, '-o', 'taken.html'],
    [NAME, '-o', 'no/where.pdf'],
    [NAME, NAME, '-o', 'out.html'],
  ]) {
    const { status, out, err } = run(...wrong);
    expect([wrong, status, out]).toEqual([wrong, 2, '']);
    expect(err).toMatch(/^legwise: /);
    expect(err).not.toMatch(/\n\s+at /);
  }
  expect(existsSync(path.join(folder, 'out.html'))).toBe(false);
  expect(readdirSync(folder).filter((name) => name.includes('.new'))).toEqual([]);
  expect(run(NAME, '-o', 'out.html', '--task', 'Homer').err).toContain('did you mean Home?');
  expect(run('--help').out).toContain('legwise brief FILE -o OUT');
});

test('what stood there stays where the new file cannot be written', () => {
  mkdirSync(path.join(folder, 'kept'));
  writeFileSync(path.join(folder, 'kept/sheet.html'), 'old');
  chmodSync(path.join(folder, 'kept'), 0o500);
  const { status } = run(NAME, '-o', 'kept/sheet.html');
  chmodSync(path.join(folder, 'kept'), 0o700);
  // The superuser may write anywhere.
  if (process.getuid?.() !== 0) expect([status, read('kept/sheet.html').toString()]).toEqual([2, 'old']);
  expect(readdirSync(path.join(folder, 'kept'))).toEqual(['sheet.html']);
});
