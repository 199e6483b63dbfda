/** Limits that hold without being named. */
import { expect, test } from 'vitest';
import { limitsForAll } from '../../server/plan/limits.ts';
import { createWorkspace, scopeOf, setFile } from '../../server/plan/workspace.ts';

test('those of all the files in view that say so and have a name, the nearest first', () => {
  const workspace = createWorkspace(['file:///plans']);
  const at = (name: string) => `file:///plans/${name}.taskplan`;
  const lines = (head: string) => `${head}\n  distance 80 km\n`;
  setFile(workspace, at('b'), `${lines('limits Far for all tasks')}task Far\n`);
  const text = [
    '# said\n',
    'use "b.taskplan"\n',
    'broken line\n',
    lines('limits One for all tasks'),
    lines('limits Named'),
    lines('limits "" for all tasks'),
    lines('limits for all tasks'),
    lines('limits Two for all tasks'),
  ];
  const file = setFile(workspace, at('a'), text.join(''));
  const scope = scopeOf(workspace, file);
  const found = () => limitsForAll(scope).map(({ file: of, meaning }) => [of.uri, meaning.name, meaning.forAllTasks]);
  const all = [
    [at('a'), 'One', true],
    [at('a'), 'Two', true],
    [at('b'), 'Far', true],
  ];
  expect(found()).toEqual(all);
  expect(found()).toEqual(all);
  expect(limitsForAll({ files: [], wanted: [] })).toEqual([]);
});
