/** The sheet as PDF, from the server as it is built. */
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type Editor, ROOT, startEditor } from '../server/client.ts';

let folder: string;
let editor: Editor;

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'legwise-'));
  cpSync(path.join(ROOT, 'samples'), folder, { recursive: true });
  editor = await startEditor(folder);
});

afterAll(() => {
  editor.process.kill();
  rmSync(folder, { recursive: true, force: true });
});

test('a plan that is open, as PDF, the same twice', async () => {
  const uri = editor.open('plans/leg-home.taskplan');
  const ask = () =>
    editor.connection.sendRequest<{ base64: string }>('legwise/briefPdf', {
      textDocument: { uri },
      time: '2026-06-13 09:00Z',
      madeMs: Date.UTC(2026, 5, 13, 9),
      revision: null,
    });
  const { base64 } = await ask();
  const bytes = Buffer.from(base64, 'base64');
  expect(bytes.subarray(0, 5).toString()).toBe('%PDF-');
  expect(bytes.subarray(-7).toString()).toContain('%%EOF');
  expect((await ask()).base64).toBe(base64);
});
