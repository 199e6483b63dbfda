import { DIMENSION_WORDS, type Unit, unitsFor, unitsMeant } from '../../grammar/units.ts';
import { nearest } from '../plan/nearest.ts';
import { faultsOf, orList, quoted, type Rule } from './rule.ts';

/** Measures of their own that the language does not know, though a slip of the key would make a unit of it. */
export const OTHER_MEASURES: ReadonlySet<string> = new Set(
  'ktas kcas m/min km/min ft/s ft/h nm/h m/h mi/h cm dm mm hm yd sm g t st oz bar kpa pa psi mmhg cmhg k r hz khz ghz s sec d rad mil ‰'.split(
    ' ',
  ),
);

/** The units that an unknown word most likely stands for. */
function meant(text: string, units: readonly Unit[]): string[] {
  const sure = unitsMeant(text, units);
  if (sure.length > 0) return sure.map((unit) => unit.text);
  if (OTHER_MEASURES.has(text.toLowerCase())) return [];
  return nearest(
    text,
    units.map((unit) => unit.text),
  );
}

/** A word behind a number that is no unit. */
export const unitUnknown: Rule = {
  code: 'unit-unknown',
  severity: 'error',
  title: 'A word is no unit',
  page: {
    means: 'The word behind the number is no unit of the language.',
    why: 'A height or a speed without a unit that everybody reads alike is a number that two pilots may fly by in two ways.',
    bad: 'weather Calm\n  lift 300 fpm to 5800 ft MSL\n',
    good: 'weather Calm\n  lift 300 ft/min to 5800 ft MSL\n',
    turnDown: 'It is not turned down: write the unit as the message offers it.',
  },
  needs: 'faults',
  *entry(context) {
    for (const { fault, node, slot } of faultsOf(context, 'unit-unknown')) {
      const choice = node.kind === 'unit' ? slot.of : undefined;
      const units = unitsFor(fault.dimension).filter(({ text }) => !choice || choice.includes(text));
      const near = meant(fault.text, units);
      const isHeight = slot.kind === 'altitude' || slot.kind === 'elevation';
      const noun = isHeight ? 'a height' : DIMENSION_WORDS[fault.dimension].noun;
      const offered = units.map(({ text }) => text).filter((text) => !isHeight || text === 'ft' || text === 'm');
      const way =
        near.length > 0
          ? `Did you mean ${orList(near.map(quoted))}?`
          : `For ${noun}, write ${orList(offered.map(quoted))}.`;
      yield { at: context.at(fault.span), message: `${quoted(fault.text)} is no unit. ${way}` };
    }
  },
};
