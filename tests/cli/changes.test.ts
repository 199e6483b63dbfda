/** `check --since` on repositories made with real commits, and `check --watch`. */
import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, renameSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { brought } from '../../server/cli/since.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import type { Severity } from '../../server/rules/rule.ts';
import { folderWith, legwise, ROOT, shortPlan } from './run.ts';

const SHORT = shortPlan('../club.taskplan');
const SOUND = SHORT.replace('75 kt', 'best glide').replace('5000', '5200');
const PLAN = 'pl ans/Überflug.taskplan';

const removes: (() => void)[] = [];
afterEach(() => {
  for (const remove of removes.splice(0)) remove();
});

function folderOf(files: Record<string, string>): string {
  const made = folderWith(files);
  removes.push(made.remove);
  return made.folder;
}

function git(folder: string, ...args: string[]): string {
  return gitWith('', folder, ...args);
}

function gitWith(input: string | Uint8Array, folder: string, ...args: string[]): string {
  const who = ['-c', 'user.name=Club', '-c', 'user.email=club@example.org', '-c', 'commit.gpgsign=false'];
  const run = spawnSync('git', [...who, ...args], { cwd: folder, encoding: 'utf8', input });
  if (run.status !== 0) throw new Error(run.stderr);
  return run.stdout.trim();
}

/** A club with one commit. */
function repository(files: Record<string, string>): string {
  const folder = folderOf({ 'club.taskplan': EXAMPLE_CLUB, ...files });
  git(folder, 'init', '-q');
  git(folder, 'add', '.');
  git(folder, 'commit', '-q', '-m', 'first');
  return folder;
}

const write = (folder: string, name: string, text: string) => writeFileSync(path.join(folder, name), text);

function since(folder: string, ...args: string[]) {
  const { out, err, status } = legwise(['check', '--since', 'HEAD', '--format', 'json', ...args], { folder });
  const found = status === 2 ? [] : JSON.parse(out).diagnostics;
  return {
    status,
    err,
    found: found.map((d: { file: string; line: number; code: string }) => `${d.file}:${d.line} ${d.code}`),
  };
}

describe('--since', () => {
  test('only what the change brings: moved lines and moved files bring nothing', () => {
    const folder = repository({ [PLAN]: SHORT });
    expect(since(folder)).toEqual({ status: 0, err: '', found: [] });
    write(folder, PLAN, `# one line\n\n${SHORT}`);
    expect(since(folder).found).toEqual([]);
    renameSync(path.join(folder, PLAN), path.join(folder, 'pl ans/moved.taskplan'));
    git(folder, 'add', '.');
    expect(since(folder).found).toEqual([]);
    write(folder, 'pl ans/new.taskplan', SHORT);
    expect(since(folder)).toMatchObject({ status: 1, found: ['pl ans/new.taskplan:8 below-reserve'] });
    // From a folder below, names are its own.
    expect(since(path.join(folder, 'pl ans')).found).toEqual(['new.taskplan:8 below-reserve']);
  });

  test('a shared fact that changes brings findings in plans that did not', () => {
    const folder = repository({ [PLAN]: SOUND });
    write(folder, 'club.taskplan', EXAMPLE_CLUB.replace('1000 ft AGL', '1600 ft AGL'));
    expect(since(folder)).toMatchObject({ status: 1, found: [`${PLAN}:8 below-reserve`] });
    git(folder, 'commit', '-q', '-a', '-m', 'second');
    expect(since(folder).found).toEqual([]);
    expect(legwise(['check', '--since', 'HEAD~1'], { folder }).out).toContain('below-reserve');
  });

  test('a line that is written anew brings its findings, and so does one that becomes graver', () => {
    const folder = repository({ [PLAN]: SHORT });
    expect(since(folder, '--severity', 'below-reserve=warning').found).toEqual([]);
    const thin = SHORT.replace('5000', '6100').replace('75 kt', '81 kt');
    write(folder, PLAN, thin);
    const all = JSON.parse(legwise(['check', '--format', 'json'], { folder }).out).diagnostics;
    expect(all.length).toBeGreaterThan(0);
    expect(since(folder).found).toHaveLength(all.length);

    const diagnostic = {
      file: 'a',
      line: 1,
      column: 1,
      endLine: 1,
      endColumn: 2,
      code: 'c',
      message: 'm',
      related: [],
    };
    const one = { source: '', fingerprint: 'f', lineFingerprint: 'l', entry: 'task Home', renamedFingerprint: 'r' };
    const noted = (severity: Severity) => [{ diagnostic: { ...diagnostic, severity }, ...one }];
    expect(brought(noted('error'), noted('warning'))).toHaveLength(1);
    expect(brought(noted('warning'), noted('warning'))).toEqual([]);
    expect(brought(noted('info'), noted('warning'))).toEqual([]);
  });

  test('an error that is mended in one task and comes in another is brought there, and so is that of a copy', () => {
    const away = SHORT.slice(SHORT.indexOf('task Home')).replace('Home', 'Away');
    const folder = repository({ [PLAN]: `${SHORT}\n${away.replace('5000', '5750')}` });
    write(folder, PLAN, `${SHORT.replace('5000', '5750')}\n${away}`);
    expect(since(folder)).toMatchObject({ status: 1, found: [`${PLAN}:8 thin-margin`, `${PLAN}:15 below-reserve`] });
    write(folder, PLAN, `${SHORT.replace('task Home', `${away}\ntask Home`)}`);
    expect(since(folder)).toMatchObject({ status: 1, found: [`${PLAN}:8 below-reserve`] });
  });

  test('a task under another name brings nothing, where nothing else of it changed and the old name is gone', () => {
    const folder = repository({ [PLAN]: SHORT });
    write(folder, PLAN, SHORT.replace('Home', '"Late Home"'));
    expect(since(folder).found).toEqual([]);
    write(folder, PLAN, SHORT.replace('Home', '"Late Home"').replace('5000', '5010'));
    expect(since(folder).found).toEqual([`${PLAN}:8 below-reserve`]);
    write(
      folder,
      PLAN,
      `${SHORT.replace('5000', '5750')}\n${SHORT.slice(SHORT.indexOf('task Home')).replace('Home', 'Late')}`,
    );
    expect(since(folder).found).toEqual([`${PLAN}:8 thin-margin`, `${PLAN}:15 below-reserve`]);
  });

  test('an error that goes from one lap to the other is brought', () => {
    const laps = `use "../club.taskplan"

task Laps
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at 5600 ft MSL
  turn     "Withy Bridge" at 60 kt
  climb    to 5600 ft MSL
  turn     Larkfield at 60 kt
  climb    to 3500 ft MSL
  turn     "Withy Bridge" at 60 kt
  climb    to 5600 ft MSL
  finish   Larkfield at 60 kt
`;
    const folder = repository({ [PLAN]: laps.replace('to 3500', 'to 5600').replace('at 5600', 'at 3500') });
    const [before] = JSON.parse(legwise(['check', '--format', 'json'], { folder }).out).diagnostics;
    expect(before).toMatchObject({ line: 8, severity: 'error' });
    write(folder, PLAN, laps);
    expect(since(folder)).toMatchObject({ status: 1, found: expect.arrayContaining([`${PLAN}:12 ${before.code}`]) });
  });

  test('another airspace or obstacle than before is brought, on whichever line', () => {
    const zone = (name: string) => `airspace ${name}
  floor   2500 ft MSL
  ceiling FL95
  circle  47.2600 N 19.4800 E radius 2 NM
`;
    const mast = (name: string) => `obstacle ${name} at 47.2600 N 19.4760 E\n  top 2950 ft MSL\n`;
    const plan = SOUND.replace('use', 'use "zones.taskplan"\nuse');
    const folder = repository({ [PLAN]: plan, 'pl ans/zones.taskplan': `${zone('Alpha')}${mast('Mast')}` });
    const found = (...codes: string[]) => codes.map((code) => `${PLAN}:9 ${code}`);
    write(folder, 'pl ans/zones.taskplan', `# moved\n${mast('Mast')}${zone('Alpha')}`);
    expect(since(folder).found).toEqual([]);
    write(folder, 'pl ans/zones.taskplan', `${zone('Danger')}${mast('Mast')}`);
    expect(since(folder, '--fail-on', 'warning')).toMatchObject({ status: 1, found: found('enters-airspace') });
    write(folder, 'pl ans/zones.taskplan', `${zone('Alpha')}${mast('Chimney')}`);
    expect(since(folder)).toMatchObject({ status: 1, found: found('below-clearance') });
  });

  test('in a hook of git, in a worktree of its own or with a relative GIT_DIR, the plan tells which repository', () => {
    const folder = repository({ [PLAN]: SHORT });
    const hook = `#!/bin/sh\n"${process.execPath}" "${PROGRAM}" check --since HEAD > ../said.txt 2>&1\n`;
    writeFileSync(path.join(folder, '.git/hooks/pre-commit'), hook, { mode: 0o755 });
    const beside = path.join(folderOf({}), 'tree');
    git(folder, 'worktree', 'add', '-q', beside);
    write(beside, PLAN, `# moved by a line\n${SHORT}`);
    git(beside, 'commit', '-q', '-a', '-m', 'second');
    expect(readFileSync(path.join(beside, '../said.txt'), 'utf8')).toBe('nothing to say in 2 files\n');

    const env = { GIT_DIR: '.git', GIT_WORK_TREE: '.', GIT_INDEX_FILE: '.git/index', GIT_PREFIX: '' };
    write(folder, PLAN, `# moved by a line\n${SHORT}`);
    for (const args of [
      ['check', '--since', 'HEAD'],
      ['compare', '--git', 'HEAD'],
    ])
      expect(legwise(args, { folder, env })).toEqual(legwise(args, { folder }));
    expect(legwise(['check', '--since', 'HEAD'], { folder, env })).toMatchObject({ status: 0, err: '' });
  });

  test('a commit that holds names which lead out of its folder writes nothing there, and is said', () => {
    const temporary = folderOf({ 'in/kept.txt': '' });
    const env = { TMPDIR: path.join(temporary, 'in') };
    for (const name of ['..', '.', '../out']) {
      const folder = repository({ [PLAN]: SHORT });
      write(folder, PLAN, `${SHORT}\n`);
      const blob = gitWith('reserve Evil\n', folder, 'hash-object', '-w', '--stdin');
      const entry = (mode: string, of: string, id: string) =>
        Buffer.concat([Buffer.from(`${mode} ${of}\0`), Buffer.from(id, 'hex')]);
      const tree = (bytes: Buffer) =>
        gitWith(bytes, folder, 'hash-object', '-t', 'tree', '-w', '--literally', '--stdin');
      const inner = tree(entry('100644', 'evil.taskplan', blob));
      const evil = git(folder, 'commit-tree', tree(entry('40000', name, inner)), '-m', 'evil');
      for (const args of [
        ['check', PLAN, '--since', evil],
        ['compare', '--git', evil],
      ]) {
        const { status, out, err } = legwise(args, { folder, env });
        expect([args[0], name, status, out]).toEqual([args[0], name, 2, '']);
        expect(err).toMatch(/^legwise: .*the commit holds .*evil\.taskplan, which leads out of its folder.*\n$/);
      }
      expect(readdirSync(temporary)).toEqual(['in']);
      expect(readdirSync(path.join(temporary, 'in'))).toEqual(['kept.txt']);
    }
  });

  test('no git, no repository, no such revision: status 2 and why', () => {
    const folder = repository({ [PLAN]: SHORT });
    const empty = folderOf({ 'git-less': '' });
    symlinkSync(process.execPath, path.join(empty, 'node'));
    expect(legwise(['check', '--since', 'HEAD'], { folder, env: { PATH: empty } })).toMatchObject({
      status: 2,
      out: '',
      err: expect.stringMatching(/^legwise: --since: the program git is not there: .*\n$/),
    });
    for (const revision of ['nowhere', '--output=x', 'HEAD:club.taskplan']) {
      expect(legwise(['check', `--since=${revision}`], { folder })).toMatchObject({
        status: 2,
        out: '',
        err: expect.stringMatching(/^legwise: --since: no revision .*\n$/),
      });
    }
    const plain = folderOf({ 'a.taskplan': '' });
    expect(legwise(['check', '--since', 'HEAD'], { folder: plain })).toMatchObject({
      status: 2,
      err: expect.stringMatching(/lies in no git repository\n$/),
    });
    expect(legwise(['check', '--since', 'HEAD', '-'], { folder }).status).toBe(2);
  });
});

const PROGRAM = path.join(ROOT, 'dist/legwise.cjs');

/** A watching program: what it wrote so far, and a wait for more. */
function watched(command: string, args: readonly string[], folder: string) {
  const child = spawn(command, args, {
    cwd: folder,
    stdio: ['pipe', 'pipe', 'pipe'],
    env: { ...process.env, TERM: 'xterm' },
  });
  removes.push(() => child.kill('SIGKILL'));
  let out = '';
  let told: () => void = () => {};
  child.stdout.on('data', (chunk) => {
    out += chunk;
    told();
  });
  const ended = new Promise<number | null>((resolve) => child.on('close', resolve));
  const until = async (says: (out: string) => boolean) => {
    while (!says(out)) await new Promise<void>((resolve) => (told = resolve));
    return out;
  };
  return { child, until, ended };
}

const count = (text: string, part: string) => text.split(part).length - 1;

describe('--watch', () => {
  test('without a terminal: prints again when a plan, or what it uses, changes', async () => {
    const folder = folderOf({ 'club.taskplan': EXAMPLE_CLUB, [PLAN]: SOUND });
    mkdirSync(path.join(folder, '.git'));
    const { child, until, ended } = watched(process.execPath, [PROGRAM, 'check', '--watch'], folder);
    const clean = 'nothing to say in 2 files\n';
    await until((out) => out.includes(clean));
    write(folder, PLAN, SHORT);
    await until((out) => count(out, 'below-reserve') === 1);
    write(folder, PLAN, SOUND);
    await until((out) => count(out, clean) === 2);
    write(folder, 'club.taskplan', EXAMPLE_CLUB.replace('1000 ft AGL', '1600 ft AGL'));
    const out = await until((text) => count(text, 'below-reserve') === 2);
    expect(out).not.toContain('\u001b');
    child.kill('SIGINT');
    expect(await ended).toBe(1);
  });

  test('a file that is named counts whatever its ending, and a reader that has gone ends it', async () => {
    const folder = folderOf({ 'club.taskplan': EXAMPLE_CLUB, 'p.txt': SOUND.replace('..', '.') });
    const { child, until, ended } = watched(process.execPath, [PROGRAM, 'check', '--watch', 'p.txt'], folder);
    await until((out) => out.includes('nothing to say in 1 file\n'));
    write(folder, 'p.txt', SHORT.replace('..', '.'));
    await until((out) => count(out, 'below-reserve') === 1);
    child.stdout.destroy();
    write(folder, 'p.txt', SOUND.replace('..', '.'));
    await ended;
  });

  test('on a terminal: redraws, and q ends it', async () => {
    const folder = folderOf({ 'club.taskplan': EXAMPLE_CLUB, [PLAN]: SOUND });
    mkdirSync(path.join(folder, '.git'));
    const command = `"${process.execPath}" "${PROGRAM}" check --watch`;
    const { child, until, ended } = watched('script', ['-qefc', command, '/dev/null'], folder);
    await until((out) => out.includes('q ends'));
    write(folder, PLAN, SHORT);
    const out = await until((text) => count(text, 'q ends') === 2);
    expect(out.slice(out.lastIndexOf('\u001b[2J'))).toContain('below-reserve');
    child.stdin.write('q');
    expect(await ended).toBe(1);
  });
});
