/** The picture of a task, made from what the plan knows of it. */
import { rangeAt } from '../../grammar/file.ts';
import type { Span } from '../../grammar/syntax.ts';
import type { Unit, UnitText } from '../../grammar/units.ts';
import { destination, type GlidePoint, glideBackward, glidePath } from '../flight/index.ts';
import { airspacesOf, NEAR_BESIDE_M } from './airspace.ts';
import { legCells } from './budget-rows.ts';
import { CAUTION, READING } from './caution.ts';
import { tooLow, unknownGround } from './ground.ts';
import type { Airspace, Field, Obstacle, Point, Turnpoint } from './meaning.ts';
import { type Around, aroundOf, plain, trackOf } from './picture-around.ts';
import type {
  Picture,
  PictureClimb,
  PictureField,
  PictureLeg,
  PictureLines,
  PictureObstacle,
  PicturePoint,
  PicturePosition,
  PictureReach,
  PictureSlice,
  PictureTurnpoint,
  PictureVolume,
} from './picture-data.ts';
import { placedEntry } from './places.ts';
import {
  altitudeAt,
  askedBy,
  fieldsInReachAt,
  finishInReachFrom,
  pathOf,
  stretchesWithoutField,
  worstPointOf,
} from './reach.ts';
import { altitudeText, type Show, show } from './show.ts';
import type { Seen } from './surroundings.ts';
import { climbsOf, type LegEvaluation, type TaskEvaluation } from './task.ts';
import { harmless } from './text.ts';
import type { Understood } from './understand.ts';
import type { Altitude } from './values.ts';
import type { Workspace } from './workspace.ts';

export type * from './picture-data.ts';

/** Of the fields that are neither named nor in reach at a worst point, so many of the nearest to the track. */
const MOST_FIELDS = 40;
/** A path is drawn by points this far apart, m; the same as of the path that everything else looks at. */
const STEP_M = 1000;
/** A required path that does not come out at the height asked within this is flown backward, m. */
const CLOSELY_M = 0.05;
/** Of a circle, so many points. */
const CIRCLE_POINTS = 72;

/** A picture without its lines, which move when text above them does. */
interface Drawn {
  readonly picture: Omit<Picture, 'lines' | 'start' | 'legs' | 'units' | 'uri'>;
  readonly legs: readonly DrawnLeg[];
}

type DrawnLeg = Omit<PictureLeg, 'lines' | 'climbs'> & {
  readonly climbs: readonly (Omit<PictureClimb, 'lines'> & { readonly span: Span })[];
};

/** By the units of the reader, as text. */
const kept = new WeakMap<TaskEvaluation, { readonly units: string; readonly drawn: Drawn }>();

/**
 * The picture of a task of an understood file. What did not change since the last time is not computed again. Never
 * throws; what is not known is null, and said.
 */
export function pictureOf(workspace: Workspace, understood: Understood, task: TaskEvaluation): Picture {
  const { units } = understood;
  const known = kept.get(task);
  const unitsText = Object.values(units)
    .map(({ text }) => text)
    .join(' ');
  const drawn = known?.units === unitsText ? known.drawn : draw(task, show(units));
  kept.set(task, { units: unitsText, drawn });
  const placed = placedEntry(workspace, { uri: task.uri, entry: task.entry, span: task.entry.span });
  const linesAt = (span: Span): PictureLines => {
    if (!placed) return { first: 0, last: 0 };
    const { start, end } = rangeAt(placed, span);
    return { first: start.line, last: end.line };
  };
  const { start } = task;
  const from = start?.point?.meaning;
  return {
    ...drawn.picture,
    uri: task.uri,
    lines: linesAt(task.entry.span),
    units: {
      altitude: textOf(units.altitude),
      distance: textOf(units.distance),
      speed: textOf(units.speed),
      climb: textOf(units.climb),
      mass: textOf(units.mass),
    },
    start:
      start && from?.position
        ? {
            name: from.name,
            position: plain(from.position),
            elevationM: from.elevationM ?? null,
            altitudeM: start.altitudeM ?? null,
            lines: linesAt(start.line.span),
          }
        : null,
    legs: drawn.legs.map((leg, i) => ({
      ...leg,
      lines: linesAt((task.legs[i] as LegEvaluation).line.span),
      climbs: leg.climbs.map(({ span, ...climb }) => ({ ...climb, lines: linesAt(span) })),
    })),
  };
}

/** The text by which a unit is found again. */
const textOf = ({ text }: Unit) => text as UnitText;

/**
 * The fields in reach from a place of a leg (by its number, from 1) at the height planned there; null for a leg that is
 * not flown to its end, and for a place that is not on it.
 */
export function reachAtPlace(task: TaskEvaluation, leg: number, xM: number): PictureReach | null {
  const one = task.legs.find(({ number }) => number === leg);
  const way = one?.input?.setting.track;
  if (!one || !way || !(xM >= 0 && xM <= way.distanceM)) return null;
  const found = fieldsInReachAt(one, task, xM);
  const altitudeM = altitudeAt(pathOf(one), xM);
  if (!found || altitudeM === undefined) return null;
  return {
    leg,
    xM,
    position: plain(way.positionAt(xM)),
    altitudeM,
    fields: found.map(({ field, spareM, distanceM }) => ({ name: field.meaning.name, spareM, distanceM })),
  };
}

function draw(task: TaskEvaluation, with_: Show): Drawn {
  const around = task.legs.map((leg) => aroundOf(leg, task));
  const airspaces = airspacesOf(task);
  const volumes = new Map<Seen<Airspace>, number>();
  for (const one of around)
    for (const { seen } of one?.volumes ?? []) if (!volumes.has(seen)) volumes.set(seen, volumes.size);

  const lowAt = new Set<Seen<Obstacle | Field | Turnpoint>['meaning']>();
  const legs: DrawnLeg[] = [];
  let startM: number | null = 0;
  for (const [i, leg] of task.legs.entries()) {
    const made: DrawnLeg = drawLeg(leg, task, around[i], { volumes, startM, lowAt, with_ });
    startM = startM === null || made.distanceM === null ? null : startM + made.distanceM;
    legs.push(made);
  }

  let least: Picture['least'] = null;
  for (const { number, marginM } of legs)
    if (marginM !== null && (!least || marginM < least.marginM)) least = { leg: number, marginM };
  const notDrawn: string[] = [];
  const { fields, left } = fieldsOf(task, around);
  if (left > 0)
    notDrawn.push(
      left === 1
        ? 'One more field near the track is not drawn: it is neither named nor in reach where the least are.'
        : `${left} more fields near the track are not drawn: they are neither named nor in reach where the least are.`,
    );
  for (const { meaning } of task.surroundings.unreadFields)
    if (!meaning.position || meaning.elevationM === undefined)
      notDrawn.push(`The field ${meaning.name} is not drawn: its position or elevation is not known.`);
  for (const { meaning } of airspaces.unread)
    notDrawn.push(`The airspace ${meaning.name} is not drawn: its outline or a limit cannot be read.`);
  const picture: Drawn['picture'] = {
    task: task.task.name,
    aircraft: task.aircraft?.meaning.name ?? null,
    least,
    fields,
    turnpoints: turnpointsOf(task, around),
    obstacles: obstaclesOf(around, lowAt),
    volumes: [...volumes.keys()].map((seen) => volumeOf(seen, task, with_)),
    notDrawn,
    wind: task.windLayers.map(({ altitudeM, fromDeg, speedMps }) => ({ altitudeM, fromDeg, speedMps })),
    groundKnown:
      task.surroundings.terrain !== undefined &&
      task.legs.some(({ input }) => input !== undefined) &&
      unknownGround(task) === undefined,
    caution: `${CAUTION} ${READING}`,
  };
  return { picture, legs };
}

/** Why a leg has no budget, in words; null where it has one. */
function whyNot({ result, cause }: LegEvaluation, with_: Show): string | null {
  if (result?.problem) {
    const where = result.atM < 1 ? 'from its start' : `${with_.distance(result.atM)} on`;
    return `it makes no headway ${where}`;
  }
  return result ? null : (cause?.text ?? 'a fact that it needs is missing');
}

interface Among {
  readonly volumes: ReadonlyMap<Seen<Airspace>, number>;
  readonly startM: number | null;
  /** What some leg passes too low; each leg adds its own. */
  readonly lowAt: Set<Obstacle | Field | Turnpoint>;
  readonly with_: Show;
}

function drawLeg(leg: LegEvaluation, task: TaskEvaluation, around: Around | undefined, among: Among): DrawnLeg {
  const { result } = leg;
  const flown = result?.problem === null ? result : undefined;
  const way = trackOf(leg);
  const low = tooLow(leg, task);
  const own = new Set<unknown>(low.map(({ over }) => (over === 'ground' ? over : over.meaning)));
  for (const { over } of low) if (over !== 'ground') among.lowAt.add(over.meaning);
  const ground = low.find(({ over }) => over === 'ground');
  const path = pathOf(leg).map(point);
  return {
    number: leg.number,
    kind: leg.kind,
    from: leg.fromName,
    to: leg.toName,
    startM: among.startM,
    distanceM: result?.distanceM ?? way?.distanceM ?? null,
    courseDeg: result?.courseDeg ?? way?.initialCourseDeg ?? null,
    variationDeg: leg.variationDeg ?? null,
    track: around?.track ?? [],
    path,
    required: requiredPath(leg),
    departAltitudeM: result?.departAltitudeM ?? null,
    departAssumed: leg.departAssumed,
    requiredDepartAltitudeM: result?.requiredDepartAltitudeM ?? null,
    arriveAltitudeM: flown?.arriveAltitudeM ?? null,
    arriveHeightM: flown?.arriveHeightM ?? null,
    askedAltitudeM: result?.askedAltitudeM ?? null,
    marginM: flown?.marginM ?? null,
    timeS: flown?.timeS ?? null,
    indicatedMps: result?.indicatedMps ?? null,
    destinationElevationM: leg.to?.meaning.elevationM ?? null,
    reachesGroundAfterM: flown?.reachesGroundAfterM ?? null,
    noHeadwayAfterM: result?.problem ? result.atM : null,
    notComputed: whyNot(leg, among.with_),
    cells: legCells(leg, among.with_).map(harmless),
    climbs: climbsOf(leg)
      .filter(({ beyondLeg, goesDown }) => !beyondLeg && !goesDown)
      .map((climb) => ({
        xM: climb.afterM ?? 0,
        fromAltitudeM: climb.fromAltitudeM ?? null,
        toAltitudeM: climb.toAltitudeM,
        soared: leg.soar?.climbs.includes(climb) ?? false,
        span: climb.line.span,
      })),
    ground: around?.ground ?? [],
    lowGround: ground
      ? {
          fromM: ground.span.fromM,
          toM: ground.span.toM,
          xM: ground.xM,
          altitudeM: ground.altitudeM,
          topM: ground.topM,
        }
      : null,
    solids: (around?.solids ?? [])
      .filter(({ seen }) => seen.meaning !== leg.from?.meaning && seen.meaning !== leg.to?.meaning)
      .map(({ seen, solid }) => ({ ...solid, tooLow: own.has(seen.meaning) })),
    slices: slicesOf(leg, task, around, among.volumes),
    stretchesWithoutField: (stretchesWithoutField(leg, task) ?? []).map(({ fromM, toM }) => ({ fromM, toM })),
    finishInReachAfterM: finishInReachFrom(leg, task) ?? null,
  };
}

const point = ({ xM, altitudeM }: GlidePoint): PicturePoint => ({ xM, altitudeM });

const requiredKept = new WeakMap<LegEvaluation, readonly PicturePoint[]>();

/** The lowest path behind the last climb of a leg that arrives with what is asked, by the model of the glide. */
function requiredPath(leg: LegEvaluation): readonly PicturePoint[] {
  let path = requiredKept.get(leg);
  if (!path) {
    path = makeRequired(leg);
    requiredKept.set(leg, path);
  }
  return path;
}

function makeRequired({ input, result }: LegEvaluation): PicturePoint[] {
  const required = result?.requiredDepartAltitudeM;
  if (!input || !result || required === null || required === undefined) return [];
  const { setting } = input;
  const { distanceM, askedAltitudeM, indicatedMps } = result;
  const fromM = result.climbs.at(-1)?.afterM ?? 0;
  // The glide from the height required is the one that arrives with what is asked.
  const forward = glidePath({ ...setting, maxStepM: STEP_M }, indicatedMps, fromM, distanceM, required).map(point);
  const last = forward.at(-1);
  if (last?.xM === distanceM && Math.abs(last.altitudeM - askedAltitudeM) < CLOSELY_M) {
    forward[forward.length - 1] = { xM: distanceM, altitudeM: askedAltitudeM };
    return forward;
  }
  const steps = Math.max(1, Math.ceil((distanceM - fromM) / STEP_M));
  const backward: PicturePoint[] = [{ xM: distanceM, altitudeM: askedAltitudeM }];
  for (let i = steps - 1; i > 0; i -= 1) {
    const behind = backward[0] as PicturePoint;
    const xM = fromM + (i * (distanceM - fromM)) / steps;
    const glide = glideBackward(setting, indicatedMps, xM, behind.xM, behind.altitudeM);
    if (glide.problem) return backward;
    backward.unshift({ xM, altitudeM: glide.altitudeM });
  }
  return [{ xM: fromM, altitudeM: required }, ...backward];
}

function slicesOf(
  leg: LegEvaluation,
  task: TaskEvaluation,
  around: Around | undefined,
  volumes: Among['volumes'],
): PictureSlice[] {
  const { all } = airspacesOf(task);
  return (around?.volumes ?? []).flatMap(({ seen, slices }) => {
    const volume = volumes.get(seen);
    if (volume === undefined) return [];
    const own = all.filter((one) => one.leg === leg && one.airspace.meaning === seen.meaning);
    return slices.map((slice): PictureSlice => {
      const { fromM, toM, floor, ceiling } = slice;
      // Where a path is nearest may lie a little before a slice or behind it.
      const here = own.filter(({ kind, span, parts }) => {
        const besideM = kind === 'near' ? NEAR_BESIDE_M : 0;
        return (parts.length > 0 ? parts : [span]).some(
          (part) => part.toM >= fromM - besideM && part.fromM <= toM + besideM,
        );
      });
      const met = here.some(({ kind }) => kind === 'enters') ? 'enters' : here.length > 0 ? 'near' : null;
      return { volume, fromM, toM, floor, ceiling, met };
    });
  });
}

/** The points that a task names. */
function namedIn(task: TaskEvaluation): Set<Point> {
  const named = new Set<Point>();
  for (const point_ of [task.start?.point, ...task.legs.flatMap(({ from, to }) => [from, to])])
    if (point_) named.add(point_.meaning);
  return named;
}

function fieldsOf(
  task: TaskEvaluation,
  around: readonly (Around | undefined)[],
): { fields: PictureField[]; left: number } {
  const named = namedIn(task);
  const chosen = new Set<Field>();
  for (const point_ of named) if (point_.kind === 'field') chosen.add(point_);
  for (const leg of task.legs)
    for (const { field } of worstPointOf(leg, task)?.inReach ?? []) chosen.add(field.meaning);
  const beside = new Map<Field, number>();
  for (const one of around)
    for (const { seen, besideM } of one?.fields ?? [])
      beside.set(seen.meaning, Math.min(besideM, beside.get(seen.meaning) ?? Infinity));
  const others = [...beside].filter(([field]) => !chosen.has(field)).sort(([, one], [, other]) => one - other);
  for (const [field] of others.slice(0, MOST_FIELDS)) chosen.add(field);
  const unread = new Set(task.surroundings.unreadFields.map(({ meaning }) => meaning));
  const fields = [...chosen].flatMap((field): PictureField[] => {
    const { name, position, elevationM, runways, frequencies } = field;
    if (!position) return [];
    return [
      {
        name,
        position: plain(position),
        elevationM: elevationM ?? null,
        askedAltitudeM: unread.has(field) ? null : (askedBy(field, task) ?? null),
        runways: runways.map(({ text }) => text),
        frequency: frequencies[0]?.text ?? null,
        named: named.has(field),
      },
    ];
  });
  return { fields, left: Math.max(0, others.length - MOST_FIELDS) };
}

function turnpointsOf(task: TaskEvaluation, around: readonly (Around | undefined)[]): PictureTurnpoint[] {
  const named = namedIn(task);
  const chosen = new Set<Turnpoint>();
  for (const point_ of named) if (point_.kind === 'turnpoint') chosen.add(point_);
  for (const one of around)
    for (const { seen } of one?.solids ?? []) if (seen.meaning.kind === 'turnpoint') chosen.add(seen.meaning);
  return [...chosen].flatMap((turnpoint): PictureTurnpoint[] => {
    const { name, position, radiusM } = turnpoint;
    return position ? [{ name, position: plain(position), radiusM: radiusM ?? null, named: named.has(turnpoint) }] : [];
  });
}

function obstaclesOf(around: readonly (Around | undefined)[], lowAt: ReadonlySet<unknown>): PictureObstacle[] {
  const found = new Map<Obstacle, PictureObstacle>();
  for (const one of around)
    for (const { seen, solid } of one?.solids ?? []) {
      const { meaning } = seen;
      if (meaning.kind !== 'obstacle' || !meaning.position) continue;
      const { name, position, radiusM } = meaning;
      found.set(meaning, {
        name,
        position: plain(position),
        topM: solid.topM,
        radiusM: radiusM ?? null,
        tooLow: lowAt.has(meaning),
      });
    }
  return [...found.values()];
}

function limitText(limit: Altitude | undefined, with_: Show): string {
  if (!limit) return '?';
  return limit.kind === 'agl' && limit.metres <= 0 ? 'surface' : altitudeText(limit, with_);
}

const outlines = new WeakMap<Airspace, readonly PicturePosition[]>();

function outlineOf(airspace: Airspace): readonly PicturePosition[] {
  let outline = outlines.get(airspace);
  if (!outline) {
    const { circle, edge } = airspace;
    outline = circle
      ? Array.from({ length: CIRCLE_POINTS }, (_, i) =>
          plain(destination(circle.centre, (i * 360) / CIRCLE_POINTS, circle.radiusM)),
        )
      : edge.map(plain);
    outlines.set(airspace, outline);
  }
  return outline;
}

function volumeOf({ meaning }: Seen<Airspace>, task: TaskEvaluation, with_: Show): PictureVolume {
  const { name, circle, floor, ceiling } = meaning;
  const met = airspacesOf(task).met.filter(({ airspace }) => airspace.meaning === meaning);
  return {
    name,
    outline: outlineOf(meaning),
    circle: circle ? { centre: plain(circle.centre), radiusM: circle.radiusM } : null,
    floor: limitText(floor?.value, with_),
    ceiling: limitText(ceiling?.value, with_),
    met: met.some(({ kind }) => kind === 'enters') ? 'enters' : met.length > 0 ? 'near' : null,
  };
}
