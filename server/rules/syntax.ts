import type { LineSyntax, Span } from '../../grammar/syntax.ts';
import { nearest } from '../plan/nearest.ts';
import { apart } from './apart.ts';
import { clause, instead, reads, shown, type TooLong, type Unexpected } from './line-way.ts';
import { lineWay } from './line-ways.ts';
import { type EntryContext, orList, quoted, type Rule, textAt } from './rule.ts';

function overlap(a: Span, b: Span): boolean {
  return a.start < b.end && b.start < a.end;
}

/** Whether a value beside the problem is itself told to be wrong: of two findings on one place the nearer says more. */
function toldOtherwise(problem: Unexpected | TooLong, line: LineSyntax, context: EntryContext): boolean {
  const { entry } = context;
  return context.meaning.faults.some((found) => {
    if (found.line !== line) return false;
    const whole = apart(found, entry)?.span;
    if (overlap(whole ?? found.fault.span, problem.span)) return true;
    // What follows a value in pieces has found no place for that.
    if (whole && whole.end <= problem.span.start && entry.text.slice(whole.end, problem.span.start).trim() === '')
      return true;
    // Half a pair of coordinates is one cause, wherever the other half was looked for.
    return found.fault.code === 'coordinates-incomplete' && problem.expected.startsWith('coordinates');
  });
}

function wayOut({ expected, found }: Unexpected): string {
  if (found === undefined) return '';
  const words = [...expected.matchAll(/`([^`\s]+)/g)].map((match) => match[1] as string);
  const near = nearest(found, words);
  return near.length > 0 ? ` Did you mean ${orList(near.map(quoted))}?` : '';
}

/** The line with the one word that is not there, where it reads so: `climb 5000 ft MSL`. */
function withTheWord({ expected, span }: Unexpected, line: LineSyntax, { entry }: EntryContext): string {
  const word = /^`(\p{L}+)`$/u.exec(expected)?.[1];
  const whole = word && instead(line, { start: span.start, end: span.start }, `${word} `, entry);
  return whole && reads(whole, line, entry) ? ` Write ${shown(whole.replace(/\s+/gu, ' '))}.` : '';
}

function unexpected(problem: Unexpected, line: LineSyntax, context: EntryContext): string {
  const { expected, found } = problem;
  const was = /^(coordinates|runway ends)\b/.test(expected) ? 'were' : 'was';
  const last = shown(textAt(context.entry, problem.span));
  return found === undefined
    ? `${clause(expected)} ${was} expected behind ${last}, but the line ends.`
    : `${clause(expected)} ${was} expected, but ${shown(found)} stands here.${wayOut(problem) || withTheWord(problem, line, context)}`;
}

function tooLong(problem: TooLong, line: LineSyntax, context: EntryContext): string {
  const rest = shown(textAt(context.entry, problem.span));
  const { head, form } = context.entry;
  if (line === head && form && form.keyword !== 'use' && form.keyword !== 'terrain')
    return `${rest} is too much: the first line of an entry ends before it. If the line is a detail of the entry above, indent it.`;
  if (problem.expected !== '')
    return `${rest} stands where only ${problem.expected.replaceAll(', such as', ' such as')} may follow.`;
  return `${rest} is too much: the line is complete before it. Take it out, or put \`#\` before it if it is a remark.`;
}

/** A line that does not read as its keyword asks. */
export const syntax: Rule = {
  code: 'syntax',
  severity: 'error',
  title: 'A line cannot be read',
  page: {
    means:
      'The line starts like a line of the language and then goes on in another way: something is missing, stands in the wrong place, or is too much. The message says what was expected. The rest of the file is read as if nothing were wrong.',
    why: 'A line that cannot be read is a height, a speed or a place that the plan does not have. Every leg that would need it is left out rather than guessed, so the glide home may be one of those without a number.',
    bad: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield 5200 ft MSL\n  finish   Ashmoor\n',
    good: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft MSL\n  finish   Ashmoor\n',
    turnDown: 'It is not turned down: mend the line, or put `#` before it.',
  },
  needs: 'problems',
  *line(line, context) {
    for (const problem of line.problems) {
      if (problem.kind === 'text-unclosed') {
        const text = shown(textAt(context.entry, problem.span));
        yield {
          at: context.at(problem.span),
          message: `${text} has no quotation mark at its end: write \`"\` where the text ends.`,
        };
      } else if (problem.kind === 'unexpected' || problem.kind === 'line-too-long') {
        if (toldOtherwise(problem, line, context)) continue;
        const way = lineWay(problem, line, context.entry);
        if (way) {
          yield { at: context.at(way.at), message: way.message };
        } else if (problem.kind === 'unexpected') {
          yield { at: context.at(problem.span), message: unexpected(problem, line, context) };
        } else {
          yield { at: context.at(problem.span), message: tooLong(problem, line, context) };
        }
      }
    }
  },
};
