import { DIMENSION_WORDS, unitsFor } from '../../grammar/units.ts';
import { apart } from './apart.ts';
import { faultsOf, orList, quoted, type Rule } from './rule.ts';

/** A unit that measures something else than is wanted. */
export const unitWrongKind: Rule = {
  code: 'unit-wrong-kind',
  severity: 'error',
  title: 'A unit measures something else',
  page: {
    means:
      'The unit is known, but it measures something else than this line needs: feet where a speed is wanted, or knots where a height is.',
    why: 'A number with the wrong unit was mostly written into the wrong line, or copied from the wrong row of a handbook. The number itself may be as wrong as the unit.',
    bad: 'reserve Training\n  arrive 1000 kt AGL\n',
    good: 'reserve Training\n  arrive 1000 ft AGL\n',
    turnDown: 'It is not turned down: correct the unit, and look at the number again.',
  },
  needs: 'faults',
  *entry(context) {
    for (const found of faultsOf(context, 'unit-wrong-kind')) {
      const { fault, node, slot } = found;
      const other = apart(found, context.entry);
      if (other) {
        yield { at: context.at(other.span), message: other.message };
        continue;
      }
      const at = context.at(fault.span);
      if (node.kind === 'unit') {
        yield { at, message: `${quoted(fault.unit.text)} is not one of the units to show here. Write ${slot.words}.` };
        continue;
      }
      const isHeight = slot.kind === 'altitude' || slot.kind === 'elevation';
      const noun = isHeight ? 'a height' : DIMENSION_WORDS[fault.dimension].noun;
      const measured = orList(fault.unit.dimensions.map((dimension) => DIMENSION_WORDS[dimension].noun));
      const units = isHeight ? 'ft or m' : orList(unitsFor(fault.dimension).map(({ text }) => text));
      yield {
        at,
        message: `${quoted(fault.unit.text)} (${fault.unit.words}) measures ${measured}, and ${noun} is wanted here. Write it in ${units}.`,
      };
    }
  },
};
