#!/usr/bin/env node
/** What a program is started by: it says the version by itself, and loads the program for all else. Wiring only. */
import path from 'node:path';
import { setFlagsFromString } from 'node:v8';

/** Said by the build: the script beside, and what V8 is told before it is loaded. */
declare const PROGRAM: { readonly main: string; readonly version: string; readonly flags: readonly string[] };
/** Loaded at once, but only where it is asked for. */
declare function require(id: './node/compiled.ts'): typeof import('./node/compiled.ts');

const [, , first, ...more] = process.argv;
if ((first === '--version' || first === '-v') && more.length === 0) {
  process.stdout.on('error', ({ code, message }: NodeJS.ErrnoException) => {
    if (code === 'EPIPE') return;
    process.exitCode = 2;
    process.stderr.write(`legwise: standard output cannot be written: ${message}\n`);
  });
  process.stdout.write(`legwise ${PROGRAM.version}\n`);
} else {
  for (const flag of PROGRAM.flags) setFlagsFromString(flag);
  const { compiledFolder, loadCompiled } = require('./node/compiled.ts');
  loadCompiled(path.join(__dirname, PROGRAM.main), compiledFolder());
}
