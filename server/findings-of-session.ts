/**
 * The findings of a session: published to clients that wait for them, or given to those that ask, for one file or for
 * the whole workspace. An answer belongs to the version of the text it was made from, and an old one is never shown.
 */
import type {
  CancellationToken,
  Diagnostic,
  DocumentDiagnosticReport,
  WorkspaceDiagnosticParams,
  WorkspaceDiagnosticReport,
  WorkspaceDocumentDiagnosticReport,
} from 'vscode-languageserver';
import type { Encoding } from './encoding.ts';
import { diagnostics, type PageLink } from './features/diagnostics.ts';
import type { SessionFiles } from './files-of-session.ts';
import type { Understood } from './plan/understand.ts';
import { LSPErrorCodes, ResponseError, type SessionConnection } from './protocol.ts';
import type { Finding } from './rules/rule.ts';

export interface FindingsNeeds {
  readonly connection: SessionConnection;
  readonly files: SessionFiles;
  readonly encoding: () => Encoding;
  /** The findings of a file, as the settings have them. */
  readonly check: (understood: Understood) => readonly Finding[];
  readonly pageLink: () => PageLink | undefined;
  readonly log: (what: string, error: unknown) => void;
}

/** The answers given last, so that an unchanged one is not sent again. */
interface Given {
  readonly id: string;
  readonly key: string;
}

export class SessionFindings {
  private readonly needs: FindingsNeeds;
  private readonly given = new Map<string, Given>();
  private readonly published = new Map<string, string>();
  private ids = 0;
  /** Files a client asks for by itself need no publishing; it is told when others may have changed. */
  pulls = false;
  refreshes = false;
  stopped = false;

  constructor(needs: FindingsNeeds) {
    this.needs = needs;
  }

  private of(understood: Understood): Diagnostic[] {
    const { files, encoding, check, pageLink } = this.needs;
    const made = diagnostics(files.workspace, check(understood), pageLink());
    const uri = understood.file.uri;
    const named = made.map((one) =>
      one.relatedInformation
        ? {
            ...one,
            relatedInformation: one.relatedInformation.map(({ location, message }) => ({
              location: { ...location, uri: files.nameOf(location.uri) },
              message,
            })),
          }
        : one,
    );
    return encoding().toClient(named, uri);
  }

  /** Publishes the findings of an open file, when they belong to its text as it is now. */
  async publish(uri: string): Promise<void> {
    const { connection, files } = this.needs;
    const understood = await files.ready(uri);
    const document = files.open.get(uri);
    if (!understood || !document || this.stopped) return;
    // An edit came in while files were read: that edit's own turn publishes.
    if (files.workspace.files.get(uri) !== understood.file) return;
    const found = this.of(understood);
    const { version } = document;
    // Clients drop what belongs to an older version, so an unchanged answer is sent again for a new one.
    const key = `${version} ${JSON.stringify(found)}`;
    if (this.published.get(uri) === key) return;
    this.published.set(uri, key);
    await connection.sendDiagnostics({ uri: files.nameOf(uri), version, diagnostics: found });
  }

  /** The findings of a file that was closed are no longer shown. */
  async withdraw(given: string): Promise<void> {
    const uri = this.needs.files.uriOf(given);
    this.given.delete(uri);
    if (this.published.delete(uri)) await this.needs.connection.sendDiagnostics({ uri: given, diagnostics: [] });
  }

  private report(uri: string, understood: Understood, previous: string | undefined): DocumentDiagnosticReport {
    const items = this.of(understood);
    const key = JSON.stringify(items);
    const before = this.given.get(uri);
    if (before?.key === key) {
      if (previous === before.id) return { kind: 'unchanged', resultId: before.id };
      return { kind: 'full', resultId: before.id, items };
    }
    const id = String(++this.ids);
    this.given.set(uri, { id, key });
    return { kind: 'full', resultId: id, items };
  }

  /** The answer to a client that asks for the findings of one file. */
  async pull(
    given: string,
    previous: string | undefined,
    token: CancellationToken,
  ): Promise<DocumentDiagnosticReport | ResponseError<void>> {
    const { files, log } = this.needs;
    const uri = files.uriOf(given);
    const version = files.open.get(uri)?.version;
    try {
      const understood = await files.ready(uri);
      if (token.isCancellationRequested) return new ResponseError(LSPErrorCodes.RequestCancelled, 'cancelled');
      if (files.open.get(uri)?.version !== version)
        return new ResponseError(LSPErrorCodes.ContentModified, 'the text has changed');
      return understood ? this.report(uri, understood, previous) : { kind: 'full', items: [] };
    } catch (error) {
      log(`findings of ${uri}`, error);
      return { kind: 'full', items: [] };
    }
  }

  /** The findings of every plan of the workspace, open or not; in parts to a client that takes them so. */
  async pullAll(
    params: WorkspaceDiagnosticParams,
    token: CancellationToken,
    pause: () => Promise<void>,
    sendPart: ((items: WorkspaceDocumentDiagnosticReport[]) => void) | undefined,
  ): Promise<WorkspaceDiagnosticReport | ResponseError<void>> {
    const { files, log } = this.needs;
    const previous = new Map(params.previousResultIds.map(({ uri, value }) => [files.uriOf(uri), value]));
    const items: WorkspaceDocumentDiagnosticReport[] = [];
    const uris = [...files.workspace.files.keys()];
    let part: WorkspaceDocumentDiagnosticReport[] = [];
    const flush = () => {
      if (!sendPart) items.push(...part);
      else if (part.length > 0) sendPart(part);
      part = [];
    };
    for (const [i, uri] of uris.entries()) {
      if (i % 20 === 0) {
        flush();
        await pause();
        if (token.isCancellationRequested) return new ResponseError(LSPErrorCodes.RequestCancelled, 'cancelled');
      }
      try {
        const understood = await files.ready(uri);
        if (!understood) continue;
        const version = files.open.get(uri)?.version ?? null;
        part.push({ ...this.report(uri, understood, previous.get(uri)), uri: files.nameOf(uri), version });
      } catch (error) {
        log(`findings of ${uri}`, error);
      }
    }
    flush();
    return { items };
  }

  /** Asks a client that pulls to ask again. */
  refresh(): void {
    if (this.pulls && this.refreshes) this.needs.connection.sendRequest('workspace/diagnostic/refresh').catch(() => {});
  }
}
