import { quoted, type Rule } from './rule.ts';

/** An itinerary that does not go from its start to its finish. */
export const itineraryOrder: Rule = {
  code: 'itinerary-order',
  severity: 'error',
  title: 'The itinerary does not go from its start to its finish',
  page: {
    means:
      'The lines of an itinerary stand in the order in which they are flown: the start first, then climbs and turns, and the finish last. This one stands before the start or after the finish.',
    why: 'Every leg begins at the height at which the one before it ends. A climb in the wrong place gives its height to the wrong leg, and takes it from the one that was meant to be flown with it.',
    bad: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  climb    to 5400 ft MSL\n  start    Larkfield at 5200 ft MSL\n  finish   Ashmoor\n',
    good: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft MSL\n  climb    to 5400 ft MSL\n  finish   Ashmoor\n',
    turnDown: 'It is not turned down: put the lines into the order in which they are flown.',
  },
  needs: 'task',
  *entry({ meaning, at }) {
    if (meaning.kind !== 'task') return;
    const { itinerary } = meaning;
    const start = itinerary.findIndex(({ kind }) => kind === 'start');
    // Of several finishes all but one are told as repeated, so only what is behind the last one is out of order.
    const finish = itinerary.findLastIndex(({ kind }) => kind === 'finish');
    const related = (index: number, what: string) => {
      const line = itinerary[index]?.line;
      return line ? [{ at: at(line.span), message: `the ${what} is written here` }] : [];
    };
    for (const [i, { kind, line }] of itinerary.entries()) {
      const where = at(line.keyword);
      // Of a misspelt line the word is told.
      if (!line.form || kind === 'start' || (kind === 'finish' && i !== finish)) continue;
      if (i < start) {
        const way = kind === 'finish' ? 'Move it to the end.' : 'Move it behind the start.';
        yield {
          at: where,
          message: `this ${quoted(kind)} stands before the start, where no leg has begun. ${way}`,
          related: related(start, 'start'),
        };
      } else if (finish >= 0 && i > finish) {
        yield {
          at: where,
          message: `this ${quoted(kind)} stands after the finish, where the task is over. Move it before the finish, or take it out.`,
          related: related(finish, 'finish'),
        };
      }
    }
  },
};
