/**
 * A what-if: a task with other wind, start height, speeds, performance share or masses than are written. Here is what
 * may be changed, and what a change makes of the legs, before and after. The numbers come from the evaluation of the
 * text as it would stand with the changes, never from a second way of computing.
 */
import { unit } from '../../grammar/units.ts';
import type { LegSpeed } from '../flight/index.ts';
import { marginText, wholeHeights } from './budget-rows.ts';
import { number, type Show } from './show.ts';
import type { LegEvaluation } from './task.ts';

/** Another wind on one of the `wind` lines of the weather, counted from 0 as they are written. */
export interface WindChange {
  readonly index: number;
  /** Where it comes from, as its line counts it (true or magnetic): degrees, 0 to 360. */
  readonly fromDeg?: number;
  readonly speedMps?: number;
}

/** Another speed on one leg (from 1), or on every leg that has no change of its own. */
export interface SpeedChange {
  readonly leg?: number;
  readonly speed: LegSpeed;
}

/** What is changed; what is left out stays as written. Everything in SI. */
export interface WhatIfChanges {
  readonly winds?: readonly WindChange[];
  /** Every speed of the wind times this, 0 to 5. */
  readonly windFactor?: number;
  /** And so much more, m/s; no speed falls below 0. */
  readonly windMoreMps?: number;
  /** Above the sea, m. */
  readonly startAltitudeM?: number;
  readonly speeds?: readonly SpeedChange[];
  /** Of the polar's glide ratio, above 0 up to 1. */
  readonly share?: number;
  readonly pilotKg?: number;
  readonly ballastKg?: number;
}

/** Changes that cannot be made, and why. */
export interface ChangesRefused {
  readonly refused: string;
}

/** A number within its range, or why it is none. */
type Read = number | undefined | ChangesRefused;

const KT = unit('kt').factor;
/** No wind, and no glider, is faster: what may be written in a plan, m/s. */
const FASTEST_MPS = 400 * KT;
const MOST_LINES = 1000;

const isRefused = (value: unknown): value is ChangesRefused =>
  typeof value === 'object' && value !== null && 'refused' in value;

function fieldsOf(value: unknown): Readonly<Record<string, unknown>> | undefined {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
    ? (value as Readonly<Record<string, unknown>>)
    : undefined;
}

function readNumber(value: unknown, name: string, least: number, most: number): Read {
  if (value === undefined || value === null) return undefined;
  if (typeof value !== 'number' || !Number.isFinite(value) || value < least || value > most)
    return { refused: `\`${name}\` is no number from ${least} to ${most}` };
  return value;
}

function readSpeed(value: unknown): LegSpeed | ChangesRefused {
  const fields = fieldsOf(value);
  const kind = fields?.['kind'];
  if (kind === 'bestGlide') return { kind };
  if (kind === 'indicated') {
    const indicatedMps = readNumber(fields?.['indicatedMps'], 'indicatedMps', 1, FASTEST_MPS);
    return typeof indicatedMps === 'number'
      ? { kind, indicatedMps }
      : (indicatedMps ?? { refused: '`indicatedMps` is missing' });
  }
  if (kind === 'maccready') {
    const climbMps = readNumber(fields?.['climbMps'], 'climbMps', 0, 30);
    return typeof climbMps === 'number' ? { kind, climbMps } : (climbMps ?? { refused: '`climbMps` is missing' });
  }
  return { refused: 'the `kind` of a speed is `indicated`, `bestGlide` or `maccready`' };
}

function readList<T>(
  value: unknown,
  name: string,
  read: (item: unknown) => T | ChangesRefused,
): readonly T[] | undefined | ChangesRefused {
  if (value === undefined || value === null) return undefined;
  if (!Array.isArray(value) || value.length > MOST_LINES) return { refused: `\`${name}\` is no list` };
  const items: T[] = [];
  for (const one of value) {
    const item = read(one);
    if (isRefused(item)) return item;
    items.push(item);
  }
  return items;
}

const isCount = (value: unknown, least: number): value is number =>
  Number.isInteger(value) && (value as number) >= least && (value as number) <= MOST_LINES;

function readWind(value: unknown): WindChange | ChangesRefused {
  const fields = fieldsOf(value);
  const index = fields?.['index'];
  if (!isCount(index, 0)) return { refused: 'the `index` of a wind counts its lines from 0' };
  const fromDeg = readNumber(fields?.['fromDeg'], 'fromDeg', 0, 360);
  if (isRefused(fromDeg)) return fromDeg;
  const speedMps = readNumber(fields?.['speedMps'], 'speedMps', 0, FASTEST_MPS);
  if (isRefused(speedMps)) return speedMps;
  return { index, ...(fromDeg === undefined ? {} : { fromDeg }), ...(speedMps === undefined ? {} : { speedMps }) };
}

function readLegSpeed(value: unknown): SpeedChange | ChangesRefused {
  const fields = fieldsOf(value);
  const leg = fields?.['leg'];
  if (leg !== undefined && leg !== null && !isCount(leg, 1)) return { refused: 'a `leg` is a number from 1' };
  const speed = readSpeed(fields?.['speed']);
  if (isRefused(speed)) return speed;
  return typeof leg === 'number' ? { leg, speed } : { speed };
}

/** The numbers of {@link WhatIfChanges} and their ranges: those that a plan may write. */
const NUMBERS = [
  ['windFactor', 0, 5],
  ['windMoreMps', -FASTEST_MPS, FASTEST_MPS],
  ['startAltitudeM', -450, 20_000],
  ['share', 0.01, 1],
  ['pilotKg', 1, 2000],
  ['ballastKg', 0, 2000],
] as const;

/** Reads changes as a client sends them; what is not known among them is left alone. */
export function changesOf(value: unknown): WhatIfChanges | ChangesRefused {
  if (value === undefined || value === null) return {};
  const fields = fieldsOf(value);
  if (!fields) return { refused: '`changes` is no object' };
  const numbers: Partial<Record<(typeof NUMBERS)[number][0], number>> = {};
  for (const [name, least, most] of NUMBERS) {
    const read = readNumber(fields[name], name, least, most);
    if (isRefused(read)) return read;
    if (read !== undefined) numbers[name] = read;
  }
  const winds = readList(fields['winds'], 'winds', readWind);
  if (isRefused(winds)) return winds;
  const speeds = readList(fields['speeds'], 'speeds', readLegSpeed);
  if (isRefused(speeds)) return speeds;
  return { ...numbers, ...(winds ? { winds } : {}), ...(speeds ? { speeds } : {}) };
}

/** A leg as it is flown: SI, null for what is not known; and the same for the reader. */
export interface WhatIfSide {
  readonly indicatedMps: number | null;
  readonly departAltitudeM: number | null;
  readonly departAssumed: boolean;
  readonly requiredDepartAltitudeM: number | null;
  readonly arriveAltitudeM: number | null;
  readonly arriveHeightM: number | null;
  readonly askedAltitudeM: number | null;
  readonly marginM: number | null;
  readonly timeS: number | null;
  /** Whether it arrives with what is asked; null for a leg that is not computed. */
  readonly makes: boolean | null;
  readonly text: {
    /** With its sign: `+640 ft`; in words for a leg that has none. */
    readonly margin: string;
    readonly speed: string;
    readonly depart: string;
    readonly required: string;
    /** Over the sea, and over the point. */
    readonly arrive: string;
    readonly over: string;
    readonly time: string;
  };
}

export interface WhatIfLeg {
  /** From 1. */
  readonly number: number;
  readonly from: string;
  readonly to: string;
  readonly before: WhatIfSide;
  readonly after: WhatIfSide;
  /** After less before, m; null where one is not known. */
  readonly marginChangeM: number | null;
  /** As the margins are shown: `−440 ft`, `no change`. */
  readonly change: string;
}

/** A leg misses its height only by more than the glide is computed closely, m. */
export const NOTHING_M = 1e-3;

const DASH = '–';

/** A leg before or after. */
export function sideOf(leg: LegEvaluation, with_: Show): WhatIfSide {
  const { result, cause } = leg;
  const flown = result?.problem === null ? result : undefined;
  const required = result?.requiredDepartAltitudeM ?? null;
  const none = result ? 'no headway' : `not computed${cause ? `, since ${cause.text}` : ''}`;
  return {
    indicatedMps: result?.indicatedMps ?? null,
    departAltitudeM: result?.departAltitudeM ?? null,
    departAssumed: leg.departAssumed,
    requiredDepartAltitudeM: required,
    arriveAltitudeM: flown?.arriveAltitudeM ?? null,
    arriveHeightM: flown?.arriveHeightM ?? null,
    askedAltitudeM: result?.askedAltitudeM ?? null,
    marginM: flown?.marginM ?? null,
    timeS: flown?.timeS ?? null,
    makes: result ? flown !== undefined && flown.marginM >= -NOTHING_M : null,
    text: {
      margin: flown ? marginText(leg, with_) : none,
      speed: result ? with_.speed(result.indicatedMps) : DASH,
      depart: result ? `${with_.altitude(result.departAltitudeM)}${leg.departAssumed ? ' (asked there)' : ''}` : DASH,
      required: required !== null ? with_.altitude(required, 'up') : result ? 'no height is enough' : DASH,
      arrive: flown ? with_.altitude(flown.arriveAltitudeM, 'down') : DASH,
      over: flown ? with_.height(flown.arriveHeightM, 'down') : DASH,
      time: flown ? with_.duration(flown.timeS) : DASH,
    },
  };
}

function signed(whole: number, { units }: Show): string {
  return `${whole > 0 ? '+' : '−'}${number(Math.abs(whole))} ${units.altitude.text}`;
}

/** The change of a margin as the margins are shown, so that before, change and after add up. */
function changeText(before: LegEvaluation, after: LegEvaluation, with_: Show): string {
  const [one, other] = [wholeHeights(before, with_), wholeHeights(after, with_)];
  if (one && other) return one.margin === other.margin ? 'no change' : signed(other.margin - one.margin, with_);
  const [was, is] = [sideOf(before, with_).text.margin, sideOf(after, with_).text.margin];
  return was === is ? 'no change' : `${was} before`;
}

/** The legs of a task before and after; both have the same itinerary. */
export function whatIfLegs(
  before: readonly LegEvaluation[],
  after: readonly LegEvaluation[],
  with_: Show,
): readonly WhatIfLeg[] {
  return before.flatMap((leg, i): WhatIfLeg[] => {
    const now = after[i];
    if (!now) return [];
    const [one, other] = [sideOf(leg, with_), sideOf(now, with_)];
    return [
      {
        number: leg.number,
        from: leg.fromName,
        to: leg.toName,
        before: one,
        after: other,
        marginChangeM: one.marginM === null || other.marginM === null ? null : other.marginM - one.marginM,
        change: changeText(leg, now, with_),
      },
    ];
  });
}
