/** Obstacles, other points and the ground in the way of a leg, and ground that is not known. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { expect, test } from 'vitest';
import { URI } from 'vscode-uri';
import { decodeTile, type Tile } from '../../server/flight/index.ts';
import { readImports } from '../../server/node/files.ts';
import { groundProfile, wantedTiles } from '../../server/plan/ground.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { check } from '../../server/rules/run.ts';
import { tileBytes } from '../flight/tiles.ts';

const ROOT = 'file:///plans';
const CODES = new Set(['below-clearance', 'terrain-unknown']);
const TASK = `use "club.taskplan"

task Eastward
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 5200 ft MSL
  finish   Ashmoor
`;

function workspaceOf(text: string): Workspace {
  const workspace = createWorkspace([ROOT]);
  setFile(workspace, `${ROOT}/club.taskplan`, EXAMPLE_CLUB);
  setFile(workspace, `${ROOT}/plan.taskplan`, text);
  return workspace;
}

function planOf(workspace: Workspace) {
  const file = workspace.files.get(`${ROOT}/plan.taskplan`);
  if (!file) throw new Error('no plan');
  return understand(workspace, file);
}

function said(workspace: Workspace): string[] {
  const found = check(workspace, planOf(workspace), undefined, (code, error) => {
    throw new Error(code, { cause: error });
  });
  return found.filter(({ code }) => CODES.has(code)).map(({ code, message }) => `${code} ${message}`);
}

const heard = (text: string) => said(workspaceOf(text));
const mast = (at: string, top: string, radius = '') =>
  `${TASK}\nobstacle Mast at ${at}\n  top ${top}\n${radius === '' ? '' : `  radius ${radius}\n`}`;

test('an obstacle under the track, by how much and where', () => {
  expect(heard(mast('47.2600 N 19.5900 E', '3600 ft MSL'))).toMatchInlineSnapshot(`
    [
      "below-clearance leg 1 to Ashmoor passes Mast 565 ft too low: 85 ft above its height 7.4 NM after Larkfield, 650 ft asked. Leave Larkfield at 5,747 ft MSL, or go round.",
    ]
  `);
});

test('a leg that comes down before it has passed is told a height that passes all of it', () => {
  const low = (start: string) =>
    heard(
      mast('47.2600 N 19.5900 E', '1400 ft MSL', '3 km').replace('Larkfield at 5200 ft MSL', `Larkfield at ${start}`),
    );
  const [message] = low('2100 ft MSL');
  const height = /Leave Larkfield at ([\d,]+) ft MSL, or go round\.$/.exec(message ?? '')?.[1]?.replace(',', '');
  expect(height).toBeDefined();
  expect(low(`${height} ft MSL`)).toEqual([]);
  expect(low(`${Number(height) - 20} ft MSL`)).toHaveLength(1);
});

test('one lower than the clearance, one beside the track, one far from it', () => {
  expect(heard(mast('47.2600 N 19.5900 E', '1500 ft MSL'))).toEqual([]);
  expect(heard(mast('47.2600 N 19.6300 E', '3600 ft MSL'))).toEqual([]);
  expect(heard(mast('47.2600 N 19.6300 E', '3600 ft MSL', '3 km'))).toHaveLength(1);
  expect(heard(mast('48.2600 N 19.6300 E', '9600 ft MSL', '3 km'))).toEqual([]);
});

test('a top as a flight level, and a leg that is told to leave higher passes then', () => {
  expect(heard(mast('47.2600 N 19.5900 E', 'FL36'))).toHaveLength(1);
  const [message = ''] = heard(mast('47.2600 N 19.5900 E', '3100 ft MSL'));
  const [, height] = /Leave Larkfield at ([\d,]+) ft MSL/.exec(message) ?? [];
  const number = Number((height ?? '').replace(',', ''));
  const at = (ft: number) => mast('47.2600 N 19.5900 E', '3100 ft MSL').replace('5200 ft', `${ft} ft`);
  expect(heard(at(number))).toEqual([]);
  expect(heard(at(number - 2))).toHaveLength(1);
});

test('a clearance that cannot be read is asked of nobody', () => {
  const own = `reserve Own\n  arrive 1000 ft AGL\n  clear  500\n\n`;
  const text = mast('47.2600 N 19.5900 E', '3600 ft MSL').replace('task ', `${own}task `).replace('Training', 'Own');
  expect(heard(text)).toEqual([]);
});

test('another field, high on a hill', () => {
  const field = `\nfield Hilltop at 47.2600 N 19.5900 E\n  elevation 3300 ft\n`;
  const [message] = heard(`${TASK}${field}`);
  expect(message).toMatch(/^below-clearance leg 1 to Ashmoor passes Hilltop \d+ ft too low: \d+ ft above its height/);
});

const corner = { latDeg: 47, lonDeg: 19 };
const tileOf = (of: (row: number, column: number) => number): Tile => {
  const tile = decodeTile(tileBytes(1201, of), corner);
  if (!tile) throw new Error('no tile');
  return tile;
};
const TERRAIN = `terrain "tiles"\n\n${TASK}`;
const TILE = `${ROOT}/tiles/N47E019.hgt`;

test('tiles are asked for by the tasks, and once', () => {
  const workspace = workspaceOf(TERRAIN);
  expect(wantedTiles(planOf(workspace))).toEqual([TILE]);
  expect(said(workspace)[0]).toContain('terrain-unknown the ground is not known under 12.5 NM of this task');
  setTile(workspace, TILE, 'missing');
  expect(wantedTiles(planOf(workspace))).toEqual([]);
  expect(said(workspace)[0]).toContain('no tile `N47E019.hgt` can be read');
  setTile(
    workspace,
    TILE,
    tileOf(() => 170),
  );
  expect(said(workspace)).toEqual([]);
  const { tasks } = planOf(workspace);
  const [task] = tasks;
  const [leg] = task?.legs ?? [];
  if (!task || !leg) throw new Error('no leg');
  const profile = groundProfile(leg, task) ?? [];
  expect(profile.length).toBeGreaterThan(200);
  expect(profile.every(({ ground }) => ground?.groundM === 170)).toBe(true);
  expect(wantedTiles(planOf(workspaceOf(TASK)))).toEqual([]);
});

test('a ridge is too near, told once, with the way over it', () => {
  // Columns 690 to 700 lie at 19.575 to 19.583 E.
  const workspace = workspaceOf(TERRAIN);
  setTile(
    workspace,
    TILE,
    tileOf((_, column) => (column >= 690 && column <= 700 ? 1000 : 170)),
  );
  expect(said(workspace)).toMatchInlineSnapshot(`
    [
      "below-clearance leg 1 to Ashmoor passes the ground 124 ft too low: 526 ft above it 6.8 NM after Larkfield, where it rises to 3,281 ft MSL, 650 ft asked (too low from 6.3 to 6.9 NM). Leave Larkfield at 5,321 ft MSL, or go round.",
    ]
  `);
});

test('a void under the track is said, and takes no height from beside it', () => {
  const workspace = workspaceOf(TERRAIN);
  setTile(
    workspace,
    TILE,
    tileOf((_, column) => (column >= 690 && column <= 700 ? -32_768 : 170)),
  );
  expect(said(workspace)).toMatchInlineSnapshot(`
    [
      "terrain-unknown the ground is not known under 0.5 NM of this task, and is not checked there: nothing was measured there. Check the ground on the chart.",
    ]
  `);
});

test('the command line reads tiles from the folder that a plan names', async () => {
  const folder = mkdtempSync(path.join(tmpdir(), 'legwise-tiles-'));
  try {
    const tile = path.join(folder, 'tiles', 'N47E019.hgt');
    mkdirSync(path.dirname(tile));
    writeFileSync(
      tile,
      tileBytes(1201, () => 1400),
    );
    const root = URI.file(folder).toString();
    const workspace = createWorkspace([root]);
    const uri = `${root}/plan.taskplan`;
    setFile(workspace, `${root}/club.taskplan`, EXAMPLE_CLUB);
    const file = setFile(workspace, uri, TERRAIN);
    await readImports(workspace, uri);
    const codes = check(workspace, understand(workspace, file)).map(({ code }) => code);
    expect(codes).toContain('below-clearance');
    expect(codes).not.toContain('terrain-unknown');
    writeFileSync(tile, 'no tile');
    const again = createWorkspace([root]);
    setFile(again, `${root}/club.taskplan`, EXAMPLE_CLUB);
    const other = setFile(again, uri, TERRAIN);
    await readImports(again, uri);
    expect(check(again, understand(again, other)).map(({ code }) => code)).toContain('terrain-unknown');
  } finally {
    rmSync(folder, { recursive: true });
  }
});
