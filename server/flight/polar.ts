/**
 * The polar: how fast a glider sinks at each indicated airspeed, as the quadratic W(V) = a V2 + b V + c at one mass
 * and sea-level density. Sink is positive down, m/s.
 */

/** A quadratic polar: sink (m/s) = a V2 + b V + c with V the indicated airspeed (m/s), at `massKg`. */
export interface Polar {
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly massKg: number;
}

/** One measured or published point of a polar. */
export interface PolarPoint {
  readonly speedMps: number;
  readonly sinkMps: number;
}

/** The figures a flight manual gives. */
export interface PolarFigures {
  readonly bestGlideRatio: number;
  readonly bestGlideSpeedMps: number;
  readonly minimumSinkMps: number;
  /** Where the manual puts the minimum sink; null when it does not say. */
  readonly minimumSinkSpeedMps: number | null;
}

/** How far the points lie from the curve: the largest and the root mean square difference, and where the largest is. */
export interface PolarResiduals {
  readonly maxMps: number;
  readonly rmsMps: number;
  readonly atSpeedMps: number;
}

/** A polar laid through points, with the range of speeds in which it was measured. */
export interface PointsPolar {
  readonly refused: null;
  readonly polar: Polar;
  readonly residuals: PolarResiduals;
  readonly fromMps: number;
  readonly toMps: number;
}

/** Why no polar was made of points or figures, with the numbers that say so. */
export type PolarRefusal =
  | { readonly refused: 'too-few-speeds'; readonly distinctSpeeds: number }
  | { readonly refused: 'not-positive' }
  | {
      readonly refused: 'minimum-sink-not-below-best-glide-sink' | 'minimum-sink-at-most-half-best-glide-sink';
      readonly minimumSinkMps: number;
      readonly bestGlideSinkMps: number;
    };

/** A polar made of handbook figures. */
export interface FiguresPolar {
  readonly refused: null;
  readonly polar: Polar;
  /** Where this polar has its minimum sink. */
  readonly minimumSinkSpeedMps: number;
  /** That speed less the stated one; null when none is stated. */
  readonly minimumSinkSpeedOffMps: number | null;
}

function positive(...numbers: readonly number[]): boolean {
  return numbers.every((number) => number > 0 && Number.isFinite(number));
}

/**
 * The least-squares quadratic through points (m/s, above 0), exact for three. Any consistent unit of speed will do.
 * Refused: fewer than three distinct speeds; a number that is not above zero and finite.
 * Source: least squares over orthogonal polynomials (Forsythe 1957), well conditioned at any speed.
 */
export function polarFromPoints(points: readonly PolarPoint[], massKg: number): PointsPolar | PolarRefusal {
  if (!positive(massKg) || !points.every((point) => positive(point.speedMps, point.sinkMps))) {
    return { refused: 'not-positive' };
  }
  const distinctSpeeds = new Set(points.map((point) => point.speedMps)).size;
  if (distinctSpeeds < 3) return { refused: 'too-few-speeds', distinctSpeeds };

  const mean = points.reduce((sum, point) => sum + point.speedMps, 0) / points.length;
  let sumXX = 0;
  let sumXXX = 0;
  for (const { speedMps } of points) {
    const x = speedMps - mean;
    sumXX += x * x;
    sumXXX += x * x * x;
  }
  const skew = sumXXX / sumXX;
  const spread = sumXX / points.length;
  // The second polynomial, x2 - skew x - spread, is orthogonal to 1 and to x over these points.
  let q = 0;
  let qq = 0;
  let slope = 0;
  let level = 0;
  for (const { speedMps, sinkMps } of points) {
    const x = speedMps - mean;
    const second = x * x - skew * x - spread;
    q += second * sinkMps;
    qq += second * second;
    slope += x * sinkMps;
    level += sinkMps;
  }
  const a = q / qq;
  const linear = slope / sumXX - a * skew;
  const constant = level / points.length - a * spread;
  const polar = { a, b: linear - 2 * a * mean, c: constant - linear * mean + a * mean * mean, massKg };

  let maxMps = 0;
  let atSpeedMps = points[0]?.speedMps ?? 0;
  let squares = 0;
  for (const { speedMps, sinkMps } of points) {
    const off = Math.abs(sinkAt(polar, speedMps) - sinkMps);
    squares += off * off;
    if (off > maxMps) {
      maxMps = off;
      atSpeedMps = speedMps;
    }
  }
  const speeds = points.map((point) => point.speedMps);
  return {
    refused: null,
    polar,
    residuals: { maxMps, rmsMps: Math.sqrt(squares / points.length), atSpeedMps },
    fromMps: Math.min(...speeds),
    toMps: Math.max(...speeds),
  };
}

/**
 * The polar that touches the best glide (W(V1) = V1/E, W'(V1) = 1/E) and has the stated minimum sink. Where its minimum
 * lies follows; how far that is from the stated speed is reported. Refused: a number that is not above zero and finite;
 * a minimum sink that is not below the sink at best glide, or at most half of it.
 * Source: derived from the tangent condition; a = 1/(4 E2 (V1/E - Wmin)), b = 1/E - 2 a V1, c = a V1^2. Its minimum lies
 * at -b/(2a) = 2 E Wmin - V1, so at a speed above zero only where Wmin is more than half of V1/E.
 */
export function polarFromFigures(figures: PolarFigures, massKg: number): FiguresPolar | PolarRefusal {
  const { bestGlideRatio, bestGlideSpeedMps, minimumSinkMps, minimumSinkSpeedMps } = figures;
  if (!positive(bestGlideRatio, bestGlideSpeedMps, minimumSinkMps, minimumSinkSpeedMps ?? 1, massKg)) {
    return { refused: 'not-positive' };
  }
  const bestGlideSinkMps = bestGlideSpeedMps / bestGlideRatio;
  if (!(minimumSinkMps < bestGlideSinkMps)) {
    return { refused: 'minimum-sink-not-below-best-glide-sink', minimumSinkMps, bestGlideSinkMps };
  }
  if (!(2 * minimumSinkMps > bestGlideSinkMps)) {
    return { refused: 'minimum-sink-at-most-half-best-glide-sink', minimumSinkMps, bestGlideSinkMps };
  }
  const a = 1 / (4 * bestGlideRatio * bestGlideRatio * (bestGlideSinkMps - minimumSinkMps));
  const b = 1 / bestGlideRatio - 2 * a * bestGlideSpeedMps;
  const polar = { a, b, c: a * bestGlideSpeedMps * bestGlideSpeedMps, massKg };
  const own = minimumSinkSpeed(polar);
  return {
    refused: null,
    polar,
    minimumSinkSpeedMps: own,
    minimumSinkSpeedOffMps: minimumSinkSpeedMps === null ? null : own - minimumSinkSpeedMps,
  };
}

/** The limits of indicated airspeed, m/s, between which a polar is used. */
export interface SpeedRange {
  readonly vsMps: number;
  readonly vneMps: number;
}

/** What is wrong with a polar, with the numbers that say so. */
export type PolarProblem =
  | { readonly reason: 'curves-down'; readonly a: number }
  | { readonly reason: 'sink-not-positive'; readonly sinkMps: number; readonly atSpeedMps: number }
  | { readonly reason: 'best-glide-below-vs'; readonly bestGlideSpeedMps: number; readonly vsMps: number }
  | { readonly reason: 'best-glide-above-vne'; readonly bestGlideSpeedMps: number; readonly vneMps: number }
  | { readonly reason: 'too-good'; readonly ratio: number; readonly highestRatio: number };

/** No glider has glided better than this: a polar above it has a slip of the pen or a mix of units in it. */
export const HIGHEST_RATIO = 80;

/**
 * The first thing wrong with a polar between `vs` and `vne` (m/s), or null: it curves down (a <= 0), does not sink
 * somewhere between them, has its best glide outside them, or glides better than 80:1.
 */
export function checkPolar(polar: Polar, { vsMps, vneMps }: SpeedRange): PolarProblem | null {
  if (!(polar.a > 0)) return { reason: 'curves-down', a: polar.a };
  const atSpeedMps = Math.min(Math.max(minimumSinkSpeed(polar), vsMps), vneMps);
  const sinkMps = sinkAt(polar, atSpeedMps);
  if (!(sinkMps > 0)) return { reason: 'sink-not-positive', sinkMps, atSpeedMps };
  const bestGlideSpeedMps = bestGlideSpeed(polar);
  if (bestGlideSpeedMps < vsMps) return { reason: 'best-glide-below-vs', bestGlideSpeedMps, vsMps };
  if (bestGlideSpeedMps > vneMps) return { reason: 'best-glide-above-vne', bestGlideSpeedMps, vneMps };
  const ratio = bestGlideRatio(polar);
  if (ratio > HIGHEST_RATIO) return { reason: 'too-good', ratio, highestRatio: HIGHEST_RATIO };
  return null;
}

/** Sink (m/s, positive down) at the indicated airspeed `vMps`. */
export function sinkAt(polar: Polar, vMps: number): number {
  return (polar.a * vMps + polar.b) * vMps + polar.c;
}

/** The indicated airspeed (m/s) of the best glide in still air, sqrt(c/a); 0 when c or a is not above zero. */
export function bestGlideSpeed(polar: Polar): number {
  return polar.a > 0 && polar.c > 0 ? Math.sqrt(polar.c / polar.a) : 0;
}

/**
 * The best glide ratio in still air, 1/(2 sqrt(a c) + b); Infinity for a curve that has no best glide or does not sink
 * there.
 */
export function bestGlideRatio(polar: Polar): number {
  if (!(polar.a > 0 && polar.c > 0)) return Infinity;
  const slope = 2 * Math.sqrt(polar.a * polar.c) + polar.b;
  return slope > 0 ? 1 / slope : Infinity;
}

/** The indicated airspeed (m/s) of the minimum sink, -b/(2a); 0 for a curve without one (a <= 0, or b > 0). */
export function minimumSinkSpeed(polar: Polar): number {
  return polar.a > 0 && polar.b < 0 ? -polar.b / (2 * polar.a) : 0;
}

/** The minimum sink (m/s), c - b2/(4a) where the curve has a minimum. */
export function minimumSink(polar: Polar): number {
  return sinkAt(polar, minimumSinkSpeed(polar));
}

/** How speeds and sinks grow with mass: sqrt(mass / the polar's mass). Throws RangeError unless both are above zero. */
export function massFactor(massKg: number, polarMassKg: number): number {
  if (!positive(massKg, polarMassKg)) throw new RangeError(`not masses: ${massKg} kg, ${polarMassKg} kg`);
  return Math.sqrt(massKg / polarMassKg);
}

/**
 * The polar at another mass, W_m(V) = k W(V/k) with k = sqrt(m/m_polar): every speed and its sink grow by k, glide
 * ratios stay. Throws RangeError unless masses are above zero. Source: lift and drag at equal angle of attack.
 */
export function atMass(polar: Polar, massKg: number): Polar {
  const k = massFactor(massKg, polar.massKg);
  return { a: polar.a / k, b: polar.b, c: polar.c * k, massKg };
}

/**
 * The polar a plan counts on: at `massKg`, its sink divided by the performance share (above 0; 1 is the polar itself),
 * so that the glide ratio at every speed is that share of the polar's. Throws RangeError for numbers not above zero.
 */
export function planned(polar: Polar, massKg: number, share: number): Polar {
  if (!positive(share)) throw new RangeError(`not a performance share: ${share}`);
  const heavy = atMass(polar, massKg);
  return { a: heavy.a / share, b: heavy.b / share, c: heavy.c / share, massKg };
}

/** The performance share that turns the polar's best glide ratio into `ratio`; 0 for a polar that does not sink. */
export function shareForRatio(ratio: number, polar: Polar): number {
  return ratio / bestGlideRatio(polar);
}
