/**
 * Runs tests against one mutant after the other, in a process of its own that may be ended when a mutant hangs.
 *
 * What is under test is one script, which each mutant gets afresh, so that nothing kept from before hides a mutant. The
 * tests are run by a few lines of our own with the assertions of vitest; properties have few cases, always the same, and
 * a failing one is not made smaller.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { format } from 'node:util';
import vm from 'node:vm';
import fastCheck from 'fast-check';
import { expect } from 'vitest';

/** Of the properties in the file's own tests, and in the others that reach it. */
const CASES = Number(process.env.MUTATE_CASES ?? 25);
const CASES_ELSEWHERE = Math.min(CASES, 6);
let most = CASES;
/** A test that comes by a mutant so many times as often as without it, and then some, hangs. */
const BUSY = 3;
const AND_SOME = 3000;
const require = createRequire(import.meta.url);
/** What the instrumented code speaks to. Names as the instrumenter writes them. */
const stryker = { mutantCoverage: { static: {}, perTest: {} } };
globalThis.__stryker__ = stryker;

const fewer = (options) => ({
  ...options,
  numRuns: Math.min(options?.numRuns ?? most, most),
  seed: 1,
  endOnFailure: true,
});
const assert = (property, options) => fastCheck.assert(property, fewer(options));
const fc = { ...fastCheck, assert };

let tests = [];
let groups = [];

function make(add) {
  const one = (name, ...rest) => add(name, rest.find((part) => typeof part === 'function') ?? (() => {}));
  one.each = (rows) => (name, run) => {
    rows.forEach((row, i) => {
      const cells = Array.isArray(row) ? row : [row];
      add(`${format(name, ...cells)} #${i}`, () => run(...cells));
    });
  };
  return one;
}

const test = make((name, run) => {
  const around = groups.slice();
  tests.push({ name: [...around.map((group) => group.name), name].join(' > '), run, around });
});
const newGroup = (name) => ({ name, beforeAll: [], beforeEach: [], afterEach: [], afterAll: [], begun: false });
const describe = make((name, run) => {
  groups.push(newGroup(name));
  run();
  groups.pop();
});
const hook = (kind) => (run) => void groups.at(-1)[kind].push(run);
globalThis.__mutation__ = {
  vitest: {
    expect,
    test,
    it: test,
    describe,
    beforeAll: hook('beforeAll'),
    beforeEach: hook('beforeEach'),
    afterEach: hook('afterEach'),
    afterAll: hook('afterAll'),
  },
  fc: { ...fc, default: fc, __esModule: true },
};

function indented(text) {
  const lines = text.split('\n');
  if (lines.length < 3 || lines[0].trim() !== '') return text;
  const by = /^\s*/.exec(lines[1])[0];
  return lines
    .map((line, i) => (i === lines.length - 1 ? line.trim() : line.startsWith(by) ? line.slice(by.length) : line))
    .join('\n');
}
/** Plain data as vitest writes it into a snapshot. */
function asShown(value, margin) {
  if (typeof value === 'string') return `"${value}"`;
  if (typeof value !== 'object' || value === null) return String(value);
  const inner = `${margin}  `;
  const around = (open, parts, close) =>
    parts.length === 0
      ? `${open}${close}`
      : `${open}\n${parts.map((part) => `${inner}${part},\n`).join('')}${margin}${close}`;
  if (Array.isArray(value))
    return around(
      '[',
      value.map((one) => asShown(one, inner)),
      ']',
    );
  const keys = Object.keys(value).sort();
  return around(
    '{',
    keys.map((key) => `"${key}": ${asShown(value[key], inner)}`),
    '}',
  );
}

// Assertions of one's own ask where they run.
globalThis.__vitest_worker__ ??= { filepath: '' };
expect.extend({
  toMatchInlineSnapshot(received, wanted) {
    const written = indented(wanted ?? '');
    const plain = asShown(received, '');
    const shown = plain.includes('\n') ? `\n${plain}\n` : plain;
    return { pass: written.trim() === shown.trim(), message: () => `${shown}\nis not\n${written}` };
  },
});

async function runTest(one) {
  for (const group of one.around) {
    if (!group.begun) for (const run of group.beforeAll) await run();
    group.begun = true;
    for (const run of group.beforeEach) await run();
  }
  try {
    await one.run();
  } finally {
    for (const group of one.around.toReversed()) for (const run of group.afterEach) await run();
  }
}

async function endOf(ran) {
  const all = new Set(ran.flatMap((one) => one.around).filter((group) => group.begun));
  for (const group of all) for (const run of group.afterAll) await run();
}

const scripts = new Map();

/** What is under test, new, and the tests by file. Its files are loaded once they are asked for. */
function begin(program) {
  let script = scripts.get(program);
  if (!script) {
    script = new vm.Script(readFileSync(program, 'utf8'), { filename: program });
    scripts.set(program, script);
  }
  const module = { exports: {} };
  script.runInThisContext()(module, module.exports, require);
  return module.exports;
}

function load(begun, file) {
  tests = [];
  groups = [newGroup(file)];
  begun[file]();
  return tests;
}

/** Every test once but the slow ones, with what it covers; a test's name begins with its file. */
async function dry(program, files, own, slow) {
  const found = [];
  for (const file of files) {
    most = file === own ? CASES : CASES_ELSEWHERE;
    stryker.currentTestId = undefined;
    stryker.mutantCoverage.static = {};
    const loaded = load(begin(program), file);
    const ofFile = { file, atLoad: { ...stryker.mutantCoverage.static }, tests: [] };
    for (const one of loaded) {
      if (slow.includes(one.name)) continue;
      stryker.currentTestId = one.name;
      stryker.mutantCoverage.perTest = {};
      const start = performance.now();
      let wrong;
      try {
        await runTest(one);
      } catch (error) {
        wrong = String(error?.stack ?? error).slice(0, 2000);
      }
      const took = performance.now() - start;
      ofFile.tests.push({ name: one.name, took, wrong, covers: stryker.mutantCoverage.perTest[one.name] ?? {} });
    }
    stryker.currentTestId = undefined;
    await endOf(loaded);
    found.push(ofFile);
  }
  return found;
}

const isHung = (error) => String(error).includes('Hit count limit');

function allow(hits) {
  stryker.hitCount = 0;
  stryker.hitLimit = hits * BUSY + AND_SOME;
}

/** One test by itself, with everything under it new; what it throws. */
async function alone(program, { file, name, own }, before) {
  // Loading a file may come by a place as well; that is not what is looked at.
  allow(Number.POSITIVE_INFINITY);
  const one = load(begin(program), file).find((each) => each.name === name);
  most = own ? CASES : CASES_ELSEWHERE;
  before();
  try {
    await runTest(one);
  } catch (error) {
    return error;
  } finally {
    stryker.currentTestId = undefined;
    await endOf([one]).catch(() => {});
  }
}

/**
 * A test that seems to hang, once more where nothing is kept from tests before it, counted against what it comes by the
 * place without the mutant then: in the first count other tests may have left results for it. As `noticed` says it.
 */
async function again(counting, program, mutant, test) {
  stryker.activeMutant = undefined;
  await alone(counting, test, () => {
    stryker.mutantCoverage.perTest = {};
    stryker.currentTestId = test.name;
  });
  const hits = stryker.mutantCoverage.perTest[test.name]?.[mutant] ?? 0;
  stryker.activeMutant = mutant;
  const error = await alone(program, test, () => allow(Math.max(hits, test.hits)));
  return error === undefined ? {} : { by: test.name, hung: isHung(error) };
}

/** Whether a mutant is noticed, by the first test that fails: its name, and after how many with it; else nothing. */
async function noticed(program, mutant, plan) {
  stryker.activeMutant = mutant;
  const begun = begin(program);
  const byFile = new Map();
  const began = [];
  try {
    for (const [i, { file, name, hits, atLoad, own }] of plan.entries()) {
      let byName = byFile.get(file);
      if (!byName) {
        allow(atLoad);
        try {
          byName = new Map(load(begun, file).map((one) => [one.name, one]));
        } catch (error) {
          return { by: `loading ${file}`, hung: isHung(error), ran: i + 1 };
        }
        byFile.set(file, byName);
      }
      const one = byName.get(name);
      if (!one) return { by: `${name}, which is not there`, ran: i + 1 };
      began.push(one);
      most = own ? CASES : CASES_ELSEWHERE;
      allow(hits);
      try {
        await runTest(one);
      } catch (error) {
        return { by: name, hung: isHung(error), ran: i + 1 };
      }
    }
  } finally {
    await endOf(began).catch(() => {});
  }
  return {};
}

const ANSWERS = {
  dry: ({ program, files, own, slow }) => dry(program, files, own, slow),
  mutant: ({ program, mutant, plan }) => noticed(program, mutant, plan),
  again: ({ counting, program, mutant, test: one }) => again(counting, program, mutant, one),
};

process.on('message', async (message) => process.send(await ANSWERS[message.kind](message)));
process.on('disconnect', () => process.exit());
