import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { lineStartsOf, parseEntry } from '../../grammar/entry.ts';
import {
  changedSince,
  EntryPool,
  editFile,
  entryAtLine,
  type FileSyntax,
  indexOfEntry,
  lineAt,
  offsetAt,
  type PlacedEntry,
  parseFile,
  positionAt,
  rangeAt,
} from '../../grammar/file.ts';
import { picking } from '../../grammar/pick.ts';
import { type EntrySyntax, linesOf } from '../../grammar/syntax.ts';
import { between } from '../flight/arbitraries.ts';
import { EVERYTHING, PLAN } from './example.ts';
import { mutated, plan } from './plans.ts';
import { lines, plain, problemsIn } from './reading.ts';

const heads = (text: string) =>
  parseFile(text).entries.map(({ syntax }) => syntax.form?.keyword ?? (syntax.head ? '?' : '-'));

describe('splitting into entries', () => {
  test.each([
    ['', ['-']],
    ['\n\n', ['-']],
    ['# only\n  # comments', ['-']],
    ['use "a"', ['use']],
    ['\uFEFFuse "a"', ['use']],
    ['\uFEFF# c\nuse "a"', ['-', 'use']],
    ['\uFEFF', ['-']],
    ['# c\n\nuse "a"\r\nuse "b"\ruse "c"', ['-', 'use', 'use', 'use']],
    ['task T\n  start A\n# comment\n\n  finish A\nfield F', ['task', 'field']],
    ['task T\nstart A\nTURN B\nwobble\n  x\nfield F', ['task', '?', 'field']],
    ['  start A\nuse "a"', ['-', 'use']],
    ['\tuse "a"', ['-']],
    ['"quoted"\n{\n47', ['?', '?', '?']],
  ])('%j', (text, expected) => {
    expect(heads(text)).toEqual(expected);
  });

  test('the examples have no problem', () => {
    expect(problemsIn(PLAN)).toEqual([]);
    expect(problemsIn(EVERYTHING)).toEqual([]);
    for (const lineEnd of ['\r\n', '\r']) expect(problemsIn(EVERYTHING.replaceAll('\n', lineEnd))).toEqual([]);
  });

  test('a line means the same with every kind of line end, and without the last', () => {
    const forms = (text: string) => lines(parseFile(text)).map((line) => line.form?.id);
    const expected = forms(EVERYTHING);
    for (const lineEnd of ['\r\n', '\r']) expect(forms(EVERYTHING.replaceAll('\n', lineEnd))).toEqual(expected);
    expect(forms(EVERYTHING.trimEnd())).toEqual(expected);
    expect(forms(`\uFEFF${EVERYTHING}`)).toEqual(expected);
  });
});

describe('an edit', () => {
  const edit = (file: FileSyntax, from: string, to: string) => parseFile(file.text.replace(from, to), file);

  test('keeps every other entry as the same object', () => {
    const before = parseFile(PLAN);
    const after = edit(before, '4800 ft', '4900 ft');
    const kept = after.entries.map(({ syntax }, i) => syntax === before.entries[i]?.syntax);
    expect(kept).toEqual([...Array(kept.length - 1).fill(true), false]);
  });

  test('keeps entries that only moved', () => {
    const before = parseFile(PLAN);
    const after = edit(before, 'weather Saturday', 'units\n  mass lb\n\nweather Saturday');
    for (const { syntax } of before.entries)
      expect(after.entries.some((placed) => placed.syntax === syntax)).toBe(true);
    expect(after.entries.length).toBe(before.entries.length + 1);
  });

  test('keeps the n-th of several alike for the n-th', () => {
    const before = parseFile('use "a"\nuse "a"\nuse "a"\n');
    const after = edit(before, 'use "a"\n', '');
    expect(after.entries.map(({ syntax }) => syntax)).toEqual(before.entries.slice(0, 2).map(({ syntax }) => syntax));
    expect(after.entries[0]?.syntax).toBe(before.entries[0]?.syntax);
    expect(after.entries[1]?.syntax).toBe(before.entries[1]?.syntax);
    expect(after.entries[0]?.syntax).not.toBe(after.entries[1]?.syntax);
  });

  test('never takes text before the first entry for an entry, nor the other way round', () => {
    const before = parseFile('# a\n');
    expect(plain(parseFile('use "b"\n# a\n', before))).toBe(plain(parseFile('use "b"\n# a\n')));
  });

  test('gives what parsing the new text afresh gives', () => {
    fc.assert(
      fc.property(plan, mutated(plan), (one, other) => {
        const before = parseFile(one);
        expect(plain(parseFile(other, before))).toBe(plain(parseFile(other)));
      }),
      { numRuns: 150 },
    );
    fc.assert(
      fc.property(fc.array(mutated(fc.constant(PLAN)), { minLength: 1, maxLength: 3 }), (texts) => {
        let file: FileSyntax | undefined;
        for (const text of texts) {
          file = parseFile(text, file);
          expect(plain(file)).toBe(plain(parseFile(text)));
        }
      }),
      { numRuns: 60 },
    );
  });
});

describe('edits of a long file', () => {
  const LONG = `\uFEFF# head\n${Array.from({ length: 24 }, (_, i) => `field F${i % 5}\n  elevation ${i % 3} m\n`).join('')}use "a"\r\nuse "a"\ruse "a"`;
  /** Text before any entry, indented by spaces and by tabs. */
  const BEFORE = '  note "a"\n\tnote "b"\n \r\nnote "c"\r  # d\nfield F\n\televation 1 m\n  ';
  const edit = fc.record({
    at: between(0, 1),
    typed: fc.boolean(),
    cut: fc.oneof(fc.nat(3), fc.nat(60)),
    put: fc.oneof(
      fc.constantFrom('', '\n', '\r', '\r\n', ' ', '#', 'u', '\uFEFF', 'field X\n', '  note "x"\n', 'start A\n'),
      fc.string({ maxLength: 2 }),
    ),
  });

  test('one after another, give what parsing afresh gives, and say what took the place of what', () => {
    fc.assert(
      fc.property(fc.constantFrom(LONG, BEFORE), fc.array(edit, { minLength: 1, maxLength: 12 }), (whole, edits) => {
        const first = parseFile(whole);
        let file = first;
        // A pick that is asked at each step, and one that is asked now and then, hold what looking at all finds.
        const [each, last] = [1, 2].map(() => picking(({ text }) => text.length % 2 === 0));
        last?.(first);
        for (const { at, typed, cut, put } of edits) {
          const offset = Math.floor(at * file.text.length);
          const text = file.text.slice(0, offset) + put + file.text.slice(offset + cut);
          const after = parseFile(text, file);
          const fresh = parseFile(text);
          const shape = ({ entries }: FileSyntax) =>
            entries.map(({ syntax, offset: from, line }) => [
              from,
              line,
              syntax.text,
              syntax.form?.keyword,
              syntax.head !== undefined,
            ]);
          expect(shape(after)).toEqual(shape(fresh));
          const edited = editFile(file, offset, Math.min(file.text.length, offset + cut), put);
          expect(edited.text).toBe(text);
          expect(shape(edited)).toEqual(shape(fresh));
          expect(plain(edited)).toBe(plain(fresh));
          const lineStarts = lineStartsOf(text);
          for (const [line, start] of lineStarts.entries()) {
            const own = text.slice(start, lineStarts[line + 1]).replace(/[\r\n]+$/, '');
            expect(lineAt(edited, line)).toBe(own);
            expect(offsetAt(edited, { line, character: own.length + 2 })).toBe(start + own.length);
          }
          expect(offsetAt(edited, { line: lineStarts.length, character: 0 })).toBe(text.length);
          const next = typed ? edited : after;
          const { change } = next;
          expect(change?.before).toBe(file.self);
          const then = file.entries.map(({ syntax }) => syntax);
          const now = next.entries.map(({ syntax }) => syntax);
          const start =
            now.length === 0 ? 0 : now.findIndex((syntax, i) => syntax !== then[i] || change?.removed[0] === then[i]);
          expect([
            ...then.slice(0, start),
            ...(change?.added ?? []),
            ...then.slice(start + (change?.removed.length ?? 0)),
          ]).toEqual(now);
          for (const [i, entry] of now.entries()) expect(indexOfEntry(next, entry)).toBe(i);
          for (const entry of then) if (!now.includes(entry)) expect(indexOfEntry(next, entry)).toBe(-1);
          file = next;
          expect(each?.(file)).toEqual(now.filter(({ text: own }) => own.length % 2 === 0));
        }
        expect(last?.(changedSince(first, file))).toEqual(each?.(file));
        const since = changedSince(first, file);
        expect(since.text).toBe(file.text);
        const was = first.entries.map(({ syntax }) => syntax);
        const { change } = since;
        if (change && file !== first) {
          expect(change.before).toBe(first.self);
          was.splice(change.index, change.removed.length, ...change.added);
          expect(was).toEqual(since.entries.map(({ syntax }) => syntax));
        }
      }),
      { numRuns: 200 },
    );
  });
});

describe('places', () => {
  test('positions count lines and UTF-16 units as editors do', () => {
    const { entries } = parseFile('# a\r\nuse "😀"\rtask T\n  finish F # x');
    const [, use, task] = entries as [PlacedEntry, PlacedEntry, PlacedEntry];
    expect(rangeAt(use, { start: 4, end: 8 })).toEqual({
      start: { line: 1, character: 4 },
      end: { line: 1, character: 8 },
    });
    const finish = task.syntax.details[0];
    expect(finish && rangeAt(task, finish.span)).toEqual({
      start: { line: 3, character: 2 },
      end: { line: 3, character: 10 },
    });
    expect(positionAt(task, 0)).toEqual({ line: 2, character: 0 });
  });

  test('the entry of a line', () => {
    const file = parseFile(EVERYTHING);
    for (const placed of file.entries) {
      const last = placed.line + placed.syntax.lineStarts.length - (placed.syntax.text.endsWith('\n') ? 2 : 1);
      for (const line of [placed.line, last]) expect(entryAtLine(file, line)).toBe(placed);
    }
    expect(entryAtLine(file, 1e9)).toBe(file.entries.at(-1));
    expect(entryAtLine(parseFile(''), 0)?.offset).toBe(0);
  });
});

test('an entry that an edit changed is read as afresh, whichever of its lines are taken over', () => {
  const piece = fc.constantFrom(
    '',
    'x',
    '7',
    ' ',
    '\n',
    '\r',
    '\r\n',
    '#',
    '"',
    '\n  note "a"\n',
    '\nturn P',
    '°',
    '\ufeff',
  );
  const edit = fc.record({ at: fc.nat({ max: 999 }), length: fc.nat({ max: 12 }), put: piece, undo: fc.boolean() });
  const asText = (entry: EntrySyntax) => plain({ entries: [{ syntax: entry, offset: 0, line: 0 }] });
  const tokensOf = (entry: EntrySyntax) => linesOf(entry).map(({ tokens }) => tokens.map(({ image }) => image));
  let taken = 0;
  fc.assert(
    fc.property(
      fc.oneof(mutated(plan), plan),
      fc.nat({ max: 99 }),
      fc.array(edit, { minLength: 1, maxLength: 5 }),
      (text, which, edits) => {
        const entries = parseFile(text).entries.filter(({ syntax }) => syntax.head);
        const first = entries[which % Math.max(1, entries.length)]?.syntax;
        if (!first) return;
        let entry = first;
        for (const { at, length, put, undo } of edits) {
          const from = Math.floor((at / 1000) * (entry.text.length + 1));
          const next = entry.text.slice(0, from) + put + entry.text.slice(from + length);
          const after = parseEntry(next, true, entry);
          const fresh = parseEntry(next, true);
          expect(asText(after)).toBe(asText(fresh));
          expect(tokensOf(after)).toEqual(tokensOf(fresh));
          taken += after.details.filter(({ slots }) => entry.details.some((one) => one.slots === slots)).length;
          if (!undo) entry = after;
        }
      },
    ),
    // A head that becomes a remark leaves its details to no head.
    { numRuns: 1000, examples: [['"field A\n  note "a"\n', 0, [{ at: 0, length: 0, put: '#', undo: false }]]] },
  );
  expect(taken).toBeGreaterThan(100);
});

describe('an edit that is taken back', () => {
  const [one, two, three] = ['field A\n  note "1"\n', 'field B\n  note "2"\n', 'field C\n  note "3"\n'];
  const of = (file: FileSyntax) => file.entries.map(({ syntax }) => syntax);
  const typed = (file: FileSyntax, behind: string, text: string, removed = '') => {
    const at = file.text.indexOf(behind) + behind.length;
    return editFile(file, at, at + removed.length, text);
  };

  test('brings back the same entry, whichever way the text changes', () => {
    const before = parseFile(`${one}${two}${three}`);
    for (const back of [
      typed(typed(before, 'field B', 'x'), 'field B', '', 'x'),
      parseFile(before.text, parseFile(before.text.replace('field B', 'field Bx'), before)),
      typed(typed(typed(before, '"2', '3'), '"23', '4'), '"2', '', '34'),
      parseFile(before.text, parseFile(before.text.replace(two, ''), before)),
      changedSince(before, typed(typed(before, 'field B', 'x'), 'field B', '', 'x')),
    ]) {
      expect(of(back).map((entry, i) => entry === of(before)[i])).toEqual([true, true, true]);
      expect(plain(back)).toEqual(plain(before));
    }
  });

  test('of entries that read alike each is one object', () => {
    const before = parseFile(`${two}${one}${two}`);
    const gone = editFile(before, 0, before.text.length, '');
    const thrice = editFile(gone, 0, 0, `${two}${two}${one}${two}`);
    expect(new Set(of(thrice)).size).toBe(4);
    expect(of(before).every((entry) => of(thrice).includes(entry))).toBe(true);
    expect(plain(thrice)).toEqual(plain(parseFile(thrice.text)));
  });

  test('text before the first entry is no entry that reads the same', () => {
    const before = parseFile(`${one}  note "2"\n`);
    const apart = parseFile('  note "2"\n', parseFile(one, before));
    expect(plain(apart)).toEqual(plain(parseFile('  note "2"\n')));
  });

  test('only the last few are remembered, and no long ones', () => {
    const long = `field L\n  note "${'x'.repeat(5000)}"\n`;
    const all = Array.from({ length: 20 }, (_, i) => `field F${i}\n`);
    const before = parseFile([long, ...all].join(''));
    const gone = parseFile('', before);
    expect(gone.recent?.length).toBe(8);
    const back = parseFile(before.text, gone);
    expect(of(back).filter((entry) => of(before).includes(entry)).length).toBe(8);
    expect(of(back)[0]).not.toBe(of(before)[0]);
    expect(back.recent?.map(({ entry }) => entry.text)).toEqual(['']);
  });
});

describe('entries that files share', () => {
  const shared = 'reserve Club\n  arrival 300 m\n';
  const own = (i: number) => `# ${i}\n${shared}turnpoint T${i} at 47.5 N 19.1 E\n`;

  test('an entry is one object in every file once it was seen twice, and what a single file has is not kept', () => {
    const pool = new EntryPool();
    const entries = [0, 1, 2, 3].map((i) => parseFile(own(i), undefined, pool).entries.map(({ syntax }) => syntax));
    expect(entries[1]?.[1]).not.toBe(entries[0]?.[1]);
    for (const file of entries.slice(2)) expect(file[1]).toBe(entries[1]?.[1]);
    expect(pool.get(`e${shared}`)).toBe(entries[1]?.[1]);
    expect(pool.get('eturnpoint T0 at 47.5 N 19.1 E\n')).toBeUndefined();
  });

  test('with a pool a file reads as without one, and holds no object twice', () => {
    const pool = new EntryPool();
    const text = shared.repeat(4);
    for (let i = 0; i < 4; i++) {
      const { entries } = parseFile(text, undefined, pool);
      expect(new Set(entries.map(({ syntax }) => syntax)).size).toBe(4);
      expect(entries).toEqual(parseFile(text).entries);
    }
  });
});
