import { exampleAircraft } from './leg-words.ts';
import type { Rule } from './rule.ts';

const POINTS = ['polar 42 kt sink 1.35 kt', 'polar 60 kt sink 2.05 kt', 'polar 80 kt sink 3.70 kt'];

/** Points and handbook figures in one aircraft. */
export const polarGivenTwice: Rule = {
  code: 'polar-given-twice',
  severity: 'warning',
  title: 'The polar is given by points and by figures',
  page: {
    means:
      'The aircraft has measured points of the polar and handbook figures as well. The points count; `best glide` and `minimum sink` do nothing.',
    why: 'A reader who sees 32:1 in the file believes that 32:1 is planned on. What is flown may be another curve altogether.',
    bad: exampleAircraft([...POINTS, 'best glide 32:1 at 49 kt', 'minimum sink 1.3 kt at 41 kt']),
    good: exampleAircraft(POINTS),
    turnDown:
      'Keep one of the two, and the other as a `note`. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  needs: 'aircraft',
  *entry({ meaning, at }) {
    if (meaning.kind !== 'aircraft') return;
    const [point] = meaning.points;
    const figures = [meaning.bestGlide, meaning.minimumSink].filter((figure) => figure !== undefined);
    const first = figures.toSorted((one, other) => one.line.span.start - other.line.span.start)[0];
    if (!point || !first) return;
    const names = [...(meaning.bestGlide ? ['`best glide`'] : []), ...(meaning.minimumSink ? ['`minimum sink`'] : [])];
    yield {
      at: at(first.line.span),
      message: `the polar of ${meaning.name} is given twice: the ${meaning.points.length === 1 ? 'point counts' : `${meaning.points.length} points count`}, and ${names.join(' and ')} ${names.length === 1 ? 'does' : 'do'} nothing. Leave one of the two out.`,
      related: [{ at: at(point.line.span), message: 'the points that count' }],
    };
  },
};
