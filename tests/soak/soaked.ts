/** A server under test with all that it says and keeps to itself, and what can be asked of it about a folder. */
import { type ChildProcess, spawn } from 'node:child_process';
import path from 'node:path';
import { createInterface } from 'node:readline';
import type { Readable } from 'node:stream';
import {
  createProtocolConnection,
  type Diagnostic,
  type ProtocolConnection,
  type PublishDiagnosticsParams,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-languageserver-protocol/node';
import { URI } from 'vscode-uri';

const ROOT = path.resolve(import.meta.dirname, '../..');
const WHOLE = { start: { line: 0, character: 0 }, end: { line: 1_000_000, character: 0 } };

export interface Heap {
  readonly bytes: number;
  readonly rss: number;
}

/** What a server says of a file. */
export interface Said {
  readonly findings: unknown;
  readonly tokens: unknown;
  readonly symbols: unknown;
  readonly hints: unknown;
  readonly lenses: unknown;
  readonly folds: unknown;
  readonly links: unknown;
}

export class Soaked {
  readonly connection: ProtocolConnection;
  readonly published = new Map<string, readonly Diagnostic[]>();
  /** What should not have happened. */
  readonly wrong: string[] = [];
  /** Rejects when the server ends unasked. */
  readonly ended: Promise<never>;
  private stopping = false;
  private readonly server: ChildProcess;
  private readonly heaps: ((heap: Heap) => void)[] = [];

  private constructor(server: ChildProcess) {
    this.server = server;
    this.ended = new Promise((_, reject) => {
      server.once('exit', (code, signal) => {
        if (!this.stopping) reject(new Error(`the server ended by itself: ${signal ?? `exit code ${code}`}`));
      });
    });
    this.ended.catch(() => {}); // whoever waits for an answer hears of it
    this.connection = createProtocolConnection(
      new StreamMessageReader(server.stdout as Readable),
      new StreamMessageWriter(server.stdin as NonNullable<ChildProcess['stdin']>),
    );
    this.connection.onNotification('textDocument/publishDiagnostics', (one: PublishDiagnosticsParams) => {
      this.published.set(one.uri, one.diagnostics);
    });
    this.connection.onNotification('window/logMessage', ({ type, message }: { type: number; message: string }) => {
      if (type <= 2) this.wrong.push(`logged: ${message}`);
    });
    this.connection.onRequest('workspace/configuration', ({ items }: { items: unknown[] }) => items.map(() => null));
    this.connection.onRequest('client/registerCapability', () => null);
    this.connection.onError(([error]) => this.wrong.push(`connection: ${error.stack}`));
    createInterface({ input: server.stdio[3] as Readable }).on('line', (line) => {
      const told = JSON.parse(line) as { kind: string; error?: string } & Heap;
      if (told.kind === 'heap') this.heaps.shift()?.(told);
      else this.wrong.push(`${told.kind}: ${told.error}`);
    });
    this.connection.listen();
  }

  static async start(folder: string): Promise<Soaked> {
    const server = spawn(
      process.execPath,
      [
        '--expose-gc',
        '--require',
        path.join(import.meta.dirname, 'inside.cjs'),
        path.join(ROOT, 'dist/server.cjs'),
        '--stdio',
      ],
      { stdio: ['pipe', 'pipe', 'inherit', 'pipe'] },
    );
    const soaked = new Soaked(server);
    const root = URI.file(folder).toString();
    await soaked.connection.sendRequest('initialize', {
      processId: process.pid,
      rootUri: root,
      workspaceFolders: [{ uri: root, name: 'soak' }],
      capabilities: {
        workspace: { didChangeWatchedFiles: { dynamicRegistration: true } },
        textDocument: {
          publishDiagnostics: { relatedInformation: true, versionSupport: true },
          documentSymbol: { hierarchicalDocumentSymbolSupport: true },
        },
      },
    });
    await soaked.connection.sendNotification('initialized', {});
    return soaked;
  }

  notify(method: string, params: object): void {
    void this.connection.sendNotification(method, params);
  }

  heap(): Promise<Heap> {
    return new Promise((resolve) => {
      this.heaps.push(resolve);
      this.server.kill('SIGUSR2');
    });
  }

  /** Everything about one file, asked for until the server is no longer reading others meanwhile. */
  async said(uri: string): Promise<Said> {
    const textDocument = { uri };
    const ask = (method: string, more: object = {}) =>
      this.connection.sendRequest<unknown>(method, { textDocument, ...more });
    const { items } = (await ask('textDocument/diagnostic')) as { items: unknown };
    const { data } = (await ask('textDocument/semanticTokens/full')) as { data: unknown };
    return {
      findings: items,
      tokens: data,
      symbols: await ask('textDocument/documentSymbol'),
      hints: await ask('textDocument/inlayHint', { range: WHOLE }),
      lenses: await ask('textDocument/codeLens'),
      folds: await ask('textDocument/foldingRange'),
      links: await ask('textDocument/documentLink'),
    };
  }

  /** Names of the whole folder, and the findings of every plan in it, by path. */
  async saidOfAll(): Promise<{ names: unknown; findings: unknown }> {
    const names = await this.connection.sendRequest<{ name: string; location: { uri: string } }[]>('workspace/symbol', {
      query: '',
    });
    const { items } = await this.connection.sendRequest<{ items: { uri: string; items: unknown[] }[] }>(
      'workspace/diagnostic',
      { previousResultIds: [] },
    );
    const findings = items.map(({ uri, items: own }) => [uri, own] as const).sort(([a], [b]) => (a < b ? -1 : 1));
    return { names: names.map((one) => JSON.stringify(one)).sort(), findings };
  }

  async stop(): Promise<void> {
    this.stopping = true;
    const ended = new Promise((resolve) => this.server.once('exit', resolve));
    await this.connection.sendRequest('shutdown');
    await this.connection.sendNotification('exit');
    await ended;
    this.connection.dispose();
  }
}
