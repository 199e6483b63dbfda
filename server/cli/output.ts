/** The file that `-o` names. */
import path from 'node:path';
import { URI } from 'vscode-uri';
import { isOneOf, reasonOf, writeWhole } from '../node/write.ts';
import { type Loaded, STDIN, type Terminal, UsageError } from './commands.ts';

/** Writes what was made of a plan to a file, and never over the plan or what it uses. */
export async function writeOutput(
  output: string,
  content: string | Uint8Array,
  given: string,
  { workspace, uri }: Loaded,
  terminal: Terminal,
): Promise<void> {
  const whole = path.resolve(terminal.folder, output);
  const read = [...workspace.files.keys(), ...workspace.tiles.keys()]
    .filter((one) => given !== STDIN || one !== uri)
    .map((one) => URI.parse(one).fsPath);
  if (await isOneOf(whole, given === STDIN ? [0, ...read] : read))
    throw new UsageError(`${whole} is what is read: -o takes another file`);
  await writeWhole(whole, content).catch((error: unknown) => {
    throw new UsageError(`${whole} cannot be written: ${reasonOf(error)}`);
  });
}
