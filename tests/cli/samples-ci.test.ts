/** The sample workflow and the pre-commit configuration call the command line as it is. */
import { spawnSync } from 'node:child_process';
import { cpSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';
import { folderWith, legwise, ROOT } from './run.ts';

/** The calls of `legwise` in a file, as words, with what the workflow fills in filled in. */
function callsIn(file: string): string[][] {
  const text = readFileSync(path.join(ROOT, 'samples', file), 'utf8')
    .replaceAll(/\$\{\{ matrix\.shard \}\}/g, '1/1')
    .replaceAll(/origin\/\$\{\{ github\.base_ref \}\}/g, 'HEAD');
  return [...text.matchAll(/^ +(?:run|entry): legwise (.*)$/gm)].map(([, call]) =>
    (call as string).replace(/ > .*$/, '').split(' '),
  );
}

test('every call in the samples is understood and finds what it should', () => {
  const { folder, remove } = folderWith({});
  try {
    cpSync(path.join(ROOT, 'samples'), folder, { recursive: true });
    const git = (...args: string[]) =>
      spawnSync('git', ['-c', 'user.name=C', '-c', 'user.email=c@example.org', ...args], { cwd: folder });
    git('init', '-q');
    git('add', '.');
    git('commit', '-q', '-m', 'first');
    const calls = [...callsIn('.github/workflows/check.yml'), ...callsIn('.pre-commit-config.yaml')];
    expect(calls).toHaveLength(5);
    for (const call of calls) {
      // The samples hold plans with findings on purpose; nothing in them is new.
      const { status, err } = legwise(call, { folder });
      const all = call[0] === 'check' && !call.includes('--since');
      expect([call, status, err.replace(/^\d+ of \d+ plans .*\n$/, '')]).toEqual([call, all ? 1 : 0, '']);
    }
    const plan = path.join(folder, 'plans/practice-triangle.taskplan');
    writeFileSync(plan, `${readFileSync(plan, 'utf8')}\nturnpoint Nowhere at 47 N\n`);
    for (const call of calls.filter((one) => one.includes('--since'))) expect(legwise(call, { folder }).status).toBe(1);
  } finally {
    remove();
  }
});
