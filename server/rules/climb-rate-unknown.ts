import { eastTask, unreadable } from './leg-words.ts';
import type { Rule } from './rule.ts';

const EVENING = (lift: string) => `weather Evening
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        5000 ft MSL from 245° at 14 kt
${lift}`;

/** A climb whose time is not known. */
export const climbRateUnknown: Rule = {
  code: 'climb-rate-unknown',
  severity: 'info',
  title: 'The rate of a climb is not known',
  page: {
    means:
      'A `climb` has no rate of its own, and the weather has no `lift` to take one from. The times of the task leave it out: no time of landing is given.',
    why: 'Climbs take up half of a task and more. Without their time nobody sees whether the task ends before the thermals do, or before sunset.',
    bad: eastTask({ weather: 'Evening', climb: 'to 5600 ft MSL' }, EVENING('')),
    good: eastTask({ weather: 'Evening', climb: 'to 5600 ft MSL' }, EVENING('  lift        3 kt to 5800 ft MSL\n')),
    turnDown:
      'Write the rate behind the climb, such as `at 3 kt`, or `lift` in the weather. `severity` in the settings can make it a hint, or turn it off.',
  },
  *task({ evaluation, show, at }) {
    const { weather, legs, looseClimbs } = evaluation;
    if (weather && unreadable(weather.meaning, 'lift')) return;
    const climbs = [...legs.flatMap((leg) => leg.climbs), ...looseClimbs].filter(
      (climb) => climb.rateMps === undefined && climb.timeS === undefined && !climb.beyondLeg,
    );
    const [first] = climbs.toSorted((one, other) => one.line.span.start - other.line.span.start);
    if (!first) return;
    const more = climbs.length - 1;
    const others = more === 0 ? ' has' : more === 1 ? ' and another one have' : ` and ${more} others have`;
    const lift = weather ? `${weather.meaning.name} no \`lift\`` : 'there is no `lift` to take one from';
    yield {
      at: at(first.line.span),
      message: `the climb to ${show.altitude(first.toAltitudeM)}${others} no rate, and ${weather ? `${lift} to take one from` : lift}: the times leave ${more === 0 ? 'it' : 'them'} out. Write a rate, such as \`at 3 kt\`.`,
      related: weather ? [{ at: weather.at, message: `the weather, ${weather.meaning.name}` }] : [],
    };
  },
};
