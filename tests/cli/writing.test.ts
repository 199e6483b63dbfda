/** What the command line writes to files: never over what it read, through links, into pipes, with the mode that was. */
import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  linkSync,
  lstatSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { folderWith, legwise, ROOT } from './run.ts';

const PROGRAM = path.join(ROOT, 'dist/legwise.cjs');
const PLAN = `use "club.taskplan"

task Home
  aircraft  Finch with pilot 82 kg
  weather   Breezy
  reserve   Training
  start     "Withy Bridge" at 5200 ft MSL
  finish    Larkfield at best glide
`;
const UNTIDY = PLAN.replace('aircraft  Finch', 'aircraft      Finch');

let folder: string;
let remove: () => void;
beforeEach(() => {
  ({ folder, remove } = folderWith({ 'club.taskplan': EXAMPLE_CLUB, 'p.taskplan': PLAN, 'out/kept.txt': '' }));
});
afterEach(() => remove());
const at = (name: string) => path.join(folder, name);
const read = (name: string) => readFileSync(at(name), 'utf8');
const run = (...args: string[]) => legwise(args, { folder });
/** A command of a shell, with `$L` for the program. */
const shell = (command: string) => {
  const ran = spawnSync('bash', ['-c', `L="${process.execPath} ${PROGRAM}"; ${command}`], {
    cwd: folder,
    encoding: 'utf8',
    timeout: 20_000,
  });
  return { status: ran.status, out: ran.stdout, err: ran.stderr };
};

describe('-o', () => {
  test('is never what is read: the plan, what it uses, by whatever path', () => {
    symlinkSync('p.taskplan', at('link.gpx'));
    linkSync(at('club.taskplan'), at('hard.gpx'));
    writeFileSync(at('page.html'), PLAN);
    for (const args of [
      ['export', 'p.taskplan', '--to', 'gpx', '-o', 'p.taskplan'],
      ['export', 'p.taskplan', '--to', 'gpx', '-o', 'out/../club.taskplan'],
      ['export', 'p.taskplan', '-o', 'link.gpx'],
      ['export', 'p.taskplan', '-o', 'hard.gpx'],
      ['brief', 'page.html', '-o', 'page.html'],
    ]) {
      const { status, out, err } = run(...args);
      expect([args, status, out]).toEqual([args, 2, '']);
      expect(err).toMatch(/^legwise: .* is what is read: -o takes another file\n$/);
    }
    expect(shell('$L export - --to gpx -o p.taskplan < p.taskplan').err).toContain('is what is read');
    expect([read('p.taskplan'), read('club.taskplan'), read('page.html')]).toEqual([PLAN, EXAMPLE_CLUB, PLAN]);
  });

  test('writes into a pipe and a device, and leaves them what they are', () => {
    const gpx = run('export', 'p.taskplan', '--to', 'gpx').out;
    const piped = shell('mkfifo f.gpx; cat f.gpx & $L export p.taskplan -o f.gpx; s=$?; wait; exit $s');
    expect(piped).toEqual({ status: 0, out: gpx, err: '' });
    expect(lstatSync(at('f.gpx')).isFIFO()).toBe(true);
    const through = shell('set -o pipefail; $L export p.taskplan --to gpx -o /dev/stdout | cat');
    expect(through).toEqual({ status: 0, out: gpx, err: '' });
    shell('echo first > all.txt; $L export p.taskplan --to gpx -o /dev/stdout >> all.txt');
    expect(read('all.txt')).toBe(`first\n${gpx}`);
    symlinkSync('/dev/null', at('null'));
    expect(run('export', 'p.taskplan', '--to', 'gpx', '-o', 'null')).toEqual({ status: 0, out: '', err: '' });
    expect([lstatSync(at('null')).isSymbolicLink(), lstatSync('/dev/null').isCharacterDevice()]).toEqual([true, true]);
  });

  test('follows a link, also to a file that is not there yet, and says where links lead in a circle', () => {
    const gpx = run('export', 'p.taskplan', '--to', 'gpx').out;
    writeFileSync(at('out/old.gpx'), 'old');
    symlinkSync('out/old.gpx', at('old'));
    symlinkSync('out/new.gpx', at('new'));
    symlinkSync('new', at('newer'));
    symlinkSync('round', at('round'));
    for (const link of ['old', 'newer']) expect(run('export', 'p.taskplan', '--to', 'gpx', '-o', link).status).toBe(0);
    expect([read('out/old.gpx'), read('out/new.gpx')]).toEqual([gpx, gpx]);
    expect(['old', 'new', 'newer'].map((name) => readlinkSync(at(name)))).toEqual([
      'out/old.gpx',
      'out/new.gpx',
      'new',
    ]);
    const { status, err } = run('export', 'p.taskplan', '--to', 'gpx', '-o', 'round');
    expect([status, err]).toEqual([2, expect.stringMatching(/^legwise: .*round cannot be written: .*links.*\n$/)]);
    expect(readdirSync(at('out')).sort()).toEqual(['kept.txt', 'new.gpx', 'old.gpx']);
  });
});

describe('format', () => {
  test('keeps the mode, the owner and a link', () => {
    writeFileSync(at('p.taskplan'), UNTIDY);
    chmodSync(at('p.taskplan'), 0o664);
    if (process.getuid?.() === 0) chownSync(at('p.taskplan'), 1234, 4321);
    const { uid, gid } = statSync(at('p.taskplan'));
    symlinkSync('../p.taskplan', at('out/link.taskplan'));
    expect(run('format', 'out/link.taskplan').status).toBe(0);
    expect(read('p.taskplan')).toBe(PLAN);
    expect(readlinkSync(at('out/link.taskplan'))).toBe('../p.taskplan');
    const after = statSync(at('p.taskplan'));
    expect([after.mode & 0o777, after.uid, after.gid]).toEqual([0o664, uid, gid]);
  });

  test('says in a sentence what cannot be written, goes on with the next, and takes a name of 255 bytes', () => {
    const long = `${'n'.repeat(246)}.taskplan`;
    for (const name of ['a/one.taskplan', long, 'z.taskplan']) {
      mkdirSync(path.dirname(at(name)), { recursive: true });
      writeFileSync(at(name), UNTIDY.replace('club', name.startsWith('a') ? '../club' : 'club'));
    }
    // As on a full disk, where not even the superuser can write.
    const { status, out, err } = shell(`ulimit -f 0; trap '' XFSZ; $L format a/one.taskplan ${long} z.taskplan`);
    expect([status, out]).toEqual([2, '']);
    expect(err.split('\n')).toEqual([
      expect.stringMatching(/^legwise: a\/one\.taskplan cannot be written: file too large$/),
      expect.stringMatching(/^legwise: n+\.taskplan cannot be written: file too large$/),
      expect.stringMatching(/^legwise: z\.taskplan cannot be written: file too large$/),
      '0 of 3 plans changed',
      '',
    ]);
    expect(run('format', 'a', long, 'z.taskplan')).toMatchObject({
      status: 0,
      out: `a/one.taskplan\n${long}\nz.taskplan\n`,
    });
    expect(read(long)).toBe(PLAN);
  });

  test('reads no more than check does: pipes, devices and endless input are said', () => {
    symlinkSync('/dev/zero', at('zero.taskplan'));
    for (const command of [
      'mkfifo pipe.taskplan; $L format pipe.taskplan',
      '$L format zero.taskplan',
      '$L format - < /dev/zero',
      '$L check - < /dev/zero',
      '$L import - < /dev/zero --from csv',
      '$L format - < /',
    ]) {
      const { status, out, err } = shell(command);
      expect([command, status, out]).toEqual([
        command,
        2,
        command.includes('check') ? 'nothing to say in 0 files\n' : '',
      ]);
      expect(err.replace(/^0 of 1 plans changed\n/m, '')).toMatch(/^legwise: .*\n$/);
    }
  });
});
