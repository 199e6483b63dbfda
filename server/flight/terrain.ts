/**
 * Ground heights from SRTM tiles in the open `.hgt` format: one degree by one degree, 1201 or 3601 posts a side (3 or 1
 * arc seconds), big-endian metres, rows from north to south, -32768 where nothing was measured. Edges are shared by
 * neighbours.
 */
import { type Position, type Track, track as trackBetween } from './earth.ts';

/** A tile by its south-west corner. */
export interface Tile {
  readonly latDeg: number;
  readonly lonDeg: number;
  /** Posts a side. */
  readonly size: number;
  readonly posts: DataView;
}

const SIZES: readonly number[] = [1201, 3601];
const VOID = -32_768;

/** Tiles that a byte count fits, for messages: 2,884,802 or 25,934,402 bytes. */
export const TILE_BYTES: readonly number[] = SIZES.map((size) => size * size * 2);

/** The whole degrees of the tile that holds a place: its south-west corner. Longitude -180 up to 180. */
export function tileCorner({ latDeg, lonDeg }: Position): { latDeg: number; lonDeg: number } {
  const lon = ((((lonDeg + 180) % 360) + 360) % 360) - 180;
  return { latDeg: Math.min(Math.floor(latDeg), 89), lonDeg: Math.floor(lon) };
}

/** The name of the tile with this south-west corner, as SRTM names it: `N47E019.hgt`. */
export function tileName({ latDeg, lonDeg }: { readonly latDeg: number; readonly lonDeg: number }): string {
  const digits = (value: number, count: number) => String(Math.abs(value)).padStart(count, '0');
  return `${latDeg < 0 ? 'S' : 'N'}${digits(latDeg, 2)}${lonDeg < 0 ? 'W' : 'E'}${digits(lonDeg, 3)}.hgt`;
}

/** The south-west corner that a tile's name says; null for any other name. */
export function cornerOf(name: string): { latDeg: number; lonDeg: number } | null {
  const match = /^([NS])(\d{2})([EW])(\d{3})\.hgt$/i.exec(name);
  if (!match) return null;
  const [ns, lat, ew, lon] = match.slice(1) as [string, string, string, string];
  const signed = (letter: string, digits: string) => (/[SW]/i.test(letter) ? -Number(digits) : Number(digits)) + 0;
  return { latDeg: signed(ns, lat), lonDeg: signed(ew, lon) };
}

/**
 * A tile from its bytes, which are kept and not copied; null when their number is that of no tile. Source: SRTM
 * documentation, from memory.
 */
export function decodeTile(bytes: Uint8Array, corner: { latDeg: number; lonDeg: number }): Tile | null {
  const size = SIZES.find((one) => one * one * 2 === bytes.length);
  if (size === undefined) return null;
  return { ...corner, size, posts: new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength) };
}

/** What is known of the ground at a place. */
export interface GroundAt {
  /** Between the four posts around it, m above the sea. */
  readonly groundM: number;
  /** The highest of the four, m. */
  readonly highestM: number;
}

/** The ground at a place of a tile; null where a post around it is void. Between posts it is linear both ways. */
export function groundIn(tile: Tile, { latDeg, lonDeg }: Position): GroundAt | null {
  const steps = tile.size - 1;
  const y = Math.min(Math.max((tile.latDeg + 1 - latDeg) * steps, 0), steps);
  const turned = ((((lonDeg - tile.lonDeg) % 360) + 540) % 360) - 180;
  const x = Math.min(Math.max(turned * steps, 0), steps);
  const row = Math.min(Math.floor(y), steps - 1);
  const column = Math.min(Math.floor(x), steps - 1);
  const post = (r: number, c: number) => tile.posts.getInt16((r * tile.size + c) * 2, false);
  const nw = post(row, column);
  const ne = post(row, column + 1);
  const sw = post(row + 1, column);
  const se = post(row + 1, column + 1);
  if (nw === VOID || ne === VOID || sw === VOID || se === VOID) return null;
  const right = x - column;
  const down = y - row;
  const north = nw + right * (ne - nw);
  const south = sw + right * (se - sw);
  return { groundM: north + down * (south - north), highestM: Math.max(nw, ne, sw, se) };
}

/** The ground under a point of a track; null where it is not known. */
export interface GroundPoint {
  readonly xM: number;
  readonly ground: GroundAt | null;
}

/** Metres on the ground to an arc second of latitude, at least. */
const ARC_SECOND_M = 30.7;
/** Between geodesic points this far apart, a track is straight in latitude and longitude to a decimetre, m. */
const STRAIGHT_M = 2000;

function between(from: Position, to: Position, share: number): Position {
  const turn = ((to.lonDeg - from.lonDeg + 540) % 360) - 180;
  return { latDeg: from.latDeg + share * (to.latDeg - from.latDeg), lonDeg: from.lonDeg + share * turn };
}

/**
 * The ground under a track, at most the distance between two posts apart (in any direction), both ends included.
 * `tileAt` gives the tile that holds a corner, or null where there is none.
 */
export function groundUnder(
  way: Track,
  tileAt: (corner: { latDeg: number; lonDeg: number }) => Tile | null,
): GroundPoint[] {
  const points: GroundPoint[] = [];
  const parts = Math.max(1, Math.ceil(way.distanceM / STRAIGHT_M));
  const length = way.distanceM / parts;
  let here = way.positionAt(0);
  let known: { latDeg: number; lonDeg: number; tile: Tile | null } | null = null;
  const at = (position: Position, xM: number): void => {
    const corner = tileCorner(position);
    if (known?.latDeg !== corner.latDeg || known.lonDeg !== corner.lonDeg) known = { ...corner, tile: tileAt(corner) };
    points.push({ xM, ground: known.tile && groundIn(known.tile, position) });
  };
  at(here, 0);
  for (let part = 0; part < parts; part += 1) {
    const there = way.positionAt((part + 1) * length);
    const fine = (known as { tile: Tile | null } | null)?.tile?.size === 3601;
    const shrink = Math.max(Math.cos((here.latDeg * Math.PI) / 180), 0.05);
    const steps = Math.max(1, Math.ceil(length / ((fine ? 1 : 3) * ARC_SECOND_M * shrink)));
    for (let i = 1; i <= steps; i += 1) at(between(here, there, i / steps), (part + i / steps) * length);
    here = there;
  }
  return points;
}

/** The corners of the tiles under a track and around its ends. */
export function cornersUnder(from: Position, to: Position): { latDeg: number; lonDeg: number }[] {
  const way = trackBetween(from, to);
  const found = new Map<string, { latDeg: number; lonDeg: number }>();
  // A corner of a tile may be cut between two looks, by less than a post's distance beyond what is asked of it.
  const steps = Math.max(1, Math.ceil(way.distanceM / STRAIGHT_M));
  let here = way.positionAt(0);
  for (let i = 0; i < steps; i += 1) {
    const there = way.positionAt(((i + 1) * way.distanceM) / steps);
    for (let share = 0; share <= 1; share += 1 / 64) {
      const corner = tileCorner(between(here, there, share));
      found.set(`${corner.latDeg} ${corner.lonDeg}`, corner);
    }
    here = there;
  }
  return [...found.values()];
}
