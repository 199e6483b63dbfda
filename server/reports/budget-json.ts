/** `budget --format json`: SI units and degrees true; the contract for programs. Keys are added over time, never renamed. */

import { CAUTION, READING } from '../plan/caution.ts';
import { clockOf } from '../plan/clock.ts';
import { eveningOf, finishUtcS } from '../plan/day.ts';
import { soaringOf } from '../plan/soaring.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import type { Diagnostic } from './diagnostic.ts';
import { landingJson, reachJson } from './reach-json.ts';
import { airspacesNotChecked, solidJson } from './solid-json.ts';

function legJson(leg: LegEvaluation, task: TaskEvaluation): object {
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
    elapsedS: clockOf(task).legs.get(leg) ?? null,
    meanGroundSpeedMps: flown?.meanGroundSpeedMps ?? null,
    meanHeadwindMps: flown?.meanHeadwindMps ?? null,
    glideRatioOverGround: flown?.glideRatioOverGround ?? null,
    // A climb that leads down gains nothing, and is not flown.
    climbs: (result?.climbs ?? [])
      .filter(({ goesDown }) => !goesDown)
      .map(({ afterM, fromAltitudeM, toAltitudeM }) => ({ afterM, fromAltitudeM, toAltitudeM })),
    soaring: soarJson(leg),
    budgetM: flown?.budget ?? null,
    fastestIndicatedMps: result?.fastestIndicatedMps ?? null,
    fastestUpToVneMps: result?.fastestUpToVneMps ?? null,
    bestGlideIndicatedMps: result?.bestGlideIndicatedMps ?? null,
    reachesGroundAfterM: result?.reachesGroundAfterM ?? null,
    noHeadway: result?.problem ? { reason: result.reason, afterM: result.atM, altitudeM: result.altitudeM } : null,
    notComputed: leg.cause?.text ?? null,
    ...reachJson(leg, task),
    ...solidJson(leg, task),
  };
}

/** A leg that is soared; its climbs stand with the others of the leg. */
function soarJson({ soar }: LegEvaluation): object | null {
  if (!soar) return null;
  return {
    lowerAltitudeM: soar.lowerM,
    upperAltitudeM: soar.upperM,
    climbs: soar.climbs.length,
    averageSpeedMps: soar.averageMps ?? null,
    lastGlide: soar.lastGlide ?? null,
  };
}

function soaringJson(task: TaskEvaluation): object | null {
  const soaring = soaringOf(task);
  if (!soaring) return null;
  const { climbs, averageMps, lastGlide } = soaring;
  return {
    climbs,
    averageSpeedMps: averageMps ?? null,
    lastGlide: lastGlide
      ? { leg: lastGlide.leg.number, afterM: lastGlide.afterM, altitudeM: lastGlide.altitudeM }
      : null,
  };
}

/** The times of a day, in seconds after midnight UTC of the weather's date. */
function dayJson(task: TaskEvaluation): object | null {
  const { takeoff } = task.task;
  if (!takeoff) return null;
  const evening = eveningOf(task);
  return {
    takeoffUtcS: takeoff.utcS,
    finishUtcS: finishUtcS(task) ?? null,
    sunsetUtcS: evening?.sunsetS ?? null,
    civilDuskUtcS: evening?.civilDuskS ?? null,
  };
}

/** The landing at the finish. */
function finishJson(task: TaskEvaluation): object | null {
  const last = task.legs.at(-1);
  const field = last?.kind === 'finish' ? last.to?.meaning : undefined;
  return field?.kind === 'field' ? landingJson(field, task) : null;
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
    legs: task.legs.map((leg) => legJson(leg, task)),
    day: dayJson(task),
    soaring: soaringJson(task),
    landing: finishJson(task),
    airspacesNotChecked: airspacesNotChecked(task),
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
