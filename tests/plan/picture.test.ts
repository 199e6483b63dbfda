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
