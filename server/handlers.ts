/** The features that a session offers: which request goes to which, and what is advertised for it. Wiring only. */
import {
  type CancellationToken,
  type CodeActionParams,
  type CompletionItem,
  type CompletionParams,
  type Connection,
  type DocumentFormattingParams,
  type DocumentOnTypeFormattingParams,
  type DocumentRangeFormattingParams,
  type DocumentSymbol,
  ErrorCodes,
  type GenericRequestHandler,
  type InitializeParams,
  type InlayHintParams,
  LSPErrorCodes,
  type ReferenceParams,
  type RenameFilesParams,
  type RenameParams,
  ResponseError,
  type SelectionRangeParams,
  type SemanticTokensDeltaParams,
  type SemanticTokensRangeParams,
  type ServerCapabilities,
  type SymbolInformation,
  type TextDocumentPositionParams,
  type WorkspaceEdit,
  type WorkspaceSymbolParams,
} from 'vscode-languageserver';
import type { Encoding } from './encoding.ts';
import { CODE_ACTION_KINDS, codeActions } from './features/code-actions.ts';
import { codeLenses } from './features/code-lens.ts';
import { COMPLETION_TRIGGERS, completion, resolveCompletion } from './features/completion.ts';
import { asLocations, definition } from './features/definition.ts';
import type { PageLink } from './features/diagnostics.ts';
import { documentHighlights } from './features/document-highlight.ts';
import { documentLinks } from './features/document-links.ts';
import { documentSymbols } from './features/document-symbols.ts';
import { willRenameFiles } from './features/file-rename.ts';
import { type FlightViewAnswer, flightViewCaret, flightViewReach, flightViewTask } from './features/flight-view.ts';
import { foldingRanges } from './features/folding.ts';
import { formatDocument, formatOnType, formatRange, ON_TYPE_TRIGGERS } from './features/formatting.ts';
import { hover } from './features/hover.ts';
import { hintOptions, inlayHints } from './features/inlay-hints.ts';
import { linkedEditing } from './features/linked-editing.ts';
import { preparePathRename, renamePath } from './features/path-rename.ts';
import { references } from './features/references.ts';
import { prepareRename, type Refused, rename } from './features/rename.ts';
import { selectionRanges } from './features/selection-ranges.ts';
import { deltaOf, SEMANTIC_TOKENS_LEGEND, tokensOf } from './features/semantic-tokens.ts';
import { typeDefinition } from './features/type-definition.ts';
import { type WhatIfParams, whatIfAnswer } from './features/what-if.ts';
import { workspaceSymbols } from './features/workspace-symbols.ts';
import { normalUri, type SessionFiles } from './files-of-session.ts';
import type { Understood } from './plan/understand.ts';
import type { Workspace } from './plan/workspace.ts';
import { registerRequests } from './requests.ts';
import { RULES, ruleOf } from './rules/index.ts';
import { pageOf } from './rules/page.ts';
import type { Finding } from './rules/rule.ts';
import { check as checkPlan } from './rules/run.ts';
import type { Settings } from './settings.ts';

export interface HandlerNeeds {
  readonly connection: Connection;
  readonly files: SessionFiles;
  readonly encoding: () => Encoding;
  readonly settings: () => Settings;
  readonly client: () => InitializeParams['capabilities'];
  readonly check: (understood: Understood) => readonly Finding[];
  readonly pageLink: () => PageLink | undefined;
  /** A command of the client that opens completion again; none of a client that names none. */
  readonly completeAgain: () => { readonly again?: string };
  readonly pause: () => Promise<void>;
  readonly log: (what: string, error: unknown) => void;
}

/** What the features are advertised with. */
export const FEATURE_CAPABILITIES: ServerCapabilities = {
  hoverProvider: true,
  completionProvider: {
    triggerCharacters: [...COMPLETION_TRIGGERS],
    resolveProvider: true,
    completionItem: { labelDetailsSupport: true },
  },
  definitionProvider: true,
  typeDefinitionProvider: true,
  referencesProvider: true,
  documentHighlightProvider: true,
  documentSymbolProvider: true,
  workspaceSymbolProvider: true,
  documentLinkProvider: { resolveProvider: false },
  foldingRangeProvider: true,
  selectionRangeProvider: true,
  renameProvider: { prepareProvider: true },
  linkedEditingRangeProvider: true,
  semanticTokensProvider: { legend: SEMANTIC_TOKENS_LEGEND, full: { delta: true }, range: true },
  inlayHintProvider: { resolveProvider: false },
  codeActionProvider: { codeActionKinds: [...CODE_ACTION_KINDS], resolveProvider: false },
  codeLensProvider: { resolveProvider: false },
  documentFormattingProvider: true,
  documentRangeFormattingProvider: true,
  documentOnTypeFormattingProvider: {
    firstTriggerCharacter: ON_TYPE_TRIGGERS[0],
    moreTriggerCharacter: ON_TYPE_TRIGGERS.slice(1),
  },
};

// Of any scheme: a repository opened in a browser lies under another than `file`.
const PLANS = { pattern: { glob: '**/*.taskplan', matches: 'file' as const } };
const FOLDERS = { pattern: { glob: '**', matches: 'folder' as const } };

/** What is advertised for files that a client renames. */
export const FILE_OPERATIONS = { willRename: { filters: [PLANS, FOLDERS] } };

/** A request about a file. */
interface FileParams {
  readonly textDocument: { readonly uri: string };
}

function isRefused(value: object): value is Refused {
  return 'refused' in value;
}

/** An outline for clients that know no trees. */
function flat(symbols: readonly DocumentSymbol[], uri: string, containerName?: string): SymbolInformation[] {
  return symbols.flatMap(({ name, kind, range, children }) => [
    { name, kind, location: { uri, range }, ...(containerName === undefined ? {} : { containerName }) },
    ...flat(children ?? [], uri, name),
  ]);
}

/** Registers every feature. */
export function registerFeatures(needs: HandlerNeeds): void {
  const { connection, files, encoding, settings, client, check, pageLink, completeAgain, pause, log } = needs;
  const { workspace } = files;

  /** A version of the text that an answer is about: none of a file that is not open. */
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

  /**
   * Answers a request about a file. Cancelled, stale and failed are told apart; a failure costs that answer alone, and
   * is logged with its cause.
   */
  function answer<P extends FileParams, R>(
    method: string,
    otherwise: R,
    make: (understood: Understood, params: P) => R,
  ): void {
    const handler = (given: P, token: CancellationToken) =>
      safely<R>(method, otherwise, async () => {
        const uri = normalUri(given.textDocument.uri);
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

  /** An edit bound to the versions that it was made from, for clients that mind them. */
  function bound(edit: WorkspaceEdit): WorkspaceEdit {
    const changes = client().workspace?.workspaceEdit;
    const versioned = (uri: string) => ({ uri: files.nameOf(uri), version: versionOf(uri) ?? null });
    if (edit.documentChanges) {
      return {
        ...edit,
        documentChanges: edit.documentChanges.map((change) =>
          'textDocument' in change ? { ...change, textDocument: versioned(change.textDocument.uri) } : change,
        ),
      };
    }
    const given = Object.entries(edit.changes ?? {});
    if (!changes?.documentChanges)
      return { changes: Object.fromEntries(given.map(([uri, edits]) => [files.nameOf(uri), edits])) };
    return { documentChanges: given.map(([uri, edits]) => ({ textDocument: versioned(uri), edits })) };
  }

  const links = (kind: 'definition' | 'typeDefinition', found: ReturnType<typeof definition>) =>
    client().textDocument?.[kind]?.linkSupport ? found : asLocations(found);

  answer<TextDocumentPositionParams, unknown>(
    'textDocument/hover',
    null,
    (u, { position }) => hover(u, position) ?? null,
  );

  answer<CompletionParams, unknown>('textDocument/completion', null, (u, { position }) =>
    completion(workspace, u, position, {
      snippets: client().textDocument?.completion?.completionItem?.snippetSupport === true,
      ...completeAgain(),
    }),
  );
  connection.onRequest('completionItem/resolve', (item: CompletionItem) => {
    try {
      return resolveCompletion(workspace, item);
    } catch (error) {
      log('completionItem/resolve', error);
      return item;
    }
  });

  answer<TextDocumentPositionParams, unknown>('textDocument/definition', [], (u, { position }) =>
    links('definition', definition(workspace, u, position)),
  );
  answer<TextDocumentPositionParams, unknown>('textDocument/typeDefinition', [], (u, { position }) =>
    links('typeDefinition', typeDefinition(u, position)),
  );
  answer<ReferenceParams, unknown>('textDocument/references', [], (u, { position, context }) =>
    references(workspace, u, position, context?.includeDeclaration === true),
  );
  answer<TextDocumentPositionParams, unknown>('textDocument/documentHighlight', [], (u, { position }) =>
    documentHighlights(u, position),
  );
  answer<FileParams, unknown>('textDocument/documentSymbol', [], (u) => {
    const symbols = documentSymbols(u);
    const inTrees = client().textDocument?.documentSymbol?.hierarchicalDocumentSymbolSupport === true;
    return inTrees ? symbols : flat(symbols, files.nameOf(u.file.uri));
  });
  answer<FileParams, unknown>('textDocument/documentLink', [], (u) => documentLinks(workspace, u));
  answer<FileParams, unknown>('textDocument/foldingRange', [], (u) => foldingRanges(u.file.syntax));
  answer<SelectionRangeParams, unknown>('textDocument/selectionRange', [], (u, { positions }) =>
    selectionRanges(u.file.syntax, positions),
  );
  connection.onRequest('workspace/symbol', ({ query }: WorkspaceSymbolParams, token: CancellationToken) =>
    safely('workspace/symbol', [], async () => {
      await pause();
      if (token.isCancellationRequested) return new ResponseError(LSPErrorCodes.RequestCancelled, 'cancelled') as never;
      return encoding().toClient(workspaceSymbols(workspace, query), '') as never[];
    }),
  );

  const refusal = ({ refused }: Refused): ResponseError<void> =>
    new ResponseError(LSPErrorCodes.RequestFailed, refused);
  answer<TextDocumentPositionParams, unknown>('textDocument/prepareRename', null, (u, { position }) => {
    const prepared = preparePathRename(workspace, u, position) ?? prepareRename(workspace, u, position);
    if (isRefused(prepared)) throw refusal(prepared);
    return prepared;
  });
  answer<RenameParams, unknown>('textDocument/rename', null, (u, { position, newName }) => {
    const edit = renamePath(workspace, u, position, newName) ?? rename(workspace, u, position, newName);
    if (isRefused(edit)) throw refusal(edit);
    return bound(edit);
  });
  answer<TextDocumentPositionParams, unknown>(
    'textDocument/linkedEditingRange',
    null,
    (u, { position }) => linkedEditing(u, position) ?? null,
  );
  connection.onRequest('workspace/willRenameFiles', ({ files: renames }: RenameFilesParams) =>
    safely(
      'workspace/willRenameFiles',
      null,
      async () => encoding().toClient(bound(willRenameFiles(workspace, renames)), '') as never,
    ),
  );

  // Tokens given last, so that a client can be told what changed alone.
  const given = new Map<string, { id: string; data: number[] }>();
  let ids = 0;
  const full = (u: Understood): { resultId: string; data: number[] } => {
    const { uri } = u.file;
    const data = encoding().tokensToClient(tokensOf(u), uri);
    const id = String(++ids);
    given.set(uri, { id, data });
    return { resultId: id, data };
  };
  answer<FileParams, unknown>('textDocument/semanticTokens/full', { data: [] }, full);
  answer<SemanticTokensDeltaParams, unknown>(
    'textDocument/semanticTokens/full/delta',
    { data: [] },
    (u, { previousResultId }) => {
      const before = given.get(u.file.uri);
      const { resultId, data } = full(u);
      return before?.id === previousResultId ? { resultId, edits: deltaOf(before.data, data) } : { resultId, data };
    },
  );
  answer<SemanticTokensRangeParams, unknown>('textDocument/semanticTokens/range', { data: [] }, (u, { range }) => ({
    data: encoding().tokensToClient(tokensOf(u, range), u.file.uri),
  }));

  answer<InlayHintParams, unknown>('textDocument/inlayHint', [], (u, { range }) =>
    inlayHints(workspace, u, range, hintOptions(settings().inlayHints)),
  );
  answer<CodeActionParams, unknown>('textDocument/codeAction', [], (u, { range, context }) => {
    const createFiles = client().workspace?.workspaceEdit?.resourceOperations?.includes('create') === true;
    const link = pageLink();
    const actions = codeActions(workspace, u, range, check(u), context?.only, {
      ...(link ? { pageLink: link } : {}),
      createFiles,
      rules: settings().rules,
    });
    return actions.map((action) => (action.edit ? { ...action, edit: bound(action.edit) } : action));
  });
  answer<FileParams, unknown>('textDocument/codeLens', [], (u) =>
    settings().codeLens ? codeLenses(workspace, u) : [],
  );

  answer<DocumentFormattingParams, unknown>('textDocument/formatting', [], (u) => formatDocument(u));
  answer<DocumentRangeFormattingParams, unknown>('textDocument/rangeFormatting', [], (u, { range }) =>
    formatRange(u, range),
  );
  answer<DocumentOnTypeFormattingParams, unknown>('textDocument/onTypeFormatting', [], (u, { position, ch }) =>
    formatOnType(u, position, ch),
  );

  // The tasks given last, so that they are not sent again when only the caret moved.
  let drawn: { readonly id: string; readonly key: string } | undefined;
  answer<FileParams & { position?: { line?: unknown }; known?: unknown }, FlightViewAnswer | null>(
    'legwise/picture',
    null,
    (u, { position, known }) => {
      const found = check(u);
      const tasks = u.tasks.map((task) => flightViewTask(workspace, u, task, found));
      const key = JSON.stringify([u.file.uri, tasks]);
      if (drawn?.key !== key) drawn = { id: String(++ids), key };
      const { id } = drawn;
      const line = typeof position?.line === 'number' ? position.line : 0;
      const caret = flightViewCaret(u, tasks, line);
      return { version: versionOf(u.file.uri) ?? null, id, tasks: known === id ? null : tasks, caret };
    },
  );
  answer<FileParams & { task?: unknown; leg?: unknown; xM?: unknown }, unknown>(
    'legwise/reach',
    null,
    (u, { task, leg, xM }) => flightViewReach(u, task, leg, xM),
  );

  // A trial lies in a workspace of its own, with the same settings.
  const checkAny = (other: Workspace, u: Understood) =>
    checkPlan(other, u, settings().overrides, (code, error) => log(`the check ${code}`, error), settings().rules);
  answer<WhatIfParams, unknown>('legwise/whatIf', null, (u, params) => {
    const made = whatIfAnswer(workspace, u, params, checkAny);
    if ('why' in made) throw new ResponseError(ErrorCodes.InvalidParams, made.why);
    const { worked: _, ...answered } = made;
    const { edit } = answered;
    return { ...answered, version: versionOf(u.file.uri) ?? null, edit: edit && bound(edit) };
  });

  connection.onRequest('legwise/explain', ({ code }: { code?: unknown }) => {
    const rule = typeof code === 'string' ? ruleOf(code) : undefined;
    if (!rule)
      return new ResponseError(
        ErrorCodes.InvalidParams,
        `no finding has the code ${String(code)}; there are ${RULES.length}`,
      );
    return { markdown: pageOf(rule) };
  });

  registerRequests(needs);
}
