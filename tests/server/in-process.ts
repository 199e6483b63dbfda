/** A session in this process, over streams in memory, with surroundings that a test chooses. */
import { PassThrough } from 'node:stream';
import { createMessageConnection } from 'vscode-jsonrpc/node';
import {
  createProtocolConnection,
  type InitializeParams,
  type InitializeResult,
  type ProtocolConnection,
  type PublishDiagnosticsParams,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-languageserver-protocol/node';
import { sessionConnection } from '../../server/connection.ts';
import type { Disk } from '../../server/files-of-session.ts';
import { startSession } from '../../server/session.ts';

export const ROOT = 'file:///plans';

export interface InProcess {
  readonly client: ProtocolConnection;
  readonly initialized: InitializeResult;
  readonly published: PublishDiagnosticsParams[];
  readonly logged: string[];
}

export async function startInProcess(
  disk: Disk,
  capabilities: InitializeParams['capabilities'] = {},
  initializationOptions: unknown = {},
  prepare: (client: ProtocolConnection) => void = () => {},
): Promise<InProcess> {
  const up = new PassThrough();
  const down = new PassThrough();
  const server = sessionConnection(createMessageConnection(new StreamMessageReader(up), new StreamMessageWriter(down)));
  startSession(server, {
    ...disk,
    later: (run) => void setImmediate(run),
    features: () => import('../../server/handlers.ts'),
    version: '0',
  });
  server.listen();
  const client = createProtocolConnection(new StreamMessageReader(down), new StreamMessageWriter(up));
  const published: PublishDiagnosticsParams[] = [];
  const logged: string[] = [];
  client.onNotification('textDocument/publishDiagnostics', (one: PublishDiagnosticsParams) => void published.push(one));
  client.onNotification('window/logMessage', ({ message }: { message: string }) => void logged.push(message));
  prepare(client);
  client.listen();
  const initialized = await client.sendRequest<InitializeResult>('initialize', {
    processId: null,
    rootUri: ROOT,
    workspaceFolders: [{ uri: ROOT, name: 'plans' }],
    capabilities,
    initializationOptions,
  });
  await client.sendNotification('initialized', {});
  return { client, initialized, published, logged };
}
