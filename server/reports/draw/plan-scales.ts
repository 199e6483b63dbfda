/**
 * Where things stand in the plan view: north up, distances and directions from the middle of the task true (azimuthal
 * equidistant), on the plane that touches the ellipsoid there.
 */
import { dot, type Frame, frameAt, inSpace } from '../../flight/space.ts';
import type { Picture, PicturePosition, PictureReach } from '../../plan/picture.ts';
import { type DrawOptions, keyMore, penOf, widthOf, wrapped } from './ink.ts';
import type { Box } from './labels.ts';
import type { At } from './svg.ts';
import { showOf } from './units.ts';

export interface PlanOptions extends DrawOptions {
  /** The fields in reach from the place that is marked. */
  readonly place?: PictureReach | null;
  /** Whether the wind stands over it; it does unless said otherwise. */
  readonly winds?: boolean;
  /** How much larger than the whole task; 1 unless said otherwise. */
  readonly zoom?: number;
  /** The middle of the drawing; the task's own unless said otherwise. */
  readonly centre?: PicturePosition;
}

/** A place in metres east and north of the middle. */
export interface Flat {
  readonly east: number;
  readonly north: number;
}

export interface PlanScales {
  readonly frame: Box;
  readonly middle: PicturePosition;
  readonly metresPerPx: number;
  /** How much higher the key is than one of a single row, px. */
  readonly keyMore: number;
  readonly notes: readonly string[];
  /** The wind in words over the frame, from the highest on; `fromDeg` where an arrow stands before it. */
  readonly winds: readonly {
    readonly said: string;
    readonly fromDeg: number | null;
    readonly x: number;
    readonly y: number;
  }[];
  flat(position: PicturePosition): Flat;
  point(position: PicturePosition): At;
  /** The position of a place of the drawing, to a metre within a few hundred kilometres. */
  position(at: At): PicturePosition;
  /** The place of a leg nearest to a px, within `withinPx`; null where none is. */
  at(at: At, withinPx?: number): { readonly leg: number; readonly xM: number } | null;
}

export type PlanKey = 'field' | 'reach' | 'turnpoint' | 'obstacle' | 'caret' | 'airspace' | 'enters';

const KEY_WORDS: Readonly<Record<PlanKey, string>> = {
  caret: 'place marked',
  reach: 'field in reach from there',
  field: 'field',
  turnpoint: 'turnpoint',
  obstacle: 'obstacle',
  airspace: 'airspace',
  enters: 'airspace entered',
};

/** What the signs mean, in the order of the key. */
export const PLAN_KEY = { words: KEY_WORDS, wide: 1.4 } as const;

/**
 * Every entry that a drawing of a picture may come to need. Where a place may be marked there is room for its entries,
 * marked or not: nothing moves when it is.
 */
function mayHave({ fields, turnpoints, obstacles, volumes }: Picture, { place }: PlanOptions): Set<PlanKey> {
  const needs: Readonly<Record<PlanKey, boolean>> = {
    caret: place !== undefined,
    reach: place !== undefined && fields.length > 0,
    field: fields.length > 0,
    turnpoint: turnpoints.length > 0,
    obstacle: obstacles.length > 0,
    airspace: volumes.some(({ met }) => met !== 'enters'),
    enters: volumes.some(({ met }) => met === 'enters'),
  };
  return new Set((Object.keys(needs) as PlanKey[]).filter((entry) => needs[entry]));
}

const RADIANS = Math.PI / 180;
const A = 6_378_137;
const E2 = 0.00669437999014;

/** Azimuthal equidistant about a place: the way along the ground is that of a sphere as round as the ellipsoid there. */
export function projectionAbout(middle: PicturePosition): (position: PicturePosition) => Flat {
  const frame: Frame = frameAt(middle);
  const sin = Math.sin(middle.latDeg * RADIANS);
  const cos = Math.cos(middle.latDeg * RADIANS);
  const w = 1 - E2 * sin * sin;
  const meridianM = (A * (1 - E2)) / w ** 1.5;
  const acrossM = A / Math.sqrt(w);
  const up = { x: cos * Math.cos(middle.lonDeg * RADIANS), y: cos * Math.sin(middle.lonDeg * RADIANS), z: sin };
  return (position) => {
    const at = inSpace(position);
    const d = { x: at.x - frame.at.x, y: at.y - frame.at.y, z: at.z - frame.at.z };
    const east = dot(d, frame.east);
    const north = dot(d, frame.north);
    const flat = Math.hypot(east, north);
    const chord = Math.hypot(flat, dot(d, up));
    if (flat === 0) return { east: 0, north: 0 };
    // Euler's radius of curvature in that direction.
    const radius = 1 / ((north / flat) ** 2 / meridianM + (east / flat) ** 2 / acrossM);
    const arc = 2 * radius * Math.asin(Math.min(chord / (2 * radius), 1));
    return { east: (east / flat) * arc, north: (north / flat) * arc };
  };
}

/** The task's own places: what has to be seen. */
function ownPlaces(picture: Picture): PicturePosition[] {
  const own = picture.legs.flatMap(({ track }) => track);
  if (picture.start) own.push(picture.start.position);
  for (const { named, position } of [...picture.fields, ...picture.turnpoints]) if (named) own.push(position);
  return own;
}

/** The middle between the outermost of places, over the antimeridian too. */
function middleOf(places: readonly PicturePosition[]): PicturePosition {
  const [first] = places;
  if (!first) return { latDeg: 0, lonDeg: 0 };
  const turned = places.map(({ lonDeg }) => ((((lonDeg - first.lonDeg) % 360) + 540) % 360) - 180);
  const lats = places.map(({ latDeg }) => latDeg);
  const lon = first.lonDeg + (Math.min(...turned) + Math.max(...turned)) / 2;
  return {
    latDeg: (Math.min(...lats) + Math.max(...lats)) / 2,
    lonDeg: ((((lon + 180) % 360) + 360) % 360) - 180,
  };
}

/** No drawing shows less of the country than this across, m, unless it is asked to. */
const LEAST_ACROSS_M = 6000;
const MOST_ZOOM = 200;

/** The words below a plan view. */
function notesOf(picture: Picture): string[] {
  const notes = [...picture.notDrawn];
  const unplaced = picture.legs.filter(({ track }) => track.length === 0).map(({ number }) => number);
  if (unplaced.length > 0)
    notes.push(
      `${unplaced.length === 1 ? 'leg' : 'legs'} ${unplaced.join(', ')} not drawn: the position of an end is not known`,
    );
  if (picture.legs.length === 0) notes.push('the task has no legs');
  return notes;
}

/** The wind in rows as wide as the drawing. */
function windsOf(picture: Picture, width: number, size: number, small: number): PlanScales['winds'] {
  const with_ = showOf(picture);
  const layers = picture.wind.toSorted((one, other) => other.altitudeM - one.altitudeM);
  const parts: { said: string; fromDeg: number | null }[] = [
    { said: layers.length === 0 ? 'no wind given' : 'wind', fromDeg: null },
    ...layers.map(({ altitudeM, fromDeg, speedMps }) => ({
      said: `${with_.course(fromDeg)}/${with_.speed(speedMps)} at ${with_.altitude(altitudeM)}`,
      fromDeg: speedMps === 0 ? null : fromDeg,
    })),
  ];
  let x = size * 0.4;
  let y = size * 1.1;
  return parts.map(({ said, fromDeg }) => {
    const wide = widthOf(said, small) + (fromDeg === null ? 0 : size * 1.4) + size * 0.8;
    if (x + wide > width && x > size) {
      x = size * 0.4;
      y += size * 1.4;
    }
    const at = { said, fromDeg, x, y };
    x += wide;
    return at;
  });
}

/** The scales of a plan view: the same for the same picture and options. */
export function planScales(picture: Picture, options: PlanOptions): PlanScales {
  const { size, letters } = penOf(options);
  const small = letters(0.92);
  const own = ownPlaces(picture);
  const middle = middleOf(own);
  const flat = projectionAbout(middle);
  const notes = notesOf(picture).flatMap((note) => wrapped(note, options.width - size, small));
  const more = options.bare ? 0 : keyMore({ ...PLAN_KEY, used: mayHave(picture, options) }, options.width, size);
  const below = options.bare ? (notes.length > 0 ? size * 0.7 : 0.5) : size * 2 + more;
  const bottom = below + notes.length * small * 1.3;
  const winds = options.winds === false ? [] : windsOf(picture, options.width, size, small);
  const top = winds.length === 0 ? 0.5 : (winds.at(-1)?.y ?? 0) + size * 0.5;
  const frame = {
    x: 0.5,
    y: top,
    width: Math.max(options.width - 1, 10),
    height: Math.max(options.height - 0.5 - top - bottom, 10),
  };
  const inner = {
    width: Math.max(frame.width - size * 9, frame.width * 0.5),
    height: Math.max(frame.height - size * 6, frame.height * 0.5),
  };
  const places = own.map(flat);
  const spread = (of: (place: Flat) => number): { mid: number; across: number } => {
    if (places.length === 0) return { mid: 0, across: 0 };
    const all = places.map(of);
    const low = Math.min(...all);
    const high = Math.max(...all);
    return { mid: (low + high) / 2, across: high - low };
  };
  const east = spread((place) => place.east);
  const north = spread((place) => place.north);
  const whole = Math.max(east.across / inner.width, north.across / inner.height, LEAST_ACROSS_M / inner.width);
  const zoom = Math.min(Math.max(options.zoom ?? 1, 0.05), MOST_ZOOM);
  const metresPerPx = whole / (Number.isFinite(zoom) ? zoom : 1);
  const centre = options.centre ? flat(options.centre) : { east: east.mid, north: north.mid };
  const x0 = frame.x + frame.width / 2;
  const y0 = frame.y + frame.height / 2;
  const put = (place: Flat): At => ({
    x: x0 + (place.east - centre.east) / metresPerPx,
    y: y0 - (place.north - centre.north) / metresPerPx,
  });
  const point = (position: PicturePosition): At => put(flat(position));
  return {
    frame,
    middle,
    metresPerPx,
    keyMore: more,
    notes,
    winds,
    flat,
    point,
    position: ({ x, y }) => {
      const wanted = { east: centre.east + (x - x0) * metresPerPx, north: centre.north - (y - y0) * metresPerPx };
      // From a guess, by what it is off: each turn leaves a small share of the error.
      let found = middle;
      for (let i = 0; i < 12; i += 1) {
        const here = flat(found);
        const latDeg = Math.min(Math.max(found.latDeg + (wanted.north - here.north) / 111_200, -90), 90);
        const cos = Math.max(Math.cos(found.latDeg * RADIANS), 1e-3);
        const lon = found.lonDeg + (wanted.east - here.east) / (111_320 * cos);
        found = { latDeg, lonDeg: ((((lon + 180) % 360) + 360) % 360) - 180 };
      }
      return found;
    },
    at: (at, withinPx = 12) => {
      let best: { leg: number; xM: number } | null = null;
      let least = withinPx;
      for (const leg of picture.legs) {
        if (leg.distanceM === null) continue;
        const points = leg.track.map(point);
        for (const [i, b] of points.entries()) {
          const a = points[i - 1];
          if (!a) continue;
          const dx = b.x - a.x;
          const dy = b.y - a.y;
          const square = dx * dx + dy * dy;
          const t = square > 0 ? Math.min(Math.max(((at.x - a.x) * dx + (at.y - a.y) * dy) / square, 0), 1) : 0;
          const away = Math.hypot(a.x + t * dx - at.x, a.y + t * dy - at.y);
          if (away > least) continue;
          least = away;
          best = { leg: leg.number, xM: ((i - 1 + t) / (points.length - 1)) * leg.distanceM };
        }
      }
      return best;
    },
  };
}
