/** The features that an editor asks for whenever it shows a plan. Wiring only. */
import type {
  DocumentSymbol,
  SemanticTokensDeltaParams,
  SemanticTokensRangeParams,
  SymbolInformation,
} from 'vscode-languageserver';
import { answering, type FileParams, type HandlerNeeds } from './answering.ts';
import { codeLenses } from './features/code-lens.ts';
import { documentLinks } from './features/document-links.ts';
import { documentSymbols } from './features/document-symbols.ts';
import { foldingRanges } from './features/folding.ts';
import { deltaOf, tokensOf } from './features/semantic-tokens.ts';
import { whatIfLenses } from './features/what-if-lens.ts';
import type { Understood } from './plan/understand.ts';

/** An outline for clients that know no trees. */
function flat(symbols: readonly DocumentSymbol[], uri: string, containerName?: string): SymbolInformation[] {
  return symbols.flatMap(({ name, kind, range, children }) => [
    { name, kind, location: { uri, range }, ...(containerName === undefined ? {} : { containerName }) },
    ...flat(children ?? [], uri, name),
  ]);
}

/** Registers them. */
export function registerAtOnce(needs: HandlerNeeds): void {
  const { files, encoding, settings, client, whatIfCommand } = needs;
  const { workspace } = files;
  const { answer } = answering(needs);

  answer<FileParams, unknown>('textDocument/documentSymbol', [], (u) => {
    const symbols = documentSymbols(u);
    const inTrees = client().textDocument?.documentSymbol?.hierarchicalDocumentSymbolSupport === true;
    return inTrees ? symbols : flat(symbols, files.nameOf(u.file.uri));
  });
  answer<FileParams, unknown>('textDocument/documentLink', [], (u) => documentLinks(workspace, u));
  answer<FileParams, unknown>('textDocument/foldingRange', [], (u) => foldingRanges(u.file.syntax));

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

  answer<FileParams, unknown>('textDocument/codeLens', [], (u) => {
    if (!settings().codeLens) return [];
    const command = whatIfCommand();
    const more = command === undefined ? [] : whatIfLenses(workspace, u, command, files.nameOf(u.file.uri));
    // The short one first: the other is cut off at the window's edge.
    return [...more, ...codeLenses(workspace, u)];
  });
}
