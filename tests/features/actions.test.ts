/** Quick fixes: what each family offers, and what it writes. */
import { describe, expect, test } from 'vitest';
import { mostLooks } from '../../server/features/fixes/all.ts';
import { fixContext } from '../../server/features/fixes/fix.ts';
import { actionsAt, findingsIn, newLines, planAfter, titles } from './actions-helper.ts';
import { marked } from './marked.ts';

/** A short task from Larkfield eastward, with these lines behind its names. */
const task = (...lines: string[]) =>
  `use "club.taskplan"\n\ntask Eastward\n  aircraft  Finch with pilot 82 kg\n  weather   Breezy\n  reserve   Training\n${lines.map((line) => `  ${line}\n`).join('')}`;

const offered = (text: string) => titles(text, ['quickfix']);
/** The lines that are new after a fix. */
const written = (text: string, title: string) => newLines(text, planAfter(text, title, ['quickfix']));

describe('a leg that arrives too low', () => {
  const fast = task('start     Larkfield at 5000 ft MSL', 'finish    $0Ashmoor at 75 kt  # home');

  test('leaves higher, or flies slower; neither is the obvious one', () => {
    expect(offered(fast)).toEqual(['Start at 5600 ft MSL', 'Fly 65 kt to Ashmoor', 'Fly at best glide to Ashmoor']);
    expect(written(fast, 'Start at 5600 ft MSL')).toBe('  start     Larkfield at 5600 ft MSL');
    expect(written(fast, 'Fly 65 kt to Ashmoor')).toBe('  finish    Ashmoor at 65 kt  # home');
    expect(written(fast, 'Fly at best glide to Ashmoor')).toBe('  finish    Ashmoor at best glide  # home');
  });

  test.each([
    ['5003 ft MSL', 'Start at 5600 ft MSL'],
    ['4380 ft AGL', 'Start at 4980 ft AGL'],
    ['1524 m MSL', 'Start at 1710 m MSL'],
    ['1.524 km MSL', 'Start at 1.71 km MSL'],
    ['FL50', 'Start at FL55'],
    ['FL49', 'Start at FL55'],
  ])('the height is written as it was, rounded up: %s', (height, title) => {
    expect(offered(fast.replace('5000 ft MSL', height))[0]).toBe(title);
  });

  test('speeds are written in the unit of the line, and of the reader where it has none', () => {
    expect(offered(fast.replace('75 kt', '139 km/h'))).toContainEqual(expect.stringMatching(/^Fly 12\d km\/h to/));
    const maccready = fast.replace('at 75 kt', 'at maccready 4 kt');
    expect(offered(`units\n  speed km/h\n\n${maccready}`)).toContainEqual(expect.stringMatching(/^Fly 1\d\d km\/h to/));
  });

  test('a climb before the leg is raised, and says when the day has no such height', () => {
    const climbs = task(
      'start     Larkfield at 3000 ft MSL',
      'climb     to 5000 ft MSL',
      'finish    $0Ashmoor at 79 kt',
    );
    expect(offered(climbs)[0]).toBe('Climb to 5900 ft MSL over Larkfield, above the working top');
    const cloud = task(
      'start     Larkfield at 5000 ft MSL',
      'turn      Ashmoor',
      'climb     to 5000 ft MSL',
      'finish    $0Larkfield at 65 kt',
    );
    expect(offered(cloud)[0]).toMatch(/^Climb to \d+ ft MSL over Ashmoor, above the cloudbase$/);
  });

  test('a climb on the way is raised where it is', () => {
    const text = task(
      'start     Larkfield at 5000 ft MSL',
      'climb     to 2000 ft MSL after 9 NM',
      'finish    $0Ashmoor at 79 kt',
    );
    const [title] = offered(text);
    expect(title).toMatch(/^\* Climb to \d+ ft MSL on the way to Ashmoor$/);
    expect(written(text, (title as string).slice(2))).toMatch(/^ {2}climb {5}to \d+ ft MSL after 9 NM$/);
  });

  test('a turnpoint left as high as it was reached gets a climb, or the height before it is raised', () => {
    const text = task('start     Larkfield at 4800 ft MSL', 'turn      "Corran Dam"', 'finish    $0Ashmoor at 70 kt');
    const all = offered(text);
    expect(all[0]).toMatch(/^Climb to \d+ ft MSL over Corran Dam first$/);
    expect(all[1]).toMatch(/^Start at \d+ ft MSL$/);
    expect(written(text, all[0] as string)).toMatch(/^ {2}climb {5}to \d+ ft MSL$/);
  });
});

test('a thin margin is made 200 ft', () => {
  const text = task('start     Larkfield at 4800 ft MSL', 'finish    $0Ashmoor at 60 kt');
  expect(offered(text)).toEqual(['Start at 4950 ft MSL', 'Fly 57 kt to Ashmoor', 'Fly at best glide to Ashmoor']);
});

describe('speeds and masses at their limits', () => {
  test('above vne', () => {
    expect(offered(task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor at $0120 kt'))).toContain(
      '* Fly 115 kt to Ashmoor',
    );
  });

  test('near the stall', () => {
    const text = task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor at $036 kt');
    expect(written(text, 'Fly 38 kt to Ashmoor')).toBe('  finish    Ashmoor at 38 kt');
  });

  test('ballast goes, down to none', () => {
    const wren = `aircraft Wren
  polar        48 kt sink 1.30 kt
  polar        60 kt sink 1.55 kt
  polar        90 kt sink 3.20 kt
  polar mass   360 kg
  empty mass   245 kg
  maximum mass 420 kg
  ballast      up to 150 kg
  vs           37 kt
  vne          140 kt

`;
    const with_ = (mass: string) =>
      wren + task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor').replace('Finch with pilot 82 kg', mass);
    const both = with_('Wren with pilot 82 kg and $0ballast 120 kg');
    expect(written(both, 'Take 93 kg of ballast')).toBe('  aircraft  Wren with pilot 82 kg and ballast 93 kg');
    const heavy = with_('Wren with pilot 175 kg and $0ballast 120 kg');
    expect(written(heavy, 'Take no ballast')).toBe('  aircraft  Wren with pilot 175 kg');
    const swapped = with_('Wren with ballast $0120 kg and pilot 175 kg');
    expect(written(swapped, 'Take no ballast')).toBe('  aircraft  Wren with pilot 175 kg');
    expect(
      written(with_('Wren with pilot 65 kg and ballast $0160 kg').replace('420', '520'), 'Take 150 kg of ballast'),
    ).toContain('ballast 150 kg');
    // The aircraft states none.
    const none = task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor').replace(
      'pilot 82 kg',
      'pilot 82 kg and ballast $020 kg',
    );
    expect(written(none, 'Take no ballast')).toBe('  aircraft  Finch with pilot 82 kg');
  });

  test('the pilot that is assumed is written', () => {
    const text = task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor').replace(
      'Finch with pilot 82 kg',
      '$0Finch',
    );
    expect(written(text, 'Write the mass that is assumed: a pilot of 85 kg')).toBe(
      '  aircraft  Finch with pilot 85 kg',
    );
  });
});

describe('units, datums and numbers: each reading', () => {
  test.each([
    ['elevation $0140', ['Write “140 m”', 'Write “140 ft”']],
    ['elevation 140 $0meters', ['* Write “140 m”']],
    ['elevation 140 $0kt', ['Write “140 ft”', 'Write “140 m”']],
    ['elevation 140 m $0AGL', ['Write “140 m”']],
    ['elevation $01,400 ft', ['Write 1400', 'Write 1.400']],
    ['elevation $01,400.5 ft', ['* Write 1400.5']],
    ['elevation $0140,5 m', ['* Write 140.5']],
  ])('%s', (line, all) => {
    expect(offered(`turnpoint Mill at 47.25 N 19.52 E\n  ${line}\n`)).toEqual(all);
  });

  test.each([
    ['qnh $01016', ['* Write “1016 hPa”']],
    ['qnh $029.92', ['* Write “29.92 inHg”']],
    ['cloudbase $06200', ['Write “6200 m MSL”', 'Write “6200 ft MSL”']],
    ['cloudbase $06200 ft', ['* Write “6200 ft MSL”, above the sea']],
    // Another datum than the one that is written is never the obvious way.
    ...['AGL', 'GND', 'QFE', 'AAL', 'STD'].map((datum) => [
      `cloudbase 6200 ft $0${datum}`,
      ['Write “6200 ft MSL”, above the sea'],
    ]),
    ['cloudbase 6200 ft $0AMSL', ['* Write “6200 ft MSL”, above the sea']],
    ['cloudbase 6200 ft $0QNH', []],
    ['qnh 1018 $0kt', ['Write “1018 hPa”']],
    ['qnh $029.92 in', ['* Write “29.92 inHg”']],
    ['qnh $029.92 in x', []],
    ['wind $03 000 ft MSL from 230° at 8 kt', ['Write 3000', 'Write 3.000']],
    ['lift 3 $0m/min to 5800 ft MSL', ['Write “3 kt”', 'Write “3 m/s”', 'Write “3 ft/min”']],
    ['wind surface from 230°$0T at 8 kt', ['* Write “230°”, degrees true']],
    ['wind surface from 230° $08 kt', ['* Put in “at”']],
    ['wind $0230 15 kt', ['Write “surface from 230° at 15 kt”']],
    ['wind $0230/15 kt', ['Write “surface from 230° at 15 kt”']],
    ['wind FL65 $025015KT', ['* Write “from 250° at 15 kt”']],
    ['wind $0250° at 15 kt at 3000 ft MSL', ['* Write “3000 ft MSL from 250° at 15 kt”']],
    // What it is counted from was not written, and is never put in without a look.
    ['wind $025015KT 3000 ft', ['Write “3000 ft MSL from 250° at 15 kt”']],
    // No height is made of one above ground that nobody named, and no direction of none.
    ['wind $0250/15kt at 3000 ft AGL', []],
    ['wind $0VRB03KT', []],
    ['cloudbase $0none', ['* Take the line out']],
    ['cloudbase $0BKN040', []],
    ['qnh $0Q0998', ['* Write “998 hPa”']],
    ['date $030.11.2026', ['* Write “2026-11-30”']],
    ['date $0June 5, 2026', ['* Write “2026-06-05”']],
    ['date $05/6/2026', ['Write “2026-06-05”', 'Write “2026-05-06”']],
    ['thermals $09Z to 16:45Z', ['* Write “09:00Z”']],
    ['thermals $01130Z to 16:45Z', ['* Write “11:30Z”']],
    ['thermals $01130 to 16:45Z', ['Write “11:30”']],
    ['thermals 11:30Z $0until 16:45Z', ['* Write “to”']],
    ['thermals $0from 11:30Z to 16:45Z', ['* Write “11:30Z to 16:45Z”']],
    ['$0pressure 1018 hPa', ['* Write “qnh”']],
    ['wind surface $0calm', ['* Write “from 0° at 0 kt”']],
    ['wind $0calm', ['Write “surface from 0° at 0 kt”']],
    ['wind surface from $0230 014 kt', ['* Write “230° at 14 kt”']],
    ['wind 2000 $0meteres MSL from 230° at 8 kt', ['* Write “2000 m MSL”']],
    ['thermals $011:30+2 to 16:45Z', ['* Write “11:30+02:00”']],
    ['lift 3 $0kn to 5800 ft MSL', ['* Write “3 kt”']],
    ['wind surface from $0230 at 8 kt', ['Write “230°”', 'Write “230°M”']],
    ['thermals 11:30Z to $016:45', ['* Write 16:45Z, in UTC']],
    ['thermals 11:30+02:00 to $016:45', ['* Write 16:45+02:00, as elsewhere in this file', 'Write 16:45Z, in UTC']],
  ])('%s', (line, all) => {
    expect(offered(`weather Calm\n  ${line}\n`)).toEqual(all);
  });

  test.each([
    ['reserve', 'performance $00.7', ['Write “70 %”, a share of one as a share of a hundred', 'Write “0.7 %”']],
    ['reserve', 'performance $0.7', ['Write “70 %”, a share of one as a share of a hundred', 'Write “.7 %”']],
    ['reserve', 'performance $01', ['Write “100 %”, a share of one as a share of a hundred', 'Write “1 %”']],
    ['reserve', 'performance $070', ['* Write “70 %”']],
    ['reserve', 'performance $020', ['Write “20 %”', 'Write “20:1”, a glide ratio']],
    ['reserve', 'performance $030 : 1', ['* Write “30:1”']],
    ['reserve', 'performance $030 :1 x', []],
    ['field', 'runway $018-36 900 m', ['* Write “18/36”']],
    ['field', 'runway $009L – 27R 900 m surface grass', ['* Write “09L/27R”']],
    ['field', 'runway $018-36 900', []],
    ['field', "elevation $01'000 ft", ['Write 1000']],
    ['limits', 'duration $03 30 min', ['Write “3 h”']],
    ['reserve', 'performance $07 0 %', ['Write 70', 'Write 7.0']],
    ['field', 'frequency $0122 905 MHz', ['Write 122.905']],
    ['field', 'frequency $0122 905', []],
    ['reserve', 'performance $070 ‰', []],
    ['limits', 'duration 2$0h30', ['* Write “2 h 30 min”']],
    ['limits', 'distance 12 $0sm', ['Write “12 NM”', 'Write “12 mi”']],
  ])('in %s: %s', (entry, line, all) => {
    const heads: Readonly<Record<string, string>> = {
      reserve: 'reserve A\n  arrive 1000 ft AGL\n',
      field: 'field A at 47.25 N 19.52 E\n  elevation 140 m\n',
    };
    expect(offered(`${heads[entry] ?? `${entry} A\n`}  ${line}\n`)).toEqual(all);
  });

  test('a height over the ground stays one', () => {
    expect(offered('reserve A\n  arrive 1000 ft $0MSL\n')).toEqual(['Write “1000 ft AGL”, above the ground there']);
    expect(offered('reserve A\n  arrive 1000 ft $0AAL\n')).toEqual(['* Write “1000 ft AGL”, above the ground there']);
  });

  test.each([
    ['2:30 PM', ['Write 14:30Z, in UTC']],
    ['12:05am', ['Write 00:05Z, in UTC']],
    ['14:30 PM', []],
    ['14:30+2', ['* Write “14:30+02:00”']],
    ['14:30 UTC', ['* Write “14:30Z”']],
    ['14:30 Z', ['* Write “14:30Z”']],
    ['14:30 local', []],
  ])('a take-off at %s', (time, all) => {
    expect(offered(task(`takeoff $0${time}`, 'start Larkfield at 5200 ft MSL', 'finish Ashmoor'))).toEqual(all);
  });

  test.each([
    ["$0O'Brien", `* Put the name in quotes: "O'Brien"`],
    ['St. $0Mary', '* Put the name in quotes: "St. Mary"'],
    ['$0-b', '* Put the name in quotes: "-b"'],
    ['$0FL65', '* Put the name in quotes: "FL65"'],
    ["$0'Old Mill'", '* Put the name in quotes: "Old Mill"'],
  ])('a name that needs quotes: %s', (name, title) => {
    expect(offered(`turnpoint ${name} at 47.25 N 19.52 E\n  elevation 140 m\n`)).toEqual([title]);
  });

  test.each([
    ['climb to 4800 ft MSL after 8 NM $0at 3 kt', '  climb to 4800 ft MSL at 3 kt after 8 NM'],
    ['turn "Withy Bridge" $075 kt', '  turn "Withy Bridge" at 75 kt'],
    ['turn "Withy Bridge" $0best glide  # slow', '  turn "Withy Bridge" at best glide  # slow'],
  ])('a part in its place, or with its word: %s', (line, mended) => {
    const text = task('start     Larkfield at 5200 ft MSL', line, 'finish    Ashmoor');
    const [title, ...others] = offered(text);
    expect(others).toEqual([]);
    expect(title).toMatch(/^\* Write/);
    expect(written(text, (title as string).slice(2))).toBe(mended);
  });

  test('coordinates in a line of their own', () => {
    const title = 'Move the coordinates to the first line';
    const field = (head: string, line: string) => `field ${head}\n  ${line}\n  elevation 140 m\n`;
    const mended = 'field Wold at 47.25 N 19.52 E  # home\n  elevation 140 m\n';
    for (const line of ['$0at 47.25 N 19.52 E', '$0position  47.25 N 19.52 E  # new']) {
      expect(offered(field('Wold  # home', line))).toEqual([`* ${title}`]);
      expect(planAfter(field('Wold  # home', line), title, ['quickfix'])).toBe(mended);
    }
    // Half of them, and others that are there already.
    expect(offered(field('Wold', '$0lat 47.25 N'))).toEqual([]);
    expect(offered(field('Wold at 47.25 N 19.52 E', '$0at 47.25 N 19.52 E'))).toEqual([]);
    expect(offered(field('Wold', '$0at'))).toEqual([]);
  });

  test('a detail by its last word', () => {
    const aircraft = (line: string) => `aircraft Wren\n  ${line}\n`;
    expect(offered(aircraft('$0mass 300 kg'))).toEqual([
      'Write “polar mass”',
      'Write “empty mass”',
      'Write “maximum mass”',
    ]);
    expect(offered(aircraft('$0glide 32:1 at 49 kt'))).toEqual(['* Write “best glide”']);
  });

  test('a word behind a speed that the line says already', () => {
    const aircraft = (line: string) => `aircraft Wren\n  ${line}\n`;
    const all = (line: string) => titles(aircraft(line), ['source.fixAll']);
    expect(written(aircraft('vne 130 kt $0IAS  # smooth air'), 'Take out “IAS”')).toBe('  vne 130 kt  # smooth air');
    expect(written(aircraft('polar 60 kt  $0IAS sink 1.95 kt'), 'Take out “IAS”')).toBe('  polar 60 kt sink 1.95 kt');
    expect(all('vne 130 kt IAS')).toEqual(['Mend the slip with one reading']);
    expect(all('vne 130 kt TAS')).toEqual([]);
    expect(offered(aircraft('vne 130 kt $0TAS'))).toEqual([]);
  });

  test('a surface and a circuit get their words', () => {
    const field = (rest: string) => `field A at 47.25 N 19.52 E\n  elevation 140 m\n  runway 18/36 900 m ${rest}\n`;
    expect(offered(field('$0grass'))).toEqual(['* Write “surface grass”']);
    expect(offered(field('surface grass $0left'))).toEqual(['* Write “circuit left”']);
    expect(offered(field('$0beautiful view'))).toEqual(['Make the rest of the line a remark']);
  });

  test('a path in other quotes', () => {
    expect(written("use $0'club.taskplan'\n", 'Put the text in quotes')).toBe('use "club.taskplan"');
  });

  test('a dash between two values is no sign', () => {
    const aircraft = (pilot: string) => `aircraft A\n  pilot ${pilot}\n`;
    expect(written(aircraft('55 kg$0–110 kg'), 'Put in “to”')).toBe('  pilot 55 kg to 110 kg');
    expect(written(aircraft('55 kg $0– 110 kg'), 'Put in “to”')).toBe('  pilot 55 kg to 110 kg');
    expect(offered(aircraft('55$0-110 kg'))).toContain('Put in “to”');
  });

  test('a line is mended without a look where nothing else is wrong on it', () => {
    const all = (line: string) => titles(`weather A\n  ${line}\n`, ['source.fixAll']);
    expect(all('qnh 29.92')).toEqual(['Mend the slip with one reading']);
    expect(all('qnh 29.92 in')).toEqual([]);
    expect(all('wind surface from 230 deg at 8 kts')).toEqual(['Mend the 2 slips with one reading']);
    expect(all('wind surface from 230 deg at 8')).toEqual([]);
    expect(all('wind surface from 230 deg at 8 kts x')).toEqual([]);
    for (const share of ['0.7', '.7', '1', '20', '30 : 1', '7 0 %', '70 ‰'])
      expect(titles(`reserve A\n  arrive 1000 ft AGL\n  performance ${share}\n`, ['source.fixAll'])).toEqual([]);
    for (const frequency of ['122 905 MHz', '122 905'])
      expect(
        titles(`field A at 47.25 N 19.52 E\n  elevation 140 m\n  frequency ${frequency}\n`, ['source.fixAll']),
      ).toEqual([]);
  });

  test('a unit that misses with its datum is written with each', () => {
    expect(offered(task('start     Larkfield at $05200', 'finish    Ashmoor'))).toEqual([
      'Write “5200 m MSL”',
      'Write “5200 m AGL”',
      'Write “5200 ft MSL”',
      'Write “5200 ft AGL”',
    ]);
  });

  test('units of the reader', () => {
    expect(offered('units\n  altitude $0feet\n')).toEqual(['* Write ft, feet']);
    expect(offered('units\n  distance $0kt\n')).toEqual([
      'Write km, kilometres',
      'Write NM, nautical miles',
      'Write mi, statute miles',
    ]);
  });

  test('coordinates get the letters of the places near by', () => {
    expect(offered('use "club.taskplan"\n\nturnpoint Mill at $047.25 19.52\n  elevation 140 m\n')[0]).toBe(
      '* Write “47.25 N 19.52 E”',
    );
    expect(offered('turnpoint Mill at 19.52 $0E 47.25 N\n  elevation 140 m\n')).toEqual(['* Write “47.25 N 19.52 E”']);
    expect(offered("turnpoint Mill at $047°12.19' 019°26.46'E\n  elevation 140 m\n")).toEqual([
      "Write “47°12.19'N 019°26.46'E”",
      "Write “47°12.19'S 019°26.46'E”",
    ]);
  });
});

describe('values out of sense', () => {
  test.each([
    ['runway $018/35 900 m', ['Write “18/36”', 'Write “17/35”']],
    ['runway $009L/27L 900 m', ['Write “09L/27R”', 'Write “09R/27L”']],
    ['runway 18/36 900 m circuit $0leftt', ['* Write “left”']],
  ])('%s', (line, all) => {
    expect(offered(`field A at 47.25 N 19.52 E\n  elevation 140 m\n  ${line}\n`)).toEqual(all);
  });

  test('a sign before a coordinate is one of two letters', () => {
    expect(offered('turnpoint Mill at $0-47.25 N 19.52 E\n  elevation 140 m\n')).toEqual([
      'Write “47.25 N”',
      'Write “47.25 S”',
    ]);
  });

  test('a climb that leads down goes', () => {
    const text = task('start     Larkfield at 5200 ft MSL', 'climb     to $05000 ft MSL', 'finish    Ashmoor');
    expect(planAfter(text, 'Take the climb out')).toBe(task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor'));
  });

  test('two that stand in the wrong order are swapped, a second wind goes', () => {
    expect(written('weather A\n  thermals 16:45Z to $011:30Z\n', 'Write the earlier time first')).toBe(
      '  thermals 11:30Z to 16:45Z',
    );
    const winds = 'weather A\n  wind surface from 230° at 8 kt\n  wind $0surface from 240° at 9 kt';
    expect(planAfter(winds, 'Take this wind out')).toBe('weather A\n  wind surface from 230° at 8 kt');
  });
});

describe('words and names', () => {
  test('the column is kept where there is room', () => {
    expect(
      written('field A at 47.25 N 19.52 E\n  elevation 140 m\n  $0runwy     18/36 900 m\n', 'Write “runway”'),
    ).toBe('  runway    18/36 900 m');
    expect(written(task('start     Larkfield at 5200 ft MSL', '$0finsh     Ashmoor'), 'Write “finish”')).toBe(
      '  finish    Ashmoor',
    );
    expect(written('$0feild A at 47.25 N 19.52 E\n  elevation 140 m\n', 'Write “field”')).toBe(
      'field A at 47.25 N 19.52 E',
    );
  });

  test('quotes', () => {
    expect(
      written(
        task('start     Larkfield at 5200 ft MSL', 'turn      Corran $0Dam at 60 kt', 'finish    Ashmoor'),
        'Put the name in quotes: "Corran Dam"',
      ),
    ).toBe('  turn      "Corran Dam" at 60 kt');
    expect(written('weather A\n  note "soft$0\n', 'Close the quotes at the end of the line')).toBe('  note "soft"');
    expect(
      written('field A at 47.25 N 19.52 E\n  elevation 140 m\n  note $0soft in rain\n', 'Put the text in quotes'),
    ).toBe('  note "soft in rain"');
    expect(written('turnpoint $02nd at 47.25 N 19.52 E\n  elevation 140 m\n', 'Put the name in quotes: "2nd"')).toBe(
      'turnpoint "2nd" at 47.25 N 19.52 E',
    );
  });

  test('what nobody sees goes, and a space of another kind becomes a plain one where it is no prose', () => {
    const title = 'Take out what nobody sees';
    expect(written('turnpoint "$0Withy\u00a0Brid\u200bge" at 47.25 N 19.52 E\n  elevation 140 m\n', title)).toBe(
      'turnpoint "Withy Bridge" at 47.25 N 19.52 E',
    );
    expect(written('turnpoint A at 47.25 N 19.52 E\n  elevation 140 m\n  note "$05\u00a0km\u0007"\n', title)).toBe(
      '  note "5\u00a0km"',
    );
    expect(written('# $05\u00a0km\u0007\nturnpoint A at 47.25 N 19.52 E\n  elevation 140 m\n', title)).toBe(
      '# 5\u00a0km',
    );
  });

  test('lines in the wrong column', () => {
    expect(written('field A at 47.25 N 19.52 E\n  elevation 140 m\n$0runway 18/36 900 m\n', 'Indent the line')).toBe(
      '  runway 18/36 900 m',
    );
    expect(
      written(
        'field A at 47.25 N 19.52 E\n  elevation 140 m\n  $0turnpoint B at 47.3 N 19.5 E\n',
        'Begin “turnpoint” in the first column',
      ),
    ).toBe('turnpoint B at 47.3 N 19.5 E');
    expect(
      written(
        'turnpoint A at 47.25 N 19.52 E\n  elevation 140 m\n  radius 500 m $0wide\n',
        'Make the rest of the line a remark',
      ),
    ).toBe('  radius 500 m # wide');
  });

  test('the nearest name, or the file that defines it', () => {
    const far =
      '//- plan.taskplan\nuse "club.taskplan"\n\nlimits A\n  within 5 NM of $0Millstone\n//- far/places.taskplan\nturnpoint Millstone at 47.2 N 19.5 E\n  elevation 100 m\n';
    expect(offered(far)).toEqual(['* Use places.taskplan, which defines Millstone']);
    expect(written(far, 'Use places.taskplan, which defines Millstone')).toContain('use "far/places.taskplan"');
    // A file that uses this one would make a circle.
    expect(offered(`${far}\nuse "../plan.taskplan"\n`).join()).not.toContain('Use places');
  });

  test('what nothing resembles is defined, to be filled in', () => {
    const text = '# Mine.\nuse "club.taskplan"\n\n# The way out.\nlimits A\n  within 5 NM of $0Zebra\n';
    expect(offered(text)).toEqual(['Define the field or turnpoint Zebra, to be filled in']);
    expect(planAfter(text, 'Define the field or turnpoint Zebra, to be filled in')).toBe(
      '# Mine.\nuse "club.taskplan"\n\nturnpoint Zebra at 47.2031 N 19.4410 E  # fill in\n  elevation 200 m  # fill in\n\n# The way out.\nlimits A\n  within 5 NM of Zebra\n',
    );
    for (const line of ['aircraft  $0Zebra', 'weather   $0Zebra', 'reserve   $0Zebra', 'limits    $0Zebra']) {
      const plan = task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor').replace(
        new RegExp(`${line.split(' ')[0]} .*`),
        () => line,
      );
      const own = plan.includes('$0') ? plan : plan.replace('  reserve', `  ${line}\n  reserve`);
      expect(offered(own)).toContainEqual(expect.stringMatching(/^Define the \w+ Zebra, to be filled in$/));
    }
  });
});

describe('details and entries', () => {
  test('what is missing is put where it belongs', () => {
    expect(
      planAfter('field $0Lark at 47.25 N 19.52 E\n  runway    18/36 900 m\n', 'Add what is missing, to be filled in'),
    ).toBe('field Lark at 47.25 N 19.52 E\n  elevation 200 m  # fill in\n  runway    18/36 900 m\n');
    expect(offered('aircraft $0Lark\n  vno 80 kt\n')).toEqual([
      'Add what is missing with points of the polar, to be filled in (8 lines)',
      'Add what is missing with the figures of the handbook, to be filled in (7 lines)',
    ]);
    // Figures that fit each other: nothing is found in what is filled in.
    for (const way of ['points of the polar, to be filled in (8', 'the figures of the handbook, to be filled in (7']) {
      const filled = planAfter('aircraft $0Lark\n  vno 80 kt\n', `Add what is missing with ${way} lines)`);
      const { workspace, understood } = marked(`$0${filled}`);
      expect(findingsIn(workspace, understood).map(({ code }) => code)).not.toContain('polar-poor-fit');
    }
    expect(
      planAfter(
        'use "club.taskplan"\n\ntask $0Short\n  climb to 5000 ft MSL\n',
        'Add what is missing, to be filled in (4 lines)',
      ),
    ).toBe(
      'use "club.taskplan"\n\ntask Short\n  aircraft Finch  # fill in\n  reserve Training  # fill in\n  start Larkfield at 3000 ft MSL  # fill in\n  climb to 5000 ft MSL\n  finish Larkfield  # fill in\n',
    );
  });

  test('a second line goes; when it says the same, without a look', () => {
    const text = (second: string) => `field A at 47.25 N 19.52 E\n  elevation 190 m\n  $0elevation ${second}\n`;
    expect(offered(text('210 m'))).toEqual([
      '* Take this line out: the first one counts',
      'Take the first one out, and let this one count',
    ]);
    expect(offered(text('190 m'))).toEqual(['* Take this line out: the first one counts']);
    expect(titles(text('190 m'), ['source.fixAll'])).toEqual(['Mend the slip with one reading']);
    expect(titles(text('210 m'), ['source.fixAll'])).toEqual([]);
  });

  test('what nothing needs goes with its remarks', () => {
    const text = `use "club.taskplan"\n\n# Kept.\n\n# For bad days.\nreserve $0Careful\n  arrive 1500 ft AGL\n  # more?\n\n# The task.\n${task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor').slice('use "club.taskplan"\n\n'.length)}`;
    const now = planAfter(text, 'Take the reserve Careful out');
    expect(now.startsWith('use "club.taskplan"\n\n# Kept.\n\n# The task.\ntask Eastward\n')).toBe(true);
    const use =
      '//- plan.taskplan\n# Mine.\nuse "$0other.taskplan"\nuse "club.taskplan"\n\ntask A\n  reserve Training\n//- other.taskplan\nweather B\n  qnh 1013 hPa\n';
    expect(planAfter(use, 'No longer use “other.taskplan”').startsWith('# Mine.\nuse "club.taskplan"\n\ntask A')).toBe(
      true,
    );
  });

  test('two that say the same are one', () => {
    const one = 'field A at 47.25 N 19.52 E\n  elevation 140 m\n';
    expect(
      planAfter(
        `${one}\n${one.replace('A', '$0A').replace('140 m', '140 m  # yes')}`,
        'Take this A out: the other says the same',
      ),
    ).toBe(one);
  });

  test('of two `units` what counts is one', () => {
    const text = 'units\n  altitude ft\n\n# Metric.\n$0units\n  altitude m\n  distance km\n\nuse "club.taskplan"\n';
    expect(offered(text)).toEqual(['* Put what counts into the first `units`']);
    expect(planAfter(text, 'Put what counts into the first `units`')).toBe(
      'units\n  altitude ft\n  distance km\n\nuse "club.taskplan"\n',
    );
    const same = 'units\n  altitude ft\n$0units\n  altitude ft\n';
    expect(planAfter(same, 'Take this `units` out: the first counts')).toBe('units\n  altitude ft\n');
    expect(titles(same, ['source.fixAll'])).toEqual(['Mend the slip with one reading']);
    expect(titles(text, ['source.fixAll'])).toEqual([]);
  });

  test('the itinerary in its order', () => {
    const before = task('finish    Ashmoor', 'start     Larkfield at 5200 ft MSL');
    expect(planAfter(before.replace('finish', '$0finish'), 'Move the finish to the end')).toBe(
      task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor'),
    );
    const behind = task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor', '$0climb     to 5600 ft MSL');
    expect(planAfter(behind, 'Move the line before the finish')).toBe(
      task('start     Larkfield at 5200 ft MSL', 'climb     to 5600 ft MSL', 'finish    Ashmoor'),
    );
  });
});

describe('files', () => {
  test('paths as they are written', () => {
    expect(
      offered(
        '//- plan.taskplan\nuse "$0club\\fields.taskplan"\n//- club/fields.taskplan\nreserve A\n  arrive 1000 ft AGL\n',
      ),
    ).toEqual(['* Write “club/fields.taskplan”']);
    expect(
      offered(
        '//- plan.taskplan\nuse "$0/home/me/club/feilds.taskplan"\n//- club/fields.taskplan\nreserve A\n  arrive 1000 ft AGL\n',
      )[0],
    ).toBe('* Write “club/fields.taskplan”');
    expect(offered('use "$0club"\n')[0]).toBe('* Write “club.taskplan”');
    expect(offered('use "$0plan.taskplan"\n')).toEqual(['* Take the line out']);
  });

  test('a file that is missing can be made', () => {
    const plan = marked('use "$0days.taskplan"\n');
    const make = actionsAt(plan, ['quickfix']).find(({ title }) => title === 'Create days.taskplan');
    expect(make?.edit).toEqual({
      documentChanges: [{ kind: 'create', uri: 'file:///plans/days.taskplan', options: { ignoreIfExists: true } }],
    });
  });
});

describe('what is assumed is written', () => {
  test('standard air', () => {
    const text = `weather Own\n  wind        surface from 270° at 5 kt\n\n${task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor').replace('Breezy', '$0Own')}`;
    const [title] = offered(text);
    expect(title).toBe('* Write what is assumed: qnh 1013.25 hPa, temperature 15 °C at 0 m MSL');
    expect(
      planAfter(text, (title as string).slice(2)).startsWith(
        'weather Own\n  qnh         1013.25 hPa\n  temperature 15 °C at 0 m MSL\n  wind        surface from 270° at 5 kt\n',
      ),
    ).toBe(true);
  });

  test('the share of the polar, in the file of the reserve', () => {
    const text = `//- plan.taskplan\n${task('start     Larkfield at 5200 ft MSL', 'finish    Ashmoor').replace('use "', 'use "own.taskplan"\nuse "').replace('Training', '$0Bare')}//- own.taskplan\nreserve Bare\n  arrive 1000 ft AGL\n  turn 1500 ft AGL\n`;
    expect(
      planAfter(text, 'Plan on 70 % of the polar with Bare in own.taskplan', ['quickfix'], 0, 'own.taskplan'),
    ).toBe('reserve Bare\n  arrive 1000 ft AGL\n  turn 1500 ft AGL\n  performance 70 %\n');
  });
});

describe('hours and limits', () => {
  const evening = (takeoff: string) => `weather Evening
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        6000 ft MSL from 250° at 12 kt
  lift        3 kt to 5800 ft MSL
  thermals    11:00Z to 16:45Z

limits Solo
  land 60 min before sunset
  reserve at least Training

reserve Bold
  arrive 600 ft AGL

${task(`takeoff   ${takeoff}`, 'limits    Solo', 'start     Larkfield at 5200 ft MSL', 'climb     to 5600 ft MSL', 'finish    Ashmoor').replace('Breezy', 'Evening')}`;

  test.each([
    ['10:00Z', '$0climb', /^\* Take off at 11:00Z$/],
    ['12:30+02:00', '$0climb', /^\* Take off at 13:00\+02:00$/],
    ['16:50Z', '$0climb', /^\* Take off at 16:[0-4][05]Z$/],
    ['19:00Z', '$0finish', /^\* Take off at 17:[0-5][05]Z$/],
    ['17:50Z', '$0finish', /^\* Take off at 17:[0-5][05]Z$/],
  ])('%s', (takeoff, at, title) => {
    expect(offered(evening(takeoff).replace(`  ${at.slice(2)} `, () => `  ${at} `))).toContainEqual(
      expect.stringMatching(title),
    );
  });

  test('of several late climbs the last one decides, and where no hour has them all, none is offered', () => {
    const two = (takeoff: string, ends: string) =>
      offered(
        evening(takeoff)
          .replace('thermals    11:00Z to 16:45Z', () => `thermals    11:00Z to ${ends}`)
          .replace('  finish  ', '  turn      Ashmoor\n  climb     to 5600 ft MSL\n  finish  ')
          .replace('  climb ', '  $0climb '),
      ).filter((title) => title.includes('Take off'));
    expect(two('16:50Z', '16:45Z')).toEqual(['* Take off at 16:20Z']);
    expect(two('11:10Z', '11:12Z')).toEqual([]);
  });

  test('before sunrise: by the hour of the afternoon, or after it', () => {
    const early = (takeoff: string) =>
      offered(task(`$0takeoff   ${takeoff}`, 'start     Larkfield at 5200 ft MSL', 'finish    Ashmoor'));
    expect(early('02:30Z')).toEqual(['Take off at 14:30Z', 'Take off at 02:50Z']);
    expect(early('02:30+00:30')).toEqual(['Take off at 14:30+00:30', 'Take off at 03:20+00:30']);
    // The next day's, by that clock.
    expect(early('23:30Z')).toEqual([]);
  });

  test('the reserve that the limits ask', () => {
    const bold = evening('12:00Z').replace('reserve   Training', () => 'reserve   $0Bold');
    expect(offered(bold)).toContain('* Keep the reserve Training');
  });
});

test('line ends are those of the file', () => {
  const text = 'field $0A at 47.25 N 19.52 E\r\n  runway    18/36 900 m\r\n';
  expect(planAfter(text, 'Add what is missing, to be filled in')).toBe(
    'field A at 47.25 N 19.52 E\r\n  elevation 200 m  # fill in\r\n  runway    18/36 900 m\r\n',
  );
  const last = 'weather A\r\n  wind surface from 230° at 8 kt\r\n  wind $0surface from 240° at 9 kt';
  expect(planAfter(last, 'Take this wind out')).toBe('weather A\r\n  wind surface from 230° at 8 kt');
});

test('the finding stands with its fix', () => {
  const [action] = actionsAt(marked('weather Calm\n  qnh $01016\n'), ['quickfix']);
  expect(action?.diagnostics).toEqual([
    expect.objectContaining({ code: 'unit-missing', source: 'legwise', severity: 1 }),
  ]);
  expect(action?.diagnostics?.[0]).not.toHaveProperty('codeDescription');
  expect(titles('weather Calm\n  qnh $01016\n', ['refactor'])).toEqual([]);
  expect(titles('weather $0Calm\n  qnh 1016\n', ['quickfix'])).toEqual([]);
});

test.each([
  ['"use "', 'Plan for the weather “use ”'],
  ['"St."', 'Plan for the weather “St.”'],
  ['"North wind"', 'Plan for the weather North wind'],
])('a space or a full stop at the end of a name is seen in a title: %s', (name, title) => {
  const plan = task('start     Larkfield at 5000 ft MSL', 'finish    Ashmoor')
    .replace('  weather   Breezy\n', '')
    .replace('Eastward', '$0Eastward');
  const text = `weather ${name}\n  qnh 1013 hPa\n  temperature 15 °C at 190 m MSL\n  wind surface from 230° at 8 kt\n\n${plan}`;
  expect(offered(text).map((one) => one.replace('* ', ''))).toContain(title);
});

test('the longer a plan and its legs, the less often it is looked at for one request', () => {
  const looks = (place: string, more = '') => {
    const { workspace, understood } = marked(
      `use "club.taskplan"\n\nfield Away at ${place}\n  elevation 130 m\n${more}\ntask Out\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft MSL\n  turn     Away\n  finish   Larkfield\n`,
    );
    return mostLooks(fixContext(workspace, understood, true, {}));
  };
  const near = looks('47.2031 N 22.5000 E');
  expect(near).toBeGreaterThan(3000);
  // A leg of 230 km counts as one of none, two of 420 km as 19,000 characters, two of 1,000 km as 112,000.
  expect(looks('47.2031 N 19.5000 E')).toBe(near);
  expect(looks('47.2031 N 25.0000 E')).toBe(51);
  expect(looks('47.2031 N 32.6500 E')).toBe(8);
  expect(looks('47.1000 N 62.3000 E')).toBe(4);
  expect(looks('47.2031 N 19.5000 E', '# nothing\n'.repeat(10_000))).toBe(9);
  expect(looks('47.1000 S 160.0000 W')).toBe(4);
});
