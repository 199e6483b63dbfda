/** The wind: layers over altitude, and what they do to a flight along a course. */

/** The wind at one altitude: where it comes from (degrees true) and how fast (m/s, 0 and above). */
export interface WindLayer {
  readonly altitudeM: number;
  readonly fromDeg: number;
  readonly speedMps: number;
}

/** The air's motion, m/s: `u` towards east, `v` towards north. */
export interface Wind {
  readonly u: number;
  readonly v: number;
}

/** One stretch of altitude in which the wind changes evenly: `u + du (h - fromM)`, the same for v. */
export interface WindBand {
  /** Lower end, m; -Infinity in the lowest band. */
  readonly lowM: number;
  /** Upper end, m; Infinity in the highest band. */
  readonly highM: number;
  /** The altitude at which `u` and `v` hold. */
  readonly fromM: number;
  readonly u: number;
  readonly v: number;
  readonly du: number;
  readonly dv: number;
}

/** The wind over altitude: bands from the lowest to the highest, without a gap. */
export interface WindProfile {
  readonly bands: readonly WindBand[];
}

const RADIANS = Math.PI / 180;
/** Layers closer than this are one and the same (m). */
const SAME_ALTITUDE = 1e-3;

/** The vector of a wind from `fromDeg` (degrees true) at `speedMps`. */
export function windFrom(fromDeg: number, speedMps: number): Wind {
  return { u: -speedMps * Math.sin(fromDeg * RADIANS), v: -speedMps * Math.cos(fromDeg * RADIANS) };
}

/**
 * The profile of wind layers in any order: vectors, linear in altitude between layers, constant outside them. No
 * layers is calm. Of layers at the same altitude the last one given holds. Throws RangeError for numbers that are not
 * finite and for speeds below zero.
 */
export function windProfile(layers: readonly WindLayer[]): WindProfile {
  for (const { altitudeM, fromDeg, speedMps } of layers) {
    if (!Number.isFinite(altitudeM) || !Number.isFinite(fromDeg) || !(speedMps >= 0) || speedMps === Infinity) {
      throw new RangeError(`not a wind layer: ${altitudeM} m, from ${fromDeg} degrees, ${speedMps} m/s`);
    }
  }
  const sorted: { altitudeM: number; u: number; v: number }[] = [];
  for (const layer of layers.toSorted((one, other) => one.altitudeM - other.altitudeM)) {
    const last = sorted.at(-1);
    if (last && layer.altitudeM - last.altitudeM < SAME_ALTITUDE) sorted.pop();
    sorted.push({ altitudeM: layer.altitudeM, ...windFrom(layer.fromDeg, layer.speedMps) });
  }
  const lowest = sorted[0] ?? { altitudeM: 0, u: 0, v: 0 };
  const highest = sorted.at(-1) ?? lowest;
  const constant = (lowM: number, highM: number, at: typeof lowest): WindBand => ({
    lowM,
    highM,
    fromM: at.altitudeM,
    u: at.u,
    v: at.v,
    du: 0,
    dv: 0,
  });
  if (sorted.length < 2) return { bands: [constant(-Infinity, Infinity, lowest)] };
  const bands = [constant(-Infinity, lowest.altitudeM, lowest)];
  let below = lowest;
  for (const above of sorted.slice(1)) {
    const depth = above.altitudeM - below.altitudeM;
    bands.push({
      lowM: below.altitudeM,
      highM: above.altitudeM,
      fromM: below.altitudeM,
      u: below.u,
      v: below.v,
      du: (above.u - below.u) / depth,
      dv: (above.v - below.v) / depth,
    });
    below = above;
  }
  bands.push(constant(highest.altitudeM, Infinity, highest));
  return { bands };
}

/** No wind at any altitude. */
export const CALM: WindProfile = windProfile([]);

/** Whether the profile has no wind at any altitude. */
export function isCalm(profile: WindProfile): boolean {
  return profile.bands.every((band) => band.u === 0 && band.v === 0 && band.du === 0 && band.dv === 0);
}

/** The number of the band that holds the altitude `hM`; at a border, the lower band. */
export function bandAt(bands: readonly WindBand[], hM: number): number {
  let i = 0;
  while (i < bands.length - 1 && hM > (bands[i]?.highM ?? Infinity)) i += 1;
  return i;
}

/** The wind (m/s, towards east and north) at altitude `hM`, any finite number. */
export function windAt(profile: WindProfile, hM: number): Wind {
  const band = profile.bands[bandAt(profile.bands, hM)];
  if (!band) return { u: 0, v: 0 };
  const dh = hM - band.fromM;
  return band.du === 0 && band.dv === 0
    ? { u: band.u, v: band.v }
    : { u: band.u + band.du * dh, v: band.v + band.dv * dh };
}

/**
 * The winds at two altitudes, m, and at every layer between them. The wind is linear between its layers: along any direction
 * it is least or most at one of these.
 */
export function windsBetween(profile: WindProfile, lowM: number, highM: number): Wind[] {
  const between = profile.bands.flatMap((band) => (band.highM > lowM && band.highM < highM ? [band.highM] : []));
  return [lowM, highM, ...between].map((altitudeM) => windAt(profile, altitudeM));
}

/**
 * The parts of a wind along and across the true course `courseDeg`, m/s: headwind S cos(D - course), positive against
 * the flight; crosswind S sin(D - course), positive from the right.
 */
export function components(wind: Wind, courseDeg: number): { headMps: number; crossMps: number } {
  const sin = Math.sin(courseDeg * RADIANS);
  const cos = Math.cos(courseDeg * RADIANS);
  return { headMps: -(wind.u * sin + wind.v * cos), crossMps: wind.v * sin - wind.u * cos };
}

/** The solved wind triangle: ground speed, and how far right of the course the nose points (`correctionDeg`). */
export interface WindTriangle {
  readonly problem: null;
  readonly groundSpeedMps: number;
  readonly headMps: number;
  readonly crossMps: number;
  readonly correctionDeg: number;
  readonly headingDeg: number;
}

/** No headway: the crosswind alone is as fast as the glider, or the headwind leaves no ground speed. */
export interface NoTriangle {
  readonly problem: 'crosswind' | 'headwind';
  readonly headMps: number;
  readonly crossMps: number;
}

/**
 * The wind triangle for a true airspeed (m/s, 0 and above) along the true course: G = sqrt(V2 - cross2) - head.
 * Without a solution (V <= |cross|, or G <= 0) it returns the problem. Numbers that are not finite: problem 'headwind'.
 */
export function windTriangle(tasMps: number, courseDeg: number, wind: Wind): WindTriangle | NoTriangle {
  const { headMps, crossMps } = components(wind, courseDeg);
  if (tasMps <= Math.abs(crossMps)) return { problem: 'crosswind', headMps, crossMps };
  const groundSpeedMps = Math.sqrt(tasMps * tasMps - crossMps * crossMps) - headMps;
  if (!(groundSpeedMps > 0) || groundSpeedMps === Infinity) return { problem: 'headwind', headMps, crossMps };
  const correctionDeg = Math.asin(crossMps / tasMps) / RADIANS;
  const headingDeg = (((courseDeg + correctionDeg) % 360) + 360) % 360;
  return { problem: null, groundSpeedMps, headMps, crossMps, correctionDeg, headingDeg };
}
