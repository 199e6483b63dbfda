/** What goes wrong around a server: its client dies, messages are broken, files change or go while they are read. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, realpathSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, describe, expect, test, vi } from 'vitest';
import type { ProtocolConnection } from 'vscode-languageserver-protocol/node';
import { URI } from 'vscode-uri';
import { decodeTile, type Tile } from '../../server/flight/index.ts';
import { isGone } from '../../server/node/connection.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { tileBytes } from '../flight/tiles.ts';
import { ROOT as CHECKOUT, type Editor, startEditor } from './client.ts';
import { ROOT, startInProcess } from './in-process.ts';

const SERVER = path.join(CHECKOUT, 'dist/server.cjs');

let undo: (() => void)[] = [];
afterEach(() => {
  for (const one of undo.reverse()) one();
  undo = [];
});

function newFolder(): string {
  const folder = mkdtempSync(path.join(tmpdir(), 'legwise-'));
  undo.push(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

const isAlive = (pid: number): boolean => {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
};

/** Within five seconds, and what a busy machine adds. */
const gone = (pid: number) => vi.waitFor(() => expect(isAlive(pid)).toBe(false), { timeout: 5_000, interval: 50 });

const frame = (message: object | string): string => {
  const text = typeof message === 'string' ? message : JSON.stringify(message);
  return `Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`;
};

const initialize = (processId: number | null) =>
  frame({ jsonrpc: '2.0', id: 1, method: 'initialize', params: { processId, rootUri: null, capabilities: {} } });

/** A server spoken to in raw bytes. */
function raw(): { server: ChildProcess; write: (text: string) => void; until: (part: string) => Promise<void> } {
  const server = spawn(process.execPath, [SERVER, '--stdio'], { stdio: ['pipe', 'pipe', 'ignore'] });
  undo.push(() => server.kill('SIGKILL'));
  let out = '';
  server.stdout?.on('data', (chunk: Buffer) => {
    out += chunk.toString('utf8');
  });
  server.stdin?.on('error', () => {}); // a server that ends closes it
  return {
    server,
    write: (text) => void server.stdin?.write(text),
    until: (part) =>
      vi.waitFor(
        () => {
          if (!out.includes(part)) throw new Error(`no ${part} in ${out.length} characters`);
        },
        { timeout: 60_000, interval: 20 },
      ),
  };
}

describe('the client dies', () => {
  test('killed without a word, it takes the server with it', async () => {
    // A client of its own process starts a server, says its pid, and is killed.
    const program = `
      const { spawn } = require('node:child_process');
      const server = spawn(process.execPath, [${JSON.stringify(SERVER)}, '--stdio'], { stdio: ['pipe', 'pipe', 'ignore'] });
      server.stdout.once('data', () => console.log(server.pid));
      server.stdin.write(${JSON.stringify(initialize(null))});
      setInterval(() => {}, 1000);`;
    const client = spawn(process.execPath, ['-e', program], { stdio: ['ignore', 'pipe', 'ignore'] });
    undo.push(() => client.kill('SIGKILL'));
    const [said] = (await once(client.stdout, 'data')) as [Buffer];
    const pid = Number(said.toString('utf8'));
    expect(isAlive(pid)).toBe(true);
    client.kill('SIGKILL');
    await gone(pid);
  });

  test('its pipe held open by another process, its pid tells that it is gone', async () => {
    const client = spawn(process.execPath, ['-e', 'setInterval(() => {}, 1000)'], { stdio: 'ignore' });
    undo.push(() => client.kill('SIGKILL'));
    const { server, write, until } = raw();
    write(initialize(client.pid as number));
    await until('"id":1');
    client.kill('SIGKILL');
    await once(client, 'exit');
    await gone(server.pid as number);
  });

  test('a client of another user is there, though it may not be asked', () => {
    const refuse = (code: string) => () => {
      throw Object.assign(new Error(code), { code });
    };
    expect(isGone(17, refuse('EPERM'))).toBe(false);
    expect(isGone(17, refuse('ESRCH'))).toBe(true);
    expect(isGone(17, () => {})).toBe(false);
  });

  test('a number that no process has ends nothing', async () => {
    const servers = [1.5, 2 ** 40, -1, 0].map((processId) => {
      const { server, write } = raw();
      write(initialize(processId));
      return server;
    });
    // It is looked every three seconds.
    await new Promise((resolve) => setTimeout(resolve, 4500));
    expect(servers.map(({ exitCode, signalCode }) => exitCode ?? signalCode)).toEqual([null, null, null, null]);
  });

  test('closing the pipe alone ends it', async () => {
    const { server, write, until } = raw();
    write(initialize(null));
    await until('"id":1');
    server.stdin?.end();
    await gone(server.pid as number);
  });
});

describe('broken messages', () => {
  test.each([
    ['no number', 'Content-Length: abc\r\n\r\n{}', '“abc” is no length'],
    ['a negative one', 'Content-Length: -5\r\n\r\n{}', '“-5” is no length'],
    ['more than a message may hold', 'Content-Length: 99999999999\r\n\r\n{}', '“99999999999” is no length'],
    ['two lengths', 'Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}', 'Content-Length 2 times'],
    ['none', 'Content-Type: x\r\n\r\n{}', 'Content-Length 0 times'],
    ['line feeds alone', 'Content-Length: 2\n\n{}', 'line feed alone'],
    ['no key', 'hello\r\n\r\n', '“hello” is no line'],
    ['no end', `X: ${'y'.repeat(10_000)}`, 'does not end'],
  ])('a header that nobody can follow ends the server, which says so: %s', async (_, text, said) => {
    const server = spawn(process.execPath, [SERVER, '--stdio'], { stdio: ['pipe', 'ignore', 'pipe'] });
    undo.push(() => server.kill('SIGKILL'));
    let errors = '';
    server.stderr.on('data', (chunk: Buffer) => {
      errors += chunk.toString('utf8');
    });
    server.stdin.on('error', () => {});
    server.stdin.write(initialize(null) + text);
    expect(await once(server, 'close')).toEqual([1, null]);
    expect(errors).toMatch(/^legwise: the client sent a header that cannot be read: [^\n]*\n$/);
    expect(errors).toContain(said);
  });

  test.each([
    ['what is no JSON', frame('{"jsonrpc": "2.0", "id": 2, "method"')],
    ['a list', frame([])],
    ['a number', frame('17')],
    ['an unknown request', frame({ jsonrpc: '2.0', id: 7, method: 'textDocument/nonsense', params: {} })],
    ['an unknown notice', frame({ jsonrpc: '2.0', method: 'nonsense/nonsense', params: null })],
    ['an answer to nothing', frame({ jsonrpc: '2.0', id: 999, result: {} })],
    ['no parameters', frame({ jsonrpc: '2.0', method: 'textDocument/didOpen' })],
    [
      'parameters of the wrong kind',
      frame({ jsonrpc: '2.0', method: 'textDocument/didChange', params: { textDocument: 5 } }),
    ],
    [
      'places that are no places',
      frame({
        jsonrpc: '2.0',
        id: 8,
        method: 'textDocument/hover',
        params: { textDocument: { uri: 'untitled:a' }, position: { line: -1, character: 'x' } },
      }),
    ],
    [
      'a change of a text that is not open',
      frame({
        jsonrpc: '2.0',
        method: 'textDocument/didChange',
        params: { textDocument: { uri: 'untitled:none', version: 3 }, contentChanges: [{ text: 'x' }] },
      }),
    ],
    [
      'another version of the protocol',
      frame({ jsonrpc: '1.0', id: 9, method: 'textDocument/hover', params: { textDocument: { uri: 'untitled:a' } } }),
    ],
    ['a cancellation of nothing', frame({ jsonrpc: '2.0', method: '$/cancelRequest', params: { id: 12345 } })],
  ])('%s costs nothing else', async (_, broken) => {
    const { write, until } = raw();
    write(initialize(null));
    await until('"id":1');
    write(frame({ jsonrpc: '2.0', method: 'initialized', params: {} }));
    write(
      frame({
        jsonrpc: '2.0',
        method: 'textDocument/didOpen',
        params: { textDocument: { uri: 'untitled:a', languageId: 'taskplan', version: 1, text: 'feild X\n' } },
      }),
    );
    write(broken);
    write(
      frame({
        jsonrpc: '2.0',
        id: 'after',
        method: 'textDocument/documentSymbol',
        params: { textDocument: { uri: 'untitled:a' } },
      }),
    );
    await until('"id":"after","result"');
    await until('entry-unknown');
  });

  test('lists a hundred thousand deep are no way in', async () => {
    const { write, until } = raw();
    write(initialize(null));
    await until('"id":1');
    write(frame(`{"jsonrpc":"2.0","id":2,"method":"x","params":${'['.repeat(100_000)}${']'.repeat(100_000)}}`));
    write(frame({ jsonrpc: '2.0', id: 'after', method: 'workspace/symbol', params: { query: '' } }));
    await until('"id":"after","result"');
  });

  test('a text of 50 MB is answered', async () => {
    const { write, until } = raw();
    write(initialize(null));
    await until('"id":1');
    const uri = 'untitled:a';
    const text = `# remark\n${'x'.repeat(50 * 1024 * 1024)}\nfeild X\n`;
    const textDocument = { uri, languageId: 'taskplan', version: 1, text };
    write(frame({ jsonrpc: '2.0', method: 'textDocument/didOpen', params: { textDocument } }));
    write(
      frame({ jsonrpc: '2.0', id: 'after', method: 'textDocument/documentSymbol', params: { textDocument: { uri } } }),
    );
    await until('"id":"after","result"');
  });
});

describe('what is on the disk changes under the server', () => {
  let connection: ProtocolConnection | undefined;
  afterEach(() => connection?.dispose());
  const uri = `${ROOT}/a.taskplan`;
  const club = `${ROOT}/club.taskplan`;
  const TASK = 'use "club.taskplan"\n\nlimits Local\n  within 5 NM of Larkfield\n';

  /** A session whose reads are answered one by one, in the order in which they are let go. */
  async function held() {
    const reads: ((result: { text: string } | { why: 'missing' }) => void)[] = [];
    const { client } = await startInProcess({
      list: async () => [],
      read: (asked) =>
        asked === club ? new Promise((resolve) => reads.push(resolve)) : Promise.resolve({ why: 'missing' }),
    });
    connection = client;
    await client.sendNotification('textDocument/didOpen', {
      textDocument: { uri, languageId: 'taskplan', version: 1, text: TASK },
    });
    const codes = async () => {
      const report = await client.sendRequest<{ items: { code: string }[] }>('textDocument/diagnostic', {
        textDocument: { uri },
      });
      return report.items.map(({ code }) => code);
    };
    const changed = (type: number) =>
      client.sendNotification('workspace/didChangeWatchedFiles', { changes: [{ uri: club, type }] });
    const asked = (count: number) => vi.waitFor(() => expect(reads.length).toBe(count), 10_000);
    return { reads, codes, changed, asked };
  }

  test('deleted while it is read, a file is not known from what was read before', async () => {
    const { reads, codes, changed, asked } = await held();
    await asked(1);
    await changed(3);
    const found = codes();
    await asked(2);
    reads[1]?.({ why: 'missing' });
    reads[0]?.({ text: EXAMPLE_CLUB });
    expect(await found).toEqual(['file-missing', 'unknown-name']);
    expect(await codes()).toEqual(['file-missing', 'unknown-name']);
  });

  test('written again while it is read, a file is what was written last', async () => {
    const { reads, codes, changed, asked } = await held();
    await asked(1);
    await changed(2);
    await asked(2);
    reads[1]?.({ text: EXAMPLE_CLUB });
    reads[0]?.({ text: '# nothing yet\n' });
    expect(await codes()).toEqual([]);
  });

  test('an elevation tile that is written again while it is read is what was written last', async () => {
    const hill = (groundM: number): Tile => {
      const tile = decodeTile(
        tileBytes(1201, () => groundM),
        { latDeg: 47, lonDeg: 19 },
      );
      if (!tile) throw new Error('no tile');
      return tile;
    };
    const reads: ((tile: Tile) => void)[] = [];
    const { client } = await startInProcess({
      list: async () => [],
      read: async (asked) => (asked === club ? { text: EXAMPLE_CLUB } : { why: 'missing' }),
      readTile: () => new Promise((resolve) => reads.push(resolve)),
    });
    connection = client;
    const text = `use "club.taskplan"
terrain "tiles"

task Eastward
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 5200 ft MSL
  finish   Ashmoor
`;
    const textDocument = { uri, languageId: 'taskplan', version: 1, text };
    await client.sendNotification('textDocument/didOpen', { textDocument });
    await vi.waitFor(() => expect(reads.length).toBe(1), 10_000);
    const changes = [{ uri: `${ROOT}/tiles/N47E019.hgt`, type: 2 }];
    await client.sendNotification('workspace/didChangeWatchedFiles', { changes });
    const found = client.sendRequest<{ items: { code: string }[] }>('textDocument/diagnostic', {
      textDocument: { uri },
    });
    reads[0]?.(hill(170)); // as it was: in nobody's way
    await vi.waitFor(() => expect(reads.length).toBe(2), 10_000);
    reads[1]?.(hill(1000));
    const { items } = await found;
    expect(reads.length).toBe(2);
    expect(items.map(({ code }) => code)).toContain('below-clearance');
  });
});

describe('links', () => {
  async function codesOf(folder: string, text: string): Promise<(string | number | undefined)[]> {
    const editor: Editor = await startEditor(folder);
    undo.push(() => editor.process.kill());
    const uri = editor.open('plan.taskplan', text);
    const found = await editor.findings(uri);
    await editor.stop();
    return found.map(({ code }) => code);
  }

  test('that lead out of the folder, or round and round, bring nothing in', async () => {
    const folder = newFolder();
    const outside = newFolder();
    writeFileSync(path.join(outside, 'secret.taskplan'), EXAMPLE_CLUB);
    symlinkSync(path.join(outside, 'secret.taskplan'), path.join(folder, 'link.taskplan'));
    symlinkSync(outside, path.join(folder, 'away'));
    symlinkSync('round.taskplan', path.join(folder, 'round.taskplan'));
    mkdirSync(path.join(folder, 'deep'));
    symlinkSync('..', path.join(folder, 'deep/up'));
    const task = '\nlimits Local\n  within 5 NM of Larkfield\n';
    const unknown = 'unknown-name';
    expect(await codesOf(folder, `use "link.taskplan"\n${task}`)).toEqual(['use-outside', unknown]);
    expect(await codesOf(folder, `use "away/secret.taskplan"\n${task}`)).toEqual(['use-outside', unknown]);
    expect(await codesOf(folder, `use "../secret.taskplan"\n${task}`)).toEqual(['use-outside', unknown]);
    expect(await codesOf(folder, `use "round.taskplan"\n${task}`)).toEqual(['file-unreadable', unknown]);
    writeFileSync(path.join(folder, 'club.taskplan'), EXAMPLE_CLUB);
    expect(await codesOf(folder, `use "deep/up/club.taskplan"\n${task}`)).toEqual([]);
  });

  const TASK = 'use "../club.taskplan"\n\nlimits Local\n  within 5 NM of Larkfield\n';
  type Folders = { readonly real: string; readonly link: string };
  const uriOf = (file: string) => URI.file(file).toString();

  test.each([
    ['the folder by a link, the plan by its own name', ({ link }: Folders) => uriOf(link), ({ real }: Folders) => real],
    ['the plan by a link, the folder by its own name', ({ real }: Folders) => uriOf(real), ({ link }: Folders) => link],
    ['the folder by a way round', ({ real }: Folders) => `${uriOf(real)}/plans/..`, ({ real }: Folders) => real],
    [
      'the folder on this very machine',
      ({ real }: Folders) => uriOf(real).replace('file://', 'file://localhost'),
      ({ real }: Folders) => real,
    ],
  ])('a plan is known by whatever name it is opened: %s', async (_, rootOf, folderOf) => {
    const real = path.join(realpathSync(newFolder()), 'club');
    mkdirSync(path.join(real, 'plans'), { recursive: true });
    writeFileSync(path.join(real, 'club.taskplan'), EXAMPLE_CLUB);
    writeFileSync(path.join(real, 'plans/other.taskplan'), TASK);
    const outside = newFolder();
    writeFileSync(path.join(outside, 'secret.taskplan'), EXAMPLE_CLUB);
    symlinkSync(outside, path.join(real, 'away'));
    const link = path.join(newFolder(), 'link');
    symlinkSync(real, link);
    const root = rootOf({ real, link });
    const editor = await startEditor(real, { rootUri: root, workspaceFolders: [{ uri: root, name: 'club' }] });
    undo.push(() => editor.process.kill());
    const folder = folderOf({ real, link });
    const text = `${TASK}use "../away/secret.taskplan"\nuse "../../secret.taskplan"\n`;
    const uri = uriOf(path.join(folder, 'plans/plan.taskplan'));
    await editor.connection.sendNotification('textDocument/didOpen', {
      textDocument: { uri, languageId: 'taskplan', version: 1, text },
    });
    // What lies outside once links are followed stays outside.
    expect((await editor.findings(uri)).map(({ code }) => code)).toEqual(['use-outside', 'use-outside']);
    const edit = await editor.connection.sendRequest<{ changes: Record<string, unknown[]> }>('textDocument/rename', {
      textDocument: { uri },
      position: { line: 3, character: 20 },
      newName: 'Lark',
    });
    expect(Object.keys(edit.changes)).toContain(uri);
    expect(Object.keys(edit.changes).map((one) => one.slice(one.lastIndexOf('/') + 1))).toEqual(
      expect.arrayContaining(['plan.taskplan', 'other.taskplan', 'club.taskplan']),
    );
    expect(Object.keys(edit.changes)).toHaveLength(3);
    await editor.stop();
  });

  test('a plan that is not saved yet is told so', async () => {
    const editor = await startEditor(newFolder());
    undo.push(() => editor.process.kill());
    for (const uri of ['untitled:Untitled-1', 'untitled:/plans/new.taskplan']) {
      await editor.connection.sendNotification('textDocument/didOpen', {
        textDocument: { uri, languageId: 'taskplan', version: 1, text: 'use "club.taskplan"\n' },
      });
      expect((await editor.findings(uri)).map(({ message }) => message)).toEqual([
        '`club.taskplan` leads nowhere as long as this plan is not saved: the path starts where the plan lies. Save it first.',
      ]);
    }
    await editor.stop();
  });
});

describe('folders that come and go', () => {
  const uri = `${ROOT}/plans/a.taskplan`;
  const TASK = 'use "../club/fields.taskplan"\n\nlimits Local\n  within 5 NM of Larkfield\n';

  /** A session over a disk that a test changes. */
  async function session(files: Map<string, string>) {
    const asked: string[] = [];
    let listed = 0;
    const isFolder = (one: string) => [...files.keys()].some((file) => file.startsWith(`${one}/`));
    const { client } = await startInProcess({
      list: async () => {
        listed++;
        // As long as a disk takes.
        await new Promise((resolve) => setTimeout(resolve, 20));
        return [...files.keys()];
      },
      read: async (one) => {
        asked.push(one);
        const text = files.get(one);
        if (text !== undefined) return { text };
        return { why: isFolder(one) ? 'folder' : 'missing' };
      },
    });
    undo.push(() => client.dispose());
    const textDocument = { uri, languageId: 'taskplan', version: 1, text: TASK };
    await client.sendNotification('textDocument/didOpen', { textDocument });
    const codes = async () => {
      const report = await client.sendRequest<{ items: { code: string }[] }>('textDocument/diagnostic', {
        textDocument: { uri },
      });
      return report.items.map(({ code }) => code);
    };
    const told = (...changes: [name: string, type: number][]) =>
      client.sendNotification('workspace/didChangeWatchedFiles', {
        changes: changes.map(([name, type]) => ({ uri: `${ROOT}/${name}`, type })),
      });
    const symbols = async (query: string) =>
      (await client.sendRequest<{ location: { uri: string } }[]>('workspace/symbol', { query })).map(
        ({ location }) => location.uri,
      );
    return { asked, lists: () => listed, codes, told, symbols };
  }

  const FIELDS = `${ROOT}/club/fields.taskplan`;

  test('of one that goes its files are gone, and of one that comes they are there', async () => {
    const files = new Map([[FIELDS, EXAMPLE_CLUB]]);
    const { codes, told, symbols } = await session(files);
    expect(await codes()).toEqual([]);
    files.clear();
    await told(['club', 3]);
    expect(await codes()).toEqual(['file-missing', 'unknown-name']);
    expect(await symbols('Larkfield')).toEqual([]);
    files.set(FIELDS, EXAMPLE_CLUB);
    await told(['club', 1]);
    expect(await codes()).toEqual([]);
    expect(await symbols('Larkfield')).toEqual([FIELDS]);
  });

  test('one that is renamed is looked through under its new name, whatever lies above it', async () => {
    const files = new Map([[`${ROOT}/old/2026.06/fields.taskplan`, EXAMPLE_CLUB]]);
    const { told, symbols } = await session(files);
    expect(await symbols('Larkfield')).toEqual([`${ROOT}/old/2026.06/fields.taskplan`]);
    files.clear();
    files.set(`${ROOT}/new/2026.06/fields.taskplan`, EXAMPLE_CLUB);
    await told(['old', 3], ['new', 1]);
    await vi.waitFor(async () => expect(await symbols('Larkfield')).toEqual([...files.keys()]), 10_000);
    files.clear();
    files.set(`${ROOT}/new/2026.07/fields.taskplan`, EXAMPLE_CLUB);
    await told(['new/2026.06', 3], ['new/2026.07', 1]);
    await vi.waitFor(async () => expect(await symbols('Larkfield')).toEqual([...files.keys()]), 10_000);
  });

  test('however many come, they are looked through together', async () => {
    const files = new Map([[FIELDS, EXAMPLE_CLUB]]);
    const { lists, told, symbols } = await session(files);
    await symbols('Larkfield');
    const before = lists();
    for (let i = 0; i < 50; i++) files.set(`${ROOT}/month-${i}/fields.taskplan`, EXAMPLE_CLUB);
    for (let i = 0; i < 50; i++) await told([`month-${i}`, 1]);
    await vi.waitFor(async () => expect(await symbols('Larkfield')).toHaveLength(51), 10_000);
    expect(lists() - before).toBeLessThan(25);
  });

  test('other files are none of its business', async () => {
    const { asked, codes, told } = await session(new Map([[FIELDS, EXAMPLE_CLUB]]));
    expect(await codes()).toEqual([]);
    const before = asked.length;
    await told(['photo.jpeg', 1], ['.git/index.lock', 1], ['photo.jpeg', 3], ['notes.txt', 2], ['club', 2]);
    expect(await codes()).toEqual([]);
    expect(asked.length).toBe(before);
  });
});
