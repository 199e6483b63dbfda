import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { compiledFolder } from '../../server/node/compiled.ts';

const MODULE = path.resolve(import.meta.dirname, '../../server/node/compiled.ts');
let folder: string;
let kept: string;
beforeEach(() => {
  folder = mkdtempSync(path.join(tmpdir(), 'compiled-'));
  kept = path.join(folder, 'kept', 'deep');
});
afterEach(() => {
  chmodSync(folder, 0o700);
  rmSync(folder, { recursive: true });
});

const file = (name: string) => path.join(folder, name);
const put = (name: string, text: string) => writeFileSync(file(name), text);

/** Runs a program; what it says, and how it ended. */
function run(name: string, { to = kept as string | null, before = '' } = {}) {
  const script = `
    import { loadCompiled } from ${JSON.stringify(MODULE)};
    ${before}
    loadCompiled(${JSON.stringify(file(name))}, ${to === null ? 'undefined' : JSON.stringify(to)});
  `;
  const { stdout, stderr, status } = spawnSync(process.execPath, ['--input-type=module', '--eval', script], {
    encoding: 'utf8',
    timeout: 20_000,
  });
  return { out: stdout, problem: stderr, status };
}

const names = () => (existsSync(kept) ? readdirSync(kept).sort() : []);
const one = (of: string) => path.join(kept, names().find((name) => name.startsWith(`${of}-`)) as string);
/** Another file in its place has another number. */
const numberOf = (name: string) => statSync(name).ino;

/** A program with many functions, of which it calls as many as it is told. */
const MANY = `
const all = [${Array.from({ length: 2000 }, (_, i) => `(x) => { let y = x + ${i}; for (let k = 0; k < 3; k++) y += k * ${i}; return y; }`).join(',\n')}];
const calls = Number(process.env.CALLS ?? 0);
let sum = 0;
for (let i = 0; i < calls; i++) sum += all[i](i);
console.log(sum);
`;

describe('a program and what was compiled of it', () => {
  test('the second start uses what the first one kept', () => {
    put('main.cjs', 'console.log("hello");\n');
    expect(run('main.cjs')).toEqual({ out: 'hello\n', problem: '', status: 0 });
    expect(names()).toHaveLength(1);
    expect(statSync(one('main.cjs')).mode & 0o777).toBe(0o600);
    const number = numberOf(one('main.cjs'));
    expect(run('main.cjs').out).toBe('hello\n');
    // Had V8 refused it, it would have been kept anew.
    expect(numberOf(one('main.cjs'))).toBe(number);
  });

  test('another start that calls much more keeps it anew, and one that calls less does not', () => {
    put('main.cjs', MANY);
    const called = (calls: number) => run('main.cjs', { before: `process.env.CALLS = '${calls}';` }).out;
    const sum = called(0);
    expect(sum).toBe('0\n');
    const [least, number] = [statSync(one('main.cjs')).size, numberOf(one('main.cjs'))];
    const all = called(2000);
    expect(numberOf(one('main.cjs'))).not.toBe(number);
    const most = statSync(one('main.cjs')).size;
    expect(most).toBeGreaterThan(2 * least);
    const last = numberOf(one('main.cjs'));
    expect(called(10)).not.toBe(all);
    expect(called(2000)).toBe(all);
    expect([numberOf(one('main.cjs')), statSync(one('main.cjs')).size]).toEqual([last, most]);
  });

  test('though the collector was told otherwise meanwhile', () => {
    put('main.cjs', 'module.exports = 1;\n');
    const before = `
      import { collectsSoon } from ${JSON.stringify(path.resolve(MODULE, '../memory.ts'))};
      globalThis.much = Array.from({ length: 100_000 }, (_, i) => Array.from({ length: 128 }, () => i));
      collectsSoon()();
    `;
    expect(run('main.cjs', { before }).problem).toBe('');
    const number = numberOf(one('main.cjs'));
    run('main.cjs');
    expect(numberOf(one('main.cjs'))).toBe(number);
  });

  test('a changed program runs as it is, were it as long as before', () => {
    put('main.cjs', 'console.log(12 + 1);\n');
    expect(run('main.cjs').out).toBe('13\n');
    const before = one('main.cjs');
    put('main.cjs', 'console.log(12 + 2);\n');
    expect(run('main.cjs').out).toBe('14\n');
    // Even under the name of the changed one, what was kept of another is not taken.
    const now = path.join(kept, names().find((name) => path.join(kept, name) !== before) as string);
    writeFileSync(now, readFileSync(before));
    expect(run('main.cjs').out).toBe('14\n');
  });

  test.each<[string, (whole: Buffer) => Uint8Array]>([
    ['empty', () => Buffer.alloc(0)],
    ['cut off', (whole) => whole.subarray(0, whole.length - 40)],
    ['only its head', (whole) => whole.subarray(0, 16)],
    ['one bit turned', (whole) => whole.map((byte, i) => (i === whole.length >> 1 ? byte ^ 4 : byte))],
    ['no such thing', () => Buffer.from('hello '.repeat(2000))],
  ])('what was kept is %s: the program runs, and it is kept anew', (_, damaged) => {
    put('main.cjs', 'console.log([1, 2, 3].map((x) => x * x).join());\n');
    run('main.cjs');
    const whole = readFileSync(one('main.cjs'));
    writeFileSync(one('main.cjs'), damaged(whole));
    expect(run('main.cjs')).toEqual({ out: '1,4,9\n', problem: '', status: 0 });
    expect(readFileSync(one('main.cjs')).subarray(0, 4)).toEqual(whole.subarray(0, 4));
    expect(statSync(one('main.cjs')).size).toBe(whole.length);
  });

  test('nowhere to keep it, a file in the way, a folder that may not be written: the program runs', () => {
    put('main.cjs', 'console.log("hello");\n');
    const fine = { out: 'hello\n', problem: '', status: 0 };
    expect(run('main.cjs', { to: null })).toEqual(fine);
    put('kept', '');
    expect(run('main.cjs')).toEqual(fine);
    expect(run('main.cjs', { to: '/proc/none' })).toEqual(fine);
    rmSync(file('kept'));
    mkdirSync(kept, { recursive: true });
    chmodSync(kept, 0o500);
    expect(run('main.cjs')).toEqual(fine);
    chmodSync(kept, 0o700);
    expect(names().filter((name) => name.includes('.cjs.'))).toEqual([]);
  });

  test('what a program requires beside itself is loaded so as well, once, and with its own place', () => {
    put('main.cjs', 'const a = require("./part.cjs"), b = require("./part.cjs"); console.log(a === b, a.where);\n');
    put(
      'part.cjs',
      'exports.where = [require("node:path").basename(__filename), __dirname === require("node:path").dirname(__filename), module.exports === exports].join();\n',
    );
    expect(run('main.cjs')).toEqual({ out: 'true part.cjs,true,true\n', problem: '', status: 0 });
    expect(names().map((name) => name.split('-')[0])).toEqual(['main.cjs', 'part.cjs']);
  });

  test('what could not be loaded is tried again', () => {
    put('main.cjs', 'try { require("./part.cjs"); } catch {}\nconsole.log(require("./part.cjs").done);\n');
    put('part.cjs', 'if (!process.tried) { process.tried = true; throw new Error(); }\nexports.done = true;\n');
    expect(run('main.cjs')).toEqual({ out: 'true\n', problem: '', status: 0 });
  });

  test('two that require each other see what is there so far', () => {
    put('main.cjs', 'exports.early = 1; const { seen } = require("./part.cjs"); console.log(seen);\n');
    put('part.cjs', 'exports.seen = JSON.stringify(require("./main.cjs"));\n');
    expect(run('main.cjs').out).toBe('{"early":1}\n');
  });

  test('what starts a program is left to Node', () => {
    put('main.cjs', 'require("./start.cjs");\n');
    put('start.cjs', '#!/usr/bin/env node\nconsole.log(require("node:path").basename(__filename));\n');
    expect(run('main.cjs')).toEqual({ out: 'start.cjs\n', problem: '', status: 0 });
    expect(names()).toHaveLength(1);
  });

  test('what a program throws is thrown, at its own line and column', () => {
    put('main.cjs', 'null.x;\n');
    put('second.cjs', '\n  null.x;\n');
    expect(run('main.cjs').problem).toContain(`${file('main.cjs')}:1:6`);
    expect(run('second.cjs')).toMatchObject({ status: 1, problem: expect.stringContaining('second.cjs:2:8') });
  });

  test('a process that is killed keeps nothing, and the next one does', () => {
    put('main.cjs', 'if (process.env.KILL) process.kill(process.pid, "SIGKILL");\n');
    run('main.cjs', { before: 'process.env.KILL = "1";' });
    expect(names()).toEqual([]);
    run('main.cjs');
    expect(names()).toHaveLength(1);
  });

  test('a thread uses what was kept, and keeps nothing', () => {
    put('main.cjs', 'console.log(require("node:worker_threads").isMainThread);\n');
    const script = `
      import { Worker } from 'node:worker_threads';
      new Worker(${JSON.stringify(
        `import(${JSON.stringify(MODULE)}).then(({ loadCompiled }) => loadCompiled(${JSON.stringify('MAIN')}, ${JSON.stringify('KEPT')}))`,
      )
        .replaceAll('MAIN', file('main.cjs'))
        .replaceAll('KEPT', kept)}, { eval: true });
    `;
    const { stdout } = spawnSync(process.execPath, ['--input-type=module', '--eval', script], { encoding: 'utf8' });
    expect(stdout).toBe('false\n');
    expect(names()).toEqual([]);
  });

  test('what is of no program any more goes, sixty days after it was kept', () => {
    put('main.cjs', 'console.log(1);\n');
    mkdirSync(kept, { recursive: true });
    const daysAgo = (name: string, days: number) => {
      writeFileSync(path.join(kept, name), '');
      utimesSync(path.join(kept, name), new Date(), new Date(Date.now() - days * 24 * 60 * 60 * 1000));
    };
    daysAgo('old', 61);
    daysAgo('young', 59);
    run('main.cjs');
    expect(names().map((name) => name.split('-')[0])).toEqual(['main.cjs', 'young']);
  });
});

test('it lies with the user’s own files', () => {
  expect(compiledFolder({ XDG_CACHE_HOME: '/own' }, 'linux')).toBe('/own/legwise/compiled');
  // A relative path is to be ignored. Source: XDG Base Directory Specification 0.8, "Basics".
  expect(compiledFolder({ XDG_CACHE_HOME: 'own' }, 'linux', () => '/home/me')).toBe('/home/me/.cache/legwise/compiled');
  expect(compiledFolder({}, 'linux')).toMatch(/\/\.cache\/legwise\/compiled$/);
  expect(compiledFolder({ LOCALAPPDATA: '/local' }, 'win32')).toBe('/local/legwise/compiled');
  expect(compiledFolder({}, 'win32')).toBeUndefined();
  const unknown = () => {
    throw new Error('no such user');
  };
  expect(compiledFolder({}, 'linux', unknown)).toBeUndefined();
  expect(compiledFolder({ XDG_CACHE_HOME: '/own' }, 'linux', unknown)).toBe('/own/legwise/compiled');
});
