import { aircraftRelated, eastTask, massesUp } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A task without a pilot. */
export const massAssumed: Rule = {
  code: 'mass-assumed',
  severity: 'info',
  title: 'The mass of the polar is assumed',
  page: {
    means:
      'The task does not say what the pilot weighs, so the mass for which the polar holds is flown, with the ballast on top. Neither the weight of the pilot nor the maximum mass can be checked in full.',
    why: 'Mass moves the polar along its speeds: with more of it the best glide is flown faster, and with less of it slower. Worse, a pilot who is too light or a glider that is too heavy stays unseen.',
    bad: eastTask({ aircraft: 'Finch' }),
    good: eastTask(),
    turnDown: 'Write `with pilot` and the mass. `severity` in the settings can make it a hint, or turn it off.',
  },
  *task({ evaluation, show, at }) {
    const { aircraft, task, massAssumed } = evaluation;
    const polarMassKg = aircraft?.meaning.polarMassKg;
    if (!massAssumed || !task.aircraft || !polarMassKg) return;
    const { ballastKg, name, line } = task.aircraft;
    const ballast = ballastKg && ballastKg !== 'unread' && ballastKg.value > 0 ? [ballastKg.value] : [];
    const { texts, total } = massesUp([polarMassKg.value, ...ballast], show);
    const terms =
      ballast.length > 0 ? `: ${texts[0]}, the mass of the polar, + ${texts[1]} ballast` : ', the mass of the polar';
    yield {
      at: at(name?.span ?? line.span),
      message: `${total} is assumed${terms}, since the task names no pilot. Write \`with pilot\` and the mass of the pilot behind the aircraft.`,
      related: aircraftRelated(evaluation, polarMassKg),
    };
  },
};
