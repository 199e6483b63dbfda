/** The day that a task is flown in: when it is light at the finish, and when the day ends by the law. */
import { type Position, sunHeightDeg, sunTimes } from '../flight/index.ts';
import { clockOf } from './clock.ts';
import type { TaskEvaluation } from './task.ts';
import type { CalendarDate } from './values.ts';

/** When the legal day ends: rules of countries differ. */
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

/** As it follows a time: `sunset`, `30 min after sunset`. */
export function legalEndText(end: LegalEnd): string {
  if (end.kind === 'civilDusk') return 'the end of civil twilight';
  if (end.plusMinutes === 0) return 'sunset';
  return `${Math.abs(end.plusMinutes)} min ${end.plusMinutes > 0 ? 'after' : 'before'} sunset`;
}

/** The evening at the finish, in seconds after midnight UTC of the weather's date; null where the Sun does not set. */
export interface Evening {
  readonly sunsetS: number | null;
  readonly civilDuskS: number | null;
  /** Of a day on which the Sun does not set: whether it is up. */
  readonly lightAllDay: boolean;
}

const DAY_MS = 86_400_000;
/** The middle of the Sun's disc as it rises and sets: zenith 90° 50', as of `sunTimes`. */
const RISEN_DEG = -50 / 60;
const keptEvenings = new WeakMap<Position, Map<string, Evening>>();

function eveningAt(position: Position, date: CalendarDate, takeoffUtcS: number): Evening {
  const midnight = Date.UTC(date.year, date.month - 1, date.day);
  // The Sun's own day in which the take-off lies, so that a zone far from the place does not matter.
  const takeoff = midnight + takeoffUtcS * 1000;
  const offset = position.lonDeg / 15;
  const local = new Date(Math.floor((takeoff + offset * 3_600_000) / DAY_MS) * DAY_MS);
  const day = { year: local.getUTCFullYear(), month: local.getUTCMonth() + 1, day: local.getUTCDate() };
  const { sunset, sunrise, civilDusk } = sunTimes(position, day, offset);
  const seconds = (instant: number | null) => (instant === null ? null : (instant - midnight) / 1000);
  return {
    sunsetS: seconds(sunset),
    civilDuskS: seconds(civilDusk),
    // On the first day of those on which it stays up it has risen.
    lightAllDay: sunset === null && (sunrise !== null || sunHeightDeg(position, takeoff) > RISEN_DEG),
  };
}

/** The evening at the finish of a task; undefined without a take-off, a date or a position there. */
export function eveningOf({ task, weather, legs }: TaskEvaluation): Evening | undefined {
  const { takeoff } = task;
  const date = weather?.meaning.date;
  const last = legs.at(-1);
  const position = last?.kind === 'finish' ? last.to?.meaning.position : undefined;
  // Calendars before 1800 are not this one.
  if (!takeoff || !date || !position || date.year < 1800) return undefined;
  const key = `${date.year}-${date.month}-${date.day} ${takeoff.utcS}`;
  let known = keptEvenings.get(position);
  if (!known) {
    known = new Map();
    keptEvenings.set(position, known);
  }
  let evening = known.get(key);
  if (!evening) {
    if (known.size > 20) known.clear();
    evening = eveningAt(position, date, takeoff.utcS);
    known.set(key, evening);
  }
  return evening;
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
