/** `budget --format json`: SI units and degrees true; the contract for programs. Keys are added over time, never renamed. */

import { CAUTION, READING } from '../plan/caution.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import type { Diagnostic } from './diagnostic.ts';

function legJson(leg: LegEvaluation): object {
  const { result } = leg;
  const flown = result?.problem === null ? result : undefined;
  return {
    number: leg.number,
    from: leg.fromName,
    to: leg.toName,
    distanceM: result?.distanceM ?? null,
    courseDeg: result?.courseDeg ?? null,
    variationDeg: leg.variationDeg ?? null,
    speed: leg.input ? { kind: leg.input.speed.kind, indicatedMps: result?.indicatedMps ?? null } : null,
    departAltitudeM: result?.departAltitudeM ?? null,
    departAssumed: leg.departAssumed,
    arriveAltitudeM: flown?.arriveAltitudeM ?? null,
    arriveHeightM: flown?.arriveHeightM ?? null,
    askedAltitudeM: result?.askedAltitudeM ?? null,
    marginM: flown?.marginM ?? null,
    requiredDepartAltitudeM: result?.requiredDepartAltitudeM ?? null,
    timeS: flown?.timeS ?? null,
    meanGroundSpeedMps: flown?.meanGroundSpeedMps ?? null,
    meanHeadwindMps: flown?.meanHeadwindMps ?? null,
    glideRatioOverGround: flown?.glideRatioOverGround ?? null,
    // A climb that leads down gains nothing, and is not flown.
    climbs: (result?.climbs ?? [])
      .filter(({ goesDown }) => !goesDown)
      .map(({ afterM, fromAltitudeM, toAltitudeM }) => ({ afterM, fromAltitudeM, toAltitudeM })),
    budgetM: flown?.budget ?? null,
    fastestIndicatedMps: result?.fastestIndicatedMps ?? null,
    fastestUpToVneMps: result?.fastestUpToVneMps ?? null,
    bestGlideIndicatedMps: result?.bestGlideIndicatedMps ?? null,
    reachesGroundAfterM: flown?.reachesGroundAfterM ?? null,
    noHeadway: result?.problem ? { reason: result.reason, afterM: result.atM, altitudeM: result.altitudeM } : null,
    notComputed: leg.cause?.text ?? null,
  };
}

function taskJson(task: TaskEvaluation, file: string): object {
  const polar = task.aircraft?.meaning.polar;
  return {
    name: task.task.name,
    file,
    aircraft: task.aircraft?.meaning.name ?? null,
    massKg: task.massKg ?? null,
    performanceShare: task.share ?? null,
    qnhPa: task.air.qnhPa,
    temperatureDeviationK: task.air.deltaTK,
    polar: polar?.kind === 'polar' ? { ...polar.polar, source: polar.source } : null,
    legs: task.legs.map(legJson),
    totals: task.totals,
  };
}

/** The budgets of tasks and the diagnostics of their file. */
export function budgetJson(tasks: readonly TaskEvaluation[], file: string, diagnostics: readonly Diagnostic[]): string {
  const plain = diagnostics.map(({ related: _, ...rest }) => rest);
  const report = {
    version: 1,
    tasks: tasks.map((task) => taskJson(task, file)),
    diagnostics: plain,
    caution: `${CAUTION} ${READING}`,
  };
  return `${JSON.stringify(report, null, 2)}\n`;
}
