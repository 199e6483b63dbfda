/**
 * Numbers as the reader of a file wants them: the one place where SI values become text. Heights that a pilot must have
 * are rounded up and heights that a pilot will have are rounded down, so that no rounding ever adds to a margin.
 */
import { fromSi, type Unit, type UnitText, unit, unitOf } from '../../grammar/units.ts';
import type { Units } from './meaning.ts';
import type { Altitude } from './values.ts';

export interface ReaderUnits {
  readonly altitude: Unit;
  readonly distance: Unit;
  readonly speed: Unit;
  readonly climb: Unit;
  readonly mass: Unit;
}

export const DEFAULT_UNITS: ReaderUnits = {
  altitude: unit('ft'),
  distance: unit('NM'),
  speed: unit('kt'),
  climb: unit('kt'),
  mass: unit('kg'),
};

/** The units that the `units` entries of a file choose; the first choice of each kind counts. */
export function readerUnits(entries: readonly Units[]): ReaderUnits {
  const pick = (id: keyof ReaderUnits): Unit => {
    for (const { chosen } of entries) {
      const text = chosen[id];
      const found = text === undefined ? undefined : unitOf(text);
      if (found) return found;
    }
    return DEFAULT_UNITS[id];
  };
  return {
    altitude: pick('altitude'),
    distance: pick('distance'),
    speed: pick('speed'),
    climb: pick('climb'),
    mass: pick('mass'),
  };
}

export type Rounding = 'nearest' | 'up' | 'down';

/** A whole number; a value that is whole but for the last bits of a conversion is that one, whichever way it is rounded. */
export function rounded(value: number, rounding: Rounding): number {
  const whole = Math.round(value);
  if (rounding === 'nearest' || Math.abs(value - whole) < 1e-6) return whole;
  return rounding === 'up' ? Math.ceil(value) : Math.floor(value);
}

/** A number with thousands separators and a fixed count of decimals; a value that rounds to zero has no sign. */
export function number(value: number, decimals = 0, rounding: Rounding = 'nearest'): string {
  const scale = 10 ** decimals;
  const whole = rounded(value * scale, rounding);
  const text = Math.abs(whole / scale).toFixed(decimals);
  const [integer, fraction] = text.split('.') as [string, string | undefined];
  const grouped = integer.replace(/\B(?=(\d{3})+$)/g, ',');
  return `${whole < 0 ? '−' : ''}${grouped}${fraction === undefined ? '' : `.${fraction}`}`;
}

/** A quantity in any unit, with that unit. */
export function inUnit(si: number, text: UnitText, decimals: number): string {
  return `${number(fromSi(si, unit(text)), decimals)} ${text}`;
}

/** The functions that write quantities for one reader. */
export interface Show {
  readonly units: ReaderUnits;
  /** A height difference or height above ground: `680 ft`. */
  height(metres: number, rounding?: Rounding): string;
  /** A height with the datum behind it: `5,720 ft MSL`. */
  altitude(metres: number, rounding?: Rounding): string;
  distance(metres: number): string;
  speed(mps: number, rounding?: Rounding): string;
  climb(mps: number): string;
  mass(kg: number): string;
  course(degrees: number): string;
  duration(seconds: number): string;
  ratio(value: number): string;
}

/** A text that stands for these units. */
export function unitsKey({ altitude, distance, speed, climb, mass }: ReaderUnits): string {
  return `${altitude.text} ${distance.text} ${speed.text} ${climb.text} ${mass.text}`;
}

const shows = new Map<string, Show>();

/** Writes for a reader with these units: the same object for the same ones, so that what it wrote can be kept by it. */
export function show(units: ReaderUnits): Show {
  const key = unitsKey(units);
  let known = shows.get(key);
  if (!known) {
    known = showIn(units);
    shows.set(key, known);
  }
  return known;
}

function showIn(units: ReaderUnits): Show {
  const coarse = units.speed.text === 'm/s' ? 1 : 0;
  const fine = units.climb.text === 'ft/min' ? 0 : 1;
  return {
    units,
    height: (metres, rounding) => `${number(fromSi(metres, units.altitude), 0, rounding)} ${units.altitude.text}`,
    altitude: (metres, rounding) => `${number(fromSi(metres, units.altitude), 0, rounding)} ${units.altitude.text} MSL`,
    distance: (metres) => `${number(fromSi(metres, units.distance), 1)} ${units.distance.text}`,
    speed: (mps, rounding) => `${number(fromSi(mps, units.speed), coarse, rounding)} ${units.speed.text}`,
    climb: (mps) => `${number(fromSi(mps, units.climb), fine)} ${units.climb.text}`,
    mass: (kg) => `${number(fromSi(kg, units.mass))} ${units.mass.text}`,
    course: (degrees) => `${courseDigits(degrees)}°`,
    duration,
    ratio: (value) => `${value.toFixed(1)}:1`,
  };
}

/** A course as three digits, 001 to 360. */
export function courseDigits(degrees: number): string {
  const whole = ((Math.round(degrees) % 360) + 360) % 360;
  return String(whole === 0 ? 360 : whole).padStart(3, '0');
}

/** A duration to the minute, `2 h 05 min`; under ten minutes with seconds, `4 min 30 s`. */
export function duration(seconds: number): string {
  if (seconds < 600) {
    const whole = Math.round(seconds);
    const minutes = Math.floor(whole / 60);
    return minutes === 0 ? `${whole} s` : `${minutes} min ${String(whole % 60).padStart(2, '0')} s`;
  }
  const minutes = Math.round(seconds / 60);
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
}

/** An altitude as it was meant: with its datum, in the reader's unit. */
export function altitudeText(altitude: Altitude, with_: Show): string {
  switch (altitude.kind) {
    case 'msl':
      return with_.altitude(altitude.metres);
    case 'agl':
      return `${with_.height(altitude.metres)} AGL`;
    case 'fl':
      return `FL${altitude.level}`;
  }
}

/** The same, with the altitude above the sea where that is another: `FL95 (9,402 ft MSL)`. */
export function altitudeAboveSeaText(
  altitude: Altitude,
  altitudeM: number | undefined,
  with_: Show,
  round?: Rounding,
): string {
  const text = altitudeText(altitude, with_);
  if (altitude.kind === 'msl' || altitudeM === undefined || !Number.isFinite(altitudeM)) return text;
  return `${text} (${with_.altitude(altitudeM, round)})`;
}

/** A time of day, `14:05` in a zone (minutes ahead of UTC), with the zone behind it. */
export function timeOfDay(utcSeconds: number, zoneMinutes: number): string {
  const local = Math.round(utcSeconds / 60) + zoneMinutes;
  const minutes = ((local % 1440) + 1440) % 1440;
  const clock = `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
  if (zoneMinutes === 0) return `${clock}Z`;
  const away = Math.abs(zoneMinutes);
  return `${clock}${zoneMinutes < 0 ? '-' : '+'}${String(Math.floor(away / 60)).padStart(2, '0')}:${String(away % 60).padStart(2, '0')}`;
}
