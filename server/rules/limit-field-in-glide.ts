import { eastTask } from './leg-words.ts';
import { AGREED, limitRelated } from './limit-words.ts';
import { fieldMissing } from './no-field-in-glide.ts';
import type { Rule } from './rule.ts';

const BARROW = `limits Solo
  field in glide

turnpoint "Long Barrow" at 47.1000 N 19.6200 E
  elevation 130 m
`;
const STRIP = `
field "Barrow Strip" at 47.1150 N 19.6000 E
  elevation 135 m
  runway    07/25 600 m surface grass
`;
const viaBarrow = (entries: string) =>
  eastTask({ limits: 'Solo', turn: '"Long Barrow"' }, entries).replace(
    '  finish',
    '  climb    to 5600 ft MSL\n  finish',
  );

/** A leg on which no field is in reach, where the limits ask for one everywhere. */
export const limitFieldInGlide: Rule = {
  code: 'limit-field-in-glide',
  severity: 'error',
  title: 'On a part of a leg no field is in reach, and the limits of the task ask for one',
  page: {
    means:
      'The limits have a line `field in glide`: from every point of every leg the best glide over the ground reaches some field with the height that it asks. On this stretch it reaches none. Without such a limit it is the warning `no-field-in-glide`, whose page says what is counted.',
    why: 'A pilot who has not landed out yet is not to learn it on the day on which the climb did not come.',
    bad: viaBarrow(BARROW),
    good: viaBarrow(`${BARROW}${STRIP}`),
    turnDown: AGREED,
  },
  *leg(leg, context) {
    const [limits] = context.evaluation.limits.filter(({ meaning }) => meaning.fieldInGlide);
    const line = limits?.meaning.fieldInGlide;
    if (!limits || !line) return;
    for (const found of fieldMissing(leg, context)) {
      yield {
        ...found,
        message: `${found.message} ${limits.meaning.name} asks for one everywhere.`,
        related: [...limitRelated(limits, line), ...(found.related ?? [])],
      };
    }
  },
};
