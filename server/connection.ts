/**
 * The protocol as a session uses it, on the library for JSON-RPC. The library for all of the protocol would double what a
 * browser has to load, and what Node has to read at every start.
 */
import type { CancellationToken, MessageConnection } from 'vscode-jsonrpc';
import type {
  Connection,
  DocumentDiagnosticParams,
  InitializeParams,
  WorkspaceDiagnosticParams,
} from 'vscode-languageserver';
import { ErrorCodes, LSPErrorCodes, ResponseError, type SessionConnection } from './protocol.ts';

/** What the program that runs a session does besides. */
export interface Program {
  /** A client begins, which is the process of this number, where it says so. */
  begins?(processId: number | null): void;
  /** The client is done. */
  shutsDown?(): void;
  /** It wants the program gone. */
  exits?(): void;
}

/** What a session is given of a handler's type is made sure of by the protocol, as in the library. */
// biome-ignore lint/suspicious/noExplicitAny: handlers of every kind of message pass through here
type Handler = (...given: any[]) => any;

/** A connection over messages; the caller has yet to listen. */
export function sessionConnection(
  rpc: MessageConnection,
  program: Program = {},
): SessionConnection & { listen(): void } {
  /** What a client may ask depends on it: nothing before it has initialized the server, nor once it has shut it down. */
  let phase: 'new' | 'running' | 'shut down' = 'new';
  const refusal = () =>
    phase === 'new'
      ? new ResponseError(LSPErrorCodes.ServerNotInitialized, 'the first request is initialize')
      : new ResponseError(ErrorCodes.InvalidRequest, `the server is ${phase} already`);
  const asked =
    (handler: Handler): Handler =>
    (...given) =>
      phase === 'running' ? handler(...given) : refusal();
  const onRequest = (method: string | Handler, handler?: Handler) =>
    typeof method === 'string' ? rpc.onRequest(method, asked(handler as Handler)) : rpc.onRequest(asked(method));
  const onNotification = (method: string, handler: Handler) =>
    rpc.onNotification(method, (...given) => phase === 'running' && handler(...given));
  const notified = (method: string) => (handler: Handler) => onNotification(method, handler);
  let progresses = 0;
  rpc.onNotification('exit', () => program.exits?.());

  const connection = {
    listen: () => rpc.listen(),
    onRequest,
    onNotification,
    sendRequest: (method: string, params?: object) => rpc.sendRequest(method, params),
    sendNotification: (method: string, params?: object) => rpc.sendNotification(method, params),
    sendDiagnostics: (params: object) => rpc.sendNotification('textDocument/publishDiagnostics', params),
    onInitialize: (handler: Handler) =>
      rpc.onRequest('initialize', (params: InitializeParams, token: CancellationToken) => {
        if (phase !== 'new') return refusal();
        program.begins?.(params.processId);
        const answer = handler(params, token);
        phase = 'running';
        return answer;
      }),
    onInitialized: notified('initialized'),
    onShutdown: (handler: Handler) =>
      onRequest('shutdown', async () => {
        phase = 'shut down';
        program.shutsDown?.();
        await handler();
        return null;
      }),
    onDidChangeConfiguration: notified('workspace/didChangeConfiguration'),
    onDidOpenTextDocument: notified('textDocument/didOpen'),
    onDidChangeTextDocument: notified('textDocument/didChange'),
    onDidCloseTextDocument: notified('textDocument/didClose'),
    onDidChangeWatchedFiles: notified('workspace/didChangeWatchedFiles'),
    console: {
      error: (message: string) => {
        rpc.sendNotification('window/logMessage', { type: 1, message }).catch(() => {});
      },
    },
    workspace: {
      async getConfiguration(section: string) {
        const [found] = await rpc.sendRequest<unknown[]>('workspace/configuration', { items: [{ section }] });
        return found;
      },
    },
    window: {
      async createWorkDoneProgress() {
        const token = `legwise-${++progresses}`;
        await rpc.sendRequest('window/workDoneProgress/create', { token });
        const tell = (value: object) => {
          rpc.sendNotification('$/progress', { token, value }).catch(() => {});
        };
        return {
          begin: (title: string, percentage?: number, message?: string, cancellable?: boolean) =>
            tell({ kind: 'begin', title, percentage, message, cancellable }),
          report: (percentage: number, message: string) => tell({ kind: 'report', percentage, message }),
          done: () => tell({ kind: 'end' }),
        };
      },
    },
    languages: {
      diagnostics: {
        on: (handler: Handler) =>
          onRequest('textDocument/diagnostic', (params: DocumentDiagnosticParams, token: CancellationToken) =>
            handler(params, token),
          ),
        onWorkspace: (handler: Handler) =>
          onRequest('workspace/diagnostic', (params: WorkspaceDiagnosticParams, token: CancellationToken) => {
            const { partialResultToken } = params;
            const parts =
              partialResultToken === undefined
                ? undefined
                : {
                    report: (value: object) => {
                      rpc.sendNotification('$/progress', { token: partialResultToken, value }).catch(() => {});
                    },
                  };
            return handler(params, token, undefined, parts);
          }),
      },
    },
  };
  return connection as typeof connection & Pick<Connection, keyof SessionConnection & keyof Connection>;
}
