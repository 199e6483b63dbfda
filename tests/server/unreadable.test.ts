import { describe, expect, it } from 'vitest';
import { encodingFor } from '../../server/encoding.ts';
import { type Disk, SessionFiles } from '../../server/files-of-session.ts';

const PLAN = 'file:///club/plans/day.taskplan';
const UTF16 = encodingFor(['utf-16'], () => '');
const disk: Disk = { read: async () => ({ why: 'missing' }), list: async () => [] };

describe('files that cannot be read', () => {
  it('are forgotten once no file names them, however many paths were typed', async () => {
    const files = new SessionFiles(disk, () => {});
    files.setFolders(['file:///club']);
    files.didOpen(PLAN, 1, 'use "gone.taskplan"\nuse "0.taskplan"\n');
    await files.ready(PLAN);
    for (let i = 1; i <= 2000; i++) {
      const range = { start: { line: 1, character: 0 }, end: { line: 2, character: 0 } };
      files.didChange(PLAN, i + 1, [{ range, text: `use "${i}.taskplan"\n` }], UTF16);
      await files.ready(PLAN);
    }
    const { unreadable } = files.workspace;
    expect(unreadable.size).toBeLessThanOrEqual(100);
    // What the plan names is known to be missing, and is not asked for again and again.
    expect(unreadable.get('file:///club/plans/gone.taskplan')).toBe('missing');
    expect(unreadable.get('file:///club/plans/2000.taskplan')).toBe('missing');
  });

  it('are all kept while a file names them', async () => {
    const files = new SessionFiles(disk, () => {});
    files.setFolders(['file:///club']);
    files.didOpen(PLAN, 1, Array.from({ length: 500 }, (_, i) => `use "${i}.taskplan"\n`).join(''));
    await files.ready(PLAN);
    expect(files.workspace.unreadable.size).toBe(500);
  });
});
