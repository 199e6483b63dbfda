import { eastTask, unreadable } from './leg-words.ts';
import type { Rule } from './rule.ts';

const EVENING = (date: string) => `weather Evening
${date}  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  lift        3 kt to 5800 ft MSL
`;

/** A take-off on a day that is not known. */
export const daylightUnknown: Rule = {
  code: 'daylight-unknown',
  severity: 'info',
  title: 'Whether the task ends by daylight is not checked',
  page: {
    means:
      'The task has a `takeoff`, and no `date` in its weather says when the sun sets. The times over the points are shown, and are not compared with sunset.',
    why: 'The same task that ends an hour before sunset in June ends in the dark in September.',
    bad: eastTask({ weather: 'Evening', takeoff: '12:00Z' }, EVENING('')),
    good: eastTask({ weather: 'Evening', takeoff: '12:00Z' }, EVENING('  date        2026-06-13\n')),
    turnDown: 'Write `date` in the weather. `severity` in the settings can make it a hint, or turn it off.',
  },
  *task({ evaluation, at }) {
    const { task, weather, limits } = evaluation;
    if (!task.takeoff || weather?.meaning.date || evaluation.legs.at(-1)?.kind !== 'finish') return;
    // What cannot be read or found is told by itself, as is a latest landing that is not checked.
    if (weather ? unreadable(weather.meaning, 'date') : task.weather || unreadable(task, 'weather')) return;
    if (limits.some(({ meaning }) => meaning.landBeforeSunsetS)) return;
    const why = weather ? `${weather.meaning.name} has no \`date\`` : 'without a weather there is no `date`';
    yield {
      at: at(task.takeoff.line.span),
      message: `whether the task ends before sunset is not checked: ${why}. Write it${weather ? '' : ' in a weather'}, such as \`date 2026-06-13\`.`,
      related: weather ? [{ at: weather.at, message: `the weather, ${weather.meaning.name}` }] : [],
    };
  },
};
