/** What the flight view is given: every task as a picture with its findings, the caret's place, and when to ask again. */
import { setTimeout as sleep } from 'node:timers/promises';
import { describe, expect, test } from 'vitest';
import {
  type FlightViewAnswer,
  flightViewCaret,
  flightViewReach,
  flightViewTask,
} from '../../server/features/flight-view.ts';
import { marginText } from '../../server/plan/budget-rows.ts';
import { worstPointOf } from '../../server/plan/reach.ts';
import { show } from '../../server/plan/show.ts';
import { understand } from '../../server/plan/understand.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { check } from '../../server/rules/run.ts';
import { ROOT, startInProcess } from '../server/in-process.ts';
import { marked, sampleWorkspace } from './marked.ts';

const PLAN = `use "club.taskplan"

task Short
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at 3200 ft MSL
  climb    to 4800 ft MSL
  turn     "Withy Bridge"
  climb    to 3700 ft MSL
  finish   Larkfield at 60 kt

task Other
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at 3200 ft MSL
  finish   "Withy Bridge"
`;
const LINE = { task: 2, start: 6, climb: 7, turn: 8, secondClimb: 9, finish: 10, between: 11, other: 12 };

const flown = () => {
  const { workspace, understood } = marked(PLAN);
  const findings = check(workspace, understood);
  const tasks = understood.tasks.map((task) => flightViewTask(workspace, understood, task, findings));
  return { workspace, understood, findings, tasks };
};

describe('the tasks of a file', () => {
  test('each with its picture and the findings of its legs', () => {
    const { tasks, findings } = flown();
    expect(tasks.map(({ picture }) => picture.task)).toEqual(['Short', 'Other']);
    const below = tasks[0]?.findings.find(({ code }) => code === 'below-reserve');
    expect(below).toMatchObject({ leg: 2, line: LINE.finish, severity: 'error' });
    expect(tasks.flatMap((task) => task.findings)).toHaveLength(findings.length);
  });

  test('of every sample, the least margin is the one that the budget shows', () => {
    const { workspace } = sampleWorkspace();
    for (const file of workspace.files.values()) {
      const understood = understand(workspace, file);
      const findings = check(workspace, understood);
      for (const task of understood.tasks) {
        const { picture, least } = flightViewTask(workspace, understood, task, findings);
        const leg = task.legs.find(({ number }) => number === picture.least?.leg);
        if (leg)
          expect(least).toMatch(new RegExp(`^\\${marginText(leg, show(understood.units))} on leg ${leg.number} `));
        else expect(least).toBeNull();
        const lowest = Math.min(
          ...task.legs.flatMap(({ result }) => (result?.problem === null ? [result.marginM] : [])),
        );
        if (leg) expect(picture.least?.marginM).toBe(lowest);
      }
    }
  });
});

describe('the place of the caret', () => {
  test.each([
    ['task', LINE.task, { task: 0, leg: null }, undefined],
    ['start', LINE.start, { task: 0, leg: null }, { leg: 1, xM: 0 }],
    ['climb', LINE.climb, { task: 0, leg: 1 }, { leg: 1, xM: 0 }],
    ['secondClimb', LINE.secondClimb, { task: 0, leg: 2 }, { leg: 2, xM: 0 }],
    ['another task', LINE.other, { task: 1, leg: null }, undefined],
    ['the first line', 0, { task: null, leg: null }, undefined],
    ['beyond the file', 9999, { task: null, leg: null }, undefined],
  ])('on %s', (_, line, place, reach) => {
    const { understood, tasks } = flown();
    const caret = flightViewCaret(understood, tasks, line);
    expect(caret).toMatchObject(place);
    if (reach) expect(caret.reach).toMatchObject(reach);
    else expect(caret.reach).toBeNull();
  });

  test('on a turn it is the worst point of the leg, as hover has it', () => {
    const { understood, tasks } = flown();
    const [task] = understood.tasks;
    const leg = task?.legs[0];
    if (!task || !leg) throw new Error('there is no leg');
    const worst = worstPointOf(leg, task);
    const { reach } = flightViewCaret(understood, tasks, LINE.turn);
    expect(reach).toMatchObject({ leg: 1, xM: worst?.xM });
    expect(reach?.fields.map(({ name }) => name)).toEqual(worst?.inReach.map(({ field }) => field.meaning.name));
  });

  test.each([
    ['0', 1, 0],
    [0, '1', 0],
    [0, 1, null],
    [7, 1, 0],
    [-1, 1, 0],
    [0, 9, 0],
    [0, 1, -5],
    [0, 1, 1e9],
    [0, 1, Number.NaN],
    [undefined, undefined, undefined],
  ])('no fields in reach are known of task %j, leg %j at %j', (task, leg, xM) => {
    expect(flightViewReach(flown().understood, task, leg, xM)).toBeNull();
  });
});

describe('in a session', () => {
  const uri = `${ROOT}/plan.taskplan`;
  const club = `${ROOT}/club.taskplan`;
  const disk = {
    read: async (wanted: string) => (wanted === club ? { text: EXAMPLE_CLUB } : ({ why: 'missing' } as const)),
    list: async () => [],
  };
  const open = async () => {
    const { client, logged } = await startInProcess(disk);
    const send = (text: string, version: number) =>
      version === 1
        ? client.sendNotification('textDocument/didOpen', {
            textDocument: { uri, languageId: 'taskplan', version, text },
          })
        : client.sendNotification('textDocument/didChange', {
            textDocument: { uri, version },
            contentChanges: [{ text }],
          });
    await send(PLAN, 1);
    const ask = (more: object = {}) =>
      client.sendRequest<FlightViewAnswer | null>('legwise/picture', { textDocument: { uri }, ...more });
    return { client, logged, send, ask };
  };

  test('what the client has is not sent again, and what has changed is', async () => {
    const { ask, send, logged } = await open();
    const first = await ask({ position: { line: LINE.turn, character: 0 } });
    expect(first).toMatchObject({ version: 1, caret: { task: 0, leg: 1 } });
    expect(first?.tasks).toHaveLength(2);
    const moved = await ask({ position: { line: LINE.finish, character: 3 }, known: first?.id });
    expect(moved).toMatchObject({ id: first?.id, tasks: null, caret: { task: 0, leg: 2 } });
    await send(PLAN.replace('to 3700 ft', 'to 5000 ft'), 2);
    const changed = await ask({ known: first?.id });
    expect(changed?.version).toBe(2);
    expect(changed?.id).not.toBe(first?.id);
    expect(changed?.tasks?.[0]?.findings.some(({ code }) => code === 'below-reserve')).toBe(false);
    await send('# nothing\n', 3);
    expect(await ask({ known: changed?.id })).toMatchObject({ tasks: [], caret: { task: null, leg: null } });
    expect(logged).toEqual([]);
  });

  test('a file that is not there has no answer, and strange questions harm nothing', async () => {
    const { client, ask, logged } = await open();
    const other = { textDocument: { uri: `${ROOT}/gone.taskplan` } };
    expect(await client.sendRequest('legwise/picture', other)).toBeNull();
    expect(await client.sendRequest('legwise/reach', { ...other, task: 0, leg: 1, xM: 0 })).toBeNull();
    expect((await ask({ position: 'here', known: {} }))?.tasks).toHaveLength(2);
    expect(
      await client.sendRequest('legwise/reach', { textDocument: { uri }, task: 0, leg: 1, xM: 100 }),
    ).toMatchObject({
      leg: 1,
      xM: 100,
    });
    expect(logged).toEqual([]);
  });

  test('a client that asked for it is told when another file has changed, and no other client is', async () => {
    for (const tellChanges of [true, false]) {
      const { client } = await startInProcess(disk, {}, { tellChanges });
      let told = 0;
      client.onNotification('legwise/changed', () => void told++);
      await client.sendNotification('textDocument/didOpen', {
        textDocument: { uri, languageId: 'taskplan', version: 1, text: PLAN },
      });
      await client.sendNotification('textDocument/didOpen', {
        textDocument: { uri: club, languageId: 'taskplan', version: 1, text: EXAMPLE_CLUB },
      });
      await client.sendRequest('legwise/picture', { textDocument: { uri } });
      await sleep(50);
      const before = told;
      await client.sendNotification('textDocument/didChange', {
        textDocument: { uri: club, version: 2 },
        contentChanges: [{ text: EXAMPLE_CLUB.replace(/\n$/, '\n# more\n') }],
      });
      await client.sendRequest('legwise/picture', { textDocument: { uri } });
      await sleep(50);
      expect(told > before).toBe(tellChanges);
    }
  });
});
