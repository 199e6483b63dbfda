import { HIGHEST_GLIDE_M } from '../flight/index.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { aboveTheDay, countedFrom, eastTask, heightsApart, legName, legPlace } from './leg-words.ts';
import { closestFields, higherFor, missingIn, partsText, stretchesTold, worstOf } from './reach-words.ts';
import { type Found, quoted, type Related, type Rule, type TaskContext } from './rule.ts';

/** Fields that cannot be counted, as some number in them cannot be read: what is not known may be in reach. */
function uncounted({ surroundings }: TaskEvaluation): Related[] {
  const { unreadFields } = surroundings;
  const [first] = unreadFields;
  if (!first) return [];
  const others = unreadFields.length - 1;
  const more = others === 0 ? '' : ` and ${others} more`;
  return [
    {
      at: first.at,
      message: `${quoted(first.meaning.name)}${more} cannot be counted: its place or the height that it asks is not known`,
    },
  ];
}

const BARROW = `turnpoint "Long Barrow" at 47.1000 N 19.6200 E
  elevation 130 m
`;
const STRIP = `
field "Barrow Strip" at 47.1150 N 19.6000 E
  elevation 135 m
  runway    07/25 600 m surface grass
`;
const viaBarrow = (entries: string) =>
  eastTask({ turn: '"Long Barrow"' }, entries).replace('  finish', '  climb    to 5600 ft MSL\n  finish');

/** What is told of the stretches of a leg from which no field is in reach. */
export function* fieldMissing(leg: LegEvaluation, context: TaskContext): Iterable<Found> {
  const { show, evaluation } = context;
  const stretches = stretchesTold(leg, context);
  const worst = worstOf(stretches);
  if (!worst) return;
  const { length, between } = partsText(stretches, leg.result?.distanceM, show);
  const part = between[stretches.indexOf(worst)];
  const where =
    stretches.length === 1
      ? `from ${part} after ${leg.fromName}`
      : `in ${stretches.length} stretches, the worst from ${part} after ${leg.fromName}`;
  const { least, xM, altitudeM } = worst.worst;
  let missing = ` No field can be reached from ${show.altitude(HIGHEST_GLIDE_M, 'down')} or below`;
  if (least) {
    const { greater, less, by } = heightsApart(least.requiredM, altitudeM, show);
    missing = ` At ${show.distance(xM)} ${by} are missing to ${least.field.meaning.name}: ${less} MSL planned, ${greater} MSL asked`;
  } else if (evaluation.surroundings.fields.length === 0) missing = ' No field is known';
  const departM = higherFor(leg, stretches, context);
  const way =
    departM === undefined
      ? missingIn(worst) === Infinity
        ? 'Go round by a field, or write the one that is missing'
        : 'Climb before it, or go round by a field'
      : `Leave ${leg.fromName} at ${show.altitude(departM)}${aboveTheDay(departM, context)}, or go round by a field`;
  yield {
    at: legPlace(leg, context),
    message: `no field is in reach for ${length} of ${legName(leg)}, ${where}${countedFrom(leg, show)}.${missing}. ${way}.`,
    related: [...closestFields(stretches, context), ...uncounted(evaluation)],
    excess: { of: 'height', si: missingIn(worst) },
  };
}

/** A stretch of a leg from which no field is in reach. */
export const noFieldInGlide: Rule = {
  code: 'no-field-in-glide',
  severity: 'warning',
  title: 'On a part of a leg no field is in reach',
  page: {
    means:
      "On this stretch of the leg, at the height planned there, the best glide over the ground reaches no field with the height that it asks: elevation, the higher of the reserve's and its own arrival height, and the altimeter allowance, with the planned share of the polar and the wind. Every field of the file and of the files that it uses counts, whether the task names it or not. A leg that arrives over a field too low is told by `below-reserve`, and the stretch at its end is not told again.",
    why: 'Stay within reach of a place to land at every moment, without counting on another climb: the handbooks say it on the first page about flying away from home. On this stretch a climb that does not come means a landing in whatever lies below.',
    bad: viaBarrow(BARROW),
    good: viaBarrow(`${BARROW}${STRIP}`),
    turnDown:
      'Leave higher, climb on the way, go round by a field, or write the field that is missing. `severity` in the settings can make it an info or a hint, or turn it off; where a club asks for `field in glide`, `limit-field-in-glide` tells it as an error.',
  },
  *leg(leg, context) {
    if (!context.evaluation.limits.some(({ meaning }) => meaning.fieldInGlide)) yield* fieldMissing(leg, context);
  },
};
