/** The features that a session loads once they are asked for: which request goes to which. Wiring only. */
import type {
  CancellationToken,
  CodeActionParams,
  CompletionItem,
  CompletionParams,
  DocumentFormattingParams,
  DocumentOnTypeFormattingParams,
  DocumentRangeFormattingParams,
  InlayHintParams,
  ReferenceParams,
  RenameFilesParams,
  RenameParams,
  SelectionRangeParams,
  TextDocumentPositionParams,
  WorkspaceEdit,
  WorkspaceSymbolParams,
} from 'vscode-languageserver';
import { answering, type FileParams, type HandlerNeeds } from './answering.ts';
import { codeActions } from './features/code-actions.ts';
import { completion, resolveCompletion } from './features/completion.ts';
import { asLocations, definition } from './features/definition.ts';
import { documentHighlights } from './features/document-highlight.ts';
import { willRenameFiles } from './features/file-rename.ts';
import { type FlightViewAnswer, flightViewCaret, flightViewReach, flightViewTask } from './features/flight-view.ts';
import { formatDocument, formatOnType, formatRange } from './features/formatting.ts';
import { hover } from './features/hover.ts';
import { hintOptions, inlayHints } from './features/inlay-hints.ts';
import { linkedEditing } from './features/linked-editing.ts';
import { preparePathRename, renamePath } from './features/path-rename.ts';
import { references } from './features/references.ts';
import { prepareRename, type Refused, rename } from './features/rename.ts';
import { selectionRanges } from './features/selection-ranges.ts';
import { typeDefinition } from './features/type-definition.ts';
import { type WhatIfParams, whatIfAnswer } from './features/what-if.ts';
import { whatIfActions } from './features/what-if-actions.ts';
import { workspaceSymbols } from './features/workspace-symbols.ts';
import type { Understood } from './plan/understand.ts';
import type { Workspace } from './plan/workspace.ts';
import { ErrorCodes, LSPErrorCodes, ResponseError } from './protocol.ts';
import { registerRequests } from './requests.ts';
import { RULES, ruleOf } from './rules/index.ts';
import { pageOf } from './rules/page.ts';
import { check as checkPlan } from './rules/run.ts';

type Handler = (params: unknown, token: CancellationToken) => unknown;

function isRefused(value: object): value is Refused {
  return 'refused' in value;
}

/** Registers every feature. */
export function registerFeatures(needs: HandlerNeeds): void {
  const { connection, files, encoding, settings, client, check, pageLink, completeAgain, pause, log } = needs;
  const { workspace } = files;

  const { answer, safely, versionOf } = answering(needs);

  /**
   * What changes or lists places in files that nobody has open waits until all are read: a part of them would look like
   * all. A text that changed meanwhile is another, and a request may be cancelled while it waits.
   */
  const onRequest = ((method: string, handler: Handler) =>
    connection.onRequest(method, async (params: unknown, token: CancellationToken) => {
      const uri = (params as Partial<FileParams> | null)?.textDocument?.uri;
      const version = () => (typeof uri === 'string' ? versionOf(files.uriOf(uri)) : undefined);
      const before = version();
      let waiting: { dispose(): void } | undefined;
      const cancelled = new Promise<void>((resolve) => {
        waiting = token.onCancellationRequested(() => resolve());
      });
      await Promise.race([files.allRead, cancelled]);
      waiting?.dispose();
      if (token.isCancellationRequested) return new ResponseError(LSPErrorCodes.RequestCancelled, 'cancelled');
      if (version() !== before) return new ResponseError(LSPErrorCodes.ContentModified, 'the text has changed');
      return handler(params, token);
    })) as typeof connection.onRequest;
  const onceAllRead = answering({ ...needs, connection: { onRequest } });

  /** An edit bound to the versions that it was made from, for clients that mind them. */
  function bound(edit: WorkspaceEdit): WorkspaceEdit {
    const changes = client().workspace?.workspaceEdit;
    const versioned = (uri: string) => ({ uri: files.nameOf(uri), version: versionOf(uri) ?? null });
    if (edit.documentChanges) {
      return {
        ...edit,
        documentChanges: edit.documentChanges.map((change) => {
          if ('textDocument' in change) return { ...change, textDocument: versioned(change.textDocument.uri) };
          return change.kind === 'rename' ? { ...change, oldUri: files.nameOf(change.oldUri) } : change;
        }),
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

  answer<InlayHintParams, unknown>('textDocument/inlayHint', [], (u, { range }) =>
    inlayHints(workspace, u, range, hintOptions(settings().inlayHints)),
  );

  answer<CompletionParams, unknown>('textDocument/completion', null, (u, { position }) => {
    const { completionItem, completionList } = client().textDocument?.completion ?? {};
    const told = completionList?.itemDefaults ?? [];
    return completion(workspace, u, position, {
      snippets: completionItem?.snippetSupport === true,
      defaults: told.includes('editRange') && told.includes('data'),
      detailLater: completionItem?.labelDetailsSupport === true,
      ...completeAgain(),
    });
  });
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
  onceAllRead.answer<ReferenceParams, unknown>('textDocument/references', [], (u, { position, context }) =>
    references(workspace, u, position, context?.includeDeclaration === true),
  );
  answer<TextDocumentPositionParams, unknown>('textDocument/documentHighlight', [], (u, { position }) =>
    documentHighlights(u, position),
  );
  answer<SelectionRangeParams, unknown>('textDocument/selectionRange', [], (u, { positions }) =>
    selectionRanges(u.file.syntax, positions),
  );
  onRequest('workspace/symbol', ({ query }: WorkspaceSymbolParams, token: CancellationToken) =>
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
  onceAllRead.answer<RenameParams, unknown>('textDocument/rename', null, (u, { position, newName }) => {
    const { documentChanges, resourceOperations } = client().workspace?.workspaceEdit ?? {};
    const renamesFiles = documentChanges === true && resourceOperations?.includes('rename') === true;
    const edit = renamePath(workspace, u, position, newName, renamesFiles) ?? rename(workspace, u, position, newName);
    if (isRefused(edit)) throw refusal(edit);
    return bound(edit);
  });
  answer<TextDocumentPositionParams, unknown>(
    'textDocument/linkedEditingRange',
    null,
    (u, { position }) => linkedEditing(u, position) ?? null,
  );
  onRequest('workspace/willRenameFiles', ({ files: renames }: RenameFilesParams) =>
    safely(
      'workspace/willRenameFiles',
      null,
      async () =>
        encoding().toClient(
          bound(
            willRenameFiles(
              workspace,
              renames.map(({ oldUri, newUri }) => ({ oldUri: files.uriOf(oldUri), newUri: files.uriOf(newUri) })),
            ),
          ),
          '',
        ) as never,
    ),
  );

  onceAllRead.answer<CodeActionParams, unknown>('textDocument/codeAction', [], (u, { range, context }) => {
    const createFiles = client().workspace?.workspaceEdit?.resourceOperations?.includes('create') === true;
    const link = pageLink();
    const actions = codeActions(workspace, u, range, check(u), context?.only, {
      ...(link ? { pageLink: link } : {}),
      createFiles,
      rules: settings().rules,
    });
    actions.push(...whatIfActions(workspace, u, range, context?.only));
    return actions.map((action) => (action.edit ? { ...action, edit: bound(action.edit) } : action));
  });
  answer<DocumentFormattingParams, unknown>('textDocument/formatting', [], (u) => formatDocument(u));
  answer<DocumentRangeFormattingParams, unknown>('textDocument/rangeFormatting', [], (u, { range }) =>
    formatRange(u, range),
  );
  answer<DocumentOnTypeFormattingParams, unknown>('textDocument/onTypeFormatting', [], (u, { position, ch }) =>
    formatOnType(u, position, ch),
  );

  // The tasks given last, so that they are not sent again when only the caret moved.
  let ids = 0;
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
