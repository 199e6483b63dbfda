import { spawnSync } from 'node:child_process';
import path from 'node:path';
import { describe, expect, test } from 'vitest';

const MODULE = path.resolve(import.meta.dirname, '../../server/node/memory.ts');

/** MB in use before and behind one call, with so many MB that nobody needs any more and that have lived for a while. */
function collected(mb: number, call = 'collectsSoon()()'): readonly [number, number] {
  const script = `
    import { getHeapStatistics } from 'node:v8';
    import { collectsSoon, makeRoom } from ${JSON.stringify(MODULE)};
    const used = () => getHeapStatistics().used_heap_size / 2 ** 20;
    let kept = Array.from({ length: ${mb} * 1000 }, (_, i) => ({ list: Array.from({ length: 128 }, () => i) }));
    if (kept.length < 0) console.log(kept);
    kept = undefined;
    const before = used();
    ${call};
    setTimeout(() => console.log(JSON.stringify([before, used(), typeof gc])), 100);
  `;
  const { stdout, stderr } = spawnSync(process.execPath, ['--input-type=module', '--eval', script], {
    encoding: 'utf8',
  });
  const [before, after, gc] = JSON.parse(stdout || JSON.stringify(stderr)) as [number, number, string];
  expect(gc).toBe('undefined');
  return [before, after];
}

describe('memory that has grown', () => {
  test('is collected behind an answer', () => {
    const [before, after] = collected(100);
    expect(before).toBeGreaterThan(80);
    expect(after).toBeLessThan(20);
  });

  test('but not that of a small plan', () => {
    const [before, after] = collected(10);
    expect(before).toBeLessThan(48);
    expect(after).toBeGreaterThan(before / 2);
  });

  test('is collected before a long message is read, however small it is', () => {
    const [before, after] = collected(10, 'makeRoom()');
    expect(before).toBeGreaterThan(8);
    expect(after).toBeLessThan(before / 2);
  });
});
