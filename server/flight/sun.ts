/** Sunrise, sunset and civil twilight. */
import { Body, Equator, Horizon, Observer, SearchAltitude, SearchHourAngle, SearchRiseSet } from 'astronomy-engine';
import type { Position } from './earth.ts';
import type { CalendarDate } from './variation.ts';

/**
 * The Sun's times of one local day as UTC instants (ms since 1970); null where there is none that day (polar day or
 * night).
 */
export interface SunTimes {
  readonly civilDawn: number | null;
  readonly sunrise: number | null;
  readonly sunset: number | null;
  readonly civilDusk: number | null;
}

const HOUR = 3_600_000;
/** Half a day and a little: the time from the Sun's noon to the midnights around it varies by seconds. */
const HALF_DAY = 0.5003;
const CIVIL_ALTITUDE = -6;
const RISE = 1;
const SET = -1;

/**
 * How high the middle of the Sun's disc stands over a level horizon at an instant (ms since 1970), degrees, without
 * refraction. Throws RangeError for a bad position or instant. Source: astronomy-engine (VSOP87).
 */
export function sunHeightDeg(position: Position, atMs: number): number {
  if (!(Math.abs(position.latDeg) <= 90) || !Number.isFinite(position.lonDeg) || !Number.isFinite(atMs)) {
    throw new RangeError('not a position and instant');
  }
  const observer = new Observer(position.latDeg, position.lonDeg, 0);
  const { ra, dec } = Equator(Body.Sun, new Date(atMs), observer, true, true);
  return Horizon(new Date(atMs), observer, ra, dec).altitude;
}

/**
 * The Sun's times for a local calendar date. They are those around the Sun's noon of that date, so sunset is always the
 * evening's of the same day, also where it falls in the next UTC day. `utcOffsetHours` is the local clock's; without
 * it, that of the longitude. Sunrise and sunset: upper limb on a level horizon with standard refraction (zenith 90
 * 50'); civil twilight: centre 6 degrees below. Throws RangeError for a bad position, date or offset. Source:
 * astronomy-engine (VSOP87), zenith angles of the Almanac for Computers.
 */
export function sunTimes(position: Position, date: CalendarDate, utcOffsetHours?: number): SunTimes {
  const offset = utcOffsetHours ?? Math.round(position.lonDeg / 15);
  const midnight = Date.UTC(date.year, date.month - 1, date.day) - offset * HOUR;
  if (!(Math.abs(position.latDeg) <= 90) || !Number.isFinite(position.lonDeg) || !Number.isFinite(midnight)) {
    throw new RangeError('not a position, date and offset');
  }
  const observer = new Observer(position.latDeg, position.lonDeg, 0);
  const noon = SearchHourAngle(Body.Sun, observer, 0, new Date(midnight)).time;
  const instant = (time: { date: Date } | null): number | null => time?.date.getTime() ?? null;
  return {
    civilDawn: instant(SearchAltitude(Body.Sun, observer, RISE, noon, -HALF_DAY, CIVIL_ALTITUDE)),
    sunrise: instant(SearchRiseSet(Body.Sun, observer, RISE, noon, -HALF_DAY)),
    sunset: instant(SearchRiseSet(Body.Sun, observer, SET, noon, HALF_DAY)),
    civilDusk: instant(SearchAltitude(Body.Sun, observer, SET, noon, HALF_DAY, CIVIL_ALTITUDE)),
  };
}
