/** `export`: the tasks and points of a plan for maps and receivers. */
import { stat } from 'node:fs/promises';
import path from 'node:path';
import { readPath } from '../node/compare-read.ts';
import { writeWhole } from '../node/files.ts';
import { nearest } from '../plan/nearest.ts';
import { understand } from '../plan/understand.ts';
import { exportedOf } from '../reports/export-data.ts';
import { exportGeojson } from '../reports/export-geojson.ts';
import { exportGpx } from '../reports/export-gpx.ts';
import { exportKml } from '../reports/export-kml.ts';
import { args, type Status, type Terminal, UsageError } from './commands.ts';

const FORMATS = { geojson: exportGeojson, gpx: exportGpx, kml: exportKml };

export async function exportCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { values, positionals } = args(argv, {
    to: { type: 'string' },
    task: { type: 'string' },
    output: { type: 'string', short: 'o' },
  });
  const [file, ...more] = positionals;
  if (!file || more.length > 0) throw new UsageError('export takes one file');
  const ending = values.output === undefined ? '' : path.extname(values.output).slice(1).toLowerCase();
  const to = values.to ?? (ending in FORMATS ? ending : undefined);
  if (to === undefined || !(to in FORMATS))
    throw new UsageError(`--to takes ${Object.keys(FORMATS).join(', ')}${to === undefined ? '' : `, not ${to}`}`);
  const info = await stat(path.resolve(terminal.folder, file)).catch(() => undefined);
  if (!info) throw new UsageError(`${file}: no such file`);
  if (info.isDirectory()) throw new UsageError(`${file} is a folder: export takes one file`);
  const read = await readPath(file, terminal.folder);
  const plan = read?.plans[0];
  const source = plan?.workspace.files.get(plan.uri);
  if (!plan || !source) throw new UsageError(read?.unreadable.join(', ') ?? `${file} cannot be read`);
  const understood = understand(plan.workspace, source);
  const wanted = values.task?.normalize('NFC');
  const tasks = understood.tasks.filter(({ task }) => wanted === undefined || task.name === wanted);
  if (wanted !== undefined && tasks.length === 0) {
    const near = nearest(
      wanted,
      understood.tasks.map(({ task }) => task.name),
    )[0];
    throw new UsageError(`${plan.name} has no task ${wanted}${near ? `; did you mean ${near}?` : ''}`);
  }
  const exported = exportedOf(understood, tasks, path.basename(file));
  for (const why of exported.left) terminal.err(`legwise: ${why}\n`);
  if (exported.points.length === 0) throw new UsageError(`${plan.name} holds no point with a position`);
  const text = FORMATS[to as keyof typeof FORMATS](exported);
  if (values.output === undefined || values.output === '-') terminal.out(text);
  else {
    const file = path.resolve(terminal.folder, values.output);
    await writeWhole(file, text).catch((error: unknown) => {
      throw new UsageError(`${file} cannot be written: ${(error as Error).message}`);
    });
  }
  return 0;
}
