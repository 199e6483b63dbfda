/** Refactorings keep what is meant; source actions put a file in order. */
import { describe, expect, test } from 'vitest';
import { codeActions } from '../../server/features/code-actions.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { actionsAt, newLines, planAfter, textsAfter, titles, workspaceAfter } from './actions-helper.ts';
import { type Marked, marked, sampleWorkspace } from './marked.ts';

const REWRITE = ['refactor.rewrite'];
const MOVE = ['refactor.move', 'refactor.extract'];

const offered = (text: string) => titles(text, REWRITE);
const written = (text: string, title: string) => newLines(text, planAfter(text, title, REWRITE));

/** The numbers of a task's budgets: lengths and heights in m, speeds in m/s. */
function budgets(tasks: readonly TaskEvaluation[]): number[] {
  return tasks.flatMap(({ legs }) =>
    legs.flatMap(({ result }) =>
      result?.problem === null ? [result.distanceM, result.departAltitudeM, result.arriveHeightM, result.marginM] : [],
    ),
  );
}

/** Asserts that no number of the file's budgets moves by more than `metres`; how many there are. */
function sameBudgets(plan: Marked, action: { edit?: Parameters<typeof textsAfter>[1] }, metres: number): void {
  const before = budgets(plan.understood.tasks);
  const now = workspaceAfter(plan.workspace, textsAfter(plan.workspace, action.edit), plan.uri);
  const after = budgets(now.understood.tasks);
  expect(after.length).toBe(before.length);
  expect(before.length).toBeGreaterThan(0);
  for (const [i, value] of before.entries()) expect(Math.abs((after[i] as number) - value)).toBeLessThanOrEqual(metres);
}

const ROUND = `use "club.taskplan"

task Round
  aircraft  Finch with pilot 82 kg
  weather   Breezy
  reserve   Training
  start     Larkfield at 5000 ft MSL
  turn      "Withy Bridge" at 55 kt  # the bridge
  climb     to 5200 ft MSL
  climb     to 5300 ft MSL at 3 kt after 2 km
  turn      "Corran Dam"
  climb     to 5400 ft MSL
  finish    Ashmoor at 60 kt
`;

describe('a quantity in other units', () => {
  test.each([
    ['  elevation $0190 m', '  elevation 623 ft'],
    ['  elevation $0623 ft', '  elevation 190 m'],
    ['  elevation $0620 ft', '  elevation 189 m'],
    ['  elevation $0621 ft', '  elevation 189.3 m'],
    ['  radius    $0500 m', '  radius    0.5 km'],
  ])('%s', (line, now) => {
    const text = `turnpoint A at 47.2 N 19.4 E\n${line}\n`;
    const all = actionsAt(marked(text), REWRITE).map(({ title }) => planAfter(text, title, REWRITE).split('\n')[1]);
    expect(all).toContain(now);
  });

  test('speeds, climbs, masses, temperatures and pressures', () => {
    const of = (line: string) => offered(`aircraft A\n  ${line}\n`);
    expect(of('vne $0115 kt')).toEqual([
      'Write it in kilometres an hour: “213 km/h”',
      'Write it in statute miles an hour: “132.3 mph”',
      'Write it in metres a second: “59.2 m/s”',
    ]);
    expect(of('polar 60 kt sink $02.05 kt')).toEqual([
      'Write it in metres a second: “1.055 m/s”',
      'Write it in feet a minute: “207.6 ft/min”',
    ]);
    expect(of('empty mass $0225 kg')).toEqual(['Write it in pounds: “496 lb”']);
    const day = (line: string) => offered(`weather A\n  ${line}\n`);
    expect(day('temperature $024 °C at 190 m MSL')).toEqual(['Write it in degrees Fahrenheit: “75.2 °F”']);
    expect(day('qnh $01018 hPa')).toEqual(['Write it in inches of mercury: “30.06 inHg”']);
    expect(day('wind surface from $0230° at 8 kt')).toEqual([]);
    expect(day('qnh $01018')).toEqual([]);
  });

  test('the datum stays', () => {
    expect(written(ROUND.replace('5000 ft', '$05000 ft'), 'Write it in metres: “1524 m”')).toBe(
      '  start     Larkfield at 1524 m MSL',
    );
  });

  test('all heights of a file, within half a foot', () => {
    const text = ROUND.replace('5000 ft', '$05000 ft');
    const title = 'Write all heights of this file in metres';
    expect(written(text, title)).toBe(`  start     Larkfield at 1524 m MSL
  climb     to 1585 m MSL
  climb     to 1615.4 m MSL at 3 kt after 2 km
  climb     to 1646 m MSL`);
    const plan = marked(text);
    const action = actionsAt(plan, REWRITE).find((one) => one.title === title);
    sameBudgets(plan, action ?? {}, 0.16);
  });

  test('every conversion of the samples keeps the budgets', () => {
    const { workspace } = sampleWorkspace();
    const uri = 'file:///samples/plans/practice-triangle.taskplan';
    const file = workspace.files.get(uri);
    if (!file) throw new Error('no sample');
    const understood = understand(workspace, file);
    const plan: Marked = { workspace, uri, understood, position: { line: 0, character: 0 }, texts: new Map() };
    for (const [line, text] of file.syntax.text.split('\n').entries()) {
      const character = text.search(/\d/);
      if (character < 0) continue;
      const at = { line, character };
      for (const action of codeActions(workspace, understood, { start: at, end: at }, [], REWRITE)) {
        // Half a foot of height; a thousandth of a speed or a wind moves an arrival by a few feet.
        if (/other way round/.test(action.title)) continue;
        sameBudgets(plan, action, /feet|metres”?$|: “\d+(\.\d+)? m”/.test(action.title) ? 0.5 : 3);
      }
    }
  });
});

describe('coordinates', () => {
  test('in the other notations', () => {
    expect(offered('turnpoint A at $047.2031 N 19.4410 E\n')).toEqual([
      "Write the position in degrees and minutes: “47°12.186'N 019°26.460'E”",
      'Write the position in degrees, minutes and seconds: “47°12\'11.2"N 019°26\'27.6"E”',
    ]);
    expect(
      written("turnpoint A at $047°12.00'N 019°26.46'E\n", 'Write the position in degrees: “47.2000 N 19.4410 E”'),
    ).toBe('turnpoint A at 47.2000 N 19.4410 E');
    expect(offered('turnpoint A at $047°59\'59.99"S 009°00\'00.0"W\n')).toContain(
      "Write the position in degrees and minutes: “48°00.000'S 009°00.000'W”",
    );
  });

  test('rounded', () => {
    expect(offered('turnpoint A at $047.203123 N 19.44104 E\n')).toContain(
      'Round the position to “47.2031 N 19.4410 E”',
    );
    expect(offered("turnpoint A at $047°12.186'N 019°26.460'E\n")).toContain(
      "Round the position to “47°12.19'N 019°26.46'E”",
    );
  });

  test('half a pair has no other notation', () => {
    expect(offered('turnpoint A at $047.2031 N\n')).toEqual([]);
    expect(offered('turnpoint A at $095.2 N 19.4 E\n')).toEqual([]);
  });
});

describe('a task the other way round', () => {
  const title = 'Fly Round the other way round';
  const at = (text: string) => text.replace('task Round', 'task $0Round');

  test('climbs stay over their points, speeds and climbs on the way with their legs', () => {
    const now = planAfter(at(ROUND), title, REWRITE);
    expect(now.slice(now.indexOf('  start'))).toBe(`  start     Ashmoor at 5000 ft MSL
  turn      "Corran Dam" at 60 kt
  climb     to 5400 ft MSL
  climb     to 5300 ft MSL at 3 kt after 6.92 km
  turn      "Withy Bridge"  # the bridge
  climb     to 5200 ft MSL
  finish    Larkfield at 55 kt
`);
  });

  test('twice is what it was', () => {
    const once = planAfter(at(ROUND), title, REWRITE);
    expect(planAfter(at(once), title, REWRITE)).toBe(ROUND);
  });

  test('a task that is not whole has no other way', () => {
    for (const spoilt of [
      ROUND.replace('  start ', '  strat '),
      ROUND.replace('  finish    Ashmoor at 60 kt\n', ''),
      ROUND.replace('5400 ft MSL', '5400'),
      ROUND.replace('after 2 km', 'after 200 km'),
    ])
      expect(offered(at(spoilt))).not.toContain(title);
  });
});

describe('a polar by points or by figures', () => {
  const own = (lines: string) =>
    `aircraft $0Lark\n${lines}  polar mass   310 kg\n  empty mass   225 kg\n  maximum mass 340 kg\n  vs           34 kt\n  vne          115 kt\n\n`;
  const flown = (lines: string) => own(lines) + ROUND.replace('Finch', 'Lark');

  test('there and back, within the rounding', () => {
    const points = flown(
      '  polar        42 kt sink 1.35 kt\n  polar        60 kt sink 2.05 kt\n  polar        80 kt sink 3.70 kt\n',
    );
    const plan = marked(points);
    const [action] = actionsAt(plan, REWRITE).filter(({ title }) => /polar/.test(title));
    expect(action?.title).toBe('Write the polar as figures of a handbook');
    sameBudgets(plan, action ?? {}, 1);
    const figures = planAfter(points, 'Write the polar as figures of a handbook', REWRITE);
    expect(figures).toMatch(
      /^ {2}best glide {3}\d+\.\d+:1 at \d+\.\d+ kt\n {2}minimum sink 1\.\d+ kt at \d+\.\d+ kt\n {2}polar mass/m,
    );
    const back = marked(figures.replace('aircraft Lark', 'aircraft $0Lark'));
    const [again] = actionsAt(back, REWRITE).filter(({ title }) => /polar/.test(title));
    expect(again?.title).toBe('Write the polar as three points');
    sameBudgets(back, again ?? {}, 1);
  });

  test('points that lie off their curve stay points', () => {
    const four = flown(
      '  polar        42 kt sink 1.35 kt\n  polar        49 kt sink 1.55 kt\n  polar        60 kt sink 2.05 kt\n  polar        80 kt sink 3.70 kt\n',
    );
    expect(offered(four).filter((title) => /polar/.test(title))).toEqual([]);
  });
});

describe('entries in another file', () => {
  const PLAN = `# Mine.
use "club.taskplan"

# Windy.
weather $0Own
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt

reserve Bold
  arrive 700 ft AGL

task Short
  aircraft  Finch with pilot 82 kg
  weather   Own
  reserve   Bold
  start     Larkfield at 5200 ft MSL
  finish    Ashmoor
`;

  test('to a new one', () => {
    expect(titles(PLAN, MOVE)).toEqual([
      'Move the weather Own to club.taskplan',
      'Move the weather Own to a new file, own.taskplan',
    ]);
    const title = 'Move the weather Own to a new file, own.taskplan';
    expect(planAfter(PLAN, title, MOVE, 0, 'own.taskplan')).toBe(
      '# Windy.\nweather Own\n  qnh         1018 hPa\n  temperature 24 °C at 190 m MSL\n  wind        surface from 230° at 8 kt\n',
    );
    expect(
      planAfter(PLAN, title, MOVE).startsWith('# Mine.\nuse "club.taskplan"\nuse "own.taskplan"\n\nreserve Bold\n'),
    ).toBe(true);
    const plan = marked(PLAN);
    for (const action of actionsAt(plan, MOVE)) sameBudgets(plan, action, 0);
  });

  test('to one that is known', () => {
    const now = planAfter(PLAN, 'Move the weather Own to club.taskplan', MOVE, 0, 'club.taskplan');
    expect(now).toBe(
      `${EXAMPLE_CLUB}\n# Windy.\nweather Own\n  qnh         1018 hPa\n  temperature 24 °C at 190 m MSL\n  wind        surface from 230° at 8 kt\n`,
    );
  });

  test('several at once, with what they need', () => {
    const plan = marked(PLAN);
    const [, made] = actionsAt(plan, MOVE, 8);
    expect(made?.title).toBe('Move 2 entries to a new file, own.taskplan');
    sameBudgets(plan, made ?? {}, 0);
    // A task takes what it names with it: this file, since something of it stays.
    const task = PLAN.replace('$0', '').replace('task Short', 'task $0Short');
    expect(
      planAfter(task, 'Move the task Short to a new file, short.taskplan', MOVE, 0, 'short.taskplan').startsWith(
        'use "plan.taskplan"\n\ntask Short\n',
      ),
    ).toBe(true);
    expect(planAfter(task, 'Move the task Short to a new file, short.taskplan', MOVE)).toMatch(/700 ft AGL\n$/);
  });

  test('not where each would use the other, nor where the name is taken', () => {
    const both =
      'field A at 47.2 N 19.4 E\n  elevation 100 m\n\nlimits $0L\n  within 5 NM of A\n\ntask T\n  limits L\n';
    expect(titles(both, MOVE)).toEqual([]);
    const taken = `//- plan.taskplan\nweather $0Own\n  qnh 1018 hPa\n//- other.taskplan\nweather Own\n  qnh 1000 hPa\n`;
    expect(titles(taken, MOVE)).not.toContain('Move the weather Own to other.taskplan');
  });

  test('a caret inside an entry is about what is there', () => {
    expect(titles(PLAN.replace('$0', '').replace('1018', '$01018'), MOVE)).toEqual([]);
  });
});

describe('source actions', () => {
  test('all slips with one reading, and no others', () => {
    const text = `use "club.taskplan"

weather Own
  qnh         1016
temperature 24 °C at 190 m MSL
  wind        3000 ft from 230° at 8 kts
  lift        300 fpm to 5800 ft MSL
  cloudbas    6500 ft MSL

task Short
  aircraft  Finch with pilot 82 kg
  weather   Own
  reserve   Training
  start     Larkfield at 5200
  turn      Corran Dam
  finish    Ashmoor
`;
    // Not the speed of the wind, whose height does not say what it is counted from.
    const now = planAfter(text, 'Mend the 5 slips with one reading', ['source.fixAll']);
    expect(newLines(text, now)).toBe(`  qnh         1016 hPa
  temperature 24 °C at 190 m MSL
  lift        300 ft/min to 5800 ft MSL
  cloudbase   6500 ft MSL
  turn      "Corran Dam"`);
  });

  test('what is done to a whole file is offered to a client that asks for it by its kind', () => {
    const text = 'use "b.taskplan"\nuse "a.taskplan"\n\nweather $0Own\n  cloudbas 6500 ft MSL\n';
    const kinds = (only?: string[]) => actionsAt(marked(text), only).map(({ kind }) => kind);
    const whole = ['source.fixAll', 'source.organizeImports'];
    for (const only of [['source'], ['']])
      expect(kinds(only).filter((kind) => kind?.startsWith('source'))).toEqual(whole);
    for (const only of [undefined, []]) expect(kinds(only)).not.toContainEqual(expect.stringMatching(/^source/));
  });

  test('of slips that are mended together those stay that would bring an error to light', () => {
    const many = (count: number) =>
      Array.from(
        { length: count },
        (_, i) => `feild "F ${i}"\n\nweather W${i}\n  qnh 1016\n  cloudbas 6500 ft MSL\n  cloudbase 6000 ft MSL\n`,
      ).join('');
    // A field without its details would be an error, and so would a second cloudbase.
    for (const count of [1, 30]) {
      const title = count === 1 ? 'Mend the slip with one reading' : `Mend the ${count} slips with one reading`;
      const now = planAfter(many(count), title, ['source.fixAll']);
      expect(now).toBe(many(count).replaceAll('qnh 1016', 'qnh 1016 hPa'));
    }
  });

  test.each([
    ['fields that are misspelt', Array.from({ length: 12_000 }, (_, i) => `feild a${i}\n`).join(''), []],
    [
      'entries that stand again',
      'weather A\n  qnh 1013 hPa\n\n'.repeat(12_000),
      ['Mend the 11998 slips with one reading'],
    ],
    ['units that are missing', 'weather A\n  qnh 1013\n\n'.repeat(12_000), ['Mend the 12000 slips with one reading']],
    ['empty lines', `use "b.taskplan"\n${'   \n'.repeat(300_000)}x\n`, ['Put the use lines in order']],
  ])('thousands of slips cost what they are, not what they are times the file: %s', (_, text, whole) => {
    expect(titles(text, ['source'])).toEqual(whole);
    expect(titles(text).length).toBeLessThan(10);
    expect(titles(text, ['quickfix'], 100_000).length).toBeLessThan(100);
  });

  test('what plans that use this one need stays', () => {
    const text = `//- plan.taskplan
use "extra.taskplan"
use "club.taskplan"

weather $0Other
  qnh 1013 hPa

task Short
  aircraft  Finch with pilot 82 kg
  weather   Calm
  reserve   Training
  start     Larkfield at 5200 ft MSL
  finish    Ashmoor
//- extra.taskplan
weather Far
  qnh 1013 hPa
//- b.taskplan
`;
    const user = 'use "plan.taskplan"\ntask B\n  weather Far\ntask C\n  weather Other\n';
    expect(planAfter(text, 'Put the use lines in order', ['source.organizeImports'])).not.toContain('extra');
    expect(planAfter(text + user, 'Put the use lines in order', ['source.organizeImports'])).toContain(
      'use "club.taskplan"\nuse "extra.taskplan"\n',
    );
    expect(titles(text, ['quickfix'])).toEqual(['* Take the weather Other out']);
    expect(titles(text + user, ['quickfix'])).toEqual([]);
  });

  test('use lines: sorted, once each, only those that are needed, at the top', () => {
    const text = `//- plan.taskplan
# Mine.

task Short
  aircraft  Finch with pilot 82 kg
  weather   Own
  reserve   Training
  start     Larkfield at 5200 ft MSL
  finish    Ashmoor

# The days.
use "own.taskplan"
use "club.taskplan"  # the club
use "club.taskplan"
use "idle.taskplan"
//- own.taskplan
weather Own
  qnh 1013 hPa
//- idle.taskplan
weather Idle
  qnh 1013 hPa
`;
    const now = planAfter(text, 'Put the use lines in order', ['source.organizeImports']);
    expect(
      now.startsWith('# Mine.\n\nuse "club.taskplan"  # the club\n# The days.\nuse "own.taskplan"\n\ntask Short\n'),
    ).toBe(true);
    expect(now.endsWith('  finish    Ashmoor\n')).toBe(true);
    expect(titles(`//- plan.taskplan\n${now}${text.slice(text.indexOf('//- own'))}`, ['source'])).toEqual([]);
  });

  test('a file that is in order stays, and so does one in which the order decides', () => {
    expect(titles('use "club.taskplan"\n\ntask A\n  reserve Training\n', ['source'])).toEqual([]);
    const twice =
      '//- plan.taskplan\nuse "z.taskplan"\nuse "a.taskplan"\n//- a.taskplan\nweather W\n  qnh 1000 hPa\n//- z.taskplan\nweather W\n  qnh 1010 hPa\n';
    expect(titles(twice, ['source.organizeImports'])).toEqual([]);
  });

  test('only what is asked for', () => {
    const plan = marked(ROUND.replace('Round', '$0Round'));
    const kinds = (only?: string[]) => new Set(actionsAt(plan, only).map(({ kind }) => kind));
    expect(kinds(['refactor'])).toEqual(new Set(['refactor.rewrite', 'refactor.move', 'refactor.extract']));
    expect(kinds(['source'])).toEqual(new Set());
    expect(kinds(['nonsense'])).toEqual(new Set());
  });
});
