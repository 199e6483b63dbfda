/** The shape of a file: outline, folding, growing selections; and the entries of all files by name. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { DocumentSymbol, Range, SelectionRange } from 'vscode-languageserver-types';
import { SymbolKind } from 'vscode-languageserver-types';
import { documentSymbols } from '../../server/features/document-symbols.ts';
import { foldingRanges } from '../../server/features/folding.ts';
import { selectionRanges } from '../../server/features/selection-ranges.ts';
import { MOST_SYMBOLS, workspaceSymbols } from '../../server/features/workspace-symbols.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { anyText, plan } from '../grammar/plans.ts';
import { liesIn, marked, positionOf, ROOT, samplePlaces, textIn } from './marked.ts';

const understood = (text: string): Understood => {
  const workspace = createWorkspace(['file:///']);
  return understand(workspace, setFile(workspace, 'file:///x.taskplan', text));
};

const isInside = (outer: Range, inner: Range): boolean => {
  const key = ({ line, character }: Range['start']) => line * 1e6 + character;
  return key(outer.start) <= key(inner.start) && key(inner.end) <= key(outer.end);
};

const isEqual = (a: Range, b: Range): boolean => isInside(a, b) && isInside(b, a);

describe('outline', () => {
  const outline = (text: string): string[] => {
    const show = ({ name, detail, children }: DocumentSymbol, by: string): string[] => [
      `${by}${name}${detail === undefined ? '' : ` · ${detail}`}`,
      ...(children ?? []).flatMap((child) => show(child, `${by}  `)),
    ];
    return documentSymbols(marked(text).understood).flatMap((symbol) => show(symbol, ''));
  };

  const TASK = `use "club.taskplan"

# Home again.
task Short
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at 3200 ft MSL
  climb    to 4800 ft MSL
  turn     "Withy Bridge"
  # High enough.
  climb    to 5200 ft MSL
  finish   Larkfield at 60 kt
`;

  test('legs stand under their task, with distance and margin', () => {
    const [use, task, first, second] = outline(TASK);
    expect(use).toBe('club.taskplan');
    expect(task).toMatch(/^Short · 17\.6 NM, .* gliding, .* climbing, .* in all$/);
    expect(first).toMatch(/^ {2}1 Larkfield → Withy Bridge · 8\.8 NM, margin [+−][\d,]+ ft$/);
    expect(second).toMatch(/^ {2}2 Withy Bridge → Larkfield · 8\.8 NM, margin [+−][\d,]+ ft$/);
  });

  test('in the units of the reader', () => {
    const [, , , first] = outline(`units\n  distance km\n  altitude m\n\n${TASK}`);
    expect(first).toMatch(/ · 16\.3 km, margin [+−][\d,]+ m$/);
  });

  test('each entry with what matters most of it', () => {
    expect(
      outline(`units
  altitude m
field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m
turnpoint "Withy Bridge" at 47.3380 N 19.5240 E
obstacle Mast at 47.2 N 19.4 E
  top 320 m MSL
airspace Zone
  floor FL65
aircraft Finch
  best glide 32:1 at 49 kt
  minimum sink 1.3 kt at 41 kt
  polar mass 310 kg
  vs 34 kt
  vne 115 kt
aircraft Wren
weather Saturday
  date 2026-06-13
  wind surface from 230° at 8 kt
  wind 900 m MSL from 230° at 14 kt
reserve Training
  arrive 300 m AGL
limits Solo for all tasks
  within 12 NM of Larkfield
terrain "tiles"
task
field
use
`),
    ).toEqual([
      'units',
      'Larkfield · 190 m MSL',
      'Withy Bridge · elevation not known',
      'Mast · top 320 m MSL',
      'Zone · FL65 to not known',
      'Finch · best glide 32.0:1 at 49 kt',
      'Wren · no polar',
      'Saturday · 2026-06-13, wind up to 14 kt',
      'Training · 300 m over a field',
      'Solo · for all tasks, within 12.0 NM of Larkfield',
      'tiles',
      'task without a name · no legs',
      'field without a name · elevation not known',
      'use without a path',
    ]);
  });

  test('a leg that is not computed, and one without a name', () => {
    expect(outline('task T\n  turn Nowhere\n  finish\n').slice(1)).toEqual([
      '  1 ? → Nowhere · not computed',
      '  2 Nowhere → ? · not computed',
    ]);
  });

  test('ranges: the comment above belongs to the entry, climbs to the leg they lead into', () => {
    const [, task] = documentSymbols(marked(TASK).understood);
    const text = (range: Range | undefined) => textIn(TASK, range ?? expect.fail());
    expect(text(task?.range)).toBe(TASK.slice(TASK.indexOf('# Home')).trimEnd());
    expect(text(task?.selectionRange)).toBe('Short');
    expect(text(task?.children?.[1]?.range)).toBe('climb    to 5200 ft MSL\n  finish   Larkfield at 60 kt');
    expect(text(task?.children?.[1]?.selectionRange)).toBe('finish   Larkfield at 60 kt');
    expect(text(task?.children?.[0]?.range).split('\n')[0]).toBe('start    Larkfield at 3200 ft MSL');
    expect(task?.kind).toBe(SymbolKind.Function);
  });

  test('what a name holds is shown harmless', () => {
    expect(outline('weather "a\u202eb"\n')[0]).toBe('a<U+202E>b');
  });
});

describe('folding', () => {
  const folds = (text: string): string[] =>
    foldingRanges(understood(text).file.syntax).map(
      ({ startLine, endLine, kind }) => `${startLine}-${endLine}${kind ? ` ${kind}` : ''}`,
    );

  test('an entry from its first line to its last detail', () => {
    expect(folds('weather W\n  qnh 1 hPa\n\n  note "x"\n\n\nreserve R\n  arrive 1 ft AGL\n')).toEqual(['0-3', '6-7']);
    expect(folds('weather W\n\nfeild F at\n  elevation 1 m')).toEqual(['2-3']);
  });

  test('comments above the next entry are not of this one', () => {
    expect(folds('weather W\n  qnh 1 hPa\n# About R,\n# in two lines.\nreserve R\n  arrive 1 ft AGL\n')).toEqual([
      '0-1',
      '2-3 comment',
      '4-5',
    ]);
    expect(folds('weather W\n  qnh 1 hPa\n\n# Reserves\n\nreserve R\n')).toEqual(['0-1']);
    expect(folds('weather W\n  qnh 1 hPa\n# the end\n')).toEqual(['0-1']);
  });

  test('comments inside an entry are of it', () => {
    expect(folds('weather W\n# left\n  qnh 1 hPa\n  # a\n  # b\n# c\nreserve R\n')).toEqual(['0-4', '3-4 comment']);
  });

  test('comments of two lines and more', () => {
    expect(folds('# a\n# b\n\n# c\n\n# d\n# e\n# f\n')).toEqual(['0-1 comment', '5-7 comment']);
    expect(folds('\uFEFF# a\r\n# b\r\nweather W # c\r\n  # d')).toEqual(['0-1 comment', '2-3']);
  });

  test('runs of `use` lines, whatever stands between', () => {
    expect(folds('# Head\nuse "a"\nuse "b"\n\n# more\nuse "c"\n\nweather W\nuse "d"\nweather V\n')).toEqual([
      '1-5 imports',
    ]);
  });

  test('nothing in an empty file', () => {
    expect(folds('')).toEqual([]);
    expect(folds('\n\n')).toEqual([]);
  });
});

describe('growing selection', () => {
  /** What is selected step by step; the last step, the file, is left out. */
  function steps(text: string): string[] {
    const m = marked(text);
    const plain = m.texts.get('plan.taskplan') as string;
    const found: string[] = [];
    let at: SelectionRange | undefined = selectionRanges(m.understood.file.syntax, [m.position])[0];
    for (; at; at = at.parent) found.push(textIn(plain, at.range));
    expect(found.pop()).toBe(plain);
    return found;
  }
  const inTask = (line: string) => steps(`# Mine.\ntask T\n  ${line}  # end\n\nweather W\n`).slice(0, -1);

  test('number, quantity, quantity with its words, line, entry with its comment, file', () => {
    expect(
      steps('weather W\n# Mine,\n# all mine.\ntask T\n  start Larkfield at 32$000 ft MSL  # high\n\n# end\n'),
    ).toEqual([
      '3200',
      '3200 ft MSL',
      'at 3200 ft MSL',
      'start Larkfield at 3200 ft MSL',
      '# Mine,\n# all mine.\ntask T\n  start Larkfield at 3200 ft MSL  # high',
    ]);
  });

  test('unit and datum', () => {
    expect(inTask('start Larkfield at 3200 f$0t MSL').slice(0, 2)).toEqual(['ft', '3200 ft MSL']);
    expect(inTask('start Larkfield at 3200 ft M$0SL').slice(0, 2)).toEqual(['MSL', '3200 ft MSL']);
    expect(inTask('start Larkfield at 3200$0ft MSL').slice(0, 2)).toEqual(['ft', '3200ft MSL']);
  });

  test('a name in quotes: without them first', () => {
    expect(inTask('turn "Withy$0 Bridge" at best glide')).toEqual([
      'Withy Bridge',
      '"Withy Bridge"',
      'turn "Withy Bridge" at best glide',
    ]);
    expect(inTask('turn $0Ashmoor')).toEqual(['Ashmoor', 'turn Ashmoor']);
  });

  test('a value with the words that say what it is', () => {
    expect(inTask('aircraft Finch with pilot 82 kg and ballast 1$00 kg').slice(1, 4)).toEqual([
      '10 kg',
      'and ballast 10 kg',
      'aircraft Finch with pilot 82 kg and ballast 10 kg',
    ]);
    expect(inTask('turn Ashmoor at maccready $03 kt')).toEqual([
      '3',
      '3 kt',
      'at maccready 3 kt',
      'turn Ashmoor at maccready 3 kt',
    ]);
    expect(steps('weather W\n  wind surface from 23$00° at 8 kt\n').slice(0, 4)).toEqual([
      '230',
      '230°',
      'from 230°',
      'wind surface from 230° at 8 kt',
    ]);
  });

  test('keywords, coordinates, runways, durations', () => {
    expect(steps('aircraft A\n  be$0st glide 32:1 at 49 kt\n').slice(0, 3)).toEqual([
      'best',
      'best glide',
      'best glide 32:1 at 49 kt',
    ]);
    expect(steps(`field F at 47°12.19'N 019°26.$046'E\n`)).toEqual([
      "019°26.46'",
      "019°26.46'E",
      "47°12.19'N 019°26.46'E",
      "at 47°12.19'N 019°26.46'E",
      "field F at 47°12.19'N 019°26.46'E",
    ]);
    expect(steps('field F\n  runway 18/$036 900 m\n').slice(0, 3)).toEqual(['36', '18/36', 'runway 18/36 900 m']);
    expect(steps('limits L\n  land 1 h 3$00 min before sunset\n').slice(0, 4)).toEqual([
      '30',
      '30 min',
      '1 h 30 min',
      'land 1 h 30 min before sunset',
    ]);
  });

  test('comments', () => {
    expect(steps('weather W\n\n# Mine,\n# all$0 mine.\ntask T\n')).toEqual([
      '# all mine.',
      '# Mine,\n# all mine.',
      '# Mine,\n# all mine.\ntask T',
    ]);
    expect(steps('task T\n  # one\n  # tw$0o\n  turn X\n')).toEqual([
      '# two',
      '  # one\n  # two',
      'task T\n  # one\n  # two\n  turn X',
    ]);
    expect(inTask('turn X # h$0igh')[0]).toBe('# high  # end');
  });

  test('an empty line between entries: the file', () => {
    expect(steps('task T\n\n$0\nweather W\n')).toEqual([]);
    expect(steps('$0')).toEqual([]);
  });

  test('one answer for each position, even outside the text', () => {
    const { syntax } = understood('task T\n').file;
    expect(
      selectionRanges(syntax, [
        { line: 0, character: 0 },
        { line: 99, character: 9 },
        { line: 0, character: 99 },
      ]),
    ).toHaveLength(3);
  });
});

describe('entries by name', () => {
  const found = (text: string, query: string): string[] =>
    workspaceSymbols(marked(text).workspace, query).map(({ name }) => name);
  const FIELDS = ['Larkfield', 'Wide Larch', 'Alder-Kirk', 'BlueAsh', 'Öland', 'ashmoor', 'Ashmoor', 'Parkland'];
  const TEXT = `//- club.taskplan\n${FIELDS.map((name) => `field "${name}" at 47.2 N 19.4 E\n`).join('')}`;

  test('the beginning of a name first, then the beginning of a word, then anywhere, the shorter first', () => {
    expect(found(TEXT, 'lar')).toEqual(['Larkfield', 'Wide Larch']);
    expect(found(TEXT, 'ark')).toEqual(['Alder-Kirk', 'Parkland', 'Larkfield']);
    expect(found(TEXT, 'ak')[0]).toBe('Alder-Kirk');
  });

  test('characters in order are enough', () => {
    expect(found(TEXT, 'lfd')).toEqual(['Larkfield']);
    expect(found(TEXT, 'lfx')).toEqual([]);
    expect(found(TEXT, 'dleifkral')).toEqual([]);
  });

  test('words by their first letters, capitals inside a word among them', () => {
    expect(found(TEXT, 'wl')).toEqual(['Wide Larch']);
    expect(found(TEXT, 'ba')).toEqual(['BlueAsh']);
    expect(found(TEXT, 'wide larch')).toEqual(['Wide Larch']);
    expect(found(TEXT, 'widelarch')).toEqual(['Wide Larch']);
  });

  test('characters side by side before those apart, a capital inside a word before a small letter', () => {
    const ordered = (names: string, query: string) => found(`//- club.taskplan\n${names}`, query);
    expect(ordered('weather Kroxaxd\nweather Kroadka\n', 'oad')).toEqual(['Kroadka', 'Kroxaxd']);
    expect(ordered('weather Blueash\nweather BlueAsh\n', 'ba')).toEqual(['BlueAsh', 'Blueash']);
  });

  test('case decides only between equals', () => {
    expect(found(TEXT, 'Ashm')).toEqual(['Ashmoor', 'ashmoor']);
    expect(found(TEXT, 'ashm')).toEqual(['ashmoor', 'Ashmoor']);
  });

  test('accents need not be typed', () => {
    expect(found(TEXT, 'oland')).toEqual(['Öland']);
    expect(found(TEXT, 'Öl')).toEqual(['Öland']);
  });

  test('without a query the first ones, by file and line, and never more than are read', () => {
    expect(found(TEXT, '')).toEqual(FIELDS);
    const many = Array.from({ length: MOST_SYMBOLS + 50 }, (_, i) => `weather W${i}\n`).join('');
    expect(found(`//- club.taskplan\n${many}`, '')).toHaveLength(MOST_SYMBOLS);
    expect(found(`//- club.taskplan\n${many}`, 'w')).toHaveLength(MOST_SYMBOLS);
    expect(found(`//- club.taskplan\n${many}`, 'w249')).toEqual(['W249']);
  });

  test('each with its kind, its file and the place of its name', () => {
    const [symbol] = workspaceSymbols(marked('//- club.taskplan\n\ntask "Long Way"\n').workspace, 'lw');
    expect(symbol).toEqual({
      name: 'Long Way',
      kind: SymbolKind.Function,
      containerName: 'club.taskplan',
      location: {
        uri: `${ROOT}/club.taskplan`,
        range: { start: { line: 1, character: 5 }, end: { line: 1, character: 15 } },
      },
    });
  });

  test('any query over any plan', () => {
    fc.assert(
      fc.property(plan, anyText, (text, query) => {
        const { workspace } = marked(`//- club.taskplan\n${text}`);
        expect(workspaceSymbols(workspace, query).length).toBeLessThanOrEqual(MOST_SYMBOLS);
      }),
      { numRuns: 200 },
    );
  });
});

/** What has to hold of a file's shape, whatever its text. */
function checkShape(text: string, understood: Understood, positions: readonly Range['start'][]): void {
  const { file } = understood;
  const lines = text.split(/\r\n|\n|\r/).length;
  let last = -1;
  for (const { startLine, endLine } of foldingRanges(file.syntax)) {
    expect(startLine < endLine && endLine < lines && startLine >= last).toBe(true);
    last = startLine;
  }
  const checkSymbols = (symbols: readonly DocumentSymbol[], parent?: DocumentSymbol): void => {
    for (const [i, symbol] of symbols.entries()) {
      expect(symbol.name).not.toBe('');
      expect(liesIn(text, symbol.range)).toBe(true);
      expect(isInside(symbol.range, symbol.selectionRange)).toBe(true);
      if (parent) expect(isInside(parent.range, symbol.range)).toBe(true);
      const next = symbols[i + 1];
      if (next) expect(isInside({ start: symbol.range.end, end: next.range.end }, next.range)).toBe(true);
      checkSymbols(symbol.children ?? [], symbol);
    }
  };
  checkSymbols(documentSymbols(understood));
  const answers = selectionRanges(file.syntax, positions);
  for (const [i, answer] of answers.entries()) {
    const at = positions[i] as Range['start'];
    expect(isInside(answer.range, { start: at, end: at })).toBe(true);
    for (let one = answer; one.parent; one = one.parent) {
      if (!isInside(one.parent.range, one.range) || isEqual(one.parent.range, one.range))
        throw new Error(`${JSON.stringify(one)} does not grow`);
      expect(liesIn(text, one.range)).toBe(true);
    }
  }
}

test('anywhere in the samples', () => {
  for (const { understood: sample, text, positions } of samplePlaces()) checkShape(text, sample, positions);
});

test('any text, any place', () => {
  fc.assert(
    fc.property(fc.oneof(anyText, plan), fc.array(fc.nat(), { maxLength: 4 }), (text, places) => {
      const file = understood(text);
      // What is not text is looked at as if it were empty.
      const read = file.file.syntax.text;
      const positions = places.map((place) => positionOf(read, place % (read.length + 1)));
      checkShape(read, file, positions);
    }),
    { numRuns: 1000 },
  );
});
