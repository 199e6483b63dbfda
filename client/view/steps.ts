/** Going along a flight by the keyboard: along a leg in round steps, and from leg to leg. */
import { fromSi, toSi, unit } from '../../grammar/units.ts';
import type { Picture, PictureLeg } from '../../server/plan/picture-data.ts';
import type { FlightPlace } from './readout.ts';

/** A task is gone along in about so many steps. */
const STEPS = 60;

/** A round length of the reader's units, m. */
export function stepOf({ legs, units }: Picture): number {
  const whole = legs.reduce((sum, { distanceM }) => sum + (distanceM ?? 0), 0);
  const inUnits = fromSi(Math.max(whole, 1), unit(units.distance)) / STEPS;
  const ten = 10 ** Math.floor(Math.log10(inUnits));
  const round = [1, 2, 5, 10].find((one) => one * ten >= inUnits) ?? 10;
  return toSi(round * ten, unit(units.distance));
}

const startOf = (leg: PictureLeg | undefined): FlightPlace | undefined => leg && { leg: leg.number, xM: 0 };
const endOf = (leg: PictureLeg | undefined): FlightPlace | undefined =>
  leg && { leg: leg.number, xM: leg.distanceM ?? 0 };

/**
 * The place that is so far along (m; back when negative). Each leg's end and start is stopped at: first one arrives, then
 * one leaves, behind a climb.
 */
export function along(picture: Picture, place: FlightPlace, byM: number): FlightPlace {
  const index = picture.legs.findIndex(({ number }) => number === place.leg);
  const leg = picture.legs[index];
  if (!leg) return startOf(picture.legs[0]) ?? place;
  const length = leg.distanceM ?? 0;
  if (byM > 0 && place.xM >= length) return startOf(picture.legs[index + 1]) ?? place;
  if (byM < 0 && place.xM <= 0) return endOf(picture.legs[index - 1]) ?? place;
  return { leg: leg.number, xM: Math.min(length, Math.max(0, place.xM + byM)) };
}

/** Where the leg before or after starts; of the first leg, its own start. */
export function legBeside(picture: Picture, place: FlightPlace, by: 1 | -1): FlightPlace {
  const index = picture.legs.findIndex(({ number }) => number === place.leg);
  const inside = by === -1 && place.xM > 0;
  return startOf(picture.legs[inside ? index : index + by]) ?? place;
}

export function firstPlace({ legs }: Picture): FlightPlace | undefined {
  return startOf(legs[0]);
}

export function lastPlace({ legs }: Picture): FlightPlace | undefined {
  return endOf(legs.at(-1));
}

/** The distance flown up to a place, m; null where a leg before it is not known. */
export function flownTo({ legs }: Picture, { leg, xM }: FlightPlace): number | null {
  const startM = legs.find(({ number }) => number === leg)?.startM;
  return startM === null || startM === undefined ? null : startM + xM;
}
