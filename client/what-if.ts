/** What-if, in the extension: the command that opens it, and the panel's questions and its writing, passed to the server. */
import * as vscode from 'vscode';
import { LSPErrorCodes, ResponseError } from 'vscode-languageclient';
import type { WhatIfAnswer } from '../server/features/what-if.ts';
import type { FlightView, PanelOfPart, PanelPart } from './flight-view.ts';
import type { Session } from './session.ts';
import { fromWhatIf, type ToWhatIf, type WhatIfAsk, type WhatIfWrite } from './view/what-if-protocol.ts';

export const WHAT_IF = 'legwise.whatIf';

/** The version of the text is behind the server's, or before it. */
const CHANGED = 'The plan has just changed. Look at the numbers again, then write them.';

const isLine = (value: unknown): value is number => Number.isSafeInteger(value) && (value as number) >= 0;

export class WhatIf implements PanelPart {
  readonly name = 'what-if';
  readonly #session: Session;
  #cancel: vscode.CancellationTokenSource | undefined;

  constructor(session: Session) {
    this.#session = session;
  }

  register(view: FlightView): vscode.Disposable[] {
    return [
      vscode.commands.registerCommand(WHAT_IF, async (uri?: unknown, line?: unknown) => {
        await this.#show(uri, line);
        view.open();
        const open: ToWhatIf = { type: 'open' };
        view.post(this.name, open);
      }),
    ];
  }

  /** The plan of a lens, with the caret on its task: what the panel shows follows the caret. */
  async #show(uri: unknown, line: unknown): Promise<void> {
    if (typeof uri !== 'string' || !isLine(line)) return;
    const shown = vscode.window.visibleTextEditors.find(({ document }) => document.uri.toString() === uri);
    // Not a file that nobody has open: a lens stands in an editor.
    const known = shown?.document ?? vscode.workspace.textDocuments.find((one) => one.uri.toString() === uri);
    if (known?.languageId !== 'taskplan') return;
    const at = new vscode.Position(Math.min(line, known.lineCount - 1), 0);
    const editor = await vscode.window.showTextDocument(
      known,
      shown?.viewColumn === undefined ? {} : { viewColumn: shown.viewColumn },
    );
    editor.selection = new vscode.Selection(at, at);
  }

  onMessage(body: unknown, panel: PanelOfPart): void {
    const message = fromWhatIf(body);
    const { document } = panel;
    if (!message || !document || document.uri.toString() !== message.uri) return;
    if (message.type === 'ask') void this.#ask(message, document, panel);
    else void this.#write(message, document, panel);
  }

  #params(document: vscode.TextDocument, { task, changes, shared }: WhatIfAsk | WhatIfWrite): object {
    const uri = this.#session.client?.code2ProtocolConverter.asUri(document.uri);
    return { textDocument: { uri }, task, changes, shared };
  }

  async #ask(message: WhatIfAsk, document: vscode.TextDocument, panel: PanelOfPart): Promise<void> {
    const { ask, answers } = message;
    const post = (to: ToWhatIf) => panel.post(to);
    this.#cancel?.cancel();
    this.#cancel?.dispose();
    const cancel = new vscode.CancellationTokenSource();
    this.#cancel = cancel;
    const { client } = this.#session;
    if (!client) return post({ type: 'failed', ask, why: 'The language server is not running.' });
    try {
      const params = { ...this.#params(document, message), answers, flight: true };
      const answer = await client.sendRequest<WhatIfAnswer | null>('legwise/whatIf', params, cancel.token);
      if (answer) post({ type: 'answer', ask, answer });
      else post({ type: 'failed', ask, why: 'The plan cannot be read.' });
    } catch (error) {
      // The next question is on its way: after a change of the text as well.
      const isOld =
        error instanceof ResponseError &&
        (error.code === LSPErrorCodes.ContentModified || error.code === LSPErrorCodes.RequestCancelled);
      post({ type: 'failed', ask, why: isOld ? '' : error instanceof Error ? error.message : String(error) });
    }
  }

  /** Writes the changes as one edit, which one undo takes back. */
  async #write(message: WhatIfWrite, document: vscode.TextDocument, panel: PanelOfPart): Promise<void> {
    const said = (done: boolean, text: string) => {
      const to: ToWhatIf = { type: 'written', done, text };
      panel.post(to);
    };
    const { client } = this.#session;
    if (!client) return said(false, 'The language server is not running.');
    const { version } = document;
    try {
      const params = { ...this.#params(document, message), write: true };
      const answer = await client.sendRequest<(WhatIfAnswer & { version: number | null }) | null>(
        'legwise/whatIf',
        params,
      );
      if (!answer?.edit) return said(false, 'There is nothing to write.');
      const edit = await client.protocol2CodeConverter.asWorkspaceEdit(answer.edit);
      if (document.version !== version || answer.version !== version) return said(false, CHANGED);
      const done = await vscode.workspace.applyEdit(edit);
      said(done, done ? 'Written into the plan. Undo takes it back.' : 'The editor refused the edit.');
    } catch (error) {
      said(
        false,
        error instanceof ResponseError && error.code === LSPErrorCodes.ContentModified ? CHANGED : String(error),
      );
    }
  }
}
