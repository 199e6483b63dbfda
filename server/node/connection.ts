/** The protocol over standard input and output, and when the process that speaks it ends. */
import { createMessageConnection, StreamMessageReader, StreamMessageWriter } from 'vscode-jsonrpc/node';
import { sessionConnection } from '../connection.ts';
import type { SessionConnection } from '../protocol.ts';

/** How often it is looked whether the client is there, ms. */
const LOOK_EVERY = 3000;

/** The client's number that a command line names: `--clientProcessId=17` or `--clientProcessId 17`. */
function clientNamed(args: readonly string[]): number | undefined {
  const at = args.findIndex((arg) => /^--clientProcessId(?:=|$)/.test(arg));
  const given = at < 0 ? undefined : (args[at]?.split('=')[1] ?? args[at + 1]);
  return given !== undefined && /^\d+$/.test(given) ? Number(given) : undefined;
}

/**
 * A connection over standard input and output; the caller has yet to listen. The process ends when the client asks for
 * it, closes the pipe, or is gone: with 0 when it was shut down before, and with 1 otherwise.
 */
export function connectionOverStdio(): SessionConnection & { listen(): void } {
  // What is printed would be taken for a message.
  console.log = console.info = console.debug = console.error;

  let isShutDown = false;
  const end = () => process.exit(isShutDown ? 0 : 1);
  let isWatched = false;
  const watch = (processId: number) => {
    if (isWatched) return;
    isWatched = true;
    setInterval(() => {
      try {
        process.kill(processId, 0);
      } catch {
        end();
      }
    }, LOOK_EVERY);
  };

  process.stdin.on('end', end);
  process.stdin.on('close', end);
  const named = clientNamed(process.argv.slice(2));
  if (named !== undefined) watch(named);
  const rpc = createMessageConnection(new StreamMessageReader(process.stdin), new StreamMessageWriter(process.stdout));
  return sessionConnection(rpc, {
    begins: (processId) => {
      if (typeof processId === 'number') watch(processId);
    },
    shutsDown: () => {
      isShutDown = true;
    },
    exits: end,
  });
}
