/** What every output says that it is made with. */
import { describe, expect, test } from 'vitest';
import { unit } from '../../grammar/units.ts';
import { CAUTION, madeWith, polarSource, READING } from '../../server/plan/caution.ts';
import { DEFAULT_UNITS, show } from '../../server/plan/show.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { eastTask } from '../../server/rules/leg-words.ts';
import { polarOf, readPlan } from '../reference/solver.ts';

const READER = show(DEFAULT_UNITS);
const KT = 1852 / 3600;

function taskOf(changed: Readonly<Record<string, string>> = {}, club = EXAMPLE_CLUB, entries = ''): TaskEvaluation {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', club);
  const file = setFile(workspace, 'file:///plans/plan.taskplan', eastTask(changed, entries));
  return understand(workspace, file).tasks[0] as TaskEvaluation;
}

const LARK = `aircraft Lark
  best glide   32:1 at 49 kt
  minimum sink 1.3 kt at 41 kt
  polar mass   300 kg
  empty mass   225 kg
  vs           34 kt
  vne          115 kt
`;

describe('where the polar comes from', () => {
  test('measured points, with how far they lie from the curve', () => {
    // The curve by the reference solver's own fit, and the largest distance of a point from it.
    const aircraft = readPlan(EXAMPLE_CLUB.replace(/^ {2}(pilot|note|crosswind|va|cloudbase).*\n/gm, '')).aircraft.get(
      'Finch',
    );
    if (!aircraft) throw new Error('no aircraft');
    const { a, b, c } = polarOf(aircraft);
    const off = Math.max(...aircraft.points.map(({ speed, sink }) => Math.abs(a * speed ** 2 + b * speed + c - sink)));
    const best = (1 / (b + 2 * Math.sqrt(a * c))).toFixed(1);
    const task = taskOf();
    const said = (words: string, with_ = READER) =>
      expect(polarSource(task, with_)).toBe(`polar through 4 measured points (at most ${words}, best ${best}:1`);
    said(`${(off / KT).toFixed(2)} kt off), for 310 kg`);
    const climb = (text: 'm/s' | 'ft/min') => show({ ...DEFAULT_UNITS, climb: unit(text) });
    said(`${off.toFixed(3)} m/s off), for 310 kg`, climb('m/s'));
    said(`${((off / 0.3048) * 60).toFixed(1)} ft/min off), for 310 kg`, climb('ft/min'));
    // 310 kg are 683.4 lb.
    said(`${(off / KT).toFixed(2)} kt off), for 683 lb`, show({ ...DEFAULT_UNITS, mass: unit('lb') }));
  });

  test("the handbook's figures", () => {
    const task = taskOf({ aircraft: 'Lark with pilot 82 kg' }, EXAMPLE_CLUB, LARK);
    expect(polarSource(task, READER)).toBe(
      "polar from the handbook's best glide and minimum sink, for 300 kg, best 32.0:1",
    );
  });

  test('nothing is said of none', () => {
    expect(polarSource(taskOf({ aircraft: '' }), READER)).toBeUndefined();
    expect(polarSource(taskOf({}, EXAMPLE_CLUB.replace('  vs           34 kt\n', '')), READER)).toBeUndefined();
  });
});

describe('what a task is computed with', () => {
  const polar = polarSource(taskOf(), READER);

  test('aircraft, polar, share, air, wind and reserve', () => {
    expect(madeWith(taskOf(), READER)).toEqual([
      'Finch at 307 kg',
      polar,
      "70 % of the polar's glide ratio",
      // 24 °C at 190 m, where the standard atmosphere has 13.765 °C.
      'QNH 1018 hPa, 10.2 °C warmer than standard',
      'the wind of Breezy',
      'reserve Training',
    ]);
  });

  test('standard air, still air, no reserve, the mass of the polar', () => {
    expect(madeWith(taskOf({ aircraft: 'Finch', weather: '', reserve: '' }), READER)).toEqual([
      "Finch at 310 kg (the polar's own mass)",
      polar,
      "100 % of the polar's glide ratio",
      'QNH 1013 hPa, standard temperature',
      'no wind',
    ]);
  });

  test('colder air that sinks', () => {
    const club = EXAMPLE_CLUB.replace('24 °C at 190 m MSL', '4 °C at 190 m MSL\n  sink 0.5 kt');
    // 13.765 − 4 = 9.765.
    expect(madeWith(taskOf({}, club), READER).slice(3)).toEqual([
      'QNH 1018 hPa, 9.8 °C colder than standard',
      'the wind of Breezy',
      'air sinking at 0.5 kt',
      'reserve Training',
    ]);
  });

  test('a temperature within a twentieth of a degree is standard', () => {
    const air = (celsius: string) =>
      madeWith(taskOf({}, EXAMPLE_CLUB.replace('24 °C at 190 m MSL', `${celsius} °C at 0 m MSL`)), READER)[3];
    expect(air('15.04')).toBe('QNH 1018 hPa, standard temperature');
    expect(air('14.96')).toBe('QNH 1018 hPa, standard temperature');
    expect(air('15.06')).toBe('QNH 1018 hPa, 0.1 °C warmer than standard');
    expect(air('14.94')).toBe('QNH 1018 hPa, 0.1 °C colder than standard');
  });

  test('why it is not computed', () => {
    expect(madeWith(taskOf({ aircraft: '' }), READER)).toEqual(['not computed, since the task names no aircraft']);
    expect(madeWith(taskOf({}, EXAMPLE_CLUB.replace('  empty mass   225 kg\n', '')), READER)).toEqual([
      'Finch',
      'not computed, since Finch has no `empty mass`',
    ]);
    expect(madeWith(taskOf({ weather: 'Stormy' }), READER)).toEqual([
      'Finch at 307 kg',
      'not computed, since no weather `Stormy` is known',
    ]);
  });
});

test('the cautions name what they do not replace', () => {
  for (const word of ['flight manual', 'instructor', 'local rules', 'airspace', 'notices', 'eyes outside'])
    expect(CAUTION).toContain(word);
  for (const word of ['QNH', 'indicated', 'position error', 'compressibility']) expect(READING).toContain(word);
});
