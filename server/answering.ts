/** How a session answers a request about a file, whichever it is. */
import type { CancellationToken, Connection, GenericRequestHandler, InitializeParams } from 'vscode-languageserver';
import type { Encoding } from './encoding.ts';
import type { PageLink } from './features/diagnostics.ts';
import type { SessionFiles } from './files-of-session.ts';
import type { Understood } from './plan/understand.ts';
import { LSPErrorCodes, ResponseError } from './protocol.ts';
import type { BriefSheet } from './reports/brief-model.ts';
import type { Finding } from './rules/rule.ts';
import type { Settings } from './settings.ts';

/** `madeMs`: when, in milliseconds since 1970. */
export type MakePdf = (sheets: readonly BriefSheet[], madeMs: number) => Promise<string>;

export interface HandlerNeeds {
  readonly connection: Pick<Connection, 'onRequest'>;
  readonly files: SessionFiles;
  readonly encoding: () => Encoding;
  readonly settings: () => Settings;
  readonly client: () => InitializeParams['capabilities'];
  readonly check: (understood: Understood) => readonly Finding[];
  readonly pageLink: () => PageLink | undefined;
  /** A command of the client that opens completion again; none of a client that names none. */
  readonly completeAgain: () => { readonly again?: string };
  /** A command of the client that opens the what-if of a task; undefined for a client that names none. */
  readonly whatIfCommand: () => string | undefined;
  /** Sheets as a PDF file, in base 64; undefined where none can be made. */
  readonly pdf: MakePdf | undefined;
  readonly pause: () => Promise<void>;
  readonly log: (what: string, error: unknown) => void;
}

/** A request about a file. */
export interface FileParams {
  readonly textDocument: { readonly uri: string };
}

/** Ways to answer. */
export interface Answering {
  /**
   * Answers a request about a file. Cancelled, stale and failed are told apart; a failure costs that answer alone, and
   * is logged with its cause.
   */
  answer<P extends FileParams, R>(method: string, otherwise: R, make: (understood: Understood, params: P) => R): void;
  /** What `make` makes; `otherwise` when it fails, and the log says why. */
  safely<R>(
    method: string,
    otherwise: R,
    make: () => Promise<R | ResponseError<void>>,
  ): Promise<R | ResponseError<void>>;
  /** A version of the text that an answer is about: none of a file that is not open. */
  versionOf(uri: string): number | undefined;
}

export function answering({ connection, files, encoding, pause, log }: HandlerNeeds): Answering {
  const versionOf = (uri: string) => files.open.get(uri)?.version;

  async function safely<R>(
    method: string,
    otherwise: R,
    make: () => Promise<R | ResponseError<void>>,
  ): Promise<R | ResponseError<void>> {
    try {
      return await make();
    } catch (error) {
      if (error instanceof ResponseError) return error;
      log(method, error);
      return otherwise;
    }
  }

  function answer<P extends FileParams, R>(
    method: string,
    otherwise: R,
    make: (understood: Understood, params: P) => R,
  ): void {
    const handler = (given: P, token: CancellationToken) =>
      safely<R>(method, otherwise, async () => {
        const uri = files.uriOf(given.textDocument.uri);
        const version = versionOf(uri);
        // Lets a cancellation that is already on its way come in.
        await pause();
        const understood = await files.ready(uri);
        if (token.isCancellationRequested) return new ResponseError(LSPErrorCodes.RequestCancelled, 'cancelled');
        if (versionOf(uri) !== version) return new ResponseError(LSPErrorCodes.ContentModified, 'the text has changed');
        if (!understood) return otherwise;
        return encoding().toClient(make(understood, encoding().fromClient(given, uri)), uri);
      });
    connection.onRequest(method, handler as GenericRequestHandler<R, void>);
  }

  return { answer, safely, versionOf };
}
