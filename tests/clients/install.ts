// The editors as Debian packages them.
import { execFileSync, spawnSync } from 'node:child_process';

const FIVE_MINUTES = 300_000;

interface Wanted {
  readonly package: string;
  /** A command that succeeds when it is there. */
  readonly probe: readonly [string, ...string[]];
}

const WANTED: readonly Wanted[] = [
  { package: 'neovim', probe: ['nvim', '--version'] },
  { package: 'emacs-nox', probe: ['emacs', '--version'] },
  // A package of its own for Emacs 28; later ones carry it.
  { package: 'elpa-eglot', probe: ['emacs', '--batch', '-f', 'package-activate-all', '-l', 'eglot'] },
  { package: 'bsdutils', probe: ['script', '--version'] },
];

const isThere = ({ probe: [file, ...args] }: Wanted): boolean =>
  spawnSync(file, args, { stdio: 'ignore', timeout: 60_000 }).status === 0;

function apt(...args: string[]): void {
  const asRoot = process.getuid?.() === 0 ? [] : ['sudo', '-n'];
  const [file = '', ...rest] = [...asRoot, 'env', 'DEBIAN_FRONTEND=noninteractive', 'apt-get', '-qq', ...args];
  execFileSync(file, rest, { stdio: ['ignore', 'pipe', 'pipe'], timeout: FIVE_MINUTES, maxBuffer: 64 << 20 });
}

/** Installs what is missing; does nothing when all is there. One after the other: a later Emacs brings eglot along. */
export function install(): void {
  let isUpdated = false;
  for (const wanted of WANTED) {
    if (isThere(wanted)) continue;
    console.log(`installing ${wanted.package} (once)`);
    if (!isUpdated) apt('update');
    isUpdated = true;
    apt('install', '--yes', '--no-install-recommends', wanted.package);
    if (!isThere(wanted)) throw new Error(`${wanted.package} is installed, but it does not start`);
  }
}
