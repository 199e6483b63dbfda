/** The files of a workspace: what they hold by name, how they bring each other in, and what is kept from edit to edit. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { EntryPool } from '../../grammar/file.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import {
  createWorkspace,
  definedIn,
  editFile,
  fileName,
  forgetFile,
  forgetTile,
  forgetUnnamed,
  linksOf,
  lookUp,
  namesChanged,
  namesIn,
  namesSeen,
  nearestOf,
  reaches,
  resolvePath,
  type SourceFile,
  scopeOf,
  setFile,
  setTile,
  settle,
  setUnreadable,
  someOf,
  tableOf,
  usersOf,
  type Workspace,
} from '../../server/plan/workspace.ts';

const ROOT = 'file:///plans';
const at = (path: string) => `${ROOT}/${path}`;
const A = at('a.taskplan');

const workspaceOf = (files: Readonly<Record<string, string>> = {}): Workspace => {
  const workspace = createWorkspace([ROOT]);
  for (const [path, text] of Object.entries(files)) setFile(workspace, at(path), text);
  return workspace;
};
const fileOf = (workspace: Workspace, path: string) => workspace.files.get(at(path)) as SourceFile;
const position = (line: number, character: number) => ({ line, character });
const field = (name: string, elevationM = 100) => `field ${name} at 47.2 N 19.4 E\n  elevation ${elevationM} m\n`;

describe('files', () => {
  test('a new workspace has its folders and nothing in them', () => {
    expect(createWorkspace([ROOT])).toEqual({
      roots: [ROOT],
      files: new Map(),
      unreadable: new Map(),
      tiles: new Map(),
    });
  });

  test('the same text is the same file, another text is another', () => {
    const workspace = workspaceOf();
    const one = setFile(workspace, A, field('Larkfield'));
    expect(one).toMatchObject({ uri: A, notText: false });
    expect(setFile(workspace, A, field('Larkfield'))).toBe(one);
    const other = setFile(workspace, A, `${field('Larkfield')}${field('Ashmoor')}`);
    expect(other).not.toBe(one);
    expect(workspace.files.get(A)).toBe(other);
    expect(other.syntax.entries[0]?.syntax).toBe(one.syntax.entries[0]?.syntax);
  });

  test('what is not text is not looked at, and is text again without its zero', () => {
    const workspace = workspaceOf();
    const bad = `${field('Larkfield')}${field('Ash\0moor')}`;
    const holds = (file: SourceFile) => [file.notText, tableOf(file).get('point')?.has('Larkfield')];
    expect(holds(setFile(workspace, A, bad))).toEqual([true, false]);
    expect(fileOf(workspace, 'a.taskplan').syntax.text).toBe('');
    expect(holds(setFile(workspace, A, field('Larkfield')))).toEqual([false, true]);
    expect(holds(setFile(workspace, A, bad))).toEqual([true, false]);
    expect(holds(setFile(workspace, A, ''))).toEqual([false, false]);
    // By an edit, one entry of several.
    const good = setFile(workspace, A, `${field('Larkfield')}${field('Ashmoor')}`);
    const range = { start: position(2, 6), end: position(2, 6) };
    const edited = editFile(workspace, good, { range, text: '\0' });
    expect(holds(edited)).toEqual([true, false]);
    expect(workspace.files.get(A)).toBe(edited);
  });

  test('an edit takes its stretch out and puts its text in, from whichever end it is given', () => {
    const [start, end] = [position(1, 12), position(1, 15)];
    for (const range of [
      { start, end },
      { start: end, end: start },
    ]) {
      const workspace = workspaceOf({ 'a.taskplan': field('Larkfield', 100) });
      const file = editFile(workspace, fileOf(workspace, 'a.taskplan'), { range, text: '190' });
      expect(file.syntax.text).toBe(field('Larkfield', 190));
      expect(file).toMatchObject({ uri: A, notText: false });
      expect(workspace.files.get(A)).toBe(file);
    }
  });

  test('a file that can be read again is not unreadable any more, and the other way round', () => {
    const workspace = workspaceOf({ 'a.taskplan': field('Larkfield') });
    setUnreadable(workspace, A, 'denied');
    expect([workspace.files.has(A), workspace.unreadable.get(A)]).toEqual([false, 'denied']);
    setFile(workspace, A, field('Larkfield'));
    expect([workspace.files.has(A), workspace.unreadable.has(A)]).toEqual([true, false]);
  });

  test('what is forgotten is neither there nor unreadable', () => {
    const workspace = workspaceOf({ 'a.taskplan': field('Larkfield'), 'b.taskplan': '' });
    setUnreadable(workspace, at('c.taskplan'), 'missing');
    forgetFile(workspace, A);
    forgetFile(workspace, at('c.taskplan'));
    expect([...workspace.files.keys()]).toEqual([at('b.taskplan')]);
    expect(workspace.unreadable.size).toBe(0);
  });

  test('why a file cannot be read is forgotten once no file names it', () => {
    const workspace = workspaceOf({
      'a.taskplan': 'use "b.taskplan"\nuse "c.taskplan"\nuse "../out.taskplan"\n',
      'b.taskplan': 'use "d.taskplan"\n',
    });
    for (const path of ['c', 'd', 'e']) setUnreadable(workspace, at(`${path}.taskplan`), 'missing');
    forgetUnnamed(workspace);
    expect([...workspace.unreadable.keys()]).toEqual([at('c.taskplan'), at('d.taskplan')]);
    setFile(workspace, at('b.taskplan'), '');
    forgetUnnamed(workspace);
    expect([...workspace.unreadable.keys()]).toEqual([at('c.taskplan')]);
  });

  test('elevation tiles come and go, each time in another map', () => {
    const workspace = workspaceOf();
    const none = workspace.tiles;
    setTile(workspace, at('n47.hgt'), 'missing');
    const one = workspace.tiles;
    setTile(workspace, at('n48.hgt'), 'denied');
    expect(none.size).toBe(0);
    expect(one.size).toBe(1);
    expect([...workspace.tiles]).toEqual([
      [at('n47.hgt'), 'missing'],
      [at('n48.hgt'), 'denied'],
    ]);
    const both = workspace.tiles;
    forgetTile(workspace, at('n49.hgt'));
    expect(workspace.tiles).toBe(both);
    forgetTile(workspace, at('n47.hgt'));
    expect([...workspace.tiles.keys()]).toEqual([at('n48.hgt')]);
    expect(both.size).toBe(2);
  });

  test('files with a pool share entries that read the same', () => {
    const workspace: Workspace = { ...workspaceOf(), pool: new EntryPool() };
    const entries = ['a', 'b', 'c'].map(
      (name) => setFile(workspace, at(`${name}.taskplan`), field('Larkfield')).syntax.entries[0]?.syntax,
    );
    expect(entries[2]).toBe(entries[1]);
    expect(entries[0]?.text).toBe(field('Larkfield'));
  });
});

describe('a burst of edits', () => {
  const text = [1, 2, 3, 4, 5, 6].map((i) => field(`F${i}`)).join('');
  const edit = (workspace: Workspace, line: number) =>
    editFile(workspace, fileOf(workspace, 'a.taskplan'), {
      range: { start: position(line, 12), end: position(line, 13) },
      text: '7',
    });

  test('is told as one change since what was known last', () => {
    const workspace = workspaceOf({ 'a.taskplan': text, 'b.taskplan': '' });
    const before = fileOf(workspace, 'a.taskplan');
    settle(workspace, [before]);
    settle(workspace, [fileOf(workspace, 'b.taskplan')]);
    edit(workspace, 3);
    const { change } = edit(workspace, 9).syntax;
    expect(change?.before).toBe(before.syntax.self);
    expect(change?.removed.map(({ name }) => name?.text)).toEqual(['F2', 'F3', 'F4', 'F5']);
    expect(change?.added.map(({ text: own }) => own.includes('700'))).toEqual([true, false, false, true]);
    // Known anew: it counts from there.
    const known = fileOf(workspace, 'a.taskplan');
    settle(workspace, [known]);
    const next = setFile(workspace, A, text.replace('F6 at', 'F7 at'));
    expect(next.syntax.change?.before).toBe(known.syntax.self);
  });

  test('without that each is a change of the text before', () => {
    const workspace = workspaceOf({ 'a.taskplan': text });
    const one = edit(workspace, 3);
    expect(edit(workspace, 9).syntax.change?.before).toBe(one.syntax.self);
  });

  test('a file that was forgotten begins anew', () => {
    const workspace = workspaceOf({ 'a.taskplan': text });
    const before = fileOf(workspace, 'a.taskplan');
    settle(workspace, [before]);
    forgetFile(workspace, A);
    const again = setFile(workspace, A, text);
    expect(again.syntax.change).toBeUndefined();
    expect(edit(workspace, 3).syntax.change?.before).toBe(again.syntax.self);
  });

  test('a zero that stands in it makes it no text, wherever it was typed', () => {
    const workspace = workspaceOf({ 'a.taskplan': text });
    settle(workspace, [fileOf(workspace, 'a.taskplan')]);
    const range = { start: position(3, 12), end: position(3, 12) };
    const first = fileOf(workspace, 'a.taskplan');
    expect(editFile(workspace, first, { range, text: '\0' }).notText).toBe(true);
  });
});

const NAMESPACES: readonly Namespace[] = [
  'point',
  'obstacle',
  'airspace',
  'aircraft',
  'weather',
  'reserve',
  'limits',
  'task',
];

/** All that the table of a file says. */
function said(file: SourceFile): unknown {
  const table = tableOf(file);
  const entries = (all: readonly { placed: { line: number; offset: number }; meaning: { name: string } }[] = []) =>
    all.map(({ placed, meaning }) => [meaning.name, placed.line, placed.offset]);
  return {
    kinds: table.values().map((names) => [...names.keys()]),
    names: NAMESPACES.map((namespace) => {
      const names = table.get(namespace);
      const keys = [...(names?.keys() ?? [])];
      const firsts = names?.firsts() ?? [];
      expect(firsts).toEqual(names?.values().map(([first]) => first?.meaning.entry));
      expect(entries(firsts.map((entry) => definedIn(file, entry)))).toEqual(
        entries(names?.values().flatMap((alike) => alike.slice(0, 1))),
      );
      return {
        keys,
        here: table.has(namespace),
        repeated: [...(names?.repeated() ?? [])].sort(),
        each: keys.map((name) => [names?.has(name), entries(names?.get(name))]),
        values: names?.values().map(entries),
        pairs: [...(names ?? [])].map(([name, all]) => [name, entries(all)]),
        none: [names?.has('Nowhere'), names?.get('Nowhere')],
      };
    }),
  };
}

describe('the names of a file', () => {
  test('stand by kind, each with its entries, in the order of the text', () => {
    const file = setFile(
      workspaceOf(),
      A,
      `# said\n${field('B')}turnpoint A at 47 N 19 E\naircraft B\nfield at 47 N 19 E\nunits\n  speed kt\n${field('B', 7)}field "" at 47 N 19 E\n`,
    );
    const table = tableOf(file);
    expect([...(table.get('point')?.keys() ?? [])]).toEqual(['B', 'A']);
    expect(table.get('point')?.repeated()).toEqual(['B']);
    expect(table.get('aircraft')?.repeated()).toEqual([]);
    expect(table.values()).toHaveLength(2);
    expect(table.has('aircraft')).toBe(true);
    expect(table.has('weather')).toBe(false);
    const [first, second] = table.get('point')?.get('B') ?? [];
    expect([first?.placed.line, second?.placed.line]).toEqual([1, 8]);
    expect(first?.file).toBe(file);
    expect([first?.meaning, second?.meaning]).toMatchObject([{ elevationM: 100 }, { elevationM: 7 }]);
    expect(table.get('point')?.get('Nowhere')).toBeUndefined();
    expect(table.get('point')?.get('')).toBeUndefined();
    expect(table.get('weather')?.repeated()).toEqual([]);
    const lines = (all: readonly { placed: { line: number } }[]) => all.map(({ placed }) => placed.line);
    expect(table.get('point')?.values().map(lines)).toEqual([[1, 8], [3]]);
    expect([...(table.get('point') ?? [])].map(([name, all]) => [name, lines(all)])).toEqual([
      ['B', [1, 8]],
      ['A', [3]],
    ]);
  });

  test('keep their order when one comes, goes or changes, in one step or in several', () => {
    const before = [field('A'), field('B'), field('C')];
    const after: readonly (readonly string[])[] = [
      [field('A'), field('X'), field('B'), field('C')],
      [field('X'), field('A'), field('B'), field('C')],
      [field('A'), field('X'), field('C')],
      [field('A'), 'aircraft B\n', field('C')],
      [field('A'), field('C')],
      [field('A'), field('B', 7), field('C')],
      [field('A'), field('A'), field('B'), field('C')],
    ];
    const inSteps: readonly (readonly string[][])[] = after.flatMap((now) => [
      [now as string[]],
      // By way of another value, and with one before that is not looked at.
      [[...before, 'aircraft Z\n'], now as string[]],
      [now as string[], [field('A', 8), ...now.slice(1)]],
    ]);
    for (const steps of inSteps) {
      for (const known of [true, false]) {
        const workspace = workspaceOf({ 'a.taskplan': before.join('') });
        const first = fileOf(workspace, 'a.taskplan');
        said(first);
        if (known) settle(workspace, [first]);
        let last = first;
        for (const now of steps) {
          last = setFile(workspace, A, now.join(''));
          if (!known) tableOf(last).get('point')?.has('A');
        }
        expect(said(last)).toEqual(said(setFile(workspaceOf(), A, (steps.at(-1) ?? []).join(''))));
      }
    }
  });

  const PIECES = [
    field('A', 1),
    field('A', 2),
    field('B'),
    'turnpoint B at 47 N 19 E\n',
    'turnpoint C at 47 N 19 E\n',
    'aircraft A\n',
    'aircraft C\n',
    'task A\n',
    'field at 47 N 19 E\n',
    'units\n',
  ];

  /** Numbers that look random and are the same each time: the generator of Park and Miller, 1988. */
  function numbers(seed: number) {
    let state = seed;
    return (below: number) => {
      state = (state * 48271) % 2147483647;
      return state % below;
    };
  }

  test('after any edits are those of the text read afresh', () => {
    for (let seed = 1; seed <= 40; seed += 1) {
      const next = numbers(seed * 7919);
      const workspace = workspaceOf();
      let pieces = Array.from({ length: 6 }, () => PIECES[next(PIECES.length)] as string);
      let file = setFile(workspace, A, pieces.join(''));
      for (let step = 0; step < 12; step += 1) {
        // Now and then nobody looks, or only at some of it.
        const look = next(4);
        if (look === 1) tableOf(file).get('point')?.has('A');
        if (look === 2) for (const name of ['A', 'B', 'C']) tableOf(file).get('point')?.get(name);
        if (look === 3) expect(said(file)).toEqual(said(setFile(workspaceOf(), A, pieces.join(''))));
        const where = next(pieces.length + 1);
        const out = next(3);
        const put = Array.from({ length: next(3) }, () => PIECES[next(PIECES.length)] as string);
        pieces = [...pieces.slice(0, where), ...put, ...pieces.slice(where + out)];
        file = setFile(workspace, A, pieces.join(''));
      }
      expect(said(file)).toEqual(said(setFile(workspaceOf(), A, pieces.join(''))));
    }
  });

  test('a value that changes leaves the order as it is', () => {
    const workspace = workspaceOf({ 'a.taskplan': ['A', 'B', 'A', 'C'].map((name) => field(name)).join('') });
    const elevations = (name: string) =>
      (tableOf(fileOf(workspace, 'a.taskplan')).get('point')?.get(name) ?? []).map(({ meaning }) =>
        meaning.kind === 'field' ? meaning.elevationM : undefined,
      );
    tableOf(fileOf(workspace, 'a.taskplan')).get('point')?.keys();
    for (const [line, name, all] of [
      [1, 'A', [700, 100]],
      [5, 'A', [700, 700]],
      [3, 'B', [700]],
      [7, 'C', [700]],
    ] as const) {
      const range = { start: position(line, 12), end: position(line, 13) };
      const file = editFile(workspace, fileOf(workspace, 'a.taskplan'), { range, text: '7' });
      expect(elevations(name)).toEqual(all);
      expect([...(tableOf(file).get('point')?.keys() ?? [])]).toEqual(['A', 'B', 'C']);
      expect(tableOf(file).get('point')?.repeated()).toEqual(['A']);
      expect(said(file)).toEqual(said(setFile(workspaceOf(), A, file.syntax.text)));
    }
  });

  test('more changes than are noted one by one are all seen', () => {
    const workspace = workspaceOf();
    const text = (elevationM: number, count = 150) =>
      Array.from({ length: count }, (_, i) => field(`F${i}`, elevationM + i)).join('');
    let file = setFile(workspace, A, text(1));
    for (const [elevationM, count] of [
      [2, 150],
      [3, 150],
      [4, 101],
      [5, 101],
      [6, 100],
      [7, 100],
      [8, 150],
    ] as const) {
      tableOf(file).get('point')?.has('F1');
      file = setFile(workspace, A, text(elevationM, count));
      expect(said(file)).toEqual(said(setFile(workspaceOf(), A, text(elevationM, count))));
    }
  });
});

describe('paths', () => {
  test.each([
    ['fields.taskplan', { uri: at('sub/fields.taskplan') }],
    ['../fields.taskplan', { uri: at('fields.taskplan') }],
    ['./deep/a b.taskplan', { uri: at('sub/deep/a%20b.taskplan') }],
    // A colon behind a slash is part of a name.
    ['deep/a:b.taskplan', { uri: at('sub/deep/a%3Ab.taskplan') }],
    ['', { fault: 'empty' }],
    ['  ', { fault: 'empty' }],
    ['\t', { fault: 'empty' }],
    ['club\\fields.taskplan', { fault: 'backslash' }],
    ['/fields.taskplan', { fault: 'absolute' }],
    ['file:///plans/fields.taskplan', { fault: 'absolute' }],
    ['C:/fields.taskplan', { fault: 'absolute' }],
    ['x-y+z.1:fields.taskplan', { fault: 'absolute' }],
    ['../../fields.taskplan', { fault: 'outside' }],
    // The workspace's own folder, for terrain.
    ['..', { uri: ROOT }],
    ['../', { uri: `${ROOT}/` }],
    ['../..', { fault: 'outside' }],
    ['half\ud800.taskplan', { uri: at('sub/half%EF%BF%BD.taskplan') }],
  ])('%j', (path, leads) => {
    expect(resolvePath(at('sub/plan.taskplan'), path, [ROOT])).toEqual(leads);
  });

  test('lead nowhere from a file that lies nowhere', () => {
    expect(resolvePath('untitled:Untitled-1', 'fields.taskplan', ['untitled:/'])).toEqual({ fault: 'outside' });
    expect(resolvePath('untitled:Untitled-1', 'fields.taskplan', ['untitled:'])).toEqual({ fault: 'outside' });
  });

  test('end in the name of the file', () => {
    expect(fileName(at('club/leg%20home.taskplan'))).toBe('leg home.taskplan');
  });
});

describe('what a file brings in', () => {
  test('its `use` lines, with where they lead or why they lead nowhere', () => {
    const text = [
      '# said',
      'use "club/fields.taskplan"',
      'use "a.taskplan"',
      'use "notes.txt"',
      'use ""',
      'use "../x.taskplan"',
      'use',
      field('Larkfield'),
      'use "/x.taskplan"',
    ];
    const workspace = workspaceOf({ 'a.taskplan': `${text.join('\n')}\n` });
    const links = linksOf(workspace, fileOf(workspace, 'a.taskplan'));
    expect(
      links.map(({ entry, line, span, path, target, fault }) => [
        entry.text.slice(span.start, span.end),
        line === entry.head,
        path,
        target,
        fault,
      ]),
    ).toEqual([
      ['"club/fields.taskplan"', true, 'club/fields.taskplan', at('club/fields.taskplan'), undefined],
      ['"a.taskplan"', true, 'a.taskplan', undefined, 'itself'],
      ['"notes.txt"', true, 'notes.txt', undefined, 'ending'],
      ['""', true, '', undefined, 'empty'],
      ['"../x.taskplan"', true, '../x.taskplan', undefined, 'outside'],
      ['"/x.taskplan"', true, '/x.taskplan', undefined, 'absolute'],
    ]);
  });

  test('depends on the folders that are open', () => {
    const workspace = workspaceOf({ 'sub/a.taskplan': 'use "../b.taskplan"\n' });
    const file = fileOf(workspace, 'sub/a.taskplan');
    const target = () => linksOf(workspace, file)[0]?.target;
    expect(target()).toBe(at('b.taskplan'));
    workspace.roots = [at('sub')];
    expect(target()).toBeUndefined();
    workspace.roots = [ROOT];
    expect(target()).toBe(at('b.taskplan'));
  });

  test('the file itself, then each with what it brings in, in the order of the lines, each once', () => {
    const workspace = workspaceOf({
      'a.taskplan': 'use "b.taskplan"\nuse "c.taskplan"\nuse "missing.taskplan"\n',
      'b.taskplan': 'use "d.taskplan"\nuse "a.taskplan"\nuse "e.taskplan"\n',
      'c.taskplan': 'use "d.taskplan"\nuse "c.taskplan"\nuse "f.taskplan"\n',
      'd.taskplan': 'use "gone.taskplan"\n',
      'f.taskplan': 'use "missing.taskplan"\n',
    });
    setUnreadable(workspace, at('gone.taskplan'), 'denied');
    const scope = scopeOf(workspace, fileOf(workspace, 'a.taskplan'));
    expect(scope.files.map(({ uri }) => fileName(uri))).toEqual([
      'a.taskplan',
      'b.taskplan',
      'd.taskplan',
      'c.taskplan',
      'f.taskplan',
    ]);
    expect(scope.wanted.map(fileName)).toEqual(['missing.taskplan', 'e.taskplan']);
  });

  test('reaches what it brings in, itself too, and nothing that is not there', () => {
    const workspace = workspaceOf({
      'a.taskplan': 'use "b.taskplan"\n',
      'b.taskplan': 'use "c.taskplan"\n',
      'c.taskplan': '',
    });
    const [a, b, c, none] = ['a', 'b', 'c', 'none'].map((name) => at(`${name}.taskplan`)) as [
      string,
      string,
      string,
      string,
    ];
    expect([reaches(workspace, a, c), reaches(workspace, a, b), reaches(workspace, a, a)]).toEqual([true, true, true]);
    expect([reaches(workspace, c, a), reaches(workspace, none, none), reaches(workspace, a, none)]).toEqual([
      false,
      false,
      false,
    ]);
  });

  test('names are those of the nearest file first', () => {
    const workspace = workspaceOf({
      'a.taskplan': `use "b.taskplan"\nuse "c.taskplan"\n${field('X')}`,
      'b.taskplan': `${field('Y', 1)}${field('Y', 2)}${field('Z')}`,
      'c.taskplan': `${field('Y', 3)}${field('X', 4)}aircraft Y\n`,
    });
    const scope = scopeOf(workspace, fileOf(workspace, 'a.taskplan'));
    const of = (name: string) =>
      lookUp(scope, 'point', name).map(({ file, placed, meaning }) => [
        fileName(file.uri),
        placed.line,
        meaning.kind === 'field' && meaning.elevationM,
      ]);
    expect(of('Y')).toEqual([
      ['b.taskplan', 0, 1],
      ['b.taskplan', 2, 2],
      ['c.taskplan', 0, 3],
    ]);
    expect(of('X')).toEqual([
      ['a.taskplan', 2, 100],
      ['c.taskplan', 2, 4],
    ]);
    expect(of('W')).toEqual([]);
    const nearest = nearestOf(scope, 'point', 'Y');
    expect([nearest?.file.uri, nearest?.entry.text]).toEqual([at('b.taskplan'), field('Y', 1)]);
    expect(nearestOf(scope, 'point', 'W')).toBeUndefined();
    const some = (name: string, elevation: string) =>
      someOf(scope, 'point', name, ({ text }) => text.includes(`elevation ${elevation}`));
    expect([some('Y', '1'), some('Y', '2'), some('Y', '3'), some('Y', '4'), some('W', '1')]).toEqual([
      true,
      true,
      true,
      false,
      false,
    ]);
    expect(namesIn(scope, 'point')).toEqual(['X', 'Y', 'Z']);
    expect(namesIn(scope, 'aircraft')).toEqual(['Y']);
    expect(namesIn(scope, 'weather')).toEqual([]);
  });
});

describe('names since a scope was seen', () => {
  const plan = (rest: string) => `use "fields.taskplan"\n${rest}`;
  const given = () =>
    workspaceOf({
      'plan.taskplan': plan(field('Ashmoor')),
      'fields.taskplan': `${field('Larkfield')}${field('Ford')}`,
    });
  const scopeIn = (workspace: Workspace) => scopeOf(workspace, fileOf(workspace, 'plan.taskplan'));
  const put = (workspace: Workspace, path: string, text: string) => setFile(workspace, at(path), text);

  test('are none where nothing changed', () => {
    const workspace = given();
    const seen = namesSeen(scopeIn(workspace));
    expect(namesChanged(scopeIn(workspace), seen)).toEqual(new Set());
    // What has no name changes none.
    put(workspace, 'plan.taskplan', plan(`# a comment\n${field('Ashmoor')}`));
    expect([...(namesChanged(scopeIn(workspace), seen) ?? ['?'])]).not.toContain('Larkfield');
  });

  test('are those of the entries that came, went or changed, in each of its files', () => {
    const workspace = given();
    const fields = (ford: string) => `${field('Larkfield')}${field('Moor')}${ford}`;
    put(workspace, 'fields.taskplan', fields(field('Ford')));
    const seen = namesSeen(scopeIn(workspace));
    put(workspace, 'plan.taskplan', plan(`${field('Ashmoor')}${field('Weir')}`));
    put(workspace, 'fields.taskplan', fields(field('Ford', 120)));
    const scope = scopeIn(workspace);
    // One that stands beside what changed may be read again.
    const sure = (names: ReadonlySet<string> | undefined) =>
      names && [...names].filter((name) => name !== 'Ashmoor' && name !== 'Moor').sort();
    expect(sure(namesChanged(scope, seen))).toEqual(['Ford', 'Weir']);
    // Asked again it is told again, and since another time by itself.
    expect(namesChanged(scope, seen)).toBe(namesChanged(scope, seen));
    expect(namesChanged(scope, namesSeen(scope))).toEqual(new Set());
    expect(sure(namesChanged(scope, seen))).toEqual(['Ford', 'Weir']);
    settle(workspace, scope.files);
    const before = namesSeen(scopeIn(workspace));
    put(workspace, 'fields.taskplan', fields(''));
    expect(sure(namesChanged(scopeIn(workspace), before))).toEqual(['Ford']);
  });

  test('cannot be told over more than one change, nor of other files', () => {
    const workspace = given();
    const seen = namesSeen(scopeIn(workspace));
    put(workspace, 'plan.taskplan', plan(field('Weir')));
    put(workspace, 'plan.taskplan', plan(field('Ashmoor', 130)));
    expect(namesChanged(scopeIn(workspace), seen)).toBeUndefined();
    const more = given();
    const before = namesSeen(scopeIn(more));
    put(more, 'fields.taskplan', `use "far.taskplan"\n${field('Larkfield')}${field('Ford')}`);
    put(more, 'far.taskplan', field('Moor'));
    expect(namesChanged(scopeIn(more), before)).toBeUndefined();
    const less = given();
    const all = namesSeen(scopeIn(less));
    put(less, 'plan.taskplan', `# no longer\n${field('Ashmoor')}`);
    expect(scopeIn(less).files).toHaveLength(1);
    expect(namesChanged(scopeIn(less), all)).toBeUndefined();
    const other = workspaceOf({ 'plan.taskplan': field('Ashmoor') });
    expect(
      namesChanged(scopeIn(other), namesSeen(scopeIn(workspaceOf({ 'plan.taskplan': field('Weir') })))),
    ).toBeUndefined();
  });
});

describe('who uses a file', () => {
  const users = (workspace: Workspace, path: string) =>
    usersOf(workspace, at(path))
      .map(({ uri }) => uri.slice(ROOT.length + 1, -'.taskplan'.length))
      .sort()
      .join('');

  test('directly and through others, itself never', () => {
    const workspace = workspaceOf({
      'a.taskplan': 'use "d.taskplan"\n',
      'b.taskplan': 'use "a.taskplan"\n',
      'c.taskplan': 'use "b.taskplan"\nuse "x.taskplan"\n',
      'd.taskplan': 'use "a.taskplan"\n',
      'e.taskplan': '',
    });
    expect([...'abcdex'].map((name) => users(workspace, `${name}.taskplan`))).toEqual(['bcd', 'c', '', 'abc', '', 'c']);
    expect(usersOf(workspace, at('b.taskplan'))[0]).toBe(fileOf(workspace, 'c.taskplan'));
  });

  test('a workspace that holds what some plans need knows of none', () => {
    const workspace: Workspace = {
      ...workspaceOf({ 'a.taskplan': '', 'b.taskplan': 'use "a.taskplan"\n' }),
      inPart: true,
    };
    expect(users(workspace, 'a.taskplan')).toBe('');
    expect(users({ ...workspace, inPart: false }, 'a.taskplan')).toBe('b');
  });

  test('as folders change', () => {
    const workspace = workspaceOf({ 'a.taskplan': '', 'b.taskplan': 'use "a.taskplan"\n' });
    expect(users(workspace, 'a.taskplan')).toBe('b');
    workspace.roots = ['file:///elsewhere'];
    expect(users(workspace, 'a.taskplan')).toBe('');
    workspace.roots = [ROOT];
    expect(users(workspace, 'a.taskplan')).toBe('b');
  });

  test('after any edits as in a workspace made afresh', () => {
    const name = fc.constantFrom(...'abcdef');
    const step = fc.record({ of: name, uses: fc.array(name, { maxLength: 3 }), goes: fc.integer({ min: 0, max: 4 }) });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 30 }), (steps) => {
        const workspace = workspaceOf();
        for (const { of, uses, goes } of steps) {
          const uri = at(`${of}.taskplan`);
          if (goes === 0) forgetFile(workspace, uri);
          else if (goes === 1) setUnreadable(workspace, uri, 'missing');
          else setFile(workspace, uri, uses.map((one) => `use "${one}.taskplan"\n`).join(''));
          // Not asked after every step: several files change in between.
          if (goes === 2) continue;
          for (const one of 'abcdef') {
            const asked = at(`${one}.taskplan`);
            const wanted = [...workspace.files.values()].filter(
              (file) => file.uri !== asked && scopeOf(workspace, file).files.some(({ uri: seen }) => seen === asked),
            );
            const through = new Set(usersOf(workspace, asked));
            // A file that is gone is seen by none, though it may be named.
            if (workspace.files.has(asked)) expect(through).toEqual(new Set(wanted));
            expect(users(workspace, `${one}.taskplan`)).toBe(
              users({ ...workspace, files: new Map(workspace.files) }, `${one}.taskplan`),
            );
          }
        }
      }),
      { numRuns: 300 },
    );
  });
});
