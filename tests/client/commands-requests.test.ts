/** What the extension's commands ask of the server, over a real connection. */
import { afterAll, beforeAll, expect, test } from 'vitest';
import { briefPage } from '../../client/brief-page.ts';
import { sampleWorkspace } from '../features/marked.ts';
import { type InProcess, ROOT, startInProcess } from '../server/in-process.ts';

const { texts } = sampleWorkspace();
/** The samples as the folder of the session. */
const disk = new Map([...texts].map(([uri, text]) => [uri.replace('file:///samples', ROOT), text]));
const HOME = `${ROOT}/plans/leg-home.taskplan`;
const homeText = disk.get(HOME) as string;
/** What its `use` lines lead to, by the text of the files. */
const USED = [
  'club/fields.taskplan',
  'club/fleet.taskplan',
  'club/rules.taskplan',
  'club/turnpoints.taskplan',
  'plans/leg-home.taskplan',
];

let session: InProcess;
const ask = <R>(method: string, params: object): Promise<R> => session.client.sendRequest<R>(method, params);

function open(uri: string, text: string): void {
  void session.client.sendNotification('textDocument/didOpen', {
    textDocument: { uri, languageId: 'taskplan', version: 1, text },
  });
}

function close(uri: string): void {
  void session.client.sendNotification('textDocument/didClose', { textDocument: { uri } });
}

beforeAll(async () => {
  session = await startInProcess({
    read: async (uri) => {
      const text = disk.get(uri);
      return text === undefined ? { why: 'missing' as const } : { text };
    },
    list: async () => [...disk.keys()],
  });
  // The folders are read after the answer to `initialized`.
  for (;;) {
    const { fields } = await ask<{ fields: unknown[] }>('legwise/newChoices', {});
    if (fields.length >= 15) break;
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
});

afterAll(() => session.client.dispose());

test('the least margin of a file, graver as it gets less', async () => {
  const worst = async (text: string) => {
    open(HOME, text);
    const answer = await ask<object>('legwise/worstMargin', { textDocument: { uri: HOME } });
    close(HOME);
    return answer;
  };
  const line = homeText.split('\n').findIndex((one) => one.includes('finish'));
  expect(await worst(homeText)).toMatchObject({
    text: expect.stringMatching(/^least margin −320 ft on leg 4 to Larkfield$/),
    detail: expect.stringContaining('Finch at 314 kg'),
    severity: 'error',
    range: { start: { line, character: 2 } },
  });
  expect(await worst(homeText.replace('5400 ft', '5800 ft'))).toMatchObject({
    text: expect.stringMatching(/^least margin \+\d+ ft on leg \d to .+$/),
    severity: 'warning',
  });
  expect(
    await worst(homeText.replace(/to \d\d00 ft MSL/g, 'to 6000 ft MSL').replace('at 75 kt', 'at 60 kt')),
  ).toMatchObject({ severity: 'info' });
  expect(await worst(homeText.replace('at 75 kt', 'at 75'))).toMatchObject({
    text: expect.stringMatching(/^least margin \+\d.*, 1 leg not computed$/),
    severity: 'warning',
  });
  expect(await worst(homeText.replace('aircraft  Finch', 'aircraft  Fnich'))).toMatchObject({
    text: '4 legs not computed',
    severity: 'warning',
  });
  expect(await worst(homeText.replace(/at 1[16] kt/g, 'at 99 kt'))).toMatchObject({
    text: expect.stringMatching(/makes no headway$/),
    severity: 'error',
  });
  expect(await ask('legwise/worstMargin', { textDocument: { uri: `${ROOT}/club/fields.taskplan` } })).toBeNull();
  expect(await ask('legwise/worstMargin', { textDocument: { uri: `${ROOT}/none.taskplan` } })).toBeNull();
});

test('an open plan against what it was: asked for file by file, then told in the air', async () => {
  open(HOME, homeText.replace('finish    Larkfield at 75 kt', 'finish    Larkfield at 80 kt'));
  const earlier: Record<string, string | null> = {};
  const rounds: string[][] = [];
  for (;;) {
    const answer = await ask<{ wanted?: string[]; markdown?: string }>('legwise/compare', {
      textDocument: { uri: HOME },
      earlier,
    });
    if (answer.markdown !== undefined) {
      expect(answer.markdown).toMatch(/leg 4 Corran Dam/);
      expect(answer.markdown).toMatch(/75 kt/);
      break;
    }
    rounds.push(answer.wanted ?? []);
    for (const uri of answer.wanted ?? []) earlier[uri] = disk.get(uri) ?? null;
  }
  expect(rounds[0]).toEqual([HOME]);
  expect(Object.keys(earlier).sort()).toEqual(
    ['plans/leg-home', 'club/fields', 'club/turnpoints', 'club/fleet', 'club/rules']
      .map((f) => `${ROOT}/${f}.taskplan`)
      .sort(),
  );

  // A field that the plan uses differs: that counts, too.
  const fields = `${ROOT}/club/fields.taskplan`;
  const higher = { ...earlier, [fields]: (earlier[fields] as string).replace('elevation 190 m', 'elevation 250 m') };
  const { markdown } = await ask<{ markdown: string }>('legwise/compare', {
    textDocument: { uri: HOME },
    earlier: higher,
  });
  expect(markdown).toMatch(/Larkfield.*elevation|elevation.*Larkfield/);
  close(HOME);

  const same = await ask<{ markdown: string }>('legwise/compare', {
    textDocument: { uri: HOME },
    earlier: { ...earlier, [HOME]: homeText },
  });
  expect(same.markdown).toMatch(/nothing changes in the air/i);
  const fresh = await ask<{ markdown: string }>('legwise/compare', {
    textDocument: { uri: HOME },
    earlier: { [HOME]: null },
  });
  expect(fresh.markdown).toMatch(/added|new/);
});

test('a new plan and a new club come as text; what is no answer is refused', async () => {
  const point = (file: string, name: string) => ({ name, uri: `${ROOT}/club/${file}.taskplan` });
  const answers = {
    name: 'Round the Dam',
    aircraft: point('fleet', 'Finch'),
    pilot: '82 kg',
    weather: point('weather', 'Quiet'),
    start: point('fields', 'Larkfield'),
    height: '3200 ft MSL',
    turns: [point('turnpoints', 'Corran Dam')],
    finish: point('fields', 'Larkfield'),
  };
  const uri = `${ROOT}/plans/dam.taskplan`;
  const plan = await ask<{ text: string }>('legwise/newPlan', { uri, answers });
  expect(plan.text).toContain('task "Round the Dam"');
  await expect(ask('legwise/newPlan', { uri, answers: { ...answers, turns: 'all' } })).rejects.toThrow(
    'turns is no list',
  );
  await expect(ask('legwise/newPlan', { uri })).rejects.toThrow('answers is missing');
  await expect(ask('legwise/newAnswer', { kind: 'constructor', answer: 'x' })).rejects.toThrow('kind');
  expect(await ask('legwise/newAnswer', { kind: 'height', answer: '3200 ft MSL' })).toEqual({ fault: null });
  const club = await ask<{ files: { path: string }[] }>('legwise/newClub', {
    answers: { home: 'Home', position: '47.2 N 19.4 E', elevation: '190 m' },
  });
  expect(club.files.map(({ path }) => path)).toEqual([
    'club/fields.taskplan',
    'club/turnpoints.taskplan',
    'club/fleet.taskplan',
    'club/rules.taskplan',
  ]);
  expect(session.logged).toEqual([]);
});

test('what a plan uses: itself, what it names, and what those name', async () => {
  const { uris } = await ask<{ uris: string[] }>('legwise/used', { textDocument: { uri: HOME } });
  expect(uris.map((uri) => uri.slice(ROOT.length + 1)).sort()).toEqual(USED);
  expect(await ask('legwise/used', { textDocument: { uri: `${ROOT}/none.taskplan` } })).toBeNull();
});

test('the sheet of a plan comes as a page; what it is of is checked', async () => {
  open(HOME, homeText);
  const params = {
    textDocument: { uri: HOME },
    time: '2026-06-13 09:00Z',
    revision: { id: 'abcd1234', uncommitted: true },
  };
  const { html } = await ask<{ html: string }>('legwise/brief', params);
  expect(html).toContain('Late Home');
  expect(html).toContain('abcd1234');
  expect(html).toMatch(/uncommitted/);
  expect(html).not.toMatch(/<script|<link|<img|https?:(?!\/\/www\.w3\.org\/)/);
  await expect(ask('legwise/brief', { ...params, time: 9 })).rejects.toThrow('time is no text');
  await expect(ask('legwise/brief', { ...params, revision: undefined })).rejects.toThrow('revision is missing');
  close(HOME);
  expect(await ask('legwise/brief', { ...params, textDocument: { uri: `${ROOT}/none.taskplan` } })).toBeNull();

  // This session, like one in a browser, has nothing that makes a PDF.
  const pdf = { ...params, madeMs: 0 };
  expect(await ask('legwise/briefPdf', pdf)).toEqual({ none: expect.stringMatching(/^In a browser no PDF/) });
  expect(await ask('legwise/briefPdf', { ...pdf, textDocument: { uri: `${ROOT}/club/fields.taskplan` } })).toEqual({
    none: 'The file holds no task.',
  });
  await expect(ask('legwise/briefPdf', { ...pdf, madeMs: 'now' })).rejects.toThrow('madeMs is no number');

  const shown = briefPage(html);
  expect(shown).toContain('href="command:legwise.briefSaveHtml"');
  expect(shown.length - html.length).toBeGreaterThan(500);
  expect(shown).not.toMatch(/<script/);
  expect(briefPage({ none: 'There is none.' })).toContain('<p class="legwise" role="status">There is none.</p>');
});
