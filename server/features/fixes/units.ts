/** Fixes for units: one that is missing, unknown, or of another kind. One fix for each reading that makes sense. */
import { type Dimension, toSi, type Unit, unitsFor, unitsMeant } from '../../../grammar/units.ts';
import { nearest } from '../../plan/nearest.ts';
import { isSensible } from '../../plan/sense.ts';
import { DATUMS, datumUseIn } from '../../plan/values.ts';
import { type Apart, apart, inPieces } from '../../rules/apart.ts';
import { ratioOf, shareOfOne } from '../../rules/unit-missing.ts';
import { OTHER_MEASURES } from '../../rules/unit-unknown.ts';
import { replaceIn } from './edit.ts';
import { type AnyFaulty, faultBehind, isHeight, quantityOf, withUnit } from './faults.ts';
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

/** How sure a unit is: it goes without saying, it is the plain one where a word is misspelt, or it is one that may be meant. */
type Sure = 'safe' | 'plain' | 'open';

/** The value written with each of these units, and with each datum that it can take where it names none. */
function readings(at: AnyFaulty, units: readonly Unit[], sure: Sure): Fix[] {
  const { spot, found } = at;
  const node = quantityOf(at);
  if (!node || node.number.value === undefined) return [];
  const datums = node.datum
    ? [` ${node.datum.text}`]
    : found.slot.kind === 'altitude'
      ? DATUMS[datumUseIn(spot.placed.syntax, found.line)].map((d) => ` ${d}`)
      : [''];
  const texts = units.flatMap((unit) => datums.map((datum) => withUnit(node.number.text, unit.text) + datum));
  const only = texts.length === 1;
  const isShareOfOne = found.slot.kind === 'performance' && shareOfOne(node.number.text, 'share') !== undefined;
  return texts.map((text) => ({
    title: `Write ${shownText(text)}`,
    edits: [replaceIn(spot, node.span, text)],
    // What may be a share of one is no per cent, unless the words say so.
    preferred: only && (sure === 'safe' || (sure === 'plain' && !isShareOfOne)),
    // A datum that was not written is never put in without a look.
    safe: sure === 'safe' && only && (node.datum !== undefined || found.slot.kind !== 'altitude'),
  }));
}

/** Written as one: the obvious way where there is one. */
function asOne({ spot }: AnyFaulty, { span, ways, isGuess, inOtherNumbers }: Omit<Apart, 'message'>): Fix[] {
  return ways.map((way) => ({
    title: `Write ${/^[\d.]+$/.test(way) ? way : shownText(way)}`,
    edits: [replaceIn(spot, span, way)],
    // A number in pieces may be two of which one is without a unit.
    ...(/^[\d.]+$/.test(way)
      ? { onlyWhenRight: true, inOtherNumbers: true }
      : { preferred: ways.length === 1 && !isGuess, inOtherNumbers: inOtherNumbers === true }),
  }));
}

export const missingUnit: Fixer = (finding, context) => {
  const at = faultBehind('unit-missing', finding, context);
  if (!at) return [];
  const { number, dimension, span } = at.found.fault;
  const { syntax } = at.spot.placed;
  const whole = apart(at.found, syntax) ?? inPieces(syntax.text, span, at.found.slot.kind, dimension);
  if (whole) return asOne(at, whole);
  const share = shareOfOne(number, dimension);
  const node = quantityOf(at);
  if (!node) return [];
  const ratio = ratioOf(number, at.found.slot);
  if (ratio !== undefined) {
    const edits = [replaceIn(at.spot, node.span, ratio)];
    return [
      ...readings(at, unitsOf(at, dimension), 'open'),
      { title: `Write ${shownText(ratio)}, a glide ratio`, edits, inOtherNumbers: true },
    ];
  }
  if (share === undefined) return readings(at, unitsOf(at, dimension), 'safe');
  const edits = [replaceIn(at.spot, node.span, share)];
  return [
    { title: `Write ${shownText(share)}, a share of one as a share of a hundred`, edits, inOtherNumbers: true },
    ...readings(at, unitsOf(at, dimension), 'open'),
  ];
};

export const unknownUnit: Fixer = (finding, context) => {
  const at = faultBehind('unit-unknown', finding, context);
  if (!at) return [];
  const { fault, node, slot } = at.found;
  const choice = node.kind === 'unit' ? slot.of : undefined;
  const all = unitsFor(fault.dimension).filter(({ text }) => !choice || choice.includes(text));
  const quantity = quantityOf(at);
  // `2h30`: the minutes belong to the word.
  const minutes = fault.dimension === 'duration' ? /^h(\d{1,2})(?:m|min)?$/i.exec(fault.text)?.[1] : undefined;
  if (minutes !== undefined && quantity) {
    const text = `${quantity.number.text} h ${minutes} min`;
    return [{ title: `Write ${shownText(text)}`, edits: [replaceIn(at.spot, quantity.span, text)], preferred: true }];
  }
  const word = fault.text.toLowerCase();
  const meant = unitsMeant(fault.text, all);
  // By its sign, or by its name where that is written out: `minuts`.
  const near = new Set(
    nearest(
      OTHER_MEASURES.has(word) ? '' : fault.text,
      all.flatMap(({ text, words }) => (word.length > 3 ? [text, words] : [text])),
    ).flatMap((text) => all.find((unit) => unit.text === text || unit.words === text) ?? []),
  );
  const units = meant.length > 0 ? meant : near.size > 0 ? [...near] : choice ? all : unitsOf(at, fault.dimension);
  const sure = meant.length === 1 ? 'safe' : near.size > 0 ? 'plain' : 'open';
  return node.kind === 'unit' ? choices(at, units, sure) : readings(at, units, sure);
};

/** One of the units that a line of `units` offers. */
function choices(at: AnyFaulty, units: readonly Unit[], sure: Sure): Fix[] {
  return units.map(({ text, words }) => ({
    title: `Write ${text}, ${words}`,
    edits: [replaceIn(at.spot, at.found.node.span, text)],
    preferred: units.length === 1 && sure !== 'open',
    safe: sure === 'safe' && units.length === 1,
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
      'open',
    );
  const whole = apart(at.found, at.spot.placed.syntax);
  if (whole) return asOne(at, whole);
  const units = unitsOf(at, fault.dimension);
  const near = nearest(
    fault.unit.text,
    units.map(({ text }) => text),
  );
  const rank = ({ text }: Unit) => (near.includes(text) ? near.indexOf(text) : near.length);
  return readings(
    at,
    units.toSorted((a, b) => rank(a) - rank(b)),
    // Another unit than the one that is written.
    'open',
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
