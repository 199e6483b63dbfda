// The real VS Code workbench, with its server and its Node extension host, from npm packages only (code-server).
import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';

const CODE_SERVER = '4.139.1'; // carries VS Code 1.139.1
const NODE = '24.21.0'; // the one that this code-server asks for
const PLAYWRIGHT = '1.65.1'; // playwright-core: drives the system's Chromium, downloads none
const TEN_MINUTES = 600_000;

const SETTINGS = {
  'workbench.startupEditor': 'none',
  'workbench.tips.enabled': false,
  'workbench.enableExperiments': false,
  'workbench.secondarySideBar.defaultVisibility': 'hidden',
  'chat.disableAIFeatures': true,
  'telemetry.telemetryLevel': 'off',
  'update.mode': 'none',
  'extensions.autoCheckUpdates': false,
  'extensions.autoUpdate': false,
  'extensions.ignoreRecommendations': true,
  'security.workspace.trust.enabled': false,
  'git.openRepositoryInParentFolders': 'never',
  'editor.accessibilitySupport': 'off',
  'files.autoSave': 'off',
};

const sleep = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

function npm(cwd: string, args: string[], env: Record<string, string> = {}): void {
  execFileSync('npm', [...args, '--no-audit', '--no-fund', '--loglevel=error'], {
    cwd,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'ignore', 'inherit'],
    timeout: TEN_MINUTES,
  });
}

/** Puts the workbench and the browser's driver into FOLDER; does nothing when they are there. */
export function install(folder: string): void {
  const stamp = path.join(folder, '.installed');
  const wanted = `code-server ${CODE_SERVER}, node ${NODE}, playwright-core ${PLAYWRIGHT}`;
  if (existsSync(stamp) && readFileSync(stamp, 'utf8') === wanted) return;
  console.log(`installing ${wanted} (once)`);
  mkdirSync(folder, { recursive: true });
  rmSync(stamp, { force: true });
  writeFileSync(path.join(folder, 'package.json'), '{"private":true}\n');
  npm(folder, [
    'install',
    '--ignore-scripts',
    '--save-exact',
    `code-server@${CODE_SERVER}`,
    `node-linux-${process.arch}@${NODE}`,
    `playwright-core@${PLAYWRIGHT}`,
  ]);
  // What code-server's own install script would do, less the native modules that nothing here needs. Its shrinkwrap was
  // made with --legacy-peer-deps, and `npm ci` refuses it without.
  const vscode = path.join(folder, 'node_modules/code-server/lib/vscode');
  const ci = ['ci', '--ignore-scripts', '--omit=dev', '--legacy-peer-deps'];
  npm(vscode, ci);
  npm(path.join(vscode, 'extensions'), ci);
  for (const [link, target] of [
    ['bin/remote-cli/code-server', 'code-linux.sh'],
    ['bin/helpers/browser.sh', 'browser-linux.sh'],
  ] as const) {
    rmSync(path.join(vscode, link), { force: true });
    symlinkSync(target, path.join(vscode, link));
  }
  writeFileSync(stamp, wanted);
}

function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer().once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => resolve(typeof address === 'object' && address ? address.port : 0));
    });
  });
}

export class Workbench {
  readonly #folder: string;
  readonly #state: string;
  /** VS Code's sockets live here: a socket's path may have 107 characters at most. */
  readonly #tmp = mkdtempSync(path.join(tmpdir(), 'editor-'));
  #server: ChildProcess | undefined;

  /** FOLDER holds what install() put there; what the workbench writes goes below it, and starts empty. */
  constructor(folder: string) {
    this.#folder = folder;
    // A state of its own, so that two runs do not disturb each other.
    this.#state = path.join(folder, 'state', String(process.pid));
    rmSync(this.#state, { recursive: true, force: true });
    mkdirSync(path.join(this.#state, 'user-data/User'), { recursive: true });
    mkdirSync(path.join(this.#state, 'home'));
    this.settings({});
  }

  /** Sets the user's settings, for pages that are opened from now on. */
  settings(more: Record<string, unknown>): void {
    const file = path.join(this.#state, 'user-data/User/settings.json');
    writeFileSync(file, JSON.stringify({ ...SETTINGS, ...more }, null, 2));
  }

  /** Drops what editors have not saved: it would be there again when the plan is opened. */
  forget(): void {
    rmSync(path.join(this.#state, 'user-data/User/Backups'), { recursive: true, force: true });
  }

  #command(...args: string[]): { file: string; args: string[]; env: NodeJS.ProcessEnv } {
    const home = path.join(this.#state, 'home');
    const node = path.join(this.#folder, `node_modules/node-linux-${process.arch}/bin`);
    return {
      file: path.join(node, 'node'),
      args: [
        path.join(this.#folder, 'node_modules/code-server/out/node/entry.js'),
        ...['--config', path.join(this.#state, 'config.yaml'), '--user-data-dir', path.join(this.#state, 'user-data')],
        ...['--extensions-dir', path.join(this.#state, 'extensions'), '--disable-telemetry'],
        ...args,
      ],
      env: {
        PATH: `${node}${path.delimiter}${process.env.PATH}`,
        HOME: home,
        XDG_CONFIG_HOME: path.join(home, '.config'),
        XDG_DATA_HOME: path.join(home, '.local/share'),
        XDG_CACHE_HOME: path.join(home, '.cache'),
        TMPDIR: this.#tmp,
        EXTENSIONS_GALLERY: '{"serviceUrl":""}', // no gallery: nothing may be fetched
      },
    };
  }

  installExtension(vsix: string): void {
    const { file, args, env } = this.#command('--install-extension', vsix, '--force');
    // Its standard error complains about native modules that install() leaves out; an error thrown here carries it.
    execFileSync(file, args, { env, stdio: ['ignore', 'ignore', 'pipe'], timeout: 120_000 });
  }

  /** Serves FOLDER, as one to be trusted unless said otherwise; returns the address of the workbench on it. */
  async start(folder: string, { isTrusted = true } = {}): Promise<string> {
    const port = await freePort();
    const { file, args, env } = this.#command(
      ...['--auth', 'none', '--bind-addr', `127.0.0.1:${port}`, '--disable-update-check'],
      ...['--disable-getting-started-override', '--ignore-last-opened'],
      ...(isTrusted ? ['--disable-workspace-trust'] : []),
      // What a page that was closed leaves behind (an extension host, a language server) goes soon.
      ...['--reconnection-grace-time', '30'],
    );
    const log = path.join(this.#state, 'server.log');
    const out = openSync(log, 'w');
    // A process group of its own, so that stop() ends the extension host and the language server with it.
    this.#server = spawn(file, args, { env, stdio: ['ignore', out, out], detached: true });
    for (let i = 0; i < 300; i++) {
      if (readFileSync(log, 'utf8').includes('HTTP server listening')) {
        return `http://127.0.0.1:${port}/?folder=${encodeURI(folder)}`;
      }
      if (this.#server.exitCode !== null) break;
      await sleep(100);
    }
    throw new Error(`the workbench did not start:\n${readFileSync(log, 'utf8')}`);
  }

  /** The process that runs the extension's language server, if there is one: that of the page opened last. */
  languageServer(): number | undefined {
    let last: { readonly pid: number; readonly started: number } | undefined;
    const part = path.join(this.#state, 'extensions') + path.sep;
    for (const entry of readdirSync('/proc')) {
      if (!/^\d+$/.test(entry)) continue;
      try {
        const args = readFileSync(`/proc/${entry}/cmdline`, 'utf8').split('\0');
        if (args.some((arg) => arg.startsWith(part) && arg.endsWith('dist/server.cjs'))) {
          // The 22nd field; the second, a name in brackets, may hold anything.
          const stat = readFileSync(`/proc/${entry}/stat`, 'utf8');
          const started = Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19]);
          if (!last || started >= last.started) last = { pid: Number(entry), started };
        }
      } catch {
        // ended meanwhile
      }
    }
    return last?.pid;
  }

  async stop(): Promise<void> {
    const pid = this.#server?.pid;
    if (pid !== undefined) {
      for (const signal of ['SIGTERM', 'SIGKILL'] as const) {
        try {
          process.kill(-pid, signal);
        } catch {
          break; // none left in the group
        }
        for (let i = 0; i < 30 && this.#server?.exitCode === null; i++) await sleep(100);
      }
    }
    rmSync(this.#tmp, { recursive: true, force: true });
    rmSync(this.#state, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
  }
}
