import * as vscode from 'vscode';
import {
  type BaseLanguageClient,
  CloseAction,
  ErrorAction,
  type LanguageClientOptions,
  RevealOutputChannelOn,
} from 'vscode-languageclient';
import { RestartBudget } from './restarts.ts';
import { schemesOf } from './schemes.ts';

/** A server that has been launched, with the client that talks to it. How the two are made is the entry point's business. */
export interface Connection {
  readonly client: BaseLanguageClient;
  /** Resolves when the server is gone, to how it went: `was ended by SIGKILL`. */
  readonly ended: Promise<string>;
  /** Ends the server without a word; does nothing if it is gone. */
  kill(): void;
}

/** Launches a server; `log` writes a line to the output. */
export type Connect = (options: LanguageClientOptions, log: (what: string) => void) => Connection;

export type SessionState = 'starting' | 'running' | 'stopped';

function schemesNow(): string[] {
  return schemesOf((vscode.workspace.workspaceFolders ?? []).map(({ uri }) => uri.scheme));
}

const RESTART = 'Restart';
const OUTPUT = 'Show output';

/**
 * Keeps a language server running: starts it, says when it died, starts it again within a budget.
 *
 * Each start makes a fresh client. A client that is starting refuses to stop, and one that failed refuses to start, so
 * that a single client could not be restarted in every state. For the same reason the server's own end, not the
 * client's state, tells that the server died.
 */
export class Session implements vscode.Disposable {
  readonly output: vscode.LogOutputChannel;
  readonly #status: vscode.LanguageStatusItem;
  readonly #connect: Connect;
  readonly #folders: vscode.Disposable;
  #schemes: readonly string[] = schemesNow();
  readonly #restarts = new RestartBudget(5, 3 * 60_000);
  readonly #changes = new vscode.EventEmitter<SessionState>();
  /** Fires when the server starts, runs, or is gone; also when another took its place. */
  readonly onDidChangeState = this.#changes.event;
  #state: SessionState = 'stopped';
  #current: Connection | undefined;
  /** Starts and stops happen one after the other, in the order in which they were asked for. */
  #queue: Promise<void> = Promise.resolve();

  constructor(connect: Connect) {
    this.#connect = connect;
    this.output = vscode.window.createOutputChannel('Legwise', { log: true });
    this.#status = vscode.languages.createLanguageStatusItem('legwise.server', this.#selector());
    this.#status.name = 'Legwise';
    this.#show('stopped');
    // A client keeps the schemes that it was made with.
    this.#folders = vscode.workspace.onDidChangeWorkspaceFolders(() => {
      if (schemesNow().join() === this.#schemes.join()) return;
      this.#schemes = schemesNow();
      this.#status.selector = this.#selector();
      void this.restart();
    });
  }

  /** The client of the running server. */
  get client(): BaseLanguageClient | undefined {
    return this.#current?.client;
  }

  get state(): SessionState {
    return this.#state;
  }

  /** The URI schemes of the plans that are looked after. */
  get schemes(): readonly string[] {
    return this.#schemes;
  }

  start(): Promise<void> {
    return this.#inTurn(() => this.#start());
  }

  /** Stops the server if there is one, in whatever state it is, and starts a fresh one. */
  restart(): Promise<void> {
    this.#restarts.reset();
    return this.#inTurn(async () => {
      await this.#stop();
      await this.#start();
    });
  }

  async dispose(): Promise<void> {
    this.#folders.dispose();
    await this.#inTurn(() => this.#stop());
    this.#status.dispose();
    this.#changes.dispose();
    this.output.dispose();
  }

  #inTurn(work: () => Promise<void>): Promise<void> {
    this.#queue = this.#queue.then(work).catch((error: unknown) => this.output.error(String(error)));
    return this.#queue;
  }

  async #start(): Promise<void> {
    if (this.#current) return;
    this.#show('starting');
    const connection = this.#connect(this.#options(), (what) => this.output.warn(what));
    this.#current = connection;
    const gone = connection.ended.then((how) => this.#onEnd(connection, how));
    try {
      // A server that dies while it starts need not make start() settle.
      await Promise.race([connection.client.start(), gone]);
    } catch (error) {
      this.output.error(`The server did not start: ${String(error)}`);
      connection.kill();
      await gone;
    }
    if (this.#current === connection) this.#show('running');
  }

  async #stop(): Promise<void> {
    const connection = this.#current;
    if (!connection) return;
    this.#current = undefined; // from here on its end is no surprise
    this.#show('stopped');
    // A client that is still starting refuses; then the server is ended without being asked.
    await connection.client.dispose(2000).catch(() => connection.kill());
    await Promise.race([connection.ended, new Promise((resolve) => setTimeout(resolve, 1000))]);
    connection.kill();
  }

  #onEnd(connection: Connection, how: string): void {
    if (this.#current !== connection) return;
    this.#current = undefined;
    connection.client.dispose().catch(() => undefined);
    const again = this.#restarts.take(Date.now());
    this.output.error(`The server ${how}.`);
    this.#show(again ? 'starting' : 'stopped');
    if (again) void this.start();
    // The same words each time: the editor then shows repeated deaths as one message.
    const message = again
      ? `The Legwise language server ${how}. It is being started again.`
      : `The Legwise language server ${how}. It has died ${this.#restarts.most + 1} times within three minutes, so it stays stopped: plans are not checked.`;
    const show = again ? vscode.window.showWarningMessage : vscode.window.showErrorMessage;
    void show(message, RESTART, OUTPUT).then((choice) => {
      if (choice === RESTART) void this.restart();
      if (choice === OUTPUT) this.output.show();
    });
  }

  #show(state: SessionState): void {
    this.#state = state;
    this.#changes.fire(state);
    this.#status.text = `Legwise: ${state}`;
    this.#status.busy = state === 'starting';
    this.#status.severity =
      state === 'stopped' ? vscode.LanguageStatusSeverity.Error : vscode.LanguageStatusSeverity.Information;
    this.#status.command =
      state === 'stopped'
        ? { command: 'legwise.restartServer', title: RESTART }
        : { command: 'legwise.showOutput', title: OUTPUT };
  }

  #selector(): { language: string; scheme: string }[] {
    return this.#schemes.map((scheme) => ({ language: 'taskplan', scheme }));
  }

  #options(): LanguageClientOptions {
    return {
      documentSelector: this.#selector(),
      outputChannel: this.output,
      revealOutputChannelOn: RevealOutputChannelOn.Never,
      initializationOptions: {
        uriScheme: vscode.env.uriScheme,
        completeAgain: 'editor.action.triggerSuggest',
        tellChanges: true,
        whatIf: 'legwise.whatIf',
      },
      initializationFailedHandler: () => false, // start() fails, and that is told there
      errorHandler: {
        error: () => ({ action: ErrorAction.Continue, handled: true }),
        closed: () => ({
          action: CloseAction.DoNotRestart,
          handled: true,
          message: 'The connection to the server closed.',
        }),
      },
      // Only our own command may be run by a link in a hover.
      markdown: { isTrusted: { enabledCommands: ['legwise.explain'] } },
      synchronize: { configurationSection: 'legwise' },
    };
  }
}
