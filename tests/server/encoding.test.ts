import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { encodingFor } from '../../server/encoding.ts';

const TEXT = 'field "Überflug ☁ 🛩" at 47 N\r\nnext é\n';
const uri = 'file:///a';
const encoding = (kind: string, text = TEXT) => encodingFor([kind], (_, line) => text.split('\n')[line] ?? '');

describe('positions as a client counts them', () => {
  test('the first known wish counts, and UTF-16 without one', () => {
    expect(encodingFor(['utf-7', 'utf-8', 'utf-16'], () => '').kind).toBe('utf-8');
    expect(encodingFor(undefined, () => '').kind).toBe('utf-16');
    expect(encodingFor(['nonsense'], () => '').kind).toBe('utf-16');
    for (const name of ['toString', 'constructor', '__proto__'])
      expect(encodingFor([name, 'utf-8'], () => '').kind).toBe('utf-8');
  });

  test('bytes and characters', () => {
    const after = TEXT.indexOf('" at') + 1;
    expect(encoding('utf-8').toClient({ line: 0, character: after }, uri)).toEqual({
      line: 0,
      character: Buffer.byteLength(TEXT.slice(0, after)),
    });
    expect(encoding('utf-32').toClient({ line: 0, character: after }, uri)).toEqual({
      line: 0,
      character: [...TEXT.slice(0, after)].length,
    });
  });

  test('everywhere in a value, each by its own file', () => {
    const other = 'file:///b';
    const both = encodingFor(['utf-8'], (of) => (of === uri ? 'éé' : 'aa'));
    const range = { start: { line: 0, character: 1 }, end: { line: 0, character: 2 } };
    const wide = { start: { line: 0, character: 2 }, end: { line: 0, character: 4 } };
    expect(both.toClient({ range, more: [{ location: { uri: other, range } }] }, uri)).toEqual({
      range: wide,
      more: [{ location: { uri: other, range } }],
    });
    expect(
      both.toClient({ changes: { [uri]: [{ range, newText: '' }], [other]: [{ range, newText: '' }] } }, other),
    ).toEqual({
      changes: { [uri]: [{ range: wide, newText: '' }], [other]: [{ range, newText: '' }] },
    });
    expect(both.toClient([{ targetUri: other, targetRange: range, originSelectionRange: range }], uri)).toEqual([
      { targetUri: other, targetRange: range, originSelectionRange: wide },
    ]);
    expect(both.toClient({ textDocument: { uri, version: 1 }, edits: [{ range, newText: 'x' }] }, other)).toEqual({
      textDocument: { uri, version: 1 },
      edits: [{ range: wide, newText: 'x' }],
    });
  });

  test('there and back', () => {
    fc.assert(
      fc.property(
        fc.string({ unit: 'grapheme' }),
        fc.nat(40),
        fc.constantFrom('utf-8', 'utf-16', 'utf-32'),
        (line, character, kind) => {
          const text = line.replace(/[\r\n]/g, '');
          // At the seams between whole characters, where editors put the caret.
          const seams = [0];
          for (const c of text) seams.push((seams.at(-1) as number) + c.length);
          const position = { line: 0, character: seams[character % seams.length] as number };
          const own = encoding(kind, text);
          expect(own.fromClient(own.toClient(position, uri), uri)).toEqual(position);
        },
      ),
      { numRuns: 1000 },
    );
  });

  test('semantic tokens', () => {
    // `é` at 0 and `b` behind it, then `c` on the next line.
    const own = encoding('utf-8', 'é b\néc');
    expect(own.tokensToClient([0, 0, 1, 1, 0, 0, 2, 1, 2, 0, 1, 1, 1, 3, 0], uri)).toEqual([
      0, 0, 2, 1, 0, 0, 3, 1, 2, 0, 1, 2, 1, 3, 0,
    ]);
  });
});
