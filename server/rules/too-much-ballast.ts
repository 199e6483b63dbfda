import { aircraftRelated, eastTask, massesApart, SAME, unreadable } from './leg-words.ts';
import type { Rule } from './rule.ts';

const WREN = (ballast: string) => `aircraft Wren
  polar        48 kt sink 1.30 kt
  polar        60 kt sink 1.55 kt
  polar        90 kt sink 3.20 kt
  polar mass   360 kg
  empty mass   245 kg
  maximum mass 525 kg
  ballast up to ${ballast}
  vs           37 kt
  vne          140 kt
`;

/** More ballast than the aircraft takes. */
export const tooMuchBallast: Rule = {
  code: 'too-much-ballast',
  severity: 'error',
  title: 'The task takes more ballast than the aircraft holds',
  page: {
    means:
      'The ballast of the task is more than the line `ballast up to` of the aircraft allows, or the aircraft has no such line and so takes none.',
    why: 'Ballast that does not fit is not on board, and the glider is lighter and slower than its plan. Ballast that fits but is more than allowed bends the wings on the ground and moves the centre of gravity. The flight manual comes first.',
    bad: eastTask({ aircraft: 'Wren with pilot 82 kg and ballast 120 kg' }, WREN('100 kg')),
    good: eastTask({ aircraft: 'Wren with pilot 82 kg and ballast 90 kg' }, WREN('100 kg')),
    turnDown:
      'It is not turned off: take less, or write `ballast up to` where the flight manual allows more. `severity` in the settings can make it a warning, no less.',
  },
  *task({ evaluation, show, at }) {
    const { aircraft, task } = evaluation;
    const ballast = task.aircraft?.ballastKg;
    if (!aircraft || !ballast || ballast === 'unread' || ballast.value === 0) return;
    const { ballastMostKg: most, name } = aircraft.meaning;
    if (!most) {
      if (unreadable(aircraft.meaning, 'ballast up to')) return;
      yield {
        at: at(ballast.span),
        message: `${show.mass(ballast.value)} of ballast is taken in ${name}, which states none. Leave it out, or write \`ballast up to\` in the aircraft as its flight manual says.`,
        related: aircraftRelated(evaluation),
      };
      return;
    }
    if (ballast.value <= most.value + SAME) return;
    const { greater, less, by, excess } = massesApart(ballast.value, most.value, show);
    yield {
      at: at(ballast.span),
      message: `the ballast is ${by} too much: ${greater}, and ${name} takes up to ${less}. Take ${less} at most.`,
      excess,
      related: aircraftRelated(evaluation, most),
    };
  },
};
