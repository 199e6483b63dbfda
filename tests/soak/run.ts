/**
 * The whole soak, of 100,000 steps unless said otherwise:
 *
 *   npm run soak [STEPS] [-- --seed N]
 *
 * Exit 1 when anything went wrong, or when the heap grows after the first half.
 */
import { slope, soak } from './soak.ts';

/** More than this for each step, over the later half, is a leak: 100,000 steps would take 10 MB. */
const MOST_BYTES_A_STEP = 100;

const args = process.argv.slice(2);
const seedAt = args.indexOf('--seed');
const seed = seedAt < 0 ? Date.now() % 1_000_000_007 : Number(args[seedAt + 1]);
const steps = Number(
  args.find((one, i) => (seedAt < 0 || (i !== seedAt && i !== seedAt + 1)) && /^\d+$/.test(one)) ?? 100_000,
);
console.log(`soak: ${steps} steps, seed ${seed}`);
const start = Date.now();
const { counts, compared, memory, wrong } = await soak(steps, seed, (line) =>
  console.log(`soak: ${((Date.now() - start) / 1000).toFixed(0)} s, ${line}`),
);
for (const one of wrong) console.log(`soak: ${one}`);
const growth = slope(memory, 0.5);
console.log(`soak: ${JSON.stringify(counts)}`);
console.log(
  `soak: ${steps} steps in ${((Date.now() - start) / 60_000).toFixed(1)} min, ${compared} times like a fresh server, ${wrong.length} wrong, heap ${growth.toFixed(1)} bytes and the whole process ${slope(memory, 0.5, 'rss').toFixed(1)} bytes a step over the later half`,
);
process.exitCode = wrong.length > 0 || growth > MOST_BYTES_A_STEP ? 1 : 0;
