import { apart } from './apart.ts';
import { faultsOf, quoted, type Rule } from './rule.ts';

/** A time that does not say where its clock hangs. */
export const zoneMissing: Rule = {
  code: 'zone-missing',
  severity: 'error',
  title: 'A time has no zone',
  page: {
    means:
      'A time names its zone: `Z` for UTC, or how far the local clock is ahead of UTC, as `+02:00`. This one names none.',
    why: 'Local time and UTC lie an hour or two apart, more in other places. A finish planned an hour before sunset is then one in the dark.',
    bad: 'weather Calm\n  thermals 11:30 to 16:45Z\n',
    good: 'weather Calm\n  thermals 11:30Z to 16:45Z\n',
    turnDown: 'It is not turned down: write the zone.',
  },
  needs: 'faults',
  *entry(context) {
    for (const found of faultsOf(context, 'zone-missing')) {
      const { fault } = found;
      const other = apart(found, context.entry);
      if (other) {
        yield { at: context.at(other.span), message: other.message };
        continue;
      }
      yield {
        at: context.at(fault.span),
        message: `${fault.text} has no zone. Write ${quoted(`${fault.text}Z`)} for UTC, or the local clock with its lead on UTC, such as ${quoted(`${fault.text}+02:00`)}.`,
      };
    }
  },
};
