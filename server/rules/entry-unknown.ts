import { DETAIL_ONLY, ENTRIES } from '../../grammar/vocabulary.ts';
import { nearest } from '../plan/nearest.ts';
import { orList, quoted, type Rule } from './rule.ts';

/** The entries that have a detail starting with this word. */
function entriesWith(word: string): string[] {
  return ENTRIES.filter(({ details }) => details.some((detail) => detail.leading[0] === word)).map(({ keyword }) =>
    quoted(keyword),
  );
}

/** An unindented line whose first word starts no entry. */
export const entryUnknown: Rule = {
  code: 'entry-unknown',
  severity: 'error',
  title: 'A word starts no entry',
  page: {
    means:
      'A line in the first column starts an entry, and the word it starts with is none that does. The indented lines below it are not read either, since nobody can tell what they belong to.',
    why: 'A field that is not read is a field that no glide can end at, and an airspace that is not read is one that no check keeps the task out of.',
    bad: 'feild Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n',
    good: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n',
    turnDown: 'It is not turned down: correct the word, or put `#` before the line if it is a remark.',
  },
  needs: 'problems',
  *line(line, context) {
    for (const problem of line.problems) {
      if (problem.kind !== 'entry-unknown') continue;
      const at = context.at(problem.span);
      const found = quoted(problem.found);
      const entries = nearest(
        problem.found,
        ENTRIES.map(({ keyword }) => keyword),
      );
      const [detail] = entries.length > 0 ? [] : nearest(problem.found, DETAIL_ONLY, 1);
      if (entries.length > 0) {
        yield { at, message: `${found} starts no entry. Did you mean ${orList(entries.map(quoted))}?` };
      } else if (detail !== undefined) {
        yield {
          at,
          message: `${found} starts no entry. If you mean ${quoted(detail)}, it is a detail of ${orList(entriesWith(detail))}: indent it below one.`,
        };
      } else {
        yield {
          at,
          message: `${found} starts no entry. A line in the first column starts with a word such as \`field\`, \`aircraft\`, \`weather\` or \`task\`; the details below it are indented.`,
        };
      }
    }
  },
};
