/** A file understood, and what is kept of it. */
import { expect, test } from 'vitest';
import { understand } from '../../server/plan/understand.ts';
import {
  createWorkspace,
  editFile,
  type SourceFile,
  setFile,
  setTile,
  setUnreadable,
} from '../../server/plan/workspace.ts';

const at = (name: string) => `file:///plans/${name}.taskplan`;
const TEXT = `# said
use "b.taskplan"
units
  speed km/h
units
  speed mph
  mass lb
field Larkfield at 47.2 N 19.4 E
  elevation 190 m
task One
  start Larkfield at 3000 ft MSL
  finish Ashmoor
task Two
broken line
`;

function opened() {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, at('b'), 'use "c.taskplan"\nfield Ashmoor at 47.3 N 19.7 E\n  elevation 160 m\ntask Other\n');
  return { workspace, file: setFile(workspace, at('a'), TEXT) };
}

test('its own entries and tasks in order, what it sees, and the units that it chooses first', () => {
  const { workspace, file } = opened();
  const understood = understand(workspace, file);
  expect(understood.file).toBe(file);
  expect(understood.scope.files.map(({ uri }) => uri)).toEqual([at('a'), at('b')]);
  expect(understood.scope.wanted).toEqual([at('c')]);
  expect(understood.tasks.map(({ task }) => task.name)).toEqual(['One', 'Two']);
  expect(understood.tasks[0]?.legs[0]?.to?.meaning.name).toBe('Ashmoor');
  expect(understood.entries.map(({ file: of, meaning, placed }) => [of.uri, meaning.kind, placed.line])).toEqual([
    [at('a'), 'none', 0],
    [at('a'), 'use', 1],
    [at('a'), 'units', 2],
    [at('a'), 'units', 4],
    [at('a'), 'field', 7],
    [at('a'), 'task', 9],
    [at('a'), 'task', 12],
    [at('a'), 'none', 13],
  ]);
  expect(understood.units.speed.text).toBe('km/h');
  expect(understood.units.mass.text).toBe('lb');
  expect(understood.units.altitude.text).toBe('ft');
});

test('all tasks of a file are flown among the same; without a task there is none', () => {
  const { workspace, file } = opened();
  const [one, two] = understand(workspace, file).tasks;
  expect(one?.surroundings).toBe(two?.surroundings);
  expect(one?.surroundings.fields.flatMap(({ all }) => all.map(({ meaning }) => meaning.name))).toEqual([
    'Larkfield',
    'Ashmoor',
  ]);
  expect(understand(workspace, setFile(workspace, at('d'), 'units\n  speed kt\n')).tasks).toEqual([]);
});

test('it is the same for as long as what it sees is the same', () => {
  const { workspace, file } = opened();
  const first = understand(workspace, file);
  const again = () => understand(workspace, workspace.files.get(at('a')) as SourceFile);
  expect(again()).toBe(first);
  // A file that it does not see.
  setFile(workspace, at('z'), 'task Z\n');
  expect(again()).toBe(first);

  const steps: readonly (() => void)[] = [
    () => setFile(workspace, at('b'), 'use "c.taskplan"\nfield Ashmoor at 47.3 N 19.8 E\n  elevation 160 m\n'),
    () => setUnreadable(workspace, at('c'), 'missing'),
    () => setFile(workspace, at('c'), 'field Elsewhere at 47 N 19 E\n  elevation 100 m\n'),
    () => setTile(workspace, 'file:///plans/N47E019.hgt', 'missing'),
    () => {
      workspace.roots = ['file:///'];
    },
    () => setFile(workspace, at('a'), `${TEXT}task Three\n`),
  ];
  let before = first;
  for (const step of steps) {
    step();
    const now = again();
    expect(now).not.toBe(before);
    expect(again()).toBe(now);
    before = now;
  }
  expect(before.scope.wanted).toEqual([]);
  expect(before.tasks.map(({ task }) => task.name)).toEqual(['One', 'Two', 'Three']);
});

test('what comes after several edits is told as one change since its tasks were flown', () => {
  const { workspace, file } = opened();
  expect(understand(workspace, file).tasks).toHaveLength(2);
  setFile(workspace, at('a'), TEXT.replace('190 m', '191 m'));
  const { change } = setFile(workspace, at('a'), TEXT.replace('190 m', '192 m')).syntax;
  expect(change?.before).toBe(file.syntax.self);
});

test('what is wanted is told anew when it is another file', () => {
  const { workspace, file } = opened();
  expect(understand(workspace, file).scope.wanted).toEqual([at('c')]);
  setFile(workspace, at('b'), 'use "e.taskplan"\n');
  expect(understand(workspace, file).scope.wanted).toEqual([at('e')]);
});

test('a file that stands in two workspaces sees what each holds', () => {
  const { workspace, file } = opened();
  const other = createWorkspace(workspace.roots);
  other.files.set(at('a'), file);
  other.tiles = workspace.tiles;
  expect(understand(workspace, file).scope.wanted).toEqual([at('c')]);
  expect(understand(other, file).scope.wanted).toEqual([at('b')]);
  expect(understand(workspace, file).tasks[0]?.legs[0]?.to?.meaning.name).toBe('Ashmoor');
});

test('an edit that is taken back brings back the task, once and again', () => {
  const { workspace } = opened();
  const now = (elevation: number) => {
    const file = setFile(workspace, at('a'), TEXT.replace('elevation 190 m', `elevation ${elevation} m`));
    return understand(workspace, file).tasks[0];
  };
  const first = now(190);
  const other = now(191);
  expect(other?.legs).not.toBe(first?.legs);
  for (let i = 0; i < 3; i++) {
    expect(now(190)?.legs).toBe(first?.legs);
    expect(now(191)?.legs).toBe(other?.legs);
  }
  // And what was there before those two is made anew, as it was.
  const third = now(192);
  expect(now(191)?.legs).toBe(other?.legs);
  expect(now(190)?.legs).toStrictEqual(first?.legs);
  expect(now(192)?.legs).not.toBe(third?.legs);
});

test('its tasks are flown when they are asked for: until then what changed is told since they last were', () => {
  const { workspace, file } = opened();
  expect(understand(workspace, file).tasks).toHaveLength(2);
  const edited = (line: number) =>
    editFile(workspace, workspace.files.get(at('a')) as SourceFile, {
      range: { start: { line, character: 2 }, end: { line, character: 2 } },
      text: 'x',
    });
  const second = edited(8);
  expect(understand(workspace, second).units.speed.text).toBe('km/h');
  const third = edited(10);
  expect(third.syntax.change?.before).toBe(file.syntax.self);
  expect(understand(workspace, third).tasks).toHaveLength(2);
  expect(edited(11).syntax.change?.before).toBe(third.syntax.self);
});
