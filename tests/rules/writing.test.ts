/** The messages of the rules on writing, one case a branch, as an editor shows them. */
import { expect, test } from 'vitest';
import { entryForm } from '../../grammar/vocabulary.ts';
import type { Unreadable } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { OTHER_WORDS } from '../../server/rules/detail-words.ts';
import { checked, type Files, findingsOf, rendered } from './helper.ts';

/** The codes of these rules and the two beside them: what the flight has to say is tested elsewhere. */
const WRITING: ReadonlySet<string> = new Set([
  'syntax',
  'entry-unknown',
  'detail-unknown',
  'detail-outside-entry',
  'not-indented',
  'name-is-keyword',
  'name-deceives',
  'number-unclear',
  'unit-missing',
  'unit-wrong-kind',
  'unit-unknown',
  'datum-missing',
  'datum-wrong',
  'coordinates-incomplete',
  'zone-missing',
  'value-out-of-sense',
  'detail-missing',
  'detail-repeated',
  'itinerary-order',
  'file-missing',
  'file-unreadable',
  'use-outside',
  'use-cycle',
  'unknown-name',
  'defined-twice',
  'never-used',
  'not-text',
]);

const DATES = [
  '30.11.2026',
  '30. 11. 2026 # a Monday',
  '30/11/2026',
  '11/30/2026',
  '5/6/2026',
  '5-5-2026',
  '2026/6/13',
  '2026.06.13',
  '20260613',
  '30 Nov 2026',
  '30-Nov-2026',
  '1st of May 2026',
  '3rd May 2026',
  'November 30, 2026',
  'Sept 3 2026',
  '31/2/2026',
  '30/11/26',
  '30 Nvm 2026',
  '30.11-2026',
  '1/2/3',
  'tomorrow',
];

const CLUB: Files = { 'club.taskplan': EXAMPLE_CLUB };

const shown = (text: string, files: Files = CLUB) => findingsOf(text, files, WRITING);

/** A task among the club's entries, whose lines are these after its weather and reserve. */
const task = (...lines: string[]) =>
  shown(
    [
      'use "club.taskplan"',
      'task Short',
      ...['aircraft Finch', 'weather Calm', 'reserve Training', ...lines].map((line) => `  ${line}`),
    ].join('\n'),
  );

/** An entry with its details. */
const entry = (head: string, ...details: string[]) => shown([head, ...details.map((line) => `  ${line}`)].join('\n'));

const found = (head: string, ...details: string[]) =>
  entry(head, ...details)
    .split('\n')
    .map((line) => line.trim())
    .join('\n');

const START = 'start Larkfield at 5200 ft MSL';
const FINISH = 'finish Ashmoor';

test('the club and a task in it raise nothing', () => {
  expect(task(START, FINISH)).toBe('');
  expect(shown(EXAMPLE_CLUB)).toBe('');
});

test('syntax: what was expected where the line ends', () => {
  expect(task(START, 'turn "Withy Bridge" at', FINISH)).toMatchInlineSnapshot(`
    "  turn "Withy Bridge" at
                          ^^ syntax a speed such as 75 kt, \`best glide\` or \`maccready 3 kt\` was expected behind \`at\`, but the line ends."
  `);
  expect(task('start Larkfield', FINISH)).toMatchInlineSnapshot(`
    "  start Larkfield
            ^^^^^^^^^ syntax \`at\` was expected behind \`Larkfield\`, but the line ends."
  `);
  expect(entry('airspace Glen', 'floor 1000 ft AGL', 'ceiling FL65', 'edge')).toMatchInlineSnapshot(`
    "  edge
      ^^^^ syntax coordinates, such as 47.2031 N 19.4410 E, were expected behind \`edge\`, but the line ends."
  `);
  expect(entry('use')).toMatchInlineSnapshot(`
    "use
    ^^^ syntax a path in quotes, such as "club/fields.taskplan", was expected behind \`use\`, but the line ends."
  `);
});

test('syntax: what was expected and what stands there', () => {
  expect(task('start Larkfield 3200 ft MSL', FINISH)).toMatchInlineSnapshot(`
    "  start Larkfield 3200 ft MSL
                      ^^^^ syntax \`at\` was expected, but \`3200\` stands here. Write \`start Larkfield at 3200 ft MSL\`."
  `);
  expect(task(START, 'climb at 4800 ft MSL', FINISH)).toMatchInlineSnapshot(`
    "  climb at 4800 ft MSL
            ^^ syntax \`to\` was expected, but \`at\` stands here."
  `);
  expect(task(START, 'finish Ashmoor at macready 3 kt')).toMatchInlineSnapshot(`
    "  finish Ashmoor at macready 3 kt
                        ^^^^^^^^^^^^^ syntax \`macready 3 kt\` is a MacCready setting, which is written in full. Write \`maccready 3 kt\`."
  `);
  expect(task(START, 'finish Ashmoor at best glid')).toMatchInlineSnapshot(`
    "  finish Ashmoor at best glid
                             ^^^^ syntax \`glide\` was expected, but \`glid\` stands here. Did you mean \`glide\`?"
  `);
  expect(task(START, 'turn at 75 kt', FINISH)).toMatchInlineSnapshot(`
    "  turn at 75 kt
           ^^ syntax the name of a field or turnpoint was expected, but \`at\` stands here. If that is the name, write it in quotes: \`"at"\`."
  `);
  expect(entry('turnpoint 2ndBridge at 47.25 N 19.52 E', 'elevation 140 m')).toMatchInlineSnapshot(`
    "turnpoint 2ndBridge at 47.25 N 19.52 E
              ^ syntax a name was expected, but \`2\` stands here. A name that starts with a digit stands in quotes: \`"2ndBridge"\`."
  `);
  expect(entry('use club/fields.taskplan')).toMatchInlineSnapshot(`
    "use club/fields.taskplan
        ^^^^^^^^^^^ syntax a path in quotes, such as "club/fields.taskplan", was expected, but \`club/fields\` stands here. Put the text in quotes: \`"club/fields.taskplan"\`."
  `);
  expect(entry('use club "fields.taskplan"')).toMatchInlineSnapshot(`
    "use club "fields.taskplan"
        ^^^^ syntax a path in quotes, such as "club/fields.taskplan", was expected, but \`club\` stands here."
  `);
  expect(entry('weather Calm', 'date 13.6.2026')).toMatchInlineSnapshot(`
    "  date 13.6.2026
           ^^^^^^^^^ syntax \`13.6.2026\` is a date written in another way. Write \`2026-06-13\`."
  `);
  expect(entry('field Mill at "47.2 N"', 'elevation 3 m')).toMatchInlineSnapshot(`
    "field Mill at "47.2 N"
                  ^^^^^^^^ syntax coordinates, such as 47.2031 N 19.4410 E, were expected, but \`"47.2 N"\` stands here."
  `);
});

test('syntax: a name of several words', () => {
  expect(task(START, 'turn Withy Bridge', FINISH)).toMatchInlineSnapshot(`
    "  turn Withy Bridge
                 ^^^^^^ syntax \`Bridge\` does not belong to the name before it: a name of several words stands in quotes. Write \`"Withy Bridge"\`."
  `);
  expect(task(START, 'turn Withy Bridge at 60 kt', FINISH)).toMatchInlineSnapshot(`
    "  turn Withy Bridge at 60 kt
                 ^^^^^^ syntax \`Bridge\` does not belong to the name before it: a name of several words stands in quotes. Write \`"Withy Bridge"\`."
  `);
  expect(entry('turnpoint Old Mill at 47.25 N 19.52 E', 'elevation 140 m')).toMatchInlineSnapshot(`
    "turnpoint Old Mill at 47.25 N 19.52 E
                  ^^^^ syntax \`Mill\` does not belong to the name before it: a name of several words stands in quotes. Write \`"Old Mill"\`."
  `);
  expect(entry('weather Calm Day')).toMatchInlineSnapshot(`
    "weather Calm Day
                 ^^^ syntax \`Day\` does not belong to the name before it: a name of several words stands in quotes. Write \`"Calm Day"\`."
  `);
});

test('detail-unknown: a use', () => {
  expect(entry('use "a.taskplan"', 'note "x"')).toContain('`note` is no detail of a `use`.');
  expect(entry('obstacle Mast at 47.25 N 19.52 E', 'vne 120 kt', 'top 1320 ft MSL')).toContain('of an `obstacle`.');
});

test('syntax: a name that needs quotes for what is in it', () => {
  expect(entry("field O'Brien at 47.25 N 19.52 E", 'elevation 140 m')).toMatchInlineSnapshot(`
    "field O'Brien at 47.25 N 19.52 E
          ^^^^^^^ syntax \`O'Brien\` is no name without quotes: it has more in it than letters, digits, \`-\` and \`_\`. Write \`"O'Brien"\`."
  `);
  expect(task(START, 'turn O’Brien Field at 60 kt', FINISH)).toMatchInlineSnapshot(`
    "  turn O’Brien Field at 60 kt
           ^^^^^^^^^^^^^ syntax \`O’Brien Field\` is no name without quotes: it has more in it than letters, digits, \`-\` and \`_\`. Write \`"O’Brien Field"\`."
  `);
  for (const name of ['St.Mary', 'St. Mary', 'a.b', 'Oak&Ash', 'A+B'])
    expect(entry(`turnpoint ${name} at 47.25 N 19.52 E`, 'elevation 140 m')).toContain(`Write \`"${name}"\`.`);
  for (const name of ['-b', 'FL65', 'Nord/Süd', '(old)'])
    expect(entry(`turnpoint ${name} at 47.25 N 19.52 E`, 'elevation 140 m')).toContain(
      `If that is the name, write it in quotes: \`"${name}"\`.`,
    );
  expect(entry("turnpoint 'Old Mill' at 47.25 N 19.52 E", 'elevation 140 m')).toContain(
    'A name stands in quotes of this kind: `"Old Mill"`.',
  );
  for (const line of [
    '= at 47.25 N 19.52 E',
    'Mill, 47.25 N 19.52 E',
    'Mill: 47.25 N 19.52 E',
    'Mill. at 47.25 N 19.52 E',
  ])
    expect(entry(`turnpoint ${line}`, 'elevation 140 m')).not.toContain('quotes');
  expect(entry("use 'x.taskplan'")).toContain('Put the text in quotes: `"x.taskplan"`.');
});

test('syntax: parts in another order, and without their words', () => {
  expect(task(START, 'climb to 5400 ft MSL after 8 NM  at 3 kt', FINISH)).toMatchInlineSnapshot(`
    "  climb to 5400 ft MSL after 8 NM  at 3 kt
                                       ^^^^^^^ syntax \`at 3 kt\` belongs before \`after 8 NM\`. Write \`climb to 5400 ft MSL at 3 kt after 8 NM\`."
  `);
  expect(task(START, 'climb to 5400 ft MSL after 8 NM at noon', FINISH)).toContain('`at noon` is too much');
  expect(task(START, 'climb to 5400 ft MSL 3 kt', FINISH)).toContain('Write `at 3 kt`.');
  expect(task(START, 'climb to 5400 ft MSL 8 NM', FINISH)).toContain('Write `after 8 NM`.');
  expect(task(START, 'turn "Withy Bridge" best glide', FINISH)).toContain('Write `at best glide`.');
  expect(task(START, 'turn "Withy Bridge" quick', FINISH)).toContain('stands where only');
  const runway = (rest: string) =>
    entry('field Mill at 47.25 N 19.52 E', 'elevation 3 m', `runway 18/36 900 m ${rest}`);
  expect(runway('grass')).toMatchInlineSnapshot(`
    "  runway 18/36 900 m grass
                         ^^^^^ syntax \`grass\` stands without the word before it. Write \`surface grass\`."
  `);
  expect(runway('left')).toContain('`left` stands without the word before it. Write `circuit left`.');
  expect(runway('surface grass left')).toContain('Write `circuit left`.');
  expect(runway('x 30 m')).toContain('`x 30 m` stands where only `surface` or `circuit` may follow.');
  expect(entry('aircraft Finch', 'best glide 32 at 49 kt')).toContain('but `32` stands here. Write `32:1`.');
  expect(entry('aircraft Finch', 'best glide 32 : 1 at 49 kt')).toContain('but `32 : 1` stands here. Write `32:1`.');
  expect(entry('weather Calm', 'wind surface from 230°T at 8 kt')).toContain(
    '`230°T` needs no letter: directions are true, unless `°M` says magnetic. Write `230°`.',
  );
});

test('syntax: what is too much', () => {
  expect(task(START, 'turn "Withy Bridge" 60 kt', FINISH)).toMatchInlineSnapshot(`
    "  turn "Withy Bridge" 60 kt
                          ^^^^^ syntax \`60 kt\` stands without the word before it. Write \`at 60 kt\`."
  `);
  expect(task(START, 'climb to 5400 ft MSL for 3 kt', FINISH)).toMatchInlineSnapshot(`
    "  climb to 5400 ft MSL for 3 kt
                           ^^^^^^^^ syntax \`for 3 kt\` stands where only \`at\` and a rate of climb or sink such as 3 kt or \`after\` and a distance such as 8 NM may follow."
  `);
  expect(task(START, 'finish Ashmoor at 75 kt !')).toMatchInlineSnapshot(`
    "  finish Ashmoor at 75 kt !
                              ^ syntax \`!\` is too much: the line is complete before it. Take it out, or put \`#\` before it if it is a remark."
  `);
  expect(shown('task Short\naircraft Finch with pilot 82 kg\n', {})).toMatchInlineSnapshot(`
    "task Short
         ^^^^^ detail-missing Short has no \`aircraft\`, no \`reserve\`, no \`start\` and no \`finish\`. Add lines such as \`aircraft Finch\`, \`reserve Training\`, \`start Larkfield at 3200 ft MSL\` and \`finish Larkfield\`.
    aircraft Finch with pilot 82 kg
             ^^^^^ detail-missing Finch has no polar, no \`polar mass\`, no \`empty mass\`, no \`maximum mass\`, no \`vs\` and no \`vne\`. Add lines such as \`polar mass 300 kg\`, \`empty mass 215 kg\`, \`maximum mass 340 kg\`, \`vs 36 kt\` and \`vne 120 kt\`; and three or more points such as \`polar 60 kt sink 1.95 kt\`, or \`best glide\` and \`minimum sink\` from the handbook.
                   ^^^^^^^^^^^^^^^^ syntax \`with pilot 82 kg\` is too much: the first line of an entry ends before it. If the line is a detail of the entry above, indent it."
  `);
  expect(
    entry('reserve Training', 'arrive 1000 ft AGL above all the fields of the club and its neighbours'),
  ).toMatchInlineSnapshot(`
    "  arrive 1000 ft AGL above all the fields of the club and its neighbours
                         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ syntax \`above all the fields of the club and it…\` is too much: the line is complete before it. Take it out, or put \`#\` before it if it is a remark."
  `);
});

test('syntax: text without an end, told once', () => {
  expect(entry('reserve Training', 'arrive 1000 ft AGL', 'note "For solo pilots')).toMatchInlineSnapshot(`
    "  note "For solo pilots
           ^^^^^^^^^^^^^^^^ syntax \`"For solo pilots\` has no quotation mark at its end: write \`"\` where the text ends."
  `);
  expect(entry('use "club.taskpl')).toMatchInlineSnapshot(`
    "use "club.taskpl
        ^^^^^^^^^^^^ syntax \`"club.taskpl\` has no quotation mark at its end: write \`"\` where the text ends."
  `);
  expect(entry('reserve "', 'arrive 1000 ft AGL')).toMatchInlineSnapshot(`
    "reserve "
            ^ syntax \`"\` has no quotation mark at its end: write \`"\` where the text ends."
  `);
});

test('syntax: a value that is told to be wrong is told once', () => {
  expect(entry('field Mill at 47.25', 'elevation 140 m')).toMatchInlineSnapshot(`
    "field Mill at 47.25
                  ^^^^^ coordinates-incomplete the latitude needs N or S behind it. Write both, such as \`47.2031 N 19.4410 E\`."
  `);
  expect(entry('field Mill at 47.25 N', 'elevation 140 m')).toMatchInlineSnapshot(`
    "field Mill at 47.25 N
                  ^^^^^^^ coordinates-incomplete the longitude is missing. Write both, such as \`47.2031 N 19.4410 E\`."
  `);
  expect(entry('field Mill at 47.25 N and more', 'elevation 140 m')).toMatchInlineSnapshot(`
    "field Mill at 47.25 N and more
                  ^^^^^^^ coordinates-incomplete the longitude is missing. Write both, such as \`47.2031 N 19.4410 E\`."
  `);
  expect(entry('weather Calm', 'lift 3')).toMatchInlineSnapshot(`
    "  lift 3
           ^ unit-missing 3 has no unit: a rate of climb or sink is wanted here. Write 3 kt, 3 m/s or 3 ft/min."
  `);
  expect(entry('limits Near', 'distance 12 sm')).toContain('`sm` is no unit. Did you mean `NM` or `mi`?');
  expect(task(START, 'finish Ashmoor at 50 sm')).toContain('`sm` is no unit. For a speed, write');
  for (const [share, meant] of [
    ['0.7', '70 % or 0.7 %'],
    ['1', '100 % or 1 %'],
    ['0.07', '7 % or 0.07 %'],
    ['70', '70 %'],
    ['60.5', '60.5 %'],
  ])
    expect(entry('reserve Safe', 'arrive 1000 ft AGL', `performance ${share}`)).toContain(
      `${share} has no unit: a share is wanted here. Write ${meant}.`,
    );
});

test('unit-missing: a share or a glide ratio', () => {
  for (const number of ['20', '60', '1.5'])
    expect(entry('reserve Safe', 'arrive 1000 ft AGL', `performance ${number}`)).toContain(
      `${number} has no unit: a share or a glide ratio is wanted here. Write ${number} % or ${number}:1.`,
    );
});

test('unit-missing and zone-missing: a value in pieces is one finding, and the whole of it', () => {
  expect(
    found('reserve Safe', 'arrive 1 000 ft AGL', 'turn 1’500 ft AGL', 'performance 30 : 1'),
  ).toMatchInlineSnapshot(`
    "arrive 1 000 ft AGL
    ^^^^^ unit-missing \`1 000\` is a number in two pieces. Write 1000, or 1.000 if that is meant.
    turn 1’500 ft AGL
    ^^^^^ unit-missing \`1’500\` is a number in two pieces. Write 1500.
    performance 30 : 1
    ^^^^^^ unit-missing \`30 : 1\` belongs in one piece. Write \`30:1\`."
  `);
  expect(
    found(
      'field Mill at 47.25 N 19.52 E',
      'elevation 1 000 ft MSL',
      'frequency 122 905 MHz',
      'runway 18-36 900 m',
      'runway 09L – 27R 900 m',
      'runway 18-36',
    ),
  ).toMatchInlineSnapshot(`
    "elevation 1 000 ft MSL
    ^^^^^ unit-missing \`1 000\` is a number in two pieces. Write 1000, or 1.000 if that is meant.
    frequency 122 905 MHz
    ^^^^^^^ unit-missing \`122 905\` is a number in two pieces. Write 122.905.
    runway 18-36 900 m
    ^^^^^ unit-missing \`18-36\` names the ends of a runway, which have a stroke between them. Write \`18/36\`.
    runway 09L – 27R 900 m
    ^^^^^^^^^ syntax \`09L – 27R\` names the ends of a runway, which have a stroke between them. Write \`09L/27R\`.
    runway 18-36
    ^^^^^ unit-missing \`18-36\` names the ends of a runway, which have a stroke between them. Write \`18/36\`."
  `);
  expect(
    found('weather Calm', 'qnh 29.92 in', 'wind surface from 230 014 kt', 'thermals 11:30 Z to 4:45 PM'),
  ).toMatchInlineSnapshot(`
    "qnh 29.92 in
    ^^^^^^^^ unit-missing \`in\` is no unit of pressure. Write \`29.92 inHg\`, inches of mercury.
    wind surface from 230 014 kt
    ^^^^^^^^^^ unit-missing \`230 014 kt\` is a direction and a speed without the word between them. Write \`230° at 14 kt\`.
    thermals 11:30 Z to 4:45 PM
    ^^^^^^^ zone-missing \`11:30 Z\` belongs in one piece. Write \`11:30Z\`."
  `);
  expect(task('takeoff 12:00 Z', START, FINISH)).toContain(
    '^^^^^^^ zone-missing `12:00 Z` belongs in one piece. Write `12:00Z`.',
  );
  expect(task('takeoff 12:00 gmt', START, FINISH)).toContain(
    '`12:00 gmt` says UTC in letters, which is a `Z` here. Write `12:00Z`.',
  );
  expect(task('takeoff 12:00 +2', START, FINISH)).toContain('Write `12:00+02:00`.');
  expect(found('limits Solo', 'duration 3 30 min')).toContain(
    '3 has no unit: a duration is wanted here. Write 3 h or 3 min.',
  );
});

test('a time in other signs, a word too much and another word for one of the language are told how they are written', () => {
  expect(
    found(
      'weather Calm',
      'thermals 1130Z to 1645Z',
      'thermals 930 to 16:45Z',
      'thermals 11.30+02:00 to 16:45+02:00',
      'thermals 2530Z to 16:45Z',
      'thermals 11:30Z until 16:45Z',
      'thermals 11:30Z – 16:45Z',
      'thermals from 11:30Z to 16:45Z',
      'lift 3 kt up to 6000 ft MSL',
      'lift 3 kt up 6000 ft MSL',
      'wind surface to 230° at 8 kt',
      'wind at surface from 230° at 8 kt',
    ),
  ).toMatchInlineSnapshot(`
    "thermals 1130Z to 1645Z
    ^^^^^ syntax \`1130Z\` is a time without its colon. Write \`11:30Z\`.
    thermals 930 to 16:45Z
    ^^^^^^^^ detail-repeated \`thermals\` stands here again, and only the first one counts: \`thermals 1130Z to 1645Z\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^ syntax \`930\` is a time without its colon and its zone. Write \`09:30Z\` for UTC, or the local clock with its lead on UTC, such as \`09:30+02:00\`.
    thermals 11.30+02:00 to 16:45+02:00
    ^^^^^^^^ detail-repeated \`thermals\` stands here again, and only the first one counts: \`thermals 1130Z to 1645Z\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^^^^^^^^ syntax \`11.30+02:00\` is a time without its colon. Write \`11:30+02:00\`.
    thermals 2530Z to 16:45Z
    ^^^^^^^^ detail-repeated \`thermals\` stands here again, and only the first one counts: \`thermals 1130Z to 1645Z\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^ syntax a time with its zone, such as 14:30Z or 14:30+02:00, was expected, but \`2530\` stands here.
    thermals 11:30Z until 16:45Z
    ^^^^^^^^ detail-repeated \`thermals\` stands here again, and only the first one counts: \`thermals 1130Z to 1645Z\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^^ syntax \`to\` was expected, but \`until\` stands here. Write \`to\`.
    thermals 11:30Z – 16:45Z
    ^^^^^^^^ detail-repeated \`thermals\` stands here again, and only the first one counts: \`thermals 1130Z to 1645Z\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^ syntax \`to\` was expected, but \`–\` stands here.
    thermals from 11:30Z to 16:45Z
    ^^^^^^^^ detail-repeated \`thermals\` stands here again, and only the first one counts: \`thermals 1130Z to 1645Z\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^ syntax \`from\` is a word too much here. Write \`thermals 11:30Z to 16:45Z\`.
    lift 3 kt up to 6000 ft MSL
    ^^ syntax \`up\` is a word too much here. Write \`lift 3 kt to 6000 ft MSL\`.
    lift 3 kt up 6000 ft MSL
    ^^^^ detail-repeated \`lift\` stands here again, and only the first one counts: \`lift 3 kt up to 6000 ft MSL\`. Take one of them out.
    plan.taskplan:9 the first is written here
    ^^ syntax \`to\` was expected, but \`up\` stands here.
    wind surface to 230° at 8 kt
    ^^ syntax \`from\` was expected, but \`to\` stands here.
    wind at surface from 230° at 8 kt
    ^^ syntax \`at\` is a word too much here. Write \`wind surface from 230° at 8 kt\`."
  `);
  expect(found('airspace Ridge', 'floor GND', 'ceiling unlimited')).toMatchInlineSnapshot(`
    "floor GND
    ^^^ syntax a height with its datum, such as 3200 ft MSL, 1000 ft AGL or FL65, was expected, but \`GND\` stands here. Write \`0 ft AGL\`.
    ceiling unlimited
    ^^^^^^^^^ syntax a height with its datum, such as 3200 ft MSL, 1000 ft AGL or FL65, was expected, but \`unlimited\` stands here."
  `);
  expect(found('limits Solo', 'duration 3:30', 'duration 3:75', 'within 12 NM from Larkfield')).toMatchInlineSnapshot(`
    "duration 3:30
    ^^^^ syntax a duration, such as 45 min, was expected, but \`3:30\` stands here. If hours and minutes are meant, write \`3 h 30 min\`.
    duration 3:75
    ^^^^^^^^ detail-repeated \`duration\` stands here again, and only the first one counts: \`duration 3:30\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^ syntax a duration, such as 45 min, was expected, but \`3:75\` stands here.
    within 12 NM from Larkfield
    ^^^^ syntax \`of\` was expected, but \`from\` stands here. Write \`of\`."
  `);
  expect(found('reserve Home', 'arrive at 300 m AGL')).toMatchInlineSnapshot(`
    "arrive at 300 m AGL
    ^^ syntax \`at\` is a word too much here. Write \`arrive 300 m AGL\`."
  `);
  expect(found('aircraft Wren', 'empty weight 225 kg', 'pilot from 55 kg to 110 kg')).toMatchInlineSnapshot(`
    "aircraft Wren
    ^^^^ detail-missing Wren has no polar, no \`polar mass\`, no \`maximum mass\`, no \`vs\` and no \`vne\`. Add lines such as \`polar mass 300 kg\`, \`maximum mass 340 kg\`, \`vs 36 kt\` and \`vne 120 kt\`; and three or more points such as \`polar 60 kt sink 1.95 kt\`, or \`best glide\` and \`minimum sink\` from the handbook.
    empty weight 225 kg
    ^^^^^^ syntax \`mass\` was expected, but \`weight\` stands here. Write \`mass\`.
    pilot from 55 kg to 110 kg
    ^^^^ syntax \`from\` is a word too much here. Write \`pilot 55 kg to 110 kg\`."
  `);
  expect(task('start at Larkfield at 5200 ft MSL', FINISH)).toMatchInlineSnapshot(`
    "  start at Larkfield at 5200 ft MSL
            ^^ syntax \`at\` is a word too much here. Write \`start Larkfield at 5200 ft MSL\`."
  `);
});

test('a dash between two times is told to be the word', () => {
  expect(found('weather Calm', 'thermals 11:30-16:45')).toContain(
    '11:30-16:45 lies in no time zone. Between two times write `to`, and each with its zone, such as `11:30Z to 16:45Z`.',
  );
  expect(task('takeoff 11:30-16:45', START, FINISH)).not.toContain('Between two times');
});

test('unit-missing: a height is offered with what it may be counted from', () => {
  expect(found('weather Calm', 'cloudbase 6500')).toContain('Write 6500 m MSL or 6500 ft MSL.');
  expect(found('reserve Training', 'arrive 1000')).toContain('Write 1000 m AGL or 1000 ft AGL.');
  expect(found('weather Calm', 'cloudbase 6500 MSL')).toContain('Write 6500 m MSL or 6500 ft MSL.');
  expect(task('start Larkfield at 5200', FINISH)).toContain('Write 5200 m or 5200 ft, with `MSL` or `AGL` behind it.');
});

test('a date, a pressure, a setting and no cloud as they are written elsewhere are told how they are written here', () => {
  expect(DATES.map((date) => found('weather Calm', `date ${date}`)).join('\n')).toMatchInlineSnapshot(`
    "date 30.11.2026
    ^^^^^^^^^^ syntax \`30.11.2026\` is a date written in another way. Write \`2026-11-30\`.
    date 30. 11. 2026 # a Monday
    ^^^^^^^^^^^^ syntax \`30. 11. 2026\` is a date written in another way. Write \`2026-11-30\`.
    date 30/11/2026
    ^^^^^^^^^^ syntax \`30/11/2026\` is a date written in another way. Write \`2026-11-30\`.
    date 11/30/2026
    ^^^^^^^^^^ syntax \`11/30/2026\` is a date written in another way. Write \`2026-11-30\`.
    date 5/6/2026
    ^^^^^^^^ syntax \`5/6/2026\` is \`2026-06-05\` where the day stands first, and \`2026-05-06\` where the month does. Write the one that is meant.
    date 5-5-2026
    ^^^^^^^^ syntax \`5-5-2026\` is a date written in another way. Write \`2026-05-05\`.
    date 2026/6/13
    ^^^^^^^^^ syntax \`2026/6/13\` is a date written in another way. Write \`2026-06-13\`.
    date 2026.06.13
    ^^^^^^^^^^ syntax \`2026.06.13\` is a date written in another way. Write \`2026-06-13\`.
    date 20260613
    ^^^^^^^^ syntax \`20260613\` is a date written in another way. Write \`2026-06-13\`.
    date 30 Nov 2026
    ^^^^^^^^^^^ syntax \`30 Nov 2026\` is a date written in another way. Write \`2026-11-30\`.
    date 30-Nov-2026
    ^^^^^^^^^^^ syntax \`30-Nov-2026\` is a date written in another way. Write \`2026-11-30\`.
    date 1st of May 2026
    ^ syntax a date, such as 2026-06-13, was expected, but \`1\` stands here.
    date 3rd May 2026
    ^^^^^^^^^^^^ syntax \`3rd May 2026\` is a date written in another way. Write \`2026-05-03\`.
    date November 30, 2026
    ^^^^^^^^^^^^^^^^^ syntax \`November 30, 2026\` is a date written in another way. Write \`2026-11-30\`.
    date Sept 3 2026
    ^^^^^^^^^^^ syntax \`Sept 3 2026\` is a date written in another way. Write \`2026-09-03\`.
    date 31/2/2026
    ^^^^ syntax a date, such as 2026-06-13, was expected, but \`31/2\` stands here.
    date 30/11/26
    ^^^^^ syntax a date, such as 2026-06-13, was expected, but \`30/11\` stands here.
    date 30 Nvm 2026
    ^^ syntax a date, such as 2026-06-13, was expected, but \`30\` stands here.
    date 30.11-2026
    ^^^^^ syntax a date, such as 2026-06-13, was expected, but \`30.11\` stands here.
    date 1/2/3
    ^^^ syntax a date, such as 2026-06-13, was expected, but \`1/2\` stands here.
    date tomorrow
    ^^^^^^^^ syntax a date, such as 2026-06-13, was expected, but \`tomorrow\` stands here."
  `);
  expect(
    ['Q1018', 'QNH 1018', 'Q0998 # at noon', 'A2992', 'Q18', 'A29', 'Q1018X', 'Q5000']
      .map((qnh) => found('weather Calm', `qnh ${qnh}`))
      .join('\n'),
  ).toMatchInlineSnapshot(`
    "qnh Q1018
    ^^^^^ syntax a pressure, such as 1018 hPa, was expected, but \`Q1018\` stands here. Write \`1018 hPa\`.
    qnh QNH 1018
    ^^^^^^^^ syntax a pressure, such as 1018 hPa, was expected, but \`QNH 1018\` stands here. Write \`1018 hPa\`.
    qnh Q0998 # at noon
    ^^^^^ syntax a pressure, such as 1018 hPa, was expected, but \`Q0998\` stands here. Write \`998 hPa\`.
    qnh A2992
    ^^^^^ syntax a pressure, such as 1018 hPa, was expected, but \`A2992\` stands here. Write \`29.92 inHg\`.
    qnh Q18
    ^^^ syntax a pressure, such as 1018 hPa, was expected, but \`Q18\` stands here.
    qnh A29
    ^^^ syntax a pressure, such as 1018 hPa, was expected, but \`A29\` stands here.
    qnh Q1018X
    ^^^^^^ syntax a pressure, such as 1018 hPa, was expected, but \`Q1018X\` stands here.
    qnh Q5000
    ^^^^^ syntax a pressure, such as 1018 hPa, was expected, but \`Q5000\` stands here."
  `);
  expect(
    ['none', 'unlimited', 'CAVOK', 'high'].map((height) => found('weather Calm', `cloudbase ${height}`)).join('\n'),
  ).toMatchInlineSnapshot(`
    "cloudbase none
    ^^^^ syntax \`none\` is no height. Without a \`cloudbase\` no cloud limits a climb: take the line out.
    cloudbase unlimited
    ^^^^^^^^^ syntax \`unlimited\` is no height. Without a \`cloudbase\` no cloud limits a climb: take the line out.
    cloudbase CAVOK
    ^^^^^ syntax \`CAVOK\` is no height. Without a \`cloudbase\` no cloud limits a climb: take the line out.
    cloudbase high
    ^^^^ syntax a height with its datum, such as 3200 ft MSL, 1000 ft AGL or FL65, was expected, but \`high\` stands here."
  `);
  expect(found('weather Calm', 'ceiling 5000 ft MSL')).toContain('Did you mean `cloudbase`?');
  expect(
    ['9Z', '09+02:00', '9', '25Z', '9 Z'].map((clock) => task(`takeoff ${clock}`, START, FINISH)).join('\n'),
  ).toMatchInlineSnapshot(`
    "  takeoff 9Z
              ^^ syntax \`9Z\` is a time without its minutes. Write \`09:00Z\`.
      takeoff 09+02:00
              ^^^^^^^^ syntax \`09+02:00\` is a time without its minutes. Write \`09:00+02:00\`.
      takeoff 9
              ^ syntax a time with its zone, such as 14:30Z or 14:30+02:00, was expected, but \`9\` stands here.
      takeoff 25Z
              ^^ syntax a time with its zone, such as 14:30Z or 14:30+02:00, was expected, but \`25\` stands here.
      takeoff 9 Z
              ^ syntax a time with its zone, such as 14:30Z or 14:30+02:00, was expected, but \`9\` stands here."
  `);
  expect(
    [
      'at MC 3 kt',
      'at mc2',
      'at McCready 1.5 m/s',
      'MC 3 kt',
      'at MC',
      'at MC 3 ft',
      'at MC 3 kt 4',
      'at MC 99 kt',
      'MC',
    ]
      .map((speed) => task(START, `turn Ashmoor ${speed}`, FINISH))
      .join('\n'),
  ).toMatchInlineSnapshot(`
    "  turn Ashmoor at MC 3 kt
                      ^^^^^^^ syntax \`MC 3 kt\` is a MacCready setting, which is written in full. Write \`maccready 3 kt\`.
      turn Ashmoor at mc2
                      ^^^ syntax \`mc2\` is a MacCready setting, which is written in full and has a unit. Write \`maccready 2 kt\`, \`maccready 2 m/s\` or \`maccready 2 ft/min\`.
      turn Ashmoor at McCready 1.5 m/s
                      ^^^^^^^^^^^^^^^^ syntax \`McCready 1.5 m/s\` is a MacCready setting, which is written in full. Write \`maccready 1.5 m/s\`.
      turn Ashmoor MC 3 kt
                   ^^^^^^^ syntax \`MC 3 kt\` is a MacCready setting, which is written in full. Write \`at maccready 3 kt\`.
      turn Ashmoor at MC
                      ^^ syntax a speed such as 75 kt, \`best glide\` or \`maccready 3 kt\` was expected, but \`MC\` stands here.
      turn Ashmoor at MC 3 ft
                      ^^ syntax a speed such as 75 kt, \`best glide\` or \`maccready 3 kt\` was expected, but \`MC\` stands here.
      turn Ashmoor at MC 3 kt 4
                      ^^ syntax a speed such as 75 kt, \`best glide\` or \`maccready 3 kt\` was expected, but \`MC\` stands here.
      turn Ashmoor at MC 99 kt
                      ^^ syntax a speed such as 75 kt, \`best glide\` or \`maccready 3 kt\` was expected, but \`MC\` stands here.
      turn Ashmoor MC
                   ^^ syntax \`MC\` does not belong to the name before it: a name of several words stands in quotes. Write \`"Ashmoor MC"\`."
  `);
  expect(task('mc 3 kt', START, FINISH)).toContain('A MacCready setting stands behind the point of a leg');
  expect(found('aircraft Wren', 'vs 34 KIAS', 'vne 130 KTAS')).toMatchInlineSnapshot(`
    "aircraft Wren
    ^^^^ detail-missing Wren has no polar, no \`polar mass\`, no \`empty mass\` and no \`maximum mass\`. Add lines such as \`polar mass 300 kg\`, \`empty mass 215 kg\` and \`maximum mass 340 kg\`; and three or more points such as \`polar 60 kt sink 1.95 kt\`, or \`best glide\` and \`minimum sink\` from the handbook.
    vs 34 KIAS
    ^^^^ unit-unknown \`KIAS\` is no unit. Did you mean \`kt\`?
    vne 130 KTAS
    ^^^^ unit-unknown \`KTAS\` is no unit. For a speed, write \`kt\`, \`km/h\`, \`mph\` or \`m/s\`."
  `);
});

test('a layer of a weather report is no altitude', () => {
  const layers = ['BKN040', 'few035CU', 'VV002', 'OVC015TCU # low', 'BKN040 OVC080', 'BKN04'];
  expect(found('weather Calm', ...layers.map((layer) => `cloudbase ${layer}`))).toMatchInlineSnapshot(`
    "cloudbase BKN040
    ^^^^^^ syntax \`BKN040\` is a layer 4000 ft above the aerodrome of the report, and this line is counted from the sea. Add the elevation of that aerodrome, and write the sum with \`ft MSL\` behind it.
    cloudbase few035CU
    ^^^^^^^^^ detail-repeated \`cloudbase\` stands here again, and only the first one counts: \`cloudbase BKN040\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^^^^^ syntax \`few035CU\` is a layer 3500 ft above the aerodrome of the report, and this line is counted from the sea. Add the elevation of that aerodrome, and write the sum with \`ft MSL\` behind it.
    cloudbase VV002
    ^^^^^^^^^ detail-repeated \`cloudbase\` stands here again, and only the first one counts: \`cloudbase BKN040\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^^ syntax \`VV002\` is a layer 200 ft above the aerodrome of the report, and this line is counted from the sea. Add the elevation of that aerodrome, and write the sum with \`ft MSL\` behind it.
    cloudbase OVC015TCU # low
    ^^^^^^^^^ detail-repeated \`cloudbase\` stands here again, and only the first one counts: \`cloudbase BKN040\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^^^^^^ syntax \`OVC015TCU\` is a layer 1500 ft above the aerodrome of the report, and this line is counted from the sea. Add the elevation of that aerodrome, and write the sum with \`ft MSL\` behind it.
    cloudbase BKN040 OVC080
    ^^^^^^^^^ detail-repeated \`cloudbase\` stands here again, and only the first one counts: \`cloudbase BKN040\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^^^ syntax \`BKN040\` is a layer 4000 ft above the aerodrome of the report, and this line is counted from the sea. Add the elevation of that aerodrome, and write the sum with \`ft MSL\` behind it.
    cloudbase BKN04
    ^^^^^^^^^ detail-repeated \`cloudbase\` stands here again, and only the first one counts: \`cloudbase BKN040\`. Take one of them out.
    plan.taskplan:2 the first is written here
    ^^^^^ syntax a height with its datum, such as 3200 ft MSL, 1000 ft AGL or FL65, was expected, but \`BKN04\` stands here."
  `);
});

test('a speed says nothing of its kind, and a speed to fly needs its climb', () => {
  expect(
    found(
      'aircraft Wren',
      'polar 60 kt IAS sink 1.95 kt',
      'polar 75 kt TAS sink 2.7 kt # true',
      'best glide 32:1 at 49 kt ias # yes',
      'vs 34 kt CAS',
      'va 90 kt true',
      'vno 90 kt IAS smooth',
      'vne 250 km/h indicated',
      'crosswind 15 kt IAS',
    ),
  ).toMatchInlineSnapshot(`
    "aircraft Wren
    ^^^^ detail-missing Wren has no \`polar mass\`, no \`empty mass\` and no \`maximum mass\`. Add lines such as \`polar mass 300 kg\`, \`empty mass 215 kg\` and \`maximum mass 340 kg\`.
    polar 60 kt IAS sink 1.95 kt
    ^^^ syntax \`IAS\` is too much: the speeds of an aircraft and of a leg are indicated. Write \`polar 60 kt sink 1.95 kt\`.
    polar 75 kt TAS sink 2.7 kt # true
    ^^^ syntax \`TAS\` is not the speed that stands here: the line wants the indicated one, as the airspeed indicator shows it. Write that, without a word behind it.
    best glide 32:1 at 49 kt ias # yes
    ^^^ syntax \`ias\` is too much: the speeds of an aircraft and of a leg are indicated. Write \`best glide 32:1 at 49 kt\`.
    vs 34 kt CAS
    ^^^ syntax \`CAS\` is not the speed that stands here: the line wants the indicated one, as the airspeed indicator shows it. Write that, without a word behind it.
    va 90 kt true
    ^^^^ syntax \`true\` is not the speed that stands here: the line wants the indicated one, as the airspeed indicator shows it. Write that, without a word behind it.
    vno 90 kt IAS smooth
    ^^^^^^^^^^ syntax \`IAS smooth\` is too much: the line is complete before it. Take it out, or put \`#\` before it if it is a remark.
    vne 250 km/h indicated
    ^^^^^^^^^ syntax \`indicated\` is too much: the speeds of an aircraft and of a leg are indicated. Write \`vne 250 km/h\`.
    crosswind 15 kt IAS
    ^^^ syntax \`IAS\` is too much: the line is complete before it. Take it out, or put \`#\` before it if it is a remark."
  `);
  expect(
    task(
      START,
      'turn Ashmoor at 75 kt  KIAS',
      'turn Ashmoor at 75 kt TAS',
      'turn Ashmoor at speed to fly',
      'turn Ashmoor at speed-to-fly # by the ring',
      'turn Ashmoor stf',
      'turn Ashmoor at maccready',
      'turn Ashmoor at maccready TAS',
      'turn "speed to fly"',
      'climb to 4800 ft MSL true',
      'at speed to fly',
      FINISH,
    ),
  ).toMatchInlineSnapshot(`
    "  turn Ashmoor at 75 kt  KIAS
                             ^^^^ syntax \`KIAS\` is too much: the speeds of an aircraft and of a leg are indicated. Write \`turn Ashmoor at 75 kt\`.
      turn Ashmoor at 75 kt TAS
                            ^^^ syntax \`TAS\` is not the speed that stands here: the line wants the indicated one, as the airspeed indicator shows it. Write that, without a word behind it.
      turn Ashmoor at speed to fly
                      ^^^^^^^^^^^^ syntax \`speed to fly\` follows from the climb that is expected, and none is named. Write that climb behind \`maccready\`, such as \`at maccready 3 kt\`.
      turn Ashmoor at speed-to-fly # by the ring
                      ^^^^^^^^^^^^ syntax \`speed-to-fly\` follows from the climb that is expected, and none is named. Write that climb behind \`maccready\`, such as \`at maccready 3 kt\`.
      turn Ashmoor stf
                   ^^^ syntax \`stf\` follows from the climb that is expected, and none is named. Write that climb behind \`maccready\`, such as \`at maccready 3 kt\`.
      turn Ashmoor at maccready
                      ^^^^^^^^^ syntax \`maccready\` follows from the climb that is expected, and none is named. Write that climb behind \`maccready\`, such as \`at maccready 3 kt\`.
      turn Ashmoor at maccready TAS
                                ^^^ syntax the expected climb, such as 3 kt, was expected, but \`TAS\` stands here.
      turn "speed to fly"
           ^^^^^^^^^^^^^^ unknown-name no field or turnpoint is called \`speed to fly\` here. Define it, or \`use\` the file that does.
      climb to 4800 ft MSL true
                           ^^^^ syntax \`true\` stands where only \`at\` and a rate of climb or sink such as 3 kt or \`after\` and a distance such as 8 NM may follow.
      at speed to fly
      ^^ detail-unknown \`at\` is no detail of a \`task\`. The speed of a leg stands behind its point, such as \`turn Mill at 75 kt\`; without one it is flown at best glide."
  `);
});

test('a word that is left out is put in where the line reads with it', () => {
  expect(
    task(START, 'climb 4800 ft MSL', 'climb   FL55 after 3 NM', 'climb 4800', 'climb 480 000 ft MSL', FINISH),
  ).toMatchInlineSnapshot(`
    "  climb 4800 ft MSL
            ^^^^ syntax \`to\` was expected, but \`4800\` stands here. Write \`climb to 4800 ft MSL\`.
      climb   FL55 after 3 NM
              ^^^^ syntax \`to\` was expected, but \`FL55\` stands here. Write \`climb to FL55 after 3 NM\`.
      climb 4800
            ^^^^ syntax \`to\` was expected, but \`4800\` stands here.
      climb 480 000 ft MSL
            ^^^ syntax \`to\` was expected, but \`480\` stands here."
  `);
  expect(found('aircraft Wren', 'polar 60 kt 1.95 kt', 'pilot 55 kg 110 kg')).toMatchInlineSnapshot(`
    "aircraft Wren
    ^^^^ detail-missing Wren has no \`polar mass\`, no \`empty mass\`, no \`maximum mass\`, no \`vs\` and no \`vne\`. Add lines such as \`polar mass 300 kg\`, \`empty mass 215 kg\`, \`maximum mass 340 kg\`, \`vs 36 kt\` and \`vne 120 kt\`.
    polar 60 kt 1.95 kt
    ^^^^ syntax \`sink\` was expected, but \`1.95\` stands here. Write \`polar 60 kt sink 1.95 kt\`.
    pilot 55 kg 110 kg
    ^^^ syntax \`to\` was expected, but \`110\` stands here. Write \`pilot 55 kg to 110 kg\`."
  `);
});

test('coordinates in a line of their own belong to the first one', () => {
  for (const head of ['field Wold', 'turnpoint Wold', 'obstacle Wold'])
    for (const line of ['at 47.25 N 19.52 E', 'position 47.25 N 19.52 E', 'Lat 47.25 N'])
      expect(found(head, line)).toContain('The coordinates stand in the first line, behind the name:');
  expect(found('aircraft Wold', 'at 47.25 N 19.52 E')).not.toContain('first line');
});

test('a detail by its last word', () => {
  expect(found('aircraft Wren', 'mass 300 kg', 'glide 32:1', 'to 100 kg')).toMatchInlineSnapshot(`
    "aircraft Wren
    ^^^^ detail-missing Wren has no polar, no \`polar mass\`, no \`empty mass\`, no \`maximum mass\`, no \`vs\` and no \`vne\`. Add lines such as \`polar mass 300 kg\`, \`empty mass 215 kg\`, \`maximum mass 340 kg\`, \`vs 36 kt\` and \`vne 120 kt\`; and three or more points such as \`polar 60 kt sink 1.95 kt\`, or \`best glide\` and \`minimum sink\` from the handbook.
    mass 300 kg
    ^^^^ detail-unknown \`mass\` is no detail of an \`aircraft\`. Did you mean \`polar mass\`, \`empty mass\` or \`maximum mass\`?
    glide 32:1
    ^^^^^ detail-unknown \`glide\` is no detail of an \`aircraft\`. Did you mean \`best glide\`?
    to 100 kg
    ^^ detail-unknown \`to\` is no detail of an \`aircraft\`. It has \`polar\`, \`best glide\`, \`minimum sink\`, \`polar mass\`, \`empty mass\`, \`maximum mass\` and others."
  `);
});

test('a wind as it is said is told how it is written', () => {
  expect(
    found(
      'weather Calm',
      'wind 230 15 kt',
      'wind 230/15 kt',
      'wind 3000 ft MSL 250/15',
      'wind 3000 ft MSL 250°/15kt # aloft',
      'wind FL65 25015KT',
      'wind FL95 36008MPS',
      'wind surface from 230@014kt',
      'wind surface 230 014',
      'wind 4000 ft MSL 390/15',
      'wind 5000 ft MSL 250/15 ft',
      'wind surface from 250° at 8 15 kt',
      'wind surface from 250° at 8/15 kt',
      'wind 250° 15 kt at 3000 ft MSL',
      'wind 250° at 15 kt FL65 # aloft',
      'wind 250/15kt 3000FT',
      'wind 250/15kt at 3000 ft AGL',
      'wind 25015KT',
      'wind 25015KT surface',
      'wind 250 at 15',
      'wind 250° at 15 m at 3000 ft MSL',
      'wind 3000 ft MSL from 250 at 15 kt',
      'wind 3000 ft MSL 250/15 at 3000 ft MSL',
      'wind calm',
      'wind 3000 ft MSL calm',
      'wind VRB03KT',
      'wind surface variable 3 kt',
      'wind surface from VRB at 3 kt',
      'wind 250/15kt at 3000 ft AMSL',
      'wind FL65 250/15kt at 3000 ft AGL',
      'wind surface from calm',
    ),
  ).toMatchInlineSnapshot(`
    "wind 230 15 kt
    ^^^^^^^^^ unit-missing \`230 15 kt\` is a wind that does not say at what altitude. Write \`surface from 230° at 15 kt\`, or the altitude in the place of \`surface\`.
    wind 230/15 kt
    ^^^^^^^^^ syntax \`230/15 kt\` is a wind that does not say at what altitude. Write \`surface from 230° at 15 kt\`, or the altitude in the place of \`surface\`.
    wind 3000 ft MSL 250/15
    ^^^^^^ syntax \`250/15\` is a wind without its words. Write \`from 250° at 15 kt\`, \`from 250° at 15 km/h\`, \`from 250° at 15 mph\` or \`from 250° at 15 m/s\`.
    wind 3000 ft MSL 250°/15kt # aloft
    ^^^^^^^^^ syntax \`250°/15kt\` is a wind without its words. Write \`from 250° at 15 kt\`.
    wind FL65 25015KT
    ^^^^^^^ syntax \`25015KT\` is a wind without its words. Write \`from 250° at 15 kt\`.
    wind FL95 36008MPS
    ^^^^^^^^ syntax \`36008MPS\` is a wind without its words. Write \`from 360° at 8 m/s\`.
    wind surface from 230@014kt
    ^^^^^^^^^ unit-missing \`230@014kt\` is a direction and a speed without the word between them. Write \`230° at 14 kt\`.
    wind surface 230 014
    ^^^ syntax \`from\` was expected, but \`230\` stands here.
    wind 4000 ft MSL 390/15
    ^^^^^^ syntax \`from\` was expected, but \`390/15\` stands here.
    wind 5000 ft MSL 250/15 ft
    ^^^^^^ syntax \`from\` was expected, but \`250/15\` stands here.
    wind surface from 250° at 8 15 kt
    ^ unit-missing 8 has no unit: a speed is wanted here. Write 8 kt, 8 km/h, 8 mph or 8 m/s.
    ^^^^^ syntax \`15 kt\` stands where only \`±\` and how far it may differ such as 4 kt may follow.
    wind surface from 250° at 8/15 kt
    ^^^^ syntax a wind speed, such as 14 kt, was expected, but \`8/15\` stands here.
    wind 250° 15 kt at 3000 ft MSL
    ^^^^^^^^^^^^^^^^^^^^^^^^^ unit-wrong-kind \`250° 15 kt at 3000 ft MSL\` is a wind with its altitude behind it, which comes first. Write \`3000 ft MSL from 250° at 15 kt\`.
    wind 250° at 15 kt FL65 # aloft
    ^^^^^^^^^^^^^^^^^^ unit-wrong-kind \`250° at 15 kt FL65\` is a wind with its altitude behind it, which comes first. Write \`FL65 from 250° at 15 kt\`.
    wind 250/15kt 3000FT
    ^^^^^^^^^^^^^^^ unit-missing \`250/15kt 3000FT\` is a wind with its altitude behind it, which comes first. Write \`3000 ft MSL from 250° at 15 kt\` (\`MSL\`: above the sea, on the altimeter set to QNH).
    wind 250/15kt at 3000 ft AGL
    ^^^^^^^^^^^^^^^^^^^^^^^ unit-missing \`250/15kt at 3000 ft AGL\` is a wind with its altitude behind it, which comes first, and \`AGL\` has no ground to be counted from: the line names no place. Write the altitude in \`MSL\`, and behind it \`from 250° at 15 kt\`.
    wind 25015KT
    ^^^^^^^ unit-wrong-kind \`25015KT\` is a wind that does not say at what altitude. Write \`surface from 250° at 15 kt\`, or the altitude in the place of \`surface\`.
    wind 25015KT surface
    ^^^^^^^^^^^^^^^ unit-wrong-kind \`25015KT surface\` is a wind with its altitude behind it, which comes first. Write \`surface from 250° at 15 kt\`.
    wind 250 at 15
    ^^^^^^^^^ unit-missing \`250 at 15\` is a wind that does not say at what altitude. Write \`surface from 250° at 15 kt\`, \`surface from 250° at 15 km/h\`, \`surface from 250° at 15 mph\` or \`surface from 250° at 15 m/s\`, or the altitude in the place of \`surface\`.
    wind 250° at 15 m at 3000 ft MSL
    ^ unit-wrong-kind \`°\` (degrees true) measures a direction, and a height is wanted here. Write it in ft or m.
    ^^ syntax \`from\` was expected, but \`at\` stands here.
    wind 3000 ft MSL from 250 at 15 kt
    ^^^ unit-missing 250 has no unit: a direction is wanted here. Write 250° or 250°M.
    wind 3000 ft MSL 250/15 at 3000 ft MSL
    ^^^^^^ syntax \`from\` was expected, but \`250/15\` stands here.
    wind calm
    ^^^^ syntax \`calm\` is a wind of 0 kt. Write \`surface from 0° at 0 kt\`, or the altitude in the place of \`surface\`.
    wind 3000 ft MSL calm
    ^^^^ syntax \`calm\` is a wind of 0 kt. Write \`from 0° at 0 kt\`.
    wind VRB03KT
    ^^^^^^^ syntax \`VRB03KT\` is a wind without a direction, and no leg can be planned in it. Write the direction that is the worst for the glide home, such as \`surface from 230° at 3 kt\`.
    wind surface variable 3 kt
    ^^^^^^^^ syntax \`variable\` is a wind without a direction, and no leg can be planned in it. Write the direction that is the worst for the glide home, such as \`surface from 230° at 3 kt\`.
    wind surface from VRB at 3 kt
    ^^^ syntax \`VRB\` is a wind without a direction, and no leg can be planned in it. Write the direction that is the worst for the glide home, such as \`surface from 230° at 3 kt\`.
    wind 250/15kt at 3000 ft AMSL
    ^^^^^^^^^^^^^^^^^^^^^^^^ unit-missing \`250/15kt at 3000 ft AMSL\` is a wind with its altitude behind it, which comes first. Write \`3000 ft MSL from 250° at 15 kt\`.
    wind FL65 250/15kt at 3000 ft AGL
    ^^^ syntax \`from\` was expected, but \`250\` stands here.
    wind surface from calm
    ^^^^ syntax \`calm\` is a wind of 0 kt. Write \`0° at 0 kt\`."
  `);
});

test('unit-unknown: another measure is not taken for a unit that looks like it', () => {
  expect(entry('weather Calm', 'lift 3 m/min to 5800 ft MSL')).toContain(
    '`m/min` is no unit. For a rate of climb or sink, write `kt`, `m/s` or `ft/min`.',
  );
});

test('entry-unknown', () => {
  expect(entry('fild Mill at 47.25 N 19.52 E', 'elevation 140 m')).toMatchInlineSnapshot(`
    "fild Mill at 47.25 N 19.52 E
    ^^^^ entry-unknown \`fild\` starts no entry. Did you mean \`field\`?"
  `);
  expect(entry('elevtion 140 m')).toMatchInlineSnapshot(`
    "elevtion 140 m
    ^^^^^^^^ entry-unknown \`elevtion\` starts no entry. If you mean \`elevation\`, it is a detail of \`field\` or \`turnpoint\`: indent it below one."
  `);
  expect(entry('aerodrome Mill')).toMatchInlineSnapshot(`
    "aerodrome Mill
    ^^^^^^^^^ entry-unknown \`aerodrome\` starts no entry. A line in the first column starts with a word such as \`field\`, \`aircraft\`, \`weather\` or \`task\`; the details below it are indented."
  `);
  expect(entry('{ "task": 1 }')).toMatchInlineSnapshot(`
    "{ "task": 1 }
    ^ entry-unknown \`{\` starts no entry. A line in the first column starts with a word such as \`field\`, \`aircraft\`, \`weather\` or \`task\`; the details below it are indented."
  `);
});

test('detail-unknown', () => {
  expect(entry('turnpoint Mill at 47.25 N 19.52 E', 'elevation 140 m', 'raduis 500 m')).toMatchInlineSnapshot(`
    "  raduis 500 m
      ^^^^^^ detail-unknown \`raduis\` is no detail of a \`turnpoint\`. Did you mean \`radius\`?"
  `);
  expect(entry('turnpoint Mill at 47.25 N 19.52 E', 'elevation 140 m', 'vne 120 kt')).toMatchInlineSnapshot(`
    "  vne 120 kt
      ^^^ detail-unknown \`vne\` is no detail of a \`turnpoint\`. It belongs to \`aircraft\`: move it there, or take it out."
  `);
  expect(entry('turnpoint Mill at 47.25 N 19.52 E', 'elevation 140 m', 'obstacle Mast')).toMatchInlineSnapshot(`
    "  obstacle Mast
      ^^^^^^^^ detail-unknown \`obstacle\` is no detail of a \`turnpoint\`. \`obstacle\` starts an entry of its own: begin it in the first column."
  `);
  expect(entry('turnpoint Mill at 47.25 N 19.52 E', 'elevation 140 m', 'colour red')).toMatchInlineSnapshot(`
    "  colour red
      ^^^^^^ detail-unknown \`colour\` is no detail of a \`turnpoint\`. It has \`elevation\`, \`radius\` and \`note\`."
  `);
  expect(entry('weather Calm', 'visibility 10 km')).toMatchInlineSnapshot(`
    "  visibility 10 km
      ^^^^^^^^^^ detail-unknown \`visibility\` is no detail of a \`weather\`. It has \`date\`, \`qnh\`, \`temperature\`, \`wind\`, \`lift\`, \`sink\` and others."
  `);
  expect(entry('units', 'temperature °C')).toMatchInlineSnapshot(`
    "  temperature °C
      ^^^^^^^^^^^ detail-unknown \`temperature\` is no detail of \`units\`. It belongs to \`weather\`: move it there, or take it out."
  `);
  expect(entry('terrain "tiles"', 'grid 30 m')).toMatchInlineSnapshot(`
    "  grid 30 m
      ^^^^ detail-unknown \`grid\` is no detail of a \`terrain\`. \`terrain\` is one line and has none: take it out."
  `);
  expect(task('speed 60 kt', START, FINISH)).toContain(
    '`speed` is no detail of a `task`. The speed of a leg stands behind its point, such as `turn Mill at 75 kt`; without one it is flown at best glide.',
  );
  expect(task('pilot 82 kg', START, FINISH)).toContain('such as `aircraft Finch with pilot 82 kg`.');
  expect(entry('weather Calm', 'pressure 1018 hPa')).toContain(
    '`pressure` is no detail of a `weather`. Did you mean `qnh`?',
  );
  expect(entry('aircraft Finch', 'MTOW 340 kg')).toContain('Did you mean `maximum mass`?');
  expect(entry('obstacle Mast at 47.25 N 19.52 E', 'height 100 m')).toContain('It has `top`, `radius` and `note`.');
  expect(task('glider Finch', START, FINISH)).toContain('Did you mean `aircraft`?');
  expect(task('constructor 1', START, FINISH)).toContain('`constructor` is no detail of a `task`. It has');
  expect(entry('aircraft Finch', 'speed 60 kt')).toContain('It belongs to `units`');
});

test('detail-outside-entry: one finding, however many lines', () => {
  expect(shown('  elevation 140 m\n')).toMatchInlineSnapshot(`
    "  elevation 140 m
      ^^^^^^^^^^^^^^^ detail-outside-entry \`elevation\` stands under no entry: write the line above that it belongs to, such as \`task "Three Bridges"\`, from the first column on."
  `);
  expect(shown('# Places\n  elevation 140 m\n  note "x"\n')).toMatchInlineSnapshot(`
    "  elevation 140 m
      ^^^^^^^^^^^^^^^ detail-outside-entry \`elevation\` and the line below it stand under no entry: write the line above that they belong to, such as \`task "Three Bridges"\`, from the first column on."
  `);
  expect(shown('  polar 60 kt\n  vs 36 kt\n  vne 120 kt\nunits\n')).toMatchInlineSnapshot(`
    "  polar 60 kt
      ^^^^^^^^^^^ detail-outside-entry \`polar\` and the 2 lines below it stand under no entry: write the line above that they belong to, such as \`task "Three Bridges"\`, from the first column on."
  `);
});

test('not-indented', () => {
  expect(shown('field Mill at 47.25 N 19.52 E\nelevation 140 m\n')).toMatchInlineSnapshot(`
    "elevation 140 m
    ^^^^^^^^^ not-indented \`elevation\` is a detail of the \`field\` above: indent it by two spaces."
  `);
});

test('name-is-keyword', () => {
  expect(entry('turnpoint Glide at 47.25 N 19.52 E', 'elevation 140 m')).toMatchInlineSnapshot(`
    "turnpoint Glide at 47.25 N 19.52 E
              ^^^^^ name-is-keyword \`Glide\` is a word of the language: as a name it stands in quotes. Write \`"Glide"\`."
  `);
  expect(entry('turnpoint at at 47.25 N 19.52 E', 'elevation 140 m')).toMatchInlineSnapshot(`
    "turnpoint at at 47.25 N 19.52 E
              ^^ syntax a name was expected, but \`at\` stands here. If that is the name, write it in quotes: \`"at"\`."
  `);
});

test('number-unclear', () => {
  expect(entry('reserve Training', 'arrive 1,000 ft AGL')).toMatchInlineSnapshot(`
    "  arrive 1,000 ft AGL
             ^^^^^ number-unclear \`1,000\` has a comma, which one reader takes for thousands and the next for the decimal point. Write 1000, or 1.000 if that is meant."
  `);
  expect(
    entry('airspace Glen', 'floor 1,000.5 ft AGL', 'ceiling FL65', 'circle 47,2 N 19.4 E radius 4 NM'),
  ).toMatchInlineSnapshot(`
    "  floor 1,000.5 ft AGL
            ^^^^^^^ number-unclear \`1,000.5\` has a comma, which one reader takes for thousands and the next for the decimal point. Write 1000.5.
      circle 47,2 N 19.4 E radius 4 NM
             ^^^^ number-unclear \`47,2\` has a comma, which one reader takes for thousands and the next for the decimal point. Write 47.2, with a point."
  `);
  expect(entry('reserve Training', 'arrive 1,2,3 ft AGL')).toMatchInlineSnapshot(`
    "  arrive 1,2,3 ft AGL
             ^^^^^ number-unclear \`1,2,3\` has a comma, which one reader takes for thousands and the next for the decimal point. Write it without commas."
  `);
});

test('unit-wrong-kind', () => {
  expect(entry('reserve Training', 'arrive 1000 kt AGL')).toMatchInlineSnapshot(`
    "  arrive 1000 kt AGL
                  ^^ unit-wrong-kind \`kt\` (knots) measures a speed or a rate of climb or sink, and a height is wanted here. Write it in ft or m."
  `);
  expect(entry('weather Calm', 'sink 2 km/h')).toMatchInlineSnapshot(`
    "  sink 2 km/h
             ^^^^ unit-wrong-kind \`km/h\` (kilometres an hour) measures a speed, and a rate of climb or sink is wanted here. Write it in kt, m/s or ft/min."
  `);
  expect(entry('units', 'altitude km')).toMatchInlineSnapshot(`
    "  altitude km
               ^^ unit-wrong-kind \`km\` is not one of the units to show here. Write \`ft\` or \`m\`."
  `);
});

test('unit-unknown', () => {
  expect(entry('weather Calm', 'sink 200 FPM')).toMatchInlineSnapshot(`
    "  sink 200 FPM
               ^^^ unit-unknown \`FPM\` is no unit. Did you mean \`ft/min\`?"
  `);
  expect(entry('weather Calm', 'sink 2 knots')).toMatchInlineSnapshot(`
    "  sink 2 knots
             ^^^^^ unit-unknown \`knots\` is no unit. Did you mean \`kt\`?"
  `);
  expect(entry('weather Calm', 'sink 2 kts')).toMatchInlineSnapshot(`
    "  sink 2 kts
             ^^^ unit-unknown \`kts\` is no unit. Did you mean \`kt\`?"
  `);
  expect(entry('weather Calm', 'sink 2 bananas')).toMatchInlineSnapshot(`
    "  sink 2 bananas
             ^^^^^^^ unit-unknown \`bananas\` is no unit. For a rate of climb or sink, write \`kt\`, \`m/s\` or \`ft/min\`."
  `);
  expect(entry('reserve Training', 'arrive 1000 spans AGL')).toMatchInlineSnapshot(`
    "  arrive 1000 spans AGL
                  ^^^^^ unit-unknown \`spans\` is no unit. For a height, write \`m\` or \`ft\`."
  `);
  expect(entry('units', 'speed fast')).toMatchInlineSnapshot(`
    "  speed fast
            ^^^^ unit-unknown \`fast\` is no unit. For a speed, write \`kt\`, \`km/h\`, \`mph\` or \`m/s\`."
  `);
});

test('datum-missing: only the readings that the line takes', () => {
  expect(task('start Larkfield at 3200 ft', FINISH)).toMatchInlineSnapshot(`
    "  start Larkfield at 3200 ft
                         ^^^^^^^ datum-missing 3200 ft does not say what it is counted from. Write \`3200 ft MSL\` (above the sea, on the altimeter set to QNH) or \`3200 ft AGL\` (above the ground of the place)."
  `);
  expect(entry('reserve Training', 'arrive 1000 ft')).toMatchInlineSnapshot(`
    "  arrive 1000 ft
             ^^^^^^^ datum-missing 1000 ft does not say what it is counted from. Write \`1000 ft AGL\` (above the ground of the place)."
  `);
  expect(entry('weather Calm', 'cloudbase 6200 ft')).toMatchInlineSnapshot(`
    "  cloudbase 6200 ft
                ^^^^^^^ datum-missing 6200 ft does not say what it is counted from. Write \`6200 ft MSL\` (above the sea, on the altimeter set to QNH)."
  `);
});

test('datum-wrong', () => {
  expect(entry('reserve Training', 'arrive 1000 ft MSL', 'turn FL65', 'clear 500 ft AGL')).toMatchInlineSnapshot(`
    "  arrive 1000 ft MSL
                     ^^^ datum-wrong \`MSL\` is counted from the sea, and this height from the ground. Write \`1000 ft AGL\`.
      turn FL65
           ^^^^ datum-wrong \`FL65\` is counted from the pressure 1013.25 hPa, and this height from the ground. Write one such as \`1000 ft AGL\`.
      clear 500 ft AGL
                   ^^^ datum-wrong \`AGL\` does not belong here: the line asks for a length, which is counted from nothing. Write \`500 ft\`."
  `);
  expect(entry('reserve Training', 'arrive 1000 ft QFE')).toMatchInlineSnapshot(`
    "  arrive 1000 ft QFE
                     ^^^ datum-wrong \`QFE\` is no word for what a height is counted from. Write \`1000 ft AGL\`."
  `);
  expect(entry('weather Calm', 'cloudbase 6200 ft AGL', 'lift 3 kt to 5800 ft AMSL')).toMatchInlineSnapshot(`
    "  cloudbase 6200 ft AGL
                        ^^^ datum-wrong \`AGL\` has no ground to be counted from, since the line names no place. Write a height in \`MSL\`, or a flight level such as \`FL65\`.
      lift 3 kt to 5800 ft AMSL
                           ^^^^ datum-wrong \`AMSL\` is no word for what a height is counted from. Write \`5800 ft MSL\`."
  `);
  expect(entry('field Mill at 47.25 N 19.52 E', 'elevation 140 m AGL')).toMatchInlineSnapshot(`
    "  elevation 140 m AGL
                      ^^^ datum-wrong \`AGL\` does not fit an elevation, which is counted from the sea. Write \`140 m MSL\`, or \`140 m\` alone."
  `);
  expect(entry('field Mill at 47.25 N 19.52 E', 'elevation 140 m AMSL')).toMatchInlineSnapshot(`
    "  elevation 140 m AMSL
                      ^^^^ datum-wrong \`AMSL\` cannot stand behind an elevation. Write \`140 m MSL\`, or \`140 m\` alone."
  `);
  expect(task('start Larkfield at 3200 ft AAL', FINISH)).toMatchInlineSnapshot(`
    "  start Larkfield at 3200 ft AAL
                                 ^^^ datum-wrong \`AAL\` is no word for what a height is counted from. Write \`3200 ft MSL\` (above the sea) or \`3200 ft AGL\` (above the ground of the place)."
  `);
  expect(task(START, 'climb to 5400 ft AGL after 3 NM', FINISH)).toMatchInlineSnapshot(`
    "  climb to 5400 ft AGL after 3 NM
                       ^^^ datum-wrong \`AGL\` has no ground to be counted from, since the line names no place. Write a height in \`MSL\`, or a flight level such as \`FL65\`."
  `);
  expect(task(START, 'finish Ashmoor at 75 kt MSL')).toMatchInlineSnapshot(`
    "  finish Ashmoor at 75 kt MSL
                              ^^^ datum-wrong \`MSL\` does not belong here: only a height is counted from something. Write \`75 kt\`."
  `);
});

test('coordinates-incomplete', () => {
  expect(entry('field Mill at 47.25 19.52', 'elevation 140 m')).toMatchInlineSnapshot(`
    "field Mill at 47.25 19.52
                  ^^^^^ coordinates-incomplete the latitude needs N or S behind it. Write both, such as \`47.2031 N 19.4410 E\`."
  `);
  expect(entry('field Mill at 47.25 N 19.52', 'elevation 140 m')).toMatchInlineSnapshot(`
    "field Mill at 47.25 N 19.52
                          ^^^^^ coordinates-incomplete the longitude needs E or W behind it. Write both, such as \`47.2031 N 19.4410 E\`."
  `);
  expect(entry('field Mill at 19.52 E 47.25 N', 'elevation 140 m')).toMatchInlineSnapshot(`
    "field Mill at 19.52 E 47.25 N
                        ^ coordinates-incomplete the latitude ends in N or S, not E. Write the latitude first and the longitude behind it."
  `);
});

test('zone-missing', () => {
  expect(entry('weather Calm', 'thermals 11:30 to 16:45Z')).toMatchInlineSnapshot(`
    "  thermals 11:30 to 16:45Z
               ^^^^^ zone-missing 11:30 has no zone. Write \`11:30Z\` for UTC, or the local clock with its lead on UTC, such as \`11:30+02:00\`."
  `);
});

test('value-out-of-sense: one value', () => {
  expect(entry('field Mill at 97.25 N 190 E', 'elevation 140 m')).toMatchInlineSnapshot(`
    "field Mill at 97.25 N 190 E
                  ^^^^^^^ value-out-of-sense latitude 97.25 N lies beyond the pole: a latitude is at most 90°."
  `);
  expect(entry('field Mill at 47.25 N 190 E', 'elevation -1400 m')).toMatchInlineSnapshot(`
    "field Mill at 47.25 N 190 E
                          ^^^^^ value-out-of-sense longitude 190 E is more than half way round: a longitude is at most 180°.
      elevation -1400 m
                ^^^^^^^ value-out-of-sense -1400 m lies deeper than any land."
  `);
  expect(
    entry('field Mill at 47.25 N 19 E', 'elevation 14 m', 'runway 37 900 m', 'runway 18/35 0 m circuit lft'),
  ).toMatchInlineSnapshot(`
    "  runway 37 900 m
             ^^ value-out-of-sense 37 is no runway: runways are numbered 01 to 36, a tenth of their magnetic direction.
      runway 18/35 0 m circuit lft
             ^^^^^ value-out-of-sense 18/35 names two ends that do not lie opposite each other: they differ by 18.
                   ^^^ value-out-of-sense 0 m must be more than zero.
                               ^^^ value-out-of-sense \`lft\` is not \`left\` or \`right\`."
  `);
  expect(
    entry('weather Calm', 'date 2026-02-30', 'temperature 95 °C at 190 m MSL', 'thermals 25:00Z to 26:00Z'),
  ).toMatchInlineSnapshot(`
    "  date 2026-02-30
           ^^^^^^^^^^ value-out-of-sense 2026-02-30 is no day of the calendar.
      temperature 95 °C at 190 m MSL
                  ^^^^^ value-out-of-sense 95 °C is hotter than the air gets.
      thermals 25:00Z to 26:00Z
               ^^^^^^ value-out-of-sense 25:00Z is no time of day.
                         ^^^^^^ value-out-of-sense 26:00Z is no time of day."
  `);
  expect(entry('reserve ""', 'arrive 1000 ft AGL', 'performance 140 %')).toMatchInlineSnapshot(`
    "reserve ""
            ^^ value-out-of-sense \`""\` is an empty name.
      performance 140 %
                  ^^^^^ value-out-of-sense 140 % is more than the whole polar."
  `);
});

const FIGURES = ['best glide 32:1 at 49 kt', 'minimum sink 1.3 kt at 41 kt'];
const MASSES = ['polar mass 300 kg', 'empty mass 215 kg', 'maximum mass 340 kg'];

test('value-out-of-sense: masses and speeds of an aircraft', () => {
  expect(
    entry(
      'aircraft Wren',
      ...FIGURES,
      'polar mass 200 kg',
      'empty mass 215 kg',
      'maximum mass 470 lb',
      'vs 36 kt',
      'vne 120 kt',
    ),
  ).toMatchInlineSnapshot(`
    "  empty mass 215 kg
                 ^^^^^^ value-out-of-sense empty mass 215 kg lies above the polar mass of 200 kg and the maximum mass of 470 lb: no pilot could be on board. Correct it.
                   plan.taskplan:4 the polar mass is written here
                   plan.taskplan:6 the maximum mass is written here"
  `);
  expect(
    entry('aircraft Wren', ...FIGURES, ...MASSES, 'pilot 110 kg to 55 kg', 'vs 36 kt', 'vne 120 kt'),
  ).toMatchInlineSnapshot(`
    "  pilot 110 kg to 55 kg
            ^^^^^^^^^^^^^^^ value-out-of-sense 110 kg as the least that the pilot may weigh lies above the most, 55 kg. Write the lower one first."
  `);
  expect(
    entry('aircraft Wren', ...FIGURES, ...MASSES, 'vs 136 kt', 'va 80 kt', 'vno 75 kt', 'vne 120 kt'),
  ).toMatchInlineSnapshot(`
    "  va 80 kt
         ^^^^^ value-out-of-sense va 80 kt does not lie above vs 136 kt: the speeds rise from vs over va and vno to vne. Correct one of the two.
           plan.taskplan:7 the speed vs is written here
      vno 75 kt
          ^^^^^ value-out-of-sense vno 75 kt lies below va 80 kt: the speeds rise from vs over va and vno to vne. Correct one of the two.
            plan.taskplan:8 the speed va is written here"
  `);
  expect(entry('aircraft Wren', ...FIGURES, ...MASSES, 'vs 36 kt', 'vne 36 kt')).toMatchInlineSnapshot(`
    "  vne 36 kt
          ^^^^^ value-out-of-sense vne 36 kt does not lie above vs 36 kt: the speeds rise from vs over va and vno to vne. Correct one of the two.
            plan.taskplan:7 the speed vs is written here"
  `);
  expect(entry('aircraft Wren', ...FIGURES, ...MASSES, 'vs 36 kt', 'va 80 kt', 'vno 80 kt', 'vne 80 kt')).toBe('');
});

test('value-out-of-sense: a maximum mass alone below the empty mass', () => {
  const aircraft = ['polar mass 300 kg', 'empty mass 215 kg', 'maximum mass 200 kg', 'vs 36 kt', 'vne 120 kt'];
  expect(entry('aircraft Wren', ...FIGURES, ...aircraft)).toMatchInlineSnapshot(`
    "  maximum mass 200 kg
                   ^^^^^^ value-out-of-sense maximum mass 200 kg lies below the empty mass of 215 kg: no pilot could be on board. Correct one of the two.
                     plan.taskplan:5 the empty mass is written here"
  `);
});

test('value-out-of-sense: an airspace', () => {
  const circle = 'circle 47.4 N 19.3 E radius 4 NM';
  const corners = ['edge 47.10 N 19.20 E', 'edge 47.10 N 19.30 E'];
  expect(entry('airspace Glen', 'floor FL95', 'ceiling FL65', circle)).toMatchInlineSnapshot(`
    "  ceiling FL65
              ^^^^ value-out-of-sense FL65 as the ceiling does not lie above the floor, FL95: nothing is left between them. Correct one of the two.
                plan.taskplan:2 the floor is written here"
  `);
  expect(entry('airspace Glen', 'floor 1500 m MSL', 'ceiling 4500 ft MSL', circle)).toMatchInlineSnapshot(`
    "  ceiling 4500 ft MSL
              ^^^^^^^^^^^ value-out-of-sense 4500 ft MSL as the ceiling does not lie above the floor, 1500 m MSL: nothing is left between them. Correct one of the two.
                plan.taskplan:2 the floor is written here"
  `);
  expect(entry('airspace Glen', 'floor 4500 ft MSL', 'ceiling FL40', circle)).toBe('');
  expect(entry('airspace Glen', 'floor FL65', 'ceiling FL95', ...corners)).toMatchInlineSnapshot(`
    "  edge 47.10 N 19.20 E
      ^^^^ value-out-of-sense 2 corners enclose nothing: an outline has 3 corners or more. Add \`edge\` lines, or write \`circle\`."
  `);
  expect(entry('airspace Glen', 'floor FL65', 'ceiling FL95', 'edge 47.10 N 19.20 E')).toMatchInlineSnapshot(`
    "  edge 47.10 N 19.20 E
      ^^^^ value-out-of-sense 1 corner encloses nothing: an outline has 3 corners or more. Add \`edge\` lines, or write \`circle\`."
  `);
  expect(entry('airspace Glen', 'floor FL65', 'ceiling FL95', circle, ...corners)).toMatchInlineSnapshot(`
    "  edge 47.10 N 19.20 E
      ^^^^ value-out-of-sense \`edge\` and \`circle\` both draw an outline, and an airspace has one. Take one of them out.
        plan.taskplan:4 the circle is written here"
  `);
  expect(entry('airspace Glen', 'floor FL65', 'ceiling FL95')).toMatchInlineSnapshot(`
    "airspace Glen
             ^^^^ value-out-of-sense Glen has no outline: nobody can tell where it lies. Add a \`circle\`, or three or more \`edge\` lines."
  `);
  expect(
    entry('airspace Glen', 'floor FL65', 'ceiling FL95', 'circel 47.4 N 19.3 E radius 4 NM'),
  ).toMatchInlineSnapshot(`
    "  circel 47.4 N 19.3 E radius 4 NM
      ^^^^^^ detail-unknown \`circel\` is no detail of an \`airspace\`. Did you mean \`circle\`?"
  `);
});

test('value-out-of-sense: a weather', () => {
  expect(
    entry('weather Calm', 'wind surface from 230° at 8 kt', 'wind surface from 240° at 9 kt'),
  ).toMatchInlineSnapshot(`
    "  wind surface from 240° at 9 kt
           ^^^^^^^ value-out-of-sense the wind at the surface is given a second time: the air there can only move in one way. Take one of the lines out.
             plan.taskplan:2 the first is written here"
  `);
  expect(
    entry(
      'weather Calm',
      'wind 3000 ft MSL from 230° at 8 kt',
      'wind FL30 from 240° at 9 kt',
      'wind 3000 ft MSL from 240° at 9 kt',
    ),
  ).toMatchInlineSnapshot(`
    "  wind 3000 ft MSL from 240° at 9 kt
           ^^^^^^^^^^^ value-out-of-sense the wind at 3,000 ft MSL is given a second time: the air there can only move in one way. Take one of the lines out.
             plan.taskplan:2 the first is written here"
  `);
  expect(entry('weather Calm', 'thermals 16:45Z to 11:30Z')).toMatchInlineSnapshot(`
    "  thermals 16:45Z to 11:30Z
                         ^^^^^^ value-out-of-sense 11:30Z as the end of the thermals does not lie behind their start at 16:45Z. Write the earlier time first; for a day that crosses midnight UTC, write both by the local clock, such as \`11:00+10:00\`."
  `);
  expect(entry('weather Calm', 'thermals 10:00+10:00 to 16:45+10:00')).toBe('');
});

test('value-out-of-sense: climbs of a task', () => {
  expect(task(START, 'climb to 4800 ft MSL', FINISH)).toMatchInlineSnapshot(`
    "  climb to 4800 ft MSL
               ^^^^^^^^^^^ value-out-of-sense a climb to 4,800 ft MSL leads down: the glider is at 5,200 ft MSL overhead Larkfield. Write a greater height, or take the line out.
                 plan.taskplan:6 the height before it is set here"
  `);
  expect(
    task(START, 'climb to 5700 ft MSL', 'climb to 5400 ft MSL', 'climb to 5800 ft MSL', FINISH),
  ).toMatchInlineSnapshot(`
    "  climb to 5400 ft MSL
               ^^^^^^^^^^^ value-out-of-sense a climb to 5,400 ft MSL leads down: the glider is at 5,700 ft MSL overhead Larkfield. Write a greater height, or take the line out.
                 plan.taskplan:7 the height before it is set here"
  `);
  expect(task(START, 'climb to 5100 ft MSL', 'climb to 5800 ft MSL', FINISH)).toMatchInlineSnapshot(`
    "  climb to 5100 ft MSL
               ^^^^^^^^^^^ value-out-of-sense a climb to 5,100 ft MSL leads down: the glider is at 5,200 ft MSL overhead Larkfield. Write a greater height, or take the line out."
  `);
  expect(task(START, 'climb to 5200 ft MSL', FINISH)).toMatchInlineSnapshot(`
    "  climb to 5200 ft MSL
               ^^^^^^^^^^^ value-out-of-sense a climb to 5,200 ft MSL gains nothing: the glider is as high overhead Larkfield. Write a greater height, or take the line out.
                 plan.taskplan:6 the height before it is set here"
  `);
  expect(task(START, 'climb to 3000 ft MSL after 2 NM', FINISH)).toMatchInlineSnapshot(`
    "  climb to 3000 ft MSL after 2 NM
               ^^^^^^^^^^^ value-out-of-sense a climb to 3,000 ft MSL leads down: the glider is at 4,658 ft MSL after 2.0 NM. Write a greater height, or take the line out.
                 plan.taskplan:6 the height before it is set here"
  `);
  expect(task(START, 'climb to 5800 ft MSL after 20 NM', FINISH)).toMatchInlineSnapshot(`
    "  climb to 5800 ft MSL after 20 NM
                                 ^^^^^ value-out-of-sense 20.0 NM lies beyond the end of leg 1 to Ashmoor, which is 12.5 NM long. Write a shorter distance, or move the climb to the leg that it is on."
  `);
});

test('detail-missing', () => {
  expect(entry('field Mill at 47.25 N 19.52 E')).toMatchInlineSnapshot(`
    "field Mill at 47.25 N 19.52 E
          ^^^^ detail-missing Mill has no \`elevation\`. Add a line such as \`elevation 190 m\`."
  `);
  expect(entry('airspace Glen')).toMatchInlineSnapshot(`
    "airspace Glen
             ^^^^ detail-missing Glen has no \`floor\` and no \`ceiling\`. Add lines such as \`floor 4500 ft MSL\` and \`ceiling FL95\`."
  `);
  expect(entry('reserve')).toMatchInlineSnapshot(`
    "reserve
    ^^^^^^^ syntax a name was expected behind \`reserve\`, but the line ends."
  `);
  expect(task()).toMatchInlineSnapshot(`
    "task Short
         ^^^^^ detail-missing Short has no \`start\` and no \`finish\`. Add lines such as \`start Larkfield at 3200 ft MSL\` and \`finish Larkfield\`."
  `);
  expect(entry('field Mill at 47.25 N 19.52 E', 'elevtion 140 m')).toMatchInlineSnapshot(`
    "  elevtion 140 m
      ^^^^^^^^ detail-unknown \`elevtion\` is no detail of a \`field\`. Did you mean \`elevation\`?"
  `);
});

test('detail-missing: a polar', () => {
  const rest = [...MASSES, 'vs 36 kt', 'vne 120 kt'];
  expect(entry('aircraft Wren')).toMatchInlineSnapshot(`
    "aircraft Wren
             ^^^^ detail-missing Wren has no polar, no \`polar mass\`, no \`empty mass\`, no \`maximum mass\`, no \`vs\` and no \`vne\`. Add lines such as \`polar mass 300 kg\`, \`empty mass 215 kg\`, \`maximum mass 340 kg\`, \`vs 36 kt\` and \`vne 120 kt\`; and three or more points such as \`polar 60 kt sink 1.95 kt\`, or \`best glide\` and \`minimum sink\` from the handbook."
  `);
  expect(entry('aircraft Wren', ...rest)).toMatchInlineSnapshot(`
    "aircraft Wren
             ^^^^ detail-missing Wren has no polar. Add three or more points such as \`polar 60 kt sink 1.95 kt\`, or \`best glide\` and \`minimum sink\` from the handbook."
  `);
  expect(entry('aircraft Wren', 'best glide 32:1 at 49 kt', ...rest)).toMatchInlineSnapshot(`
    "aircraft Wren
             ^^^^ detail-missing Wren has no \`minimum sink\`. Add a line such as \`minimum sink 1.3 kt at 41 kt\`."
  `);
  expect(entry('aircraft Wren', 'minimum sink 1.3 kt at 41 kt', ...rest)).toMatchInlineSnapshot(`
    "aircraft Wren
             ^^^^ detail-missing Wren has no \`best glide\`. Add a line such as \`best glide 32:1 at 49 kt\`."
  `);
  expect(entry('aircraft Wren', 'polar 60 kt sink 2.0 kt', ...rest)).toMatchInlineSnapshot(`
    "aircraft Wren
             ^^^^ detail-missing Wren has only 1 of the 3 \`polar\` points that make a curve. Add 2 more such as \`polar 60 kt sink 1.95 kt\`."
  `);
  expect(entry('aircraft Wren', 'polar 60 kt sink', ...rest)).toMatchInlineSnapshot(`
    "  polar 60 kt sink
                  ^^^^ syntax a rate of sink, such as 1.95 kt, was expected behind \`sink\`, but the line ends."
  `);
});

test('detail-repeated', () => {
  expect(
    entry('field Mill at 47.25 N 19.52 E', 'elevation 140 m', 'note "x"', 'note "y"', 'elevation 150 m'),
  ).toMatchInlineSnapshot(`
    "  elevation 150 m
      ^^^^^^^^^ detail-repeated \`elevation\` stands here again, and only the first one counts: \`elevation 140 m\`. Take one of them out.
        plan.taskplan:2 the first is written here"
  `);
  expect(task(START, 'start Ashmoor at 5200 ft MSL', 'finish Larkfield', FINISH)).toMatchInlineSnapshot(`
    "  start Ashmoor at 5200 ft MSL
      ^^^^^ detail-repeated \`start\` stands here again, and only the first one counts: \`start Larkfield at 5200 ft MSL\`. Take one of them out.
        plan.taskplan:6 the first is written here
      finish Ashmoor
      ^^^^^^ detail-repeated \`finish\` stands here again, and only the first one counts: \`finish Larkfield\`. Take one of them out.
        plan.taskplan:8 the first is written here"
  `);
});

test('itinerary-order', () => {
  expect(task('climb to 3000 ft MSL', 'turn "Withy Bridge"', START, FINISH)).toMatchInlineSnapshot(`
    "  climb to 3000 ft MSL
      ^^^^^^^^ itinerary-order this \`climb\` stands before the start, where no leg has begun. Move it behind the start.
        plan.taskplan:8 the start is written here
      turn "Withy Bridge"
      ^^^^ itinerary-order this \`turn\` stands before the start, where no leg has begun. Move it behind the start.
        plan.taskplan:8 the start is written here"
  `);
  expect(task(START, FINISH, 'turn "Withy Bridge"', 'climb to 6000 ft MSL')).toMatchInlineSnapshot(`
    "  turn "Withy Bridge"
      ^^^^ itinerary-order this \`turn\` stands after the finish, where the task is over. Move it before the finish, or take it out.
        plan.taskplan:7 the finish is written here
      climb to 6000 ft MSL
      ^^^^^^^^ itinerary-order this \`climb\` stands after the finish, where the task is over. Move it before the finish, or take it out.
        plan.taskplan:7 the finish is written here"
  `);
  expect(task(FINISH, START)).toMatchInlineSnapshot(`
    "  finish Ashmoor
      ^^^^^^ itinerary-order this \`finish\` stands before the start, where no leg has begun. Move it to the end.
        plan.taskplan:7 the start is written here"
  `);
  expect(task('turn "Withy Bridge"', FINISH)).toMatchInlineSnapshot(`
    "task Short
         ^^^^^ detail-missing Short has no \`start\`. Add a line such as \`start Larkfield at 3200 ft MSL\`."
  `);
});

const SMALL = (name: string) => `reserve ${name}\n  arrive 1000 ft AGL\n`;

test('defined-twice: in the file, and in a file that it uses', () => {
  expect(
    shown('field Mill at 47.25 N 19.52 E\n  elevation 140 m\nturnpoint Mill at 47.25 N 19.52 E\n  elevation 140 m\n'),
  ).toMatchInlineSnapshot(`
    "turnpoint Mill at 47.25 N 19.52 E
              ^^^^ defined-twice \`Mill\` is defined a second time, and only the first counts. Give one of the two another name, or take it out.
                plan.taskplan:1 Mill is defined here, in plan.taskplan"
  `);
  expect(shown(`use "club.taskplan"\n${SMALL('Training')}`)).toMatchInlineSnapshot(`
    "reserve Training
            ^^^^^^^^ defined-twice \`Training\` is defined here and in \`club.taskplan\`, and only this one counts. Give one of the two another name, or take it out.
              club.taskplan:49 Training is defined here, in club.taskplan"
  `);
  expect(shown(`use "a.taskplan"\ntask One\n  note "x"\n`, { 'a.taskplan': 'task One\n' })).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ never-used \`a.taskplan\` brings in nothing that this file names. Take the line out.
    task One
         ^^^ detail-missing One has no \`aircraft\`, no \`reserve\`, no \`start\` and no \`finish\`. Add lines such as \`aircraft Finch\`, \`reserve Training\`, \`start Larkfield at 3200 ft MSL\` and \`finish Larkfield\`."
  `);
});

test('defined-twice: in two files that it uses', () => {
  expect(
    shown('use "a.taskplan"\nuse "b.taskplan"\n', { 'a.taskplan': SMALL('Low'), 'b.taskplan': SMALL('Low') }),
  ).toMatchInlineSnapshot(`
    "use "b.taskplan"
        ^^^^^^^^^^^^ defined-twice \`Low\` is defined in \`a.taskplan\` and in \`b.taskplan\`, and only the first counts. Keep one definition, in one of the files.
          a.taskplan:1 Low is defined here, in a.taskplan
          b.taskplan:1 Low is defined here, in b.taskplan"
  `);
  expect(
    shown('use "a.taskplan"\nuse "club.taskplan"\n', {
      ...CLUB,
      'a.taskplan': 'use "old.taskplan"\n',
      'old.taskplan': EXAMPLE_CLUB.replace('Breezy', 'Windy'),
    }),
  ).toMatchInlineSnapshot(`
    "use "club.taskplan"
        ^^^^^^^^^^^^^^^ defined-twice \`Larkfield\`, \`Ashmoor\`, \`Withy Bridge\` and 4 more are defined in \`old.taskplan\` and in \`club.taskplan\`, and only the first counts. Keep one definition, in one of the files.
          old.taskplan:1 Larkfield is defined here, in old.taskplan
          club.taskplan:1 Larkfield is defined here, in club.taskplan
          old.taskplan:6 Ashmoor is defined here, in old.taskplan
          club.taskplan:6 Ashmoor is defined here, in club.taskplan
          old.taskplan:10 Withy Bridge is defined here, in old.taskplan
          club.taskplan:10 Withy Bridge is defined here, in club.taskplan"
  `);
  expect(
    shown('use "a.taskplan"\n', {
      'a.taskplan': `${SMALL('Low')}${SMALL('Low')}use "b.taskplan"\n`,
      'b.taskplan': 'task T\n',
    }),
  ).toBe('');
});

test('defined-twice: a second `units`', () => {
  expect(
    shown(
      'units\n  altitude ft\n\nunits\n  altitude  m\n  distance km\n\nunits\n  distance NM\n  altitude ft\n\nunits\n  mass lb\n',
    ),
  ).toMatchInlineSnapshot(`
    "units
    ^^^^^ defined-twice \`units\` stands here again, and of lines of one kind only the first in the file counts: \`altitude ft\`, not \`altitude m\`. Put the lines into one \`units\`, and take the other out.
      plan.taskplan:1 the first is written here
    units
    ^^^^^ defined-twice \`units\` stands here again, and of lines of one kind only the first in the file counts: \`distance km\`, not \`distance NM\`. Put the lines into one \`units\`, and take the other out.
      plan.taskplan:1 the first is written here
    units
    ^^^^^ defined-twice \`units\` stands here again, and of lines of one kind only the first in the file counts. Put the lines into one \`units\`, and take the other out.
      plan.taskplan:1 the first is written here"
  `);
  expect(shown('units\n  altitude furlong\n')).not.toContain('defined-twice');
});

test('never-used: entries that nothing names, in a file with a task', () => {
  const spare = `${SMALL('Low')}turnpoint Mill at 47.25 N 19.52 E\n  elevation 140 m\nfield Moor at 47.2 N 19.5 E\n  elevation 140 m\n`;
  const flown =
    'task Short\n  aircraft Finch\n  reserve Training\n  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n';
  expect(shown(`use "club.taskplan"\n${spare}`)).toBe('');
  expect(shown(`use "club.taskplan"\n${spare}${flown}`)).toMatchInlineSnapshot(`
    "reserve Low
            ^^^ never-used \`Low\` is named by nothing in this file. Take the reserve out, or name it.
    turnpoint Mill at 47.25 N 19.52 E
              ^^^^ never-used \`Mill\` is named by nothing in this file. Take the turnpoint out, or name it."
  `);
  expect(
    shown(`use "club.taskplan"\n${spare}${flown}  turm Mill\n  limits Solo\nlimits Solo\n  reserve at least Low\n`),
  ).toMatchInlineSnapshot(`
    "  turm Mill
      ^^^^ detail-unknown \`turm\` is no detail of a \`task\`. Did you mean \`turn\`?"
  `);
});

test('never-used: files that bring nothing that counts', () => {
  const flown =
    'task Short\n  aircraft Finch\n  reserve Training\n  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n';
  const plan = `use "club.taskplan"\nuse "a.taskplan"\n${flown}`;
  expect(shown(plan, { ...CLUB, 'a.taskplan': SMALL('Low') })).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ never-used \`a.taskplan\` brings in nothing that this file names. Take the line out."
  `);
  expect(shown(plan, { ...CLUB, 'a.taskplan': '# Nothing yet.\n' })).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ never-used \`a.taskplan\` brings in nothing that this file names. Take the line out."
  `);
  expect(shown(plan, { ...CLUB, 'a.taskplan': 'use "b.taskplan"\n', 'b.taskplan': 'terrain "tiles"\n' })).toBe('');
  expect(shown(plan, { ...CLUB, 'a.taskplan': 'use "b.taskplan"\n' })).toBe('');
  // A reserve that only the limits of another file name is needed all the same.
  const limits = 'limits Solo\n  reserve at least Low\n';
  expect(
    shown(`use "limits.taskplan"\n${plan}  limits Solo\n`, {
      ...CLUB,
      'a.taskplan': SMALL('Low'),
      'limits.taskplan': limits,
    }),
  ).toBe('');
});

test('never-used: what files that use this one need, directly or through others, is needed', () => {
  const flown = (weather: string) =>
    `task Short\n  aircraft Finch\n  weather ${weather}\n  reserve Training\n  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`;
  const weather = (name: string) => `weather ${name}\n  qnh 1013 hPa\n`;
  const plan = `use "club.taskplan"\nuse "extra.taskplan"\n${weather('Other')}${weather('Third')}${flown('Calm')}`;
  const unused = (files: Files) =>
    checked(plan, { ...CLUB, 'extra.taskplan': weather('Far'), ...files }).findings.flatMap(({ code, message }) =>
      code === 'never-used' ? [message.split('`')[1]] : [],
    );
  const all = ['extra.taskplan', 'Other', 'Third'];
  expect(unused({})).toEqual(all);
  // A file that uses this one and names nothing of it.
  expect(unused({ 'b.taskplan': `use "plan.taskplan"\n${flown('Calm')}` })).toEqual(all);
  // One that does not use it.
  expect(unused({ 'b.taskplan': flown('Other') })).toEqual(all);
  expect(unused({ 'b.taskplan': `use "plan.taskplan"\n${flown('Other')}` })).toEqual(['extra.taskplan', 'Third']);
  expect(unused({ 'b.taskplan': `use "plan.taskplan"\n${flown('Far')}` })).toEqual(['Other', 'Third']);
  expect(
    unused({
      'b.taskplan': 'use "plan.taskplan"\n',
      'c.taskplan': `use "b.taskplan"\n${flown('Far')}${flown('Third')}`,
    }),
  ).toEqual(['Other']);
  // A kind of its own: a reserve of that name is none.
  expect(unused({ 'b.taskplan': `use "plan.taskplan"\ntask T\n  reserve Other\n` })).toEqual(all);
  // A line that cannot be read may name it, or anything.
  expect(unused({ 'b.taskplan': `use "plan.taskplan"\ntask T\n  wether Third\n` })).toEqual(['Other']);
  // What the user has of its own accord comes not through this one.
  expect(unused({ 'b.taskplan': `use "plan.taskplan"\n${weather('Mine')}${flown('Mine')}` })).toEqual(all);
});

test('file-missing', () => {
  expect(shown('use "clubb.taskplan"\n')).toMatchInlineSnapshot(`
    "use "clubb.taskplan"
        ^^^^^^^^^^^^^^^^ file-missing \`clubb.taskplan\` is not there: no file lies at that path as seen from this one. Correct the path, or add the file."
  `);
  expect(shown('use ""\n')).toMatchInlineSnapshot(`
    "use ""
        ^^ file-missing the path is empty: write where the file lies as seen from this file, such as \`use "club/fields.taskplan"\`."
  `);
  expect(shown('terrain ""\n')).toMatchInlineSnapshot(`
    "terrain ""
            ^^ file-missing the path is empty: write where the folder lies as seen from this file, such as \`terrain "terrain"\`."
  `);
  expect(shown('use "club\\fields.taskplan"\n')).toMatchInlineSnapshot(`
    "use "club\\fields.taskplan"
        ^^^^^^^^^^^^^^^^^^^^^^ file-missing \`club\\fields.taskplan\` has backslashes. Write \`club/fields.taskplan\`."
  `);
  expect(shown('use "/club/fields.taskplan"\n')).toMatchInlineSnapshot(`
    "use "/club/fields.taskplan"
        ^^^^^^^^^^^^^^^^^^^^^^^ file-missing \`/club/fields.taskplan\` holds on one computer only. Write the path as seen from this file, such as \`use "club/fields.taskplan"\`."
  `);
  expect(shown('terrain "C:/tiles"\n')).toMatchInlineSnapshot(`
    "terrain "C:/tiles"
            ^^^^^^^^^^ file-missing \`C:/tiles\` holds on one computer only. Write the path as seen from this file, such as \`terrain "terrain"\`."
  `);
  expect(shown('use "club"\n')).toMatchInlineSnapshot(`
    "use "club"
        ^^^^^^ file-missing \`club\` does not end in \`.taskplan\`. Write the name of a plan, such as \`use "club/fields.taskplan"\`."
  `);
  expect(shown('use "club.TaskPlan"\n')).toMatchInlineSnapshot(`
    "use "club.TaskPlan"
        ^^^^^^^^^^^^^^^ file-missing \`club.TaskPlan\` does not end in \`.taskplan\`, in small letters. Name the file so, here and on disk."
  `);
  expect(shown('use "plan.taskplan"\n')).toMatchInlineSnapshot(`
    "use "plan.taskplan"
        ^^^^^^^^^^^^^^^ file-missing \`use "plan.taskplan"\` leads to this file itself, which knows its own entries. Take the line out."
  `);
});

test('file-unreadable', () => {
  const used = (unreadable: Unreadable) => shown('use "a.taskplan"\n', { 'a.taskplan': { unreadable } });
  expect(used('folder')).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ file-unreadable \`a.taskplan\` is a folder, and a plan is wanted. Write the path of a file in it."
  `);
  expect(used('special')).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ file-unreadable \`a.taskplan\` is a pipe, a device or a link in a circle, and a plan is wanted. Correct the path."
  `);
  expect(used('denied')).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ file-unreadable \`a.taskplan\` is there, but may not be read. Ask whoever owns the file to let you read it."
  `);
  expect(used('too-large')).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ file-unreadable \`a.taskplan\` is larger than any plan. Split the file, or look whether it is a plan at all."
  `);
  expect(used('not-text')).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ file-unreadable \`a.taskplan\` is not text, so it is no plan. Correct the path, or save the file as UTF-8 text."
  `);
  expect(shown('use "a.taskplan"\n', { 'a.taskplan': 'a\0b' })).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ file-unreadable \`a.taskplan\` is not text, so it is no plan. Correct the path, or save the file as UTF-8 text."
  `);
});

test('use-outside', () => {
  expect(shown('use "../../a.taskplan"\n')).toMatchInlineSnapshot(`
    "use "../../a.taskplan"
        ^^^^^^^^^^^^^^^^^^ use-outside \`../../a.taskplan\` leads outside the workspace and is not read. Move the file into it, or open the folder that holds both."
  `);
  expect(shown('terrain "../../tiles"\n')).toMatchInlineSnapshot(`
    "terrain "../../tiles"
            ^^^^^^^^^^^^^ use-outside \`../../tiles\` leads outside the workspace and is not read. Move the folder into it, or open the folder that holds both."
  `);
  expect(shown('terrain "."\nterrain "./"\nterrain "tiles/.."\n')).toBe('');
  expect(shown('use "a.taskplan"\n', { 'a.taskplan': { unreadable: 'outside' } })).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ use-outside \`a.taskplan\` goes through a symbolic link that leads outside the workspace, or may, and is not read. Put the file itself in its place."
  `);
  expect(rendered(checked('use "a.taskplan"\n', {}, 'untitled:Untitled-1'))).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ use-outside \`a.taskplan\` leads nowhere as long as this plan is not saved: the path starts where the plan lies. Save it first."
  `);
});

test('use-cycle: at each use that leads back', () => {
  expect(shown('use "a.taskplan"\n', { 'a.taskplan': 'use "plan.taskplan"\n' })).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ use-cycle \`a.taskplan\` uses this file in turn. Take out one \`use\` of the circle, and move what both need into a file of its own.
          a.taskplan:1 a.taskplan uses plan.taskplan here"
  `);
  expect(
    shown('use "a.taskplan"\nuse "c.taskplan"\n', {
      'a.taskplan': 'use "b.taskplan"\n',
      'b.taskplan': 'use "plan.taskplan"\n',
      'c.taskplan': 'units\n',
    }),
  ).toMatchInlineSnapshot(`
    "use "a.taskplan"
        ^^^^^^^^^^^^ use-cycle \`a.taskplan\` uses this file in turn, through 1 other. Take out one \`use\` of the circle, and move what both need into a file of its own.
          a.taskplan:1 a.taskplan uses b.taskplan here
          b.taskplan:1 b.taskplan uses plan.taskplan here"
  `);
  // A circle among others is theirs to mend.
  expect(shown('use "a.taskplan"\n', { 'a.taskplan': 'use "b.taskplan"\n', 'b.taskplan': 'use "a.taskplan"\n' })).toBe(
    '',
  );
});

test('not-text: one finding, and nothing else', () => {
  expect(shown('task T\0')).toMatchInlineSnapshot(`
    "
    ^ not-text this file is not text, and nothing in it is checked. Save it as UTF-8 text, or give it another ending."
  `);
});

test('what nobody sees in a name, a path, a note or a remark is said, and what spells a word is not', () => {
  const codes = (text: string) =>
    checked(text, CLUB).findings.flatMap(({ code, message }) => (code === 'name-deceives' ? [message] : []));
  const point = (name: string) => `turnpoint ${name} at 47.3 N 19.5 E\n  elevation 140 m\n`;
  expect(codes(point('"Withy\u200B Bridge"'))).toEqual([
    '`"Withy<U+200B> Bridge"` holds a character that nobody sees: it is not what it looks like. Take it out.',
  ]);
  expect(codes(point('"A\u202E0045\u202C"'))).toEqual([
    '`"A<U+202E>0045<U+202C>"` holds 2 characters that nobody sees: it is not what it looks like. Take them out.',
  ]);
  expect(codes('use "club\u2060.taskplan"\n')).toHaveLength(1);
  expect(codes(point('"Withy\u00A0Bridge"'))).toEqual([
    '`"Withy<U+00A0>Bridge"` holds a character that looks like a space: it is not what it looks like. Write a plain space.',
  ]);
  expect(codes(point('"A\u2003B\u3000C"'))).toEqual([
    '`"A<U+2003>B<U+3000>C"` holds 2 characters that look like a space: it is not what it looks like. Write a plain space.',
  ]);
  expect(codes(point('"Mill\u0007\u{E0100}"'))).toEqual([
    '`"Mill<U+0007><U+E0100>"` holds 2 characters that nobody sees: it is not what it looks like. Take them out.',
  ]);
  expect(codes('use "my\u00A0club.taskplan"\n')).toHaveLength(1);
  // Where one writes prose, spaces are of many kinds.
  expect(codes(`# 5\u00A0km\u3000\n${point('X')}  note "5\u202Fkm"\n`)).toEqual([]);
  expect(codes(`# \u001B[31m\n${point('X')}  note "5\u2028km"\n`)).toHaveLength(2);
  expect(codes(`${point('X')}  note "Lit\u00AD at night"\n`)).toHaveLength(1);
  expect(codes(`# \u2067remark\n${point('X')}  # and \u2069 another\n`)).toHaveLength(2);
  expect(codes(point('"A\u200Db"'))).toHaveLength(1);
  // Letters written from right to left, a word that a joiner spells, and a picture made of several.
  for (const fine of ['"אבג"', '"می\u200Cخواهم"', '"क्\u200Dष"', '"👩\u200D✈"', '"Étang"', '"e\u0301"', '東'])
    expect([fine, codes(point(fine))]).toEqual([fine, []]);
  // The mark at the start of a file belongs to the file.
  expect(codes(`\uFEFF${point('X')}`)).toEqual([]);
});

test('every other word for a detail stands for one that the entry has, and is none itself', () => {
  for (const [keyword, words] of OTHER_WORDS) {
    const details = new Set(entryForm(keyword)?.details.map(({ id }) => id));
    const firsts = new Set(entryForm(keyword)?.details.map(({ leading: [first] }) => first));
    for (const [word, id] of words) {
      expect(details).toContain(id);
      expect(firsts).not.toContain(word);
    }
  }
});
