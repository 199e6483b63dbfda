/** The lenses of a file. */
import { expect, test } from 'vitest';
import { codeLenses } from '../../server/features/code-lens.ts';
import { marked } from './marked.ts';

const lensesOf = (text: string) => {
  const { workspace, understood } = marked(text);
  return codeLenses(workspace, understood).map(({ command }) => command?.title);
};

test('what is nothing is no term of a sum', () => {
  const [, away, here] = lensesOf(
    'use "club.taskplan"\n\ntask T\n  aircraft Finch with pilot 82 kg\n  weather Breezy\n  reserve Training\n  start Larkfield at 5200 ft MSL\n  turn Ashmoor\n  finish Ashmoor\n',
  );
  expect(away).toMatch(/ · loses [\d,]+ ft = still air [^=·]+ · over it [\d,]+ ft = reserve 1,000 \S/);
  expect(here).toMatch(/ · loses 0 ft · over it [\d,]+ ft = reserve 1,000 \S/);
});
