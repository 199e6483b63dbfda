import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type FileSyntax, parseFile } from '../../grammar/file.ts';
import { forgetShapes, makeParser, parseLine } from '../../grammar/parser.ts';
import { detailsOf, linesOf, type ValueNode } from '../../grammar/syntax.ts';
import { CONNECTORS, type Element, ENTRIES, type Form, KEYWORDS } from '../../grammar/vocabulary.ts';
import { EVERYTHING } from './example.ts';
import { lineOf, mutated, plan } from './plans.ts';
import { lines, plain, underlined } from './reading.ts';

describe('the grammar', () => {
  test('is sound by the checks of the parser generator', () => {
    expect(() => makeParser(true)).not.toThrow();
  });

  test('has every form in the example', () => {
    const seen = new Set<Form | undefined>(lines(parseFile(EVERYTHING)).map((line) => line.form));
    for (const { keyword, head, details } of ENTRIES) {
      for (const form of [head, ...details])
        expect([keyword, form.id, seen.has(form)]).toEqual([keyword, form.id, true]);
    }
  });

  test('has one line for one meaning: no form can fill a slot twice', () => {
    const ways = (elements: readonly Element[]): string[][] =>
      elements.reduce<string[][]>(
        (so, element) => {
          const here =
            'word' in element
              ? [[]]
              : 'optional' in element
                ? [[], ...ways(element.optional)]
                : 'either' in element
                  ? element.either.flatMap(ways)
                  : [[element.slot]];
          return so.flatMap((before) => here.map((after) => [...before, ...after]));
        },
        [[]],
      );
    for (const { head, details } of ENTRIES) {
      for (const form of [head, ...details])
        for (const way of ways(form.elements)) expect(new Set(way).size).toBe(way.length);
    }
  });

  test('tells the details of an entry apart by their ids', () => {
    for (const { details } of ENTRIES) expect(new Set(details.map((form) => form.id)).size).toBe(details.length);
  });

  test('joins lines by keywords only', () => {
    for (const word of CONNECTORS) expect(KEYWORDS.has(word)).toBe(true);
  });

  test('reads every form, in any spacing and case, as that form and with every slot that is written', () => {
    for (const { keyword, head, details } of ENTRIES) {
      for (const form of [head, ...details]) {
        const start = form === head ? '' : `${keyword} "X"\n  `;
        fc.assert(
          fc.property(lineOf(form), (line) => {
            const read = parseFile(`${start}${line}`).entries[0]?.syntax;
            const found = form === head ? read?.head : read?.details[0];
            expect(found?.problems).toEqual([]);
            expect(found?.form).toBe(form);
            for (const element of form.elements)
              if ('slot' in element) expect(found?.slots[element.slot]).toBeDefined();
          }),
          { numRuns: 20 },
        );
      }
    }
  });
});

describe('values', () => {
  const slotsOf = (entry: string, line: string) =>
    parseFile(`${entry} X at 1 N 1 E\n  ${line}`).entries[0]?.syntax.details[0]?.slots;
  const value = (entry: string, line: string, slot: string) => slotsOf(entry, line)?.[slot] as ValueNode;
  const position = (written: string) =>
    parseFile(`turnpoint X at ${written}`).entries[0]?.syntax.head?.slots['position'];

  test('coordinates in their three notations', () => {
    for (const written of ['47.5 N 19.25 E', '47.5°N 19.25°E', "47°30'N 019°15.00'E", `47°30'00"N 019°14'60''E`]) {
      const read = position(written);
      expect(read).toMatchObject({
        kind: 'coordinates',
        first: { value: 47.5, hemisphere: { text: 'N' } },
        second: { value: 19.25 },
      });
    }
    expect(position('47 12.19 N')).toBeDefined();
    expect(position('-47.5 N 19 E')).toMatchObject({ first: { value: -47.5 } });
  });

  test('numbers with a comma have no value', () => {
    expect(value('field', 'elevation 1,250 ft', 'elevation')).toMatchObject({
      number: { text: '1,250', value: undefined },
    });
    expect(value('field', 'elevation −12.50 m MSL', 'elevation')).toMatchObject({
      number: { text: '−12.50', value: -12.5 },
      unit: { unit: { text: 'm' } },
      datum: { datum: 'MSL' },
    });
  });

  test('missing, unknown and wrong units and datums are told apart later: none is a problem of the writing', () => {
    expect(value('field', 'arrive 900', 'height')).toMatchObject({ unit: undefined, datum: undefined });
    expect(value('field', 'arrive 900 foot AGL', 'height')).toMatchObject({
      unit: { text: 'foot', unit: undefined },
      datum: { datum: 'AGL' },
    });
    expect(value('field', 'arrive 900 ft AMSL', 'height')).toMatchObject({ datum: { text: 'AMSL', datum: undefined } });
    expect(value('field', 'arrive fl 65', 'height')).toMatchObject({ kind: 'flightLevel', level: 65 });
  });

  test('runways, ratios, times and durations', () => {
    expect(value('field', 'runway 09l/27R 900 m', 'ends')).toMatchObject({
      ends: [
        { number: 9, letter: 'L' },
        { number: 27, letter: 'R' },
      ],
    });
    expect(value('field', 'runway 24 900 m', 'ends')).toMatchObject({ ends: [{ number: 24, letter: '' }] });
    const [limits] = parseFile('limits L\n  land 1 h 30 min before sunset').entries;
    expect(limits?.syntax.details[0]?.slots['duration']).toMatchObject({
      parts: [
        { number: { value: 1 }, unit: { text: 'h' } },
        { number: { value: 30 }, unit: { text: 'min' } },
      ],
    });
    const [task] = parseFile('task T\n  takeoff 13:30-02:30').entries;
    expect(task?.syntax.details[0]?.slots['time']).toMatchObject({ hour: 13, minute: 30, zoneMinutes: -150 });
    const [reserve] = parseFile('reserve R\n  performance 20:1').entries;
    expect(reserve?.syntax.details[0]?.slots['share']).toMatchObject({ kind: 'ratio', value: 20 });
  });

  test('names compare after normalisation, and know quotes and keywords', () => {
    const names = parseFile('task e\u0301\ntask "é"\ntask Turn').entries.map(({ syntax }) => syntax.name);
    expect(names).toMatchObject([
      { text: 'é', quoted: false, keyword: false },
      { text: 'é', quoted: true, keyword: false },
      { text: 'Turn', quoted: false, keyword: true },
    ]);
  });

  test('flags', () => {
    const [task] = parseFile('task T\n  turn A\n  turn A at best glide\n  turn A at maccready 3 kt').entries;
    expect(task && detailsOf(task.syntax, 'turn').map((line) => Object.keys(line.flags))).toEqual([
      [],
      ['bestGlide'],
      ['maccready'],
    ]);
  });
});

describe('broken lines', () => {
  const inTask = (line: string) => underlined(`task T\n  ${line}\n`);
  const inField = (line: string) => underlined(`field F at 47 N 19 E\n  ${line}\n`);

  test('something is missing', () => {
    expect(
      [
        inTask('start Larkfield 3200 ft MSL'),
        inTask('climb 4800 ft MSL'),
        inTask('climb to'),
        inTask('finish'),
        inTask('turn at 60 kt'),
        inTask('turn A at'),
        inTask('turn A at best'),
        inTask('aircraft Finch with 82 kg'),
        inTask('start'),
        inField('runway 18/36'),
        underlined('weather W\n  wind from 230° at 8 kt'),
        underlined('weather W\n  thermals 11:30Z'),
        underlined('limits L\n  field'),
        underlined('limits L\n  reserve Training'),
        underlined('units\n  distance'),
        underlined('field'),
        underlined('field A'),
        underlined('field A at 47 N'),
        underlined('use club'),
      ].join('\n'),
    ).toMatchInlineSnapshot(`
      "  start Larkfield 3200 ft MSL
                        ^^^^ unexpected; expected \`at\`; found 3200
        climb 4800 ft MSL
              ^^^^ unexpected; expected \`to\`; found 4800
        climb to
              ^^ unexpected; expected a height with its datum, such as 3200 ft MSL, 1000 ft AGL or FL65; found the end of the line
        finish
        ^^^^^^ unexpected; expected the name of a field or turnpoint; found the end of the line
        turn at 60 kt
             ^^ unexpected; expected the name of a field or turnpoint; found at
        turn A at
               ^^ unexpected; expected a speed such as 75 kt, \`best glide\` or \`maccready 3 kt\`; found the end of the line
        turn A at best
                  ^^^^ unexpected; expected \`glide\`; found the end of the line
        aircraft Finch with 82 kg
                            ^^ unexpected; expected \`pilot\` or \`ballast\`; found 82
        start
        ^^^^^ unexpected; expected the name of a field or turnpoint; found the end of the line
        runway 18/36
               ^^^^^ unexpected; expected the length of the runway, such as 900 m; found the end of the line
        wind from 230° at 8 kt
             ^^^^ unexpected; expected \`surface\`, or an altitude such as 3000 ft MSL; found from
        thermals 11:30Z
                 ^^^^^^ unexpected; expected \`to\`; found the end of the line
        field
        ^^^^^ unexpected; expected \`in\`; found the end of the line
        reserve Training
                ^^^^^^^^ unexpected; expected \`at\`; found Training
        distance
        ^^^^^^^^ unexpected; expected \`NM\`, \`km\` or \`mi\`; found the end of the line
      field
      ^^^^^ unexpected; expected a name; found the end of the line
      field A
            ^ unexpected; expected \`at\`; found the end of the line
      field A at 47 N
                    ^ unexpected; expected coordinates, such as 47.2031 N 19.4410 E; found the end of the line
      use club
          ^^^^ unexpected; expected a path in quotes, such as "club/fields.taskplan"; found club"
    `);
  });

  test('something else stands there', () => {
    expect(
      [
        inTask('turn A at fast'),
        inTask('takeoff 2.30'),
        inTask('note Fly slowly'),
        inField('note "not closed'),
        underlined('weather W\n  date 13.06.2026'),
        underlined('weather W\n  wind high from 230° at 8 kt'),
        underlined('field 2nd at 47 N 19 E'),
        underlined('field A at N47 E19'),
        underlined('field A at 47.2031, 19.4410'),
        underlined('reserve R\n  performance most'),
      ].join('\n'),
    ).toMatchInlineSnapshot(`
      "  turn A at fast
                  ^^^^ unexpected; expected a speed such as 75 kt, \`best glide\` or \`maccready 3 kt\`; found fast
        takeoff 2.30
                ^^^^ unexpected; expected a time with its zone, such as 14:30Z or 14:30+02:00; found 2.30
        note Fly slowly
             ^^^ unexpected; expected text in quotes; found Fly
        note "not closed
             ^^^^^^^^^^^ text-unclosed
        date 13.06.2026
             ^^^^^ unexpected; expected a date, such as 2026-06-13; found 13.06
        wind high from 230° at 8 kt
             ^^^^ unexpected; expected \`surface\`, or an altitude such as 3000 ft MSL; found high
      field 2nd at 47 N 19 E
            ^ unexpected; expected a name; found 2
      field A at N47 E19
                 ^^^ unexpected; expected coordinates, such as 47.2031 N 19.4410 E; found N47
      field A at 47.2031, 19.4410
                        ^ unexpected; expected coordinates, such as 47.2031 N 19.4410 E; found ,
        performance most
                    ^^^^ unexpected; expected a share such as 70 %, or a glide ratio such as 20:1; found most"
    `);
  });

  test('something is too much', () => {
    expect(
      [
        inTask('turn A at 60 kt please'),
        inTask('turn Withy Bridge'),
        inTask('climb to 4800 ft MSL after 3 km at 3 kt'),
        inTask('aircraft Finch with pilot 82 kg and pilot 90 kg'),
        inField('runway 18/36 900 m grass'),
        inField('runway 18/36 900 m surface grass circuit left surface asphalt'),
        inField('elevation 190 m MSL really'),
        underlined('use "a" "b"'),
        underlined('field A at 47 12 N 19 20 E'),
      ].join('\n'),
    ).toMatchInlineSnapshot(`
      "  turn A at 60 kt please
                        ^^^^^^ line-too-long; found please
        turn Withy Bridge
                   ^^^^^^ line-too-long; expected \`at\` and a speed such as 75 kt, \`best glide\` or \`maccready 3 kt\`; found Bridge
        climb to 4800 ft MSL after 3 km at 3 kt
                                        ^^^^^^^ line-too-long; found at
        aircraft Finch with pilot 82 kg and pilot 90 kg
                                            ^^^^^ unexpected; expected \`ballast\`; found pilot
        runway 18/36 900 m grass
                           ^^^^^ line-too-long; expected \`surface\` or \`circuit\`; found grass
        runway 18/36 900 m surface grass circuit left surface asphalt
                                                      ^^^^^^^^^^^^^^^ line-too-long; found surface
        elevation 190 m MSL really
                            ^^^^^^ line-too-long; found really
      use "a" "b"
              ^^^ line-too-long; found "b"
      field A at 47 12 N 19 20 E
                         ^^^^^^^ line-too-long; found 19"
    `);
  });

  test('the line is none of its entry, or of none', () => {
    expect(
      [
        inField('polar 60 kt sink 2 kt'),
        inTask('trun A'),
        inTask('"A"'),
        underlined('wibble W\n  wobble 1 kt'),
        underlined('"task" T'),
        underlined('  turn A\nuse "a"'),
        underlined('task T\nturn A'),
        underlined('task T\nturn "A'),
      ].join('\n'),
    ).toMatchInlineSnapshot(`
      "  polar 60 kt sink 2 kt
        ^^^^^ detail-unknown; found polar
        trun A
        ^^^^ detail-unknown; found trun
        "A"
        ^^^ detail-unknown; found "A"
      wibble W
      ^^^^^^ entry-unknown; found wibble
      "task" T
      ^^^^^^ entry-unknown; found "task"
        turn A
        ^^^^^^ detail-without-entry
      turn A
      ^^^^ not-indented; found turn
      turn "A
      ^^^^ not-indented; found turn"
    `);
  });
});

describe('recovery', () => {
  const all = EVERYTHING.split('\n');
  const whole = parseFile(EVERYTHING);
  const details = all.flatMap((line, i) => (/^ {2}[a-z]/.test(line) ? [i] : []));

  test('a line with words left out, doubled or put in has one problem at most, and every other line is intact', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...details),
        fc.nat(),
        fc.constantFrom('', 'at', 'kt', '3', 'wibble', '"', '°', 'turn', '12:30Z', '{'),
        fc.boolean(),
        (at, where, put, drop) => {
          const words = (all[at] as string).trim().split(/ +/);
          words.splice(where % (words.length + 1), drop ? 1 : 0, ...(put ? [put] : []));
          const text = all.toSpliced(at, 1, `  ${words.join(' ')}`).join('\n');
          const file = parseFile(text, whole);
          const broken = lines(file).filter((line) => line.problems.length > 0);
          expect(broken.length).toBeLessThanOrEqual(1);
          expect(broken.flatMap((line) => line.problems).length).toBe(broken.length);
          const intact = (file: FileSyntax) => lines(file).filter((line) => line.problems.length === 0).length;
          expect(intact(file)).toBeGreaterThanOrEqual(intact(whole) - 1);
        },
      ),
      { numRuns: 400 },
    );
  });

  test('a broken first line costs its entry alone', () => {
    for (const [i, line] of all.entries()) {
      if (!/^[a-z]/.test(line)) continue;
      for (const head of ['wibble', line.split(' ')[0] as string, `${line} {`]) {
        const file = parseFile(all.toSpliced(i, 1, head).join('\n'), whole);
        const broken = lines(file).filter((read) => read.problems.length > 0);
        expect(broken.length).toBeLessThanOrEqual(1);
        expect(file.entries.length).toBe(whole.entries.length);
      }
    }
  });

  test('what could be read of a broken line is kept', () => {
    const [task] = parseFile(
      'task T\n  turn "Corran Dam" at 60 kt please\n  start Larkfield 3200 ft MSL\n  climb to 4800 ft MSL at',
    ).entries;
    const [turn, start, climb] = task?.syntax.details ?? [];
    expect(turn?.slots).toMatchObject({ point: { text: 'Corran Dam' }, speed: { number: { value: 60 } } });
    expect(start?.slots).toMatchObject({ point: { text: 'Larkfield' } });
    expect(climb?.slots).toMatchObject({ altitude: { number: { value: 4800 }, datum: { datum: 'MSL' } } });
  });
});

test('a line whose kinds of tokens were read before is read as the parser reads it', () => {
  let well = 0;
  fc.assert(
    fc.property(fc.oneof(plan, mutated(plan)), (text) => {
      for (const { entries } of [parseFile(text), parseFile(text)]) {
        for (const { syntax } of entries) {
          for (const line of linesOf(syntax)) {
            if (!line.form) continue;
            forgetShapes();
            const { slots, flags, problems } = parseLine(syntax.text, line.form, line.tokens);
            expect(line.slots).toEqual(slots);
            expect(line.flags).toEqual(flags);
            if (problems.length > 0) expect(line.problems).toHaveLength(1);
            else well += 1;
          }
        }
      }
    }),
    { numRuns: 1000 },
  );
  expect(well).toBeGreaterThan(5000);
});

test('lines of more kinds than are kept are read as the parser reads them, and so is a very long one', () => {
  const pieces = ['x', '7', '%', '"a"', '09/27', 'km', '§', 'turn'];
  const several = (n: number): string[] =>
    n === 0 ? [''] : several(n - 1).flatMap((line) => pieces.map((one) => `${line} ${one}`));
  const texts = [...several(4), ...several(2), ` x${' 7'.repeat(1000)}`].map((line) => `task T\n  turn${line}\n`);
  const read = (text: string) => plain(parseFile(text));
  const [once, again] = [texts.map(read), texts.map(read)];
  const afresh = texts.map((text) => {
    forgetShapes();
    return read(text);
  });
  expect(once).toEqual(afresh);
  expect(again).toEqual(afresh);
});
