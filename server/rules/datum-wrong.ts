import type { Fault } from '../plan/meaning.ts';
import type { ValueFault } from '../plan/values.ts';
import { faultsOf, quoted, type Rule } from './rule.ts';

type DatumWrong = Fault & { readonly fault: Extract<ValueFault, { code: 'datum-wrong' }> };

function message({ fault, node, slot }: DatumWrong): string {
  const text = quoted(fault.text);
  const height = node.kind === 'quantity' ? `${node.number.text} ${node.unit?.text ?? ''}`.trim() : '';
  const known = node.kind === 'flightLevel' || (node.kind === 'quantity' && node.datum?.datum !== undefined);
  if (fault.where === 'sea') {
    if (slot.kind === 'elevation')
      return known
        ? `${text} does not fit an elevation, which is counted from the sea. Write ${quoted(`${height} MSL`)}, or ${quoted(height)} alone.`
        : `${text} cannot stand behind an elevation. Write ${quoted(`${height} MSL`)}, or ${quoted(height)} alone.`;
    return slot.kind === 'length'
      ? `${text} does not belong here: the line asks for a length, which is counted from nothing. Write ${quoted(height)}.`
      : `${text} does not belong here: only a height is counted from something. Write ${quoted(height)}.`;
  }
  const unknown = `${text} is no word for what a height is counted from.`;
  switch (fault.where) {
    case 'over-place':
      if (node.kind === 'flightLevel')
        return `${text} is counted from the pressure 1013.25 hPa, and this height from the ground. Write one such as \`1000 ft AGL\`.`;
      return `${known ? `${text} is counted from the sea, and this height from the ground.` : unknown} Write ${quoted(`${height} AGL`)}.`;
    case 'no-place':
      return known
        ? `${text} has no ground to be counted from, since the line names no place. Write a height in \`MSL\`, or a flight level such as \`FL65\`.`
        : `${unknown} Write ${quoted(`${height} MSL`)}.`;
    case 'place':
      return `${unknown} Write ${quoted(`${height} MSL`)} (above the sea) or ${quoted(`${height} AGL`)} (above the ground of the place).`;
  }
}

/** A height counted from something that the line cannot take. */
export const datumWrong: Rule = {
  code: 'datum-wrong',
  severity: 'error',
  title: 'A height is counted from the wrong thing',
  page: {
    means:
      'What the height is counted from does not fit the line. A reserve is a height above ground (`AGL`); a wind, a working top or a climb on the way has no ground below it that anybody named (`MSL` or a flight level); an elevation is above the sea.',
    why: 'An arrival at 1000 ft MSL over a field at 620 ft leaves 380 ft for the circuit. A reserve is worth something only when it is counted from the grass.',
    bad: 'reserve Training\n  arrive 1000 ft MSL\n',
    good: 'reserve Training\n  arrive 1000 ft AGL\n',
    turnDown: 'It is not turned down: write the height as the line needs it, and look at the number again.',
  },
  needs: 'faults',
  *entry(context) {
    for (const found of faultsOf(context, 'datum-wrong'))
      yield { at: context.at(found.fault.span), message: message(found) };
  },
};
