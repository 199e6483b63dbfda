/** Which of two heights is the higher one, be they counted from different things. */
import { altitudeOfFlightLevel } from '../flight/index.ts';
import { LEAST_QNH_PA, MOST_QNH_PA } from './sense.ts';
import type { Altitude } from './values.ts';

/** Heights closer than this are the same, m: one may have come out of a pressure. */
const SAME = 1e-6;

/** A number by which two heights counted from the same thing compare; undefined for two that do not. */
export function difference(a: Altitude, b: Altitude): number | undefined {
  if (a.kind === 'fl' && b.kind === 'fl') return a.level - b.level;
  return a.kind === b.kind && a.kind !== 'fl' && b.kind !== 'fl' ? a.metres - b.metres : undefined;
}

/** The same for a flight level and an altitude by a QNH (Pa), m; undefined where one of the two is counted from the ground. */
function differenceBy(a: Altitude, b: Altitude, qnhPa: number): number | undefined {
  if (a.kind === 'agl' || b.kind === 'agl') return difference(a, b);
  const metres = (one: typeof a) =>
    one.kind === 'fl' ? altitudeOfFlightLevel({ qnhPa, deltaTK: 0 }, one.level) : one.metres;
  return difference(a, b) ?? metres(a) - metres(b);
}

/** Whether nothing is left between a lower and an upper height by a QNH (Pa); undefined where the ground decides. */
export function isEmptyBy(lower: Altitude, upper: Altitude, qnhPa: number): boolean | undefined {
  const over = differenceBy(lower, upper, qnhPa);
  return over === undefined ? undefined : over >= -SAME;
}

/** Whether nothing is left between a lower and an upper height, whatever the pressure. */
export function isEmptyAlways(lower: Altitude, upper: Altitude): boolean {
  return [LEAST_QNH_PA, MOST_QNH_PA].every((qnhPa) => isEmptyBy(lower, upper, qnhPa) === true);
}
