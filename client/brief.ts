/**
 * The sheet that is printed and carried, as a preview beside the text. The page runs no script: what can be done with
 * it are links to our own commands.
 */
import * as vscode from 'vscode';
import { askServer, openPlan } from './ask.ts';
import { briefPage } from './brief-page.ts';
import { changedFiles, repositoryOf } from './git.ts';
import { onPlansChange } from './plan-changes.ts';
import type { Session } from './session.ts';
import { Uncommitted } from './uncommitted.ts';

export const BRIEF = 'legwise.brief';
export const SAVE_HTML = 'legwise.briefSaveHtml';
export const SAVE_PDF = 'legwise.briefSavePdf';
export const PRINT = 'legwise.briefPrint';

/** Edits come in bursts, and paper is read at leisure. */
const PAUSE_MS = 150;

/** A time as a sheet shows it: `2026-06-13 14:05+02:00`. */
function timeText(now: Date): string {
  const two = (n: number) => String(Math.abs(n)).padStart(2, '0');
  const ahead = -now.getTimezoneOffset();
  const zone = ahead === 0 ? 'Z' : `${ahead < 0 ? '-' : '+'}${two(Math.trunc(ahead / 60))}:${two(ahead % 60)}`;
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())} ${two(now.getHours())}:${two(now.getMinutes())}${zone}`;
}

function nameOf({ uri }: vscode.TextDocument): string {
  return uri.path.slice(uri.path.lastIndexOf('/') + 1).replace(/\.taskplan$/, '');
}

export class Brief {
  readonly #session: Session;
  /** Where a page lies while it is printed. */
  readonly #storage: vscode.Uri;
  #panel: vscode.WebviewPanel | undefined;
  #document: vscode.TextDocument | undefined;
  #asked = 0;
  readonly #uncommitted = new Uncommitted();

  constructor(session: Session, storage: vscode.Uri) {
    this.#session = session;
    this.#storage = storage;
  }

  register(): vscode.Disposable[] {
    return [
      vscode.commands.registerCommand(BRIEF, () => this.#open()),
      vscode.commands.registerCommand(SAVE_HTML, () => this.#saveHtml()),
      vscode.commands.registerCommand(SAVE_PDF, () => this.#savePdf()),
      vscode.commands.registerCommand(PRINT, () => this.#print()),
      ...onPlansChange(this.#session, PAUSE_MS, () => void this.#update()),
      { dispose: () => this.#panel?.dispose() },
    ];
  }

  async #open(): Promise<void> {
    const document = openPlan(this.#session);
    if (!document) return;
    this.#document = document;
    if (this.#panel) this.#panel.reveal(undefined, true);
    else {
      const place = { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true };
      const panel = vscode.window.createWebviewPanel(BRIEF, 'Briefing sheet', place, {
        enableScripts: false,
        enableCommandUris: [SAVE_HTML, SAVE_PDF, PRINT],
        enableFindWidget: true,
        localResourceRoots: [],
      });
      panel.onDidDispose(() => {
        if (this.#panel === panel) this.#panel = undefined;
      });
      this.#panel = panel;
    }
    this.#panel.title = `Sheet of ${nameOf(document)}`;
    await this.#update();
  }

  /** The sheet of a plan; undefined when there is none, and why. */
  async #sheet(document: vscode.TextDocument): Promise<string | { readonly none: string }> {
    const { client, state } = this.#session;
    if (document.isClosed) return { none: 'The plan has been closed.' };
    if (!client || state !== 'running')
      return { none: 'The Legwise language server is not running, and the sheet comes from it.' };
    try {
      const params = await this.#paramsOf(document);
      const answer = await client.sendRequest<{ html: string } | null>('legwise/brief', params);
      return answer?.html ?? { none: 'The plan is not known to the language server.' };
    } catch (error) {
      this.#session.output.error(`The sheet could not be made: ${String(error)}`);
      return { none: 'The sheet could not be made; the output of Legwise says why.' };
    }
  }

  async #update(): Promise<void> {
    const asked = ++this.#asked;
    const document = this.#document;
    if (!this.#panel || !document) return;
    const sheet = await this.#sheet(document);
    // The panel may be gone, or another answer be on its way.
    if (this.#panel && asked === this.#asked) this.#panel.webview.html = briefPage(sheet);
  }

  #shownOrOpen(): vscode.TextDocument | undefined {
    return this.#panel && this.#document ? this.#document : openPlan(this.#session);
  }

  /** The plan whose sheet is open, or else the one that is edited, with its sheet as it is now. */
  async #current(): Promise<{ document: vscode.TextDocument; html: string } | undefined> {
    const document = this.#shownOrOpen();
    if (!document) return undefined;
    const sheet = await this.#sheet(document);
    if (typeof sheet === 'string') return { document, html: sheet };
    void vscode.window.showErrorMessage(sheet.none);
    return undefined;
  }

  async #saveHtml(): Promise<void> {
    const current = await this.#current();
    if (current) await save(current.document, 'html', 'HTML page', new TextEncoder().encode(current.html));
  }

  async #savePdf(): Promise<void> {
    const document = this.#shownOrOpen();
    if (!document) return;
    const answer = await askServer<{ base64: string } | { none: string } | null>(
      this.#session,
      'legwise/briefPdf',
      await this.#paramsOf(document),
    );
    if (answer === undefined) return;
    if (answer && 'base64' in answer) {
      await save(
        document,
        'pdf',
        'PDF file',
        Uint8Array.from(atob(answer.base64), (one) => one.charCodeAt(0)),
      );
      return;
    }
    void vscode.window.showInformationMessage(answer?.none ?? 'The plan is not known to the language server.');
  }

  /** What a sheet is asked for with. */
  async #paramsOf(document: vscode.TextDocument) {
    const now = new Date();
    return {
      textDocument: { uri: document.uri.toString() },
      time: timeText(now),
      madeMs: now.getTime(),
      revision: await this.#revisionOf(document),
    };
  }

  /** The last commit, and whether the plan or anything that it uses differs from it; null where there is none. */
  async #revisionOf({ uri }: vscode.TextDocument): Promise<{ id: string; uncommitted: boolean } | null> {
    try {
      const repository = await repositoryOf(uri);
      if ('none' in repository) return null;
      const commit = repository.state.HEAD?.commit;
      if (!commit) return null;
      const params = { textDocument: { uri: uri.toString() } };
      const used = await this.#session.client?.sendRequest<{ uris: string[] } | null>('legwise/used', params);
      const files = (used?.uris ?? [uri.toString()]).map((one) => vscode.Uri.parse(one).fsPath);
      const unsaved = vscode.workspace.textDocuments.flatMap((one) => (one.isDirty ? [one.uri.fsPath] : []));
      const holds = (file: string) => repository.getObjectDetails(commit, file);
      const committed = { commit, changed: changedFiles(repository), holds };
      return { id: commit.slice(0, 10), uncommitted: await this.#uncommitted.any(committed, files, unsaved) };
    } catch {
      return null; // a sheet without a revision says so itself
    }
  }

  /** A web view cannot print: the page is handed to the browser of the system. */
  async #print(): Promise<void> {
    const current = await this.#current();
    if (!current) return;
    const page = vscode.Uri.joinPath(this.#storage, 'print', `${nameOf(current.document)}.html`);
    const isHere = vscode.env.uiKind === vscode.UIKind.Desktop && vscode.env.remoteName === undefined;
    if (isHere && page.scheme === 'file') {
      await vscode.workspace.fs.writeFile(page, new TextEncoder().encode(current.html));
      if (await vscode.env.openExternal(page)) return;
    }
    const saveIt = 'Save as HTML';
    const how = 'The sheet is printed from a browser: save it as HTML, open that there, and print it.';
    if ((await vscode.window.showInformationMessage(how, saveIt)) === saveIt) await this.#saveHtml();
  }
}

/** Asks where to, and writes. */
export async function save(
  document: vscode.TextDocument,
  ending: string,
  what: string,
  bytes: Uint8Array,
): Promise<void> {
  const folder = document.uri.scheme === 'untitled' ? vscode.workspace.workspaceFolders?.[0]?.uri : undefined;
  const beside = folder ?? vscode.Uri.joinPath(document.uri, '..');
  const uri = await vscode.window.showSaveDialog({
    defaultUri: vscode.Uri.joinPath(beside, `${nameOf(document)}.${ending}`),
    filters: { [what]: [ending] },
    title: 'Save the briefing sheet',
  });
  if (!uri) return;
  try {
    await vscode.workspace.fs.writeFile(uri, bytes);
    void vscode.window.showInformationMessage(
      `The sheet is saved as ${uri.path.slice(uri.path.lastIndexOf('/') + 1)}.`,
    );
  } catch (error) {
    void vscode.window.showErrorMessage(
      `The sheet was not saved: ${error instanceof Error ? error.message : String(error)}`,
    );
  }
}
