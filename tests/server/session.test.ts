/** A session with surroundings that a test can hold up or break. */
import { afterEach, describe, expect, test, vi } from 'vitest';
import { CancellationTokenSource, type ProtocolConnection } from 'vscode-languageserver-protocol/node';
import type { Disk } from '../../server/files-of-session.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { type InProcess, ROOT, startInProcess } from './in-process.ts';

const uri = `${ROOT}/a.taskplan`;
const TASK =
  'use "club.taskplan"\n\ntask Home\n  aircraft Finch with pilot 82 kg\n  weather  Breezy\n  reserve  Training\n  start    Larkfield at 5000 ft MSL\n  finish   Ashmoor at 75 kt\n';

let connection: ProtocolConnection | undefined;
afterEach(() => {
  connection?.dispose();
  connection = undefined;
});

async function session(disk: Disk): Promise<InProcess> {
  const started = await startInProcess(disk);
  connection = started.client;
  return started;
}

const open = (client: ProtocolConnection, text: string) =>
  client.sendNotification('textDocument/didOpen', { textDocument: { uri, languageId: 'taskplan', version: 1, text } });
const hover = (client: ProtocolConnection) =>
  client.sendRequest('textDocument/hover', { textDocument: { uri }, position: { line: 7, character: 4 } });
/** Once the server has read what it was sent. */
const heard = (client: ProtocolConnection) => client.sendRequest('legwise/alive');
const soon = () => new Promise((resolve) => setTimeout(resolve, 30));

describe('while a used file is being read', () => {
  test('an answer about a text that has changed since is not given, and no findings are published of a part', async () => {
    let let_go: (() => void) | undefined;
    const held = new Promise<void>((resolve) => {
      let_go = resolve;
    });
    const { client, published } = await session({
      list: async () => [],
      read: () => held.then(() => ({ text: EXAMPLE_CLUB })),
    });
    await open(client, TASK);
    const asked = hover(client);
    await soon();
    expect(published).toEqual([]);
    await client.sendNotification('textDocument/didChange', {
      textDocument: { uri, version: 2 },
      contentChanges: [{ text: TASK.replace('75 kt', '55 kt') }],
    });
    await heard(client);
    let_go?.();
    await expect(asked).rejects.toMatchObject({ code: -32801 });
    expect(await hover(client)).not.toBeNull();
    await vi.waitFor(() => expect(published).not.toEqual([]), 10_000);
    expect(published.map(({ version }) => version)).toEqual([2]);
    expect(published[0]?.diagnostics.filter(({ severity }) => severity === 1)).toEqual([]);
  });

  test('a cancelled request is told apart', async () => {
    let let_go: (() => void) | undefined;
    const held = new Promise<void>((resolve) => {
      let_go = resolve;
    });
    const { client } = await session({ list: async () => [], read: () => held.then(() => ({ text: EXAMPLE_CLUB })) });
    await open(client, TASK);
    const source = new CancellationTokenSource();
    const at = { textDocument: { uri }, position: { line: 7, character: 4 } };
    const asked = client.sendRequest('textDocument/hover', at, source.token);
    await soon();
    source.cancel();
    await soon();
    let_go?.();
    await expect(asked).rejects.toMatchObject({ code: -32800 });
  });
});

describe('while the folders are read for the first time', () => {
  const CLUB = `${ROOT}/club.taskplan`;
  const OTHERS = ['b', 'c'].map((name) => `${ROOT}/${name}.taskplan`);
  const at = { textDocument: { uri }, position: { line: 3, character: 13 } };

  /** A disk that tells what lies in its folders once it is let go. */
  function held(): { disk: Disk; letGo: () => void } {
    let letGo = () => {};
    const gate = new Promise<void>((resolve) => {
      letGo = resolve;
    });
    const disk: Disk = {
      list: () => gate.then(() => [CLUB, ...OTHERS]),
      read: async (one) => ({ text: one === CLUB ? EXAMPLE_CLUB : TASK }),
    };
    return { disk, letGo };
  }

  const asks: readonly (readonly [string, object, (answer: unknown) => readonly string[]])[] = [
    [
      'textDocument/rename',
      { ...at, newName: 'Crow' },
      (answer) => Object.keys((answer as { changes: object }).changes),
    ],
    [
      'textDocument/references',
      { ...at, context: { includeDeclaration: true } },
      (answer) => (answer as { uri: string }[]).map((one) => one.uri),
    ],
    [
      'workspace/willRenameFiles',
      { files: [{ oldUri: CLUB, newUri: `${ROOT}/other.taskplan` }] },
      (answer) => [CLUB, ...Object.keys((answer as { changes: object }).changes)],
    ],
    [
      'workspace/symbol',
      { query: 'Home' },
      (answer) => [CLUB, ...(answer as { location: { uri: string } }[]).map(({ location }) => location.uri)],
    ],
  ];

  test.each(asks)('%s waits for all of them, and nothing else waits for it', async (method, params, urisOf) => {
    const { disk, letGo } = held();
    const { client } = await session(disk);
    await open(client, TASK);
    let answered = false;
    const asked = client.sendRequest(method, params).finally(() => {
      answered = true;
    });
    expect(await hover(client)).not.toBeNull();
    await soon();
    expect(answered).toBe(false);
    letGo();
    expect([...new Set(urisOf(await asked))].sort()).toEqual([uri, CLUB, ...OTHERS].sort());
  });

  test('so do fixes, which may write in other files; cancelled or about another text, they say so at once', async () => {
    const { disk, letGo } = held();
    const { client } = await session(disk);
    await open(client, TASK);
    const range = { start: at.position, end: at.position };
    const params = { textDocument: { uri }, range, context: { diagnostics: [] } };
    const source = new CancellationTokenSource();
    const cancelled = client.sendRequest('textDocument/codeAction', params, source.token);
    const stale = client.sendRequest('textDocument/rename', { ...at, newName: 'Crow' });
    await heard(client);
    source.cancel();
    await expect(cancelled).rejects.toMatchObject({ code: -32800 });
    await client.sendNotification('textDocument/didChange', {
      textDocument: { uri, version: 2 },
      contentChanges: [{ text: `\n${TASK}` }],
    });
    await heard(client);
    letGo();
    await expect(stale).rejects.toMatchObject({ code: -32801 });
    expect(await client.sendRequest('textDocument/codeAction', params)).toBeInstanceOf(Array);
  });

  test.each([
    ['refuses', () => Promise.reject(new Error('no'))],
    ['never answers', () => new Promise<void>(() => {})],
    ['grants', () => Promise.resolve()],
  ])('a client that %s to show how far it is has them read all the same', async (what, answer) => {
    const { disk, letGo } = held();
    const { client } = await startInProcess(disk, { window: { workDoneProgress: true } }, {}, (one) => {
      one.onRequest('window/workDoneProgress/create', answer);
    });
    connection = client;
    const told: string[] = [];
    client.onNotification('$/progress', ({ value }: { value: { kind: string } }) => void told.push(value.kind));
    await soon();
    letGo();
    expect(await client.sendRequest('workspace/symbol', { query: 'Home' })).toHaveLength(2);
    expect(told[0]).toBe(what === 'grants' ? 'begin' : undefined);
    if (what === 'grants') await vi.waitFor(() => expect(told.at(-1)).toBe('end'), 10_000);
  });
});

test('a path is renamed with its file only in an editor that renames files by an edit, under the name that it has there', async () => {
  const disk: Disk = {
    list: async () => [],
    read: async (one) => (one.endsWith('/club.taskplan') ? { text: EXAMPLE_CLUB } : { why: 'missing' }),
  };
  const params = { textDocument: { uri }, position: { line: 0, character: 8 }, newName: 'aero.taskplan' };
  for (const [workspaceEdit, renames] of [
    [{ documentChanges: true, resourceOperations: ['create', 'rename'] }, true],
    [{ documentChanges: true, resourceOperations: ['create'] }, false],
    [{ resourceOperations: ['rename'] }, false],
    [undefined, false],
  ] as const) {
    const { client } = await startInProcess(disk, { workspace: { workspaceEdit: workspaceEdit as never } });
    await open(client, TASK);
    await client.sendNotification('textDocument/didOpen', {
      textDocument: { uri: 'file:///plans/cl%75b.taskplan', languageId: 'taskplan', version: 3, text: EXAMPLE_CLUB },
    });
    const asked = client.sendRequest('textDocument/rename', params);
    if (!renames) await expect(asked).rejects.toMatchObject({ code: -32803 });
    else
      expect(await asked).toMatchObject({
        documentChanges: [
          { textDocument: { uri, version: 1 }, edits: [{ newText: 'aero.taskplan' }] },
          { kind: 'rename', oldUri: 'file:///plans/cl%75b.taskplan', newUri: `${ROOT}/aero.taskplan` },
        ],
      });
    client.dispose();
  }
});

test('a client is asked to tell of plans and tiles, and of all that comes or goes, since folders do', async () => {
  const asked: unknown[] = [];
  const capabilities = { workspace: { didChangeWatchedFiles: { dynamicRegistration: true } } };
  const { client } = await startInProcess(
    { list: async () => [], read: async () => ({ text: '' }) },
    capabilities,
    {},
    (one) => {
      one.onRequest('client/registerCapability', (params) => void asked.push(params));
    },
  );
  connection = client;
  await vi.waitFor(() => expect(asked).toHaveLength(1), 10_000);
  expect(asked[0]).toMatchObject({
    registrations: [
      {
        method: 'workspace/didChangeWatchedFiles',
        registerOptions: {
          watchers: [
            { globPattern: '**/*.{taskplan,hgt}', kind: 2 },
            { globPattern: '**', kind: 1 | 4 },
          ],
        },
      },
    ],
  });
});

describe('plans that use other plans', () => {
  const user = `${ROOT}/b.taskplan`;
  const spare = `${TASK}\nweather Spare\n  qnh 1013 hPa\n`;
  const flies = (weather: string) => `use "a.taskplan"\n\ntask B\n  weather ${weather}\n`;

  test('what nothing names is told anew as the plan that names it is opened, edited, closed and changed on the disk', async () => {
    let onDisk: string | undefined = flies('Breezy');
    const { client, published } = await session({
      list: async () => [uri, user],
      read: async (one) =>
        one === user ? (onDisk === undefined ? { why: 'missing' } : { text: onDisk }) : { text: EXAMPLE_CLUB },
    });
    const isTold = () =>
      published
        .filter((one) => one.uri === uri)
        .at(-1)
        ?.diagnostics.some(({ code }) => code === 'never-used');
    const becomes = (told: boolean) => vi.waitFor(() => expect(isTold()).toBe(told), 10_000);
    await open(client, spare);
    await becomes(true);
    await client.sendNotification('textDocument/didOpen', {
      textDocument: { uri: user, languageId: 'taskplan', version: 1, text: flies('Spare') },
    });
    await becomes(false);
    const change = (version: number, text: string) =>
      client.sendNotification('textDocument/didChange', {
        textDocument: { uri: user, version },
        contentChanges: [{ text }],
      });
    await change(2, flies('Breezy'));
    await becomes(true);
    await change(3, flies('Spare'));
    await becomes(false);
    // It no longer uses the other plan at all.
    await change(4, flies('Spare').replace(/use.*/, ''));
    await becomes(true);
    await change(5, flies('Spare'));
    await becomes(false);
    await client.sendNotification('textDocument/didClose', { textDocument: { uri: user } });
    await becomes(true);
    const changed = (type: number) =>
      client.sendNotification('workspace/didChangeWatchedFiles', { changes: [{ uri: user, type }] });
    onDisk = flies('Spare');
    await changed(2);
    await becomes(false);
    onDisk = undefined;
    await changed(3);
    await becomes(true);
    onDisk = flies('Spare');
    await changed(1);
    await becomes(false);
  });
});

describe('surroundings that fail', () => {
  test('a disk that throws is a file that cannot be read, logged with its cause', async () => {
    const { client, published, logged } = await session({
      list: () => Promise.reject(new Error('no list')),
      read: () => Promise.reject(new Error('the disk is gone')),
    });
    await open(client, TASK);
    await vi.waitFor(() => expect(published).not.toEqual([]), 10_000);
    expect(published.at(-1)?.diagnostics.map(({ code }) => code)).toContain('file-unreadable');
    expect(logged.join('\n')).toContain('the disk is gone');
    await vi.waitFor(() => expect(logged.join('\n')).toContain('no list'), 10_000);
  });

  test('malformed requests are refused, and the session goes on', async () => {
    const { client } = await session({ list: async () => [], read: async () => ({ text: EXAMPLE_CLUB }) });
    await open(client, TASK);
    await client.sendNotification('textDocument/didChange', {
      textDocument: { uri: 'file:///nowhere', version: 9 },
      contentChanges: [{ text: 'x' }],
    });
    expect(await client.sendRequest('textDocument/hover', { textDocument: {} })).toBeNull();
    expect(await client.sendRequest('textDocument/hover', null)).toBeNull();
    await expect(client.sendRequest('no/such/method')).rejects.toMatchObject({ code: -32601 });
    expect(await hover(client)).not.toBeNull();
  });

  test('a URI that is no text closes nothing', async () => {
    const { client, published } = await session({ list: async () => [], read: async () => ({ text: EXAMPLE_CLUB }) });
    await open(client, TASK);
    await vi.waitFor(() => expect(published).not.toEqual([]), 10_000);
    await client.sendNotification('textDocument/didClose', { textDocument: { uri: [uri] } });
    expect(await hover(client)).not.toBeNull();
    expect(published.map((one) => one.uri)).toEqual(published.map(() => uri));
  });
});
