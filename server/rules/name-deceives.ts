import { hiddenIn, isBlank, showHidden } from '../plan/hidden.ts';
import { harmless } from '../plan/text.ts';
import { type Found, quoted, type Rule, textAt } from './rule.ts';

function* hiddenAt(text: string, what: string, prose: boolean, found: () => Pick<Found, 'at'>): Iterable<Found> {
  const hidden = hiddenIn(text, prose);
  if (hidden.length === 0) return;
  const one = hidden.length === 1;
  const all = one ? 'a character' : `${hidden.length} characters`;
  const way = hidden.every(isBlank)
    ? [`${one ? 'looks' : 'look'} like a space`, 'Write a plain space']
    : [`nobody sees`, `Take ${one ? 'it' : 'them'} out`];
  yield {
    ...found(),
    message: `${quoted(harmless(showHidden(text, prose)))} holds ${all} that ${way[0]}: ${what} is not what it looks like. ${way[1]}.`,
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
      'A name, a path, a note or a remark holds a character without width, a blank letter, a control character, or one that turns the writing round; or a name or a path holds a space other than the usual one. The editor shows nothing of it, or shows the letters in another order.',
    why: 'Two fields may look alike in a review and be two: the task flies to the one that nobody looked at. A remark may be made to look like a line of the plan, and a line like a remark.',
    bad: 'turnpoint "Withy\u200B Bridge" at 47.3380 N 19.5240 E\n  elevation 140 m\n',
    good: 'turnpoint "Withy Bridge" at 47.3380 N 19.5240 E\n  elevation 140 m\n',
    turnDown: '`severity` in the settings turns it off.',
  },
  *line(line, context) {
    for (const node of Object.values(line.slots)) {
      if (node?.kind !== 'name' && node?.kind !== 'text') continue;
      const { span } = node;
      // In a note a space may be of any kind.
      const prose = line.form?.id === 'note';
      yield* hiddenAt(textAt(context.entry, span), 'it', prose, () => ({ at: context.at(span) }));
    }
  },
  *entry(context) {
    for (const { image, startOffset } of context.entry.comments) {
      const span = { start: startOffset, end: startOffset + image.length };
      yield* hiddenAt(image, 'the remark', true, () => ({ at: context.at(span) }));
    }
  },
};
