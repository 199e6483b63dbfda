/** `export`: the tasks and points of a plan for maps and receivers. */
import path from 'node:path';
import { understand } from '../plan/understand.ts';
import { exportedOf } from '../reports/export-data.ts';
import { exportGeojson } from '../reports/export-geojson.ts';
import { exportGpx } from '../reports/export-gpx.ts';
import { exportKml } from '../reports/export-kml.ts';
import {
  args,
  Loader,
  STDIN,
  type Status,
  type Terminal,
  tasksNamed,
  tell,
  UsageError,
  workspaceGiven,
} from './commands.ts';
import { writeOutput } from './output.ts';

const FORMATS = { geojson: exportGeojson, gpx: exportGpx, kml: exportKml };

export async function exportCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { values, positionals } = args(argv, {
    to: { type: 'string' },
    task: { type: 'string' },
    output: { type: 'string', short: 'o' },
    workspace: { type: 'string' },
  });
  const [file, ...more] = positionals;
  if (!file || more.length > 0) throw new UsageError('export takes one file');
  const ending = values.output === undefined ? '' : path.extname(values.output).slice(1).toLowerCase();
  const to = values.to ?? (Object.hasOwn(FORMATS, ending) ? ending : undefined);
  if (to === undefined || !Object.hasOwn(FORMATS, to))
    throw new UsageError(`--to takes ${Object.keys(FORMATS).join(', ')}${to === undefined ? '' : `, not ${to}`}`);
  const loader = new Loader(terminal, workspaceGiven(values.workspace, terminal));
  const loaded = await loader.load(file === STDIN ? STDIN : path.resolve(terminal.folder, file));
  const source = loaded?.workspace.files.get(loaded.uri);
  if (!loaded || !source) throw new UsageError(loader.unreadable.join(', '));
  const understood = understand(loaded.workspace, source);
  const tasks = tasksNamed(values.task, understood, loaded.name);
  const exported = exportedOf(understood, tasks, file === STDIN ? loaded.name : path.basename(file));
  for (const why of exported.left) tell(terminal, why);
  if (exported.points.length === 0) throw new UsageError(`${loaded.name} holds no point with a position`);
  const text = FORMATS[to as keyof typeof FORMATS](exported);
  if (values.output === undefined || values.output === STDIN) terminal.out(text);
  else await writeOutput(values.output, text, file, loaded, terminal);
  return 0;
}
