import { eastTask, heightsApart, topsOf } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A climb higher than the lift is expected to go. */
export const aboveWorkingTop: Rule = {
  code: 'above-working-top',
  severity: 'warning',
  title: 'A climb ends above the working top of the lift',
  page: {
    means:
      'A `climb` ends above the altitude that the line `lift … to …` of the weather gives as the top of useful climbs. A climb above the cloudbase is told by `above-cloudbase` alone.',
    why: 'Near its top a thermal weakens and breaks up; above it there is none. A final glide planned from a height that the day does not give is a final glide that starts too low, or never.',
    bad: eastTask({ climb: 'to 6000 ft MSL' }),
    good: eastTask({ climb: 'to 5600 ft MSL' }),
    turnDown:
      'Climb lower, or change `lift` if the day is better. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *task(context) {
    const { show } = context;
    for (const { what, at, altitudeM, cloudbase, workingTop } of topsOf(context)) {
      if (cloudbase || !workingTop) continue;
      const { greater, less, by, excess } = heightsApart(altitudeM, workingTop.altitudeM, show);
      yield {
        at,
        message: `${what} ${by} above the working top: at ${greater} MSL, and lift is expected to ${less} MSL. Climb to ${less} MSL at most.`,
        excess,
        related: [{ at: workingTop.at, message: 'the lift of the day' }],
      };
    }
  },
};
