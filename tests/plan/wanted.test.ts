/** What has still to be read. */
import { expect, test } from 'vitest';
import { wantedBy } from '../../server/plan/wanted.ts';
import { createWorkspace, setFile, setUnreadable } from '../../server/plan/workspace.ts';

test('files that these bring in, directly or through others, each once', () => {
  const at = (name: string) => `file:///plans/${name}.taskplan`;
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, at('a'), 'use "b.taskplan"\nuse "c.taskplan"\nuse "gone.taskplan"\n');
  setFile(workspace, at('b'), 'use "d.taskplan"\n');
  setFile(workspace, at('e'), 'use "c.taskplan"\nuse "f.taskplan"\n');
  setUnreadable(workspace, at('gone'), 'missing');
  expect(wantedBy(workspace, [at('a')])).toEqual([at('c'), at('d')]);
  expect(wantedBy(workspace, [at('nowhere'), at('a'), at('e')])).toEqual([at('c'), at('d'), at('f')]);
  expect(wantedBy(workspace, [])).toEqual([]);
});
