import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { compareTasks, figuresOf, type TaskChange } from '../../server/plan/compare.ts';
import { evaluateFacts, factsOf } from '../../server/plan/compare-facts.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';

const SAMPLES = path.resolve(import.meta.dirname, '../../samples');

function understood(files: Record<string, string>): Understood {
  const workspace = createWorkspace(['plan:/']);
  let last: Understood | undefined;
  for (const [name, text] of Object.entries(files)) setFile(workspace, `plan:/${name}`, text);
  for (const file of workspace.files.values()) last = understand(workspace, file);
  return last as Understood;
}

const TASK = `use "club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    "Withy Bridge" at 3200 ft MSL
  climb    to 5000 ft MSL
  turn     "Corran Dam" at 60 kt
  climb    to 5200 ft MSL at 3 kt
  finish   Larkfield at 65 kt
`;

function change(task: (text: string) => string, club: (text: string) => string = (text) => text): TaskChange {
  const one = understood({ 'club.taskplan': EXAMPLE_CLUB, 'a.taskplan': TASK });
  const other = understood({ 'club.taskplan': club(EXAMPLE_CLUB), 'a.taskplan': task(TASK) });
  return compareTasks(one.tasks[0] as never, other.tasks[0] as never);
}

/** What the reasons and what they leave sum to, less the change. */
function left(of: TaskChange): number {
  return Math.max(
    ...of.legs.map(({ change, reasons, together }) => {
      if (change?.marginM == null) return 0;
      const sum = reasons.reduce((total, { alone }) => total + (alone.marginM ?? 0), together?.marginM ?? 0);
      return Math.abs(sum - change.marginM);
    }),
  );
}

describe('facts', () => {
  test('the facts of every sample make the same numbers', () => {
    const files: Record<string, string> = {};
    for (const folder of ['club', 'plans'])
      for (const name of readdirSync(path.join(SAMPLES, folder)).filter((one) => one.endsWith('.taskplan')))
        files[`${folder}/${name}`] = readFileSync(path.join(SAMPLES, folder, name), 'utf8');
    const workspace = createWorkspace(['plan:/']);
    for (const [name, text] of Object.entries(files)) setFile(workspace, `plan:/${name}`, text);
    let legs = 0;
    for (const file of workspace.files.values()) {
      for (const task of understand(workspace, file).tasks) {
        const again = evaluateFacts(factsOf(task).facts);
        expect(again?.legs.map(figuresOf)).toEqual(task.legs.map(figuresOf));
        legs += task.legs.length;
      }
    }
    expect(legs).toBeGreaterThan(30);
  });
});

describe('compare', () => {
  test('spaces, order and units change nothing', () => {
    const same = change(
      (text) =>
        text.replace('60 kt', '111.12 km/h').replace('climb    to 5000', 'climb to 5000').replace('82 kg', '82.0 kg'),
      (text) =>
        text
          .replace('1018 hPa', '1018.0 hPa')
          .replace('elevation 210 m', 'elevation 0.21 km')
          .replace('vs           34 kt\n  va           80 kt', 'va 80 kt\n  vs 34 kt')
          .replace('230° at 8 kt', '230° at 14.816 km/h'),
    );
    expect(same.facts).toEqual([]);
    expect(same.changed).toBe(false);
  });

  test('one changed fact is the whole reason', () => {
    const wind = change(
      (text) => text,
      (text) => text.replace('245° at 14 kt', '250° at 22 kt'),
    );
    expect(wind.facts).toEqual([{ label: 'wind at 3000 ft MSL', before: '245°/14 kt', after: '250°/22 kt' }]);
    const home = wind.legs[1];
    expect(home?.reasons).toHaveLength(1);
    expect(home?.change?.marginM).toBeLessThan(-30);
    expect(home?.reasons[0]?.alone.marginM).toBeCloseTo(home?.change?.marginM as number, 6);
    expect(home?.together?.marginM).toBeCloseTo(0, 6);
  });

  test('several facts: each alone, and the rest is said', () => {
    const all = change(
      (text) =>
        text
          .replace('82 kg', '95 kg and ballast 10 kg')
          .replace('5200 ft MSL', '5600 ft MSL')
          .replace('65 kt', '78 kt')
          .replace('60 kt', 'best glide'),
      (text) =>
        text
          .replace('245° at 14 kt', '250° at 22 kt')
          .replace('70 %', '80 %')
          .replace('1018 hPa', '1003 hPa')
          .replace('24 °C', '12 °C')
          .replace('elevation 190 m', 'elevation 195 m')
          .replace('47.2031 N', '47.2000 N')
          .replace('1000 ft AGL', '1200 ft AGL')
          .replace('altimeter   150 ft', 'altimeter   100 ft')
          .replace('80 kt sink 3.70 kt', '80 kt sink 3.90 kt'),
    );
    expect(all.facts.map(({ label }) => label).sort()).toEqual(
      [
        'altimeter of the reserve',
        'arrive of the reserve',
        'ballast',
        'climb behind Corran Dam',
        'elevation of Larkfield',
        'performance of the reserve',
        'pilot',
        'polar of Finch',
        'position of Larkfield',
        'qnh',
        'speed to Corran Dam',
        'speed to Larkfield',
        'temperature',
        'wind at 3000 ft MSL',
      ].sort(),
    );
    expect(left(all)).toBeLessThan(1e-6);
    expect(all.legs[1]?.reasons.length).toBeGreaterThan(9);
    expect(Math.abs(all.legs[1]?.together?.marginM ?? 0)).toBeGreaterThan(1);
  });

  test('another aircraft, another weather, another way', () => {
    const other = change(
      (text) =>
        text
          .replace('aircraft Finch', 'aircraft Heron')
          .replace('Breezy', 'Calm')
          .replace('  turn     "Corran Dam" at 60 kt\n', '  turn     "Corran Dam" at 60 kt\n  turn     Ashmoor\n'),
      (text) =>
        text +
        text
          .slice(text.indexOf('aircraft Finch'), text.indexOf('weather Calm'))
          .replace('Finch', 'Heron')
          .replace('3.70', '3.00'),
    );
    expect(other.facts).toContainEqual({ label: 'aircraft', before: 'Finch', after: 'Heron' });
    expect(other.facts).toContainEqual({
      label: 'itinerary',
      before: 'Withy Bridge – Corran Dam – Larkfield',
      after: 'Withy Bridge – Corran Dam – Ashmoor – Larkfield',
    });
    expect(other.legs.map(({ before, after }) => [before?.toName, after?.toName])).toEqual([
      ['Corran Dam', 'Corran Dam'],
      ['Larkfield', undefined],
      [undefined, 'Ashmoor'],
      [undefined, 'Larkfield'],
    ]);
    expect(left(other)).toBeLessThan(1e-6);
  });

  test('a climb that is added, a reserve that goes, a wind that nothing gives any more', () => {
    const added = change(
      (text) =>
        text.replace('  turn ', '  climb    to 900 m MSL after 2 NM\n  turn ').replace('  reserve  Training\n', ''),
      (text) => text.replace(/ {2}wind {8}6000.*\n/, ''),
    );
    expect(added.facts).toContainEqual({
      label: 'climb behind Withy Bridge',
      before: undefined,
      after: '900 m MSL after 2 NM',
    });
    expect(added.facts).toContainEqual({ label: 'wind at 6000 ft MSL', before: '255°/20 kt', after: undefined });
    expect(added.facts).toContainEqual({ label: 'reserve', before: 'known', after: 'none' });
    expect(left(added)).toBeLessThan(1e-6);
  });

  test('what can no longer be computed', () => {
    const broken = change(
      (text) => text,
      (text) => text.replace('1018 hPa', '1018'),
    );
    expect(broken.changed).toBe(true);
    expect(broken.legs[1]?.figuresAfter?.marginM).toBeNull();
  });
});
