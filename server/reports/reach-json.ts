/** The fields in reach, for `budget --format json`. */
import { bestRunway, fieldWind } from '../plan/landing.ts';
import type { Field } from '../plan/meaning.ts';
import {
  type FieldStretch,
  finishInReachFrom,
  homeInReachAt,
  stretchesWithoutField,
  worstPointOf,
} from '../plan/reach.ts';
import type { ClimbEvaluation, LegEvaluation, TaskEvaluation } from '../plan/task.ts';

function stretchJson({ fromM, toM, worst }: FieldStretch): object {
  return {
    fromM,
    toM,
    neededAltitudeM: worst.least?.requiredM ?? null,
    worstAtM: worst.xM,
    plannedAltitudeM: worst.altitudeM,
    closestField: worst.least?.field.meaning.name ?? null,
  };
}

/** From which altitude home is in reach, at the last climb before a leg's glide: overhead its start, or on its way. */
function homeJson(climb: ClimbEvaluation, leg: LegEvaluation, task: TaskEvaluation): object {
  return {
    afterM: climb.afterM ?? 0,
    toAltitudeM: climb.toAltitudeM,
    homeInReachFromAltitudeM: homeInReachAt(climb, leg, task) ?? null,
  };
}

/** The direction with the least crosswind at a field, by the wind at its height; null without a runway or a wind. */
export function landingJson(field: Field, task: TaskEvaluation): object | null {
  const wind = fieldWind(field, task);
  const best = wind && bestRunway(wind.runways, task.aircraft?.meaning.landingM?.value);
  if (!best) return null;
  return {
    runway: best.end,
    courseDeg: best.courseDeg,
    variationDeg: wind.variationDeg ?? null,
    headwindMps: best.headMps,
    crosswindMps: best.crossMps,
    lengthM: best.runway.lengthM ?? null,
  };
}

/** The fields in reach where the least height is to spare. */
function worstJson(leg: LegEvaluation, task: TaskEvaluation): object | null {
  const worst = worstPointOf(leg, task);
  if (!worst) return null;
  return {
    atM: worst.xM,
    altitudeM: worst.altitudeM,
    fieldsInReach: worst.inReach.map(({ field, distanceM, spareM }) => ({
      name: field.meaning.name,
      distanceM,
      spareM,
      landing: landingJson(field.meaning, task),
    })),
  };
}

/** Keys of a leg: null where they are not known, as for a leg that meets the ground. */
export function reachJson(leg: LegEvaluation, task: TaskEvaluation): object {
  return {
    stretchesWithoutField: stretchesWithoutField(leg, task)?.map(stretchJson) ?? null,
    worstPoint: worstJson(leg, task),
    finishInReachAfterM: finishInReachFrom(leg, task) ?? null,
    homeFromClimbs: leg.climbs.filter(({ beyondLeg }) => !beyondLeg).map((climb) => homeJson(climb, leg, task)),
  };
}
