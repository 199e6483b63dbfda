/** Fixes for legs that arrive too low: leave higher, climb first, or fly another speed. Each is tried, not guessed. */
import { unit } from '../../../grammar/units.ts';
import { evaluateLeg, type LegInput, type LegResult } from '../../flight/index.ts';
import { altitudeIn, type LegEvaluation } from '../../plan/task.ts';
import { asGlide, LEAST_OVER_VS } from '../../rules/leg-words.ts';
import { type Edit, insertBelow, layoutOf, replaceIn, spotOf } from './edit.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import {
  aboveTheDay,
  altitudeText,
  heightLineOf,
  type LegSpot,
  legAfter,
  legOf,
  speedEdit,
  speedStep,
  speedUnit,
  taskOf,
} from './legs.ts';
import { quantityText, shownName, steppedSi } from './writing.ts';

/** What `thin-margin` asks to spare, m. */
const THIN_M = 200 * unit('ft').factor;
/** A leg misses its height only by more than the glide is computed closely, m. */
const NOTHING_M = 1e-3;
const HIGHEST_M = 20_000;
const TRIES = 6;

/** How much of the asked margin a leg has after edits: 0 or more is enough, -Infinity when it does not get there. */
function spareAfter(leg: LegEvaluation | undefined, marginM: number): number {
  const { result, climbs } = leg ?? {};
  if (!result || result.problem || result.reachesGroundAfterM !== null) return -Infinity;
  if (climbs?.some(({ goesDown }) => goesDown)) return -Infinity;
  return result.marginM - marginM + NOTHING_M;
}

/** Where the height of a leg counts: at its last climb, or at its start. */
function countedAltitude(result: LegResult): number {
  const last = result.climbs.at(-1);
  return last ? Math.max(last.fromAltitudeM, last.toAltitudeM) : result.departAltitudeM;
}

/** The input of a leg that is to arrive with a margin. */
function withMargin(leg: LegEvaluation, input: LegInput, marginM: number): LegInput {
  if (marginM === 0) return input;
  const { destination } = input;
  // A little more, since the best glide moves a little with the height asked.
  const reserveM = destination.reserveM + marginM + 0.5;
  return { ...asGlide(leg, input), destination: { ...destination, reserveM } };
}

/** Raises the line that sets the height of the leg, by what the leg lacks. */
function* raised(at: LegSpot, lacksM: number, marginM: number, context: FixContext): Iterable<Fix> {
  const { leg, task, spot } = at;
  const height = heightLineOf(task, leg.heightLine);
  const node = height?.line.slots['altitude'];
  if (!height || !node || leg.departAssumed) return;
  let altitudeM = height.altitudeM + lacksM;
  for (let i = 0; i < TRIES && altitudeM <= HIGHEST_M; i++) {
    const text = altitudeText(node, altitudeM, height.elevationM, task, 'up');
    if (text === undefined) return;
    const edits = [replaceIn(spot, node.span, text)];
    const after = legAfter(at, context, edits);
    const spareM = spareAfter(after, marginM);
    if (spareM >= 0) {
      const { climb } = height;
      const what = climb ? 'Climb to' : 'Start at';
      const where = !climb
        ? ''
        : climb.afterM === undefined
          ? ` over ${shownName(height.leg?.fromName ?? '')}`
          : ` on the way to ${shownName(height.leg?.toName ?? '')}`;
      const above = aboveTheDay(task, altitudeM);
      yield { title: `${what} ${text}${where}${above}`, edits, preferred: above === '' };
      return;
    }
    altitudeM += Number.isFinite(spareM) ? Math.max(-spareM, 1) : 100;
  }
}

/** Climbs over the point where the leg starts, when it leaves as high as it got there. */
function* climbed(at: LegSpot, requiredM: number, marginM: number, context: FixContext): Iterable<Fix> {
  const { leg, task, spot } = at;
  const previous = task.legs.find(({ number }) => number === leg.number - 1);
  const overhead = leg.climbs.some(({ line, afterM }) => afterM === undefined && line === leg.heightLine);
  if (!previous || overhead || (leg.result?.climbs.length ?? 0) > 0) return;
  const like = heightLineOf(task, leg.heightLine)?.line.slots['altitude'];
  const { indent, column } = layoutOf(task.entry);
  let altitudeM = requiredM;
  for (let i = 0; i < TRIES && altitudeM <= HIGHEST_M; i++) {
    const msl =
      like?.kind === 'quantity' && like.datum?.datum === 'MSL'
        ? altitudeText(like, altitudeM, 0, task, 'up')
        : undefined;
    const own = context.understood.units.altitude;
    const text = msl ?? `${quantityText(altitudeM, own, own.text === 'm' ? 10 : 50, 'up')} MSL`;
    const edits = [
      insertBelow(spot, previous.line, [`${indent}${'climb'.padEnd(Math.max(column - 1, 0))} to ${text}`]),
    ];
    const spareM = spareAfter(legAfter(at, context, edits), marginM);
    if (spareM >= 0) {
      const above = aboveTheDay(task, altitudeM);
      yield { title: `Climb to ${text} over ${shownName(leg.fromName)} first${above}`, edits, preferred: above === '' };
      return;
    }
    altitudeM += Number.isFinite(spareM) ? Math.max(-spareM, 1) : 100;
  }
}

/** Flies the fastest speed that makes the leg from where it starts, or the best glide. */
function* slower(at: LegSpot, input: LegInput, wanted: LegResult, marginM: number, context: FixContext): Iterable<Fix> {
  const { leg } = at;
  const enough = (edit: Edit | undefined) => {
    const after = edit && legAfter(at, context, [edit]);
    return spareAfter(after, marginM) >= 0 && (after?.result?.indicatedMps ?? 0) >= LEAST_OVER_VS * input.limits.vsMps;
  };
  const fastest = wanted.fastestIndicatedMps;
  if (fastest === null) return;
  if (fastest < wanted.indicatedMps) {
    const unit = speedUnit(at, context);
    const step = speedStep(unit);
    for (let i = 0, mps = fastest; i < 2; i++, mps = steppedSi(mps, unit, step, 'down') - step * unit.factor) {
      const text = quantityText(mps, unit, step, 'down');
      const edit = speedEdit(at, text);
      if (!edit || !enough(edit)) continue;
      yield { title: `Fly ${text} to ${shownName(leg.toName)}`, edits: [edit], preferred: true };
      break;
    }
  }
  if (input.speed.kind === 'bestGlide') return;
  const edit = speedEdit(at, 'best glide');
  if (edit && enough(edit))
    yield { title: `Fly at best glide to ${shownName(leg.toName)}`, edits: [edit], preferred: true };
}

function tooLow(marginM: number): Fixer {
  return function* (finding, context) {
    const at = legOf(finding, context);
    const input = at?.leg.input;
    if (!at || !input || !at.leg.result) return;
    const wanted = evaluateLeg(withMargin(at.leg, input, marginM));
    const required = wanted.requiredDepartAltitudeM;
    const ways: Fix[] = [];
    if (required !== null && required <= HIGHEST_M) {
      const lacksM = Math.max(required - countedAltitude(wanted), 1);
      ways.push(...climbed(at, required, marginM, context), ...raised(at, lacksM, marginM, context));
    }
    ways.push(...slower(at, input, wanted, marginM, context));
    // Of several ways none is the obvious one, and a height that the day does not give is none at all.
    yield* ways.map((fix) => ({ ...fix, preferred: ways.length === 1 && fix.preferred === true }));
  };
}

/** Ways out of an arrival below what is asked. */
export const arriveAsAsked = tooLow(0);

/** Ways to arrive with something to spare. */
export const arriveWithMargin = tooLow(THIN_M);

/** A start or a climb above a ceiling of the day: lowered to it. */
export const lowerToCeiling: Fixer = function* (finding, context) {
  const task = taskOf(finding, context);
  const spot = task && spotOf(context.workspace, task.uri, task.entry);
  if (!task || !spot) return;
  const { cloudbase, lift } = task.weather?.meaning ?? {};
  const ceiling = finding.code === 'above-cloudbase' ? cloudbase?.value : lift?.top;
  const ceilingM = ceiling && altitudeIn(ceiling, undefined, task.air);
  if (ceilingM === undefined) return;
  const line = task.task.itinerary.find(
    (item) => item.line.slots['altitude']?.span.start === finding.at.span.start,
  )?.line;
  const height = heightLineOf(task, line);
  const node = line?.slots['altitude'];
  const text = node && altitudeText(node, ceilingM, height?.elevationM, task, 'down');
  if (!node || text === undefined) return;
  const what = finding.code === 'above-cloudbase' ? 'the cloudbase' : 'the working top';
  yield { title: `Lower it to ${what}, ${text}`, edits: [replaceIn(spot, node.span, text)], preferred: true };
};
