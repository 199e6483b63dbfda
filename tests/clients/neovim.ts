// Neovim without a screen: keys and questions go through the socket that it listens on.
import { type ChildProcess, spawn } from 'node:child_process';
import { copyFileSync, mkdirSync, openSync } from 'node:fs';
import path from 'node:path';
import { answerOf, type Editor, type Finding, type Place, run, type Server, type Spot, until } from './editor.ts';

interface Menu {
  readonly visible: boolean;
  readonly labels: string[];
  readonly selected: number;
}

export class Neovim implements Editor {
  readonly name = 'Neovim';
  readonly cannot = {
    quotes:
      'Neovim 0.7 compares what is typed with the quotes too: it completes a name in quotes only before its first letter',
  };
  readonly #home: string;
  readonly #env: NodeJS.ProcessEnv;
  #process: ChildProcess | undefined;

  /** HOME is an empty folder with a short name: its socket goes there too. */
  constructor(home: string, env: NodeJS.ProcessEnv) {
    this.#home = home;
    this.#env = { ...env, HOME: home, EDITOR_DRIVER: path.join(import.meta.dirname, 'neovim-driver.lua') };
    const config = path.join(home, '.config/nvim');
    mkdirSync(config, { recursive: true });
    copyFileSync(path.join(import.meta.dirname, 'neovim.lua'), path.join(config, 'init.lua'));
  }

  get #socket(): string {
    return path.join(this.#home, 'socket');
  }

  async #ask<T>(name: string, ...args: unknown[]): Promise<T> {
    const request = JSON.stringify([name, ...args]).replaceAll("'", "''");
    const expression = ['--remote-expr', `v:lua.drive('${request}')`];
    return answerOf<T>(
      await run('nvim', ['--clean', '--headless', '--server', this.#socket, ...expression], this.#env),
    );
  }

  async #keys(keys: string): Promise<void> {
    await run('nvim', ['--clean', '--headless', '--server', this.#socket, '--remote-send', keys], this.#env);
  }

  /** Text as keys. */
  static #typed(text: string): string {
    return text.replaceAll('<', '<lt>');
  }

  async start(folder: string): Promise<string> {
    const log = openSync(path.join(this.#home, 'log'), 'w');
    const driver = ['-c', 'lua dofile(vim.env.EDITOR_DRIVER)'];
    this.#process = spawn('nvim', ['--headless', '--listen', this.#socket, ...driver], {
      cwd: folder,
      env: this.#env,
      stdio: ['ignore', log, log],
    });
    this.#process.on('error', () => undefined); // until() says that it does not answer
    return until('Neovim to answer', () => this.#ask<string>('version'));
  }

  async quit(): Promise<void> {
    const editor = this.#process;
    await this.#keys('<Esc>:qall!<CR>').catch(() => undefined); // it may be gone before it answers
    await until('Neovim to end', async () => editor?.exitCode !== null);
  }

  kill(): void {
    if (this.#process?.exitCode === null) this.#process.kill('SIGKILL');
  }

  async open(file: string): Promise<void> {
    await this.#ask('edit', file);
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
    return this.#ask('lenses');
  }

  async askHover(spot: Spot): Promise<void> {
    await this.#ask('close_popups');
    await this.#ask('go', spot.line, spot.word);
    await this.#keys('K');
  }

  hover(): Promise<string> {
    return this.#ask('popup');
  }

  async typeBelow(line: string, text: string): Promise<void> {
    await this.#ask('go', line, line);
    await this.#keys(`o${Neovim.#typed(text)}`);
  }

  async askCompletion(): Promise<void> {
    await this.#keys('<C-x><C-o>');
  }

  async offered(): Promise<string[]> {
    const { visible, labels } = await this.#ask<Menu>('menu');
    return visible ? labels : [];
  }

  async take(label: string): Promise<void> {
    const { labels, selected } = await this.#ask<Menu>('menu');
    const steps = labels.indexOf(label) - selected;
    await this.#keys(`${(steps < 0 ? '<C-p>' : '<C-n>').repeat(Math.abs(steps))}<C-y>`);
  }

  async stopTyping(): Promise<void> {
    await this.#keys('<Esc>');
    await until('normal mode', async () => (await this.#ask<string>('mode')) === 'n');
  }

  async goToDefinition(spot: Spot): Promise<void> {
    await this.#ask('go', spot.line, spot.word);
    await this.#keys('gd');
  }

  async askReferences(spot: Spot): Promise<void> {
    await this.#ask('go', spot.line, spot.word);
    await this.#keys('grr');
  }

  references(): Promise<string[]> {
    return this.#ask('list');
  }

  async fix(spot: Spot): Promise<void> {
    await this.#ask('go', spot.line, spot.word);
    await this.#keys('gra');
  }

  async rename(spot: Spot, name: string): Promise<void> {
    await this.#ask('go', spot.line, spot.word);
    await this.#keys('grn');
    await until('the question for the new name', async () => (await this.#ask<string>('mode')).startsWith('c'));
    await this.#keys(`<C-u>${Neovim.#typed(name)}<CR>`);
  }

  async format(): Promise<void> {
    await this.#keys('<Space>f');
  }

  async revert(): Promise<void> {
    await this.#ask('revert');
  }

  async saveAll(): Promise<void> {
    await this.#ask('save_all');
  }

  messages(): Promise<string> {
    return this.#ask('messages');
  }
}
