import type { Span } from '../../grammar/syntax.ts';
import { countHidden } from '../plan/hidden.ts';
import { harmless } from '../plan/text.ts';
import { type Found, quoted, type Rule, textAt } from './rule.ts';

function* hiddenAt(text: string, what: string, found: () => Pick<Found, 'at'>): Iterable<Found> {
  const hidden = countHidden(text);
  if (hidden === 0) return;
  const one = hidden === 1;
  yield {
    ...found(),
    message: `${quoted(harmless(text))} holds ${one ? 'a character' : `${hidden} characters`} that nobody sees: ${what} is not what it looks like. Take ${one ? 'it' : 'them'} out.`,
  };
}

/** A name, a path or a remark with marks that are not seen, or that turn its letters round. */
export const nameDeceives: Rule = {
  code: 'name-deceives',
  severity: 'warning',
  title: 'A name holds characters that nobody sees',
  needs: 'hides',
  page: {
    means:
      'A name, a path, a note or a remark holds a character without width, or one that turns the writing round. The editor shows nothing of it, or shows the letters in another order.',
    why: 'Two fields may look alike in a review and be two: the task flies to the one that nobody looked at. A remark may be made to look like a line of the plan, and a line like a remark.',
    bad: 'turnpoint "Withy\u200B Bridge" at 47.3380 N 19.5240 E\n  elevation 140 m\n',
    good: 'turnpoint "Withy Bridge" at 47.3380 N 19.5240 E\n  elevation 140 m\n',
    turnDown: '`severity` in the settings turns it off.',
  },
  *line(line, context) {
    const spans: Span[] = [];
    for (const node of Object.values(line.slots))
      if (node?.kind === 'name' || node?.kind === 'text') spans.push(node.span);
    for (const span of spans) yield* hiddenAt(textAt(context.entry, span), 'it', () => ({ at: context.at(span) }));
  },
  *entry(context) {
    for (const { image, startOffset } of context.entry.comments) {
      const span = { start: startOffset, end: startOffset + image.length };
      yield* hiddenAt(image, 'the remark', () => ({ at: context.at(span) }));
    }
  },
};
