/**
 * The built server as an editor drives it, beside servers of other languages and a floor, all in one run. It prints
 * milliseconds, and where ours is behind; it judges nothing.
 *
 *   npm run race
 *   npm run race -- --only json,yaml --lines 100,1000 --edits 100      a part
 *   npm run race -- --only none                                        ours and the floor
 *
 * A keystroke is one character typed or deleted at a place chosen by chance; half of the pairs make an error and mend it.
 * Its time runs from before the change is written to when the right findings are read: asked for right behind the change
 * where the server lets itself be asked, else published. Waits that a server makes of its own count in full. The next
 * keystroke comes when the server is quiet. The other columns are the middle of times from a keystroke to the answer of
 * a request sent right behind it. First findings are counted from the start of the process, with the disk's cache warm.
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus, tmpdir } from 'node:os';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { parseArgs } from 'node:util';
import type { Position, ServerCapabilities } from 'vscode-languageserver-protocol/node';
import { Server } from './race-client.ts';
import type { Typing } from './race-documents.ts';
import { FIELDS, floor, ours, oursOverFields, oursPublishing, peers, type Runner } from './race-peers.ts';

const { values } = parseArgs({
  options: {
    only: { type: 'string' },
    lines: { type: 'string', default: '100,1000,10000' },
    edits: { type: 'string', default: '500' },
    starts: { type: 'string', default: '5' },
  },
});
const SIZES = values.lines.split(',').map(Number);
const EDITS = Number(values.edits);
const STARTS = Number(values.starts);
/** A slow server does not hold up the rest: a phase ends after so many seconds. */
const MOST_S = { keystrokes: 45, feature: 5, bursts: 20 };
const REQUESTS = 60;
const BURSTS = 5;
const TYPED = 99;
/** Between an answer and the next keystroke. */
const REST_MS = 5;
const WAIT_MS = 20_000;

const FEATURES: Readonly<Record<string, readonly [string, keyof ServerCapabilities]>> = {
  hover: ['textDocument/hover', 'hoverProvider'],
  completion: ['textDocument/completion', 'completionProvider'],
  lenses: ['textDocument/codeLens', 'codeLensProvider'],
  hints: ['textDocument/inlayHint', 'inlayHintProvider'],
  symbols: ['textDocument/documentSymbol', 'documentSymbolProvider'],
  tokens: ['textDocument/semanticTokens/full', 'semanticTokensProvider'],
  format: ['textDocument/formatting', 'documentFormattingProvider'],
};

/** By column; undefined where a server has no such thing. */
type Figures = Record<string, number | undefined>;

/** The nearest rank. */
function percentile(times: readonly number[], share: number): number | undefined {
  const sorted = [...times].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.max(0, Math.ceil(share * sorted.length) - 1))];
}

/** The same numbers in every run, from 0 to below 1. */
function numbers(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 1_664_525 + 1_013_904_223) % 4_294_967_296;
    return state / 4_294_967_296;
  };
}

/** Behind every match of a pattern. */
function placesOf(lines: readonly string[], behind: RegExp): Position[] {
  return lines.flatMap((text, line) => {
    const found = behind.exec(text);
    return found ? [{ line, character: found.index + found[0].length }] : [];
  });
}

interface Place extends Typing {
  readonly at: readonly Position[];
}

async function race(runner: Runner, size: number): Promise<Figures> {
  const { documents } = runner;
  const folder = mkdtempSync(path.join(tmpdir(), 'legwise-race-'));
  const text = documents.make(size);
  const lines = text.split('\n');
  writeFileSync(path.join(folder, documents.fileName), text);
  for (const [name, content] of Object.entries(documents.files)) writeFileSync(path.join(folder, name), content);
  const figures: Figures = {};
  let server: Server | undefined;
  try {
    const anything = () => true;
    // One start is not counted: the disk's cache is cold.
    const first: number[] = [];
    const hello: number[] = [];
    let resting = '';
    for (let i = 0; i <= STARTS; i++) {
      server = new Server(runner, folder);
      await server.initialize();
      const helloMs = performance.now() - server.begunMs;
      server.open(documents.fileName, documents.languageId, text);
      // Support for being asked may be told a moment after the talk has started.
      if (runner.pulls && runner.name === 'python') await sleep(100);
      const right = runner.isSilent ? anything : (found: string) => found !== '';
      const answer = await server.findings(server.begunMs, 0, right, 3 * WAIT_MS);
      if (i > 0) {
        first.push(answer.ms);
        hello.push(helloMs);
      }
      resting = answer.found;
      if (i < STARTS) await server.stop();
    }
    if (!server) throw new Error('no server');
    const running = server;
    figures['hello'] = percentile(hello, 0.5);
    figures['first'] = percentile(first, 0.5);

    const next = numbers(size);
    const pick = <T>(of: readonly T[]): T => of[Math.floor(next() * of.length)] as T;
    const places = (typings: readonly Typing[]): Place[] =>
      typings.map((typing) => ({ ...typing, at: placesOf(lines, typing.behind) })).filter(({ at }) => at.length > 0);
    const benign = places(documents.benign);
    const breaking = places(documents.breaking);
    // What is published after the first answer, the files that it needed read, is what is shown at rest.
    if (!running.pulls) {
      await running.quiet(1000);
      resting = running.lastPublished;
    } else resting = (await running.findings(0, 0, anything, WAIT_MS)).found;

    let settleMs = REST_MS;
    const keystroke = async (at: Position, remove: number, insert: string, broken: boolean): Promise<number> => {
      const { mark } = running;
      const begun = performance.now();
      running.change(at, remove, insert);
      const right = (found: string) => runner.isBlind === true || (found !== resting) === broken;
      const answer = await running.findings(begun, mark, right, WAIT_MS);
      if (!right(answer.found))
        throw new Error(`wrong findings after ${JSON.stringify(insert)} at ${at.line}:${at.character}`);
      await running.quiet(settleMs);
      return answer.ms;
    };
    const pair = async (typing: Place, broken: boolean): Promise<number[]> => {
      const at = pick(typing.at);
      const typed = await keystroke(at, 0, typing.insert, broken);
      return [typed, await keystroke(at, typing.insert.length, '', false)];
    };

    // How long it goes on publishing behind the first answer: a server that publishes twice is let finish.
    if (!running.pulls) {
      settleMs = 700;
      const { mark } = running;
      await pair(pick(breaking), true);
      settleMs = running.mark - mark > 2 ? 300 : REST_MS;
    }
    const times: number[] = [];
    const begun = performance.now();
    const usedMs = running.processorMs();
    while (times.length < EDITS && performance.now() - begun < MOST_S.keystrokes * 1000) {
      const broken = next() < 0.5;
      times.push(...(await pair(pick(broken ? breaking : benign), broken)));
    }
    figures['processor'] = (running.processorMs() - usedMs) / times.length;
    figures['edits'] = times.length;
    figures['p50'] = percentile(times, 0.5);
    figures['p95'] = percentile(times, 0.95);
    figures['p99'] = percentile(times, 0.99);
    running.memory();

    const hovers = placesOf(lines, documents.hover);
    const completions = placesOf(lines, documents.completion);
    for (const [name, [method, provider]] of Object.entries(FEATURES)) {
      if (!running.has(method, provider)) continue;
      const taken: number[] = [];
      const started = performance.now();
      let asked = 0;
      const ask = async (at: Position, remove: number, insert: string) => {
        const from = performance.now();
        running.change(at, remove, insert);
        const line = Math.max(0, at.line - 30);
        const last = Math.min(lines.length - 1, line + 60);
        await running.request(method, {
          ...(name === 'hover' ? { position: pick(hovers) } : {}),
          ...(name === 'completion' ? { position: pick(completions), context: { triggerKind: 1 } } : {}),
          ...(name === 'hints' ? { range: { start: { line, character: 0 }, end: { line: last, character: 0 } } } : {}),
          ...(name === 'format' ? { options: { tabSize: 2, insertSpaces: true } } : {}),
        });
        taken.push(performance.now() - from);
        await sleep(REST_MS);
      };
      while (asked < REQUESTS && performance.now() - started < MOST_S.feature * 1000) {
        const typing = pick(benign);
        const at = pick(typing.at);
        await ask(at, 0, typing.insert);
        await ask(at, typing.insert.length, '');
        asked += 2;
      }
      figures[name] = percentile(taken, 0.5);
    }
    running.memory();

    // Bursts: 99 characters that change nothing and one that makes an error, as fast as they can be sent.
    const bursts: number[] = [];
    const burstsBegun = performance.now();
    for (let i = 0; i < BURSTS && performance.now() - burstsBegun < MOST_S.bursts * 1000; i++) {
      await running.quiet(500);
      const harmless = pick(benign);
      const harmful = pick(breaking);
      const at = pick(harmless.at);
      const elsewhere = harmful.at.find(({ line }) => line !== at.line) as Position;
      const { mark } = running;
      const burst = performance.now();
      for (let typed = 0; typed < TYPED; typed++) running.change(at, 0, harmless.insert);
      running.change(elsewhere, 0, harmful.insert);
      const isRight = (found: string) => runner.isBlind === true || found !== resting;
      const answer = await running.findings(burst, mark, isRight, 3 * WAIT_MS);
      if (running.pulls) bursts.push(answer.ms);
      else {
        await running.quiet(1000);
        bursts.push(running.lastPublishedMs - burst);
      }
      const back = running.mark;
      running.change(at, TYPED * harmless.insert.length, '');
      running.change(elsewhere, harmful.insert.length, '');
      const isBack = (found: string) => runner.isBlind === true || found === resting;
      await running.findings(performance.now(), back, isBack, 3 * WAIT_MS);
    }
    figures['burst'] = percentile(bursts, 0.5);
    figures['MB'] = running.memory();
  } finally {
    await server?.stop();
    rmSync(folder, { recursive: true, force: true });
  }
  return figures;
}

const COLUMNS = [
  'hello',
  'first',
  'p50',
  'p95',
  'p99',
  'processor',
  'hover',
  'completion',
  'lenses',
  'hints',
  'symbols',
  'tokens',
  'format',
  'burst',
  'MB',
];

const written = (value: number | undefined): string =>
  value === undefined ? '–' : value >= 100 ? value.toFixed(0) : value.toFixed(1);

function print(title: string, rows: readonly (readonly string[])[]): void {
  const head = [title, ...COLUMNS];
  const widths = head.map((cell, i) => Math.max(cell.length, ...rows.map((row) => (row[i] ?? '').length)));
  for (const row of [head, ...rows])
    console.log(
      row
        .map((cell, i) => (i === 0 ? cell.padEnd(widths[i] as number) : cell.padStart(widths[i] as number)))
        .join('  '),
    );
}

const begun = performance.now();
const only = values.only === undefined ? undefined : new Set(values.only.split(','));
const runners: Runner[] = [ours, oursPublishing, await floor(), ...peers(only)];
console.log(`${process.version}, ${availableParallelism()} × ${cpus()[0]?.model}; milliseconds and MB\n`);

const behind: string[] = [];
for (const size of SIZES) {
  const results = new Map<string, Figures>();
  for (const runner of runners) {
    try {
      results.set(runner.name, await race(runner, size));
    } catch (error) {
      console.log(`${runner.name}, ${size} lines: ${(error as Error).message}`);
    }
  }
  print(
    `${size.toLocaleString('en')} lines`,
    [...results].map(([name, figures]) => [name, ...COLUMNS.map((column) => written(figures[column]))]),
  );
  const own = results.get('legwise');
  const bare = results.get('floor');
  if (!own || !bare) throw new Error('without ours and the floor there is no race');
  // Two rows of ratios: to the floor, and to the best of the others.
  const ratio = (column: string, to: number | undefined) =>
    own[column] === undefined || to === undefined || to === 0 ? '–' : `${((own[column] as number) / to).toFixed(2)} ×`;
  const others = [...results].filter(([name]) => !name.startsWith('legwise') && name !== 'floor');
  const best = (column: string): readonly [string, number] | undefined =>
    others
      .flatMap(([name, figures]) => (figures[column] === undefined ? [] : [[name, figures[column]] as const]))
      .sort((a, b) => a[1] - b[1])[0];
  print('legwise ÷', [
    ['the floor', ...COLUMNS.map((column) => ratio(column, bare[column]))],
    ['the best other', ...COLUMNS.map((column) => ratio(column, best(column)?.[1]))],
    ['  which is', ...COLUMNS.map((column) => best(column)?.[0] ?? '–')],
  ]);
  console.log();
  for (const column of COLUMNS) {
    const other = best(column);
    const mine = own[column];
    if (other && mine !== undefined && mine > other[1])
      behind.push(`${size.toLocaleString('en')} lines, ${column}: ${written(mine)}, ${other[0]} ${written(other[1])}`);
  }
  if ((own['p50'] as number) > 2 * (bare['p50'] as number))
    behind.push(`${size.toLocaleString('en')} lines, p50: more than twice the floor's`);
}

const overFields = await race(oursOverFields, 60);
print(`over ${FIELDS.toLocaleString('en')} fields`, [
  ['legwise', ...COLUMNS.map((column) => written(overFields[column]))],
]);
console.log(
  `\n${behind.length === 0 ? 'Ours is ahead in every column.' : `Ours is behind in:\n  ${behind.join('\n  ')}`}\n\n${((performance.now() - begun) / 60_000).toFixed(1)} minutes`,
);
