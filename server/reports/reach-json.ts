/** The fields in reach, for `budget --format json`. */
import { type FieldStretch, finishInReachFrom, homeInReachAt, stretchesWithoutField } from '../plan/reach.ts';
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

/** Keys of a leg: null where they are not known, as for a leg that meets the ground. */
export function reachJson(leg: LegEvaluation, task: TaskEvaluation): object {
  return {
    stretchesWithoutField: stretchesWithoutField(leg, task)?.map(stretchJson) ?? null,
    finishInReachAfterM: finishInReachFrom(leg, task) ?? null,
    homeFromClimbs: leg.climbs.filter(({ beyondLeg }) => !beyondLeg).map((climb) => homeJson(climb, leg, task)),
  };
}
