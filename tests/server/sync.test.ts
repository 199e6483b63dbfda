/** Edits through incremental sync, in any encoding, leave what opening the result afresh would give. */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { lineStartsOf } from '../../grammar/entry.ts';
import { encodingFor } from '../../server/encoding.ts';
import { SessionFiles } from '../../server/files-of-session.ts';
import { rangeOf } from '../../server/plan/places.ts';
import { check } from '../../server/rules/run.ts';
import { between } from '../flight/arbitraries.ts';

const SAMPLES = path.resolve(import.meta.dirname, '../../samples');
const ROOT = 'file:///samples';
const uri = `${ROOT}/plans/leg-home.taskplan`;
const TEXT = readFileSync(path.join(SAMPLES, 'plans/leg-home.taskplan'), 'utf8').replace(
  'Late Home',
  'Späte Heimkehr ☁🛩',
);

function files(): SessionFiles {
  const made = new SessionFiles(
    {
      list: async () => [],
      read: async (of) => ({ text: readFileSync(path.join(SAMPLES, of.slice(ROOT.length + 1)), 'utf8') }),
    },
    () => {},
  );
  made.setFolders([ROOT]);
  return made;
}

async function said(of: SessionFiles): Promise<unknown> {
  const understood = await of.ready(uri);
  if (!understood) return undefined;
  return check(of.workspace, understood).map(({ code, message, at }) => [code, message, rangeOf(of.workspace, at)]);
}

const change = fc.record({
  from: between(0, 1),
  cut: fc.nat(20),
  put: fc.oneof(
    fc.constantFrom('\n', '\r\n', '🛩', 'é', ' ', '"', '# ', '  climb to 5000 ft MSL\n', '1'),
    fc.string({ unit: 'grapheme', maxLength: 4 }),
  ),
});

/** An offset at the seam of whole characters, where an editor puts it. */
function seam(text: string, offset: number): number {
  const code = text.charCodeAt(offset);
  const low = code >= 0xdc00 && code <= 0xdfff;
  return low || (text[offset] === '\n' && text[offset - 1] === '\r') ? offset - 1 : offset;
}

test('any sequence of edits, several in one message', async () => {
  const fresh = await said(opened(TEXT));
  expect((fresh as unknown[]).length).toBeGreaterThan(0);
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.array(change, { minLength: 1, maxLength: 3 }), { minLength: 1, maxLength: 5 }),
      fc.constantFrom('utf-8', 'utf-16', 'utf-32'),
      async (messages, kind) => {
        const session = opened(TEXT);
        const encoding = encodingFor([kind], (of, line) => session.lineOf(of, line));
        let text = TEXT;
        for (const [i, message] of messages.entries()) {
          // A client counts each change in the text that the one before left.
          const changes = message.map(({ from, cut, put }) => {
            const start = seam(text, Math.floor(from * text.length));
            const end = seam(text, Math.min(text.length, start + cut));
            const own = encodingFor([kind], (_, line) => text.split(/\r\n|\n|\r/)[line] ?? '');
            const range = own.toClient({ start: place(text, start), end: place(text, end) }, uri);
            text = text.slice(0, start) + put + text.slice(end);
            return { range, text: put };
          });
          session.didChange(uri, i + 2, changes, encoding);
        }
        expect(session.textOf(uri)).toBe(text);
        expect(await said(session)).toEqual(await said(opened(text)));
      },
    ),
    { numRuns: 500 },
  );
});

function opened(text: string): SessionFiles {
  const made = files();
  made.didOpen(uri, 1, text);
  return made;
}

function place(text: string, offset: number): { line: number; character: number } {
  const starts = lineStartsOf(text);
  const line = starts.findLastIndex((start) => start <= offset);
  return { line, character: offset - (starts[line] as number) };
}
