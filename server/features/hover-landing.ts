/** What hover says of the landing at the end of a task: the runway to land on, and the wind along and across it. */
import { bestRunway, fieldWind, longEnough, type RunwayWind } from '../plan/landing.ts';
import type { Field } from '../plan/meaning.ts';
import { number, type Show } from '../plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { escapeMarkdown } from '../plan/text.ts';

/** Slower than this a wind has no side, m/s. */
const CALM_MPS = 0.05;

/** `headwind 6 kt, crosswind 4 kt from the left`: what helps rounded down, what does not rounded up. */
export function runwayWindText({ headMps, crossMps }: RunwayWind, with_: Show): string {
  const along = headMps >= 0 ? `headwind ${with_.speed(headMps, 'down')}` : `tailwind ${with_.speed(-headMps, 'up')}`;
  const across = Math.abs(crossMps);
  if (across < CALM_MPS) return `${along}, no crosswind`;
  return `${along}, crosswind ${with_.speed(across, 'up')} from the ${crossMps > 0 ? 'right' : 'left'}`;
}

/** The best runway of a field for a task's wind; undefined without one, or without a wind. */
export function bestRunwayText(field: Field, task: TaskEvaluation, with_: Show): string | undefined {
  const wind = fieldWind(field, task);
  const needed = task.aircraft?.meaning.landingM?.value;
  const best = wind && bestRunway(wind.runways, needed);
  if (!best) return undefined;
  const { lengthM, surface, circuit } = best.runway;
  const what = [
    lengthM === undefined ? '' : `${number(lengthM)} m`,
    surface === undefined ? '' : escapeMarkdown(surface),
    circuit === undefined ? '' : `circuit ${circuit}`,
  ].filter((part) => part !== '');
  const short = longEnough(best.runway, needed) ? '' : '; shorter than the aircraft needs';
  const taken = wind.variationDeg === undefined ? '; its direction taken as true' : '';
  return `${escapeMarkdown(best.end)}: ${runwayWindText(best, with_)}${what.length === 0 ? '' : ` (${what.join(', ')})`}${short}${taken}`;
}

/** The runway of a field with the least crosswind, in a few words: `25: headwind 6 kt, no crosswind`; nothing without one. */
export function shortRunwayText(field: Field, task: TaskEvaluation, with_: Show): string {
  const wind = fieldWind(field, task);
  const needed = task.aircraft?.meaning.landingM?.value;
  const best = wind && bestRunway(wind.runways, needed);
  if (!best) return '';
  const short = longEnough(best.runway, needed) ? '' : '; shorter than the aircraft needs';
  return `${escapeMarkdown(best.end)}: ${runwayWindText(best, with_)}${short}`;
}

/** The rows that hover adds for the landing at the end of a leg to the finish. */
export function landingRows(leg: LegEvaluation, task: TaskEvaluation, with_: Show): [string, string][] {
  const field = leg.to?.meaning;
  if (leg.kind !== 'finish' || field?.kind !== 'field') return [];
  const text = bestRunwayText(field, task, with_);
  return text === undefined ? [] : [['runway with the least crosswind', text]];
}
