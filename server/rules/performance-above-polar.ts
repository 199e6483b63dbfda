import { bestGlideRatio } from '../flight/index.ts';
import { number } from '../plan/show.ts';
import { aircraftRelated, eastTask } from './leg-words.ts';
import type { Rule } from './rule.ts';

const HOPEFUL = (performance: string) => `reserve Hopeful
  arrive      1000 ft AGL
  turn        1500 ft AGL
  performance ${performance}
  altimeter   150 ft
`;

/** A glide ratio planned on that the aircraft does not have. */
export const performanceAbovePolar: Rule = {
  code: 'performance-above-polar',
  severity: 'error',
  title: 'The reserve plans on a better glide than the polar has',
  page: {
    means:
      'The line `performance` of the reserve gives a glide ratio above the best glide of the aircraft of this task. Nothing is computed with it.',
    why: 'A ratio that fits one glider of the fleet is out of reach of another. A plan that counts on 40:1 in a glider of 32:1 ends a fifth of the way before the field.',
    bad: eastTask({ reserve: 'Hopeful' }, HOPEFUL('40:1')),
    good: eastTask({ reserve: 'Hopeful' }, HOPEFUL('20:1')),
    turnDown:
      'It is not turned off: write a lower ratio, or a share such as `70 %`, which holds for every aircraft. `severity` in the settings can make it a warning, no less.',
  },
  *task({ evaluation, at }) {
    const { reserve, aircraft, task } = evaluation;
    const performance = reserve?.meaning.performance;
    const polar = aircraft?.meaning.polar;
    if (!reserve || !task.reserve || performance?.value.kind !== 'ratio' || polar?.kind !== 'polar') return;
    const best = bestGlideRatio(polar.polar);
    const { ratio } = performance.value;
    if (ratio <= best) return;
    const written = { ...reserve.at, span: performance.span };
    const here = reserve.at.uri === evaluation.uri;
    const asked = number(ratio, Number.isInteger(ratio) ? 0 : 1, 'up');
    const name = aircraft?.meaning.name;
    yield {
      at: here ? written : at(task.reserve.name?.span ?? task.reserve.line.span),
      message: `${asked}:1 is asked of ${name} in task ${task.name}, and its polar has ${number(best, 1, 'down')}:1 at best. Plan on clearly less than that, or write a share such as \`performance 70 %\`.`,
      related: [
        ...(here ? [] : [{ at: written, message: 'the glide ratio that is planned on' }]),
        ...aircraftRelated(evaluation, polar),
      ],
    };
  },
};
