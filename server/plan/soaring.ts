/** What a soared task comes to as a whole. */
import type { LegEvaluation, TaskEvaluation } from './task.ts';

export interface Soaring {
  /** Climbs that soaring makes. */
  readonly climbs: number;
  /** Over the ground, on the legs that are soared, all their climbs included; undefined where a time is not known. */
  readonly averageMps: number | undefined;
  /** Where the last glide begins; undefined where none does, or before the first leg that is soared. */
  readonly lastGlide: { readonly leg: LegEvaluation; readonly afterM: number; readonly altitudeM: number } | undefined;
}

/** The soaring of a task; undefined for one of which no leg is soared. */
export function soaringOf({ legs }: TaskEvaluation): Soaring | undefined {
  let climbs = 0;
  let distanceM = 0;
  let timeS: number | undefined = 0;
  let lastGlide: Soaring['lastGlide'];
  let soared = false;
  for (const leg of legs) {
    const { soar, result } = leg;
    if (!soar || !result) continue;
    soared = true;
    climbs += soar.climbs.length;
    distanceM += result.distanceM;
    timeS =
      timeS === undefined || soar.averageMps === undefined ? undefined : timeS + result.distanceM / soar.averageMps;
    if (soar.lastGlide) lastGlide = { leg, ...soar.lastGlide };
  }
  if (!soared) return undefined;
  return { climbs, averageMps: timeS !== undefined && timeS > 0 ? distanceM / timeS : undefined, lastGlide };
}
