/** Every feature over stdio on the samples, at many places: an answer and no error, within the document. */
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type {
  CodeAction,
  CompletionList,
  DocumentSymbol,
  InlayHint,
  Location,
  SemanticTokens,
  SemanticTokensDelta,
  TextEdit,
  WorkspaceEdit,
  WorkspaceSymbol,
} from 'vscode-languageserver-protocol/node';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { type Editor, ROOT, startEditor } from './client.ts';

const CAPABILITIES = {
  textDocument: {
    documentSymbol: { hierarchicalDocumentSymbolSupport: true },
    rename: { prepareSupport: true },
    definition: { linkSupport: false },
    completion: { completionItem: { snippetSupport: true } },
  },
  workspace: {
    workspaceEdit: {
      documentChanges: true,
      resourceOperations: ['create' as const, 'rename' as const, 'delete' as const],
    },
  },
};

let folder: string;
let editor: Editor;
const files = readdirSync(path.join(ROOT, 'samples'), { recursive: true, encoding: 'utf8' }).filter((file) =>
  file.endsWith('.taskplan'),
);
const uris = new Map<string, string>();

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'legwise-'));
  cpSync(path.join(ROOT, 'samples'), folder, { recursive: true });
  editor = await startEditor(folder, { capabilities: CAPABILITIES });
  for (const file of files) uris.set(file, editor.open(file));
  for (const uri of uris.values()) await editor.findings(uri);
});

afterAll(() => {
  editor.process.kill();
  rmSync(folder, { recursive: true, force: true });
});

const ask = <R>(method: string, params: object): Promise<R> => editor.connection.sendRequest<R>(method, params);
const textOf = (file: string) => readFileSync(path.join(folder, file), 'utf8');
const documentOf = (file: string) => TextDocument.create('file:///x', 'taskplan', 0, textOf(file));
/** The place `more` characters into a piece of text of a file. */
const placeOf = (file: string, piece: string, more = 0) =>
  documentOf(file).positionAt(textOf(file).indexOf(piece) + more);

describe('at many places of every sample', () => {
  for (const file of files) {
    test(file, async () => {
      const uri = uris.get(file) as string;
      const textDocument = { uri };
      const document = documentOf(file);
      const length = document.getText().length;
      for (let offset = files.indexOf(file) % 23; offset <= length; offset += 23) {
        const position = document.positionAt(offset);
        const range = { start: position, end: position };
        const at = { textDocument, position };
        await Promise.all([
          ask('textDocument/hover', at),
          ask('textDocument/completion', at),
          ask('textDocument/definition', at),
          ask('textDocument/typeDefinition', at),
          ask('textDocument/references', { ...at, context: { includeDeclaration: true } }),
          ask('textDocument/documentHighlight', at),
          // Where there is nothing to rename it says so, in words.
          ask('textDocument/prepareRename', at).catch(({ code, message }) =>
            expect([code, message.length > 10]).toEqual([-32803, true]),
          ),
          ask('textDocument/linkedEditingRange', at),
          ask('textDocument/selectionRange', { textDocument, positions: [position] }),
          ask('textDocument/codeAction', { textDocument, range, context: { diagnostics: [] } }),
        ]);
      }
      for (const method of ['documentSymbol', 'documentLink', 'foldingRange', 'codeLens', 'semanticTokens/full'])
        await ask(`textDocument/${method}`, { textDocument });
      const whole = { start: { line: 0, character: 0 }, end: document.positionAt(length) };
      await ask('textDocument/inlayHint', { textDocument, range: whole });
      const edits = await ask<TextEdit[]>('textDocument/formatting', {
        textDocument,
        options: { tabSize: 2, insertSpaces: true },
      });
      expect(edits).toEqual([]);
    });
  }
});

describe('each feature, once', () => {
  const HOME = 'plans/leg-home.taskplan';
  const at = (piece: string, more = 0) => ({
    textDocument: { uri: uris.get(HOME) },
    position: placeOf(HOME, piece, more),
  });

  test('completion offers names of the right kind, and says what they are', async () => {
    const list = await ask<CompletionList>('textDocument/completion', at('finish    Larkfield', 'finish    '.length));
    const labels = list.items.map(({ label }) => label);
    expect(labels).toEqual(expect.arrayContaining(['Larkfield', 'Ashmoor']));
    expect(labels.some((label) => label.includes('Withy Bridge'))).toBe(true);
    const item = list.items.find(({ label }) => label === 'Ashmoor');
    expect(JSON.stringify(await ask('completionItem/resolve', item as object))).toContain('elevation');
  });

  test('definition, references and symbols cross files', async () => {
    const [place] = await ask<Location[]>('textDocument/definition', at('"Withy Bridge"', 3));
    expect(place?.uri).toMatch(/club\/turnpoints\.taskplan$/);
    const uses = await ask<Location[]>('textDocument/references', {
      ...at('"Withy Bridge"', 3),
      context: { includeDeclaration: true },
    });
    expect(new Set(uses.map(({ uri }) => uri)).size).toBeGreaterThan(2);
    const found = await ask<WorkspaceSymbol[]>('workspace/symbol', { query: 'wthbrdg' });
    expect(found[0]?.name).toBe('Withy Bridge');
    const symbols = await ask<DocumentSymbol[]>('textDocument/documentSymbol', {
      textDocument: { uri: uris.get(HOME) },
    });
    expect(symbols.find(({ name }) => name === 'Late Home')?.children).toHaveLength(4);
  });

  test('rename changes every file that uses the name, bound to versions, and refuses a clash in words', async () => {
    const edit = await ask<WorkspaceEdit>('textDocument/rename', {
      ...at('"Withy Bridge"', 3),
      newName: 'Reed Bridge',
    });
    const changed = (edit.documentChanges ?? []).map((change) =>
      'textDocument' in change ? change.textDocument : undefined,
    );
    expect(changed.length).toBeGreaterThan(2);
    expect(changed.every((document) => document?.version === 1)).toBe(true);
    await expect(ask('textDocument/rename', { ...at('"Withy Bridge"', 3), newName: 'Ashmoor' })).rejects.toMatchObject({
      code: -32803,
    });
  });

  test('renaming a path renames the file, and a renamed file its paths', async () => {
    const edit = await ask<WorkspaceEdit>('textDocument/rename', {
      ...at('../club/fleet', 5),
      newName: '../club/hangar.taskplan',
    });
    expect(edit.documentChanges?.at(-1)).toMatchObject({
      kind: 'rename',
      newUri: expect.stringMatching(/hangar\.taskplan$/),
    });
    const oldUri = uris.get('club/fleet.taskplan') as string;
    const moved = await ask<WorkspaceEdit>('workspace/willRenameFiles', {
      files: [{ oldUri, newUri: oldUri.replace('fleet', 'hangar') }],
    });
    expect(JSON.stringify(moved)).toContain('../club/hangar.taskplan');
  });

  test('signs in the text', async () => {
    const textDocument = { uri: uris.get(HOME) };
    const full = await ask<SemanticTokens>('textDocument/semanticTokens/full', { textDocument });
    expect(full.data.length % 5).toBe(0);
    const delta = await ask<SemanticTokensDelta>('textDocument/semanticTokens/full/delta', {
      textDocument,
      previousResultId: full.resultId,
    });
    expect(delta.edits).toEqual([]);
    const range = { start: { line: 0, character: 0 }, end: documentOf(HOME).positionAt(textOf(HOME).length) };
    const hints = await ask<InlayHint[]>('textDocument/inlayHint', { textDocument, range });
    expect(JSON.stringify(hints)).toContain('−320 ft');
  });

  test('code actions mend the finding', async () => {
    const place = at('finish    Larkfield', 2);
    const actions = await ask<CodeAction[]>('textDocument/codeAction', {
      textDocument: place.textDocument,
      range: { start: place.position, end: place.position },
      context: { diagnostics: [] },
    });
    const fixes = actions.filter(({ kind }) => kind === 'quickfix');
    expect(fixes.length).toBeGreaterThan(1);
    expect(fixes.every(({ edit }) => edit !== undefined)).toBe(true);
  });
});
