/** `legwise check` as a task of the editor, run by the command line that comes with the extension. */
import * as vscode from 'vscode';

export const TASK_TYPE = 'legwise';

const LEVELS = ['error', 'warning', 'info'] as const;

/** What a task says in tasks.json; what makes no sense is as if it were not there. */
interface CheckDefinition extends vscode.TaskDefinition {
  readonly paths?: readonly string[];
  readonly failOn?: string;
}

export class CheckTasks implements vscode.TaskProvider {
  readonly #node: string;
  readonly #program: string;

  /** NODE runs the bundled PROGRAM, so that nothing else need be installed. */
  constructor(node: string, program: string) {
    this.#node = node;
    this.#program = program;
  }

  register(): vscode.Disposable[] {
    return [vscode.tasks.registerTaskProvider(TASK_TYPE, this)];
  }

  provideTasks(): vscode.Task[] {
    if (!vscode.workspace.isTrusted) return [];
    return (vscode.workspace.workspaceFolders ?? [])
      .filter(({ uri }) => uri.scheme === 'file')
      .map((folder) => this.#task({ type: TASK_TYPE }, folder));
  }

  /** A task of tasks.json. */
  resolveTask({ definition, scope }: vscode.Task): vscode.Task | undefined {
    if (!vscode.workspace.isTrusted || definition.type !== TASK_TYPE) return undefined;
    const folder = typeof scope === 'object' ? scope : vscode.workspace.workspaceFolders?.[0];
    return folder?.uri.scheme === 'file' ? this.#task(definition, folder) : undefined;
  }

  #task(definition: CheckDefinition, folder: vscode.WorkspaceFolder): vscode.Task {
    const paths = Array.isArray(definition.paths) ? definition.paths.filter((path) => typeof path === 'string') : [];
    const failOn = LEVELS.find((level) => level === definition.failOn) ?? 'error';
    const run = new vscode.ProcessExecution(
      this.#node,
      [this.#program, 'check', '--fail-on', failOn, '--', ...(paths.length > 0 ? paths : ['.'])],
      { cwd: folder.uri.fsPath, env: { ELECTRON_RUN_AS_NODE: '1' } },
    );
    const task = new vscode.Task(definition, folder, 'check the plans', 'legwise', run, '$legwise');
    task.group = vscode.TaskGroup.Test;
    task.detail = 'Checks every plan of the folder and lists what is found among the problems.';
    task.presentationOptions = { reveal: vscode.TaskRevealKind.Silent, clear: true };
    return task;
  }
}
