/** `compare --format json`: SI units, after less before; the contract for programs. Keys are added over time, never renamed. */
import { CAUTION, READING } from '../plan/caution.ts';
import { figuresOf, type LegChange, type LegFigures } from '../plan/compare.ts';
import type { LegEvaluation } from '../plan/task.ts';
import { type Comparison, isNothing, isStillUnsafe, type TaskDifference } from './compare.ts';

/** The figures by the names that `budget` gives them. */
function figuresJson(figures: LegFigures | undefined): object | null {
  if (!figures) return null;
  const { distanceM, requiredAltitudeM, arriveAltitudeM, marginM, timeS } = figures;
  return { distanceM, requiredDepartAltitudeM: requiredAltitudeM, arriveAltitudeM, marginM, timeS };
}

function sideJson(leg: LegEvaluation | undefined): object | null {
  if (!leg) return null;
  return {
    number: leg.number,
    from: leg.fromName,
    to: leg.toName,
    ...figuresJson(figuresOf(leg)),
    noHeadway: leg.result?.problem === 'no-headway',
    notComputed: leg.cause?.text ?? null,
  };
}

function legJson({ before, after, change, reasons, together, changed }: LegChange): object {
  return {
    before: sideJson(before),
    after: sideJson(after),
    changed,
    change: figuresJson(change),
    reasons: reasons.map(({ label, before: was, after: is, alone }) => ({
      fact: label,
      before: was ?? null,
      after: is ?? null,
      alone: figuresJson(alone),
    })),
    together: figuresJson(together),
  };
}

function taskJson(task: TaskDifference): object {
  return {
    name: task.name,
    file: task.file,
    oldName: task.oldName ?? null,
    oldFile: task.oldFile ?? null,
    fate: task.fate,
    weight: task.weight,
    stillUnsafe: isStillUnsafe(task),
    facts: (task.change?.facts ?? []).map(({ label, before, after }) => ({
      fact: label,
      before: before ?? null,
      after: after ?? null,
    })),
    times: task.change ? { before: task.change.timesBefore, after: task.change.timesAfter } : null,
    legs: task.change
      ? task.change.legs.map(legJson)
      : (task.after ?? task.before)?.legs.map((leg) => ({
          before: task.after ? null : sideJson(leg),
          after: task.after ? sideJson(leg) : null,
          changed: true,
          change: null,
          reasons: [],
          together: null,
        })),
    newFindings: task.appeared,
    goneFindings: task.gone,
    alteredFindings: task.altered,
  };
}

/** The comparison as JSON. */
export function compareJson(comparison: Comparison): string {
  const report = {
    version: 1,
    nothingChanges: isNothing(comparison),
    tasks: comparison.tasks.map(taskJson),
    files: comparison.files.map(({ file, appeared, gone, altered }) => ({
      file,
      newFindings: appeared,
      goneFindings: gone,
      alteredFindings: altered,
    })),
    entries: comparison.entries,
    caution: `${CAUTION} ${READING}`,
  };
  return `${JSON.stringify(report, null, 2)}\n`;
}
