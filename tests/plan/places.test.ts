/** From a place in an entry to lines and columns. */
import { expect, test } from 'vitest';
import { placedEntry, rangeOf } from '../../server/plan/places.ts';
import { createWorkspace, forgetFile, setFile } from '../../server/plan/workspace.ts';

test('a place stands where its entry stands now, and nowhere once it is gone', () => {
  const workspace = createWorkspace(['file:///plans']);
  const uri = 'file:///plans/a.taskplan';
  const field = 'field Larkfield at 47.2 N 19.4 E\n  elevation 190 m\n';
  const file = setFile(workspace, uri, field);
  const entry = file.syntax.entries[0]?.syntax;
  if (!entry) throw new Error('no entry');
  const start = field.indexOf('190');
  const place = { uri, entry, span: { start, end: start + 5 } };
  const range = (line: number) => ({ uri, start: { line, character: 12 }, end: { line, character: 17 } });
  expect(rangeOf(workspace, place)).toEqual(range(1));
  // The same entry, two lines further down.
  const below = setFile(workspace, uri, `# said\n\n${field}`);
  expect(rangeOf(workspace, place)).toEqual(range(3));
  expect(placedEntry(workspace, place)).toBe(below.syntax.entries[1]);
  setFile(workspace, uri, field.replace('190', '191'));
  expect(placedEntry(workspace, place)).toBeUndefined();
  expect(rangeOf(workspace, place)).toBeUndefined();
  forgetFile(workspace, uri);
  expect(placedEntry(workspace, place)).toBeUndefined();
  expect(rangeOf(workspace, place)).toBeUndefined();
});
