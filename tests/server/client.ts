/** An editor for tests: it starts the built server, talks to it over stdio, and keeps what it publishes. */
import { type ChildProcess, spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import {
  createProtocolConnection,
  type Diagnostic,
  type InitializeParams,
  type InitializeResult,
  type ProtocolConnection,
  type PublishDiagnosticsParams,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-languageserver-protocol/node';
import { URI } from 'vscode-uri';

export const ROOT = path.resolve(import.meta.dirname, '../..');

export interface Editor {
  readonly connection: ProtocolConnection;
  readonly process: ChildProcess;
  readonly initialized: InitializeResult;
  /** Opens a text under a path of the folder. */
  open(file: string, text?: string): string;
  change(
    uri: string,
    version: number,
    changes: {
      range?: { start: { line: number; character: number }; end: { line: number; character: number } };
      text: string;
    }[],
  ): void;
  /** The next published findings of a document for which `enough` holds, those published already included. */
  findings(uri: string, enough?: (published: PublishDiagnosticsParams) => boolean): Promise<Diagnostic[]>;
  stop(): Promise<number | null>;
}

/** Starts the server on a folder. */
export async function startEditor(folder: string, params: Partial<InitializeParams> = {}): Promise<Editor> {
  const server = spawn(process.execPath, [path.join(ROOT, 'dist/server.cjs'), '--stdio'], {
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  const connection = createProtocolConnection(
    new StreamMessageReader(server.stdout),
    new StreamMessageWriter(server.stdin),
  );
  const last = new Map<string, PublishDiagnosticsParams>();
  const waiting = new Set<(published: PublishDiagnosticsParams) => void>();
  connection.onNotification('textDocument/publishDiagnostics', (published: PublishDiagnosticsParams) => {
    last.set(published.uri, published);
    for (const told of waiting) told(published);
  });
  connection.onRequest('workspace/configuration', ({ items }: { items: unknown[] }) => items.map(() => null));
  connection.listen();
  const root = URI.file(folder).toString();
  const initialized = await connection.sendRequest<InitializeResult>('initialize', {
    processId: process.pid,
    rootUri: root,
    workspaceFolders: [{ uri: root, name: 'club' }],
    capabilities: { textDocument: { publishDiagnostics: { relatedInformation: true, versionSupport: true } } },
    ...params,
  });
  await connection.sendNotification('initialized', {});
  return {
    connection,
    process: server,
    initialized,
    open(file, text = readFileSync(path.join(folder, file), 'utf8')) {
      const uri = URI.file(path.join(folder, file)).toString();
      void connection.sendNotification('textDocument/didOpen', {
        textDocument: { uri, languageId: 'taskplan', version: 1, text },
      });
      return uri;
    },
    change(uri, version, contentChanges) {
      void connection.sendNotification('textDocument/didChange', { textDocument: { uri, version }, contentChanges });
    },
    findings(uri, enough = () => true) {
      const known = last.get(uri);
      if (known && enough(known)) return Promise.resolve(known.diagnostics);
      return new Promise((resolve) => {
        const told = (published: PublishDiagnosticsParams) => {
          if (published.uri !== uri || !enough(published)) return;
          waiting.delete(told);
          resolve(published.diagnostics);
        };
        waiting.add(told);
      });
    },
    async stop() {
      const ended = new Promise<number | null>((resolve) => server.once('exit', (code) => resolve(code)));
      await connection.sendRequest('shutdown');
      await connection.sendNotification('exit');
      const code = await ended;
      connection.dispose();
      return code;
    },
  };
}
