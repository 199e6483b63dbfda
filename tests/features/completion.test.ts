/** Completion: what is offered at a caret, in which order, and the text once it is accepted. */

import { describe, expect, test } from 'vitest';
import type { CompletionItem, TextEdit } from 'vscode-languageserver-types';
import { type CompletionOptions, completion, resolveCompletion } from '../../server/features/completion.ts';
import { applied, type Marked, marked, positionOf } from './marked.ts';

const PLAIN: CompletionOptions = { snippets: false };

function itemsAt(text: string, options = PLAIN): { at: Marked; items: CompletionItem[] } {
  const at = marked(text);
  return { at, items: completion(at.workspace, at.understood, at.position, options).items };
}

const labels = (text: string): string[] => itemsAt(text).items.map(({ label }) => label);

function item(text: string, label: string, options = PLAIN): CompletionItem {
  const { items } = itemsAt(text, options);
  const found = items.find((one) => one.label === label);
  if (!found) throw new Error(`no item ${label} among ${items.map((one) => one.label).join(', ')}`);
  return found;
}

/** The text of the caret's file once the item is accepted. */
function accepted(text: string, label: string, options = PLAIN): string {
  const { at } = itemsAt(text, options);
  const { textEdit, additionalTextEdits = [] } = item(text, label, options);
  return applied(at.understood.file.syntax.text, [textEdit as TextEdit, ...additionalTextEdits]);
}

/** The caret's line once the item is accepted. */
function line(text: string, label: string): string {
  const before = text.slice(0, text.indexOf('$0')).replace(/^\/\/- .*\n/, '');
  return accepted(text, label).split(/\r?\n/)[positionOf(before, before.length).line] as string;
}

const task = (lines: string, club = 'use "club.taskplan"\n\n') =>
  `${club}task Home\n  aircraft  Finch with pilot 82 kg\n  weather   Breezy\n  reserve   Training\n${lines}`;
const START = '  start     Larkfield at 4800 ft MSL\n';

describe('at the start of a line', () => {
  test('every entry is offered, an aircraft in two ways', () => {
    const all = labels('$0');
    expect(all).toContain('task');
    expect(all).toContain('aircraft by measured points');
    expect(all).toContain('aircraft by handbook figures');
    expect(all).toHaveLength(13);
    expect(labels('# A remark.\n\n$0')).toEqual(all);
    expect(labels('field Ashmoor at 47.3 N 19.7 E\n  elevation 160 m\nwea$0')).toEqual(all);
    expect(labels('\uFEFF$0')).toEqual(all);
  });

  test('a task is a whole task, to be filled in with what is in scope', () => {
    const whole = accepted('use "club.taskplan"\n\nta$0', 'task', { snippets: true });
    expect(whole.replaceAll('$', '').split('\n').slice(2)).toEqual([
      'task "{1:Name}"',
      '  aircraft  {2:Finch} with pilot {3:0} kg',
      '  weather   {4|Calm,Breezy|}',
      '  reserve   {5:Training}',
      '  start     {6|Larkfield,Ashmoor|} at {7:0} ft MSL',
      '  climb     to {8:0} ft MSL',
      '  turn      {9|Larkfield,Ashmoor,"Withy Bridge","Corran Dam"|}',
      '  finish    {10|Larkfield,Ashmoor|}',
    ]);
  });

  test('a client without snippets gets the text as it stands, in the units and with the line ends of the file', () => {
    expect(accepted('units\r\n  speed km/h\r\n\r\n$0', 'aircraft by handbook figures')).toContain(
      'aircraft Name\r\n  best glide    0:1 at 0 km/h\r\n  minimum sink  0 kt at 0 km/h\r\n  polar mass    0 kg\r\n',
    );
  });

  test('before more text on the line it is the keyword alone', () => {
    expect(accepted('fi$0 Larkfield at 47.2 N 19.4 E\n', 'field')).toBe('field Larkfield at 47.2 N 19.4 E\n');
  });
});

describe('at the start of a detail', () => {
  test('what is missing comes first, what is there is left out', () => {
    expect(labels('field Larkfield at 47.2 N 19.4 E\n  $0')).toEqual([
      'elevation',
      'runway',
      'frequency',
      'arrive',
      'note',
    ]);
    expect(labels('field Larkfield at 47.2 N 19.4 E\n  elevation 190 m\n  arrive 900 ft AGL\n  $0')).toEqual([
      'runway',
      'frequency',
      'note',
    ]);
    expect(labels('task Home\n  $0').slice(0, 2)).toEqual(['aircraft', 'reserve']);
  });

  test('the itinerary goes on in a sensible order', () => {
    expect(labels(task('  $0')).slice(0, 5)).toEqual(['limits', 'takeoff', 'start', 'climb to', 'turn']);
    expect(labels(task(`${START}  $0`)).slice(0, 3)).toEqual(['climb to', 'turn', 'finish']);
    expect(labels(task(`${START}  climb to 5000 ft MSL\n  $0`)).slice(0, 3)).toEqual(['turn', 'finish', 'climb to']);
    expect(labels(task(`${START}  finish Larkfield\n  $0`))).not.toContain('finish');
  });

  test('a polar needs three points, and then goes on; figures and points do not mix', () => {
    const point = '  polar 42 kt sink 1.35 kt\n';
    expect(labels(`aircraft Finch\n${point}${point}  $0`)[0]).toBe('polar');
    expect(labels(`aircraft Finch\n${point}${point}${point}  $0`)[0]).toBe('polar mass');
    expect(labels(`aircraft Finch\n${point}  $0`)).not.toContain('best glide');
    expect(labels('aircraft Finch\n  best glide 32:1 at 49 kt\n  $0').slice(0, 1)).toEqual(['minimum sink']);
    expect(labels('aircraft Finch\n  best glide 32:1 at 49 kt\n  $0')).not.toContain('polar');
  });

  test('the text is laid out as the formatter does', () => {
    expect(line(task(`${START}  cl$0`), 'climb to')).toBe('  climb     to ');
    expect(line(task(`${START}  climb $0`), 'climb to')).toBe('  climb     to ');
    expect(line('aircraft Finch\n  ma$0\n', 'maximum mass')).toBe('  maximum mass  ');
    expect(line('limits Solo\n  reserve at $0', 'reserve at least')).toBe('  reserve   at least ');
    expect(line('limits Solo\n  $0', 'field in glide')).toBe('  field in glide');
    expect(line(task(`${START}  tu$0 Ashmoor\n`), 'turn')).toBe('  turn Ashmoor');
  });
});

describe('inside a line', () => {
  test('the words that the form allows next', () => {
    expect(labels(task('', '').replace('with pilot 82 kg', '$0'))).toEqual(['with pilot', 'with ballast']);
    expect(labels(task('', '').replace('with pilot 82 kg', 'and$0'))).toContain('and pilot');
    expect(labels('task A\n  aircraft Finch with pilot 80 kg $0')).toEqual(['and ballast']);
    expect(labels('task A\n  climb to 4800 ft MSL $0')).toEqual(['at', 'after']);
    expect(labels('task A\n  climb to 4800 ft MSL at 3 kt $0')).toEqual(['after']);
    expect(labels('weather A\n  wind surface from 230° at 8 kt $0')).toEqual(['±']);
    expect(labels('weather A\n  wind 3000 from 230 $0')).toContain('°M');
    expect(labels('limits Solo $0')).toEqual(['for all tasks']);
    expect(labels('limits Solo\n  land 60 min $0')).toEqual(['before sunset']);
  });

  test('points by how far they are, and in which direction', () => {
    const text = task(`${START}  turn $0`);
    expect(labels(text)).toEqual(['Corran Dam', 'Withy Bridge', 'Ashmoor', 'Larkfield']);
    expect(item(text, 'Corran Dam').labelDetails).toEqual({ detail: ' 8.7 NM 055°', description: 'turnpoint' });
    expect(item(text, 'Ashmoor').detail).toBe('field, 12.5 NM 059° from Larkfield, 525 ft MSL, runway 09/27 750 m');
    expect(line(text, 'Corran Dam')).toBe('  turn "Corran Dam"');
    expect(labels(task(`${START}  turn Ashmoor\n  finish $0`))).toEqual([
      'Larkfield',
      'Ashmoor',
      'Corran Dam',
      'Withy Bridge',
    ]);
    expect(line(task('  start Lark$0'), 'Larkfield')).toBe('  start Larkfield ');
  });

  test('half a name, with and without its quotes, and in the middle of it', () => {
    expect(line(task(`${START}  turn "Wi$0`), 'Withy Bridge')).toBe('  turn "Withy Bridge"');
    expect(line(task(`${START}  turn "Wi$0"`), 'Withy Bridge')).toBe('  turn "Withy Bridge"');
    expect(line(task(`${START}  turn "Wi$0thy" at 60 kt`), 'Withy Bridge')).toBe('  turn "Withy Bridge" at 60 kt');
    expect(line(task(`${START}  turn Withy Br$0`), 'Withy Bridge')).toBe('  turn "Withy Bridge"');
    expect(line(task(`${START}  turn As$0hmor at 60 kt`), 'Ashmoor')).toBe('  turn Ashmoor at 60 kt');
    expect(item(task(`${START}  turn "Wi$0`), 'Withy Bridge').filterText).toBe('"Withy Bridge"');
    // Without one the label counts.
    expect(item(task(`${START}  turn Wi$0`), 'Withy Bridge').filterText).toBeUndefined();
  });

  test('a name that is a keyword, or none that can stand alone, is quoted', () => {
    const fields =
      'field "left" at 47.2 N 19.4 E\n  elevation 1 m\n\nfield "FL65" at 47.2 N 19.4 E\n  elevation 1 m\n\n';
    expect(line(`${fields}task A\n  start $0`, 'left')).toBe('  start "left" ');
    expect(line(`${fields}task A\n  start $0`, 'FL65')).toBe('  start "FL65" ');
  });

  test('a name of a file that is not brought in yet brings it in', () => {
    expect(accepted('task Home\n  aircraft $0\n', 'Finch')).toBe(
      'use "club.taskplan"\n\ntask Home\n  aircraft Finch\n',
    );
    expect(accepted('# A remark.\r\n\r\ntask Home\r\n  aircraft Fi$0', 'Finch')).toBe(
      '# A remark.\r\nuse "club.taskplan"\r\n\r\ntask Home\r\n  aircraft Finch',
    );
    const files =
      '//- plans/home.taskplan\nuse "other.taskplan" # seen\ntask A\n  start $0\n//- plans/other.taskplan\nfield Near at 47.2 N 19.4 E\n';
    expect(labels(files)).toEqual(['Near', 'Larkfield', 'Ashmoor', 'Withy Bridge', 'Corran Dam']);
    expect(item(files, 'Ashmoor').labelDetails?.description).toBe('../club.taskplan');
    expect(accepted(files, 'Ashmoor')).toBe(
      'use "other.taskplan" # seen\nuse "../club.taskplan"\ntask A\n  start Ashmoor \n',
    );
  });

  test('no name from a file that brings in this one: they would go in a circle', () => {
    expect(
      labels('//- a.taskplan\nlimits A\n  reserve at least $0\n//- club.taskplan\nuse "a.taskplan"\nreserve B\n'),
    ).toEqual([]);
  });
});

describe('units and datums', () => {
  test('behind a number, with and without a space, the reader first', () => {
    expect(labels('task A\n  turn B at 75$0').slice(0, 4)).toEqual(['kt', 'km/h', 'mph', 'm/s']);
    expect(labels('units\n  speed km/h\n\ntask A\n  turn B at 75 $0')[0]).toBe('km/h');
    expect(line('task A\n  turn B at 75k$0', 'kt')).toBe('  turn B at 75 kt');
    expect(line('task A\n  turn B at 75 k$0', 'kt')).toBe('  turn B at 75 kt');
    expect(line('weather A\n  wind surface from 230$0', '°M')).toBe('  wind surface from 230°M ');
    expect(labels('limits A\n  duration 2 h 30$0')).toEqual(['min']);
    expect(line('limits A\n  land 45$0', 'min')).toBe('  land 45 min ');
  });

  test('a detail is written as the file writes it elsewhere', () => {
    const fields = 'field A at 47.2 N 19.4 E\n  elevation 190 m\n\nfield B at 47.2 N 19.4 E\n  elevation 200 $0';
    expect(labels(fields)).toEqual(['m', 'ft']);
    expect(labels('field B at 47.2 N 19.4 E\n  elevation 200 $0')).toEqual(['ft', 'm']);
    expect(labels('field B at 47.2 N 19.4 E\n  runway 18/36 900 $0')[0]).toBe('m');
  });

  test('only the datums that the place takes', () => {
    expect(labels('task A\n  start B at 3200$0')).toEqual(['ft MSL', 'ft AGL', 'm MSL', 'm AGL']);
    expect(labels('task A\n  start B at 3200 ft $0')).toEqual(['MSL', 'AGL']);
    expect(labels('task A\n  climb to 3200 ft $0 after 3 km')).toEqual(['MSL']);
    expect(labels('reserve A\n  arrive 1000 ft $0')).toEqual(['AGL']);
    expect(labels('weather A\n  lift 3 kt to 5800$0')).toEqual(['ft MSL', 'm MSL']);
    expect(labels('field A at 47.2 N 19.4 E\n  elevation 190 m $0')).toEqual(['MSL']);
  });

  test('the letter of a hemisphere', () => {
    expect(line('field A at 47.2031$0', 'N')).toBe('field A at 47.2031 N ');
    expect(labels("field A at 47°12.19'N 019°26.46'$0")).toEqual(['E', 'W']);
    expect(labels('field A at 1 S 2 W\n\nfield B at 47.2 $0')).toEqual(['S', 'N']);
  });
});

describe('values that the flight asks for', () => {
  const LEGS = `${START}  turn "Withy Bridge"\n`;

  /** The margin of the last leg with this in place of the caret, m. */
  function margin(text: string, value: string): number {
    const result = marked(text.replace('$0', value)).understood.tasks[0]?.legs.at(-1)?.result;
    if (!result || result.problem) throw new Error('the leg is not flown');
    return result.marginM;
  }

  test('the fastest speed that still makes it', () => {
    const text = task(`${LEGS}  climb to 5400 ft MSL\n  finish Larkfield at $0\n`);
    expect(labels(text)).toEqual(['71 kt', 'best glide', 'maccready 3 kt', 'maccready']);
    expect(margin(text, '71 kt')).toBeGreaterThanOrEqual(0);
    expect(margin(text, '72 kt')).toBeLessThan(0);
    expect(item(text, '71 kt').detail).toBe('the fastest that still makes it');
    expect(labels(text.replace(' at $0', ' $0'))).toEqual([
      'at 71 kt',
      'at',
      'at best glide',
      'at maccready 3 kt',
      'at maccready',
    ]);
    const metric = `units\n  speed km/h\n  climb m/s\n\n${text}`;
    expect(labels(metric)).toEqual(['132 km/h', 'best glide', 'maccready 1.5 m/s', 'maccready']);
    expect(margin(metric, '132 km/h')).toBeGreaterThanOrEqual(0);
    expect(margin(metric, '133 km/h')).toBeLessThan(0);
    const low = task(`${LEGS}  climb to 2000 ft MSL\n  finish Larkfield at $0\n`);
    expect(labels(low)[0]).toBe('best glide');
    const high = task(`${LEGS}  climb to 9000 ft MSL\n  finish Larkfield at $0\n`);
    expect(item(high, '80 kt').detail).toBe('the fastest that still makes it, which is vno');
  });

  test('the height that the next leg asks, the working top and the cloudbase', () => {
    const text = task(`${LEGS}  climb to $0\n  finish Larkfield at 60 kt\n`);
    expect(labels(text)).toEqual(['4950 ft MSL', '5800 ft MSL', '6200 ft MSL']);
    expect(margin(text, '4950 ft MSL')).toBeGreaterThanOrEqual(0);
    expect(margin(text, '4900 ft MSL')).toBeLessThan(0);
    expect(item(text, '4950 ft MSL').detail).toMatch(/^what leg 2 to Larkfield asks: 4,9\d\d ft MSL$/);
    expect(labels(text.replace('$0', '49$0'))[0]).toBe('4950 ft MSL');
    const metric = `units\n  altitude m\n\n${text}`;
    expect(labels(metric)).toEqual(['1510 m MSL', '1760 m MSL', '1880 m MSL']);
    expect(margin(metric, '1510 m MSL')).toBeGreaterThanOrEqual(0);
    expect(margin(metric, '1500 m MSL')).toBeLessThan(0);
  });

  test('no climb to a height below the glider', () => {
    const text = task('  start Larkfield at 9000 ft MSL\n  climb to $0\n  finish Ashmoor\n');
    expect(labels(text)).toEqual(['5800 ft MSL', '6200 ft MSL']);
  });

  test('the height to start at, where no climb comes first', () => {
    const text = task('  start Larkfield at $0\n  turn "Withy Bridge"\n');
    const [height = ''] = labels(text);
    expect(labels(text)).toHaveLength(1);
    expect(margin(text, height)).toBeGreaterThanOrEqual(0);
    expect(
      margin(
        text,
        height.replace(/^\d+/, (feet) => String(Number(feet) - 50)),
      ),
    ).toBeLessThan(0);
    expect(labels(task('  start Larkfield at $0\n  climb to 5000 ft MSL\n  turn "Withy Bridge"\n'))).toEqual([]);
  });

  test('nothing is made up where the task cannot be computed', () => {
    const text = `${LEGS}  finish Larkfield at $0\n`;
    expect(labels(task(text).replace('aircraft  Finch', 'aircraft  Fnich'))).toEqual([
      'best glide',
      'maccready 3 kt',
      'maccready',
    ]);
    expect(labels('task A\n  turn B at $0')).toEqual(['best glide', 'maccready']);
  });
});

describe('other values', () => {
  test('the other end of a runway', () => {
    expect(line('field A at 1 N 2 E\n  runway 18/$0', '18/36')).toBe('  runway 18/36 ');
    expect(labels('field A at 1 N 2 E\n  runway 9$0')).toEqual(['09/27']);
    expect(labels('field A at 1 N 2 E\n  runway 27R/$0')).toEqual(['27R/09L']);
    expect(labels('field A at 1 N 2 E\n  runway 48/$0')).toEqual([]);
  });

  test('choices', () => {
    expect(labels('field A at 1 N 2 E\n  runway 18/36 900 m surface $0')).toEqual(['grass', 'asphalt', 'concrete']);
    expect(labels('field A at 1 N 2 E\n  runway 18/36 900 m circuit l$0')).toEqual(['left', 'right']);
    expect(labels('units\n  climb $0')).toEqual(['kt', 'm/s', 'ft/min']);
    expect(labels('reserve A\n  performance $0')).toEqual(['70 %', '80 %', '90 %', '100 %', '20:1']);
    expect(labels('reserve A\n  performance 2$0')).toEqual(['20:1', '%', '2:1']);
    expect(labels('aircraft A\n  best glide 32$0')).toEqual(['32:1']);
  });

  test('times with their zone, and values from above', () => {
    expect(labels('weather A\n  thermals 10:30+02:00 to 16:00$0')).toEqual(['16:00Z']);
    expect(labels('task A\n  takeoff 10:30+02:00\n\ntask B\n  takeoff 9:15$0')).toEqual(['09:15+02:00', '09:15Z']);
    expect(labels('weather A\n  date 2026-06-13\n\nweather B\n  date $0')).toEqual(['2026-06-13']);
    expect(labels('task A\n  aircraft F with pilot 82 kg\n\ntask B\n  aircraft F with $0')[0]).toBe('pilot 82 kg');
    const ballast = 'aircraft F\n  ballast up to 150 kg\n\ntask A\n  aircraft F with ballast $0';
    expect(labels(ballast)).toEqual(['150 kg']);
  });

  test('paths of the other plans, the nearest first', () => {
    const files = (use: string) =>
      `//- plans/home.taskplan\n${use}\n//- plans/near.taskplan\n//- plans/days/day.taskplan\n//- far/off.taskplan\n//- circle.taskplan\nuse "plans/home.taskplan"\n`;
    expect(labels(files('use "$0"'))).toEqual([
      'near.taskplan',
      'days/day.taskplan',
      '../club.taskplan',
      '../far/off.taskplan',
      '../circle.taskplan',
    ]);
    expect(labels(files('use "near.taskplan"\nuse $0'))[0]).toBe('days/day.taskplan');
    expect(line(files('use "../far/o$0"'), '../far/off.taskplan')).toBe('use "../far/off.taskplan"');
    expect(line(files('use ../f$0'), '../far/off.taskplan')).toBe('use "../far/off.taskplan"');
    expect(line(files('use "ne$0'), 'near.taskplan')).toBe('use "near.taskplan"');
  });
});

describe('nothing', () => {
  test.each([
    ['a comment', 'task A # ta$0'],
    ['a comment below', 'task A\n  # cl$0'],
    ['a note', 'task A\n  note "to cl$0imb"'],
    ['a name that is given', 'task $0'],
    ['a name that is given, in quotes', 'task "Ho$0me"'],
    ['an indented line without an entry', '  $0'],
    ['an entry that is not known', 'tsak A\n  $0'],
    ['behind a line that is complete', 'units\n  speed kt $0'],
  ])('in %s', (_, text) => {
    expect(labels(text)).toEqual([]);
  });
});

describe('anywhere in a file', () => {
  test('a position behind the end of the line, or of the file', () => {
    const { workspace, understood } = marked('task A\r\n  climb to 4800 ft');
    const at = (line: number, character: number) =>
      completion(workspace, understood, { line, character }, PLAIN).items.map(({ label }) => label);
    expect(at(1, 99)).toEqual(['ft MSL', 'ft AGL', 'm MSL', 'm AGL']);
    expect(at(9, 0)).toEqual([]);
  });

  test('a detail that lost its indentation, and keywords in any case', () => {
    expect(labels('task A\nclimb to 4800 ft MSL $0')).toEqual(['at', 'after']);
    expect(labels('TASK A\n  CLIMB TO 4800 FT MSL $0')).toEqual(['at', 'after']);
    expect(line('weather A\r\n  Temp$0\r\n  qnh 1018 hPa\r\n', 'temperature')).toBe('  temperature ');
  });

  test('in front of a remark', () => {
    expect(accepted('task A\n  $0# here', 'start')).toBe('task A\n  start     # here');
  });
});

describe('items', () => {
  test('where the line goes on the client may be told to ask again', () => {
    const options = { snippets: false, again: 'ask' };
    expect(item('task A\n  st$0', 'start', options).command).toEqual({ title: 'Complete', command: 'ask' });
    expect(item('limits A\n  $0', 'field in glide', options).command).toBeUndefined();
    expect(item('task A\n  st$0', 'start').command).toBeUndefined();
  });

  test('resolving says what a keyword means, and what an entry is', () => {
    const doc = (text: string, label: string) => {
      const { at } = itemsAt(text);
      // As it comes back from a client: through text.
      const sent = JSON.parse(JSON.stringify(item(text, label))) as CompletionItem;
      const { documentation } = resolveCompletion(at.workspace, sent);
      return typeof documentation === 'object' ? documentation.value : documentation;
    };
    expect(doc('task A\n  $0', 'climb to')).toContain('```taskplan\nclimb     to 3200 ft MSL\n```');
    expect(doc('$0', 'reserve')).toBe('What a pilot keeps in hand.');
    expect(doc('task A\n  aircraft $0', 'Finch')).toContain('**aircraft Finch**');
    expect(doc('task A\n  aircraft $0', 'Finch')).toContain('*in club.taskplan*');
  });

  test('what most have alike is told once to a client that fills it in', () => {
    const { at } = itemsAt('task A\n  aircraft $0');
    const list = completion(at.workspace, at.understood, at.position, { ...PLAIN, defaults: true });
    const finch = list.items.find(({ label }) => label === 'Finch') as CompletionItem;
    expect([finch.textEdit, finch.textEditText, list.itemDefaults?.editRange]).toEqual([
      undefined,
      undefined,
      { start: at.position, end: at.position },
    ]);
    const sent = { ...finch, data: finch.data ?? list.itemDefaults?.data } as CompletionItem;
    const { documentation } = resolveCompletion(at.workspace, JSON.parse(JSON.stringify(sent)));
    expect(documentation).toMatchObject({ value: expect.stringContaining('**aircraft Finch**') });
    // Of a list in which something stands for nothing, none has what it stands for from the list.
    const mixed = itemsAt('reserve A\n  arrive 300 $0').at;
    const values = completion(mixed.workspace, mixed.understood, mixed.position, { ...PLAIN, defaults: true });
    expect([values.itemDefaults?.data, values.itemDefaults?.editRange !== undefined]).toEqual([undefined, true]);
    // And an empty one is a list.
    const none = itemsAt('# $0').at;
    expect(completion(none.workspace, none.understood, none.position, { ...PLAIN, defaults: true })).toEqual({
      isIncomplete: false,
      items: [],
    });
  });

  test('what a name is comes when it is looked at, for a client that shows what stands beside it', () => {
    for (const [text, label] of [
      [task(`${START}  turn $0`), 'Ashmoor'],
      [task(`${START}  turn Ashmoor\n  finish $0`), 'Corran Dam'],
      ['task A\n  aircraft $0', 'Finch'],
    ] as const) {
      const { at } = itemsAt(text);
      const find = (options: Parameters<typeof completion>[3]) => {
        const { items, itemDefaults } = completion(at.workspace, at.understood, at.position, options);
        const found = items.find((one) => one.label === label) as CompletionItem;
        return { ...found, data: found.data ?? itemDefaults?.data } as CompletionItem;
      };
      const whole = find(PLAIN);
      // One that brings its file in says so at once.
      const bringsIn = whole.detail?.includes('brings in') === true;
      for (const defaults of [false, true]) {
        const listed = find({ ...PLAIN, defaults, detailLater: true });
        expect([listed.detail, listed.labelDetails]).toEqual([bringsIn ? whole.detail : undefined, whole.labelDetails]);
        const resolved = resolveCompletion(at.workspace, JSON.parse(JSON.stringify(listed)));
        expect(resolved.detail).toBe(whole.detail);
        expect(resolved.documentation).toEqual(resolveCompletion(at.workspace, whole).documentation);
      }
    }
  });

  test('resolving what is gone, or is none of ours, changes nothing', () => {
    const { at } = itemsAt('task A\n  aircraft $0');
    const gone = item('task A\n  aircraft $0', 'Finch');
    at.workspace.files.clear();
    expect(resolveCompletion(at.workspace, gone)).toBe(gone);
    expect(resolveCompletion(at.workspace, { label: 'x' })).toEqual({ label: 'x' });
  });

  test('with more digits other texts fit, so the client asks again', () => {
    const isIncomplete = (text: string) => {
      const { workspace, understood, position } = marked(text);
      return completion(workspace, understood, position, PLAIN).isIncomplete;
    };
    expect(isIncomplete('task A\n  turn B at 7$0')).toBe(true);
    expect(isIncomplete('task A\n  turn B at $0')).toBe(false);
    const many = Array.from({ length: 250 }, (_, i) => `field F${i} at 47.2 N 19.4 E\n`).join('');
    expect(isIncomplete(`${many}task A\n  start $0`)).toBe(true);
    expect(labels(`${many}task A\n  start f249$0`)).toEqual(['F249']);
  });
});
