/** Edits that come faster than they are looked at: as one, and never another text than one by one gives. */
import { PassThrough } from 'node:stream';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { TextDocument, type TextDocumentContentChangeEvent } from 'vscode-languageserver-textdocument';
import { applyJoined, isChange } from '../../server/changes.ts';
import { WholeMessagesReader } from '../../server/node/messages.ts';

type Change = TextDocumentContentChangeEvent;

const insert = (line: number, character: number, text: string, remove = 0): Change => ({
  range: { start: { line, character }, end: { line, character: character + remove } },
  text,
});

/**
 * The text that edits leave. Source: the library for documents of the protocol; one for each edit, since it counts the lines
 * wrongly behind an edit that begins beyond the last.
 */
const applied = (text: string, changes: readonly Change[]): string =>
  changes.reduce((now, change) => {
    const document = TextDocument.create('file:///a', 'taskplan', 0, now);
    return TextDocument.update(document, [change], 1).getText();
  }, text);

/** The edits that are made of some, in a text. */
function joinedIn(text: string, changes: readonly Change[]): Change[] {
  const made: Change[] = [];
  const lineOf = (line: number) => applied(text, made).split(/\r\n|\n|\r/)[line] ?? '';
  applyJoined(changes, lineOf, (change) => made.push(change));
  return made;
}
const joinedChanges = (changes: readonly Change[]) => joinedIn('0123456789\n0123456789', changes);

describe('edits that lie within each other', () => {
  test('what is typed letter by letter, and taken back, is one edit', () => {
    const typed = [...'note'].map((letter, i) => insert(1, 2 + i, letter));
    expect(joinedChanges(typed)).toEqual([insert(1, 2, 'note')]);
    expect(joinedChanges([...typed, insert(1, 5, '', 1), insert(1, 4, '', 1)])).toEqual([insert(1, 2, 'no')]);
    // Always at one place, each before the last.
    expect(joinedChanges([...'abc'].map((letter) => insert(0, 7, letter)))).toEqual([insert(0, 7, 'cba')]);
    // What replaces a word is written on.
    expect(joinedChanges([insert(0, 3, 'x', 4), insert(0, 4, 'y')])).toEqual([insert(0, 3, 'xy', 4)]);
  });

  test('others stay apart', () => {
    const apart = (...changes: Change[]) => expect(joinedChanges(changes)).toEqual(changes);
    apart(insert(0, 3, 'a'), insert(1, 3, 'b'));
    apart(insert(0, 3, 'a'), insert(0, 5, 'b'));
    apart(insert(0, 3, 'a'), insert(0, 2, 'b'));
    apart(insert(0, 3, 'a'), insert(0, 3, '', 2));
    apart(insert(0, 3, 'a\n'), insert(0, 4, 'b'));
    apart(insert(0, 3, 'a\r'), insert(0, 4, 'b'));
    apart({ text: 'all' }, insert(0, 3, 'b'));
    apart(insert(0, 3, 'a'), { text: 'all' });
    const reversed = { range: { start: { line: 0, character: 4 }, end: { line: 0, character: 2 } }, text: 'ab' };
    apart(reversed, insert(0, 4, 'c'));
    apart(insert(0, 2, 'abc'), reversed);
    // Beyond the end of its line the first goes elsewhere than it says.
    apart(insert(0, 11, 'a'), insert(0, 12, 'b'));
    apart(insert(2, 1, 'a'), insert(2, 2, 'b'));
  });

  const place = fc.record({ line: fc.constantFrom(0, 0, 0, 1, 2), character: fc.integer({ min: 0, max: 5 }) });
  const anyChange: fc.Arbitrary<Change> = fc.oneof(
    {
      weight: 5,
      arbitrary: fc
        .tuple(fc.integer({ min: 1, max: 4 }), fc.constantFrom(0, 0, 1), fc.constantFrom('', 'a', 'bc'))
        .map(([character, more, text]) => insert(0, character, text, more)),
    },
    fc
      .record({
        start: place,
        more: fc.integer({ min: 0, max: 2 }),
        text: fc.constantFrom('', 'a', 'bc', 'd\ne', '\r'),
      })
      .map(({ start, more, text }) => ({
        range: { start, end: { ...start, character: start.character + more } },
        text,
      })),
    fc
      .record({ start: place, end: place, text: fc.constantFrom('', 'x', 'yz\n') })
      .map(({ start, end, text }) => ({ range: { start, end }, text })),
    fc.constantFrom('', 'one\ntwo\r\nthree').map((text) => ({ text })),
  );

  test('any: the text is that of one by one', () => {
    let joined = 0;
    fc.assert(
      fc.property(
        fc.constantFrom('', 'abcdefg\nhijklm\nno', 'ab\r\ncd\rεζ\n'),
        fc.array(anyChange, { maxLength: 8 }),
        (text, changes) => {
          const fewer = joinedIn(text, changes);
          if (fewer.length < changes.length) joined += 1;
          expect(applied(text, fewer)).toBe(applied(text, changes));
        },
      ),
      { numRuns: 5000 },
    );
    expect(joined).toBeGreaterThan(500);
  });

  test('what is an edit is told from what is none', () => {
    const at = { line: 0, character: 1 };
    for (const one of [{ text: '' }, insert(1, 2, 'x'), { range: { start: at, end: at }, text: 'y', rangeLength: 0 }])
      expect(isChange(one)).toBe(true);
    for (const none of [
      null,
      1,
      'text',
      {},
      { text: 1 },
      { text: 'x', range: null },
      { text: 'x', range: {} },
      { text: 'x', range: { start: at } },
      { text: 'x', range: { start: at, end: { line: 0 } } },
      { text: 'x', range: { start: at, end: { line: 0, character: -1 } } },
      { text: 'x', range: { start: at, end: { line: 0.5, character: 1 } } },
    ])
      expect([none, isChange(none)]).toEqual([none, false]);
  });
});

describe('messages that bring edits', () => {
  const change = (version: unknown, changes: unknown, uri: unknown = 'file:///a') => ({
    jsonrpc: '2.0',
    method: 'textDocument/didChange',
    params: { textDocument: { uri, version }, contentChanges: changes },
  });
  const written = (message: object): string => {
    const text = JSON.stringify(message);
    return `Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`;
  };
  interface Read {
    readonly method: string;
    readonly params: {
      readonly textDocument: { readonly version: number };
      readonly contentChanges: readonly object[];
    };
  }

  /** The messages that come out of those that go in as one; of some it is looked at what they bring before the next comes. */
  function read(messages: readonly object[], looksAtOnce: (index: number) => boolean = () => false): Read[] {
    const stream = new PassThrough();
    const found: Read[] = [];
    new WholeMessagesReader(stream).listen((message) => {
      const one = message as unknown as Read;
      if (looksAtOnce(found.length)) void one.params.contentChanges;
      found.push(one);
    });
    stream.emit('data', Buffer.from(messages.map(written).join('')));
    return found;
  }
  const told = (found: readonly Read[]) =>
    found.map(({ params }) => [params.textDocument.version, ...params.contentChanges]);
  const [a, b, c] = ['a', 'b', 'c'].map((letter, i) => insert(0, i, letter)) as [Change, Change, Change];

  test('are one while nobody has looked at them', () => {
    const three = [change(2, [a]), change(3, [b, c]), change(4, [{ text: 'whole' }])];
    expect(told(read(three))).toEqual([[4, a, b, c, { text: 'whole' }]]);
    expect(told(read(three, (index) => index === 0))).toEqual([
      [2, a],
      [4, b, c, { text: 'whole' }],
    ]);
    expect(told(read(three, () => true))).toEqual([
      [2, a],
      [3, b, c],
      [4, { text: 'whole' }],
    ]);
  });

  test('are apart where something comes between, of another text, and with a version that does not follow', () => {
    const between = [
      change(2, [a]),
      { jsonrpc: '2.0', id: 1, method: 'textDocument/hover', params: {} },
      change(3, [b]),
    ];
    expect(read(between).map(({ method }) => method)).toEqual([
      'textDocument/didChange',
      'textDocument/hover',
      'textDocument/didChange',
    ]);
    expect(told(read([change(2, [a]), change(3, [b], 'file:///b'), change(4, [c], 'file:///b')]))).toEqual([
      [2, a],
      [4, b, c],
    ]);
    for (const version of [1, 2, 4])
      expect(told(read([change(2, [a]), change(version, [b])]))).toEqual([
        [2, a],
        [version, b],
      ]);
  });

  test('that nobody can follow are handed on as they came, and cost no other', () => {
    for (const odd of [change(3, [b, { text: 1 }]), change(3, 'none'), change('3', [b]), change(3, [b], 7)]) {
      const found = read([change(2, [a]), odd, change(4, [c])]);
      expect(found.map((one) => JSON.parse(JSON.stringify(one)).params.textDocument.version)).toEqual([
        2,
        (odd as unknown as Read).params.textDocument.version,
        4,
      ]);
      expect(found[1]).toEqual(odd);
    }
    for (const params of [undefined, null, [], {}]) {
      const odd = { jsonrpc: '2.0', method: 'textDocument/didChange', ...(params === undefined ? {} : { params }) };
      expect(read([odd, change(4, [c])])).toHaveLength(2);
    }
  });
});
