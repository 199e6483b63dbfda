/** A feature that throws costs its own answer and nothing else, and is logged with its cause: tried for each of them. */
import { expect, test, vi } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { ROOT, startInProcess } from './in-process.ts';

const FAILURE = 'thrown on purpose';

/** Every function of a module throws; what is not a function stays. */
async function throwing(original: () => Promise<unknown>): Promise<object> {
  const fail = () => {
    throw new Error(FAILURE);
  };
  return Object.fromEntries(
    Object.entries((await original()) as object).map(([name, value]) => [
      name,
      typeof value === 'function' ? fail : value,
    ]),
  );
}

vi.mock('../../server/features/code-actions.ts', throwing);
vi.mock('../../server/features/code-lens.ts', throwing);
vi.mock('../../server/features/completion.ts', throwing);
vi.mock('../../server/features/definition.ts', throwing);
vi.mock('../../server/features/document-highlight.ts', throwing);
vi.mock('../../server/features/document-links.ts', throwing);
vi.mock('../../server/features/document-symbols.ts', throwing);
vi.mock('../../server/features/file-rename.ts', throwing);
vi.mock('../../server/features/folding.ts', throwing);
vi.mock('../../server/features/formatting.ts', throwing);
vi.mock('../../server/features/hover.ts', throwing);
vi.mock('../../server/features/inlay-hints.ts', throwing);
vi.mock('../../server/features/linked-editing.ts', throwing);
vi.mock('../../server/features/references.ts', throwing);
vi.mock('../../server/features/rename.ts', throwing);
vi.mock('../../server/features/selection-ranges.ts', throwing);
vi.mock('../../server/features/semantic-tokens.ts', throwing);
vi.mock('../../server/features/type-definition.ts', throwing);
vi.mock('../../server/features/workspace-symbols.ts', throwing);

const uri = `${ROOT}/a.taskplan`;
const position = { line: 0, character: 0 };
const range = { start: position, end: position };
const textDocument = { uri };
const options = { tabSize: 2, insertSpaces: true };

const REQUESTS: [string, object, unknown][] = [
  ['textDocument/hover', { textDocument, position }, null],
  ['textDocument/completion', { textDocument, position }, null],
  ['completionItem/resolve', { label: 'x' }, { label: 'x' }],
  ['textDocument/definition', { textDocument, position }, []],
  ['textDocument/typeDefinition', { textDocument, position }, []],
  ['textDocument/references', { textDocument, position, context: { includeDeclaration: true } }, []],
  ['textDocument/documentHighlight', { textDocument, position }, []],
  ['textDocument/documentSymbol', { textDocument }, []],
  ['textDocument/documentLink', { textDocument }, []],
  ['textDocument/foldingRange', { textDocument }, []],
  ['textDocument/selectionRange', { textDocument, positions: [position] }, []],
  ['textDocument/prepareRename', { textDocument, position }, null],
  ['textDocument/rename', { textDocument, position, newName: 'x' }, null],
  ['textDocument/linkedEditingRange', { textDocument, position }, null],
  ['workspace/symbol', { query: 'x' }, []],
  ['workspace/willRenameFiles', { files: [{ oldUri: uri, newUri: `${ROOT}/b.taskplan` }] }, null],
  ['textDocument/semanticTokens/full', { textDocument }, { data: [] }],
  ['textDocument/semanticTokens/full/delta', { textDocument, previousResultId: '1' }, { data: [] }],
  ['textDocument/semanticTokens/range', { textDocument, range }, { data: [] }],
  ['textDocument/inlayHint', { textDocument, range }, []],
  ['textDocument/codeAction', { textDocument, range, context: { diagnostics: [] } }, []],
  ['textDocument/codeLens', { textDocument }, []],
  ['textDocument/formatting', { textDocument, options }, []],
  ['textDocument/rangeFormatting', { textDocument, range, options }, []],
  ['textDocument/onTypeFormatting', { textDocument, position, ch: '\n', options }, []],
];

test('each request is answered with nothing, and the next as ever', async () => {
  const { client, logged, published } = await startInProcess({
    list: async () => [],
    read: async () => ({ text: EXAMPLE_CLUB }),
  });
  await client.sendNotification('textDocument/didOpen', {
    textDocument: { uri, languageId: 'taskplan', version: 1, text: 'use "club.taskplan"\n\nfeild X\n' },
  });
  for (const [method, params, nothing] of REQUESTS) {
    const before = logged.length;
    expect([method, await client.sendRequest(method, params)]).toEqual([method, nothing]);
    await vi.waitFor(
      () =>
        expect([method, logged.slice(before).some((one) => one.includes(FAILURE) && one.includes(method))]).toEqual([
          method,
          true,
        ]),
      10_000,
    );
  }
  await vi.waitFor(
    () => expect(published.at(-1)?.diagnostics.map(({ code }) => code)).toContain('entry-unknown'),
    10_000,
  );
  client.dispose();
});
