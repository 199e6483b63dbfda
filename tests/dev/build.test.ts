import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');
let folder: string;
beforeAll(() => {
  folder = mkdtempSync(path.join(tmpdir(), 'build-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

/** Packs the extension as somebody with these habits would. */
function packed(name: string, umask: string, env: Record<string, string>): Buffer {
  const out = path.join(folder, name);
  execFileSync('sh', ['-c', `umask ${umask}; exec "$0" .dev/package.mjs "$1"`, process.execPath, out], {
    cwd: root,
    env: { ...process.env, ...env },
    stdio: 'pipe',
  });
  return readFileSync(out);
}

test('the same sources make the same package, whoever packs them and wherever', () => {
  const one = packed('one.vsix', '022', { TZ: 'UTC', LANG: 'C' });
  const other = packed('other.vsix', '077', { TZ: 'America/New_York', LANG: 'de_DE.UTF-8' });
  expect(one.equals(other)).toBe(true);
});

test('a package holds what package.json names, and no source', () => {
  // The names stand in the zip file's own list as they are.
  const names = [
    ...packed('names.vsix', '022', {})
      .toString('latin1')
      .matchAll(/extension\/[\w./-]+/g),
  ].map(String);
  for (const wanted of ['dist/extension.cjs', 'dist/extension-web.js', 'dist/server-web.js', 'dist/NOTICE.txt'])
    expect(names.some((name) => name.includes(wanted))).toBe(true);
  expect(names.filter((name) => /\.(ts|map)$|node_modules|\/tests\/|\/samples\//.test(name))).toEqual([]);
});
