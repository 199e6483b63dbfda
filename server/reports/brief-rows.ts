/** The tables of a sheet: legs, last glide, speeds and wind. */
import { fromSi, type Unit } from '../../grammar/units.ts';
import { courseText, marginText, wholeHeights } from '../plan/budget-rows.ts';
import { clockOf } from '../plan/clock.ts';
import { number, type Rounding, type Show, timeOfDay } from '../plan/show.ts';
import { climbsOf, type LegEvaluation, type TaskEvaluation } from '../plan/task.ts';
import { type BriefCell, type BriefRow, type BriefTable, type BriefText, plainText } from './brief-cells.ts';
import type { LastGlide } from './brief-glide.ts';
import { count } from './plain.ts';

export const DASH = '–';

const cell = (main: BriefText | string, ...under: (BriefText | string)[]): BriefCell => ({
  main: typeof main === 'string' ? plainText(main) : main,
  under: under.map((one) => (typeof one === 'string' ? plainText(one) : one)),
});

const row = (...cells: BriefCell[]): BriefRow => ({ cells, notes: [] });

/** A value in whole or tenths of its unit, the unit itself standing in the head of the column. */
function figure(
  si: number | null | undefined,
  unit: Unit,
  decimals: number,
  rounding: Rounding,
  before = '',
  after = '',
) {
  if (si === null || si === undefined) return plainText(DASH);
  return { text: `${before}${number(fromSi(si, unit), decimals, rounding)}${after}`, si };
}

const height = (si: number | null | undefined, with_: Show, rounding: Rounding, before = '', after = '') =>
  figure(si, with_.units.altitude, 0, rounding, before, after);

/** Speeds without their unit, rounded as everywhere. */
function speed(si: number | null | undefined, with_: Show, rounding: Rounding = 'nearest'): BriefText {
  return figure(si, with_.units.speed, with_.units.speed.text === 'm/s' ? 1 : 0, rounding);
}

/** `023° T` over `017° M`; the second only where the variation is known. */
function courseCell(leg: LegEvaluation, with_: Show): BriefCell {
  const si = leg.result?.courseDeg ?? null;
  const [trueCourse, magnetic] = courseText(leg, with_).split(' / ') as [string, string | undefined];
  if (si === null) return cell(trueCourse);
  const under =
    magnetic && leg.variationDeg !== undefined
      ? [{ text: magnetic.replace('M', ' M'), si: si - leg.variationDeg }]
      : [];
  return { main: { text: `${trueCourse} T`, si }, under };
}

/** The climbs of a leg before its glide; those that soaring makes are counted. */
function climbTexts(leg: LegEvaluation, with_: Show): BriefText[] {
  const { soar } = leg;
  const climbs = climbsOf(leg).filter((climb) => !climb.goesDown && !climb.beyondLeg && !soar?.climbs.includes(climb));
  const lines = climbs.map(({ afterM, toAltitudeM }): BriefText => {
    const where = afterM === undefined ? 'first' : `after ${with_.distance(afterM)}`;
    return { text: `climb ${where} to ${with_.altitude(toAltitudeM, 'down')}`, si: toAltitudeM };
  });
  const last = soar?.climbs.at(-1);
  if (soar && last?.afterM === undefined) lines.push(plainText('no climb on the way'));
  else if (soar && last?.afterM !== undefined)
    lines.push({
      text: `${count(soar.climbs.length, 'climb')}, the last to ${with_.altitude(last.toAltitudeM, 'down')}`,
      si: last.toAltitudeM,
    });
  return lines;
}

function troubles(leg: LegEvaluation, with_: Show): BriefText[] {
  const { result, cause } = leg;
  if (!result) return [plainText(`not computed${cause ? `: ${cause.text}` : ''}`)];
  if (result.problem) return [plainText(`makes no headway at ${with_.speed(result.indicatedMps)}`)];
  if (result.reachesGroundAfterM === null) return [];
  return [
    {
      text: `does not get there: down to the height of ${leg.toName} after ${with_.distance(result.reachesGroundAfterM)}`,
      si: result.reachesGroundAfterM,
    },
  ];
}

function speedKind(leg: LegEvaluation, with_: Show): string {
  const flown = leg.input?.speed;
  if (flown?.kind === 'bestGlide') return 'best glide';
  if (flown?.kind === 'maccready') return `for ${with_.climb(flown.climbMps)} lift`;
  return '';
}

/** Where a leg is left: what is required, and what is planned. */
function leaveCell(leg: LegEvaluation, with_: Show): BriefCell {
  const { result } = leg;
  if (!result) return { ...cell(DASH), strong: true };
  const last = result.climbs.at(-1);
  const required = result.requiredDepartAltitudeM;
  const planned = last ? last.toAltitudeM : result.departAltitudeM;
  return {
    main: required === null ? plainText('no height') : height(required, with_, 'up'),
    under: [
      height(planned, with_, 'down', leg.departAssumed ? 'assumed ' : 'planned '),
      ...(last ? [{ text: `after ${with_.distance(last.afterM)}`, si: last.afterM }] : []),
    ],
    strong: true,
  };
}

function legRow(leg: LegEvaluation, task: TaskEvaluation, with_: Show): BriefRow {
  const { result, input } = leg;
  const flown = result?.problem === null ? result : undefined;
  const heights = wholeHeights(leg, with_);
  const notes = leg.to?.meaning.kind === 'turnpoint' ? leg.to.meaning.notes : [];
  const elapsed = clockOf(task).legs.get(leg);
  const { takeoff } = task.task;
  const kind = speedKind(leg, with_);
  const asked = input ? input.destination.reserveM + input.destination.altimeterM : null;
  const climbs = climbTexts(leg, with_);
  const cells = [
    cell(`${leg.number} ${leg.toName || '?'}`, ...climbs.slice(0, 1)),
    courseCell(leg, with_),
    cell(figure(result?.distanceM, with_.units.distance, 1, 'nearest')),
    cell(speed(result?.indicatedMps, with_), ...(kind ? [kind] : [])),
    leaveCell(leg, with_),
    cell(
      height(flown?.arriveAltitudeM, with_, 'down'),
      ...(flown ? [height(flown.arriveHeightM, with_, 'down', '', ' over it')] : []),
    ),
    cell(
      heights && flown
        ? { text: marginText(leg, with_).replace(` ${with_.units.altitude.text}`, ''), si: flown.marginM }
        : DASH,
      ...(asked === null ? [] : [height(asked, with_, 'up', 'asked ')]),
    ),
    takeoff && elapsed !== undefined && flown
      ? cell(
          { text: timeOfDay(takeoff.utcS + elapsed, takeoff.zoneMinutes), si: takeoff.utcS + elapsed },
          { text: with_.duration(flown.timeS), si: flown.timeS },
        )
      : cell(flown ? { text: with_.duration(flown.timeS), si: flown.timeS } : DASH),
  ];
  return { cells, notes: [...troubles(leg, with_), ...climbs.slice(1), ...notes.map(plainText)] };
}

export function legRows(task: TaskEvaluation, with_: Show): BriefTable {
  const { altitude, distance, speed: speedUnit } = with_.units;
  const timed = task.legs.some((leg) => clockOf(task).legs.get(leg) !== undefined) && task.task.takeoff;
  return {
    title: 'Legs',
    heads: [
      { text: 'leg to', unit: '', words: true },
      { text: 'course', unit: '' },
      { text: 'distance', unit: distance.text },
      { text: 'fly', unit: `${speedUnit.text} IAS` },
      { text: 'leave at least', unit: `${altitude.text} MSL` },
      { text: 'arrive with', unit: `${altitude.text} MSL` },
      { text: 'margin', unit: altitude.text },
      { text: timed ? 'over at' : 'time', unit: '' },
    ],
    rows: task.legs.map((leg) => legRow(leg, task, with_)),
    notes: [
      ...(task.start?.altitudeM === undefined
        ? []
        : [`Start over ${task.start.point?.meaning.name ?? '?'} at ${with_.altitude(task.start.altitudeM, 'down')}.`]),
      ...(task.legs.some(({ departAssumed }) => departAssumed)
        ? ['Assumed: the leg before does not get there, and this one starts at the height asked there.']
        : []),
    ],
  };
}

/** Decimals that a round distance needs. */
const decimalsOf = (value: number) => (Math.abs(value - Math.round(value)) < 1e-6 ? 0 : 1);

/** Heights at each distance to go: one row a distance, the farthest first. */
export function glideRows(glide: LastGlide, with_: Show): BriefTable {
  const { altitude, distance } = with_.units;
  const speeds = glide.legs.flatMap(({ result, fromName }) =>
    result ? [`${with_.speed(result.indicatedMps)} from ${fromName}`] : [],
  );
  const [only] = glide.legs;
  const flown = speeds.length === 1 && only?.result ? with_.speed(only.result.indicatedMps) : speeds.join(', ');
  return {
    title: `Last glide to ${glide.to}, at ${flown}`,
    heads: [
      { text: 'to go', unit: distance.text },
      { text: 'at least', unit: `${altitude.text} MSL` },
    ],
    rows: glide.heights.map(({ toGoM, requiredM, over }, i) => {
      const toGo = fromSi(toGoM, distance);
      const point = over !== undefined;
      const first = i === 0 && !point ? ['last climb'] : [];
      return row(
        cell(
          { text: number(toGo, point || first.length > 0 ? (toGoM === 0 ? 0 : 1) : decimalsOf(toGo)), si: toGoM },
          ...(over === undefined ? first : [over || '?']),
        ),
        { ...cell(height(requiredM, with_, 'up')), strong: true },
      );
    }),
    notes:
      glide.noHeadwayFromM === null
        ? []
        : [
            `Farther out than ${with_.distance(glide.noHeadwayFromM)} no height is enough at this speed: the glider makes no headway.`,
          ],
  };
}

/** The speeds that matter on each leg that is computed; null where none is. */
export function speedRows(task: TaskEvaluation, with_: Show): BriefTable | null {
  const rows = task.legs.flatMap((leg) => {
    const { result } = leg;
    if (!result) return [];
    const flown = result.problem === null ? result : undefined;
    const head = flown?.meanHeadwindMps ?? 0;
    return [
      row(
        cell(`${leg.number} ${leg.toName || '?'}`),
        cell(speed(result.bestGlideIndicatedMps, with_)),
        cell(result.fastestIndicatedMps === null ? 'none' : speed(result.fastestIndicatedMps, with_, 'down')),
        cell(speed(flown?.meanGroundSpeedMps, with_)),
        flown
          ? cell({ text: `${head >= 0 ? 'head' : 'tail'} ${speed(Math.abs(head), with_).text}`, si: head })
          : cell(DASH),
        cell(
          flown?.glideRatioOverGround
            ? { text: with_.ratio(flown.glideRatioOverGround), si: flown.glideRatioOverGround }
            : DASH,
        ),
      ),
    ];
  });
  if (rows.length === 0) return null;
  const unit = with_.units.speed.text;
  return {
    title: 'Speeds',
    heads: [
      { text: 'leg to', unit: '', words: true },
      { text: 'best glide', unit: `${unit} IAS` },
      { text: 'fastest', unit: `${unit} IAS` },
      { text: 'over ground', unit },
      { text: 'wind', unit },
      { text: 'glide', unit: '' },
    ],
    rows,
    notes: limitsText(task, with_),
  };
}

function limitsText(task: TaskEvaluation, with_: Show): string[] {
  const { vsMps, vaMps, vnoMps, vneMps } = task.aircraft?.meaning ?? {};
  const limits = Object.entries({ vs: vsMps, va: vaMps, vno: vnoMps, vne: vneMps }).flatMap(([name, limit]) =>
    limit ? [`${name} ${with_.speed(limit.value, name === 'vs' ? 'up' : 'down')}`] : [],
  );
  return limits.length === 0 ? [] : [`${limits.join(', ')}.`];
}

/** The wind as it was taken, from the lowest height up; null without one. */
export function windRows(task: TaskEvaluation, with_: Show): BriefTable | null {
  // Where no leg is computed it may be a part of what is written.
  if (task.windLayers.length === 0 || !task.legs.some(({ result }) => result)) return null;
  const { altitude, speed: speedUnit } = with_.units;
  return {
    title: 'Wind',
    heads: [
      { text: 'height', unit: `${altitude.text} MSL` },
      { text: 'from', unit: '' },
      { text: 'speed', unit: speedUnit.text },
    ],
    rows: task.windLayers
      .toSorted((a, b) => a.altitudeM - b.altitudeM)
      .map(({ altitudeM, fromDeg, speedMps }) =>
        row(
          cell(height(altitudeM, with_, 'nearest')),
          cell({ text: `${with_.course(fromDeg)} T`, si: fromDeg }),
          cell(speed(speedMps, with_)),
        ),
      ),
    notes: [],
  };
}
