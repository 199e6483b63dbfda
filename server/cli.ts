/** The command line: wiring only. */
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
  tell,
  UsageError,
} from './cli/commands.ts';
import { compareCommand } from './cli/compare.ts';
import { exportCommand } from './cli/export.ts';
import { importCommand } from './cli/import.ts';
import { standardStreams } from './cli/streams.ts';
import { USAGE } from './cli/usage.ts';

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

function workingFolder(): string {
  try {
    return process.cwd();
  } catch {
    throw new UsageError('the working folder is not there any more');
  }
}

const { status, ...streams } = standardStreams();

async function main(argv: readonly string[]): Promise<Status> {
  const terminal: Terminal = {
    ...streams,
    folder: workingFolder(),
    paint: pc.createColors(wantsColour()),
    watched: process.stderr.isTTY === true,
    now: () => performance.now(),
  };
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
  if (!Object.hasOwn(USAGE, first) || first === '')
    throw new UsageError(`there is no command ${first}; legwise --help lists them`);
  if (rest.includes('--help') || rest.includes('-h')) {
    terminal.out(helpFor(first));
    return 0;
  }
  if (first === 'serve') {
    // Clients say with `--clientProcessId` when the server may end: the connection reads it (node/connection.ts).
    if (!/^--stdio( --clientProcessId[ =]\d+)?$|^--clientProcessId[ =]\d+ --stdio$/.test(rest.join(' ')))
      throw new UsageError('serve takes --stdio, and --clientProcessId=NUMBER if one likes');
    // The server is a bundle of its own: a check does not pay for loading it.
    await import('./node.ts');
    // An editor that closes its end has left.
    process.stdout.on('error', () => process.exit());
    return new Promise<Status>(() => {});
  }
  return (COMMANDS[first] as Command)(rest, terminal);
}

if (!isMainThread) workChecks();
else
  main(process.argv.slice(2)).then(
    (found) => {
      process.exitCode = status(found);
    },
    (error: unknown) => {
      const { message, stack, syscall } = error as NodeJS.ErrnoException;
      // What the system refuses says itself where; of a mistake of this program one wants to know the place.
      const isSaid = error instanceof UsageError || syscall !== undefined;
      if (isSaid) tell(streams, message);
      else streams.err(`legwise: ${stack ?? message ?? String(error)}\n`);
      process.exitCode = 2;
    },
  );
