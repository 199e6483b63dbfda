import { mkdirSync, readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { folderWith, legwise } from './run.ts';

const PLAN = `use "club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    "Withy Bridge" at 5000 ft MSL
  finish   Larkfield
`;
let folder: string;
let remove: () => void;
beforeEach(() => {
  ({ folder, remove } = folderWith({ 'club.taskplan': EXAMPLE_CLUB, 'mein plan ü.taskplan': PLAN }));
});
afterEach(() => remove());
const run = (...args: string[]) => legwise(['export', ...args], { folder });

test('to standard output, and to a file by its ending', () => {
  const { status, out, err } = run('mein plan ü.taskplan', '--to', 'gpx');
  expect({ status, err }).toEqual({ status: 0, err: '' });
  expect(out).toMatch(/^<\?xml .*<rte>.*<\/gpx>\n$/s);
  for (const ending of ['geojson', 'gpx', 'kml'])
    expect(run('mein plan ü.taskplan', '-o', `out put.${ending}`)).toEqual({ status: 0, out: '', err: '' });
  expect(readFileSync(path.join(folder, 'out put.gpx'), 'utf8')).toBe(out);
  expect(readdirSync(folder).filter((name) => name.includes('.new'))).toEqual([]);
  expect(run('club.taskplan', '--to', 'kml').out).toContain('<name>Corran Dam</name>');
});

test('wrong use is status 2, and nothing is left behind', () => {
  mkdirSync(path.join(folder, 'taken.kml'));
  const plan = 'mein plan ü.taskplan';
  for (const wrong of [
    [],
    [plan],
    [plan, '--to', 'igc'],
    ...['toString', 'constructor', '__proto__'].flatMap((to) => [
      [plan, '--to', to],
      [plan, '-o', `x.${to}`],
    ]),
    ['nowhere', '--to', 'kml'],
    ['.', '--to', 'kml'],
    [plan, '--to', 'kml', '--task', 'Homer'],
    [plan, '-o', 'taken.kml'],
    [plan, '-o', 'no/where.kml'],
    [plan, plan, '--to', 'kml'],
  ]) {
    const { status, out, err } = run(...wrong);
    expect([wrong, status, out]).toEqual([wrong, 2, '']);
    expect(err).toMatch(/^legwise: /);
    expect(err).not.toMatch(/\n\s+at /);
  }
  expect(run(plan, '--to', 'kml', '--task', 'Homer').err).toContain('did you mean Home?');
  expect(readdirSync(folder).filter((name) => name.includes('.new'))).toEqual([]);
});

test('from standard input, with the files that it uses', () => {
  const { status, out, err } = legwise(['export', '-', '--to', 'gpx'], { folder, input: PLAN });
  expect({ status, err }).toEqual({ status: 0, err: '' });
  expect(out).toContain('<name>Larkfield</name>');
  expect(out.replace('&lt;stdin&gt;', 'mein plan ü.taskplan')).toBe(run('mein plan ü.taskplan', '--to', 'gpx').out);
});
