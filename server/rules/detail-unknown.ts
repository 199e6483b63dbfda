import { ENTRIES, type EntryForm, entryForm } from '../../grammar/vocabulary.ts';
import { nearest } from '../plan/nearest.ts';
import { detailMeant, endingIn, saysWhere } from './detail-words.ts';
import { orList, quoted, type Rule } from './rule.ts';

const FEW = 6;

const SETTING = 'A MacCready setting stands behind the point of a leg, such as `turn Mill at maccready 3 kt`.';

const SPEED =
  'The speed of a leg stands behind its point, such as `turn Mill at 75 kt`; without one it is flown at best glide.';

/** Words of a task for what stands in another of its lines. */
const ELSEWHERE: ReadonlyMap<string, string> = new Map([
  ['speed', SPEED],
  ['at', SPEED],
  ['mc', SETTING],
  ['maccready', SETTING],
  ['pilot', 'The mass of the pilot stands behind the aircraft, such as `aircraft Finch with pilot 82 kg`.'],
  ['ballast', 'The ballast stands behind the aircraft, such as `aircraft Finch with pilot 82 kg and ballast 40 kg`.'],
]);

function firstWord(detail: EntryForm['details'][number]): string {
  return detail.leading[0] as string;
}

/** The details of `form` whose first word is this one, as they are written. */
function idsOf(form: EntryForm, words: readonly string[]): string[] {
  return words.flatMap((word) => form.details.filter((detail) => firstWord(detail) === word).map(({ id }) => id));
}

function inAnotherLine(form: EntryForm, word: string): string | undefined {
  if (form.keyword === 'task') return ELSEWHERE.get(word);
  return saysWhere(form, word)
    ? `The coordinates stand in the first line, behind the name: ${quoted(`${form.keyword} Mill at 47.2031 N 19.4410 E`)}.`
    : undefined;
}

function wayOut(form: EntryForm, found: string): string {
  const word = found.toLowerCase();
  const kind = quoted(form.keyword);
  const elsewhere = inAnotherLine(form, word);
  if (elsewhere) return elsewhere;
  if (entryForm(word) && !ENTRIES.some(({ details }) => details.some((d) => firstWord(d) === word)))
    return `${quoted(word)} starts an entry of its own: begin it in the first column.`;
  const meant = detailMeant(form.keyword, word);
  if (meant !== undefined) return `Did you mean ${quoted(meant)}?`;
  const near = nearest(word, new Set(form.details.map(firstWord)));
  if (near.length > 0) return `Did you mean ${orList(idsOf(form, near).map(quoted))}?`;
  const whole = endingIn(form, word);
  if (whole.length > 0) return `Did you mean ${orList(whole.map(quoted))}?`;
  const others = ENTRIES.filter((entry) => entry !== form && entry.details.some((d) => firstWord(d) === word));
  if (others.length > 0)
    return `It belongs to ${orList(others.map(({ keyword }) => quoted(keyword)))}: move it there, or take it out.`;
  if (form.details.length === 0) return `${kind} is one line and has none: take it out.`;
  const ids = form.details.map(({ id }) => quoted(id));
  const few = ids.slice(0, FEW);
  const list = ids.length > FEW ? `${few.join(', ')} and others` : orList(few).replace(/ or (?=[^,]*$)/, ' and ');
  return `It has ${list}.`;
}

/** An indented line whose first word is no detail of its entry. */
export const detailUnknown: Rule = {
  code: 'detail-unknown',
  severity: 'error',
  title: 'A word starts no detail of its entry',
  page: {
    means:
      'The indented line starts with a word that this kind of entry does not have. Either the word is misspelt, or the line belongs to another entry.',
    why: 'What the line was meant to say is not in the plan: an elevation under a misspelt word leaves the field without a height, and no arrival over it can be computed.',
    bad: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n  runaway   18/36 900 m\n',
    good: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n  runway    18/36 900 m\n',
    turnDown: 'It is not turned down: correct the word, move the line, or put `#` before it if it is a remark.',
  },
  needs: 'problems',
  *line(line, context) {
    for (const problem of line.problems) {
      if (problem.kind !== 'detail-unknown') continue;
      // No keyword is said with a vowel that begins with `u`: `use`, `units`.
      const article = /^[aeio]/.test(problem.entry.keyword) ? 'an' : 'a';
      const plural = problem.entry.keyword === 'units' || problem.entry.keyword === 'limits';
      const entry = plural ? quoted(problem.entry.keyword) : `${article} ${quoted(problem.entry.keyword)}`;
      yield {
        at: context.at(problem.span),
        message: `${quoted(problem.found)} is no detail of ${entry}. ${wayOut(problem.entry, problem.found)}`,
      };
    }
  },
};
