/** What a task is flown among: of one text after another in a workspace, the same as of each afresh. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { EntryPool } from '../../grammar/file.ts';
import { decodeTile } from '../../server/flight/index.ts';
import { NO_SURROUNDINGS, type Surroundings, surroundingsOf, tileIn } from '../../server/plan/surroundings.ts';
import { createWorkspace, forgetFile, scopeOf, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { tileBytes } from '../flight/tiles.ts';

const ROOT = 'file:///plans';
const PLAN = `${ROOT}/plan.taskplan`;
const CLUB = `${ROOT}/club.taskplan`;

const spaceOf = (texts: Readonly<Record<string, string>> = {}) => {
  const workspace = createWorkspace([ROOT]);
  for (const [uri, text] of Object.entries(texts)) setFile(workspace, uri, text);
  return workspace;
};
function among(workspace: Workspace, uri = PLAN): Surroundings {
  const file = workspace.files.get(uri);
  if (!file) throw new Error(`no ${uri}`);
  return surroundingsOf(workspace, scopeOf(workspace, file));
}
const edited = (workspace: Workspace, text: string, uri = PLAN) => {
  setFile(workspace, uri, text);
  return among(workspace);
};

const named = ({ meaning }: { readonly meaning: { readonly name?: string } }) => meaning.name ?? '';
const groups = (list: Surroundings['fields' | 'turnpoints' | 'obstacles']) =>
  list.map(({ all }) => (all as readonly { readonly meaning: { readonly name?: string } }[]).map(named));
/** The names of what there is, in order, by file where it has a place. */
const told = (one: Surroundings) => ({
  fields: groups(one.fields),
  unread: one.unreadFields.map(named),
  turnpoints: groups(one.turnpoints),
  obstacles: groups(one.obstacles),
  airspaces: one.airspaces.map(named),
  folders: one.terrain?.folders,
});
/** What came, went and changed: names, the one before and the one now. */
const changes = ({ change }: Surroundings) =>
  change?.seen.map(({ before, after }) => [before?.meaning.name, after?.meaning.name]);

const lat = (i: number) => (47 + i / 100).toFixed(4);
const field = (name: string, i = 0, more = '  elevation 100 m\n') =>
  `field ${name} at ${lat(i)} N 19.0000 E\n${more}\n`;
const turn = (name: string, i = 0) => `turnpoint ${name} at ${lat(i)} N 19.0000 E\n  elevation 100 m\n\n`;
const mast = (name: string, i = 0, top = 300) => `obstacle ${name} at ${lat(i)} N 19.0000 E\n  top ${top} m MSL\n\n`;
const space = (name: string, floor = 1000) =>
  `airspace ${name}\n  floor ${floor} m MSL\n  ceiling 3000 m MSL\n  circle 47.0000 N 19.0000 E radius 2 km\n\n`;
const USE = 'use "club.taskplan"\n\n';

describe('what there is', () => {
  test('of every file in view, in order, by its kind', () => {
    const workspace = spaceOf({
      [PLAN]: `${USE}${turn('Bridge')}${field('Westing', 1)}${space('Aldmere')}${field('Easting', 2)}terrain "own/"\n`,
      [CLUB]: `${mast('Mast')}${field('Larkfield', 3)}${space('Glen')}${mast('Stack', 1)}terrain "tiles///"\n\nterrain "../own"\n`,
    });
    const one = among(workspace);
    expect(told(one)).toStrictEqual({
      fields: [['Westing', 'Easting'], ['Larkfield']],
      unread: [],
      turnpoints: [['Bridge']],
      obstacles: [['Mast', 'Stack']],
      airspaces: ['Aldmere', 'Glen'],
      // Nearest first; one outside of the workspace is not looked at.
      folders: [`${ROOT}/own`, `${ROOT}/tiles`],
    });
    expect(one.change).toBeUndefined();
    const text = (at: Surroundings['airspaces'][number]['at']) => at.entry.text.slice(at.span.start, at.span.end);
    expect(one.fields[1]?.all.map(({ at, position }) => [at.uri, text(at), position.latDeg])).toStrictEqual([
      [CLUB, 'Larkfield', 47.03],
    ]);
    expect(one.terrain?.at.uri).toBe(PLAN);
    expect(one.airspaces.map(({ at }) => [at.uri, text(at)])).toStrictEqual([
      [PLAN, 'Aldmere'],
      [CLUB, 'Glen'],
    ]);
    expect(one.terrain && text(one.terrain.at)).toBe('terrain "own/"');
  });

  test('is nothing in a plan that names nothing', () => {
    const none = {
      fields: [],
      unread: [],
      turnpoints: [],
      obstacles: [],
      airspaces: [],
      folders: undefined,
    };
    expect(told(among(spaceOf({ [PLAN]: 'task Out\n' })))).toStrictEqual(none);
    expect(told(NO_SURROUNDINGS)).toStrictEqual(none);
    expect(surroundingsOf(spaceOf(), { ...scopeOf(spaceOf(), setFile(spaceOf(), PLAN, '')), files: [] })).toBe(
      NO_SURROUNDINGS,
    );
    // A club without fields adds no empty groups.
    const club = spaceOf({ [PLAN]: `${USE}${field('Westing')}`, [CLUB]: mast('Mast') });
    expect([told(among(club)).fields, told(among(club)).obstacles]).toStrictEqual([[['Westing']], [['Mast']]]);
  });

  test('a field counts when all that its height rests on can be read', () => {
    const one = among(
      spaceOf({
        [PLAN]: [
          field('Good'),
          field('Noted', 1, '  elevation 100 m\n  note\n'),
          field('Paved', 2, '  elevation 100 m\n  runway 18/36 900\n'),
          field('Tuned', 3, '  elevation 100 m\n  frequency 1\n'),
          'field Lost\n  elevation 100 m\n\n',
          field('Flat', 4, ''),
          field('Asks', 5, '  elevation 100 m\n  arrive 300\n'),
          field('Odd', 6, '  elevation 100 m\n  zzzzz 17\n'),
          field('Broken', 7, '  elevation 100\n'),
          'turnpoint Nowhere\n  elevation 100 m\n\n',
          'obstacle Unplaced\n  top 300 m MSL\n\n',
        ].join(''),
      }),
    );
    expect([told(one).fields, told(one).unread]).toStrictEqual([
      [['Good', 'Noted', 'Paved', 'Tuned', 'Odd']],
      ['Lost', 'Flat', 'Asks', 'Broken'],
    ]);
    expect([told(one).turnpoints, told(one).obstacles]).toStrictEqual([[], []]);
  });

  test('an index finds what lies near a place', () => {
    const [group] = among(spaceOf({ [PLAN]: [0, 1, 2, 3, 20].map((i) => field(`F${i}`, i)).join('') })).fields;
    const near = group?.index().within({ latDeg: 47.01, lonDeg: 19 }, 1500) ?? [];
    // A hundredth of a degree of latitude is 1,112 m there.
    expect(near.map((i) => group?.all[i]?.meaning.name).toSorted()).toStrictEqual(['F0', 'F1', 'F2']);
  });
});

describe('the tile of a corner', () => {
  const tile = decodeTile(
    tileBytes(1201, () => 100),
    { latDeg: 47, lonDeg: 19 },
  );
  const corner = { latDeg: 47, lonDeg: 19 };
  const [near, far] = [`${ROOT}/near/N47E019.hgt`, `${ROOT}/far/N47E019.hgt`];

  test('is looked for in each folder in turn', () => {
    if (!tile) throw new Error('no tile');
    const workspace = spaceOf({ [PLAN]: 'terrain "near"\n\nterrain "far"\n\nterrain "near/"\n' });
    const asked = () => {
      const { terrain } = among(workspace);
      return terrain && tileIn(terrain, corner);
    };
    expect(among(workspace).terrain?.folders).toStrictEqual([`${ROOT}/near`, `${ROOT}/far`]);
    expect(asked()).toStrictEqual({ tile: null, wanted: [near] });
    setTile(workspace, near, 'missing');
    expect(asked()).toStrictEqual({ tile: null, wanted: [far] });
    setTile(workspace, far, tile);
    expect(asked()).toStrictEqual({ tile, wanted: [] });
    setTile(workspace, far, 'missing');
    expect(asked()).toStrictEqual({ tile: null, wanted: [] });
  });

  test('that comes makes other surroundings where a terrain is written, of which no change is told', () => {
    const bare = spaceOf({ [PLAN]: field('Westing') });
    const before = among(bare);
    setTile(bare, near, 'missing');
    expect(among(bare)).toBe(before);
    const workspace = spaceOf({ [PLAN]: `terrain "near"\n\n${field('Westing')}` });
    const then = among(workspace);
    setTile(workspace, near, 'missing');
    const now = among(workspace);
    expect(now).not.toBe(then);
    expect([now.change, now.fields === then.fields, now.terrain === then.terrain]).toStrictEqual([
      undefined,
      true,
      false,
    ]);
    expect(among(workspace)).toBe(now);
  });
});

describe('after an edit', () => {
  const HOME = `${field('A', 1)}${turn('T', 2)}${field('B', 3)}${mast('M', 4)}${field('C', 5)}`;
  const OTHER = 'aircraft Finch\n  vne 115 kt\n\n';

  test('of something else the surroundings stay as they are', () => {
    const workspace = spaceOf({ [PLAN]: `${HOME}${OTHER}` });
    const before = among(workspace);
    expect(among(workspace)).toBe(before);
    expect(edited(workspace, `${HOME}${OTHER.replace('115', '116')}`)).toBe(before);
    expect(edited(workspace, `# A note.\n\n${HOME}${OTHER}`)).toBe(before);
    expect(edited(workspace, HOME)).toBe(before);
  });

  test('it is told what came, went or changed, since which surroundings', () => {
    const workspace = spaceOf({ [PLAN]: HOME });
    let before = among(workspace);
    let earlier: Surroundings | undefined;
    const now = (text: string) => {
      const after = edited(workspace, text);
      const isBack = after === earlier;
      if (after.change && !isBack) expect(after.change.before).toBe(before.self);
      expect(after.self).not.toBe(before.self);
      earlier = before;
      before = after;
      return isBack ? 'as before the edit before' : changes(after);
    };
    expect(now(HOME.replace('field B', 'field Beta'))).toStrictEqual([['B', 'Beta']]);
    // An edit that is taken back brings back what was there.
    expect(now(HOME)).toBe('as before the edit before');
    expect(now(HOME.replace(field('B', 3), ''))).toStrictEqual([['B', undefined]]);
    expect(now(HOME)).toBe('as before the edit before');
    expect(now(HOME.replace('field B', 'field Bravo'))).toStrictEqual([['B', 'Bravo']]);
    expect(now(HOME.replace('field B', 'field Beech'))).toStrictEqual([['Bravo', 'Beech']]);
    expect(now(HOME)).toStrictEqual([['Beech', 'B']]);
    expect(now(`${HOME}${field('D', 6)}`)).toStrictEqual([[undefined, 'D']]);
    expect(now(`${field('Z', 7)}${HOME}${field('D', 6)}`)).toStrictEqual([[undefined, 'Z']]);
    expect(now(HOME.replace('field A', 'field Alpha'))).toStrictEqual([
      ['Z', 'Alpha'],
      ['A', 'B'],
      ['B', 'C'],
      ['C', undefined],
      ['D', undefined],
    ]);
    expect(now(HOME.replace('turnpoint T', 'turnpoint U').replace('obstacle M', 'obstacle N'))).toStrictEqual([
      ['Alpha', 'A'],
      ['T', 'U'],
      ['M', 'N'],
    ]);
    // Two of the same kind next to each other, of which one goes.
    expect(now(`${HOME}${field('C', 5)}`)?.length).toBe(3);
    expect(now(HOME)).toStrictEqual([['C', undefined]]);
    expect(now('')).toBeUndefined();
  });

  test('what no word of the language begins is nothing', () => {
    const workspace = spaceOf({ [PLAN]: HOME });
    among(workspace);
    const now = edited(workspace, `${HOME}zzz Foo\n\n${field('D', 6)}`);
    expect(changes(now)).toStrictEqual([[undefined, 'D']]);
    expect(told(now)).toStrictEqual(told(among(spaceOf({ [PLAN]: `${HOME}${field('D', 6)}` }))));
  });

  test('of a file that is gone and comes again, what it holds now is there', () => {
    const workspace = spaceOf({ [PLAN]: `${USE}${field('Westing')}`, [CLUB]: HOME });
    among(workspace);
    forgetFile(workspace, CLUB);
    const now = edited(workspace, `${field('D', 6)}${HOME}`, CLUB);
    expect(told(now).fields).toStrictEqual([['Westing'], ['D', 'A', 'B', 'C']]);
    expect(told(edited(workspace, HOME, CLUB)).fields).toStrictEqual([['Westing'], ['A', 'B', 'C']]);
  });

  test('a field that changes its note alone is another, at the same place', () => {
    const workspace = spaceOf({ [PLAN]: HOME });
    const [then] = among(workspace).fields;
    const index = then?.index();
    const after = edited(workspace, HOME.replace('field B at 47.0300 N 19.0000 E\n', '$&  note "Wet."\n'));
    expect(changes(after)).toStrictEqual([['B', 'B']]);
    expect(after.fields[0]?.index()).toBe(index);
    expect([after.turnpoints.length, after.fields[0] === then]).toStrictEqual([1, false]);
    const moved = edited(workspace, HOME.replace('47.0300 N', '47.0900 N'));
    expect(moved.fields[0]?.index().within({ latDeg: 47.09, lonDeg: 19 }, 100)).toStrictEqual([1]);
    expect(moved.fields[0]?.index().within({ latDeg: 47.03, lonDeg: 19 }, 100)).toStrictEqual([]);
    const aside = edited(workspace, HOME.replace('47.0300 N 19.0000 E', '47.0900 N 19.1000 E'));
    expect(aside.fields[0]?.index().within({ latDeg: 47.09, lonDeg: 19.1 }, 100)).toStrictEqual([1]);
  });

  test('lists of which nothing changed are the same lists', () => {
    const workspace = spaceOf({ [PLAN]: `${HOME}${space('Aldmere')}${field('Lost', 0, '')}terrain "tiles"\n` });
    const then = among(workspace);
    const text = workspace.files.get(PLAN)?.syntax.text ?? '';
    const now = edited(workspace, text.replace('obstacle M', 'obstacle N'));
    for (const kind of ['fields', 'unreadFields', 'turnpoints', 'airspaces', 'terrain'] as const)
      expect([kind, now[kind] === then[kind]]).toStrictEqual([kind, true]);
    expect(now.obstacles === then.obstacles).toBe(false);
    const other = edited(workspace, text.replace('field A', 'field Alpha'));
    for (const kind of ['unreadFields', 'turnpoints', 'airspaces', 'terrain'] as const)
      expect([kind, other[kind] === then[kind]]).toStrictEqual([kind, true]);
    expect([other.fields === then.fields, other.obstacles === then.obstacles]).toStrictEqual([false, false]);
    const unread = edited(workspace, text.replace('field Lost', 'field Gone'));
    expect(unread.unreadFields.map(named)).toStrictEqual(['Gone']);
  });

  test('of airspace or ground, or of very much at once, no change is told', () => {
    const text = `${HOME}${space('Aldmere')}${space('Glen')}terrain "tiles"\n\nterrain "more"\n`;
    const workspace = spaceOf({ [PLAN]: text });
    among(workspace);
    const now = (by: string) => {
      const { change } = edited(workspace, by);
      edited(workspace, text);
      return change;
    };
    const [lower, higher] = [space('Glen'), space('Glen', 1500)];
    expect(now(text.replace(lower, higher))).toBeUndefined();
    expect(now(text.replace(lower, ''))).toBeUndefined();
    expect(now(text.replace('field A', 'field Alpha').replace(lower, higher))).toBeUndefined();
    expect(now(text.replace('"more"', '"much"'))).toBeUndefined();
    expect(now(text.replace('terrain "more"\n', ''))).toBeUndefined();
    // What stands beside them is told by itself.
    expect(now(text.replace('field C', 'field Cedar'))?.seen.length).toBe(1);
    expect(now(`${text}${field('D', 6)}`)?.seen.length).toBe(1);
    // Entries that change places are others in order.
    const swapped = edited(workspace, text.replace(space('Aldmere') + space('Glen'), space('Glen') + space('Aldmere')));
    expect([swapped.airspaces.map(named), swapped.change]).toStrictEqual([['Glen', 'Aldmere'], undefined]);
    edited(workspace, text);
    expect(now(text.replace('field A', 'field Alpha'))?.seen.length).toBe(1);
    // The same folder, written in another way, is told at its new place.
    const { terrain } = edited(workspace, text.replace('terrain "tiles"', 'terrain   "tiles/"'));
    expect(terrain?.folders).toStrictEqual([`${ROOT}/tiles`, `${ROOT}/more`]);
    expect(terrain?.at.entry.text).toContain('terrain   "tiles/"');
    edited(workspace, text);
    const many = (count: number, kind: (name: string, i: number) => string, name: string) =>
      Array.from({ length: count }, (_, i) => kind(`${name}${i}`, i)).join('');
    const all = (letter: string, count: number) => `${many(count, field, letter)}${field('Last', 50)}`;
    const many1 = spaceOf({ [PLAN]: all('F', 16) });
    among(many1);
    expect(edited(many1, all('G', 16)).change?.seen.length).toBe(16);
    const many2 = spaceOf({ [PLAN]: all('F', 17) });
    among(many2);
    expect(edited(many2, all('G', 17)).change).toBeUndefined();
  });

  test('of the folders of the workspace, what lies outside of them is seen no longer', () => {
    const workspace = spaceOf({ [PLAN]: `${HOME}terrain "tiles"\n` });
    expect(told(among(workspace)).folders).toStrictEqual([`${ROOT}/tiles`]);
    workspace.roots = ['file:///elsewhere'];
    expect(told(among(workspace)).folders).toBeUndefined();
    workspace.roots = [ROOT];
    expect(told(among(workspace)).folders).toStrictEqual([`${ROOT}/tiles`]);
  });

  test('of another file in view, the change is that of the file', () => {
    const workspace = spaceOf({ [PLAN]: `${USE}${field('Westing')}`, [CLUB]: HOME });
    const then = among(workspace);
    const now = edited(workspace, HOME.replace('field B', 'field Beta'), CLUB);
    expect(changes(now)).toStrictEqual([['B', 'Beta']]);
    expect(now.change?.before).toBe(then.self);
    // Both files changed since they were looked at; that of the club has been like this before.
    setFile(workspace, PLAN, `${USE}${field('Easting')}`);
    const both = edited(workspace, HOME, CLUB);
    expect(both.change?.before).toBe(now.self);
    expect(changes(both)).toStrictEqual([
      ['Westing', 'Easting'],
      ['Beta', 'B'],
    ]);
    // A file that comes into view, or goes out of it.
    expect(edited(workspace, field('Easting')).change).toBeUndefined();
    expect(told(among(workspace)).fields).toStrictEqual([['Easting']]);
    expect(edited(workspace, `${USE}${field('Easting')}`)).toBe(both);
    expect(edited(workspace, `${USE}${field('Easting', 1)}`).change?.before).toBe(both.self);
    // Another file comes into view.
    expect(edited(workspace, field('Easting')).change).toBeUndefined();
    setFile(workspace, CLUB, `${HOME}${field('D', 6)}`);
    expect(edited(workspace, `${USE}${field('Easting')}`).change).toBeUndefined();
    expect(told(among(workspace)).fields).toStrictEqual([['Easting'], ['A', 'B', 'C', 'D']]);
  });

  test('what an edit took away comes back with it, whatever else was edited between', () => {
    const workspace = spaceOf({ [PLAN]: `${HOME}${OTHER}` });
    const then = among(workspace);
    edited(workspace, `${HOME.replace('field B', 'field Beta')}${OTHER}`);
    edited(workspace, `${HOME.replace('field B', 'field Beta')}${OTHER.replace('115', '116')}`);
    expect(edited(workspace, `${HOME}${OTHER.replace('115', '116')}`)).toBe(then);
    // Once and again.
    const beta = edited(workspace, `${HOME.replace('field B', 'field Beta')}${OTHER}`);
    expect(edited(workspace, `${HOME}${OTHER}`)).toBe(then);
    expect(edited(workspace, `${HOME.replace('field B', 'field Beta')}${OTHER}`)).toBe(beta);
    // Of folders that are others it does not.
    workspace.roots = [ROOT, 'file:///elsewhere'];
    expect(edited(workspace, `${HOME}${OTHER}`)).not.toBe(then);
  });

  test('what two files have alike is told at its place in each', () => {
    const [one, two, three] = ['one', 'two', 'three'].map((name) => `${ROOT}/${name}.taskplan`) as [
      string,
      string,
      string,
    ];
    // Read with a pool, the second and the third share the entry.
    const workspace = { ...spaceOf(), pool: new EntryPool() };
    for (const uri of [one, two, three]) setFile(workspace, uri, field('A', 1));
    setFile(workspace, PLAN, 'use "two.taskplan"\n\ntask Out\n');
    const then = among(workspace);
    const now = edited(workspace, 'use "three.taskplan"\n\ntask Out\n');
    const [before, after] = [then, now].map(({ fields }) => fields[0]?.all[0]);
    expect(before?.meaning).toBe(after?.meaning);
    expect([before?.at.uri, after?.at.uri, now.change]).toStrictEqual([two, three, undefined]);
  });

  test('a change of several edits is told as a whole, and none from what no change is told of', () => {
    const second = `${ROOT}/second.taskplan`;
    const workspace = spaceOf({ [PLAN]: `${USE}task Out\n`, [second]: `${USE}task Round\n`, [CLUB]: HOME });
    const then = among(workspace);
    expect(among(workspace, second)).toBe(then);
    // Plans over the same files share what they are flown among, also after an edit of those.
    const now = edited(workspace, HOME.replace('field B', 'field Beta'), CLUB);
    expect(among(workspace, second)).toBe(now);
    // One that was not looked at for two edits has what both of them changed.
    edited(workspace, HOME.replace('field B', 'field Bravo'), CLUB);
    const third = edited(workspace, HOME, CLUB);
    expect(changes(third)).toStrictEqual([['Bravo', 'B']]);
    const late = among(workspace, second);
    expect(told(late)).toStrictEqual(told(third));
    expect(late.change?.before).toBe(now.self);
    expect(changes(late)).toStrictEqual([['Beta', 'B']]);
    // None is told from what no change is told of.
    edited(workspace, `${HOME}${space('Aldmere')}`, CLUB);
    expect(told(among(workspace, second)).airspaces).toStrictEqual(['Aldmere']);
  });
});

test('whatever is edited, it is as afresh, and what is told of the change leads from the one to the other', () => {
  const makers: readonly ((name: string, i: number) => string)[] = [
    (name, i) => field(name, i),
    (name, i) => turn(name, i),
    (name, i) => mast(name, i),
    (name) => space(name),
    (name) => field(name, 0, ''),
    () => '# Note.\n\n',
    (name) => `terrain "${name}"\n\n`,
    (name) => `aircraft ${name}\n\n`,
  ];
  const entry = fc
    .tuple(fc.constantFrom(...makers), fc.constantFrom('Ash', 'Birch', 'Cedar', 'Dogwood', 'Elm'), fc.nat({ max: 9 }))
    .map(([make, name, i]) => make(name, i));
  const edit = fc.record({
    at: fc.nat({ max: 12 }),
    remove: fc.nat({ max: 2 }),
    add: fc.array(entry, { maxLength: 2 }),
    club: fc.boolean(),
    looked: fc.boolean(),
  });
  const asText = (entries: readonly string[]) => entries.join('');
  fc.assert(
    fc.property(
      fc.array(entry, { maxLength: 9 }),
      fc.array(entry, { maxLength: 9 }),
      fc.array(edit, { minLength: 1, maxLength: 6 }),
      (own, club, edits) => {
        const lists = { plan: [USE, ...own], club: [...club] };
        const workspace = spaceOf({ [PLAN]: asText(lists.plan), [CLUB]: asText(lists.club) });
        let before = among(workspace);
        const ever = new Set([before]);
        for (const { at, remove, add, club: inClub, looked } of edits) {
          const list = inClub ? lists.club : lists.plan;
          list.splice(inClub ? at % (list.length + 1) : 1 + (at % list.length), remove, ...add);
          setFile(workspace, inClub ? CLUB : PLAN, asText(list));
          if (!looked) continue;
          const now = among(workspace);
          const fresh = among(spaceOf({ [PLAN]: asText(lists.plan), [CLUB]: asText(lists.club) }));
          expect(told(now)).toStrictEqual(told(fresh));
          for (const kind of ['fields', 'turnpoints', 'obstacles'] as const)
            for (const [g, group] of now[kind].entries()) {
              const other = fresh[kind][g];
              const places = ({ all }: { readonly all: readonly { readonly position: unknown }[] }) =>
                all.map(({ position }) => position);
              expect(other && places(other)).toStrictEqual(places(group));
              for (let i = 0; i < 10; i++) {
                const near = { latDeg: 47 + i / 100, lonDeg: 19 };
                expect(group.index().within(near, 100).toSorted()).toStrictEqual(
                  other?.index().within(near, 100).toSorted(),
                );
              }
            }
          if (now !== before && now.change && !ever.has(now)) {
            expect(now.change.before).toBe(before.self);
            // All that was there, less what went, with what came, is what is there.
            const of = (one: Surroundings) =>
              new Set(
                [...one.fields, ...one.turnpoints, ...one.obstacles].flatMap(({ all }) =>
                  (all as readonly { readonly meaning: object }[]).map(({ meaning }) => meaning),
                ),
              );
            const moved = of(before);
            for (const { before: gone } of now.change.seen) if (gone) expect(moved.delete(gone.meaning)).toBe(true);
            for (const { after: came } of now.change.seen) if (came) moved.add(came.meaning);
            expect(moved).toStrictEqual(of(now));
            expect([...moved].every((one) => of(now).has(one as never))).toBe(true);
          }
          ever.add(now);
          before = now;
        }
      },
    ),
  );
});
