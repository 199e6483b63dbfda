import { spawn } from 'node:child_process';
import * as vscode from 'vscode';
import { LanguageClient } from 'vscode-languageclient/node';
import { Pages } from './pages.ts';
import { type Connect, Session } from './session.ts';

/** The editor's own name for remote files is there for a client that runs beside the window, not beside the files. */
const SELECTOR = ['file', 'untitled', 'vscode-remote'].map((scheme) => ({ language: 'taskplan', scheme }));

let session: Session | undefined;

export function activate(context: vscode.ExtensionContext): void {
  const module = context.asAbsolutePath('dist/server.cjs');
  const connect: Connect = (options) => {
    // The editor's own Node runs the server, so that nothing else need be installed.
    const server = spawn(process.execPath, [module, '--stdio', `--clientProcessId=${process.pid}`], {
      env: { ...process.env, ELECTRON_RUN_AS_NODE: '1' },
    });
    const ended = new Promise<string>((resolve) => {
      server.on('error', (error) => resolve(`could not be started (${error.message})`));
      server.on('exit', (code, signal) => resolve(signal ? `was ended by ${signal}` : `ended with exit code ${code}`));
    });
    const client = new LanguageClient('legwise', 'Legwise', async () => server, options);
    return { client, ended, kill: () => server.kill('SIGKILL') };
  };
  const running = new Session(connect, SELECTOR);
  session = running;
  context.subscriptions.push(
    ...new Pages(() => running.client).register(),
    vscode.commands.registerCommand('legwise.restartServer', () => running.restart()),
    vscode.commands.registerCommand('legwise.showOutput', () => running.output.show()),
  );
  void running.start(); // not awaited: the commands must work while the server starts, and when it hangs
}

export async function deactivate(): Promise<void> {
  await session?.dispose();
}
