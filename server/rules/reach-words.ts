/** What the rules of the fields in reach share. */
import { fromSi } from '../../grammar/units.ts';
import { evaluateLeg, glideBackward, type Stretch } from '../flight/index.ts';
import { type FieldAsked, type FieldStretch, isFlown, stretchesWithoutField } from '../plan/reach.ts';
import { number, type Show } from '../plan/show.ts';
import type { LegEvaluation } from '../plan/task.ts';
import { fallsShort, heightsApart, wholeUp } from './leg-words.ts';
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

/** Parts of a leg as they are shown: their lengths are what lies between the ends that are shown. */
export interface PartsText {
  readonly length: string;
  /** Of each part: `4.1 to 6.4 NM`. */
  readonly between: readonly string[];
}

/**
 * Parts of a leg in tenths of the reader's unit from its start: the earlier end rounded down and the later up, and none
 * beyond the leg as it is shown.
 */
export function partsText(
  parts: readonly { readonly fromM: number; readonly toM: number }[],
  legM: number | undefined,
  { units }: Show,
): PartsText {
  const unit = units.distance;
  const tenths = (metres: number) => fromSi(metres, unit) * 10;
  let sum = 0;
  const between = parts.map(({ fromM, toM }) => {
    const from = Math.floor(tenths(fromM) + 1e-6);
    const to = Math.min(Math.ceil(tenths(toM) - 1e-6), Math.max(Math.round(tenths(legM ?? toM)), from));
    sum += to - from;
    return `${number(from / 10, 1)} to ${number(to / 10, 1)} ${unit.text}`;
  });
  return { length: `${number(sum / 10, 1)} ${unit.text}`, between };
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

/** Heights to leave at that are tried; the last is enough, or none is told. */
const TRIES = 4;
/** Each is higher than the one before by this at least, m. */
const LEAST_MORE_M = 0.01;

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
  let most: FieldStretch | undefined = worst;
  let departM = result.departAltitudeM;
  for (let i = 0; i < TRIES && most; i += 1) {
    const { xM, least } = most.worst;
    const back = least && glideBackward(input.setting, result.indicatedMps, 0, xM, least.requiredM);
    if (!back || back.problem) return undefined;
    departM = wholeUp(Math.max(back.altitudeM, departM + LEAST_MORE_M), show);
    const higher = evaluateLeg({ ...input, departAltitudeM: departM });
    if (higher.problem) return undefined;
    const left = stretchesWithoutField(
      { ...leg, result: higher, input: { ...input, departAltitudeM: departM } },
      evaluation,
    );
    if (!left) return undefined;
    most = worstOf(left);
    if (!most) return departM;
  }
  return undefined;
}
