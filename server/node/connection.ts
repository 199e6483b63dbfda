/** The protocol over standard input and output, and when the process that speaks it ends. */
import { AbstractMessageWriter, createMessageConnection, type Message, type MessageWriter } from 'vscode-jsonrpc/node';
import { sessionConnection } from '../connection.ts';
import type { SessionConnection } from '../protocol.ts';
import { collectsSoon, makeRoom } from './memory.ts';
import { BrokenHeader, WholeMessagesReader } from './messages.ts';

/** How often it is looked whether the client is there, ms. */
const LOOK_EVERY = 3000;

/** The client's number that a command line names: `--clientProcessId=17` or `--clientProcessId 17`. */
function clientNamed(args: readonly string[]): number | undefined {
  const at = args.findIndex((arg) => /^--clientProcessId(?:=|$)/.test(arg));
  const given = at < 0 ? undefined : (args[at]?.split('=')[1] ?? args[at + 1]);
  return given !== undefined && /^\d+$/.test(given) ? Number(given) : undefined;
}

/** Whether a process is gone. One of another user may not be asked, so it is there; what is no number of one tells nothing. */
export function isGone(processId: number, ask: (processId: number) => void = (id) => process.kill(id, 0)): boolean {
  try {
    ask(processId);
    return false;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'ESRCH';
  }
}

/** Writes each message at once, where the library's own writes its header, waits, and writes the rest. */
class WholeMessages extends AbstractMessageWriter implements MessageWriter {
  private readonly stream: NodeJS.WritableStream;
  private readonly afterEach: () => void;
  private failures = 0;

  constructor(stream: NodeJS.WritableStream, afterEach: () => void) {
    super();
    this.stream = stream;
    this.afterEach = afterEach;
    stream.on('error', (error) => this.fireError(error));
    stream.on('close', () => this.fireClose());
  }

  write(message: Message): Promise<void> {
    return new Promise((resolve, reject) => {
      const text = JSON.stringify(message);
      const length = Buffer.byteLength(text);
      const header = `Content-Length: ${length}\r\n\r\n`;
      const whole = Buffer.allocUnsafe(header.length + length);
      whole.write(header, 'latin1');
      whole.write(text, header.length);
      this.stream.write(whole, (error) => {
        if (!error) {
          this.failures = 0;
          resolve();
          return;
        }
        this.failures++;
        this.fireError(error, message, this.failures);
        reject(error);
      });
      this.afterEach();
    });
  }

  end(): void {
    this.stream.end();
  }
}

/**
 * A connection over standard input and output; the caller has yet to listen. The process ends when the client asks for
 * it, closes the pipe, is gone, or sends what nobody can follow: with 0 when it was shut down before, and with 1
 * otherwise.
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
      if (isGone(processId)) end();
    }, LOOK_EVERY);
  };

  process.stdin.on('end', end);
  process.stdin.on('close', end);
  const named = clientNamed(process.argv.slice(2));
  if (named !== undefined) watch(named);
  const reader = new WholeMessagesReader(process.stdin, makeRoom);
  reader.onError((error) => {
    if (!(error instanceof BrokenHeader)) return;
    console.error(`legwise: the client sent a header that cannot be read: ${error.message}`);
    process.exit(1);
  });
  const rpc = createMessageConnection(reader, new WholeMessages(process.stdout, collectsSoon()));
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
