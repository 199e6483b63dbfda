/** Standard output and error that take nothing, and places that are gone: a sentence, and a status that is true. */
import { spawnSync } from 'node:child_process';
import path from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { folderWith, ROOT, shortPlan } from './run.ts';

const PROGRAM = path.join(ROOT, 'dist/legwise.cjs');
const SHORT = shortPlan('club.taskplan');
let folder: string;
let remove: () => void;
beforeEach(() => {
  ({ folder, remove } = folderWith({ 'club.taskplan': EXAMPLE_CLUB, 'short.taskplan': SHORT, 'gone/x.txt': '' }));
});
afterEach(() => remove());
const shell = (command: string) => {
  const ran = spawnSync('bash', ['-c', `set -o pipefail; L="${process.execPath} ${PROGRAM}"; ${command}`], {
    cwd: folder,
    encoding: 'utf8',
    timeout: 30_000,
  });
  return { status: ran.status, out: ran.stdout, err: ran.stderr };
};

test('a reader that closes the pipe changes nothing of the status', () => {
  expect(shell('$L check short.taskplan | true')).toEqual({ status: 1, out: '', err: '' });
  expect(shell('$L check club.taskplan | true')).toEqual({ status: 0, out: '', err: '' });
  expect(shell('$L explain | true')).toEqual({ status: 0, out: '', err: '' });
  expect(shell('$L --version | true')).toEqual({ status: 0, out: '', err: '' });
  expect(shell('$L chekc 2>&1 >/dev/null | true').status).toBe(2);
});

test('output that is lost is status 2, and said', () => {
  for (const command of ['check short.taskplan', 'explain', '--version', '--help', 'budget club.taskplan']) {
    const { status, err } = shell(`$L ${command} > /dev/full`);
    expect([command, status, err]).toEqual([
      command,
      2,
      expect.stringMatching(/^legwise: standard output cannot be written: .*no space left on device.*\n$/),
    ]);
  }
  expect(shell('$L check nowhere 2> /dev/full').status).toBe(2);
  expect(shell("$L import - --from csv --as field 2> /dev/full <<< $'name,lat,lon\\nA,47,19\\nB,470,19'").status).toBe(
    2,
  );
});

test('so is output that a disk takes only a part of', () => {
  const { status, err } = shell(`trap '' XFSZ; ulimit -f 1; $L explain below-reserve > all.txt`);
  expect([status, err]).toEqual([2, 'legwise: standard output cannot be written: file too large\n']);
});

test('a working folder that is gone is said in a sentence', () => {
  expect(shell('cd gone; rm -r ../gone; $L check')).toEqual({
    status: 2,
    out: '',
    err: 'legwise: the working folder is not there any more\n',
  });
});
