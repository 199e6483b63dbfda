/** Fields in reach in a plan: what is kept, what counts as a field, the JSON and hover. */
import fc from 'fast-check';
import geodesy from 'geographiclib-geodesic';
import { describe, expect, test } from 'vitest';
import { hover } from '../../server/features/hover.ts';
import { glideTo, type Position } from '../../server/flight/index.ts';
import {
  altitudeAt,
  askedBy,
  type FieldAsked,
  fieldsInReachAt,
  finishInReachFrom,
  flownTo,
  homeInReachAt,
  homeOf,
  isBeyond,
  isFlown,
  pathOf,
  placesOf,
  reachMayDiffer,
  reachSetting,
  sphereM,
  stretchesWithoutField,
  timeAt,
  worstPointOf,
} from '../../server/plan/reach.ts';
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, type SourceFile, setFile, type Workspace } from '../../server/plan/workspace.ts';
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

test('how far a leg is flown: to its end, to where it meets the height of that, or to where it makes no headway', () => {
  const [own, low, slow, none] = [
    TEXT,
    TEXT.replace('5200 ft', '1500 ft'),
    TEXT.replace('weather  Breezy', 'weather  Gale').concat(
      '\nweather Gale\n  qnh 1013 hPa\n  wind 1500 ft MSL from 120° at 150 kt\n  wind 4500 ft MSL from 120° at 10 kt\n',
    ),
    TEXT.replace('turn     Barrow', 'turn     Nowhere'),
  ].map((text) => taskOf(workspaceOf('# none\n', text)).legs[0] as LegEvaluation);
  expect(own?.result?.problem).toBeNull();
  expect(flownTo(own as LegEvaluation)).toBe(own?.result?.distanceM);
  const short = low?.result?.problem === null ? low.result.reachesGroundAfterM : null;
  expect(short).toBeGreaterThan(1000);
  expect(flownTo(low as LegEvaluation)).toBe(short);
  expect(slow?.result?.problem).toBe('no-headway');
  expect(flownTo(slow as LegEvaluation)).toBe(pathOf(slow as LegEvaluation).at(-1)?.xM);
  expect(flownTo(slow as LegEvaluation)).toBeGreaterThan(1000);
  expect(flownTo(none as LegEvaluation)).toBeUndefined();
});

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

  test('the altitude of a path, behind a climb at its place, and the time gliding', () => {
    const points = [
      [0, 1000, 5],
      [10, 900, 8],
      [10, 950, 8],
      [20, 850, 12],
    ].map(([xM = 0, altitudeM = 0, timeS = 0]) => ({ xM, altitudeM, timeS }));
    expect([-1, 0, 5, 10, 15, 20, 30].map((x) => timeAt(points, x))).toStrictEqual([5, 5, 6.5, 8, 10, 12, 12]);
    expect(timeAt([], 5)).toBeUndefined();
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

const fieldText = (name: string, lat: number, lon: number, elevationM: number, more = '') =>
  `field ${name} at ${lat.toFixed(4)} N ${lon.toFixed(4)} E\n  elevation ${elevationM} m\n${more}\n`;

/** What is told of the fields in reach of a task; of each field what is written of it, which has to be in view now. */
function toldOf(task: TaskEvaluation) {
  const inView = new Set(task.surroundings.fields.flatMap(({ all }) => all.map(({ meaning }) => meaning)));
  const field = ({ meaning, at, position, askedAltitudeM }: FieldAsked) => ({
    name: meaning.name,
    isInView: inView.has(meaning),
    isItsPlace: at.entry === meaning.entry,
    uri: at.uri,
    position,
    askedAltitudeM,
    elevationM: meaning.elevationM,
    frequencies: meaning.frequencies,
  });
  const withField = <T extends { readonly field: FieldAsked }>(one: T) => ({ ...one, field: field(one.field) });
  return task.legs.map((leg) => {
    const worst = worstPointOf(leg, task);
    return {
      stretches: stretchesWithoutField(leg, task)?.map((one) => ({
        ...one,
        worst: { ...one.worst, least: one.worst.least && withField(one.worst.least) },
      })),
      worst: worst && { ...worst, least: worst.least && withField(worst.least), inReach: worst.inReach.map(withField) },
      inReach: fieldsInReachAt(leg, task, 5000)?.map(withField),
      finish: finishInReachFrom(leg, task),
      climbs: leg.climbs.map((climb) => homeInReachAt(climb, leg, task)),
    };
  });
}

/** A change of the file of strips: what is carried on is what an analysis afresh gives. */
function expectAsAfresh(workspace: Workspace, strips: string): TaskEvaluation {
  setFile(workspace, `${ROOT}/strips.taskplan`, strips);
  const task = taskOf(workspace);
  const told = toldOf(task);
  expect(told).toEqual(toldOf(taskOf(workspaceOf(strips))));
  for (const leg of told)
    for (const { field } of [
      ...(leg.worst?.inReach ?? []),
      ...(leg.stretches ?? []).flatMap(({ worst }) => worst.least ?? []),
      ...(leg.worst?.least ? [leg.worst.least] : []),
    ])
      expect(field).toMatchObject({ isInView: true, isItsPlace: true });
  return task;
}

const FAR = fieldText('Outlying', 49.5, 22.5, 140);
const NEAR = fieldText('Strip', 47.115, 19.6, 135);
/** Asks the least of all, so that the lowest altitude asked stays the same. */
const LOW = fieldText('Fen', 49.6, 22.6, 50);
/** Beside the strip, and asks so much height that no look finds it. */
const HIGH = fieldText('Moor', 47.13, 19.56, 800);
/** So many beside it that the nearest of a place, six, are all close by. */
const CROWD = Array.from({ length: 6 }, (_, i) => fieldText(`Moor${i}`, 47.13 + i / 500, 19.57, 800 + i)).join('');

/** Out of reach from the end of the first leg, and nearer to it than any other. */
const WEIR = fieldText('Weir', 47.0, 19.78, 135);

describe('what is carried on after a change', () => {
  test.each([
    ['a field far away comes', '# none\n', `# none\n${FAR}`],
    ['a field far away goes', `# none\n${FAR}`, '# none\n'],
    ['a field far away asks more', FAR, FAR.replace('140 m', '150 m')],
    ['a field far away comes close', FAR, FAR.replace('49.5000 N 22.5000', '47.1150 N 19.6000')],
    ['a field close by goes far away', NEAR, NEAR.replace('47.1150 N 19.6000', '49.5000 N 22.5000')],
    ['a field far away changes and one close by comes', FAR, `${FAR.replace('140 m', '150 m')}${NEAR}`],
    ['one close by comes before one far away', FAR, `${NEAR}${FAR}`],
    ['a field close by comes', '# none\n', NEAR],
    ['a field close by goes', NEAR, '# none\n'],
    ['a field close by goes among others', `${FAR}${NEAR}${HIGH}`, `${FAR}${HIGH}`],
    ['a field that no look would find comes', NEAR, `${NEAR}${HIGH}`],
    ['a field that no look found goes', `${NEAR}${HIGH}`, NEAR],
    ['a field that no look found comes down', `${NEAR}${HIGH}`, `${NEAR}${HIGH.replace('800 m', '90 m')}`],
    ['a better one comes', NEAR, `${NEAR}${fieldText('Ford', 47.11, 19.61, 90)}`],
    ['the field found moves along its meridian', NEAR, NEAR.replace('47.1150', '47.1250')],
    ['the field found moves along its parallel', NEAR, NEAR.replace('19.6000', '19.6100')],
    ['the field found asks more by its elevation', NEAR, NEAR.replace('135 m', '140 m')],
    ['the field found asks more by its arrival height', NEAR, `${NEAR.trimEnd()}\n  arrive 1200 ft AGL\n`],
    ['the field found asks less by its arrival height', `${NEAR.trimEnd()}\n  arrive 1200 ft AGL\n`, NEAR],
    ['the field found gets another name', NEAR, NEAR.replace('Strip', 'Ford')],
    ['the field found gets a frequency', NEAR, `${NEAR.trimEnd()}\n  frequency 118.500 MHz\n`],
    [
      'one in reach that needs more than another gets a frequency',
      `${NEAR}${fieldText('Ford', 47.12, 19.62, 160)}`,
      `${NEAR}${fieldText('Ford', 47.12, 19.62, 160).trimEnd()}\n  frequency 118.500 MHz\n`,
    ],
    ['the field found is no field any more', NEAR, NEAR.replace('field', 'turnpoint')],
    ['two change at one place', `${NEAR}${HIGH}`, `${NEAR.replace('Strip', 'Ford')}${HIGH.replace('800', '700')}`],
    ['a field that is missed gets a frequency', WEIR, `${WEIR.trimEnd()}\n  frequency 118.500 MHz\n`],
    ['a mast comes', NEAR, `${NEAR}obstacle Mast at 47.1100 N 19.6000 E\n  top 900 ft MSL\n`],
    ['a turnpoint comes', NEAR, `${NEAR}turnpoint Weir at 47.1100 N 19.6000 E\n  elevation 130 m\n`],
  ])('%s', (_, before, after) => {
    for (const others of ['', `${LOW}${CROWD}`]) {
      const workspace = workspaceOf(`${others}${before}`);
      toldOf(taskOf(workspace));
      expectAsAfresh(workspace, `${others}${after}`);
      expectAsAfresh(workspace, `${others}${before}`);
    }
  });

  test('one change after the other, without a look between', () => {
    const workspace = workspaceOf(NEAR);
    toldOf(taskOf(workspace));
    for (const strips of [`${NEAR}${FAR}`, `${NEAR}${FAR}${HIGH}`, `${NEAR.replace('Strip', 'Ford')}${HIGH}`])
      setFile(workspace, `${ROOT}/strips.taskplan`, strips);
    expectAsAfresh(workspace, `${NEAR.replace('135', '150')}${HIGH}`);
  });

  const kept = (before: string, after: string) => {
    const workspace = workspaceOf(`${LOW}${before}`);
    const first = taskOf(workspace);
    const [stretches, worst] = [stretchesOf(first), first.legs.map((leg) => worstPointOf(leg, first))];
    setFile(workspace, `${ROOT}/strips.taskplan`, `${LOW}${after}`);
    const task = taskOf(workspace);
    expect(task.surroundings.fields).not.toBe(first.surroundings.fields);
    return {
      mayDiffer: reachMayDiffer(task),
      stretches: stretchesOf(task).map((one, i) => one === stretches[i]),
      worst: task.legs.map((leg, i) => worstPointOf(leg, task) === worst[i]),
    };
  };

  test('a field beyond the circle of a leg leaves all of it as it was', () => {
    const all = { stretches: [true, true], worst: [true, true] };
    const near = `${NEAR}${CROWD}`;
    expect(kept(near, `${near}${FAR}`)).toEqual({ mayDiffer: false, ...all });
    expect(kept(`${near}${FAR}`, near)).toEqual({ mayDiffer: false, ...all });
    expect(kept(`${near}${FAR}`, `${near}${FAR.replace('140 m', '150 m')}`)).toEqual({ mayDiffer: false, ...all });
    // Nor among so few that it is one of the nearest six.
    expect(kept(NEAR, `${NEAR}${FAR}`)).toEqual({ mayDiffer: false, ...all });
    // A stretch without a field is told with the fields that cannot be counted: it may differ.
    expect(kept(CROWD, `${CROWD}${FAR}`)).toEqual({ mayDiffer: true, ...all });
  });

  test('a field that no look finds leaves the stretches as they were', () => {
    const stretches = [true, true];
    expect(kept(NEAR, `${NEAR}${HIGH}`)).toMatchObject({ mayDiffer: false, stretches });
    expect(kept(`${NEAR}${HIGH}`, NEAR)).toMatchObject({ mayDiffer: false, stretches });
    expect(kept(`${NEAR}${HIGH}`, `${NEAR}${HIGH.replace('800 m', '810 m')}`)).toMatchObject({
      mayDiffer: false,
      stretches,
    });
  });

  test('nor does one that lies at the latitude or the longitude of one found', () => {
    for (const moor of [fieldText('Moor', 47.115, 19.55, 800), fieldText('Moor', 47.13, 19.6, 800)])
      expect(kept(`${NEAR}${moor}`, NEAR)).toMatchObject({ mayDiffer: false, stretches: [true, true] });
  });

  test('a mast that changes with a field far away is nothing to land on', () => {
    const mast = (ft: number) => `obstacle Mast at 47.1100 N 19.6000 E\n  top ${ft} ft MSL\n\n`;
    expect(kept(`${NEAR}${mast(900)}`, `${NEAR}${FAR}${mast(910)}`)).toMatchObject({
      mayDiffer: false,
      stretches: [true, true],
    });
    expect(kept(`${NEAR}${mast(900)}`, `${NEAR}${FAR}`)).toMatchObject({ mayDiffer: false, stretches: [true, true] });
  });

  test('whether one far away is among the nearest six of a place or not', () => {
    const farthest = fieldText('Farther', 49.9, 22.9, 140);
    const crowd = (many: number) =>
      Array.from({ length: many }, (_, i) => fieldText(`Moor${i}`, 47.13 + i / 500, 19.57, 800 + i)).join('');
    // With the two of the club, the lowest and the strip: five and six.
    for (const many of [1, 2])
      expect(kept(`${NEAR}${crowd(many)}`, `${NEAR}${crowd(many)}${farthest}`).worst).toEqual([true, true]);
  });

  test('a field that is missed by less than the one told before, far above the leg', () => {
    const text = TEXT.replace('5200', '3000');
    const among = (strips: string) => {
      const workspace = workspaceOf(strips, text);
      return { workspace, task: taskOf(workspace) };
    };
    const { workspace, task } = among(LOW);
    const missed = (of: TaskEvaluation) => stretchesOf(of)[0]?.at(-1)?.worst.least;
    expect(missed(task)?.field.meaning.name).toBe('Ashmoor');
    const weir = WEIR.replace('135', '280');
    setFile(workspace, `${ROOT}/strips.taskplan`, `${LOW}${weir}`);
    const after = missed(taskOf(workspace));
    // More than the start, 3,000 ft, and 300 m: no look along the leg finds it.
    expect(after?.requiredM).toBeGreaterThan(3000 * 0.3048 + 300);
    expect(after?.field.meaning.name).toBe('Weir');
    expect(after?.requiredM).toBe(missed(among(`${LOW}${weir}`).task)?.requiredM);
  });

  test('a nearer one of fields that are all too far for a glide from the height of the leg', () => {
    const moor = (i: number) => fieldText(`Moor${i}`, 50 + i / 10, 19.5, 150);
    const many = Array.from({ length: 7 }, (_, i) => moor(i)).join('');
    const text = (strips: string) =>
      planText({}).replace('field Westing', 'turnpoint Westing').replace('task Out', `${strips}\ntask Out`);
    const workspace = createWorkspace([ROOT]);
    const least = (strips: string, among = createWorkspace([ROOT])) => {
      setFile(among, PLAN, text(strips));
      const task = taskOf(among);
      return worstPointOf(legOf(task), task)?.least?.field.meaning.name;
    };
    expect(least(many, workspace)).toBe('Moor0');
    const ford = fieldText('Ford', 49, 19.5, 150);
    expect(least(`${many}${ford}`)).toBe('Ford');
    expect(least(`${many}${ford}`, workspace)).toBe('Ford');
  });

  test('surroundings that nobody looked at have nothing to carry on', () => {
    const workspace = workspaceOf(NEAR);
    taskOf(workspace);
    setFile(workspace, `${ROOT}/strips.taskplan`, `${NEAR}${FAR}`);
    expect(taskOf(workspace).surroundings.change).toBeDefined();
    expect(reachMayDiffer(taskOf(workspace))).toBe(true);
  });

  test('what was asked for among the fields of now already is not what was told among those before', () => {
    const ford = fieldText('Ford', 47.14, 19.55, 90);
    // One that looks would find, so that it was made anew, and one that none would: carried on.
    for (const [strips, isAnother] of [
      [`${NEAR}${ford}`, true],
      [`${NEAR}${HIGH}`, false],
    ] as const) {
      const workspace = workspaceOf(`${LOW}${NEAR}`);
      expect(stretchesOf(taskOf(workspace))).toEqual([[], []]);
      setFile(workspace, `${ROOT}/strips.taskplan`, `${LOW}${strips}`);
      const task = taskOf(workspace);
      expect(stretchesOf(task)).toEqual([[], []]);
      expect(reachMayDiffer(task)).toBe(isAnother);
    }
    // Nor is it where nobody looked before.
    const workspace = workspaceOf(NEAR);
    taskOf(workspace);
    setFile(workspace, `${ROOT}/strips.taskplan`, `${NEAR}${FAR}`);
    expect(stretchesOf(taskOf(workspace))).toEqual([[], []]);
    expect(reachMayDiffer(taskOf(workspace))).toBe(true);
  });

  test('where a mast alone changes, the fields are those before, with all that was told of them', () => {
    const mast = (ft: number) => `obstacle Mast at 47.1100 N 19.6000 E\n  top ${ft} ft MSL\n\n`;
    for (const [strips, isGap] of [
      [NEAR, false],
      [CROWD, true],
    ] as const) {
      const workspace = workspaceOf(`${strips}${mast(900)}`);
      const first = taskOf(workspace);
      const before = stretchesOf(first);
      expect(before.map((one) => one?.length)).toEqual([isGap ? 1 : 0, 0]);
      setFile(workspace, `${ROOT}/strips.taskplan`, `${strips}${mast(910)}`);
      const task = taskOf(workspace);
      expect(task.surroundings.fields).toBe(first.surroundings.fields);
      // A stretch without a field is told with the fields that cannot be counted: it may differ.
      expect(reachMayDiffer(task)).toBe(isGap);
      expect(stretchesOf(task).map((one, i) => one === before[i])).toEqual([true, true]);
    }
  });

  test('a field that a look finds, or found, has the leg looked at again', () => {
    // By one beside the way of the first leg alone, and one beside that of the second.
    for (const [ford, stretches] of [
      [fieldText('Ford', 47.14, 19.55, 90), [false, true]],
      [fieldText('Ford', 47.2, 19.66, 90), [true, false]],
    ] as const) {
      expect(kept(NEAR, `${NEAR}${ford}`)).toMatchObject({ mayDiffer: true, stretches });
      expect(kept(`${NEAR}${ford}`, NEAR)).toMatchObject({ mayDiffer: true, stretches });
    }
    for (const [was, now] of [
      ['135 m', '136 m'],
      ['47.1150', '47.1151'],
      ['19.6000', '19.6001'],
    ] as const)
      expect(kept(NEAR, NEAR.replace(was, now))).toMatchObject({ mayDiffer: true, stretches: [false, false] });
  });

  test('what is written of a field besides leaves what is told as it was', () => {
    const { mayDiffer } = kept(NEAR, `${NEAR.trimEnd()}\n  frequency 118.500 MHz\n`);
    expect(mayDiffer).toBe(false);
    expect(kept(NEAR, `${NEAR.trimEnd()}\n  arrive 400 ft AGL\n`).mayDiffer).toBe(true);
  });

  test('nothing is carried on to a task that was not looked at before, nor where much changes', () => {
    const workspace = workspaceOf(NEAR);
    expect(reachMayDiffer(taskOf(workspace))).toBe(true);
    const many = Array.from({ length: 20 }, (_, i) => fieldText(`F${i}`, 49.5 + i / 100, 22.5, 140)).join('');
    expect(kept(NEAR, `${NEAR}${many}`)).toEqual({ mayDiffer: true, stretches: [false, false], worst: [false, false] });
  });

  test('a leg that is not computed, or meets the ground, does not differ', () => {
    const text = TEXT.replace('5200', '2000').replace('finish   Ashmoor', 'finish   Nowhere');
    const workspace = workspaceOf(NEAR, text);
    const task = taskOf(workspace);
    expect(task.legs.map(({ input }) => input === undefined)).toEqual([false, true]);
    expect(reachMayDiffer(task)).toBe(false);
  });
});

describe('several plans among the same fields', () => {
  const STRIPS = `${ROOT}/strips.taskplan`;
  const BARROW = TEXT.slice(TEXT.indexOf('turnpoint'), TEXT.indexOf('task Round'));
  const HIGHER = TEXT.replace(BARROW, '').replace('5200', '5400');
  const PLANS = [TEXT.replace(BARROW, ''), TEXT.replace(BARROW, '').replace('Round', 'Again'), HIGHER];
  const uriOf = (plan: number) => `${ROOT}/plan-${plan}.taskplan`;
  const among = (strips: string) => {
    const workspace = workspaceOf(strips);
    setFile(workspace, `${ROOT}/club.taskplan`, `${EXAMPLE_CLUB}\n${BARROW}`);
    for (const [i, text] of PLANS.entries()) setFile(workspace, uriOf(i), text);
    return workspace;
  };
  const understoodIn = (workspace: Workspace, plan: number) =>
    understand(workspace, workspace.files.get(uriOf(plan)) as SourceFile);
  const taskIn = (workspace: Workspace, plan: number) => understoodIn(workspace, plan).tasks[0] as TaskEvaluation;
  const findingsOf = (workspace: Workspace, plan: number) =>
    check(workspace, understoodIn(workspace, plan)).map(({ code, message, related }) => ({
      code,
      message,
      related: related.map((one) => one.message),
    }));
  /** In reach where the first leg has no other, and beyond its end: of what stands beside a leg it changes nothing. */
  const BEHIND = fieldText('Holm', 47.08, 19.66, 135);

  test('one that was not looked at for a while is told of the field that came, whatever was carried on for another', () => {
    const workspace = among(LOW);
    const codes = (plan: number) => findingsOf(workspace, plan).map(({ code }) => code);
    expect([codes(0), codes(1)]).toEqual([['no-field-in-glide'], ['no-field-in-glide']]);
    // A field closes the gap, then one far away comes: the first plan is looked at each time, the second at the end.
    setFile(workspace, STRIPS, `${LOW}${BEHIND}`);
    expect(codes(0)).toEqual([]);
    setFile(workspace, STRIPS, `${LOW}${BEHIND}${FAR}`);
    expect(codes(0)).toEqual([]);
    const [one, other] = [0, 1].map((plan) => taskIn(workspace, plan)) as [TaskEvaluation, TaskEvaluation];
    // They are flown among the same fields, which came from others.
    expect(other.surroundings.fields).toBe(one.surroundings.fields);
    expect(other.surroundings.change?.before).not.toBe(one.surroundings.change?.before);
    expect([reachMayDiffer(one), reachMayDiffer(other)]).toEqual([false, true]);
    expect(codes(1)).toEqual([]);
  });

  test('whatever changes, and whichever plan is looked at: as afresh, and what does not differ is what was told', () => {
    const entries = [
      [NEAR, NEAR.replace('135 m', '136 m'), NEAR.replace('field', 'turnpoint')],
      [BEHIND, BEHIND.replace('135 m', '900 m'), `${BEHIND.trimEnd()}\n  frequency 118.500 MHz\n\n`],
      [FAR, FAR.replace('140 m', '150 m'), FAR.replace('elevation 140 m', 'elevation 140')],
      [HIGH, HIGH.replace('800 m', '90 m')],
      ['obstacle Mast at 47.1100 N 19.6000 E\n  top 900 ft MSL\n\n'],
    ];
    const step = fc.record({
      which: fc.nat({ max: entries.length - 1 }),
      as: fc.integer({ min: -1, max: 2 }),
      plans: fc.subarray([0, 1, 2]),
      isAskedBefore: fc.boolean(),
    });
    const first = { which: 0, as: -1, plans: [0, 1, 2], isAskedBefore: false };
    const stretchesIn = (task: TaskEvaluation) =>
      stretchesOf(task).map((all) =>
        all?.map(({ fromM, toM, worst: { xM, altitudeM, least } }) => ({
          place: [fromM, toM, xM, altitudeM, least?.requiredM],
          field: least?.field.meaning.name,
        })),
      );
    fc.assert(
      fc.property(fc.array(step, { minLength: 3, maxLength: 8 }), (steps) => {
        const now = entries.map(() => -1);
        const text = () => [LOW, ...entries.map((each, i) => each[now[i] as number] ?? '')].join('');
        const workspace = among(text());
        const told = PLANS.map(() => new Map<object, unknown>());
        for (const { which, as, plans, isAskedBefore } of [first, ...steps]) {
          now[which] = as;
          setFile(workspace, STRIPS, text());
          const fresh = among(text());
          for (const plan of plans) {
            const task = taskIn(workspace, plan);
            if (isAskedBefore) stretchesOf(task);
            const differs = reachMayDiffer(task);
            const stretches = stretchesIn(task);
            expect(stretches).toEqual(stretchesIn(taskIn(fresh, plan)));
            const { self, change } = task.surroundings;
            const before = change && told[plan]?.get(change.before);
            if (before && !differs) expect(stretches).toEqual(before);
            told[plan]?.set(self, stretches);
            expect(findingsOf(workspace, plan)).toEqual(findingsOf(fresh, plan));
          }
        }
      }),
      { numRuns: 20 },
    );
  });
});

describe('several tasks among the same fields', () => {
  const breezy = EXAMPLE_CLUB.slice(EXAMPLE_CLUB.indexOf('weather Breezy'), EXAMPLE_CLUB.indexOf('reserve Training'));
  const head = [
    TEXT.slice(0, TEXT.indexOf('task Round')),
    breezy.replace('Breezy', 'Windy').replace('14 kt', '15 kt'),
    breezy.replace('Breezy', 'Turned').replace('245°', '250°'),
  ].join('\n');
  const reserves = Array.from(
    { length: 10 },
    (_, i) => `reserve R${i}\n  arrive ${800 + 40 * (i >> 1)} ft AGL\n  altimeter ${100 + 30 * (i % 2)} ft\n\n`,
  ).join('');
  const task = (name: string, ...edits: readonly (readonly [string, string])[]) => {
    // All at one speed, and climbs that go up.
    let text = TEXT.slice(TEXT.indexOf('task Round')).replace('Round', name);
    text = text.replace('Barrow', 'Barrow at 50 kt').replace('4000', '5000').replace('Ashmoor', 'Ashmoor at 50 kt');
    for (const [was, now] of edits) {
      expect(text).toContain(was);
      text = text.replace(was, now);
    }
    return text;
  };
  const alone = (text: string) => toldOf(taskOf(workspaceOf(NEAR, `${head}${reserves}${text}`)));

  test('winds that are written with the same digits', () => {
    const weather = (name: string, wind: string) =>
      `weather ${name}\n  date 2026-06-13\n  qnh 1018 hPa\n  temperature 24 °C at 190 m MSL\n  wind surface from ${wind}\n\n`;
    const winds = `${weather('One', '1° at 11 m/s')}${weather('Eleven', '11° at 1 m/s')}`;
    const tasks = [task('A', ['Breezy', 'One']), task('B', ['Breezy', 'Eleven'])];
    const [one, eleven] = understood(workspaceOf(NEAR, `${head}${winds}${tasks.join('\n')}`)).tasks;
    if (!one || !eleven) throw new Error('no tasks');
    const [first, second] = [one, eleven].map((of) => worstPointOf(of.legs[0] as LegEvaluation, of)?.least?.requiredM);
    const [alone1, alone2] = tasks.map((text) => {
      const of = taskOf(workspaceOf(NEAR, `${head}${winds}${text}`));
      return worstPointOf(of.legs[0] as LegEvaluation, of)?.least?.requiredM;
    });
    expect([first, second]).toEqual([alone1, alone2]);
    expect(first).not.toBe(second);
  });

  test('each has its own numbers, as it has alone', () => {
    const tasks = [
      task('Round'),
      ...Array.from({ length: 10 }, (_, i) => task(`T${i}`, ['  reserve  Training', `  reserve  R${i}`])),
      task('None', ['  reserve  Training\n', '']),
      task('Higher', ['5600 ft', '5700 ft']),
      task('Later', ['after 10 NM', 'after 6 NM']),
      task('OnTheWay', ['climb    to 5000 ft', 'climb    to 2700 ft']),
      task('Still', ['Breezy', 'Calm']),
      task('Windy', ['Breezy', 'Windy']),
      task('Turned', ['Breezy', 'Turned']),
      task('Light', ['82 kg', '70 kg']),
      task('Start', ['5200 ft', '5300 ft']),
    ];
    const workspace = workspaceOf(NEAR, `${head}${reserves}${tasks.join('\n')}`);
    const all = understood(workspace).tasks;
    expect(all).toHaveLength(tasks.length);
    const together = all.map(toldOf);
    expect(together).toEqual(tasks.map(alone));
    // Once more, from what is kept.
    expect(all.map(toldOf)).toEqual(together);
    expect(new Set(together.map((one) => JSON.stringify(one))).size).toBe(tasks.length);
  });
});

describe('the numbers beneath', () => {
  // A sphere of 6,371,009 m: a degree of a great circle is 6,371,009 π / 180 = 111,195.08 m.
  const DEGREE_M = (6_371_009 * Math.PI) / 180;

  test('distances on the sphere', () => {
    const at = (latDeg: number, lonDeg: number) => ({ latDeg, lonDeg });
    expect(sphereM(at(47, 19), at(47, 19))).toBe(0);
    expect(sphereM(at(47, 19), at(48, 19))).toBeCloseTo(DEGREE_M, 3);
    expect(sphereM(at(0, 19), at(0, 22))).toBeCloseTo(3 * DEGREE_M, 3);
    // Over the pole: 30° up and 30° down.
    expect(sphereM(at(60, 10), at(60, -170))).toBeCloseTo(60 * DEGREE_M, 3);
    // From the pole to 30° south.
    expect(sphereM(at(90, 10), at(-30, 77))).toBeCloseTo(120 * DEGREE_M, 3);
    expect(sphereM(at(40, 10), at(-40, -170))).toBeCloseTo(180 * DEGREE_M, 0);
    // The law of cosines: cos c = sin 40° sin 50° + cos 40° cos 50° cos 30° : another form of the same.
    const rad = Math.PI / 180;
    const cosine =
      Math.sin(40 * rad) * Math.sin(50 * rad) + Math.cos(40 * rad) * Math.cos(50 * rad) * Math.cos(30 * rad);
    expect(sphereM(at(40, 10), at(50, 40))).toBeCloseTo(6_371_009 * Math.acos(cosine), 2);
  });

  test('beyond a circle is what lies a little farther than 2 % and a metre outside', () => {
    const middle = { latDeg: 47, lonDeg: 19 };
    const at = (m: number) => ({ latDeg: 47 + m / DEGREE_M, lonDeg: 19 });
    // 10,000 m × 1.01 × 1.01 + 1 m = 10,202 m.
    expect(isBeyond(at(10_201.5), middle, 10_000)).toBe(false);
    expect(isBeyond(at(10_202.5), middle, 10_000)).toBe(true);
    expect(isBeyond(at(0), middle, Infinity)).toBe(false);
  });

  test('the places of what changed', () => {
    const [at] = taskOf(workspaceOf(NEAR)).surroundings.fields.flatMap(({ all }) => all);
    if (!at) throw new Error('no field');
    const { position } = at;
    const without = { ...at, meaning: { ...at.meaning, position: undefined } };
    expect(placesOf([])).toEqual([]);
    expect(placesOf([{ before: at, after: undefined }])).toEqual([position]);
    expect(placesOf([{ before: undefined, after: at }])).toEqual([position]);
    expect(placesOf([{ before: at, after: without }])).toEqual([position]);
    expect(placesOf([{ before: at, after: at }])).toEqual([position, position]);
  });

  test('the path of a leg is made once, and none of a leg without a result', () => {
    // From a height that no other test starts at, of which the path would be known.
    const text = TEXT.replace('5200', '5217').replace('finish   Ashmoor', 'finish   Nowhere');
    const [first, last] = taskOf(workspaceOf(NEAR, text)).legs;
    if (!first || !last) throw new Error('no leg');
    expect(pathOf(first)).toBe(pathOf(first));
    expect(pathOf(first)[0]).toMatchObject({ xM: 0, altitudeM: 5217 * 0.3048 });
    expect(pathOf(last)).toEqual([]);
  });

  test('the altitude that a field asks by the reserve of a task', () => {
    const task = taskOf(workspaceOf(`${NEAR.trimEnd()}\n  arrive 1200 ft AGL\n\n${FAR}`));
    const fields = task.surroundings.fields.flatMap(({ all }) => all.map(({ meaning }) => meaning));
    const one = (name: string) => fields.find((field) => field.name === name) as (typeof fields)[number];
    // 135 m + 1,200 ft + 150 ft; 140 m + 1,000 ft + 150 ft.
    expect(askedBy(one('Strip'), task)).toBeCloseTo(135 + 1350 * 0.3048, 9);
    expect(askedBy(one('Outlying'), task)).toBeCloseTo(140 + 1150 * 0.3048, 9);
    expect(askedBy({ ...one('Strip'), elevationM: undefined }, task)).toBeUndefined();
    // Without a reserve a field asks its own arrival height, and otherwise to be reached at all.
    expect(askedBy(one('Strip'), { ...task, reserve: undefined })).toBeCloseTo(135 + 1200 * 0.3048, 9);
    expect(askedBy(one('Outlying'), { ...task, reserve: undefined })).toBe(140);
    const bare = taskOf(workspaceOf(FAR, `${TEXT.replace('Training', 'Bare')}\nreserve Bare\n  turn 1500 ft AGL\n`));
    expect(bare.reserve?.meaning.arriveM).toBeUndefined();
    expect(askedBy(one('Outlying'), bare)).toBe(140);
  });
});

describe('legs and tasks of which nothing is told', () => {
  const legsOf = (text: string, strips = NEAR) => {
    const task = taskOf(workspaceOf(strips, text));
    return { task, legs: task.legs, last: task.legs.at(-1) as (typeof task.legs)[number] };
  };

  test('home is the field of the finish, and nothing else', () => {
    const home = (text: string) => homeOf(legsOf(text).task)?.meaning.name;
    expect(home(TEXT)).toBe('Ashmoor');
    expect(home(TEXT.replace('turn     Barrow', 'turn     Larkfield'))).toBe('Ashmoor');
    expect(home(TEXT.replace('finish   Ashmoor', 'finish   Barrow'))).toBeUndefined();
    expect(home(TEXT.replace('finish   Ashmoor', 'turn     Ashmoor'))).toBeUndefined();
    expect(homeOf({ ...legsOf(TEXT).task, legs: [] })).toBeUndefined();
  });

  test('a leg that meets the ground', () => {
    const { task, legs } = legsOf(TEXT.replace('5200', '2000'));
    const [leg] = legs;
    if (!leg) throw new Error('no leg');
    expect(stretchesWithoutField(leg, task)).toBeUndefined();
    expect(worstPointOf(leg, task)).toBeUndefined();
    expect(fieldsInReachAt(leg, task, 1000)).toBeUndefined();
    const last = legsOf(TEXT.replace('5600', '2000').replace('  climb    to 4000 ft MSL after 10 NM\n', ''));
    expect(last.last.result).toMatchObject({ problem: null, reachesGroundAfterM: expect.any(Number) });
    expect(finishInReachFrom(last.last, last.task)).toBeUndefined();
  });

  test('a leg that is not computed', () => {
    const { task, last } = legsOf(TEXT.replace('finish   Ashmoor', 'finish   Nowhere'));
    const [overhead] = last.climbs;
    if (!overhead) throw new Error('no climb');
    expect(reachSetting(last)).toBeUndefined();
    expect(stretchesWithoutField(last, task)).toBeUndefined();
    expect(worstPointOf(last, task)).toBeUndefined();
    expect(fieldsInReachAt(last, task, 0)).toBeUndefined();
    expect(finishInReachFrom(last, task)).toBeUndefined();
    expect(homeInReachAt(overhead, last, task)).toBeUndefined();
  });

  test('the point of no choice lies on the last leg alone, on the way to a field', () => {
    const { task, legs } = legsOf(TEXT);
    expect(legs.map((leg) => finishInReachFrom(leg, task))).toEqual([undefined, expect.any(Number)]);
    const other = legsOf(
      TEXT.replace('finish   Ashmoor', 'finish   Barrow').replace('turn     Barrow', 'turn     Ashmoor'),
    );
    expect(other.legs.map((leg) => finishInReachFrom(leg, other.task))).toEqual([undefined, undefined]);
    const [climb] = other.last.climbs;
    expect(climb && homeInReachAt(climb, other.last, other.task)).toBeUndefined();
  });

  test('a climb beyond the end of its leg says nothing of home', () => {
    const { task, last } = legsOf(TEXT.replace('after 10 NM', 'after 40 NM'));
    expect(last.climbs.map(({ beyondLeg }) => beyondLeg)).toEqual([false, true]);
    expect(last.climbs.map((climb) => homeInReachAt(climb, last, task))).toEqual([expect.any(Number), undefined]);
  });

  test('home of which the height is not known', () => {
    const text = TEXT.replace('  turn     Barrow', '  climb    to 5600 ft MSL\n  turn     Barrow').replace(
      'Ashmoor',
      'Bare',
    );
    const { task, legs } = legsOf(text, 'field Bare at 47.3000 N 19.7000 E\n');
    const [leg] = legs;
    const [climb] = leg?.climbs ?? [];
    expect(homeOf(task)?.meaning.name).toBe('Bare');
    if (!leg || !climb) throw new Error('no climb');
    expect(reachSetting(leg)).toBeDefined();
    expect(homeInReachAt(climb, leg, task)).toBeUndefined();
  });

  test('home from no height, into a wind that is faster than the glider may fly', () => {
    const gale =
      '\nweather Gale\n  date 2026-06-13\n  qnh 1018 hPa\n  temperature 24 °C at 190 m MSL\n  wind surface from 45° at 160 kt\n';
    const text = TEXT.replace('  turn     Barrow', '  climb    to 5600 ft MSL\n  turn     Barrow').replace(
      'Breezy',
      'Gale',
    );
    const { task, legs } = legsOf(`${text}${gale}`);
    const [leg] = legs;
    const [climb] = leg?.climbs ?? [];
    if (!leg || !climb) throw new Error('no climb');
    expect(homeInReachAt(climb, leg, task)).toBeNull();
  });

  test('a field that asks much hides no other', () => {
    const names = (strips: string) => {
      const { task, legs } = legsOf(TEXT, strips);
      const [leg] = legs;
      return leg && fieldsInReachAt(leg, task, 5000)?.map(({ field }) => field.meaning.name);
    };
    expect(names(NEAR)).toEqual(['Larkfield', 'Strip', 'Ashmoor']);
    expect(names(`${NEAR}${fieldText('Summit', 47.1, 19.5, 1900)}`)).toEqual(['Larkfield', 'Strip', 'Ashmoor']);
  });

  test('a task without a reserve, or with one that asks no arrival height', () => {
    for (const text of [
      TEXT.replace('  reserve  Training\n', ''),
      `${TEXT.replace('Training', 'Bare')}\nreserve Bare\n  turn 100 ft AGL\n`,
    ]) {
      const { task, legs, last } = legsOf(text);
      expect(finishInReachFrom(last, task)).toBe(0);
      expect(stretchesWithoutField(last, task)).toEqual([]);
      const asked = legs.map((leg) => fieldsInReachAt(leg, task, 5000)?.map(({ field }) => field.askedAltitudeM));
      for (const list of asked) expect([...(list ?? [])].sort()).toEqual([135, 160, 190]);
    }
  });
});

describe('a leg that arrives with exactly what is asked', () => {
  /** The last leg with the least height that arrives so, to a thousandth of a millimetre: found from what it spares. */
  function atTheEdge(linesAt: (heightM: string) => string) {
    let heightM = 2000;
    for (let i = 0; i < 12; i++) {
      const task = taskOf(workspaceOf(FAR, TEXT.slice(0, TEXT.indexOf('  start ')) + linesAt(heightM.toFixed(9))));
      const leg = task.legs.at(-1);
      if (!leg?.result || leg.result.problem) throw new Error('not flown');
      const { marginM } = leg.result;
      if (marginM >= 0 && marginM < 1e-6) return { task, leg };
      heightM -= marginM - 5e-7;
    }
    throw new Error('no such height');
  }
  const stretchesIn = ({ task, leg }: ReturnType<typeof atTheEdge>) =>
    stretchesWithoutField(leg, task)?.map(({ fromM, toM }) => [fromM, toM]);

  test('has that field in reach from its start', () => {
    const edge = atTheEdge((height) => `  start Barrow at ${height} m MSL\n  finish Ashmoor\n`);
    expect(stretchesIn(edge)).toEqual([]);
    expect(finishInReachFrom(edge.leg, edge.task)).toBe(0);
  });

  test('has it from a climb overhead', () => {
    const edge = atTheEdge((height) => `  start Barrow at 600 m MSL\n  climb to ${height} m MSL\n  finish Ashmoor\n`);
    expect(stretchesIn(edge)).toEqual([]);
  });

  test('has it from a climb on the way, and none before that', () => {
    const edge = atTheEdge(
      (height) => `  start Barrow at 1000 m MSL\n  climb to ${height} m MSL after 10 km\n  finish Ashmoor\n`,
    );
    expect(stretchesIn(edge)).toEqual([[0, 10_000]]);
    expect(finishInReachFrom(edge.leg, edge.task)).toBe(10_000);
  });
});

describe('a leg that is flown outside the limits of its glider', () => {
  const flown = (lines: string, fleet: string, wind: string) => {
    const calm = fleet.replace('from 270° at 0 kt', wind);
    const text = planText({ fleet: calm, lines, weather: 'Calm' });
    const workspace = createWorkspace([ROOT]);
    setFile(
      workspace,
      PLAN,
      text.replace('field Westing', 'turnpoint Westing').replace('turnpoint Easting', 'field Easting'),
    );
    const task = taskOf(workspace);
    const leg = legOf(task);
    return {
      arrives: leg.result?.problem === null && leg.result.marginM > 0,
      stretches: stretchesWithoutField(leg, task)?.map(({ fromM, toM }) => [Math.round(fromM), Math.round(toM)]),
      finish: finishInReachFrom(leg, task),
    };
  };

  test('faster than vne says nothing of a field in reach', () => {
    // Against 65 kt nothing comes forward at 60 kt.
    const fleet = FLEET.replace('115 kt', '60 kt').replace(/ {2}(va|vno) .*\n/g, '');
    const lines = '  start Westing at 8000 m MSL\n  finish Easting at 90 kt\n';
    expect(flown(lines, fleet, 'from 53° at 65 kt')).toStrictEqual({
      arrives: true,
      stretches: [[0, Math.round(LENGTH_M)]],
      finish: null,
    });
  });

  test('slower than vs says nothing of a field in reach', () => {
    // With 60 kt from behind 40 kt are flatter than 42 kt, by 2 m.
    const fleet = FLEET.replace('34 kt', '42 kt');
    const at = (speed: number, startM: number) =>
      flown(`  start Westing at ${startM} m MSL\n  finish Easting at ${speed} kt\n`, fleet, 'from 233° at 60 kt');
    const slow = at(40, 1042);
    expect([slow.arrives, at(42, 1042).arrives]).toStrictEqual([true, false]);
    expect(slow.finish).toBeGreaterThan(1000);
    expect(slow.stretches).toStrictEqual([[0, Math.round(slow.finish ?? 0)]]);
    expect(at(42, 1045)).toStrictEqual({ arrives: true, stretches: [], finish: 0 });
  });
});

test('a field below the level of the sea is in reach as any other', () => {
  const fen = { name: 'Fen', along: LENGTH_M, right: 0, elevation: -150 };
  const text = planText({ spots: [fen], weather: 'Calm', lines: '  start Westing at 760 m MSL\n  finish Norting\n' })
    .replace('field Westing', 'turnpoint Westing')
    .replace('  reserve Training\n', '');
  const workspace = createWorkspace([ROOT]);
  setFile(workspace, PLAN, `${text}\nturnpoint Norting at 47.1010 N 19.2000 E\n  elevation 200 m\n`);
  const task = taskOf(workspace);
  const [found, ...others] = fieldsInReachAt(legOf(task), task, 0) ?? [];
  expect([found?.field.meaning.name, others]).toStrictEqual(['Fen', []]);
  // Glided to the ground: 760 m down to -150 m.
  expect(found?.requiredM).toBeLessThan(760);
  expect(found?.requiredM).toBeGreaterThan(700);
});
