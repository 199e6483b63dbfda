// Mutation testing: small mistakes are put into a source file one by one, and the tests that stand for it must notice.
//
//   node .dev/mutate.mjs FILE...        one file of server/ after the other; exit 1 when a score is under 90 %
//
// What survives is listed with its place. Survivors that change nothing anyone could see are explained in
// tests/mutation/EQUIVALENT.md.
import { spawn } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..');
const ENOUGH = 90;

/** The tests that stand for a file, besides the one of its own name: few and fast, since they run for every mutant. */
const TESTS = {
  'server/flight/air.ts': ['tests/published/standard-atmosphere.test.ts'],
  'server/flight/earth.ts': ['tests/published/vincenty-1975.test.ts'],
  'server/flight/passes.ts': ['tests/flight/volumes.test.ts'],
  'server/flight/space.ts': ['tests/flight/volumes.test.ts'],
  'server/flight/places.ts': ['tests/flight/reach.test.ts'],
  'server/flight/polar.ts': ['tests/published/speed-to-fly-theory.test.ts'],
  'server/flight/speeds.ts': ['tests/published/speed-to-fly-theory.test.ts'],
  'server/flight/times.ts': ['tests/flight/leg.test.ts'],
  'server/flight/variation.ts': ['tests/published/wmm2025.test.ts'],
};

/** Ends of what a mutant can be. */
const CAUGHT = new Set(['Killed', 'Timeout']);
const MISSED = new Set(['Survived', 'NoCoverage']);

function testsOf(file) {
  const own = file.replace(/^server\//, 'tests/').replace(/\.ts$/, '.test.ts');
  const tests = [own, ...(TESTS[file] ?? [])].filter((test) => existsSync(path.join(ROOT, test)));
  if (tests.length === 0) throw new Error(`no tests stand for ${file}: name them in .dev/mutate.mjs`);
  return tests;
}

function stryker(config) {
  const program = path.join(ROOT, 'node_modules/@stryker-mutator/core/bin/stryker.js');
  const child = spawn(process.execPath, [program, 'run', config], { cwd: ROOT, stdio: ['ignore', 'pipe', 'inherit'] });
  let said = '';
  child.stdout.on('data', (chunk) => {
    said += chunk;
  });
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('exit', (code) => (code === 0 ? resolve() : reject(new Error(`the mutation tool failed\n${said}`))));
  });
}

async function mutate(file) {
  const folder = path.join(ROOT, '.cache/mutation', file.replaceAll('/', '-').replace(/\.ts$/, ''));
  mkdirSync(folder, { recursive: true });
  const tests = testsOf(file);
  const vitest = path.join(folder, 'vitest.config.mjs');
  writeFileSync(
    vitest,
    `export default ${JSON.stringify({
      root: ROOT,
      test: {
        include: tests,
        setupFiles: ['tests/mutation/fewer-cases.ts'],
        testTimeout: 120_000,
        hookTimeout: 120_000,
      },
    }).replace(JSON.stringify(ROOT), 'process.cwd()')}\n`,
  );
  const report = path.join(folder, 'report.json');
  const config = path.join(folder, 'stryker.json');
  writeFileSync(
    config,
    JSON.stringify({
      testRunner: 'vitest',
      plugins: ['@stryker-mutator/vitest-runner'],
      vitest: { configFile: vitest, related: false },
      mutate: [file],
      coverageAnalysis: 'perTest',
      concurrency: Number(process.env.MUTATE_JOBS ?? 1),
      // A machine that is busy with other things is slow without any mutant's help.
      timeoutMS: 20_000,
      timeoutFactor: 4,
      reporters: ['json'],
      jsonReporter: { fileName: report },
      tempDirName: path.join(folder, 'sandbox'),
      // The tool reads this file with the API of an older TypeScript; nothing here needs it.
      tsconfigFile: 'none.json',
      ignorePatterns: ['/dist', '/.cache', '/client'],
      allowConsoleColors: false,
    }),
  );
  await stryker(config);
  const [{ mutants, source }] = Object.values(JSON.parse(readFileSync(report, 'utf8')).files);
  const lines = source.split('\n');
  const caught = mutants.filter(({ status }) => CAUGHT.has(status)).length;
  const missed = mutants.filter(({ status }) => MISSED.has(status));
  for (const { status, mutatorName, replacement, location } of missed) {
    const { start, end } = location;
    const line = lines[start.line - 1];
    const was = start.line === end.line ? line.slice(start.column - 1, end.column - 1) : line.trim();
    const now = String(replacement).replaceAll(/\s+/g, ' ');
    console.log(`${file}:${start.line}:${start.column}  ${status}  ${mutatorName}  ${was}  ->  ${now}`);
  }
  const score = (100 * caught) / Math.max(1, caught + missed.length);
  console.log(`${file}: ${caught} of ${caught + missed.length} mutants noticed, ${score.toFixed(1)} %`);
  return score;
}

const files = process.argv.slice(2).map((file) => path.relative(ROOT, path.resolve(file)).split(path.sep).join('/'));
if (files.length === 0) {
  console.error('mutate: name the files, as in `npm run mutate -- server/flight/wind.ts`');
  process.exitCode = 2;
}
for (const file of files) {
  try {
    if ((await mutate(file)) < ENOUGH) process.exitCode = 1;
  } catch (error) {
    console.error(`mutate: ${file}: ${error.message}`);
    process.exitCode = 2;
  }
}
