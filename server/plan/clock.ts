/** The time over every point of a task: gliding and climbing, from its take-off on. */
import { type ClimbEvaluation, climbsOf, type LegEvaluation, type TaskEvaluation } from './task.ts';

/** A stretch of time, in seconds since the take-off. */
export interface Stretch {
  readonly fromS: number;
  readonly toS: number;
}

/** Times in seconds since the take-off; whatever comes behind a climb without a rate, or a leg not flown, is not known. */
export interface Clock {
  /** Over the end of each leg, as far as it is known. */
  readonly legs: ReadonlyMap<LegEvaluation, number>;
  readonly climbs: ReadonlyMap<ClimbEvaluation, Stretch>;
  /** Over the end of the last leg. */
  readonly finishS: number | undefined;
}

const kept = new WeakMap<TaskEvaluation, Clock>();

/** The time gliding to the climbs on the way of a leg, by their distance. */
function glidingTo(leg: LegEvaluation): (afterM: number) => number | undefined {
  const { result } = leg;
  if (!result || result.problem || result.climbs.length === 0) return () => undefined;
  const path = result.path();
  return (afterM) => path.find(({ xM }) => xM >= afterM - 1e-6)?.timeS;
}

function walk({ legs }: TaskEvaluation): Clock {
  const over = new Map<LegEvaluation, number>();
  const climbs = new Map<ClimbEvaluation, Stretch>();
  let now: number | undefined = 0;
  for (const leg of legs) {
    const { result } = leg;
    if (result?.problem !== null) now = undefined;
    const gliding = glidingTo(leg);
    let climbing = 0;
    for (const climb of climbsOf(leg)) {
      if (climb.beyondLeg || now === undefined) continue;
      const glided: number | undefined = climb.afterM === undefined ? 0 : gliding(climb.afterM);
      if (climb.timeS === undefined || glided === undefined) now = undefined;
      else {
        const fromS: number = now + climbing + glided;
        climbs.set(climb, { fromS, toS: fromS + climb.timeS });
        climbing += climb.timeS;
      }
    }
    if (now === undefined || !result || result.problem) break;
    now += climbing + result.timeS;
    over.set(leg, now);
  }
  const last = legs.at(-1);
  return { legs: over, climbs, finishS: last && over.get(last) };
}

/** The clock of a task, kept with its evaluation. */
export function clockOf(evaluation: TaskEvaluation): Clock {
  let clock = kept.get(evaluation);
  if (!clock) {
    clock = walk(evaluation);
    kept.set(evaluation, clock);
  }
  return clock;
}
