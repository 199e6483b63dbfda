/**
 * The panel of the flight view, beside the text: it follows the caret and every edit of the plan that was looked at last.
 * What is drawn comes from the server; the panel draws it, and says in words when there is nothing to draw.
 */
import * as vscode from 'vscode';
import { type BaseLanguageClient, LSPErrorCodes, ResponseError } from 'vscode-languageclient';
import type { FlightViewAnswer, FlightViewTask } from '../server/features/flight-view.ts';
import type { PictureReach } from '../server/plan/picture.ts';
import type { Session } from './session.ts';
import { type FromView, fromView, type ReachAsk, type SelectMessage, type ToView } from './view/protocol.ts';

export const FLIGHT_VIEW = 'legwise.flightView';

/** A drawing that is older than the text for longer than this, ms, is marked as such. */
const PATIENCE_MS = 400;
/** An answer for another text than the present one is asked for again after this, ms. */
const SOON_MS = 20;

/** What a part of the panel can do here, in the extension. */
export interface PanelOfPart {
  /** The plan that is shown; undefined while there is none. */
  readonly document: vscode.TextDocument | undefined;
  /** Sends a body to the part's half in the view. */
  post(body: unknown): void;
}

/** A further part of the panel; `client/view/parts.ts` has the half of it that is seen. */
export interface PanelPart {
  readonly name: string;
  /** The body comes from the view, and has yet to be checked. */
  onMessage(body: unknown, panel: PanelOfPart): void;
}

/** 128 random bits. */
function nonce(): string {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** The plan of a state that the view kept, if it is one that this window looks after. */
function planOf(state: unknown, schemes: readonly string[]): vscode.Uri | undefined {
  const kept = typeof state === 'object' && state !== null ? (state as { uri?: unknown }).uri : undefined;
  if (typeof kept !== 'string') return undefined;
  try {
    const uri = vscode.Uri.parse(kept, true);
    return uri.path.endsWith('.taskplan') && schemes.includes(uri.scheme) ? uri : undefined;
  } catch {
    return undefined; // no URI
  }
}

export class FlightView implements vscode.WebviewPanelSerializer {
  readonly #assets: vscode.Uri;
  readonly #session: Session;
  readonly #parts: ReadonlyMap<string, PanelPart>;
  #panel: vscode.WebviewPanel | undefined;
  /** The view's script runs and has said so. */
  #isReady = false;
  /** What a part sent before that. */
  #unsent: ToView[] = [];
  #document: vscode.TextDocument | undefined;
  #line = 0;
  /** Of the answer whose tasks the view has. */
  #shown: { readonly id: string; readonly tasks: readonly FlightViewTask[] } | undefined;
  #asked = 0;
  #cancel: vscode.CancellationTokenSource | undefined;
  /** The caret moved while an answer was waited for. */
  #hasMoved = false;
  #patience: ReturnType<typeof setTimeout> | undefined;
  #isScheduled = false;
  /** The client that was last listened to: each start of the server makes another. */
  #client: BaseLanguageClient | undefined;

  constructor(extension: vscode.Uri, session: Session, parts: readonly PanelPart[] = []) {
    this.#assets = vscode.Uri.joinPath(extension, 'dist');
    this.#session = session;
    this.#parts = new Map(parts.map((part) => [part.name, part]));
  }

  register(): vscode.Disposable[] {
    return [
      vscode.commands.registerCommand(FLIGHT_VIEW, () => this.open()),
      vscode.window.registerWebviewPanelSerializer(FLIGHT_VIEW, this),
      vscode.window.onDidChangeActiveTextEditor((editor) => this.#follow(editor)),
      vscode.window.onDidChangeTextEditorSelection(({ textEditor }) => {
        if (textEditor === vscode.window.activeTextEditor || textEditor.document === this.#document)
          this.#follow(textEditor);
      }),
      vscode.workspace.onDidChangeTextDocument(({ document, contentChanges }) => {
        if (document === this.#document && contentChanges.length > 0) this.#schedule();
      }),
      vscode.workspace.onDidCloseTextDocument((document) => {
        if (document === this.#document) this.#leave();
      }),
      this.#session.onDidChangeState(() => this.#onServer()),
      new vscode.Disposable(() => this.#panel?.dispose()),
    ];
  }

  /** Opens the panel beside the text, or brings it to the front; it then shows the plan that the caret is in. */
  open(): void {
    const editor =
      vscode.window.activeTextEditor ?? vscode.window.visibleTextEditors.find((one) => this.#isPlan(one.document));
    if (this.#panel) this.#panel.reveal(undefined, true);
    else {
      const place = { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true };
      this.#adopt(vscode.window.createWebviewPanel(FLIGHT_VIEW, 'Flight view', place));
    }
    this.#follow(editor);
  }

  /** Sends a body to a part's half in the view, once the view has been loaded. */
  post(part: string, body: unknown): void {
    const message: ToView = { type: 'part', part, body };
    if (this.#isReady) this.#send(message);
    else if (this.#panel) this.#unsent.push(message);
  }

  /** Brings a panel back after the window was reloaded, with the plan that it showed. */
  async deserializeWebviewPanel(panel: vscode.WebviewPanel, state: unknown): Promise<void> {
    this.#panel?.dispose();
    this.#adopt(panel);
    const uri = planOf(state, this.#session.schemes);
    try {
      if (uri) this.#document = await vscode.workspace.openTextDocument(uri);
    } catch {
      // It is gone; the view says that no plan is open.
    }
    this.#follow(vscode.window.activeTextEditor);
    this.#schedule();
  }

  /** Not every plan is looked after: the old side of a comparison is none to draw. */
  #isPlan({ languageId, uri }: vscode.TextDocument): boolean {
    return languageId === 'taskplan' && this.#session.schemes.includes(uri.scheme);
  }

  #adopt(panel: vscode.WebviewPanel): void {
    this.#panel = panel;
    const { webview } = panel;
    webview.options = { enableScripts: true, localResourceRoots: [this.#assets] };
    webview.onDidReceiveMessage((message: unknown) => {
      const known = fromView(message);
      if (known) this.#onMessage(known);
    });
    panel.onDidDispose(() => {
      if (this.#panel !== panel) return;
      this.#panel = undefined;
      this.#forget();
    });
    panel.onDidChangeViewState(() => {
      // A hidden view is unloaded; it says that it is ready when it is seen again.
      if (!panel.visible) this.#forget();
    });
    this.#forget();
    webview.html = this.#html(webview);
  }

  /** The view holds nothing any more. */
  #forget(): void {
    this.#isReady = false;
    this.#unsent = [];
    this.#shown = undefined;
    this.#stopAsking();
  }

  #html(webview: vscode.Webview): string {
    const asset = (name: string) => webview.asWebviewUri(vscode.Uri.joinPath(this.#assets, name)).toString();
    const once = nonce();
    return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'nonce-${once}'; style-src ${webview.cspSource};">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Flight view</title>
<link rel="stylesheet" href="${asset('view.css')}">
</head>
<body>
<main id="flight"></main>
<section id="what-if"></section>
<script nonce="${once}" src="${asset('view.js')}"></script>
</body>
</html>
`;
  }

  #onMessage(message: FromView): void {
    switch (message.type) {
      case 'ready': {
        this.#isReady = true;
        this.#shown = undefined;
        for (const one of this.#unsent.splice(0)) this.#send(one);
        this.#schedule();
        return;
      }
      case 'select':
        void this.#select(message);
        return;
      case 'reach':
        void this.#reach(message);
        return;
      case 'part': {
        const { part } = message;
        const document = this.#document;
        this.#parts.get(part)?.onMessage(message.body, { document, post: (body) => this.post(part, body) });
      }
    }
  }

  #send(message: ToView): void {
    void this.#panel?.webview.postMessage(message);
  }

  /** Follows an editor, when it holds a plan. */
  #follow(editor: vscode.TextEditor | undefined): void {
    if (!this.#panel) return;
    const before = this.#document;
    if (editor && this.#isPlan(editor.document)) {
      this.#document = editor.document;
      this.#line = editor.selection.active.line;
    }
    // With every keystroke the caret moves as well: what is asked for the new text is not to be asked again for that.
    if (this.#cancel && this.#document === before) this.#hasMoved = true;
    else this.#schedule();
  }

  #leave(): void {
    this.#document = undefined;
    this.#schedule();
  }

  #onServer(): void {
    const { client } = this.#session;
    if (client && client !== this.#client) client.onNotification('legwise/changed', () => this.#schedule());
    this.#client = client;
    this.#schedule();
  }

  /** Asks for what is to be drawn, once the client has told the server of the edit that is being handled now. */
  #schedule(): void {
    if (this.#isScheduled) return;
    this.#isScheduled = true;
    queueMicrotask(() => {
      this.#isScheduled = false;
      if (this.#panel && this.#isReady) void this.#ask();
    });
  }

  /** Whatever was asked before, its answer is no longer wanted. */
  #supersede(): number {
    this.#hasMoved = false;
    this.#cancel?.cancel();
    this.#cancel?.dispose();
    this.#cancel = undefined;
    return ++this.#asked;
  }

  #stopAsking(): void {
    this.#supersede();
    clearTimeout(this.#patience);
    this.#patience = undefined;
  }

  #say(text: string): void {
    this.#stopAsking();
    this.#shown = undefined;
    this.#send({ type: 'words', text });
  }

  /** Asks the server for the pictures of the plan as it is now; an answer to an older question is dropped. */
  async #ask(): Promise<void> {
    const asked = this.#supersede();
    const document = this.#document;
    const { client, state } = this.#session;
    if (!document) return this.#say('No task plan is open. Open one, and its flight is drawn here.');
    if (state === 'starting') return this.#say('The language server is starting.');
    if (!client || state === 'stopped')
      return this.#say(
        'The language server is not running, so nothing can be drawn. The command “Legwise: Restart the language server” starts it.',
      );
    const cancel = new vscode.CancellationTokenSource();
    this.#cancel = cancel;
    // From the first question on that had no answer: a burst of edits does not start it anew.
    this.#patience ??= setTimeout(() => {
      const text = 'The text has changed since this was drawn, and the language server has not answered yet.';
      if (this.#shown) this.#send({ type: 'waiting', text });
      else this.#send({ type: 'words', text: 'Waiting for the language server.' });
    }, PATIENCE_MS);
    const { version } = document;
    try {
      const answer = await client.sendRequest<FlightViewAnswer | null>(
        'legwise/picture',
        {
          textDocument: { uri: client.code2ProtocolConverter.asUri(document.uri) },
          position: { line: this.#line, character: 0 },
          known: this.#shown?.id ?? null,
        },
        cancel.token,
      );
      if (asked !== this.#asked) return;
      // An answer for another text than the present one: its change is on the way to the server, or back.
      if (answer && answer.version !== null && answer.version !== version) return this.#askSoon();
      const hasMoved = this.#hasMoved;
      this.#stopAsking();
      this.#show(document, answer);
      if (hasMoved) this.#schedule();
    } catch (error) {
      if (asked !== this.#asked) return;
      const isOld =
        error instanceof ResponseError &&
        (error.code === LSPErrorCodes.ContentModified || error.code === LSPErrorCodes.RequestCancelled);
      if (isOld) return this.#askSoon();
      this.#say(`The language server did not answer (${error instanceof Error ? error.message : String(error)}).`);
    }
  }

  #askSoon(): void {
    setTimeout(() => this.#schedule(), SOON_MS);
  }

  #show(document: vscode.TextDocument, answer: FlightViewAnswer | null): void {
    const file = document.uri.path.split('/').at(-1) ?? '';
    if (!answer) this.#say(`${file} cannot be read, so nothing can be drawn.`);
    else if (answer.tasks?.length === 0)
      this.#say(`${file} holds no task. A task with a start and a finish is drawn here.`);
    else if (answer.tasks) {
      const { id, tasks, caret } = answer;
      this.#shown = { id, tasks };
      this.#send({ type: 'flight', uri: document.uri.toString(), file, id, tasks, caret });
    } else if (this.#shown?.id === answer.id) {
      this.#send({ type: 'caret', id: answer.id, caret: answer.caret });
    } else {
      this.#schedule(); // the view was loaded afresh meanwhile
    }
  }

  async #reach({ ask, id, task, leg, xM }: ReachAsk): Promise<void> {
    const document = this.#document;
    const { client } = this.#session;
    let reach: PictureReach | null = null;
    try {
      if (client && document && id === this.#shown?.id) {
        const textDocument = { uri: client.code2ProtocolConverter.asUri(document.uri) };
        reach = await client.sendRequest<PictureReach | null>('legwise/reach', { textDocument, task, leg, xM });
      }
    } catch {
      // Not known, then; the text changes, or the server is gone, and that is told elsewhere.
    }
    this.#send({ type: 'reach', ask, reach });
  }

  /** Selects a line of the plan that is shown. */
  async #select({ uri, line, focus }: SelectMessage): Promise<void> {
    const document = this.#document;
    if (!document || document.isClosed || document.uri.toString() !== uri) return;
    const { range, firstNonWhitespaceCharacterIndex: from } = document.lineAt(Math.min(line, document.lineCount - 1));
    const selection = new vscode.Selection(range.start.line, from, range.end.line, range.end.character);
    const seen = vscode.window.visibleTextEditors.find((editor) => editor.document === document);
    if (seen && !focus) {
      seen.selection = selection;
      seen.revealRange(selection, vscode.TextEditorRevealType.InCenterIfOutsideViewport);
      return;
    }
    const viewColumn = seen?.viewColumn ?? this.#columnOf(document);
    await vscode.window.showTextDocument(document, { selection, preserveFocus: !focus, viewColumn });
  }

  /** The column in which a plan is open behind another tab; otherwise one that does not hold the panel. */
  #columnOf(document: vscode.TextDocument): vscode.ViewColumn {
    const uri = document.uri.toString();
    const holds = ({ input }: vscode.Tab) => input instanceof vscode.TabInputText && input.uri.toString() === uri;
    const groups = vscode.window.tabGroups.all;
    const group =
      groups.find(({ tabs }) => tabs.some(holds)) ??
      groups.find(({ viewColumn }) => viewColumn !== this.#panel?.viewColumn);
    return group?.viewColumn ?? vscode.ViewColumn.Beside;
  }
}
