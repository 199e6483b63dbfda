/** A glider and a leg by themselves, and how many glides something takes. */
import {
  CALM,
  destination,
  type GlideSetting,
  glideBackward,
  type ReachSetting,
  STANDARD_AIR,
  track,
} from '../../server/flight/index.ts';

export const polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };
export const from = { latDeg: 47, lonDeg: 11 };

/** Eastwards in still air, with whatever the test changes. */
export function simpleSetting(distanceM: number, change: Partial<GlideSetting> = {}): GlideSetting {
  return {
    track: track(from, destination(from, 90, distanceM)),
    polar,
    massKg: 300,
    share: 1,
    sinkingAirMps: 0,
    air: STANDARD_AIR,
    wind: CALM,
    ...change,
  };
}

/** How many glides a search flies with a setting: each reads its polar so often. */
export function glidesFlown<S extends GlideSetting | ReachSetting>(
  setting: S,
  search: (setting: S) => unknown,
): number {
  let reads = 0;
  const { c, ...rest } = setting.polar;
  const counting = {
    ...rest,
    get c() {
      reads += 1;
      return c;
    },
  };
  glideBackward({ ...setting, polar: counting, track: track(from, destination(from, 90, 500)) }, 25, 0, 100, 0);
  const one = reads;
  reads = 0;
  search({ ...setting, polar: counting });
  return Math.floor(reads / one);
}
