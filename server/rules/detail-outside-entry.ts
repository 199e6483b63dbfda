import { quoted, type Rule, textAt } from './rule.ts';

/** Details before the first entry. */
export const detailOutsideEntry: Rule = {
  code: 'detail-outside-entry',
  severity: 'error',
  title: 'A detail stands under no entry',
  page: {
    means:
      'Indented lines belong to the entry above them, and above these there is none. Mostly the first line of the entry was lost, or it was indented with the rest.',
    why: 'An elevation or a speed that belongs to nothing is not in the plan, though a reader who skims the page sees it there.',
    bad: '  elevation 190 m\n  runway    18/36 900 m\n',
    good: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n  runway    18/36 900 m\n',
    turnDown: 'It is not turned down: write the first line of the entry above, or take the lines out.',
  },
  needs: 'problems',
  *entry(context) {
    const lines = context.entry.details.filter(({ problems }) =>
      problems.some(({ kind }) => kind === 'detail-without-entry'),
    );
    const [first] = lines;
    if (!first) return;
    const keyword = quoted(textAt(context.entry, first.keyword));
    const more = lines.length - 1;
    const what =
      more === 0
        ? `${keyword} stands under no entry`
        : `${keyword} and the ${more === 1 ? 'line' : `${more} lines`} below it stand under no entry`;
    yield {
      at: context.at(first.span),
      message:
        `${what}: write the line above that they belong to, such as \`task "Three Bridges"\`, from the first column on.`.replace(
          'they belong',
          more === 0 ? 'it belongs' : 'they belong',
        ),
    };
  },
};
