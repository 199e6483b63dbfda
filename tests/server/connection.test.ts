/** How the server's process ends. Source: Language Server Protocol 3.17, `shutdown`, `exit` and `InitializeParams.processId`. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
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
