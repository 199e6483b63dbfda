/** What the tests of published values share: the tables beside them, units, and a glider to try things on. */
import { readFileSync } from 'node:fs';
import {
  CALM,
  destination,
  type GlideSetting,
  type LegInput,
  type Polar,
  type Position,
  STANDARD_AIR,
  track,
} from '../../server/flight/index.ts';

export const FT = 0.3048;
export const NM = 1852;
export const SM = 1609.344;
export const KT = 1852 / 3600;
export const KMH = 1 / 3.6;
export const INHG = 3386.389;

/** The rows of a table in data/, by column name; empty cells are ''. */
export function rows(name: string): Record<string, string>[] {
  const lines = readFileSync(new URL(`data/${name}`, import.meta.url), 'utf8')
    .split(/\r?\n/)
    .filter((line) => line !== '' && !line.startsWith('#'));
  const columns = (lines[0] ?? '').split(',');
  return lines.slice(1).map((line) => {
    const cells = line.split(',');
    return Object.fromEntries(columns.map((column, i) => [column, cells[i] ?? '']));
  });
}

/** Degrees of an angle in degrees, minutes and seconds. */
export function dms(degrees: number, minutes: number, seconds: number): number {
  return degrees + minutes / 60 + seconds / 3600;
}

/** A glide along a meridian in standard still air, with whatever the test changes. */
export function setting(polar: Polar, distanceM: number, change: Partial<GlideSetting> = {}): GlideSetting {
  const from: Position = { latDeg: 45, lonDeg: 8 };
  return {
    track: track(from, destination(from, 0, distanceM)),
    polar,
    massKg: polar.massKg,
    share: 1,
    sinkingAirMps: 0,
    air: STANDARD_AIR,
    wind: CALM,
    ...change,
  };
}

/** A leg at an indicated speed with nothing asked at its end, with whatever the test changes. */
export function leg(setting: GlideSetting, indicatedMps: number, change: Partial<LegInput> = {}): LegInput {
  return {
    setting,
    departAltitudeM: 0,
    climbs: [],
    destination: { elevationM: 0, reserveM: 0, altimeterM: 0 },
    speed: { kind: 'indicated', indicatedMps },
    limits: { vsMps: 15, vneMps: 75, vnoMps: null },
    ...change,
  };
}

/** The value, or a failure when there is none. */
export function present<T>(value: T | null | undefined): T {
  if (value === null || value === undefined) throw new Error('no value');
  return value;
}
