/**
 * Loads a program with what V8 kept of compiling it, and keeps that for the next time. What Node would keep by itself is
 * made before anything has run, so that the thousands of functions inside would be compiled anew in each process, each
 * when it is first called.
 */
import { readdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { homedir } from 'node:os';
import path from 'node:path';
import { getHeapCodeStatistics, setFlagsFromString } from 'node:v8';
import { Script } from 'node:vm';
import { crc32 } from 'node:zlib';
import { makeFolder } from './folders.ts';

/** The checksums of the source and of what was kept, and how much code the process had: a number of four bytes each. */
const HEAD_BYTES = 16;

/** It is kept anew once the process has more code than the one that kept it, by so much. */
const GROWN = 1.03;

/** What nobody kept anew for so long is of a program that is no longer there. */
const OLD_MS = 60 * 24 * 60 * 60 * 1000;

/** The parameters of a module's function, as Node gives them. */
const BEFORE = '(function (exports, require, module, __filename, __dirname) {';
const BEHIND = '\n})';

type Module = (exports: unknown, require: (id: string) => unknown, module: object, file: string, dir: string) => void;

interface Kept {
  readonly data: Buffer;
  /** How much code the process had that kept it, bytes. */
  readonly code: number;
}

interface Loaded {
  readonly script: Script;
  readonly sum: number;
  readonly keptIn: string;
  /** Nought where nothing that fits was kept. */
  readonly code: number;
}

/**
 * Where it is kept: with the user's own files, since what stands in a folder of everybody's could be anybody's. Undefined
 * where there is no such place.
 */
export function compiledFolder(
  env: NodeJS.ProcessEnv = process.env,
  platform = process.platform,
  home = homedir,
): string | undefined {
  try {
    const given = env['XDG_CACHE_HOME'];
    // A relative path there is to be ignored. Source: XDG Base Directory Specification 0.8, "Basics".
    const cache = given && path.isAbsolute(given) ? given : path.join(home(), '.cache');
    const own = platform === 'win32' ? env['LOCALAPPDATA'] : cache;
    return own ? path.join(own, 'legwise', 'compiled') : undefined;
  } catch {
    // A user that the system does not know has no home.
    return undefined;
  }
}

/** What was kept of a source; undefined where there is nothing, or not what was written. */
function read(keptIn: string, sum: number): Kept | undefined {
  try {
    const whole = readFileSync(keptIn);
    const data = whole.subarray(HEAD_BYTES);
    // V8 looks at the length of a source alone, and trusts what it is given.
    if (whole.readUInt32LE(0) !== sum || whole.readUInt32LE(4) !== crc32(data)) return undefined;
    return { data, code: whole.readUInt32LE(8) };
  } catch {
    return undefined;
  }
}

/** Writes it beside first, so that nobody ever reads a part of it. */
function write(keptIn: string, sum: number, { data, code }: Kept): void {
  const head = Buffer.alloc(HEAD_BYTES);
  head.writeUInt32LE(sum, 0);
  head.writeUInt32LE(crc32(data), 4);
  head.writeUInt32LE(code, 8);
  makeFolder(path.dirname(keptIn), 0o700);
  const beside = `${keptIn}.${process.pid}`;
  try {
    writeFileSync(beside, Buffer.concat([head, data]), { mode: 0o600 });
    renameSync(beside, keptIn);
  } catch {
    rmSync(beside, { force: true });
  }
}

/** Takes out what is of no program any more. */
function tidy(folder: string): void {
  for (const name of readdirSync(folder)) {
    const file = path.join(folder, name);
    if (Date.now() - statSync(file).mtimeMs > OLD_MS) rmSync(file, { recursive: true, force: true });
  }
}

const codeNow = () => getHeapCodeStatistics().bytecode_and_metadata_size;

/** Keeps what is worth keeping anew: nothing of a process that had next to no code more than the one that kept it last. */
function keep(folder: string, all: readonly Loaded[]): void {
  const code = codeNow();
  const grown = all.filter((one) => code > GROWN * one.code);
  if (grown.length === 0) return;
  for (const { script, sum, keptIn } of grown) write(keptIn, sum, { data: script.createCachedData(), code });
  tidy(folder);
}

/**
 * Loads `main`, a script, and with it whatever it requires beside itself. `folder` is where what was compiled is kept:
 * without it, or where it cannot be read or written, all is the same but slower. Throws what the script throws.
 */
export function loadCompiled(main: string, folder: string | undefined): void {
  const require = createRequire(main);
  // An older Node has no such checksum.
  if (!folder || typeof crc32 !== 'function') {
    require(main);
    return;
  }
  // A function that was not called for a while would have to be compiled again, and would be missing in what is kept.
  setFlagsFromString('--no-flush-bytecode');
  const loaded: Loaded[] = [];
  const modules = new Map<string, { exports: unknown }>();
  const load = (file: string): unknown => {
    const known = modules.get(file);
    if (known) return known.exports;
    const bytes = readFileSync(file);
    // What starts a program of its own looks after itself.
    if (bytes.subarray(0, 2).toString('latin1') === '#!') return require(file);
    const sum = crc32(bytes);
    const name = `${path.basename(file)}-${process.version}-${process.arch}-${sum.toString(16)}`;
    const keptIn = path.join(folder, name);
    const kept = read(keptIn, sum);
    const script = new Script(BEFORE + bytes.toString('utf8') + BEHIND, {
      filename: file,
      columnOffset: -BEFORE.length,
      ...(kept ? { cachedData: kept.data } : {}),
    });
    const fits = kept && script.cachedDataRejected === false;
    loaded.push({ script, sum, keptIn, code: fits ? kept.code : 0 });
    const module = { exports: {} };
    modules.set(file, module);
    const dir = path.dirname(file);
    const own = (id: string) => (id.startsWith('./') ? load(path.join(dir, id)) : require(id));
    try {
      (script.runInThisContext() as Module)(module.exports, own, module, file, dir);
    } catch (error) {
      // As in Node: whoever asks again has it tried again.
      modules.delete(file);
      throw error;
    }
    return module.exports;
  };
  process.on('exit', () => {
    try {
      // Asked for at the end, since the start is what one waits for.
      const { isMainThread } = require('node:worker_threads') as typeof import('node:worker_threads');
      if (isMainThread) keep(folder, loaded);
    } catch {
      // The next start is slower.
    }
  });
  load(main);
}
