import { eastTask, taskPlace, unreadable } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** Weather that is not written and so taken to be standard. */
export const standardAssumed: Rule = {
  code: 'standard-assumed',
  severity: 'warning',
  title: 'The standard atmosphere, or calm, is assumed',
  page: {
    means:
      'The task names no weather, or its weather leaves out the wind, the `qnh` or the `temperature`. Calm air, 1013.25 hPa and the standard temperature (15 °C at sea level) are computed with instead. Where only `qnh` or `temperature` is missing, it is an info.',
    why: 'A glide of 20 km into a wind of 15 kt needs about a third more height than in calm air. Heat and low pressure make the air thin, which costs less, and moves flight levels, which may not.',
    bad: eastTask({ weather: '' }),
    good: eastTask(),
    turnDown:
      'Write the weather, even as a guess that a reviewer can see: `wind surface from 270° at 0 kt` is calm in the open. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *task(context) {
    const { evaluation } = context;
    const { weather, task } = evaluation;
    if (!weather) {
      // A weather that is named and not known, or a line that cannot be read, has its own error.
      if (task.weather || unreadable(task, 'weather')) return;
      yield {
        at: taskPlace(context),
        message:
          'no `weather`: calm air, 1013.25 hPa and 15 °C at sea level are assumed. Name the weather that the task is planned for.',
      };
      return;
    }
    const { meaning } = weather;
    const noWind = meaning.winds.length === 0 && !unreadable(meaning, 'wind');
    const missing = [
      ...(noWind ? [{ what: '`wind`', assumed: 'calm air' }] : []),
      ...(meaning.qnhPa || unreadable(meaning, 'qnh') ? [] : [{ what: '`qnh`', assumed: '1013.25 hPa' }]),
      ...(meaning.temperature || unreadable(meaning, 'temperature')
        ? []
        : [{ what: '`temperature`', assumed: '15 °C at sea level' }]),
    ];
    if (missing.length === 0) return;
    const list = (items: readonly string[]) =>
      items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
    const verb = missing.length === 1 ? 'is' : 'are';
    yield {
      at: task.weather ? context.at(task.weather.name?.span ?? task.weather.line.span) : taskPlace(context),
      severity: noWind ? 'warning' : 'info',
      message: `${meaning.name} has ${list(missing.map(({ what }) => `no ${what}`))}: ${list(
        missing.map(({ assumed }) => assumed),
      )} ${verb} assumed. Write ${missing.length === 1 ? 'it' : 'them'} from the forecast.`,
      related: [{ at: weather.at, message: `the weather, ${meaning.name}` }],
    };
  },
};
