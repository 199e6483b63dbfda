/** The names that lines use. */
import { expect, test } from 'vitest';
import { entriesNaming, NAMESPACE_NOUNS, nameUsesIn } from '../../server/plan/references.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';

const TEXT = `# said
  start Nowhere at 3000 ft MSL
field Larkfield at 47.2 N 19.4 E
  elevation 190 m
limits Solo
  within 12 NM of Larkfield
  within 20 NM of "Corran Dam"
  reserve at least Training
  distance 80 km
task Round
  aircraft Finch with pilot 82 kg
  weather Calm
  reserve ""
  limits Solo
  limits
  zzzzz Larkfield
  start Larkfield at 3000 ft MSL
  climb to 4000 ft MSL
  turn "Corran Dam" at 50 kt
  finish Larkfield
task Empty
weather Calm
  qnh 1018 hPa
broken "x" Larkfield
`;
const { syntax } = setFile(createWorkspace(['file:///plans']), 'file:///plans/a.taskplan', TEXT);

test('in the order of the lines, with the kind that each line asks for', () => {
  const uses = syntax.entries.map(({ syntax: entry }) =>
    nameUsesIn(entry).map(({ namespace, node, line }) => [
      namespace,
      node.text,
      entry.text.slice(line.span.start, line.span.end),
    ]),
  );
  expect(uses).toEqual([
    [],
    [],
    [
      ['point', 'Larkfield', 'within 12 NM of Larkfield'],
      ['point', 'Corran Dam', 'within 20 NM of "Corran Dam"'],
      ['reserve', 'Training', 'reserve at least Training'],
    ],
    [
      ['aircraft', 'Finch', 'aircraft Finch with pilot 82 kg'],
      ['weather', 'Calm', 'weather Calm'],
      ['limits', 'Solo', 'limits Solo'],
      ['point', 'Larkfield', 'start Larkfield at 3000 ft MSL'],
      ['point', 'Corran Dam', 'turn "Corran Dam" at 50 kt'],
      ['point', 'Larkfield', 'finish Larkfield'],
    ],
    [],
    [],
    [],
  ]);
});

test('the same list each time, and the entries that have one', () => {
  for (const { syntax: entry } of syntax.entries) expect(nameUsesIn(entry)).toEqual(nameUsesIn(entry));
  expect(entriesNaming(syntax).map(({ name }) => name?.text)).toEqual(['Solo', 'Round']);
});

test('what each kind is called', () => {
  expect(NAMESPACE_NOUNS).toEqual({
    point: 'field or turnpoint',
    obstacle: 'obstacle',
    airspace: 'airspace',
    aircraft: 'aircraft',
    weather: 'weather',
    reserve: 'reserve',
    limits: 'limits',
    task: 'task',
  });
});
