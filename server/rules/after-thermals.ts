import { timeOfDay } from '../plan/show.ts';
import { durationsApart, eastTask } from './leg-words.ts';
import type { Rule } from './rule.ts';
import { NOTHING_S, takeoffText, thermalHours, thermalsExample } from './thermal-words.ts';

/** A climb that ends after the last usable thermals. */
export const afterThermals: Rule = {
  code: 'after-thermals',
  severity: 'warning',
  title: 'A climb ends after the last usable thermals',
  page: {
    means:
      'By the times of take-off, climbs and glides a climb ends after the line `thermals` of the weather says that they do. The first such climb is told, with the take-off by which all of them end in time.',
    why: 'The last climb is the one that the glide home begins with. When it is not there any more, the rest of the plan is a search for a field.',
    bad: eastTask(
      { weather: 'Evening', takeoff: '16:43Z', climb: 'to 5600 ft MSL at 1 kt' },
      thermalsExample('11:00Z to 16:45Z'),
    ),
    good: eastTask(
      { weather: 'Evening', takeoff: '15:40Z', climb: 'to 5600 ft MSL at 1 kt' },
      thermalsExample('11:00Z to 16:45Z'),
    ),
    turnDown:
      'Take off earlier, or fly less far. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *task(context) {
    const { evaluation, show, at } = context;
    const { weather, task } = evaluation;
    const hours = thermalHours(evaluation);
    const late = hours?.climbs.find(({ toS }) => toS > hours.toS + NOTHING_S);
    if (!hours || !late || !task.takeoff || !weather?.meaning.thermals) return;
    const { thermals } = weather.meaning;
    const { utcS, zoneMinutes } = task.takeoff;
    const time = (seconds: number) => timeOfDay(seconds, zoneMinutes);
    const endS = Math.ceil(late.toS / 60) * 60;
    const begins = late.fromS >= hours.toS ? 'would begin after them' : `ends at ${time(endS)}`;
    // The last climb decides, not the first one that is late.
    const takeoffS = Math.floor((utcS - (hours.lastS - hours.toS)) / 60) * 60;
    yield {
      at: at(late.climb.line.span),
      message: `the climb to ${show.altitude(late.climb.toAltitudeM)} ends ${durationsApart(endS, hours.toS, show).by} after the last usable thermals: they end at ${time(hours.toS)}, and it ${begins}. ${takeoffText(hours, takeoffS, `Take off by ${time(takeoffS)}.`, context)}`,
      excess: { of: 'time', si: late.toS - hours.toS },
      related: [
        { at: { ...weather.at, span: thermals.line.span }, message: `the thermals of ${weather.meaning.name}` },
        { at: at(task.takeoff.line.span), message: 'the take-off' },
      ],
    };
  },
};
