// Emacs in a terminal of its own: keys go to the terminal, questions through emacsclient.
import { type ChildProcess, spawn } from 'node:child_process';
import { copyFileSync, mkdirSync, openSync } from 'node:fs';
import path from 'node:path';
import { answerOf, type Editor, type Finding, type Place, run, type Server, type Spot, until } from './editor.ts';

const ENTER = '\r';
const meta = (key: string): string => `\x1b${key}`;
const command = (name: string): string => `${meta('x')}${name}${ENTER}`;

export class Emacs implements Editor {
  readonly name = 'Emacs';
  readonly cannot = {
    lenses: 'eglot has no code lenses: no glide budgets stand at the legs',
    nonAscii:
      'eglot 1.9 takes a folder with letters beyond ASCII, in a place that the server names, for another folder',
  };
  readonly #home: string;
  readonly #env: NodeJS.ProcessEnv;
  #process: ChildProcess | undefined;

  /** HOME is an empty folder with a short name: its socket goes there too. */
  constructor(home: string, env: NodeJS.ProcessEnv) {
    this.#home = home;
    this.#env = {
      ...env,
      HOME: home,
      SHELL: '/bin/sh',
      TERM: 'linux',
      EDITOR_DRIVER: path.join(import.meta.dirname, 'emacs-driver.el'),
      EDITOR_SOCKET_FOLDER: home,
    };
    const config = path.join(home, '.emacs.d');
    mkdirSync(config, { recursive: true });
    copyFileSync(path.join(import.meta.dirname, 'emacs.el'), path.join(config, 'init.el'));
  }

  async #ask<T>(name: string, ...args: unknown[]): Promise<T> {
    const request = JSON.stringify([name, ...args]).replace(/[\\"]/g, '\\$&');
    const printed = await run(
      'emacsclient',
      ['--socket-name', path.join(this.#home, 'emacs'), '--eval', `(drive "${request}")`],
      this.#env,
    );
    // A Lisp string: in quotes, with a backslash before each quote and backslash.
    return answerOf<T>(
      printed
        .trim()
        .slice(1, -1)
        .replace(/\\([\s\S])/g, '$1'),
    );
  }

  async #keys(keys: string): Promise<void> {
    await new Promise<void>((resolve, reject) => {
      this.#process?.stdin?.write(keys, (error) => (error ? reject(error) : resolve()));
    });
  }

  async #prompt(what: RegExp): Promise<void> {
    await until(
      `the question ${what}`,
      async () => what.test(await this.#ask<string>('prompt')),
      () => this.#ask('prompt'),
    );
  }

  async start(folder: string): Promise<string> {
    const log = openSync(path.join(this.#home, 'log'), 'w');
    const inTerminal = 'stty rows 50 cols 150; exec emacs -nw -l "$EDITOR_DRIVER"';
    // `script` is what gives a program a terminal.
    this.#process = spawn('script', ['--quiet', '--command', inTerminal, '/dev/null'], {
      cwd: folder,
      env: this.#env,
      stdio: ['pipe', log, log],
    });
    this.#process.on('error', () => undefined); // until() says that it does not answer
    this.#process.stdin?.on('error', () => undefined); // likewise
    return until('Emacs to answer', () => this.#ask<string>('version'));
  }

  async quit(): Promise<void> {
    const editor = this.#process;
    await this.#keys('\x18\x03'); // C-x C-c
    await until(
      'Emacs to end',
      async () => editor?.exitCode !== null,
      () => this.#ask('prompt'),
    );
  }

  kill(): void {
    if (this.#process?.exitCode === null) this.#process.kill('SIGKILL'); // its terminal goes, and Emacs with it
  }

  async open(file: string): Promise<void> {
    await this.#keys('\x18\x06'); // C-x C-f
    await this.#prompt(/Find file/);
    await this.#keys(`${file}${ENTER}`);
    await until(
      `${file} to be open`,
      async () => (await this.place()).file === file,
      () => this.place(),
    );
  }

  async server(): Promise<Server | undefined> {
    return (await this.#ask<Server | null>('server')) ?? undefined;
  }

  text(): Promise<string> {
    return this.#ask('text');
  }

  place(): Promise<Place> {
    return this.#ask('place');
  }

  findings(): Promise<Finding[]> {
    return this.#ask('findings');
  }

  colour(spot: Spot): Promise<string> {
    return this.#ask('colour', spot.line, spot.word);
  }

  lenses(): Promise<string[]> {
    return Promise.reject(new Error(this.cannot.lenses));
  }

  async askHover(spot: Spot): Promise<void> {
    await this.#ask('close-popups');
    await this.#ask('go', spot.line, spot.word);
    await this.#keys('\x06\x02'); // C-f C-b: Emacs asks once the cursor has moved and rests
    await until('something to be said', () => this.#ask<boolean>('has-hover'));
    await this.#keys('\x08.'); // C-h .
  }

  hover(): Promise<string> {
    return this.#ask('popup');
  }

  async typeBelow(line: string, text: string): Promise<void> {
    await this.#ask('go-end', line);
    await this.#keys(`${ENTER}${text}`);
    await until('what was typed', async () => (await this.place()).line.trim() === text.trim());
  }

  async askCompletion(): Promise<void> {
    await this.#keys(meta('\t'));
  }

  offered(): Promise<string[]> {
    return this.#ask('menu');
  }

  async take(label: string): Promise<void> {
    await this.#ask('choose', label);
    await this.#keys(ENTER);
  }

  async stopTyping(): Promise<void> {
    // It has no mode to leave.
  }

  async goToDefinition(spot: Spot): Promise<void> {
    await this.#ask('go', spot.line, spot.word);
    await this.#keys(meta('.'));
  }

  async askReferences(spot: Spot): Promise<void> {
    await this.#ask('go', spot.line, spot.word);
    await this.#keys(meta('?'));
  }

  async references(): Promise<string[]> {
    return (await this.#ask<string>('list')).split('\n').filter(Boolean);
  }

  async fix(spot: Spot): Promise<void> {
    await this.#ask('go', spot.line, spot.word);
    await this.#keys(command('eglot-code-actions'));
    await this.#prompt(/action/);
    await this.#keys(ENTER); // the one that is proposed
  }

  async rename(spot: Spot, name: string): Promise<void> {
    await this.#ask('go', spot.line, spot.word);
    await this.#keys(command('eglot-rename'));
    await this.#prompt(/^Rename/);
    await this.#keys(`${name}${ENTER}`);
    await this.#prompt(/wants to edit/); // files that are not open are edited as well
    await this.#keys('y');
  }

  async format(): Promise<void> {
    await this.#keys(command('eglot-format-buffer'));
  }

  async revert(): Promise<void> {
    await this.#ask('revert');
  }

  async saveAll(): Promise<void> {
    await this.#ask('save-all');
  }

  messages(): Promise<string> {
    return this.#ask('messages');
  }
}
