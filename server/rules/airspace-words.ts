/** What the rules of airspace share. */
import { type AirspaceMet, airspacesOf } from '../plan/airspace.ts';
import type { Airspace } from '../plan/meaning.ts';
import { altitudeAboveSeaText, type Show, timeOfDay } from '../plan/show.ts';
import { legPlace } from './leg-words.ts';
import type { Related, TaskContext } from './rule.ts';

/** What a task meets, of one kind, with the place of the leg or climb. */
export function met(context: TaskContext, kind: AirspaceMet['kind']) {
  return airspacesOf(context.evaluation)
    .met.filter((one) => one.kind === kind)
    .map((one) => ({
      ...one,
      at: one.climb
        ? context.at((one.climb.line.slots['altitude'] ?? one.climb.line.slots['upper'] ?? one.climb.line).span)
        : legPlace(one.leg, context),
    }));
}

/** A limit as it is written, and as an altitude where that is another: `FL95 (9,402 ft MSL)`. */
export function limitText(airspace: Airspace, which: 'floor' | 'ceiling', altitudeM: number, show: Show): string {
  const limit = airspace[which]?.value;
  return limit ? altitudeAboveSeaText(limit, altitudeM, show, which === 'floor' ? 'down' : 'up') : '';
}

/** Where a volume is written, and when it is active. */
export function airspaceRelated({ airspace }: AirspaceMet, { evaluation }: TaskContext): Related[] {
  const { active, name } = airspace.meaning;
  const zone = evaluation.task.takeoff?.zoneMinutes ?? 0;
  const times = active.map(({ fromS, toS }) => `${timeOfDay(fromS, zone)} to ${timeOfDay(toS, zone)}`);
  const clock = evaluation.task.takeoff ? '' : '; without a take-off it counts as active';
  return [
    {
      at: airspace.at,
      message: times.length === 0 ? `${name} is written here` : `${name}, active ${times.join(' and ')}${clock}`,
    },
  ];
}
