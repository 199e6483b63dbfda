/**
 * A second, separately made reading of the flight model, to check the program's numbers against.
 *
 * Nothing here comes from the program: plans are read line by line with a few regular expressions, geodesics are
 * Vincenty's, the polar is fitted with orthogonal polynomials, and the glide is solved the other way round. The program
 * steps along the ground; here the altitude is the independent variable. Sinking is what always goes on in a glide, so
 * `dx/dh = −G/sink` and `dt/dh = −1/sink` have no singular point while the glider makes headway, the layers of wind are
 * known limits of the integration, and apart from the slow turning of the course it is plain Gauss quadrature.
 *
 * Where the design leaves a choice, this is what is taken:
 * - The mean headwind is a mean over the ground covered, not over time.
 * - Best glide on a leg with climbs along it asks least of the sum: lost before each climb, and required after the last.
 * - Only the glide after the last climb of a leg can fail to get there. `fastest` also asks that no climb along the leg
 *   begins below the ground at both of its ends: no glider gets to such a climb.
 * - Each budget term is the difference from the height at which each piece is really flown, added up over the pieces.
 * - A turn over a field asks what the field and `arrive` ask; a finish over a turnpoint asks `turn`.
 * - After a leg that does not get there the next starts at the height asked, or at the top of a climb overhead.
 * - Without a pilot's mass, the polar's mass holds. Ballast is added to either.
 * - Above 11 km the standard atmosphere is isothermal; below −5 km, where its tables end, the density stays.
 *
 * Everything is SI: m, m/s, kg, Pa, K, s; directions in radians inside, in degrees where results are handed out.
 */

// ── Constants ────────────────────────────────────────────────────────────────────────────────────────────────────────

/** ICAO Doc 7488/3, table of primary constants; the lapse rate is that of the layer below 11 km. */
const ISA = { temperature: 288.15, pressure: 101_325, lapse: 0.0065, gas: 287.052_87, gravity: 9.806_65 } as const;
const PRESSURE_EXPONENT = ISA.gravity / (ISA.gas * ISA.lapse);
const SEA_LEVEL_DENSITY = ISA.pressure / (ISA.gas * ISA.temperature);

/** WGS 84, NIMA TR8350.2: semi-major axis and flattening. */
const EARTH = { a: 6_378_137, f: 1 / 298.257_223_563 } as const;

const RAD = Math.PI / 180;

/** Exact by definition: 1959 yard and pound agreement, 1929 nautical mile, the conventional inch of mercury. */
const LENGTH: Record<string, number> = { m: 1, km: 1000, ft: 0.3048, nm: 1852, mi: 1609.344 };
const SPEED: Record<string, number> = {
  kt: 1852 / 3600,
  'km/h': 1 / 3.6,
  mph: 1609.344 / 3600,
  'm/s': 1,
  'ft/min': 0.3048 / 60,
};
const MASS: Record<string, number> = { kg: 1, lb: 0.453_592_37 };
const PRESSURE: Record<string, number> = { hpa: 100, inhg: 3386.389 };

// ── What a plan holds ────────────────────────────────────────────────────────────────────────────────────────────────

/** A height as written: metres, and above what. A flight level is held as its pressure altitude. */
export interface Height {
  readonly metres: number;
  readonly datum: 'MSL' | 'AGL' | 'FL';
}

export interface Point {
  readonly kind: 'field' | 'turnpoint';
  readonly latitude: number;
  readonly longitude: number;
  elevation: number;
  arrive: Height | null;
}

export interface Aircraft {
  readonly points: { readonly speed: number; readonly sink: number }[];
  bestGlide: { readonly ratio: number; readonly speed: number } | null;
  minimumSink: number;
  polarMass: number;
  emptyMass: number;
  vs: number;
  vno: number;
  vne: number;
}

export interface Weather {
  qnh: number;
  temperature: { readonly kelvin: number; readonly at: Height } | null;
  readonly wind: { readonly at: Height | 'surface'; readonly from: number; readonly speed: number }[];
  lift: number;
  sink: number;
}

export interface Reserve {
  arrive: Height | null;
  turn: Height | null;
  performance: { readonly share: number } | { readonly ratio: number };
  altimeter: number;
}

export type Speed =
  | { readonly kind: 'indicated'; readonly speed: number }
  | { readonly kind: 'bestGlide' }
  | { readonly kind: 'maccready'; readonly climb: number };

export interface Climb {
  readonly top: Height;
  readonly rate: number | null;
  readonly after: number | null;
}

export type Step =
  | { readonly kind: 'start'; readonly point: string; readonly at: Height }
  | { readonly kind: 'climb'; readonly climb: Climb }
  | { readonly kind: 'glide'; readonly point: string; readonly speed: Speed };

export interface Task {
  readonly name: string;
  aircraft: string;
  pilot: number;
  ballast: number;
  weather: string;
  reserve: string;
  readonly steps: Step[];
}

export interface Plan {
  readonly points: Map<string, Point>;
  readonly aircraft: Map<string, Aircraft>;
  readonly weather: Map<string, Weather>;
  readonly reserves: Map<string, Reserve>;
  readonly tasks: Task[];
}

// ── Reading ──────────────────────────────────────────────────────────────────────────────────────────────────────────

const NAME = '("[^"]*"|[\\p{L}_][\\p{L}\\p{M}\\p{N}_-]*)';
const NUMBER = '([-−]?\\d+(?:\\.\\d+)?)';
const HEIGHT = `(FL\\s*\\d+|${NUMBER}\\s*(?:m|km|ft|NM|mi)\\s+(?:MSL|AGL))`;
const SPEED_WORDS = `${NUMBER}\\s*(kt|km/h|mph|m/s|ft/min)`;

const number = (text: string | undefined): number => Number((text ?? 'nothing').replace('−', '-'));

function quantity(units: Record<string, number>, value: string | undefined, unit: string | undefined): number {
  const size = units[(unit ?? '').toLowerCase()];
  const result = number(value) * (size ?? Number.NaN);
  if (Number.isNaN(result)) throw new Error(`not a quantity: ${value} ${unit}`);
  return result;
}

/** `1000 ft AGL`, `3000 ft MSL` or `FL65`: one flight level is 100 ft of pressure altitude. */
function height(text: string): Height {
  const level = /^FL\s*(\d+)$/i.exec(text);
  if (level) return { metres: number(level[1]) * 100 * 0.3048, datum: 'FL' };
  const words = /^([-−]?[\d.]+)\s*(\S+)\s+(MSL|AGL)$/i.exec(text);
  if (!words) throw new Error(`not a height: ${text}`);
  return { metres: quantity(LENGTH, words[1], words[2]), datum: words[3]?.toUpperCase() === 'AGL' ? 'AGL' : 'MSL' };
}

const ANGLE = '(\\d+(?:\\.\\d+)?)\\s*(?:°\\s*)?(?:(\\d+(?:\\.\\d+)?)\'\\s*)?(?:(\\d+(?:\\.\\d+)?)"\\s*)?';

function angle(parts: readonly (string | undefined)[], negative: string): number {
  const [degrees, minutes, seconds, letter] = parts;
  const size = number(degrees) + number(minutes ?? '0') / 60 + number(seconds ?? '0') / 3600;
  return letter?.toUpperCase() === negative ? -size : size;
}

/** One way of writing a detail, and what it says. */
type Detail = readonly [pattern: RegExp, read: (words: readonly string[]) => void];

const detail = (pattern: string, read: (words: readonly string[]) => void): Detail => [
  new RegExp(`^${pattern}$`, 'iu'),
  read,
];

/** A detail that the numbers do not depend on. */
const ignored = (word: string): Detail => detail(`${word}(?: .*)?`, () => {});

const unquoted = (name: string | undefined): string => (name ?? '').replaceAll('"', '').normalize('NFC');

const POINT_DETAILS = (point: Point): Detail[] => [
  detail(`elevation ${NUMBER}\\s*(\\S+)(?: MSL)?`, ([value, unit]) => {
    point.elevation = quantity(LENGTH, value, unit);
  }),
  detail(`arrive ${HEIGHT}`, ([at]) => {
    point.arrive = height(at ?? '');
  }),
  ...['runway', 'frequency', 'note', 'radius'].map(ignored),
];

function aircraftDetails(aircraft: Aircraft): Detail[] {
  const speedLimit = (key: 'vs' | 'vno' | 'vne') =>
    detail(`${key} ${SPEED_WORDS}`, ([value, unit]) => {
      aircraft[key] = quantity(SPEED, value, unit);
    });
  const mass = (words: string, key: 'polarMass' | 'emptyMass') =>
    detail(`${words} ${NUMBER}\\s*(kg|lb)`, ([value, unit]) => {
      aircraft[key] = quantity(MASS, value, unit);
    });
  return [
    mass('polar mass', 'polarMass'),
    mass('empty mass', 'emptyMass'),
    detail(`polar ${SPEED_WORDS} sink ${SPEED_WORDS}`, ([speed, speedUnit, sink, sinkUnit]) => {
      aircraft.points.push({ speed: quantity(SPEED, speed, speedUnit), sink: quantity(SPEED, sink, sinkUnit) });
    }),
    detail(`best glide ${NUMBER}\\s*:\\s*1 at ${SPEED_WORDS}`, ([ratio, speed, unit]) => {
      aircraft.bestGlide = { ratio: number(ratio), speed: quantity(SPEED, speed, unit) };
    }),
    detail(`minimum sink ${SPEED_WORDS} at ${SPEED_WORDS}`, ([sink, unit]) => {
      aircraft.minimumSink = quantity(SPEED, sink, unit);
    }),
    ...(['vs', 'vno', 'vne'] as const).map(speedLimit),
    ...['maximum mass', 'ballast', 'pilot', 'va', 'crosswind', 'note'].map(ignored),
  ];
}

function weatherDetails(weather: Weather): Detail[] {
  return [
    detail(`qnh ${NUMBER}\\s*(hPa|inHg)`, ([value, unit]) => {
      weather.qnh = quantity(PRESSURE, value, unit);
    }),
    detail(`temperature ${NUMBER}\\s*°?\\s*([CF]) at ${HEIGHT}`, ([value, unit, at]) => {
      const celsius = unit?.toUpperCase() === 'F' ? ((number(value) - 32) * 5) / 9 : number(value);
      weather.temperature = { kelvin: celsius + 273.15, at: height(at ?? '') };
    }),
    detail(
      `wind (?:(surface)|${HEIGHT}) from ${NUMBER}\\s*° at ${SPEED_WORDS}(?: ±.*)?`,
      ([surface, at, , from, speed, unit]) => {
        weather.wind.push({
          at: surface ? 'surface' : height(at ?? ''),
          from: number(from) * RAD,
          speed: quantity(SPEED, speed, unit),
        });
      },
    ),
    detail(`lift ${SPEED_WORDS}(?: to .*)?`, ([value, unit]) => {
      weather.lift = quantity(SPEED, value, unit);
    }),
    detail(`sink ${SPEED_WORDS}`, ([value, unit]) => {
      weather.sink = quantity(SPEED, value, unit);
    }),
    ...['date', 'cloudbase', 'thermals'].map(ignored),
  ];
}

function reserveDetails(reserve: Reserve): Detail[] {
  return [
    detail(`arrive ${HEIGHT}`, ([at]) => {
      reserve.arrive = height(at ?? '');
    }),
    detail(`turn ${HEIGHT}`, ([at]) => {
      reserve.turn = height(at ?? '');
    }),
    detail(`performance ${NUMBER}\\s*%`, ([value]) => {
      reserve.performance = { share: number(value) / 100 };
    }),
    detail(`performance ${NUMBER}\\s*:\\s*1`, ([value]) => {
      reserve.performance = { ratio: number(value) };
    }),
    detail(`altimeter ${NUMBER}\\s*(\\S+)`, ([value, unit]) => {
      reserve.altimeter = quantity(LENGTH, value, unit);
    }),
    ignored('clear'),
  ];
}

function speedOf(text: string | undefined): Speed {
  if (!text || /^at best glide$/i.test(text)) return { kind: 'bestGlide' };
  const words = new RegExp(`^at (maccready )?${SPEED_WORDS}$`, 'i').exec(text);
  if (!words) throw new Error(`not a speed: ${text}`);
  const value = quantity(SPEED, words[2], words[3]);
  return words[1] ? { kind: 'maccready', climb: value } : { kind: 'indicated', speed: value };
}

function taskDetails(task: Task): Detail[] {
  return [
    detail(
      `aircraft ${NAME}(?: with pilot ${NUMBER}\\s*(kg|lb))?(?: and ballast ${NUMBER}\\s*(kg|lb))?`,
      ([name, pilot, pilotUnit, ballast, ballastUnit]) => {
        task.aircraft = unquoted(name);
        if (pilot) task.pilot = quantity(MASS, pilot, pilotUnit);
        if (ballast) task.ballast = quantity(MASS, ballast, ballastUnit);
      },
    ),
    detail(`weather ${NAME}`, ([name]) => {
      task.weather = unquoted(name);
    }),
    detail(`reserve ${NAME}`, ([name]) => {
      task.reserve = unquoted(name);
    }),
    detail(`start ${NAME} at ${HEIGHT}`, ([point, at]) => {
      task.steps.push({ kind: 'start', point: unquoted(point), at: height(at ?? '') });
    }),
    detail(
      `climb to ${HEIGHT}(?: at ${SPEED_WORDS})?(?: after ${NUMBER}\\s*(m|km|ft|NM|mi))?`,
      ([top, , rate, rateUnit, after, afterUnit]) => {
        task.steps.push({
          kind: 'climb',
          climb: {
            top: height(top ?? ''),
            rate: rate ? quantity(SPEED, rate, rateUnit) : null,
            after: after ? quantity(LENGTH, after, afterUnit) : null,
          },
        });
      },
    ),
    detail(`(?:turn|finish) ${NAME}(?: (at .*))?`, ([point, speed]) => {
      task.steps.push({ kind: 'glide', point: unquoted(point), speed: speedOf(speed) });
    }),
    ...['limits', 'takeoff'].map(ignored),
  ];
}

/** Reads a self-contained plan. Throws at the first line that it does not understand: a check must not guess. */
export function readPlan(text: string): Plan {
  const plan: Plan = { points: new Map(), aircraft: new Map(), weather: new Map(), reserves: new Map(), tasks: [] };
  let details: Detail[] = [];
  for (const raw of text.split(/\r?\n/)) {
    const line = raw.replace(/^((?:"[^"]*"|[^"#])*?(?:\d"[^"#]*)*)#.*$/, '$1').trimEnd();
    if (!line) continue;
    if (/^\s/.test(line)) {
      const words = line.trim().replaceAll(/\s+/g, ' ');
      const found = details.find(([pattern]) => pattern.test(words));
      if (!found) throw new Error(`not understood: ${line}`);
      found[1]((found[0].exec(words) ?? []).slice(1));
    } else details = readEntry(plan, line);
  }
  return plan;
}

function readEntry(plan: Plan, line: string): Detail[] {
  const place = new RegExp(`^(field|turnpoint) ${NAME} at ${ANGLE}([NS])\\s*${ANGLE}([EW])$`, 'iu').exec(line);
  if (place) {
    const point: Point = {
      kind: place[1]?.toLowerCase() === 'field' ? 'field' : 'turnpoint',
      latitude: angle(place.slice(3, 7), 'S'),
      longitude: angle(place.slice(7, 11), 'W'),
      elevation: 0,
      arrive: null,
    };
    plan.points.set(unquoted(place[2]), point);
    return POINT_DETAILS(point);
  }
  const entry = new RegExp(`^(aircraft|weather|reserve|task) ${NAME}$`, 'iu').exec(line);
  const name = unquoted(entry?.[2]);
  // Entries that the numbers do not depend on.
  if (/^(units|limits|obstacle|airspace)\b/i.test(line)) return [ignored('.*')];
  switch (entry?.[1]?.toLowerCase()) {
    case 'aircraft': {
      const none = Number.NaN;
      const aircraft: Aircraft = {
        points: [],
        bestGlide: null,
        minimumSink: none,
        polarMass: none,
        emptyMass: none,
        vs: none,
        vno: none,
        vne: none,
      };
      plan.aircraft.set(name, aircraft);
      return aircraftDetails(aircraft);
    }
    case 'weather': {
      const weather: Weather = { qnh: ISA.pressure, temperature: null, wind: [], lift: Number.NaN, sink: 0 };
      plan.weather.set(name, weather);
      return weatherDetails(weather);
    }
    case 'reserve': {
      const reserve: Reserve = { arrive: null, turn: null, performance: { share: 1 }, altimeter: 0 };
      plan.reserves.set(name, reserve);
      return reserveDetails(reserve);
    }
    case 'task': {
      const task: Task = { name, aircraft: '', pilot: Number.NaN, ballast: 0, weather: '', reserve: '', steps: [] };
      plan.tasks.push(task);
      return taskDetails(task);
    }
    default:
      throw new Error(`not understood: ${line}`);
  }
}

// ── Geodesics ────────────────────────────────────────────────────────────────────────────────────────────────────────

/**
 * T. Vincenty, "Direct and inverse solutions of geodesics on the ellipsoid with application of nested equations",
 * Survey Review XXIII no. 176, 1975. Better than 0.1 mm away from antipodal points.
 */
const vincentyCoefficients = (squared: number) => ({
  A: 1 + (squared / 16384) * (4096 + squared * (-768 + squared * (320 - 175 * squared))),
  B: (squared / 1024) * (256 + squared * (-128 + squared * (74 - 47 * squared))),
});

const deltaSigma = (B: number, sinSigma: number, cosSigma: number, cos2m: number) =>
  B *
  sinSigma *
  (cos2m +
    (B / 4) * (cosSigma * (-1 + 2 * cos2m ** 2) - (B / 6) * cos2m * (-3 + 4 * sinSigma ** 2) * (-3 + 4 * cos2m ** 2)));

const longitudeFactor = (cosSqAlpha: number) => (EARTH.f / 16) * cosSqAlpha * (4 + EARTH.f * (4 - 3 * cosSqAlpha));

const SECOND_ECCENTRICITY_SQUARED = (2 * EARTH.f - EARTH.f ** 2) / (1 - EARTH.f) ** 2;

/** The same angle, within half a turn of nothing. */
const nearest = (angle: number, turn: number) => angle - turn * Math.round(angle / turn);

/** Distance in metres and the initial course in radians, from coordinates in degrees. */
export function inverse(
  from: { latitude: number; longitude: number },
  to: { latitude: number; longitude: number },
): { distance: number; course: number } {
  const L = nearest(to.longitude - from.longitude, 360) * RAD;
  const u1 = Math.atan((1 - EARTH.f) * Math.tan(from.latitude * RAD));
  const u2 = Math.atan((1 - EARTH.f) * Math.tan(to.latitude * RAD));
  const [s1, c1, s2, c2] = [Math.sin(u1), Math.cos(u1), Math.sin(u2), Math.cos(u2)];
  let lambda = L;
  for (let i = 0; i < 100; i++) {
    const [sinL, cosL] = [Math.sin(lambda), Math.cos(lambda)];
    const sinSigma = Math.hypot(c2 * sinL, c1 * s2 - s1 * c2 * cosL);
    if (sinSigma === 0) return { distance: 0, course: 0 };
    const cosSigma = s1 * s2 + c1 * c2 * cosL;
    const sigma = Math.atan2(sinSigma, cosSigma);
    const sinAlpha = (c1 * c2 * sinL) / sinSigma;
    const cosSqAlpha = 1 - sinAlpha ** 2;
    const cos2m = cosSqAlpha === 0 ? 0 : cosSigma - (2 * s1 * s2) / cosSqAlpha;
    const C = longitudeFactor(cosSqAlpha);
    const next =
      L + (1 - C) * EARTH.f * sinAlpha * (sigma + C * sinSigma * (cos2m + C * cosSigma * (-1 + 2 * cos2m ** 2)));
    const settled = Math.abs(next - lambda) < 1e-14;
    lambda = next;
    if (!settled) continue;
    const { A, B } = vincentyCoefficients(cosSqAlpha * SECOND_ECCENTRICITY_SQUARED);
    return {
      distance: EARTH.a * (1 - EARTH.f) * A * (sigma - deltaSigma(B, sinSigma, cosSigma, cos2m)),
      course: Math.atan2(c2 * Math.sin(lambda), c1 * s2 - s1 * c2 * Math.cos(lambda)),
    };
  }
  throw new Error('Vincenty does not settle: antipodal points');
}

/** The course in radians after `distance` metres of a geodesic, by the direct problem. */
export function courseAfter(latitude: number, course: number, distance: number): number {
  const [sinC, cosC] = [Math.sin(course), Math.cos(course)];
  const u1 = Math.atan((1 - EARTH.f) * Math.tan(latitude * RAD));
  const [s1, c1] = [Math.sin(u1), Math.cos(u1)];
  const sigma1 = Math.atan2(s1, c1 * cosC);
  const sinAlpha = c1 * sinC;
  const { A, B } = vincentyCoefficients((1 - sinAlpha ** 2) * SECOND_ECCENTRICITY_SQUARED);
  const first = distance / (EARTH.a * (1 - EARTH.f) * A);
  let sigma = first;
  for (let i = 0; i < 50; i++) {
    const next = first + deltaSigma(B, Math.sin(sigma), Math.cos(sigma), Math.cos(2 * sigma1 + sigma));
    const settled = Math.abs(next - sigma) < 1e-14;
    sigma = next;
    if (settled) break;
  }
  return Math.atan2(sinAlpha, -s1 * Math.sin(sigma) + c1 * Math.cos(sigma) * cosC);
}

/** The course along a leg: Newton's interpolation through nine Chebyshev nodes, far below 1e-9 rad on a glider's leg. */
function courseAlong(latitude: number, course: number, distance: number): (x: number) => number {
  const nodes = Array.from({ length: 9 }, (_, i) => (distance / 2) * (1 - Math.cos(((2 * i + 1) * Math.PI) / 18)));
  const turned = nodes.map((x) => nearest(courseAfter(latitude, course, x) - course, 2 * Math.PI));
  for (let order = 1; order < 9; order++)
    for (let i = 8; i >= order; i--)
      turned[i] = ((turned[i] ?? 0) - (turned[i - 1] ?? 0)) / ((nodes[i] ?? 0) - (nodes[i - order] ?? 0));
  return (x) => {
    let value = 0;
    for (let i = 8; i >= 0; i--) value = value * (x - (nodes[i] ?? 0)) + (turned[i] ?? 0);
    return course + value;
  };
}

// ── Air ──────────────────────────────────────────────────────────────────────────────────────────────────────────────

/** What a task's weather is, in numbers. */
interface Air {
  readonly qnh: number;
  readonly warmer: number;
  readonly sink: number;
  /** Upwards; towards the east and the north. */
  readonly layers: readonly { readonly h: number; readonly u: number; readonly v: number }[];
}

/** Doc 7488 tabulates from −5 km; the lapse ends at 11 km, above which the temperature of the standard is constant. */
const LOWEST = -5000;
const TROPOPAUSE = 11_000;

/** √σ at an altitude on QNH (ICAO Doc 7488, with the plan's QNH and a constant deviation of temperature). */
function rootOfRelativeDensity(air: Pick<Air, 'qnh' | 'warmer'>, altitudeM: number): number {
  const h = Math.max(altitudeM, LOWEST);
  const lapsing = Math.min(h, TROPOPAUSE);
  const standard = ISA.temperature - ISA.lapse * lapsing;
  const pressure =
    air.qnh *
    (standard / ISA.temperature) ** PRESSURE_EXPONENT *
    Math.exp((-ISA.gravity * (h - lapsing)) / (ISA.gas * standard));
  return Math.sqrt(pressure / (ISA.gas * (standard + air.warmer)) / SEA_LEVEL_DENSITY);
}

/** A height as an altitude on QNH. The same pressure, read on the other setting of the altimeter: no rule of thumb. */
function altitude(at: Height, qnh: number, elevation: number): number {
  if (at.datum === 'MSL') return at.metres;
  if (at.datum === 'AGL') return elevation + at.metres;
  const pressure = ISA.pressure * (1 - (ISA.lapse * at.metres) / ISA.temperature) ** PRESSURE_EXPONENT;
  return (ISA.temperature / ISA.lapse) * (1 - (pressure / qnh) ** (1 / PRESSURE_EXPONENT));
}

function airOf(weather: Weather, startElevation: number): Air {
  const { qnh, temperature } = weather;
  const at = temperature ? altitude(temperature.at, qnh, startElevation) : 0;
  return {
    qnh,
    warmer: temperature ? temperature.kelvin - (ISA.temperature - ISA.lapse * at) : 0,
    sink: weather.sink,
    layers: weather.wind
      .map((layer) => ({
        h: layer.at === 'surface' ? startElevation : altitude(layer.at, qnh, startElevation),
        u: -layer.speed * Math.sin(layer.from),
        v: -layer.speed * Math.cos(layer.from),
      }))
      .sort((one, other) => one.h - other.h),
  };
}

// ── Polar ────────────────────────────────────────────────────────────────────────────────────────────────────────────

export interface Polar {
  readonly a: number;
  readonly b: number;
  readonly c: number;
}

/**
 * The quadratic polar. Least squares through points by polynomials orthogonal on the speeds (G. E. Forsythe, "Generation
 * and use of orthogonal polynomials for data-fitting", J. SIAM 5, 1957). From figures, with E the best ratio at U and w
 * the least sink: the tangent from the origin touches at U, so `c = aU²` and `b = 1/E − 2aU`; with `c − b²/4a = w` the
 * squares cancel and `a = 1 / (4E² (U/E − w))`.
 */
export function polarOf(aircraft: Aircraft): Polar {
  const { points, bestGlide } = aircraft;
  if (bestGlide) {
    const { ratio, speed } = bestGlide;
    const a = 1 / (4 * ratio ** 2 * (speed / ratio - aircraft.minimumSink));
    return { a, b: 1 / ratio - 2 * a * speed, c: a * speed ** 2 };
  }
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const centre = mean(points.map((p) => p.speed));
  const squares = mean(points.map((p) => (p.speed - centre) ** 2));
  const skew = mean(points.map((p) => (p.speed - centre) ** 3)) / squares;
  const second = (speed: number) => (speed - centre) ** 2 - skew * (speed - centre) - squares;
  const q0 = mean(points.map((p) => p.sink));
  const q1 = mean(points.map((p) => p.sink * (p.speed - centre))) / squares;
  const q2 = mean(points.map((p) => p.sink * second(p.speed))) / mean(points.map((p) => second(p.speed) ** 2));
  return {
    a: q2,
    b: q1 - q2 * (2 * centre + skew),
    c: q0 - q1 * centre + q2 * (centre ** 2 + skew * centre - squares),
  };
}

/** `k W(V/k)` with `k = √(m / m_polar)`. */
const atMass = ({ a, b, c }: Polar, mass: number, polarMass: number): Polar => {
  const k = Math.sqrt(mass / polarMass);
  return { a: a / k, b, c: k * c };
};

// ── Glide ────────────────────────────────────────────────────────────────────────────────────────────────────────────

/** All that the glides of one leg share. */
interface Setting {
  readonly air: Air;
  /** At the mass of the task. */
  readonly polar: Polar;
  readonly share: number;
  readonly course: (x: number) => number;
}

/** Which effects are on; everything, unless a budget term is being worked out. */
interface Effects {
  readonly wind: boolean;
  readonly sink: boolean;
  readonly share: boolean;
}
const ALL: Effects = { wind: true, sink: true, share: true };

/** Three-stage Gauss–Legendre collocation, order six (Hairer, Nørsett & Wanner, "Solving ODEs I", II.7, table 7.4). */
const R15 = Math.sqrt(15);
const NODES = [0.5 - R15 / 10, 0.5, 0.5 + R15 / 10] as const;
const WEIGHTS = [5 / 18, 4 / 9, 5 / 18] as const;
const STAGES = [
  [5 / 36, 2 / 9 - R15 / 15, 5 / 36 - R15 / 30],
  [5 / 36 + R15 / 24, 2 / 9, 5 / 36 - R15 / 24],
  [5 / 36 + R15 / 30, 2 / 9 + R15 / 15, 5 / 36],
] as const;

/** The thickest slice of air that one step goes through, in metres. */
const SLICE = 40;
/** And of those next to a layer of wind. */
const FINEST = 1;

interface Glide {
  /** Where the glide ends. */
  readonly h: number;
  readonly time: number;
  /** ∫ headwind dx. */
  readonly headwindPath: number;
}

/**
 * The glide at an indicated speed through the point (x, h) until it comes to `end`: forward, going down, or backward,
 * going up. Null where the wind leaves no headway.
 */
function glide(setting: Setting, speed: number, x0: number, h0: number, end: number, effects = ALL): Glide | null {
  const { air, polar, course } = setting;
  const share = effects.share ? setting.share : 1;
  const sinkAtSeaLevel = (polar.a * speed * speed + polar.b * speed + polar.c) / share;
  const still = !effects.wind || air.layers.length === 0;
  const direction = end >= x0 ? -1 : 1;
  let [perHeight, perSink, headPerHeight] = [0, 0, 0];

  /** Sets ground gained, time, and headwind × ground, all per metre of height lost; false without headway. */
  const look = (h: number, x: number): boolean => {
    const root = rootOfRelativeDensity(air, h);
    const sink = sinkAtSeaLevel / root + (effects.sink ? air.sink : 0);
    const V = speed / root;
    let ground = V;
    let head = 0;
    if (!still) {
      const chi = course(x);
      const [sin, cos] = [Math.sin(chi), Math.cos(chi)];
      const [u, v] = windAt(air, h);
      head = -(u * sin + v * cos);
      const cross = v * sin - u * cos;
      if (V <= Math.abs(cross)) return false;
      ground = Math.sqrt(V * V - cross * cross) - head;
    }
    if (!(ground > 0)) return false;
    perHeight = ground / sink;
    perSink = 1 / sink;
    headPerHeight = (head * ground) / sink;
    return true;
  };

  const k: [number, number, number] = [0, 0, 0];
  let [gained, seconds, headMetres] = [0, 0, 0];
  /** One step of `d` metres of height from (x, h): sets what it gained; false without headway. */
  const step = (h: number, x: number, d: number): boolean => {
    for (let round = 0; round < 20; round++) {
      let change = 0;
      seconds = 0;
      headMetres = 0;
      for (const i of [0, 1, 2] as const) {
        const [a, b, c] = STAGES[i];
        const onward = d * (a * k[0] + b * k[1] + c * k[2]);
        if (!look(h + direction * NODES[i] * d, x - direction * onward)) return false;
        change = Math.max(change, Math.abs(perHeight - k[i]));
        k[i] = perHeight;
        seconds += WEIGHTS[i] * d * perSink;
        headMetres += WEIGHTS[i] * d * headPerHeight;
      }
      if (change < 1e-11) break;
    }
    gained = d * (WEIGHTS[0] * k[0] + WEIGHTS[1] * k[1] + WEIGHTS[2] * k[2]);
    // Wind is worst at a layer, and the nodes lie between: the end of the step is looked at as well.
    return look(h + direction * d, x - direction * gained);
  };

  let [x, h, time, headwindPath] = [x0, h0, 0, 0];
  const bends = [...air.layers.map((layer) => layer.h), LOWEST, TROPOPAUSE];
  const left = () => Math.abs(end - x);
  for (let steps = 0; steps < 20_000; steps++) {
    if (left() < 1e-9) return { h, time, headwindPath };
    let d = SLICE;
    for (const bend of bends) {
      const away = direction * (bend - h);
      // Where the wind leaves little headway the root in the ground speed bends sharply: steps grow with the distance.
      if (away > 1e-9) d = Math.min(d, away <= FINEST ? away : Math.max(FINEST, away / 2));
      else d = Math.min(d, Math.max(FINEST, -away));
    }
    if (!step(h, x, d)) {
      // The headway may be lost only beyond the end: a thinner slice tells.
      d = d / 1024;
      if (!step(h, x, d)) return null;
    }
    if (gained >= left()) {
      // The step goes past the end: Newton's method for the slice that ends there.
      for (let i = 0; i < 20; i++) {
        const over = gained - left();
        if (Math.abs(over) < 1e-10) break;
        if (!look(h + direction * d, end)) return null;
        d = Math.max(0, d - over / perHeight);
        if (!step(h, x, d)) return null;
      }
      return { h: h + direction * d, time: time + seconds, headwindPath: headwindPath + headMetres };
    }
    x -= direction * gained;
    h += direction * d;
    time += seconds;
    headwindPath += headMetres;
  }
  return null;
}

function windAt(air: Air, h: number): readonly [number, number] {
  const { layers } = air;
  let below = layers[0];
  if (!below) return [0, 0];
  for (const above of layers) {
    if (h < above.h) {
      if (above === below) return [above.u, above.v];
      const part = (h - below.h) / (above.h - below.h);
      return [below.u + part * (above.u - below.u), below.v + part * (above.v - below.v)];
    }
    below = above;
  }
  return [below.u, below.v];
}

// ── Searches ─────────────────────────────────────────────────────────────────────────────────────────────────────────

/** A zero of a rising function between `low` and `high`, by bisection. */
function bisect(rising: (value: number) => number, low: number, high: number, precision: number): number {
  let [below, above] = [low, high];
  while (above - below > precision) {
    const middle = (below + above) / 2;
    if (rising(middle) < 0) below = middle;
    else above = middle;
  }
  return (below + above) / 2;
}

/** The height to leave `from` at, to come to `to` at `asked`: bisection on the forward glide. */
function requiredHeight(setting: Setting, speed: number, from: number, to: number, asked: number): number | null {
  const over = (h: number) => (glide(setting, speed, from, h, to)?.h ?? Number.NEGATIVE_INFINITY) - asked;
  let high = asked + 100;
  while (over(high) < 0) {
    high = asked + (high - asked) * 2;
    if (high > 40_000) return null;
  }
  const required = bisect(over, asked, high, 1e-5);
  // Where the headway ends, the arrival jumps past what is asked instead of meeting it: no height will do.
  return Math.abs(over(required)) < 0.01 ? required : null;
}

/** The least of a function on [low, high]: a dense scan, then parabolas through ever closer neighbours. */
function leastAt(f: (value: number) => number, low: number, high: number): number {
  const count = 160;
  const spacing = (high - low) / count;
  let best = low;
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i <= count; i++) {
    const value = f(low + i * spacing);
    if (value < least) [best, least] = [low + i * spacing, value];
  }
  if (least === Number.POSITIVE_INFINITY) return Number.NaN;
  for (let reach = spacing; reach > 0.004; reach /= 2) {
    const centre = Math.min(Math.max(best, low + reach), high - reach);
    const [left, middle, right] = [f(centre - reach), f(centre), f(centre + reach)];
    const curvature = left - 2 * middle + right;
    const vertex = curvature > 0 ? centre + ((left - right) / (2 * curvature)) * reach : left < right ? low : high;
    best = Number.isFinite(vertex) ? Math.min(Math.max(vertex, centre - reach), centre + reach) : centre;
  }
  return best;
}

// ── The task ─────────────────────────────────────────────────────────────────────────────────────────────────────────

export interface LegResult {
  readonly number: number;
  readonly from: string;
  readonly to: string;
  readonly distanceM: number;
  readonly courseDeg: number;
  readonly speedKind: string;
  readonly indicatedMps: number;
  readonly departAltitudeM: number;
  readonly departAssumed: boolean;
  readonly askedAltitudeM: number;
  /** Null, like all that hangs on the flight, where the wind leaves no headway. */
  readonly flown: FlownLeg | null;
  readonly requiredDepartAltitudeM: number | null;
  readonly fastestIndicatedMps: number | null;
  readonly fastestUpToVneMps: number | null;
  /** NaN where no speed makes headway. */
  readonly bestGlideIndicatedMps: number;
}

export interface FlownLeg {
  readonly arriveAltitudeM: number;
  readonly arriveHeightM: number;
  readonly marginM: number;
  readonly timeS: number;
  readonly meanGroundSpeedMps: number;
  readonly meanHeadwindMps: number;
  readonly glideRatioOverGround: number;
  readonly climbs: readonly { readonly afterM: number; readonly fromAltitudeM: number; readonly toAltitudeM: number }[];
  readonly budgetM: {
    readonly stillAir: number;
    readonly wind: number;
    readonly sinkingAir: number;
    readonly performance: number;
    readonly reserve: number;
    readonly altimeter: number;
    readonly margin: number;
  };
  readonly reachesGroundAfterM: number | null;
}

export interface TaskResult {
  readonly name: string;
  readonly massKg: number;
  readonly performanceShare: number;
  readonly temperatureDeviationK: number;
  readonly polar: Polar & { readonly massKg: number };
  readonly legs: readonly LegResult[];
  readonly totals: {
    readonly distanceM: number;
    readonly glideTimeS: number;
    readonly climbTimeS: number;
    readonly timeS: number;
  };
}

function named<T>(entries: ReadonlyMap<string, T>, name: string): T {
  const entry = entries.get(name);
  if (!entry) throw new Error(`no entry ${name}`);
  return entry;
}

/** The height over a point that is asked there, in metres above its elevation, without the altimeter's allowance. */
function reserveOver(point: Point, reserve: Reserve, qnh: number): number {
  const over = (at: Height | null) => (at ? altitude(at, qnh, point.elevation) - point.elevation : 0);
  return point.kind === 'field' ? Math.max(over(reserve.arrive), over(point.arrive)) : over(reserve.turn);
}

/** Solves one task of a plan. */
export function solveTask(plan: Plan, task: Task): TaskResult {
  const aircraft = named(plan.aircraft, task.aircraft);
  const weather = named(plan.weather, task.weather);
  const reserve = named(plan.reserves, task.reserve);
  const start = task.steps.find((step) => step.kind === 'start');
  if (!start) throw new Error('no start');
  let name = start.point;
  let here = named(plan.points, name);
  const air = airOf(weather, here.elevation);
  // No pilot named: the documents are silent, and the polar's own mass is the best known.
  const unladen = Number.isNaN(task.pilot) ? aircraft.polarMass : aircraft.emptyMass + task.pilot;
  const massKg = unladen + task.ballast;
  const measured = polarOf(aircraft);
  const polar = atMass(measured, massKg, aircraft.polarMass);
  const bestRatio = 1 / (2 * Math.sqrt(measured.a * measured.c) + measured.b);
  const share = 'share' in reserve.performance ? reserve.performance.share : reserve.performance.ratio / bestRatio;

  let h = altitude(start.at, air.qnh, here.elevation);
  let assumed = false;
  let climbTimeS = 0;
  let waiting: { after: number; top: number; rate: number }[] = [];
  const legs: LegResult[] = [];
  for (const step of task.steps) {
    if (step.kind === 'climb') {
      const { top, rate, after } = step.climb;
      const to = altitude(top, air.qnh, here.elevation);
      const climbed = { after: after ?? 0, top: to, rate: rate ?? weather.lift };
      if (after !== null) waiting.push(climbed);
      else {
        climbTimeS += (to - h) / climbed.rate;
        h = to;
        assumed = false;
      }
    } else if (step.kind === 'glide') {
      const target = named(plan.points, step.point);
      const { distance, course } = inverse(here, target);
      const setting: Setting = { air, polar, share, course: courseAlong(here.latitude, course, distance) };
      const leg = solveLeg({
        setting,
        aircraft,
        target,
        distance,
        speed: step.speed,
        depart: h,
        climbs: waiting.sort((one, other) => one.after - other.after),
        lowest: Math.min(here.elevation, target.elevation),
        reserve: reserveOver(target, reserve, air.qnh),
        altimeter: reserve.altimeter,
      });
      legs.push({
        ...leg,
        number: legs.length + 1,
        from: name,
        to: step.point,
        courseDeg: (course / RAD + 360) % 360,
        departAssumed: assumed,
      });
      // Climbs along a leg that cannot be flown: from what height, nobody knows.
      if (!leg.flown && waiting.length > 0) climbTimeS = Number.NaN;
      leg.flown?.climbs.forEach((climb, i) => {
        climbTimeS += (climb.toAltitudeM - climb.fromAltitudeM) / (waiting[i]?.rate ?? Number.NaN);
      });
      assumed = !leg.flown || leg.flown.reachesGroundAfterM !== null;
      h = leg.flown && !assumed ? leg.flown.arriveAltitudeM : leg.askedAltitudeM;
      waiting = [];
      here = target;
      name = step.point;
    }
  }
  const sum = (of: (leg: LegResult) => number) => legs.reduce((total, leg) => total + of(leg), 0);
  const glideTimeS = sum((leg) => leg.flown?.timeS ?? Number.NaN);
  return {
    name: task.name,
    massKg,
    performanceShare: share,
    temperatureDeviationK: air.warmer,
    polar: { ...measured, massKg: aircraft.polarMass },
    legs,
    totals: { distanceM: sum((leg) => leg.distanceM), glideTimeS, climbTimeS, timeS: glideTimeS + climbTimeS },
  };
}

interface LegQuestion {
  readonly setting: Setting;
  readonly aircraft: Aircraft;
  readonly target: Point;
  readonly distance: number;
  readonly speed: Speed;
  readonly depart: number;
  readonly climbs: readonly { readonly after: number; readonly top: number }[];
  /** The lower elevation of the leg's two ends. */
  readonly lowest: number;
  readonly reserve: number;
  readonly altimeter: number;
}

type LegAnswer = Omit<LegResult, 'number' | 'from' | 'to' | 'courseDeg' | 'departAssumed'>;

function solveLeg(leg: LegQuestion): LegAnswer {
  const { setting, aircraft, target, distance } = leg;
  const { vs, vno, vne } = aircraft;
  const askedAltitudeM = target.elevation + leg.reserve + leg.altimeter;
  const last = leg.climbs.at(-1);
  const from = last?.after ?? 0;
  const lastDepart = last?.top ?? leg.depart;

  // The height that the whole leg asks of the pilot: what is lost on the way to each climb along it, and the height
  // required where the last one ends.
  const asks = (speed: number) => {
    let sum = glide(setting, speed, distance, askedAltitudeM, from)?.h ?? Number.POSITIVE_INFINITY;
    let [x, h] = [0, leg.depart];
    for (const climb of leg.climbs) {
      sum += h - (glide(setting, speed, x, h, climb.after)?.h ?? Number.NEGATIVE_INFINITY);
      [x, h] = [climb.after, climb.top];
    }
    return sum;
  };
  const bestGlideIndicatedMps = leastAt(asks, vs, vne);
  const indicatedMps = indicatedSpeed(leg.speed, setting, bestGlideIndicatedMps);
  const margin = (speed: number) => {
    let least = (glide(setting, speed, from, lastDepart, distance)?.h ?? Number.NEGATIVE_INFINITY) - askedAltitudeM;
    let [x, h] = [0, leg.depart];
    for (const climb of leg.climbs) {
      const low = glide(setting, speed, x, h, climb.after)?.h ?? Number.NEGATIVE_INFINITY;
      if (low < climb.top) least = Math.min(least, low - leg.lowest);
      [x, h] = [climb.after, Math.max(low, climb.top)];
    }
    return least;
  };
  return {
    distanceM: distance,
    speedKind: leg.speed.kind,
    indicatedMps,
    departAltitudeM: leg.depart,
    askedAltitudeM,
    flown: fly(leg, indicatedMps, askedAltitudeM),
    requiredDepartAltitudeM: requiredHeight(setting, indicatedMps, from, distance, askedAltitudeM),
    fastestIndicatedMps: fastestSpeed(margin, vs, vno, bestGlideIndicatedMps),
    fastestUpToVneMps: fastestSpeed(margin, vs, vne, bestGlideIndicatedMps),
    bestGlideIndicatedMps,
  };
}

/**
 * A leg as it is flown. It falls into pieces at the climbs along it; each piece starts at the top of its climb, so that
 * the terms of the budget are sums over the pieces, each from the height at which the piece is really flown.
 */
function fly(leg: LegQuestion, speed: number, askedAltitudeM: number): FlownLeg | null {
  const { setting, target, distance } = leg;
  const climbs: { afterM: number; fromAltitudeM: number; toAltitudeM: number }[] = [];
  const budget = { stillAir: 0, wind: 0, sinkingAir: 0, performance: 0 };
  let [x, h, lost, timeS, headwindPath] = [0, leg.depart, 0, 0, 0];
  let reachesGroundAfterM: number | null = null;
  for (let i = 0; i <= leg.climbs.length; i++) {
    const climb = leg.climbs[i];
    const end = climb?.after ?? distance;
    const still = glide(setting, speed, x, h, end, { wind: false, sink: false, share: false });
    const windy = glide(setting, speed, x, h, end, { wind: true, sink: false, share: false });
    const sinking = glide(setting, speed, x, h, end, { wind: true, sink: true, share: false });
    const flown = glide(setting, speed, x, h, end);
    if (!still || !windy || !sinking || !flown) return null;
    budget.stillAir += h - still.h;
    budget.wind += still.h - windy.h;
    budget.sinkingAir += windy.h - sinking.h;
    budget.performance += sinking.h - flown.h;
    lost += h - flown.h;
    timeS += flown.time;
    headwindPath += flown.headwindPath;
    if (climb) {
      climbs.push({ afterM: climb.after, fromAltitudeM: flown.h, toAltitudeM: climb.top });
      [x, h] = [end, climb.top];
      continue;
    }
    // Only the glide that leads to the point can fail to get there: the elevation of the point says nothing of the
    // ground under a climb on the way.
    if (flown.h < target.elevation) {
      const under = (at: number) => target.elevation - (glide(setting, speed, x, h, at)?.h ?? Number.NaN);
      reachesGroundAfterM = h <= target.elevation ? x : bisect(under, x, end, 1e-3);
    }
    h = flown.h;
  }
  const marginM = h - askedAltitudeM;
  return {
    arriveAltitudeM: h,
    arriveHeightM: h - target.elevation,
    marginM,
    timeS,
    meanGroundSpeedMps: distance / timeS,
    meanHeadwindMps: headwindPath / distance,
    glideRatioOverGround: distance / lost,
    climbs,
    budgetM: { ...budget, reserve: leg.reserve, altimeter: leg.altimeter, margin: marginM },
    reachesGroundAfterM,
  };
}

/**
 * MacCready's condition `V W'(V) = W(V) + m + sinking air` with the planned sink W, at sea-level density. For a quadratic
 * `a V² + b V + c` the linear terms cancel: `a V² = c + m + sinking air`.
 */
function indicatedSpeed(speed: Speed, setting: Setting, bestGlide: number): number {
  if (speed.kind === 'indicated') return speed.speed;
  if (speed.kind === 'bestGlide') return bestGlide;
  const { polar, share, air } = setting;
  return Math.sqrt((polar.c / share + speed.climb + air.sink) / (polar.a / share));
}

/** The highest speed up to the limit with a margin of at least nothing: a scan down from the limit, then bisection. */
function fastestSpeed(margin: (speed: number) => number, vs: number, limit: number, best: number): number | null {
  if (margin(limit) >= 0) return limit;
  const count = 200;
  const scan = Array.from({ length: count + 1 }, (_, i) => limit - ((limit - vs) * i) / count);
  if (best < limit) scan.push(best);
  scan.sort((one, other) => other - one);
  let tooFast = limit;
  for (const speed of scan) {
    if (margin(speed) >= 0) return bisect((value) => -margin(value), speed, tooFast, 1e-6);
    tooFast = speed;
  }
  return null;
}
