/** `import`: points of other formats as entries of a plan, on standard output. */
import { readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import { LARGEST_FILE, textOf } from '../node/files.ts';
import { ImportError, type Imported, type ImportFormat, importPoints } from '../reports/import.ts';
import { args, oneOf, STDIN, type Status, type Terminal, tell, UsageError, WHY } from './commands.ts';

const ENDINGS: Readonly<Record<string, ImportFormat>> = {
  '.geojson': 'geojson',
  '.json': 'geojson',
  '.gpx': 'gpx',
  '.csv': 'csv',
};

async function bytesOf(file: string, terminal: Terminal): Promise<Uint8Array> {
  if (file === STDIN) return terminal.stdin();
  const whole = path.resolve(terminal.folder, file);
  const info = await stat(whole).catch(() => undefined);
  if (!info) throw new UsageError(`${file}: no such file`);
  if (!info.isFile()) throw new UsageError(`${file} is no file`);
  if (info.size > LARGEST_FILE) throw new UsageError(`${file} is larger than ${LARGEST_FILE / 1024 / 1024} MB`);
  return readFile(whole).catch(() => {
    throw new UsageError(`${file} cannot be read`);
  });
}

export async function importCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { values, positionals } = args(argv, {
    from: { type: 'string' },
    as: { type: 'string' },
    unit: { type: 'string' },
  });
  const [file, ...more] = positionals;
  if (!file || more.length > 0) throw new UsageError('import takes one file');
  const as = oneOf(values.as, ['field', 'turnpoint'], '--as', 'turnpoint');
  const unit = values.unit === undefined ? undefined : oneOf(values.unit, ['m', 'ft'], '--unit', 'm');
  const ending = ENDINGS[path.extname(file).toLowerCase()];
  if (values.from === undefined && !ending)
    throw new UsageError('--from takes geojson, gpx, csv, where the ending of the file does not say it');
  const from = oneOf(values.from, ['geojson', 'gpx', 'csv'], '--from', ending ?? 'csv');
  const read = textOf(await bytesOf(file, terminal));
  if ('why' in read) throw new UsageError(`${file === STDIN ? 'standard input' : file} ${WHY[read.why]}`);
  let imported: Imported;
  try {
    imported = importPoints(read.text, from, { as, unit });
  } catch (error) {
    if (error instanceof ImportError) throw new UsageError(`${file} cannot be imported: ${error.message}`);
    throw error;
  }
  for (const message of [...imported.notes, ...imported.left]) tell(terminal, message);
  if (imported.count === 0) throw new UsageError(`${file} holds no point that can be imported`);
  terminal.out(imported.text);
  return imported.left.length > 0 ? 1 : 0;
}
