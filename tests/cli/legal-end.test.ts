import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { legwise, ROOT } from './run.ts';

/** Over its finish at 16:21Z; the Sun sets there at 16:18Z. */
const LATE = 'samples/plans/late-day.taskplan';
const within = { folder: ROOT };

let kept: string | undefined;
afterEach(() => {
  if (kept) rmSync(kept, { recursive: true, force: true });
  kept = undefined;
});

function late(...options: string[]): boolean {
  const { out, status } = legwise(['check', LATE, ...options], within);
  expect(status).toBe(out.includes('after-sunset') ? 1 : 0);
  return out.includes('after-sunset');
}

test('the end of the legal day is an option, sunset without one', () => {
  expect(late()).toBe(true);
  expect(late('--legal-end', 'sunset')).toBe(true);
  expect(late('--legal-end', 'sunset + 30 min')).toBe(false);
  expect(late('--legal-end=civil dusk')).toBe(false);
  expect(late('--legal-end', 'sunset - 5 min')).toBe(true);
});

test('budget has it as well', () => {
  expect(legwise(['budget', LATE], within).status).toBe(1);
  expect(legwise(['budget', LATE, '--legal-end', 'civil dusk'], within).status).toBe(0);
  const { diagnostics } = JSON.parse(
    legwise(['budget', LATE, '--format', 'json', '--legal-end', 'sunset - 5 min'], within).out,
  );
  expect(diagnostics.find(({ code }: { code: string }) => code === 'after-sunset').message).toContain(
    'and 5 min before sunset is 16:13Z',
  );
});

test('compare has it as well', () => {
  kept = mkdtempSync(path.join(tmpdir(), 'club-'));
  cpSync(path.join(ROOT, 'samples/club'), path.join(kept, 'club'), { recursive: true });
  mkdirSync(path.join(kept, 'plans'));
  const now = readFileSync(path.join(ROOT, LATE), 'utf8');
  writeFileSync(path.join(kept, 'plans/now.taskplan'), now);
  writeFileSync(path.join(kept, 'plans/before.taskplan'), now.replace(/takeoff .*/g, 'takeoff 11:00Z'));
  const brought = (...options: string[]) => {
    const plans = ['plans/before.taskplan', 'plans/now.taskplan', '--workspace', '.'];
    const { out, status } = legwise(['compare', ...plans, ...options], { folder: kept as string });
    expect(status).toBe(out.includes('new error after-sunset') ? 1 : 0);
    return status === 1;
  };
  expect(brought()).toBe(true);
  expect(brought('--legal-end', 'civil dusk')).toBe(false);
});

test('a result that was kept under another end is not taken', () => {
  kept = mkdtempSync(path.join(tmpdir(), 'results-'));
  const cache = ['--cache', kept];
  for (let i = 0; i < 2; i++) {
    expect(late(...cache)).toBe(true);
    expect(late(...cache, '--legal-end', 'civil dusk')).toBe(false);
  }
});

test('an end that makes no sense is wrong use', () => {
  for (const command of ['check', 'budget', 'compare'])
    expect(legwise([command, LATE, '--legal-end', 'dusk'], within)).toMatchObject({
      status: 2,
      out: '',
      err: "legwise: --legal-end takes sunset, 'sunset + 30 min' or 'civil dusk', not dusk\n",
    });
});
