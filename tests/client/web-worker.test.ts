/** The built server of the browser, in a thread that has of a web worker what it uses; the client's half reads for it. */
import { readFileSync } from 'node:fs';
import { readdir, readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import { Worker } from 'node:worker_threads';
import { afterAll, beforeAll, expect, test } from 'vitest';
import {
  AbstractMessageReader,
  AbstractMessageWriter,
  createMessageConnection,
  type DataCallback,
  type Message,
  type MessageConnection,
} from 'vscode-jsonrpc/node';
import type { PublishDiagnosticsParams } from 'vscode-languageserver-protocol';
import { URI, Utils } from 'vscode-uri';
import { type Answer, WebFiles } from '../../client/web-files.ts';

const root = path.resolve(import.meta.dirname, '../..');
const club = URI.file(path.join(root, 'samples')).toString();
const plan = Utils.joinPath(URI.parse(club), 'plans/leg-home.taskplan').toString();

/** What a thread of Node lacks of a web worker: messages as its own, and scripts that run at once by their address. */
const AS_WEB_WORKER = `
const { parentPort } = require('node:worker_threads');
const { runInThisContext } = require('node:vm');
globalThis.postMessage = (message) => parentPort.postMessage(message);
globalThis.addEventListener = () => {};
parentPort.on('message', (data) => globalThis.onmessage?.({ data }));
const texts = new Map();
globalThis.Blob = class { constructor(parts) { this.text = parts.join(''); } };
URL.createObjectURL = (blob) => { const address = 'blob:' + texts.size; texts.set(address, blob.text); return address; };
URL.revokeObjectURL = (address) => void texts.delete(address);
globalThis.importScripts = (address) => runInThisContext(texts.get(address));
runInThisContext(require('node:fs').readFileSync(require('node:worker_threads').workerData, 'utf8'));
`;

let worker: Worker;
let client: MessageConnection;
const scripts: string[] = [];
const published = new Map<string, PublishDiagnosticsParams>();

class FromWorker extends AbstractMessageReader {
  override listen(told: DataCallback) {
    worker.on('message', told);
    return { dispose: () => void worker.off('message', told) };
  }
}
class ToWorker extends AbstractMessageWriter {
  async write(message: Message) {
    worker.postMessage(message);
  }
  end() {}
}

beforeAll(async () => {
  worker = new Worker(AS_WEB_WORKER, { eval: true, workerData: path.join(root, 'dist/server-web.js') });
  client = createMessageConnection(new FromWorker(), new ToWorker());
  const at = (uri: string) => URI.parse(uri).fsPath;
  const files = new WebFiles(
    {
      stat: async (uri) => {
        const found = await stat(at(uri));
        return { type: found.isDirectory() ? 2 : 1, size: found.size };
      },
      readDirectory: async (uri) =>
        (await readdir(at(uri), { withFileTypes: true })).map((one) => [one.name, one.isDirectory() ? 2 : 1] as const),
      readFile: async (uri) => new Uint8Array(await readFile(at(uri))),
      join: (folder, name) => Utils.joinPath(URI.parse(folder), name).toString(),
    },
    () => {},
  );
  client.onRequest('legwise/list', (params) => files.list(params));
  client.onRequest<Answer, void>('legwise/read', (params: unknown) => files.read(params));
  client.onRequest<Answer, void>('legwise/readTile', (params: unknown) => files.readTile(params));
  client.onRequest('legwise/script', ({ name }: { name: string }) => {
    scripts.push(name);
    return readFileSync(path.join(root, `dist/server-web-${name}.js`), 'utf8');
  });
  client.onNotification('textDocument/publishDiagnostics', (one: PublishDiagnosticsParams) => {
    published.set(one.uri, one);
  });
  client.listen();
});
afterAll(() => worker.terminate());

test('a plan is checked, with the files that it uses, before anything more is loaded', async () => {
  const { capabilities } = await client.sendRequest<{ capabilities: object }>('initialize', {
    processId: null,
    rootUri: club,
    workspaceFolders: [{ uri: club, name: 'club' }],
    capabilities: {},
  });
  expect(capabilities).toHaveProperty('hoverProvider', true);
  await client.sendNotification('initialized', {});
  const text = readFileSync(URI.parse(plan).fsPath, 'utf8');
  await client.sendNotification('textDocument/didOpen', {
    textDocument: { uri: plan, languageId: 'taskplan', version: 1, text },
  });
  await expect
    .poll(() => published.get(plan)?.diagnostics.map(({ code }) => code), { timeout: 30_000 })
    .toEqual(['below-reserve']);
  const lenses = await client.sendRequest<unknown[]>('textDocument/codeLens', { textDocument: { uri: plan } });
  expect(lenses.length).toBeGreaterThan(3);
  expect(scripts).toEqual([]);
});

test('what is asked for later is loaded once, and remembers what the rest does', async () => {
  const asked = { textDocument: { uri: plan }, position: { line: 30, character: 4 } };
  const [hover, again] = await Promise.all([
    client.sendRequest<{ contents: { value: string } }>('textDocument/hover', asked),
    client.sendRequest<{ contents: { value: string } }>('textDocument/hover', asked),
  ]);
  expect(hover.contents.value).toContain('height required');
  expect(again).toEqual(hover);
  expect(scripts).toEqual(['features']);
});

test('the page of every finding is the one that the rule has', async () => {
  const { RULES } = await import('../../server/rules/index.ts');
  const { pageOf } = await import('../../server/rules/page.ts');
  for (const rule of RULES)
    expect(await client.sendRequest('legwise/explain', { code: rule.code })).toEqual({ markdown: pageOf(rule) });
});

test('it answers whether it is alive, and refuses what it does not know', async () => {
  expect(await client.sendRequest('legwise/alive')).toBe(true);
  await expect(client.sendRequest('legwise/nothing')).rejects.toMatchObject({ code: -32601 });
});
