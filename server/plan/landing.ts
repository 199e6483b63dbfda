/** The wind on the runways of a field, and how long they are. */
import { components, magneticVariation, normalizedDegrees, windAt } from '../flight/index.ts';
import type { Field, Runway } from './meaning.ts';
import type { TaskEvaluation } from './task.ts';

/** One direction in which a runway is landed on. */
export interface RunwayWind {
  readonly runway: Runway;
  /** The end as written: `18`, `09L`. */
  readonly end: string;
  /** The direction of landing, true where the variation is known, else as written. */
  readonly courseDeg: number;
  /** Headwind; a tailwind is negative. */
  readonly headMps: number;
  /** Crosswind; from the right it is positive. */
  readonly crossMps: number;
}

export interface FieldWind {
  readonly runways: readonly RunwayWind[];
  /** Without it the runways' directions, which are magnetic, are taken as they are written. */
  readonly variationDeg: number | undefined;
}

/** Crosswinds and headwinds closer than this are the same, m/s. */
const SAME_MPS = 1e-6;

/** The wind on every runway of a field, at its elevation; undefined where the wind or the elevation is not known. */
export function fieldWind(
  field: Field,
  { wind, weather }: Pick<TaskEvaluation, 'wind' | 'weather'>,
): FieldWind | undefined {
  const { position, elevationM, runways } = field;
  if (!wind || !weather || elevationM === undefined || weather.meaning.winds.length === 0) return undefined;
  const date = weather.meaning.date;
  const variation = position && date ? magneticVariation(position, elevationM, date) : undefined;
  const variationDeg = variation && !variation.outside ? variation.declinationDeg : undefined;
  const there = windAt(wind, elevationM);
  return {
    variationDeg,
    runways: runways.flatMap((runway) => {
      const ends = runway.text.split('/');
      return runway.directions.map((magneticDeg, i): RunwayWind => {
        const courseDeg = normalizedDegrees(magneticDeg + (variationDeg ?? 0));
        const { headMps, crossMps } = components(there, courseDeg);
        return { runway, end: ends[i] ?? runway.text, courseDeg, headMps, crossMps };
      });
    }),
  };
}

/** Whether a runway is as long as the aircraft states that it needs; one without a length may be. */
export function longEnough(runway: Runway, neededM: number | undefined): boolean {
  return neededM === undefined || runway.lengthM === undefined || runway.lengthM >= neededM - 1e-6;
}

/**
 * The direction to land in: of the runways that are long enough (of all, where none is) and into the wind, the one with
 * the least crosswind.
 */
export function bestRunway(runways: readonly RunwayWind[], neededM?: number): RunwayWind | undefined {
  const some = (all: readonly RunwayWind[], fits: (one: RunwayWind) => boolean) => {
    const fitting = all.filter(fits);
    return fitting.length > 0 ? fitting : all;
  };
  const enough = some(runways, ({ runway }) => longEnough(runway, neededM));
  let best: RunwayWind | undefined;
  for (const one of some(enough, ({ headMps }) => headMps > -SAME_MPS)) {
    const apart = best ? Math.abs(one.crossMps) - Math.abs(best.crossMps) : -1;
    if (!best || apart < -SAME_MPS || (apart < SAME_MPS && one.headMps > best.headMps)) best = one;
  }
  return best;
}
