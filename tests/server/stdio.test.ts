import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { CodeLens, Hover, MarkupContent } from 'vscode-languageserver-protocol/node';
import { type Editor, ROOT, startEditor } from './client.ts';

describe('the built server over stdio, as an editor drives it', () => {
  let folder: string;
  let editor: Editor;

  beforeEach(async () => {
    folder = mkdtempSync(path.join(tmpdir(), 'legwise-'));
    cpSync(path.join(ROOT, 'samples'), folder, { recursive: true });
    editor = await startEditor(folder, { initializationOptions: { uriScheme: 'vscode' } });
  });

  afterEach(async () => {
    if (editor.process.exitCode === null) editor.process.kill();
    rmSync(folder, { recursive: true, force: true });
  });

  const textOf = (hover: Hover | null) => (hover?.contents as MarkupContent | undefined)?.value ?? '';

  async function finishLine(uri: string): Promise<number> {
    const found = (await editor.findings(uri)).find(({ code }) => code === 'below-reserve');
    return found?.range.start.line ?? -1;
  }

  test('the leg home is found short, with its page, its place and what it comes from', async () => {
    const uri = editor.open('plans/leg-home.taskplan');
    const found = await editor.findings(uri);
    const short = found.find(({ code }) => code === 'below-reserve');
    expect(short?.message).toMatch(/^leg 4 to Larkfield arrives 320 ft below reserve: /);
    expect(short?.severity).toBe(1);
    expect(short?.source).toBe('legwise');
    expect(short?.codeDescription?.href).toBe('vscode://legwise.legwise/explain/below-reserve');
    expect(short?.relatedInformation?.some(({ location }) => location.uri.endsWith('/club/rules.taskplan'))).toBe(true);
    expect(await editor.stop()).toBe(0);
  });

  test('hover says the height required, and lenses the whole budget', async () => {
    const uri = editor.open('plans/leg-home.taskplan');
    const line = await finishLine(uri);
    const hover = await editor.connection.sendRequest<Hover | null>('textDocument/hover', {
      textDocument: { uri },
      position: { line, character: 4 },
    });
    const text = textOf(hover);
    for (const said of [
      'height required',
      'arrival over the field',
      'margin',
      'time',
      'course',
      'best glide over the ground',
      'fastest that still makes it',
    ]) {
      expect(text).toContain(said);
    }
    const lenses = await editor.connection.sendRequest<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } });
    expect(lenses).toHaveLength(5);
    expect(lenses[0]?.command?.title).toContain('least margin');
    expect(lenses[4]?.command?.title).toContain('still air');
  });

  test('an edit is seen at once, and its undoing', async () => {
    const uri = editor.open('plans/practice-triangle.taskplan');
    const before = await editor.findings(uri);
    expect(before.filter(({ severity }) => severity === 1)).toEqual([]);
    editor.change(uri, 2, [
      { range: { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } }, text: 'feild Nowhere\n' },
    ]);
    const broken = await editor.findings(uri, ({ version }) => version === 2);
    expect(broken.map(({ code }) => code)).toContain('entry-unknown');
    editor.change(uri, 3, [{ range: { start: { line: 0, character: 0 }, end: { line: 1, character: 0 } }, text: '' }]);
    expect(await editor.findings(uri, ({ version }) => version === 3)).toEqual(before);
  });

  test('an edit of a used file that is open changes the findings of the plan', async () => {
    const uri = editor.open('plans/leg-home.taskplan');
    await editor.findings(uri, ({ diagnostics }) => diagnostics.some(({ code }) => code === 'below-reserve'));
    const rules = editor.open('club/rules.taskplan', '# emptied\n');
    await editor.findings(uri, ({ diagnostics }) => diagnostics.some(({ code }) => code === 'unknown-name'));
    await editor.connection.sendNotification('textDocument/didClose', { textDocument: { uri: rules } });
    const found = await editor.findings(
      uri,
      ({ diagnostics }) => !diagnostics.some(({ code }) => code === 'unknown-name'),
    );
    expect(found.map(({ code }) => code)).toContain('below-reserve');
  });

  test('a used file that comes, changes or goes on the disk is read again', async () => {
    const text = 'use "extra.taskplan"\n\nlimits Local\n  within 5 NM of Extra\n';
    const uri = editor.open('plans/new.taskplan', text);
    await editor.findings(uri, ({ diagnostics }) => diagnostics.some(({ code }) => code === 'file-missing'));
    const extra = path.join(folder, 'plans/extra.taskplan');
    writeFileSync(extra, 'field Extra at 47.2 N 19.4 E\n  elevation 200 m\n');
    const changes = [{ uri: uri.replace('new.taskplan', 'extra.taskplan'), type: 1 }];
    await editor.connection.sendNotification('workspace/didChangeWatchedFiles', { changes });
    const found = await editor.findings(
      uri,
      ({ diagnostics }) => !diagnostics.some(({ code }) => code === 'file-missing'),
    );
    expect(found.filter(({ severity }) => severity === 1)).toEqual([]);
  });

  test('an elevation tile is read when a task asks for the ground, and again when it changes', async () => {
    const task = readFileSync(path.join(folder, 'plans/practice-triangle.taskplan'), 'utf8');
    const uri = editor.open('plans/new.taskplan', `${task}\nterrain "../terrain"\n`);
    await editor.findings(uri, ({ diagnostics }) => diagnostics.some(({ code }) => code === 'terrain-unknown'));
    mkdirSync(path.join(folder, 'terrain'));
    // A tile of 3 arc seconds, level at 150 m.
    const tile = Buffer.alloc(1201 * 1201 * 2);
    for (let i = 0; i < tile.length; i += 2) tile.writeInt16BE(150, i);
    writeFileSync(path.join(folder, 'terrain/N47E019.hgt'), tile);
    const changes = [{ uri: uri.replace('plans/new.taskplan', 'terrain/N47E019.hgt'), type: 1 }];
    await editor.connection.sendNotification('workspace/didChangeWatchedFiles', { changes });
    await editor.findings(uri, ({ diagnostics }) => !diagnostics.some(({ code }) => code === 'terrain-unknown'));
  });

  test('a file outside the folder is not brought in', async () => {
    const uri = editor.open('plans/new.taskplan', 'use "../../outside.taskplan"\n');
    const found = await editor.findings(uri);
    expect(found.map(({ code }) => code)).toContain('use-outside');
  });

  test('every page can be asked for, and an unknown one is refused', async () => {
    const page = await editor.connection.sendRequest<{ markdown: string }>('legwise/explain', {
      code: 'below-reserve',
    });
    expect(page.markdown).toContain('# below-reserve');
    await expect(editor.connection.sendRequest('legwise/explain', { code: 'nonsense' })).rejects.toThrow(/no finding/);
  });

  test('requests for documents that are not open are answered with nothing', async () => {
    const textDocument = { uri: 'file:///nowhere/a.taskplan' };
    expect(
      await editor.connection.sendRequest('textDocument/hover', { textDocument, position: { line: 0, character: 0 } }),
    ).toBeNull();
    expect(await editor.connection.sendRequest('textDocument/codeLens', { textDocument })).toEqual([]);
  });
});
