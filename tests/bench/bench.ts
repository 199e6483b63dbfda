/**
 * How fast it is, beside a reference measured in the same run; it prints ratios and judges nothing.
 *
 *   npm run bench
 */
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import geodesic from 'geographiclib-geodesic';
import { parseFile } from '../../grammar/file.ts';
import { evaluateLeg } from '../../server/flight/index.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { check } from '../../server/rules/run.ts';
import { compareBench } from './compare.ts';
import { manyPlans, PLANS } from './many-plans.ts';
import { FIELDS, PLAN, plan, wholeFlight } from './whole-flight.ts';

const ROOT = path.resolve(import.meta.dirname, '../..');
const SAMPLES = path.join(ROOT, 'samples');

/** The middle of several runs, each of which repeats `run` for long enough to be timed; seconds a call. */
function timeOf(run: () => unknown, runs = 7, leastS = 0.15): number {
  run();
  const times: number[] = [];
  for (let i = 0; i < runs; i++) {
    const begun = performance.now();
    let calls = 0;
    do {
      run();
      calls++;
    } while (performance.now() - begun < leastS * 1000);
    times.push((performance.now() - begun) / 1000 / calls);
  }
  return times.sort((a, b) => a - b)[runs >> 1] as number;
}

function processTime(args: readonly string[], runs = 9): number {
  const times: number[] = [];
  for (let i = 0; i < runs; i++) {
    const begun = performance.now();
    spawnSync(process.execPath, args, { cwd: ROOT, stdio: 'ignore' });
    times.push((performance.now() - begun) / 1000);
  }
  return times.sort((a, b) => a - b)[runs >> 1] as number;
}

function row(what: string, figure: string, reference: string, ratio: number): void {
  console.log(
    `${what.padEnd(46)}${figure.padStart(16)}   ${ratio.toFixed(ratio < 10 ? 2 : 0).padStart(8)} × ${reference}`,
  );
}

const perSecond = (seconds: number) => `${Math.round(1 / seconds).toLocaleString('en')} /s`;
const milliseconds = (seconds: number) => `${(seconds * 1000).toFixed(2)} ms`;

const texts = new Map<string, string>();
for (const file of readdirSync(SAMPLES, { recursive: true, encoding: 'utf8' })) {
  if (file.endsWith('.taskplan'))
    texts.set(`file:///samples/${file.split(path.sep).join('/')}`, readFileSync(path.join(SAMPLES, file), 'utf8'));
}
const workspace = createWorkspace(['file:///samples']);
for (const [uri, text] of texts) setFile(workspace, uri, text);
const inputs = [...workspace.files.values()]
  .flatMap((file) => understand(workspace, file).tasks)
  .flatMap(({ legs }) => legs.flatMap(({ input }) => input ?? []));

console.log(`${process.version}, ${texts.size} sample files, ${inputs.length} legs\n`);

// Legs, beside one geodesic inverse each.
const inverse = timeOf(() => {
  for (const { setting } of inputs) {
    const { from, to } = setting.track;
    geodesic.Geodesic.WGS84.Inverse(from.latDeg, from.lonDeg, to.latDeg, to.lonDeg);
  }
});
const legs = timeOf(() => {
  for (const input of inputs) evaluateLeg(input);
});
row('legs evaluated, budgets and speeds', perSecond(legs / inputs.length), 'one geodesic inverse', legs / inverse);

// Parsing, beside JSON.parse of the same bytes.
const all = [...texts.values()].join('\n');
const entryCount = parseFile(all).entries.length;
const asJson = JSON.stringify(all.split('\n'));
const json = timeOf(() => JSON.parse(asJson));
const parse = timeOf(() => parseFile(all));
row('entries parsed', perSecond(parse / entryCount), 'JSON.parse of the same bytes', parse / json);

const large = Array.from(
  { length: 5000 },
  (_, i) => `field F${i} at 47.${String(i).padStart(4, '0')} N 19.44 E\n  elevation ${i % 900} m\n`,
).join('');
const largeFile = parseFile(large);
const edited = large.replace('elevation 7 m', 'elevation 8 m');
const again = timeOf(() => parseFile(edited, largeFile));
const fresh = timeOf(() => parseFile(large), 3);
row('one edit in a file of 10,000 lines', milliseconds(again), 'parsing it afresh', again / fresh);

// Checking all samples in one process that is warm.
const checked = timeOf(() => {
  const own = createWorkspace(['file:///samples']);
  for (const [uri, text] of texts) setFile(own, uri, text);
  for (const file of own.files.values()) check(own, understand(own, file));
}, 5);
row('all samples read and checked, warm', milliseconds(checked), 'JSON.parse of the same bytes', checked / json);

// A whole flight: ten legs among 5,000 fields, 200 volumes and terrain. Beside 5,000 plain geodesic inverses.
const fieldsAway = timeOf(() => {
  for (let i = 0; i < FIELDS; i++) geodesic.Geodesic.WGS84.Inverse(47, 20, 45 + (i % 70) / 17, 17 + (i % 83) / 14);
}, 5);
const inverses = `${FIELDS.toLocaleString('en')} geodesic inverses`;
const flight = wholeFlight();
const say = (into: typeof flight) => {
  const file = into.files.get(PLAN);
  if (!file) throw new Error('no plan');
  const understood = understand(into, file);
  const findings = check(into, understood, undefined, (code, error) => {
    throw new Error(code, { cause: error });
  });
  return { understood, findings };
};
{
  const { understood, findings } = say(flight);
  const legsThere = understood.tasks.flatMap(({ legs: all }) => all);
  const codes = new Map<string, number>();
  for (const { code } of findings) codes.set(code, (codes.get(code) ?? 0) + 1);
  console.log(
    `\na flight of ${legsThere.filter(({ result }) => result).length} legs, ${FIELDS} fields: ${[...codes].map(([code, n]) => `${n} ${code}`).join(', ')}`,
  );
}
const afresh = timeOf(() => say(wholeFlight()), 3);
const made = timeOf(() => wholeFlight(), 3);
row('read and evaluated afresh', milliseconds(afresh), inverses, afresh / fieldsAway);
row('  of which the files and tiles', milliseconds(made), inverses, made / fieldsAway);
let turn = 0;
const keystroke = timeOf(() => {
  // Never the same height twice, so that nothing is known of it.
  turn++;
  setFile(flight, PLAN, plan(5000 + (turn % 1000)));
  say(flight);
});
row('a keystroke on a climb of the task', milliseconds(keystroke), inverses, keystroke / fieldsAway);
const worst: number[] = [];
for (let i = 0; i < 200; i++) {
  const begun = performance.now();
  setFile(flight, PLAN, plan(5000 + i / 8));
  say(flight);
  worst.push((performance.now() - begun) / 1000);
}
worst.sort((a, b) => a - b);
const p99 = worst[Math.floor(worst.length * 0.99)] as number;
row('  the slowest of a hundred', milliseconds(p99), inverses, p99 / fieldsAway);
const memory = process.resourceUsage().maxRSS / 1024;
console.log(
  `peak memory so far ${Math.round(memory)} MB, of which tiles ${Math.round((4 * 2 * 1201 * 1201) / 1e6)} MB\n`,
);

// Two states of the samples compared with the reasons of every change, beside a diff of the same texts.
const compareSides = compareBench();
const compared = timeOf(compareSides.whole, 3);
row(
  `two states of the samples, ${compareSides.tasks} tasks changed`,
  milliseconds(compared),
  'a diff of the same texts',
  compared / timeOf(compareSides.diff),
);

// Whole processes.
const bare = processTime(['-e', '0']);
const samples = processTime(['dist/legwise.cjs', 'check', 'samples']);
row('legwise check samples, whole process', milliseconds(samples), 'node -e 0', samples / bare);
const version = processTime(['dist/legwise.cjs', '--version']);
row('legwise --version, whole process', milliseconds(version), 'node -e 0', version / bare);

// Many plans over shared fields, beside a general linter on as many files of the same size.
console.log(`\n${PLANS.toLocaleString('en')} plans over shared fields`);
const { checks, lint } = await manyPlans();
const linted = lint.megabytes === 0 ? '' : `, ${Math.round(lint.megabytes)} MB`;
for (const { what, seconds, megabytes } of checks) {
  row(
    `check, ${what}, ${Math.round(megabytes)} MB`,
    `${seconds.toFixed(1)} s`,
    `${lint.what}, ${lint.seconds.toFixed(1)} s${linted}`,
    seconds / lint.seconds,
  );
}
