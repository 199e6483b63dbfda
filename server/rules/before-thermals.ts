import { timeOfDay } from '../plan/show.ts';
import { durationsApart, eastTask } from './leg-words.ts';
import type { Rule } from './rule.ts';
import { NOTHING_S, takeoffText, thermalHours, thermalsExample } from './thermal-words.ts';

/** A climb that begins before the first usable thermals. */
export const beforeThermals: Rule = {
  code: 'before-thermals',
  severity: 'warning',
  title: 'A climb begins before the first usable thermals',
  page: {
    means:
      'By the times of take-off, climbs and glides a climb begins before the line `thermals` of the weather says that they do. The first such climb is told.',
    why: 'Before the thermals the first climb is a glide back to the field, and the launch of it was for nothing; or it is one into weak and low lift, away from the field.',
    bad: eastTask(
      { weather: 'Evening', takeoff: '10:00Z', climb: 'to 5600 ft MSL' },
      thermalsExample('11:00Z to 16:45Z'),
    ),
    good: eastTask(
      { weather: 'Evening', takeoff: '11:00Z', climb: 'to 5600 ft MSL' },
      thermalsExample('11:00Z to 16:45Z'),
    ),
    turnDown: 'Take off later. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *task(context) {
    const { evaluation, show, at } = context;
    const { weather, task } = evaluation;
    const hours = thermalHours(evaluation);
    const early = hours?.climbs.find(({ fromS }) => fromS < hours.fromS - NOTHING_S);
    if (!hours || !early || !task.takeoff || !weather?.meaning.thermals) return;
    const { thermals } = weather.meaning;
    const { utcS, zoneMinutes } = task.takeoff;
    const time = (seconds: number) => timeOfDay(seconds, zoneMinutes);
    const beginS = Math.floor(early.fromS / 60) * 60;
    const takeoffS = Math.ceil((utcS + hours.fromS - hours.firstS) / 60) * 60;
    yield {
      at: at(early.climb.line.span),
      message: `the climb to ${show.altitude(early.climb.toAltitudeM)} begins ${durationsApart(hours.fromS, beginS, show).by} before the first usable thermals: at ${time(beginS)}, and they begin at ${time(hours.fromS)}. ${takeoffText(hours, takeoffS, `Take off at ${time(takeoffS)} or later.`, context)}`,
      excess: { of: 'time', si: hours.fromS - early.fromS },
      related: [
        { at: { ...weather.at, span: thermals.line.span }, message: `the thermals of ${weather.meaning.name}` },
        { at: at(task.takeoff.line.span), message: 'the take-off' },
      ],
    };
  },
};
