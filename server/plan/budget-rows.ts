/** What every view of a budget for people has in common: its numbers as text, in the reader's units. */

import { fromSi, type Unit } from '../../grammar/units.ts';
import { number, type Show } from './show.ts';
import { soaringOf } from './soaring.ts';
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

/** The heights of a leg in whole units of the reader, as they are shown: they add up, and none is shown too well. */
export interface WholeHeights {
  /** Of still air, wind, sinking air and the planned share; they sum to `lost`. */
  readonly spent: readonly [number, number, number, number];
  readonly lost: number;
  readonly reserve: number;
  readonly altimeter: number;
  /** `over` less reserve and altimeter. */
  readonly margin: number;
  /** The arrival over the point, rounded down. */
  readonly over: number;
}

/** The heights of a leg that is flown to its end; undefined for any other. */
export function wholeHeights(leg: LegEvaluation, with_: Show): WholeHeights | undefined {
  const { result } = leg;
  if (!result || result.problem) return undefined;
  const { budget } = result;
  const unit = with_.units.altitude;
  const in_ = (metres: number) => fromSi(metres, unit);
  // The sums so far are rounded, not the terms, so that the terms add up.
  let exact = 0;
  let shown = 0;
  const term = (metres: number): number => {
    exact += in_(metres);
    const before = shown;
    shown = Math.round(exact);
    return shown - before;
  };
  const spent = [term(budget.stillAir), term(budget.wind), term(budget.sinkingAir), term(budget.performance)] as const;
  const asked = Math.ceil(in_(budget.reserve + budget.altimeter) - 1e-6);
  const reserve = Math.min(Math.round(in_(budget.reserve)), asked);
  const over = Math.floor(in_(result.arriveHeightM) + 1e-6);
  return { spent, lost: shown, reserve, altimeter: asked - reserve, margin: over - asked, over };
}

/** A whole number of a unit with its sign: `−320 ft`; `plus` stands before one above zero. */
export function signed(whole: number, unit: Unit, plus: string): string {
  return `${whole > 0 ? plus : whole < 0 ? '−' : ''}${number(Math.abs(whole))} ${unit.text}`;
}

/** A leg's margin with its sign, never shown larger than it is; a dash for a leg that is not flown to its end. */
export function marginText(leg: LegEvaluation, with_: Show): string {
  const heights = wholeHeights(leg, with_);
  return heights ? signed(heights.margin, with_.units.altitude, '+') : DASH;
}

/** One leg as cells under {@link LEG_HEADS}. */
export function legCells(leg: LegEvaluation, with_: Show): string[] {
  const { result, input } = leg;
  const name = `${leg.number} ${leg.fromName || '?'} → ${leg.toName || '?'}`;
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
    leg.departAssumed
      ? `${with_.height(result.departAltitudeM, 'up')} (asked there)`
      : with_.height(result.departAltitudeM, 'down'),
    height(result.requiredDepartAltitudeM, 'up'),
    height(flown?.arriveAltitudeM, 'down'),
    height(flown?.arriveHeightM, 'down'),
    height(asked, 'up'),
    marginText(leg, with_),
    flown ? with_.duration(flown.timeS) : DASH,
  ];
}

/** The terms of a leg's budget: what the height is spent on, and what is left; whole units that add up. */
export function budgetTerms(
  leg: LegEvaluation,
  with_: Show,
): { spent: [string, string][]; left: [string, string][]; lost: string; over: string } | undefined {
  const heights = wholeHeights(leg, with_);
  if (!heights) return undefined;
  const text = (whole: number) => signed(whole, with_.units.altitude, '');
  const [stillAir, wind, sinkingAir, performance] = heights.spent;
  return {
    spent: [
      ['still air', text(stillAir)],
      ['wind', text(wind)],
      ['sinking air', text(sinkingAir)],
      ['planned share of the polar', text(performance)],
    ],
    left: [
      ['reserve', text(heights.reserve)],
      ['altimeter', text(heights.altimeter)],
      ['margin', text(heights.margin)],
    ],
    lost: text(heights.lost),
    over: text(heights.over),
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
  const soaring = soaringOf(task);
  if (soaring) {
    const average = soaring.averageMps === undefined ? '' : `, ${with_.speed(soaring.averageMps)} on average`;
    parts.push(`${soaring.climbs} ${soaring.climbs === 1 ? 'climb' : 'climbs'} soaring${average}`);
  }
  return parts.length === 0 ? 'not computed' : parts.join(', ');
}
