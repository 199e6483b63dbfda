/** What is solid or forbidden on the way of a leg, for `budget --format json`. */
import { type AirspaceMet, airspacesOf, notChecked } from '../plan/airspace.ts';
import { clearanceAsked, groundProfile, type TooLow, tooLow } from '../plan/ground.ts';
import { flownTo, isFlown } from '../plan/reach.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';

/** A limit of a volume; null at the surface, which has no altitude of its own. */
const finite = (altitudeM: number): number | null => (Number.isFinite(altitudeM) ? altitudeM : null);

function metJson({ airspace, climb, kind, span, parts, lowM, highM, floorM, ceilingM, besideM, apartM }: AirspaceMet) {
  return {
    name: airspace.meaning.name,
    kind,
    climbToAltitudeM: climb?.toAltitudeM ?? null,
    fromM: span.fromM,
    toM: span.toM,
    parts: parts.map(({ fromM, toM }) => ({ fromM, toM })),
    lowestAltitudeM: lowM,
    highestAltitudeM: highM,
    floorAltitudeM: finite(floorM),
    ceilingAltitudeM: finite(ceilingM),
    besideM,
    apartM,
  };
}

function lowJson({ over, xM, altitudeM, topM, span }: TooLow, askedM: number) {
  return {
    over: over === 'ground' ? null : over.meaning.name,
    kind: over === 'ground' ? 'ground' : over.meaning.kind,
    atM: xM,
    altitudeM,
    topAltitudeM: topM,
    askedAltitudeM: topM + askedM,
    fromM: span.fromM,
    toM: span.toM,
  };
}

/**
 * Keys of a leg. Null where they are not known: a leg that is not computed. One that does not get to its end is looked at
 * as far as it is flown, a volume that it flies on in counts on each leg, and `groundKnown` says whether elevation data covers the whole line under it.
 */
export function solidJson(leg: LegEvaluation, task: TaskEvaluation): object {
  const met = airspacesOf(task).all.filter((one) => one.leg.number === leg.number);
  const isComputed = flownTo(leg) !== undefined;
  const askedM = clearanceAsked(task);
  const flown = isFlown(leg);
  const profile = flown ? groundProfile(leg, task) : undefined;
  return {
    airspaces: isComputed || met.length > 0 ? met.map(metJson) : null,
    belowClearance: isComputed ? tooLow(leg, task).map((low) => lowJson(low, askedM)) : null,
    groundKnown: flown ? profile !== undefined && profile.length > 0 && profile.every(({ ground }) => ground) : null,
  };
}

/**
 * The volumes of which nobody can tell, by name: they cannot be read, nothing is left between their limits, or a limit
 * rests on ground that is not known.
 */
export function airspacesNotChecked(task: TaskEvaluation): string[] {
  return [...new Set(notChecked(airspacesOf(task)).map(({ meaning }) => meaning.name))];
}
