/** Fixes for the hours of a task: another take-off; and for limits: the reserve that they ask. */
import { DAY_S, eveningOf, finishUtcS, legalEndS, legalStartS, SUNSET } from '../../plan/day.ts';
import { timeOfDay } from '../../plan/show.ts';
import type { TaskEvaluation } from '../../plan/task.ts';
import { fitsLater, thermalHours } from '../../rules/thermal-words.ts';
import { replaceIn, spotOf } from './edit.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import { taskOf } from './legs.ts';
import { nameText, shownName } from './writing.ts';

/** Take-offs are planned by five minutes. */
const STEP_S = 300;
const MINUTE_S = 60;

/** Half a day: an hour of the afternoon that was written without its twelve. */
const TWELVE_HOURS_S = DAY_S / 2;

/** How much later (or, below zero, earlier) a task may take off to be rid of a finding; none where no hour helps. */
function shiftsFor(code: string, task: TaskEvaluation, context: FixContext): number[] {
  const shiftS = shiftFor(code, task, context);
  return [...(code === 'before-sunrise' ? [TWELVE_HOURS_S] : []), ...(shiftS ? [shiftS] : [])];
}

function shiftFor(code: string, task: TaskEvaluation, { rules }: FixContext): number | undefined {
  const finishS = finishUtcS(task);
  switch (code) {
    case 'after-sunset':
    case 'limit-landing-before-sunset': {
      // By day, and as long before sunset as the limits ask: an hour that meets the one alone is no way out.
      const endS = legalEndS(task, rules.legalEnd ?? SUNSET);
      const sunsetS = eveningOf(task)?.sunsetS;
      const before = task.limits.flatMap(({ meaning }) => meaning.landBeforeSunsetS?.value ?? []);
      const ends = [
        ...(typeof endS === 'number' ? [endS] : []),
        ...(typeof sunsetS === 'number' ? before.map((least) => Math.floor(sunsetS / 60) * 60 - least) : []),
      ];
      return finishS === undefined || ends.length === 0 ? undefined : Math.min(...ends) - finishS;
    }
    case 'before-sunrise': {
      const startS = legalStartS(task, rules.legalEnd ?? SUNSET);
      return task.task.takeoff && typeof startS === 'number' ? startS - task.task.takeoff.utcS : undefined;
    }
    case 'before-thermals': {
      const hours = thermalHours(task);
      return hours && hours.fromS - hours.firstS;
    }
    case 'after-thermals': {
      const hours = thermalHours(task);
      return hours && hours.toS - hours.lastS;
    }
    default:
      return undefined;
  }
}

export const otherTakeoff: Fixer = (finding, context): Fix[] => {
  const task = taskOf(finding, context);
  const takeoff = task?.task.takeoff;
  const spot = task && spotOf(context.workspace, task.uri, task.entry);
  const node = takeoff?.line.slots['time'];
  if (!task || !takeoff || !spot || !node) return [];
  const ofThermals = finding.code.endsWith('-thermals');
  const shifts = shiftsFor(finding.code, task, context);
  return shifts.flatMap((shiftS) => {
    const round = shiftS < 0 ? Math.floor : Math.ceil;
    const by = (stepS: number) => round((takeoff.utcS + shiftS) / stepS) * stepS;
    // Where five minutes more lead out of the thermals at their other end, by the minute.
    const hours = ofThermals && thermalHours(task);
    const fits = (utcS: number) => !hours || fitsLater(hours, utcS - takeoff.utcS);
    const utcS = shiftS === TWELVE_HOURS_S ? takeoff.utcS + shiftS : [by(STEP_S), by(MINUTE_S)].find(fits);
    if (utcS === undefined) return [];
    // On the same day by its own clock; thermals come every day.
    const localS = utcS + takeoff.zoneMinutes * 60;
    if ((localS < 0 || localS >= DAY_S) && !ofThermals) return [];
    const text = timeOfDay(utcS, takeoff.zoneMinutes);
    return [
      { title: `Take off at ${text}`, edits: [replaceIn(spot, node.span, text)], preferred: shifts.length === 1 },
    ];
  });
};

/** A reserve that keeps less than the limits ask: the one that they name. */
export const askedReserve: Fixer = (finding, context): Fix[] => {
  const task = taskOf(finding, context);
  const spot = task && spotOf(context.workspace, task.uri, task.entry);
  const node = task?.task.reserve?.name;
  if (!task || !spot || !node) return [];
  const asked = new Set(
    task.limits.flatMap(({ leastReserve }) =>
      leastReserve && leastReserve.meaning !== task.reserve?.meaning ? [leastReserve.meaning.name] : [],
    ),
  );
  return [...asked].flatMap((name) => {
    const text = nameText(name);
    const edits = text === undefined ? [] : [replaceIn(spot, node.span, text)];
    return [{ title: `Keep the reserve ${shownName(name)}`, edits, preferred: asked.size === 1 }];
  });
};
