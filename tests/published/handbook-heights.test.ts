/**
 * FAA Glider Flying Handbook, FAA-H-8083-13B (2024), pages 7-32 to 11-12: the heights that are kept in hand, put into
 * reserves, and what they make of its own glide of 22.79:1 (G-14, wind included, flown here in still air). G-42 and
 * G-43 are heights at which a pilot decides, and are not planned: nothing to compute.
 */
import { describe, expect, test } from 'vitest';
import {
  CALM,
  destination,
  glideTo,
  type Landable,
  type Landables,
  type Position,
  placeIndex,
  polarFromFigures,
  type ReachSetting,
  reachFrom,
  STANDARD_AIR,
  stretchesWithout,
  track,
} from '../../server/flight/index.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { FT, KT, NM, present } from './table.ts';

const made = polarFromFigures(
  {
    bestGlideRatio: 22.79,
    bestGlideSpeedMps: 50 * KT,
    minimumSinkMps: ((50 * KT) / 22.79) * 0.9,
    minimumSinkSpeedMps: null,
  },
  400,
);
if (made.refused) throw new Error(made.refused);
const setting: ReachSetting = {
  polar: made.polar,
  massKg: 400,
  share: 1,
  sinkingAirMps: 0,
  air: STANDARD_AIR,
  wind: CALM,
  vsMps: 30 * KT,
  vneMps: 110 * KT,
};

const here: Position = { latDeg: 45, lonDeg: 8 };
const field = (distanceNm: number, arriveFt: number): Landable => ({
  position: destination(here, 90, distanceNm * NM),
  askedAltitudeM: arriveFt * FT,
});
const neededFt = (distanceNm: number, arriveFt: number) =>
  present(glideTo(setting, here, field(distanceNm, arriveFt))).requiredM / FT;

function landables(fields: readonly Landable[]): Landables<Landable> {
  const index = placeIndex(fields.map(({ position }) => position));
  const of = (ids: readonly number[]) => ids.map((i) => fields[i] as Landable);
  return {
    lowestAskedM: Math.min(...fields.map(({ askedAltitudeM }) => askedAltitudeM)),
    within: (position, radiusM) => of(index.within(position, radiusM)),
    nearest: (position, count) => of(index.nearest(position, count)),
  };
}

describe('a field in reach with 1,500 ft in hand (G-40, p. 11-11)', () => {
  test('G-15: 12 NM away from 4,700 ft (tolerance 10 ft), and not from less', () => {
    expect(Math.abs(neededFt(12, 1500) - 4700)).toBeLessThan(10);
    const all = landables([field(12, 1500)]);
    expect(reachFrom(setting, here, 4710 * FT, all)).toHaveLength(1);
    expect(reachFrom(setting, here, 4690 * FT, all)).toHaveLength(0);
  });

  test('G-18: 9 NM away from 3,900 ft; from 4,300 ft with 400 ft to spare (10 ft)', () => {
    expect(Math.abs(neededFt(9, 1500) - 3900)).toBeLessThan(10);
    const [one] = reachFrom(setting, here, 4300 * FT, landables([field(9, 1500)]));
    expect(Math.abs(present(one).spareM / FT - 400)).toBeLessThan(10);
  });

  test('G-41: over home while practising 1,500 or 2,000 ft: the higher one costs its 500 ft everywhere', () => {
    for (const distance of [0, 3, 8, 12])
      expect(neededFt(distance, 2000) - neededFt(distance, 1500)).toBeCloseTo(500, 0);
  });

  test('G-47: circles of 5 and 10 NM round a landing place are left at 2,833 and 4,166 ft (derived; 10 ft)', () => {
    for (const [radius, height] of [
      [5, 1500 + (5 * 6076.1) / 22.79],
      [10, 1500 + (10 * 6076.1) / 22.79],
    ] as const) {
      expect(Math.abs(neededFt(radius, 1500) - height)).toBeLessThan(10);
      // Outward at that height: the field is in reach up to the circle and not beyond.
      const way = track(here, destination(here, 90, 15 * NM));
      const points = [0, 15 * NM].map((xM) => ({ xM, altitudeM: height * FT, timeS: 0 }));
      const home = landables([{ position: here, askedAltitudeM: 1500 * FT }]);
      const [stretch] = stretchesWithout(setting, { track: way, points }, home);
      expect(Math.abs(present(stretch).fromM / NM - radius)).toBeLessThan(0.05);
    }
  });
});

describe('heights over a field in a plan', () => {
  const asked = (reserve: string, own = '') => {
    const workspace = createWorkspace(['file:///p']);
    const text = `field Home at 45.0000 N 8.0000 E\n  elevation 2430 ft\n${own}\nfield Away at 45.1000 N 8.0000 E\n  elevation 400 ft\n
aircraft Finch\n  best glide   32:1 at 49 kt\n  minimum sink 1.3 kt at 41 kt\n  polar mass   310 kg\n  empty mass   225 kg\n  maximum mass 340 kg\n  vs           34 kt\n  vne          115 kt\n
reserve Kept\n  arrive ${reserve} ft AGL\n
task Home\n  aircraft Finch with pilot 82 kg\n  reserve  Kept\n  start    Away at 6000 ft MSL\n  finish   Home\n`;
    const { tasks } = understand(workspace, setFile(workspace, 'file:///p/plan.taskplan', text));
    return present(tasks[0]?.legs[0]?.result).askedAltitudeM / FT;
  };

  test('G-46: a 1,000 ft pattern at 2,430 ft of elevation shows 3,430 ft on the altimeter (p. 4-10, exact)', () => {
    expect(asked('1000')).toBeCloseTo(3430, 6);
  });

  test('G-44, G-45: the initial point at 800 to 1,000 ft lies above abeam at 500 to 600 ft: the higher one counts', () => {
    expect(asked('800')).toBeCloseTo(2430 + 800, 6);
    expect(asked('800', '  arrive 600 ft AGL\n')).toBeCloseTo(2430 + 800, 6);
    expect(asked('800', '  arrive 1000 ft AGL\n')).toBeCloseTo(2430 + 1000, 6);
  });
});
