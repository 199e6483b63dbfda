/** Renaming: of names in every file that means them, of files with the paths that lead to them, and while one types. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { WorkspaceEdit } from 'vscode-languageserver-types';
import { needsQuotes } from '../../grammar/names.ts';
import { type FileRename, willRenameFiles } from '../../server/features/file-rename.ts';
import { linkedEditing } from '../../server/features/linked-editing.ts';
import { renamePath } from '../../server/features/path-rename.ts';
import { prepareRename, rename } from '../../server/features/rename.ts';
import { nameUsesIn } from '../../server/plan/references.ts';
import { understand } from '../../server/plan/understand.ts';
import {
  createWorkspace,
  linksOf,
  lookUp,
  type SourceFile,
  setFile,
  setUnreadable,
  type Workspace,
} from '../../server/plan/workspace.ts';
import { check } from '../../server/rules/run.ts';
import { anyText } from '../grammar/plans.ts';
import {
  applied,
  appliedEverywhere,
  liesIn,
  marked,
  positionOf,
  ROOT,
  samplePlaces,
  sampleWorkspace,
  textIn,
} from './marked.ts';

const TWO_FILES = `//- fields.taskplan
field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m
turnpoint "Withy Bridge" at 47.3380 N 19.5240 E
  elevation 140 m
//- plan.taskplan
use "fields.taskplan"
limits Solo
  within    12 NM of Larkfield
task Home
  start     Lark$0field at 3200 ft MSL
  turn      "Withy Bridge"
  finish    "Larkfield"
`;

/** The files after a rename at the caret, by name; the refusal when there is one. */
function renamed(text: string, to: string): Map<string, string> | string {
  const m = marked(text);
  const result = rename(m.workspace, m.understood, m.position, to);
  return 'refused' in result ? result.refused : appliedEverywhere(m, result);
}

const prepared = (text: string) => {
  const m = marked(text);
  return prepareRename(m.workspace, m.understood, m.position);
};

describe('rename', () => {
  test('changes the entry and every line that means it, in all files', () => {
    const after = renamed(TWO_FILES, 'Ashmoor') as Map<string, string>;
    expect(after.get('fields.taskplan')).toContain('field Ashmoor at 47.2031');
    expect(after.get('plan.taskplan')).toContain('within    12 NM of Ashmoor');
    expect(after.get('plan.taskplan')).toContain('start     Ashmoor at');
    expect(after.get('plan.taskplan')).toContain('finish    "Ashmoor"');
    expect(renamed(TWO_FILES.replace('$0', '').replace('field Lark', 'field Lark$0'), 'Ashmoor')).toEqual(after);
  });

  test('puts quotes where they are needed, and leaves them where they are', () => {
    const after = renamed(TWO_FILES, ' Long Acre ') as Map<string, string>;
    expect(after.get('fields.taskplan')).toContain('field "Long Acre" at 47.2031');
    expect(after.get('plan.taskplan')).toContain('start     "Long Acre" at');
    expect(after.get('plan.taskplan')).toContain('finish    "Long Acre"');
    const bare = TWO_FILES.replace('$0', '').replace('turn      "Withy', 'turn      "Wi$0thy');
    expect((renamed(bare, 'Withy') as Map<string, string>).get('plan.taskplan')).toContain('turn      "Withy"');
  });

  test.each([
    ['Larkfield', false],
    ['Öland', false],
    ['a-b_c9', false],
    ['m', false],
    ['Long Acre', true],
    ['9th', true],
    ['turn', true],
    ['TURN', true],
    ['FL65', true],
    ['a#b', true],
    ['km/h', true],
    ['', true],
  ])('%s needs quotes: %s', (name, needs) => {
    expect(needsQuotes(name)).toBe(needs);
  });

  test('the same name changes nothing', () => {
    for (const same of ['Larkfield', ' Larkfield ']) expect(renamed(TWO_FILES, same)).toEqual(new Map());
    expect(renamed('field "É$0tang" at 47 N 19 E\n', 'E\u0301tang')).toEqual(new Map());
  });

  test('a name that is none is refused, with the reason', () => {
    expect(renamed(TWO_FILES, '  ')).toMatch(/at least one letter/);
    expect(renamed(TWO_FILES, 'Lark\u200Bfield')).toMatch(/nobody sees/);
    expect(renamed(TWO_FILES, 'a "b"')).toMatch(/quotation marks/);
    expect(renamed(TWO_FILES, 'a\nb')).toMatch(/one line/);
    expect(renamed(TWO_FILES, 'a\u0000b')).toMatch(/one line/);
  });

  test('a name that another has is refused wherever both are seen', () => {
    expect(renamed(TWO_FILES, 'Withy Bridge')).toBe(
      'Another field or turnpoint is called `Withy Bridge` already, in `fields.taskplan`.',
    );
    const both = TWO_FILES.replace('task Home', 'turnpoint Mill at 47.3 N 19.5 E\n  elevation 140 m\ntask Home');
    const inFields = both.replace('$0', '').replace('field Lark', 'field L$0ark');
    expect(renamed(inFields, 'Mill')).toMatch(/`Mill` already, in `plan.taskplan`/);
  });

  test('other kinds of entry, and files that do not see it, may have that name', () => {
    expect(renamed(TWO_FILES, 'Solo')).toBeInstanceOf(Map);
    expect(
      renamed(`${TWO_FILES}//- other.taskplan\nfield Ashmoor at 47 N 19 E\n  elevation 1 m\n`, 'Ashmoor'),
    ).toBeInstanceOf(Map);
    const tasks = '//- a.taskplan\nuse "b.taskplan"\ntask O$0ne\n//- b.taskplan\ntask Two\n';
    expect(renamed(tasks, 'Two')).toBeInstanceOf(Map);
    expect(renamed(`${tasks}`.replace('task O', 'task Two\ntask O'), 'Two')).toMatch(/already/);
  });

  test('of two entries of one name the one at the caret is renamed, the first with its uses', () => {
    const twice = 'reserve T\n  arrive 900 ft AGL\nreserve T\n  arrive 800 ft AGL\ntask One\n  reserve T\n';
    expect(renamed(twice.replace('arrive 900 ft AGL\nreserve T', 'arrive 900 ft AGL\nreserve $0T'), 'U')).toEqual(
      new Map([['plan.taskplan', twice.replace('AGL\nreserve T', 'AGL\nreserve U')]]),
    );
    expect(renamed(`reserve $0T${twice.slice(9)}`, 'U')).toEqual(
      new Map([['plan.taskplan', `reserve U${twice.slice(9).replace('  reserve T', '  reserve U')}`]]),
    );
  });

  test('prepare gives the name without its quotes', () => {
    const m = marked(TWO_FILES.replace('$0', '').replace('turn      "Withy', 'turn      "Wi$0thy'));
    const ready = prepareRename(m.workspace, m.understood, m.position);
    if ('refused' in ready) throw new Error(ready.refused);
    expect(ready.placeholder).toBe('Withy Bridge');
    expect(textIn(m.texts.get('plan.taskplan') as string, ready.range)).toBe('Withy Bridge');
  });

  test.each([
    ['task Home\n  cl$0imb to 4800 ft MSL\n', /Only names/],
    ['$0', /Only names/],
    ['task ""$0\n', /Only names/],
    ['task "Ho$0me\n', /Close the quotes/],
    ['task Home\n  reserve Tra$0ining\n', /No reserve is called `Training` here: correct the name/],
    ['use "gone.taskplan"\ntask Home\n  reserve Tra$0ining\n', /`gone.taskplan`, which may define it, cannot be read/],
  ])('prepare refuses elsewhere: %j', (text, why) => {
    expect(prepared(text)).toEqual({ refused: expect.stringMatching(why) });
    expect(renamed(text, 'Other')).toMatch(why);
  });
});

/** The texts of a workspace by URI. */
const textsOf = (workspace: Workspace) =>
  new Map([...workspace.files.values()].map(({ uri, syntax }) => [uri, syntax.text]));

function applyTo(workspace: Workspace, edit: WorkspaceEdit): void {
  for (const [uri, edits] of Object.entries(edit.changes ?? {})) {
    const text = workspace.files.get(uri)?.syntax.text as string;
    expect(edits.every(({ range }) => liesIn(text, range))).toBe(true);
    setFile(workspace, uri, applied(text, edits));
  }
}

/** Findings of every file as `file:line code`. */
function findingsOf(workspace: Workspace): string[] {
  return [...workspace.files.values()]
    .flatMap((file) =>
      check(workspace, understand(workspace, file)).map(({ at, code }) => {
        const placed = file.syntax.entries.find(({ syntax }) => syntax === at.entry);
        return `${at.uri}:${placed?.line} ${code}`;
      }),
    )
    .sort();
}

/** Every place of a workspace where a name stands, as file and offset. */
function namePlaces(workspace: Workspace): { uri: string; offset: number }[] {
  return [...workspace.files.values()].flatMap(({ uri, syntax }) =>
    syntax.entries.flatMap(({ syntax: entry, offset }) =>
      [...(entry.name ? [entry.name] : []), ...nameUsesIn(entry).map(({ node }) => node)].map(({ span }) => ({
        uri,
        offset: offset + span.start + 1,
      })),
    ),
  );
}

const newName = fc.oneof(
  fc.constantFrom('Elmcote', 'Öland', 'x', 'turn', '9 Elms', 'a # b', 'Long Acre', 'FL65', 'é'),
  fc.string({ unit: 'binary', minLength: 1, maxLength: 6 }),
);

/** Renames what stands at a place and back; every text is as before, and no finding is new in between. */
function thereAndBack(workspace: Workspace, place: number, to: string): void {
  const before = textsOf(workspace);
  const findings = findingsOf(workspace);
  const at = () => {
    // Offsets move, the order of the names does not.
    const { uri, offset } = namePlaces(workspace)[place] as { uri: string; offset: number };
    const file = workspace.files.get(uri);
    if (!file) throw new Error(uri);
    return { understood: understand(workspace, file), position: positionOf(file.syntax.text, offset) };
  };
  const first = at();
  const ready = prepareRename(workspace, first.understood, first.position);
  const there = rename(workspace, first.understood, first.position, to);
  if ('refused' in there) return;
  if ('refused' in ready) throw new Error(ready.refused);
  applyTo(workspace, there);
  expect(findingsOf(workspace).filter((finding) => !findings.includes(finding))).toEqual([]);
  const second = at();
  const back = rename(workspace, second.understood, second.position, ready.placeholder);
  // One of two entries of a name cannot get it back.
  if ('refused' in back)
    expect([back.refused, findings.join()]).toEqual([
      expect.stringMatching(/already/),
      expect.stringMatching(/defined-twice/),
    ]);
  else {
    applyTo(workspace, back);
    // A bare name that became one in quotes keeps them, since quotes may be wished.
    const plain = (text: string) => (needsQuotes(to.trim().normalize('NFC')) ? text.replaceAll('"', '') : text);
    for (const [file, text] of textsOf(workspace)) expect(plain(text)).toBe(plain(before.get(file) as string));
  }
  for (const [file, text] of before) setFile(workspace, file, text);
}

test('there and back: the same texts, and nothing new to find', () => {
  const m = marked(`${TWO_FILES}//- loop.taskplan
use "plan.taskplan"
use "../plans/loop2.taskplan"
reserve Training
  arrive 900 ft AGL
task Home
  reserve Training
  limits  "Solo"
  start   Larkfield at 3000 ft MSL
  turn    Dodo
//- loop2.taskplan
use "loop.taskplan"
field Larkfield at 47.5 N 19.5 E
  elevation 140 m
reserve "Training"
limits Strict
  reserve at least Training
  within 3 NM of Larkfield
`);
  const places = namePlaces(m.workspace).length;
  fc.assert(
    fc.property(fc.nat(places - 1), newName, (place, to) => thereAndBack(m.workspace, place, to)),
    { numRuns: 150 },
  );
});

test('there and back in the samples', () => {
  const { workspace } = sampleWorkspace();
  const places = namePlaces(workspace).length;
  fc.assert(
    fc.property(fc.nat(places - 1), newName, (place, to) => thereAndBack(workspace, place, to)),
    { numRuns: 20 },
  );
});

describe('linked editing', () => {
  /** The text with the linked ranges in angle brackets. */
  function linked(text: string): string | undefined {
    const m = marked(text);
    const plain = m.texts.get(m.uri.slice(ROOT.length + 1)) as string;
    const result = linkedEditing(m.understood, m.position);
    return (
      result &&
      applied(
        plain,
        result.ranges.map((range) => ({ range, newText: `<${textIn(plain, range)}>` })),
      )
    );
  }

  test('a name and its uses in one file', () => {
    expect(linked('reserve Trai$0ning\ntask One\n  reserve Training\n')).toBe(
      'reserve <Training>\ntask One\n  reserve <Training>\n',
    );
    expect(linked('reserve "Old Ways"\ntask One\n  reserve "Old$0 Ways"\n')).toBe(
      'reserve "<Old Ways>"\ntask One\n  reserve "<Old Ways>"\n',
    );
  });

  test.each([
    ['nothing uses it', 'reserve Trai$0ning\n'],
    ['written otherwise', 'reserve Trai$0ning\ntask One\n  reserve "Training"\n'],
    ['defined elsewhere', 'use "club.taskplan"\ntask One\n  reserve Trai$0ning\ntask Two\n  reserve Training\n'],
    ['not defined', 'task One\n  reserve Trai$0ning\n'],
    ['not closed', 'reserve "Trai$0ning\ntask One\n  reserve "Training\n'],
    ['the second of two', 'reserve T\nreserve $0T\ntask One\n  reserve T\n'],
    ['no name', 'task One\n  res$0erve T\n'],
  ])('not when %s', (_, text) => {
    expect(linked(text)).toBeUndefined();
  });

  test('the pattern takes what a name may be, as clients read it', () => {
    const pattern = (text: string) => {
      const m = marked(text);
      return new RegExp(`^(?:${linkedEditing(m.understood, m.position)?.wordPattern})$`);
    };
    const bare = pattern('reserve $0T\ntask One\n  reserve T\n');
    for (const name of ['Training', 'Öland', '東', 'ŁĄKA_2', 'a-b', '𠀀']) expect(name).toMatch(bare);
    for (const name of ['', '9a', 'a b', 'a"', '-a', 'a#', '24°']) expect(name).not.toMatch(bare);
    const quoted = pattern('reserve "$0T"\ntask One\n  reserve "T"\n');
    expect('9 a#').toMatch(quoted);
    expect('a"').not.toMatch(quoted);
  });
});

describe('renamed files', () => {
  const FILES: Record<string, string> = {
    'club/fields.taskplan': 'terrain "../terrain"\n',
    'club/fleet.taskplan': '# The fleet.\nuse "./fields.taskplan"\n',
    'plans/june/one.taskplan':
      'use "../../club/fields.taskplan"  # here\nuse "../../club/fleet.taskplan"\nterrain "../../terrain/"\n',
    'plans/two.taskplan':
      'use "june/one.taskplan"\nuse "../gone.taskplan"\nuse "/absolute.taskplan"\nuse ""\nuse "a\\b.taskplan"\n',
  };

  const path = (name: string): string => `${ROOT}/${name.split('/').map(encodeURIComponent).join('/')}`;

  function workspaceOf(files: Record<string, string>): Workspace {
    const workspace = createWorkspace([ROOT]);
    for (const [name, text] of Object.entries(files)) setFile(workspace, path(name), text);
    setUnreadable(workspace, `${ROOT}/gone.taskplan`, 'missing');
    return workspace;
  }

  const pair = (from: string, to: string): FileRename => ({ oldUri: path(from), newUri: path(to) });

  function moved(name: string, from: string, to: string): string {
    if (name === from) return to;
    return name.startsWith(`${from}/`) ? to + name.slice(from.length) : name;
  }

  /** The files after the edits and the renames. */
  function afterMove(files: Record<string, string>, renames: [string, string][]): Record<string, string> {
    const workspace = workspaceOf(files);
    const edit = willRenameFiles(
      workspace,
      renames.map(([from, to]) => pair(from, to)),
    );
    applyTo(workspace, edit);
    return Object.fromEntries(
      [...textsOf(workspace)].map(([uri, text]) => {
        const name = decodeURIComponent(uri.slice(ROOT.length + 1));
        return [renames.reduce((at, [from, to]) => (at === name ? moved(at, from, to) : at), name), text];
      }),
    );
  }

  test('paths to a file follow it', () => {
    const files = afterMove(FILES, [['club/fields.taskplan', 'places/our fields.taskplan']]);
    expect(files['club/fleet.taskplan']).toBe('# The fleet.\nuse "../places/our fields.taskplan"\n');
    expect(files['plans/june/one.taskplan']).toContain(
      'use "../../places/our fields.taskplan"  # here\nuse "../../club/fleet.',
    );
    expect(files['places/our fields.taskplan']).toBe('terrain "../terrain"\n');
  });

  test('the paths of a file that moves lead where they led', () => {
    const files = afterMove(FILES, [['plans/june/one.taskplan', 'one.taskplan']]);
    expect(files['one.taskplan']).toBe(
      'use "club/fields.taskplan"  # here\nuse "club/fleet.taskplan"\nterrain "terrain"\n',
    );
    expect(files['plans/two.taskplan']).toMatch(/^use "..\/one.taskplan"\nuse "..\/gone.taskplan"\nuse "\/abs/);
  });

  test('a folder takes its files along, and what lies inside it stays as it is written', () => {
    const files = afterMove(FILES, [['club', 'shared/club']]);
    expect(files['shared/club/fleet.taskplan']).toBe('# The fleet.\nuse "./fields.taskplan"\n');
    expect(files['shared/club/fields.taskplan']).toBe('terrain "../../terrain"\n');
    expect(files['plans/june/one.taskplan']).toContain('use "../../shared/club/fields.taskplan"');
    expect(afterMove(FILES, [['terrain', 'ground']])['plans/june/one.taskplan']).toContain('terrain "../../ground"');
  });

  describe('by a path', () => {
    const renamed = (name: string, line: number, path_: string, renamesFiles = true) => {
      const workspace = workspaceOf(FILES);
      const file = workspace.files.get(path(name)) as SourceFile;
      return renamePath(workspace, understand(workspace, file), { line, character: 8 }, path_, renamesFiles);
    };
    const changed = (name: string, line: number, path_: string) => {
      const edit = renamed(name, line, path_, false);
      return edit && 'changes' in edit ? Object.values(edit.changes ?? {}).flat() : edit;
    };

    test('the file is renamed, and every path that leads to it written anew', () => {
      const edit = renamed('plans/june/one.taskplan', 0, '../../club/places.taskplan') as WorkspaceEdit;
      const texts = edit.documentChanges?.map((change) =>
        'edits' in change ? change.edits.map((one) => ('newText' in one ? one.newText : '')) : change.kind,
      );
      expect(texts).toEqual([['places.taskplan'], ['../../club/places.taskplan'], 'rename']);
    });

    test.each([
      ['quotation marks', '../../club/a"b.taskplan', /quotation marks/],
      ['a line end', '../../club/a\nb.taskplan', /one line/],
      ['a mark that turns the text round', '../../club/a\u202Eb.taskplan', /nobody sees/],
      ['half a character', '../../club/a\ud800.taskplan', /half a character/],
      ['no letter', '', /at least one/],
      ['backslashes', '..\\..\\club\\a.taskplan', /leads to no plan/],
      ['a file that is there', '../../club/fleet.taskplan', /already there/],
    ])('not to a path with %s', (_, to, why) => {
      expect(renamed('plans/june/one.taskplan', 0, to)).toEqual({ refused: expect.stringMatching(why) });
    });

    test('not in an editor that renames no files, which says what to do instead', () => {
      expect(renamed('plans/june/one.taskplan', 0, '../../club/a.taskplan', false)).toEqual({
        refused: expect.stringMatching(/rename the file itself/),
      });
    });

    test('where no such file is, the path alone is written anew', () => {
      const only = (newText: string) => [expect.objectContaining({ newText })];
      expect(changed('plans/two.taskplan', 1, '../new.taskplan')).toEqual(only('../new.taskplan'));
      expect(changed('plans/two.taskplan', 1, '../club/fleet.taskplan')).toEqual(only('../club/fleet.taskplan'));
    });
  });

  test('a path that is missing follows too', () => {
    expect(afterMove(FILES, [['gone.taskplan', 'plans/here.taskplan']])['plans/two.taskplan']).toContain(
      'use "here.taskplan"',
    );
  });

  test('a name that no path can hold leaves the line', () => {
    expect(afterMove(FILES, [['club/fields.taskplan', 'club/a"b.taskplan']])['club/fleet.taskplan']).toBe(
      FILES['club/fleet.taskplan'],
    );
  });

  test('another scheme is not ours', () => {
    const renames = [{ oldUri: 'untitled:fields.taskplan', newUri: 'file:///plans/x.taskplan' }];
    expect(willRenameFiles(workspaceOf(FILES), renames)).toEqual({ changes: {} });
  });

  test('after any move each path leads to the same file, and the way back restores the texts', () => {
    const place = fc.constantFrom(...Object.keys(FILES), 'club', 'plans', 'plans/june', 'terrain');
    const folder = fc.constantFrom('', 'club/', 'plans/', 'x/', 'x/y z/');
    const name = fc.constantFrom('new', 'n w', 'é', 'a#b', 'a%20b', 'a+b');
    /** Every path of every file as where it leads, by the new names. */
    const leads = (files: Record<string, string>) => {
      const workspace = createWorkspace([ROOT]);
      for (const [file, text] of Object.entries(files)) setFile(workspace, path(file), text);
      return Object.fromEntries(
        [...workspace.files.values()].map((file) => [
          decodeURIComponent(file.uri.slice(ROOT.length + 1)),
          linksOf(workspace, file).map(({ target }) => target && decodeURIComponent(target.slice(ROOT.length + 1))),
        ]),
      );
    };
    fc.assert(
      fc.property(place, folder, name, (from, into, last) => {
        const to = `${into}${last}${from.endsWith('.taskplan') ? '.taskplan' : ''}`;
        if (to.startsWith(`${from}/`)) return;
        const there = afterMove(FILES, [[from, to]]);
        const map = (file: string) => moved(file, from, to);
        const before = leads(FILES);
        const wanted = Object.fromEntries(
          Object.entries(before).map(([file, targets]) => [map(file), targets.map((target) => target && map(target))]),
        );
        expect(leads(there)).toEqual(wanted);
        const back = afterMove(there, [[to, from]]);
        expect(leads(back)).toEqual(before);
        const tidy = (text: string) => text.replaceAll('"./', '"').replaceAll('/"', '"');
        for (const [file, text] of Object.entries(FILES)) expect(tidy(back[file] as string)).toBe(tidy(text));
      }),
      { numRuns: 300 },
    );
  });
});

test('anywhere in the samples: every range lies in the document', () => {
  for (const { workspace, understood, text, positions } of samplePlaces()) {
    for (const position of positions) {
      const ready = prepareRename(workspace, understood, position);
      if (!('refused' in ready)) {
        expect(liesIn(text, ready.range)).toBe(true);
        expect(textIn(text, ready.range)).toBe(ready.placeholder);
      }
      const ranges = linkedEditing(understood, position)?.ranges ?? [];
      expect(ranges.every((range) => liesIn(text, range))).toBe(true);
      expect(new Set(ranges.map((range) => textIn(text, range))).size).toBeLessThan(2);
    }
  }
});

test('any text, any place: a rename leaves every name known that was', () => {
  fc.assert(
    fc.property(anyText, fc.nat(), newName, (text, seed, to) => {
      const workspace = createWorkspace([ROOT]);
      const uri = `${ROOT}/x.taskplan`;
      const known = () => {
        const { scope, entries } = understand(workspace, setFile(workspace, uri, textsOf(workspace).get(uri) ?? text));
        return entries.flatMap(({ placed }) =>
          nameUsesIn(placed.syntax).map(({ namespace, node }) => lookUp(scope, namespace, node.text).length > 0),
        );
      };
      const before = known();
      const file = workspace.files.get(uri);
      if (!file || file.notText) return;
      const understood = understand(workspace, file);
      const position = positionOf(text, seed % (text.length + 1));
      linkedEditing(understood, position);
      const places = namePlaces(workspace);
      const place = places[seed % Math.max(1, places.length)];
      for (const at of [position, ...(place ? [positionOf(text, place.offset)] : [])]) {
        const edit = rename(workspace, understood, at, to);
        if ('refused' in edit) continue;
        applyTo(workspace, edit);
        for (const [i, was] of before.entries()) if (was) expect(known()[i]).toBe(true);
        return;
      }
    }),
    { numRuns: 1000 },
  );
});
