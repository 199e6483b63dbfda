/** The same as `legwise brief` says of a plan and of all that it uses (tests/cli/brief.test.ts). */
import { expect, test } from 'vitest';
import { type Committed, Uncommitted } from '../../client/uncommitted.ts';

const FILES = ['/club/plan.taskplan', '/club/fields.taskplan'];

/** A repository whose commit holds some files; `asked` are those that it was asked for. */
function repository(changed: string[], held: string[], commit = 'one'): Committed & { asked: string[] } {
  const asked: string[] = [];
  const holds = async (file: string) => {
    asked.push(file);
    if (!held.includes(file)) throw new Error('no such path');
  };
  return { commit, changed, holds, asked };
}

test('a plan with all that it uses as committed', async () => {
  expect(await new Uncommitted().any(repository([], FILES), FILES, [])).toBe(false);
});

test('a change elsewhere in the repository is none of the plan', async () => {
  const elsewhere = ['/club/other.taskplan', '/club/N47E019.hgt'];
  expect(await new Uncommitted().any(repository(elsewhere, FILES), FILES, elsewhere)).toBe(false);
});

test.each([
  ['changed on the disk', ['/club/fields.taskplan'], FILES, []],
  ['changed in the editor', [], FILES, ['/club/fields.taskplan']],
  ['ignored or outside, so that no list of changes has it', [], ['/club/plan.taskplan'], []],
])('a file that the plan uses is %s', async (_, changed, held, unsaved) => {
  expect(await new Uncommitted().any(repository(changed, held), FILES, unsaved)).toBe(true);
});

test('a commit is asked once for a file that it holds, and another commit anew', async () => {
  const uncommitted = new Uncommitted();
  const one = repository([], FILES);
  await uncommitted.any(one, FILES, []);
  await uncommitted.any(one, FILES, []);
  expect(one.asked).toEqual(FILES);
  const other = repository([], ['/club/plan.taskplan'], 'other');
  expect(await uncommitted.any(other, FILES, [])).toBe(true);
  expect(await uncommitted.any(repository([], FILES, 'other'), FILES, [])).toBe(false);
});
