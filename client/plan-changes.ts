/** When what a plan comes to may have changed: a plan depends on others, so that any of them counts. */
import * as vscode from 'vscode';
import type { Session } from './session.ts';

/** Calls `later` once what may have changed has been still for `pauseMs`. The disposables end it. */
export function onPlansChange(session: Session, pauseMs: number, later: () => void): vscode.Disposable[] {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const schedule = () => {
    clearTimeout(timer);
    timer = setTimeout(later, pauseMs);
  };
  const isPlan = ({ languageId }: vscode.TextDocument) => languageId === 'taskplan';
  const files = vscode.workspace.createFileSystemWatcher('**/*.{taskplan,hgt}');
  return [
    vscode.workspace.onDidChangeTextDocument(({ document }) => isPlan(document) && schedule()),
    vscode.workspace.onDidCloseTextDocument((document) => isPlan(document) && schedule()),
    vscode.languages.onDidChangeDiagnostics(({ uris }) => {
      if (uris.some(({ path }) => path.endsWith('.taskplan'))) schedule();
    }),
    files,
    files.onDidChange(schedule),
    files.onDidCreate(schedule),
    files.onDidDelete(schedule),
    session.onDidChangeState(schedule),
    { dispose: () => clearTimeout(timer) },
  ];
}
