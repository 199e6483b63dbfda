/** `check`: every finding of every plan, for a person or for a machine. */
import path from 'node:path';
import { URI } from 'vscode-uri';
import packageJson from '../../package.json' with { type: 'json' };
import { repositoryAbove } from '../node/find.ts';
import { wayWithin } from '../node/folders.ts';
import { keptFor } from '../plan/last-few.ts';
import { checkGithub, type InCheckout } from '../reports/check-github.ts';
import { checkJson, checkJsonLines } from '../reports/check-json.ts';
import { checkJunit } from '../reports/check-junit.ts';
import { checkSarif } from '../reports/check-sarif.ts';
import { checkText } from '../reports/check-text.ts';
import type { Paint } from '../reports/plain.ts';
import type { PlanReport } from '../reports/plan-report.ts';
import { stableNumber } from '../reports/stable-hash.ts';
import { SEVERITIES, type Severity } from '../rules/rule.ts';
import { checkPlans, foldersOf } from './check-plans.ts';
import {
  args,
  CHECKING,
  nameIn,
  oneOf,
  optionsOf,
  overridesOf,
  plansAt,
  STDIN,
  type Status,
  type Terminal,
  tell,
  UsageError,
  workspaceGiven,
} from './commands.ts';
import { sinceRevision } from './since.ts';
import { watching } from './watch.ts';

const FORMATS = ['text', 'json', 'jsonl', 'sarif', 'github', 'junit'] as const;
type Format = (typeof FORMATS)[number];

const OPTIONS = {
  ...CHECKING,
  shard: { type: 'string' },
  cache: { type: 'string' },
  jobs: { type: 'string' },
  since: { type: 'string' },
  watch: { type: 'boolean' },
} as const;

/** Whether a plan, by its name, belongs to the part `k/n` of all. */
function shardOf(given: string | undefined): (name: string) => boolean {
  if (given === undefined) return () => true;
  const [, k, n] = /^(\d{1,6})\/(\d{1,6})$/.exec(given) ?? [];
  const part = Number(k);
  const parts = Number(n);
  if (!(part >= 1 && part <= parts))
    throw new UsageError(`--shard takes a part and how many, such as 2/4, not ${given}`);
  return (name) => stableNumber(name) % parts === part - 1;
}

function jobsOf(given: string | undefined): number | undefined {
  if (given === undefined) return undefined;
  if (!/^[1-9]\d?$/.test(given)) throw new UsageError(`--jobs takes a number from 1 to 99, not ${given}`);
  return Number(given);
}

function written(
  reports: readonly PlanReport[],
  format: Format,
  fails: (severity: Severity) => boolean,
  inCheckout: InCheckout,
  paint: Paint,
): string {
  const noted = reports.flatMap((report) => report.noted);
  const read = reports.filter(({ unreadable }) => unreadable === null).length;
  switch (format) {
    case 'json':
      return checkJson(noted, read);
    case 'jsonl':
      return checkJsonLines(noted);
    case 'sarif':
      return checkSarif(reports, packageJson.version);
    case 'github':
      return checkGithub(reports, inCheckout);
    case 'junit':
      return checkJunit(reports, fails);
    case 'text': {
      const lines = new Map(noted.map(({ diagnostic: d, source }) => [`${d.line} ${d.file}`, source]));
      const lineOf = (file: string, line: number) => lines.get(`${line} ${file}`) ?? '';
      const diagnostics = noted.map(({ diagnostic }) => diagnostic);
      return checkText(diagnostics, read, lineOf, paint);
    }
  }
}

/** What files are called from the top of the checkout, where a workflow looks for them wherever it runs the check. */
async function checkoutNames(reports: readonly PlanReport[], { folder }: Terminal): Promise<InCheckout> {
  const workspace = process.env['GITHUB_WORKSPACE'];
  const known = new Map<string, Promise<string | undefined>>();
  const repository = (beside: string) => keptFor(known, beside, () => repositoryAbove(beside));
  const diagnostics = reports.flatMap(({ noted }) => noted.map(({ diagnostic }) => diagnostic));
  const files = new Set(diagnostics.flatMap(({ file, related }) => [file, ...related.map((one) => one.file)]));
  const names = new Map<string, string>();
  for (const file of files) {
    if (file === '<stdin>') continue;
    const whole = path.resolve(folder, file);
    const tops = [workspace ? path.resolve(workspace) : undefined, await repository(path.dirname(whole))];
    const way = tops.map((top) => top && wayWithin(top, whole)).find((one) => one !== undefined);
    if (way !== undefined) names.set(file, way.split(path.sep).join('/'));
  }
  return (file) => names.get(file) ?? file;
}

export async function checkCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { values, positionals } = args(argv, OPTIONS);
  const format = oneOf(values.format, FORMATS, '--format', 'text');
  const failOn = oneOf(values['fail-on'], ['error', 'warning', 'info'], '--fail-on', 'error');
  const severity = values.severity ?? [];
  overridesOf(severity);
  optionsOf(values['legal-end']);
  const inShard = shardOf(values.shard);
  const jobs = jobsOf(values.jobs);
  const fails = (one: Severity) => SEVERITIES.indexOf(one) <= SEVERITIES.indexOf(failOn);
  const nameOf = nameIn(terminal.folder);
  const workspace = workspaceGiven(values.workspace, terminal);
  const setting = { folder: terminal.folder, workspace, severity, legalEnd: values['legal-end'] };

  const once = async (): Promise<Status> => {
    const found = await plansAt(positionals, terminal);
    const plans = found.plans.filter((plan) => inShard(plan === STDIN ? '<stdin>' : nameOf(URI.file(plan).toString())));
    const closed = found.closed
      .filter(({ name }) => inShard(name))
      .map(({ name, why }): PlanReport => ({ name, noted: [], unreadable: why }));
    const bringing =
      values.since === undefined ? undefined : await sinceRevision(values.since, plans, setting, terminal);
    const begun = terminal.now();
    let told = false;
    const progress = (checked: number) => {
      if (!terminal.watched || terminal.now() - begun <= 1000) return;
      terminal.err(`\r${checked} of ${plans.length} plans checked`);
      told = true;
    };
    const all = await checkPlans(plans, setting, terminal, { cache: values.cache, jobs, progress });
    const reports = [...(bringing ? await bringing(all) : all), ...closed];
    if (told) terminal.err('\r\u001b[K');

    const inCheckout = format === 'github' ? await checkoutNames(reports, terminal) : (file: string) => file;
    terminal.out(written(reports, format, fails, inCheckout, terminal.paint));
    const unreadable = reports.flatMap((report) => report.unreadable ?? []);
    for (const why of unreadable) tell(terminal, why);
    if (unreadable.length > 0) return 2;
    return reports.some(({ noted }) => noted.some(({ diagnostic }) => fails(diagnostic.severity))) ? 1 : 0;
  };
  if (!values.watch) return once();
  if (positionals.includes(STDIN)) throw new UsageError('--watch watches files, not standard input');

  const { plans } = await plansAt(positionals, terminal);
  const folders = await foldersOf(plans, setting);
  return watching({
    folders,
    files: new Set(plans),
    redraws: process.stdout.isTTY === true,
    out: terminal.out,
    work: sayingMistakes(once, terminal),
  });
}

/** While one watches, a path that leads to nothing for a moment is said and not the end. */
function sayingMistakes(work: () => Promise<Status>, terminal: Terminal): () => Promise<Status> {
  return () =>
    work().catch((error: unknown): Status => {
      if (!(error instanceof UsageError)) throw error;
      tell(terminal, error.message);
      return 2;
    });
}
