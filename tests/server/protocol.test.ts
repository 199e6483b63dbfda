/** The manners of the protocol: who asks, who waits, how characters are counted, and what an old answer is worth. */
import { cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import {
  CancellationTokenSource,
  type DocumentDiagnosticReport,
  type InitializeParams,
  type MarkupContent,
  type WorkspaceDiagnosticReport,
  WorkspaceDiagnosticRequest,
} from 'vscode-languageserver-protocol/node';
import { URI } from 'vscode-uri';
import { type Editor, ROOT, startEditor } from './client.ts';

let folder: string;
let editor: Editor | undefined;

beforeEach(() => {
  folder = mkdtempSync(path.join(tmpdir(), 'legwise-'));
  cpSync(path.join(ROOT, 'samples'), folder, { recursive: true });
});

afterEach(() => {
  if (editor && editor.process.exitCode === null) editor.process.kill();
  editor = undefined;
  rmSync(folder, { recursive: true, force: true });
});

const start = async (
  capabilities: InitializeParams['capabilities'],
  more: Partial<InitializeParams> = {},
): Promise<Editor> => {
  editor = await startEditor(folder, { capabilities, ...more });
  return editor;
};
const uriOf = (file: string) => URI.file(path.join(folder, file)).toString();

describe('findings for a client that asks', () => {
  const PULLS = { textDocument: { diagnostic: {} }, workspace: { diagnostics: {} } };
  const pull = (uri: string, previousResultId?: string) =>
    (editor as Editor).connection.sendRequest<DocumentDiagnosticReport>('textDocument/diagnostic', {
      textDocument: { uri },
      ...(previousResultId ? { previousResultId } : {}),
    });

  test('one file, and nothing new when nothing changed', async () => {
    const { initialized, open, change } = await start(PULLS);
    expect(initialized.capabilities.diagnosticProvider).toMatchObject({
      interFileDependencies: true,
      workspaceDiagnostics: true,
    });
    const uri = open('plans/leg-home.taskplan');
    const first = await pull(uri);
    if (first.kind !== 'full') throw new Error('the first answer is a full one');
    expect(first.items.map(({ code }) => code)).toContain('below-reserve');
    expect(await pull(uri, first.resultId)).toEqual({ kind: 'unchanged', resultId: first.resultId });
    change(uri, 2, [
      { range: { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } }, text: 'nonsense\n' },
    ]);
    const second = await pull(uri, first.resultId);
    if (second.kind !== 'full') throw new Error('an edit gives a full answer');
    expect(second.items.map(({ code }) => code)).toContain('entry-unknown');
  });

  test('the whole workspace, files that nobody has open included, in parts', async () => {
    const { connection, open } = await start(PULLS);
    open('plans/leg-home.taskplan');
    await pull(uriOf('plans/leg-home.taskplan'));
    const parts: { items: { uri: string }[] }[] = [];
    connection.onProgress(WorkspaceDiagnosticRequest.partialResult, 'part', (part) => {
      parts.push(part);
    });
    // The folders are read in the background; a client asks again when it is told to.
    for (let tries = 0; tries < 300; tries++) {
      const report = await connection.sendRequest<WorkspaceDiagnosticReport>('workspace/diagnostic', {
        previousResultIds: [],
      });
      const slips = report.items.find(({ uri }) => uri.endsWith('/slips.taskplan'));
      if (report.items.length >= 17 && slips) {
        expect(slips?.kind === 'full' && slips.items.length).toBeGreaterThan(3);
        const previousResultIds = report.items.map(({ uri, resultId }) => ({ uri, value: resultId as string }));
        const again = await connection.sendRequest<WorkspaceDiagnosticReport>('workspace/diagnostic', {
          previousResultIds,
          partialResultToken: 'part',
        });
        expect(again.items).toEqual([]);
        expect(parts.flatMap(({ items }) => items)).not.toHaveLength(0);
        expect(parts.flatMap(({ items }) => items).length).toBeGreaterThanOrEqual(report.items.length);
        return;
      }
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
    throw new Error('the folder was not read');
  });
});

describe('characters as the client counts them', () => {
  const TEXT = 'turnpoint "Überflug ☁" at 47.2 N 19.4\n  elevation 100 m\n';
  for (const [kind, at] of [
    ['utf-8', 29],
    ['utf-16', 26],
    ['utf-32', 26],
  ] as const) {
    test(kind, async () => {
      const { initialized, open, findings, change } = await start({ general: { positionEncodings: [kind] } });
      expect(initialized.capabilities.positionEncoding).toBe(kind);
      const uri = open('plans/new.taskplan', TEXT);
      const [found] = await findings(uri);
      expect(found?.code).toBe('coordinates-incomplete');
      expect(found?.range.start.line).toBe(0);
      // Behind the name every character counts alike, so a place there tells the encoding.
      const end = found?.range.end.character as number;
      expect(end - at).toBe('47.2 N 19.4'.length);
      change(uri, 2, [{ range: { start: { line: 0, character: end }, end: { line: 0, character: end } }, text: ' E' }]);
      expect(await findings(uri, ({ version }) => version === 2)).toEqual([]);
    });
  }
});

describe('manners', () => {
  test('a request that is cancelled says so, and the server goes on', async () => {
    const { connection, open, findings } = await start({});
    const uri = open('plans/leg-home.taskplan');
    await findings(uri);
    const source = new CancellationTokenSource();
    const asked = connection.sendRequest(
      'textDocument/hover',
      { textDocument: { uri }, position: { line: 30, character: 4 } },
      source.token,
    );
    source.cancel();
    await expect(asked).rejects.toMatchObject({ code: -32800 });
    expect(
      await connection.sendRequest('textDocument/hover', {
        textDocument: { uri },
        position: { line: 30, character: 4 },
      }),
    ).not.toBeNull();
  });

  test('settings are asked for, and followed when they change', async () => {
    const { connection, open, findings } = await start({ workspace: { configuration: true } });
    let severity: Record<string, string> = {};
    connection.onRequest('workspace/configuration', ({ items }: { items: unknown[] }) =>
      items.map(() => ({ severity, codeLens: { enable: false } })),
    );
    await connection.sendNotification('workspace/didChangeConfiguration', { settings: null });
    const uri = open('plans/leg-home.taskplan');
    await findings(uri, ({ diagnostics }) =>
      diagnostics.some(({ code, severity: grave }) => code === 'below-reserve' && grave === 1),
    );
    expect(await connection.sendRequest('textDocument/codeLens', { textDocument: { uri } })).toEqual([]);
    severity = { 'below-reserve': 'hint' };
    await connection.sendNotification('workspace/didChangeConfiguration', { settings: null });
    // An error is turned down to a warning, no less.
    await findings(uri, ({ diagnostics }) =>
      diagnostics.some(({ code, severity: grave }) => code === 'below-reserve' && grave === 2),
    );
  });

  test('folders come and go: a file of another folder may be used while it is there', async () => {
    const other = mkdtempSync(path.join(tmpdir(), 'legwise-other-'));
    writeFileSync(path.join(other, 'extra.taskplan'), 'field Extra at 47.2 N 19.4 E\n  elevation 200 m\n');
    mkdirSync(path.join(folder, 'own'));
    const { connection, open, findings } = await start({});
    const up = path.relative(path.join(folder, 'own'), path.join(other, 'extra.taskplan')).split(path.sep).join('/');
    const uri = open('own/new.taskplan', `use "${up}"\n\nlimits Local\n  within 5 NM of Extra\n`);
    await findings(uri, ({ diagnostics }) => diagnostics.some(({ code }) => code === 'use-outside'));
    const event = { added: [{ uri: URI.file(other).toString(), name: 'other' }], removed: [] };
    await connection.sendNotification('workspace/didChangeWorkspaceFolders', { event });
    await findings(uri, ({ diagnostics }) => diagnostics.length === 0);
    await connection.sendNotification('workspace/didChangeWorkspaceFolders', {
      event: { added: [], removed: event.added },
    });
    await findings(uri, ({ diagnostics }) => diagnostics.some(({ code }) => code === 'use-outside'));
    rmSync(other, { recursive: true, force: true });
  });

  test('names in a hover are no Markdown', async () => {
    const { connection, open } = await start({});
    const uri = open('plans/new.taskplan', 'turnpoint "[x](command:evil) <b>" at 47.2 N 19.4 E\n  elevation 100 m\n');
    const hover = await connection.sendRequest<{ contents: MarkupContent }>('textDocument/hover', {
      textDocument: { uri },
      position: { line: 0, character: 14 },
    });
    expect(hover.contents.value).toContain('\\[x\\]\\(command:evil\\) \\<b\\>');
  });

  test('shut down in order it ends with 0, without with 1', async () => {
    const first = await start({});
    expect(await first.stop()).toBe(0);
    const second = await start({});
    const ended = new Promise((resolve) => second.process.once('exit', resolve));
    await second.connection.sendNotification('exit');
    expect(await ended).toBe(1);
  });

  test('it ends when its client is gone', async () => {
    const { process: server } = await start({});
    const ended = new Promise((resolve) => server.once('exit', resolve));
    server.stdin?.end();
    await ended;
  });
});
