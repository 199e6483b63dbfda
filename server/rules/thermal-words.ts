/** What the rules of the thermals' hours share. */
import { clockOf } from '../plan/clock.ts';
import type { ClimbEvaluation, TaskEvaluation } from '../plan/task.ts';

/** The climbs of a task with the time of day at which they begin and end, seconds after midnight UTC. */
export function climbHours(evaluation: TaskEvaluation): { climb: ClimbEvaluation; fromS: number; toS: number }[] {
  const { takeoff } = evaluation.task;
  const thermals = evaluation.weather?.meaning.thermals;
  if (!takeoff || !thermals || thermals.toS <= thermals.fromS) return [];
  return [...clockOf(evaluation).climbs]
    .filter(([{ timeS, goesDown }]) => !goesDown && timeS !== undefined && timeS > 0)
    .map(([climb, { fromS, toS }]) => ({ climb, fromS: takeoff.utcS + fromS, toS: takeoff.utcS + toS }));
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
