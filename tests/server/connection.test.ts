/** How the server's process ends. Source: Language Server Protocol 3.17, `shutdown`, `exit` and `InitializeParams.processId`. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { closeSync, openSync } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { Readable } from 'node:stream';
import { text } from 'node:stream/consumers';
import { expect, test } from 'vitest';
import { createMessageConnection, StreamMessageReader, StreamMessageWriter } from 'vscode-jsonrpc/node';
import { ROOT } from './client.ts';

function started(...args: string[]) {
  const server = spawn(process.execPath, [path.join(ROOT, 'dist/server.cjs'), '--stdio', ...args], {
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  const rpc = createMessageConnection(new StreamMessageReader(server.stdout), new StreamMessageWriter(server.stdin));
  rpc.listen();
  const initialize = (processId: number | null) =>
    rpc.sendRequest('initialize', { processId, rootUri: null, capabilities: {} });
  return { server, rpc, initialize };
}

test('asked to exit after it was shut down, it ends with 0', async () => {
  const { server, rpc, initialize } = started();
  await initialize(process.pid);
  expect(await rpc.sendRequest('shutdown')).toBeNull();
  await rpc.sendNotification('exit');
  expect(await once(server, 'exit')).toEqual([0, null]);
});

test('asked to exit before, with 1', async () => {
  const { server, rpc, initialize } = started();
  await initialize(null);
  await rpc.sendNotification('exit');
  expect(await once(server, 'exit')).toEqual([1, null]);
});

test('messages that lie in a file are answered, and its end is the end', async () => {
  const folder = await mkdtemp(path.join(tmpdir(), 'legwise-'));
  const file = path.join(folder, 'messages');
  const messages = [
    { jsonrpc: '2.0', id: 1, method: 'initialize', params: { processId: null, rootUri: null, capabilities: {} } },
    { jsonrpc: '2.0', id: 2, method: 'shutdown' },
  ].map((message) => JSON.stringify(message));
  await writeFile(file, messages.map((text) => `Content-Length: ${text.length}\r\n\r\n${text}`).join(''));
  const input = openSync(file, 'r');
  const server = spawn(process.execPath, [path.join(ROOT, 'dist/server.cjs'), '--stdio'], {
    stdio: [input, 'pipe', 'inherit'],
  });
  closeSync(input);
  const [said, [code]] = await Promise.all([text(server.stdout as Readable), once(server, 'exit')]);
  expect(said).toContain('"id":1,"result":{');
  expect(code).toBe(1);
  await rm(folder, { recursive: true });
});

test('before it is initialized it answers nothing, nor once it is shut down; and it is initialized once', async () => {
  const { server, rpc, initialize } = started();
  const textDocument = { uri: 'untitled:a', languageId: 'taskplan', version: 1, text: 'feild X\n' };
  const symbols = () => rpc.sendRequest('textDocument/documentSymbol', { textDocument });
  const ask = () => rpc.sendRequest('workspace/symbol', { query: '' });
  await rpc.sendNotification('textDocument/didOpen', { textDocument });
  for (const early of [symbols, ask, () => rpc.sendRequest('no/such/method'), () => rpc.sendRequest('shutdown')])
    await expect(early()).rejects.toMatchObject({ code: -32002 });
  await initialize(null);
  // What was told before counts for nothing.
  expect(await symbols()).toEqual([]);
  await expect(initialize(null)).rejects.toMatchObject({ code: -32600 });
  await rpc.sendRequest('shutdown');
  for (const late of [symbols, ask, () => initialize(null), () => rpc.sendRequest('shutdown')])
    await expect(late()).rejects.toMatchObject({ code: -32600 });
  await rpc.sendNotification('exit');
  expect(await once(server, 'exit')).toEqual([0, null]);
});

test.each([
  ['no capabilities', { processId: null, rootUri: null }],
  ['none that are any', { processId: null, rootUri: null, capabilities: null }],
  ['encodings that are no list', { capabilities: { general: { positionEncodings: 'utf-8' } } }],
  ['encodings that nothing is called', { capabilities: { general: { positionEncodings: ['toString', null, 17] } } }],
  ['folders without names', { rootUri: 5, workspaceFolders: [{}], capabilities: {} }],
])('a client that says little is served: %s', async (_, params) => {
  const { server, rpc } = started();
  expect(await rpc.sendRequest('initialize', params)).toMatchObject({ capabilities: { positionEncoding: 'utf-16' } });
  server.kill();
});

test.each([['--clientProcessId=%d'], ['--clientProcessId', '%d']])(
  'the client that the command line names is watched: %s',
  async (...named) => {
    const client = spawn(process.execPath, ['-e', 'setInterval(() => {}, 1000)'], { stdio: 'ignore' });
    const { server, initialize } = started(...named.map((arg) => arg.replace('%d', String(client.pid))));
    await initialize(process.pid);
    client.kill('SIGKILL');
    expect(await once(server, 'exit')).toEqual([1, null]);
  },
);
