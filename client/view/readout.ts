/** What is to be known at one place of a flight, as text: the numbers beside the crosshair. */
import { fromSi } from '../../grammar/units.ts';
import { LEG_HEADS, signed } from '../../server/plan/budget-rows.ts';
import type { Picture, PictureLeg, PicturePoint, PictureReach } from '../../server/plan/picture-data.ts';
import { rounded, type Show } from '../../server/plan/show.ts';
import { harmless } from '../../server/plan/text.ts';
import { showOf } from '../../server/reports/draw/units.ts';

/** A place along a task. */
export interface FlightPlace {
  /** Number, from 1. */
  readonly leg: number;
  /** From the leg's start, m; at a climb there, behind it. */
  readonly xM: number;
}

export interface ReadoutItem {
  readonly what: string;
  readonly value: string;
  /** It is on the wrong side: said in its words as well. */
  readonly isBad?: boolean;
}

/** Fields named at most; the others are counted. */
const MOST_FIELDS = 4;
/** A place nearer to a leg's end than this is its end, m. */
const AT_END_M = 0.5;

export function legOf({ legs }: Picture, number: number): PictureLeg | undefined {
  return legs.find((leg) => leg.number === number);
}

/** Whether a place is where its leg ends: there the numbers are those of the arrival. */
export function isEnd({ distanceM }: PictureLeg, xM: number): boolean {
  return distanceM !== null && xM >= distanceM - AT_END_M;
}

/** The altitude of a path at a distance, behind a climb there; undefined before its first point and behind its last. */
export function altitudeOn(points: readonly PicturePoint[], xM: number): number | undefined {
  const last = points.at(-1);
  if (!points[0] || !last || xM < points[0].xM || xM > last.xM + AT_END_M) return undefined;
  let before = points[0];
  for (const point of points) {
    if (point.xM > xM) {
      const share = (xM - before.xM) / (point.xM - before.xM);
      return before.altitudeM + share * (point.altitudeM - before.altitudeM);
    }
    before = point;
  }
  return last.altitudeM;
}

/** The highest ground around a place: the higher of the points on both sides; null where one is not known. */
export function groundAt({ ground }: PictureLeg, xM: number): number | null {
  const after = ground.findIndex((point) => point.xM >= xM);
  const one = ground[after];
  if (!one) return null;
  const other = one.xM === xM ? one : ground[after - 1];
  return one.highestM === null || !other || other.highestM === null ? null : Math.max(one.highestM, other.highestM);
}

/** The way from a place to the finish, m; null where a leg's length is not known. */
function toFinish({ legs }: Picture, leg: PictureLeg, xM: number): number | null {
  let left = -xM;
  for (const one of legs) {
    if (one.number < leg.number) continue;
    if (one.distanceM === null) return null;
    left += one.distanceM;
  }
  return Math.max(0, left);
}

function togoText(picture: Picture, leg: PictureLeg, xM: number, with_: Show): string {
  if (leg.distanceM === null) return 'not known';
  const toEnd = `${with_.distance(Math.max(0, leg.distanceM - xM))} to ${harmless(leg.to)}`;
  const whole = toFinish(picture, leg, xM);
  return leg.kind === 'finish' || whole === null ? toEnd : `${toEnd}, ${with_.distance(whole)} to the finish`;
}

/** The fields in reach, in words. */
export function reachText(reach: PictureReach, with_: Show): string {
  if (reach.fields.length === 0) return 'none';
  const named = reach.fields
    .slice(0, MOST_FIELDS)
    .map(
      ({ name, distanceM, spareM }) =>
        `${harmless(name)} (${with_.distance(distanceM)}, ${with_.height(spareM, 'down')} to spare)`,
    );
  const more = reach.fields.length - MOST_FIELDS;
  return more > 0 ? `${named.join(', ')} and ${more} more` : named.join(', ');
}

/** Whether an answer about the fields in reach is about this place. */
export function isReachOf(reach: PictureReach | null | undefined, { leg, xM }: FlightPlace): reach is PictureReach {
  return reach?.leg === leg && Math.abs(reach.xM - xM) < AT_END_M;
}

/**
 * The numbers at a place. Heights are those that one will have, rounded down, and those that one must have, rounded up;
 * a difference is that of the numbers shown. At a leg's end they are those of the leg's row in the table.
 * @param reach the fields in reach there; null where they are not known, undefined while they are asked for
 */
export function readout(picture: Picture, place: FlightPlace, reach: PictureReach | null | undefined): ReadoutItem[] {
  const leg = legOf(picture, place.leg);
  if (!leg) return [];
  const { xM } = place;
  const with_ = showOf(picture);
  const { altitude: inUnit } = with_.units;
  const whole = (metres: number, rounding: 'up' | 'down') => rounded(fromSi(metres, inUnit), rounding);
  const groundItem = (metres: number, plannedM: number | undefined): ReadoutItem => {
    const value = `${with_.altitude(metres, 'up')} at most`;
    if (plannedM === undefined) return { what: 'ground', value };
    const above = whole(plannedM, 'down') - whole(metres, 'up');
    return above >= 0
      ? { what: 'ground', value: `${value}, ${signed(above, inUnit, '')} below the glider` }
      : { what: 'ground', value: `${value}, ${signed(-above, inUnit, '')} above the glider`, isBad: true };
  };
  const items: ReadoutItem[] = [
    { what: 'leg', value: harmless(`${leg.number}, ${leg.from || '?'} to ${leg.to || '?'}`) },
    { what: 'to go', value: togoText(picture, leg, xM, with_) },
  ];
  if (leg.notComputed) {
    items.push({ what: 'not computed', value: harmless(leg.notComputed), isBad: true });
    return items;
  }
  const planned = altitudeOn(leg.path, xM);
  const required = altitudeOn(leg.required, xM);
  const ground = groundAt(leg, xM);
  if (planned !== undefined) items.push({ what: 'planned', value: with_.altitude(planned, 'down') });
  if (leg.marginM !== null && isEnd(leg, xM)) {
    const cell = (head: (typeof LEG_HEADS)[number]) => leg.cells[LEG_HEADS.indexOf(head)] ?? '';
    items.push(
      { what: `over ${harmless(leg.to)}`, value: cell('over point') },
      { what: 'asked there', value: cell('asked') },
      marginItem(cell('margin'), leg.marginM < 0),
    );
  } else if (required !== undefined && planned !== undefined) {
    const over = whole(planned, 'down') - whole(required, 'up');
    items.push(
      { what: 'required', value: with_.altitude(required, 'up') },
      marginItem(signed(over, inUnit, '+'), over < 0, 'margin here'),
    );
  } else if (leg.requiredDepartAltitudeM === null) {
    items.push({ what: 'required', value: 'no height is enough', isBad: true });
  } else {
    items.push({ what: 'required', value: 'nothing before the climb on this leg' });
  }
  if (ground === null) items.push({ what: 'ground', value: 'not known' });
  else items.push(groundItem(ground, planned));
  if (leg.reachesGroundAfterM !== null && xM >= leg.reachesGroundAfterM)
    items.push({
      what: 'beyond reach',
      value: `the glide is below the height of ${harmless(leg.to)} here`,
      isBad: true,
    });
  items.push({
    what: 'fields in reach',
    value: reach === undefined ? '…' : reach === null ? 'not known' : reachText(reach, with_),
    ...(reach && reach.fields.length === 0 ? { isBad: true } : {}),
  });
  return items;
}

function marginItem(value: string, isBad: boolean, what = 'margin'): ReadoutItem {
  return isBad ? { what, value: `${value}, too low`, isBad } : { what, value };
}

/** The same in one sentence, for a screen reader. */
export function readoutText(items: readonly ReadoutItem[]): string {
  return items.map(({ what, value }) => `${what} ${value}`).join('; ');
}
