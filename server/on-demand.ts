/**
 * Features that are loaded once a client first asks for one of them: a plan and its findings are shown without. Where
 * there is nothing to load, in a test, the same code is simply there.
 */
import type { GenericRequestHandler } from 'vscode-languageserver';
import type { HandlerNeeds } from './answering.ts';
import { ErrorCodes, LSPErrorCodes, ResponseError, type SessionConnection } from './protocol.ts';

/** What is loaded. */
export interface Features {
  /** Registers every feature, by the method that asks for it. */
  registerFeatures(needs: HandlerNeeds): void;
}

type Handlers = ReadonlyMap<string, GenericRequestHandler<unknown, unknown>>;

/** The version of the text that a request is about; undefined of one that is about none, or about a file not open. */
function versionOf({ files }: HandlerNeeds, params: unknown): number | undefined {
  const uri = (params as { textDocument?: { uri?: unknown } } | undefined)?.textDocument?.uri;
  return typeof uri === 'string' ? files.open.get(files.uriOf(uri))?.version : undefined;
}

/** Has every request that nothing else answers answered by what `load` loads. */
export function registerOnDemand(
  connection: SessionConnection,
  needs: HandlerNeeds,
  load: () => Promise<Features>,
): void {
  let loading: Promise<Handlers> | undefined;

  async function loaded(): Promise<Handlers> {
    const { registerFeatures } = await load();
    const handlers = new Map<string, GenericRequestHandler<unknown, unknown>>();
    const onRequest = (method: string, handler: GenericRequestHandler<unknown, unknown>) => {
      handlers.set(method, handler);
      return { dispose: () => void handlers.delete(method) };
    };
    registerFeatures({ ...needs, connection: { onRequest: onRequest as typeof connection.onRequest } });
    return handlers;
  }

  connection.onRequest(async (method, params, token) => {
    const version = versionOf(needs, params);
    loading ??= loaded();
    let handler: GenericRequestHandler<unknown, unknown> | undefined;
    try {
      handler = (await loading).get(method);
    } catch (error) {
      loading = undefined; // it may be there the next time
      needs.log(`loading what answers ${method}`, error);
      return new ResponseError(ErrorCodes.InternalError, `what answers ${method} could not be loaded`);
    }
    // A place in a text that changed meanwhile is a place in another text.
    if (versionOf(needs, params) !== version)
      return new ResponseError(LSPErrorCodes.ContentModified, 'the text has changed');
    return handler
      ? handler(params, token)
      : new ResponseError(ErrorCodes.MethodNotFound, `there is no method ${method}`);
  });
}
