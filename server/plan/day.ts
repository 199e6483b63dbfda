/** The day that a task is flown in: when it is light at the start and at the finish, and when the day begins and ends by the law. */
import { type Position, sunHeightDeg, sunTimes } from '../flight/index.ts';
import { clockOf } from './clock.ts';
import { keptFor } from './last-few.ts';
import type { LegEvaluation, TaskEvaluation } from './task.ts';
import type { CalendarDate } from './values.ts';

/** When the legal day ends: rules of countries differ. It begins as long before sunrise. */
export type LegalEnd =
  | { readonly kind: 'sunset'; readonly plusMinutes: number }
  /** The end of evening civil twilight: the Sun's centre 6° below the horizon. */
  | { readonly kind: 'civilDusk' };

export const SUNSET: LegalEnd = { kind: 'sunset', plusMinutes: 0 };

/** A legal end of the day from its text in a setting: `sunset`, `sunset + 30 min` or `civil dusk`. */
export function legalEndOf(text: string): LegalEnd | undefined {
  const words = text.trim().toLowerCase().replace(/\s+/g, ' ');
  if (words === 'civil dusk') return { kind: 'civilDusk' };
  const match = /^sunset(?: ?([+-]) ?(\d{1,3}) ?min)?$/.exec(words);
  if (!match) return undefined;
  const minutes = Number(match[2] ?? 0);
  return { kind: 'sunset', plusMinutes: match[1] === '-' ? -minutes : minutes };
}

/** As it follows a time: `sunset`, `30 min after sunset`; of the morning `sunrise`, `30 min before sunrise`. */
export function legalEndText(end: LegalEnd, ofMorning = false): string {
  if (end.kind === 'civilDusk') return `the ${ofMorning ? 'beginning' : 'end'} of civil twilight`;
  const sun = ofMorning ? 'sunrise' : 'sunset';
  const minutes = end.plusMinutes;
  return minutes === 0 ? sun : `${Math.abs(minutes)} min ${minutes > 0 === ofMorning ? 'before' : 'after'} ${sun}`;
}

/**
 * A day of the Sun at a place, from its midnight to its midnight, in seconds after midnight UTC of the weather's date;
 * null where the Sun does not rise, or does not set.
 */
export interface Daylight {
  readonly civilDawnS: number | null;
  readonly sunriseS: number | null;
  readonly sunsetS: number | null;
  readonly civilDuskS: number | null;
  /** Of a day on which the Sun does not set: whether it is up. */
  readonly lightAllDay: boolean;
}

const DAY_MS = 86_400_000;
/** The middle of the Sun's disc as it rises and sets: zenith 90° 50', as of `sunTimes`. */
const RISEN_DEG = -50 / 60;
const keptDays = new WeakMap<Position, Map<string, Daylight>>();

function daylightAt(position: Position, date: CalendarDate, takeoffUtcS: number): Daylight {
  const midnight = Date.UTC(date.year, date.month - 1, date.day);
  // The Sun's own day in which the take-off lies, so that a zone far from the place does not matter.
  const takeoff = midnight + takeoffUtcS * 1000;
  const offset = position.lonDeg / 15;
  const local = new Date(Math.floor((takeoff + offset * 3_600_000) / DAY_MS) * DAY_MS);
  const day = { year: local.getUTCFullYear(), month: local.getUTCMonth() + 1, day: local.getUTCDate() };
  const { civilDawn, sunrise, sunset, civilDusk } = sunTimes(position, day, offset);
  const seconds = (instant: number | null) => (instant === null ? null : (instant - midnight) / 1000);
  return {
    civilDawnS: seconds(civilDawn),
    sunriseS: seconds(sunrise),
    sunsetS: seconds(sunset),
    civilDuskS: seconds(civilDusk),
    // On the first day of those on which it stays up it has risen.
    lightAllDay: sunset === null && (sunrise !== null || sunHeightDeg(position, takeoff) > RISEN_DEG),
  };
}

/** The day at a point of a task; undefined without a take-off, a date or a position there. */
function daylightOf({ task, weather }: TaskEvaluation, point: LegEvaluation['to']): Daylight | undefined {
  const { takeoff } = task;
  const date = weather?.meaning.date;
  const position = point?.meaning.position;
  // Calendars before 1800 are not this one.
  if (!takeoff || !date || !position || date.year < 1800) return undefined;
  const key = `${date.year}-${date.month}-${date.day} ${takeoff.utcS}`;
  const known = keptFor(keptDays, position, () => new Map<string, Daylight>());
  let daylight = known.get(key);
  if (!daylight) {
    if (known.size > 20) known.clear();
    daylight = daylightAt(position, date, takeoff.utcS);
    known.set(key, daylight);
  }
  return daylight;
}

/** The day at the finish of a task, with its evening; undefined without a take-off, a date or a position there. */
export function eveningOf(evaluation: TaskEvaluation): Daylight | undefined {
  const last = evaluation.legs.at(-1);
  return last?.kind === 'finish' ? daylightOf(evaluation, last.to) : undefined;
}

/**
 * The beginning of the legal day at the start, seconds after midnight UTC of the date; null where the Sun does not rise
 * that day, undefined where it is not known.
 */
export function legalStartS(evaluation: TaskEvaluation, end: LegalEnd): number | null | undefined {
  const morning = daylightOf(evaluation, evaluation.legs[0]?.from);
  if (!morning || end.kind === 'civilDusk') return morning?.civilDawnS;
  return morning.sunriseS === null ? null : morning.sunriseS - end.plusMinutes * 60;
}

/**
 * The end of the legal day at the finish, seconds after midnight UTC of the date; null where it does not end that day,
 * undefined where it is not known.
 */
export function legalEndS(evaluation: TaskEvaluation, end: LegalEnd): number | null | undefined {
  const evening = eveningOf(evaluation);
  if (!evening) return undefined;
  if (end.kind === 'civilDusk') return evening.civilDuskS;
  return evening.sunsetS === null ? null : evening.sunsetS + end.plusMinutes * 60;
}

/** When the task is over its finish, seconds after midnight UTC; undefined where a time on the way is not known. */
export function finishUtcS(evaluation: TaskEvaluation): number | undefined {
  const { takeoff } = evaluation.task;
  const { finishS } = clockOf(evaluation);
  if (!takeoff || finishS === undefined || evaluation.legs.at(-1)?.kind !== 'finish') return undefined;
  return takeoff.utcS + finishS;
}

/** A day, s. */
export const DAY_S = DAY_MS / 1000;
/** Thermals that are farther from the take-off than this may be nearer on another day, s. */
const HALF_DAY_S = DAY_S / 2;

/**
 * The hours of usable thermals of a task, seconds after midnight UTC as the take-off counts them. They come every day, as
 * the hours of an airspace do: where the two are written by clocks with different midnights, or midnight lies between
 * them, those nearest to the take-off are meant. Undefined without a take-off, and for hours that end before they begin.
 */
export function thermalsOf({
  task,
  weather,
}: TaskEvaluation): { readonly fromS: number; readonly toS: number } | undefined {
  const { takeoff } = task;
  const thermals = weather?.meaning.thermals;
  if (!takeoff || !thermals || thermals.toS <= thermals.fromS) return undefined;
  const on = (days: number) => ({ fromS: thermals.fromS + days * DAY_S, toS: thermals.toS + days * DAY_S });
  const apart = ({ fromS, toS }: ReturnType<typeof on>) => Math.max(0, fromS - takeoff.utcS, takeoff.utcS - toS);
  const written = on(0);
  if (apart(written) <= HALF_DAY_S) return written;
  return [-2, -1, 1, 2].map(on).reduce((one, other) => (apart(other) < apart(one) ? other : one), written);
}
