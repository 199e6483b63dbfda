/** Times. */

/**
 * Seconds to climb `gainM` metres at `rateMps`. A gain of zero or less takes no time; null when the rate is not above
 * zero, as such a climb never ends.
 */
export function climbTime(gainM: number, rateMps: number): number | null {
  if (gainM <= 0) return 0;
  return rateMps > 0 ? gainM / rateMps : null;
}
