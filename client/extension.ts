/** The extension on the desktop, or beside the files on another machine: its server is a process. */
import { spawn } from 'node:child_process';
import type * as vscode from 'vscode';
import { LanguageClient } from 'vscode-languageclient/node';
import { activateWith } from './activate.ts';
import { whenSilent } from './silence.ts';
import { CheckTasks } from './tasks.ts';

export { deactivate } from './activate.ts';

export function activate(context: vscode.ExtensionContext): void {
  const module = context.asAbsolutePath('dist/server.cjs');
  activateWith(context, (options) => {
    // The editor's own Node runs the server, so that nothing else need be installed.
    const server = spawn(process.execPath, [module, '--stdio', `--clientProcessId=${process.pid}`], {
      env: { ...process.env, ELECTRON_RUN_AS_NODE: '1' },
    });
    const ended = new Promise<string>((resolve) => {
      server.on('error', (error) => resolve(`could not be started (${error.message})`));
      server.on('exit', (code, signal) => resolve(signal ? `was ended by ${signal}` : `ended with exit code ${code}`));
    });
    const client = new LanguageClient('legwise', 'Legwise', async () => server, options);
    // A process that hangs is still there, and tells nobody.
    const watch = whenSilent(() => client.sendRequest('legwise/alive'));
    const kill = () => {
      watch.stop();
      server.kill('SIGKILL');
    };
    const silent = watch.silent.then((seconds) => {
      if (seconds === 0) return ended; // told to stop
      kill();
      return `gave no answer for ${seconds} s and was ended`;
    });
    void ended.then(() => watch.stop());
    return { client, ended: Promise.race([ended, silent]), kill };
  });
  const tasks = new CheckTasks(process.execPath, context.asAbsolutePath('dist/legwise.cjs'));
  context.subscriptions.push(...tasks.register());
}
