/** Signs in the text: colours by meaning, and the numbers behind itinerary lines. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { InlayHintLabelPart, Range } from 'vscode-languageserver-types';
import { DEFAULT_HINTS, hintOptions, inlayHints } from '../../server/features/inlay-hints.ts';
import { deltaOf, TOKEN_MODIFIERS, TOKEN_TYPES, tokensOf } from '../../server/features/semantic-tokens.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { anyText } from '../grammar/plans.ts';
import { liesIn, marked, samplePlaces, textIn } from './marked.ts';

const ALL: Range = { start: { line: 0, character: 0 }, end: { line: 9999, character: 0 } };

interface Coloured {
  readonly range: Range;
  readonly kind: string;
}

function decoded(data: readonly number[]): Coloured[] {
  const tokens: Coloured[] = [];
  let line = 0;
  let character = 0;
  for (let i = 0; i < data.length; i += 5) {
    const [down, along, length, type, modifiers] = data.slice(i, i + 5) as [number, number, number, number, number];
    line += down;
    character = down === 0 ? character + along : along;
    const range = { start: { line, character }, end: { line, character: character + length } };
    const kind = [TOKEN_TYPES[type], ...TOKEN_MODIFIERS.filter((_, bit) => modifiers & (1 << bit))].join('.');
    tokens.push({ range, kind });
  }
  return tokens;
}

/** The tokens as `text kind`, a line of the plan each. */
function coloured(text: string, range?: Range): string[] {
  const m = marked(text);
  const plain = m.texts.get('plan.taskplan') as string;
  const lines: string[][] = [];
  for (const token of decoded(tokensOf(m.understood, range))) {
    const line = lines[token.range.start.line] ?? [];
    lines[token.range.start.line] = line;
    line.push(`${textIn(plain, token.range)} ${token.kind}`);
  }
  return [...lines].map((line) => (line ?? []).join(', '));
}

describe('semantic tokens', () => {
  test('keywords, names, numbers and units each have their own', () => {
    expect(
      coloured(`use "club.taskplan"
# Practice.
weather Windy  # strong
  date        2026-06-13
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt ± 4 kt
  thermals    11:30Z to 16:45Z
task "Short Hop"
  aircraft  Finch with pilot 82 kg
  weather   Windy
  reserve   Training
  start     Larkfield at FL65
  finish    "Corran Dam" at best glide
`),
    ).toEqual([
      'use keyword, "club.taskplan" string.path',
      '# Practice. comment',
      'weather keyword, Windy event.declaration, # strong comment',
      'date property, 2026-06-13 number.time',
      'temperature property, 24 number, °C type, at operator, 190 number, m type, MSL modifier',
      'wind property, surface operator, from operator, 230 number, ° type, at operator, 8 number, kt type, ± operator, 4 number, kt type',
      'thermals property, 11:30Z number.time, to operator, 16:45Z number.time',
      'task keyword, "Short Hop" function.declaration',
      'aircraft property, Finch class, with operator, pilot operator, 82 number, kg type',
      'weather property, Windy event',
      'reserve property, Training parameter',
      'start property, Larkfield variable, at operator, FL65 number',
      'finish property, "Corran Dam" variable, at operator, best operator, glide operator',
    ]);
  });

  test('places, polars and limits', () => {
    expect(
      coloured(`field Nearby at 47.2031 N 19.4410 E
  runway    18/36 900 m surface grass
  note      "a remark"
aircraft Wren
  best glide   32:1 at 49 kt
limits Solo
  within 12 NM of Nearby
  field in glide
units
  speed km/h
`),
    ).toEqual([
      'field keyword, Nearby variable.declaration, at operator, 47.2031 N number.coordinates, 19.4410 E number.coordinates',
      'runway property, 18/36 number, 900 number, m type, surface operator, grass enumMember',
      'note property, "a remark" string',
      'aircraft keyword, Wren class.declaration',
      'best property, glide property, 32:1 number, at operator, 49 number, kt type',
      'limits keyword, Solo interface.declaration',
      'within property, 12 number, NM type, of operator, Nearby variable',
      'field property, in property, glide property',
      'units keyword',
      'speed property, km/h type',
    ]);
  });

  test('what is not known has no colour', () => {
    expect(coloured('task Short\n  aircraft Dodo\n  climb to 4800 furlong MSK\n  finsh Larkfield\nfild X\n')).toEqual([
      'task keyword, Short function.declaration',
      'aircraft property',
      'climb property, to property, 4800 number',
    ]);
  });

  test('a name gets its colour when another file brings it in', () => {
    expect(coloured('task Short\n  weather Calm\n')[1]).toBe('weather property');
    expect(coloured('use "club.taskplan"\ntask Short\n  weather Calm\n')[2]).toBe('weather property, Calm event');
  });

  test('a range gives the tokens of its lines', () => {
    const text = 'reserve A\n  arrive 1000 ft AGL\nreserve B\n  arrive 900 ft AGL\n  turn 1500 ft AGL\n';
    const range = { start: { line: 1, character: 4 }, end: { line: 3, character: 0 } };
    expect(coloured(text, range)).toEqual(['', ...coloured(text).slice(1, 4)]);
  });

  test('tokens of any text lie in it, in order, apart', () => {
    fc.assert(
      fc.property(anyText, (text) => {
        const workspace = createWorkspace(['file:///']);
        const tokens = decoded(tokensOf(understand(workspace, setFile(workspace, 'file:///x.taskplan', text))));
        if (text.includes('\0')) return;
        let last = { line: 0, character: 0 };
        for (const { range } of tokens) {
          expect(liesIn(text, range)).toBe(true);
          const { line, character } = range.start;
          expect(line > last.line || (line === last.line && character >= last.character)).toBe(true);
          last = range.end;
        }
      }),
      { numRuns: 1000 },
    );
  });
});

describe('the delta of semantic tokens', () => {
  const changed = (before: readonly number[], edits: ReturnType<typeof deltaOf>): number[] => {
    const data = [...before];
    for (const { start, deleteCount, data: put = [] } of edits) data.splice(start, deleteCount, ...put);
    return data;
  };
  const token = fc.tuple(fc.nat(2), fc.nat(3), fc.nat(2), fc.nat(2), fc.nat(1));
  const tokens = fc.array(token, { maxLength: 12 }).map((all) => all.flat());

  test('makes the one from the other', () => {
    fc.assert(
      fc.property(tokens, tokens, tokens, tokens, (head, a, b, tail) => {
        const [before, after] = [
          [...head, ...a, ...tail],
          [...head, ...b, ...tail],
        ];
        const edits = deltaOf(before, after);
        expect(changed(before, edits)).toEqual(after);
        expect(edits.every(({ deleteCount }) => deleteCount <= a.length)).toBe(true);
        expect(deltaOf(after, after)).toEqual([]);
      }),
      { numRuns: 1000 },
    );
  });

  test('a line added above costs one token', () => {
    const before = tokensOf(marked('reserve A\n  arrive 1000 ft AGL\n').understood);
    const after = tokensOf(marked('\n\nreserve A\n  arrive 1000 ft AGL\n').understood);
    expect(deltaOf(before, after)).toEqual([{ start: 0, deleteCount: 5, data: [2, 0, 7, 0, 0] }]);
  });
});

const TASK = `use "club.taskplan"

task Eastward
  aircraft  Finch with pilot 82 kg
  weather   Breezy
  reserve   Training
  start     Larkfield at 3200 ft MSL  # aero tow
  climb     to 5200 ft MSL
  turn      "Withy Bridge"
  climb     to 5400 ft MSL at 2 kt
  finish    Ashmoor at 75 kt
`;

const EVERY = { distance: true, course: true, arrival: true, margin: true, time: true, climb: true };
const NONE = { distance: false, course: false, arrival: false, margin: false, time: false, climb: false };

const parts = (hint: ReturnType<typeof inlayHints>[number]) => hint.label as InlayHintLabelPart[];

/** The hints as the lines they stand behind, with a stroke between. */
function hinted(text: string, options = DEFAULT_HINTS, range = ALL): string[] {
  const m = marked(text);
  const lines = (m.texts.get('plan.taskplan') as string).split('\n');
  return inlayHints(m.workspace, m.understood, range, options).map((hint) => {
    const before = lines[hint.position.line]?.slice(0, hint.position.character).trim().replace(/ +/g, ' ');
    return `${before} | ${parts(hint)
      .map(({ value }) => value)
      .join('')}`;
  });
}

describe('inlay hints', () => {
  test('stand behind climbs and legs', () => {
    expect(hinted(TASK)).toMatchInlineSnapshot(`
      [
        "climb to 5200 ft MSL | +2,000 ft · 7 min",
        "turn "Withy Bridge" | margin +1,093 ft · 2,743 ft over · 8.8 NM",
        "climb to 5400 ft MSL at 2 kt | +2,197 ft · 11 min",
        "finish Ashmoor at 75 kt | margin +1,337 ft · 2,487 ft over · 7.5 NM",
      ]
    `);
  });

  test('show what one asks for', () => {
    expect(hinted(TASK, EVERY)).toMatchInlineSnapshot(`
      [
        "climb to 5200 ft MSL | +2,000 ft · 7 min",
        "turn "Withy Bridge" | margin +1,093 ft · 2,743 ft over · 9 min · 8.8 NM · 023° / 017°M",
        "climb to 5400 ft MSL at 2 kt | +2,197 ft · 11 min",
        "finish Ashmoor at 75 kt | margin +1,337 ft · 2,487 ft over · 5 min · 7.5 NM · 103° / 097°M",
      ]
    `);
    expect(hinted(TASK, { ...NONE, course: true })).toMatchInlineSnapshot(`
      [
        "turn "Withy Bridge" | 023° / 017°M",
        "finish Ashmoor at 75 kt | 103° / 097°M",
      ]
    `);
    expect(hinted(TASK, NONE)).toEqual([]);
  });

  test('settings are read part by part', () => {
    expect(hintOptions(undefined)).toEqual(DEFAULT_HINTS);
    expect(hintOptions({ course: true, margin: 'no', other: 1 })).toEqual({ ...DEFAULT_HINTS, course: true });
    expect(hintOptions(false)).toEqual(NONE);
  });

  test('only those of the lines in range', () => {
    const range = { start: { line: 8, character: 0 }, end: { line: 9, character: 3 } };
    expect(hinted(TASK, DEFAULT_HINTS, range)).toEqual(hinted(TASK).slice(1, 3));
  });

  test('a line `soar` has the climbs and the average of the legs that are flown by it', () => {
    const soared = TASK.replace(/^ +climb .*\n/gm, '').replace(
      /^( +start .*)$/m,
      '$1\n  soar between 2500 ft MSL and 5000 ft MSL',
    );
    const lines = hinted(soared).filter((line) => line.startsWith('soar'));
    expect(lines).toHaveLength(1);
    expect(lines[0]).toMatch(/^soar between 2500 ft MSL and 5000 ft MSL \| \d+ climbs? · average \d+ kt$/);
    expect(hinted(soared, NONE)).toEqual([]);
  });

  test('each part says what it is and leads to where it comes from', () => {
    const m = marked(TASK);
    const textAt = ({ location }: InlayHintLabelPart): string => {
      if (!location) return '–';
      const text = m.workspace.files.get(location.uri)?.syntax.text ?? '';
      return textIn(text, location.range).replace(/ +/g, ' ');
    };
    const all = inlayHints(m.workspace, m.understood, ALL, EVERY).flatMap(parts);
    const sources = all.filter(({ tooltip }) => tooltip !== undefined).map((part) => `${part.value} ← ${textAt(part)}`);
    expect(sources).toMatchInlineSnapshot(`
      [
        "+2,000 ft ← –",
        "7 min ← lift 3 kt to 5800 ft MSL",
        "margin +1,093 ft ← climb to 5200 ft MSL",
        "2,743 ft over ← turn 1500 ft AGL",
        "9 min ← Breezy",
        "8.8 NM ← "Withy Bridge"",
        "023° / 017°M ← "Withy Bridge"",
        "+2,197 ft ← –",
        "11 min ← –",
        "margin +1,337 ft ← climb to 5400 ft MSL at 2 kt",
        "2,487 ft over ← arrive 1000 ft AGL",
        "5 min ← Breezy",
        "7.5 NM ← Ashmoor",
        "103° / 097°M ← Ashmoor",
      ]
    `);
    const tooltips = all.flatMap(({ tooltip }) => (typeof tooltip === 'object' ? [tooltip.value] : []));
    expect(tooltips.slice(2, 7)).toMatchInlineSnapshot(`
      [
        "**margin**: the arrival of 2,743 ft less what is asked there, 1,500 ft of reserve and 150 ft for the altimeter.

      It is planned as leaving Larkfield at 5,200 ft MSL. Just enough would be 4,112 ft MSL.

      *A planning aid: computed heights are a prediction, and sink, lift or wind off the forecast can spoil them. The flight manual, the instructor, local rules, the checks of airspace and notices, and eyes outside come first.*",
        "**arrival over Withy Bridge**: 2,743 ft above the ground there (3,202 ft MSL), leaving Larkfield at 5,200 ft MSL and flying 46 kt.

      Loses 1,997 ft = still air 1,671 ft + wind −273 ft + sinking air 0 ft + planned share of the polar 599 ft.

      *A planning aid: computed heights are a prediction, and sink, lift or wind off the forecast can spoil them. The flight manual, the instructor, local rules, the checks of airspace and notices, and eyes outside come first.*",
        "**time** of the glide, 8 min 57 s, at 46 kt in the wind of Breezy, 59 kt over the ground; climbs are not in it.",
        "**distance** from Larkfield to Withy Bridge, the shortest way over the WGS84 ellipsoid between the two positions.",
        "**course** from Larkfield to Withy Bridge, true, as it is at Larkfield. The one behind the stroke is magnetic, by the variation there on the day.",
      ]
    `);
  });

  test('text from the file means nothing in a tooltip', () => {
    const text = TASK.replaceAll('"Withy Bridge"', '"a [x](command:y) *b*"').replace(
      'task Eastward',
      'turnpoint "a [x](command:y) *b*" at 47.3380 N 19.5240 E\n  elevation 140 m\n\ntask Eastward',
    );
    const m = marked(text);
    const tooltips = inlayHints(m.workspace, m.understood, ALL, EVERY)
      .flatMap(parts)
      .map(({ tooltip }) => tooltip);
    expect(JSON.stringify(tooltips)).not.toContain('](command');
  });

  test('a leg that is not computed says why, once', () => {
    expect(hinted(TASK.replace('Finch', 'Dodo'))).toMatchInlineSnapshot(`
      [
        "climb to 5200 ft MSL | +2,000 ft · 7 min",
        "turn "Withy Bridge" | not computed: no aircraft \`Dodo\` is known",
        "finish Ashmoor at 75 kt | not computed",
      ]
    `);
    expect(
      hinted(TASK.replace('Ashmoor', '"A Field with a Name That Is Longer Than Most Names Are"')).at(-1),
    ).toMatchInlineSnapshot(
      `"finish "A Field with a Name That Is Longer Than Most Names Are" at 75 kt | not computed: no field or turnpoint \`A Field with a Name That…"`,
    );
  });

  test('a leg that does not get there, and one without headway', () => {
    expect(hinted(TASK.replace('5400 ft', '2000 ft').replace('5200 ft', '3300 ft'))).toMatchInlineSnapshot(`
      [
        "climb to 3300 ft MSL | +100 ft · 1 min",
        "turn "Withy Bridge" | margin −829 ft · 821 ft over · 8.8 NM",
        "climb to 2000 ft MSL at 2 kt | +719 ft · 4 min",
        "finish Ashmoor at 75 kt | margin −2,267 ft · reaches the ground after 4.3 NM · 7.5 NM",
      ]
    `);
    const windy = `weather Gale\n  qnh 1013 hPa\n  temperature 15 °C at 0 m MSL\n  wind surface from 060° at 70 kt\n\ntask Eastward`;
    expect(hinted(TASK.replace('task Eastward', windy).replace('Breezy', 'Gale'))).toMatchInlineSnapshot(`
      [
        "climb to 5200 ft MSL | +2,000 ft",
        "turn "Withy Bridge" | margin −11,436 ft · reaches the ground after 3.3 NM · 8.8 NM",
        "climb to 5400 ft MSL at 2 kt | +3,291 ft from the height asked · 16 min",
        "finish Ashmoor at 75 kt | no headway at 75 kt · 7.5 NM",
      ]
    `);
  });

  test('a climb that is none', () => {
    expect(hinted(TASK.replace('to 5200 ft MSL', 'to 2000 ft MSL'))[0]).toMatchInlineSnapshot(
      `"climb to 2000 ft MSL | no gain"`,
    );
    expect(hinted(TASK.replace('at 2 kt', 'after 90 NM')).join('\n')).toContain('beyond the end of the leg');
  });
});

test('anywhere in the samples: tokens and hints lie in the document, and in the range', () => {
  for (const { workspace, understood, text, positions } of samplePlaces()) {
    const within = (of: Understood, range: Range) => decoded(tokensOf(of, range));
    const whole = within(understood, ALL);
    const hints = inlayHints(workspace, understood, ALL, EVERY);
    for (const { range } of whole) expect(liesIn(text, range)).toBe(true);
    for (const { position } of hints) expect(liesIn(text, { start: position, end: position })).toBe(true);
    for (const [i, start] of positions.entries()) {
      const range = { start, end: positions[i + 20] ?? start };
      const inRange = ({ line }: { line: number }) => line >= range.start.line && line <= range.end.line;
      expect(within(understood, range)).toEqual(whole.filter((token) => inRange(token.range.start)));
      const some = inlayHints(workspace, understood, range, EVERY);
      expect(some.length).toBe(hints.filter(({ position }) => inRange(position)).length);
    }
  }
});
