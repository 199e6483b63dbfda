// @vitest-environment happy-dom
/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
/** The what-if of the panel in a document without a browser, with the answers of the server itself. */
import fc from 'fast-check';
import { afterAll, beforeEach, describe, expect, test, vi } from 'vitest';
import type { PartHost, Shown } from '../../client/view/parts.ts';
import { whatIf } from '../../client/view/what-if.ts';
import { type FromWhatIf, fromWhatIf, toWhatIf, type WhatIfAsk } from '../../client/view/what-if-protocol.ts';
import { flightViewTask } from '../../server/features/flight-view.ts';
import { whatIfAnswer } from '../../server/features/what-if.ts';
import { check } from '../../server/rules/run.ts';
import { marked } from './marked.ts';

const PLAN = `use "club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 5200 ft MSL
  finish   Ashmoor at 60 kt

task Other
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 5600 ft MSL
  finish   Ashmoor
`;

const { workspace, understood, uri } = marked(PLAN);
const tasks = understood.tasks.map((task) => flightViewTask(workspace, understood, task, check(workspace, understood)));

let section: HTMLElement;
let posted: FromWhatIf[];
let instead: Parameters<PartHost['showInstead']>[0];
let said: string[];
let kept: unknown;
let tellMessage: (body: unknown) => void;
let tellShown: (shown: Shown | undefined) => void;

const shownWith = (task: number, id = '1'): Shown => ({ uri, file: 'plan.taskplan', id, tasks, task, leg: null });

/** A panel that is closed asks no more: what it had put off would run once the document is gone. */
function close(): void {
  for (const panel of document.querySelectorAll('details')) panel.open = false;
}
afterAll(close);

function mount(state?: unknown): void {
  close();
  section = document.createElement('section');
  document.body.replaceChildren(section);
  posted = [];
  said = [];
  instead = undefined;
  kept = state;
  whatIf(section, {
    post: (body) => {
      const message = fromWhatIf(body);
      if (!message) throw new Error('no message');
      posted.push(message);
    },
    onMessage: (told) => {
      tellMessage = told;
    },
    onShown: (told) => {
      tellShown = told;
      told(shownWith(0));
    },
    showInstead: (flight) => {
      instead = flight;
    },
    kept: state,
    keep: (now) => {
      kept = now;
    },
    say: (words) => void said.push(words),
  });
}

/** Answers a question as the server does, through JSON as on the wire. */
function answer(message: WhatIfAsk): void {
  const { ask, task, changes, shared, answers } = message;
  const made = whatIfAnswer(
    workspace,
    understood,
    { textDocument: { uri }, task, changes, shared, answers, flight: true },
    check,
  );
  if ('why' in made) throw new Error(made.why);
  const { worked: _, ...rest } = made;
  tellMessage(JSON.parse(JSON.stringify({ type: 'answer', ask, answer: rest })));
}

const frame = () => new Promise<void>((resolve) => requestAnimationFrame(() => resolve()));

/** Lets the view ask, and answers until it asks no more. */
async function settle(): Promise<void> {
  for (let i = 0, quiet = 0; quiet < 25 && i < 200; i++) {
    await frame();
    await new Promise((resolve) => setTimeout(resolve, 15));
    const message = posted.shift();
    if (message?.type === 'ask') answer(message);
    else if (message) posted.unshift(message);
    quiet = message ? 0 : quiet + 1;
  }
}

const text = (selector: string) => section.querySelector(selector)?.textContent ?? '';
const button = (name: string) =>
  [...section.querySelectorAll('button')].find(({ textContent }) => textContent === name) as HTMLButtonElement;
const field = (label: string): HTMLInputElement => {
  const found = [...section.querySelectorAll('label')].find(({ textContent }) => textContent === label);
  return section.querySelector(`#${found?.getAttribute('for')}`) as HTMLInputElement;
};

function type(input: HTMLInputElement, value: string): void {
  input.value = value;
  input.dispatchEvent(new Event('input'));
}

const details = () => section.querySelector('details') as HTMLDetailsElement;

async function open(): Promise<void> {
  tellMessage({ type: 'open' });
  details().dispatchEvent(new Event('toggle'));
  await settle();
}

beforeEach(() => {
  HTMLElement.prototype.scrollIntoView = vi.fn();
  mount();
});

describe('what is seen', () => {
  test('closed it asks nothing; open it shows what the plan has', async () => {
    await settle();
    expect(posted).toEqual([]);
    await open();
    expect(text('.state')).toBe('Nothing is changed: the numbers are those of the plan.');
    expect(field('Pilot').value).toBe('82');
    expect(field('Share of the polar planned on').value).toBe('70');
    expect(button('Write these into the plan').disabled).toBe(true);
    expect(section.querySelectorAll('.answers li').length).toBe(3);
    expect(instead).toBeUndefined();
  });

  test('a change shows every margin before and after, and the drawing says that it is not written', async () => {
    await open();
    type(field('All winds times'), '1.5');
    await settle();
    expect(text('.state')).toMatch(/^What-if, not written: this is not the plan\. Least margin/);
    expect(instead?.note).toBe('What-if, not written: this is not the plan.');
    expect(instead?.flight.picture.task).toBe('Home');
    expect(text('tbody tr td:nth-of-type(3)')).toMatch(/^▲ \+[\d,]+ ft$/);
    expect(text('.changes')).toContain('→');
    expect(section.querySelector('.control.changed .was')?.textContent).toBe('plan: 1 ×');
    // The weather is the club's: where it is written is asked.
    expect(section.querySelectorAll('.shared input[type="radio"]').length).toBe(2);
    expect(section.querySelector('[style]')).toBeNull();
  });

  test('reset shows the plan again', async () => {
    await open();
    type(field('Pilot'), '95');
    await settle();
    expect(instead).toBeDefined();
    button('Reset').click();
    await settle();
    expect(instead).toBeUndefined();
    expect(field('Pilot').value).toBe('82');
    expect(said).toEqual(['What-if is reset: the plan is shown again.']);
  });

  test('an answer is tried, and written as it was shown', async () => {
    await open();
    const tries = [...section.querySelectorAll<HTMLButtonElement>('.answers button')].filter(({ hidden }) => !hidden);
    expect(tries.length).toBe(2);
    tries.at(-1)?.click();
    await settle();
    expect(text('.changes')).toMatch(/^speed of leg 1 to Ashmoor: 60 kt → \d+ kt$/);
    button('Write these into the plan').click();
    const [write] = posted;
    expect(write).toMatchObject({ type: 'write', task: 0, shared: 'copy' });
    expect((write as { changes: { speeds: unknown[] } }).changes.speeds).toHaveLength(1);
    posted = [];
    tellMessage({ type: 'written', done: true, text: 'Written into the plan. Undo takes it back.' });
    await settle();
    expect(said).toContain('Written into the plan. Undo takes it back.');
    expect(instead).toBeUndefined();
  });

  test('another task starts afresh; a change of the text does not', async () => {
    await open();
    type(field('Pilot'), '95');
    await settle();
    tellShown(shownWith(0, '2'));
    await settle();
    expect(instead?.task).toBe(0);
    tellShown(shownWith(1, '2'));
    expect(instead).toBeUndefined();
    await settle();
    expect(field('Pilot').value).toBe('82');
    expect(text('caption')).toContain('Other');
    tellShown(undefined);
    expect(details().hidden).toBe(true);
  });

  test('what was set is there again after the panel was hidden', async () => {
    await open();
    type(field('Pilot'), '95');
    await settle();
    mount(JSON.parse(JSON.stringify(kept)));
    details().dispatchEvent(new Event('toggle'));
    await settle();
    expect(field('Pilot').value).toBe('95');
    expect(instead?.note).toMatch(/not written/);
  });
});

describe('what is asked', () => {
  test('once a frame, the latest; an answer to an older question is dropped', async () => {
    await open();
    for (const value of ['90', '91', '92', '93']) type(field('Pilot'), value);
    await frame();
    await frame();
    const asks = posted.filter(({ type: kind }) => kind === 'ask') as WhatIfAsk[];
    expect(asks.map(({ changes }) => changes)).toEqual([{ pilotKg: 93 }]);
    // While it waits for that, more changes make one question more.
    type(field('Pilot'), '99');
    type(field('Pilot'), '100');
    posted = [];
    tellMessage({ type: 'answer', ask: 0, answer: { legs: [], controls: {} } });
    answer(asks[0] as WhatIfAsk);
    await frame();
    await frame();
    expect(posted).toMatchObject([{ type: 'ask', changes: { pilotKg: 100 } }]);
    await settle();
    expect(text('.changes')).toBe('pilot: 82 kg → 100 kg');
  });

  test('half a number is not asked, and marked', async () => {
    await open();
    type(field('Pilot'), '9999');
    expect(field('Pilot').getAttribute('aria-invalid')).toBe('true');
    await settle();
    expect(instead).toBeUndefined();
  });

  test('a failure takes the drawing back, and says why', async () => {
    await open();
    type(field('Pilot'), '95');
    await settle();
    type(field('Pilot'), '96');
    await frame();
    await frame();
    const ask = posted.shift() as WhatIfAsk;
    tellMessage({ type: 'failed', ask: ask.ask, why: 'The language server is not running.' });
    expect(instead).toBeUndefined();
    expect(text('.state')).toBe('The what-if is not worked out: The language server is not running.');
    expect(button('Write these into the plan').disabled).toBe(true);
  });
});

describe('messages', () => {
  test('anything that is none is dropped', () => {
    fc.assert(
      fc.property(fc.anything(), (body) => {
        expect(fromWhatIf(body)).toBeUndefined();
        expect(toWhatIf(body)).toBeUndefined();
        tellMessage(body);
      }),
      { numRuns: 1000 },
    );
    expect(fromWhatIf({ type: 'write', uri: 'a', task: -1, changes: {}, shared: 'copy' })).toBeUndefined();
    expect(fromWhatIf({ type: 'write', uri: 'a', task: 0, changes: {}, shared: 'copy', more: 1 })).toEqual({
      type: 'write',
      uri: 'a',
      task: 0,
      changes: {},
      shared: 'copy',
    });
  });
});
