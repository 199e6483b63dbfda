/** What the rules of the thermals' hours share. */
import { clockOf } from '../plan/clock.ts';
import { thermalsOf } from '../plan/day.ts';
import type { ClimbEvaluation, TaskEvaluation } from '../plan/task.ts';
import { durationsApart } from './leg-words.ts';
import type { TaskContext } from './rule.ts';

/** A climb with the time of day at which it begins and ends, seconds after midnight UTC. */
export interface ClimbHours {
  readonly climb: ClimbEvaluation;
  readonly fromS: number;
  readonly toS: number;
}

/** The climbs of a task in the hours of its thermals or out of them. */
export interface ThermalHours {
  readonly fromS: number;
  readonly toS: number;
  /** In the order flown; at least one. */
  readonly climbs: readonly ClimbHours[];
  /** When the first of them begins and the last of them ends. */
  readonly firstS: number;
  readonly lastS: number;
}

/** Undefined where no thermals or no take-off are given, or no climb has a time. */
export function thermalHours(evaluation: TaskEvaluation): ThermalHours | undefined {
  const { takeoff } = evaluation.task;
  const thermals = thermalsOf(evaluation);
  if (!takeoff || !thermals) return undefined;
  const climbs = [...clockOf(evaluation).climbs]
    .filter(([{ timeS, goesDown }]) => !goesDown && timeS !== undefined && timeS > 0)
    .map(([climb, { fromS, toS }]) => ({ climb, fromS: takeoff.utcS + fromS, toS: takeoff.utcS + toS }));
  if (climbs.length === 0) return undefined;
  const firstS = Math.min(...climbs.map(({ fromS }) => fromS));
  return { ...thermals, climbs, firstS, lastS: Math.max(...climbs.map(({ toS }) => toS)) };
}

/** A climb is out of the hours by more than this only, s. */
export const NOTHING_S = 0.5;

/** Whether a take-off so much later (or, below zero, earlier) has all climbs in the hours. */
export function fitsLater({ fromS, toS, firstS, lastS }: ThermalHours, laterS: number): boolean {
  return firstS + laterS >= fromS - NOTHING_S && lastS + laterS <= toS + NOTHING_S;
}

/** The way out by another take-off (seconds after midnight UTC); without one where no take-off has all climbs in the hours. */
export function takeoffText(
  hours: ThermalHours,
  takeoffS: number,
  text: string,
  { evaluation, show }: TaskContext,
): string {
  if (fitsLater(hours, takeoffS - (evaluation.task.takeoff?.utcS ?? 0))) return text;
  const { fromS, toS, firstS, lastS } = hours;
  const { greater, less } = durationsApart(lastS - firstS, toS - fromS, show);
  return `No take-off has all climbs in them: from the first to the last it takes ${greater}, and they last ${less}. Fly less far.`;
}

/** A weather with these thermals, for the pages. */
export const thermalsExample = (hours: string) => `weather Evening
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  lift        3 kt to 5800 ft MSL
  thermals    ${hours}
`;
