import { glidePath } from '../flight/index.ts';
import type { AirspaceMet } from '../plan/airspace.ts';
import { clearanceAsked, groundProfile } from '../plan/ground.ts';
import { altitudeAt } from '../plan/reach.ts';
import { airspaceRelated, limitText, met } from './airspace-words.ts';
import { eastTask, legName } from './leg-words.ts';
import { partsText } from './reach-words.ts';
import type { Rule, TaskContext } from './rule.ts';

/**
 * Whether a leg may pass below the floor of a volume, and still has the heights asked over the ground there and at its
 * end. A glide that is to stay below comes in no higher than the floor, and leaves lower by what it loses on the way.
 */
function hasRoomBelow({ leg, floorM, parts, airspace }: AirspaceMet, { evaluation }: TaskContext): boolean {
  const { input, result } = leg;
  const { 0: first, [parts.length - 1]: last } = parts;
  if (!input || !result || !first || !last) return false;
  const clearM = clearanceAsked(evaluation);
  // A climb under the floor gives the height back.
  const climb = result.climbs.findLast(({ afterM }) => afterM < last.toM);
  const fromM = Math.max(first.fromM, climb?.afterM ?? 0);
  const path = glidePath(input.setting, result.indicatedMps, fromM, result.distanceM, floorM);
  const heightAt = (xM: number) => altitudeAt(path, Math.max(xM, fromM)) ?? -Infinity;
  // A floor above ground goes with it; the lower end of the leg is ground that is known.
  if (airspace.meaning.floor?.value.kind !== 'agl') {
    const ends = [leg.from?.meaning.elevationM, leg.to?.meaning.elevationM].filter((one) => one !== undefined);
    const under = (groundProfile(leg, evaluation) ?? []).flatMap(({ xM, ground }) =>
      ground && parts.some((part) => xM >= part.fromM && xM <= part.toM) ? [{ xM, topM: ground.highestM }] : [],
    );
    const ground = under.length > 0 ? under : [{ xM: last.toM, topM: Math.min(...ends) }];
    if (ground.some(({ xM, topM }) => heightAt(xM) <= topM + clearM)) return false;
  } else if (airspace.meaning.floor.value.metres <= clearM) return false;
  // So does one behind it.
  return result.climbs.some(({ afterM }) => afterM >= last.toM) || heightAt(result.distanceM) > result.askedAltitudeM;
}

/** How to stay out: below the floor, where there is room below it, or beside it. */
function wayOut(one: AirspaceMet, context: TaskContext): string {
  const { floorM, lowM, climb, airspace } = one;
  const { show } = context;
  const { name } = airspace.meaning;
  if (!Number.isFinite(floorM)) return `Go round ${name}`;
  // One that begins above the floor is too high before it.
  if (climb && (climb.fromAltitudeM ?? -Infinity) >= floorM) return `Climb elsewhere, or go round ${name}`;
  if (climb) return `Climb to less than ${show.altitude(floorM, 'down')}, or elsewhere`;
  return lowM - floorM < 600 && hasRoomBelow(one, context)
    ? `Pass below ${show.altitude(floorM, 'down')}, or go round`
    : `Go round ${name}`;
}

const ALDMERE = (floor: string) => `airspace Aldmere
  floor   ${floor}
  ceiling FL95
  circle  47.2600 N 19.5900 E radius 2 NM
`;

/** A leg or a climb inside a volume of airspace. */
export const entersAirspace: Rule = {
  code: 'enters-airspace',
  severity: 'warning',
  title: 'A leg or a climb enters a volume of airspace',
  page: {
    means:
      'At the height planned, the leg or the climb lies between the floor and the ceiling of an `airspace` and inside its outline. A flight level is an altitude by the QNH of the weather; a limit above ground needs elevation tiles (`terrain`). One with `active` times counts for the part that is flown at such a time by the clock of the task, and always when the task has no take-off. A leg that begins where the one before ended inside is told where it comes back only.',
    why: 'Somebody else is cleared to fly there and does not expect a glider. Whether one may enter, after a call on the radio, is a matter of its class and of the day: the plan has to have an answer before the flight.',
    bad: eastTask({}, ALDMERE('2500 ft MSL')),
    good: eastTask({}, ALDMERE('5500 ft MSL')),
    turnDown:
      'Pass below or round it, or plan for the call and leave the finding as the reminder. `severity` in the settings can make it an error, an info or a hint, or turn it off.',
  },
  *task(context) {
    const { show } = context;
    for (const one of met(context, 'enters')) {
      const { leg, climb, airspace, parts, lowM, highM, floorM, ceilingM, at } = one;
      const { name } = airspace.meaning;
      const limits = `its floor is ${limitText(airspace.meaning, 'floor', floorM, show)} and its ceiling ${limitText(airspace.meaning, 'ceiling', ceilingM, show)}`;
      const heights =
        show.altitude(highM, 'up') === show.altitude(lowM, 'down')
          ? `at ${show.altitude(highM)}`
          : `at ${show.height(lowM, 'down')} to ${show.altitude(highM, 'up')}`;
      const { length, between } = partsText(parts, leg.result?.distanceM, show);
      const where =
        between.length > 3 ? `${between[0]} and in ${between.length - 1} more parts` : between.join(' and ');
      const message = climb
        ? `the climb to ${show.altitude(climb.toAltitudeM)} enters ${name} ${heights}: ${limits}`
        : `${legName(leg)} enters ${name} for ${length}, from ${where} after ${leg.fromName}, ${heights}: ${limits}`;
      yield {
        at,
        message: `${message}. ${wayOut(one, context)}.`,
        related: airspaceRelated(one, context),
        meets: `airspace ${name}`,
        excess: climb
          ? { of: 'height', si: highM - floorM }
          : { of: 'distance', si: parts.reduce((sum, { fromM, toM }) => sum + toM - fromM, 0) },
      };
    }
  },
};
