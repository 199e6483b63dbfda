import { eastTask, heightsApart, topsOf } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A start or a climb into the clouds. */
export const aboveCloudbase: Rule = {
  code: 'above-cloudbase',
  severity: 'warning',
  title: 'A start or a climb ends above the cloudbase',
  page: {
    means: 'The altitude of a `start` or a `climb` lies above the `cloudbase` of the weather.',
    why: 'In cloud nobody sees the horizon, the field or the other gliders, and without instruments a glider is out of control within a minute. The rules of the air ask for a distance below the base as well; a plan that needs height in cloud does not have it.',
    bad: eastTask({ start: 'Larkfield at 6500 ft MSL' }),
    good: eastTask(),
    turnDown:
      'Plan lower, or correct `cloudbase`. `severity` in the settings can make it an info or a hint, or turn it off: where cloud flying is allowed and flown, that is the place.',
  },
  *task(context) {
    const { show } = context;
    for (const { what, at, altitudeM, cloudbase } of topsOf(context)) {
      if (!cloudbase) continue;
      const { greater, less, by, excess } = heightsApart(altitudeM, cloudbase.altitudeM, show);
      yield {
        at,
        message: `${what} ${by} above the cloudbase: at ${greater} MSL, and the clouds begin at ${less} MSL. Plan ${less} MSL at most, less the distance from cloud that the rules of the air ask.`,
        excess,
        related: [{ at: cloudbase.at, message: 'the cloudbase' }],
      };
    }
  },
};
