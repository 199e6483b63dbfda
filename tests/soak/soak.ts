/**
 * A long day of an editor: random edits, requests, cancellations, opens, closes, renames and changes on the disk over 50
 * files. At each thousandth step the server says what a fresh one says.
 */
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { CancellationTokenSource } from 'vscode-languageserver-protocol/node';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { URI } from 'vscode-uri';
import { mutate, type Random, randomFrom } from '../fuzz/mutations.ts';
import { type Heap, Soaked } from './soaked.ts';

const SAMPLES = path.join(import.meta.dirname, '../../samples');
const FILES = 50;
const OPEN_AT_MOST = 12;
const IN_FLIGHT_AT_MOST = 12;
const LONGEST = 10_000;
/** Answers that a client has to expect: cancelled, the text has changed, and what a rename refuses with a reason. */
const EXPECTED = new Set([-32800, -32801, -32803]);

const METHODS = [
  'textDocument/hover',
  'textDocument/completion',
  'textDocument/definition',
  'textDocument/typeDefinition',
  'textDocument/references',
  'textDocument/documentHighlight',
  'textDocument/documentSymbol',
  'textDocument/documentLink',
  'textDocument/foldingRange',
  'textDocument/selectionRange',
  'textDocument/prepareRename',
  'textDocument/rename',
  'textDocument/linkedEditingRange',
  'textDocument/semanticTokens/full',
  'textDocument/semanticTokens/full/delta',
  'textDocument/semanticTokens/range',
  'textDocument/inlayHint',
  'textDocument/codeAction',
  'textDocument/codeLens',
  'textDocument/formatting',
  'textDocument/rangeFormatting',
  'textDocument/onTypeFormatting',
  'textDocument/diagnostic',
  'workspace/symbol',
];

const SNIPPETS = [
  '\n',
  '  ',
  ' ',
  '7',
  '0',
  '#',
  '"',
  'x',
  ' kt',
  ' MSL',
  '\n  climb to 4800 ft MSL\n',
  '\n  turn Ashmoor',
  '\nuse "../club/weather.taskplan"\n',
  'field New at 47.2 N 19.4 E\n  elevation 190 m\n',
  'é',
  '😀',
  '\r\n',
];

export interface Sample {
  readonly step: number;
  readonly heap: Heap;
}

export interface Soak {
  readonly steps: number;
  readonly counts: Readonly<Record<string, number>>;
  readonly compared: number;
  readonly memory: readonly Sample[];
  /** What went wrong, in words. */
  readonly wrong: readonly string[];
}

interface Open {
  document: TextDocument;
}

interface Flight {
  readonly cancel: () => void;
  readonly done: Promise<void>;
}

/** Bytes that each step adds, by least squares over the samples of the later `share` of the steps. */
export function slope(memory: readonly Sample[], share: number, of: keyof Heap = 'bytes'): number {
  const late = memory.slice(Math.floor(memory.length * (1 - share)));
  const n = late.length;
  if (n < 2) return 0;
  const meanX = late.reduce((sum, { step }) => sum + step, 0) / n;
  const meanY = late.reduce((sum, { heap }) => sum + heap[of], 0) / n;
  const top = late.reduce((sum, { step, heap }) => sum + (step - meanX) * (heap[of] - meanY), 0);
  const below = late.reduce((sum, { step }) => sum + (step - meanX) ** 2, 0);
  return top / below;
}

/** The samples of the club, and as many plans more as make 50 files, each over a part of the others. */
function makeFolder(random: Random): { folder: string; names: string[] } {
  const folder = mkdtempSync(path.join(tmpdir(), 'legwise-soak-'));
  const names = readdirSync(SAMPLES, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.taskplan'))
    .map((name) => name.replaceAll('\\', '/'))
    .sort();
  const plans = names.filter((name) => name.startsWith('plans/'));
  for (const name of names) {
    mkdirSync(path.dirname(path.join(folder, name)), { recursive: true });
    writeFileSync(path.join(folder, name), readFileSync(path.join(SAMPLES, name)));
  }
  for (let i = 0; names.length < FILES; i++) {
    const name = `plans/more-${i}.taskplan`;
    const from = plans[Math.floor(random() * plans.length)] as string;
    const use = random() < 0.5 ? `use "more-${Math.floor(random() * (i + 2))}.taskplan"\n` : '';
    writeFileSync(path.join(folder, name), use + readFileSync(path.join(SAMPLES, from), 'utf8'));
    names.push(name);
  }
  return { folder, names };
}

/**
 * Runs so many steps. `tell` hears of each comparison. Nothing is thrown for what the server does: that is in `wrong`.
 */
export async function soak(
  steps: number,
  seed: number,
  tell: (line: string) => void = () => {},
  every = 1000,
): Promise<Soak> {
  const random = randomFrom(seed);
  const { folder, names } = makeFolder(random);
  const uriOf = (name: string) => URI.file(path.join(folder, name)).toString();
  const open = new Map<string, Open>();
  const server = await Soaked.start(folder);
  const wrong: string[] = [];
  const counts: Record<string, number> = {};
  const memory: Sample[] = [];
  let flights: Flight[] = [];
  let renamed = 0;
  let compared = 0;

  const pick = <T>(from: readonly T[]): T => from[Math.floor(random() * from.length)] as T;
  const anyOpen = (): [string, Open] | undefined => {
    const all = [...open];
    return all.length === 0 ? undefined : pick(all);
  };
  const onDisk = (name: string): string | undefined => {
    try {
      return readFileSync(path.join(folder, name), 'utf8');
    } catch {
      return undefined;
    }
  };
  const changed = (...changes: [string, number][]) =>
    server.notify('workspace/didChangeWatchedFiles', {
      changes: changes.map(([name, type]) => ({ uri: uriOf(name), type })),
    });

  const didOpen = (name: string): void => {
    const text = onDisk(name) ?? '';
    open.set(name, { document: TextDocument.create(uriOf(name), 'taskplan', 1, text) });
    server.notify('textDocument/didOpen', {
      textDocument: { uri: uriOf(name), languageId: 'taskplan', version: 1, text },
    });
  };
  const didClose = (name: string): void => {
    open.delete(name);
    server.notify('textDocument/didClose', { textDocument: { uri: uriOf(name) } });
  };

  const edit = (): void => {
    const found = anyOpen();
    if (!found) {
      didOpen(pick(names));
      return;
    }
    const [name, one] = found;
    const { document } = one;
    const text = document.getText();
    const version = document.version + 1;
    const changes: { range?: { start: object; end: object }; text: string }[] = [];
    if (text.length > LONGEST || random() < 0.01) changes.push({ text: onDisk(name) ?? '' });
    else if (random() < 0.05) changes.push({ text: mutate(random, text, text).toWellFormed() });
    else {
      let now = document;
      for (let left = random() < 0.9 ? 1 : 3; left > 0; left--) {
        const at = Math.floor(random() * (now.getText().length + 1));
        const cut = random() < 0.5 ? 0 : Math.floor(random() * 14);
        const range = { start: now.positionAt(at), end: now.positionAt(at + cut) };
        const change = { range, text: random() < 0.7 ? pick(SNIPPETS) : '' };
        changes.push(change);
        now = TextDocument.update(TextDocument.create(now.uri, 'taskplan', 0, now.getText()), [change], 0);
      }
    }
    one.document = TextDocument.update(document, changes as never, version);
    server.notify('textDocument/didChange', { textDocument: { uri: uriOf(name), version }, contentChanges: changes });
  };

  const request = (): void => {
    const found = anyOpen();
    if (!found) return;
    const [name, { document }] = found;
    const method = pick(METHODS);
    const position = document.positionAt(Math.floor(random() * (document.getText().length + 1)));
    const end = document.positionAt(document.offsetAt(position) + Math.floor(random() * 200));
    const params = {
      textDocument: { uri: uriOf(name) },
      position,
      positions: [position],
      range: { start: position, end },
      context: { diagnostics: [], includeDeclaration: true },
      options: { tabSize: 2, insertSpaces: true },
      ch: random() < 0.5 ? '\n' : ' ',
      newName: pick(['Other', '"Two Words"', 'task']),
      previousResultId: String(Math.floor(random() * 50)),
      query: pick(['', 'lark', 'b']),
    };
    const source = new CancellationTokenSource();
    const flight: Flight = {
      cancel: () => source.cancel(),
      done: server.connection.sendRequest(method, params, source.token).then(
        () => {},
        (error: { code?: number; message: string }) => {
          if (!EXPECTED.has(error.code ?? 0)) wrong.push(`${method}: ${error.message}`);
        },
      ),
    };
    flights.push(flight);
    void flight.done.then(() => {
      flights = flights.filter((other) => other !== flight);
    });
  };

  const fromDisk = (): void => {
    const name = pick(names);
    const text = onDisk(name);
    const chance = random();
    if (text !== undefined && chance < 0.2) {
      rmSync(path.join(folder, name));
      changed([name, 3]);
    } else {
      const base = text ?? readFileSync(path.join(SAMPLES, 'plans/practice-triangle.taskplan'), 'utf8');
      writeFileSync(path.join(folder, name), mutate(random, base, base).slice(0, LONGEST).toWellFormed());
      changed([name, text === undefined ? 1 : 2]);
    }
  };

  /** As an editor renames: it asks what to change, moves the file, closes the old and opens the new. */
  const renameFile = async (): Promise<void> => {
    const at = Math.floor(random() * names.length);
    const name = names[at] as string;
    if (onDisk(name) === undefined) return;
    const to = `${path.posix.dirname(name)}/renamed-${++renamed % 60}.taskplan`;
    if (names.includes(to)) return;
    await server.connection.sendRequest('workspace/willRenameFiles', {
      files: [{ oldUri: uriOf(name), newUri: uriOf(to) }],
    });
    renameSync(path.join(folder, name), path.join(folder, to));
    names[at] = to;
    const wasOpen = open.has(name);
    if (wasOpen) didClose(name);
    changed([name, 3], [to, 1]);
    if (wasOpen) didOpen(to);
  };

  const settled = async (): Promise<void> => {
    await Promise.all(flights.map(({ done }) => done));
  };

  const compare = async (step: number): Promise<void> => {
    await settled();
    // What is read from the disk after a change comes in behind; a fresh server reads it all at its start.
    const fresh = await Soaked.start(folder);
    try {
      for (const [name, { document }] of open)
        fresh.notify('textDocument/didOpen', {
          textDocument: {
            uri: uriOf(name),
            languageId: 'taskplan',
            version: document.version,
            text: document.getText(),
          },
        });
      const differences = async (): Promise<string[]> => {
        const found: string[] = [];
        const differ = (what: string, ours: unknown, theirs: unknown) => {
          const [one, other] = [JSON.stringify(ours), JSON.stringify(theirs)];
          if (one === other) return;
          let i = 0;
          while (one[i] === other[i]) i++;
          found.push(
            `step ${step}: ${what}: ${one.slice(Math.max(0, i - 80), i + 200)}\n  fresh: ${other.slice(Math.max(0, i - 80), i + 200)}`,
          );
        };
        for (const name of open.keys()) {
          const [ours, theirs] = [await server.said(uriOf(name)), await fresh.said(uriOf(name))];
          for (const key of Object.keys(ours) as (keyof typeof ours)[])
            differ(`${key} of ${name}`, ours[key], theirs[key]);
          differ(`published of ${name}`, server.published.get(uriOf(name)), ours.findings);
        }
        const [ours, theirs] = [await server.saidOfAll(), await fresh.saidOfAll()];
        differ('names', ours.names, theirs.names);
        differ('findings of all', ours.findings, theirs.findings);
        return found;
      };
      // Both read files meanwhile: only what stays different is.
      let found = await differences();
      for (let tries = 0; found.length > 0 && tries < 8; tries++) {
        await new Promise((resolve) => setTimeout(resolve, 250 * (tries + 1)));
        found = await differences();
      }
      wrong.push(...found);
      wrong.push(...fresh.wrong.map((one) => `the fresh server: ${one}`));
      compared++;
    } finally {
      await fresh.stop();
    }
    const heap = await server.heap();
    memory.push({ step, heap });
    const MB = (bytes: number) => (bytes / 1024 / 1024).toFixed(1);
    tell(
      `step ${step}: ${wrong.length + server.wrong.length} wrong, heap ${MB(heap.bytes)} MB, in all ${MB(heap.rss)} MB`,
    );
  };

  const run = async (): Promise<void> => {
    for (let i = 0; i < 8; i++) didOpen(names[i * 5] as string);
    for (let step = 1; step <= steps; step++) {
      const chance = random();
      const kind =
        chance < 0.55
          ? 'edit'
          : chance < 0.86
            ? 'request'
            : chance < 0.91
              ? 'cancel'
              : chance < 0.96
                ? 'open or close'
                : chance < 0.99
                  ? 'disk'
                  : 'rename';
      counts[kind] = (counts[kind] ?? 0) + 1;
      if (kind === 'edit') edit();
      else if (kind === 'request') request();
      else if (kind === 'cancel') flights.at(-1)?.cancel();
      else if (kind === 'disk') fromDisk();
      else if (kind === 'rename') await renameFile();
      else {
        const closed = names.filter((name) => !open.has(name));
        if (open.size > 1 && (open.size >= OPEN_AT_MOST || random() < 0.5)) didClose(pick([...open.keys()]));
        else didOpen(pick(closed));
      }
      if (flights.length >= IN_FLIGHT_AT_MOST) await Promise.race(flights.map(({ done }) => done));
      if (step % every === 0 || step === steps) await compare(step);
      if (wrong.length + server.wrong.length > 20) break;
    }
    await server.stop();
  };
  try {
    // An answer that is waited for never comes from a server that is gone.
    await Promise.race([run(), server.ended]);
  } catch (error) {
    wrong.push(String(error));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return { steps, counts, compared, memory, wrong: [...wrong, ...server.wrong] };
}
