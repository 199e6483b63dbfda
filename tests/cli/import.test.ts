import { afterEach, beforeEach, expect, test } from 'vitest';
import { folderWith, legwise } from './run.ts';

let folder: string;
let remove: () => void;
beforeEach(() => {
  ({ folder, remove } = folderWith({
    'punkte ü.csv': 'name,lat,lon,elevation ft\nA,1,2,3\n',
    'some.csv': 'name,lat,lon\nA,1,2\nB,x,2\n',
    'none.csv': 'name,lat,lon\nB,x,2\n',
    'unit.csv': 'name,lat,lon,elevation\nA,1,2,3\n',
    'bad.csv': new Uint8Array([0xff, 0xfe]),
    'a.txt': 'name,lat,lon\nA,1,2\n',
  }));
});
afterEach(() => remove());
const run = (args: readonly string[], input = '') => legwise(['import', ...args], { folder, input });

test('plan text on standard output; what is left out makes the status 1', () => {
  expect(run(['punkte ü.csv'])).toEqual({ status: 0, out: 'turnpoint A at 1 N 2 E\n  elevation 3 ft\n', err: '' });
  expect(run(['punkte ü.csv', '--as', 'field']).out).toMatch(/^field A/);
  const some = run(['some.csv']);
  expect(some).toMatchObject({ status: 1, out: 'turnpoint A at 1 N 2 E\n' });
  expect(some.err).toContain('line 3 (B) is left out: x is no latitude in degrees');
  expect(run(['unit.csv', '--unit', 'm']).out).toContain('elevation 3 m');
  expect(run(['-', '--from', 'csv'], 'name,lat,lon,elevation\nA,1,2,3 m\n').out).toContain('elevation 3 m');
  expect(run(['--help'])).toMatchObject({ status: 0, err: '' });
});

test('wrong use and files that cannot be read are status 2', () => {
  for (const wrong of [
    [],
    ['nowhere.csv'],
    ['.', '--from', 'csv'],
    ['none.csv'],
    ['unit.csv'],
    ['bad.csv'],
    ['a.txt'],
    ['-'],
    ['some.csv', '--unit', 'km'],
    ['some.csv', '--as', 'hill'],
    ['some.csv', '--from', 'gpx'],
  ]) {
    const { status, out, err } = run(wrong);
    expect([wrong, status, out]).toEqual([wrong, 2, '']);
    expect(err).toMatch(/^legwise: /);
    expect(err).not.toMatch(/\n\s+at /);
  }
});
