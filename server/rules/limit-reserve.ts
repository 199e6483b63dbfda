import { shareForRatio } from '../flight/index.ts';
import type { Reserve } from '../plan/meaning.ts';
import { number, type Show } from '../plan/show.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import { eastTask, SAME, unreadable } from './leg-words.ts';
import { AGREED, limitRelated, notChecked } from './limit-words.ts';
import type { Rule } from './rule.ts';

const TWO = `limits Solo
  reserve at least Training

reserve Bold
  arrive      600 ft AGL
  turn        1500 ft AGL
  clear       500 ft
  performance 80 %
  altimeter   150 ft
`;

type Performance = NonNullable<Reserve['performance']>['value'];

function performanceText(value: Performance | undefined): string {
  if (!value) return 'the whole polar';
  return value.kind === 'ratio' ? `${number(value.ratio, 1)}:1` : `${number(value.share * 100)} %`;
}

/** Whether one plans on more of the polar than the other; undefined where they do not compare without it. */
function plansOnMore(
  one: Performance | undefined,
  other: Performance,
  { aircraft }: TaskEvaluation,
): boolean | undefined {
  if (one?.kind === 'ratio' && other.kind === 'ratio') return one.ratio > other.ratio + SAME;
  const polar = aircraft?.meaning.polar;
  const share = (value: Performance | undefined): number | undefined => {
    if (!value) return 1;
    if (value.kind === 'share') return value.share;
    return polar?.kind === 'polar' ? shareForRatio(value.ratio, polar.polar) : undefined;
  };
  const [a, b] = [share(one), share(other)];
  return a === undefined || b === undefined ? undefined : a > b + SAME;
}

/** What a reserve keeps less of than another: `arrive 600 ft, 1,000 ft asked`. */
function less(own: Reserve, asked: Reserve, evaluation: TaskEvaluation, show: Show): string[] {
  const found: string[] = [];
  const heights = [
    ['arrive', own.arriveM, asked.arriveM],
    ['turn', own.turnM, asked.turnM],
    ['clear', own.clearM, asked.clearM],
    ['altimeter', own.altimeterM, asked.altimeterM],
  ] as const;
  for (const [detail, has, wants] of heights) {
    if (!wants || unreadable(own, detail) || (has?.value ?? 0) >= wants.value - SAME) continue;
    found.push(
      `${detail} ${has ? show.height(has.value, 'down') : 'nothing'}, ${show.height(wants.value, 'up')} asked`,
    );
  }
  const performance = asked.performance?.value;
  if (performance && !unreadable(own, 'performance')) {
    const has = own.performance?.value;
    if (plansOnMore(has, performance, evaluation) === true)
      found.push(`performance ${performanceText(has)}, ${performanceText(performance)} asked`);
  }
  return found;
}

/** A reserve that keeps less than the limits of the task ask. */
export const limitReserve: Rule = {
  code: 'limit-reserve',
  severity: 'error',
  title: 'The reserve keeps less than the limits of the task ask',
  page: {
    means:
      'The limits ask for a reserve that is at least as strict as one that they name, and the reserve of the task is less strict in one of `arrive`, `turn`, `clear`, `performance` and `altimeter`. What the limits leave open may be anything.',
    why: 'A task that keeps every height of its reserve is as safe as that reserve. Which one a pilot may plan with is for the club to say, not for the day on which the way home is long.',
    bad: eastTask({ limits: 'Solo', reserve: 'Bold' }, TWO),
    good: eastTask({ limits: 'Solo' }, TWO),
    turnDown: AGREED,
  },
  *task(context) {
    const { evaluation, show } = context;
    const { reserve, task } = evaluation;
    const seen = new Set<Reserve>();
    for (const limits of evaluation.limits) {
      const limit = limits.meaning.reserve;
      if (!limit) continue;
      const asked = limits.leastReserve;
      if (!asked) {
        const why = `no reserve \`${limit.name.text}\` is known.`;
        yield notChecked(limits, limit.line, why, context);
        continue;
      }
      if (!reserve || reserve.meaning === asked.meaning || seen.has(asked.meaning)) continue;
      seen.add(asked.meaning);
      const short = less(reserve.meaning, asked.meaning, evaluation, show);
      if (short.length === 0) continue;
      yield {
        at: context.at(task.reserve?.name?.span ?? (task.reserve?.line ?? evaluation.entry).span),
        message: `the reserve ${reserve.meaning.name} keeps less than ${asked.meaning.name}, the least that ${limits.meaning.name} allows: ${short.join('; ')}. Name ${asked.meaning.name}, or a stricter one.`,
        related: [
          ...limitRelated(limits, limit.line),
          { at: reserve.at, message: `the reserve, ${reserve.meaning.name}` },
          { at: asked.at, message: `the least reserve, ${asked.meaning.name}` },
        ],
        meets: `reserve ${asked.meaning.name}`,
      };
    }
  },
};
