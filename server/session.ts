/**
 * A language-server session over any connection: it keeps the documents, brings in what they use, and answers through
 * the features. What it needs of its surroundings is handed in, so that it is the same in Node and in a web worker.
 */
import {
  type CancellationToken,
  CodeLensRefreshRequest,
  type Connection,
  type Diagnostic,
  ErrorCodes,
  type InitializeParams,
  type InitializeResult,
  LSPErrorCodes,
  ResponseError,
  TextDocumentSyncKind,
} from 'vscode-languageserver';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { URI, Utils } from 'vscode-uri';
import { codeLenses } from './features/code-lens.ts';
import { diagnostics } from './features/diagnostics.ts';
import { hover } from './features/hover.ts';
import { type Understood, understand } from './plan/understand.ts';
import {
  createWorkspace,
  forgetFile,
  scopeOf,
  setFile,
  setUnreadable,
  type Unreadable,
  type Workspace,
} from './plan/workspace.ts';
import { RULES, ruleOf } from './rules/index.ts';
import { pageOf } from './rules/page.ts';
import type { Severity } from './rules/rule.ts';
import { check, type Overrides } from './rules/run.ts';

/** What a session needs and cannot have by itself. */
export interface Surroundings {
  /** Reads a plan, and none that lies outside the folders once links are followed. */
  read(uri: string, roots: readonly string[]): Promise<{ readonly text: string } | { readonly why: Unreadable }>;
  /** Runs a function once what is being handled now is done. */
  later(run: () => void): void;
  readonly version: string;
}

interface Settings {
  readonly codeLens: boolean;
  readonly overrides: Overrides;
}

const DEFAULTS: Settings = { codeLens: true, overrides: new Map() };

const SEVERITIES: ReadonlySet<unknown> = new Set(['error', 'warning', 'info', 'hint', 'off']);

function settingsOf(value: unknown): Settings {
  const given = (value ?? {}) as { codeLens?: { enable?: unknown }; severity?: Record<string, unknown> };
  const overrides = new Map<string, Severity | 'off'>();
  for (const [code, level] of Object.entries(given.severity ?? {})) {
    if (ruleOf(code) && SEVERITIES.has(level)) overrides.set(code, level as Severity | 'off');
  }
  return { codeLens: given.codeLens?.enable !== false, overrides };
}

/** Starts answering on a connection; the caller has yet to listen. */
export function startSession(connection: Connection, surroundings: Surroundings): void {
  const documents = new Map<string, TextDocument>();
  const reading = new Map<string, Promise<void>>();
  const dirty = new Set<string>();
  const published = new Map<string, string>();
  let workspace: Workspace = createWorkspace([]);
  let folders: string[] = [];
  let settings = DEFAULTS;
  let canPullSettings = false;
  let canRefreshLenses = false;
  let uriScheme = 'vscode';
  let isScheduled = false;
  let shutDown = false;

  const normal = (uri: string): string => URI.parse(uri).toString();
  /** What the client calls a document, by its normal URI: answers name it as the client does. */
  const named = new Map<string, string>();

  const log = (what: string, error: unknown): void => {
    connection.console.error(`${what}: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
  };

  /** The folders whose files may be used: the client's, or without any the folder above each open plan's own. */
  function updateRoots(): void {
    const roots =
      folders.length > 0
        ? folders
        : [...documents.keys()].map((uri) => Utils.joinPath(Utils.dirname(URI.parse(uri)), '..').toString());
    const wanted = [...new Set(roots)];
    if (wanted.length === workspace.roots.length && wanted.every((root, i) => root === workspace.roots[i])) return;
    workspace.roots = wanted;
    // A file that was outside may be inside now.
    for (const [uri, why] of workspace.unreadable) if (why === 'outside') workspace.unreadable.delete(uri);
    for (const uri of documents.keys()) dirty.add(uri);
  }

  function read(uri: string): Promise<void> {
    const known = reading.get(uri);
    if (known) return known;
    const run = surroundings
      .read(uri, workspace.roots)
      .then(
        (result) => {
          // What is open in the editor counts, not what lies on the disk.
          if (documents.has(uri)) return;
          if ('text' in result) setFile(workspace, uri, result.text);
          else setUnreadable(workspace, uri, result.why);
        },
        (error: unknown) => {
          log(`reading ${uri}`, error);
          if (!documents.has(uri)) setUnreadable(workspace, uri, 'denied');
        },
      )
      .finally(() => reading.delete(uri));
    reading.set(uri, run);
    return run;
  }

  /** The file understood with all that it uses; undefined when it was closed meanwhile. */
  async function ready(uri: string): Promise<Understood | undefined> {
    for (;;) {
      const file = workspace.files.get(uri);
      if (!file) return undefined;
      const { wanted } = scopeOf(workspace, file);
      if (wanted.length === 0) return understand(workspace, file);
      await Promise.all(wanted.map(read));
    }
  }

  const pageLink = (code: string): string => `${uriScheme}://legwise.legwise/explain/${code}`;

  async function publish(uri: string): Promise<void> {
    const understood = await ready(uri);
    const document = documents.get(uri);
    if (!understood || !document || shutDown) return;
    // An edit came in while files were read: that edit's own turn publishes.
    if (document.getText() !== understood.file.syntax.text && !understood.file.notText) return;
    const findings = check(workspace, understood, settings.overrides, (code, error) => log(`the check ${code}`, error));
    const found: Diagnostic[] = diagnostics(workspace, findings, pageLink);
    const key = JSON.stringify(found);
    const { version } = document;
    // Clients drop what belongs to an older version, so an unchanged answer is sent again for a new one.
    if (published.get(uri) === `${version} ${key}`) return;
    published.set(uri, `${version} ${key}`);
    await connection.sendDiagnostics({ uri: named.get(uri) ?? uri, version, diagnostics: found });
  }

  /** Every open document that an edit of `uri` may change. */
  function markUsers(uri: string): void {
    for (const open of documents.keys()) {
      const file = workspace.files.get(open);
      if (open === uri || (file && scopeOf(workspace, file).files.some((used) => used.uri === uri))) dirty.add(open);
      else if (file && scopeOf(workspace, file).wanted.includes(uri)) dirty.add(open);
    }
  }

  function schedule(): void {
    if (isScheduled) return;
    isScheduled = true;
    surroundings.later(() => {
      isScheduled = false;
      const now = [...dirty];
      dirty.clear();
      if (now.length > 1) refreshLenses();
      for (const uri of now) publish(uri).catch((error: unknown) => log(`findings of ${uri}`, error));
    });
  }

  /** Lenses of other open plans may have changed with this one; clients ask again only for the text that was edited. */
  function refreshLenses(): void {
    if (canRefreshLenses) connection.sendRequest(CodeLensRefreshRequest.type).catch(() => {});
  }

  function refreshAll(): void {
    for (const uri of documents.keys()) dirty.add(uri);
    schedule();
    refreshLenses();
  }

  /** Every request goes through here: cancelled, stale and failed are told apart, and a failure costs that answer alone. */
  async function safely<T>(
    what: string,
    uri: string,
    token: CancellationToken,
    otherwise: T,
    answer: (understood: Understood) => T,
  ): Promise<T | ResponseError<void>> {
    const version = documents.get(uri)?.version;
    try {
      const understood = await ready(uri);
      if (token.isCancellationRequested) return new ResponseError(LSPErrorCodes.RequestCancelled, 'cancelled');
      if (documents.get(uri)?.version !== version)
        return new ResponseError(LSPErrorCodes.ContentModified, 'the text has changed');
      return understood ? answer(understood) : otherwise;
    } catch (error) {
      log(what, error);
      return otherwise;
    }
  }

  connection.onInitialize((params: InitializeParams): InitializeResult => {
    const root = params.rootUri ?? undefined;
    folders = (params.workspaceFolders ?? (root ? [{ uri: root, name: '' }] : [])).map(({ uri }) =>
      URI.parse(uri).toString(),
    );
    workspace = createWorkspace(folders);
    canPullSettings = params.capabilities.workspace?.configuration === true;
    canRefreshLenses = params.capabilities.workspace?.codeLens?.refreshSupport === true;
    const options = params.initializationOptions as { uriScheme?: unknown } | undefined;
    if (typeof options?.uriScheme === 'string' && /^[a-z][a-z0-9+.-]*$/i.test(options.uriScheme))
      uriScheme = options.uriScheme;
    return {
      serverInfo: { name: 'legwise', version: surroundings.version },
      capabilities: {
        positionEncoding: 'utf-16',
        textDocumentSync: { openClose: true, change: TextDocumentSyncKind.Incremental },
        hoverProvider: true,
        codeLensProvider: { resolveProvider: false },
        workspace: { workspaceFolders: { supported: true, changeNotifications: true } },
      },
    };
  });

  async function pullSettings(): Promise<void> {
    if (!canPullSettings) return;
    settings = settingsOf(await connection.workspace.getConfiguration('legwise'));
    refreshAll();
  }

  connection.onInitialized(() => {
    pullSettings().catch((error: unknown) => log('settings', error));
  });

  connection.onDidChangeConfiguration(({ settings: pushed }) => {
    if (canPullSettings) {
      pullSettings().catch((error: unknown) => log('settings', error));
      return;
    }
    settings = settingsOf((pushed as { legwise?: unknown } | undefined)?.legwise);
    refreshAll();
  });

  connection.onNotification(
    'workspace/didChangeWorkspaceFolders',
    ({ event }: { event: { added: { uri: string }[]; removed: { uri: string }[] } }) => {
      const removed = new Set(event.removed.map(({ uri }) => URI.parse(uri).toString()));
      folders = [
        ...folders.filter((uri) => !removed.has(uri)),
        ...event.added.map(({ uri }) => URI.parse(uri).toString()),
      ];
      updateRoots();
      schedule();
    },
  );

  connection.onDidOpenTextDocument(({ textDocument: { uri: given, languageId, version, text } }) => {
    const uri = normal(given);
    named.set(uri, given);
    documents.set(uri, TextDocument.create(uri, languageId, version, text));
    setFile(workspace, uri, text);
    updateRoots();
    markUsers(uri);
    schedule();
  });

  connection.onDidChangeTextDocument(({ textDocument: { uri: given, version }, contentChanges }) => {
    const uri = normal(given);
    const document = documents.get(uri);
    if (!document) return;
    const updated = TextDocument.update(document, contentChanges, version);
    documents.set(uri, updated);
    setFile(workspace, uri, updated.getText());
    markUsers(uri);
    schedule();
  });

  connection.onDidCloseTextDocument(({ textDocument: { uri: given } }) => {
    const uri = normal(given);
    documents.delete(uri);
    published.delete(uri);
    dirty.delete(uri);
    named.delete(uri);
    // What others see of it is again what lies on the disk.
    markUsers(uri);
    forgetFile(workspace, uri);
    connection.sendDiagnostics({ uri: given, diagnostics: [] }).catch(() => {});
    schedule();
  });

  connection.onDidChangeWatchedFiles(({ changes }) => {
    for (const { uri: given } of changes) {
      const uri = normal(given);
      if (documents.has(uri)) continue;
      markUsers(uri);
      // A file that was missing may be there now, whoever wanted it.
      if (workspace.unreadable.has(uri)) for (const open of documents.keys()) dirty.add(open);
      forgetFile(workspace, uri);
    }
    schedule();
    refreshLenses();
  });

  connection.onHover(({ textDocument, position }, token) =>
    safely('hover', normal(textDocument.uri), token, null, (understood) => hover(understood, position) ?? null),
  );

  connection.onCodeLens(({ textDocument }, token) =>
    safely('lenses', normal(textDocument.uri), token, [], (understood) =>
      settings.codeLens ? codeLenses(workspace, understood) : [],
    ),
  );

  connection.onRequest('legwise/explain', ({ code }: { code?: unknown }) => {
    const rule = typeof code === 'string' ? ruleOf(code) : undefined;
    if (!rule)
      return new ResponseError(
        ErrorCodes.InvalidParams,
        `no finding has the code ${String(code)}; there are ${RULES.length}`,
      );
    return { markdown: pageOf(rule) };
  });

  connection.onShutdown(() => {
    shutDown = true;
  });
}
