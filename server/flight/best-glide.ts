/** Between which speeds the best glide over the ground lies, whatever the wind does on the way. */
import { tasPerIas } from './air.ts';
import { type GlideSetting, LOWEST_AIR_M } from './glide.ts';
import { type Polar, planned } from './polar.ts';
import { bestGlideInWind } from './speeds.ts';
import { components, windsBetween } from './wind.ts';

/** A course that turns more than this is not looked at here, degrees. */
const MOST_TURN_DEG = 5;
/** Between its ends it is held to stay within so many times the angle between them. */
const TURN_ROOM = 2;
/** The ends are this far beyond what they are computed as, m/s. */
const ROOM_MPS = 1e-3;
const HALVINGS = 40;
const RADIANS = Math.PI / 180;

interface Range {
  low: number;
  high: number;
}

const rangeOf = (values: readonly number[], room = 0): Range => ({
  low: Math.min(...values) - room,
  high: Math.max(...values) + room,
});

/**
 * The indicated airspeed (m/s) of the flattest glide over the ground in air that does not change, at sea-level density:
 * where (W + s)/(sqrt(V2 - cross2) - head) is least. `crossMps` is 0 or more. Above it, and never below the minimum-sink speed.
 */
function flattest(polar: Polar, sinkingMps: number, headMps: number, crossMps: number): number {
  const { a, b, c } = polar;
  const straight = bestGlideInWind(polar, headMps, sinkingMps);
  if (crossMps === 0) return straight;
  const rises = (v: number): boolean => {
    const along = Math.sqrt(v * v - crossMps * crossMps);
    return (2 * a * v + b) * (along - headMps) * along > ((a * v + b) * v + c + sinkingMps) * v;
  };
  // A crosswind asks for more speed than none, and for less than this.
  let low = Math.max(straight, crossMps);
  let high = 2 * (low + crossMps);
  for (let i = 0; i < HALVINGS; i += 1) {
    const middle = (low + high) / 2;
    if (rises(middle)) high = middle;
    else low = middle;
  }
  return high;
}

/**
 * The indicated airspeeds (m/s) between which the one lies that asks the least height at the start of a glide that arrives
 * at `askedM` and does not come from above `topM` (altitudes, m). At each altitude the slope over the ground falls with
 * speed up to the flattest glide there and rises beyond it (a convex sink over a concave ground speed), and a glide that
 * is nowhere flatter than another asks no less height; so a speed slower than the flattest at every altitude asks more
 * than one that is faster, and the other way round. The flattest is the faster, the more headwind, crosswind and sinking
 * air there are. Null where this is not known to hold: in rising air, for a polar that somewhere does not sink, and on a
 * course that turns.
 */
export function bestGlideBounds(setting: GlideSetting, askedM: number, topM: number): Range | null {
  const { track, wind, air, sinkingAirMps } = setting;
  const polar = planned(setting.polar, setting.massKg, setting.share);
  const { a, b, c } = polar;
  if (!(sinkingAirMps >= 0 && a > 0 && c - (b * b) / (4 * a) > 0 && topM >= askedM)) return null;
  const course = track.initialCourseDeg;
  const turnsDeg = Math.max(
    ...[track.finalCourseDeg, track.courseAt(track.distanceM / 2)].map((other) =>
      Math.abs(((other - course + 540) % 360) - 180),
    ),
  );
  if (!(turnsDeg <= MOST_TURN_DEG)) return null;
  const winds = windsBetween(wind, askedM, topM);
  const parts = winds.map((one) => components(one, course));
  const strongest = Math.max(...winds.map(({ u, v }) => Math.hypot(u, v)));
  const room = strongest * TURN_ROOM * turnsDeg * RADIANS;
  const head = rangeOf(
    parts.map(({ headMps }) => headMps),
    room,
  );
  const cross = rangeOf(
    parts.map(({ crossMps }) => crossMps),
    room,
  );
  const leastCross = Math.max(cross.low, -cross.high, 0);
  const mostCross = Math.max(-cross.low, cross.high);
  // All in indicated airspeed: thinner air makes wind and sinking air count less.
  const thick = tasPerIas(air, Math.max(askedM, LOWEST_AIR_M));
  const thin = tasPerIas(air, Math.max(topM, LOWEST_AIR_M));
  return {
    low:
      flattest(polar, sinkingAirMps / thin, Math.min(head.low / thin, head.low / thick), leastCross / thin) - ROOM_MPS,
    high:
      flattest(polar, sinkingAirMps / thick, Math.max(head.high / thin, head.high / thick), mostCross / thick) +
      ROOM_MPS,
  };
}
