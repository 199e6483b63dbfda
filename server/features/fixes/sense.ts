/** Fixes for values that make no sense, where it is plain what was meant. */
import type { LineSyntax, Span } from '../../../grammar/syntax.ts';
import type { Meaning } from '../../plan/meaning.ts';
import { nearest } from '../../plan/nearest.ts';
import type { Finding } from '../../rules/rule.ts';
import { removeLine, replaceIn, type Spot, spotOf } from './edit.ts';
import { faultBehind } from './faults.ts';
import { type Fix, type FixContext, type Fixer, meaningAt } from './fix.ts';
import { shownText } from './writing.ts';

const OTHER_LETTER: Readonly<Record<string, string>> = { N: 'S', S: 'N', E: 'W', W: 'E' };
const OTHER_SIDE: Readonly<Record<string, string>> = { L: 'R', R: 'L', C: 'C', '': '' };

/** The number of the other end of a runway: half a circle away. */
function opposite(end: number): number {
  return end > 18 ? end - 18 : end + 18;
}

function* ofFault(finding: Finding, context: FixContext): Iterable<Fix> {
  const at = faultBehind('value-out-of-sense', finding, context);
  if (!at) return;
  const { spot, found } = at;
  const { node, slot, fault } = found;
  const write = (span: Span, text: string, preferred = false): Fix => ({
    title: `Write ${shownText(text)}`,
    edits: [replaceIn(spot, span, text)],
    preferred,
  });
  if (node.kind === 'runway') {
    const [one, other] = node.ends;
    const is = (end: number) => Number.isInteger(end) && end >= 1 && end <= 36;
    if (!one || !other) return;
    const two = (end: number, letter: string) => `${String(end).padStart(2, '0')}${letter}`;
    const ways = [
      ...(is(one.number) ? [`${one.text}/${two(opposite(one.number), OTHER_SIDE[one.letter] ?? '')}`] : []),
      ...(is(other.number) ? [`${two(opposite(other.number), OTHER_SIDE[other.letter] ?? '')}/${other.text}`] : []),
    ];
    // A number that goes is for the pilot to judge, be it the only way.
    yield* [...new Set(ways)].map((text) => write(node.span, text));
  } else if (node.kind === 'coordinates') {
    const angle = [node.first, node.second].find((one) => one?.span.start === fault.span.start);
    if (!angle || (angle.value ?? 0) >= 0) return;
    const { text } = spot.placed.syntax;
    const bare = text.slice(angle.span.start, angle.span.end).replace(/^[-−+]/, '');
    const letter = angle.hemisphere?.text.toUpperCase() ?? '';
    const letterAt = bare.length - (angle.hemisphere?.text.length ?? 0);
    yield write(angle.span, bare);
    if (OTHER_LETTER[letter]) yield write(angle.span, bare.slice(0, letterAt) + OTHER_LETTER[letter]);
  } else if (node.kind === 'word') {
    const near = nearest(node.text, slot.of ?? []);
    const ways = near.length > 0 ? near : (slot.of ?? []);
    yield* ways.map((text) => write(node.span, text, ways.length === 1));
  }
}

/** Two values of a line that stand in the wrong order. */
function swapped(spot: Spot, line: LineSyntax, one: string, other: string): Fix | undefined {
  const [a, b] = [line.slots[one], line.slots[other]];
  if (!a || !b) return undefined;
  const { text } = spot.placed.syntax;
  const edits = [
    replaceIn(spot, a.span, text.slice(b.span.start, b.span.end)),
    replaceIn(spot, b.span, text.slice(a.span.start, a.span.end)),
  ];
  return { title: 'Write the lower one first', edits, preferred: true };
}

function* acrossValues(meaning: Meaning, spot: Spot, { at }: Finding): Iterable<Fix> {
  const within = ({ span }: LineSyntax) => span.start <= at.span.start && at.span.end <= span.end;
  if (meaning.kind === 'aircraft' && meaning.pilot && within(meaning.pilot.line)) {
    const fix = swapped(spot, meaning.pilot.line, 'least', 'most');
    if (fix) yield fix;
  } else if (meaning.kind === 'weather') {
    const wind = meaning.winds.find(({ line }) => within(line));
    if (wind) yield { title: 'Take this wind out', edits: [removeLine(spot, wind.line)], preferred: true };
    if (meaning.thermals && within(meaning.thermals.line)) {
      const fix = swapped(spot, meaning.thermals.line, 'from', 'to');
      if (fix) yield { ...fix, title: 'Write the earlier time first' };
    }
  } else if (meaning.kind === 'task') {
    const climb = meaning.itinerary.find(({ kind, line }) => kind === 'climb' && within(line));
    const isAltitude = climb?.line.slots['altitude']?.span.start === at.span.start;
    if (climb && isAltitude)
      yield { title: 'Take the climb out', edits: [removeLine(spot, climb.line)], preferred: true };
  }
}

export const sensible: Fixer = function* (finding, context) {
  const { at } = finding;
  const spot = spotOf(context.workspace, at.uri, at.entry);
  const meaning = meaningAt(finding, context);
  if (!spot || !meaning) return;
  const ways = [...ofFault(finding, context)];
  if (ways.length > 0) yield* ways;
  else yield* acrossValues(meaning, spot, finding);
};
