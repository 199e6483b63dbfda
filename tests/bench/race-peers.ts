/** Who runs in the race: our server, a floor, and servers of other languages, which are installed into `.cache/race` once. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { build } from 'esbuild';
import type { Contender } from './race-client.ts';
import * as documents from './race-documents.ts';

const ROOT = path.resolve(import.meta.dirname, '../..');
const CACHE = path.join(ROOT, '.cache/race');
const NODE = process.execPath;

export interface Runner extends Contender {
  readonly documents: documents.Documents;
  /** Its findings never react to an error: what it publishes is timed, whatever it says. */
  readonly isBlind?: boolean;
  /** It has no lasting mistake to report when a document is opened. */
  readonly isSilent?: boolean;
}

interface Peer extends Omit<Runner, 'command'> {
  readonly packages: readonly string[];
  /** The program among the packages' own, and what it is given. */
  readonly run: readonly [string, ...string[]];
}

/** Exact versions, so that two runs measure the same. */
const PEERS: readonly Peer[] = [
  {
    name: 'json',
    packages: ['vscode-langservers-extracted@4.10.0'],
    run: ['vscode-json-language-server', '--stdio'],
    documents: documents.json,
    initializationOptions: { provideFormatter: true },
    pulls: true,
  },
  {
    name: 'yaml',
    packages: ['yaml-language-server@1.25.0'],
    run: ['yaml-language-server', '--stdio'],
    documents: documents.yaml,
    settings: { yaml: { schemaStore: { enable: false }, validate: true, hover: true, completion: true } },
    pulls: true,
  },
  {
    name: 'docker',
    packages: ['dockerfile-language-server-nodejs@0.15.0'],
    run: ['docker-langserver', '--stdio'],
    documents: documents.dockerfile,
    pulls: true,
  },
  {
    name: 'bash',
    packages: ['bash-language-server@5.8.1'],
    run: ['bash-language-server', 'start'],
    documents: documents.shell,
    // Its findings come from another program, which a registry of packages does not have.
    settings: { bashIde: { shellcheckPath: '', backgroundAnalysisMaxFiles: 0 } },
    isBlind: true,
    isSilent: true,
    pulls: true,
  },
  {
    name: 'graphql',
    packages: ['graphql-language-service-cli@3.5.0', 'graphql@16.15.0'],
    run: ['graphql-lsp', 'server', '-m', 'stream'],
    documents: documents.graphql,
    pulls: true,
  },
  {
    name: 'prisma',
    packages: ['@prisma/language-server@31.12.10'],
    run: ['prisma-language-server', '--stdio'],
    documents: documents.prisma,
    settings: { prisma: { enableDiagnostics: true, fileWatcher: false } },
    pulls: true,
  },
  {
    name: 'python',
    packages: ['pyright@1.1.414'],
    run: ['pyright-langserver', '--stdio'],
    documents: documents.python,
    settings: { python: { analysis: { diagnosticMode: 'openFilesOnly', autoSearchPaths: false } } },
    pulls: true,
  },
  {
    name: 'typescript',
    packages: ['typescript-language-server@5.3.0', 'typescript@5.9.3'],
    run: ['typescript-language-server', '--stdio'],
    documents: documents.typescript,
    initializationOptions: { disableAutomaticTypingAcquisition: true },
    pulls: true,
  },
];

const OURS: Contender = {
  name: 'legwise',
  command: [NODE, path.join(ROOT, 'dist/server.cjs'), '--stdio'],
  pulls: true,
};

export const FIELDS = 10_000;

/** Ours by itself, with findings published as well as asked for, and over a file of many fields. */
export const ours: Runner = { ...OURS, documents: documents.taskplan };
export const oursPublishing: Runner = { ...ours, name: 'legwise, publishing', pulls: false };
export const oursOverFields: Runner = { ...OURS, documents: documents.overFields(FIELDS) };

/** The server that parses and publishes, and nothing else. */
export async function floor(): Promise<Runner> {
  const outfile = path.join(CACHE, 'floor.cjs');
  await build({
    entryPoints: [path.join(import.meta.dirname, 'race-floor.ts')],
    outfile,
    bundle: true,
    minify: true,
    platform: 'node',
    format: 'cjs',
    mainFields: ['module', 'main'],
    logLevel: 'warning',
  });
  return {
    name: 'floor',
    command: [NODE, outfile, '--stdio'],
    documents: documents.jsonSyntax,
    isSilent: true,
    pulls: false,
  };
}

/** The others, installed; those named, or all. */
export function peers(only: ReadonlySet<string> | undefined): Runner[] {
  return PEERS.filter(({ name }) => !only || only.has(name)).map(({ packages, run, ...runner }) => {
    const folder = path.join(CACHE, runner.name);
    const [program, ...args] = run;
    const file = path.join(folder, 'node_modules/.bin', program);
    const stamp = path.join(folder, '.installed');
    if (!existsSync(stamp) || !existsSync(file)) {
      console.log(`installing ${packages.join(', ')} (once)`);
      mkdirSync(folder, { recursive: true });
      writeFileSync(path.join(folder, 'package.json'), '{"private":true}');
      const done = spawnSync('npm', ['install', '--prefix', folder, '--ignore-scripts', '--no-audit', ...packages], {
        cwd: folder,
        encoding: 'utf8',
      });
      if (done.status !== 0 || !existsSync(file)) throw new Error(`${runner.name}: ${done.stderr}`);
      writeFileSync(stamp, packages.join('\n'));
    }
    return { ...runner, command: [NODE, file, ...args] };
  });
}
