/**
 * Plan text with markers, for the tests of features: `$0` is the caret; `//- name` heads a file (without one, the text
 * is `plan.taskplan`). The example club lies beside the plan as `club.taskplan`. Edits are applied as an editor would.
 */

import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { TextDocument } from 'vscode-languageserver-textdocument';
import type { Position, Range, TextEdit, WorkspaceEdit } from 'vscode-languageserver-types';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, scopeOf, setFile, setUnreadable, type Workspace } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';

export const ROOT = 'file:///plans';

export interface Marked {
  readonly workspace: Workspace;
  /** The file with the caret, or the first. */
  readonly uri: string;
  readonly understood: Understood;
  /** The caret; the start of the text without one. */
  readonly position: Position;
  /** Every file's text by its name, without markers. */
  readonly texts: ReadonlyMap<string, string>;
}

/** The position of an offset in a text. */
export function positionOf(text: string, offset: number): Position {
  return TextDocument.create('file:///x', 'taskplan', 0, text).positionAt(offset);
}

function split(text: string): [string, string][] {
  if (!text.startsWith('//- ')) return [['plan.taskplan', text]];
  return text
    .split(/^\/\/- /m)
    .slice(1)
    .map((part) => {
      const end = part.indexOf('\n');
      return [part.slice(0, end).trim(), part.slice(end + 1)];
    });
}

/** Reads a marked text into a workspace of its own. */
export function marked(text: string): Marked {
  const workspace = createWorkspace([ROOT]);
  const files = split(text);
  const texts = new Map<string, string>();
  let caret: { uri: string; position: Position } | undefined;
  if (!files.some(([name]) => name === 'club.taskplan')) setFile(workspace, `${ROOT}/club.taskplan`, EXAMPLE_CLUB);
  for (const [name, content] of files) {
    const at = content.indexOf('$0');
    const plain = at < 0 ? content : content.slice(0, at) + content.slice(at + 2);
    if (at >= 0) caret = { uri: `${ROOT}/${name}`, position: positionOf(plain, at) };
    texts.set(name, plain);
    setFile(workspace, `${ROOT}/${name}`, plain);
  }
  const uri = caret?.uri ?? `${ROOT}/${files[0]?.[0]}`;
  const file = workspace.files.get(uri);
  if (!file) throw new Error(`no file ${uri}`);
  for (const wanted of scopeOf(workspace, file).wanted) setUnreadable(workspace, wanted, 'missing');
  return {
    workspace,
    uri,
    understood: understand(workspace, file),
    position: caret?.position ?? { line: 0, character: 0 },
    texts,
  };
}

/** A text after edits; overlapping ones are an error. */
export function applied(text: string, edits: readonly TextEdit[]): string {
  return TextDocument.applyEdits(TextDocument.create('file:///x', 'taskplan', 0, text), [...edits]);
}

/** The files that an edit changes, with their texts after it, by name. */
export function appliedEverywhere({ texts, workspace }: Marked, edit: WorkspaceEdit): Map<string, string> {
  const after = new Map<string, string>();
  const changes = new Map<string, readonly TextEdit[]>(Object.entries(edit.changes ?? {}));
  for (const change of edit.documentChanges ?? []) {
    if ('textDocument' in change) changes.set(change.textDocument.uri, change.edits as TextEdit[]);
  }
  for (const [uri, edits] of changes) {
    const name = uri.slice(ROOT.length + 1);
    const before = texts.get(name) ?? workspace.files.get(uri)?.syntax.text ?? '';
    after.set(name, applied(before, edits));
  }
  return after;
}

/** A range of a text as the text in it. */
export function textIn(text: string, range: Range): string {
  return TextDocument.create('file:///x', 'taskplan', 0, text).getText(range);
}

/** Every sample plan as one workspace, with the texts by URI. */
export function sampleWorkspace(): { workspace: Workspace; texts: ReadonlyMap<string, string> } {
  const workspace = createWorkspace(['file:///samples']);
  const texts = new Map<string, string>();
  const folder = path.join(import.meta.dirname, '../../samples');
  for (const name of readdirSync(folder, { recursive: true, encoding: 'utf8' }).sort()) {
    if (!name.endsWith('.taskplan')) continue;
    const uri = `file:///samples/${name.replaceAll('\\', '/')}`;
    texts.set(uri, readFileSync(path.join(folder, name), 'utf8'));
    setFile(workspace, uri, texts.get(uri) as string);
  }
  return { workspace, texts };
}

/** Each sample understood, with every `step`-th position in it. */
export function* samplePlaces(step = 3): Iterable<{
  workspace: Workspace;
  understood: Understood;
  text: string;
  positions: Position[];
}> {
  const { workspace, texts } = sampleWorkspace();
  for (const [uri, text] of texts) {
    const file = workspace.files.get(uri);
    if (!file) throw new Error(`no file ${uri}`);
    const document = TextDocument.create(uri, 'taskplan', 0, text);
    const positions = Array.from({ length: Math.ceil((text.length + 1) / step) }, (_, i) =>
      document.positionAt(i * step),
    );
    yield { workspace, understood: understand(workspace, file), text, positions };
  }
}

/** Whether a range lies inside a text, start before end, no column behind its line's end. */
export function liesIn(text: string, { start, end }: Range): boolean {
  const lines = text.split(/\r\n|\n|\r/);
  const holds = ({ line, character }: Position) =>
    line >= 0 && character >= 0 && character <= (lines[line]?.length ?? -1);
  const inOrder = start.line < end.line || (start.line === end.line && start.character <= end.character);
  return holds(start) && holds(end) && inOrder;
}

/** The lines of a text in which ranges of one line lie, each with `^^^` under the ranges. */
export function underlined(text: string, ranges: readonly Range[]): string {
  const lines = text.split(/\r\n|\n|\r/);
  const out: string[] = [];
  for (const [i, line] of lines.entries()) {
    const here = ranges.filter(({ start }) => start.line === i).sort((a, b) => a.start.character - b.start.character);
    if (here.length === 0) continue;
    let under = '';
    for (const { start, end } of here) {
      if (end.line !== start.line) throw new Error('a range of several lines cannot be underlined');
      under = under.padEnd(start.character) + '^'.repeat(end.character - start.character);
    }
    out.push(line, under);
  }
  return out.join('\n');
}
