/** Phrases that several rules of the flight share. */

import { fromSi } from '../../grammar/units.ts';
import type { Show } from '../plan/show.ts';
import type { LegEvaluation, Place } from '../plan/task.ts';
import type { Related, TaskContext } from './rule.ts';

/** `leg 4 to Larkfield`. */
export function legName(leg: LegEvaluation): string {
  return `leg ${leg.number} to ${leg.toName}`;
}

/** Where a leg is marked: from its keyword to its point's name, so that the speed has a place of its own. */
export function legPlace(leg: LegEvaluation, context: TaskContext): Place {
  const point = leg.line.slots['point'];
  return context.at({ start: leg.line.span.start, end: point?.span.end ?? leg.line.span.end });
}

/**
 * The way out of a leg that arrives too low: the height to leave at, and the speed that makes it where flying slower
 * does. Heights are rounded up and speeds down, so that the advice is never short.
 */
export function wayOut(leg: LegEvaluation, with_: Show): string {
  const { result, input } = leg;
  if (!result || !input) return '';
  const ways: string[] = [];
  const last = result.climbs.at(-1);
  if (result.requiredDepartAltitudeM !== null) {
    const height = with_.altitude(result.requiredDepartAltitudeM, 'up');
    ways.push(last ? `Climb to ${height} after ${with_.distance(last.afterM)}` : `Leave ${leg.fromName} at ${height}`);
  }
  const speed = slowerSpeed(leg, with_);
  if (speed) ways.push(`fly ${speed}`);
  if (ways.length === 0) return '';
  const text = ways.join(' or ');
  return ` ${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

/** The fastest speed that makes the leg, when it is slower than the one planned. */
function slowerSpeed(leg: LegEvaluation, with_: Show): string | undefined {
  const { result } = leg;
  const fastest = result?.fastestIndicatedMps;
  if (!result || fastest === null || fastest === undefined || fastest >= result.indicatedMps) return undefined;
  const whole = Math.floor(fromSi(fastest, with_.units.speed));
  const best = result.bestGlideIndicatedMps ?? 0;
  // Rounded down past the best glide it would not make it; best glide itself does.
  return whole < fromSi(best, with_.units.speed) ? 'at best glide' : `${whole} ${with_.units.speed.text}`;
}

/** Where the facts behind a leg's arrival are written: the height asked, the aircraft, the wind. */
export function legRelated(leg: LegEvaluation, context: TaskContext): Related[] {
  const { evaluation } = context;
  const related: Related[] = [];
  if (leg.asks?.at) related.push({ at: leg.asks.at, message: 'the height asked is written here' });
  if (leg.heightLine)
    related.push({ at: context.at(leg.heightLine.span), message: 'the height to leave at is written here' });
  const performance = evaluation.reserve?.meaning.performance;
  if (evaluation.reserve && performance) {
    related.push({
      at: { ...evaluation.reserve.at, span: performance.line.span },
      message: 'the share of the polar that is planned on',
    });
  }
  if (evaluation.aircraft)
    related.push({ at: evaluation.aircraft.at, message: `the aircraft, ${evaluation.aircraft.meaning.name}` });
  const wind = evaluation.weather?.meaning.winds[0];
  if (evaluation.weather && wind)
    related.push({
      at: { ...evaluation.weather.at, span: wind.line.span },
      message: `the wind of ${evaluation.weather.meaning.name}`,
    });
  return related;
}

/** Heights in whole units of the reader that add up: asked − arrival = short. */
export function shortfall(
  leg: LegEvaluation,
  with_: Show,
): { arrival: string; asked: string; short: string } | undefined {
  const { result, input } = leg;
  if (!result || result.problem || !input) return undefined;
  const unit = with_.units.altitude;
  const arrival = Math.floor(fromSi(result.arriveHeightM, unit) + 1e-6);
  const asked = Math.ceil(fromSi(input.destination.reserveM + input.destination.altimeterM, unit) - 1e-6);
  const text = (value: number) => with_.height(value * unit.factor);
  return { arrival: text(Math.abs(arrival)), asked: text(asked), short: text(asked - arrival) };
}
