/** A leg between two invented places, and places beside it. Source of every place and distance: geographiclib-geodesic, WGS84. */
import geodesy from 'geographiclib-geodesic';
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';

export const { WGS84 } = geodesy.Geodesic;
export const PLAN = 'file:///plans/plan.taskplan';
/** What it is flown with, without the example's places. */
export const CLUB = EXAMPLE_CLUB.slice(EXAMPLE_CLUB.indexOf('aircraft Finch'));
export const WEST = { latDeg: 47.1, lonDeg: 19.2 };
export const EAST = { latDeg: 47.25, lonDeg: 19.5 };
/** The leg from Westing to Easting: 28.2 km to the north-east. */
export const WAY = WGS84.Inverse(WEST.latDeg, WEST.lonDeg, EAST.latDeg, EAST.lonDeg);
export const LENGTH_M = WAY.s12 ?? Number.NaN;
export const ENDS = `field Westing at 47.1000 N 19.2000 E
  elevation 200 m

field Easting at 47.2500 N 19.5000 E
  elevation 150 m
`;

/** Points of which the way from A to B and that from C to D are written with the same digits, one after the other. */
export const SAME_DIGITS = [
  ['A', '47.1 N 19.2 E'],
  ['B', '47.2 N 19.5 E'],
  ['C', '47.11 N 9.2 E'],
  ['D', '47.21 N 9.5 E'],
]
  .map(([name, at]) => `turnpoint ${name} at ${at}\n  elevation 150 m\n\n`)
  .join('');

/** A place so far along that leg, and so far to its right (negative: to its left), as a plan writes it. */
export function place(alongM: number, rightM = 0): string {
  const on = WGS84.Direct(WEST.latDeg, WEST.lonDeg, WAY.azi1 ?? 0, alongM);
  const { lat2, lon2 } = WGS84.Direct(on.lat2 ?? 0, on.lon2 ?? 0, (on.azi2 ?? 0) + 90, rightM);
  return `${lat2?.toFixed(8)} N ${lon2?.toFixed(8)} E`;
}

/** A leg of a task, from 1. Throws where there is none. */
export function legOf(task: TaskEvaluation, number = 1): LegEvaluation {
  const leg = task.legs[number - 1];
  if (!leg) throw new Error(`no leg ${number}`);
  return leg;
}
