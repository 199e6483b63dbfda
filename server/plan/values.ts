/**
 * From a value as written to a value in SI, or the fault that keeps it from being read. A value with a fault is a hole:
 * the rules tell the reader, and everything later steps over it. Nothing is guessed.
 */
import type {
  AngleNode,
  CoordinatesNode,
  DateNode,
  DurationNode,
  EntrySyntax,
  LineSyntax,
  QuantityNode,
  Span,
  TimeNode,
  ValueNode,
} from '../../grammar/syntax.ts';
import { DIMENSION_WORDS, type Dimension, toSi, type Unit, unitsFor } from '../../grammar/units.ts';
import type { Slot, SlotKind } from '../../grammar/vocabulary.ts';
import type { Position } from '../flight/index.ts';

/** A height as meant: an altitude above the sea, a height over the ground of the place in question, or a flight level. */
export type Altitude =
  | { readonly kind: 'msl'; readonly metres: number }
  | { readonly kind: 'agl'; readonly metres: number }
  | { readonly kind: 'fl'; readonly level: number };

export interface Direction {
  /** From 0 to 360. */
  readonly degrees: number;
  readonly magnetic: boolean;
}

export interface CalendarDate {
  readonly year: number;
  readonly month: number;
  readonly day: number;
}

/** Why a value cannot be read. The code is the code of the rule that tells it. */
export type ValueFault =
  | {
      readonly code: 'unit-missing';
      readonly span: Span;
      readonly number: string;
      readonly dimension: Dimension;
      readonly datum?: string;
    }
  | { readonly code: 'unit-wrong-kind'; readonly span: Span; readonly unit: Unit; readonly dimension: Dimension }
  | { readonly code: 'unit-unknown'; readonly span: Span; readonly text: string; readonly dimension: Dimension }
  | { readonly code: 'datum-missing'; readonly span: Span; readonly text: string; readonly where: DatumUse }
  | { readonly code: 'datum-wrong'; readonly span: Span; readonly text: string; readonly where: DatumUse }
  | { readonly code: 'number-unclear'; readonly span: Span; readonly text: string }
  | { readonly code: 'coordinates-incomplete'; readonly span: Span; readonly reason: string }
  | { readonly code: 'zone-missing'; readonly span: Span; readonly text: string };

/** Which datums a slot can take: over a named place, over no place that the line names, or above the sea by definition. */
export type DatumUse = 'place' | 'over-place' | 'no-place' | 'sea';

/** How the altitude slots take their datum, by entry and detail; every other takes any. */
const DATUM_USE: Readonly<Record<string, DatumUse>> = {
  'field arrive': 'over-place',
  'reserve arrive': 'over-place',
  'reserve turn': 'over-place',
  'weather temperature': 'no-place',
  'weather wind': 'no-place',
  'weather lift': 'no-place',
  'weather cloudbase': 'no-place',
  'obstacle top': 'no-place',
  'task soar between': 'no-place',
};

/** Which datums the altitude in this detail of this entry can take; a climb `after` a distance has no place under it. */
export function datumUse(entry: string, detail: string, climbsOnTheWay = false): DatumUse {
  if (entry === 'task' && detail === 'climb to' && climbsOnTheWay) return 'no-place';
  return DATUM_USE[`${entry} ${detail}`] ?? 'place';
}

/** Which datums the altitude in this line of an entry can take. */
export function datumUseIn({ form }: EntrySyntax, line: LineSyntax): DatumUse {
  const detail = !line.form || line.form === form?.head ? '' : line.form.id;
  return datumUse(form?.keyword ?? '', detail, line.slots['after'] !== undefined);
}

/** What a height can be counted from, by the place that its line speaks of. */
export const DATUMS: Readonly<Record<DatumUse, readonly string[]>> = {
  place: ['MSL', 'AGL'],
  'over-place': ['AGL'],
  'no-place': ['MSL'],
  sea: [],
};

const DIMENSION_OF: Partial<Record<SlotKind, Dimension>> = {
  altitude: 'length',
  elevation: 'length',
  performance: 'share',
};

/** The dimension of the quantities that a slot takes; undefined for slots that take none. */
export function dimensionOf(kind: SlotKind): Dimension | undefined {
  return DIMENSION_OF[kind] ?? (kind in DIMENSION_WORDS ? (kind as Dimension) : undefined);
}

function unitFault(node: QuantityNode, dimension: Dimension): ValueFault | undefined {
  if (node.number.value === undefined)
    return { code: 'number-unclear', span: node.number.span, text: node.number.text };
  const { unit } = node;
  if (!unit) {
    const datum = node.datum ? { datum: node.datum.text } : {};
    return { code: 'unit-missing', span: node.number.span, number: node.number.text, dimension, ...datum };
  }
  if (!unit.unit) return { code: 'unit-unknown', span: unit.span, text: unit.text, dimension };
  if (!unit.unit.dimensions.includes(dimension))
    return { code: 'unit-wrong-kind', span: unit.span, unit: unit.unit, dimension };
  return undefined;
}

function datumFault(node: QuantityNode, kind: SlotKind, use: DatumUse): ValueFault | undefined {
  const { datum } = node;
  if (kind === 'elevation') {
    if (!datum || datum.datum === 'MSL') return undefined;
    return { code: 'datum-wrong', span: datum.span, text: datum.text, where: 'sea' };
  }
  if (kind === 'altitude') {
    if (!datum)
      return {
        code: 'datum-missing',
        span: node.span,
        text: `${node.number.text} ${node.unit?.text ?? ''}`.trim(),
        where: use,
      };
    const wrong =
      datum.datum === undefined ||
      (use === 'over-place' && datum.datum !== 'AGL') ||
      (use === 'no-place' && datum.datum === 'AGL');
    return wrong ? { code: 'datum-wrong', span: datum.span, text: datum.text, where: use } : undefined;
  }
  return datum ? { code: 'datum-wrong', span: datum.span, text: datum.text, where: 'sea' } : undefined;
}

function angleFault(angle: AngleNode | undefined, span: Span, which: 'latitude' | 'longitude'): ValueFault | undefined {
  if (!angle) return { code: 'coordinates-incomplete', span, reason: `the ${which} is missing` };
  if (angle.value === undefined) return { code: 'number-unclear', span: angle.span, text: angle.text };
  const letters = which === 'latitude' ? ['N', 'S'] : ['E', 'W'];
  if (!angle.hemisphere) {
    return {
      code: 'coordinates-incomplete',
      span: angle.span,
      reason: `the ${which} needs ${letters.join(' or ')} behind it`,
    };
  }
  if (!letters.includes(angle.hemisphere.text.toUpperCase())) {
    return {
      code: 'coordinates-incomplete',
      span: angle.hemisphere.span,
      reason: `the ${which} ends in ${letters.join(' or ')}, not ${angle.hemisphere.text}`,
    };
  }
  return undefined;
}

/** Why the value in `slot` cannot be read; undefined when it can (whether it makes sense is another question). */
export function faultOf(node: ValueNode, slot: Slot, use: DatumUse): ValueFault | undefined {
  switch (node.kind) {
    case 'quantity': {
      const dimension = dimensionOf(slot.kind);
      return dimension ? (unitFault(node, dimension) ?? datumFault(node, slot.kind, use)) : undefined;
    }
    case 'flightLevel':
      return use === 'over-place'
        ? { code: 'datum-wrong', span: node.span, text: `FL${node.level}`, where: use }
        : undefined;
    case 'duration':
      for (const part of node.parts) {
        const fault = unitFault(part, 'duration') ?? datumFault(part, slot.kind, use);
        if (fault) return fault;
      }
      return undefined;
    case 'coordinates':
      return angleFault(node.first, node.span, 'latitude') ?? angleFault(node.second, node.span, 'longitude');
    case 'time':
      return node.zoneMinutes === undefined ? { code: 'zone-missing', span: node.span, text: node.text } : undefined;
    case 'unit': {
      if (!node.unit) return { code: 'unit-unknown', span: node.span, text: node.text, dimension: unitDimension(slot) };
      return slot.of?.includes(node.unit.text)
        ? undefined
        : { code: 'unit-wrong-kind', span: node.span, unit: node.unit, dimension: unitDimension(slot) };
    }
    default:
      return undefined;
  }
}

/** The dimension of the units that a `unit` slot offers. */
function unitDimension(slot: Slot): Dimension {
  const dimensions = Object.keys(DIMENSION_WORDS) as Dimension[];
  return dimensions.find((d) => slot.of?.every((text) => unitsFor(d).some((u) => u.text === text))) ?? 'length';
}

/** A quantity in SI; call only when it has no fault. */
export function quantitySi(node: QuantityNode): number {
  return toSi(node.number.value as number, node.unit?.unit as Unit);
}

export function durationSi(node: DurationNode): number {
  return node.parts.reduce((sum, part) => sum + quantitySi(part), 0);
}

function signed(angle: AngleNode): number {
  const letter = angle.hemisphere?.text.toUpperCase();
  return (angle.value as number) * (letter === 'S' || letter === 'W' ? -1 : 1);
}

export function positionOf(node: CoordinatesNode): Position {
  return { latDeg: signed(node.first), lonDeg: signed(node.second as AngleNode) };
}

export function isRealDate(node: DateNode): boolean {
  const date = new Date(Date.UTC(node.year, node.month - 1, node.day));
  date.setUTCFullYear(node.year);
  return date.getUTCMonth() === node.month - 1 && date.getUTCDate() === node.day;
}

/** A time of day in seconds after midnight UTC (it may lie before or beyond that day). */
export function utcSeconds(node: TimeNode): number {
  return node.hour * 3600 + node.minute * 60 + node.second - (node.zoneMinutes ?? 0) * 60;
}
