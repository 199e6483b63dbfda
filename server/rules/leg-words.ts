/** Phrases that several rules of the flight share. */

import type { LineSyntax, Span } from '../../grammar/syntax.ts';
import { fromSi, toSi, type Unit } from '../../grammar/units.ts';
import { evaluateLeg, type LegFlown, type LegInput } from '../flight/index.ts';
import type { ItineraryLine, Meaning, WindLine } from '../plan/meaning.ts';
import { number, type Show } from '../plan/show.ts';
import { altitudeIn, LEAST_BAND_M, type LegEvaluation, type Place, type TaskEvaluation } from '../plan/task.ts';
import type { Altitude } from '../plan/values.ts';
import type { Excess, Related, TaskContext } from './rule.ts';

/** `leg 4 to Larkfield`; `leg 4` where the name cannot be read. */
export function legName(leg: LegEvaluation): string {
  return leg.toName === '' ? `leg ${leg.number}` : `leg ${leg.number} to ${leg.toName}`;
}

/** Where a leg is marked: from its keyword to its point's name, so that the speed has a place of its own. */
export function legPlace(leg: LegEvaluation, context: TaskContext): Place {
  const point = leg.line.slots['point'];
  return context.at({ start: leg.line.span.start, end: point?.span.end ?? leg.line.span.end });
}

type LegLine = Extract<ItineraryLine, { kind: 'turn' | 'finish' }>;

/** The leg as it is written. */
export function lineOf(leg: LegEvaluation, evaluation: TaskEvaluation): LegLine | undefined {
  return evaluation.task.itinerary.find(
    (item): item is LegLine => item.line === leg.line && (item.kind === 'turn' || item.kind === 'finish'),
  );
}

/** Where the speed of a leg is marked: the speed as written, or the leg that writes none. */
export function speedPlace(leg: LegEvaluation, context: TaskContext): Place {
  const speed = lineOf(leg, context.evaluation)?.speed;
  if (!speed || speed.kind === 'bestGlide') return legPlace(leg, context);
  const start = speed.kind === 'maccready' ? leg.line.flags['maccready']?.start : undefined;
  return context.at({ start: start ?? speed.span.start, end: speed.span.end });
}

/** The indicated airspeed of a leg, where it is written or comes out of the leg. */
export function indicatedOf(leg: LegEvaluation, evaluation: TaskEvaluation): number | undefined {
  if (leg.result) return leg.result.indicatedMps;
  const speed = lineOf(leg, evaluation)?.speed;
  return speed?.kind === 'indicated' ? speed.indicatedMps : undefined;
}

/** How a leg comes to its speed, where that speed is not written: ` as the speed to fly for a climb of 3.0 kt`. */
export function speedOrigin(leg: LegEvaluation, context: TaskContext): string {
  const speed = leg.soar && leg.input ? leg.input.speed : lineOf(leg, context.evaluation)?.speed;
  if (speed?.kind === 'maccready') return `, the speed to fly for a climb of ${context.show.climb(speed.climbMps)}`;
  return speed?.kind === 'bestGlide' ? ', its best glide over the ground' : '';
}

/** The least speed that a plan may count on, as a multiple of the stalling speed. */
export const LEAST_OVER_VS = 1.1;

/** Speeds, heights and masses closer than this are the same: they may have been written in other units. */
export const SAME = 1e-6;

/** A leg misses its height only by more than the glide is computed closely, m. */
const NOTHING_M = 1e-3;

/** Whether a leg that is flown to its end arrives lower than is asked there. */
export function fallsShort(result: LegFlown): boolean {
  return result.marginM < -NOTHING_M;
}

/** A number in a unit as a whole count of steps (1, or 0.1 with one decimal), rounded to the side that is asked. */
function stepped(si: number, unit: Unit, decimals: number, rounding: 'up' | 'down'): number {
  const scale = 10 ** decimals;
  const steps = fromSi(si, unit) * scale;
  return (rounding === 'up' ? Math.ceil(steps - 1e-6) : Math.floor(steps + 1e-6)) / scale;
}

/** Two numbers and what lies between them, as texts that add up: the greater rounded up, the less rounded down. */
export interface Apart {
  readonly greater: string;
  readonly less: string;
  readonly by: string;
  readonly excess: Excess;
}

function apart(greaterSi: number, lessSi: number, of: Excess['of'], unit: Unit, decimals: number): Apart {
  const greater = stepped(greaterSi, unit, decimals, 'up');
  const less = stepped(lessSi, unit, decimals, 'down');
  const text = (value: number) => `${number(value, decimals)} ${unit.text}`;
  const excess = { of, si: greaterSi - lessSi };
  return { greater: text(greater), less: text(less), by: text(greater - less), excess };
}

export function heightsApart(greaterM: number, lessM: number, { units }: Show): Apart {
  return apart(greaterM, lessM, 'height', units.altitude, 0);
}

/** Two distances to a tenth of the reader's unit, and what lies between them. */
export function distancesApart(greaterM: number, lessM: number, { units }: Show): Apart {
  return apart(greaterM, lessM, 'distance', units.distance, 1);
}

/** Two durations to the minute, and what lies between them. */
export function durationsApart(greaterS: number, lessS: number, { duration }: Show): Apart {
  const greater = Math.ceil(greaterS / 60 - 1e-6) * 60;
  const less = Math.floor(lessS / 60 + 1e-6) * 60;
  const text = (seconds: number) => (seconds < 600 ? `${seconds / 60} min` : duration(seconds));
  const excess = { of: 'time', si: greaterS - lessS } as const;
  return { greater: text(greater), less: text(less), by: text(greater - less), excess };
}

/** A part of a distance, rounded up, and the rest of it: as shown they add up to the whole as shown. */
export function partAndRest(partM: number, wholeM: number, { units }: Show): { part: string; rest: string } {
  const unit = units.distance;
  const whole = Math.round(fromSi(wholeM, unit) * 10) / 10;
  const part = Math.min(stepped(partM, unit, 1, 'up'), whole);
  const text = (value: number) => `${number(value, 1)} ${unit.text}`;
  return { part: text(part), rest: text(whole - part) };
}

/** Speeds are shown in whole numbers, but for metres a second. */
function speedDecimals({ units }: Show): number {
  return units.speed.text === 'm/s' ? 1 : 0;
}

export function speedsApart(greaterMps: number, lessMps: number, with_: Show): Apart {
  return apart(greaterMps, lessMps, 'speed', with_.units.speed, speedDecimals(with_));
}

/** Masses with a decimal where they are not whole, so that a sum of them adds up; each rounded up. */
export function massesUp(kg: readonly number[], { units }: Show): { texts: string[]; total: string; totalKg: number } {
  const whole = kg.every((mass) => Math.abs(fromSi(mass, units.mass) - Math.round(fromSi(mass, units.mass))) < 1e-6);
  const decimals = whole ? 0 : 1;
  const values = kg.map((mass) => stepped(mass, units.mass, decimals, 'up'));
  const total = values.reduce((sum, value) => sum + value, 0);
  const text = (value: number) => `${number(value, decimals)} ${units.mass.text}`;
  return { texts: values.map(text), total: text(total), totalKg: toSi(total, units.mass) };
}

export function massesApart(greaterKg: number, lessKg: number, { units }: Show): Apart {
  const whole = [greaterKg, lessKg].every((kg) => {
    const value = fromSi(kg, units.mass);
    return Math.abs(value - Math.round(value)) < 1e-6;
  });
  return apart(greaterKg, lessKg, 'mass', units.mass, whole ? 0 : 1);
}

/** How much is missing where a leg arrives: one measure for all findings that tell it, below zero where it is spared. */
export function arrivalExcess({ marginM }: LegFlown): Excess {
  return { of: 'height', si: -marginM };
}

/** Heights in whole units of the reader that add up: asked − arrival = short. For a leg that {@link fallsShort}. */
export function shortfall(
  leg: LegEvaluation,
  with_: Show,
): { arrival: string; asked: string; short: string; excess: Excess } | undefined {
  const { result, input } = leg;
  if (!result || result.problem || !input) return undefined;
  const asked = input.destination.reserveM + input.destination.altimeterM;
  const { greater, less, by } = heightsApart(asked, result.arriveHeightM, with_);
  return { arrival: less, asked: greater, short: by, excess: arrivalExcess(result) };
}

/** An altitude in whole units of the reader, rounded up. */
export function wholeUp(altitudeM: number, { units }: Show): number {
  return toSi(stepped(altitudeM, units.altitude, 0, 'up'), units.altitude);
}

/** The same for a leg that arrives as high as asked: the spare height rounded down, and none below zero. */
export function spare(asked: number, arrival: number, { units }: Show): { asked: string; spare: string } {
  const askedUp = stepped(asked, units.altitude, 0, 'up');
  const over = Math.max(0, stepped(arrival, units.altitude, 0, 'down') - askedUp);
  const text = (value: number) => `${number(value)} ${units.altitude.text}`;
  return { asked: text(askedUp), spare: text(over) };
}

/** For a leg that starts at a height only assumed: from where its numbers count. */
export function countedFrom(leg: LegEvaluation, with_: Show): string {
  if (!leg.departAssumed || !leg.result) return '';
  const height = with_.altitude(leg.result.departAltitudeM);
  return `, counted from the ${height} asked over ${leg.fromName}, since leg ${leg.number - 1} does not get there`;
}

/** Above this no height is a way out: the model of the air ends here, and gliders stay far below, m. */
const HIGHEST_WAY_OUT_M = 20_000;

/** The ceiling of the day that an altitude lies above, as ` (above the cloudbase, 6,200 ft MSL)`. */
export function aboveTheDay(altitudeM: number, { evaluation, show }: TaskContext): string {
  const { cloudbase, lift } = evaluation.weather?.meaning ?? {};
  const base = cloudbase && altitudeIn(cloudbase.value, undefined, evaluation.air);
  if (base !== undefined && altitudeM > base + SAME) return ` (above the cloudbase, ${show.altitude(base, 'down')})`;
  const top = lift && altitudeIn(lift.top, undefined, evaluation.air);
  return top !== undefined && altitudeM > top + SAME ? ` (above the working top, ${show.altitude(top, 'down')})` : '';
}

/** The lower height of soaring with which the leg arrives as high as asked; the upper one where that is not above it. */
function soarHigher(leg: LegEvaluation, context: TaskContext): string | undefined {
  const asked = leg.result?.askedAltitudeM;
  if (asked === undefined || !leg.soar) return undefined;
  const { show } = context;
  const lowerM = wholeUp(asked, show);
  const { lowerM: nowM, upperM } = leg.soar;
  if (lowerM <= upperM - LEAST_BAND_M) return `soar no lower than ${show.altitude(asked, 'up')}`;
  // As much between the two as there is now.
  const higherM = wholeUp(lowerM + upperM - nowM, show);
  return `soar between ${show.altitude(lowerM)} and ${show.altitude(higherM)}${aboveTheDay(higherM, context)}`;
}

/** The height that makes the leg, rounded up. */
function higher(leg: LegEvaluation, context: TaskContext): string | undefined {
  const required = leg.result?.requiredDepartAltitudeM;
  if (required === undefined || required === null || required > HIGHEST_WAY_OUT_M) return undefined;
  const { show } = context;
  const unit = show.units.altitude;
  const altitudeM = toSi(stepped(required, unit, 0, 'up'), unit);
  const text = `${show.altitude(altitudeM)}${aboveTheDay(altitudeM, context)}`;
  if (leg.soar && leg.soar.climbs.length > 0) return soarHigher(leg, context);
  const last = leg.result?.climbs.at(-1);
  return last ? `climb to ${text} after ${show.distance(last.afterM)}` : `leave ${leg.fromName} at ${text}`;
}

/** A speed in whole units of the reader, rounded down. */
export function wholeSpeedDown(mps: number, with_: Show): number {
  const unit = with_.units.speed;
  return toSi(stepped(mps, unit, speedDecimals(with_), 'down'), unit);
}

/** Whether a leg flown at another speed arrives with what is asked, and not too near the stall. */
export function makes(input: LegInput, speed: LegInput['speed']): boolean {
  const result = evaluateLeg({ ...input, speed });
  if (result.problem || fallsShort(result)) return false;
  if (result.climbs.some(({ fromAltitudeM }) => fromAltitudeM < (input.lowestM ?? -Infinity))) return false;
  return result.indicatedMps >= LEAST_OVER_VS * input.limits.vsMps;
}

/** A leg that is soared without a climb as the glide that it is: with more asked of it, it would begin to climb. */
export function asGlide({ soar }: LegEvaluation, input: LegInput): LegInput {
  return soar?.climbs.length === 0 ? { ...input, soaring: undefined } : input;
}

/** The speed that makes the leg from where it starts: the fastest, rounded down, or the best glide. Tried, not guessed. */
function otherSpeed(leg: LegEvaluation, { show }: TaskContext): string | undefined {
  const { result, input } = leg;
  const fastest = result?.fastestIndicatedMps;
  if (!result || !input || fastest === undefined || fastest === null) return undefined;
  if (fastest < result.indicatedMps) {
    const indicatedMps = wholeSpeedDown(fastest, show);
    if (makes(input, { kind: 'indicated', indicatedMps })) return `fly ${show.speed(indicatedMps)}`;
  }
  if (input.speed.kind !== 'bestGlide' && makes(input, { kind: 'bestGlide' })) return 'fly at best glide';
  return undefined;
}

/**
 * The way out of a leg that arrives too low: the height to leave at, and the speed that makes it from where it starts.
 * Heights are rounded up and speeds down, so that the advice is never short.
 */
export function wayOut(leg: LegEvaluation, context: TaskContext): string {
  const { result } = leg;
  if (!result) return '';
  const ways = [higher(leg, context), otherSpeed(leg, context)].filter((way) => way !== undefined);
  if (ways.length === 0) {
    return result.requiredDepartAltitudeM === null
      ? ' From as high as it would have to leave, it makes no headway against the wind.'
      : ' No height that a glider reaches is enough at this speed.';
  }
  const text = ways.join(' or ');
  return ` ${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

/** The wind lines of a task's weather with the altitudes they lie at. */
export function windLines(evaluation: TaskEvaluation): { line: WindLine; altitudeM: number; at: Place }[] {
  const { weather, windLayers } = evaluation;
  if (!weather) return [];
  return weather.meaning.winds.flatMap((line, i) => {
    const altitudeM = windLayers[i]?.altitudeM;
    return altitudeM === undefined ? [] : [{ line, altitudeM, at: { ...weather.at, span: line.line.span } }];
  });
}

/** The aircraft as a related place, or a line of it. */
export function aircraftRelated(evaluation: TaskEvaluation, detail?: { readonly line: LineSyntax }): Related[] {
  const { aircraft } = evaluation;
  if (!aircraft) return [];
  const { name } = aircraft.meaning;
  if (!detail) return [{ at: aircraft.at, message: `the aircraft, ${name}` }];
  const { line } = detail;
  return [{ at: { ...aircraft.at, span: line.span }, message: `\`${line.form?.id ?? 'polar'}\` of ${name}` }];
}

/** Where the wind of a leg is written: the line nearest to the middle of its heights. */
export function windRelated(leg: LegEvaluation, evaluation: TaskEvaluation): Related[] {
  const { result } = leg;
  const lines = windLines(evaluation);
  if (!result || lines.length === 0) return [];
  const ends = [result.departAltitudeM, result.problem ? result.altitudeM : result.arriveAltitudeM];
  const middle = ((ends[0] as number) + (ends[1] as number)) / 2;
  const nearest = lines.reduce((one, other) =>
    Math.abs(other.altitudeM - middle) < Math.abs(one.altitudeM - middle) ? other : one,
  );
  return [{ at: nearest.at, message: `the wind of ${evaluation.weather?.meaning.name}` }];
}

/** Where the facts behind a leg's arrival are written: the heights asked and left at, the aircraft, the wind. */
export function legRelated(leg: LegEvaluation, context: TaskContext): Related[] {
  const { evaluation } = context;
  const related: Related[] = [];
  // The reserve's other lines stand beside this one: a list that is short is read.
  const asks = leg.asks?.at ?? evaluation.reserve?.at;
  if (asks) related.push({ at: asks, message: 'the height asked' });
  if (leg.heightLine && !leg.departAssumed)
    related.push({ at: context.at(leg.heightLine.span), message: 'the height that the glide starts from' });
  return [...related, ...aircraftRelated(evaluation), ...windRelated(leg, evaluation)];
}

/** A rate of sink to a hundredth, since polars differ in less than a tenth. */
export function sinkText(mps: number, { units }: Show): string {
  return `${number(fromSi(mps, units.climb), units.climb.text === 'ft/min' ? 0 : 2)} ${units.climb.text}`;
}

interface Ceiling {
  readonly altitudeM: number;
  readonly at: Place;
}

/** A start or a climb with the ceilings of the day that it lies above. */
export interface Top {
  /** To be followed by a height: `the climb ends`. */
  readonly what: string;
  readonly at: Place;
  readonly altitudeM: number;
  readonly cloudbase: Ceiling | undefined;
  /** For a climb only: a start may be towed or winched higher than lift goes. */
  readonly workingTop: Ceiling | undefined;
}

/** The start and every climb that lie above a ceiling of the day, in their order. */
export function topsOf(context: TaskContext): Top[] {
  const { evaluation } = context;
  const { weather, start, air } = evaluation;
  if (!weather) return [];
  const { cloudbase, lift } = weather.meaning;
  const ceiling = (altitude: Altitude | undefined, span: Span | undefined): Ceiling | undefined => {
    const altitudeM = altitude && altitudeIn(altitude, undefined, air);
    return altitudeM === undefined || !span ? undefined : { altitudeM, at: { ...weather.at, span } };
  };
  const base = ceiling(cloudbase?.value, cloudbase?.line.span);
  const top = ceiling(lift?.top, lift?.line.span);
  // A centimetre: heights in feet and in metres that mean the same are the same.
  const above = (altitudeM: number, one: Ceiling | undefined) =>
    one && altitudeM > one.altitudeM + 0.01 ? one : undefined;
  const place = (line: LineSyntax) => context.at(line.slots['altitude']?.span ?? line.span);
  const tops: Top[] = [];
  if (start?.altitudeM !== undefined) {
    const { altitudeM, line } = start;
    const what = 'the start lies';
    tops.push({ what, at: place(line), altitudeM, cloudbase: above(altitudeM, base), workingTop: undefined });
  }
  const soaring = new Map(
    evaluation.legs.flatMap(({ soar }) => (soar && soar.climbs.length > 0 ? [[soar.line, soar.upperM] as const] : [])),
  );
  for (const [line, altitudeM] of soaring) {
    tops.push({
      what: 'soaring goes up to',
      at: context.at(line.slots['upper']?.span ?? line.span),
      altitudeM,
      cloudbase: above(altitudeM, base),
      workingTop: above(altitudeM, top),
    });
  }
  for (const { line, toAltitudeM: altitudeM } of evaluation.legs.flatMap((leg) => leg.climbs)) {
    const what = 'the climb ends';
    tops.push({
      what,
      at: place(line),
      altitudeM,
      cloudbase: above(altitudeM, base),
      workingTop: above(altitudeM, top),
    });
  }
  return tops;
}

/** Whether an entry has a line of this detail that cannot be read: that line has its own error. */
export function unreadable(meaning: Meaning, ...details: readonly string[]): boolean {
  return meaning.faulty.some(({ detail }) => detail !== undefined && details.includes(detail));
}

/** Where a task is marked as a whole. */
export function taskPlace(context: TaskContext): Place {
  const { entry } = context.evaluation;
  return context.at(entry.name?.span ?? entry.head?.span ?? entry.span);
}

/** A short task for the pages of the rules: from Larkfield eastward, with lines changed by their keyword. */
export function eastTask(changed: Readonly<Record<string, string>> = {}, entries = ''): string {
  const lines: Record<string, string> = {
    aircraft: 'Finch with pilot 82 kg',
    weather: 'Breezy',
    reserve: 'Training',
    start: 'Larkfield at 5200 ft MSL',
    finish: 'Ashmoor',
    ...changed,
  };
  const details = Object.entries(lines).filter(([, text]) => text !== '');
  const order = ['aircraft', 'weather', 'reserve', 'limits', 'takeoff', 'start', 'climb', 'turn', 'finish'];
  const sorted = order.flatMap((keyword) => details.filter(([key]) => key === keyword));
  return `use "club.taskplan"\n\n${entries === '' ? '' : `${entries.trim()}\n\n`}task Eastward\n${sorted
    .map(([keyword, text]) => `  ${keyword.padEnd(9)}${text}\n`)
    .join('')}`;
}

/** An aircraft for the pages of the rules, with these lines for its polar. */
export function exampleAircraft(polar: readonly string[]): string {
  const lines = [
    ...polar,
    'polar mass 310 kg',
    'empty mass 225 kg',
    'maximum mass 340 kg',
    'vs 34 kt',
    'vne 115 kt',
  ].map((text) => {
    const [, keyword, rest] =
      /^(polar mass|empty mass|maximum mass|best glide|minimum sink|\S+) (.*)$/.exec(text) ?? [];
    return `  ${(keyword ?? '').padEnd(13)}${rest}\n`;
  });
  return `aircraft Finch\n${lines.join('')}`;
}
