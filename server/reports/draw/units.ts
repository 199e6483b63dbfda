/** Numbers in a drawing, in the units of the picture's reader. */
import { fromSi, unitOf } from '../../../grammar/units.ts';
import type { Picture } from '../../plan/picture.ts';
import { DEFAULT_UNITS, type Show, show } from '../../plan/show.ts';

export function showOf({ units }: Picture): Show {
  return show({
    altitude: unitOf(units.altitude) ?? DEFAULT_UNITS.altitude,
    distance: unitOf(units.distance) ?? DEFAULT_UNITS.distance,
    speed: unitOf(units.speed) ?? DEFAULT_UNITS.speed,
    climb: unitOf(units.climb) ?? DEFAULT_UNITS.climb,
    mass: unitOf(units.mass) ?? DEFAULT_UNITS.mass,
  });
}

/** Metres as a number in a unit, and back. */
export function lengthIn(unit: Show['units']['altitude']): { from(metres: number): number; to(value: number): number } {
  const one = fromSi(1, unit);
  return { from: (metres) => metres * one, to: (value) => value / one };
}
