import { decimalYear, VARIATION_FROM_YEAR, VARIATION_TO_YEAR } from '../flight/index.ts';
import { eastTask } from './leg-words.ts';
import type { Rule } from './rule.ts';

const LATER = (year: string) => `weather Later
  date        ${year}-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
`;

/** A date for which the magnetic variation is not known. */
export const dateOutsideModel: Rule = {
  code: 'date-outside-model',
  severity: 'info',
  title: 'Magnetic courses are not shown, since the date is outside the model',
  page: {
    means:
      'The date of the weather lies outside the years that the World Magnetic Model covers. The courses of the task are shown true only, and runways are taken as they are written. A magnetic wind on such a date is an error of its own, `variation-unknown`.',
    why: 'The variation drifts. A model used beyond its years gives a number that looks as good as any other; none is shown rather than a wrong one.',
    bad: eastTask({ weather: 'Later' }, LATER('2031')),
    good: eastTask({ weather: 'Later' }, LATER('2026')),
    turnDown:
      'Correct the date, or fly by true courses. `severity` in the settings can make it a hint, or turn it off.',
  },
  *task({ evaluation, at }) {
    const { weather, task, legs } = evaluation;
    const date = weather?.meaning.date;
    if (!weather || !date || !task.weather || !legs.some(({ result }) => result)) return;
    const year = decimalYear(date);
    if (year >= VARIATION_FROM_YEAR && year < VARIATION_TO_YEAR) return;
    const line = weather.meaning.entry.details.find((one) => one.form?.id === 'date');
    yield {
      at: at(task.weather.name?.span ?? task.weather.line.span),
      message: `courses are shown true only: the magnetic model covers ${VARIATION_FROM_YEAR} to ${VARIATION_TO_YEAR - 1}, and ${weather.meaning.name} is of ${date.year}. Correct the date, or fly by true courses.`,
      related: [{ at: line ? { ...weather.at, span: line.span } : weather.at, message: 'the date' }],
    };
  },
};
