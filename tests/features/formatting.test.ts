/** Formatting as edits: the same text as the formatter's, by the least edits, and never a line that cannot be read. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { FileSyntax } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { linesOf } from '../../grammar/syntax.ts';
import { formatDocument, formatOnType, formatRange, ON_TYPE_TRIGGERS } from '../../server/features/formatting.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { anyText } from '../grammar/plans.ts';
import { applied, liesIn, marked, samplePlaces, textIn } from './marked.ts';

const understood = (text: string) => {
  const workspace = createWorkspace(['file:///']);
  return understand(workspace, setFile(workspace, 'file:///x.taskplan', text));
};

const formatted = (text: string) => applied(text, formatDocument(understood(text)));

/** The text after a character has been typed, the caret being behind it. */
function afterTyping(text: string, typed: string): string {
  const m = marked(text);
  const plain = m.texts.get('plan.taskplan') as string;
  return applied(plain, formatOnType(m.understood, m.position, typed));
}

describe('a document', () => {
  test('is laid out line by line', () => {
    expect(formatted('\n\nReserve  Training # keep\n arrive 1000ft agl\n\n\n\n turn\t1500 FT AGL\n\n\n')).toBe(
      'reserve Training  # keep\n  arrive      1000 ft AGL\n\n  turn        1500 ft AGL\n',
    );
  });

  test('each edit is as small as it can be', () => {
    const text = 'reserve Training\n  arrive      1000ft AGL\n  turn        1500 ft AGL\n';
    expect(formatDocument(understood(text))).toEqual([
      { range: { start: { line: 1, character: 18 }, end: { line: 1, character: 18 } }, newText: ' ' },
    ]);
  });

  test('a line that cannot be read stays as it is, and costs no other', () => {
    const text = 'reserve Training\n arrive   1000ft\tAGL AGL\n turn 1500ft agl\n';
    expect(formatted(text)).toBe('reserve Training\n arrive   1000ft\tAGL AGL\n  turn        1500 ft AGL\n');
  });

  test('line ends and a byte order mark stay', () => {
    expect(formatted('\uFEFFReserve T\r\n arrive 1000ft AGL\r\n\r\n\r\n\r\n')).toBe(
      '\uFEFFreserve T\r\n  arrive      1000 ft AGL\r\n',
    );
    expect(formatted('\uFEFF\r\n\r\nreserve T\n')).toBe('\uFEFFreserve T\r\n');
  });

  test('the edits make the text that the formatter makes, whatever the text', () => {
    fc.assert(
      fc.property(anyText, fc.constantFrom('\n', '\r\n', '\r'), (random, lineEnd) => {
        const text = random.replaceAll('\n', lineEnd);
        const file = understood(text);
        const wanted = formatFile(file.file.syntax);
        const edits = formatDocument(file);
        expect(edits.every(({ range }) => liesIn(text, range))).toBe(true);
        const isText = !file.file.notText && 'text' in wanted;
        expect(applied(text, edits)).toBe(isText ? wanted.text : text);
      }),
      { numRuns: 1000 },
    );
  });
});

describe('a range', () => {
  const TEXT = 'reserve Training\n arrive 1000ft agl\n turn 1500ft agl\n clear 500ft\n\nreserve  Other\n';
  const range = (from: number, to: number, character = 1) => ({
    start: { line: from, character: 3 },
    end: { line: to, character },
  });
  const laidOut = (from: number, to: number, character?: number) =>
    applied(TEXT, formatRange(understood(TEXT), range(from, to, character)));

  test('whole lines are laid out, and no other', () => {
    expect(laidOut(2, 2)).toBe(TEXT.replace(' turn 1500ft agl', '  turn        1500 ft AGL'));
    expect(laidOut(3, 5)).toBe(
      TEXT.replace(' clear 500ft', '  clear       500 ft').replace('reserve  Other', 'reserve Other'),
    );
  });

  test('a line whose first character the range does not reach is left', () => {
    expect(laidOut(2, 3, 0)).toBe(laidOut(2, 2));
  });
});

describe('on a line end', () => {
  test('the line above is laid out', () => {
    expect(afterTyping('task Short\n  start Larkfield at 4800ft msl\n$0', '\n')).toBe(
      'task Short\n  start     Larkfield at 4800 ft MSL\n  ',
    );
  });

  test('a line that is not finished is left, and its indentation kept', () => {
    expect(afterTyping('task Short\n    start Larkfield at\n$0', '\n')).toBe(
      'task Short\n    start Larkfield at\n    ',
    );
  });

  test('a detail is indented under an entry', () => {
    expect(afterTyping('weather Saturday\n$0', '\n')).toBe('weather Saturday\n  ');
    expect(afterTyping('weather Saturday\r\n$0\r\n\r\nreserve T\r\n', '\n')).toBe(
      'weather Saturday\r\n  \r\n\r\nreserve T\r\n',
    );
  });

  test('nothing is indented under an entry that has no details', () => {
    expect(afterTyping('use "club.taskplan"\n  $0', '\n')).toBe('use "club.taskplan"\n');
    expect(afterTyping('# remark\n$0', '\n')).toBe('# remark\n');
  });

  test('what the editor has indented is left', () => {
    const m = marked('weather Saturday\n  $0');
    expect(formatOnType(m.understood, m.position, '\n')).toEqual([]);
  });

  test('a second line end leaves a complete entry', () => {
    expect(afterTyping('reserve Training\n  arrive      1000 ft AGL\n  \n  $0', '\n')).toBe(
      'reserve Training\n  arrive      1000 ft AGL\n\n',
    );
  });

  test('and stays in one that lacks something', () => {
    expect(afterTyping('reserve Training\n  turn        1500 ft AGL\n  \n  $0', '\n')).toBe(
      'reserve Training\n  turn        1500 ft AGL\n\n  ',
    );
  });

  test('a line with text keeps its place', () => {
    expect(afterTyping('reserve Training\n$0reserve Other\n', '\n')).toBe('reserve Training\nreserve Other\n');
    expect(afterTyping('reserve Training\n$0arrive 1000 ft AGL\n', '\n')).toBe(
      'reserve Training\narrive 1000 ft AGL\n',
    );
  });
});

describe('on a space', () => {
  test('the unit before it is spelled as units are', () => {
    expect(afterTyping('task Short\n  climb to 4800ft $0', ' ')).toBe('task Short\n  climb to 4800 ft ');
    expect(afterTyping('task Short\n  climb to 4800ft msl $0', ' ')).toBe('task Short\n  climb to 4800 ft MSL ');
    expect(afterTyping('weather Saturday\n  temperature 24c $0', ' ')).toBe('weather Saturday\n  temperature 24 °C ');
    expect(afterTyping('limits Solo\n  duration 2H $0', ' ')).toBe('limits Solo\n  duration 2 h ');
    expect(afterTyping('weather Saturday\n  wind 3000FT msl $0', ' ')).toBe('weather Saturday\n  wind 3000 ft MSL ');
  });

  test('nothing else is touched', () => {
    for (const text of [
      'weather Saturday\n  wind 3000 ft MSL from 230° $0',
      'weather Saturday\n  wind 3000 feet $0',
      'task Short\n  note "4800ft $0',
      'task Short\n  # 4800ft $0',
      'task "4800ft $0',
      'task Short\n  climb to 4800 $0',
      '$0',
    ])
      expect(afterTyping(text, ' ')).toBe(text.replace('$0', ''));
  });
});

test('anywhere in the samples, as they are and untidy: edits lie in the document and break no line', () => {
  const problemsOf = ({ syntax }: { syntax: FileSyntax }) =>
    syntax.entries.flatMap(({ syntax: entry }) => linesOf(entry).flatMap((line) => line.problems)).length;
  for (const { understood: sample, text: tidy, positions } of samplePlaces()) {
    expect(formatDocument(sample)).toEqual([]);
    const untidy = tidy
      .replace(/(\d) (?=ft|kt|kg)/g, '$1')
      .replaceAll(' MSL', '  msl')
      .replaceAll('\n  ', '\n ');
    for (const text of [tidy, untidy]) {
      const file = understood(text);
      const problems = problemsOf(file.file);
      const seen = new Set<string>();
      for (const [i, position] of positions.entries()) {
        const end = positions[i + 4] ?? position;
        const all = [
          formatRange(file, { start: position, end }),
          ...ON_TYPE_TRIGGERS.map((c) => formatOnType(file, position, c)),
        ];
        for (const edits of all) {
          const key = JSON.stringify(edits);
          if (edits.length === 0 || seen.has(key)) continue;
          seen.add(key);
          expect(edits.every(({ range }) => liesIn(text, range))).toBe(true);
          expect(problemsOf(understood(applied(text, edits)).file)).toBe(problems);
        }
      }
    }
  }
});

test('any text, any place: no edit changes what is said', () => {
  fc.assert(
    fc.property(anyText, fc.nat(), fc.constantFrom(...ON_TYPE_TRIGGERS), (text, seed, typed) => {
      const m = understood(text);
      const lines = text.split(/\r\n|\n|\r/);
      const line = seed % lines.length;
      const character = seed % ((lines[line] as string).length + 1);
      const edits = formatOnType(m, { line, character }, typed);
      expect(edits.every(({ range }) => liesIn(text, range))).toBe(true);
      const plain = (of: string) => of.toLowerCase().replace(/[\s±°]|\+\/?-|[″”]|''|′′/g, '');
      for (const { range, newText } of edits) {
        if (plain(textIn(text, range)) !== plain(newText)) throw new Error(`${textIn(text, range)} → ${newText}`);
      }
    }),
    { numRuns: 1000 },
  );
});
