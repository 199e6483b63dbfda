/** Fixes for units: one that is missing, unknown, or of another kind. One fix for each reading that makes sense. */
import { type Dimension, toSi, type Unit, unitMeant, unitsFor } from '../../../grammar/units.ts';
import { nearest } from '../../plan/nearest.ts';
import { isSensible } from '../../plan/sense.ts';
import { replaceIn } from './edit.ts';
import { type AnyFaulty, DATUMS, faultBehind, isHeight, quantityOf, useOf, withUnit } from './faults.ts';
import type { Fix, Fixer } from './fix.ts';
import { shownText } from './writing.ts';

/** The units that a fault's slot takes and that make sense of its number; all that it takes, when none does. */
function unitsOf(at: AnyFaulty, dimension: Dimension): readonly Unit[] {
  const { slot } = at.found;
  const value = quantityOf(at)?.number.value;
  const kind = unitsFor(dimension).filter(({ text }) => !isHeight(slot) || text === 'ft' || text === 'm');
  const sensible = kind.filter((unit) => value !== undefined && isSensible(slot.kind, toSi(value, unit)));
  return sensible.length > 0 ? sensible : kind;
}

/** The value written with each of these units, and with each datum that it can take where it names none. */
function readings(at: AnyFaulty, units: readonly Unit[], safe: boolean): Fix[] {
  const { spot, found } = at;
  const node = quantityOf(at);
  if (!node || node.number.value === undefined) return [];
  const datums = node.datum
    ? [` ${node.datum.text}`]
    : found.slot.kind === 'altitude'
      ? DATUMS[useOf(at)].map((d) => ` ${d}`)
      : [''];
  const texts = units.flatMap((unit) => datums.map((datum) => withUnit(node.number.text, unit.text) + datum));
  const only = texts.length === 1;
  return texts.map((text) => ({
    title: `Write ${shownText(text)}`,
    edits: [replaceIn(spot, node.span, text)],
    preferred: only,
    // A datum that was not written is never put in without a look.
    safe: safe && only && (node.datum !== undefined || found.slot.kind !== 'altitude'),
  }));
}

export const missingUnit: Fixer = (finding, context) => {
  const at = faultBehind('unit-missing', finding, context);
  return at ? readings(at, unitsOf(at, at.found.fault.dimension), true) : [];
};

export const unknownUnit: Fixer = (finding, context) => {
  const at = faultBehind('unit-unknown', finding, context);
  if (!at) return [];
  const { fault, node, slot } = at.found;
  const choice = node.kind === 'unit' ? slot.of : undefined;
  const all = unitsFor(fault.dimension).filter(({ text }) => !choice || choice.includes(text));
  const sure = unitMeant(fault.text, all);
  const near = nearest(
    fault.text,
    all.map(({ text }) => text),
  ).flatMap((text) => all.find((unit) => unit.text === text) ?? []);
  const units = sure ? [sure] : near.length > 0 ? near : choice ? all : unitsOf(at, fault.dimension);
  return node.kind === 'unit' ? choices(at, units, sure !== undefined) : readings(at, units, sure !== undefined);
};

/** One of the units that a line of `units` offers. */
function choices(at: AnyFaulty, units: readonly Unit[], safe: boolean): Fix[] {
  return units.map(({ text, words }) => ({
    title: `Write ${text}, ${words}`,
    edits: [replaceIn(at.spot, at.found.node.span, text)],
    preferred: units.length === 1,
    safe: safe && units.length === 1,
  }));
}

export const wrongUnit: Fixer = (finding, context) => {
  const at = faultBehind('unit-wrong-kind', finding, context);
  if (!at) return [];
  const { fault, node, slot } = at.found;
  if (node.kind === 'unit')
    return choices(
      at,
      unitsFor(fault.dimension).filter(({ text }) => slot.of?.includes(text)),
      false,
    );
  const units = unitsOf(at, fault.dimension);
  const near = nearest(
    fault.unit.text,
    units.map(({ text }) => text),
  );
  const rank = ({ text }: Unit) => (near.includes(text) ? near.indexOf(text) : near.length);
  return readings(
    at,
    units.toSorted((a, b) => rank(a) - rank(b)),
    false,
  );
};

/** Without the comma, or with a point: each way that the number may have been meant. */
export const clearNumber: Fixer = (finding, context) => {
  const at = faultBehind('number-unclear', finding, context);
  if (!at) return [];
  const { text, span } = at.found.fault;
  const { found } = at;
  const start = span.start;
  const whole = text.replaceAll(',', '');
  const commas = text.length - whole.length;
  const thousands = /^\D?\d{1,3}(,\d{3})+(\.\d+)?$/.test(text);
  const point = commas === 1 && !text.includes('.') ? text.replace(',', '.') : undefined;
  // A coordinate is never in the thousands.
  const asWhole = thousands && found.node.kind !== 'coordinates' ? [whole] : [];
  const ways = [...asWhole, ...(point === undefined ? [] : [point])];
  return ways.map((way) => ({
    title: `Write ${way}`,
    edits: [replaceIn(at.spot, { start, end: start + text.length }, way)],
    preferred: ways.length === 1,
  }));
};
