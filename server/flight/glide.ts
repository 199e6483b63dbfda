/**
 * The glide: dh/dx = -(planned sink + sinking air)/G along a track, with the wind, the air's density and the course of
 * where the glider is. Integrated by the classical fourth-order Runge-Kutta method with equal steps; a step is cut
 * where the glide enters another band of the wind, so that every piece is smooth.
 */
import { type Air, HIGHEST_ALTITUDE_M, requireAir, TROPOPAUSE_M, tasPerIas } from './air.ts';
import type { Track } from './earth.ts';
import { type Polar, planned, sinkAt } from './polar.ts';
import { bandAt, type WindBand, type WindProfile } from './wind.ts';

/** Everything about a glide but its speed and heights. */
export interface GlideSetting {
  readonly track: Track;
  /** The polar at its own mass. */
  readonly polar: Polar;
  /** The mass flown, kg. */
  readonly massKg: number;
  /** Performance share: 1 is the polar itself. */
  readonly share: number;
  /** How fast the air sinks, m/s; rising is negative. */
  readonly sinkingAirMps: number;
  readonly air: Air;
  readonly wind: WindProfile;
  /** Longest integration step, m; without it {@link DEFAULT_STEP_M}. */
  readonly maxStepM?: number;
}

/** The result of a glide that gets on all the way. */
export interface Glide {
  readonly problem: null;
  /** Altitude at the end that was asked for: the far end of a forward glide, the near end of a backward one. */
  readonly altitudeM: number;
  /** Time in the air, s. */
  readonly timeS: number;
  /** The headwind's mean over the distance, m/s; 0 over no distance. */
  readonly meanHeadwindMps: number;
}

/** Why and where a glide makes no headway. */
export interface NoHeadway {
  readonly problem: 'no-headway';
  readonly reason: 'crosswind' | 'headwind';
  /** Distance from the start of the track, m. */
  readonly xM: number;
  readonly altitudeM: number;
  readonly tasMps: number;
  readonly headMps: number;
  readonly crossMps: number;
}

/** A point of a glide. */
export interface GlidePoint {
  readonly xM: number;
  readonly altitudeM: number;
  /** Time since the glide's beginning, s. */
  readonly timeS: number;
}

/**
 * The integration step used unless the setting says otherwise, m. Halving it changes 100 km by far less than 0.1 m.
 */
export const DEFAULT_STEP_M = 2000;

const RADIANS = Math.PI / 180;

/** The courses at the steps' ends and middles. */
interface Courses {
  readonly fromX: number;
  readonly toX: number;
  /** So many steps were asked for, and so many it took. */
  readonly asked: number;
  readonly steps: number;
  readonly stepM: number;
  readonly sin: Float64Array;
  readonly cos: Float64Array;
}

/** A speed search flies the same track many times: its courses are kept as long as the track is. */
const coursesOfTrack = new WeakMap<Track, Courses[]>();
const KEPT_PER_TRACK = 32;

/** From one of these to the next the course may turn by so much, radians; it makes 0.01 % of the wind. */
const MOST_TURN = 0.01;
/** There are no more steps for that than these: over a pole itself the course turns at once. */
const MOST_STEPS = 1000;

/**
 * A part of a course that turns less than this from end to end, radians, is a parabola through three of its places, if
 * another place lies on it as closely as that: away from the poles it is within a ten-millionth.
 */
const LITTLE_TURN = 0.01;
const CLOSELY = 1e-6;
/** Parts of so few places are computed one by one: a parabola takes four of them. */
const FEW_PLACES = 4;

function computeCourses(part: Omit<Courses, 'sin' | 'cos'>, track: Track): Courses {
  const { fromX, stepM, steps } = part;
  const last = 2 * steps;
  const sin = new Float64Array(last + 1);
  const cos = new Float64Array(last + 1);
  const computed = { ...part, sin, cos };
  const compute = (i: number): void => {
    const course = track.courseAt(fromX + (i * stepM) / 2) * RADIANS;
    sin[i] = Math.sin(course);
    cos[i] = Math.cos(course);
  };
  /** The places between two that are computed. */
  const between = (from: number, to: number): void => {
    if (to - from < FEW_PLACES) {
      for (let i = from + 1; i < to; i += 1) compute(i);
      return;
    }
    const middle = (from + to) >> 1;
    compute(middle);
    if (turned(computed, from, middle) + turned(computed, middle, to) < LITTLE_TURN) {
      fillParabola(sin, from, middle, to);
      fillParabola(cos, from, middle, to);
      const quarter = (from + middle) >> 1;
      const [sinThere = 0, cosThere = 0] = [sin[quarter], cos[quarter]];
      compute(quarter);
      if (Math.hypot(sinThere - (sin[quarter] ?? 0), cosThere - (cos[quarter] ?? 0)) < CLOSELY) return;
    }
    between(from, middle);
    between(middle, to);
  };
  compute(0);
  compute(last);
  between(0, last);
  return computed;
}

/** How far the course turns between two of its places, radians, while that is little. */
function turned({ sin, cos }: Courses, i: number, j: number): number {
  return Math.hypot((sin[i] ?? 0) - (sin[j] ?? 0), (cos[i] ?? 0) - (cos[j] ?? 0));
}

/** Puts the parabola through three values between them. */
function fillParabola(values: Float64Array, from: number, middle: number, to: number): void {
  const [a = 0, b = 0, c = 0] = [values[from], values[middle], values[to]];
  const down = from - middle;
  const up = to - middle;
  const bend = ((c - b) / up - (a - b) / down) / (to - from);
  const tilt = (c - b) / up - bend * up;
  for (let i = from + 1; i < to; i += 1) {
    const d = i - middle;
    values[i] = b + (tilt + bend * d) * d;
  }
}

/** Whether the course turns too much from one place to the next for a straight line between them. */
function turnsMuch(courses_: Courses): boolean {
  for (let i = 1; i < courses_.sin.length; i += 1) if (turned(courses_, i, i - 1) > MOST_TURN) return true;
  return false;
}

function courses(track: Track, fromX: number, toX: number, maxStepM: number): Courses {
  const asked = Math.max(1, Math.ceil((toX - fromX) / maxStepM));
  const kept = coursesOfTrack.get(track) ?? [];
  for (const one of kept) if (one.fromX === fromX && one.toX === toX && one.asked === asked) return one;
  const made = (steps: number) => computeCourses({ fromX, toX, asked, steps, stepM: (toX - fromX) / steps }, track);
  let found = made(asked);
  // Beside a pole.
  while (2 * found.steps <= MOST_STEPS && turnsMuch(found)) found = made(2 * found.steps);
  if (found.steps === 1) return found;
  if (kept.length >= KEPT_PER_TRACK) kept.length = 0;
  kept.push(found);
  coursesOfTrack.set(track, kept);
  return found;
}

/**
 * Below this the air is taken to be as dense as here, m. No glider is lower; a glide that is computed on into the
 * ground would otherwise slow down until it seems to make no headway.
 */
export const LOWEST_AIR_M = -5000;

/** A piece of a step changes the altitude by no more: with hardly any headway the glide is steep, m. */
const MOST_HEIGHT_A_PIECE = 250;
/** Nor the wind by more than this, as in a shear, m/s. */
const MOST_WIND_A_PIECE = 1.5;

/** Between the points of a path the wind changes by no more, m/s: a straight line is then off by centimetres. */
const MOST_WIND_BETWEEN_POINTS = 0.05;

/** With less than this share of the airspeed left as headway, pieces grow shorter, down to a least share. */
const PLENTY_LEFT = 0.6;
const LEAST_SHARE = 0.004;

/** A band of the wind in which the air has no kink either. */
interface SmoothBand extends WindBand {
  /** The most that one piece of a step may change the altitude, m. */
  readonly mostHeightM: number;
  /** The same between two points of a path. */
  readonly pointHeightM: number;
}

/** A plan's legs share their wind, so its bands are kept. */
const bandsOfWind = new WeakMap<WindProfile, readonly SmoothBand[]>();

function smoothBands(wind: WindProfile): readonly SmoothBand[] {
  let found = bandsOfWind.get(wind);
  if (!found) {
    const bands: SmoothBand[] = [];
    for (const band of wind.bands) {
      const shear = Math.hypot(band.du, band.dv);
      const mostHeightM = Math.min(MOST_HEIGHT_A_PIECE, MOST_WIND_A_PIECE / shear);
      const pointHeightM = Math.min(MOST_HEIGHT_A_PIECE, MOST_WIND_BETWEEN_POINTS / shear);
      // Where the air is taken to be the same at all heights, and the wind is, so is the slope.
      const anyHeight = shear === 0 ? { mostHeightM: Infinity, pointHeightM: Infinity } : {};
      let lowM = band.lowM;
      for (const cut of [LOWEST_AIR_M, TROPOPAUSE_M, HIGHEST_ALTITUDE_M, Infinity]) {
        const highM = Math.min(cut, band.highM);
        if (lowM >= highM) continue;
        const isEven = cut === LOWEST_AIR_M || lowM === HIGHEST_ALTITUDE_M;
        bands.push({ ...band, lowM, highM, mostHeightM, pointHeightM, ...(isEven ? anyHeight : {}) });
        lowM = highM;
      }
    }
    found = bands;
    bandsOfWind.set(wind, found);
  }
  return found;
}

/** What one integration holds fixed. */
interface Flight {
  readonly indicatedMps: number;
  readonly plannedSinkMps: number;
  readonly sinkingAirMps: number;
  readonly air: Air;
  readonly sin: Float64Array;
  readonly cos: Float64Array;
}

/*
 * What `slope` and `rungeKutta` return besides their number. One fixed array, as the inner loop must not allocate;
 * nothing outlives a call of `integrate`.
 */
const out = new Float64Array(9);
const GROUND_SPEED = 0;
const HEAD = 1;
const TIME = 2;
const HEADWIND = 3;
const FAILED = 4;
const FAILED_AT = 5;
const FAILED_ALTITUDE = 6;
const FAILED_TAS = 7;
const FAILED_CROSS = 8;

/** dh/dx at `at` (in half steps along the courses) and altitude `h`, with the wind of `band`. */
function slope(flight: Flight, at: number, h: number, band: WindBand): number {
  const i = Math.floor(at);
  const part = at - i;
  let sin = flight.sin[i] ?? 0;
  let cos = flight.cos[i] ?? 0;
  if (part > 0) {
    sin += part * ((flight.sin[i + 1] ?? sin) - sin);
    cos += part * ((flight.cos[i + 1] ?? cos) - cos);
  }
  let u = band.u;
  let v = band.v;
  if (band.du !== 0 || band.dv !== 0) {
    // A trial may reach beyond the band: the wind there is not that of this band's line.
    const dh = Math.min(Math.max(h, band.lowM), band.highM) - band.fromM;
    u += band.du * dh;
    v += band.dv * dh;
  }
  const head = -(u * sin + v * cos);
  const cross = v * sin - u * cos;
  const thinner = tasPerIas(flight.air, Math.max(h, LOWEST_AIR_M));
  const tas = flight.indicatedMps * thinner;
  const square = tas * tas - cross * cross;
  const groundSpeed = square > 0 ? Math.sqrt(square) - head : 0;
  if (!(groundSpeed > 0)) {
    if (out[FAILED] === 0) {
      out[FAILED] = square > 0 ? 2 : 1;
      out[FAILED_AT] = at;
      out[FAILED_ALTITUDE] = h;
      out[FAILED_TAS] = tas;
      out[FAILED_CROSS] = cross;
      out[HEAD] = head;
    }
    return 0;
  }
  if (out[FAILED] === 0) out[HEAD] = head;
  out[GROUND_SPEED] = groundSpeed;
  return -(flight.plannedSinkMps * thinner + flight.sinkingAirMps) / groundSpeed;
}

/**
 * One step of `span` half steps (`dx` metres, negative backwards) from `at` and `h`: the altitude it leads to. `k1` is
 * the slope there, with its ground speed and headwind.
 */
function rungeKutta(
  flight: Flight,
  at: number,
  span: number,
  dx: number,
  h: number,
  band: WindBand,
  k1: number,
  groundSpeed: number,
  headwind: number,
): number {
  const k2 = slope(flight, at + span / 2, h + (k1 * dx) / 2, band);
  let time = 1 / groundSpeed + 2 / (out[GROUND_SPEED] ?? 1);
  let head = headwind + 2 * (out[HEAD] ?? 0);
  const k3 = slope(flight, at + span / 2, h + (k2 * dx) / 2, band);
  time += 2 / (out[GROUND_SPEED] ?? 1);
  head += 2 * (out[HEAD] ?? 0);
  const k4 = slope(flight, at + span, h + k3 * dx, band);
  time += 1 / (out[GROUND_SPEED] ?? 1);
  if (out[FAILED] !== 0) return h;
  out[TIME] = (time * dx) / 6;
  out[HEADWIND] = ((head + (out[HEAD] ?? 0)) * dx) / 6;
  return h + ((k1 + 2 * k2 + 2 * k3 + k4) * dx) / 6;
}

/** A glide this near a border between wind bands is on it, m. */
const ON_BORDER = 1e-6;
/** Tries at hitting a border or the end of headway with one piece of a step. */
const MOST_TRIES = 24;
/** How closely the place where headway ends is found, m. */
const STOPPED_WITHIN_M = 0.5;
/** A step is cut no more often than this, so that it always ends: such a glide is a fall. */
const MOST_PIECES = 1000;

function requireGlide(
  setting: GlideSetting,
  indicatedMps: number,
  fromX: number,
  toX: number,
  altitudeM: number,
): void {
  const { a, b, c, massKg } = setting.polar;
  const sum = a + b + c + massKg + setting.massKg + setting.share + setting.sinkingAirMps + fromX + toX + altitudeM;
  if (!Number.isFinite(sum) || !(indicatedMps > 0) || !Number.isFinite(indicatedMps) || toX < fromX) {
    throw new RangeError('a glide needs finite numbers, an airspeed above zero and an end after its beginning');
  }
  if (!((setting.maxStepM ?? DEFAULT_STEP_M) > 0)) throw new RangeError(`not a step: ${setting.maxStepM} m`);
  requireAir(setting.air);
}

/**
 * Integrates either way. `visit` sees the beginning of a forward glide and the end of every piece of a step, and says
 * whether that is enough: the glide ends there.
 */
function integrate(
  setting: GlideSetting,
  indicatedMps: number,
  fromX: number,
  toX: number,
  altitudeM: number,
  backward: boolean,
  visit: ((xM: number, altitudeM: number, timeS: number) => boolean) | null,
): Glide | NoHeadway {
  requireGlide(setting, indicatedMps, fromX, toX, altitudeM);
  const isEnough = visit?.(fromX, altitudeM, 0) === true;
  if (isEnough || toX === fromX) return { problem: null, altitudeM, timeS: 0, meanHeadwindMps: 0 };
  const { steps, stepM, sin, cos } = courses(setting.track, fromX, toX, setting.maxStepM ?? DEFAULT_STEP_M);
  const plannedPolar = planned(setting.polar, setting.massKg, setting.share);
  const flight: Flight = {
    indicatedMps,
    plannedSinkMps: sinkAt(plannedPolar, indicatedMps),
    sinkingAirMps: setting.sinkingAirMps,
    air: setting.air,
    sin,
    cos,
  };
  const bands = smoothBands(setting.wind);
  const way = backward ? -1 : 1;
  out[FAILED] = 0;
  let bandNumber = bandAt(bands, altitudeM);
  let h = altitudeM;
  let timeS = 0;
  let headwind = 0;
  for (let i = 0; i < steps; i += 1) {
    const start = backward ? 2 * (steps - i) : 2 * i;
    let done = 0; // share of this step
    for (let pieces = 0; done < 1; pieces += 1) {
      const band = bands[bandNumber];
      if (!band) break;
      let part = 1 - done;
      let next = h;
      const at = start + way * 2 * done;
      const k1 = slope(flight, at, h, band);
      const first = k1 * way * stepM;
      const groundSpeed = out[GROUND_SPEED] ?? 1;
      const head = out[HEAD] ?? 0;
      if (out[FAILED] === 0) {
        const cut = pieces < MOST_PIECES;
        if (cut && first !== 0) {
          // Where headway, or the airspeed left along the course, runs short, the slope bends sharply.
          const left = Math.min(groundSpeed, groundSpeed + head) / (PLENTY_LEFT * indicatedMps);
          const whole = visit ? band.pointHeightM : band.mostHeightM;
          const most = left < 1 ? whole * Math.max(left * Math.sqrt(left), LEAST_SHARE) : whole;
          part = Math.min(part, most / Math.abs(first));
        }
        if (cut) {
          // On a border the glide belongs to the band that it moves into.
          if (first < 0 && h - band.lowM < ON_BORDER && bandNumber > 0) {
            bandNumber -= 1;
            continue;
          }
          if (first > 0 && band.highM - h < ON_BORDER && bandNumber < bands.length - 1) {
            bandNumber += 1;
            continue;
          }
          // Aim for the border that lies ahead.
          if (first !== 0) part = Math.min(part, ((first < 0 ? band.lowM : band.highM) - h) / first);
        }
        for (let tries = 0; ; tries += 1) {
          next = rungeKutta(flight, at, way * 2 * part, way * part * stepM, h, band, k1, groundSpeed, head);
          if (!cut || tries === MOST_TRIES) break;
          if (out[FAILED] !== 0) {
            // Headway ends within this piece: closer to where.
            if (part * stepM < STOPPED_WITHIN_M) break;
            part /= 2;
            out[FAILED] = 0;
            continue;
          }
          // Past the border: back to it by the secant.
          const over = Math.min(Math.max(next, band.lowM), band.highM);
          if (Math.abs(next - over) < ON_BORDER / 2 || next === h) break;
          part *= Math.max((over - h) / (next - h), 0.01);
        }
      }
      if (out[FAILED] !== 0 || !Number.isFinite(next)) {
        return {
          problem: 'no-headway',
          reason: out[FAILED] === 1 ? 'crosswind' : 'headwind',
          xM: fromX + ((out[FAILED] === 0 ? at : (out[FAILED_AT] ?? at)) * stepM) / 2,
          altitudeM: out[FAILED] === 0 ? h : (out[FAILED_ALTITUDE] ?? h),
          tasMps:
            out[FAILED] === 0
              ? indicatedMps * tasPerIas(setting.air, Math.max(h, LOWEST_AIR_M))
              : (out[FAILED_TAS] ?? 0),
          headMps: out[HEAD] ?? 0,
          crossMps: out[FAILED] === 0 ? 0 : (out[FAILED_CROSS] ?? 0),
        };
      }
      h = next;
      done = part >= 1 - done ? 1 : done + part;
      timeS += Math.abs(out[TIME] ?? 0);
      headwind += way * (out[HEADWIND] ?? 0);
      if (visit?.(i + done === steps ? toX : fromX + (i + done) * stepM, h, timeS))
        return { problem: null, altitudeM: h, timeS, meanHeadwindMps: headwind / ((i + done) * stepM) };
    }
  }
  return { problem: null, altitudeM: h, timeS, meanHeadwindMps: headwind / (toX - fromX) };
}

/**
 * Glides at the indicated airspeed (m/s, above 0) from `fromX` to `toX` (metres along the track, fromX <= toX),
 * starting at `fromAltitudeM`. The altitude at the end may be below ground or zero; below -5000 m the air is as dense as
 * there. Returns where and why when there is no headway. Throws RangeError for numbers that are not finite, a speed,
 * mass or share not above zero, and a bad QNH. Error below 0.1 m in 100 km. Source: dh/dx = -(W/P + s)/G, Runge-Kutta.
 */
export function glideForward(
  setting: GlideSetting,
  indicatedMps: number,
  fromX: number,
  toX: number,
  fromAltitudeM: number,
): Glide | NoHeadway {
  return integrate(setting, indicatedMps, fromX, toX, fromAltitudeM, false, null);
}

/**
 * The altitude required at `fromX` so as to arrive at `toX` at `altitudeAtEndM`; otherwise as {@link glideForward}, of
 * which it is the inverse.
 */
export function glideBackward(
  setting: GlideSetting,
  indicatedMps: number,
  fromX: number,
  toX: number,
  altitudeAtEndM: number,
): Glide | NoHeadway {
  return integrate(setting, indicatedMps, fromX, toX, altitudeAtEndM, true, null);
}

/**
 * The points of a forward glide, both ends included: at the integration steps, and where the wind changes on the way, so
 * closely that a straight line between them is off by less than 0.1 m. Where there is no headway it ends at the last one
 * before, and behind the first altitude at which `isEnough`. Otherwise as {@link glideForward}.
 */
export function glidePath(
  setting: GlideSetting,
  indicatedMps: number,
  fromX: number,
  toX: number,
  fromAltitudeM: number,
  isEnough: (altitudeM: number) => boolean = () => false,
): GlidePoint[] {
  const points: GlidePoint[] = [];
  integrate(setting, indicatedMps, fromX, toX, fromAltitudeM, false, (xM, altitudeM, timeS) => {
    points.push({ xM, altitudeM, timeS });
    return isEnough(altitudeM);
  });
  return points;
}
