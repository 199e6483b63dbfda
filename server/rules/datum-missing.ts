import type { DatumUse } from '../plan/values.ts';
import { faultsOf, orList, quoted, type Rule } from './rule.ts';

const MSL = ['MSL', 'above the sea, on the altimeter set to QNH'] as const;
const AGL = ['AGL', 'above the ground of the place'] as const;

const READINGS: Readonly<Record<DatumUse, readonly (readonly [string, string])[]>> = {
  place: [MSL, AGL],
  'over-place': [AGL],
  'no-place': [MSL],
  sea: [MSL],
};

/** A height that does not say what it is counted from. */
export const datumMissing: Rule = {
  code: 'datum-missing',
  severity: 'error',
  title: 'A height does not say what it is counted from',
  page: {
    means:
      'A height names what it is counted from: `MSL`, above the sea as the altimeter on QNH shows it, or `AGL`, above the ground of the field or turnpoint that the line speaks of. This one names neither.',
    why: 'Over a field at 1500 ft, three thousand feet on the altimeter are half as much over the grass. A pilot who takes the one for the other starts the glide home with half the height.',
    bad: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft\n  finish   Ashmoor\n',
    good: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft MSL\n  finish   Ashmoor\n',
    turnDown: 'It is not turned down: write `MSL` or `AGL` behind the height.',
  },
  needs: 'faults',
  *entry(context) {
    for (const { fault } of faultsOf(context, 'datum-missing')) {
      const ways = READINGS[fault.where].map(([datum, says]) => `${quoted(`${fault.text} ${datum}`)} (${says})`);
      yield {
        at: context.at(fault.span),
        message: `${fault.text} does not say what it is counted from. Write ${orList(ways)}.`,
      };
    }
  },
};
