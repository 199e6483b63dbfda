/** What-if: it equals writing it, it writes little, it leaves what others share alone, and it answers in words. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type WhatIfAnswer, whatIfAnswer } from '../../server/features/what-if.ts';
import { figuresOf } from '../../server/plan/compare.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import type { WhatIfChanges } from '../../server/plan/what-if.ts';
import { createWorkspace, scopeOf, setFile, setUnreadable, type Workspace } from '../../server/plan/workspace.ts';
import type { Finding } from '../../server/rules/rule.ts';
import { between } from '../flight/arbitraries.ts';
import { findingsIn, newLines, textsAfter } from './actions-helper.ts';
import { marked, ROOT, sampleWorkspace } from './marked.ts';

const KT = 1852 / 3600;
const FT = 0.3048;

/** The workspace with these texts, each read afresh. */
function afresh(workspace: Workspace, texts: ReadonlyMap<string, string>): Workspace {
  const made = createWorkspace(workspace.roots);
  for (const [uri, file] of workspace.files) if (!texts.has(uri)) made.files.set(uri, file);
  for (const [uri, text] of texts) setFile(made, uri, text);
  return made;
}

function understoodIn(workspace: Workspace, uri: string): Understood {
  const file = workspace.files.get(uri);
  if (!file) throw new Error(`no file ${uri}`);
  for (const wanted of scopeOf(workspace, file).wanted) setUnreadable(workspace, wanted, 'missing');
  return understand(workspace, file);
}

function asked(
  text: string,
  changes: unknown,
  more: { task?: unknown; shared?: unknown; answers?: boolean } = {},
): WhatIfAnswer & { now: string; plan: ReturnType<typeof marked> } {
  const plan = marked(text);
  const { workspace, understood, uri } = plan;
  const answer = whatIfAnswer(
    workspace,
    understood,
    { textDocument: { uri }, task: 0, changes, write: true, ...more },
    findingsIn,
  );
  if ('why' in answer) throw new Error(answer.why);
  const now = answer.edit ? textsAfter(workspace, answer.edit).get(uri) : undefined;
  return { ...answer, now: now ?? understood.file.syntax.text, plan };
}

const said = (findings: readonly Finding[]) => findings.map(({ code, severity, message }) => [code, severity, message]);

const HOME = `use "club.taskplan"

weather Saturday
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt ± 3 kt
  wind        3000 ft MSL from 245° at 14 kt
  lift        3 kt to 5800 ft MSL

# To be flown before tea.
task Home
  aircraft  Finch with pilot 82 kg  # as weighed
  weather   Saturday
  reserve   Training
  start     Larkfield at 5200 ft MSL
  turn      "Corran Dam" at 60 kt
  climb     to 5200 ft MSL
  finish    Larkfield at 65 kt
`;

describe('writing', () => {
  test('one edit to each number that changes, and nothing else', () => {
    const { now, changes, refused } = asked(HOME, {
      winds: [{ index: 1, fromDeg: 255, speedMps: 20 * KT }],
      startAltitudeM: 5500 * FT,
      speeds: [{ leg: 2, speed: { kind: 'bestGlide' } }],
      pilotKg: 90,
    });
    expect(refused).toEqual([]);
    expect(now).toBe(
      HOME.replace('from 245° at 14 kt', 'from 255° at 20 kt')
        .replace('at 5200 ft MSL\n  turn', 'at 5500 ft MSL\n  turn')
        .replace('at 65 kt', 'at best glide')
        .replace('pilot 82 kg', 'pilot 90 kg'),
    );
    expect(changes).toEqual([
      { label: 'wind at 3000 ft MSL', before: '245° at 14 kt', after: '255° at 20 kt' },
      { label: 'start height', before: '5200 ft MSL', after: '5500 ft MSL' },
      { label: 'speed of leg 2 to Larkfield', before: '65 kt', after: 'best glide' },
      { label: 'pilot', before: '82 kg', after: '90 kg' },
    ]);
  });

  test('what is as written is not written again', () => {
    const same = asked(HOME, {
      winds: [{ index: 0, fromDeg: 230, speedMps: 8 * KT }],
      windFactor: 1,
      windMoreMps: 0,
      startAltitudeM: 5200 * FT,
      speeds: [{ leg: 1, speed: { kind: 'indicated', indicatedMps: 60 * KT } }],
      share: 0.7,
      pilotKg: 82,
      ballastKg: 0,
    });
    expect([same.changed, same.edit, same.changes, same.findings]).toEqual([false, null, [], []]);
  });

  test('more wind at every height; the spread of a forecast stays', () => {
    const { now } = asked(HOME, { windFactor: 1.5, windMoreMps: 2 * KT });
    expect(newLines(HOME, now)).toBe(
      '  wind        surface from 230° at 14 kt ± 3 kt\n  wind        3000 ft MSL from 245° at 23 kt',
    );
    expect(newLines(HOME, asked(HOME, { windMoreMps: -10 * KT }).now)).toBe(
      '  wind        surface from 230° at 0 kt ± 3 kt\n  wind        3000 ft MSL from 245° at 4 kt',
    );
  });

  test("in the reader's units", () => {
    const metric = `${HOME}\nunits\n  altitude m\n  speed km/h\n  climb m/s\n  mass lb\n`;
    const { now } = asked(metric, {
      windFactor: 2,
      startAltitudeM: 1700,
      speeds: [{ speed: { kind: 'maccready', climbMps: 1.25 } }],
      pilotKg: 90,
    });
    expect(newLines(metric, now)).toBe(
      [
        '  wind        surface from 230° at 29.6 km/h ± 3 kt',
        '  wind        3000 ft MSL from 245° at 51.9 km/h',
        '  aircraft  Finch with pilot 198.4 lb  # as weighed',
        '  start     Larkfield at 1700 m MSL',
        '  turn      "Corran Dam" at maccready 1.25 m/s',
        '  finish    Larkfield at maccready 1.25 m/s',
      ].join('\n'),
    );
  });

  test('a start over the ground stays one; a magnetic wind too', () => {
    const text = HOME.replace('Larkfield at 5200 ft MSL', 'Larkfield at 4500 ft AGL')
      .replace('from 245°', 'from 245°M')
      .replace('  qnh', '  date        2026-06-13\n  qnh');
    const { now } = asked(text, { startAltitudeM: 190 + 4700 * FT, winds: [{ index: 1, fromDeg: 7.4 }] });
    expect(newLines(text, now)).toBe(
      '  wind        3000 ft MSL from 007°M at 14 kt\n  start     Larkfield at 4700 ft AGL',
    );
    const low = asked(text, { startAltitudeM: 100 });
    expect([low.changed, low.refused]).toEqual([
      false,
      ['The start height cannot be changed: it would lie below the ground of the start.'],
    ]);
  });

  test('ballast comes, changes and goes', () => {
    const load = (aircraft: string, changes: WhatIfChanges) => {
      const text = HOME.replace(/Finch with pilot 82 kg {2}# as weighed/, aircraft);
      return newLines(text, asked(text, changes).now);
    };
    expect(load('Finch with pilot 82 kg', { ballastKg: 40 })).toBe(
      '  aircraft  Finch with pilot 82 kg and ballast 40 kg',
    );
    expect(load('Finch with ballast 40 kg and pilot 82 kg', { ballastKg: 55.5 })).toBe(
      '  aircraft  Finch with ballast 55.5 kg and pilot 82 kg',
    );
    expect(load('Finch with ballast 40 kg and pilot 82 kg', { ballastKg: 0 })).toBe(
      '  aircraft  Finch with pilot 82 kg',
    );
    expect(load('Finch', { pilotKg: 75 })).toBe('  aircraft  Finch with pilot 75 kg');
    expect(load('Finch with ballast 10 kg', { ballastKg: 0 })).toBe('  aircraft  Finch');
  });
});

const SHARED = `//- plan.taskplan
use "club.taskplan"
use "sky.taskplan"

# To be flown
# before tea.
task Home
  aircraft  Finch with pilot 82 kg
  weather   Saturday
  reserve   Training
  start     Larkfield at 5200 ft MSL
  finish    Ashmoor
//- sky.taskplan
weather Saturday
  wind  surface from 230° at 8 kt   # guessed
  # higher up
  wind  3000 ft MSL from 245° at 14 kt
  note  "Sea air may come in."

# behind it
//- other.taskplan
use "club.taskplan"
use "sky.taskplan"
task Away
  aircraft  Finch with pilot 82 kg
  weather   Saturday
  reserve   Training
  start     Larkfield at 5200 ft MSL
  finish    Ashmoor
`;

describe('what others share', () => {
  test('a copy in the plan, in the standard layout, and the task names it', () => {
    const { now, shared, plan } = asked(SHARED, { windFactor: 2 });
    expect(shared).toEqual([
      {
        kind: 'weather',
        name: 'Saturday',
        file: 'sky.taskplan',
        users: ['Away'],
        count: 1,
        copy: 'Saturday for Home',
      },
    ]);
    expect(now).toBe(
      (plan.texts.get('plan.taskplan') ?? '').replace('weather   Saturday', 'weather   "Saturday for Home"').replace(
        '# To be flown',
        `weather "Saturday for Home"
  wind        surface from 230° at 16 kt  # guessed
  # higher up
  wind        3000 ft MSL from 245° at 28 kt
  note        "Sea air may come in."

# To be flown`,
      ),
    );
  });

  test('or where it stands, as the pilot chooses', () => {
    const { edit, plan, findings } = asked(SHARED, { windFactor: 2 }, { shared: 'in place' });
    const texts = textsAfter(plan.workspace, edit ?? undefined);
    expect([...texts.keys()]).toEqual([`${ROOT}/sky.taskplan`]);
    expect(newLines(plan.texts.get('sky.taskplan') ?? '', texts.get(`${ROOT}/sky.taskplan`) ?? '')).toBe(
      '  wind  surface from 230° at 16 kt   # guessed\n  wind  3000 ft MSL from 245° at 28 kt',
    );
    expect(findings.every(({ fate }) => fate !== 'gone')).toBe(true);
  });

  test('a reserve that the club shares is copied without the remarks on its figures', () => {
    const { now, plan } = asked(SHARED, { share: 0.6 });
    const added = newLines(plan.texts.get('plan.taskplan') ?? '', now);
    expect(added).toContain('reserve "Training for Home"');
    expect(added).toContain('performance 60 %');
    expect(added).not.toContain('note');
    expect(added).toContain('  reserve   "Training for Home"');
  });

  test('written once, it is the plan’s own: the next time it is changed where it stands', () => {
    const first = asked(SHARED, { windFactor: 2 });
    const again = SHARED.replace(first.plan.texts.get('plan.taskplan') ?? '', first.now);
    const second = asked(again, { windFactor: 0.5 });
    expect(second.shared).toEqual([]);
    expect(second.now).toBe(first.now.replace('at 16 kt', 'at 8 kt').replace('at 28 kt', 'at 14 kt'));
  });

  test('a name that is taken is not taken again', () => {
    const text = SHARED.replace('weather Saturday\n', 'weather "Saturday for Home"\nweather Saturday\n');
    expect(asked(text, { windFactor: 2 }).shared[0]?.copy).toBe('Saturday for Home 2');
  });

  test('another task of the same file shares as well', () => {
    const text = `${HOME}\ntask Again\n  aircraft Finch\n  weather Saturday\n  reserve Training\n`;
    const { shared, now } = asked(text, { windFactor: 2 });
    expect(shared.map(({ users, copy }) => [users, copy])).toEqual([[['Again'], 'Saturday for Home']]);
    expect(now.startsWith(HOME.slice(0, HOME.indexOf('# To be flown')))).toBe(true);
  });

  test('a task without weather gets one; with one that is not known it is refused', () => {
    const text = HOME.replace('  weather   Saturday\n', '');
    const { now } = asked(text, { winds: [{ index: 0, fromDeg: 240, speedMps: 10 * KT }] });
    expect(newLines(text, now)).toBe(
      'weather "Weather for Home"\n  wind        surface from 240° at 10 kt\n  weather   "Weather for Home"',
    );
    const unknown = asked(HOME.replace('weather   Saturday', 'weather   Sunday'), { windFactor: 2 });
    expect(unknown.refused).toEqual(['The wind cannot be changed: the weather of the task is not known.']);
    expect(unknown.changed).toBe(false);
  });
});

const anyChanges = fc.record(
  {
    winds: fc.array(
      fc.record(
        {
          index: fc.nat(3),
          fromDeg: between(0, 360),
          speedMps: between(0, 20),
        },
        { requiredKeys: ['index'] },
      ),
      { maxLength: 3 },
    ),
    windFactor: between(0, 2),
    windMoreMps: between(-5, 5),
    startAltitudeM: between(300, 3000),
    speeds: fc.array(
      fc.record(
        {
          leg: fc.integer({ min: 1, max: 5 }),
          speed: fc.oneof(
            fc.record({ kind: fc.constant('bestGlide' as const) }),
            fc.record({
              kind: fc.constant('indicated' as const),
              indicatedMps: between(20, 55),
            }),
            fc.record({
              kind: fc.constant('maccready' as const),
              climbMps: between(0, 4),
            }),
          ),
        },
        { requiredKeys: ['speed'] },
      ),
      { maxLength: 2 },
    ),
    share: between(0.4, 1),
    pilotKg: between(55, 110),
    ballastKg: between(0, 150),
  },
  { requiredKeys: [] },
);

describe('what-if equals writing it', () => {
  const { workspace, texts } = sampleWorkspace();
  const uris = [...workspace.files.keys()].filter((uri) => uri.includes('/plans/'));

  test('numbers and findings are those of the text with the edit made, read afresh', () => {
    fc.assert(
      fc.property(
        fc.nat(uris.length - 1),
        fc.nat(3),
        anyChanges,
        fc.constantFrom('copy' as const, 'in place' as const),
        (file, which, changes, choice) => {
          const uri = uris[file] as string;
          const understood = understoodIn(workspace, uri);
          if (understood.tasks.length === 0) return;
          const index = which % understood.tasks.length;
          const before = understood.tasks.map(({ legs }) => legs.map(figuresOf));
          const answer = whatIfAnswer(
            workspace,
            understood,
            { textDocument: { uri }, task: index, changes, write: true, shared: choice },
            findingsIn,
          );
          if ('why' in answer) throw new Error(answer.why);
          const { worked } = answer;
          const changed = textsAfter(workspace, answer.edit ?? undefined);
          const fresh = afresh(workspace, new Map([[uri, texts.get(uri) as string], ...changed]));
          const written = understoodIn(fresh, uri);
          expect(worked.after?.legs.map(figuresOf)).toEqual(written.tasks[index]?.legs.map(figuresOf));
          expect(answer.legs.map(({ after }) => after.marginM)).toEqual(
            written.tasks[index]?.legs.map(({ result }) => (result?.problem === null ? result.marginM : null)),
          );
          expect(said(findingsIn(worked.workspace, worked.understood))).toEqual(said(findingsIn(fresh, written)));
          // The plan is as it was.
          expect(understoodIn(workspace, uri).tasks.map(({ legs }) => legs.map(figuresOf))).toEqual(before);
        },
      ),
      { numRuns: 1000 },
    );
  }, 300_000);
});

describe('what is said', () => {
  test('findings that come, go and change, on the line of the plan as it stands', () => {
    const { findings, least } = asked(HOME, { windFactor: 2.5 });
    expect(findings.map(({ fate, code, line }) => [fate, code, line])).toContainEqual(['new', 'reaches-ground', 17]);
    expect(least?.after).toMatch(/^−/);
    const short = HOME.replace('to 5200 ft MSL', 'to 3200 ft MSL').replace('at 65 kt', 'at 80 kt');
    const better = asked(short, { speeds: [{ speed: { kind: 'bestGlide' } }], windFactor: 0 });
    expect(better.findings.map(({ fate, code }) => [fate, code])).toContainEqual(['gone', 'reaches-ground']);
  });

  test('margins before and after, and the change between them, add up as shown', () => {
    const { legs } = asked(HOME, { windFactor: 1.31 });
    const whole = (text: string) => Number(text.replace('−', '-').replace(/[+, a-z]/g, ''));
    for (const { before, after, change } of legs)
      expect(whole(before.text.margin) + whole(change)).toBe(whole(after.text.margin));
  });

  test('the controls hold what the plan has', () => {
    const { controls } = asked(HOME, {});
    expect(controls).toMatchObject({
      weather: 'Saturday',
      winds: [
        { at: 'surface', fromDeg: 230 },
        { at: '3,000 ft MSL', fromDeg: 245 },
      ],
      start: { point: 'Larkfield' },
      share: expect.closeTo(0.7, 9),
      pilotKg: 82,
      ballastKg: 0,
    });
    expect(controls.legs.map(({ speed }) => speed?.kind)).toEqual(['indicated', 'indicated']);
  });
});

describe('what a client may send', () => {
  const refusal = (task: unknown, changes: unknown, shared?: unknown) => {
    const { workspace, understood, uri } = marked(HOME);
    const answer = whatIfAnswer(
      workspace,
      understood,
      { textDocument: { uri }, task, changes, ...(shared === undefined ? {} : { shared }) },
      findingsIn,
    );
    return 'why' in answer ? answer.why : undefined;
  };

  test('a task by its index or its name, or the only one', () => {
    expect(refusal('Home', {})).toBeUndefined();
    expect(refusal(undefined, undefined)).toBeUndefined();
    expect(refusal('Away', {})).toBe('the file has no such task: name one, or give its index from 0');
    expect(refusal(1, {})).toMatch(/no such task/);
    expect(refusal(0.5, {})).toMatch(/no such task/);
  });

  test('numbers that make no sense are refused with a reason', () => {
    expect(refusal(0, { share: 2 })).toBe('`share` is no number from 0.01 to 1');
    expect(refusal(0, { startAltitudeM: '3000' })).toMatch(/startAltitudeM/);
    expect(refusal(0, { windFactor: Number.NaN })).toMatch(/windFactor/);
    expect(refusal(0, { winds: [{ index: -1 }] })).toMatch(/index/);
    expect(refusal(0, { winds: {} })).toMatch(/no list/);
    expect(refusal(0, { speeds: [{ speed: { kind: 'fast' } }] })).toMatch(/kind/);
    expect(refusal(0, { speeds: [{ leg: 0, speed: { kind: 'bestGlide' } }] })).toMatch(/leg/);
    expect(refusal(0, [])).toMatch(/no object/);
    expect(refusal(0, {}, 'both')).toMatch(/in place/);
  });

  test('a line or a leg that is not there is told', () => {
    const { refused, changed } = asked(HOME, {
      winds: [{ index: 7, speedMps: 3 }],
      speeds: [{ leg: 9, speed: { kind: 'bestGlide' } }],
    });
    expect([changed, refused]).toEqual([false, ['There is no wind line 8 in the weather.', 'There is no leg 9.']]);
  });

  test('anything at all is answered or refused, and harms nothing', () => {
    fc.assert(
      fc.property(fc.anything(), fc.anything(), (task, changes) => {
        const { workspace, understood, uri } = marked(HOME);
        whatIfAnswer(
          workspace,
          understood,
          { textDocument: { uri }, task, changes, answers: true, write: true },
          findingsIn,
        );
        expect(workspace.files.get(uri)?.syntax.text).toBe(HOME);
      }),
      { numRuns: 300 },
    );
  });

  test('a half-written plan is answered for what can be read', () => {
    const broken = HOME.replace('start     Larkfield at 5200 ft MSL', 'start     Larkfield at');
    const { refused, legs } = asked(broken, { startAltitudeM: 1500, windFactor: 2 }, { answers: true });
    expect(refused).toEqual(['The start height cannot be changed: the line `start` cannot be read.']);
    expect(legs[0]?.after.text.margin).toMatch(/^not computed, since/);
  });
});
