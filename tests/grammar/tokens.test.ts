import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import { linesOf } from '../../grammar/syntax.ts';
import { Newline, tokenize } from '../../grammar/tokens.ts';
import { EVERYTHING, PLAN } from './example.ts';

const kinds = (text: string) =>
  tokenize(text)
    .tokens.map((tok) => `${tok.tokenType.name.replaceAll('`', '').replace(/^\p{Ll}.*/u, 'Keyword')}:${tok.image}`)
    .join(' | ');

describe('numbers and what follows them', () => {
  test.each([
    ['75 kt', 'Number:75 | Unit:kt'],
    ['75kt', 'Number:75 | Unit:kt'],
    ['75 KT', 'Number:75 | Unit:KT'],
    ['18.5 km/h', 'Number:18.5 | Unit:km/h'],
    ['130 FT/min', 'Number:130 | Unit:FT/min'],
    ['60 furlongs', 'Number:60 | Word:furlongs'],
    ['60 a/b', 'Number:60 | SlashWord:a/b'],
    ['70%', 'Number:70 | Unit:%'],
    ['24 °C', 'Number:24 | Unit:°C'],
    ['24C', 'Number:24 | Unit:C'],
    ['045° m', 'Number:045 | Unit:° m'],
    ['230° from', 'Number:230 | Degree:° | Keyword:from'],
    ['-3 °F', 'Number:-3 | Unit:°F'],
    ['−3 °F', 'Number:−3 | Unit:°F'],
    ['.5 kt', 'Number:.5 | Unit:kt'],
    ['1,250 ft', 'Number:1,250 | Unit:ft'],
    ['1.000.000', 'Number:1.000 | Number:.000'],
    ['4kt+-4kt', 'Number:4 | Unit:kt | PlusMinus:+- | Number:4 | Unit:kt'],
    ['± 4', 'PlusMinus:± | Number:4'],
    ['+/- 4', 'PlusMinus:+/- | Number:4'],
  ])('%s', (text, expected) => {
    expect(kinds(text)).toBe(expected);
  });
});

test('whatever character comes first, it is in a token of the kind that it begins', () => {
  const found = new Map<string, number>();
  for (let code = 0; code < 65_536; code++) {
    const char = String.fromCharCode(code);
    const { tokens, comments } = tokenize(`${char}b`);
    const [first] = [...tokens, ...comments];
    const kind = first?.tokenType.name ?? 'none';
    found.set(kind, (found.get(kind) ?? 0) + 1);
    const expected = /[\r\n]/.test(char)
      ? ['Newline', char]
      : /\s/.test(char)
        ? ['Word', 'b']
        : /[\p{L}_]/u.test(char)
          ? ['Word', `${char}b`]
          : char === '#'
            ? ['Comment', '#b']
            : char === '"'
              ? ['UnclosedStr', '"b']
              : [first?.tokenType.name, char];
    expect([kind, first?.image]).toEqual(expected);
    expect(tokens.length + comments.length).toBe(
      /\s/.test(char) && !/[\r\n]/.test(char) ? 1 : expected[1]?.length === 2 ? 1 : 2,
    );
  }
  // Ten digits, `°`, `%` and `±` by themselves; all else that is neither a letter nor a space is unknown.
  expect([found.get('Number'), found.get('Degree'), found.get('Unit'), found.get('PlusMinus')]).toEqual([10, 1, 1, 1]);
  expect(kinds('\u{20000}\u{20001}/\u{20002} \u{1f600}')).toBe(
    'SlashWord:\u{20000}\u{20001}/\u{20002} | Unknown:\u{1f600}',
  );
});

describe('compound tokens', () => {
  test.each([
    ['FL65', 'FlightLevel:FL65'],
    ['fl 065', 'FlightLevel:fl 065'],
    ['FL65a', 'Word:FL65a'],
    ['2026-06-13', 'Date:2026-06-13'],
    ['2026-06-13x', 'Number:2026 | Number:-06 | Number:-13 | Word:x'],
    ['14:30Z', 'ColonPair:14:30Z'],
    ['9:00Z-10:00Z', 'ColonPair:9:00Z | Number:-10 | Unknown:: | Number:00 | Word:Z'],
    ['9:00Z-x', 'ColonPair:9:00 | Word:Z-x'],
    ['14:30+02:00', 'ColonPair:14:30+02:00'],
    ['32:1', 'ColonPair:32:1'],
    ['18/36', 'Fraction:18/36'],
    ['09L/27r', 'Fraction:09L/27r'],
    ['runway 06C', 'Keyword:runway | RunwayEnd:06C'],
    [`47°12'11"N`, `Angle:47°12'11" | Word:N`],
    [`47° 12.19′ N`, `Angle:47° 12.19′ | Word:N`],
    ['47.2031°N', 'Number:47.2031 | Degree:° | Word:N'],
  ])('%s', (text, expected) => {
    expect(kinds(text)).toBe(expected);
  });
});

describe('words and texts', () => {
  test.each([
    ['Turn TO m', 'Keyword:Turn | Keyword:TO | Word:m'],
    [
      'Öland ŁĄKA_2 e\u0301tang Withy-Bridge 東',
      'Word:Öland | Word:ŁĄKA_2 | Word:e\u0301tang | Word:Withy-Bridge | Word:東',
    ],
    ['turns turn-2', 'Word:turns | Word:turn-2'],
    ['"a # b" #c', 'Str:"a # b"'],
    ['"a # b', 'UnclosedStr:"a # b'],
    ['"" "', 'Str:"" | UnclosedStr:"'],
    ['{ 😀 \0 \ud800', 'Unknown:{ | Unknown:😀 | Unknown:\0 | Unknown:\ud800'],
    ['\u00a0\t\ufeff\u2028a', 'Word:a'],
  ])('%s', (text, expected) => {
    expect(kinds(text)).toBe(expected);
  });

  test('comments stand apart, line ends are tokens', () => {
    const { tokens, comments } = tokenize('a # b "\r\n# c\rd\n');
    expect(tokens.map((tok) => tok.image)).toEqual(['a', '\r\n', '\r', 'd', '\n']);
    expect(comments.map((tok) => tok.image)).toEqual(['# b "', '# c']);
  });
});

test('the tokens of a line, asked for in any order and of several files in turn, are those of its text', () => {
  const texts = [EVERYTHING, `\ufeff${PLAN.replaceAll('\n', '\r\n')}`];
  const read = texts.map((text) =>
    parseFile(text).entries.flatMap(({ syntax, offset }) =>
      linesOf(syntax).map((line) => () => line.tokens.map((tok) => [tok.startOffset + offset, tok.image])),
    ),
  );
  const found: (readonly (readonly (number | string)[])[])[][] = [[], []];
  for (let i = 0; i < Math.max(...read.map((lines) => lines.length)); i++)
    for (const [j, lines] of read.entries()) {
      const line = lines.at(-1 - i);
      if (line) found[j]?.unshift(line());
    }
  for (const [j, text] of texts.entries())
    expect(found[j]?.flat()).toEqual(
      tokenize(text)
        .tokens.filter((tok) => tok.tokenType !== Newline)
        .map((tok) => [tok.startOffset, tok.image]),
    );
});
