/** Asking the server on behalf of a command, with words for the reader when there is no answer. */
import * as vscode from 'vscode';
import type { Session } from './session.ts';

const OUTPUT = 'Show output';

/** The server's answer; undefined when there is none, and then the reader has been told why. */
export async function askServer<R>(session: Session, method: string, params: object): Promise<R | undefined> {
  const { client } = session;
  if (!client) {
    void vscode.window.showErrorMessage('The Legwise language server is not running, and this comes from it.');
    return undefined;
  }
  try {
    return await client.sendRequest<R>(method, params);
  } catch (error) {
    session.output.error(`${method}: ${String(error)}`);
    void vscode.window
      .showErrorMessage('The Legwise language server could not answer; the output says why.', OUTPUT)
      .then((choice) => choice === OUTPUT && session.output.show());
    return undefined;
  }
}

/** The plan that is edited; without one the reader is told that a command is about the open plan. */
export function openPlan(session: Session): vscode.TextDocument | undefined {
  const document = vscode.window.activeTextEditor?.document;
  if (document?.languageId === 'taskplan' && session.schemes.includes(document.uri.scheme)) return document;
  void vscode.window.showInformationMessage('Open a task plan first: this is about the plan in the active editor.');
  return undefined;
}

/** The folder that new files go to; asked for where there are several. Without one the reader is told. */
export async function workspaceFolder(): Promise<vscode.Uri | undefined> {
  const folders = vscode.workspace.workspaceFolders ?? [];
  if (folders.length === 1) return folders[0]?.uri;
  if (folders.length > 1) return (await vscode.window.showWorkspaceFolderPick())?.uri;
  const open = 'Open folder';
  void vscode.window
    .showInformationMessage("Open the folder first that the club's files lie in, or an empty one.", open)
    .then((choice) => choice === open && vscode.commands.executeCommand('vscode.openFolder'));
  return undefined;
}

export async function exists(uri: vscode.Uri): Promise<boolean> {
  try {
    await vscode.workspace.fs.stat(uri);
    return true;
  } catch (error) {
    if (error instanceof vscode.FileSystemError && error.code === 'FileNotFound') return false;
    throw error;
  }
}

/** Creates files with their texts, all or none; never over a file that is there. */
export async function createFiles(files: readonly { uri: vscode.Uri; text: string }[]): Promise<boolean> {
  const edit = new vscode.WorkspaceEdit();
  for (const { uri, text } of files)
    edit.createFile(uri, { overwrite: false, ignoreIfExists: false, contents: new TextEncoder().encode(text) });
  return vscode.workspace.applyEdit(edit);
}
