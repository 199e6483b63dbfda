/**
 * Numbers that the flight asks for where one is about to be written: the task is evaluated with the line at the caret
 * as it would read by then, so that an unfinished line keeps nobody from knowing.
 */
import { parseEntry } from '../../grammar/entry.ts';
import { fromSi, type Unit } from '../../grammar/units.ts';
import { meaningOf } from '../plan/meaning.ts';
import type { Show } from '../plan/show.ts';
import { altitudeIn, evaluateTask, type LegEvaluation, type TaskEvaluation } from '../plan/task.ts';
import type { Altitude } from '../plan/values.ts';
import { lookUp } from '../plan/workspace.ts';
import type { CompletionPlace } from './completion-place.ts';

/** A value and why one would write it. */
export interface Suggested {
  readonly text: string;
  readonly why: string;
}

interface Supposed {
  readonly task: TaskEvaluation;
  /** The leg of the caret's line, or the first one behind it. */
  readonly leg: LegEvaluation | undefined;
}

/** The task with `line` in place of the caret's line. */
function supposing(place: CompletionPlace, line: string): Supposed | undefined {
  const { placed, understood, lineStart, lineText } = place;
  const { text } = placed.syntax;
  const syntax = parseEntry(text.slice(0, lineStart) + line + text.slice(lineStart + lineText.length), true);
  const meaning = meaningOf(syntax);
  const task = evaluateTask({ file: understood.file, meaning }, understood.scope);
  return task && { task, leg: task.legs.find((leg) => leg.line.span.start >= lineStart) };
}

/** The first part of the caret's line: what is complete before the caret, or before a keyword in it. */
function writtenBefore({ tokens, lineText }: CompletionPlace, keyword: string): string {
  const stop = tokens.find(({ image }) => image.toLowerCase() === keyword);
  const end = stop?.startOffset ?? (tokens.at(-1)?.startOffset ?? 0) + (tokens.at(-1)?.image.length ?? 0);
  return lineText.slice(0, end).trimEnd();
}

const plain = (value: number, decimals: number) => String(Number(value.toFixed(decimals)));

/** A rate in the reader's unit, as short as it is exact to a tenth. */
function rateText(mps: number, unit: Unit): string {
  return `${plain(fromSi(mps, unit), unit.text === 'ft/min' ? 0 : 1)} ${unit.text}`;
}

/** In whole steps of the reader's unit: what one must have is rounded up, what there is is rounded down. */
function altitudeText(metres: number, unit: Unit, rounding: 'up' | 'down'): string {
  const step = unit.text === 'm' ? 10 : 50;
  const steps = fromSi(metres, unit) / step;
  const whole = rounding === 'up' ? Math.ceil(steps - 1e-6) : Math.floor(steps + 1e-6);
  return `${whole * step} ${unit.text} MSL`;
}

function givenAltitude(altitude: Altitude, task: TaskEvaluation, unit: Unit): string | undefined {
  if (altitude.kind === 'fl') return `FL${altitude.level}`;
  const metres = altitudeIn(altitude, undefined, task.air);
  if (metres === undefined) return undefined;
  const exact = fromSi(metres, unit);
  return Math.abs(exact - Math.round(exact)) < 1e-6
    ? `${Math.round(exact)} ${unit.text} MSL`
    : altitudeText(metres, unit, 'down');
}

function required(leg: LegEvaluation | undefined, with_: Show): Suggested | undefined {
  const metres = leg?.result?.requiredDepartAltitudeM;
  if (!leg || metres === null || metres === undefined) return undefined;
  const text = altitudeText(metres, with_.units.altitude, 'up');
  return { text, why: `what leg ${leg.number} to ${leg.toName} asks: ${with_.altitude(metres, 'up')}` };
}

/** Heights to climb to: what the next leg asks, the working top, the cloudbase. */
export function climbHeights(place: CompletionPlace, with_: Show): Suggested[] {
  const { task, leg } = supposing(place, '') ?? {};
  const unit = with_.units.altitude;
  const found: Suggested[] = [];
  const onTheWay = leg?.climbs.some(({ afterM }) => afterM !== undefined);
  const next = onTheWay ? undefined : required(leg, with_);
  // Where the glider is high enough already, a climb to what is asked would go down.
  const { departAltitudeM, requiredDepartAltitudeM } = leg?.result ?? {};
  const isHigh = !leg?.departAssumed && (departAltitudeM ?? 0) >= (requiredDepartAltitudeM ?? 0);
  if (next && !isHigh) found.push(next);
  const { lift, cloudbase } = task?.weather?.meaning ?? {};
  const top = task && lift && givenAltitude(lift.top, task, unit);
  if (top) found.push({ text: top, why: 'the working top' });
  const base = task && cloudbase && givenAltitude(cloudbase.value, task, unit);
  if (base) found.push({ text: base, why: 'the cloudbase' });
  return found;
}

/** The height to start at: what the first leg asks, unless a climb before it sets its height. */
export function startHeights(place: CompletionPlace, with_: Show): Suggested[] {
  const { task, leg } = supposing(place, `${writtenBefore(place, 'at')} at 3000 m MSL`) ?? {};
  if (!leg || leg !== task?.legs[0] || leg.climbs.length > 0) return [];
  const found = required(leg, with_);
  return found ? [found] : [];
}

/** The speed to fly a leg at: the fastest that still makes it, which it also does as it is rounded. */
export function legSpeeds(place: CompletionPlace, with_: Show): Suggested[] {
  const written = writtenBefore(place, 'at');
  const { leg } = supposing(place, written) ?? {};
  const fastest = leg?.result?.fastestIndicatedMps;
  const isHere = leg && leg.line.span.start <= place.lineStart + place.lineText.length;
  if (!isHere || fastest === null || fastest === undefined) return [];
  const unit = with_.units.speed;
  const scale = unit.text === 'm/s' ? 10 : 1;
  const text = `${Math.floor(fromSi(fastest, unit) * scale + 1e-6) / scale} ${unit.text}`;
  const { result, input } = supposing(place, `${written} at ${text}`)?.leg ?? {};
  if (!result || !input || result.problem || result.marginM < 0 || result.indicatedMps < input.limits.vsMps) return [];
  const { vnoMps } = input.limits;
  const isVno = vnoMps !== null && fastest >= vnoMps;
  return [{ text, why: `the fastest that still makes it${isVno ? ', which is vno' : ''}` }];
}

/** The climb that the weather gives. */
export function liftRates(place: CompletionPlace, with_: Show): Suggested[] {
  const { understood, placed } = place;
  const task = understood.tasks.find(({ entry }) => entry === placed.syntax);
  const lift = task?.weather?.meaning.lift;
  return lift ? [{ text: rateText(lift.rateMps, with_.units.climb), why: 'the lift of the weather' }] : [];
}

/** The most ballast that the aircraft of the caret's line takes. */
export function mostBallast({ placed, lineStart, understood }: CompletionPlace, with_: Show): Suggested[] {
  const node = placed.syntax.details.find(({ span }) => span.start >= lineStart)?.slots['aircraft'];
  const aircraft = node?.kind === 'name' ? lookUp(understood.scope, 'aircraft', node.text)[0]?.meaning : undefined;
  const most = aircraft?.kind === 'aircraft' ? aircraft.ballastMostKg : undefined;
  if (!most) return [];
  const unit = with_.units.mass;
  return [{ text: `${Math.floor(fromSi(most.value, unit) + 1e-6)} ${unit.text}`, why: 'the most it takes' }];
}
