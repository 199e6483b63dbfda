/** The language server for a web worker: wiring only. */
import packageJson from '../package.json' with { type: 'json' };
import { startSession } from './session.ts';
import { chunksThrough } from './worker/chunks.ts';
import { connectionOf } from './worker/connection.ts';
import { diskThrough } from './worker/files.ts';

// The types of a worker's own globals and those of a page do not go together, and these sources have Node's.
const connection = connectionOf(globalThis as unknown as Worker);
const ask = (method: string, params: object) => connection.sendRequest(method, params);

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
  ...diskThrough(ask),
  features: () => chunksThrough(ask)('features'),
  later: laterByMessage(),
  version: packageJson.version,
});

connection.listen();
