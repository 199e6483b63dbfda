import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import esbuild from 'esbuild';
import { Minimatch } from 'minimatch';
import { afterAll, expect, test } from 'vitest';
import { FILE_OPERATIONS } from '../../server/capabilities.ts';

const root = path.resolve(import.meta.dirname, '../..');
const { GLOBS } = (await import(path.join(root, '.dev/build.mjs'))) as { GLOBS: esbuild.Plugin };
const folder = mkdtempSync(path.join(tmpdir(), 'globs-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** What the server registers, what its watchers ask for, and what a folder of a workspace makes of it. */
const OURS = FILE_OPERATIONS.willRename.filters.map(({ pattern }) => pattern.glob);
const ALL = [...OURS, '**/*.hgt', '/home/a b/{x,y}/**/*.taskplan', '*.md'];
const PATHS = [
  '/a/b.taskplan',
  '/b.taskplan',
  'b.taskplan',
  '/a/.hidden/b.taskplan',
  'c:/Users/x/b.taskplan',
  '/a.b/\u00fc \u00df/b.taskplan',
  '/a(1)/b.taskplan',
  '/a[1]/b.taskplan',
  '/home/a b/x/z/b.taskplan',
  '/home/a b/q/b.taskplan',
  '/a/B.TASKPLAN',
  '/a/b.taskplan.md',
  '/a/b/.git/',
  '/a',
  '/a/',
  '/',
  'x.md',
  '/x.md',
];

// The reference is the library itself, which is there for development.
test('what the bundles match names of files by finds what the library it stands for finds', async () => {
  const outfile = path.join(folder, 'globs.mjs');
  await esbuild.build({
    absWorkingDir: root,
    stdin: { contents: "export { Minimatch } from 'minimatch';", resolveDir: root },
    bundle: true,
    format: 'esm',
    platform: 'node',
    outfile,
    plugins: [GLOBS],
  });
  const made = (await import(/* @vite-ignore */ pathToFileURL(outfile).href)) as { Minimatch: typeof Minimatch };
  expect(OURS).toEqual(['**/*.taskplan', '**']);
  for (const glob of ALL)
    for (const options of [{ dot: true }, { dot: true, nocase: true }, { noext: true }]) {
      const [ours, theirs] = [made.Minimatch, Minimatch].map((kind) => new kind(glob, options));
      expect(ours?.makeRe()).toBeTruthy();
      for (const name of PATHS) expect([glob, name, ours?.match(name)]).toEqual([glob, name, theirs?.match(name)]);
    }
});
