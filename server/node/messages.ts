/** Messages of the protocol on a stream: each a header, which says how long it is, and its text. */
import { AbstractMessageReader, type DataCallback, type Disposable, type MessageReader } from 'vscode-jsonrpc/node';
import { isChange } from '../changes.ts';

/** A header is a line or two. In bytes. */
const LONGEST_HEADER = 8192;
/** No message is as long as this. In bytes. */
const LONGEST_MESSAGE = 2 ** 30;

/** A message that is longer brings a long plan. In bytes. */
const LONG_MESSAGE = 100_000;

const END = Buffer.from('\r\n\r\n');

/** A header that nobody can follow: where the next message begins is not known. */
export class BrokenHeader extends Error {}

/** As nearly every client writes it. */
const USUAL = /^Content-Length: (\d{1,9})$/;

/** The length that any other header gives. */
function lengthIn(header: string): number {
  const given = header.split('\r\n').flatMap((line) => {
    const [, key, value] = /^([^:\s]+):(.*)$/s.exec(line) ?? [];
    if (key === undefined) throw new BrokenHeader(`“${line.slice(0, 80)}” is no line of a header`);
    return key.toLowerCase() === 'content-length' ? [(value as string).trim()] : [];
  });
  const [length] = given;
  if (length === undefined || given.length > 1)
    throw new BrokenHeader(`a header gives Content-Length ${given.length} times, and once is right`);
  if (!/^\d+$/.test(length) || Number(length) > LONGEST_MESSAGE)
    throw new BrokenHeader(`“${length.slice(0, 80)}” is no length of a message`);
  return Number(length);
}

/** Edits of one text that came one after the other; what comes while they wait for their turn is added to them. */
class Changes {
  readonly textDocument: { readonly uri: string; version: number };
  private readonly all: unknown[];
  private isTaken = false;

  constructor(uri: string, version: number, changes: readonly unknown[]) {
    this.textDocument = { uri, version };
    this.all = [...changes];
  }

  get contentChanges(): readonly unknown[] {
    this.isTaken = true;
    return this.all;
  }

  /** Adds those of the message behind it, if they are of the same text and still in time. */
  takes(behind: Changes): boolean {
    const { uri, version } = behind.textDocument;
    const own = this.textDocument;
    if (this.isTaken || own.uri !== uri || own.version + 1 !== version) return false;
    own.version = version;
    for (const change of behind.all) this.all.push(change);
    return true;
  }
}

/** The edits in a message that brings some. */
function changesIn(message: unknown): Changes | undefined {
  const { method, params } = message as { method?: unknown; params?: Partial<Changes> };
  if (method !== 'textDocument/didChange') return undefined;
  const { uri, version } = params?.textDocument ?? {};
  const changes = params?.contentChanges;
  // One that nobody can follow stands alone, so that it costs no other.
  return typeof uri === 'string' && typeof version === 'number' && Array.isArray(changes) && changes.every(isChange)
    ? new Changes(uri, version, changes)
    : undefined;
}

/**
 * Reads messages. Edits that follow each other are handed on as one message while nobody has looked at them: each message
 * waits for a turn of its own.
 *
 * The library's own reader waits for ever behind a header that it cannot follow.
 */
export class WholeMessagesReader extends AbstractMessageReader implements MessageReader {
  private readonly stream: NodeJS.ReadableStream;
  private chunks: Buffer[] = [];
  private held = 0;
  /** The length of the message that is being read; undefined while its header is. */
  private wanted: number | undefined;
  /** The message handed on last, if it brought edits. */
  private last: Changes | undefined;
  /** What is done before the first long message is read; most of it is still on its way then. */
  private beforeLong: (() => void) | undefined;

  constructor(stream: NodeJS.ReadableStream, beforeLong?: () => void) {
    super();
    this.stream = stream;
    this.beforeLong = beforeLong;
  }

  listen(callback: DataCallback): Disposable {
    const onData = (chunk: Buffer) => {
      this.chunks.push(chunk);
      this.held += chunk.length;
      try {
        this.take(callback);
      } catch (error) {
        // Behind such a header nothing can be read.
        if (error instanceof BrokenHeader) this.stream.off('data', onData);
        this.fireError(error);
      }
    };
    this.stream.on('data', onData);
    this.stream.on('error', (error) => this.fireError(error));
    this.stream.on('close', () => this.fireClose());
    return { dispose: () => this.stream.off('data', onData) };
  }

  /** All that is held, as one. */
  private whole(): Buffer {
    const whole = this.chunks.length === 1 ? (this.chunks[0] as Buffer) : Buffer.concat(this.chunks);
    this.chunks = [whole];
    return whole;
  }

  private drop(length: number): void {
    const rest = this.whole().subarray(length);
    this.chunks = rest.length > 0 ? [rest] : [];
    this.held = rest.length;
  }

  private take(callback: DataCallback): void {
    while (this.held > 0 || this.wanted === 0) {
      if (this.wanted === undefined) {
        const whole = this.whole();
        const end = whole.indexOf(END);
        const header = whole.toString('latin1', 0, end < 0 ? Math.min(whole.length, LONGEST_HEADER + 1) : end);
        const usual = end < 0 ? null : USUAL.exec(header);
        if (usual) {
          this.wanted = Number(usual[1]);
          this.drop(end + END.length);
          continue;
        }
        if (/(?:^|[^\r])\n/.test(header)) throw new BrokenHeader('the lines of a header end with a line feed alone');
        if (header.length > LONGEST_HEADER) throw new BrokenHeader('a header does not end');
        if (end < 0) return;
        this.wanted = lengthIn(header);
        this.drop(end + END.length);
        continue;
      }
      if (this.wanted > LONG_MESSAGE && this.beforeLong) {
        this.beforeLong();
        this.beforeLong = undefined;
      }
      if (this.held < this.wanted) return;
      const text = this.whole().toString('utf8', 0, this.wanted);
      this.drop(this.wanted);
      this.wanted = undefined;
      let message: Parameters<DataCallback>[0];
      try {
        message = JSON.parse(text);
      } catch (error) {
        this.fireError(error);
        continue;
      }
      const changes = changesIn(message);
      if (changes && this.last?.takes(changes)) continue;
      this.last = changes;
      callback(changes ? ({ ...message, params: changes } as typeof message) : message);
    }
  }
}
