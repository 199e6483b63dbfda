/** The picture of a task: its numbers are those of the budget and of the plan, and its paths meet where they say. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import geodesy from 'geographiclib-geodesic';
import { describe, expect, test } from 'vitest';
import { decodeTile, glideBackward } from '../../server/flight/index.ts';
import { airspacesOf } from '../../server/plan/airspace.ts';
import { LEG_HEADS, legCells } from '../../server/plan/budget-rows.ts';
import { type Picture, type PictureLeg, pictureOf, reachAtPlace } from '../../server/plan/picture.ts';
import { pathOf, stretchesWithoutField, worstPointOf } from '../../server/plan/reach.ts';
import { show } from '../../server/plan/show.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { budgetJson } from '../../server/reports/budget-json.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { tileBytes } from '../flight/tiles.ts';

const FOLDER = path.join(import.meta.dirname, '../../samples');
const ROOT = 'file:///samples';

const { Geodesic } = geodesy;

function samples(): { workspace: Workspace; plans: { name: string; understood: Understood }[] } {
  const workspace = createWorkspace([ROOT]);
  const names = readdirSync(FOLDER, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.taskplan'))
    .map((name) => name.replaceAll('\\', '/'));
  for (const name of names) setFile(workspace, `${ROOT}/${name}`, readFileSync(path.join(FOLDER, name), 'utf8'));
  const plans = names.map((name) => {
    const file = workspace.files.get(`${ROOT}/${name}`);
    if (!file) throw new Error(name);
    return { name, understood: understand(workspace, file) };
  });
  return { workspace, plans: plans.filter(({ understood }) => understood.tasks.length > 0) };
}

const { workspace: all, plans } = samples();
const pictures = plans.flatMap(({ name, understood }) =>
  understood.tasks.map((task) => ({ name, understood, task, picture: pictureOf(all, understood, task) })),
);

const PLAN = 'file:///plans/plan.taskplan';

/** The first task of a plan that uses the example club, with more entries before it. */
function drawn(text: string, also: (workspace: Workspace) => void = () => {}) {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  const file = setFile(workspace, PLAN, `use "club.taskplan"\n\n${text}`);
  also(workspace);
  const understood = understand(workspace, file);
  const [task] = understood.tasks;
  if (!task) throw new Error('no task');
  return { workspace, understood, task, picture: pictureOf(workspace, understood, task) };
}

const HEAD = 'task Out\n  aircraft Finch with pilot 82 kg\n  weather Breezy\n  reserve Training\n';

/** Between the points of a path, linear. */
function at(points: PictureLeg['path'], xM: number): number {
  const before = points.findLast((point) => point.xM <= xM) ?? points[0];
  const behind = points.find((point) => point.xM > xM) ?? before;
  if (!before || !behind) return Number.NaN;
  const share = behind.xM > before.xM ? (xM - before.xM) / (behind.xM - before.xM) : 0;
  return before.altitudeM + share * (behind.altitudeM - before.altitudeM);
}

const legOf = (picture: Picture, number: number): PictureLeg => {
  const leg = picture.legs.find((one) => one.number === number);
  if (!leg) throw new Error(`no leg ${number}`);
  return leg;
};

describe('every sample', () => {
  test.each(pictures.map((one) => [`${one.name}: ${one.picture.task}`, one] as const))('%s', (_, one) => {
    const { task, picture, understood } = one;
    const report = JSON.parse(budgetJson([task], 'plan', [])) as {
      tasks: { legs: Record<string, unknown>[] }[];
      caution: string;
    };
    const legs = report.tasks[0]?.legs ?? [];
    expect(picture.legs).toHaveLength(legs.length);
    expect(picture.caution).toBe(report.caution);
    for (const [i, leg] of picture.legs.entries()) {
      const json = legs[i] as Record<string, unknown>;
      // The same keys hold the same numbers; a leg that is not computed still has its length and course on the ground.
      const computed = json['askedAltitudeM'] !== null;
      const keys = [
        'number',
        'from',
        'to',
        'variationDeg',
        'departAltitudeM',
        'departAssumed',
        'requiredDepartAltitudeM',
        'arriveAltitudeM',
        'arriveHeightM',
        'askedAltitudeM',
        'marginM',
        'timeS',
        'reachesGroundAfterM',
        'finishInReachAfterM',
        ...(computed ? ['distanceM', 'courseDeg'] : []),
      ] as const;
      for (const key of keys) expect([key, leg[key as keyof PictureLeg]]).toEqual([key, json[key]]);
      if (json['notComputed'] !== null) expect(leg.notComputed).toBe(json['notComputed']);
      expect(leg.notComputed === null).toBe(json['marginM'] !== null);
      expect(leg.stretchesWithoutField).toEqual(
        ((json['stretchesWithoutField'] ?? []) as { fromM: number; toM: number }[]).map(({ fromM, toM }) => ({
          fromM,
          toM,
        })),
      );
      expect(leg.cells).toHaveLength(LEG_HEADS.length);
      const evaluation = task.legs[i];
      if (evaluation) expect(leg.cells).toEqual(legCells(evaluation, show(understood.units)));

      // The paths meet at the margin.
      if (leg.marginM === null || leg.askedAltitudeM === null || leg.distanceM === null) continue;
      const end = leg.path.at(-1);
      expect(end?.xM).toBeCloseTo(leg.distanceM, 6);
      expect((end?.altitudeM ?? 0) - leg.askedAltitudeM).toBeCloseTo(leg.marginM, 1);
      const last = leg.required.at(-1);
      if (leg.requiredDepartAltitudeM === null) expect(leg.required).toEqual([]);
      else {
        expect(last).toEqual({ xM: leg.distanceM, altitudeM: leg.askedAltitudeM });
        expect(leg.required[0]?.altitudeM).toBe(leg.requiredDepartAltitudeM);
        // Arriving with less than is asked, the planned path lies below it all the way; with more, above it.
        const { marginM } = leg;
        for (const { xM, altitudeM } of leg.required)
          if (Math.abs(marginM) > 1) expect(Math.sign(at(leg.path, xM) - altitudeM)).toBe(Math.sign(marginM));
      }
    }
    // Text is what the editor shows at those lines.
    const lines = understood.file.syntax.text.split(/\r\n|\r|\n/);
    expect(lines[picture.lines.first]).toMatch(/^task\b/);
    for (const leg of picture.legs) {
      expect(lines[leg.lines.first]).toMatch(/^\s*(turn|fini?sh)\b/);
      for (const climb of leg.climbs) expect(lines[climb.lines.first]).toMatch(/^\s*(climb|soar)\b/);
    }
    const margins = picture.legs.flatMap(({ marginM }) => (marginM === null ? [] : [marginM]));
    expect(picture.least?.marginM ?? null).toBe(margins.length === 0 ? null : Math.min(...margins));
    // It goes over the wire as it is.
    expect(JSON.parse(JSON.stringify(picture))).toEqual(picture);
  });
});

describe('the height required along a leg', () => {
  test('is that of the glide flown backward from the end, at every point', () => {
    let looked = 0;
    for (const { task, picture } of pictures) {
      for (const [i, { required }] of picture.legs.entries()) {
        const { input, result } = task.legs[i] ?? {};
        if (!input || !result || required.length === 0) continue;
        for (const { xM, altitudeM } of required) {
          const back = glideBackward(input.setting, result.indicatedMps, xM, result.distanceM, result.askedAltitudeM);
          if (back.problem) throw new Error('no headway');
          // The flight model promises 0.1 m in 100 km.
          expect(Math.abs(back.altitudeM - altitudeM)).toBeLessThan(0.1);
          looked += 1;
        }
      }
    }
    expect(looked).toBeGreaterThan(500);
  });

  test('starts behind the last climb on the way', () => {
    const { picture } = drawn(
      `${HEAD}  start Larkfield at 5200 ft MSL\n  climb to 5600 ft MSL after 4 NM\n  finish Ashmoor\n`,
    );
    const leg = legOf(picture, 1);
    expect(leg.required[0]?.xM).toBeCloseTo(4 * 1852, 6);
    expect(leg.climbs).toHaveLength(1);
    expect(leg.path.filter(({ xM }) => Math.abs(xM - 4 * 1852) < 1e-6)).toHaveLength(2);
  });
});

describe('what lies around', () => {
  test('slices of airspace meet as the plan says, and their ends lie on the outline', () => {
    let entered = 0;
    for (const { task, picture } of pictures) {
      const { met } = airspacesOf(task);
      for (const one of met.filter(({ kind }) => kind === 'enters')) {
        const volume = picture.volumes.findIndex(({ name }) => name === one.airspace.meaning.name);
        expect(picture.volumes[volume]?.met).toBe('enters');
        const leg = legOf(picture, one.leg.number);
        const slices = leg.slices.filter((slice) => slice.volume === volume && slice.met === 'enters');
        expect(slices.length).toBeGreaterThan(0);
        entered += 1;
        const circle = picture.volumes[volume]?.circle;
        for (const { fromM, toM } of circle ? slices : [])
          for (const xM of [fromM, toM].filter((x) => x > 1 && x < (leg.distanceM ?? 0) - 1)) {
            const place = one.leg.input?.setting.track.positionAt(xM);
            if (!place || !circle) throw new Error('no place');
            // Source: geographiclib-geodesic, the distance on WGS84.
            const { s12 } = Geodesic.WGS84.Inverse(
              place.latDeg,
              place.lonDeg,
              circle.centre.latDeg,
              circle.centre.lonDeg,
            );
            expect(Math.abs((s12 ?? 0) - circle.radiusM)).toBeLessThan(2);
          }
      }
      for (const leg of picture.legs)
        for (const slice of leg.slices)
          if (slice.met === 'enters') {
            // The path, or a climb, lies between the limits somewhere in the slice.
            const low = slice.floor[0]?.altitudeM ?? -Infinity;
            const high = slice.ceiling[0]?.altitudeM ?? Infinity;
            const inside = [slice.fromM, (slice.fromM + slice.toM) / 2, slice.toM].map((xM) => at(leg.path, xM));
            const climbs = leg.climbs.flatMap(({ toAltitudeM }) => [toAltitudeM]);
            expect(Math.min(...inside, ...climbs)).toBeLessThan(high);
            expect(Math.max(...inside, ...climbs)).toBeGreaterThan(low);
          }
    }
    expect(entered).toBeGreaterThan(1);
  });

  test('every field in reach at the worst point is in the picture, and every one that is named', () => {
    for (const { task, picture } of pictures) {
      const names = new Set(picture.fields.map(({ name }) => name));
      for (const leg of task.legs) {
        for (const { field } of worstPointOf(leg, task)?.inReach ?? []) expect(names).toContain(field.meaning.name);
        for (const point of [leg.from, leg.to])
          if (point?.meaning.kind === 'field' && point.meaning.position) {
            expect(names).toContain(point.meaning.name);
            expect(picture.fields.find(({ name }) => name === point.meaning.name)?.named).toBe(true);
          }
      }
    }
  });

  test('of very many fields the nearest are kept, and the number left out is said', () => {
    const strips = Array.from(
      { length: 300 },
      (_, i) =>
        `field S${i} at ${(47.1 + (i % 20) * 0.005).toFixed(4)} N ${(19.4 + i * 0.001).toFixed(4)} E\n  elevation 3000 m\n`,
    ).join('\n');
    const { picture } = drawn(`${strips}\n${HEAD}  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`);
    expect(picture.fields.length).toBeLessThan(60);
    expect(picture.notDrawn.join(' ')).toMatch(/\d+ more fields near the track are not drawn/);
  });

  test('an obstacle passed too low is marked, one passed high is there', () => {
    const mast = (top: string) =>
      legOf(
        drawn(
          `obstacle Mast at 47.2600 N 19.5900 E\n  top ${top} MSL\n\n${HEAD}  start Larkfield at 4200 ft MSL\n  finish Ashmoor\n`,
        ).picture,
        1,
      ).solids.find(({ name }) => name === 'Mast');
    expect(mast('3600 ft')).toMatchObject({ kind: 'obstacle', tooLow: true });
    expect(mast('1100 ft')).toMatchObject({ kind: 'obstacle', tooLow: false });
  });

  test('the ground is never drawn lower than the highest post', () => {
    const text = `terrain "tiles"\n\n${HEAD}  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`;
    const post = (row: number, column: number) => 150 + ((row * 7 + column * 13) % 97);
    const { task, picture } = drawn(text, (workspace) => {
      const tile = decodeTile(tileBytes(1201, post), { latDeg: 47, lonDeg: 19 });
      if (tile) setTile(workspace, 'file:///plans/tiles/N47E019.hgt', tile);
    });
    expect(picture.groundKnown).toBe(true);
    const { ground } = legOf(picture, 1);
    expect(ground.length).toBeGreaterThan(50);
    expect(Math.max(...ground.map(({ highestM }) => highestM ?? 0))).toBeLessThanOrEqual(246);
    expect(ground.every(({ highestM }) => highestM !== null && highestM >= 150)).toBe(true);
    expect(task.legs[0]?.result?.problem).toBeNull();
  });

  test('without a tile the ground is not known, and never made up', () => {
    const { picture } = drawn(`terrain "tiles"\n\n${HEAD}  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`);
    expect(picture.groundKnown).toBe(false);
    expect(legOf(picture, 1).ground.every(({ highestM }) => highestM === null)).toBe(true);
  });
});

describe('the fields in reach from a place', () => {
  test('are none in a stretch without a field, and some elsewhere', () => {
    let inside = 0;
    for (const { task } of pictures)
      for (const leg of task.legs) {
        const stretches = stretchesWithoutField(leg, task);
        const length = leg.result?.distanceM ?? 0;
        if (!stretches) {
          expect(reachAtPlace(task, leg.number, length / 2)).toBeNull();
          continue;
        }
        for (let i = 0; i <= 8; i += 1) {
          const xM = (i * length) / 8;
          const reach = reachAtPlace(task, leg.number, xM);
          const within = stretches.some(({ fromM, toM }) => xM >= fromM + 5 && xM <= toM - 5);
          const outside = stretches.every(({ fromM, toM }) => xM < fromM - 5 || xM > toM + 5);
          if (within) {
            inside += 1;
            expect(reach?.fields).toEqual([]);
          }
          if (outside) expect(reach?.fields.length).toBeGreaterThan(0);
          expect(reach?.altitudeM).toBeCloseTo(at(pathOf(leg), xM), 6);
        }
      }
    expect(inside).toBeGreaterThan(3);
  });

  test('nothing for a place that is on no leg', () => {
    const { task } = drawn(`${HEAD}  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`);
    for (const [leg, xM] of [
      [0, 0],
      [2, 0],
      [1, -1],
      [1, 1e9],
      [1, Number.NaN],
    ] as const)
      expect(reachAtPlace(task, leg, xM)).toBeNull();
  });
});

describe('what is not computed', () => {
  const none = (picture: Picture) => picture.legs.map(({ notComputed }) => notComputed);

  test('says why, has no path, and keeps its place on the ground', () => {
    const { picture } = drawn(
      `turnpoint Mill at 47.2500 N 19.5200 E\n\n${HEAD}  start Larkfield at 5200 ft MSL\n  turn Mill\n  finish Ashmoor\n`,
    );
    expect(none(picture)[0]).toBe('Mill has no `elevation`');
    expect(none(picture)[1]).not.toBeNull();
    for (const leg of picture.legs) {
      expect(leg.path).toEqual([]);
      expect(leg.required).toEqual([]);
      expect(leg.distanceM).toBeGreaterThan(0);
      expect(leg.track.length).toBeGreaterThan(1);
    }
    expect(picture.least).toBeNull();
  });

  test('an unknown point has no length, and those behind it no distance flown', () => {
    const { picture } = drawn(`${HEAD}  start Larkfield at 5200 ft MSL\n  turn Nowhere\n  finish Ashmoor\n`);
    expect(picture.legs.map(({ distanceM }) => distanceM)).toEqual([null, null]);
    expect(picture.legs.map(({ startM }) => startM)).toEqual([0, null]);
    expect(picture.legs.every(({ track }) => track.length === 0)).toBe(true);
  });

  test('a task without legs, and one with nothing in it', () => {
    for (const text of ['task Empty\n', 'task\n', `${HEAD}  start Larkfield at 5200 ft MSL\n`]) {
      const { picture } = drawn(text);
      expect(picture.legs).toEqual([]);
      expect(picture.least).toBeNull();
    }
  });

  test('a leg that makes no headway says where', () => {
    const { picture } = drawn(
      `weather Gale\n  wind 6000 ft MSL from 070° at 90 kt\n\n${HEAD.replace('Breezy', 'Gale')}  start Larkfield at 5200 ft MSL\n  finish Ashmoor at 50 kt\n`,
    );
    const leg = legOf(picture, 1);
    expect(leg.notComputed).toContain('makes no headway');
    expect(leg.noHeadwayAfterM).not.toBeNull();
    expect(leg.marginM).toBeNull();
  });
});

describe('a keystroke', () => {
  test('above the task moves its lines and nothing else', () => {
    const text = `${HEAD}  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`;
    const before = drawn(text);
    const file = setFile(before.workspace, PLAN, `# one\n# two\nuse "club.taskplan"\n\n${text}`);
    const understood = understand(before.workspace, file);
    const [task] = understood.tasks as readonly [TaskEvaluation];
    const moved = pictureOf(before.workspace, understood, task);
    const leg = legOf(before.picture, 1);
    expect(legOf(moved, 1).lines).toEqual({ first: leg.lines.first + 2, last: leg.lines.last + 2 });
    expect(legOf(moved, 1).path).toBe(leg.path);
  });
});

/** Points on one meridian, a tenth of a degree apart; in still air the Finch comes down by about 500 m from one to the next. */
const MERIDIAN = `field Alder at 47.1000 N 19.5000 E
  elevation 200 m
  runway    09/27 800 m
  runway    18/36 600 m
  frequency 123.450 MHz
  frequency 118.105 MHz

turnpoint Birch at 47.2000 N 19.5000 E
  elevation 150 m
  radius    500 m

field Cedar at 47.4000 N 19.5000 E
  elevation 180 m
  arrive    1500 ft AGL
`;

/** The first task of a plan on the meridian, with nothing else in view than what is written. */
function onMeridian(text: string, also: (workspace: Workspace) => void = () => {}) {
  const workspace = createWorkspace(['file:///plans']);
  const club = EXAMPLE_CLUB.slice(EXAMPLE_CLUB.indexOf('aircraft Finch'));
  const file = setFile(workspace, PLAN, `${club}\n${MERIDIAN}\n${text}`);
  also(workspace);
  const understood = understand(workspace, file);
  const [task] = understood.tasks;
  if (!task) throw new Error('no task');
  return { workspace, understood, task, picture: pictureOf(workspace, understood, task) };
}

const STILL = 'task Out\n  aircraft Finch with pilot 82 kg\n  weather Calm\n  reserve Training\n';
const NORTH = `${STILL}  start Alder at 3000 m MSL\n  turn Birch\n  finish Cedar\n`;

/** Metres along the meridian from one latitude to another. Source: geographiclib-geodesic, WGS84. */
const north = (from: number, to: number): number => Geodesic.WGS84.Inverse(from, 19.5, to, 19.5).s12 ?? Number.NaN;

describe('the whole picture', () => {
  test('has the units, the start, the lines and the points of the task', () => {
    const { picture, understood } = onMeridian(`units\n  altitude m\n  distance km\n  climb m/s\n\n${NORTH}`);
    const lines = understood.file.syntax.text.split('\n');
    const task = lines.indexOf('task Out');
    expect(picture).toMatchObject({
      task: 'Out',
      uri: PLAN,
      lines: { first: task, last: task + 6 },
      aircraft: 'Finch',
      units: { altitude: 'm', distance: 'km', speed: 'kt', climb: 'm/s', mass: 'kg' },
      obstacles: [],
      volumes: [],
      notDrawn: [],
      wind: [{ altitudeM: 200, fromDeg: 270, speedMps: 0 }],
      groundKnown: false,
    });
    expect(picture.start).toStrictEqual({
      name: 'Alder',
      position: { latDeg: 47.1, lonDeg: 19.5 },
      elevationM: 200,
      altitudeM: 3000,
      lines: { first: task + 4, last: task + 4 },
    });
    expect(picture.legs.map(({ lines: at }) => at)).toStrictEqual([
      { first: task + 5, last: task + 5 },
      { first: task + 6, last: task + 6 },
    ]);
    // 1,000 ft over a field, 1,500 ft over Cedar by its own line, and 150 ft for the altimeter.
    expect(picture.fields).toStrictEqual([
      {
        name: 'Alder',
        position: { latDeg: 47.1, lonDeg: 19.5 },
        elevationM: 200,
        askedAltitudeM: 200 + 1000 * 0.3048 + 150 * 0.3048,
        runways: ['09/27', '18/36'],
        frequency: '123.450 MHz',
        named: true,
      },
      {
        name: 'Cedar',
        position: { latDeg: 47.4, lonDeg: 19.5 },
        elevationM: 180,
        askedAltitudeM: 180 + 1500 * 0.3048 + 150 * 0.3048,
        runways: [],
        frequency: null,
        named: true,
      },
    ]);
    expect(picture.turnpoints).toStrictEqual([
      { name: 'Birch', position: { latDeg: 47.2, lonDeg: 19.5 }, radiusM: 500, named: true },
    ]);
  });

  test('has the numbers of each leg', () => {
    const { picture, task } = onMeridian(NORTH.replace('finish Cedar', 'finish Cedar at 60 kt'));
    const [first, second] = picture.legs;
    const [one, other] = task.legs.map(({ result }) => result);
    if (!one || one.problem || !other || other.problem) throw new Error('not flown');
    expect(first).toMatchObject({
      number: 1,
      kind: 'turn',
      from: 'Alder',
      to: 'Birch',
      startM: 0,
      departAltitudeM: 3000,
      departAssumed: false,
      // 1,500 ft over a turnpoint and 150 ft for the altimeter.
      askedAltitudeM: 150 + 1650 * 0.3048,
      arriveAltitudeM: one.arriveAltitudeM,
      arriveHeightM: one.arriveAltitudeM - 150,
      indicatedMps: one.indicatedMps,
      timeS: one.timeS,
      destinationElevationM: 150,
      reachesGroundAfterM: null,
      noHeadwayAfterM: null,
      notComputed: null,
      climbs: [],
      ground: [],
      lowGround: null,
      slices: [],
      stretchesWithoutField: [],
      finishInReachAfterM: null,
    });
    expect(second).toMatchObject({
      number: 2,
      kind: 'finish',
      from: 'Birch',
      to: 'Cedar',
      startM: first?.distanceM,
      departAltitudeM: one.arriveAltitudeM,
      indicatedMps: (60 * 1852) / 3600,
      destinationElevationM: 180,
      finishInReachAfterM: 0,
    });
    expect(first?.distanceM).toBeCloseTo(north(47.1, 47.2), 3);
    expect(second?.distanceM).toBeCloseTo(north(47.2, 47.4), 3);
    for (const leg of picture.legs) expect(leg.courseDeg).toBeCloseTo(0, 9);
    expect(first?.marginM).toBeCloseTo(one.arriveAltitudeM - 150 - 1650 * 0.3048, 9);
    // Of the 23 km of the second leg a piece of 20 km is drawn by its ends, so it has one point more in its middle.
    expect(first?.track).toStrictEqual([
      { latDeg: 47.1, lonDeg: 19.5 },
      { latDeg: 47.2, lonDeg: 19.5 },
    ]);
    expect(second?.track).toHaveLength(3);
    expect(second?.track[1]?.latDeg).toBeCloseTo(47.3, 4);
    expect(picture.least).toStrictEqual({ leg: 2, marginM: second?.marginM });
  });

  test('counts the distance flown before each leg, up to one that is not known', () => {
    const { picture } = onMeridian(
      `${STILL}  start Alder at 3000 m MSL\n  turn Birch\n  turn Cedar\n  turn Birch\n  finish Alder\n`,
    );
    const [near, far] = [north(47.1, 47.2), north(47.2, 47.4)];
    const exact = [0, near, near + far, near + 2 * far];
    for (const [i, { startM }] of picture.legs.entries()) expect(startM).toBeCloseTo(exact[i] ?? Number.NaN, 3);
    const broken = onMeridian(
      `${STILL}  start Alder at 3000 m MSL\n  turn Birch\n  turn Nowhere\n  turn Cedar\n  turn Birch\n  finish Alder\n`,
    ).picture.legs;
    expect(broken.map(({ startM }) => startM === null)).toEqual([false, false, true, true, true]);
    expect(broken.map(({ distanceM }) => distanceM === null)).toEqual([false, true, true, false, false]);
    for (const { distanceM, ground, solids, slices, track } of broken)
      if (distanceM === null) expect([ground, solids, slices, track]).toEqual([[], [], [], []]);
    // Known or not, a leg between known points has its course.
    expect(broken.map(({ courseDeg }) => courseDeg)).toEqual([
      expect.closeTo(0, 6),
      null,
      null,
      expect.closeTo(180, 6),
      expect.closeTo(180, 6),
    ]);
    expect(broken.map(({ destinationElevationM }) => destinationElevationM)).toEqual([150, null, 180, 150, 200]);
  });

  test('of legs with the same margin tells the first as the least', () => {
    const { picture } = onMeridian(
      `${STILL}  start Alder at 2300 m MSL\n  turn Birch\n  climb to 2500 m MSL\n  turn Alder\n  climb to 2300 m MSL\n  turn Birch\n`,
    );
    expect(picture.legs[0]?.marginM).toBe(picture.legs[2]?.marginM);
    expect(picture.least).toStrictEqual({ leg: 1, marginM: picture.legs[0]?.marginM });
  });

  test('has a start where its place is known, and its heights where they are', () => {
    const start = (line: string) => onMeridian(`${STILL}${line}  finish Cedar\n`).picture.start;
    expect(start('')).toBeNull();
    expect(start('  start Nowhere at 3000 m MSL\n')).toBeNull();
    const with_ = (entry: string) =>
      onMeridian(`${entry}\n${STILL}  start Dale at 900 m AGL\n  finish Cedar\n`).picture;
    expect(with_('turnpoint Dale\n  elevation 100 m\n').start).toBeNull();
    expect(with_('turnpoint Dale at 47.1500 N 19.5000 E\n').start).toMatchObject({
      name: 'Dale',
      position: { latDeg: 47.15, lonDeg: 19.5 },
      elevationM: null,
      altitudeM: null,
    });
    expect(with_('turnpoint Dale at 47.1500 N 19.5000 E\n  elevation 100 m\n').start).toMatchObject({
      elevationM: 100,
      altitudeM: 1000,
    });
  });

  test('of a task that is no more in its file has no lines', () => {
    const { workspace, understood, task } = onMeridian(NORTH);
    setFile(workspace, PLAN, MERIDIAN);
    const gone = pictureOf(workspace, understood, task);
    expect(gone.lines).toStrictEqual({ first: 0, last: 0 });
    expect(gone.legs.map(({ lines }) => lines)).toStrictEqual([
      { first: 0, last: 0 },
      { first: 0, last: 0 },
    ]);
  });

  test('is written anew when the reader chooses other units', () => {
    const { workspace, task, picture } = onMeridian(NORTH);
    expect(legOf(picture, 1).cells).toContain('6.0 NM');
    const text = workspace.files.get(PLAN)?.syntax.text ?? '';
    const understood = understand(workspace, setFile(workspace, PLAN, `units\n  distance km\n\n${text}`));
    const [now] = understood.tasks;
    expect(now).toBe(task);
    // 11.12 km.
    expect(legOf(pictureOf(workspace, understood, task), 1).cells).toContain('11.1 km');
  });
});

describe('the climbs of a leg', () => {
  test('are those that are flown: overhead its start, and on its way', () => {
    const { picture, understood } = onMeridian(`${STILL}  start Alder at 3000 m MSL
  climb to 3200 m MSL
  climb to 3250 m MSL after 4 km
  climb to 1000 m MSL after 5 km
  climb to 4000 m MSL after 40 km
  turn Birch
  climb to 500 m MSL
  finish Cedar
`);
    const line = understood.file.syntax.text.split('\n').indexOf('  climb to 3200 m MSL');
    const [first, second] = picture.legs;
    expect(second?.climbs).toEqual([]);
    expect(first?.climbs).toStrictEqual([
      { xM: 0, fromAltitudeM: 3000, toAltitudeM: 3200, soared: false, lines: { first: line, last: line } },
      {
        xM: 4000,
        fromAltitudeM: expect.any(Number),
        toAltitudeM: 3250,
        soared: false,
        lines: { first: line + 1, last: line + 1 },
      },
    ]);
    const before = first?.path.find(({ xM }) => xM === 4000)?.altitudeM;
    expect(first?.climbs[1]?.fromAltitudeM).toBeCloseTo(before ?? Number.NaN, 6);
    // Behind the climb after 4 km; those that go down, or lie beyond the leg, do not count.
    expect(first?.required[0]?.xM).toBe(4000);
  });

  test('that soaring makes have the line that soars', () => {
    const { picture, understood } = onMeridian(
      `${STILL}  start Alder at 1500 m MSL\n  climb to 1600 m MSL\n  soar between 1200 m MSL and 1600 m MSL\n  turn Birch\n  finish Cedar\n`,
    );
    const line = understood.file.syntax.text.split('\n').findIndex((one) => one.startsWith('  soar'));
    const climbs = picture.legs.flatMap((leg) => leg.climbs);
    const [overhead, ...soared] = climbs;
    expect(overhead).toMatchObject({ xM: 0, soared: false, lines: { first: line - 1, last: line - 1 } });
    expect(soared.length).toBeGreaterThan(1);
    for (const climb of soared) expect(climb).toMatchObject({ soared: true, lines: { first: line, last: line } });
  });

  test('without a height to climb from are drawn from nowhere', () => {
    const { picture } = onMeridian(
      `turnpoint Dale at 47.1500 N 19.5000 E\n\n${STILL}  start Alder at 3000 m MSL\n  turn Dale\n  climb to 2000 m MSL\n  finish Cedar\n`,
    );
    expect(legOf(picture, 1).notComputed).toBe('Dale has no `elevation`');
    expect(legOf(picture, 2)).toMatchObject({
      notComputed: null,
      climbs: [{ xM: 0, fromAltitudeM: null, toAltitudeM: 2000 }],
    });
  });
});

test('the height required begins behind the last climb that leads up', () => {
  const { picture, task } = onMeridian(
    `${STILL}  start Birch at 1500 m MSL\n  climb to 2500 m MSL after 2 km\n  climb to 1000 m MSL after 5 km\n  finish Cedar at 60 kt\n`,
  );
  expect(task.legs[0]?.result?.allClimbs.map(({ goesDown }) => goesDown)).toEqual([false, true]);
  const leg = legOf(picture, 1);
  expect(leg.required[0]).toEqual({ xM: 2000, altitudeM: leg.requiredDepartAltitudeM });
  for (const [i, { altitudeM }] of leg.required.slice(1).entries()) {
    const before = leg.required[i]?.altitudeM ?? 0;
    expect(altitudeM).toBeLessThan(before);
    expect(altitudeM).toBeGreaterThan(before - 60);
  }
});

describe('the height required, where the model cannot be flown in one piece', () => {
  /** A picture of a leg of which something is known otherwise. */
  const otherwise = (text: string, change: (leg: TaskEvaluation['legs'][number]) => object) => {
    const { workspace, understood, task } = onMeridian(text);
    const legs = task.legs.map((leg) => ({ ...leg, ...change(leg) }));
    return { task, picture: pictureOf(workspace, understood, { ...task, legs }) };
  };
  const ONE = `${STILL}  start Birch at 3000 m MSL\n  climb to 3000 m MSL after 2 km\n  finish Cedar at 60 kt\n`;
  const more = (byM: number) => (leg: TaskEvaluation['legs'][number]) => ({
    result: leg.result && { ...leg.result, requiredDepartAltitudeM: (leg.result.requiredDepartAltitudeM ?? 0) + byM },
  });

  test.each([0.04, 0.06, -0.06, 1])('a start off by %d m still ends at what is asked', (byM) => {
    const { task, picture } = otherwise(ONE, more(byM));
    const { input, result } = task.legs[0] ?? {};
    if (!input || !result) throw new Error('not computed');
    const { required } = legOf(picture, 1);
    const exact = result.requiredDepartAltitudeM ?? Number.NaN;
    expect(required[0]).toEqual({ xM: 2000, altitudeM: exact + byM });
    expect(required.at(-1)).toEqual({ xM: result.distanceM, altitudeM: result.askedAltitudeM });
    // 20.2 km in 21 steps of the same length.
    expect(required).toHaveLength(22);
    // Within 5 cm it is the glide from there; beyond, the glide backward from the end.
    const near = Math.abs(byM) < 0.05;
    for (const [i, { xM, altitudeM }] of required.slice(1, -1).entries()) {
      expect(xM).toBeCloseTo(2000 + ((i + 1) * (result.distanceM - 2000)) / 21, 6);
      const back = glideBackward(input.setting, result.indicatedMps, xM, result.distanceM, result.askedAltitudeM);
      if (back.problem) throw new Error('no headway');
      const off = Math.abs(altitudeM - back.altitudeM);
      if (near) expect(off).toBeGreaterThan(0.02);
      else expect(off).toBeLessThan(0.005);
    }
  });

  test('it ends where a glide backward makes no headway', () => {
    // 90 kt from ahead above, none below: somewhere between, 60 kt make no headway.
    const { task, picture } = otherwise(
      `weather Shear\n  wind 600 m MSL from 000° at 0 kt\n  wind 1500 m MSL from 000° at 90 kt\n\n${ONE.replace('Calm', 'Shear').replace('3000 m MSL after', '3001 m MSL after')}`,
      () => ({}),
    );
    expect(task.legs[0]?.result?.requiredDepartAltitudeM).toBeNull();
    expect(legOf(picture, 1).required).toEqual([]);
    const drawn_ = otherwise(
      `weather Shear\n  wind 600 m MSL from 000° at 0 kt\n  wind 1500 m MSL from 000° at 90 kt\n\n${ONE.replace('Calm', 'Shear')}`,
      (leg) => ({ result: leg.result && { ...leg.result, requiredDepartAltitudeM: 1400 } }),
    );
    const { required } = legOf(drawn_.picture, 1);
    expect(required.length).toBeGreaterThan(1);
    expect(required[0]?.xM).toBeGreaterThan(2000);
    expect(required.at(-1)?.xM).toBe(drawn_.task.legs[0]?.result?.distanceM);
    // Each point higher than the one behind it.
    for (const [i, { altitudeM }] of required.slice(1).entries())
      expect(required[i]?.altitudeM).toBeGreaterThan(altitudeM);
  });
});

describe('why a leg has no budget', () => {
  const gale = (wind: string, start: string) =>
    legOf(
      onMeridian(
        `weather Gale\n${wind}\n${STILL.replace('Calm', 'Gale')}  start Alder at ${start}\n  turn Birch at 60 kt\n`,
      ).picture,
      1,
    );

  test('no headway from its start, or so far on', () => {
    const ahead = gale('  wind 500 m MSL from 000° at 90 kt\n', '3000 m MSL');
    expect(ahead).toMatchObject({ notComputed: 'it makes no headway from its start', noHeadwayAfterM: 0 });
    const below = gale('  wind 3000 m MSL from 000° at 0 kt\n  wind 2700 m MSL from 000° at 90 kt\n', '3000 m MSL');
    const { noHeadwayAfterM } = below;
    expect(noHeadwayAfterM).toBeGreaterThan(1000);
    expect(below.notComputed).toBe(`it makes no headway ${((noHeadwayAfterM ?? 0) / 1852).toFixed(1)} NM on`);
    for (const { marginM, timeS, arriveAltitudeM, arriveHeightM, reachesGroundAfterM, indicatedMps } of [ahead, below])
      expect([marginM, timeS, arriveAltitudeM, arriveHeightM, reachesGroundAfterM, indicatedMps]).toEqual([
        null,
        null,
        null,
        null,
        null,
        (60 * 1852) / 3600,
      ]);
    // The path is drawn up to there.
    expect(below.path.at(-1)?.xM).toBeLessThanOrEqual(noHeadwayAfterM ?? 0);
    expect(ahead.path.length).toBeLessThan(2);
  });

  test('what is missing, leg by leg, and nothing of a leg that is computed', () => {
    const { picture } = onMeridian(
      `turnpoint Dale at 47.1500 N 19.5000 E\n\n${STILL}  start Alder at 3000 m MSL\n  turn Dale\n  turn Birch\n  climb to 2000 m MSL\n  finish Cedar\n`,
    );
    expect(picture.legs.map(({ notComputed }) => notComputed)).toEqual([
      'Dale has no `elevation`',
      'Dale has no `elevation`',
      null,
    ]);
    const limits = (line: RegExp) => {
      const { workspace } = onMeridian(NORTH);
      const text = (workspace.files.get(PLAN)?.syntax.text ?? '').replace(line, '');
      const understood = understand(workspace, setFile(workspace, PLAN, text));
      const [task] = understood.tasks as readonly [TaskEvaluation];
      return pictureOf(workspace, understood, task).legs.map(({ notComputed }) => notComputed);
    };
    expect(limits(/^ +vs .*\n/m)).toEqual(['Finch has no `vs`', 'Finch has no `vs`']);
    expect(limits(/^ +vne .*\n/m)).toEqual(['Finch has no `vne`', 'Finch has no `vne`']);
    expect(limits(/^ +aircraft .*\n/m)).toEqual(['the task names no aircraft', 'the task names no aircraft']);
  });
});

describe('what is not drawn', () => {
  test('a field without a place or a height, and an airspace that cannot be read, are named', () => {
    const { picture } = onMeridian(
      `field Blank\n  elevation 100 m\n\nfield Bare at 47.2500 N 19.5000 E\n\nfield Unsure at 47.3000 N 19.5000 E\n  elevation 100 m\n  arrive high\n\nairspace Torn\n  floor 3000 ft MSL\n  circle 47.2 N 19.5 E radius 3 km\n\n${NORTH}`,
    );
    expect(picture.notDrawn).toStrictEqual([
      'The field Blank is not drawn: its position or elevation is not known.',
      'The field Bare is not drawn: its position or elevation is not known.',
      'The airspace Torn is not drawn: its outline or a limit cannot be read.',
    ]);
    expect(picture.volumes).toEqual([]);
  });

  test('a field that the task names is drawn with what is known of it', () => {
    const fieldOf = (entry: string) =>
      onMeridian(`${entry}\n${STILL}  start Alder at 3000 m MSL\n  turn Unsure\n  finish Cedar\n`).picture.fields.map(
        ({ name, elevationM, askedAltitudeM }) => [name, elevationM, askedAltitudeM],
      )[1];
    const asked = expect.closeTo(100 + 1150 * 0.3048, 9);
    expect(fieldOf('field Unsure at 47.3000 N 19.5000 E\n  elevation 100 m\n')).toEqual(['Unsure', 100, asked]);
    expect(fieldOf('field Unsure at 47.3000 N 19.5000 E\n  elevation 100 m\n  arrive high\n')).toEqual([
      'Unsure',
      100,
      null,
    ]);
    expect(fieldOf('field Unsure at 47.3000 N 19.5000 E\n')).toEqual(['Unsure', null, null]);
    expect(fieldOf('field Unsure\n  elevation 100 m\n')?.[0]).toBe('Cedar');
  });

  /** Strips so high that none is in reach, the first the farthest from the track: 100 m for each of those before it. */
  const strips = (count: number) =>
    Array.from({ length: count }, (_, i) => {
      const { lat2, lon2 } = Geodesic.WGS84.Direct(47.15, 19.5, 90, 100 * (count - i));
      return `field S${count - i} at ${lat2?.toFixed(6)} N ${lon2?.toFixed(6)} E\n  elevation 3100 m\n`;
    }).join('\n');
  const withStrips = (count: number) => onMeridian(`${strips(count)}\n${NORTH}`).picture;
  const nearest = Array.from({ length: 40 }, (_, i) => `S${i + 1}`);

  test('of the fields beside the track the nearest forty are drawn, and how many are not is said', () => {
    expect(withStrips(40).fields.map(({ name }) => name)).toEqual(['Alder', 'Cedar', ...nearest]);
    expect(withStrips(40).notDrawn).toEqual([]);
    const one = withStrips(41);
    expect(one.fields.map(({ name }) => name)).toEqual(['Alder', 'Cedar', ...nearest]);
    expect(one.notDrawn).toEqual([
      'One more field near the track is not drawn: it is neither named nor in reach where the least are.',
    ]);
    expect(withStrips(45).notDrawn).toEqual([
      '5 more fields near the track are not drawn: they are neither named nor in reach where the least are.',
    ]);
    expect(one.fields.slice(2).every(({ named, elevationM }) => !named && elevationM === 3100)).toBe(true);
  });

  test('a field beside two legs counts by the nearer', () => {
    // Both lie beside the second leg as well, Fern by 2 km and Gorse by 1 km; Fern stands at the first.
    const { picture } = onMeridian(
      `field Gorse at 47.1500 N 19.5132 E\n  elevation 3100 m\n\nfield Fern at 47.1001 N 19.5001 E\n  elevation 3100 m\n\n${STILL}  start Cedar at 3000 m MSL\n  turn Birch\n  finish Alder\n`,
    );
    expect(picture.fields.map(({ name }) => name)).toEqual(['Cedar', 'Alder', 'Fern', 'Gorse']);
  });
});

describe('what stands beside a leg', () => {
  const MAST = 'obstacle Mast at 47.2500 N 19.5010 E\n  top 2200 m MSL\n  radius 300 m\n';

  test('is told once, with the radius in which it stands, and too low where some leg passes it so', () => {
    const { picture } = onMeridian(
      `${MAST}\nobstacle Pole at 47.3000 N 19.5000 E\n  top 300 m MSL\n\nturnpoint Elm at 47.1500 N 19.5000 E\n  elevation 120 m\n\n${NORTH}`,
    );
    expect(picture.obstacles).toStrictEqual([
      { name: 'Mast', position: { latDeg: 47.25, lonDeg: 19.501 }, topM: 2200, radiusM: 300, tooLow: true },
      { name: 'Pole', position: { latDeg: 47.3, lonDeg: 19.5 }, topM: 300, radiusM: null, tooLow: false },
    ]);
    // The ends of a leg are none that it passes.
    expect(picture.legs.map(({ solids }) => solids.map(({ name, tooLow }) => [name, tooLow]))).toEqual([
      [['Elm', false]],
      [
        ['Mast', true],
        ['Pole', false],
      ],
    ]);
    expect(picture.turnpoints).toStrictEqual([
      { name: 'Birch', position: { latDeg: 47.2, lonDeg: 19.5 }, radiusM: 500, named: true },
      { name: 'Elm', position: { latDeg: 47.15, lonDeg: 19.5 }, radiusM: null, named: false },
    ]);
    expect(picture.legs.map(({ lowGround }) => lowGround)).toEqual([null, null]);
    const mast = legOf(picture, 2).solids[0];
    expect(mast?.kind).toBe('obstacle');
    expect(Math.abs((mast?.xM ?? 0) - north(47.2, 47.25))).toBeLessThan(5);
  });

  test('passed low on one leg and high on another is too low, on that leg alone', () => {
    const { picture } = onMeridian(
      `${MAST}\n${STILL}  start Birch at 3200 m MSL\n  turn Cedar\n  climb to 2300 m MSL\n  finish Birch\n`.replace(
        'top 2200',
        'top 2000',
      ),
    );
    expect(picture.legs.map(({ solids }) => solids.find(({ name }) => name === 'Mast')?.tooLow)).toEqual([false, true]);
    expect(picture.obstacles[0]?.tooLow).toBe(true);
  });

  test('a turnpoint without a place is not drawn', () => {
    const { picture } = onMeridian(
      `turnpoint Blank\n  elevation 100 m\n\n${STILL}  start Alder at 3000 m MSL\n  turn Blank\n  finish Cedar\n`,
    );
    expect(picture.turnpoints).toEqual([]);
  });
});

describe('the ground under a leg', () => {
  /** A ridge of 2,400 m between 47.24 and 47.26 degrees north on a plain of 100 m. */
  const ridge = (workspace: Workspace) => {
    const post = (row: number) => (row >= 1200 * 0.74 && row <= 1200 * 0.76 ? 2400 : 100);
    const tile = decodeTile(tileBytes(1201, post), { latDeg: 47, lonDeg: 19 });
    if (tile) setTile(workspace, 'file:///plans/tiles/N47E019.hgt', tile);
  };

  test('that lies too high is told with where the most is missing', () => {
    const { picture } = onMeridian(`terrain "tiles"\n\n${NORTH}`, ridge);
    expect(picture.groundKnown).toBe(true);
    const [first, second] = picture.legs;
    expect(first?.lowGround).toBeNull();
    const low = second?.lowGround;
    if (!second || !low) throw new Error('no low ground');
    // Rows of a tile count from its north: the ridge lies from row 888 to 912, 48.26 to 48.24 less a degree.
    expect(Math.abs(low.fromM - north(47.2, 47.24))).toBeLessThan(100);
    expect(Math.abs(low.toM - north(47.2, 47.26))).toBeLessThan(100);
    expect(low.topM).toBe(2400);
    // The path comes down: the most is missing at the far end.
    expect(low.xM).toBe(low.toM);
    expect(low.altitudeM).toBeCloseTo(at(second.path, low.xM), 6);
    expect(second.solids).toEqual([]);
  });

  test('is known where it is known under every leg that is computed', () => {
    const known = (text: string, tile = ridge) => onMeridian(`terrain "tiles"\n\n${text}`, tile).picture.groundKnown;
    expect(known(NORTH)).toBe(true);
    expect(known(NORTH, () => {})).toBe(false);
    const dale = (rest: string) =>
      `turnpoint Dale at 47.1500 N 19.5000 E\n\n${STILL}  start Alder at 3000 m MSL\n  turn Dale\n${rest}`;
    expect(known(dale('  climb to 2000 m MSL\n  finish Cedar\n'))).toBe(true);
    expect(known(dale('  finish Cedar\n'))).toBe(false);
    expect(onMeridian(NORTH, ridge).picture.groundKnown).toBe(false);
  });
});

describe('the airspace that a leg cuts', () => {
  /** Two arms across the meridian, from 47.15 to 47.25 and from 47.33 to 47.37, joined in the east. */
  const arms = (floor: string, ceiling: string) => `airspace Arms
  floor ${floor}
  ceiling ${ceiling}
  edge 47.15 N 19.48 E
  edge 47.25 N 19.48 E
  edge 47.25 N 19.54 E
  edge 47.33 N 19.54 E
  edge 47.33 N 19.48 E
  edge 47.37 N 19.48 E
  edge 47.37 N 19.56 E
  edge 47.15 N 19.56 E
`;
  const met = (text: string) => onMeridian(text).picture.legs.map(({ slices }) => slices.map((slice) => slice.met));

  test('is cut where its outline crosses the track', () => {
    const { picture } = onMeridian(`${arms('2000 m MSL', 'FL150')}\n${NORTH}`);
    const [first, second] = picture.legs;
    const slices = [...(first?.slices ?? []), ...(second?.slices ?? [])];
    const ends = slices.map(({ fromM, toM }) => [fromM, toM]);
    const exact = [
      [north(47.1, 47.15), north(47.1, 47.2)],
      [0, north(47.2, 47.25)],
      [north(47.2, 47.33), north(47.2, 47.37)],
    ];
    expect(ends).toHaveLength(3);
    // The edges are geodesics, which lie a metre north of the parallel here.
    for (const [i, [fromM, toM]] of ends.entries()) {
      expect(Math.abs((fromM ?? 0) - (exact[i]?.[0] ?? 0))).toBeLessThan(3);
      expect(Math.abs((toM ?? 0) - (exact[i]?.[1] ?? 0))).toBeLessThan(3);
    }
    // In the standard atmosphere, on 1013.25 hPa, a flight level is an altitude: FL150 is 15,000 ft, 4,572 m.
    for (const { fromM, toM, floor, ceiling, volume } of slices) {
      expect(volume).toBe(0);
      expect(floor).toStrictEqual([
        { xM: fromM, altitudeM: 2000 },
        { xM: toM, altitudeM: 2000 },
      ]);
      expect(ceiling).toEqual([
        { xM: fromM, altitudeM: expect.closeTo(4572, 6) },
        { xM: toM, altitudeM: expect.closeTo(4572, 6) },
      ]);
    }
  });

  // The path: 3,000 m at Alder, 2,752 m at 47.15, 2,504 m at Birch, 2,256 m at 47.25, 1,860 m at 47.33, 1,661 m at 47.37.
  test('is entered where the path lies in it, on each leg anew', () => {
    expect(met(`${arms('2200 m MSL', '4000 m MSL')}\n${NORTH}`)).toEqual([['enters'], ['enters', null]]);
    expect(met(`${arms('1000 m MSL', '4000 m MSL')}\n${NORTH}`)).toEqual([['enters'], ['enters', 'enters']]);
    // Left through the floor on the first leg; the next starts 100 m below.
    expect(met(`${arms('2604 m MSL', '4000 m MSL')}\n${NORTH}`)).toEqual([['enters'], [null, null]]);
    expect(met(`${arms('4000 m MSL', '5000 m MSL')}\n${NORTH}`)).toEqual([[null], [null, null]]);
    // Entered from above on the second leg, at its second arm.
    expect(met(`${arms('500 m MSL', '1800 m MSL')}\n${NORTH}`)).toEqual([[null], [null, 'enters']]);
  });

  test('is entered in those of its arms in which the path lies', () => {
    const comb = (...ends: [number, number][]) =>
      `airspace Comb\n  floor 1000 m MSL\n  ceiling 2300 m MSL\n${ends
        .flatMap(([from, to]) => [`${from} N 19.54`, `${from} N 19.48`, `${to} N 19.48`, `${to} N 19.54`])
        .map((edge) => `  edge ${edge} E\n`)
        .join('')}  edge ${ends.at(-1)?.[1]} N 19.56 E\n  edge ${ends[0]?.[0]} N 19.56 E\n`;
    const itinerary = '  start Birch at 2350 m MSL\n  climb to 2600 m MSL after 6 km\n  finish Cedar\n';
    // About 2,250 m at the first, from 2,600 m on 2,500 m at the second, and 2,070 m at the third.
    expect(met(`${comb([47.22, 47.24], [47.27, 47.29], [47.36, 47.38])}\n${STILL}${itinerary}`)).toEqual([
      ['enters', null, 'enters'],
    ]);
    // Half a kilometre behind the first arm the path has left it through the floor, by 20 m.
    const low = comb([47.15, 47.25], [47.255, 47.28]).replace('floor 1000', 'floor 2250').replace('2300', '4000');
    expect(met(`${low}\n${NORTH}`)[1]).toEqual(['enters', null]);
  });

  test('is entered by a climb over the turn as well', () => {
    const climbed = NORTH.replace('  finish', '  climb to 3800 m MSL\n  finish');
    // From 2,504 m; the path behind it is 2,900 m high and more over both arms.
    expect(met(`${arms('2600 m MSL', '2800 m MSL')}\n${climbed}`)).toEqual([['enters'], ['enters', null]]);
  });

  test('is near where the path comes within 200 ft of it, and there alone', () => {
    // 46 m above the end of the first arm, 28 m below its beginning, and 16 m below it at the turn.
    expect(met(`${arms('2000 m MSL', '2210 m MSL')}\n${NORTH}`)).toEqual([[null], ['near', null]]);
    expect(met(`${arms('2780 m MSL', '3300 m MSL')}\n${NORTH}`)).toEqual([['near'], [null, null]]);
    expect(met(`${arms('2520 m MSL', '3300 m MSL')}\n${NORTH}`)).toEqual([['enters'], ['near', null]]);
    expect(met(`${arms('3050 m MSL', '3300 m MSL')}\n${NORTH}`)).toEqual([[null], [null, null]]);
  });

  test('is near though the track itself does not cut it', () => {
    const { picture } = onMeridian(
      `airspace Beside\n  floor 2000 m MSL\n  ceiling 4000 m MSL\n  edge 47.12 N 19.51 E\n  edge 47.18 N 19.51 E\n  edge 47.18 N 19.56 E\n  edge 47.12 N 19.56 E\n\n${NORTH}`,
    );
    expect(picture.volumes.map(({ met: kind }) => kind)).toEqual(['near']);
    expect(picture.legs.map(({ slices }) => slices)).toEqual([[], []]);
  });

  test('of two volumes is told of each its own', () => {
    const { picture } = onMeridian(
      `${arms('4000 m MSL', '5000 m MSL')}\nairspace Dome\n  floor 0 ft AGL\n  ceiling 3000 m MSL\n  circle 47.1500 N 19.5000 E radius 2 km\n\nairspace Shelf\n  floor 2810 m MSL\n  ceiling 3300 m MSL\n  circle 47.1500 N 19.5000 E radius 1 km\n\n${NORTH}`,
    );
    expect(picture.volumes.map(({ name, floor, ceiling, met: kind }) => [name, floor, ceiling, kind])).toEqual([
      ['Arms', '13,123 ft MSL', '16,404 ft MSL', null],
      ['Dome', 'surface', '9,843 ft MSL', 'enters'],
      ['Shelf', '9,219 ft MSL', '10,827 ft MSL', 'near'],
    ]);
    expect(picture.legs.map(({ slices }) => slices.map(({ volume, met: kind }) => [volume, kind]))).toEqual([
      [
        [0, null],
        [1, 'enters'],
        [2, 'near'],
      ],
      [
        [0, null],
        [0, null],
      ],
    ]);
    // A circle is 72 points on it, from the north on by east, and an outline is its corners.
    const [, dome] = picture.volumes;
    expect(dome?.circle).toStrictEqual({ centre: { latDeg: 47.15, lonDeg: 19.5 }, radiusM: 2000 });
    expect(dome?.outline).toHaveLength(72);
    for (const [i, { latDeg, lonDeg }] of (dome?.outline ?? []).entries()) {
      // Source: geographiclib-geodesic, WGS84.
      const { s12, azi1 } = Geodesic.WGS84.Inverse(47.15, 19.5, latDeg, lonDeg);
      expect(s12).toBeCloseTo(2000, 3);
      expect(((azi1 ?? 0) + 360.0001) % 360).toBeCloseTo(i * 5 + 0.0001, 5);
    }
    expect(picture.volumes[0]).toMatchObject({ circle: null });
    expect(picture.volumes[0]?.outline.slice(0, 2)).toStrictEqual([
      { latDeg: 47.15, lonDeg: 19.48 },
      { latDeg: 47.25, lonDeg: 19.48 },
    ]);
    expect(picture.volumes[0]?.outline).toHaveLength(8);
  });

  test('limits are shown as they are written', () => {
    const shown = (floor: string, ceiling: string) => {
      const [volume] = onMeridian(
        `units\n  altitude m\n\nairspace Dome\n  floor ${floor}\n  ceiling ${ceiling}\n  circle 47.1500 N 19.5000 E radius 2 km\n\n${NORTH}`,
      ).picture.volumes;
      return [volume?.floor, volume?.ceiling];
    };
    expect(shown('0 ft AGL', '300 m AGL')).toEqual(['surface', '300 m AGL']);
    expect(shown('0 m MSL', 'FL65')).toEqual(['0 m MSL', 'FL65']);
    expect(shown('1 m AGL', '1000 ft MSL')).toEqual(['1 m AGL', '305 m MSL']);
  });

  test('over ground that is not known is not taken for entered', () => {
    const flat = (workspace: Workspace) => {
      const tile = decodeTile(
        tileBytes(1201, () => 100),
        { latDeg: 47, lonDeg: 19 },
      );
      if (tile) setTile(workspace, 'file:///plans/tiles/N47E019.hgt', tile);
    };
    // The turn lies a tile farther east, of which nothing is known.
    const { picture } = onMeridian(
      `terrain "tiles"\n\nturnpoint East at 47.1000 N 20.0500 E\n  elevation 100 m\n\nfield Farther at 47.1000 N 20.2000 E\n  elevation 100 m\n\nairspace Low\n  floor 300 ft AGL\n  ceiling FL150\n  circle 47.1000 N 20.0500 E radius 10 km\n\n${STILL}  start Alder at 4000 m MSL\n  turn East\n  finish Farther\n`,
      flat,
    );
    const [first, second] = picture.legs;
    expect(first?.slices.map(({ met: kind }) => kind)).toEqual(['enters']);
    expect(second?.slices.map(({ met: kind }) => kind)).toEqual([null]);
    expect(second?.slices[0]?.floor.every(({ altitudeM }) => altitudeM === null)).toBe(true);
    // 300 ft over ground of 100 m.
    expect(first?.slices[0]?.floor[0]?.altitudeM).toBeCloseTo(100 + 300 * 0.3048, 6);
    expect(first?.slices[0]?.floor.at(-1)?.altitudeM).toBeNull();
  });
});

describe('the fields in reach from a place of a leg', () => {
  test('are named with what they spare, from its start to its end', () => {
    const { task } = onMeridian(NORTH);
    const leg = task.legs[0];
    const result = leg?.result;
    if (!leg?.input || !result || result.problem) throw new Error('not flown');
    const start = reachAtPlace(task, 1, 0);
    expect(start).toMatchObject({ leg: 1, xM: 0, position: { latDeg: 47.1, lonDeg: 19.5 }, altitudeM: 3000 });
    const names = start?.fields.map(({ name }) => name);
    expect(names).toEqual(['Alder', 'Cedar']);
    // Overhead Alder all that is above what it asks is spare; to Cedar it is 33.4 km.
    expect(start?.fields[0]?.spareM).toBeCloseTo(3000 - 200 - 1150 * 0.3048, 6);
    expect(start?.fields[0]?.distanceM).toBeCloseTo(0, 6);
    expect(start?.fields[1]?.distanceM).toBeCloseTo(north(47.1, 47.4), 0);
    const end = reachAtPlace(task, 1, result.distanceM);
    expect(end?.altitudeM).toBeCloseTo(result.arriveAltitudeM, 6);
    expect(end?.position.latDeg).toBeCloseTo(47.2, 9);
    expect(reachAtPlace(task, 1, result.distanceM + 0.001)).toBeNull();
    expect(reachAtPlace(task, 1, -0.001)).toBeNull();
    expect(reachAtPlace(task, 3, 0)).toBeNull();
    const { task: broken } = onMeridian(NORTH.replace('turn Birch', 'turn Nowhere'));
    expect(reachAtPlace(broken, 1, 0)).toBeNull();
  });
});
