import { DIMENSION_WORDS, type Dimension, toSi, unitsFor } from '../../grammar/units.ts';
import type { Slot } from '../../grammar/vocabulary.ts';
import { isSensible } from '../plan/sense.ts';
import { DATUMS, datumUseIn } from '../plan/values.ts';
import { apart } from './apart.ts';
import { faultsOf, orList, quoted, type Rule } from './rule.ts';

/** Kinds of value that are heights: nobody gives one in miles. */
const HEIGHTS = new Set(['altitude', 'elevation']);

/** A share of one, `0.7`, as a share of a hundred: `70 %`; undefined for what is none. */
export function shareOfOne(number: string, dimension: Dimension): string | undefined {
  const value = Number(number);
  return dimension === 'share' && value > 0 && value <= 1 ? `${+(value * 100).toFixed(9)} %` : undefined;
}

/** Best glides of gliders lie below, common practice, no source. */
const MOST_RATIO = 60;

/** A number that may be a glide ratio as well as a share, `20:1` and `20 %`; undefined for what is none. */
export function ratioOf(number: string, slot: Slot): string | undefined {
  const value = Number(number);
  return slot.kind === 'performance' && value > 1 && value <= MOST_RATIO ? `${number}:1` : undefined;
}

/** A number without a unit. */
export const unitMissing: Rule = {
  code: 'unit-missing',
  severity: 'error',
  title: 'A number has no unit',
  page: {
    means: 'A number stands where a quantity is needed, and no unit stands behind it. There are no default units.',
    why: '4800 feet and 4800 metres are both heights that gliders fly at. A reader who takes one for the other is wrong by a factor of three.',
    bad: 'turnpoint Mill at 47.25 N 19.52 E\n  elevation 140\n',
    good: 'turnpoint Mill at 47.25 N 19.52 E\n  elevation 140 m\n',
    turnDown: 'It is not turned down: write the unit.',
  },
  needs: 'faults',
  *entry(context) {
    for (const found of faultsOf(context, 'unit-missing')) {
      const { fault, line, slot } = found;
      const other = apart(found, context.entry);
      if (other) {
        yield { at: context.at(other.span), message: other.message };
        continue;
      }
      const isHeight = HEIGHTS.has(slot.kind) || slot.slot === 'height';
      const noun = isHeight ? 'a height' : DIMENSION_WORDS[fault.dimension].noun;
      const value = Number(fault.number);
      const inKind = unitsFor(fault.dimension).filter(({ text }) => !isHeight || text === 'ft' || text === 'm');
      // Only readings that can be meant: nobody sets an altimeter to 1016 inches.
      const sensible = inKind.filter((unit) => isSensible(slot.kind, toSi(value, unit)));
      const wanted = sensible.length > 0 ? sensible : inKind;
      const space = fault.dimension === 'direction' ? '' : ' ';
      const datums = slot.kind === 'altitude' ? DATUMS[datumUseIn(context.entry, line)] : [];
      const datum = fault.datum ?? (datums.length === 1 ? datums[0] : undefined);
      const units = wanted.map((unit) => `${fault.number}${space}${unit.text}${datum ? ` ${datum}` : ''}`);
      const open = datum === undefined && datums.length > 1 ? `, with ${orList(datums.map(quoted))} behind it` : '';
      const share = shareOfOne(fault.number, fault.dimension);
      if (share) units.unshift(share);
      const ratio = ratioOf(fault.number, slot);
      if (ratio) units.push(ratio);
      yield {
        at: context.at(fault.span),
        message: `${fault.number} has no unit: ${noun}${ratio ? ' or a glide ratio' : ''} is wanted here. Write ${orList(units)}${open}.`,
      };
    }
  },
};
