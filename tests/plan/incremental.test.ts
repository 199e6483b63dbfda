/** The result of any sequence of edits is the same as that of opening the edited texts afresh. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { rangeOf } from '../../server/plan/places.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, type Workspace } from '../../server/plan/workspace.ts';
import { budgetJson } from '../../server/reports/budget-json.ts';
import { check } from '../../server/rules/run.ts';
import { taskplan } from '../bench/race-documents.ts';
import { between } from '../flight/arbitraries.ts';

const SAMPLES = path.resolve(import.meta.dirname, '../../samples');
const ROOT = 'file:///samples';
const texts = new Map<string, string>();
for (const file of readdirSync(SAMPLES, { recursive: true, encoding: 'utf8' })) {
  if (file.endsWith('.taskplan'))
    texts.set(`${ROOT}/${file.split(path.sep).join('/')}`, readFileSync(path.join(SAMPLES, file), 'utf8'));
}
const uris = [...texts.keys()].filter((uri) => /fields|rules|fleet|leg-home|slips/.test(uri));

/** Everything that is said of the workspace, in plain values. */
function said(workspace: Workspace): unknown {
  return uris.map((uri) => {
    const file = workspace.files.get(uri);
    if (!file) return undefined;
    const understood = understand(workspace, file);
    const findings = check(workspace, understood, undefined, (code, error) => {
      throw new Error(code, { cause: error });
    });
    return {
      budget: budgetJson(understood.tasks, uri, []),
      findings: findings.map(({ code, severity, message, at, related }) => ({
        code,
        severity,
        message,
        at: rangeOf(workspace, at),
        related: related.map((r) => [r.message, rangeOf(workspace, r.at)]),
      })),
    };
  });
}

function fresh(now: ReadonlyMap<string, string>): Workspace {
  const workspace = createWorkspace([ROOT]);
  for (const uri of uris) setFile(workspace, uri, now.get(uri) as string);
  return workspace;
}

/** Snippets as they are typed, and as they are pasted. */
const snippet = fc.oneof(
  fc.constantFrom(
    '\n',
    '  ',
    '#',
    '"',
    ' ',
    'climb to 4800 ft MSL\n',
    '\n  turn      Ashmoor\n',
    'use "../club/weather.taskplan"\n',
    '7',
    ' kt',
    'MSL',
    'task "Other"\n',
  ),
  fc.string({ maxLength: 3 }),
);
const edit = fc.record({
  file: fc.nat(uris.length - 1),
  at: between(0, 1),
  cut: fc.nat(12),
  put: snippet,
});

test('edits one after another, in any file', () => {
  fc.assert(
    fc.property(fc.array(edit, { minLength: 1, maxLength: 8 }), (edits) => {
      const now = new Map(uris.map((uri) => [uri, texts.get(uri) as string]));
      const workspace = fresh(now);
      said(workspace);
      for (const { file, at, cut, put } of edits) {
        const uri = uris[file] as string;
        const before = now.get(uri) as string;
        const offset = Math.floor(at * before.length);
        const after = before.slice(0, offset) + put + before.slice(offset + cut);
        now.set(uri, after);
        setFile(workspace, uri, after);
        // What is kept from a state in between must not show in the end.
        const current = workspace.files.get(uri);
        if (current) check(workspace, understand(workspace, current));
      }
      expect(said(workspace)).toEqual(said(fresh(now)));
    }),
    { numRuns: 500 },
  );
});

test('fields that change, go and come back where many are in reach', () => {
  const uri = `${ROOT}/many.taskplan`;
  const text = taskplan.make(600);
  const lines = text.split('\n');
  const rows = lines.flatMap((line, row) =>
    /^ {2}(elevation \d+ m|note "place|climb|runway)|^field P/.test(line) ? [row] : [],
  );
  const told = (workspace: Workspace) => {
    const file = workspace.files.get(uri);
    if (!file) throw new Error('no plan');
    const { tasks } = understand(workspace, file);
    const findings = check(workspace, understand(workspace, file)).map((finding) => [
      finding.code,
      finding.message,
      rangeOf(workspace, finding.at),
      finding.related.map((r) => [r.message, rangeOf(workspace, r.at)]),
    ]);
    // With the numbers of every stretch and of the worst point of every leg.
    return { findings, budget: budgetJson(tasks, uri, []) };
  };
  const opened = (content: string) => {
    const workspace = createWorkspace([ROOT]);
    setFile(workspace, uri, content);
    return workspace;
  };
  const change = fc.record({
    row: fc.integer({ min: 0, max: rows.length - 1 }),
    to: fc.constantFrom('q', '0', '9', '-', 'x', ' # said'),
  });
  fc.assert(
    fc.property(fc.array(change, { minLength: 1, maxLength: 8 }), (changes) => {
      const workspace = opened(text);
      told(workspace);
      const now = [...lines];
      for (const { row, to } of changes) {
        const at = rows[row] as number;
        const line = lines[at] as string;
        // Typed, and taken back the next time.
        const place = (/\d/.exec(line)?.index ?? line.length - 1) + 1;
        now[at] = now[at] === line ? line.slice(0, place) + to + line.slice(place) : line;
        setFile(workspace, uri, now.join('\n'));
        const file = workspace.files.get(uri);
        if (file) check(workspace, understand(workspace, file));
      }
      expect(told(workspace)).toEqual(told(opened(now.join('\n'))));
    }),
    { numRuns: 60 },
  );
});

test('two entries that are alike stay two', () => {
  const twice = 'field A at 47.2 N 19.4 E\n  elevation 100 m\n';
  const workspace = createWorkspace([ROOT]);
  const uri = `${ROOT}/a.taskplan`;
  const lines = (text: string) => {
    const file = setFile(workspace, uri, text);
    return check(workspace, understand(workspace, file)).map((finding) => rangeOf(workspace, finding.at)?.start.line);
  };
  expect(lines(twice + twice)).toEqual([2]);
  expect(lines(`# above\n${twice}${twice}`)).toEqual([3]);
  expect(lines(twice)).toEqual([]);
});
