/**
 * A language-server session over any connection. It keeps the files, answers through the features, and minds the
 * manners of the protocol. What it needs of its surroundings is handed in, so that it is the same in Node and in a web
 * worker.
 */
import type { InitializeParams, InitializeResult, ServerCapabilities } from 'vscode-languageserver';
import type { MakePdf } from './answering.ts';
import { FEATURE_CAPABILITIES, FILE_OPERATIONS } from './capabilities.ts';
import { encodingFor } from './encoding.ts';
import type { PageLink } from './features/diagnostics.ts';
import { type Disk, SessionFiles } from './files-of-session.ts';
import { SessionFindings } from './findings-of-session.ts';
import { registerAtOnce } from './handlers-at-once.ts';
import { type Features, registerOnDemand } from './on-demand.ts';
import type { Understood } from './plan/understand.ts';
import { INCREMENTAL, type SessionConnection } from './protocol.ts';
import type { Finding } from './rules/rule.ts';
import { check } from './rules/run.ts';
import { DEFAULT_SETTINGS, settingsOf } from './settings.ts';

/** What a session needs and cannot have by itself. */
export interface Surroundings extends Disk {
  /** Runs a function once what is being handled now is done. */
  later(run: () => void): void;
  /** Loads what is not needed to show a plan and its findings. */
  features(): Promise<Features>;
  /** Makes a PDF file of sheets, where that can be done. */
  readonly pdf?: MakePdf;
  readonly version: string;
}

/** Starts answering on a connection; the caller has yet to listen. */
export function startSession(connection: SessionConnection, surroundings: Surroundings): void {
  const log = (what: string, error: unknown): void => {
    connection.console.error(`${what}: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
  };
  const files = new SessionFiles(surroundings, log);
  let encoding = encodingFor(undefined, () => '');
  let settings = DEFAULT_SETTINGS;
  let client: InitializeParams['capabilities'] = {};
  let uriScheme: string | undefined;
  let again: string | undefined;
  let whatIfCommand: string | undefined;
  /** A client that draws plans asks again when it is told that something else than the text it edits has changed. */
  let tellsChanges = false;
  /** Our extension opens pages by links of the editor's own scheme; other clients could not follow one. */
  const pageLink = (): PageLink | undefined =>
    uriScheme === undefined ? undefined : (code) => `${uriScheme}://legwise.legwise/explain/${code}`;
  const checked = (understood: Understood): readonly Finding[] =>
    check(
      files.workspace,
      understood,
      settings.overrides,
      (code, error) => log(`the check ${code}`, error),
      settings.rules,
    );
  const findings = new SessionFindings({
    connection,
    files,
    encoding: () => encoding,
    check: checked,
    pageLink,
    log,
  });

  const pause = (): Promise<void> => new Promise((resolve) => surroundings.later(resolve));

  // Findings and lenses follow what changed, once what is being handled now is done: a burst of edits costs one answer.
  const dirty = new Set<string>();
  let isScheduled = false;
  files.onChange = (changed) => {
    for (const uri of changed) dirty.add(uri);
    if (isScheduled || dirty.size === 0) return;
    isScheduled = true;
    surroundings.later(() => {
      isScheduled = false;
      const now = [...dirty];
      dirty.clear();
      // A client asks again by itself for the text that was edited, and for no other.
      if (now.length > 1) refresh();
      if (findings.pulls) return;
      for (const uri of now) findings.publish(uri).catch((error: unknown) => log(`findings of ${uri}`, error));
    });
  };

  function refresh(): void {
    findings.refresh();
    const { codeLens, inlayHint, semanticTokens } = client.workspace ?? {};
    if (codeLens?.refreshSupport) connection.sendRequest('workspace/codeLens/refresh').catch(() => {});
    if (inlayHint?.refreshSupport) connection.sendRequest('workspace/inlayHint/refresh').catch(() => {});
    if (semanticTokens?.refreshSupport) connection.sendRequest('workspace/semanticTokens/refresh').catch(() => {});
    if (tellsChanges) connection.sendNotification('legwise/changed').catch(() => {});
  }

  function refreshAll(): void {
    files.onChange([...files.open.keys()]);
    refresh();
  }

  const handlerNeeds = {
    connection,
    files,
    encoding: () => encoding,
    settings: () => settings,
    client: () => client,
    check: checked,
    pageLink,
    completeAgain: () => (again === undefined ? {} : { again }),
    whatIfCommand: () => whatIfCommand,
    pdf: surroundings.pdf,
    pause,
    log,
  };
  registerAtOnce(handlerNeeds);
  registerOnDemand(connection, handlerNeeds, surroundings.features);

  connection.onInitialize((params: InitializeParams): InitializeResult => {
    client = params.capabilities ?? {};
    encoding = encodingFor(client.general?.positionEncodings, (uri, line) => files.lineOf(uri, line));
    const folders = params.workspaceFolders?.map(({ uri }) => uri) ?? [params.rootUri];
    files.setFolders(folders.filter((uri): uri is string => typeof uri === 'string' && uri !== ''));
    const options = params.initializationOptions as
      | { uriScheme?: unknown; completeAgain?: unknown; tellChanges?: unknown; whatIf?: unknown }
      | undefined;
    if (typeof options?.uriScheme === 'string' && /^[a-z][a-z0-9+.-]*$/i.test(options.uriScheme))
      uriScheme = options.uriScheme;
    if (typeof options?.completeAgain === 'string') again = options.completeAgain;
    if (typeof options?.whatIf === 'string') whatIfCommand = options.whatIf;
    tellsChanges = options?.tellChanges === true;
    findings.pulls = client.textDocument?.diagnostic !== undefined;
    findings.refreshes = client.workspace?.diagnostics?.refreshSupport === true;
    const capabilities: ServerCapabilities = {
      positionEncoding: encoding.kind,
      textDocumentSync: { openClose: true, change: INCREMENTAL },
      ...FEATURE_CAPABILITIES,
      workspace: {
        workspaceFolders: { supported: true, changeNotifications: true },
        fileOperations: FILE_OPERATIONS,
      },
    };
    if (findings.pulls) {
      capabilities.diagnosticProvider = {
        identifier: 'legwise',
        interFileDependencies: true,
        workspaceDiagnostics: true,
      };
    }
    return { serverInfo: { name: 'legwise', version: surroundings.version }, capabilities };
  });

  async function pullSettings(): Promise<void> {
    settings = settingsOf(await connection.workspace.getConfiguration('legwise'));
    refreshAll();
  }

  /** Reads every plan of the folders, so that names and findings of files that nobody has open are known. */
  async function readAll(): Promise<void> {
    let progress: Awaited<ReturnType<typeof connection.window.createWorkDoneProgress>> | undefined;
    let isRead = false;
    // A client that refuses to show it, or does not answer, has its plans read all the same.
    if (client.window?.workDoneProgress)
      connection.window.createWorkDoneProgress().then(
        (granted) => {
          if (isRead) return;
          progress = granted;
          progress.begin('Legwise', 0, 'reading plans', false);
        },
        () => {},
      );
    try {
      await files.readAll((done, of) =>
        progress?.report(Math.floor((100 * done) / Math.max(1, of)), `${done} of ${of} plans read`),
      );
    } finally {
      isRead = true;
      progress?.done();
    }
    refreshAll();
  }

  let isReadAgain = false;
  /** Has them read, once what is being read is: of folders that come by the hundred each would have all listed anew. */
  function readFolders(): void {
    if (isReadAgain) return;
    isReadAgain = true;
    files.allRead = files.allRead
      .then(() => {
        isReadAgain = false;
        return readAll();
      })
      .catch((error: unknown) => log('reading the folders', error));
  }

  files.onFolder = readFolders;

  connection.onInitialized(() => {
    if (client.workspace?.configuration) pullSettings().catch((error: unknown) => log('settings', error));
    if (client.workspace?.didChangeWatchedFiles?.dynamicRegistration) {
      // A folder that comes or goes matches no pattern of files, and what lies in it is told by it alone.
      const watchers = [
        { globPattern: '**/*.{taskplan,hgt}', kind: 2 },
        { globPattern: '**', kind: 1 | 4 },
      ];
      const method = 'workspace/didChangeWatchedFiles';
      connection
        .sendRequest('client/registerCapability', {
          registrations: [{ id: method, method, registerOptions: { watchers } }],
        })
        .catch((error: unknown) => log('watching files', error));
    }
    readFolders();
  });

  connection.onDidChangeConfiguration(({ settings: pushed }) => {
    if (client.workspace?.configuration) {
      pullSettings().catch((error: unknown) => log('settings', error));
      return;
    }
    settings = settingsOf((pushed as { legwise?: unknown } | undefined)?.legwise);
    refreshAll();
  });

  connection.onNotification(
    'workspace/didChangeWorkspaceFolders',
    ({ event }: { event: { added: { uri: string }[]; removed: { uri: string }[] } }) => {
      files.changeFolders(
        event.added.map(({ uri }) => uri),
        event.removed.map(({ uri }) => uri),
      );
      readFolders();
    },
  );

  connection.onDidOpenTextDocument(({ textDocument: { uri, version, text } }) => files.didOpen(uri, version, text));
  connection.onDidChangeTextDocument(({ textDocument: { uri, version }, contentChanges }) =>
    files.didChange(uri, version, contentChanges, encoding),
  );
  connection.onDidCloseTextDocument(({ textDocument: { uri } }) => {
    files.didClose(uri);
    findings.withdraw(uri).catch((error: unknown) => log(`findings of ${uri}`, error));
  });
  connection.onDidChangeWatchedFiles(({ changes }) => {
    if (files.didChangeOnDisk(changes)) refresh();
  });

  connection.languages.diagnostics.on(
    ({ textDocument, previousResultId }, token) => findings.pull(textDocument.uri, previousResultId, token) as never,
  );
  connection.languages.diagnostics.onWorkspace(
    (params, token, _progress, parts) =>
      findings.pullAll(params, token, pause, parts && ((items) => parts.report({ items }))) as never,
  );

  // Our extension asks this now and then: a server that does not answer hangs, and nothing else would tell.
  connection.onRequest('legwise/alive', () => true);

  connection.onShutdown(() => {
    findings.stopped = true;
  });
}
