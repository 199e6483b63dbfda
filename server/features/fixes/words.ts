/** Fixes for words: misspelt keywords, quotes that are missing, lines in the wrong column. */
import { indexOfEntry } from '../../../grammar/file.ts';
import { type EntrySyntax, type LineSyntax, linesOf, type SyntaxProblem } from '../../../grammar/syntax.ts';
import type { Token } from '../../../grammar/tokens.ts';
import { ENTRIES, entryForm } from '../../../grammar/vocabulary.ts';
import { withoutHidden } from '../../plan/hidden.ts';
import { nearest } from '../../plan/nearest.ts';
import { detailMeant, endingIn, saysWhere } from '../../rules/detail-words.ts';
import { type LineWay, instead as put, reads } from '../../rules/line-way.ts';
import { lineWay } from '../../rules/line-ways.ts';
import type { Finding } from '../../rules/rule.ts';
import { layoutOf, removeLine, replaceIn, rowAt, type Spot, spotOf } from './edit.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import { shownName, shownText } from './writing.ts';

interface LineSpot {
  readonly spot: Spot;
  readonly line: LineSyntax;
}

function lineOf({ at }: Finding, { workspace }: FixContext): LineSpot | undefined {
  const spot = spotOf(workspace, at.uri, at.entry);
  const line = linesOf(at.entry).find(({ span }) => span.start <= at.span.start && at.span.end <= span.end);
  return spot && line && { spot, line };
}

function problemOf<K extends SyntaxProblem['kind']>(
  line: LineSyntax,
  ...kinds: K[]
): Extract<SyntaxProblem, { kind: K }> | undefined {
  return line.problems.find((one): one is Extract<SyntaxProblem, { kind: K }> => kinds.includes(one.kind as K));
}

/** The words of a keyword instead of what stands there; the columns of the line are kept where there is room. */
function instead({ spot, line }: LineSpot, written: Token, words: string): Fix {
  const { text } = spot.placed.syntax;
  const end = written.startOffset + written.image.length;
  const next = line.tokens.find((tok) => tok.startOffset >= end);
  const gap = next ? text.slice(end, next.startOffset) : '';
  const spare = written.image.length + gap.length - words.length;
  const space = next && /^ +$/.test(gap) && gap.length > 1 ? ' '.repeat(Math.max(1, spare)) : gap;
  const span = { start: written.startOffset, end: end + gap.length };
  return { title: `Write ${shownText(words)}`, edits: [replaceIn(spot, span, words + space)] };
}

/** Whether something stands right before a place: what begins there is the rest of a word or of a value. */
function isRest({ placed }: Spot, start: number): boolean {
  return /\S/u.test(placed.syntax.text.charAt(start - 1));
}

/** The only one of several ways is the obvious one. */
const onlyOne = (fixes: readonly Fix[], safe = false): Fix[] =>
  fixes.length === 1 ? fixes.map((fix) => ({ ...fix, preferred: true, safe })) : [...fixes];

/** Whether at least half of the lines below a first line may stand in an entry of this keyword. */
function fits(keyword: string, { details }: EntrySyntax): boolean {
  const firsts = new Set(entryForm(keyword)?.details.map((detail) => detail.leading[0] as string));
  const known = details.filter(({ tokens }) => firsts.has(tokens[0]?.image.toLowerCase() ?? ''));
  return known.length * 2 >= details.length;
}

export const withoutMarks: Fixer = (finding, context) => {
  const { at } = finding;
  const spot = spotOf(context.workspace, at.uri, at.entry);
  if (!spot) return [];
  const line = lineOf(finding, context)?.line;
  const prose = !line || line.form?.id === 'note';
  const written = withoutHidden(at.entry.text.slice(at.span.start, at.span.end), prose);
  return [{ title: 'Take out what nobody sees', edits: [replaceIn(spot, at.span, written)], preferred: true }];
};

export const entryWord: Fixer = (finding, context) => {
  const at = lineOf(finding, context);
  const [written] = at?.line.tokens ?? [];
  if (!at || !written) return [];
  const words = nearest(
    written.image,
    ENTRIES.map(({ keyword }) => keyword).filter((keyword) => fits(keyword, finding.at.entry)),
  );
  if (words.length > 0)
    return onlyOne(
      words.map((word) => instead(at, written, word)),
      true,
    );
  // A detail of the entry above that lost its indentation, and a letter.
  const { syntax } = context.understood.file;
  const above = syntax.trees[indexOfEntry(syntax, finding.at.entry) - 1];
  const firsts = new Set(above?.form?.details.map((detail) => detail.leading[0] as string));
  return onlyOne(
    nearest(written.image, firsts, 1).map((word) => {
      const { indent } = layoutOf(above ?? finding.at.entry);
      const fix = instead(at, written, word);
      return {
        title: `Write ${shownText(word)}, a detail of the entry above`,
        edits: fix.edits.map((edit) => ({ ...edit, text: indent + edit.text })),
      };
    }),
  );
};

/** Coordinates in a line of their own, where the first line wants them and has none. */
function inFirstLine({ spot, line }: LineSpot, written: Token, entry: EntrySyntax): Fix[] {
  const { head, text } = entry;
  const coordinates = text.slice(written.startOffset + written.image.length, line.span.end).trim();
  if (!head || coordinates === '') return [];
  const end = { start: head.span.end, end: head.span.end };
  const behind = ` at ${coordinates}`;
  if (!reads(put(head, end, behind, entry), head, entry)) return [];
  const edits = [replaceIn(spot, end, behind), removeLine(spot, line)];
  return [{ title: 'Move the coordinates to the first line', edits, preferred: true, safe: true }];
}

export const detailWord: Fixer = (finding, context) => {
  const at = lineOf(finding, context);
  const problem = at && problemOf(at.line, 'detail-unknown');
  const [written] = at?.line.tokens ?? [];
  if (!at || !problem || !written) return [];
  const word = problem.found.toLowerCase();
  const isDetail = ENTRIES.some(({ details }) => details.some((detail) => detail.leading[0] === word));
  if (entryForm(word) && !isDetail) {
    const { start } = rowAt(at.spot.placed.syntax.text, written.startOffset);
    const edits = [replaceIn(at.spot, { start, end: written.startOffset }, '')];
    return [{ title: `Begin ${shownText(word)} in the first column`, edits, preferred: true }];
  }
  if (saysWhere(problem.entry, word)) return inFirstLine(at, written, finding.at.entry);
  const { details, keyword } = problem.entry;
  const meant = detailMeant(keyword, word);
  if (meant !== undefined) return onlyOne([instead(at, written, meant)]);
  const near = nearest(word, new Set(details.map((detail) => detail.leading[0] as string)));
  if (near.length === 0) return onlyOne(endingIn(problem.entry, word).map((id) => instead(at, written, id)));
  const ids = near.flatMap((first) => {
    const forms = details.filter((detail) => detail.leading[0] === first);
    // With several that begin so, the word alone is put right: what follows tells them apart.
    return forms.length === 1 && at.line.tokens.length === 1 ? [(forms[0] as { id: string }).id] : [first];
  });
  return onlyOne(
    ids.map((id) => instead(at, written, id)),
    true,
  );
};

export const indent: Fixer = (finding, context) => {
  const at = lineOf(finding, context);
  if (!at) return [];
  const { start } = at.line.span;
  const { indent: by } = layoutOf(finding.at.entry);
  const edits = [replaceIn(at.spot, { start, end: start }, by)];
  return [{ title: 'Indent the line', edits, preferred: true, safe: true }];
};

export const quoteKeyword: Fixer = (finding, { workspace }) => {
  const spot = spotOf(workspace, finding.at.uri, finding.at.entry);
  const text = finding.at.entry.text.slice(finding.at.span.start, finding.at.span.end);
  if (!spot) return [];
  const edits = [replaceIn(spot, finding.at.span, `"${text}"`)];
  return [{ title: `Put ${shownName(text)} in quotes`, edits, preferred: true, safe: true }];
};

/** The line as it was meant. */
function asMeant(
  { spot }: LineSpot,
  { ways, span, says, quotes, leavesOut, isGuess, inOtherNumbers, isSure = false }: LineWay,
): Fix[] {
  return ways.map((way) => {
    const titles = { name: `Put the name in quotes: ${shownName(way)}`, text: 'Put the text in quotes' };
    const write = leavesOut === undefined ? `Write ${shownText(way)}` : `Take out ${shownText(leavesOut)}`;
    return {
      title: quotes ? titles[quotes] : `${write}${says === undefined ? '' : `, ${says}`}`,
      edits: [replaceIn(spot, span, way)],
      preferred: ways.length === 1 && !isGuess,
      safe: isSure,
      inOtherNumbers: inOtherNumbers === true,
    };
  });
}

function* unexpected(at: LineSpot, problem: Extract<SyntaxProblem, { kind: 'unexpected' }>): Iterable<Fix> {
  const { spot, line } = at;
  const { expected, found, span } = problem;
  const written = line.tokens.find((tok) => tok.startOffset === span.start);
  if (!written) return;
  const words = [...expected.matchAll(/`([^`\s]+)/g)].map((match) => match[1] as string);
  const rested = isRest(spot, span.start);
  if (found !== undefined && !rested) {
    const near = nearest(found, words);
    if (near.length > 0) {
      yield* onlyOne(near.map((word) => instead(at, written, word)));
      return;
    }
  }
  // One word was wanted and is not there: it goes before what is, or to the end.
  const [word] = /^`([a-z±]+)`$/.test(expected) ? words : [];
  if (word !== undefined) {
    const where = found === undefined ? span.end : span.start;
    // A dash between two values, which is no sign of the second.
    const dash = word === 'to' ? (/^[-−–—]/u.exec(found ?? '')?.[0] ?? '') : '';
    if (found !== undefined && rested && dash === '') return;
    const text = found === undefined ? ` ${word}` : `${rested ? ' ' : ''}${word} `;
    const tail = dash !== '' && /\s/u.test(spot.placed.syntax.text.charAt(where + 1)) ? text.trimEnd() : text;
    const edits = [replaceIn(spot, { start: where, end: where + dash.length }, tail)];
    yield { title: `Put in ${shownText(word)}`, edits, preferred: true };
    return;
  }
}

/** A line that does not read as its keyword asks. */
export const readable: Fixer = function* (finding, context) {
  const at = lineOf(finding, context);
  if (!at) return;
  const { spot, line } = at;
  const unclosed = problemOf(line, 'text-unclosed');
  if (unclosed) {
    const text = spot.placed.syntax.text.slice(unclosed.span.start, unclosed.span.end);
    const end = unclosed.span.start + text.trimEnd().length;
    const edits = [replaceIn(spot, { start: end, end }, '"')];
    yield { title: 'Close the quotes at the end of the line', edits, preferred: true };
    return;
  }
  const problem = problemOf(line, 'unexpected', 'line-too-long');
  const way = problem && lineWay(problem, line, finding.at.entry);
  if (way) {
    if (way.takesOut) yield { title: 'Take the line out', edits: [removeLine(spot, line)], preferred: true };
    yield* asMeant(at, way);
    return;
  }
  if (problem?.kind === 'unexpected') yield* unexpected(at, problem);
  if (problem?.kind === 'line-too-long' && !isRest(spot, problem.span.start)) {
    const start = problem.span.start;
    const edits = [replaceIn(spot, { start, end: start }, '# ')];
    yield { title: 'Make the rest of the line a remark', edits, onlyWhenRight: true };
  }
};
