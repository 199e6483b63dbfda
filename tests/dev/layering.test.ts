import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { build } from 'esbuild';
import { afterEach, expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');
const script = path.join(root, '.dev/layering.mjs');
const trees: string[] = [];

afterEach(() => {
  for (const tree of trees.splice(0)) rmSync(tree, { recursive: true });
});

/** Runs the check over a throwaway tree; returns its lines and exit status. */
function check(files: Record<string, string>) {
  const tree = mkdtempSync(path.join(tmpdir(), 'layering-'));
  trees.push(tree);
  for (const [file, text] of Object.entries(files)) {
    mkdirSync(path.dirname(path.join(tree, file)), { recursive: true });
    writeFileSync(path.join(tree, file), text);
  }
  const run = spawnSync(process.execPath, [script, tree], { encoding: 'utf8' });
  return { lines: run.stdout.split('\n').filter((line) => line !== ''), status: run.status };
}

test('a tree in order passes', () => {
  const { lines, status } = check({
    'grammar/parser.ts':
      "import { createToken } from 'chevrotain';\nimport './tokens.ts';\nexport const a = createToken;",
    'grammar/tokens.ts': 'export const b = 1;',
    'server/flight/air.ts': 'export const c = 1;',
    'server/plan/plan.ts': "import { a } from '../../grammar/parser.ts';\nimport '../flight/air.ts';\nexport { a };",
    'server/rules/rule.ts': "import type { Diagnostic } from 'vscode-languageserver-types';\nimport '../plan/plan.ts';",
    'server/node.ts': "import fs from 'node:fs';\nimport './rules/rule.ts';\nconsole.log(fs, Date.now());",
    'client/extension.ts': "import * as vscode from 'vscode';\nsetTimeout(() => vscode, 1);",
  });
  expect(lines).toEqual([]);
  expect(status).toBe(0);
});

test('every breach is one line, with the place and what is wrong there', () => {
  const { lines, status } = check({
    'grammar/tokens.ts': "import '../server/plan/plan.ts';",
    'server/flight/air.ts': "// first line\nimport type { Plan } from '../plan/plan.ts';",
    'server/plan/plan.ts':
      "export * from '../rules/rule.ts';\nimport { readFileSync } from 'node:fs';\nimport path from 'path';",
    'server/rules/rule.ts':
      "import { createConnection } from 'vscode-languageserver/node';\nimport * as vscode from 'vscode';",
    'server/features/hover.ts': "export const later = () => import('../reports/text.ts');",
    'server/reports/text.ts': "import {\n  test,\n} from '../../tests/x.ts';",
    'server/other/x.ts': '',
  });
  expect(lines).toEqual([
    'grammar/tokens.ts:1 grammar imports server/plan/plan.ts, of server/plan',
    'server/features/hover.ts:1 server/features imports server/reports/text.ts, of server/reports',
    'server/flight/air.ts:2 server/flight imports server/plan/plan.ts, of server/plan',
    'server/other/x.ts:1 server/other is no known stage',
    'server/plan/plan.ts:1 server/plan imports server/rules/rule.ts, of server/rules',
    'server/plan/plan.ts:2 server/plan imports node:fs, of Node',
    'server/plan/plan.ts:3 server/plan imports path, of Node',
    'server/reports/text.ts:3 server/reports imports tests/x.ts, which is outside the stages',
    'server/rules/rule.ts:1 server/rules imports vscode-languageserver/node, which knows a connection or an editor',
    'server/rules/rule.ts:2 server/rules imports vscode, which knows a connection or an editor',
  ]);
  expect(status).toBe(1);
});

test('the pure stages use no clock, environment or outside world', () => {
  const { lines } = check({
    'server/plan/plan.ts': [
      'export const a = process.env.HOME;',
      'export const b = Date.now();',
      'export const c = new Date();',
      'setTimeout(() => {}, 1);',
      'export const d = `$' + '{fetch("x")}`;',
      'console.log(globalThis);',
    ].join('\n'),
  });
  expect(lines).toEqual([
    'server/plan/plan.ts:1 server/plan uses process',
    'server/plan/plan.ts:2 server/plan uses Date.now',
    'server/plan/plan.ts:3 server/plan uses new Date()',
    'server/plan/plan.ts:4 server/plan uses setTimeout',
    'server/plan/plan.ts:5 server/plan uses fetch',
    'server/plan/plan.ts:6 server/plan uses console',
    'server/plan/plan.ts:6 server/plan uses globalThis',
  ]);
});

test('comments, strings, regular expressions, keys and members are no uses', () => {
  const { lines } = check({
    'server/plan/plan.ts': [
      '// process.env and console.log',
      '/* Date.now()',
      '   import "../rules/rule.ts" */',
      'export const a = "process.env";',
      "export const b = 'it\\'s console.log';",
      'export const c = `setTimeout $' + '{`inner $' + '{1 + 1} fetch()`} globalThis`;',
      'export const d = /["\'`]process[/]console/g.test(a) ? 4 / 2 / 1 : 0;',
      'export const e = { process: 1, fetch: 2 };',
      'export const f = e.process + e.fetch;',
      'export const g = (at: string) => new Date(at);',
      'export interface H { process: number }',
    ].join('\n'),
  });
  expect(lines).toEqual([]);
});

test('an import cycle is reported with its path', () => {
  const { lines } = check({
    'server/plan/a.ts': "import './b.ts';",
    'server/plan/b.ts': "import './c.ts';",
    'server/plan/c.ts': "\nimport type { A } from './a.ts';",
  });
  expect(lines).toEqual([
    'server/plan/c.ts:2 import cycle: server/plan/a.ts -> server/plan/b.ts -> server/plan/c.ts -> server/plan/a.ts',
  ]);
});

test('in the sources as they stand, the check sees every import that the bundler sees', async () => {
  const run = spawnSync(process.execPath, [script, '--list', root], { encoding: 'utf8' });
  const seen = new Set(run.stdout.split('\n'));
  const files = [...new Set([...seen].map((line) => line.split(' -> ')[0] ?? ''))].filter((file) => file !== '');
  const bundled = await build({
    absWorkingDir: root,
    entryPoints: files,
    bundle: true,
    packages: 'external',
    external: ['vscode'],
    platform: 'node',
    write: false,
    outdir: 'unused',
    metafile: true,
    logLevel: 'silent',
  });
  const missed = Object.entries(bundled.metafile.inputs).flatMap(([from, { imports }]) =>
    imports.filter(({ external }) => !external).map(({ path: to }) => `${from} -> ${to}`),
  );
  expect(missed.filter((line) => !seen.has(line))).toEqual([]);
});
