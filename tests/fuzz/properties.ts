/**
 * The properties among the tests with other cases than before, and more of them:
 *
 *   npm run properties [TIMES] [-- TEST FILES...]
 *
 * TIMES is how many times the cases of `npm test` are tried (10). What fails prints its seed and the smallest case; it
 * becomes a test of its own once it is mended.
 */
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';

const ROOT = path.resolve(import.meta.dirname, '../..');
const [times = '10', ...chosen] = process.argv.slice(2).filter((argument) => argument !== '--');
if (!(Number(times) > 0)) {
  console.error(`npm run properties: how many times the cases is a number above zero, not "${times}".`);
  process.exit(2);
}
const files =
  chosen.length > 0
    ? chosen
    : readdirSync(path.join(ROOT, 'tests'), { recursive: true, encoding: 'utf8' })
        .filter((name) => name.endsWith('.test.ts') && !name.startsWith('editor'))
        .map((name) => `tests/${name.replaceAll(path.sep, '/')}`)
        .filter((name) => readFileSync(path.join(ROOT, name), 'utf8').includes('fc.assert'));
const { status } = spawnSync(
  process.execPath,
  ['node_modules/vitest/vitest.mjs', 'run', '--config', 'tests/vitest.config.ts', '--testTimeout=0', ...files],
  { cwd: ROOT, stdio: 'inherit', env: { ...process.env, LEGWISE_CASES: times } },
);
process.exit(status ?? 1);
