/** The least margin of the plan in the active editor, among the editor's language status. */
import * as vscode from 'vscode';
import type { WorstMargin } from '../server/features/worst-margin.ts';
import { onPlansChange } from './plan-changes.ts';
import type { Session } from './session.ts';

/** Edits come in bursts; the status is read at leisure. */
const PAUSE_MS = 200;

const SEVERITIES = {
  error: vscode.LanguageStatusSeverity.Error,
  warning: vscode.LanguageStatusSeverity.Warning,
  info: vscode.LanguageStatusSeverity.Information,
};

export class MarginStatus {
  readonly #session: Session;
  #item: vscode.LanguageStatusItem | undefined;
  #asked = 0;

  constructor(session: Session) {
    this.#session = session;
  }

  register(): vscode.Disposable[] {
    void this.#update();
    return [
      ...onPlansChange(this.#session, PAUSE_MS, () => void this.#update()),
      vscode.window.onDidChangeActiveTextEditor(() => void this.#update()),
      { dispose: () => this.#clear() },
    ];
  }

  #clear(): void {
    this.#asked++;
    this.#item?.dispose();
    this.#item = undefined;
  }

  async #update(): Promise<void> {
    const asked = ++this.#asked;
    const document = vscode.window.activeTextEditor?.document;
    const { client, schemes, state } = this.#session;
    // Without a server there is no number, and an old one must not stay.
    if (document?.languageId !== 'taskplan' || !schemes.includes(document.uri.scheme) || !client || state !== 'running')
      return this.#show(undefined, undefined);
    let worst: WorstMargin | null = null;
    try {
      worst = await client.sendRequest('legwise/worstMargin', { textDocument: { uri: document.uri.toString() } });
    } catch (error) {
      if (asked === this.#asked) this.#session.output.warn(`The least margin is not known: ${String(error)}`);
    }
    if (asked === this.#asked) this.#show(document, worst ?? undefined);
  }

  #show(document: vscode.TextDocument | undefined, worst: WorstMargin | undefined): void {
    if (!document || !worst) {
      this.#item?.dispose();
      this.#item = undefined;
      return;
    }
    this.#item ??= vscode.languages.createLanguageStatusItem('legwise.margin', { language: 'taskplan' });
    const { start } = worst.range;
    const at = new vscode.Range(start.line, start.character, start.line, start.character);
    this.#item.name = 'Least margin';
    this.#item.text = worst.text;
    this.#item.severity = SEVERITIES[worst.severity];
    this.#item.command = {
      command: 'vscode.open',
      title: 'Go to the leg',
      arguments: [document.uri, { selection: at }],
    };
  }
}
