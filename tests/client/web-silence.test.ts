import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { schemesOf } from '../../client/schemes.ts';
import { whenSilent } from '../../client/silence.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

test('a server that answers, be it with an error, is left alone', async () => {
  let asked = 0;
  const watch = whenSilent(() => (asked++ % 2 ? Promise.reject(new Error('busy')) : Promise.resolve(true)), 1000, 3);
  const told = vi.fn();
  void watch.silent.then(told);
  await vi.advanceTimersByTimeAsync(60_000);
  expect(asked).toBeGreaterThan(50);
  expect(told).not.toHaveBeenCalled();
  watch.stop();
});

test('one that stops answering is told after as many misses as asked', async () => {
  let answers = true;
  const watch = whenSilent(() => (answers ? Promise.resolve(true) : new Promise(() => {})), 1000, 3);
  const told = vi.fn();
  void watch.silent.then(told);
  await vi.advanceTimersByTimeAsync(5000);
  answers = false;
  await vi.advanceTimersByTimeAsync(3000); // asked at the first of them
  expect(told).not.toHaveBeenCalled();
  await vi.advanceTimersByTimeAsync(1000);
  expect(told).toHaveBeenCalledWith(3);
});

test('the first answer has more time, and an end that was asked for tells at once', async () => {
  const watch = whenSilent(() => new Promise(() => {}), 1000, 3);
  const told = vi.fn();
  void watch.silent.then(told);
  await vi.advanceTimersByTimeAsync(9000);
  expect(told).not.toHaveBeenCalled();
  watch.stop();
  await vi.advanceTimersByTimeAsync(0);
  expect(told).toHaveBeenCalledWith(0);
});

test('plans are looked after where the folders of the window lie, and not in the past of a file', () => {
  expect(schemesOf([])).toContain('file');
  expect(schemesOf(['memfs'])).toContain('memfs');
  expect(schemesOf(['git'])).not.toContain('git');
  expect(schemesOf(['file', 'file'])).toEqual(schemesOf([]));
});
