import { eastTask, unreadable } from './leg-words.ts';
import type { Rule } from './rule.ts';

const EVENING = (lift: string) => `weather Evening
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        5000 ft MSL from 245° at 14 kt
${lift}`;

const soaring = (lift: string) =>
  eastTask({ weather: 'Evening', start: 'Larkfield at 3000 ft MSL' }, EVENING(lift)).replace(
    '  finish',
    '  soar     between 2500 ft MSL and 5000 ft MSL\n  finish',
  );

/** Soaring in a weather that has no lift. */
export const soarWithoutLift: Rule = {
  code: 'soar-without-lift',
  severity: 'error',
  title: 'The glider is to soar, and no lift is written',
  page: {
    means:
      'A line `soar` stands in the task, and its weather has no `lift`, or it names no weather: neither how fast the glider climbs nor how fast it flies between the climbs is known. The legs that are soared are not computed.',
    why: 'How long a soared task takes, and whether it ends before the thermals do, comes from the lift that one expects. A plan without that number is a hope.',
    bad: soaring(''),
    good: soaring('  lift        3 kt to 5800 ft MSL\n'),
    turnDown: 'It is not turned down: write `lift` in the weather, or name each climb.',
  },
  *task({ evaluation, at }) {
    const { task, weather } = evaluation;
    const [item] = task.itinerary.filter(({ kind }) => kind === 'soar');
    if (!item || weather?.meaning.lift) return;
    if (weather ? unreadable(weather.meaning, 'lift') : task.weather || unreadable(task, 'weather')) return;
    const why = weather ? `${weather.meaning.name} has no \`lift\`` : 'the task names no weather with a `lift`';
    yield {
      at: at(item.line.span),
      message: `how fast the glider climbs is not known: ${why}. Write it, such as \`lift 3 kt to 5800 ft MSL\`, or name each climb.`,
      related: weather ? [{ at: weather.at, message: `the weather, ${weather.meaning.name}` }] : [],
    };
  },
};
