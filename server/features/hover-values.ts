/** What hover says of a value: the same in other units and notations. */
import type {
  AngleNode,
  CoordinatesNode,
  LineSyntax,
  QuantityNode,
  TimeNode,
  ValueNode,
} from '../../grammar/syntax.ts';
import { fromSi, type Unit, unitsFor } from '../../grammar/units.ts';
import type { Slot } from '../../grammar/vocabulary.ts';
import { magneticVariation } from '../flight/index.ts';
import { mustBePositive, senseFaultOf } from '../plan/sense.ts';
import { courseDigits, inUnit, number, type Show, timeOfDay } from '../plan/show.ts';
import { altitudeIn, type TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import { datumUseIn, dimensionOf, faultOf, quantitySi, utcSeconds } from '../plan/values.ts';
import type { Located } from './locate.ts';

export interface ValuePlace {
  readonly understood: Understood;
  readonly located: Located;
  readonly line: LineSyntax;
  readonly node: ValueNode;
  readonly slot: Slot;
  readonly task: TaskEvaluation | undefined;
}

/** Decimals that keep about four figures. */
function decimalsFor(value: number): number {
  const size = Math.abs(value);
  if (size >= 100) return 0;
  return size >= 10 ? 1 : 2;
}

function others(si: number, written: Unit, units: readonly Unit[]): string {
  return units
    .filter((unit) => unit !== written)
    .map((unit) => {
      const value = fromSi(si, unit);
      return `${number(value, decimalsFor(value))} ${unit.text}`;
    })
    .join(' · ');
}

/** The units worth showing: a height is not given in miles, nor a distance in feet alone. */
function unitsShown(slot: Slot): readonly Unit[] {
  const dimension = dimensionOf(slot.kind);
  if (!dimension) return [];
  const all = unitsFor(dimension);
  if (dimension !== 'length') return all;
  const heights = slot.kind === 'altitude' || slot.kind === 'elevation' || slot.slot === 'height';
  return all.filter((unit) => (heights ? ['m', 'ft'] : ['m', 'km', 'ft', 'NM', 'mi']).includes(unit.text));
}

function directionText(place: ValuePlace, node: QuantityNode): string | undefined {
  const degrees = quantitySi(node);
  const magnetic = node.unit?.unit?.text === '°M';
  const reverse = `to ${courseDigits(degrees + 180)}°${magnetic ? 'M' : ''}`;
  const { weather, start } = firstTask(place) ?? {};
  const position = start?.point?.meaning.position;
  const date = weather?.meaning.date;
  if (!position || !date || weather?.meaning.entry !== place.located.placed.syntax)
    return `from ${courseDigits(degrees)}°${magnetic ? 'M' : ' true'}, ${reverse}`;
  const variation = magneticVariation(position, 0, date);
  if (variation.outside) return `from ${courseDigits(degrees)}°${magnetic ? 'M' : ' true'}, ${reverse}`;
  const other = magnetic
    ? `${courseDigits(degrees + variation.declinationDeg)}° true`
    : `${courseDigits(degrees - variation.declinationDeg)}°M`;
  return `${other} at ${start?.point?.meaning.name ?? 'the start'} (variation ${number(Math.abs(variation.declinationDeg), 1)}° ${variation.declinationDeg >= 0 ? 'east' : 'west'}), ${reverse}`;
}

/** The first task of the file that this entry serves. */
function firstTask({ understood, located }: ValuePlace): TaskEvaluation | undefined {
  const entry = located.placed.syntax;
  return understood.tasks.find(
    (task) => task.entry === entry || task.weather?.meaning.entry === entry || task.reserve?.meaning.entry === entry,
  );
}

function altitudeText(
  place: ValuePlace,
  node: QuantityNode | { kind: 'flightLevel'; level: number },
  with_: Show,
): string {
  const { line, task, located } = place;
  const parts: string[] = [];
  const air = (task ?? firstTask(place))?.air;
  if (node.kind === 'flightLevel') {
    if (air)
      parts.push(
        `${inUnit(altitudeIn({ kind: 'fl', level: node.level }, undefined, air) ?? 0, 'ft', 0)} MSL on the plan's QNH`,
      );
    parts.push(`${number(node.level * 100)} ft on 1013.25 hPa`);
    return parts.join(' · ');
  }
  const si = quantitySi(node);
  const unit = node.unit?.unit as Unit;
  const datum = node.datum?.datum;
  parts.push(`${others(si, unit, unitsShown(place.slot))}${datum ? ` ${datum}` : ''}`);
  const elevation = elevationUnder(place, task, line) ?? ownElevation(located);
  if (elevation !== undefined && datum === 'AGL') parts.push(`${with_.altitude(elevation + si)}`);
  if (elevation !== undefined && datum === 'MSL') parts.push(`${with_.height(si - elevation)} above the ground there`);
  return parts.join(' · ');
}

/** The elevation of the place that an itinerary line speaks of. */
function elevationUnder(_place: ValuePlace, task: TaskEvaluation | undefined, line: LineSyntax): number | undefined {
  if (!task) return undefined;
  if (task.start?.line === line) return task.start.point?.meaning.elevationM;
  const leg = task.legs.find((one) => one.climbs.some((climb) => climb.line === line && climb.afterM === undefined));
  return leg?.from?.meaning.elevationM;
}

function ownElevation({ placed }: Located): number | undefined {
  const line = placed.syntax.details.find(({ form }) => form?.id === 'elevation');
  const node = line?.slots['elevation'];
  return node?.kind === 'quantity' && node.unit?.unit && node.number.value !== undefined ? quantitySi(node) : undefined;
}

function angles(angle: AngleNode): { degrees: string; minutes: string; seconds: string } {
  const letter = angle.hemisphere?.text.toUpperCase() ?? '';
  const value = Math.abs(angle.value as number);
  const width = letter === 'N' || letter === 'S' ? 2 : 3;
  const pad = (n: number) => String(n).padStart(width, '0');
  const thousandths = Math.round(value * 60_000);
  const seconds = Math.round(value * 36_000);
  return {
    degrees: `${value.toFixed(5)} ${letter}`,
    minutes: `${pad(Math.floor(thousandths / 60_000))}°${((thousandths % 60_000) / 1000).toFixed(3).padStart(6, '0')}'${letter}`,
    seconds: `${pad(Math.floor(seconds / 36_000))}°${String(Math.floor((seconds % 36_000) / 600)).padStart(2, '0')}'${((seconds % 600) / 10).toFixed(1).padStart(4, '0')}"${letter}`,
  };
}

function coordinatesText(node: CoordinatesNode): string {
  const first = angles(node.first);
  const second = angles(node.second as AngleNode);
  const lines = {
    degrees: `${first.degrees} ${second.degrees}`,
    minutes: `${first.minutes} ${second.minutes}`,
    seconds: `${first.seconds} ${second.seconds}`,
  };
  return Object.entries(lines)
    .filter(([notation]) => notation !== node.first.notation)
    .map(([, text]) => `\`${text}\``)
    .join(' · ');
}

function ratioText(value: number): string {
  return `a glide of ${number(value, 1)}:1: ${number((1000 * 0.3048 * value) / 1852, 1)} NM or ${number((1000 * 0.3048 * value) / 1609.344, 1)} statute miles for each 1,000 ft in still air`;
}

function timeText(node: TimeNode): string {
  const utc = utcSeconds(node);
  return node.zoneMinutes === 0 ? 'UTC' : `${timeOfDay(utc, 0)} (UTC)`;
}

/** What a value is, otherwise said; undefined for a value that cannot be read or has nothing to say. */
export function describeValue(place: ValuePlace, with_: Show): string | undefined {
  const { node, slot, line, located, task } = place;
  const entry = located.placed.syntax;
  if (!entry.form || !line.form) return undefined;
  const use = datumUseIn(entry, line);
  if (faultOf(node, slot, use) || senseFaultOf(node, slot, mustBePositive(slot, entry.form.keyword, line.form.id)))
    return undefined;
  switch (node.kind) {
    case 'quantity': {
      if (slot.kind === 'altitude') return altitudeText(place, node, with_);
      if (slot.kind === 'direction') return directionText(place, node);
      const unit = node.unit?.unit as Unit;
      const text = others(quantitySi(node), unit, unitsShown(slot));
      const tas = slot.kind === 'speed' && task && line.form.itinerary ? ' (indicated)' : '';
      return text ? `${text}${tas}` : undefined;
    }
    case 'flightLevel':
      return altitudeText(place, node, with_);
    case 'duration':
      return with_.duration(node.parts.reduce((sum, part) => sum + quantitySi(part), 0));
    case 'coordinates':
      return coordinatesText(node);
    case 'ratio':
      return ratioText(node.value);
    case 'time':
      return timeText(node);
    default:
      return undefined;
  }
}
