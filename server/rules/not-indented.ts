import { quoted, type Rule } from './rule.ts';

/** A detail in the first column. */
export const notIndented: Rule = {
  code: 'not-indented',
  severity: 'error',
  title: 'A detail is not indented',
  page: {
    means:
      'Details are indented below the first line of their entry, and this one starts in the first column. Its word starts no entry, so it is read as a detail of the entry above.',
    why: 'The indentation shows a reader at one glance where a field ends and the next begins. Without it an elevation is easily read as that of the wrong field.',
    bad: 'field Larkfield at 47.2031 N 19.4410 E\nelevation 190 m\n',
    good: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n',
    turnDown: 'It is not turned down: formatting the file indents the line.',
  },
  needs: 'problems',
  *line(line, context) {
    for (const problem of line.problems) {
      if (problem.kind !== 'not-indented') continue;
      const above = quoted(context.entry.form?.keyword ?? '');
      yield {
        at: context.at(problem.span),
        message: `${quoted(problem.found)} is a detail of the ${above} above: indent it by two spaces.`,
      };
    }
  },
};
