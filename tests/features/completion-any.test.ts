/** Completion anywhere in the samples: it answers, its ranges lie in the line, and what is accepted leaves lines that read. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type CompletionItem,
  type CompletionList,
  InsertTextFormat,
  type Range,
  type TextEdit,
} from 'vscode-languageserver-types';
import { parseFile } from '../../grammar/file.ts';
import { linesOf, type SyntaxProblem } from '../../grammar/syntax.ts';
import { ENTRIES } from '../../grammar/vocabulary.ts';
import { completion, resolveCompletion } from '../../server/features/completion.ts';
import { layoutOf } from '../../server/features/completion-layout.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { applied, positionOf } from './marked.ts';

const FOLDER = path.join(import.meta.dirname, '../../samples');
const ROOT = 'file:///samples';
const samples = readdirSync(FOLDER, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.taskplan'))
  .map((name) => name.replaceAll('\\', '/'))
  .sort()
  .map((name): [string, string] => [name, readFileSync(path.join(FOLDER, name), 'utf8')]);
const workspace = createWorkspace([ROOT]);
for (const [name, text] of samples) setFile(workspace, `${ROOT}/${name}`, text);

/** The completion at an offset of a text that stands in for a sample. */
function itemsAt(name: string, text: string, offset: number, snippets: boolean): CompletionItem[] {
  const before = workspace.files.get(`${ROOT}/${name}`)?.syntax.text as string;
  const file = setFile(workspace, `${ROOT}/${name}`, text);
  const { items } = completion(workspace, understand(workspace, file), positionOf(text, offset), { snippets });
  setFile(workspace, `${ROOT}/${name}`, before);
  return items;
}

/** What a snippet leaves when nothing is filled in. */
function unfilled(snippet: string): string {
  return snippet
    .replace(/\$\{\d+:((?:\\.|[^}\\])*)\}/g, '$1')
    .replace(/\$\{\d+\|((?:\\.|[^,|\\])*)[^}]*\|\}/g, '$1')
    .replace(/\\([\\$},|])/g, '$1');
}

function afterwards(text: string, { textEdit, additionalTextEdits = [], insertTextFormat }: CompletionItem): string {
  const edit = textEdit as TextEdit;
  const newText = insertTextFormat === InsertTextFormat.Snippet ? unfilled(edit.newText) : edit.newText;
  return applied(text, [{ ...edit, newText }, ...additionalTextEdits]);
}

/** A line that ends too early is what half-typed text is. */
const isWrong = (problem: SyntaxProblem) => !(problem.kind === 'unexpected' && problem.found === undefined);

function wrongIn(text: string): string[] {
  return parseFile(text).entries.flatMap(({ syntax }) =>
    linesOf(syntax).flatMap(({ problems, span }) =>
      problems.filter(isWrong).map((problem) => `${problem.kind} in ${syntax.text.slice(span.start, span.end)}`),
    ),
  );
}

/** The sample as it is while its line at `offset` is typed: the rest of the line, and of the file, is not there. */
function halfTyped(text: string, offset: number): string {
  const blank = text.lastIndexOf('\n\n', offset);
  return text.slice(blank < 0 ? 0 : blank + 2, offset);
}

describe.each(samples)('%s', (name, text) => {
  test('what is accepted at the end of a half-typed line reads', () => {
    for (let offset = 0; offset <= text.length; offset += 11) {
      const typed = halfTyped(text, offset);
      // A line with a slip before the caret has that slip; what is half a word is replaced.
      const lineStart = typed.lastIndexOf('\n') + 1;
      const before = wrongIn(`${typed.slice(0, lineStart)}${typed.slice(lineStart).replace(/\S+$/, '')}`).length;
      for (const item of itemsAt(name, typed, typed.length, offset % 2 === 0)) {
        const after = afterwards(typed, item);
        const wrong = wrongIn(after);
        if (wrong.length > before)
          throw new Error(`${item.label} behind ${typed.slice(lineStart)}: ${wrong.join(', ')}\n${after}`);
      }
    }
  });

  test('inside the file every range lies in the line of the caret', () => {
    const lineEnds = name.length % 2 === 0 ? '\r\n' : '\n';
    const whole = text.replaceAll('\n', lineEnds);
    const file = setFile(workspace, `${ROOT}/${name}`, whole);
    const understood = understand(workspace, file);
    const lines = whole.split(lineEnds);
    for (let offset = 0; offset <= whole.length; offset += 3) {
      const position = positionOf(whole, offset);
      const list = completion(workspace, understood, position, { snippets: true });
      const { items } = list;
      // Told in the short way, it is the same once a client has filled in what was left out.
      const short = completion(workspace, understood, position, { snippets: true, defaults: true });
      expect({ ...short, itemDefaults: undefined, items: short.items.map((item) => filledIn(item, short)) }).toEqual({
        ...list,
        items: list.items.map((item) => filledIn(item, list)),
      });
      const length = (lines[position.line] as string).length;
      const caret = Math.min(position.character, length);
      for (const { label, textEdit, filterText } of items) {
        const { start, end } = (textEdit as TextEdit).range;
        const isInLine = start.line === position.line && end.line === position.line && end.character <= length;
        if (!isInLine || start.character > caret || end.character < caret || !(filterText ?? label))
          throw new Error(`${label} at ${position.line}:${position.character} replaces another place`);
      }
      if (new Set(items.map(({ sortText }) => sortText)).size < items.length) throw new Error('no order');
      for (const item of items.slice(0, 1)) resolveCompletion(workspace, item);
    }
    setFile(workspace, `${ROOT}/${name}`, text);
  });
});

/** An item with what the list says of all, as the protocol has it. */
function filledIn({ textEditText, ...item }: CompletionItem, { itemDefaults }: CompletionList): CompletionItem {
  const range = itemDefaults?.editRange as Range | undefined;
  const textEdit = item.textEdit ?? (range && { range, newText: textEditText ?? item.label });
  return { ...item, ...(textEdit ? { textEdit } : {}), data: item.data ?? itemDefaults?.data };
}

test('every detail has an example that reads, in the layout of the formatter', () => {
  for (const entry of ENTRIES) {
    for (const detail of entry.details) {
      const { example, lead } = layoutOf(entry, detail);
      expect(example.startsWith(lead)).toBe(true);
      const head = parseFile(`${entry.keyword} X\n  ${example}\n`).entries[0]?.syntax;
      expect([example, head?.details[0]?.form?.id, head?.details[0]?.problems]).toEqual([example, detail.id, []]);
    }
  }
});

const PIECES = samples
  .flatMap(([, text]) => text.split(/(?<=\s)/))
  .concat('"', '#', '\t', '\r', '\uFEFF', '°', '±', '\ud800', '9/');

test('any text at all is answered', () => {
  fc.assert(
    fc.property(
      fc.array(fc.oneof({ weight: 9, arbitrary: fc.constantFrom(...PIECES) }, { weight: 1, arbitrary: fc.string() }), {
        maxLength: 30,
      }),
      fc.nat(),
      fc.constantFrom(`${ROOT}/plans/any.taskplan`, 'untitled:Untitled-1'),
      (pieces, at, uri) => {
        const text = pieces.join('');
        const file = setFile(workspace, uri, text);
        const position = positionOf(text, at % (text.length + 1));
        const { items } = completion(workspace, understand(workspace, file), position, { snippets: true });
        for (const item of items.slice(0, 3)) {
          applied(text, [item.textEdit as TextEdit, ...(item.additionalTextEdits ?? [])]);
          resolveCompletion(workspace, item);
        }
        workspace.files.delete(uri);
      },
    ),
    { numRuns: 1000 },
  );
});
