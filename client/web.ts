/** The extension in a browser, with nothing installed: its server is a web worker. */
import * as vscode from 'vscode';
import { BrowserMessageReader, BrowserMessageWriter, LanguageClient } from 'vscode-languageclient/browser';
import { activateWith } from './activate.ts';
import { whenSilent } from './silence.ts';
import { type Answer, type Files, WebFiles } from './web-files.ts';

export { deactivate } from './activate.ts';

const files: Files = {
  stat: async (uri) => vscode.workspace.fs.stat(vscode.Uri.parse(uri)),
  readDirectory: async (uri) => vscode.workspace.fs.readDirectory(vscode.Uri.parse(uri)),
  readFile: async (uri) => vscode.workspace.fs.readFile(vscode.Uri.parse(uri)),
  join: (folder, name) => vscode.Uri.joinPath(vscode.Uri.parse(folder), name).toString(),
};

/** A worker that runs a script of the extension. */
async function workerOf(script: vscode.Uri): Promise<Worker> {
  if (script.scheme !== 'vscode-remote') return new Worker(script.toString(true));
  // The files of an extension on another machine have no address that a worker could load.
  const text = await vscode.workspace.fs.readFile(script);
  const address = URL.createObjectURL(new Blob([text as BlobPart], { type: 'text/javascript' }));
  const worker = new Worker(address);
  worker.addEventListener('message', () => URL.revokeObjectURL(address), { once: true });
  return worker;
}

export function activate(context: vscode.ExtensionContext): void {
  const script = vscode.Uri.joinPath(context.extensionUri, 'dist/server-web.js');
  activateWith(context, (options, log) => {
    let worker: Worker | undefined;
    let isKilled = false;
    const starting = async () => {
      worker = await workerOf(script);
      if (isKilled) worker.terminate();
      return { reader: new BrowserMessageReader(worker), writer: new BrowserMessageWriter(worker) };
    };
    const client = new LanguageClient('legwise', 'Legwise', starting, options);
    const reader = new WebFiles(files, log);
    client.onRequest<string[], void>('legwise/list', (params) => reader.list(params));
    client.onRequest<Answer, void>('legwise/read', (params) => reader.read(params));
    client.onRequest<Answer, void>('legwise/readTile', (params) => reader.readTile(params));
    client.onRequest<string, void>('legwise/script', async (params: unknown) => {
      const { name } = (params ?? {}) as { name?: unknown };
      if (name !== 'features') throw new Error(`there is no script ${String(name)}`);
      const part = vscode.Uri.joinPath(context.extensionUri, `dist/server-web-${name}.js`);
      return new TextDecoder().decode(await vscode.workspace.fs.readFile(part));
    });
    // A worker that ends tells nobody.
    const watch = whenSilent(() => client.sendRequest('legwise/alive'));
    const kill = () => {
      isKilled = true;
      watch.stop();
      worker?.terminate();
    };
    const ended = watch.silent.then((seconds) => {
      kill();
      return `gave no answer for ${seconds} s and was ended`;
    });
    return { client, ended, kill };
  });
}
