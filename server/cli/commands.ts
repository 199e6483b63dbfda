/** The commands. Each takes its arguments and a terminal, and gives an exit status; only the streams and files are touched. */
import { statSync } from 'node:fs';
import path from 'node:path';
import { type ParseArgsConfig, parseArgs } from 'node:util';
import { URI } from 'vscode-uri';
import { EntryPool, parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { LARGEST_FILE, put, readImports, readPlanNow, textOf, workspaceFolder } from '../node/files.ts';
import { findPlans, NOT_UTF8 } from '../node/find.ts';
import { wayWithin } from '../node/folders.ts';
import { reasonOf, writeWhole } from '../node/write.ts';
import { legalEndOf } from '../plan/day.ts';
import { nearest } from '../plan/nearest.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import { harmless } from '../plan/text.ts';
import { type Understood, understand } from '../plan/understand.ts';
import { createWorkspace, setFile, type Workspace } from '../plan/workspace.ts';
import { budgetJson } from '../reports/budget-json.ts';
import { budgetMarkdown } from '../reports/budget-markdown.ts';
import { budgetText } from '../reports/budget-text.ts';
import { type Diagnostic, type Told, toldOf } from '../reports/diagnostic.ts';
import type { Paint } from '../reports/plain.ts';
import { RULES, ruleOf } from '../rules/index.ts';
import { pageOf } from '../rules/page.ts';
import { type CheckOptions, type Finding, SEVERITIES, type Severity } from '../rules/rule.ts';
import { check, type Overrides } from '../rules/run.ts';
import { USAGE } from './usage.ts';

export interface Terminal {
  readonly folder: string;
  readonly paint: Paint;
  /** Whether a person watches the error stream: then long work says how far it is. */
  readonly watched: boolean;
  readonly out: (text: string) => void;
  readonly err: (text: string) => void;
  readonly now: () => number;
  readonly stdin: () => Promise<Uint8Array>;
}

export type Status = 0 | 1 | 2;

/** Wrong use: the message is shown, and the exit status is 2. */
export class UsageError extends Error {}

/** Says a sentence on the error stream; what it names, such as a file, steers no terminal. */
export function tell(terminal: Pick<Terminal, 'err'>, sentence: string): void {
  terminal.err(`legwise: ${harmless(sentence)}\n`);
}

export const STDIN = '-';

export function args<T extends NonNullable<ParseArgsConfig['options']>>(argv: readonly string[], options: T) {
  const parsed = (() => {
    try {
      return parseArgs({ args: [...argv], options, allowPositionals: true, strict: true, tokens: true });
    } catch (error) {
      throw new UsageError((error as Error).message.replace(/\s*\n\s*/g, ' '));
    }
  })();
  // What a variable holds that is not set names neither a file nor the working folder.
  for (const token of parsed.tokens) {
    if (token.kind === 'option' && token.value === '') throw new UsageError(`${token.rawName} is given nothing`);
    if (token.kind === 'positional' && token.value === '') throw new UsageError('an argument is empty');
  }
  return parsed;
}

export function oneOf<T extends string>(value: string | undefined, of: readonly T[], option: string, otherwise: T): T {
  if (value === undefined) return otherwise;
  const found = of.find((one) => one === value);
  if (!found) throw new UsageError(`${option} takes ${of.join(', ')}, not ${value}`);
  return found;
}

export function overridesOf(given: readonly string[] | undefined): Overrides {
  const overrides = new Map<string, Severity | 'off'>();
  for (const one of given ?? []) {
    const at = one.indexOf('=');
    if (at < 0) throw new UsageError(`--severity takes CODE=LEVEL, such as below-reserve=warning, not ${one}`);
    const code = one.slice(0, at);
    const level = one.slice(at + 1);
    if (!ruleOf(code)) throw new UsageError(`no finding has the code ${code}; see legwise explain`);
    overrides.set(code, oneOf(level, [...SEVERITIES, 'off'], '--severity CODE=', 'off'));
  }
  return overrides;
}

/** What the rules are given besides the plans: the end of the legal day. */
export function optionsOf(legalEnd: string | undefined): CheckOptions {
  if (legalEnd === undefined) return {};
  const end = legalEndOf(legalEnd);
  if (!end) throw new UsageError(`--legal-end takes sunset, 'sunset + 30 min' or 'civil dusk', not ${legalEnd}`);
  return { legalEnd: end };
}

export interface Loaded {
  readonly workspace: Workspace;
  readonly uri: string;
  readonly name: string;
}

/** What a file is called in output: its path from the working folder, with `/`. */
export function nameIn(folder: string): (uri: string) => string {
  return (uri) => {
    const { scheme, fsPath } = URI.parse(uri);
    if (scheme === 'stdin') return '<stdin>';
    return (wayWithin(folder, fsPath) ?? fsPath).split(path.sep).join('/');
  };
}

/** Workspaces by their folder, so that plans of one repository share the files that they use. */
export class Loader {
  readonly unreadable: string[] = [];
  private readonly workspaces = new Map<string, Workspace>();
  private readonly folders = new Map<string, Promise<string>>();
  private readonly terminal: Terminal;
  private readonly given: string | undefined;

  constructor(terminal: Terminal, given: string | undefined) {
    this.terminal = terminal;
    this.given = given && path.resolve(terminal.folder, given);
  }

  /** Whether a file is read already. */
  knows(uri: string): boolean {
    return [...this.workspaces.values()].some(({ files }) => files.has(uri));
  }

  private folderOf(file: string): Promise<string> {
    const beside = path.dirname(file);
    const known = this.folders.get(beside) ?? workspaceFolder(file, this.terminal.folder);
    this.folders.set(beside, known);
    return known;
  }

  private async workspace(file: string): Promise<Workspace> {
    const folder = this.given ?? (await this.folderOf(file));
    const known = this.workspaces.get(folder) ?? {
      ...createWorkspace([URI.file(folder).toString()]),
      pool: new EntryPool(),
      // What a plan finds does not depend on what is checked beside it.
      inPart: true,
    };
    this.workspaces.set(folder, known);
    return known;
  }

  async load(file: string): Promise<Loaded | undefined> {
    const name = nameIn(this.terminal.folder);
    if (file === STDIN) {
      const workspace = await this.workspace(path.join(this.terminal.folder, 'stdin'));
      const uri = URI.file(path.join(this.terminal.folder, '-')).with({ scheme: 'file' }).toString();
      const result = textOf(await this.terminal.stdin());
      if ('why' in result) {
        this.unreadable.push(`standard input ${WHY[result.why]}`);
        return undefined;
      }
      setFile(workspace, uri, result.text);
      await readImports(workspace, uri);
      return { workspace, uri, name: '<stdin>' };
    }
    let workspace = await this.workspace(file);
    const uri = URI.file(file).toString();
    if (!workspace.files.has(uri)) {
      let result = readPlanNow(uri, workspace.roots);
      if ('why' in result && result.why === 'outside') {
        // A plan may be named wherever it lies; that does not bring it into a workspace for others to use.
        workspace = createWorkspace(workspace.roots);
        result = readPlanNow(uri);
      }
      if ('why' in result) {
        this.unreadable.push(unread(name(uri), result.why));
        return undefined;
      }
      put(workspace, uri, result);
    }
    await readImports(workspace, uri);
    return { workspace, uri, name: name(uri) };
  }
}

/** Why something cannot be read, behind what it is called. */
export const WHY = {
  missing: 'is not there',
  folder: 'is a folder',
  special: 'is a pipe, a device or a link in a circle',
  denied: 'cannot be read',
  'too-large': `is larger than ${LARGEST_FILE / 1024 / 1024} MB`,
  'not-text': 'is not UTF-8 text',
  outside: 'lies outside the workspace',
} as const;

const NOT_UTF8_WHY = 'is not there under that name; one that is not UTF-8 cannot be opened: rename the file';

/** Why a file cannot be read, as a sentence. */
const unread = (name: string, why: keyof typeof WHY): string =>
  `${name} ${why === 'missing' && name.includes(NOT_UTF8) ? NOT_UTF8_WHY : WHY[why]}`;

/** The folder that `--workspace` names, as given; throws where there is none. */
export function workspaceGiven(given: string | undefined, { folder }: Terminal): string | undefined {
  if (given === undefined) return undefined;
  const found = statSync(path.resolve(folder, given), { throwIfNoEntry: false });
  if (!found?.isDirectory())
    throw new UsageError(`--workspace takes a folder, and ${given} is ${found ? 'none' : 'not there'}`);
  return given;
}

export interface Checked {
  readonly loaded: Loaded;
  readonly understood: Understood;
  readonly findings: readonly Finding[];
  readonly told: readonly Told[];
  readonly diagnostics: readonly Diagnostic[];
}

export function checkLoaded(loaded: Loaded, overrides: Overrides, options: CheckOptions, terminal: Terminal): Checked {
  const { workspace, uri, name } = loaded;
  const file = workspace.files.get(uri);
  if (!file) throw new Error(`${name} was read and is gone`);
  const understood = understand(workspace, file);
  const onFailure = (code: string, error: unknown) =>
    terminal.err(
      `legwise: the check ${code} failed on ${harmless(name)}: ${error instanceof Error ? error.stack : String(error)}\n`,
    );
  const findings = check(workspace, understood, overrides, onFailure, options);
  const nameOf = nameIn(terminal.folder);
  const told = toldOf(workspace, findings, (of) => (of === uri ? name : nameOf(of)));
  return { loaded, understood, findings, told, diagnostics: told.map(({ diagnostic }) => diagnostic) };
}

export function failed(diagnostics: readonly Diagnostic[], failOn: Severity): boolean {
  const most = SEVERITIES.indexOf(failOn);
  return diagnostics.some((d) => SEVERITIES.indexOf(d.severity) <= most);
}

export interface PlansAt {
  readonly plans: readonly string[];
  /** Folders that could not be looked into: what each is called, and a sentence. */
  readonly closed: readonly { readonly name: string; readonly why: string }[];
}

export async function plansAt(paths: readonly string[], terminal: Terminal): Promise<PlansAt> {
  const named = paths.length === 0 ? ['.'] : paths;
  const { files, missing, closed, isLeftOut } = await findPlans(
    named.filter((one) => one !== STDIN),
    terminal.folder,
  );
  if (missing.length > 0) {
    const hint = missing.some((one) => one.includes(NOT_UTF8)) ? '; a name that is not UTF-8 cannot be opened' : '';
    throw new UsageError(`${missing.join(', ')}: no such file or folder${hint}`);
  }
  const plans = [...(named.includes(STDIN) ? [STDIN] : []), ...files];
  if (plans.length === 0 && closed.length === 0)
    throw new UsageError(
      `no plan (*.taskplan) lies in ${named.join(', ')}${isLeftOut ? ', but for what .gitignore leaves out' : ''}`,
    );
  const nameOf = nameIn(terminal.folder);
  return {
    plans,
    closed: closed.map(({ folder, why }) => {
      const name = nameOf(URI.file(folder).toString()) || '.';
      return { name, why: `${name} cannot be looked into, and may hold plans: ${why}` };
    }),
  };
}

export const CHECKING = {
  format: { type: 'string' },
  'fail-on': { type: 'string' },
  severity: { type: 'string', multiple: true },
  'legal-end': { type: 'string' },
  workspace: { type: 'string' },
} as const;

/** All tasks of a file, or the one that is asked for. */
export function tasksNamed(name: string | undefined, understood: Understood, file: string): readonly TaskEvaluation[] {
  const wanted = name?.normalize('NFC');
  const tasks = understood.tasks.filter(({ task }) => wanted === undefined || task.name === wanted);
  if (tasks.length > 0 || wanted === undefined) return tasks;
  const names = understood.tasks.map(({ task }) => task.name);
  const near = nearest(wanted, names)[0];
  throw new UsageError(
    `${file} has no task ${wanted}${near ? `; did you mean ${near}?` : names.length > 0 ? `; it has ${names.join(', ')}` : ''}`,
  );
}

export async function budgetCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { values, positionals } = args(argv, { ...CHECKING, task: { type: 'string' } });
  const format = oneOf(values.format, ['text', 'json', 'markdown'], '--format', 'text');
  const failOn = oneOf(values['fail-on'], ['error', 'warning', 'info'], '--fail-on', 'error');
  const [file, ...more] = positionals;
  if (!file || more.length > 0) throw new UsageError('budget takes one file');
  const loader = new Loader(terminal, workspaceGiven(values.workspace, terminal));
  const loaded = await loader.load(file === STDIN ? STDIN : path.resolve(terminal.folder, file));
  if (!loaded) {
    tell(terminal, loader.unreadable.join(', '));
    return 2;
  }
  const { understood, diagnostics } = checkLoaded(
    loaded,
    overridesOf(values.severity),
    optionsOf(values['legal-end']),
    terminal,
  );
  const tasks = tasksNamed(values.task, understood, loaded.name);
  if (format === 'json') terminal.out(budgetJson(tasks, loaded.name, diagnostics));
  else if (tasks.length === 0) terminal.out(`${harmless(loaded.name)} holds no task\n`);
  else if (format === 'markdown') terminal.out(budgetMarkdown(tasks, understood.units));
  else terminal.out(budgetText(tasks, understood.units, terminal.paint));
  return failed(diagnostics, failOn) ? 1 : 0;
}

export async function formatCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { values, positionals } = args(argv, { check: { type: 'boolean' } });
  let status: Status = 0;
  let changed = 0;
  const { plans, closed } = await plansAt(positionals, terminal);
  for (const { why } of closed) {
    tell(terminal, why);
    status = 2;
  }
  const nameOf = nameIn(terminal.folder);
  for (const plan of plans) {
    const name = plan === STDIN ? '<stdin>' : nameOf(URI.file(plan).toString());
    const read = plan === STDIN ? textOf(await terminal.stdin()) : readPlanNow(URI.file(plan).toString());
    const why = 'why' in read ? read.why : read.text.includes('\0') ? 'not-text' : undefined;
    const text = 'text' in read ? read.text : '';
    if (why) {
      tell(terminal, unread(name, why));
      status = 2;
      continue;
    }
    const formatted = formatFile(parseFile(text));
    if ('refused' in formatted) {
      tell(terminal, `${name} is left as it is: ${formatted.refused}`);
      status = 2;
      if (plan === STDIN) terminal.out(text);
      continue;
    }
    const differs = formatted.text !== text;
    if (plan === STDIN && !values.check) terminal.out(formatted.text);
    if (!differs) continue;
    if (values.check) {
      changed++;
      terminal.out(`${harmless(name)} is not in the standard layout\n`);
      if (status === 0) status = 1;
    } else if (plan !== STDIN) {
      try {
        await writeWhole(plan, formatted.text);
        terminal.out(`${harmless(name)}\n`);
        changed++;
      } catch (error) {
        tell(terminal, `${name} cannot be written: ${reasonOf(error)}`);
        status = 2;
      }
    }
  }
  if (!plans.includes(STDIN))
    terminal.err(`${changed} of ${plans.length} plans ${values.check ? 'would change' : 'changed'}\n`);
  return status;
}

export async function explainCommand(argv: readonly string[], terminal: Terminal): Promise<Status> {
  const { positionals } = args(argv, {});
  const [code, ...more] = positionals;
  if (more.length > 0) throw new UsageError('explain takes one code');
  if (code === undefined) {
    const width = Math.max(...RULES.map((rule) => rule.code.length));
    for (const rule of RULES) terminal.out(`${rule.code.padEnd(width)}  ${rule.severity.padEnd(7)}  ${rule.title}\n`);
    return 0;
  }
  const rule = ruleOf(code);
  if (!rule) {
    const near = nearest(
      code,
      RULES.map((one) => one.code),
    );
    throw new UsageError(
      `no finding has the code ${code}${near.length > 0 ? `; did you mean ${near.join(' or ')}?` : '; legwise explain lists them'}`,
    );
  }
  terminal.out(pageOf(rule));
  return 0;
}

export function helpFor(command: string): string {
  return USAGE[Object.hasOwn(USAGE, command) ? command : ''] as string;
}
