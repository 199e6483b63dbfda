/** The command line: wiring only. */
import { fstatSync } from 'node:fs';
import { isMainThread } from 'node:worker_threads';
import pc from 'picocolors';
import packageJson from '../package.json' with { type: 'json' };
import { briefCommand } from './cli/brief.ts';
import { checkCommand } from './cli/check.ts';
import { workChecks } from './cli/check-plans.ts';
import {
  budgetCommand,
  explainCommand,
  formatCommand,
  helpFor,
  type Status,
  type Terminal,
  UsageError,
} from './cli/commands.ts';
import { compareCommand } from './cli/compare.ts';
import { exportCommand } from './cli/export.ts';
import { importCommand } from './cli/import.ts';
import { USAGE } from './cli/usage.ts';
import { LARGEST_FILE } from './node/files.ts';
import { reasonOf } from './node/write.ts';

type Command = (argv: readonly string[], terminal: Terminal) => Promise<Status>;

const COMMANDS: Readonly<Record<string, Command>> = {
  check: checkCommand,
  budget: budgetCommand,
  compare: compareCommand,
  brief: briefCommand,
  export: exportCommand,
  import: importCommand,
  format: formatCommand,
  explain: explainCommand,
};

function wantsColour(): boolean {
  const { NO_COLOR, FORCE_COLOR } = process.env;
  if (NO_COLOR) return false;
  if (FORCE_COLOR !== undefined) return FORCE_COLOR !== '0' && FORCE_COLOR !== 'false';
  return process.stdout.isTTY === true && process.env['TERM'] !== 'dumb';
}

async function stdin(): Promise<Uint8Array> {
  // Node reads nothing there, as if it were empty.
  if (fstatSync(0).isDirectory()) throw new UsageError('standard input is a folder');
  const chunks: Uint8Array[] = [];
  let size = 0;
  try {
    for await (const chunk of process.stdin) {
      chunks.push(chunk as Uint8Array);
      size += (chunk as Uint8Array).length;
      // What is too large to be read is told from here on, and may have no end.
      if (size > LARGEST_FILE) break;
    }
  } catch (error) {
    throw new UsageError(`standard input cannot be read: ${reasonOf(error)}`);
  }
  return Buffer.concat(chunks);
}

const terminal: Terminal = {
  folder: process.cwd(),
  paint: pc.createColors(wantsColour()),
  watched: process.stderr.isTTY === true,
  out: (text) => process.stdout.write(text),
  err: (text) => process.stderr.write(text),
  now: () => performance.now(),
  stdin,
};

async function main(argv: readonly string[]): Promise<Status> {
  const [first, ...rest] = argv;
  if (first === '--version' || first === '-v') {
    terminal.out(`legwise ${packageJson.version}\n`);
    return 0;
  }
  if (first === undefined || first === '--help' || first === '-h' || first === 'help') {
    const text = helpFor(first === 'help' ? (rest[0] ?? '') : '');
    (first === undefined ? terminal.err : terminal.out)(text);
    return first === undefined ? 2 : 0;
  }
  if (!(first in USAGE) || first === '')
    throw new UsageError(`there is no command ${first}; legwise --help lists them`);
  if (rest.includes('--help') || rest.includes('-h')) {
    terminal.out(helpFor(first));
    return 0;
  }
  if (first === 'serve') {
    if (rest.length !== 1 || rest[0] !== '--stdio') throw new UsageError('serve takes --stdio');
    // The server is a bundle of its own: a check does not pay for loading it.
    await import('./node.ts');
    return new Promise<Status>(() => {});
  }
  return (COMMANDS[first] as Command)(rest, terminal);
}

// A reader that has seen enough closes the pipe: that is no failure.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});

if (!isMainThread) workChecks();
else
  main(process.argv.slice(2)).then(
    (status) => {
      process.exitCode = status;
    },
    (error: unknown) => {
      if (error instanceof UsageError) terminal.err(`legwise: ${error.message}\n`);
      else terminal.err(`legwise: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`);
      process.exitCode = 2;
    },
  );
