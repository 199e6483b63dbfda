/** The language server for a web worker: wiring only. */
import { BrowserMessageReader, BrowserMessageWriter, createConnection } from 'vscode-languageserver/browser';
import packageJson from '../package.json' with { type: 'json' };
import { startSession } from './session.ts';
import { diskThrough } from './worker/files.ts';

// The types of a worker's own globals and those of a page do not go together, and these sources have Node's.
const scope = globalThis as unknown as Worker;
const connection = createConnection(new BrowserMessageReader(scope), new BrowserMessageWriter(scope));

/** A worker's timers wait four milliseconds once they start each other; a message to oneself does not. */
function laterByMessage(): (run: () => void) => void {
  const { port1, port2 } = new MessageChannel();
  const waiting: (() => void)[] = [];
  port1.onmessage = () => waiting.shift()?.();
  return (run) => {
    waiting.push(run);
    port2.postMessage(null);
  };
}

startSession(connection, {
  ...diskThrough((method, params) => connection.sendRequest(method, params)),
  later: laterByMessage(),
  features: () => import('./handlers.ts'),
  version: packageJson.version,
});

// The client asks this now and then: a worker that does not answer is dead or hangs, and nothing else would tell.
connection.onRequest('legwise/alive', () => true);

connection.listen();
