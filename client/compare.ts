/** The open plan against the last commit: what the edits since then mean in the air. */
import * as vscode from 'vscode';
import { askServer, openPlan } from './ask.ts';
import { committedText, repositoryOf } from './git.ts';
import type { Session } from './session.ts';

export const COMPARE_WITH_COMMIT = 'legwise.compareWithCommit';

/** What the server answers: the files whose earlier texts are still wanted, by URI, or the report. */
type Answer = { readonly wanted: readonly string[] } | { readonly markdown: string };

const SCHEME = 'legwise-compare';

export class Compare implements vscode.TextDocumentContentProvider {
  readonly #session: Session;
  readonly #texts = new Map<string, string>();
  readonly #changed = new vscode.EventEmitter<vscode.Uri>();
  readonly onDidChange = this.#changed.event;

  constructor(session: Session) {
    this.#session = session;
  }

  register(): vscode.Disposable[] {
    return [
      this.#changed,
      vscode.workspace.registerTextDocumentContentProvider(SCHEME, this),
      vscode.commands.registerCommand(COMPARE_WITH_COMMIT, () => this.#run()),
    ];
  }

  provideTextDocumentContent(uri: vscode.Uri): string {
    return this.#texts.get(uri.toString()) ?? 'Compare the plan again: this comparison was not kept.';
  }

  async #run(): Promise<void> {
    const document = openPlan(this.#session);
    if (!document) return;
    let markdown: string | undefined;
    try {
      markdown = await this.#compared(document);
    } catch (error) {
      this.#session.output.error(`The last commit could not be read: ${String(error)}`);
      void vscode.window.showErrorMessage('The last commit could not be read; the output of Legwise says why.');
    }
    if (markdown === undefined) return;
    const uri = vscode.Uri.from({
      scheme: SCHEME,
      path: `${document.uri.path} since the last commit.md`,
      query: document.uri.toString(),
    });
    this.#texts.set(uri.toString(), markdown);
    this.#changed.fire(uri);
    try {
      await vscode.commands.executeCommand('markdown.showPreviewToSide', uri);
    } catch {
      // The built-in Markdown extension can be disabled.
      await vscode.window.showTextDocument(await vscode.workspace.openTextDocument(uri), {
        preview: true,
        viewColumn: vscode.ViewColumn.Beside,
      });
    }
  }

  /** The report; undefined when there is none, and then the reader has been told why. */
  async #compared(document: vscode.TextDocument): Promise<string | undefined> {
    const repository = await repositoryOf(document.uri);
    if ('none' in repository) {
      void vscode.window.showInformationMessage(`Nothing to compare with. ${repository.none}`);
      return undefined;
    }
    const commit = repository.state.HEAD?.commit;
    if (!commit) {
      void vscode.window.showInformationMessage('Nothing to compare with: the repository has no commit yet.');
      return undefined;
    }
    const textDocument = { uri: document.uri.toString() };
    const earlier: Record<string, string | null> = {};
    for (;;) {
      const answer = await askServer<Answer | null>(this.#session, 'legwise/compare', { textDocument, earlier });
      if (answer === undefined) return undefined;
      if (answer === null) return 'The plan is not known to the language server.';
      if ('markdown' in answer) return `# Since commit ${commit.slice(0, 8)}\n\n${answer.markdown}`;
      if (answer.wanted.some((uri) => uri in earlier)) throw new Error(`${answer.wanted.join(', ')}: asked for again`);
      for (const uri of answer.wanted) earlier[uri] = await committedText(repository, vscode.Uri.parse(uri));
    }
  }
}
