import * as vscode from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';

const SCHEME = 'legwise-page';

/** The pages of the rules: what a finding means and what to do. They come from the server, so that they fit its version. */
export class Pages implements vscode.TextDocumentContentProvider, vscode.UriHandler {
  readonly #client: () => BaseLanguageClient | undefined;

  constructor(client: () => BaseLanguageClient | undefined) {
    this.#client = client;
  }

  register(): vscode.Disposable[] {
    return [
      vscode.workspace.registerTextDocumentContentProvider(SCHEME, this),
      vscode.window.registerUriHandler(this),
      vscode.commands.registerCommand('legwise.explain', async (code?: unknown) => {
        const asked = typeof code === 'string' && /^[\w-]+$/.test(code) ? code : await pickCode();
        if (asked) await show(asked);
      }),
    ];
  }

  async provideTextDocumentContent(uri: vscode.Uri, token: vscode.CancellationToken): Promise<string> {
    const code = uri.path.replace(/^\//, '').replace(/\.md$/, '');
    const client = this.#client();
    if (!client) return 'The Legwise language server is not running, and the page comes from it.';
    const page = await client.sendRequest<{ markdown: string } | null>('legwise/explain', { code }, token);
    return page?.markdown ?? `There is no finding with the code \`${code}\`.`;
  }

  /** `vscode://legwise.legwise/explain/below-reserve`, where a finding's code leads. */
  async handleUri(uri: vscode.Uri): Promise<void> {
    const code = /^\/explain\/([\w-]+)$/.exec(uri.path)?.[1];
    if (code) await show(code);
  }
}

async function show(code: string): Promise<void> {
  const uri = vscode.Uri.from({ scheme: SCHEME, path: `/${code}.md` });
  try {
    await vscode.commands.executeCommand('markdown.showPreview', uri);
  } catch {
    // The built-in Markdown extension can be disabled.
    await vscode.window.showTextDocument(await vscode.workspace.openTextDocument(uri), { preview: true });
  }
}

/** Asks which of the present findings is meant; those nearest the cursor come first. */
async function pickCode(): Promise<string | undefined> {
  const editor = vscode.window.activeTextEditor;
  const here = editor?.document.uri.toString();
  const line = editor?.selection.active.line ?? 0;
  const found = vscode.languages
    .getDiagnostics()
    .filter(([uri]) => uri.path.endsWith('.taskplan'))
    .flatMap(([uri, diagnostics]) =>
      diagnostics.map((diagnostic) => ({
        label: codeOf(diagnostic),
        detail: diagnostic.message,
        distance: uri.toString() === here ? Math.abs(diagnostic.range.start.line - line) : Number.MAX_SAFE_INTEGER,
      })),
    )
    .filter(({ label }) => label !== '')
    .sort((a, b) => a.distance - b.distance);
  const items = found.filter(({ label }, i) => found.findIndex((other) => other.label === label) === i);
  if (items.length === 0) {
    void vscode.window.showInformationMessage('There are no findings to explain.');
    return undefined;
  }
  return (await vscode.window.showQuickPick(items, { placeHolder: 'Which finding?', matchOnDetail: true }))?.label;
}

function codeOf({ code }: vscode.Diagnostic): string {
  return String((typeof code === 'object' ? code.value : code) ?? '');
}
