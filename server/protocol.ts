/**
 * What a session needs of the protocol at run time, as opposed to its types. The library that has all of it is four
 * times as large as the rest of a server in a browser may be.
 */
import type { Connection } from 'vscode-languageserver';

export { ErrorCodes, ResponseError } from 'vscode-jsonrpc';

/** The error codes that the protocol adds to those of JSON-RPC. */
export const LSPErrorCodes = {
  ServerNotInitialized: -32002,
  RequestFailed: -32803,
  ServerCancelled: -32802,
  ContentModified: -32801,
  RequestCancelled: -32800,
} as const;

/** Text is synchronised by what changes of it. */
export const INCREMENTAL = 2;

/** What a session uses of a connection. */
export type SessionConnection = Pick<
  Connection,
  | 'onInitialize'
  | 'onInitialized'
  | 'onShutdown'
  | 'onNotification'
  | 'onRequest'
  | 'sendNotification'
  | 'sendRequest'
  | 'sendDiagnostics'
  | 'onDidChangeConfiguration'
  | 'onDidOpenTextDocument'
  | 'onDidChangeTextDocument'
  | 'onDidCloseTextDocument'
  | 'onDidChangeWatchedFiles'
> & {
  readonly console: { error(message: string): void };
  readonly workspace: { getConfiguration(section: string): Promise<unknown> };
  readonly window: {
    createWorkDoneProgress(): Promise<{
      begin(title: string, percentage?: number, message?: string, cancellable?: boolean): void;
      report(percentage: number, message: string): void;
      done(): void;
    }>;
  };
  readonly languages: {
    readonly diagnostics: {
      on: Connection['languages']['diagnostics']['on'];
      onWorkspace: Connection['languages']['diagnostics']['onWorkspace'];
    };
  };
};
