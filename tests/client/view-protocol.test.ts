/** What comes from the view is checked before it is used: anything else than a message is dropped. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fromView, toView } from '../../client/view/protocol.ts';

describe('messages from the view', () => {
  test.each([
    [{ type: 'ready', more: 1 }, { type: 'ready' }],
    [
      { type: 'select', uri: 'file:///a', line: 3, focus: true, command: 'x' },
      { type: 'select', uri: 'file:///a', line: 3, focus: true },
    ],
    [
      { type: 'reach', ask: 1, id: 'a', task: 0, leg: 1, xM: 1.5 },
      { type: 'reach', ask: 1, id: 'a', task: 0, leg: 1, xM: 1.5 },
    ],
    [
      { type: 'part', part: 'what-if', body: [1] },
      { type: 'part', part: 'what-if', body: [1] },
    ],
  ])('%j is taken, and nothing besides what was checked', (message, taken) => {
    expect(fromView(message)).toEqual(taken);
  });

  test.each([
    undefined,
    null,
    'ready',
    [],
    {},
    { type: 'command', command: 'workbench.action.quit' },
    { type: 'select', uri: 5, line: 3, focus: true },
    { type: 'select', uri: 'file:///a', line: -1, focus: true },
    { type: 'select', uri: 'file:///a', line: 1.5, focus: true },
    { type: 'select', uri: 'file:///a', line: '3', focus: true },
    { type: 'select', uri: 'file:///a', line: 3 },
    { type: 'reach', ask: 1, id: 'a', task: 0, leg: 1, xM: Number.NaN },
    { type: 'reach', ask: 1, id: 'a', task: 0, leg: 1, xM: Number.POSITIVE_INFINITY },
    { type: 'reach', ask: 1, id: 'a', task: 0, leg: 1, xM: -1 },
    { type: 'reach', ask: 2 ** 60, id: 'a', task: 0, leg: 1, xM: 1 },
    { type: 'part', part: 1 },
  ])('%j is dropped', (message) => {
    expect(fromView(message)).toBeUndefined();
  });

  test('nothing at all makes either side throw', () => {
    const type = fc.constantFrom('ready', 'select', 'reach', 'part', 'flight', 'caret', 'words', 'waiting');
    const keys = ['uri', 'line', 'focus', 'ask', 'id', 'task', 'leg', 'xM', 'tasks', 'caret', 'reach', 'text', 'part'];
    const message = fc.oneof(
      fc.anything(),
      fc
        .tuple(type, fc.dictionary(fc.constantFrom(...keys), fc.anything()))
        .map(([one, rest]) => ({ ...rest, type: one })),
    );
    fc.assert(
      fc.property(message, (any) => {
        fromView(any);
        toView(any);
      }),
      { numRuns: 2000 },
    );
  });
});

describe('messages to the view', () => {
  const caret = { task: 0, leg: null, reach: null };

  test.each([
    { type: 'words', text: 'x' },
    { type: 'waiting', text: null },
    { type: 'caret', id: '1', caret },
    { type: 'flight', uri: 'file:///a', file: 'a', id: '1', tasks: [], caret },
    { type: 'reach', ask: 0, reach: null },
  ])('%j is taken', (message) => {
    expect(toView(message)).toEqual(message);
  });

  test.each([
    { type: 'words' },
    { type: 'waiting' },
    { type: 'caret', id: '1', caret: { task: 'x', leg: null, reach: null } },
    { type: 'flight', uri: 'file:///a', file: 'a', id: '1', tasks: [{}], caret },
    { type: 'reach', ask: 0, reach: { leg: 1, xM: 'x', fields: [] } },
  ])('%j is dropped', (message) => {
    expect(toView(message)).toBeUndefined();
  });
});
