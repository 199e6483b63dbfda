/** What-if as a client sees it: the request, the lens that a client asks for, and the code actions. */
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { CodeAction, CodeLens, WorkspaceEdit } from 'vscode-languageserver-types';
import type { WhatIfAnswer } from '../../server/features/what-if.ts';
import { whatIfActions } from '../../server/features/what-if-actions.ts';
import { whatIfLenses } from '../../server/features/what-if-lens.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { type InProcess, ROOT, startInProcess } from '../server/in-process.ts';
import { applied, marked } from './marked.ts';

const URI = `${ROOT}/plan.taskplan`;
const CLUB = `${ROOT}/club.taskplan`;
const TEXT = `use "club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 5200 ft MSL
  finish   Ashmoor
`;

let session: InProcess;

const start = async (options: unknown): Promise<InProcess> => {
  const session = await startInProcess(
    {
      read: async (uri) => (uri === CLUB ? { text: EXAMPLE_CLUB } : { why: 'missing' }),
      list: async () => [CLUB],
    },
    { workspace: { workspaceEdit: { documentChanges: true } } },
    options,
  );
  await session.client.sendNotification('textDocument/didOpen', {
    textDocument: { uri: URI, languageId: 'taskplan', version: 3, text: TEXT },
  });
  return session;
};

beforeAll(async () => {
  session = await start({});
});

afterAll(() => session.client.dispose());

const ask = (params: object) =>
  session.client.sendRequest<WhatIfAnswer & { version: number }>('legwise/whatIf', {
    textDocument: { uri: URI },
    ...params,
  });

describe('the request', () => {
  test('answers with both sides, and with an edit that is bound to the version', async () => {
    const answer = await ask({
      task: 'Home',
      changes: { startAltitudeM: 1700 },
      answers: true,
      write: true,
      flight: true,
    });
    expect([answer.version, answer.changed, answer.legs.length]).toEqual([3, true, 1]);
    expect(answer.legs[0]?.change).toMatch(/^\+/);
    expect(answer.answers?.map(({ kind }) => kind)).toEqual(['headwind', 'height', 'speed']);
    expect(answer.flight?.picture.lines.first).toBe(2);
    const [change] = (answer.edit as WorkspaceEdit).documentChanges ?? [];
    if (!change || !('textDocument' in change)) throw new Error('no edit');
    expect(change.textDocument).toEqual({ uri: URI, version: 3 });
    expect(applied(TEXT, change.edits as never)).toBe(TEXT.replace('5200 ft', '5577 ft'));
  });

  test('the flight has the lines of the plan as it stands, whatever the edit adds above them', async () => {
    const answer = await ask({ task: 0, changes: { share: 0.9, windFactor: 2 }, write: true, flight: true });
    expect(answer.changes).toHaveLength(4);
    const { picture } = answer.flight ?? {};
    expect([picture?.lines, picture?.start?.lines.first, picture?.legs[0]?.lines.first]).toEqual([
      { first: 2, last: 7 },
      6,
      7,
    ]);
  });

  test('what makes no sense is refused with a reason', async () => {
    await expect(ask({ task: 5 })).rejects.toThrow('the file has no such task');
    await expect(ask({ task: 0, changes: { share: 7 } })).rejects.toThrow('`share` is no number');
  });

  test('a client that names no command gets no lens for it', async () => {
    const lenses = await session.client.sendRequest<CodeLens[]>('textDocument/codeLens', {
      textDocument: { uri: URI },
    });
    expect(lenses.length).toBeGreaterThan(0);
    expect(lenses.some(({ command }) => command?.title === 'what if…')).toBe(false);
  });

  test('one that does gets it, with the name that it knows the file by', async () => {
    const { client } = await start({ whatIf: 'open.it' });
    const lenses = await client.sendRequest<CodeLens[]>('textDocument/codeLens', { textDocument: { uri: URI } });
    const own = lenses.flatMap(({ command }) => (command?.title === 'what if…' ? [command] : []));
    expect(own).toEqual([{ title: 'what if…', command: 'open.it', arguments: [URI, 2] }]);
    client.dispose();
  });

  test('the code action comes with the others', async () => {
    const at = { line: 6, character: 3 };
    const actions = await session.client.sendRequest<CodeAction[]>('textDocument/codeAction', {
      textDocument: { uri: URI },
      range: { start: at, end: at },
      context: { diagnostics: [] },
    });
    expect(actions.map(({ title }) => title).filter((title) => title.includes('lowest'))).toHaveLength(1);
  });
});

test('the lens stands over the task, and names the file and the line', () => {
  const { workspace, understood, uri } = marked(TEXT);
  expect(whatIfLenses(workspace, understood, 'open.it', uri)).toEqual([
    {
      range: { start: { line: 2, character: 0 }, end: { line: 2, character: 9 } },
      command: { title: 'what if…', command: 'open.it', arguments: [uri, 2] },
    },
  ]);
});

describe('code actions', () => {
  const actions = (text: string, only?: string[]) => {
    const { workspace, understood, position } = marked(text);
    return whatIfActions(workspace, understood, { start: position, end: position }, only);
  };
  const at = (line: string) => TEXT.replace(line, `${line.slice(0, 4)}$0${line.slice(4)}`);

  test('the lowest start on its line, the fastest home on the last leg, both on the first line', () => {
    const start = actions(at('  start    Larkfield')).map(({ title }) => title);
    const finish = actions(at('  finish   Ashmoor')).map(({ title }) => title);
    expect(start).toEqual([expect.stringMatching(/^Start at [\d,]+ ft MSL, the lowest that makes it$/)]);
    expect(finish).toEqual([expect.stringMatching(/^Fly home to Ashmoor at \d+ kt, the fastest that makes it$/)]);
    expect(actions(at('task Home')).map(({ title }) => title)).toEqual([...start, ...finish]);
    expect(actions(at('  reserve  Training'))).toEqual([]);
  });

  test('only where they are asked for', () => {
    expect(actions(at('task Home'), ['quickfix'])).toEqual([]);
    expect(actions(at('task Home'), ['refactor'])).toHaveLength(2);
    expect(actions(at('task Home'), ['refactor.rewrite'])).toHaveLength(2);
    expect(actions(at('task Home'), ['refactor.move'])).toEqual([]);
  });

  test('none on a task that does not make it: its findings have fixes', () => {
    expect(actions(at('task Home').replace('5200 ft', '3000 ft'))).toEqual([]);
  });

  test('written, it makes it, and a foot less does not', () => {
    const [action] = actions(at('  start    Larkfield'));
    const [edit] = Object.values(action?.edit?.changes ?? {});
    const now = applied(TEXT, edit ?? []);
    const margin = (text: string) => marked(text).understood.tasks[0]?.legs[0]?.result;
    const makes = (text: string) => {
      const result = margin(text);
      return result?.problem === null && result.marginM >= 0;
    };
    expect(makes(now)).toBe(true);
    const height = Number(/Larkfield at (\d+) ft/.exec(now)?.[1]);
    expect(makes(now.replace(`${height} ft`, `${height - 1} ft`))).toBe(false);
  });
});
