/** A task of ten legs among 5,000 fields, 200 volumes of airspace and elevation tiles, all invented. */
import { decodeTile, destination } from '../../server/flight/index.ts';
import { createWorkspace, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { tileBytes } from '../flight/tiles.ts';

const ROOT = 'file:///bench';
export const PLAN = `${ROOT}/plan.taskplan`;
export const FIELDS = 5000;
const VOLUMES = 200;

/** The same numbers in every run. */
function numbers(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 1_664_525 + 1_013_904_223) % 4_294_967_296;
    return state / 4_294_967_296;
  };
}

const at = (latDeg: number, lonDeg: number) => `${latDeg.toFixed(5)} N ${lonDeg.toFixed(5)} E`;

function fields(): string {
  const next = numbers(1);
  // Over some 440 km by 450 km, as in a country that is well known.
  return Array.from(
    { length: FIELDS },
    (_, i) =>
      `field F${i} at ${at(45 + next() * 4, 17 + next() * 6)}\n  elevation ${Math.round(100 + next() * 300)} m\n  runway 09/27 700 m\n`,
  ).join('\n');
}

function volumes(): string {
  const next = numbers(2);
  return Array.from({ length: VOLUMES }, (_, i) => {
    const centre = { latDeg: 45 + next() * 4, lonDeg: 17 + next() * 6 };
    const floor = Math.round(2500 + next() * 4000);
    const head = `airspace A${i}\n  floor ${floor} ft MSL\n  ceiling FL115\n`;
    if (i % 2 === 0)
      return `${head}  circle ${at(centre.latDeg, centre.lonDeg)} radius ${(2 + next() * 8).toFixed(1)} NM\n`;
    const corners = Array.from({ length: 8 }, (__, k) => destination(centre, k * 45, 5000 + next() * 15_000));
    return head + corners.map(({ latDeg, lonDeg }) => `  edge ${at(latDeg, lonDeg)}\n`).join('');
  }).join('\n');
}

/** The task line that is edited is the climb before leg 5: its height. */
export function plan(heightFt: number): string {
  const turns = Array.from({ length: 10 }, (_, i) => destination({ latDeg: 47, lonDeg: 20 }, i * 36, 25_000));
  const points = turns
    .map(({ latDeg, lonDeg }, i) => `turnpoint T${i} at ${at(latDeg, lonDeg)}\n  elevation 200 m\n`)
    .join('\n');
  const legs = turns
    .slice(1)
    .map((_, i) => `  climb to ${i === 4 ? heightFt : 5600} ft MSL\n  turn T${i + 1}\n`)
    .join('');
  return `use "fields.taskplan"
use "volumes.taskplan"

terrain "tiles"

${points}
field Home at ${at(47.05, 20.05)}
  elevation 180 m

aircraft Finch
  best glide   32:1 at 49 kt
  minimum sink 1.3 kt at 41 kt
  polar mass   310 kg
  empty mass   225 kg
  maximum mass 340 kg
  vs           34 kt
  vne          115 kt

weather Day
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        3000 ft MSL from 245° at 14 kt
  wind        6000 ft MSL from 255° at 20 kt
  lift        3 kt to 6000 ft MSL

reserve Training
  arrive      1000 ft AGL
  turn        1500 ft AGL
  clear       500 ft
  performance 70 %
  altimeter   150 ft

task Round
  aircraft Finch with pilot 82 kg
  weather  Day
  reserve  Training
  start    T0 at 5000 ft MSL
${legs}  climb to 5600 ft MSL
  finish Home
`;
}

/** A workspace with the plan and all that it uses; tiles of 3 arc seconds. */
export function wholeFlight(): Workspace {
  const workspace = createWorkspace([ROOT]);
  setFile(workspace, `${ROOT}/fields.taskplan`, fields());
  setFile(workspace, `${ROOT}/volumes.taskplan`, volumes());
  setFile(workspace, PLAN, plan(5600));
  for (const latDeg of [46, 47])
    for (const lonDeg of [19, 20]) {
      const bytes = tileBytes(
        1201,
        (row, column) => 200 + Math.round(100 * Math.sin(row / 40) * Math.cos(column / 50)),
      );
      const tile = decodeTile(bytes, { latDeg, lonDeg });
      if (tile) setTile(workspace, `${ROOT}/tiles/N${latDeg}E0${lonDeg}.hgt`, tile);
    }
  return workspace;
}
