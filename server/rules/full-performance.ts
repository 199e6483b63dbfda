import { eastTask, unreadable } from './leg-words.ts';
import type { Rule } from './rule.ts';

const BARE = (more: string) => `reserve Bare
  arrive    1000 ft AGL
  turn      1500 ft AGL
  altimeter 150 ft
${more}`;

/** A reserve that plans on the whole polar. */
export const fullPerformance: Rule = {
  code: 'full-performance',
  severity: 'warning',
  title: 'The whole polar is planned on',
  page: {
    means:
      'The reserve of the task has no `performance`, or one of 100 %: every glide is computed with the polar as it was measured.',
    why: 'A polar is flown by a test pilot in still air with a clean, sealed glider. With bugs, rain, a turn to look and air that sinks here and there, nobody gets its glide over 20 km. Planning on clearly less than the best glide is common practice; clubs ask for half to three quarters of it.',
    bad: eastTask({ reserve: 'Bare' }, BARE('')),
    good: eastTask({ reserve: 'Bare' }, BARE('  performance 70 %\n')),
    turnDown:
      'Write `performance` in the reserve, such as `70 %` or `20:1`. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *task({ evaluation, at }) {
    const { reserve, task, share } = evaluation;
    if (!reserve || !task.reserve || unreadable(reserve.meaning, 'performance')) return;
    const { name, performance } = reserve.meaning;
    if (performance && (share === undefined || share < 1)) return;
    yield {
      at: at(task.reserve.name?.span ?? task.reserve.line.span),
      message: `the whole polar is planned on: ${performance ? `${name} asks for all of it` : `${name} has no \`performance\``}. Plan on clearly less than the best glide, as is common practice, such as \`performance 70 %\`.`,
      related: [
        performance
          ? { at: { ...reserve.at, span: performance.line.span }, message: 'how much of the polar is planned on' }
          : { at: reserve.at, message: `the reserve, ${name}` },
      ],
    };
  },
};
