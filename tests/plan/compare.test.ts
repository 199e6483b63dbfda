import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  compareTasks,
  FIGURES,
  figuresOf,
  type LegFigures,
  type TaskChange,
  timesOf,
} from '../../server/plan/compare.ts';
import { evaluateFacts, factsOf } from '../../server/plan/compare-facts.ts';
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';

const SAMPLES = path.resolve(import.meta.dirname, '../../samples');

function understood(files: Record<string, string>): Understood {
  const workspace = createWorkspace(['plan:/']);
  let last: Understood | undefined;
  for (const [name, text] of Object.entries(files)) setFile(workspace, `plan:/${name}`, text);
  for (const file of workspace.files.values()) last = understand(workspace, file);
  return last as Understood;
}

const TASK = `use "club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    "Withy Bridge" at 3200 ft MSL
  climb    to 5000 ft MSL
  turn     "Corran Dam" at 60 kt
  climb    to 5200 ft MSL at 3 kt
  finish   Larkfield at 65 kt
`;

function change(task: (text: string) => string, club: (text: string) => string = (text) => text): TaskChange {
  const one = understood({ 'club.taskplan': EXAMPLE_CLUB, 'a.taskplan': TASK });
  const other = understood({ 'club.taskplan': club(EXAMPLE_CLUB), 'a.taskplan': task(TASK) });
  return compareTasks(one.tasks[0] as never, other.tasks[0] as never);
}

/** What the reasons and what they leave sum to, less the change. */
function left(of: TaskChange): number {
  return Math.max(
    ...of.legs.map(({ change, reasons, together }) => {
      if (change?.marginM == null) return 0;
      const sum = reasons.reduce((total, { alone }) => total + (alone.marginM ?? 0), together?.marginM ?? 0);
      return Math.abs(sum - change.marginM);
    }),
  );
}

describe('facts', () => {
  test('the facts of every sample make the same numbers', () => {
    const files: Record<string, string> = {};
    for (const folder of ['club', 'plans'])
      for (const name of readdirSync(path.join(SAMPLES, folder)).filter((one) => one.endsWith('.taskplan')))
        files[`${folder}/${name}`] = readFileSync(path.join(SAMPLES, folder, name), 'utf8');
    const workspace = createWorkspace(['plan:/']);
    for (const [name, text] of Object.entries(files)) setFile(workspace, `plan:/${name}`, text);
    let legs = 0;
    for (const file of workspace.files.values()) {
      for (const task of understand(workspace, file).tasks) {
        const again = evaluateFacts(factsOf(task).facts);
        expect(again?.legs.map(figuresOf)).toEqual(task.legs.map(figuresOf));
        legs += task.legs.length;
      }
    }
    expect(legs).toBeGreaterThan(30);
  });
});

describe('compare', () => {
  test('spaces, order and units change nothing', () => {
    const same = change(
      (text) =>
        text.replace('60 kt', '111.12 km/h').replace('climb    to 5000', 'climb to 5000').replace('82 kg', '82.0 kg'),
      (text) =>
        text
          .replace('1018 hPa', '1018.0 hPa')
          .replace('elevation 210 m', 'elevation 0.21 km')
          .replace('vs           34 kt\n  va           80 kt', 'va 80 kt\n  vs 34 kt')
          .replace('230° at 8 kt', '230° at 14.816 km/h'),
    );
    expect(same.facts).toEqual([]);
    expect(same.changed).toBe(false);
  });

  test('another aircraft is another, even if its name is that of the first and what the first says', () => {
    const task = (aircraft: string, polar: string) => {
      const text = `aircraft ${aircraft}\n${polar}  vs 34 kt\n\n${TASK.replace('use "club.taskplan"\n', '').replace('Finch', aircraft)}`;
      return understood({ 'a.taskplan': text }).tasks[0] as TaskEvaluation;
    };
    const one = task('Finch', '  polar 42 kt sink 1.35 kt\n');
    const says = factsOf(one).facts.get('aircraft polar')?.meaning ?? '';
    expect(says).toContain('polar | sink=');
    const other = task(`"Finch${says}"`, '');
    expect(compareTasks(one, other).facts).toEqual([{ label: 'aircraft', before: 'Finch', after: `Finch${says}` }]);
  });

  test('one changed fact is the whole reason', () => {
    const wind = change(
      (text) => text,
      (text) => text.replace('245° at 14 kt', '250° at 22 kt'),
    );
    expect(wind.facts).toEqual([{ label: 'wind at 3000 ft MSL', before: '245°/14 kt', after: '250°/22 kt' }]);
    const home = wind.legs[1];
    expect(home?.reasons).toHaveLength(1);
    expect(home?.change?.marginM).toBeLessThan(-30);
    expect(home?.reasons[0]?.alone.marginM).toBeCloseTo(home?.change?.marginM as number, 6);
    expect(home?.together?.marginM).toBeCloseTo(0, 6);
  });

  test('several facts: each alone, and the rest is said', () => {
    const all = change(
      (text) =>
        text
          .replace('82 kg', '95 kg and ballast 10 kg')
          .replace('5200 ft MSL', '5600 ft MSL')
          .replace('65 kt', '78 kt')
          .replace('60 kt', 'best glide'),
      (text) =>
        text
          .replace('245° at 14 kt', '250° at 22 kt')
          .replace('70 %', '80 %')
          .replace('1018 hPa', '1003 hPa')
          .replace('24 °C', '12 °C')
          .replace('elevation 190 m', 'elevation 195 m')
          .replace('47.2031 N', '47.2000 N')
          .replace('1000 ft AGL', '1200 ft AGL')
          .replace('altimeter   150 ft', 'altimeter   100 ft')
          .replace('80 kt sink 3.70 kt', '80 kt sink 3.90 kt'),
    );
    expect(all.facts.map(({ label }) => label).sort()).toEqual(
      [
        'altimeter of the reserve',
        'arrive of the reserve',
        'ballast',
        'climb behind Corran Dam',
        'elevation of Larkfield',
        'performance of the reserve',
        'pilot',
        'polar of Finch',
        'position of Larkfield',
        'qnh',
        'speed to Corran Dam',
        'speed to Larkfield',
        'temperature',
        'wind at 3000 ft MSL',
      ].sort(),
    );
    expect(left(all)).toBeLessThan(1e-6);
    expect(all.legs[1]?.reasons.length).toBeGreaterThan(9);
    expect(Math.abs(all.legs[1]?.together?.marginM ?? 0)).toBeGreaterThan(1);
  });

  test('another aircraft, another weather, another way', () => {
    const other = change(
      (text) =>
        text
          .replace('aircraft Finch', 'aircraft Heron')
          .replace('Breezy', 'Calm')
          .replace('  turn     "Corran Dam" at 60 kt\n', '  turn     "Corran Dam" at 60 kt\n  turn     Ashmoor\n'),
      (text) =>
        text +
        text
          .slice(text.indexOf('aircraft Finch'), text.indexOf('weather Calm'))
          .replace('Finch', 'Heron')
          .replace('3.70', '3.00'),
    );
    expect(other.facts).toContainEqual({ label: 'aircraft', before: 'Finch', after: 'Heron' });
    expect(other.facts).toContainEqual({
      label: 'itinerary',
      before: 'Withy Bridge – Corran Dam – Larkfield',
      after: 'Withy Bridge – Corran Dam – Ashmoor – Larkfield',
    });
    expect(other.legs.map(({ before, after }) => [before?.toName, after?.toName])).toEqual([
      ['Corran Dam', 'Corran Dam'],
      ['Larkfield', undefined],
      [undefined, 'Ashmoor'],
      [undefined, 'Larkfield'],
    ]);
    expect(left(other)).toBeLessThan(1e-6);
  });

  test('a climb that is added, a reserve that goes, a wind that nothing gives any more', () => {
    const added = change(
      (text) =>
        text.replace('  turn ', '  climb    to 900 m MSL after 2 NM\n  turn ').replace('  reserve  Training\n', ''),
      (text) => text.replace(/ {2}wind {8}6000.*\n/, ''),
    );
    expect(added.facts).toContainEqual({
      label: 'climb behind Withy Bridge',
      before: undefined,
      after: '900 m MSL after 2 NM',
    });
    expect(added.facts).toContainEqual({ label: 'wind at 6000 ft MSL', before: '255°/20 kt', after: undefined });
    expect(added.facts).toContainEqual({ label: 'reserve', before: 'known', after: 'none' });
    expect(left(added)).toBeLessThan(1e-6);
  });

  test('what can no longer be computed', () => {
    const broken = change(
      (text) => text,
      (text) => text.replace('1018 hPa', '1018'),
    );
    expect(broken.changed).toBe(true);
    expect(broken.legs[1]?.figuresAfter?.marginM).toBeNull();
  });

  test('a value that can no longer be read is named, whatever is wrong with it', () => {
    for (const [was, now, label] of [
      ['1018 hPa', '101800 kg', 'qnh'],
      ['47.2031 N 19.4410 E', '47.2031 N 19.4410', 'position of Larkfield'],
      ['47.2031 N 19.4410 E', '47.2031 N 19.4410 N', 'position of Larkfield'],
    ] as const) {
      const broken = change(
        (text) => text,
        (text) => text.replace(was, now),
      );
      expect(broken.facts).toEqual([{ label, before: was, after: now }]);
      expect(broken.legs[1]?.figuresAfter?.marginM).toBeNull();
    }
  });

  test('a line that loses its indent changes nothing', () => {
    const flat = change((text) => text.replace('  turn ', 'turn ').replace('  climb ', 'climb '));
    expect(flat.facts).toEqual([]);
    expect(flat.changed).toBe(false);
  });
});

/** The task, with some lines of it and of the club changed. */
function taskOf(
  task: (text: string) => string = (text) => text,
  club: (text: string) => string = (text) => text,
): TaskEvaluation {
  return understood({ 'club.taskplan': club(EXAMPLE_CLUB), 'a.taskplan': task(TASK) }).tasks[0] as TaskEvaluation;
}

const WINDY = (text: string) => text.replace('245° at 14 kt', '250° at 22 kt');

/** What one set of figures has more than another; null where one is not known. */
function less(one: LegFigures, other: LegFigures): LegFigures {
  return Object.fromEntries(
    FIGURES.map((figure) => {
      const [a, b] = [one[figure], other[figure]];
      return [figure, a === null || b === null ? null : a - b];
    }),
  ) as never;
}

function expectClose(found: LegFigures | undefined, wanted: LegFigures): void {
  for (const figure of FIGURES) {
    if (wanted[figure] === null) expect(found?.[figure]).toBeNull();
    else expect(found?.[figure]).toBeCloseTo(wanted[figure], 6);
  }
}

const NONE = { distanceM: null, requiredAltitudeM: null, arriveAltitudeM: null, marginM: null, timeS: null };

describe('the figures that are compared', () => {
  test('of a leg that is flown to its end, of one that is not, and of one that is not computed', () => {
    const result = {
      problem: null,
      distanceM: 12000,
      requiredDepartAltitudeM: 1500,
      arriveAltitudeM: 700,
      marginM: 120,
      timeS: 480,
    };
    const of = (more?: object) => figuresOf({ result: more && { ...result, ...more } } as unknown as LegEvaluation);
    expect(of({})).toEqual({
      distanceM: 12000,
      requiredAltitudeM: 1500,
      arriveAltitudeM: 700,
      marginM: 120,
      timeS: 480,
    });
    expect(of({ problem: { kind: 'no-headway' } })).toEqual({ ...NONE, distanceM: 12000, requiredAltitudeM: 1500 });
    expect(of({ problem: { kind: 'no-headway' }, requiredDepartAltitudeM: null })).toEqual({
      ...NONE,
      distanceM: 12000,
    });
    expect(of()).toEqual(NONE);
  });

  test('the times of a task', () => {
    expect(timesOf(taskOf())).toMatchObject({ takeoffUtcS: null });
    const timed = taskOf((text) => text.replace('  start ', '  takeoff  13:30+02:00\n  start '));
    const { climbTimeS, timeS } = timed.totals;
    expect(timesOf(timed)).toEqual({ takeoffUtcS: 11.5 * 3600, climbTimeS, timeS });
    expect(timeS).toBeGreaterThan(climbTimeS as number);
  });
});

describe('how much is a change', () => {
  /** The task with figures of its first leg, and nothing else, set to these. */
  const withFigures = (figures: object): TaskEvaluation => {
    const task = taskOf();
    const nought = { distanceM: 0, requiredDepartAltitudeM: 0, arriveAltitudeM: 0, marginM: 0, timeS: 0 };
    const legs = task.legs.map((leg, i) =>
      i === 0 ? { ...leg, result: { ...leg.result, ...nought, ...figures } } : leg,
    );
    return { ...task, legs } as TaskEvaluation;
  };

  test.each([
    ['distanceM', 1],
    ['requiredDepartAltitudeM', 0.15],
    ['arriveAltitudeM', 0.15],
    ['marginM', 0.15],
    ['timeS', 0.5],
  ] as const)('%s: %d, either way', (figure, least) => {
    for (const [more, changed] of [
      [least, true],
      [-least, true],
      [0.99 * least, false],
      [-0.99 * least, false],
      [0, false],
    ] as const) {
      const found = compareTasks(withFigures({}), withFigures({ [figure]: more }));
      expect(found.legs.map((leg) => leg.changed)).toEqual([changed, false]);
      expect(found.changed).toBe(changed);
      expect(found.facts).toEqual([]);
    }
  });

  test('a figure that is known on one side only', () => {
    for (const [one, other] of [
      [null, 0],
      [0, null],
    ] as const) {
      const found = compareTasks(
        withFigures({ requiredDepartAltitudeM: one }),
        withFigures({ requiredDepartAltitudeM: other }),
      );
      expect(found.legs[0]?.changed).toBe(true);
      expect(found.legs[0]?.change?.requiredAltitudeM).toBeNull();
    }
    const neither = withFigures({ requiredDepartAltitudeM: null });
    expect(compareTasks(neither, neither).changed).toBe(false);
  });

  const withTimes = (climbTimeS: number | null, takeoff = ''): TaskEvaluation => {
    const task = taskOf((text) => text.replace('  start ', `${takeoff}  start `));
    return { ...task, totals: { ...task.totals, climbTimeS } };
  };

  test('another take-off, or other times of the climbs', () => {
    const times = (one: TaskEvaluation, other: TaskEvaluation) => {
      const { timesChanged, changed, legs } = compareTasks(one, other);
      expect(legs.some((leg) => leg.changed)).toBe(false);
      expect(changed).toBe(timesChanged);
      return timesChanged;
    };
    expect(times(withTimes(0), withTimes(0.5))).toBe(true);
    expect(times(withTimes(0.5), withTimes(0))).toBe(true);
    expect(times(withTimes(0), withTimes(0.49))).toBe(false);
    expect(times(withTimes(null), withTimes(0))).toBe(true);
    expect(times(withTimes(0), withTimes(null))).toBe(true);
    expect(times(withTimes(null), withTimes(null))).toBe(false);
    const early = '  takeoff 11:30Z\n';
    expect(times(withTimes(0, early), withTimes(0, early))).toBe(false);
    expect(times(withTimes(0, early), withTimes(0, '  takeoff 11:30:01Z\n'))).toBe(true);
    expect(times(withTimes(0), withTimes(0, early))).toBe(true);
    expect(times(withTimes(0, early), withTimes(0))).toBe(true);
  });

  test('the times of both sides are told', () => {
    const { timesBefore, timesAfter } = compareTasks(withTimes(10), withTimes(20, '  takeoff 11:30Z\n'));
    expect(timesBefore).toMatchObject({ takeoffUtcS: null, climbTimeS: 10 });
    expect(timesAfter).toMatchObject({ takeoffUtcS: 41400, climbTimeS: 20 });
  });
});

describe('which legs are one', () => {
  const ways = (names: string): TaskEvaluation => {
    const legs = names.split(' ').flatMap((pair) => (pair === '' ? [] : [pair.split('')]));
    const task = taskOf();
    return {
      ...task,
      legs: legs.map(([fromName, toName]) => ({ ...task.legs[0], fromName, toName })) as LegEvaluation[],
    };
  };
  const pairs = (one: string, other: string) =>
    compareTasks(ways(one), ways(other))
      .legs.map(({ before, after }) =>
        [before, after].map((leg) => (leg ? `${leg.fromName}${leg.toName}` : '-')).join('='),
      )
      .join(' ');

  test('those between the same points, in order', () => {
    expect(pairs('AB BC CD', 'AB BC CD')).toBe('AB=AB BC=BC CD=CD');
    expect(pairs('AB BC CD', 'AB BD')).toBe('AB=AB BC=- CD=- -=BD');
    expect(pairs('AB BC', 'AX XB BC')).toBe('AB=- -=AX -=XB BC=BC');
    expect(pairs('AX XB BC', 'AB BC')).toBe('AX=- XB=- -=AB BC=BC');
    expect(pairs('AB BC', '')).toBe('AB=- BC=-');
    expect(pairs('', 'AB BC')).toBe('-=AB -=BC');
    // The same start alone, or the same end alone, is another leg.
    expect(pairs('AB', 'AC')).toBe('AB=- -=AC');
    expect(pairs('AB', 'CB')).toBe('AB=- -=CB');
  });

  test('as many as there can be', () => {
    expect(pairs('AB BA AB BC', 'BA AB BC')).toBe('AB=- BA=BA AB=AB BC=BC');
    expect(pairs('BA AB BC', 'AB BA AB BC')).toBe('-=AB BA=BA AB=AB BC=BC');
    expect(pairs('CD AB BC CD', 'AB BC CD')).toBe('CD=- AB=AB BC=BC CD=CD');
    expect(pairs('AB BC CD', 'CD AB BC')).toBe('-=CD AB=AB BC=BC CD=-');
    expect(pairs('CD AB BC', 'AB BC CD')).toBe('CD=- AB=AB BC=BC -=CD');
    expect(pairs('CD XY AB BC', 'AB BC CD')).toBe('CD=- XY=- AB=AB BC=BC -=CD');
  });

  test('every way through two short lists, against all of them tried', () => {
    /** The most pairs of the same name in order, by trying all. */
    const most = (one: readonly string[], other: readonly string[]): number => {
      const [first, ...rest] = one;
      if (first === undefined) return 0;
      const at = other.indexOf(first);
      const without = most(rest, other);
      return at < 0 ? without : Math.max(without, 1 + most(rest, other.slice(at + 1)));
    };
    const NAMES = ['AB', 'BA', 'BC'];
    const all = [0, 1, 2, 3].flatMap((length) =>
      Array.from({ length: 3 ** length }, (_, n) =>
        Array.from({ length }, (_, i) => NAMES[Math.floor(n / 3 ** i) % 3] as string),
      ),
    );
    // Tasks of names alone: what is compared here is which legs are paired.
    const task = taskOf();
    const [start] = task.legs;
    const of = (names: readonly string[]): TaskEvaluation =>
      ({ ...task, legs: names.map(([fromName, toName]) => ({ ...start, fromName, toName })) }) as TaskEvaluation;
    for (let i = 0; i < all.length; i += 3) {
      for (let j = 0; j < all.length; j += 2) {
        const [one, other] = [all[i] as string[], all[j] as string[]];
        const legs = compareTasks(of(one), of(other)).legs;
        const names = (leg: LegEvaluation | undefined) => (leg ? [`${leg.fromName}${leg.toName}`] : []);
        expect(legs.flatMap(({ before }) => names(before))).toEqual(one);
        expect(legs.flatMap(({ after }) => names(after))).toEqual(other);
        const both = legs.filter(({ before, after }) => before && after);
        for (const { before, after } of both) expect(names(before)).toEqual(names(after));
        expect(both).toHaveLength(most(one, other));
      }
    }
  });

  test('a leg that is on one side only has changed, and nothing is compared', () => {
    const [gone, come] = compareTasks(ways('AB'), ways('AC')).legs;
    expect(gone).toMatchObject({ changed: true, change: undefined, reasons: [], together: undefined });
    expect(gone?.figuresBefore).toEqual(figuresOf(taskOf().legs[0] as LegEvaluation));
    expect(gone?.figuresAfter).toBeUndefined();
    expect(come).toMatchObject({ changed: true, change: undefined, reasons: [], together: undefined });
    expect(come?.figuresBefore).toBeUndefined();
    expect(come?.figuresAfter).toEqual(figuresOf(taskOf().legs[0] as LegEvaluation));
  });
});

describe('reasons', () => {
  test('each is what the task gives with this line changed and no other', () => {
    const faster = (text: string) => text.replace('at 65 kt', 'at 78 kt');
    const higher = (text: string) => text.replace('190 m\n', '260 m\n');
    const elsewhere = (text: string) => text.replace('47.2031 N', '47.2000 N');
    const before = taskOf();
    const change = compareTasks(
      before,
      taskOf(faster, (text) => elsewhere(WINDY(higher(text)))),
    );
    const alone: Readonly<Record<string, TaskEvaluation>> = {
      'wind at 3000 ft MSL': taskOf(undefined, WINDY),
      'elevation of Larkfield': taskOf(undefined, higher),
      'position of Larkfield': taskOf(undefined, elsewhere),
      'speed to Larkfield': taskOf(faster),
    };
    expect(change.facts.map(({ label }) => label).toSorted()).toEqual(Object.keys(alone).toSorted());
    expect(change.changed).toBe(true);
    const reasons = change.legs.map((leg) => leg.reasons.map(({ label }) => label));
    expect(reasons[0]).toEqual(['wind at 3000 ft MSL']);
    expect(reasons[1]?.toSorted()).toEqual(Object.keys(alone).toSorted());
    for (const [i, leg] of change.legs.entries()) {
      const was = figuresOf(before.legs[i] as LegEvaluation);
      const now = leg.figuresAfter as LegFigures;
      expect(leg.figuresBefore).toEqual(was);
      expectClose(leg.change, less(now, was));
      let left = less(now, was);
      for (const reason of leg.reasons) {
        const own = less(figuresOf(alone[reason.label]?.legs[i] as LegEvaluation), was);
        expectClose(reason.alone, own);
        left = less(left, own);
      }
      expectClose(leg.together, left);
      const sizes = leg.reasons.map((reason) => Math.abs(reason.alone.marginM as number));
      expect(sizes).toEqual(sizes.toSorted((a, b) => b - a));
    }
  });

  test('what moves the margin most comes first, wherever it is written', () => {
    const labels = (wind: string, reserve: string) =>
      compareTasks(
        taskOf(),
        taskOf(undefined, (text) => text.replace('14 kt', wind).replace('1000 ft AGL', reserve)),
      ).legs[1]?.reasons.map(({ label }) => label);
    expect(labels('15 kt', '2000 ft AGL')).toEqual(['arrive of the reserve', 'wind at 3000 ft MSL']);
    expect(labels('40 kt', '1010 ft AGL')).toEqual(['wind at 3000 ft MSL', 'arrive of the reserve']);
  });

  test('a leg that has not changed has none', () => {
    const found = compareTasks(
      taskOf(),
      taskOf((text) => text.replace('at 65 kt', 'at 78 kt')),
    );
    expect(found.legs[0]).toMatchObject({ changed: false, reasons: [], together: undefined });
    expect(found.legs[0]?.change?.marginM).toBe(0);
    expect(found.legs[1]?.reasons.map(({ label }) => label)).toEqual(['speed to Larkfield']);
    expect(found.changed).toBe(true);
  });

  test('a fact that goes is a reason like any other', () => {
    const without = (text: string) => text.replace(/ {2}wind {8}6000.*\n/, '');
    const found = compareTasks(taskOf(), taskOf(undefined, without));
    expect(found.facts).toEqual([{ label: 'wind at 6000 ft MSL', before: '255°/20 kt', after: undefined }]);
    const leg = found.legs[1];
    expect(Math.abs(leg?.change?.timeS as number)).toBeGreaterThan(1);
    expect(leg?.reasons).toHaveLength(1);
    expectClose(leg?.reasons[0]?.alone, leg?.change as LegFigures);
    expectClose(leg?.together, { distanceM: 0, requiredAltitudeM: 0, arriveAltitudeM: 0, marginM: 0, timeS: 0 });
  });

  test('a fact that alone leaves a leg without figures counts nothing, and comes last', () => {
    // Against 75 kt no glider makes headway at 65 kt; at 105 kt it does.
    const storm = (text: string) => text.replace(/(wind .*from )\d+° at \d+ kt/g, '$1235° at 75 kt');
    const fast = (text: string) => text.replace('at 65 kt', 'at 105 kt').replace('at 60 kt', 'at 104 kt');
    const before = taskOf(undefined, (text) => text.replace(/ {2}wind {8}(surface|6000).*\n/g, ''));
    const after = taskOf(fast, (text) => storm(text).replace(/ {2}wind {8}(surface|6000).*\n/g, ''));
    const leg = compareTasks(before, after).legs[1];
    expect(leg?.change?.marginM).not.toBeNull();
    expect(leg?.reasons.map(({ label }) => label)).toEqual(['speed to Larkfield', 'wind at 3000 ft MSL']);
    expect(leg?.reasons[1]?.alone).toEqual({ ...NONE, distanceM: 0 });
    expectClose(leg?.together, less(leg?.change as LegFigures, leg?.reasons[0]?.alone as LegFigures));
  });

  test('are given only where the facts make the numbers of both sides', () => {
    const before = taskOf();
    const after = taskOf(undefined, WINDY);
    const higher = (task: TaskEvaluation, by: number): TaskEvaluation => ({
      ...task,
      legs: task.legs.map((leg, i) =>
        i === 1
          ? ({ ...leg, result: { ...leg.result, marginM: (figuresOf(leg).marginM as number) + by } } as LegEvaluation)
          : leg,
      ),
    });
    expect(compareTasks(before, after).legs.map(({ reasons }) => reasons.length)).toEqual([1, 1]);
    for (const [one, other] of [
      [higher(before, 10), after],
      [before, higher(after, 10)],
      [{ ...before, legs: before.legs.slice(0, 1) }, after],
      [before, { ...after, legs: after.legs.slice(0, 1) }],
    ] as const) {
      const found = compareTasks(one, other);
      expect(found.facts.map(({ label }) => label)).toContain('wind at 3000 ft MSL');
      expect(found.changed).toBe(true);
      for (const leg of found.legs) expect(leg).toMatchObject({ changed: true, reasons: [], together: undefined });
    }
    expect(compareTasks(before, higher(before, 10)).legs[1]).toMatchObject({
      changed: true,
      reasons: [],
      together: undefined,
    });
  });
});

describe('another aircraft, another way', () => {
  const heron = (text: string) =>
    text +
    text
      .slice(text.indexOf('aircraft Finch'), text.indexOf('weather Calm'))
      .replace('Finch', 'Heron')
      .replace('3.70', '3.00');

  test('another aircraft is one fact, whatever its figures', () => {
    const found = compareTasks(
      taskOf(undefined, heron),
      taskOf((text) => text.replace('aircraft Finch', 'aircraft Heron'), heron),
    );
    expect(found.facts).toEqual([{ label: 'aircraft', before: 'Finch', after: 'Heron' }]);
    for (const leg of found.legs) {
      expect(leg.reasons).toHaveLength(1);
      expectClose(leg.reasons[0]?.alone, leg.change as LegFigures);
    }
  });

  test('an aircraft that is not known on one side', () => {
    const found = compareTasks(
      taskOf((text) => text.replace('aircraft Finch', 'aircraft Nowhere')),
      taskOf(),
    );
    expect(found.facts).toEqual([{ label: 'aircraft', before: undefined, after: 'Finch' }]);
    expect(found.legs[1]?.reasons.map(({ label }) => label)).toEqual(['aircraft']);
    expect(found.legs[1]?.reasons[0]?.alone.marginM).toBeNull();
    const gone = compareTasks(
      taskOf(),
      taskOf((text) => text.replace('aircraft Finch', 'aircraft Nowhere')),
    );
    expect(gone.facts).toEqual([{ label: 'aircraft', before: 'Finch', after: undefined }]);
  });

  test('a point that is not known any more is named, on the same way', () => {
    const found = compareTasks(
      taskOf(),
      taskOf(undefined, (text) => text.replace('turnpoint "Corran Dam"', 'turnpoint "Old Dam"')),
    );
    expect(found.facts).toEqual([
      { label: 'Corran Dam', before: 'turnpoint', after: undefined },
      { label: 'position of Corran Dam', before: '47.2870 N 19.6150 E', after: undefined },
      { label: 'elevation of Corran Dam', before: '210 m', after: undefined },
    ]);
  });

  test('a point whose name is a number is known on both sides like any other', () => {
    const numbered = (text: string) => text.replace('field Ashmoor', 'field "0"');
    const found = compareTasks(
      taskOf(undefined, numbered),
      taskOf((text) => round(text).replace('Ashmoor', '"0"'), numbered),
    );
    expect(found.facts.map(({ label }) => label)).toEqual(['itinerary']);
  });

  // Round by Ashmoor, with a climb there, before the legs that stay.
  const round = (text: string) =>
    text.replace('  turn     "Corran Dam"', '  turn     Ashmoor\n  climb    to 5000 ft MSL\n  turn     "Corran Dam"');
  const higher = (text: string) => text.replace('to 5200 ft', 'to 5600 ft');

  test('another way is one fact, and its points are known on both sides', () => {
    const found = compareTasks(
      taskOf(),
      taskOf((text) => higher(round(text))),
    );
    const there = 'Withy Bridge – Corran Dam – Larkfield';
    const now = 'Withy Bridge – Ashmoor – Corran Dam – Larkfield';
    expect(found.facts).toEqual([{ label: 'itinerary', before: there, after: now }]);
    const back = compareTasks(
      taskOf((text) => higher(round(text))),
      taskOf(),
    );
    expect(back.facts).toEqual([{ label: 'itinerary', before: now, after: there }]);
    for (const { legs } of [found, back]) {
      const last = legs.at(-1);
      expect([last?.before?.toName, last?.after?.toName]).toEqual(['Larkfield', 'Larkfield']);
      expect(Math.abs(last?.change?.marginM as number)).toBeGreaterThan(50);
      expect(last?.reasons.map(({ label }) => label)).toEqual(['itinerary']);
      expectClose(last?.reasons[0]?.alone, last?.change as LegFigures);
      expectClose(last?.together, { distanceM: 0, requiredAltitudeM: 0, arriveAltitudeM: 0, marginM: 0, timeS: 0 });
    }
  });

  test('beside another way, what changes on the old one is told with the legs of the old one', () => {
    const before = taskOf();
    const way = (text: string) => higher(round(text));
    const found = compareTasks(before, taskOf(way, WINDY));
    const last = found.legs.at(-1);
    expect(found.facts.map(({ label }) => label)).toEqual(['wind at 3000 ft MSL', 'itinerary']);
    expect(last?.reasons.map(({ label }) => label).toSorted()).toEqual(['itinerary', 'wind at 3000 ft MSL']);
    const was = figuresOf(before.legs[1] as LegEvaluation);
    const alone: Readonly<Record<string, LegEvaluation | undefined>> = {
      'wind at 3000 ft MSL': taskOf(undefined, WINDY).legs[1],
      itinerary: taskOf(way).legs[2],
    };
    for (const reason of last?.reasons ?? [])
      expectClose(reason.alone, less(figuresOf(alone[reason.label] as LegEvaluation), was));
  });

  test('a point that both ways name, and that lies elsewhere, is a fact of its own', () => {
    const found = compareTasks(
      taskOf(),
      taskOf(round, (text) => text.replace('190 m\n', '195 m\n')),
    );
    expect(found.facts).toEqual([
      { label: 'elevation of Larkfield', before: '190 m', after: '195 m' },
      {
        label: 'itinerary',
        before: 'Withy Bridge – Corran Dam – Larkfield',
        after: 'Withy Bridge – Ashmoor – Corran Dam – Larkfield',
      },
    ]);
  });

  test('without another way, heights and speeds of the itinerary are facts one by one', () => {
    const found = compareTasks(
      taskOf(),
      taskOf((text) => higher(text).replace('at 65 kt', 'at 70 kt')),
    );
    expect(found.facts).toEqual([
      { label: 'climb behind Corran Dam', before: '5200 ft MSL at 3 kt', after: '5600 ft MSL at 3 kt' },
      { label: 'speed to Larkfield', before: '65 kt', after: '70 kt' },
    ]);
  });

  test('a finish that becomes a turn is another way round the same points', () => {
    const found = compareTasks(
      taskOf(),
      taskOf((text) => text.replace('finish   Larkfield', 'turn     Larkfield')),
    );
    const points = 'Withy Bridge – Corran Dam – Larkfield';
    expect(found.facts).toEqual([{ label: 'itinerary', before: points, after: points }]);
  });
});
