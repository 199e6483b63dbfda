// Mutation testing: small mistakes are put into a source file one by one, and the tests that stand for it must notice.
//
//   node .dev/mutate.mjs FILE...        one file of server/flight or server/plan after the other
//   node .dev/mutate.mjs --again FILE   what a test failed for the last time counts as noticed, unless the file has changed
//   node .dev/mutate.mjs --own FILE     the file's own tests alone
//
// The mistakes are those of Stryker's instrumenter, all of its kinds, in one build in which a variable switches each.
// For each one only the tests run that reach it, those that noticed most first, until one fails (tests/mutation/harness.mjs).
// What survives is listed with its place; what changes nothing that anyone could see is explained in
// tests/mutation/EQUIVALENT.md, by the line as it is printed here. Exit 1 when fewer than 90 % of the mutants are noticed
// and some of the others are not explained.
import { fork } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { Instrumenter } from '@stryker-mutator/instrumenter';
import { build } from 'esbuild';

const ROOT = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..');
const CACHE = path.join(ROOT, '.cache/mutation');
const SLOW = path.join(CACHE, 'slow.json');
const ENOUGH = 90;
/** With counters the tests take several times as long as with a mutant: more than that, and then some, is a hang. */
const SLOWER = 1;
const SLACK_MS = 6000;
/** And a test that seems to hang has so long by itself, first with counters: ms. */
const AGAIN_MS = 120_000;
/** Of files other than the file's own, tests that take longer (with counters) are left out, and named: ms. */
const SLOWEST_MS = 1500;
/** So much of other files' tests is run for one mutant (with counters); the rest is left out: ms. */
const ELSEWHERE_MS = 6000;

/** Where the tests lie that stand for the files of a folder. */
const TESTS = {
  'server/flight': ['tests/flight', 'tests/published', 'tests/plan', 'tests/reference'],
  'server/plan': ['tests/plan', 'tests/flight', 'tests/published', 'tests/rules', 'tests/reference', 'tests/reports'],
};
/** Tests of a whole checkout, of many files, of other programs or of written formats, which say little of one line. */
const LEFT_OUT = /(-any|pdf|schemas|sheet|brief|pages|export|draw)[^/]*\.test\.ts$/;

function testsOf(file) {
  const folders = TESTS[path.posix.dirname(file)];
  if (!folders) throw new Error('only files of server/flight and server/plan have tests that stand for them');
  return folders.flatMap((folder) =>
    readdirSync(path.join(ROOT, folder))
      .map((name) => `${folder}/${name}`)
      .filter((name) => name.endsWith('.test.ts') && !LEFT_OUT.test(name))
      .sort(),
  );
}

const GIVEN = process.argv.slice(2);
const NAMED = GIVEN.filter((one) => !one.startsWith('--'));
const AGAIN = GIVEN.includes('--again');
const OWN = GIVEN.includes('--own');

const SILENT = { isDebugEnabled: () => false, debug() {}, info() {}, warn: console.error, error: console.error };

async function mutantsOf(file) {
  const content = readFileSync(path.join(ROOT, file), 'utf8');
  const { files, mutants } = await new Instrumenter(SILENT).instrument([{ name: file, mutate: true, content }], {
    plugins: undefined,
    ignorers: [],
    excludedMutations: [],
  });
  return { content, mutants, code: files[0].content };
}

/**
 * The instrumented code without its counters, and with a switch that the compiler can look through: a script is loaded
 * anew for each mutant, so which one it is never changes.
 */
function withoutCounters(code) {
  const parts = [
    ['function stryCov_9fa48() {', 'function stryCov_9fa48() {}\nfunction stryCovUnused_() {'],
    [
      'function stryMutAct_9fa48(id) {',
      'var stryOn_ = stryNS_9fa48().activeMutant;\nfunction stryMutAct_9fa48(id) { return id === stryOn_ && stryHit_(id); }\nfunction stryHit_(id) {',
    ],
    ['stryMutAct_9fa48 = isActive;', ''],
    ['stryCov_9fa48 = cover;', ''],
  ];
  let made = code;
  for (const [was, now] of parts) {
    if (!made.includes(was)) throw new Error(`the instrumenter writes its helpers otherwise: no ${was}`);
    made = made.replace(was, () => now);
  }
  return made;
}

async function bundle(file, code, tests, outfile) {
  const entry = tests
    .map((test) => `  ${JSON.stringify(test)}: () => require(${JSON.stringify(`./${test}`)}),`)
    .join('\n');
  const at = path.join(ROOT, file);
  const { metafile } = await build({
    absWorkingDir: ROOT,
    metafile: true,
    stdin: { contents: `module.exports = {\n${entry}\n};`, resolveDir: ROOT, loader: 'js' },
    outfile,
    bundle: true,
    format: 'cjs',
    platform: 'node',
    target: 'node22',
    mainFields: ['module', 'main'],
    logLevel: 'error',
    banner: { js: '(() => (module, exports, require) => {' },
    footer: { js: '})()' },
    plugins: [
      {
        name: 'mutation',
        setup(on) {
          on.onResolve({ filter: /^(vitest|fast-check)$/ }, ({ path: name }) => ({ path: name, namespace: 'harness' }));
          on.onLoad({ filter: /.*/, namespace: 'harness' }, ({ path: name }) => ({
            contents: `module.exports = globalThis.__mutation__.${name === 'vitest' ? 'vitest' : 'fc'};`,
          }));
          on.onLoad({ filter: /[\\/](grammar|server|tests)[\\/].*\.ts$/ }, ({ path: found }) => {
            const contents = found === at ? code : readFileSync(found, 'utf8');
            return {
              contents: contents
                .replaceAll('import.meta.dirname', JSON.stringify(path.dirname(found)))
                .replaceAll('import.meta.url', JSON.stringify(`file://${found}`)),
              loader: 'ts',
            };
          });
        },
      },
    ],
  });
  return metafile.inputs;
}

/** Of the tests those that import a file, whatever lies between. */
function importing(file, tests, inputs) {
  const reaches = (from, seen) => {
    if (from === file) return true;
    if (seen.has(from)) return false;
    seen.add(from);
    return (inputs[from]?.imports ?? []).some(({ path: to }) => reaches(to, seen));
  };
  return tests.filter((test) => reaches(test, new Set()));
}

/** Tests that took too long in an earlier run, by name: but for a file's own, they are not tried again. */
const slowTests = () => (existsSync(SLOW) ? JSON.parse(readFileSync(SLOW, 'utf8')) : []);

/** The process in which the tests run; a new one after one that had to be ended. */
class Harness {
  start() {
    this.child = fork(path.join(ROOT, 'tests/mutation/harness.mjs'), {
      cwd: ROOT,
      execArgv: ['--stack-size=900'],
      stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
      serialization: 'advanced',
    });
  }

  /** What it answers; undefined when that takes too long. */
  ask(message, withinMs) {
    if (!this.child) this.start();
    const { child } = this;
    return new Promise((resolve) => {
      const end = (answer) => {
        clearTimeout(timer);
        child.removeAllListeners();
        resolve(answer);
      };
      const lost = () => {
        child.kill('SIGKILL');
        this.child = undefined;
        end(undefined);
      };
      const timer = setTimeout(lost, withinMs);
      child.once('message', end);
      child.once('exit', lost);
      child.send(message);
    });
  }

  stop() {
    this.child?.disconnect();
    this.child = undefined;
  }
}

/**
 * The tests that reach a mutant: of a file all of them when loading it does. First those that have noticed most of what
 * they were asked so far, for the time that they take, the file's own before others.
 */
function planFor(id, found, own, record) {
  const plan = [];
  for (const { file, atLoad, tests } of found) {
    const isOwn = file === own;
    for (const { name, took, covers } of tests) {
      if (!atLoad[id] && !covers[id]) continue;
      const { asked = 0, noticed = 0 } = record.get(name) ?? {};
      const worth = (((noticed + 0.3) / (asked + 1)) * (isOwn ? 3 : 1)) / (took + 1);
      plan.push({ file, name, took, hits: covers[id] ?? 0, atLoad: atLoad[id] ?? 0, own: isOwn, worth });
    }
  }
  plan.sort((a, b) => b.worth - a.worth);
  let left = ELSEWHERE_MS;
  const within = plan.filter(({ own, took }) => {
    if (own) return true;
    if (took > left) return false;
    left -= took;
    return true;
  });
  return { plan: within, took: within.reduce((sum, one) => sum + one.took, 0) };
}

function told(file, content, { location: { start, end }, mutatorName, replacement }) {
  const line = content.split('\n')[start.line];
  const was = start.line === end.line ? line.slice(start.column, end.column) : line.trim();
  const short = (text) => String(text).replaceAll(/\s+/g, ' ').trim();
  return {
    where: `${file}:${start.line + 1}:${start.column + 1}`,
    what: `${mutatorName}: ${short(was)} -> ${short(replacement)}`,
  };
}

/** What EQUIVALENT.md explains of a file: the mutants as they are printed, each in a list item of the file's section. */
function explained(file) {
  const text = readFileSync(path.join(ROOT, 'tests/mutation/EQUIVALENT.md'), 'utf8');
  const section = text.split(/^## /m).find((part) => part.startsWith(`${file}\n`)) ?? '';
  return new Set([...section.matchAll(/^- `` (.+?) ``/gm)].map(([, what]) => what));
}

async function mutate(file) {
  const { content, mutants, code } = await mutantsOf(file);
  const folder = path.join(CACHE, file.replaceAll('/', '-').replace(/\.ts$/, ''));
  mkdirSync(folder, { recursive: true });
  const counting = path.join(folder, 'counting.cjs');
  const program = path.join(folder, 'program.cjs');
  const own = `${file.replace(/^server\//, 'tests/').replace(/\.ts$/, '')}.test.ts`;
  const those = testsOf(file).filter((one) => !OWN || one === own);
  if (those.length === 0) throw new Error(`there is no ${own}`);
  const tests = importing(file, those, await bundle(file, code, those, counting));
  await bundle(file, withoutCounters(code), tests, program);
  const harness = new Harness();
  const slow = slowTests().filter((name) => tests.some((test) => test !== own && name.startsWith(`${test} > `)));
  for (const name of slow) console.log(`left out, as it took too long before: ${name}`);
  const found = await harness.ask({ kind: 'dry', program: counting, files: tests, own, slow }, 900_000);
  harness.stop();
  if (!found) throw new Error('the tests themselves do not end');
  for (const one of found) {
    // A test of some other file may count on more cases than it has here.
    if (one.file === own) continue;
    for (const { name } of one.tests.filter((each) => each.wrong))
      console.log(`left out, as it fails with few cases and no mutant: ${name}`);
    one.tests = one.tests.filter((each) => !each.wrong);
  }
  const wrong = found.flatMap(({ file: of, tests: all }) =>
    all.flatMap((one) => (one.wrong ? [`${of} > ${one.name}\n${one.wrong}`] : [])),
  );
  if (wrong.length > 0) throw new Error(`tests fail without any mutant:\n${wrong.join('\n')}`);

  for (const one of found) {
    if (one.file === own) continue;
    const late = one.tests.filter(({ took }) => took > SLOWEST_MS);
    for (const { name, took } of late) console.log(`left out, as it takes ${(took / 1000).toFixed(1)} s: ${name}`);
    if (late.length > 0) writeFileSync(SLOW, JSON.stringify([...slowTests(), ...late.map(({ name }) => name)]));
    one.tests = one.tests.filter(({ took }) => took <= SLOWEST_MS);
  }
  const known = explained(file);
  const tookAll = found.flatMap((one) => one.tests).reduce((sum, { took }) => sum + took, 0);
  console.log(`${file}: ${mutants.length} mutants, tests of ${(tookAll / 1000).toFixed(1)} s`);
  const record = new Map();
  const results = [];
  const kept = path.join(folder, 'results.json');
  const before = AGAIN && existsSync(kept) ? JSON.parse(readFileSync(kept, 'utf8')) : undefined;
  const write = () => writeFileSync(kept, JSON.stringify({ content, results }, undefined, 1));
  const start = Date.now();
  for (const [i, mutant] of mutants.entries()) {
    const last = before?.content === content ? before.results[i] : undefined;
    if (last?.status === 'Killed') {
      results.push(last);
      continue;
    }
    const { plan, took } = planFor(mutant.id, found, own, record);
    const ran = [];
    let result = { status: plan.length === 0 ? 'NoCoverage' : 'Survived' };
    for (let rest = plan; rest.length > 0; ) {
      const asked = { kind: 'mutant', program, mutant: mutant.id, plan: rest };
      const withinMs = took * SLOWER + SLACK_MS;
      // A process that is lost may only have been slow: a new one has more time.
      let answer = (await harness.ask(asked, withinMs)) ?? (await harness.ask(asked, 2 * withinMs));
      const tried = rest.slice(0, answer?.by ? answer.ran : rest.length);
      rest = rest.slice(tried.length);
      ran.push(...tried);
      if (answer?.hung && !answer.by.startsWith('loading ')) {
        const test = tried.at(-1);
        answer = await harness.ask({ kind: 'again', counting, program, mutant: mutant.id, test }, AGAIN_MS);
        if (answer && !answer.by) continue;
      }
      if (!answer) result = { status: 'Timeout' };
      else if (answer.by) result = { status: answer.hung ? 'Timeout' : 'Killed', by: answer.by };
      break;
    }
    for (const { name } of ran) {
      const { asked, noticed } = record.get(name) ?? { asked: 0, noticed: 0 };
      record.set(name, { asked: asked + 1, noticed: noticed + (name === result.by ? 1 : 0) });
    }
    results.push({ ...told(file, content, mutant), ...result });
    if (results.length % 25 === 0) write();
  }
  harness.stop();
  write();
  const missed = results.filter(({ status }) => status === 'Survived' || status === 'NoCoverage');
  const left = missed.filter(({ what }) => !known.has(what));
  for (const { where, what, status } of missed)
    console.log(`${where}  ${known.has(what) ? 'explained' : status}  ${what}`);
  const caught = results.length - missed.length;
  const score = (100 * caught) / Math.max(1, results.length);
  console.log(
    `${file}: ${caught} of ${results.length} mutants noticed, ${score.toFixed(1)} %; ${missed.length - left.length} explained, ${left.length} left (${((Date.now() - start) / 1000).toFixed(0)} s)`,
  );
  return score >= ENOUGH || left.length === 0;
}

const files = NAMED.map((file) => path.relative(ROOT, path.resolve(file)).split(path.sep).join('/'));
if (files.length === 0) {
  console.error('mutate: name the files, as in `npm run mutate -- server/flight/wind.ts`');
  process.exitCode = 2;
}
for (const file of files) {
  try {
    if (!(await mutate(file))) process.exitCode = 1;
  } catch (error) {
    console.error(`mutate: ${file}: ${error.message}`);
    process.exitCode = 2;
  }
}
