import { slotsOf } from '../../grammar/vocabulary.ts';
import { quoted, type Rule } from './rule.ts';

/** A name without quotes that is also a word of the language. */
export const nameIsKeyword: Rule = {
  code: 'name-is-keyword',
  severity: 'error',
  title: 'A name is a word of the language and has no quotes',
  needs: 'keyword-named',
  page: {
    means:
      'The name is also a word that the language itself uses. Such a name stands in quotes, so that nobody takes one for the other.',
    why: '`turn start` reads as an order to a pilot who scans the plan in the cockpit, and as a place only to the one who wrote it.',
    bad: 'turnpoint Circle at 47.25 N 19.52 E\n  elevation 140 m\n',
    good: 'turnpoint "Circle" at 47.25 N 19.52 E\n  elevation 140 m\n',
    turnDown: 'It is not turned down: put the name in quotes.',
  },
  *line(line, context) {
    for (const slotName of line.form ? slotsOf(line.form).keys() : []) {
      const node = line.slots[slotName];
      if (node?.kind !== 'name' || !node.keyword) continue;
      yield {
        at: context.at(node.span),
        message: `${quoted(node.text)} is a word of the language: as a name it stands in quotes. Write ${quoted(`"${node.text}"`)}.`,
      };
    }
  },
};
