/** The last glide of a task as heights at round distances to go. */
import { fromSi, type Unit } from '../../grammar/units.ts';
import { glideBackward } from '../flight/index.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';

/** A height that must be had. */
export interface GlideHeight {
  /** To the finish along the legs, m. */
  readonly toGoM: number;
  /** From here on nothing but gliding: what each turn of the way asks, and the finish, m above the sea. */
  readonly requiredM: number;
  /** The point of the task that lies here; undefined for a round distance. */
  readonly over: string | undefined;
}

export interface LastGlide {
  readonly to: string;
  /** The legs that it is flown on, the first one first. */
  readonly legs: readonly LegEvaluation[];
  /** From the farthest to the finish. */
  readonly heights: readonly GlideHeight[];
  /** Farther out than this no height is enough, m to go; null where the whole glide has its heights. */
  readonly noHeadwayFromM: number | null;
}

const STEPS = [0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500];
const MOST_STEPS = 12;
/** A round distance this close to a point of the task says nothing beside it, as a share of a step. */
const TOO_CLOSE = 0.3;

/** A stretch of one leg on which there is no climb. */
interface Piece {
  readonly leg: LegEvaluation;
  readonly fromM: number;
  /** From the end of its leg to the finish. */
  readonly beyondM: number;
  /** The altitude that must be had at its end. */
  readonly endM: number;
}

function requiredAt({ leg, endM }: Piece, xM: number): number | null {
  const { input, result } = leg;
  if (!input || !result) return null;
  const glide = glideBackward(input.setting, result.indicatedMps, xM, result.distanceM, endM);
  return glide.problem ? null : glide.altitudeM;
}

/** Backward from the finish, up to the last climb, or to what is not computed. */
function piecesOf({ legs }: TaskEvaluation): Piece[] {
  const pieces: Piece[] = [];
  let beyondM = 0;
  let onwardM = -Infinity;
  for (const leg of legs.toReversed()) {
    const { result, climbs } = leg;
    if (!result) break;
    const climbed = result.climbs.at(-1);
    const piece = { leg, fromM: climbed?.afterM ?? 0, beyondM, endM: Math.max(result.askedAltitudeM, onwardM) };
    pieces.push(piece);
    const start = requiredAt(piece, piece.fromM);
    const overhead = climbs.some(({ afterM, goesDown }) => afterM === undefined && !goesDown);
    if (climbed || overhead || start === null || leg.departAssumed) break;
    onwardM = start;
    beyondM += result.distanceM;
  }
  return pieces;
}

/**
 * The last glide of a task that ends at a finish: the altitude required at each round distance to go in the reader's
 * unit, at the speeds planned, and over the points on the way. Undefined for a task whose last leg is not computed.
 */
export function lastGlideOf(task: TaskEvaluation, unit: Unit): LastGlide | undefined {
  const last = task.legs.at(-1);
  if (last?.kind !== 'finish' || !last.result) return undefined;
  const pieces = piecesOf(task);
  const first = pieces.at(-1) as Piece;
  const wholeM = first.beyondM + (first.leg.result?.distanceM ?? 0) - first.fromM;
  const whole = fromSi(wholeM, unit);
  const step = STEPS.find((one) => whole / one <= MOST_STEPS) ?? Math.ceil(whole / MOST_STEPS);
  const stepM = step * unit.factor;
  const heights: GlideHeight[] = [];
  let noHeadwayFromM: number | null = null;
  for (const [i, piece] of pieces.entries()) {
    const { leg, beyondM, fromM } = piece;
    const lengthM = leg.result?.distanceM ?? 0;
    if (i === 0) heights.push({ toGoM: 0, requiredM: piece.endM, over: leg.toName });
    const farM = beyondM + lengthM - fromM;
    const places: { toGoM: number; over: string | undefined }[] = [];
    for (let n = Math.floor(beyondM / stepM) + 1; n * stepM < farM; n++)
      places.push({ toGoM: n * stepM, over: undefined });
    places.push({ toGoM: farM, over: fromM === 0 ? leg.fromName : undefined });
    for (const { toGoM, over } of places) {
      const isEnd = toGoM === farM;
      if (!isEnd && Math.min(farM - toGoM, toGoM - beyondM) < TOO_CLOSE * stepM) continue;
      const requiredM = requiredAt(piece, beyondM + lengthM - toGoM);
      if (requiredM === null) {
        noHeadwayFromM ??= heights.at(-1)?.toGoM ?? 0;
        break;
      }
      heights.push({ toGoM, requiredM, over });
    }
    if (noHeadwayFromM !== null) break;
  }
  return {
    to: last.toName,
    legs: pieces.map(({ leg }) => leg).toReversed(),
    heights: heights.toReversed(),
    noHeadwayFromM,
  };
}
