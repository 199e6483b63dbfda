/** Airspace in the way of legs and climbs: entered, near, at its times, and what cannot be told. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decodeTile } from '../../server/flight/index.ts';
import { isActive } from '../../server/plan/airspace.ts';
import type { Airspace } from '../../server/plan/meaning.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { check } from '../../server/rules/run.ts';
import { tileBytes } from '../flight/tiles.ts';

const ROOT = 'file:///plans';
const TASK = (more: { takeoff?: string; start?: string; climb?: string } = {}) => `use "club.taskplan"

task Eastward
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
${more.takeoff ? `  takeoff  ${more.takeoff}\n` : ''}  start    Larkfield at ${more.start ?? '5200 ft MSL'}
${more.climb ? `  climb    ${more.climb}\n` : ''}  finish   Ashmoor
`;
const FAR = '\nfield Far at 47.5000 N 20.3000 E\n  elevation 150 m\n';
/** On the way, 6 NM from Larkfield. */
const circle = (floor: string, ceiling: string, more = '') =>
  `\nairspace Aldmere\n  floor   ${floor}\n  ceiling ${ceiling}\n  circle  47.2570 N 19.5700 E radius 2 NM\n${more}`;

function workspaceOf(text: string): Workspace {
  const workspace = createWorkspace([ROOT]);
  setFile(workspace, `${ROOT}/club.taskplan`, EXAMPLE_CLUB);
  setFile(workspace, `${ROOT}/plan.taskplan`, text);
  return workspace;
}

function all(workspace: Workspace): { code: string; message: string }[] {
  const file = workspace.files.get(`${ROOT}/plan.taskplan`);
  if (!file) throw new Error('no plan');
  return check(workspace, understand(workspace, file), undefined, (code, error) => {
    throw new Error(code, { cause: error });
  }).map(({ code, message }) => ({ code, message }));
}

const said = (text: string, workspace = workspaceOf(text)) =>
  all(workspace)
    .filter(({ code }) => /^(enters|near)-airspace$/.test(code))
    .map(({ code, message }) => `${code} ${message}`);

describe('a leg', () => {
  test('through a circle', () => {
    expect(said(TASK() + circle('3000 ft MSL', 'FL95'))).toMatchInlineSnapshot(`
      [
        "enters-airspace leg 1 to Ashmoor enters Aldmere for 4.1 NM, from 4.1 to 8.2 NM after Larkfield, at 3,526 ft to 4,352 ft MSL: its floor is 3,000 ft MSL and its ceiling FL95 (9,621 ft MSL). Go round Aldmere.",
      ]
    `);
  });

  test('through a polygon', () => {
    const polygon =
      '\nairspace Glen\n  floor   0 ft AGL\n  ceiling 5000 ft MSL\n  edge    47.30 N 19.50 E\n  edge    47.30 N 19.60 E\n  edge    47.15 N 19.60 E\n  edge    47.15 N 19.50 E\n';
    expect(said(TASK() + polygon)).toMatchInlineSnapshot(`
      [
        "enters-airspace leg 1 to Ashmoor enters Glen for 4.8 NM, from 2.8 to 7.6 NM after Larkfield, at 3,648 ft to 4,631 ft MSL: its floor is 0 ft AGL and its ceiling 5,000 ft MSL. Go round Glen.",
      ]
    `);
  });

  test('below one that it does not touch, near its floor, and beside it', () => {
    expect(said(TASK() + circle('5200 ft MSL', 'FL95'))).toEqual([]);
    expect(said(TASK() + circle('4900 ft MSL', 'FL95'))).toMatchInlineSnapshot(`[]`);
    const beside = circle('1000 ft MSL', 'FL95').replace('47.2570 N 19.5700 E', '47.3050 N 19.5200 E');
    expect(said(TASK() + beside)).toMatchInlineSnapshot(`[]`);
  });

  test('a ceiling below it is passed over', () => {
    expect(said(TASK() + circle('1000 ft MSL', '2000 ft MSL'))).toEqual([]);
    expect(said(TASK() + circle('1000 ft MSL', '3500 ft MSL'))[0]).toContain('near-airspace leg 1 to Ashmoor passes');
  });

  test('is sent below it only where that leaves the heights asked', () => {
    // Ashmoor asks about 1,650 ft at the end, 500 ft and the altimeter are asked over the ground. From where it comes in
    // to where it leaves the volume the glide loses 830 ft, and as much again to the end.
    const last = (floor: string) =>
      said(TASK() + circle(floor, 'FL95'))[0]
        ?.split('. ')
        .at(-1);
    expect(last('3500 ft MSL')).toBe('Pass below 3,500 ft MSL, or go round.');
    expect(last('3000 ft MSL')).toBe('Go round Aldmere.');
    expect(last('1800 ft MSL')).toBe('Go round Aldmere.');
    // As told: 3,500 ft where it comes in, 4.1 NM after the start.
    const followed = all(workspaceOf(TASK({ start: '4340 ft MSL' }) + circle('3500 ft MSL', 'FL95')));
    expect(followed.map(({ code }) => code)).not.toEqual(
      expect.arrayContaining([expect.stringMatching(/^(enters-airspace|below-reserve)$/)]),
    );
    // A climb behind it gives the height back.
    const climbing = TASK({ climb: 'to 4000 ft MSL after 9 NM' }) + circle('3000 ft MSL', 'FL95');
    expect(said(climbing)[0]?.split('. ').at(-1)).toBe('Pass below 3,000 ft MSL, or go round.');
    const tile = (metres: number) => {
      const made = decodeTile(
        tileBytes(1201, () => metres),
        { latDeg: 47, lonDeg: 19 },
      );
      if (!made) throw new Error('no tile');
      return made;
    };
    const over = (metres: number) => {
      const text = `terrain "tiles"\n\n${TASK()}${circle('3500 ft MSL', 'FL95')}`;
      const workspace = workspaceOf(text);
      setTile(workspace, `${ROOT}/tiles/N47E019.hgt`, tile(metres));
      return said(text, workspace)[0]?.split('. ').at(-1);
    };
    // 3,500 ft is 2,670 ft where it leaves, 650 ft of them over the ground at 2,020 ft, 616 m.
    expect([over(200), over(600), over(640), over(900)]).toEqual([
      'Pass below 3,500 ft MSL, or go round.',
      'Pass below 3,500 ft MSL, or go round.',
      'Go round Aldmere.',
      'Go round Aldmere.',
    ]);
  });

  test('at the times it is active', () => {
    const noon = circle('3000 ft MSL', 'FL95', '  active  09:00Z to 12:00Z\n');
    expect(said(TASK() + noon)).toHaveLength(1);
    expect(said(TASK({ takeoff: '11:30Z' }) + noon)).toHaveLength(1);
    expect(said(TASK({ takeoff: '13:30+02:00' }) + noon)).toHaveLength(1);
    expect(said(TASK({ takeoff: '12:30Z' }) + noon)).toEqual([]);
    const broken = circle('3000 ft MSL', 'FL95', '  active  09:00 to 12:00Z\n');
    expect(said(TASK({ takeoff: '12:30Z' }) + broken)).toHaveLength(1);
  });

  test('a flight level by the QNH of the day', () => {
    // 1018 hPa: FL45 lies 125 ft above 4,500 ft.
    expect(said(TASK() + circle('FL45', 'FL95'))[0]).toContain('near-airspace');
    expect(said(TASK({ start: '5600 ft MSL' }) + circle('FL45', 'FL95'))[0]).toContain('FL45 (4,625 ft MSL)');
  });
});

describe('a limit above ground', () => {
  const text = `terrain "tiles"\n\n${TASK()}${circle('3000 ft AGL', 'FL95')}`;
  const tile = (metres: number) => {
    const made = decodeTile(
      tileBytes(1201, () => metres),
      { latDeg: 47, lonDeg: 19 },
    );
    if (!made) throw new Error('no tile');
    return made;
  };

  test('lies where the ground puts it', () => {
    const low = workspaceOf(text);
    setTile(low, `${ROOT}/tiles/N47E019.hgt`, tile(150));
    expect(said(text, low)[0]).toContain('enters-airspace leg 1 to Ashmoor enters Aldmere');
    const high = workspaceOf(text);
    setTile(high, `${ROOT}/tiles/N47E019.hgt`, tile(600));
    expect(said(text, high)).toEqual([]);
  });

  test('is told where the ground is not known', () => {
    const workspace = workspaceOf(text);
    expect(said(text, workspace)).toEqual([]);
    const told = all(workspace).find(({ code }) => code === 'airspace-not-complete')?.message;
    expect(told).toContain('Aldmere is not checked where the ground below its limits is not known');
  });
});

describe('a climb', () => {
  const overhead = circle('4500 ft MSL', 'FL95').replace('47.2570 N 19.5700 E', '47.2031 N 19.4410 E');
  test('into a volume, and the leg that goes on in it is not told again', () => {
    expect(said(TASK({ start: '3200 ft MSL', climb: 'to 5400 ft MSL' }) + overhead)).toMatchInlineSnapshot(`
      [
        "enters-airspace the climb to 5,400 ft MSL enters Aldmere at 4,500 ft to 5,400 ft MSL: its floor is 4,500 ft MSL and its ceiling FL95 (9,621 ft MSL). Climb to less than 4,500 ft MSL, or elsewhere.",
      ]
    `);
  });
  test('that begins above the floor is not sent below it', () => {
    const [found] = said(TASK({ start: '4700 ft MSL', climb: 'to 5400 ft MSL' }) + overhead);
    expect(found).toContain('Climb elsewhere, or go round Aldmere.');
  });
  test('that ends near one', () => {
    expect(
      said(TASK({ start: '3200 ft MSL', climb: 'to 5200 ft MSL' }) + overhead.replace('4500', '5300'))[0],
    ).toContain('near-airspace the climb to 5,200 ft MSL comes 100 ft below Aldmere');
  });
  test('on the way of a leg', () => {
    const found = said(
      TASK({ start: '4600 ft MSL', climb: 'to 5000 ft MSL after 6 NM' }) + circle('4500 ft MSL', 'FL95'),
    );
    expect(found).toHaveLength(1);
    expect(found[0]).toContain('enters-airspace the climb to 5,000 ft MSL enters Aldmere at 4,500 ft to 5,000 ft MSL');
  });
});

test('a leg that soars up into a volume again and again is one finding', () => {
  const soaring = TASK({ start: '3200 ft MSL' }).replace(
    '  finish',
    '  soar     between 3000 ft MSL and 4600 ft MSL\n  finish',
  );
  const wide = circle('4200 ft MSL', 'FL95').replace('radius 2 NM', 'radius 9 NM');
  const found = all(workspaceOf(soaring.replace('Ashmoor', 'Far') + FAR + wide)).filter(({ code }) =>
    code.endsWith('-airspace'),
  );
  expect(found.map(({ code }) => code)).toEqual(['enters-airspace']);
  expect(found.map(({ message }) => message).join()).toContain('the climb to 4,600 ft MSL enters Aldmere');
});

test('what cannot be read is said, and does not hide the rest', () => {
  const broken = '\nairspace Half\n  floor   2000 ft MSL\n  ceiling FL95\n  circle  47.2570 N radius 2 NM\n';
  const found = all(workspaceOf(TASK() + broken + circle('3000 ft MSL', 'FL95')));
  expect(found.find(({ code }) => code === 'airspace-not-complete')?.message).toBe(
    'only 1 of the 2 volumes of airspace written in the files of this plan is checked; Half cannot be read and is not checked. Look at the chart in force and the notices of the day.',
  );
  expect(found.some(({ code }) => code === 'enters-airspace')).toBe(true);
});

test('several that cannot be read are several', () => {
  const broken = (name: string) =>
    `\nairspace ${name}\n  floor   2000 ft MSL\n  ceiling FL95\n  circle  47.2570 N radius 2 NM\n`;
  const found = all(workspaceOf(TASK() + ['One', 'Two', 'Three'].map(broken).join('')));
  expect(found.find(({ code }) => code === 'airspace-not-complete')?.message).toContain(
    'One and 2 more cannot be read and are not checked',
  );
});

describe('a ceiling that does not lie above the floor', () => {
  const told = (text: string, workspace = workspaceOf(text)) =>
    all(workspace)
      .filter(({ code }) => /airspace|value-out/.test(code))
      .map(({ code, message }) => `${code} ${message}`);
  const NOT_CHECKED =
    'airspace-not-complete the 1 volume of airspace written in the files of this plan is not checked; Aldmere is not checked: the ceiling does not lie above the floor. Look at the chart in force and the notices of the day.';

  test('is an error whatever the two are counted from, and the volume is not counted as checked', () => {
    expect(told(TASK() + circle('FL95', '2000 ft MSL'))).toEqual([
      NOT_CHECKED,
      'value-out-of-sense 2000 ft MSL as the ceiling does not lie above the floor, FL95, whatever the QNH: nothing is left between them. Correct one of the two.',
    ]);
    expect(told(TASK() + circle('12000 ft MSL', 'FL55'))[1]).toBe(
      'value-out-of-sense FL55 as the ceiling does not lie above the floor, 12000 ft MSL, whatever the QNH: nothing is left between them. Correct one of the two.',
    );
    expect(told(TASK() + circle('9500 ft MSL', '2000 ft MSL'))[0]).toBe(NOT_CHECKED);
    expect(told(TASK() + circle('FL95', 'FL20'))[0]).toBe(NOT_CHECKED);
  });

  test('by the QNH of the day is told once, where it is written', () => {
    // 1018 hPa: FL50 lies at 5,125 ft.
    const two = `${TASK()}\n${TASK().replace('use "club.taskplan"', '').replace('Eastward', 'Again')}`;
    expect(told(two + circle('FL50', '5000 ft MSL'))).toEqual([
      NOT_CHECKED,
      'value-out-of-sense 5,000 ft MSL as the ceiling of Aldmere does not lie above the floor, FL50 (5,125 ft MSL), by the QNH of Breezy: nothing is left between them. Correct one of the two.',
    ]);
    expect(told(TASK() + circle('FL50', '5200 ft MSL'))).toEqual([
      expect.stringContaining('only the 1 volume of airspace written in the files of this plan is checked. Look'),
    ]);
  });

  test('in another file is told at the weather of the task', () => {
    const text = TASK().replace('use "club', 'use "air.taskplan"\nuse "club');
    const workspace = workspaceOf(text);
    setFile(workspace, `${ROOT}/air.taskplan`, circle('FL50', '5000 ft MSL'));
    const file = workspace.files.get(`${ROOT}/plan.taskplan`);
    const found =
      file && check(workspace, understand(workspace, file)).find(({ code }) => code === 'value-out-of-sense');
    expect(found?.at.entry.text.slice(found.at.span.start, found.at.span.end)).toBe('Breezy');
    expect(found?.message).toContain('5,000 ft MSL as the ceiling of Aldmere does not lie above the floor');
  });

  test('is no error without a QNH, and is not silent', () => {
    const text = TASK()
      .replace('  weather  Breezy', '  weather  Plain')
      .concat('\nweather Plain\n  date 2026-06-13\n  wind surface from 230° at 8 kt\n');
    expect(told(text + circle('FL50', '5000 ft MSL'))).toEqual([NOT_CHECKED]);
  });

  test('over some ground only is nothing there, and told where that is so below all legs', () => {
    const tile = (metres: (row: number, column: number) => number) => {
      const made = decodeTile(tileBytes(1201, metres), { latDeg: 47, lonDeg: 19 });
      if (!made) throw new Error('no tile');
      return made;
    };
    const found = (floor: string, ceiling: string, metres: (row: number, column: number) => number) => {
      const text = `terrain "tiles"\n\n${TASK()}${circle(floor, ceiling)}`;
      const workspace = workspaceOf(text);
      setTile(workspace, `${ROOT}/tiles/N47E019.hgt`, tile(metres));
      return told(text, workspace);
    };
    // 1,000 ft above ground at 2,625 ft, and a ceiling of 3,500 ft.
    expect(found('1000 ft AGL', '3500 ft MSL', () => 800)).toEqual([
      'airspace-not-complete only the 1 volume of airspace written in the files of this plan is checked; Aldmere is not checked over the ground below the legs: the ceiling does not lie above the floor there. Look at the chart in force and the notices of the day.',
    ]);
    expect(found('1000 ft AGL', '4500 ft MSL', () => 300)[1]).toMatch(/^enters-airspace/);
    const half = found('1000 ft AGL', '4500 ft MSL', (_, column) => (column < 684 ? 300 : 1300));
    expect(half[0]).toContain('only the 1 volume of airspace written in the files of this plan is checked. Look');
    expect(half[1]).toContain('enters Aldmere for 2.1 NM, from 4.1 to 6.2 NM after Larkfield');
  });
});

test('a volume that the path does not touch changes nothing', () => {
  const before = all(workspaceOf(TASK() + circle('3000 ft MSL', 'FL95')));
  fc.assert(
    fc.property(fc.integer({ min: -80, max: 80 }), fc.integer({ min: -179, max: 179 }), (lat, lon) => {
      if (Math.abs(lat - 47) < 2 && Math.abs(lon - 19) < 2) return;
      const [ns, ew] = [lat < 0 ? 'S' : 'N', lon < 0 ? 'W' : 'E'];
      const far = `\nairspace Far\n  floor   0 ft MSL\n  ceiling FL195\n  circle  ${Math.abs(lat)}.5 ${ns} ${Math.abs(lon)}.5 ${ew} radius 20 NM\n`;
      const after = all(workspaceOf(TASK() + circle('3000 ft MSL', 'FL95') + far));
      const without = (found: typeof before) => found.filter(({ code }) => code !== 'airspace-not-complete');
      expect(without(after)).toEqual(without(before));
    }),
    { numRuns: 100 },
  );
});

test('times of activity come again every day, over midnight as well', () => {
  const volume = (fromS: number, toS: number) => ({ active: [{ fromS, toS }], faulty: [] }) as unknown as Airspace;
  const hour = 3600;
  fc.assert(
    fc.property(
      fc.integer({ min: -12, max: 36 }),
      fc.integer({ min: 1, max: 23 }),
      fc.integer({ min: -24, max: 72 }),
      (from, length, at) => {
        const expected = (((at - from) % 24) + 24) % 24 <= length;
        const made = volume(from * hour, (from + length) * hour);
        const later = volume(from * hour, (from + length - 24) * hour);
        expect(isActive(made, at * hour, at * hour)).toBe(expected);
        expect(isActive(later, at * hour, at * hour)).toBe(expected);
        expect(isActive(made, (at - 24) * hour, at * hour)).toBe(true);
      },
    ),
  );
  expect(isActive(volume(0, hour), undefined, undefined)).toBe(true);
});
