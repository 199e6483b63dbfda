/** What the rules of the crosswind share. */
import { bestRunway, fieldWind, type RunwayWind } from '../plan/landing.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { unreadable, windLines } from './leg-words.ts';
import type { Related } from './rule.ts';

export interface FinishCrosswind {
  readonly leg: LegEvaluation;
  /** The runway with the least crosswind of those that are long enough. */
  readonly best: RunwayWind;
  readonly crossMps: number;
  /** `, its directions taken as true since no date is known`, or nothing. */
  readonly sayRunways: string;
  readonly related: readonly Related[];
}

/** The crosswind at the finish of a task; undefined where there is no field or its facts cannot be read. */
export function crosswindOf(evaluation: TaskEvaluation): FinishCrosswind | 'no-runway' | 'no-wind' | undefined {
  const { legs, weather, aircraft } = evaluation;
  const leg = legs.at(-1);
  const field = leg?.to?.meaning;
  if (leg?.kind !== 'finish' || field?.kind !== 'field' || field.elevationM === undefined) return undefined;
  // A glider that makes no headway does not land there.
  if (leg.result?.problem || unreadable(field, 'runway')) return undefined;
  if (field.runways.length === 0) return 'no-runway';
  if (weather && unreadable(weather.meaning, 'wind', 'date')) return undefined;
  if (!weather || weather.meaning.winds.length === 0)
    return evaluation.task.weather && !weather ? undefined : 'no-wind';
  const wind = fieldWind(field, evaluation);
  const best = wind && bestRunway(wind.runways, aircraft?.meaning.landingM?.value);
  if (!best) return undefined;
  const line = windLines(evaluation).reduce<ReturnType<typeof windLines>[number] | undefined>(
    (one, other) =>
      !one || Math.abs(other.altitudeM - (field.elevationM ?? 0)) < Math.abs(one.altitudeM - (field.elevationM ?? 0))
        ? other
        : one,
    undefined,
  );
  return {
    leg,
    best,
    crossMps: Math.abs(best.crossMps),
    sayRunways:
      wind.variationDeg === undefined ? '; the runways are taken as true, since the variation is not known' : '',
    related: [
      {
        at: { ...(leg.to as NonNullable<typeof leg.to>).at, span: best.runway.line.span },
        message: `runway ${best.runway.text}`,
      },
      ...(line ? [{ at: line.at, message: `the wind of ${weather.meaning.name}` }] : []),
    ],
  };
}
