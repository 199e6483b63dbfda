/** Two revisions of some plans compared, beside a diff of the same texts. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { diffLines } from 'diff';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { type ComparedFile, compare } from '../../server/reports/compare.ts';
import { check } from '../../server/rules/run.ts';

const SAMPLES = path.resolve(import.meta.dirname, '../../samples');

/** The texts of the samples by their names, and the same with every wind of theirs stronger. */
function sides(): readonly [ReadonlyMap<string, string>, ReadonlyMap<string, string>] {
  const before = new Map<string, string>();
  for (const name of readdirSync(SAMPLES, { recursive: true, encoding: 'utf8' }))
    if (name.endsWith('.taskplan'))
      before.set(name.split(path.sep).join('/'), readFileSync(path.join(SAMPLES, name), 'utf8'));
  const stronger = (text: string) =>
    text.replace(/(wind .* at )(\d+)( kt)/g, (_, at, kt, unit) => `${at}${Number(kt) + 2}${unit}`);
  return [before, new Map([...before].map(([name, text]) => [name, stronger(text)]))];
}

/** Read, understood and checked, as a side of a comparison. */
function readSide(texts: ReadonlyMap<string, string>): ComparedFile[] {
  const workspace = createWorkspace(['file:///samples']);
  for (const [name, text] of texts) setFile(workspace, `file:///samples/${name}`, text);
  return [...workspace.files.values()].map((file) => {
    const understood = understand(workspace, file);
    return {
      name: file.uri.slice('file:///samples/'.length),
      workspace,
      understood,
      findings: check(workspace, understood),
    };
  });
}

export interface CompareBench {
  /** How many tasks differ. */
  readonly tasks: number;
  /** Reads both sides, and compares them with the reason of every change. */
  readonly whole: () => unknown;
  /** The same texts by a general-purpose diff. */
  readonly diff: () => unknown;
}

export function compareBench(): CompareBench {
  const [before, after] = sides();
  const whole = () => compare(readSide(before), readSide(after));
  return {
    tasks: whole().tasks.length,
    whole,
    diff: () => [...before].map(([name, text]) => diffLines(text, after.get(name) ?? '')),
  };
}
