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
    await soon();
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
});
