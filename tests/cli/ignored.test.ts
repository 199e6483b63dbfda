/** Which plans `.gitignore` leaves out: the same as git, which is asked beside it. */
import { spawnSync } from 'node:child_process';
import path from 'node:path';
import fc from 'fast-check';
import { afterEach, expect, test } from 'vitest';
import { findPlans } from '../../server/node/find.ts';
import { folderWith } from './run.ts';

const removes: (() => void)[] = [];
afterEach(() => {
  for (const remove of removes.splice(0)) remove();
});

const git = (folder: string, ...args: string[]): string => {
  const { status, stdout, stderr } = spawnSync('git', args, { cwd: folder, encoding: 'utf8' });
  if (status !== 0) throw new Error(stderr);
  return stdout;
};

/** What is found in a folder with these files, and what git would take there. */
async function both(files: Readonly<Record<string, string>>, ...settings: string[]) {
  const { folder, remove } = folderWith(files);
  removes.push(remove);
  git(folder, 'init', '--quiet');
  for (const setting of settings) git(folder, 'config', setting, 'true');
  const found = await findPlans(['.'], folder);
  const taken = git(folder, '-c', 'core.excludesFile=', 'ls-files', '-z', '--others', '--exclude-standard');
  return {
    ours: found.files.map((file) => path.relative(folder, file).split(path.sep).join('/')).sort(),
    gits: taken
      .split('\0')
      .filter((name) => name.endsWith('.taskplan'))
      .sort(),
  };
}

const PLANS = Object.fromEntries(
  ['a', 'B', 'plans/a', 'Plans2/a', 'out/a', 'out/in/a', 'out/in/b', 'in/out/a'].map((name) => [
    `${name}.taskplan`,
    '',
  ]),
);

test.each([
  ['capitals', { '.gitignore': 'A.TASKPLAN\nb.taskplan\nPlans/\nplans2\n' }, 7],
  ['nothing comes back in a folder that is out', { '.gitignore': 'out/\n', 'out/.gitignore': '!*.taskplan\n' }, 4],
  ['nor by the same rules', { '.gitignore': '/out\n!out/in/a.taskplan\n' }, 5],
  ['what is out by its name comes back', { '.gitignore': '*.taskplan\n', 'out/.gitignore': '!a.taskplan\n' }, 2],
  ['a folder comes back by the rules of one above it', { '.gitignore': 'in/\n', 'out/.gitignore': '!in/\n' }, 7],
  ['all but some', { '.gitignore': '/*\n!/out\n/out/*\n!/out/in\n', 'out/in/.gitignore': 'b*\n' }, 1],
])('%s', async (_, rules, count) => {
  const { ours, gits } = await both({ ...PLANS, ...rules });
  expect(ours).toEqual(gits);
  expect(ours).toHaveLength(count);
});

test('capitals do not count where git takes no notice of them', async () => {
  const rules = { '.gitignore': 'A.TASKPLAN\nPlans/\n' };
  const { ours, gits } = await both({ ...PLANS, ...rules }, 'core.ignoreCase');
  expect(ours).toEqual(gits);
  expect(ours).toEqual(['B.taskplan', 'out/in/b.taskplan']);
});

test('any rules', async () => {
  const name = fc.constantFrom('a', 'b', 'A');
  const pattern = fc
    .tuple(
      fc.constantFrom('', '', '!'),
      fc.constantFrom('', '', '/', '**/'),
      fc.array(fc.oneof(name, fc.constantFrom('*', 'a*')), { minLength: 1, maxLength: 2 }),
      fc.constantFrom('', '', '/', '.taskplan', '/**'),
    )
    .map(([not, top, steps, end]) => not + top + steps.join('/') + end);
  const rules = fc.array(pattern, { maxLength: 4 }).map((lines) => lines.join('\n'));
  const folder = fc.array(name, { maxLength: 3 }).map((steps) => steps.map((step) => `${step}/`).join(''));
  const files = fc.uniqueArray(fc.tuple(folder, name), { minLength: 1, maxLength: 6, selector: (one) => one.join('') });
  await fc.assert(
    fc.asyncProperty(files, fc.array(fc.tuple(folder, rules), { maxLength: 3 }), async (plans, ignores) => {
      const all = Object.fromEntries([
        ...plans.map(([at, one]) => [`${at}${one}.taskplan`, '']),
        ...ignores.map(([at, text]) => [`${at}.gitignore`, text]),
      ]);
      const { ours, gits } = await both(all);
      for (const remove of removes.splice(0)) remove();
      expect(ours).toEqual(gits);
    }),
    {
      numRuns: 150,
      // Rules that name a folder and what is in it, of which others take in the folder.
      examples: [
        [
          [['a/a/b/', 'a']],
          [
            ['a/', '!b'],
            ['', '*/*/**'],
          ],
        ],
        [
          [['b/a/', 'A']],
          [
            ['', 'b/**'],
            ['b/', '!a*'],
          ],
        ],
        [
          [['a/b/', 'a']],
          [
            ['', 'a/b/'],
            ['a/', '!b'],
          ],
        ],
      ],
    },
  );
});
