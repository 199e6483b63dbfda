/** `brief`: the sheet that is printed and carried. */
import path from 'node:path';
import { URI } from 'vscode-uri';
import { checkedOut, GitError, repositoryOf } from '../node/git.ts';
import { briefPage, PAPERS } from '../reports/brief-html.ts';
import { type BriefStamp, briefSheets } from '../reports/brief-model.ts';
import {
  args,
  CHECKING,
  checkLoaded,
  failed,
  type Loaded,
  Loader,
  oneOf,
  optionsOf,
  overridesOf,
  STDIN,
  type Status,
  type Terminal,
  tasksNamed,
  UsageError,
  workspaceGiven,
} from './commands.ts';
import { writeOutput } from './output.ts';

const KINDS = { '.html': 'html', '.htm': 'html', '.pdf': 'pdf' } as const;

/** `2026-11-25 10:40Z`, in the time of the machine: `2026-11-25 11:40+01:00`. */
function timeText(now: Date): string {
  const aheadMinutes = -now.getTimezoneOffset();
  const two = (value: number) => String(value).padStart(2, '0');
  const local = new Date(now.getTime() + aheadMinutes * 60_000).toISOString();
  const ahead = Math.abs(aheadMinutes);
  const zone =
    aheadMinutes === 0 ? 'Z' : `${aheadMinutes < 0 ? '-' : '+'}${two(Math.floor(ahead / 60))}:${two(ahead % 60)}`;
  return `${local.slice(0, 10)} ${local.slice(11, 16)}${zone}`;
}

/** The revision of a plan and of all that it uses; null where there is none, or no git. */
async function revisionOf(
  { uri }: Loaded,
  files: readonly { readonly uri: string }[],
): Promise<BriefStamp['revision']> {
  try {
    const repository = await repositoryOf(path.dirname(URI.parse(uri).fsPath));
    const paths = files.map((file) => URI.parse(file.uri).fsPath);
    return (await checkedOut(repository, paths)) ?? null;
  } catch (error) {
    if (error instanceof GitError) return null;
    throw error;
  }
}

export async function briefCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { format: _, ...checking } = CHECKING;
  const { values, positionals } = args(argv, {
    ...checking,
    task: { type: 'string' },
    output: { type: 'string', short: 'o' },
    paper: { type: 'string' },
  });
  const failOn = oneOf(values['fail-on'], ['error', 'warning', 'info'], '--fail-on', 'error');
  const paper = oneOf(values.paper, PAPERS, '--paper', 'a4');
  const [given, ...more] = positionals;
  if (!given || more.length > 0) throw new UsageError('brief takes one file');
  const { output } = values;
  if (output === undefined)
    throw new UsageError('brief takes -o OUT.html, -o OUT.pdf, or -o - for HTML on standard output');
  const ending = path.extname(output).toLowerCase();
  const kind =
    output === STDIN ? 'html' : Object.hasOwn(KINDS, ending) ? KINDS[ending as keyof typeof KINDS] : undefined;
  if (!kind) throw new UsageError(`-o takes a file that ends in .html or .pdf, not ${output}`);
  const loader = new Loader(terminal, workspaceGiven(values.workspace, terminal));
  const loaded = await loader.load(given === STDIN ? STDIN : path.resolve(terminal.folder, given));
  if (!loaded) throw new UsageError(loader.unreadable.join(', '));
  const { understood, findings, diagnostics } = checkLoaded(
    loaded,
    overridesOf(values.severity),
    optionsOf(values['legal-end']),
    terminal,
  );
  const tasks = tasksNamed(values.task, understood, loaded.name);
  if (tasks.length === 0) throw new UsageError(`${loaded.name} holds no task`);
  const now = new Date();
  const stamp: BriefStamp = {
    file: loaded.name,
    revision: given === STDIN ? null : await revisionOf(loaded, understood.scope.files),
    time: timeText(now),
  };
  const sheets = briefSheets(loaded.workspace, understood, findings, stamp, tasks);
  if (output === STDIN) terminal.out(briefPage(sheets, paper));
  else {
    const content =
      kind === 'html'
        ? briefPage(sheets, paper)
        : await (await import('../node/brief-pdf.ts')).pdfOf(sheets, { paper, madeMs: now.getTime() });
    await writeOutput(output, content, given, loaded, terminal);
  }
  return failed(diagnostics, failOn) ? 1 : 0;
}
