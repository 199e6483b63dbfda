import type { LineSyntax } from '../../grammar/syntax.ts';
import type { Form } from '../../grammar/vocabulary.ts';
import { quoted, type Rule, textAt } from './rule.ts';

/** A detail that stands twice where it may stand once. */
export const detailRepeated: Rule = {
  code: 'detail-repeated',
  severity: 'error',
  title: 'A detail stands more than once',
  needs: 'repeats',
  page: {
    means: 'The entry has this detail already, and it can have one only. What is computed is computed from the first.',
    why: 'Of two elevations one is wrong, and the plan does not say which. A reader who sees the second one only flies by another height than the plan.',
    bad: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n  elevation 210 m\n',
    good: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n',
    turnDown: 'It is not turned down: take all of the lines out but one.',
  },
  *entry({ entry, at }) {
    const firsts = new Map<Form, LineSyntax>();
    for (const line of entry.details) {
      const { form } = line;
      if (!form?.once) continue;
      const first = firsts.get(form);
      if (!first) {
        firsts.set(form, line);
        continue;
      }
      yield {
        at: at(line.keyword),
        message: `${quoted(form.id)} stands here again, and only the first one counts: ${quoted(textAt(entry, first.span))}. Take one of them out.`,
        related: [{ at: at(first.span), message: 'the first is written here' }],
      };
    }
  },
};
