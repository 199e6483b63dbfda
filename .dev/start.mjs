// `npm start`: the shortest look at what Legwise does, on the sample plans.
import { spawnSync } from 'node:child_process';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..');

function legwise(...args) {
  console.log(`\n$ legwise ${args.join(' ')}`);
  const run = spawnSync(process.execPath, [path.join(root, 'dist/legwise.cjs'), ...args], {
    cwd: root,
    stdio: 'inherit',
  });
  // 1 means findings, and the samples hold some; anything else is a fault.
  if (run.status !== 0 && run.status !== 1) {
    console.error(`\nlegwise ${args[0]} ended with ${run.status ?? run.signal}: that is a fault, not a finding.`);
    process.exit(1);
  }
}

legwise('check', 'samples');
legwise('budget', 'samples/plans/leg-home.taskplan');
console.log('\nThe findings above are there on purpose: each sample plan shows one kind. All is well.');
