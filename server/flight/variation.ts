/** Magnetic variation by the World Magnetic Model 2025. */
import geomagnetism from 'geomagnetism';
import type { Position } from './earth.ts';

/** A day of the calendar: month 1 to 12, day 1 to 31. */
export interface CalendarDate {
  readonly year: number;
  readonly month: number;
  readonly day: number;
}

/** The years from the start of the first up to the start of the second in which the model holds. */
export const VARIATION_FROM_YEAR = 2025;
export const VARIATION_TO_YEAR = 2030;

/** The variation, degrees, east positive: magnetic course = true course - variation. */
export interface Variation {
  readonly outside: false;
  readonly declinationDeg: number;
}

/** The date lies outside the years of the model. */
export interface NoVariation {
  readonly outside: true;
  readonly fromYear: number;
  readonly toYear: number;
}

/** The decimal year (2026.5 is the middle of 2026) at the start of a day, UTC. */
export function decimalYear({ year, month, day }: CalendarDate): number {
  const start = Date.UTC(year, 0, 1);
  return year + (Date.UTC(year, month - 1, day) - start) / (Date.UTC(year + 1, 0, 1) - start);
}

/** The model at the start of two years, both inside the dates that the library allows without a word. */
const early = { year: 2025, model: geomagnetism.model(new Date(Date.UTC(2025, 0, 1))) };
const late = { year: 2029, model: geomagnetism.model(new Date(Date.UTC(2029, 0, 1))) };

/** The field vector at a decimal year: north and east, nT. */
export interface FieldVector {
  readonly northNT: number;
  readonly eastNT: number;
  readonly downNT: number;
}

/**
 * The magnetic field (nT) at a place, altitude (m) and decimal year, 2025 up to 2030. The model's coefficients change
 * linearly in time and the field is linear in them, so a line through two years is the model itself; this also
 * serves the last weeks of 2029, which the library refuses. Source: WMM2025, NOAA NCEI and BGS.
 */
export function magneticField(position: Position, altitudeM: number, year: number): FieldVector {
  const at = [position.latDeg, position.lonDeg, altitudeM / 1000];
  const one = early.model.point(at);
  const other = late.model.point(at);
  const share = (year - early.year) / (late.year - early.year);
  return {
    northNT: one.x + (other.x - one.x) * share,
    eastNT: one.y + (other.y - one.y) * share,
    downNT: one.z + (other.z - one.z) * share,
  };
}

/** Asked again and again for the same points. */
const kept = new Map<string, Variation>();
const MOST_KEPT = 1000;

/**
 * The magnetic variation (degrees, east positive, -180 to 180) at a place, altitude (m) and date, or `outside` for
 * dates before 2025 or from 2030 on. Throws RangeError for numbers that are not finite. Source: WMM2025, NOAA NCEI and
 * BGS.
 */
export function magneticVariation(position: Position, altitudeM: number, date: CalendarDate): Variation | NoVariation {
  const year = decimalYear(date);
  if (![position.latDeg, position.lonDeg, altitudeM, year].every(Number.isFinite)) {
    throw new RangeError('not a position, altitude and date');
  }
  if (year < VARIATION_FROM_YEAR || year >= VARIATION_TO_YEAR) {
    return { outside: true, fromYear: VARIATION_FROM_YEAR, toYear: VARIATION_TO_YEAR };
  }
  const key = `${position.latDeg} ${position.lonDeg} ${altitudeM} ${year}`;
  let known = kept.get(key);
  if (!known) {
    const { northNT, eastNT } = magneticField(position, altitudeM, year);
    known = { outside: false, declinationDeg: (Math.atan2(eastNT, northNT) * 180) / Math.PI };
    if (kept.size >= MOST_KEPT) kept.clear();
    kept.set(key, known);
  }
  return known;
}
