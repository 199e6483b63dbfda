/** What a server says of its features, apart from them: they are loaded once they are asked for. */
import { CodeActionKind } from 'vscode-languageserver-types';

/** The kinds of action that are offered, for the capabilities of a server. */
export const CODE_ACTION_KINDS: readonly CodeActionKind[] = [
  CodeActionKind.QuickFix,
  CodeActionKind.RefactorRewrite,
  CodeActionKind.RefactorMove,
  CodeActionKind.RefactorExtract,
  CodeActionKind.SourceOrganizeImports,
  CodeActionKind.SourceFixAll,
];

/** Characters behind which a client asks by itself: behind a word, at the start of a path, name or runway end. */
export const COMPLETION_TRIGGERS: readonly string[] = [' ', '"', '/'];

/** After which characters {@link formatOnType} has something to say; the first, and the others. */
export const ON_TYPE_TRIGGERS = ['\n', ' '] as const;
