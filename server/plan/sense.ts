/**
 * What no flight can have: a latitude of 95°, a runway 37, a reserve below zero. Such a value is a hole, like one that
 * cannot be read. The ranges are wide: they keep slips of the pen out, and leave judgement to the pilot.
 */
import type { AngleNode, DurationNode, RunwayNode, Span, ValueNode } from '../../grammar/syntax.ts';
import type { Slot } from '../../grammar/vocabulary.ts';
import { durationSi, isRealDate, quantitySi } from './values.ts';

/** A value out of sense: where, and why, to follow on the value in a sentence (`latitude 95° lies beyond the pole`). */
export interface SenseFault {
  readonly span: Span;
  readonly reason: string;
}

interface Range {
  readonly least: number;
  readonly most: number;
  /** Whether `least` itself is allowed. */
  readonly open?: boolean;
  readonly below: string;
  readonly above: string;
}

const KT = 1852 / 3600;

const notBelowZero = 'is below zero';
const notPositive = 'must be more than zero';

/** Lowest and highest sea-level pressures measured: 870 and about 1085 hPa, from memory; with room. */
export const LEAST_QNH_PA = 85_000;
export const MOST_QNH_PA = 109_000;

/** By dimension of the slot. Sources: common practice, no source, but where a record or a rule is named. */
const RANGES: Readonly<Record<string, Range>> = {
  // The shore of the Dead Sea and the summit of Everest bound the land, from memory.
  elevation: { least: -450, most: 9000, below: 'lies deeper than any land', above: 'is higher than any mountain' },
  msl: {
    least: -450,
    most: 20000,
    below: 'lies deeper than any land',
    above: 'is above 20,000 m, which is more than this model of the air covers',
  },
  agl: {
    least: 0,
    most: 20000,
    below: notBelowZero,
    above: 'is above 20,000 m, which is more than this model of the air covers',
  },
  length: { least: 0, most: 20.1e6, below: notBelowZero, above: 'is more than half way round the Earth' },
  speed: { least: 0, most: 400 * KT, below: notBelowZero, above: 'is faster than any glider' },
  climb: { least: 0, most: 30, below: notBelowZero, above: 'is more than any thermal or wave gives' },
  mass: { least: 0, most: 2000, below: notBelowZero, above: 'is more than any glider weighs' },
  pressure: {
    least: LEAST_QNH_PA,
    most: MOST_QNH_PA,
    below: 'is lower than any pressure measured at sea level',
    above: 'is higher than any pressure measured at sea level',
  },
  temperature: {
    least: 273.15 - 100,
    most: 273.15 + 60,
    below: 'is colder than the air gets',
    above: 'is hotter than the air gets',
  },
  direction: { least: 0, most: 360, below: notBelowZero, above: 'is more than a full circle' },
  share: { least: 0, most: 1, open: true, below: notPositive, above: 'is more than the whole polar' },
  duration: { least: 0, most: 48 * 3600, open: true, below: notPositive, above: 'is longer than two days' },
  // ICAO Annex 10 gives the aeronautical mobile band 117.975 to 137 MHz, from memory.
  frequency: {
    least: 117.975e6,
    most: 137e6,
    below: 'lies below the aeronautical band',
    above: 'lies above the aeronautical band',
  },
  ratio: { least: 1, most: 200, below: 'is no glide at all', above: 'is better than any glider' },
};

/** Slots that must be more than zero, by entry, detail and slot. */
const POSITIVE = new Set([
  'field runway length',
  'turnpoint radius radius',
  'airspace circle radius',
  'aircraft polar speed',
  'aircraft polar sink',
  'aircraft best glide speed',
  'aircraft minimum sink sink',
  'aircraft minimum sink speed',
  'aircraft polar mass mass',
  'aircraft empty mass mass',
  'aircraft maximum mass mass',
  'aircraft vs speed',
  'aircraft va speed',
  'aircraft vno speed',
  'aircraft vne speed',
  'aircraft landing length',
  'weather lift rate',
  'task climb to rate',
  'task turn speed',
  'task finish speed',
  'limits within distance',
  'limits distance distance',
]);

/** Whether a value in SI can be one of this kind; true for kinds that have no range. */
export function isSensible(kind: string, si: number): boolean {
  const range = RANGES[kind === 'altitude' ? 'msl' : kind];
  return !range || (si >= range.least && si <= range.most);
}

function inRange(value: number, range: Range, positive: boolean, span: Span): SenseFault | undefined {
  if (!Number.isFinite(value)) return { span, reason: 'is beyond all measure' };
  if ((positive || range.open) && value <= Math.max(0, range.least))
    return { span, reason: value < 0 ? notBelowZero : notPositive };
  if (value < range.least) return { span, reason: range.below };
  if (value > range.most) return { span, reason: range.above };
  return undefined;
}

function angleSense(angle: AngleNode, which: 'latitude' | 'longitude'): SenseFault | undefined {
  const most = which === 'latitude' ? 90 : 180;
  const { span } = angle;
  if ((angle.value as number) < 0)
    return { span, reason: `has a sign: the letter behind it says on which side the ${which} lies` };
  if (angle.minutes >= 60) return { span, reason: 'has 60 minutes or more' };
  if (angle.seconds >= 60) return { span, reason: 'has 60 seconds or more' };
  if (angle.notation !== 'degrees' && !Number.isInteger(angle.degrees))
    return { span, reason: 'has minutes behind a fraction of a degree' };
  if (angle.notation === 'seconds' && !Number.isInteger(angle.minutes))
    return { span, reason: 'has seconds behind a fraction of a minute' };
  if ((angle.value as number) > most)
    return {
      span,
      reason:
        which === 'latitude'
          ? 'lies beyond the pole: a latitude is at most 90°'
          : 'is more than half way round: a longitude is at most 180°',
    };
  return undefined;
}

const OTHER_SIDE: Readonly<Record<string, string>> = { L: 'R', R: 'L', C: 'C', '': '' };

function runwaySense(node: RunwayNode): SenseFault | undefined {
  for (const end of node.ends) {
    if (!Number.isInteger(end.number) || end.number < 1 || end.number > 36) {
      return {
        span: end.span,
        reason: 'is no runway: runways are numbered 01 to 36, a tenth of their magnetic direction',
      };
    }
  }
  const [one, other] = node.ends;
  if (one && other) {
    if (Math.abs(one.number - other.number) !== 18)
      return { span: node.span, reason: 'names two ends that do not lie opposite each other: they differ by 18' };
    if (OTHER_SIDE[one.letter] !== other.letter)
      return {
        span: node.span,
        reason: 'names two ends of different runways: the left one is the right one from the other end',
      };
  }
  return undefined;
}

function durationSense({ parts: [one, other], span }: DurationNode): SenseFault | undefined {
  if (!one?.unit || one.unit.unit !== other?.unit?.unit) return undefined;
  return { span, reason: `gives its ${one.unit.unit?.words} twice: write them once` };
}

/** Whether what stands in a slot must be more than zero. */
export function mustBePositive(slot: Slot, entry: string, detail: string): boolean {
  return POSITIVE.has(`${entry} ${detail} ${slot.slot}`);
}

/**
 * Why a value that can be read makes no sense; undefined when it may. Call only for values without a fault. `positive` is
 * what {@link mustBePositive} says of its slot.
 */
export function senseFaultOf(node: ValueNode, slot: Slot, positive: boolean): SenseFault | undefined {
  switch (node.kind) {
    case 'quantity': {
      const key =
        slot.kind === 'altitude'
          ? node.datum?.datum === 'AGL'
            ? 'agl'
            : 'msl'
          : slot.kind === 'performance'
            ? 'share'
            : slot.kind;
      const range = RANGES[key];
      return range ? inRange(quantitySi(node), range, positive, node.span) : undefined;
    }
    case 'flightLevel':
      return node.level > 650
        ? { span: node.span, reason: 'is above 20,000 m, which is more than this model of the air covers' }
        : undefined;
    case 'duration':
      return durationSense(node) ?? inRange(durationSi(node), RANGES['duration'] as Range, false, node.span);
    case 'ratio':
      return inRange(node.value, RANGES['ratio'] as Range, false, node.span);
    case 'coordinates':
      return angleSense(node.first, 'latitude') ?? (node.second ? angleSense(node.second, 'longitude') : undefined);
    case 'date':
      return isRealDate(node) ? undefined : { span: node.span, reason: 'is no day of the calendar' };
    case 'time': {
      const zone = Math.abs(node.zoneMinutes ?? 0);
      if (node.hour > 23 || node.minute > 59 || node.second > 59)
        return { span: node.span, reason: 'is no time of day' };
      if (zone <= 14 * 60) return undefined;
      // `11:30-16:45`: the dash was meant for the word between two times.
      const two = slot.slot === 'from' && (node.zoneMinutes ?? 0) < 0;
      const way = two ? '. Between two times write `to`, and each with its zone, such as `11:30Z to 16:45Z`' : '';
      return { span: node.span, reason: `lies in no time zone${way}` };
    }
    case 'runway':
      return runwaySense(node);
    case 'word':
      return slot.of && !slot.of.includes(node.text.toLowerCase())
        ? { span: node.span, reason: `is not ${slot.words}` }
        : undefined;
    case 'name':
      return node.text.trim() === '' ? { span: node.span, reason: 'is an empty name' } : undefined;
    case 'text':
      return undefined;
    default:
      return undefined;
  }
}
