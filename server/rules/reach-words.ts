/** What the rules of the fields in reach share. */
import { fromSi, toSi } from '../../grammar/units.ts';
import { evaluateLeg, type Stretch } from '../flight/index.ts';
import { type FieldAsked, type FieldStretch, isFlown, stretchesWithoutField } from '../plan/reach.ts';
import { number, type Show } from '../plan/show.ts';
import type { LegEvaluation } from '../plan/task.ts';
import { fallsShort, heightsApart } from './leg-words.ts';
import type { Related, TaskContext } from './rule.ts';

/** Stretches shorter than this are not told: no plan is flown so closely, m. */
const SHORTEST_M = 50;
/** A stretch this near to the end of a leg reaches it, m. */
const AT_END_M = 10;

/**
 * The stretches of a leg without a field in reach that are to be told. One that ends where the leg arrives over a field
 * too low is told by that finding.
 */
export function stretchesTold(leg: LegEvaluation, context: TaskContext): readonly FieldStretch[] {
  const { result, to } = leg;
  if (!result || result.problem || !isFlown(leg)) return [];
  const all = stretchesWithoutField(leg, context.evaluation) ?? [];
  const arrivesLow = to?.meaning.kind === 'field' && fallsShort(result);
  return all.filter(
    ({ fromM, toM }) =>
      (toM - fromM >= SHORTEST_M || result.distanceM < SHORTEST_M) &&
      !(arrivesLow && toM >= result.distanceM - AT_END_M),
  );
}

/** How much height is missing at the worst point of a stretch; Infinity where none would do. */
export function missingIn({ worst }: Stretch<FieldAsked>): number {
  return worst.least ? worst.least.requiredM - worst.altitudeM : Infinity;
}

/** The worst of stretches. */
export function worstOf(stretches: readonly FieldStretch[]): FieldStretch | undefined {
  return stretches.reduce<FieldStretch | undefined>(
    (one, other) => (!one || missingIn(other) > missingIn(one) ? other : one),
    undefined,
  );
}

/**
 * Distances from the start of a leg to a tenth of the reader's unit, the earlier rounded down and the later up, and
 * never beyond the leg as it is shown.
 */
export function betweenText(fromM: number, toM: number, lengthM: number, { units }: Show): string {
  const unit = units.distance;
  const tenth = (metres: number, round: (value: number) => number) => round(fromSi(metres, unit) * 10) / 10;
  const from = tenth(fromM, (value) => Math.floor(value + 1e-6));
  const to = Math.min(
    tenth(toM, (value) => Math.ceil(value - 1e-6)),
    tenth(lengthM, Math.round),
  );
  return `${number(from, 1)} to ${number(to, 1)} ${unit.text}`;
}

/** The length of stretches together, rounded up to a tenth. */
export function lengthText(stretches: readonly FieldStretch[], { units }: Show): string {
  const unit = units.distance;
  const metres = stretches.reduce((sum, { fromM, toM }) => sum + toM - fromM, 0);
  return `${number(fromSi(metres, unit), 1, 'up')} ${unit.text}`;
}

/** The fields that come closest at the worst points of stretches, each once. */
export function closestFields(stretches: readonly FieldStretch[], { show }: TaskContext): Related[] {
  const seen = new Set<FieldAsked>();
  const related: Related[] = [];
  for (const stretch of stretches) {
    const { worst } = stretch;
    const field = worst.least?.field;
    if (!worst.least || !field || seen.has(field)) continue;
    seen.add(field);
    related.push({
      at: field.at,
      message: `${field.meaning.name} comes closest, ${show.distance(worst.least.distanceM)} away: ${heightsApart(worst.least.requiredM, worst.altitudeM, show).by} are missing`,
    });
  }
  return related.slice(0, 3);
}

/** Heights that are tried, to leave at, m above what the worst point asks; the last is enough or none is told. */
const TRIES = 4;

/**
 * The altitude to leave at, a whole number of the reader's units, with which a field stays in reach on the whole of a
 * leg without climbs on its way. Tried, not guessed; undefined where it is not found.
 */
export function higherFor(
  leg: LegEvaluation,
  stretches: readonly FieldStretch[],
  { evaluation, show }: TaskContext,
): number | undefined {
  const { input, result } = leg;
  const worst = worstOf(stretches);
  if (!input || !result || result.climbs.length > 0 || !worst || missingIn(worst) === Infinity) return undefined;
  const unit = show.units.altitude;
  let missingM = missingIn(worst);
  let departM = result.departAltitudeM;
  for (let i = 0; i < TRIES; i += 1) {
    departM = toSi(Math.ceil(fromSi(departM + missingM, unit) - 1e-6), unit);
    const higher = evaluateLeg({ ...input, departAltitudeM: departM });
    if (higher.problem) return undefined;
    const left = stretchesWithoutField(
      { ...leg, result: higher, input: { ...input, departAltitudeM: departM } },
      evaluation,
    );
    if (!left) return undefined;
    const most = worstOf(left);
    if (!most) return departM;
    missingM = Math.max(missingIn(most), 0.3);
    if (missingM === Infinity) return undefined;
  }
  return undefined;
}
