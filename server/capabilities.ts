/** What a session says that it can do. */
import type { ServerCapabilities } from 'vscode-languageserver';
import { CODE_ACTION_KINDS, COMPLETION_TRIGGERS, ON_TYPE_TRIGGERS } from './features/advertised.ts';
import { SEMANTIC_TOKENS_LEGEND } from './features/semantic-tokens.ts';

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
