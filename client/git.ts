/** The built-in Git extension, as far as it is used: it alone runs git, and only in a trusted workspace. */
import * as vscode from 'vscode';

interface Change {
  readonly uri: vscode.Uri;
}

export interface Repository {
  readonly rootUri: vscode.Uri;
  readonly state: {
    readonly HEAD?: { readonly commit?: string; readonly name?: string } | undefined;
    readonly indexChanges: readonly Change[];
    readonly workingTreeChanges: readonly Change[];
    readonly mergeChanges: readonly Change[];
    readonly untrackedChanges?: readonly Change[];
  };
  /** Rejects with the code `UnknownPath` for a file that the commit does not hold. */
  getObjectDetails(treeish: string, path: string): Promise<unknown>;
  show(ref: string, path: string): Promise<string>;
}

interface GitApi {
  readonly state: 'uninitialized' | 'initialized';
  readonly onDidChangeState: vscode.Event<GitApi['state']>;
  getRepository(uri: vscode.Uri): Repository | null;
  openRepository?(root: vscode.Uri): Promise<Repository | null>;
}

interface GitExtension {
  readonly enabled: boolean;
  getAPI(version: 1): GitApi;
}

/** The repository that a file lies in, or why there is none, as a sentence. */
export async function repositoryOf(uri: vscode.Uri): Promise<Repository | { readonly none: string }> {
  if (uri.scheme === 'untitled') return { none: 'The plan has not been saved yet, so no commit holds it.' };
  if (!vscode.workspace.isTrusted)
    return { none: 'The workspace is not trusted, and in such a one Git is not run. Trust it first.' };
  const extension = vscode.extensions.getExtension<GitExtension>('vscode.git');
  if (!extension)
    return { none: 'The last commit is read through the Git extension of VS Code, and here there is none.' };
  const git = extension.isActive ? extension.exports : await extension.activate();
  if (!git.enabled) return { none: 'Git is switched off in the settings (`git.enabled`).' };
  const api = git.getAPI(1);
  if (api.state !== 'initialized') {
    await new Promise<void>((resolve) => {
      const listener = api.onDidChangeState((state) => {
        if (state !== 'initialized') return;
        listener.dispose();
        resolve();
      });
    });
  }
  return api.getRepository(uri) ?? { none: 'The plan lies in no Git repository that is open here.' };
}

/** The text of a file in the last commit; null when that does not hold it. */
export async function committedText(repository: Repository, uri: vscode.Uri): Promise<string | null> {
  try {
    await repository.getObjectDetails('HEAD', uri.fsPath);
  } catch (error) {
    // Any other failure must not pass for a file that was not there.
    if ((error as { gitErrorCode?: unknown }).gitErrorCode === 'UnknownPath') return null;
    throw error;
  }
  return repository.show('HEAD', uri.fsPath);
}

/** The files that differ from the last commit, on the disk, as paths of the file system. */
export function changedFiles({ state }: Repository): string[] {
  return [
    ...state.indexChanges,
    ...state.workingTreeChanges,
    ...state.mergeChanges,
    ...(state.untrackedChanges ?? []),
  ].map(({ uri }) => uri.fsPath);
}
