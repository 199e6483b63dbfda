// @vitest-environment happy-dom
/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
/** The flight view in a document without a browser: what is shown, what is said, and what a click or a key does. */
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { svgOf } from '../../client/view/elements.ts';
import type { PartHost, Shown } from '../../client/view/parts.ts';
import type { FromView, ToView } from '../../client/view/protocol.ts';
import { View } from '../../client/view/view.ts';
import { flightViewCaret, flightViewReach, flightViewTask } from '../../server/features/flight-view.ts';
import { legCells } from '../../server/plan/budget-rows.ts';
import { show } from '../../server/plan/show.ts';
import { check } from '../../server/rules/run.ts';
import { marked } from '../features/marked.ts';

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
  start    Larkfield at 5200 ft MSL
  finish   "Withy Bridge"
`;
const LINE = { turn: 8, finish: 10, other: 12 };

/** What the extension sends for a plan with the caret on a line. */
function flightOf(text: string, line: number, id = '1') {
  const { workspace, understood } = marked(text);
  const findings = check(workspace, understood);
  const tasks = understood.tasks.map((task) => flightViewTask(workspace, understood, task, findings));
  const caret = flightViewCaret(understood, tasks, line);
  const message: ToView = {
    type: 'flight',
    uri: 'file:///plans/plan.taskplan',
    file: 'plan.taskplan',
    id,
    tasks,
    caret,
  };
  return { message, tasks, caret, understood };
}

let view: View;
let sent: FromView[];
let state: unknown;

const fresh = () => {
  document.body.innerHTML = '<main id="flight"></main><section id="what-if"></section>';
  sent = [];
  view = new View(document.getElementById('flight') as HTMLElement, {
    post: (message) => void sent.push(message),
    getState: () => state,
    setState: (kept) => {
      state = structuredClone(kept);
    },
  });
};
/** Gives the view a message as the editor does: copied, and with time for a frame. */
const give = async (message: unknown) => {
  view.onMessage(structuredClone(message));
  await vi.advanceTimersByTimeAsync(40);
};
const one = (selector: string): HTMLElement => {
  const found = document.querySelector<HTMLElement>(selector);
  if (!found) throw new Error(`there is no ${selector}`);
  return found;
};
const texts = (selector: string) => [...document.querySelectorAll(selector)].map(({ textContent }) => textContent);
const key = async (name: string, more: KeyboardEventInit = {}) => {
  one('.side .paper').dispatchEvent(new KeyboardEvent('keydown', { key: name, bubbles: true, ...more }));
  await vi.advanceTimersByTimeAsync(40);
};
const placeText = () => one('.side .paper').getAttribute('aria-valuetext') ?? '';

beforeEach(() => {
  vi.useFakeTimers();
  vi.spyOn(HTMLElement.prototype, 'clientWidth', 'get').mockReturnValue(700);
  state = undefined;
  fresh();
});
afterEach(() => {
  vi.useRealTimers();
  vi.restoreAllMocks();
});

describe('what is shown', () => {
  test('a task with its drawings, its table, its findings and the caution', async () => {
    const { message, tasks, understood } = flightOf(PLAN, LINE.finish);
    await give(message);
    expect(one('.flight').hidden).toBe(false);
    expect(texts('h1')).toEqual(['Short']);
    expect(texts('.least')[0]).toBe(`least margin ${tasks[0]?.least}`);
    expect(document.querySelectorAll('.side svg, .plan svg')).toHaveLength(4);
    const [task] = understood.tasks;
    const cells = task?.legs.map((leg) => legCells(leg, show(understood.units))) ?? [];
    expect(texts('tbody button')).toEqual(cells.map(([name]) => name));
    expect(texts('tbody td.margin')).toEqual(cells.map((row) => row[9]));
    expect(texts('tr[aria-current] button')).toEqual([cells[1]?.[0]]);
    expect(texts('.findings li button')).toEqual(tasks[0]?.findings.map((finding) => finding.message));
    expect(texts('.caution')[0]).toContain('flight manual');
  });

  test('words instead of a drawing when there is nothing to draw', async () => {
    expect(one('.flight').hidden).toBe(true);
    expect(texts('.words')[0]).toMatch(/server/);
    await give(flightOf(PLAN, 0).message);
    await give({ type: 'words', text: 'The language server is starting.' });
    expect(one('.flight').hidden).toBe(true);
    expect(one('.words').hidden).toBe(false);
    expect(texts('.words')).toEqual(['The language server is starting.']);
    await give(flightOf(PLAN, 0).message);
    expect(one('.flight').hidden).toBe(false);
    expect(one('.words').hidden).toBe(true);
  });

  test('a drawing that is older than the text says so until the next one', async () => {
    const { message } = flightOf(PLAN, 0);
    await give(message);
    await give({ type: 'waiting', text: 'older than the text' });
    expect(texts('.waiting')).toEqual(['older than the text']);
    await give({ ...message, id: '2' });
    expect(texts('.waiting')).toEqual(['']);
  });

  test('a task that is not computed says why', async () => {
    await give(flightOf(PLAN.replaceAll('Finch', 'Fnich'), LINE.turn).message);
    expect(texts('.least')).toEqual(['no leg has a margin']);
    await key('Home');
    expect(placeText()).toContain('not computed no aircraft `Fnich` is known');
  });

  test('names are text, whatever is in them, and no element has a style of its own', async () => {
    const name = `<img src=x onerror=alert(1)>' style=x`;
    await give(
      flightOf(PLAN.replaceAll('task Short', `task "${name}"`).replaceAll('Larkfield', `"${name}"`), LINE.turn).message,
    );
    expect(texts('h1')).toEqual([name]);
    expect(document.querySelectorAll('img, script, [onerror]')).toHaveLength(0);
    expect(document.querySelectorAll('[style]')).toHaveLength(0);
  });

  test('what is no message changes nothing', async () => {
    await give(flightOf(PLAN, 0).message);
    const before = document.body.innerHTML;
    for (const message of [null, 'words', { type: 'words' }, { type: 'flight', tasks: [null] }, { type: 'quit' }])
      await give(message);
    expect(document.body.innerHTML).toBe(before);
  });
});

describe('what is done', () => {
  test('a row of the table shows its line; the keyboard goes there', async () => {
    await give(flightOf(PLAN, 0).message);
    const button = one('tbody button') as HTMLButtonElement;
    const uri = 'file:///plans/plan.taskplan';
    button.dispatchEvent(new MouseEvent('click', { detail: 1, bubbles: true }));
    expect(sent.at(-1)).toEqual({ type: 'select', uri, line: LINE.turn, focus: false });
    button.dispatchEvent(new MouseEvent('click', { detail: 0, bubbles: true }));
    expect(sent.at(-1)).toEqual({ type: 'select', uri, line: LINE.turn, focus: true });
  });

  test('arrow keys go along the task, and the numbers follow; Enter goes to the line, Escape takes the place away', async () => {
    const { message } = flightOf(PLAN, 0);
    await give(message);
    expect(placeText()).toBe('no place');
    await key('Home');
    expect(placeText()).toMatch(
      /^leg 1, Larkfield to Withy Bridge; to go 8\.8 NM to Withy Bridge, 17\.6 NM to the finish; planned 4,800 ft MSL/,
    );
    await key('ArrowRight');
    expect(placeText()).toMatch(/to go 8\.\d NM to Withy Bridge/);
    await key('End');
    expect(placeText()).toMatch(/^leg 2, .*margin −[\d,]+ ft, too low/);
    expect(Number(one('.side .paper').getAttribute('aria-valuenow'))).toBe(
      Number(one('.side .paper').getAttribute('aria-valuemax')),
    );
    await key('Enter');
    expect(sent.at(-1)).toMatchObject({ type: 'select', line: LINE.finish, focus: true });
    await key('Escape');
    expect(placeText()).toBe('no place');
    const before = sent.length;
    await key('x');
    await key('Home', { ctrlKey: true });
    expect(placeText()).toBe('no place');
    expect(sent).toHaveLength(before);
  });

  test('the fields in reach of a place are asked for; an answer to an older question is dropped', async () => {
    const { message, understood } = flightOf(PLAN, 0);
    await give(message);
    await key('Home');
    const asked = sent.find(({ type }) => type === 'reach') as Extract<FromView, { type: 'reach' }>;
    expect(asked).toMatchObject({ id: '1', task: 0, leg: 1, xM: 0 });
    expect(placeText()).toContain('fields in reach …');
    await give({ type: 'reach', ask: asked.ask + 7, reach: null });
    expect(placeText()).toContain('fields in reach …');
    await give({ type: 'reach', ask: asked.ask, reach: flightViewReach(understood, 0, 1, 0) });
    expect(placeText()).toMatch(/fields in reach .*Larkfield \(0\.0 NM/);
  });

  test('what is asked for while an answer is on its way is asked for after it, the last place alone', async () => {
    await give(flightOf(PLAN, 0).message);
    await key('Home');
    await key('ArrowRight');
    await key('ArrowDown');
    const asks = () => sent.filter((message) => message.type === 'reach');
    expect(asks()).toHaveLength(1);
    await give({ type: 'reach', ask: asks()[0]?.ask, reach: null });
    expect(asks()).toHaveLength(2);
    expect(asks()[1]).toMatchObject({ leg: 2, xM: 0 });
  });
});

describe('several tasks', () => {
  test('the one with the caret is shown, until another is picked or the caret goes to another', async () => {
    const { message, tasks, understood } = flightOf(PLAN, LINE.other);
    await give(message);
    const pick = one('select') as HTMLSelectElement;
    expect(pick.hidden).toBe(false);
    expect(texts('option')).toEqual(['Short', 'Other']);
    expect(texts('tbody button')).toHaveLength(1);
    pick.selectedIndex = 0;
    pick.dispatchEvent(new Event('change'));
    await vi.advanceTimersByTimeAsync(40);
    expect(texts('tbody button')).toHaveLength(2);
    expect(sent.at(-1)).toMatchObject({ type: 'select', line: 2, focus: false });
    await give({ type: 'caret', id: '1', caret: flightViewCaret(understood, tasks, LINE.turn) });
    expect(texts('tbody button')).toHaveLength(2);
    await give({ type: 'caret', id: '1', caret: flightViewCaret(understood, tasks, LINE.other) });
    expect(texts('tbody button')).toHaveLength(1);
  });

  test('a caret of other tasks than those that are shown is dropped', async () => {
    const { message, tasks, understood } = flightOf(PLAN, LINE.turn);
    await give(message);
    await give({ type: 'caret', id: 'old', caret: flightViewCaret(understood, tasks, LINE.other) });
    expect(texts('h1')).toEqual(['Short']);
  });
});

describe('across hiding and reloading', () => {
  test('the plan and the place are kept, and what a part keeps', async () => {
    const { message } = flightOf(PLAN, 0);
    await give(message);
    await key('End');
    const before = placeText();
    view.mount('what-if', one('#what-if'), (_, host) => host.keep({ on: true }));
    expect(state).toMatchObject({ uri: 'file:///plans/plan.taskplan', parts: { 'what-if': { on: true } } });
    fresh();
    let kept: unknown;
    view.mount('what-if', one('#what-if'), (_, host) => {
      kept = host.kept;
    });
    expect(kept).toEqual({ on: true });
    await give(message);
    expect(placeText()).toBe(before);
  });

  test.each([[null], [7], [[]], [{ place: { leg: 'x' }, parts: 5, uri: {} }]])(
    'a state of %j is none',
    async (strange) => {
      state = strange;
      fresh();
      await give(flightOf(PLAN, 0).message);
      expect(placeText()).toBe('no place');
    },
  );
});

describe('parts', () => {
  test('another flight in place of the plan is labelled as what it is, and goes again', async () => {
    let host: PartHost | undefined;
    const told: (Shown | undefined)[] = [];
    view.mount('what-if', one('#what-if'), (_, given) => {
      host = given;
      given.onShown((shown) => void told.push(shown));
    });
    expect(told).toEqual([undefined]);
    const { message, tasks } = flightOf(PLAN, LINE.turn);
    await give(message);
    expect(told.at(-1)).toMatchObject({ id: '1', task: 0, leg: 1 });
    const higher = flightOf(PLAN.replace('3700', '5000'), 0).tasks[0];
    if (!higher) throw new Error('there is no task');
    host?.showInstead({ task: 0, flight: higher, note: 'what-if, not written' });
    await vi.advanceTimersByTimeAsync(40);
    expect(one('.note').hidden).toBe(false);
    expect(texts('.note')).toEqual(['what-if, not written']);
    expect(texts('.least')).toEqual([`least margin ${higher.least}`]);
    host?.showInstead(undefined);
    await vi.advanceTimersByTimeAsync(40);
    expect(one('.note').hidden).toBe(true);
    expect(texts('.least')).toEqual([`least margin ${tasks[0]?.least}`]);
  });

  test('messages go to their part and from it', async () => {
    const got: unknown[] = [];
    view.mount('what-if', one('#what-if'), (_, host) => {
      host.onMessage((body) => void got.push(body));
      host.post({ ask: 1 });
    });
    expect(sent).toEqual([{ type: 'part', part: 'what-if', body: { ask: 1 } }]);
    await give({ type: 'part', part: 'what-if', body: 'a' });
    await give({ type: 'part', part: 'nobody', body: 'b' });
    expect(got).toEqual(['a']);
  });
});

describe('what is said aloud', () => {
  test('the margins that changed, once it is quiet', async () => {
    await give(flightOf(PLAN, LINE.turn).message);
    await vi.advanceTimersByTimeAsync(1000);
    const live = () => texts('[aria-live]')[0];
    expect(live()).toBe('Flight view of Short');
    await give(flightOf(PLAN.replace('3700', '3800'), LINE.turn, '2').message);
    await give(flightOf(PLAN.replace('3700', '5000'), LINE.turn, '3').message);
    expect(live()).toBe('Flight view of Short');
    await vi.advanceTimersByTimeAsync(1000);
    expect(live()).toMatch(/^leg 2 to Larkfield: margin \+[\d,]+ ft$/);
  });
});

test('a text that is no SVG is no drawing', () => {
  expect(svgOf('<svg')).toBeUndefined();
  expect(svgOf('<p xmlns="http://www.w3.org/1999/xhtml">x</p>')).toBeUndefined();
});
