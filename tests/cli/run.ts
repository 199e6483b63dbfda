/** Runs the built command line as a shell would. */
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

export const ROOT = path.resolve(import.meta.dirname, '../..');
const PROGRAM = path.join(ROOT, 'dist/legwise.cjs');

export interface Ran {
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
}

export interface Around {
  readonly folder?: string;
  readonly input?: string | Uint8Array;
  readonly env?: Readonly<Record<string, string>>;
}

export function legwise(args: readonly string[], { folder = ROOT, input = '', env = {} }: Around = {}): Ran {
  const { NO_COLOR: _n, FORCE_COLOR: _f, ...rest } = process.env;
  const run = spawnSync(process.execPath, [PROGRAM, ...args], {
    cwd: folder,
    input,
    env: { ...rest, ...env },
    encoding: 'utf8',
    timeout: 60_000,
  });
  return { status: run.status, out: run.stdout, err: run.stderr };
}

/** A folder with these files, and what takes it away again. */
export function folderWith(files: Readonly<Record<string, string | Uint8Array>>): {
  folder: string;
  remove: () => void;
} {
  const folder = mkdtempSync(path.join(tmpdir(), 'legwise-'));
  for (const [name, content] of Object.entries(files)) {
    mkdirSync(path.dirname(path.join(folder, name)), { recursive: true });
    writeFileSync(path.join(folder, name), content);
  }
  return { folder, remove: () => rmSync(folder, { recursive: true, force: true }) };
}

/** A plan with one error of its own, that uses a club's file. */
export const shortPlan = (use: string): string => `use "${use}"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    "Withy Bridge" at 5000 ft MSL
  finish   Larkfield at 75 kt
`;
