/** An editor for the race: it drives a language server of any kind over stdio, and times it. Linux: it reads `/proc`. */
import { type ChildProcess, spawn } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import {
  createMessageConnection,
  type Diagnostic,
  type MessageConnection,
  type Position,
  type PublishDiagnosticsParams,
  type ServerCapabilities,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-languageserver-protocol/node';

export interface Contender {
  readonly name: string;
  readonly command: readonly [string, ...string[]];
  /** Answers `workspace/configuration`, and is pushed once. */
  readonly settings?: object;
  readonly initializationOptions?: object;
  /** Whether the editor asks for findings itself, where the server lets it. */
  readonly pulls: boolean;
}

interface Published {
  readonly atMs: number;
  readonly version: number | undefined;
  readonly found: string;
}

/** Findings as one text, to tell whether two lots are the same. */
function signature(diagnostics: readonly Diagnostic[]): string {
  return diagnostics
    .map(({ range: { start, end }, severity, code, message }) =>
      [start.line, start.character, end.line, end.character, severity, code, message].join(':'),
    )
    .sort()
    .join('\n');
}

/** Every process under one, itself included. */
function tree(root: number): number[] {
  const children = new Map<number, number[]>();
  for (const name of readdirSync('/proc')) {
    if (!/^\d+$/.test(name)) continue;
    try {
      const stat = readFileSync(`/proc/${name}/stat`, 'utf8');
      const parent = Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[1]);
      children.set(parent, [...(children.get(parent) ?? []), Number(name)]);
    } catch {
      // It ended meanwhile.
    }
  }
  const all = [root];
  for (let i = 0; i < all.length; i++) all.push(...(children.get(all[i] as number) ?? []));
  return all;
}

const REFRESHES = { refreshSupport: true };
const DYNAMIC = { dynamicRegistration: true };

const capabilities = (pulls: boolean) => ({
  general: { positionEncodings: ['utf-16' as const] },
  window: { workDoneProgress: true },
  workspace: {
    configuration: true,
    workspaceFolders: true,
    didChangeConfiguration: DYNAMIC,
    didChangeWatchedFiles: DYNAMIC,
    codeLens: REFRESHES,
    inlayHint: REFRESHES,
    semanticTokens: REFRESHES,
    diagnostics: REFRESHES,
  },
  textDocument: {
    synchronization: DYNAMIC,
    publishDiagnostics: { relatedInformation: true, versionSupport: true, codeDescriptionSupport: true },
    ...(pulls ? { diagnostic: DYNAMIC } : {}),
    hover: { contentFormat: ['markdown' as const] },
    completion: {
      contextSupport: true,
      completionItem: { snippetSupport: true, documentationFormat: ['markdown' as const], labelDetailsSupport: true },
      completionList: { itemDefaults: ['commitCharacters', 'editRange', 'insertTextFormat', 'insertTextMode', 'data'] },
    },
    documentSymbol: { hierarchicalDocumentSymbolSupport: true },
    codeLens: DYNAMIC,
    inlayHint: DYNAMIC,
    semanticTokens: {
      tokenTypes: ['type', 'class', 'variable', 'property', 'function', 'keyword', 'comment', 'string', 'number'],
      tokenModifiers: ['declaration', 'definition'],
      formats: ['relative' as const],
      requests: { range: true, full: { delta: true } },
    },
    formatting: DYNAMIC,
  },
});

/** Findings once they belong to the text as it is: when they came, and what they are. */
export interface Answer {
  readonly ms: number;
  readonly found: string;
}

export class Server {
  readonly begunMs = performance.now();
  capabilities: ServerCapabilities = {};
  private readonly contender: Contender;
  private readonly folder: string;
  private readonly child: ChildProcess;
  private readonly connection: MessageConnection;
  private readonly registered = new Set<string>();
  private readonly published: Published[] = [];
  private readonly told = new Set<() => void>();
  private readonly peaks = new Map<number, number>();
  private uri = '';
  private lines: string[] = [];
  private version = 0;
  private resultId: string | undefined;
  private pulled = '';

  constructor(contender: Contender, folder: string) {
    this.contender = contender;
    this.folder = folder;
    const [file, ...args] = contender.command;
    const child = spawn(file, args, { cwd: folder, stdio: ['pipe', 'pipe', 'ignore'] });
    this.child = child;
    child.stdin.on('error', () => {});
    this.connection = createMessageConnection(
      new StreamMessageReader(child.stdout),
      new StreamMessageWriter(child.stdin),
    );
    this.connection.onError(() => {});
    const section = (name: string | undefined) =>
      name?.split('.').reduce<unknown>((value, key) => (value as Record<string, unknown> | undefined)?.[key], {
        ...contender.settings,
      }) ?? null;
    this.connection.onRequest((method, params) => {
      if (method === 'workspace/configuration')
        return (params as { items: { section?: string }[] }).items.map((item) => section(item.section));
      if (method === 'client/registerCapability')
        for (const { method: one } of (params as { registrations: { method: string }[] }).registrations)
          this.registered.add(one);
      return null;
    });
    this.connection.onNotification('textDocument/publishDiagnostics', (params: PublishDiagnosticsParams) => {
      if (decodeURIComponent(params.uri) !== decodeURIComponent(this.uri)) return;
      this.published.push({
        atMs: performance.now(),
        version: params.version,
        found: signature(params.diagnostics),
      });
      for (const tell of [...this.told]) tell();
    });
    this.connection.listen();
  }

  /** Starts the talk. */
  async initialize(): Promise<void> {
    const rootUri = pathToFileURL(this.folder).href;
    const answer = await this.within(
      30_000,
      this.connection.sendRequest<{ capabilities: ServerCapabilities }>('initialize', {
        processId: process.pid,
        rootPath: this.folder,
        rootUri,
        workspaceFolders: [{ uri: rootUri, name: 'race' }],
        capabilities: capabilities(this.contender.pulls),
        initializationOptions: this.contender.initializationOptions ?? {},
      }),
    );
    this.capabilities = answer.capabilities;
    void this.connection.sendNotification('initialized', {});
    const { settings } = this.contender;
    if (settings) void this.connection.sendNotification('workspace/didChangeConfiguration', { settings });
  }

  has(method: string, provider: keyof ServerCapabilities): boolean {
    return Boolean(this.capabilities[provider]) || this.registered.has(method.replace(/\/full$/, ''));
  }

  get pulls(): boolean {
    return this.contender.pulls && this.has('textDocument/diagnostic', 'diagnosticProvider');
  }

  open(file: string, languageId: string, text: string): void {
    this.uri = pathToFileURL(path.join(this.folder, file)).href;
    this.lines = text.split('\n');
    this.version = 1;
    void this.connection.sendNotification('textDocument/didOpen', {
      textDocument: { uri: this.uri, languageId, version: 1, text },
    });
  }

  /** Types, or deletes, at one place. */
  change(at: Position, remove: number, insert: string): void {
    this.version++;
    const { textDocumentSync: sync } = this.capabilities;
    const isWhole = (typeof sync === 'object' ? sync.change : sync) === 1;
    const line = this.lines[at.line] as string;
    this.lines[at.line] = line.slice(0, at.character) + insert + line.slice(at.character + remove);
    const end = { line: at.line, character: at.character + remove };
    void this.connection.sendNotification('textDocument/didChange', {
      textDocument: { uri: this.uri, version: this.version },
      contentChanges: [isWhole ? { text: this.lines.join('\n') } : { range: { start: at, end }, text: insert }],
    });
  }

  async request<T>(method: string, params: object): Promise<T> {
    const full = { textDocument: { uri: this.uri }, ...params };
    for (let tries = 0; ; tries++) {
      try {
        return await this.within(20_000, this.connection.sendRequest<T>(method, full));
      } catch (error) {
        // What an edit overtook is asked again, as editors do.
        const { code } = error as { code?: number };
        if (tries >= 4 || (code !== -32_801 && code !== -32_802)) throw error;
      }
    }
  }

  /**
   * The findings of the text as it is now, and how long after `fromMs` they were there. From a server that publishes,
   * the first of this version (or that came after `mark`) which are `right`; the latest that came when none is.
   */
  async findings(fromMs: number, mark: number, right: (found: string) => boolean, waitMs: number): Promise<Answer> {
    if (this.pulls) {
      const answer = await this.request<{ kind: string; resultId?: string; items?: Diagnostic[] }>(
        'textDocument/diagnostic',
        {
          ...(typeof this.capabilities.diagnosticProvider === 'object' &&
          this.capabilities.diagnosticProvider.identifier !== undefined
            ? { identifier: this.capabilities.diagnosticProvider.identifier }
            : {}),
          ...(this.resultId === undefined ? {} : { previousResultId: this.resultId }),
        },
      );
      const ms = performance.now() - fromMs;
      this.resultId = answer.resultId;
      if (answer.kind !== 'unchanged') this.pulled = signature(answer.items ?? []);
      return { ms, found: this.pulled };
    }
    const wanted = this.version;
    let next = mark;
    let latest: Published | undefined;
    const seen = () => {
      for (; next < this.published.length; next++) {
        const one = this.published[next] as Published;
        if (one.version !== undefined && one.version < wanted) continue;
        latest = one;
        if (right(one.found)) return one;
      }
      return undefined;
    };
    const known = seen();
    if (known) return { ms: known.atMs - fromMs, found: known.found };
    return new Promise((resolve, reject) => {
      const end = (one: Published | undefined) => {
        clearTimeout(timer);
        this.told.delete(tell);
        if (one) resolve({ ms: one.atMs - fromMs, found: one.found });
        else reject(new Error(`no findings within ${waitMs} ms`));
      };
      const tell = () => {
        const one = seen();
        if (one) end(one);
      };
      const timer = setTimeout(() => end(latest), waitMs);
      this.told.add(tell);
    });
  }

  /** How many findings were published; those from here on answer what comes next. */
  get mark(): number {
    return this.published.length;
  }

  /** When the last were published, by `performance.now()`. */
  get lastPublishedMs(): number {
    return this.published.at(-1)?.atMs ?? 0;
  }

  get lastPublished(): string {
    return this.published.at(-1)?.found ?? '';
  }

  /** Waits until nothing has been published for so long. */
  async quiet(ms: number): Promise<void> {
    const begun = performance.now();
    for (;;) {
      const left = Math.max(begun, this.lastPublishedMs) + ms - performance.now();
      if (left <= 0) return;
      await sleep(left + 1);
    }
  }

  /** MB; the peaks of the server's processes so far, added up. */
  memory(): number {
    for (const pid of tree(this.child.pid as number)) {
      try {
        const [, kb] = /VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [];
        if (kb) this.peaks.set(pid, Math.max(this.peaks.get(pid) ?? 0, Number(kb) / 1024));
      } catch {
        // It ended meanwhile.
      }
    }
    return [...this.peaks.values()].reduce((sum, mb) => sum + mb, 0);
  }

  /** ms of processor time that the server's processes have used; the system counts in steps of 10 ms. */
  processorMs(): number {
    let ticks = 0;
    for (const pid of tree(this.child.pid as number)) {
      try {
        const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
        const parts = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
        ticks += Number(parts[11]) + Number(parts[12]) + Number(parts[13]) + Number(parts[14]);
      } catch {
        // It ended meanwhile.
      }
    }
    return ticks * 10;
  }

  async stop(): Promise<void> {
    const own = this.child.exitCode === null ? tree(this.child.pid as number) : [];
    try {
      await this.within(1500, this.connection.sendRequest('shutdown'));
      await this.connection.sendNotification('exit');
    } catch {
      // It is ended below.
    }
    for (let waited = 0; this.child.exitCode === null && waited < 800; waited += 20) await sleep(20);
    for (const pid of own) {
      try {
        process.kill(pid, 'SIGKILL');
      } catch {
        // It ended by itself.
      }
    }
    this.connection.dispose();
  }

  private async within<T>(ms: number, answer: Promise<T>): Promise<T> {
    let timer: NodeJS.Timeout | undefined;
    const late = new Promise<never>((_, reject) => {
      timer = setTimeout(() => reject(new Error(`${this.contender.name} gave no answer within ${ms} ms`)), ms);
    });
    try {
      return await Promise.race([answer, late]);
    } finally {
      clearTimeout(timer);
    }
  }
}
