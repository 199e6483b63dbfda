/** What every view of a budget for people has in common: its numbers as text, in the reader's units. */

import { fromSi } from '../../grammar/units.ts';
import { number, type Show } from './show.ts';
import type { LegEvaluation, TaskEvaluation } from './task.ts';

export const LEG_HEADS = [
  'leg',
  'distance',
  'course',
  'speed',
  'depart',
  'required',
  'arrive',
  'over point',
  'asked',
  'margin',
  'time',
] as const;

const DASH = '–';

/** True course, and magnetic beside it where it is known. */
export function courseText(leg: LegEvaluation, with_: Show): string {
  const { result, variationDeg } = leg;
  if (!result) return DASH;
  const magnetic = variationDeg === undefined ? '' : ` / ${with_.course(result.courseDeg - variationDeg)}M`;
  return `${with_.course(result.courseDeg)}${magnetic}`;
}

/** A margin with its sign; rounded down, so that it is never shown larger than it is. */
export function marginText(metres: number, with_: Show): string {
  const unit = with_.units.altitude;
  const whole = Math.floor(fromSi(metres, unit) + 1e-6);
  return `${whole > 0 ? '+' : whole < 0 ? '−' : ''}${number(Math.abs(whole))} ${unit.text}`;
}

/** One leg as cells under {@link LEG_HEADS}. */
export function legCells(leg: LegEvaluation, with_: Show): string[] {
  const { result, input } = leg;
  const name = `${leg.number} ${leg.fromName} → ${leg.toName}`;
  if (!result || !input) return [name, ...LEG_HEADS.slice(1).map(() => DASH)];
  const flown = result.problem === null ? result : undefined;
  const asked = input.destination.reserveM + input.destination.altimeterM;
  const height = (metres: number | null | undefined, rounding: 'up' | 'down' | 'nearest') =>
    metres === null || metres === undefined ? DASH : with_.height(metres, rounding);
  return [
    name,
    with_.distance(result.distanceM),
    courseText(leg, with_),
    with_.speed(result.indicatedMps),
    `${with_.height(result.departAltitudeM)}${leg.departAssumed ? ' (asked there)' : ''}`,
    height(result.requiredDepartAltitudeM, 'up'),
    height(flown?.arriveAltitudeM, 'down'),
    height(flown?.arriveHeightM, 'down'),
    height(asked, 'up'),
    flown ? marginText(flown.marginM, with_) : DASH,
    flown ? with_.duration(flown.timeS) : DASH,
  ];
}

/** The terms of a leg's budget: what the height is spent on, and what is left; whole units that add up. */
export function budgetTerms(
  leg: LegEvaluation,
  with_: Show,
): { spent: [string, string][]; left: [string, string][]; lost: string; over: string } | undefined {
  const { result } = leg;
  if (!result || result.problem) return undefined;
  const { budget } = result;
  const text = (metres: number) => {
    const whole = Math.round(fromSi(metres, with_.units.altitude));
    return `${whole < 0 ? '−' : ''}${number(Math.abs(whole))} ${with_.units.altitude.text}`;
  };
  const lost = budget.stillAir + budget.wind + budget.sinkingAir + budget.performance;
  return {
    spent: [
      ['still air', text(budget.stillAir)],
      ['wind', text(budget.wind)],
      ['sinking air', text(budget.sinkingAir)],
      ['planned share of the polar', text(budget.performance)],
    ],
    left: [
      ['reserve', text(budget.reserve)],
      ['altimeter', text(budget.altimeter)],
      ['margin', text(budget.margin)],
    ],
    lost: text(lost),
    over: text(result.arriveHeightM),
  };
}

/** Distance and times of a task: `39.0 NM, 38 min gliding, 35 min climbing, 1 h 14 min in all`. */
export function totalsText(task: TaskEvaluation, with_: Show): string {
  const { distanceM, glideTimeS, climbTimeS, timeS } = task.totals;
  const parts: string[] = [];
  if (distanceM !== null) parts.push(with_.distance(distanceM));
  if (glideTimeS !== null) parts.push(`${with_.duration(glideTimeS)} gliding`);
  if (climbTimeS !== null) parts.push(`${with_.duration(climbTimeS)} climbing`);
  if (timeS !== null) parts.push(`${with_.duration(timeS)} in all`);
  return parts.length === 0 ? 'not computed' : parts.join(', ');
}
