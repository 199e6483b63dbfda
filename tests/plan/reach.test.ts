/** Fields in reach in a plan: what is kept, what counts as a field, the JSON and hover. */
import fc from 'fast-check';
import geodesy from 'geographiclib-geodesic';
import { describe, expect, test } from 'vitest';
import { hover } from '../../server/features/hover.ts';
import { glideTo, type Position } from '../../server/flight/index.ts';
import {
  altitudeAt,
  askedBy,
  fieldsInReachAt,
  finishInReachFrom,
  homeInReachAt,
  homeOf,
  isFlown,
  pathOf,
  placesOf,
  reachMayDiffer,
  reachSetting,
  stretchesWithoutField,
  worstPointOf,
} from '../../server/plan/reach.ts';
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, type Workspace } from '../../server/plan/workspace.ts';
import { budgetJson } from '../../server/reports/budget-json.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { check } from '../../server/rules/run.ts';

const ROOT = 'file:///plans';
const PLAN = `${ROOT}/plan.taskplan`;
const STRIP =
  'field Strip at 47.1150 N 19.6000 E\n  elevation 135 m\n  runway    07/25 600 m surface grass\n  frequency 118.500 MHz\n';
const TEXT = `use "club.taskplan"
use "strips.taskplan"

turnpoint Barrow at 47.1000 N 19.6200 E
  elevation 130 m

task Round
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 5200 ft MSL
  turn     Barrow
  climb    to 5600 ft MSL
  climb    to 4000 ft MSL after 10 NM
  finish   Ashmoor
`;

function workspaceOf(strips = '# none\n', text = TEXT): Workspace {
  const workspace = createWorkspace([ROOT]);
  setFile(workspace, `${ROOT}/club.taskplan`, EXAMPLE_CLUB);
  setFile(workspace, `${ROOT}/strips.taskplan`, strips);
  setFile(workspace, PLAN, text);
  return workspace;
}

function understood(workspace: Workspace) {
  const file = workspace.files.get(PLAN);
  if (!file) throw new Error('no plan');
  return understand(workspace, file);
}

function taskOf(workspace: Workspace): TaskEvaluation {
  const [task] = understood(workspace).tasks;
  if (!task) throw new Error('no task');
  return task;
}

const stretchesOf = (task: TaskEvaluation) => task.legs.map((leg) => stretchesWithoutField(leg, task));

describe('what counts as a field', () => {
  test('any that the file sees, named or not, in a file that it uses', () => {
    expect(stretchesOf(taskOf(workspaceOf()))[0]).toHaveLength(1);
    expect(stretchesOf(taskOf(workspaceOf(STRIP)))[0]).toEqual([]);
  });

  test('its own arrival height counts where it is higher', () => {
    expect(stretchesOf(taskOf(workspaceOf(`${STRIP}  arrive 2900 ft AGL\n`)))[0]).toHaveLength(1);
    expect(stretchesOf(taskOf(workspaceOf(`${STRIP}  arrive 300 ft AGL\n`)))[0]).toEqual([]);
  });

  test('not one whose place or height is not known, and that is said', () => {
    const workspace = workspaceOf(STRIP.replace('elevation 135 m', 'elevation 135'));
    expect(stretchesOf(taskOf(workspace))[0]).toHaveLength(1);
    const finding = check(workspace, understood(workspace)).find(({ code }) => code === 'no-field-in-glide');
    expect(finding?.related.map(({ message }) => message).join('\n')).toContain('`Strip` cannot be counted');
    const broken = workspaceOf(`${STRIP}  arrive 300 feet\n`);
    expect(stretchesOf(taskOf(broken))[0]).toHaveLength(1);
  });

  test('not a turnpoint', () => {
    const workspace = workspaceOf(STRIP.replace('field', 'turnpoint').replace(/ {2}(runway|frequency).*\n/g, ''));
    expect(stretchesOf(taskOf(workspace))[0]).toHaveLength(1);
  });
});

describe('what is kept', () => {
  test('an evaluation is the same object until something that it is flown among changes', () => {
    const workspace = workspaceOf(STRIP);
    const before = taskOf(workspace);
    setFile(workspace, PLAN, `# A remark.\n${TEXT}`);
    expect(taskOf(workspace)).toBe(before);
    setFile(workspace, `${ROOT}/strips.taskplan`, `# A remark.\n${STRIP}`);
    expect(taskOf(workspace)).toBe(before);
    setFile(workspace, `${ROOT}/strips.taskplan`, STRIP.replace('135', '136'));
    const after = taskOf(workspace);
    expect(after).not.toBe(before);
    // The legs themselves rest on nothing but what they name.
    expect(after.legs).toBe(before.legs);
  });

  test('stretches of legs that did not change are not computed again', () => {
    const workspace = workspaceOf();
    const before = stretchesOf(taskOf(workspace));
    setFile(workspace, PLAN, TEXT.replace('5600 ft', '5700 ft'));
    const after = stretchesOf(taskOf(workspace));
    expect(after[0]).toBe(before[0]);
    expect(after[1]).not.toBe(before[1]);
  });

  test('a field that comes or goes is seen at once', () => {
    const workspace = workspaceOf();
    const found = () =>
      check(workspace, understood(workspace)).filter(({ code }) => code === 'no-field-in-glide').length;
    expect(found()).toBe(1);
    setFile(workspace, `${ROOT}/strips.taskplan`, STRIP);
    expect(found()).toBe(0);
    setFile(workspace, `${ROOT}/strips.taskplan`, '');
    expect(found()).toBe(1);
  });
});

describe('the finding', () => {
  test('what it advises is enough, and less is not', () => {
    const workspace = workspaceOf();
    const messages = () =>
      check(workspace, understood(workspace))
        .filter(({ code }) => code === 'no-field-in-glide')
        .map(({ message }) => message);
    const [message = ''] = messages();
    const height = Number((/Leave Larkfield at ([\d,]+) ft/.exec(message)?.[1] ?? '').replace(',', ''));
    expect(height).toBeGreaterThan(5200);
    setFile(workspace, PLAN, TEXT.replace('5200', String(height)));
    expect(messages()).toEqual([]);
    setFile(workspace, PLAN, TEXT.replace('5200', String(height - 60)));
    expect(messages()).toHaveLength(1);
  });

  test('is not told for a leg that meets the ground, nor again where a leg arrives low over a field', () => {
    const low = workspaceOf(STRIP, TEXT.replace('5200', '2000'));
    const codes = (workspace: Workspace) => check(workspace, understood(workspace)).map(({ code }) => code);
    expect(codes(low)).toContain('reaches-ground');
    const home = workspaceOf(
      STRIP,
      TEXT.replace('  climb    to 4000 ft MSL after 10 NM\n', '').replace('5600', '4000'),
    );
    expect(codes(home)).toContain('below-reserve');
    expect(codes(home)).not.toContain('no-field-in-glide');
  });
});

describe('the point of no choice', () => {
  test('lies at the climb that makes home, and a climb says from which height home is in reach', () => {
    const workspace = workspaceOf(STRIP, TEXT.replace('5600', '3600'));
    const task = taskOf(workspace);
    const [, leg] = task.legs;
    if (!leg) throw new Error('no leg');
    const from = finishInReachFrom(leg, task);
    expect(from).toBeCloseTo(10 * 1852, -1);
    const [overhead, onTheWay] = leg.climbs.map((climb) => homeInReachAt(climb, leg, task) ?? Number.NaN);
    expect(overhead).toBeGreaterThan(onTheWay ?? 0);
    // From exactly that height over the turnpoint the best glide arrives with exactly what is asked.
    const ft = Math.ceil((overhead ?? 0) / 0.3048);
    const again = taskOf(
      workspaceOf(STRIP, TEXT.replace('5600', String(ft)).replace('  climb    to 4000 ft MSL after 10 NM\n', '')),
    );
    const last = again.legs[1]?.result;
    if (!last || last.problem) throw new Error('not flown');
    expect(last.marginM).toBeGreaterThanOrEqual(0);
    expect(last.marginM).toBeLessThan(0.4);
    expect(finishInReachFrom(again.legs[1] as typeof leg, again)).toBe(0);
  });
});

describe('what is shown', () => {
  test('the keys of the JSON', () => {
    const { tasks } = JSON.parse(budgetJson([taskOf(workspaceOf())], 'plan.taskplan', [])) as {
      tasks: {
        legs: {
          stretchesWithoutField: Record<string, unknown>[];
          homeFromClimbs: unknown[];
          worstPoint: { fieldsInReach: { landing: object | null }[] } | null;
        }[];
      }[];
    };
    const [first, second] = tasks[0]?.legs ?? [];
    expect(Object.keys(first?.stretchesWithoutField[0] ?? {})).toEqual(
      expect.arrayContaining(['fromM', 'toM', 'neededAltitudeM', 'closestField']),
    );
    expect(second?.stretchesWithoutField).toEqual([]);
    const landing = second?.worstPoint?.fieldsInReach[0]?.landing;
    expect(Object.keys(landing ?? {})).toEqual(
      expect.arrayContaining(['runway', 'courseDeg', 'headwindMps', 'crosswindMps', 'lengthM']),
    );
    expect(second?.homeFromClimbs).toHaveLength(2);
  });

  test('hover lists the fields in reach with runway, frequency and what they spare', () => {
    const file = understood(workspaceOf(STRIP));
    const line = TEXT.split('\n').findIndex((text) => text.includes('turn     Barrow'));
    const textAt = (at: number) =>
      String((hover(file, { line: at, character: 3 })?.contents as { value?: string })?.value);
    const value = textAt(line);
    expect(value).toContain('**Fields in reach** at the worst point');
    expect(value).toMatch(
      /\| Strip \| \d\.\d NM \| [\d,]+ ft \| 07\/25 600 m grass \| 118\.500 MHz \| 25: headwind \d+ kt, (no )?crosswind.* \|/,
    );
    expect(textAt(line + 1)).toContain('home, Ashmoor, is in reach with the reserve from **');
  });
});

// Source of the places below: geographiclib-geodesic, WGS84. Single glides are those of `glideTo` (tests/flight/reach.test.ts).
const { WGS84 } = geodesy.Geodesic;
const WEST = { latDeg: 47.1, lonDeg: 19.2 };
const WAY = WGS84.Inverse(WEST.latDeg, WEST.lonDeg, 47.25, 19.5);
const LENGTH_M = WAY.s12 ?? Number.NaN;
/** A place so far along the leg from Westing to Easting, 28.2 km to the north-east, and so far to its right. */
function placeAt(alongM: number, rightM = 0): Position {
  const on = WGS84.Direct(WEST.latDeg, WEST.lonDeg, WAY.azi1 ?? 0, alongM);
  const { lat2 = 0, lon2 = 0 } = WGS84.Direct(on.lat2 ?? 0, on.lon2 ?? 0, (on.azi2 ?? 0) + 90, rightM);
  return { latDeg: Number(lat2.toFixed(8)), lonDeg: Number(lon2.toFixed(8)) };
}
interface Spot {
  readonly name: string;
  readonly along: number;
  readonly right: number;
  readonly elevation?: number;
  readonly arrive?: number;
  readonly note?: string;
}
const written = ({ name, along, right, elevation = 150, arrive, note }: Spot) => {
  const { latDeg, lonDeg } = placeAt(along, right);
  return `field ${name} at ${latDeg} N ${lonDeg} E\n  elevation ${elevation} m\n${arrive === undefined ? '' : `  arrive ${arrive} m AGL\n`}${note === undefined ? '' : `  note "${note}"\n`}`;
};
const FLEET = EXAMPLE_CLUB.slice(EXAMPLE_CLUB.indexOf('aircraft Finch'));
const LINES = '  start Westing at 1500 m MSL\n  finish Easting\n';
const WESTING: Spot = { name: 'Westing', along: 0, right: 0, elevation: 200 };
interface Plan {
  readonly spots?: readonly Spot[];
  readonly lines?: string;
  readonly fleet?: string;
  readonly weather?: string;
  readonly reserve?: string;
}
const planText = ({ spots = [], lines = LINES, fleet = FLEET, weather = 'Breezy', reserve = 'Training' }: Plan) =>
  `turnpoint Easting at 47.2500 N 19.5000 E\n  elevation 150 m\n\n${[WESTING, ...spots].map(written).join('\n')}\n${fleet}\ntask Out\n  aircraft Finch with pilot 82 kg\n  weather ${weather}\n  reserve ${reserve}\n${lines}`;
function evaluated(plan: Plan, workspace = createWorkspace([ROOT])): TaskEvaluation {
  const [task] = understand(workspace, setFile(workspace, PLAN, planText(plan))).tasks;
  if (!task) throw new Error('no task');
  return task;
}
const legOf = (task: TaskEvaluation, number = 1): LegEvaluation => {
  const leg = task.legs[number - 1];
  if (!leg) throw new Error(`no leg ${number}`);
  return leg;
};
/** By the reserve Training: 1,000 ft above a field, or what the field asks where that is more, and 150 ft besides. */
const asked = ({ elevation = 150, arrive = 0 }: Spot) => elevation + Math.max(304.8, arrive) + 45.72;
/** The least altitude at a place of the leg from which a spot is in reach. */
function needs(task: TaskEvaluation, number: number, xM: number, spot: Spot): number {
  const leg = legOf(task, number);
  const setting = reachSetting(leg);
  const way = leg.input?.setting.track;
  if (!setting || !way) throw new Error('not computed');
  const field = { position: placeAt(spot.along, spot.right), askedAltitudeM: asked(spot) };
  return glideTo(setting, way.positionAt(xM), field)?.requiredM ?? Number.POSITIVE_INFINITY;
}

const SPOTS: readonly Spot[] = [
  { name: 'Ash', along: 4000, right: 6000 },
  { name: 'Birch', along: 9000, right: -9000, elevation: 220 },
  { name: 'Cedar', along: 21_000, right: 3000, arrive: 500 },
  { name: 'Dogwood', along: 26_000, right: -14_000 },
  { name: 'Elm', along: 60_000, right: 90_000 },
];

describe('beside each glide by itself', () => {
  const all = [WESTING, ...SPOTS];
  const climbing = '  start Westing at 1500 m MSL\n  climb to 1400 m MSL after 14 km\n  finish Easting\n';
  const plans: Plan[] = [
    { spots: SPOTS },
    { spots: SPOTS, lines: climbing },
    { spots: SPOTS, lines: '  start Westing at 2600 m MSL\n  turn Easting\n  climb to 2700 m MSL\n  finish Westing\n' },
    { spots: SPOTS.slice(2) },
    { spots: [{ name: 'Oak', along: LENGTH_M, right: 0 }], lines: LINES.replace('Easting', 'Oak') },
    { spots: [{ name: 'Oak', along: LENGTH_M, right: 0 }], lines: climbing.replace('Easting', 'Oak') },
    // The reserve asks less over Oak than the field itself.
    { spots: [{ name: 'Oak', along: LENGTH_M, right: 0, arrive: 450 }], lines: LINES.replace('Easting', 'Oak') },
  ];

  test.each(plans.map((plan, i) => [i, plan] as const))(
    'plan %i: fields in reach, the worst point and the stretches',
    (_, plan) => {
      const spots = plan.spots
        ? all
            .filter((one) => one === WESTING || plan.spots?.includes(one))
            .concat(plan.spots.filter((one) => !all.includes(one)))
        : all;
      const task = evaluated(plan);
      for (const leg of task.legs) {
        const length = leg.result?.distanceM ?? 0;
        const altitude = (x: number) => altitudeAt(pathOf(leg), x) ?? Number.NaN;
        const spared = (x: number) =>
          spots
            .map((spot) => ({ name: spot.name, spareM: altitude(x) - needs(task, leg.number, x, spot) }))
            .toSorted((a, b) => b.spareM - a.spareM);
        const best = (x: number) => spared(x)[0]?.spareM ?? 0;
        for (const x of [0, length / 3, length / 2, length]) {
          const found = fieldsInReachAt(leg, task, x);
          const expected = spared(x).filter(({ spareM }) => spareM >= 0);
          expect(found?.map(({ field }) => field.meaning.name)).toStrictEqual(expected.map(({ name }) => name));
          for (const [i, { spareM }] of (found ?? []).entries())
            expect(spareM).toBeCloseTo(expected[i]?.spareM ?? 0, 6);
        }
        const stretches = stretchesWithoutField(leg, task) ?? [];
        const without = (x: number) => stretches.some(({ fromM, toM }) => x > fromM && x < toM);
        const isEdge = (x: number) =>
          stretches.some(({ fromM, toM }) => Math.min(Math.abs(x - fromM), Math.abs(x - toM)) < 60);
        let least = Number.POSITIVE_INFINITY;
        for (let x = 10; x < length; x += 700) {
          least = Math.min(least, best(x));
          if (!isEdge(x)) expect([x, without(x)]).toStrictEqual([x, best(x) < 0]);
        }
        for (const { worst } of stretches) expect(altitude(worst.xM)).toBeCloseTo(worst.altitudeM, 6);
        const worst = worstPointOf(leg, task);
        if (!worst) throw new Error('no worst point');
        const spare = worst.altitudeM - (worst.least?.requiredM ?? 0);
        expect(worst.least?.field.meaning.name).toBe(spared(worst.xM)[0]?.name);
        expect(spare).toBeLessThan(least + 25);
        expect(spare).toBeGreaterThan(least - 25);
        expect(worst.inReach.map(({ field }) => field.meaning.name)).toStrictEqual(
          spared(worst.xM)
            .filter(({ spareM }) => spareM >= 0)
            .map(({ name }) => name),
        );
      }
    },
  );

  test('home from a climb, and from where on the finish is in reach', () => {
    const lines =
      '  start Westing at 1900 m MSL\n  turn Easting\n  climb to 1400 m MSL\n  climb to 1500 m MSL after 6 km\n  finish Westing\n';
    const task = evaluated({ spots: SPOTS, lines });
    const [out, back] = [legOf(task, 1), legOf(task, 2)];
    expect(homeOf(task)?.meaning.name).toBe('Westing');
    const [first, second] = back.climbs;
    if (!first || !second) throw new Error('no climbs');
    expect(homeInReachAt(first, back, task)).toBeCloseTo(needs(task, 2, 0, WESTING), 6);
    expect(homeInReachAt(second, back, task)).toBeCloseTo(needs(task, 2, 6000, WESTING), 6);
    expect(homeInReachAt({ ...second, beyondLeg: true }, back, task)).toBeUndefined();
    expect(finishInReachFrom(out, task)).toBeUndefined();
    const from = finishInReachFrom(back, task);
    const length = back.result?.distanceM ?? 0;
    const spare = (x: number) => (altitudeAt(pathOf(back), x) ?? 0) - needs(task, 2, x, WESTING);
    if (typeof from !== 'number') {
      expect(spare(length - 20)).toBeLessThan(0);
    } else
      for (let x = 5; x < length; x += 200)
        if (Math.abs(x - from) > 30 && x > from) expect(spare(x)).toBeGreaterThan(-0.5);
    const high = evaluated({ spots: SPOTS, lines: lines.replace('1500 m MSL after', '2300 m MSL after') });
    const found = finishInReachFrom(legOf(high, 2), high);
    // From the climb on, which is what makes home.
    expect(Math.abs((found ?? 0) - 6000)).toBeLessThan(20);
  });

  test('without a finish at a field there is no home', () => {
    for (const lines of [
      LINES,
      LINES.replace('finish', 'turn'),
      '  start Westing at 1900 m MSL\n  turn Easting\n  turn Westing\n',
      '  start Westing at 1900 m MSL\n',
    ]) {
      const task = evaluated({ spots: SPOTS, lines });
      expect(homeOf(task)).toBeUndefined();
      for (const leg of task.legs) expect(finishInReachFrom(leg, task)).toBeUndefined();
    }
    const three = evaluated({
      spots: SPOTS,
      lines: '  start Westing at 2500 m MSL\n  turn Ash\n  turn Birch\n  finish Westing\n',
    });
    expect(homeOf(three)?.meaning.name).toBe('Westing');
    expect([1, 2].map((number) => finishInReachFrom(legOf(three, number), three))).toStrictEqual([
      undefined,
      undefined,
    ]);
    expect(finishInReachFrom(legOf(three, 3), three)).toBe(0);
  });

  test('nothing of a leg that is not flown to its end, or not computed', () => {
    for (const lines of [
      '  start Westing at 500 m MSL\n  finish Easting\n',
      '  start Westing at 1500 m MSL\n  turn Nowhere\n  finish Westing\n',
    ]) {
      const task = evaluated({ spots: SPOTS, lines });
      for (const leg of task.legs.filter((one) => !isFlown(one)))
        expect([
          stretchesWithoutField(leg, task),
          worstPointOf(leg, task),
          fieldsInReachAt(leg, task, 10),
          finishInReachFrom(leg, task),
        ]).toStrictEqual([undefined, undefined, undefined, undefined]);
      expect(task.legs.some((one) => !isFlown(one))).toBe(true);
    }
  });

  test('what a field asks', () => {
    const task = evaluated({ spots: SPOTS });
    const fields = task.surroundings.fields[0]?.all ?? [];
    expect(fields.length).toBe(6);
    for (const { meaning } of fields) {
      const spot = all.find(({ name }) => name === meaning.name);
      expect(askedBy(meaning, task)).toBeCloseTo(spot ? asked(spot) : Number.NaN, 9);
    }
    const bare = evaluated({ spots: SPOTS, fleet: `${FLEET}\nreserve Bare\n  arrive 200 m AGL\n`, reserve: 'Bare' });
    const [ash] = fields.filter(({ meaning }) => meaning.name === 'Ash');
    expect(ash && askedBy(ash.meaning, bare)).toBeCloseTo(350, 9);
    expect(ash && askedBy({ ...ash.meaning, elevationM: undefined }, task)).toBeUndefined();
    expect(
      placesOf([
        { before: undefined, after: ash },
        { before: ash, after: undefined },
      ]),
    ).toStrictEqual([ash?.position, ash?.position]);
  });

  test('the altitude of a path, behind a climb at its place', () => {
    const points = [
      [0, 1000],
      [10, 900],
      [10, 950],
      [20, 850],
    ].map(([xM = 0, altitudeM = 0]) => ({ xM, altitudeM, timeS: 0 }));
    expect([-1, 0, 5, 10, 15, 20, 30].map((x) => altitudeAt(points, x))).toStrictEqual([
      1000, 1000, 950, 950, 900, 850, 850,
    ]);
    expect(altitudeAt([], 5)).toBeUndefined();
  });
});

describe('one plan after another in a workspace', () => {
  /** All that is told of the reach of a task, in plain values. */
  function told(task: TaskEvaluation) {
    const least = (
      one: {
        readonly field: {
          readonly meaning: { readonly name: string; readonly note?: unknown };
          readonly at: { readonly entry: { readonly text: string } };
        };
      } | null,
    ) => one && { ...one, field: [one.field.meaning.name, one.field.at.entry.text] };
    return task.legs.map((leg) => {
      const worst = worstPointOf(leg, task);
      return {
        stretches: stretchesWithoutField(leg, task)?.map(({ fromM, toM, worst: at }) => ({
          fromM,
          toM,
          at: { ...at, least: least(at.least) },
        })),
        worst: worst && { ...worst, least: least(worst.least), inReach: worst.inReach.map(least) },
      };
    });
  }
  function inTurn(plans: readonly Plan[]): void {
    const workspace = createWorkspace([ROOT]);
    let before: string | undefined;
    for (const plan of plans) {
      const task = evaluated(plan, workspace);
      const { change } = task.surroundings;
      const mayDiffer = change && reachMayDiffer(task);
      const now = told(task);
      expect(now).toStrictEqual(told(evaluated(plan)));
      expect(told(task)).toStrictEqual(now);
      const stretches = JSON.stringify(now.map((one) => one.stretches));
      if (mayDiffer === false) expect(stretches).toBe(before);
      before = stretches;
    }
  }
  const near = SPOTS.slice(0, 3);
  const [ash, birch, cedar] = near as [Spot, Spot, Spot];

  test('of which a field changed, went or came', () => {
    inTurn([
      { spots: near },
      { spots: [{ ...ash, note: 'Wet.' }, birch, cedar] },
      { spots: [{ ...ash, note: 'Dry.' }, { ...birch, note: 'Long.' }, cedar] },
      { spots: [{ ...ash, elevation: 180 }, birch, cedar] },
      { spots: [{ ...ash, arrive: 700 }, birch, cedar] },
      { spots: [{ ...ash, right: 6500 }, birch, cedar] },
      { spots: [{ ...ash, along: 4500 }, birch, cedar] },
      { spots: [birch, cedar] },
      { spots: [cedar] },
      { spots: [cedar, { name: 'Fir', along: 15_000, right: 100 }] },
      { spots: [cedar, { name: 'Fir', along: 15_000, right: 100, elevation: 600 }] },
      { spots: [cedar, { name: 'Far', along: 15_000, right: 200_000 }] },
      { spots: [cedar, { name: 'Far', along: 15_000, right: 210_000 }] },
      { spots: [] },
      { spots: near },
    ]);
  });

  test('of which a field came and went where one is in reach all the way', () => {
    const lines = '  start Westing at 2600 m MSL\n  finish Easting\n';
    const extra = (along: number, right: number, elevation = 400): Spot => ({ name: 'Fir', along, right, elevation });
    const list: Plan[] = [
      near,
      [...near, extra(14_000, 20_000)],
      near,
      [...near, extra(14_000, 9000)],
      [...near, extra(14_000, 500)],
      [birch, cedar, extra(14_000, 500)],
      [birch, { ...cedar, note: 'Wet.' }, extra(14_000, 500)],
      [birch, cedar, extra(14_000, 60_000)],
      near,
      [...near, extra(14_000, 500, 100)],
      [...near, extra(14_000, 500, 1500)],
      near,
    ].map((spots) => ({ spots, lines }));
    inTurn(list);
    const workspace = createWorkspace([ROOT]);
    const mayDiffer = (spots: readonly Spot[]) => {
      const task = evaluated({ spots, lines }, workspace);
      const differs = reachMayDiffer(task);
      told(task);
      return differs;
    };
    expect(mayDiffer(near)).toBe(true);
    // Far beyond the circle, and in it but asking more than what is found.
    expect(mayDiffer([...near, extra(14_000, 90_000)])).toBe(false);
    expect(mayDiffer([...near, extra(14_000, 91_000), extra(14_000, 9000, 1500)])).toBe(false);
    expect(mayDiffer([...near, { ...extra(14_000, 500), note: 'Wet.' }])).toBe(true);
    expect(mayDiffer([...near, { ...extra(14_000, 500), note: 'Dry.' }])).toBe(false);
  });

  test('of which the task, its reserve, aircraft or weather changed', () => {
    const lines = (climbs: string, speed = '') => `  start Westing at 1500 m MSL\n${climbs}  finish Easting${speed}\n`;
    const fleet = (by: string, to: string) => ({ spots: near, fleet: FLEET.replaceAll(by, to) });
    inTurn([
      { spots: near, lines: lines('') },
      { spots: near, lines: lines('  climb to 1300 m MSL after 14 km\n') },
      { spots: near, lines: lines('  climb to 1350 m MSL after 14 km\n') },
      { spots: near, lines: lines('  climb to 1350 m MSL after 13 km\n') },
      { spots: near, lines: lines('', ' at best glide') },
      { spots: near, lines: lines('', ' at 60 kt') },
      { spots: near, weather: 'Calm' },
      fleet('from 245° at 14 kt', 'from 245° at 15 kt'),
      fleet('from 245° at 14 kt', 'from 290° at 14 kt'),
      fleet('3000 ft MSL from', '4000 ft MSL from'),
      fleet('arrive      1000 ft', 'arrive      1400 ft'),
      fleet('altimeter   150 ft', 'altimeter   450 ft'),
      fleet('performance 70 %', 'performance 80 %'),
      fleet('1018 hPa', '990 hPa'),
      fleet('24 °C', '4 °C'),
      fleet('empty mass   225 kg', 'empty mass   205 kg'),
      fleet('vne          115 kt', 'vne          85 kt'),
      { spots: near },
    ]);
  });

  test('whichever they are', () => {
    const spot = fc.record({
      name: fc.constantFrom('Ash', 'Birch', 'Cedar', 'Dogwood', 'Elm', 'Fir'),
      along: fc.integer({ min: -5, max: 33 }).map((km) => km * 1000),
      right: fc.integer({ min: -40, max: 40 }).map((km) => km * 500),
      elevation: fc.constantFrom(100, 150, 300, 900),
    });
    const spots = fc.uniqueArray(spot, { maxLength: 5, selector: ({ name }) => name });
    const start = fc.constantFrom(1300, 1800, 2600);
    fc.assert(
      fc.property(fc.array(spots, { minLength: 2, maxLength: 3 }), start, (each, startM) => {
        const lines = LINES.replace('1500', `${startM}`);
        // One field after another changes, as it is typed.
        const plans: Plan[] = [];
        for (const [i, list] of each.entries()) {
          const next = each[i + 1] ?? [];
          for (let k = 0; k <= list.length; k++)
            plans.push({ spots: uniqueBy([...next.slice(0, k), ...list.slice(k)]), lines });
        }
        inTurn(plans);
      }),
      { numRuns: 10 },
    );
  });
  const uniqueBy = (list: readonly Spot[]) =>
    list.filter((one, i) => list.findIndex(({ name }) => name === one.name) === i);
});
