import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import { formatEntryLines, formatEntryText, formatFile } from '../../grammar/format.ts';
import { EVERYTHING, PLAN } from './example.ts';
import { anyText, mutated, plan } from './plans.ts';
import { lines, meaning } from './reading.ts';

function formatted(text: string): string {
  const result = formatFile(parseFile(text));
  if ('refused' in result) throw new Error(`refused: ${result.refused}`);
  return result.text;
}

const written = (text: string) => formatted(text).replace(/\n$/, '');
const inWeather = (line: string) => written(`weather W\n ${line}`).slice('weather W\n  '.length);

describe('the standard layout', () => {
  test('is that of the examples', () => {
    expect(formatted(PLAN)).toBe(PLAN);
    expect(formatted(EVERYTHING)).toBe(EVERYTHING);
  });

  test('keywords are lower case, names and texts as written', () => {
    expect(written('TASK Turn\n  NOTE "Fly  SLOWLY"\n  Finish LARKFIELD AT Best GLIDE')).toBe(
      'task Turn\n  note      "Fly  SLOWLY"\n  finish    LARKFIELD at best glide',
    );
  });

  test('a detail starts in a column of its kind of entry, whatever else stands there', () => {
    expect(written('reserve R\n clear 500 ft')).toBe('reserve R\n  clear       500 ft');
    expect(written('reserve R\n\tclear   500ft\n performance 70%')).toBe(
      'reserve R\n  clear       500 ft\n  performance 70 %',
    );
    expect(written('limits L\n field   in  glide\n reserve at least R')).toBe(
      'limits L\n  field in glide\n  reserve   at least R',
    );
  });

  test.each([
    ['wind surface from 230 ° at 8kt', 'wind        surface from 230° at 8 kt'],
    ['wind 3000FT msl from 045° m at 14KT+-4kt', 'wind        3000 ft MSL from 045°M at 14 kt ± 4 kt'],
    ['wind fl 65 from 255° at 20 KM/H +/- 4 M/S', 'wind        FL65 from 255° at 20 km/h ± 4 m/s'],
    ['temperature 24C at 190m msl', 'temperature 24 °C at 190 m MSL'],
    ['temperature 75.20°f at 1nm Agl', 'temperature 75.20 °F at 1 NM AGL'],
    ['qnh 29.920INHG', 'qnh         29.920 inHg'],
    ['thermals 11:30z TO 16:45z', 'thermals    11:30Z to 16:45Z'],
    ['lift 0003.50 kt to 5800', 'lift        0003.50 kt to 5800'],
    ['cloudbase 6,200 foot', 'cloudbase   6,200 foot'],
  ])('%s', (from, to) => {
    expect(inWeather(from)).toBe(to);
  });

  test.each([
    ['47.20310 n   19.4410 e', '47.20310 N 19.4410 E'],
    ['47.2031 ° N 19.4410° E', '47.2031°N 19.4410°E'],
    ["47° 12.19' N 019°26.46′ E", "47°12.19'N 019°26.46'E"],
    [`47°12' 11'' s 019°26’28.0” w`, `47°12'11"S 019°26'28.0"W`],
  ])('coordinates %s', (from, to) => {
    expect(written(`turnpoint Oakmere at ${from}`)).toBe(`turnpoint Oakmere at ${to}`);
  });

  test('runway ends', () => {
    expect(written('field F at 1 N 1 E\n runway 09l/27r 640m Surface Grass CIRCUIT Left')).toBe(
      'field F at 1 N 1 E\n  runway    09L/27R 640 m surface Grass circuit left',
    );
  });
});

describe('what is kept', () => {
  test('comments: left or indented, and two spaces behind a line', () => {
    expect(written('# a\n   #b  \nuse "x"#c\n\t# d\n#e')).toBe('# a\n  #b\nuse "x"  #c\n  # d\n#e');
  });

  test('empty lines, one in a row, none at either end', () => {
    expect(formatted('\n \nuse "a"\nuse "b"\n\n\t\n\nunits\n\n  mass kg\n\n\n')).toBe(
      'use "a"\nuse "b"\n\nunits\n\n  mass      kg\n',
    );
    expect(formatted('')).toBe('');
    expect(formatted(' \n\n')).toBe('');
  });

  test('the kind of line end, and the byte order mark', () => {
    expect(formatted('use  "a"\r\n\r\nuse  "b"')).toBe('use "a"\r\n\r\nuse "b"\r\n');
    expect(formatted('use  "a"\nuse  "b"\r\n')).toBe('use "a"\nuse "b"\n');
    expect(formatted('use  "a"\ruse  "b"')).toBe('use "a"\nuse "b"\n');
    expect(formatted('\uFEFFuse  "a"')).toBe('\uFEFFuse "a"\n');
    expect(formatted('\n\uFEFFuse  "a"')).toBe('\n\uFEFFuse  "a"\n');
  });

  test('lines that cannot be read, each as it stands; the others are formatted', () => {
    const broken = [
      'TASK  T',
      '   aircraft   Finch  with  82 kg   # oops  ',
      '  CLIMB to 4800 ft MSL',
      '    note   "not  closed  ',
      'climb   to 5000 ft MSL',
      'Wibble   W',
      '    wobble   1 kt',
      'RESERVE R',
    ].join('\n');
    expect(written(broken).split('\n')).toEqual([
      'task T',
      '   aircraft   Finch  with  82 kg   # oops  ',
      '  climb     to 4800 ft MSL',
      '    note   "not  closed  ',
      'climb   to 5000 ft MSL',
      'Wibble   W',
      '    wobble   1 kt',
      'reserve R',
    ]);
  });

  test('a word that is no unit stays as close to its number as it stands', () => {
    const broken = [
      'limits L',
      '    duration 3h30min',
      ' distance  12nmi # far',
      'weather W',
      ' lift   3fpm  to 5800 ft MSL',
      ' sink  1kt',
    ].join('\n');
    expect(written(broken).split('\n')).toEqual([
      'limits L',
      '  duration  3h30min',
      '  distance  12nmi  # far',
      'weather W',
      '  lift        3fpm to 5800 ft MSL',
      '  sink        1 kt',
    ]);
  });
});

describe('parts of a file', () => {
  test('an entry alone', () => {
    const [first, second] = parseFile('USE  "a"\n\n\nunits\n mass  KG').entries;
    expect(first && formatEntryText(first.syntax)).toBe('use "a"\n\n');
    expect(second && formatEntryText(second.syntax)).toBe('units\n  mass      kg');
  });

  test('line for line, so that any range can be formatted', () => {
    const [only] = parseFile('\uFEFFunits\r\n\r\n\r\n mass  KG # x').entries;
    expect(only && formatEntryLines(only.syntax)).toEqual(['\uFEFFunits', '', '', '  mass      kg  # x']);
  });
});

test('a mark that nobody sees stays where a remark ends, and spaces go', () => {
  expect(formatted('# one\uFEFF  \nuse "a"  # two \uFEFF\n')).toBe('# one\uFEFF\nuse "a"  # two \uFEFF\n');
  expect(formatted('# one\u00A0\u3000\n')).toBe('# one\n');
  const [entry] = parseFile('use  "a" # two\uFEFF').entries;
  expect(entry && formatEntryText(entry.syntax)).toBe('use "a"  # two\uFEFF');
});

describe('on any plan', () => {
  const keepsAll = (text: string) => {
    const before = parseFile(text);
    const once = formatted(text);
    const after = parseFile(once);
    expect(formatted(once)).toBe(once);
    expect(meaning(after)).toEqual(meaning(before));
    expect(once === '' || once === '\uFEFF' || once.endsWith('\n')).toBe(true);
    expect(/\n\r?\n\r?\n/.test(once)).toBe(false);
    for (const line of lines(after)) expect(line.tokens.length).toBeGreaterThan(0);
  };

  test('well-formed plans: the meaning, the digits and the comments stay, and a second time changes nothing', () => {
    fc.assert(fc.property(plan, keepsAll), { numRuns: 1000 });
  });

  test('plans with random damage', () => {
    fc.assert(fc.property(mutated(plan), keepsAll), { numRuns: 1000 });
    fc.assert(fc.property(mutated(fc.constant(EVERYTHING)), keepsAll), { numRuns: 30 });
  });

  test('any text at all', () => {
    fc.assert(fc.property(anyText, keepsAll), { numRuns: 1000 });
  });

  test('an entry alone is formatted as in its file', () => {
    fc.assert(
      fc.property(plan, (text) => {
        const { entries } = parseFile(text);
        for (const { syntax } of entries) {
          const own = formatEntryText(syntax);
          if (!syntax.text.startsWith('\uFEFF') && syntax.head) {
            expect(own?.replace(/(\r?\n)+$/, '')).toBe(formatted(syntax.text).replace(/(\r?\n)+$/, ''));
          }
        }
      }),
      { numRuns: 300 },
    );
  });

  test('well-formed plans hold no line that stays as written', () => {
    fc.assert(
      fc.property(plan, (text) => {
        expect(lines(parseFile(text)).flatMap((line) => line.problems)).toEqual([]);
        for (const line of formatted(text).replace('\uFEFF', '').split(/\r?\n/)) expect(line).toBe(line.trimEnd());
      }),
      { numRuns: 500 },
    );
  });
});
