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

// Whole processes.
const bare = processTime(['-e', '0']);
const samples = processTime(['dist/legwise.cjs', 'check', 'samples']);
row('legwise check samples, whole process', milliseconds(samples), 'node -e 0', samples / bare);
const version = processTime(['dist/legwise.cjs', '--version']);
row('legwise --version, whole process', milliseconds(version), 'node -e 0', version / bare);
