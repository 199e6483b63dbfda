/** The snippets of the extension are made from the templates of completion; `vitest -u` writes them anew. */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { ENTRIES, type EntryForm, entryForm } from '../../grammar/vocabulary.ts';
import { completionPlace } from '../../server/features/completion-place.ts';
import { templatesOf } from '../../server/features/completion-templates.ts';
import { DEFAULT_UNITS, show } from '../../server/plan/show.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';

const FILE = path.join(import.meta.dirname, '../../grammar/snippets.json');

interface Snippet {
  readonly body: string;
  readonly description: string;
  readonly isFileTemplate?: true;
}

function templates(entry: EntryForm) {
  const workspace = createWorkspace(['file:///']);
  const understood = understand(workspace, setFile(workspace, 'file:///x.taskplan', '\n'));
  const place = completionPlace(workspace, understood, { line: 0, character: 0 });
  if (!place) throw new Error('no place');
  return templatesOf(place, entry, true, show(DEFAULT_UNITS));
}

const blank = (n: number, text: string) => `\${${n}:${text}}`;
const USE = [`use "${blank(1, 'club/fields.taskplan')}"`];

/** Blanks numbered on from those before, so that parts can stand one below the other. */
function renumbered(body: readonly string[], by: number): string[] {
  return body.map((line) => line.replace(/\$\{(\d+)/g, (_, n: string) => `\${${Number(n) + by}`));
}

const blanksIn = (body: readonly string[]) => body.join('\n').match(/\$\{\d+/g)?.length ?? 0;

/** Without a prefix: they stand under `Insert Snippet`, and not a second time beside the completion of the server. */
function wanted(): Record<string, Snippet> {
  const all: Record<string, Snippet> = {};
  for (const entry of ENTRIES) {
    const description = entry.head.says;
    if (entry.keyword === 'use') all['use'] = { body: USE.join('\n'), description };
    for (const { label, text } of templates(entry)) all[label] = { body: text, description };
  }
  const body = [...USE];
  for (const keyword of ['weather', 'task']) {
    const [template] = templates(entryForm(keyword) as EntryForm);
    body.push('', ...renumbered((template as { text: string }).text.split('\n'), blanksIn(body)));
  }
  all['a whole plan'] = {
    body: body.join('\n'),
    description: 'A day and a task, to be filled in.',
    isFileTemplate: true,
  };
  return all;
}

/** What is left of a snippet whose blanks stay as they are. */
function filled({ body }: Snippet): string {
  return `${body.replace(/\$\{\d+:((?:\\.|[^}\\])*)\}/g, (_, inner: string) => inner.replace(/\\(.)/g, '$1'))}\n`;
}

const snippets = (): Record<string, Snippet> => JSON.parse(readFileSync(FILE, 'utf8'));

test('the file of snippets is what the templates come to', async () => {
  await expect(`${JSON.stringify(wanted(), null, 2)}\n`).toMatchFileSnapshot(FILE);
});

test('there is a snippet for each kind of entry', () => {
  const first = Object.values(snippets()).map((snippet) => filled(snippet).split(/\s/)[0]);
  expect(ENTRIES.map(({ keyword }) => keyword).filter((keyword) => !first.includes(keyword))).toEqual([]);
});

test.each(Object.entries(snippets()))(
  '%s: every line can be read, and is laid out as the formatter does',
  (_, snippet) => {
    const text = filled(snippet);
    expect(text).not.toMatch(/\$\{/);
    const file = parseFile(text);
    const lines = file.entries
      .flatMap(({ syntax }) => [syntax.head, ...syntax.details])
      .filter((line) => line !== undefined);
    expect(lines.length).toBeGreaterThan(0);
    expect(lines.flatMap((line) => (line.form ? line.problems.map(({ kind }) => kind) : ['no form']))).toEqual([]);
    expect(formatFile(file)).toEqual({ text });
  },
);
