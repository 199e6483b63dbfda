/** Speeds to fly: closed forms of the quadratic polar, in indicated airspeed at sea-level density. */
import { minimumSinkSpeed, type Polar, sinkAt } from './polar.ts';

/**
 * The indicated airspeed (m/s) that is fastest across country when the next climb is expected at `climbMps` and the air
 * between sinks at `sinkingAirMps` (rising is negative): V W'(V) = W(V) + m + s, so sqrt((c + m + s)/a). `plannedPolar`
 * has mass and performance share applied. It does not depend on the wind. Never below the minimum-sink speed, which it
 * is where the air rises faster than the root allows; not held within the glider's limits. Throws RangeError for a
 * polar whose a is not above 0 and for numbers that are not finite. Source: MacCready's theory.
 */
export function speedToFly(plannedPolar: Polar, climbMps: number, sinkingAirMps: number): number {
  return fromSquare(plannedPolar, 0, (plannedPolar.c + climbMps + sinkingAirMps) / plannedPolar.a);
}

/**
 * The indicated airspeed (m/s) of the flattest glide over the ground in a constant headwind (tailwind negative) at
 * sea-level density: H + sqrt(H2 + (c + s + b H)/a), never below the minimum-sink speed. Throws RangeError as
 * {@link speedToFly}. Source: the tangent to the polar from the point (headwind, -sinking air).
 */
export function bestGlideInWind(plannedPolar: Polar, headwindMps: number, sinkingAirMps: number): number {
  const { a, b, c } = plannedPolar;
  return fromSquare(plannedPolar, headwindMps, headwindMps * headwindMps + (c + sinkingAirMps + b * headwindMps) / a);
}

/** Throws RangeError for a polar that does not curve up: no speed is the best one on it. */
function fromSquare(polar: Polar, offset: number, square: number): number {
  if (!(polar.a > 0) || !Number.isFinite(square)) throw new RangeError('no polar, or numbers that are not finite');
  const slowest = minimumSinkSpeed(polar);
  return square >= 0 ? Math.max(offset + Math.sqrt(square), slowest) : slowest;
}

/**
 * The average speed (m/s) across country in still air, climbing at `climbMps` (above 0) and gliding at `vMps`:
 * V m/(m + W + s). 0 without a climb; V where the glide loses no height. Source: MacCready's theory.
 */
export function crossCountrySpeed(plannedPolar: Polar, vMps: number, climbMps: number, sinkingAirMps: number): number {
  const sink = sinkAt(plannedPolar, vMps) + sinkingAirMps;
  if (sink <= 0) return vMps;
  return climbMps > 0 ? (vMps * climbMps) / (climbMps + sink) : 0;
}
