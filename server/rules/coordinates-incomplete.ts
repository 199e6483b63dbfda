import { faultsOf, type Rule } from './rule.ts';

/** A position of which a part is missing. */
export const coordinatesIncomplete: Rule = {
  code: 'coordinates-incomplete',
  severity: 'error',
  title: 'Coordinates are incomplete',
  page: {
    means:
      'A position is a latitude with `N` or `S` behind it, then a longitude with `E` or `W` behind it. A part of that is missing, or stands in the wrong place.',
    why: 'Without the letters nobody can tell north from south or east from west, and a latitude that was taken for a longitude puts the field on another continent. Every leg to it would be wrong.',
    bad: 'turnpoint Mill at 47.25 19.52 E\n  elevation 140 m\n',
    good: 'turnpoint Mill at 47.25 N 19.52 E\n  elevation 140 m\n',
    turnDown: 'It is not turned down: complete the position.',
  },
  needs: 'faults',
  *entry(context) {
    for (const { fault, node } of faultsOf(context, 'coordinates-incomplete')) {
      const letter = node.kind === 'coordinates' ? node.first.hemisphere?.text.toUpperCase() : undefined;
      const way =
        letter === 'E' || letter === 'W'
          ? 'Write the latitude first and the longitude behind it.'
          : 'Write both, such as `47.2031 N 19.4410 E`.';
      yield { at: context.at(fault.span), message: `${fault.reason}. ${way}` };
    }
  },
};
