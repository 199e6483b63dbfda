import { decimalYear, VARIATION_FROM_YEAR, VARIATION_TO_YEAR } from '../flight/index.ts';
import { unreadable } from './leg-words.ts';
import { type Rule, textAt } from './rule.ts';

const SATURDAY = (date: string) => `weather Saturday
  ${date}qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 225°M at 8 kt
  wind        3000 ft MSL from 240°M at 14 kt
`;

/** A magnetic wind that cannot be turned into a true one. */
export const variationUnknown: Rule = {
  code: 'variation-unknown',
  severity: 'error',
  title: 'A magnetic wind cannot be turned into a true one',
  page: {
    means:
      'A wind is given in degrees magnetic, and the weather has no `date`, or one outside the years that the World Magnetic Model covers. No leg with this weather is computed.',
    why: 'The magnetic variation drifts from year to year and reaches 20° and more in places. A wind turned by that much changes headwind into crosswind.',
    bad: SATURDAY(''),
    good: SATURDAY('date        2026-06-13\n  '),
    turnDown: 'It is not turned down: add the `date`, or write the direction true, as forecasts of upper winds do.',
  },
  needs: 'weather',
  *entry({ entry, meaning, at }) {
    if (meaning.kind !== 'weather') return;
    const magnetic = meaning.winds.filter(({ direction }) => direction.magnetic);
    const [first] = magnetic;
    const span = first?.line.slots['direction']?.span;
    if (!first || !span) return;
    const written = textAt(entry, span);
    const others = magnetic.slice(1).map((wind) => ({ at: at(wind.line.span), message: 'this wind is magnetic too' }));
    if (!meaning.date) {
      if (unreadable(meaning, 'date')) return;
      yield {
        at: at(span),
        message: `${written} cannot be turned into a true direction: ${meaning.name} has no \`date\`, and the magnetic variation drifts. Add the date, or write the direction true.`,
        related: others,
      };
      return;
    }
    const year = decimalYear(meaning.date);
    if (year >= VARIATION_FROM_YEAR && year < VARIATION_TO_YEAR) return;
    const date = entry.details.find((line) => line.form?.id === 'date');
    yield {
      at: at(span),
      message: `${written} cannot be turned into a true direction: the magnetic model covers ${VARIATION_FROM_YEAR} to ${VARIATION_TO_YEAR - 1}, and ${meaning.name} is of ${meaning.date.year}. Correct the date, or write the direction true.`,
      related: [...(date ? [{ at: at(date.span), message: 'the date' }] : []), ...others],
    };
  },
};
