/** The protocol over messages between a worker and its owner. */
import { BrowserMessageReader, BrowserMessageWriter, createMessageConnection } from 'vscode-jsonrpc/browser';
import { sessionConnection } from '../connection.ts';
import type { SessionConnection } from '../protocol.ts';

/** A connection over the messages of a port; the caller has yet to listen. */
export function connectionOf(port: MessagePort | Worker): SessionConnection & { listen(): void } {
  return sessionConnection(
    createMessageConnection(new BrowserMessageReader(port as never), new BrowserMessageWriter(port as never)),
  );
}
