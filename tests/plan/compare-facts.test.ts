/** What a task's numbers rest on, fact by fact, and the plan that is made of facts. */
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import type { EntrySyntax, LineSyntax } from '../../grammar/syntax.ts';
import { figuresOf } from '../../server/plan/compare.ts';
import { evaluateFacts, type Fact, factsOf, meaningOfLine } from '../../server/plan/compare-facts.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';

const HEADS: Readonly<Record<string, string>> = {
  field: 'field Larkfield at 47.2 N 19.4 E',
  obstacle: 'obstacle Mast at 47.2 N 19.4 E',
  units: 'units',
};

/** What a detail says, or the head of an entry when it stands alone. */
function says(entry: string, detail = ''): string {
  const text = detail === '' ? `${entry}\n` : `${HEADS[entry] ?? `${entry} Some`}\n  ${detail}\n`;
  const { syntax } = parseFile(text).entries[0] as { syntax: EntrySyntax };
  return meaningOfLine(syntax, (syntax.details[0] ?? syntax.head) as LineSyntax);
}

describe('lines that say the same', () => {
  test.each([
    ['field', 'elevation 210 m', 'elevation   0.21 km  # as surveyed'],
    ['field', 'elevation 210 m', 'elevation 210 m MSL'],
    ['field', 'arrive 1000 ft AGL', 'ARRIVE 304.8 m agl'],
    ['field', 'runway 09L/27R 900 m surface grass circuit left', 'runway 09l/27r 0.9 km circuit left surface grass'],
    ['weather', 'qnh 1018 hPa', 'qnh 1018.0 hPa'],
    ['weather', 'temperature 24 °C at 190 m MSL', 'temperature 75.2 F at 0.19 km MSL'],
    ['weather', 'wind 3000 ft MSL from 245° at 14 kt', 'wind 914.4 m MSL from 245.0° at 25.928 km/h'],
    ['weather', 'thermals 11:30Z to 16:45Z', 'thermals 13:30+02:00 to 18:15:00+01:30'],
    ['weather', 'cloudbase FL65', 'cloudbase fl65'],
    ['reserve', 'performance 20:1', 'performance 40:2'],
    ['limits', 'duration 3 h 30 min', 'duration  180 min 0.5 h'],
    ['airspace', 'edge 47.25 N 19.5 E', `edge 47°15'N 19°30'00"E`],
    ['airspace', 'edge 47.25 S 19.5 W', 'edge 47.250 s 19.50 w'],
    ['task', 'weather Calm', 'weather "Calm"'],
    ['units', 'altitude M', 'altitude m'],
    ['aircraft', 'polar 36 km/h sink 1 m/s', 'polar 10 m/s sink 1 m/s'],
    ['aircraft', 'polar 60 kt sink 0.3048 m/s', 'polar 60 kt sink 60 ft/min'],
  ])('%s: %s; %s', (entry, one, other) => {
    expect(says(entry, one)).toBe(says(entry, other));
  });

  test('and what cannot be read, whatever its spaces', () => {
    expect(says('weather', 'qnh  1018   hPa or so')).toBe('qnh 1018 hPa or so');
    expect(says('weather', 'qhn  1018   hPa')).toBe('qhn 1018 hPa');
    // The line alone, without those before and behind it.
    expect(says('weather Breezy of late')).toBe('weather Breezy of late');
  });
});

describe('lines that say something else', () => {
  test.each([
    ['field', 'elevation 210 m', 'elevation 210 ft'],
    ['field', 'elevation 210 m', 'elevation 210 m AGL'],
    ['task', 'start Mill at 900 m MSL', 'start Mill at 900 m'],
    ['field', 'elevation 210 m', 'elevation 211 m'],
    ['field', 'elevation 210 m', 'elevation 210 kg'],
    ['field', 'elevation 210', 'elevation 210 m'],
    ['field', 'elevation 210', 'elevation 211'],
    ['field', 'elevation 210 mm', 'elevation 210 mmm'],
    ['field', 'elevation 210 mm', 'elevation 210 mmMSL'],
    ['field', 'arrive 900 AGL', 'arrive 900 MSL'],
    ['field', 'arrive 900 ft AGL', 'arrive 900 ft MSL'],
    ['field', 'arrive 900 ft AGL', 'arrive 900 ft'],
    ['field', 'elevation 1,000 m', 'elevation 1000 m'],
    ['field', 'elevation 1,000 m', 'elevation 2,000 m'],
    ['field', 'runway 01/19 900 m', 'runway 11/9 900 m'],
    ['weather', 'qnh 1018 hPa', 'qnh 101800 kg'],
    ['weather', 'thermals 11:30Z to 16:45Z', 'thermals 11:30Z to 16:46:60Z'],
    ['airspace', 'edge 1.5 N 12.5 E', 'edge 1.51 N 2.5 E'],
    // Without its letter, or with one of the other kind, it is no place.
    ['airspace', 'edge 47.25 N 19.5 E', 'edge 47.25 N 19.5'],
    ['airspace', 'edge 47.25 N 19.5 E', 'edge 47.25 N 19.5 N'],
    ['airspace', 'edge 47.25 N 19.5 W', 'edge 47.25 N 19.5 S'],
    ['airspace', 'edge 47.25 N 19.5 E', 'edge 47.25 19.5 E'],
    ['airspace', 'edge 47.25 S 19.5 E', 'edge 47.25 W 19.5 E'],
    ['airspace', 'edge 47.25 N 0 E', 'edge 47.25 N'],
    ['airspace', 'edge 47.25 N 19.5', 'edge 47.25 N 19.6'],
    ['airspace', 'edge 47.25 N 19.5 N', 'edge 47.25 N 19.5 S'],
    ['field', 'runway 09L/27R 900 m', 'runway 09R/27L 900 m'],
    ['field', 'runway 09L/27R 900 m', 'runway 09L 900 m'],
    ['field', 'runway 09/27 900 m', 'runway 10/28 900 m'],
    ['field', 'runway 09/27 900 m surface grass', 'runway 09/27 900 m surface moss'],
    ['field', 'note "Wet"', 'note "Dry"'],
    ['weather', 'date 2026-06-13', 'date 2026-06-14'],
    ['weather', 'date 2026-06-13', 'date 2026-07-13'],
    ['weather', 'date 2026-06-13', 'date 2025-06-13'],
    ['weather', 'wind surface from 245° at 14 kt', 'wind surface from 245°M at 14 kt'],
    ['weather', 'wind surface from 245° at 14 kt', 'wind 0 m MSL from 245° at 14 kt'],
    ['weather', 'wind surface from 245° at 14 kt', 'wind surface from 245° at 14 kt ± 4 kt'],
    ['weather', 'thermals 11:30Z to 16:45Z', 'thermals 11:30Z to 16:45'],
    ['weather', 'thermals 11:30Z to 16:45Z', 'thermals 11:30Z to 16:45+02:00'],
    ['weather', 'thermals 11:30Z to 16:45Z', 'thermals 11:30Z to 16:45:01Z'],
    ['weather', 'cloudbase FL65', 'cloudbase FL66'],
    ['reserve', 'performance 20:1', 'performance 21:1'],
    ['limits', 'duration 3 h 30 min', 'duration 3 h 31 min'],
    ['airspace', 'edge 47.25 N 19.5 E', 'edge 47.25 S 19.5 E'],
    ['airspace', 'edge 47.25 N 19.5 E', 'edge 47.25 N 19.5 W'],
    ['airspace', 'edge 47.25 S 19.5 E', 'edge 47.25 N 19.5 W'],
    ['airspace', 'edge 47.25 N 19.5 E', 'edge 47.26 N 19.5 E'],
    ['airspace', 'edge 47,25 N 19.5 E', 'edge 47,26 N 19.5 E'],
    ['airspace', 'edge 47.25 N 19.5 E', 'edge 47.25 N 19.6 E'],
    ['task', 'weather Calm', 'weather Breezy'],
    ['task', 'turn Mill', 'turn Mill at best glide'],
    ['units', 'altitude m', 'altitude ft'],
    ['units', 'altitude mm', 'altitude mmm'],
  ])('%s: %s; %s', (entry, one, other) => {
    expect(says(entry, one)).not.toBe(says(entry, other));
  });

  test('heads of entries', () => {
    expect(says('limits Solo')).not.toBe(says('limits Solo for all tasks'));
    expect(says('limits Solo for all tasks')).toBe(says('limits  "Solo"  for all tasks'));
  });
});

const PLAN = `field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m
  arrive    900 ft AGL
  runway    18/36 900 m surface grass
  frequency 122.905 MHz
  note      "Sheep"

turnpoint "Withy Bridge" at 47.3380 N  19.5240 E
  elevation 140 m
  radius    500 m

turnpoint "Corran Dam" at 47.2870 N 19.6150 E
  elevation 210 m

turnpoint Aside at 47.2 N 19.7 E
  elevation 100 m

aircraft Finch
  vs           34 kt
  polar        42 kt sink 1.35 kt
  polar        49 kt sink 1.53 kt
  polar        60 kt sink 2.05 kt
  polar        80 kt sink 3.70 kt
  polar mass   310 kg
  empty mass   225 kg
  maximum mass 340 kg
  vne          115 kt
  crosswind    12 kt
  landing      450 m
  note         "Tail ballast out"

weather Breezy
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        3000 ft MSL from 245° at  14 kt ± 4 kt
  wind        6000 ft MSL from 255° at 20 kt
  lift        3 kt to 5800 ft MSL
  note        "Front behind"

reserve Training
  arrive      1000 ft AGL
  turn        1500 ft AGL
  performance 70 %
  altimeter   150 ft

task Home
  aircraft Finch with pilot 82 kg and ballast 10 kg
  weather  Breezy
  reserve  Training
  note     "Early"
  start    "Withy Bridge" at 3200 ft MSL
  climb    to 5000 ft MSL
  turn     "Corran Dam" at 60 kt
  climb    to 5200 ft MSL at 3 kt
  soar     between 2500 ft MSL and 5500 ft MSL
  turn     "Withy Bridge" at maccready 3 kt
  glide
  finish   Larkfield
`;

function taskOf(text: string): TaskEvaluation {
  const workspace = createWorkspace(['plan:/']);
  return understand(workspace, setFile(workspace, 'plan:/a.taskplan', text)).tasks[0] as TaskEvaluation;
}

const factsIn = (text: string): Fact[] => [...factsOf(taskOf(text)).facts.values()];
const rowsIn = (text: string) => factsIn(text).map(({ label, value, source }) => [label, value, ...source]);
const labelled = (text: string, label: string) => factsIn(text).filter((fact) => fact.label === label);

test('two lines are not one, and two points are not one, that says the same without a break', () => {
  const polar = (lines: string) =>
    labelled(`aircraft Finch\n${lines}\ntask Home\n  aircraft Finch\n`, 'polar of Finch');
  const [two] = polar('  polar a\n  polar b\n');
  const [one] = polar('  polar apolar b\n');
  expect([two?.source.length, one?.source.length]).toEqual([2, 1]);
  expect(one?.meaning).not.toBe(two?.meaning);
  const way = (lines: string) => factsOf(taskOf(`task Home\n${lines}`)).route.key;
  expect(way('  turn "Millturn Weir"\n')).not.toBe(way('  turn Mill\n  turn Weir\n'));
});

describe('facts', () => {
  test('of a task, each with its label, its value and its lines', () => {
    expect(rowsIn(PLAN)).toEqual([
      [
        'polar of Finch',
        '42 kt sink 1.35 kt, 49 kt sink 1.53 kt, 60 kt sink 2.05 kt, 80 kt sink 3.70 kt, polar mass 310 kg',
        'polar 42 kt sink 1.35 kt',
        'polar 49 kt sink 1.53 kt',
        'polar 60 kt sink 2.05 kt',
        'polar 80 kt sink 3.70 kt',
        'polar mass 310 kg',
      ],
      ['vs of Finch', '34 kt', 'vs 34 kt'],
      ['empty mass of Finch', '225 kg', 'empty mass 225 kg'],
      ['maximum mass of Finch', '340 kg', 'maximum mass 340 kg'],
      ['vne of Finch', '115 kt', 'vne 115 kt'],
      ['pilot', '82 kg', 'pilot 82 kg'],
      ['ballast', '10 kg', 'ballast 10 kg'],
      ['weather', 'known'],
      ['qnh', '1018 hPa', 'qnh 1018 hPa'],
      ['temperature', '24 °C at 190 m MSL', 'temperature 24 °C at 190 m MSL'],
      ['wind at the surface', '230°/8 kt', 'wind surface from 230° at 8 kt'],
      ['wind at 3000 ft MSL', '245°/14 kt ± 4 kt', 'wind 3000 ft MSL from 245° at 14 kt ± 4 kt'],
      ['wind at 6000 ft MSL', '255°/20 kt', 'wind 6000 ft MSL from 255° at 20 kt'],
      ['lift', '3 kt to 5800 ft MSL', 'lift 3 kt to 5800 ft MSL'],
      ['reserve', 'known'],
      ['arrive of the reserve', '1000 ft AGL', 'arrive 1000 ft AGL'],
      ['turn of the reserve', '1500 ft AGL', 'turn 1500 ft AGL'],
      ['performance of the reserve', '70 %', 'performance 70 %'],
      ['altimeter of the reserve', '150 ft', 'altimeter 150 ft'],
      ['Withy Bridge', 'turnpoint', 'turnpoint'],
      ['position of Withy Bridge', '47.3380 N 19.5240 E', '47.3380 N 19.5240 E'],
      ['elevation of Withy Bridge', '140 m', 'elevation 140 m'],
      ['Corran Dam', 'turnpoint', 'turnpoint'],
      ['position of Corran Dam', '47.2870 N 19.6150 E', '47.2870 N 19.6150 E'],
      ['elevation of Corran Dam', '210 m', 'elevation 210 m'],
      ['Larkfield', 'field', 'field'],
      ['position of Larkfield', '47.2031 N 19.4410 E', '47.2031 N 19.4410 E'],
      ['elevation of Larkfield', '190 m', 'elevation 190 m'],
      ['arrive of Larkfield', '900 ft AGL', 'arrive 900 ft AGL'],
      ['start over Withy Bridge', '3200 ft MSL', 'start "Withy Bridge" at 3200 ft MSL'],
      ['climb behind Withy Bridge', '5000 ft MSL', 'climb to 5000 ft MSL'],
      ['speed to Corran Dam', '60 kt', 'turn "Corran Dam" at 60 kt'],
      ['climb behind Corran Dam', '5200 ft MSL at 3 kt', 'climb to 5200 ft MSL at 3 kt'],
      ['soaring behind Corran Dam', '2500 ft MSL and 5500 ft MSL', 'soar between 2500 ft MSL and 5500 ft MSL'],
      ['speed to Withy Bridge', 'maccready 3 kt', 'turn "Withy Bridge" at maccready 3 kt'],
      ['glide behind Withy Bridge', 'set', 'glide'],
      ['speed to Larkfield', 'best glide', 'finish Larkfield'],
    ]);
  });

  test('no two have the same key, and each stands under its own', () => {
    const { facts } = factsOf(taskOf(PLAN));
    for (const [key, fact] of facts) expect(fact.key).toBe(key);
    expect(facts.size).toBe(37);
  });

  test('the way is what is named, not how high or how fast', () => {
    const route = (text: string) => factsOf(taskOf(text)).route;
    expect(route(PLAN).points).toEqual(['Withy Bridge', 'Corran Dam', 'Withy Bridge', 'Larkfield']);
    expect(route(PLAN.replace('at 60 kt', 'at 70 kt').replace('5200 ft', '5300 ft')).key).toBe(route(PLAN).key);
    expect(route(PLAN.replace('finish   Larkfield', 'turn     Larkfield')).key).not.toBe(route(PLAN).key);
    expect(route(PLAN.replace('turn     "Corran', 'turn     "Corran Mill').replace('finish   ', '')).key).not.toBe(
      route(PLAN).key,
    );
    expect(route('task Empty\n')).toEqual({ key: '', points: [] });
    expect(route('task Empty\n  turn\n  finish Larkfield\n').points).toEqual(['', 'Larkfield']);
  });

  test('a line that stands twice is two facts', () => {
    const twice = PLAN.replace('  lift ', '  qnh 1003 hPa\n  qnh 1004 hPa\n  lift ');
    expect(labelled(twice, 'qnh').map(({ value }) => value)).toEqual(['1018 hPa', '1003 hPa', '1004 hPa']);
    const keys = labelled(twice, 'qnh').map(({ key }) => key);
    expect(keys).toEqual(['weather qnh', 'weather qnh 2', 'weather qnh 3']);
    const winds = PLAN.replace('6000 ft MSL', '914.4 m MSL');
    expect(labelled(winds, 'wind at 914.4 m MSL')[0]?.key).toBe(`${labelled(winds, 'wind at 3000 ft MSL')[0]?.key} 2`);
  });

  test('winds are told apart by their height, whatever its unit, and by its datum', () => {
    const key = (height: string) => labelled(PLAN.replace('3000 ft MSL', height), `wind at ${height}`)[0]?.key;
    expect(key('914.4 m MSL')).toBe(key('3000 ft MSL'));
    expect(key('3100 ft MSL')).not.toBe(key('3000 ft MSL'));
    expect(key('FL30')).not.toBe(key('FL31'));
    expect(labelled(PLAN, 'wind at the surface')[0]?.key).toBe('weather wind surface');
  });

  test('a wind that lacks something is shown as it stands', () => {
    const broken = PLAN.replace('wind        surface from 230° at 8 kt', 'wind        surface from 230°');
    expect(labelled(broken, 'wind')).toMatchObject([
      { value: 'surface from 230°', source: ['wind surface from 230°'] },
    ]);
  });

  test('a line that is no detail is a fact of its own', () => {
    const odd = PLAN.replace('  lift ', '  luft ');
    expect(labelled(odd, 'luft')).toMatchObject([
      { key: 'weather unread', value: '3 kt to 5800 ft MSL', source: ['luft 3 kt to 5800 ft MSL'] },
    ]);
    const aircraft = PLAN.replace('  vs  ', '  vz  ');
    expect(labelled(aircraft, 'vz of Finch')).toMatchObject([{ value: '34 kt', source: ['vz 34 kt'] }]);
  });

  test('a polar of figures; the order of its lines says nothing', () => {
    const figures = PLAN.replace(
      /( {2}polar {8}.*\n)+/,
      '  best glide   32:1 at 49 kt\n  minimum sink 1.3 kt at 41 kt\n',
    );
    const fact = labelled(figures, 'polar of Finch')[0];
    expect(fact?.value).toBe('best glide 32:1 at 49 kt, minimum sink 1.3 kt at 41 kt, polar mass 310 kg');
    const turned = figures.replace(/( {2}best.*\n)( {2}minimum.*\n)/, '$2$1');
    expect(labelled(turned, 'polar of Finch')[0]?.meaning).toBe(fact?.meaning);
    expect(labelled(PLAN, 'polar of Finch')[0]?.meaning).not.toBe(fact?.meaning);
    const worse = figures.replace('1.3 kt', '1.4 kt');
    expect(labelled(worse, 'polar of Finch')[0]?.meaning).not.toBe(fact?.meaning);
    expect(labelled(PLAN.replace(/ {2}polar.*\n/g, ''), 'polar of Finch')).toEqual([]);
  });

  test('a speed says the same in any unit, and best glide whether written or not', () => {
    const speed = (text: string) =>
      labelled(PLAN.replace(/turn {5}"Corran Dam".*\n/, `turn "Corran Dam"${text}\n`), 'speed to Corran Dam')[0];
    expect(speed('')?.meaning).toBe(speed(' at best glide')?.meaning);
    expect(speed('')?.value).toBe('best glide');
    expect(speed(' at 36 km/h')?.meaning).toBe(speed(' at 10 m/s')?.meaning);
    expect(speed(' at maccready 36 km/h')?.meaning).not.toBe(speed(' at maccready 10 m/s')?.meaning);
    const different = ['', ' at 60 kt', ' at 61 kt', ' at maccready 2 kt', ' at maccready 3 kt', ' at 60', ' at 61'];
    expect(new Set(different.map((text) => speed(text)?.meaning)).size).toBe(different.length);
    // A line with something behind it says what stands there.
    expect(speed(' at 60 kt fast')?.meaning).toBe('turn "Corran Dam" at 60 kt fast');
    expect(speed(' at maccready 3 kt to the west')?.value).toBe('maccready 3 kt to the west');
  });

  test('a line that is not indented says the same', () => {
    const meanings = (text: string) => factsIn(text).map(({ key, meaning, value }) => [key, value, meaning]);
    const flat = PLAN.replace('  turn     "Corran', 'turn     "Corran')
      .replace('  wind        3000', 'wind        3000')
      .replace('  elevation 190', 'elevation 190');
    expect(meanings(flat)).toEqual(meanings(PLAN));
  });

  test('what is not known or not named', () => {
    const without = `task Home
  weather Nowhere
  start   Larkfield at 3200 ft MSL
  turn    Nowhere
`;
    expect(rowsIn(without)).toEqual([
      ['weather', 'not known'],
      ['reserve', 'none'],
      ['start over Larkfield', '3200 ft MSL', 'start Larkfield at 3200 ft MSL'],
      ['speed to Nowhere', 'best glide', 'turn Nowhere'],
    ]);
    expect(rowsIn('task Home\n')).toEqual([
      ['weather', 'none'],
      ['reserve', 'none'],
    ]);
  });

  test('a climb before any point', () => {
    expect(rowsIn('task Home\n  climb to 5000 ft MSL\n').at(-1)).toEqual([
      'climb behind ',
      '5000 ft MSL',
      'climb to 5000 ft MSL',
    ]);
  });

  test('a field with half a position', () => {
    const position = (text: string) =>
      labelled(
        `field Larkfield at ${text}\n\ntask Home\n  start Larkfield at 3200 ft MSL\n`,
        'position of Larkfield',
      )[0];
    expect(position('47.2 N')).toMatchObject({ value: '47.2 N', source: ['47.2 N'] });
    expect(position('47.2 N')?.meaning).not.toBe(position('47.3 N')?.meaning);
    expect(position('47.2 N')?.meaning).not.toBe(position('47.2 N 0 E')?.meaning);
    expect(position('47.2')?.meaning).not.toBe(position('47.2 N')?.meaning);
  });

  test('a field without a position', () => {
    const text = 'field Larkfield\n  elevation 190 m\n\ntask Home\n  start Larkfield at 3200 ft MSL\n';
    expect(rowsIn(text).slice(2)).toEqual([
      ['Larkfield', 'field', 'field'],
      ['elevation of Larkfield', '190 m', 'elevation 190 m'],
      ['start over Larkfield', '3200 ft MSL', 'start Larkfield at 3200 ft MSL'],
    ]);
  });
});

describe('the plan that facts make', () => {
  const LINES = (text: string) =>
    text
      .split('\n')
      .map((line) => line.trim())
      .filter((line) => line !== '');
  const madeOf = (facts: ReadonlyMap<string, Fact>) => evaluateFacts(facts) as TaskEvaluation;
  const made = (text: string) => madeOf(factsOf(taskOf(text)).facts);
  const WHOLE = [
    'task "T"',
    'aircraft "A" with pilot 82 kg and ballast 10 kg',
    'weather "R"',
    'reserve "R"',
    'start "Withy Bridge" at 3200 ft MSL',
    'climb to 5000 ft MSL',
    'turn "Corran Dam" at 60 kt',
    'climb to 5200 ft MSL at 3 kt',
    'soar between 2500 ft MSL and 5500 ft MSL',
    'turn "Withy Bridge" at maccready 3 kt',
    'glide',
    'finish Larkfield',
  ];

  test('has their lines, and nothing that no number rests on', () => {
    const task = made(PLAN);
    expect(LINES(task.entry.text)).toEqual(WHOLE);
    expect(LINES(task.aircraft?.meaning.entry.text ?? '')).toEqual([
      'aircraft "A"',
      'polar 42 kt sink 1.35 kt',
      'polar 49 kt sink 1.53 kt',
      'polar 60 kt sink 2.05 kt',
      'polar 80 kt sink 3.70 kt',
      'polar mass 310 kg',
      'vs 34 kt',
      'empty mass 225 kg',
      'maximum mass 340 kg',
      'vne 115 kt',
    ]);
    expect(LINES(task.weather?.meaning.entry.text ?? '')).toEqual([
      'weather "R"',
      'qnh 1018 hPa',
      'temperature 24 °C at 190 m MSL',
      'wind surface from 230° at 8 kt',
      'wind 3000 ft MSL from 245° at 14 kt ± 4 kt',
      'wind 6000 ft MSL from 255° at 20 kt',
      'lift 3 kt to 5800 ft MSL',
    ]);
    expect(LINES(task.reserve?.meaning.entry.text ?? '')).toEqual([
      'reserve "R"',
      'arrive 1000 ft AGL',
      'turn 1500 ft AGL',
      'performance 70 %',
      'altimeter 150 ft',
    ]);
    expect(LINES(task.start?.point?.meaning.entry.text ?? '')).toEqual([
      'turnpoint "Withy Bridge" at 47.3380 N 19.5240 E',
      'elevation 140 m',
    ]);
    expect(LINES(task.legs.at(-1)?.to?.meaning.entry.text ?? '')).toEqual([
      'field "Larkfield" at 47.2031 N 19.4410 E',
      'elevation 190 m',
      'arrive 900 ft AGL',
    ]);
  });

  test('gives the numbers of the task', () => {
    const task = taskOf(PLAN);
    expect(task.legs.map(figuresOf).every(({ marginM }) => marginM !== null)).toBe(true);
    expect(made(PLAN).legs.map(figuresOf)).toEqual(task.legs.map(figuresOf));
  });

  test('keeps the itinerary in order, however the facts stand', () => {
    const facts = [...factsOf(taskOf(PLAN)).facts];
    const task = madeOf(new Map(facts.toReversed()));
    expect(LINES(task.entry.text).slice(-8)).toEqual(WHOLE.slice(-8));
    // A tenth stop comes behind the ninth.
    const long = `task Long\n  start A at 3200 ft MSL\n${Array.from({ length: 10 }, (_, i) => `  turn P${i}\n`).join('')}`;
    const turned = madeOf(new Map([...factsOf(taskOf(long)).facts].toReversed()));
    expect(LINES(turned.entry.text).slice(-10)).toEqual(Array.from({ length: 10 }, (_, i) => `turn P${i}`));
  });

  test('with a pilot alone, with ballast alone, and with neither', () => {
    const load = (text: string) => LINES(made(PLAN.replace(' with pilot 82 kg and ballast 10 kg', text)).entry.text)[1];
    expect(load(' with ballast 12 kg and pilot 80 kg')).toBe('aircraft "A" with pilot 80 kg and ballast 12 kg');
    expect(load(' with pilot 80 kg')).toBe('aircraft "A" with pilot 80 kg');
    expect(load(' with ballast 12 kg')).toBe('aircraft "A" with ballast 12 kg');
    expect(load('')).toBe('aircraft "A"');
  });

  test('without an aircraft, a weather or a reserve that is known', () => {
    const bare = made('task Home\n  aircraft Nowhere\n  weather Nowhere\n  start Larkfield at 3200 ft MSL\n');
    expect(LINES(bare.entry.text)).toEqual([
      'task "T"',
      'aircraft "A"',
      'weather "not known"',
      'start Larkfield at 3200 ft MSL',
    ]);
    expect(bare.aircraft).toBeUndefined();
    expect(bare.weather).toBeUndefined();
    expect(bare.reserve).toBeUndefined();
  });

  test('a weather or a reserve without lines is known all the same', () => {
    const empty = made('weather Calm\n\nreserve Few\n\ntask Home\n  weather Calm\n  reserve Few\n');
    expect(LINES(empty.entry.text)).toEqual(['task "T"', 'aircraft "A"', 'weather "R"', 'reserve "R"']);
    expect(LINES(empty.weather?.meaning.entry.text ?? '')).toEqual(['weather "R"']);
    expect(LINES(empty.reserve?.meaning.entry.text ?? '')).toEqual(['reserve "R"']);
  });

  test('a line of a weather or a reserve counts though it is told alone', () => {
    const only = new Map([...factsOf(taskOf(PLAN)).facts].filter(([key]) => /^(weather qnh|reserve arrive)/.test(key)));
    const task = madeOf(only);
    expect(LINES(task.entry.text)).toEqual(['task "T"', 'aircraft "A"', 'weather "R"', 'reserve "R"']);
    expect(LINES(task.weather?.meaning.entry.text ?? '')).toEqual(['weather "R"', 'qnh 1018 hPa']);
    expect(LINES(task.reserve?.meaning.entry.text ?? '')).toEqual(['reserve "R"', 'arrive 1000 ft AGL']);
    expect(LINES(madeOf(new Map()).entry.text)).toEqual(['task "T"', 'aircraft "A"']);
  });

  test('a point whose name is a number keeps its own lines', () => {
    const text =
      'turnpoint "1" at 47.3 N 19.5 E\n  elevation 140 m\n\ntask Home\n  start "1" at 3200 ft MSL\n  climb to 4000 ft MSL\n';
    expect(LINES(made(text).start?.point?.meaning.entry.text ?? '')).toEqual([
      'turnpoint "1" at 47.3 N 19.5 E',
      'elevation 140 m',
    ]);
  });

  test('a point without a position', () => {
    const text = 'field Larkfield\n  elevation 190 m\n\ntask Home\n  start Larkfield at 3200 ft MSL\n';
    expect(LINES(made(text).start?.point?.meaning.entry.text ?? '')).toEqual(['field "Larkfield"', 'elevation 190 m']);
  });
});
