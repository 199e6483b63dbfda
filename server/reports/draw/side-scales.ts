/** Where things stand in the side view: height over the distance flown. */
import { max, min } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import type { Picture, PictureLeg, PicturePoint, PictureReach } from '../../plan/picture.ts';
import { type DrawOptions, keyMore, penOf, shortened, widthOf, wrapped } from './ink.ts';
import type { Box } from './labels.ts';
import { lengthIn, showOf } from './units.ts';

export interface SideOptions extends DrawOptions {
  /** A place that is marked, with the fields in reach there. */
  readonly place?: { readonly leg: number; readonly xM: number } | PictureReach | null;
  /** Of the distance laid out ({@link SideScales.lengthM}), the part that is drawn, m. */
  readonly window?: { readonly fromM: number; readonly toM: number };
}

/** A leg as it is laid out: from and to are distances from the left end, m. */
export interface LaidLeg {
  readonly leg: PictureLeg;
  readonly fromM: number;
  readonly toM: number;
  /** Without a known length it is drawn as long as others are. */
  readonly known: boolean;
}

export interface SideScales {
  readonly plot: Box;
  readonly legs: readonly LaidLeg[];
  /** Of all legs as laid out, m: the distance flown, but for legs whose length is not known. */
  readonly lengthM: number;
  readonly window: { readonly fromM: number; readonly toM: number };
  /** From the lowest to the highest altitude drawn, m. */
  readonly lowM: number;
  readonly highM: number;
  /** Rows of names over the plot, the lowest number being the upper row. */
  readonly nameRows: readonly (readonly LaidName[])[];
  /** How much higher the key is than one of a single row, px. */
  readonly keyMore: number;
  /** Lines of words below the key. */
  readonly notes: readonly string[];
  /** The px of a place of a leg (by number); null for a leg that is not there, or whose length is not known. */
  x(leg: number, xM: number): number | null;
  /** The px of a distance as laid out. */
  across(laidM: number): number;
  y(altitudeM: number): number;
  /** The place of a px; null beside the plot, and on a leg whose length is not known. */
  at(pxX: number): { readonly leg: number; readonly xM: number } | null;
  altitudeAt(pxY: number): number;
}

export type SideKey =
  | 'path'
  | 'required'
  | 'climb'
  | 'ground'
  | 'airspace'
  | 'enters'
  | 'stretch'
  | 'home'
  | 'low'
  | 'asked';

const KEY_WORDS: Readonly<Record<SideKey, string>> = {
  path: 'planned',
  required: 'lowest that arrives as asked',
  asked: 'height asked',
  climb: 'climb',
  ground: 'ground',
  low: 'too low over it',
  airspace: 'airspace',
  enters: 'airspace entered',
  stretch: 'no field in reach',
  home: 'finish in reach from here',
};

/** What the lines mean, in the order of the key. */
export const SIDE_KEY = { words: KEY_WORDS, wide: 2 } as const;

/** Every entry that a drawing of a picture may come to need, whatever part of it is drawn. */
function mayHave({ legs }: Picture): Set<SideKey> {
  const needs: Readonly<Record<SideKey, (leg: PictureLeg) => boolean>> = {
    path: ({ path }) => path.length > 1,
    required: ({ required }) => required.length > 1,
    asked: ({ askedAltitudeM }) => askedAltitudeM !== null,
    climb: ({ climbs }) => climbs.length > 0,
    ground: ({ ground }) => ground.length > 0,
    low: ({ lowGround, solids }) => lowGround !== null || solids.some(({ tooLow }) => tooLow),
    airspace: ({ slices }) => slices.some(({ met }) => met !== 'enters'),
    enters: ({ slices }) => slices.some(({ met }) => met === 'enters'),
    stretch: ({ stretchesWithoutField }) => stretchesWithoutField.length > 0,
    home: ({ finishInReachAfterM }) => finishInReachAfterM !== null,
  };
  return new Set((Object.keys(needs) as SideKey[]).filter((entry) => legs.some(needs[entry])));
}

/** A leg of unknown length in a task of such legs alone, m. */
const SOME_LENGTH_M = 20_000;
const MOST_NAME_ROWS = 3;

function layOut({ legs }: Picture): LaidLeg[] {
  const lengths = legs.flatMap(({ distanceM }) => (distanceM === null ? [] : [distanceM]));
  const usual = lengths.reduce((sum, one) => sum + one, 0) / lengths.length || SOME_LENGTH_M;
  const laid: LaidLeg[] = [];
  let fromM = 0;
  for (const leg of legs) {
    const toM = fromM + (leg.distanceM ?? usual);
    laid.push({ leg, fromM, toM, known: leg.distanceM !== null });
    fromM = toM;
  }
  return laid;
}

/** The planned path as far as it lies above the height of its destination. */
export function pathAboveGround(leg: PictureLeg): readonly PicturePoint[] {
  const { reachesGroundAfterM, destinationElevationM, path } = leg;
  if (reachesGroundAfterM === null || destinationElevationM === null) return path;
  const before = path.filter(({ xM }) => xM < reachesGroundAfterM);
  return [...before, { xM: reachesGroundAfterM, altitudeM: destinationElevationM }];
}

/** The words below a side view: what is not drawn as a line, and why. */
function notesOf(picture: Picture): string[] {
  const with_ = showOf(picture);
  const notes: string[] = [];
  // Legs that wait for the same thing are said in one line.
  const waiting = new Map<string, number[]>();
  for (const { number, notComputed } of picture.legs)
    if (notComputed !== null) waiting.set(notComputed, [...(waiting.get(notComputed) ?? []), number]);
  for (const [why, numbers] of waiting)
    notes.push(`${numbers.length === 1 ? 'leg' : 'legs'} ${numbers.join(', ')} not computed: ${why}`);
  for (const leg of picture.legs) {
    if (leg.reachesGroundAfterM !== null)
      notes.push(
        `leg ${leg.number} is down to the height of ${leg.to} after ${with_.distance(leg.reachesGroundAfterM)}, before it is there`,
      );
    if (leg.departAssumed)
      notes.push(
        `leg ${leg.number} is drawn from the height asked over ${leg.from}, since the leg before does not get there`,
      );
  }
  if (picture.legs.length === 0) notes.push('the task has no legs');
  if (picture.legs.some(({ ground }) => ground.some(({ highestM }) => highestM === null)))
    notes.push('ground unknown where no outline is drawn');
  else if (picture.legs.every(({ ground }) => ground.length === 0))
    notes.push('no elevation data: of the ground only the points themselves are drawn');
  return notes;
}

/** A name over the plot: of which of the points where legs meet, from 0 at the start, and where its middle is, px. */
export interface LaidName {
  readonly point: number;
  readonly content: string;
  readonly middle: number;
}

/**
 * Names in rows over the plot, so that none touches another: the start and the finish first, then as many of the others
 * as there is room for. The lengths of names count those in bold letters of `size`.
 */
function nameRowsOf(
  points: readonly { x: number; name: string; point: number }[],
  plot: Box,
  size: number,
): LaidName[][] {
  const rows: (LaidName & { from: number; to: number })[][] = [];
  const last = points.length - 1;
  const order = points
    .map((_, i) => i)
    .sort((a, b) => Number(b === 0 || b === last) - Number(a === 0 || a === last) || a - b);
  for (const i of order) {
    const { x, name, point } = points[i] as (typeof points)[number];
    const content = shortened(name, Math.max(plot.width / 3, size * 6), size, true);
    const half = widthOf(content, size, true) / 2;
    const middle = Math.max(plot.x + half - size, Math.min(x, plot.x + plot.width - half));
    const laid = { point, content, middle, from: middle - half - size / 2, to: middle + half + size / 2 };
    const row = rows.find((names) => names.every(({ from, to }) => laid.from >= to || laid.to <= from));
    if (row) row.push(laid);
    else if (rows.length < MOST_NAME_ROWS) rows.push([laid]);
  }
  return rows.map((names) =>
    names.map(({ point, content, middle }) => ({ point, content, middle })).sort((a, b) => a.point - b.point),
  );
}

/** No path is drawn against more height than this share above its own, m. */
const REQUIRED_SHARE = 1.1;

function altitudesOf(picture: Picture): { lowM: number; highM: number } {
  const flown: number[] = [];
  const asked: number[] = [];
  const solid: number[] = [];
  const { start } = picture;
  for (const one of [start?.elevationM, start?.altitudeM]) if (typeof one === 'number') flown.push(one);
  for (const leg of picture.legs) {
    for (const { altitudeM } of pathAboveGround(leg)) flown.push(altitudeM);
    for (const { fromAltitudeM, toAltitudeM } of leg.climbs) {
      flown.push(toAltitudeM);
      if (fromAltitudeM !== null && leg.path.length > 0 && fromAltitudeM > (leg.destinationElevationM ?? 0))
        flown.push(fromAltitudeM);
    }
    for (const { altitudeM } of leg.required) asked.push(altitudeM);
    for (const one of [leg.destinationElevationM, leg.askedAltitudeM]) if (one !== null) solid.push(one);
    for (const { topM } of leg.solids) solid.push(topM);
    for (const { highestM } of leg.ground) if (highestM !== null) solid.push(highestM);
  }
  const all = [...flown, ...solid];
  const lowM = min(all) ?? 0;
  const highM = max(all) ?? lowM + 1000;
  const most = highM + REQUIRED_SHARE * Math.max(highM - lowM, 300);
  const top = Math.max(highM, Math.min(max(asked) ?? highM, most));
  const range = Math.max(top - lowM, 100);
  return { lowM: lowM - 0.07 * range, highM: top + 0.1 * range };
}

/** The scales of a side view: the same for the same picture and options. */
export function sideScales(picture: Picture, options: SideOptions): SideScales {
  const pen = penOf(options);
  const { size } = pen;
  const with_ = showOf(picture);
  const legs = layOut(picture);
  const lengthM = Math.max(legs.at(-1)?.toM ?? 0, 1);
  const fromM = Math.min(Math.max(options.window?.fromM ?? 0, 0), lengthM);
  const toM = Math.min(Math.max(options.window?.toM ?? lengthM, fromM + lengthM / 1000, 1), lengthM);
  const window = { fromM: Math.min(fromM, toM - lengthM / 1000), toM };
  const { lowM, highM } = altitudesOf(picture);

  const unit = lengthIn(with_.units.altitude);
  const widest = widthOf(with_.height(Math.max(Math.abs(unit.to(1)) * 1000, Math.abs(highM))), size);
  const left = Math.min(widest + size * 1.6, options.width / 3);
  const right = size * 1.2;
  const plotWidth = Math.max(options.width - left - right, 10);
  // A little room at both ends, for what stands at the first and the last point.
  const inset = Math.min(size * 0.7, plotWidth / 10);
  const across = scaleLinear([window.fromM, window.toM], [left + inset, left + plotWidth - inset]);

  const names = [picture.legs[0]?.from ?? picture.start?.name ?? '', ...picture.legs.map(({ to }) => to)];
  const ends = [0, ...legs.map(({ toM: end }) => end)];
  const shown = ends.flatMap((end, i) => (end >= window.fromM - 1e-6 && end <= window.toM + 1e-6 ? [i] : []));
  const rows = nameRowsOf(
    shown.map((i) => ({ x: across(ends[i] as number), name: names[i] as string, point: i })),
    { x: left, y: 0, width: plotWidth, height: 0 },
    size,
  );

  const small = pen.letters(0.92);
  const notes = options.bare ? [] : notesOf(picture).flatMap((note) => wrapped(note, options.width - size, small));
  const top = size * (0.4 + 1.25 * Math.max(1, rows.length) + 1.5);
  const more = options.bare ? 0 : keyMore({ ...SIDE_KEY, used: mayHave(picture) }, options.width, size);
  const bottom = options.bare ? size * 1.7 : size * 5.1 + more + notes.length * small * 1.3;
  const plot = { x: left, y: top, width: plotWidth, height: Math.max(options.height - top - bottom, 10) };
  const up = scaleLinear([lowM, highM], [plot.y + plot.height, plot.y]);
  return {
    plot,
    legs,
    lengthM,
    window,
    lowM,
    highM,
    nameRows: rows,
    keyMore: more,
    notes,
    x: (number, xM) => {
      const laid = legs.find(({ leg }) => leg.number === number);
      return laid?.known ? across(laid.fromM + xM) : null;
    },
    across,
    y: (altitudeM) => up(altitudeM),
    at: (pxX) => {
      if (pxX < plot.x || pxX > plot.x + plot.width) return null;
      const laidM = Math.min(Math.max(across.invert(pxX), window.fromM), window.toM);
      const laid = legs.find(({ toM: end }) => laidM <= end) ?? legs.at(-1);
      if (!laid?.known) return null;
      return { leg: laid.leg.number, xM: Math.min(Math.max(laidM - laid.fromM, 0), laid.toM - laid.fromM) };
    },
    altitudeAt: (pxY) => up.invert(pxY),
  };
}
