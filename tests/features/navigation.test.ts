/** From names to what they mean and back, within a file and across files. */
import { describe, expect, test } from 'vitest';
import { asLocations, definition } from '../../server/features/definition.ts';
import { documentHighlights } from '../../server/features/document-highlight.ts';
import { documentLinks } from '../../server/features/document-links.ts';
import { references } from '../../server/features/references.ts';
import { typeDefinition } from '../../server/features/type-definition.ts';
import { setUnreadable } from '../../server/plan/workspace.ts';
import { liesIn, type Marked, marked, ROOT, samplePlaces, sampleWorkspace, textIn, underlined } from './marked.ts';

const FILES = `//- club.taskplan
# The home field.
field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m  # by its notice

turnpoint "Withy Bridge" at 47.3380 N 19.5240 E
  elevation 140 m

aircraft Finch
  vs 34 kt

weather Calm
  qnh 1018 hPa

reserve Training
  arrive 1000 ft AGL

limits Solo
  within 12 NM of Larkfield
  reserve at least Training

`;

/** The example files with a plan that has the caret in it. */
const withPlan = (plan: string): Marked => marked(`${FILES}//- plan.taskplan\nuse "club.taskplan"\n${plan}`);

const nameOf = (uri: string): string => uri.slice(ROOT.length + 1);

const textAt = (m: Marked, uri: string): string => m.texts.get(nameOf(uri)) as string;

/** Where the caret leads: file, first line of the entry, name. */
function target(m: Marked, links = definition(m.workspace, m.understood, m.position)): string | undefined {
  expect(links.length).toBeLessThanOrEqual(1);
  const [link] = links;
  if (!link) return undefined;
  const text = textAt(m, link.targetUri);
  expect(liesIn(text, link.targetRange)).toBe(true);
  const whole = textIn(text, link.targetRange);
  return `${nameOf(link.targetUri)}: ${whole.split('\n')[0]} … ${textIn(text, link.targetSelectionRange)}`;
}

function origin(m: Marked, links = definition(m.workspace, m.understood, m.position)): string | undefined {
  const range = links[0]?.originSelectionRange;
  return range && textIn(textAt(m, m.uri), range);
}

describe('definition', () => {
  test('of a name in another file: the whole entry with its comment, and the name in it', () => {
    const m = withPlan('task Short\n  start Lark$0field at 3200 ft MSL\n');
    expect(target(m)).toBe('club.taskplan: # The home field. … Larkfield');
    expect(origin(m)).toBe('Larkfield');
    const [link] = definition(m.workspace, m.understood, m.position);
    expect(textIn(textAt(m, `${ROOT}/club.taskplan`), link?.targetRange ?? expect.fail())).toBe(
      '# The home field.\nfield Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m  # by its notice',
    );
  });

  test('a client that knows only locations gets the name', () => {
    const m = withPlan('task Short\n  turn $0"Withy Bridge"\n');
    const locations = asLocations(definition(m.workspace, m.understood, m.position));
    expect(locations.map(({ uri, range }) => underlined(textAt(m, uri), [range]))).toEqual([
      'turnpoint "Withy Bridge" at 47.3380 N 19.5240 E\n          ^^^^^^^^^^^^^^',
    ]);
  });

  test('at either end of a name, in quotes or not', () => {
    for (const line of ['start $0Larkfield at 1 m MSL', 'start Larkfield$0 at 1 m MSL', 'start "Larkfield"$0'])
      expect(target(withPlan(`task Short\n  ${line}\n`))).toBe('club.taskplan: # The home field. … Larkfield');
  });

  test('of what stands in a file itself, before that of a file it uses', () => {
    const m = withPlan('aircraft Finch\n  vs 36 kt\n\ntask Short\n  aircraft $0Finch\n');
    expect(target(m)).toBe('plan.taskplan: aircraft Finch … Finch');
  });

  test('of two in one file, the one that counts', () => {
    const m = withPlan('weather W\n  qnh 1 hPa\n\n# Second.\nweather W\n\ntask T\n  weather W$0\n');
    expect(target(m)).toBe('plan.taskplan: weather W … W');
  });

  test('on the name of an entry: itself', () => {
    const m = withPlan('weather W\n\n# Second.\nweather $0W\n');
    expect(target(m)).toBe('plan.taskplan: # Second. … W');
  });

  test('on the keyword of a line that names an entry', () => {
    const at = (line: string) => target(withPlan(`task Short\n  ${line}\n`));
    expect(at('air$0craft Finch with pilot 82 kg')).toBe('club.taskplan: aircraft Finch … Finch');
    expect(at('$0weather Calm')).toBe('club.taskplan: weather Calm … Calm');
    expect(at('reserve$0 Training')).toBe('club.taskplan: reserve Training … Training');
    expect(at('lim$0its Solo')).toBe('club.taskplan: limits Solo … Solo');
    expect(at('tu$0rn "Withy Bridge"')).toBe(
      'club.taskplan: turnpoint "Withy Bridge" at 47.3380 N 19.5240 E … "Withy Bridge"',
    );
    expect(origin(withPlan('task Short\n  air$0craft Finch\n'))).toBe('aircraft');
    const limits = 'limits Mine\n  reserve at le$0ast Training\n';
    expect(target(withPlan(limits))).toBe('club.taskplan: reserve Training … Training');
  });

  test('of a `use` line: the start of the file', () => {
    for (const line of ['use "cl$0ub.taskplan"', 'u$0se "club.taskplan"']) {
      const m = marked(`${FILES}//- plan.taskplan\n${line}\n`);
      const [link] = definition(m.workspace, m.understood, m.position);
      expect(link?.targetUri).toBe(`${ROOT}/club.taskplan`);
      expect(link?.targetRange).toEqual({ start: { line: 0, character: 0 }, end: { line: 0, character: 0 } });
    }
  });

  test('of nothing, nowhere', () => {
    for (const plan of [
      'task Short\n  start Nowhere$0 at 3200 ft MSL\n',
      'task Short\n  start Larkfield at 32$000 ft MSL\n',
      'task Short\n  start Larkfield a$0t 3200 ft MSL\n',
      'task Short\n  climb$0 to 4800 ft MSL\n',
      'task Short\n  # Lark$0field\n',
      'ta$0sk Short\n',
      'task "$0"\n',
      'use "missi$0ng.taskplan"\n',
      'use "../out$0side.taskplan"\n',
      'terrain "ti$0les"\n',
      '$0',
      'Lark$0field\n',
    ])
      expect(target(withPlan(plan))).toBeUndefined();
  });
});

describe('type definition', () => {
  const at = (plan: string) => {
    const m = withPlan(plan);
    return target(m, typeDefinition(m.understood, m.position));
  };
  const FINCH = 'club.taskplan: aircraft Finch … Finch';

  test('of a task, from its name and any of its lines: its aircraft', () => {
    expect(at('task Sh$0ort\n  aircraft Finch\n')).toBe(FINCH);
    expect(at('ta$0sk Short\n  aircraft Finch\n')).toBe(FINCH);
    expect(at('task Short\n  aircraft Fin$0ch\n')).toBe(FINCH);
    expect(at('task Short\n  aircraft Finch\n  climb to 4$0800 ft MSL\n')).toBe(FINCH);
    expect(at('task Short\n  aircraft Finch\n  finish Larkfield at 7$05 kt\n')).toBe(FINCH);
  });

  test('of a name that a line uses: the entry', () => {
    expect(at('task Short\n  aircraft Finch\n  finish Lark$0field at 75 kt\n')).toBe(
      'club.taskplan: # The home field. … Larkfield',
    );
    expect(at('task Short\n  aircraft Finch\n  limits So$0lo\n')).toBe('club.taskplan: limits Solo … Solo');
    expect(at('task Short\n  reserve Trai$0ning\n')).toBe('club.taskplan: reserve Training … Training');
    expect(at('limits Mine\n  reserve at least Trai$0ning\n')).toBe('club.taskplan: reserve Training … Training');
  });

  test('of nothing, nowhere', () => {
    for (const plan of [
      'task Short$0\n',
      'task Short$0\n  aircraft Wren\n',
      'task Short\n  aircraft Finch\n  turn Nowhere$0\n',
      'task Short\n  aircraft Finch\n\n# re$0mark\n',
      'task Short\n  aircraft Finch  # re$0mark\n',
      'weather C$0alm\n',
      '$0',
    ])
      expect(at(plan)).toBeUndefined();
  });
});

describe('references', () => {
  /** The places as `file: line`, the name in brackets. */
  const found = (m: Marked, includeDeclaration = false): string[] =>
    references(m.workspace, m.understood, m.position, includeDeclaration).map(({ uri, range }) => {
      const line = textAt(m, uri).split('\n')[range.start.line] as string;
      const { start, end } = range;
      return `${nameOf(uri)}: ${line.slice(0, start.character)}[${line.slice(start.character, end.character)}]${line.slice(end.character)}`;
    });

  const THREE = `${FILES}//- one.taskplan
use "club.taskplan"
task One
  start Larkfield at 3200 ft MSL
  finish "Larkfield" at 75 kt
//- two.taskplan
use "one.taskplan"
task Two
  start Larkfield at 3200 ft MSL
//- alone.taskplan
field Larkfield at 46.0000 N 19.0000 E
  elevation 100 m
task Three
  finish Larkfield
//- unaware.taskplan
task Four
  finish Larkfield
`;
  const USES = [
    'club.taskplan:   within 12 NM of [Larkfield]',
    'one.taskplan:   start [Larkfield] at 3200 ft MSL',
    'one.taskplan:   finish ["Larkfield"] at 75 kt',
    'two.taskplan:   start [Larkfield] at 3200 ft MSL',
  ];

  test('in every file whose scope sees the entry, and in no other', () => {
    const m = marked(THREE.replace('field Larkfield at 47', 'field Lark$0field at 47'));
    expect(found(m)).toEqual(USES);
    expect(found(m, true)).toEqual(['club.taskplan: field [Larkfield] at 47.2031 N 19.4410 E', ...USES]);
  });

  test('from a use as from the definition', () => {
    const m = marked(THREE.replace('task Two\n  start Lark', 'task Two\n  start Lark$0'));
    expect(found(m)).toEqual(USES);
  });

  test('of the same name defined independently', () => {
    const m = marked(THREE.replace('field Larkfield at 46', 'field $0Larkfield at 46'));
    expect(found(m, true)).toEqual([
      'alone.taskplan: field [Larkfield] at 46.0000 N 19.0000 E',
      'alone.taskplan:   finish [Larkfield]',
    ]);
  });

  test('of a name that nothing has: in its own file', () => {
    const m = marked(THREE.replace('task Four\n  finish Lark', 'task Four\n  finish Lark$0'));
    expect(found(m, true)).toEqual(['unaware.taskplan:   finish [Larkfield]']);
  });

  test('of the second of two with one name: none', () => {
    const m = withPlan('weather W\n\nweather $0W\n\ntask T\n  weather W\n');
    expect(found(m)).toEqual([]);
    expect(found(m, true)).toEqual(['plan.taskplan: weather [W]']);
  });

  test('a name is told from one of another kind', () => {
    const m = withPlan('reserve Fin$0ch\n\ntask Finch\n  aircraft Finch\n  reserve Finch\n');
    expect(found(m)).toEqual(['plan.taskplan:   reserve [Finch]']);
  });

  test('names written differently are one: composed or not', () => {
    const m = withPlan('weather caf\u00e9$0\n\ntask T\n  weather cafe\u0301\n');
    expect(found(m)).toHaveLength(1);
  });

  test('files that use each other end', () => {
    const m = marked(
      '//- a.taskplan\nuse "b.taskplan"\nweather $0W\n//- b.taskplan\nuse "a.taskplan"\ntask T\n  weather W\n',
    );
    expect(found(m)).toEqual(['b.taskplan:   weather [W]']);
  });
});

describe('highlights', () => {
  const KINDS = ['', 'text', 'read', 'write'];
  const highlighted = (plan: string) => {
    const m = withPlan(plan);
    const all = documentHighlights(m.understood, m.position);
    return {
      text: underlined(
        textAt(m, m.uri),
        all.map(({ range }) => range),
      ),
      kinds: all.map(({ kind = 1 }) => KINDS[kind]),
    };
  };

  test('the name as written where it is defined and as read where it is used', () => {
    const { text, kinds } = highlighted(
      'weather Windy\n\ntask One\n  weather Win$0dy\n\ntask Two\n  weather "Windy"\n',
    );
    expect(text).toBe(
      'weather Windy\n        ^^^^^\n  weather Windy\n          ^^^^^\n  weather "Windy"\n          ^^^^^^^',
    );
    expect(kinds).toEqual(['write', 'read', 'read']);
  });

  test('a name from another file, and one that nothing has', () => {
    expect(highlighted('task T\n  start Lark$0field at 1 m MSL\n  finish Larkfield\n').kinds).toEqual(['read', 'read']);
    expect(highlighted('task T\n  start Nowhere$0 at 1 m MSL\n  finish Nowhere\n').kinds).toEqual(['read', 'read']);
  });

  test('the second of two with one name stands alone', () => {
    expect(highlighted('weather W\n\nweather $0W\n\ntask T\n  weather W\n').kinds).toEqual(['write']);
  });

  test('nothing on a unit, a number or a keyword', () => {
    for (const line of ['start Larkfield at 3200 f$0t MSL', 'start Larkfield at 3$0200 ft MSL', 'sta$0rt Larkfield'])
      expect(highlighted(`task T\n  ${line}\n  climb to 3200 ft MSL\n`).kinds).toEqual([]);
  });
});

describe('links', () => {
  const linked = (m: Marked) =>
    documentLinks(m.workspace, m.understood).map(
      ({ range, target: to, tooltip }) => `${textIn(textAt(m, m.uri), range)} → ${to} (${tooltip})`,
    );

  test('paths to plans of the workspace, and nothing else', () => {
    const m = marked(
      `use "club.taskplan"
use "club/other place.taskplan"
use "missing.taskplan"
use "../outside.taskplan"
use "plan.taskplan"
use "notes.txt"
use ""
use
terrain "tiles"
field Larkfield at 47.2031 N 19.4410 E
  frequency 122.905 MHz
  note "see other.taskplan"
`,
    );
    m.workspace.unreadable.delete(`${ROOT}/club/other place.taskplan`);
    m.workspace.unreadable.delete(`${ROOT}/club/other%20place.taskplan`);
    expect(linked(m)).toEqual([
      `club.taskplan → ${ROOT}/club.taskplan (Open club.taskplan)`,
      `club/other place.taskplan → ${ROOT}/club/other%20place.taskplan (Open other place.taskplan)`,
    ]);
  });

  test('a path whose quotes are not closed yet', () => {
    const m = marked('use "club.taskplan\n');
    expect(linked(m)).toEqual([`club.taskplan → ${ROOT}/club.taskplan (Open club.taskplan)`]);
    setUnreadable(m.workspace, `${ROOT}/club.taskplan`, 'missing');
    expect(linked(m)).toEqual([]);
  });

  test('a name that would turn the tooltip round is shown harmless', () => {
    const m = marked('use "a\u202eb.taskplan"\n');
    m.workspace.unreadable.clear();
    expect(documentLinks(m.workspace, m.understood)[0]?.tooltip).toBe('Open a<U+202E>b.taskplan');
  });
});

test('anywhere in the samples: every range lies in its document, and uses and definitions agree', () => {
  const { texts } = sampleWorkspace();
  const holds = (uri: string, range: Parameters<typeof liesIn>[1]) => liesIn(texts.get(uri) as string, range);
  for (const { workspace, understood, positions } of samplePlaces()) {
    const here = understood.file.uri;
    for (const { range, target: to } of documentLinks(workspace, understood)) {
      expect(holds(here, range) && texts.has(to as string)).toBe(true);
    }
    for (const position of positions) {
      const links = [...definition(workspace, understood, position), ...typeDefinition(understood, position)];
      for (const link of links) {
        const { originSelectionRange, targetRange, targetSelectionRange, targetUri } = link;
        expect(originSelectionRange && holds(here, originSelectionRange)).toBe(true);
        expect(holds(targetUri, targetRange) && holds(targetUri, targetSelectionRange)).toBe(true);
      }
      const uses = references(workspace, understood, position, true);
      const marks = documentHighlights(understood, position);
      expect(uses.every(({ uri, range }) => holds(uri, range))).toBe(true);
      expect(marks.map(({ range }) => range)).toEqual(uses.filter(({ uri }) => uri === here).map(({ range }) => range));
    }
  }
});
