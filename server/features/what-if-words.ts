/** The answers of a what-if in words: rounded on the safe side, tried at what they are rounded to, and said where there is none. */
import { fromSi, toSi, type Unit } from '../../grammar/units.ts';
import { evaluateLeg } from '../flight/index.ts';
import { marginText } from '../plan/budget-rows.ts';
import type { Show } from '../plan/show.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import { harmless } from '../plan/text.ts';
import type { WhatIfChanges } from '../plan/what-if.ts';
import {
  type Answers,
  answersOf,
  type HeadwindAnswer,
  type HeightAnswer,
  MOST_HEADWIND_MPS,
  makesItIn,
  type NoAnswer,
  type SpeedAnswer,
} from '../plan/what-if-answers.ts';
import { LEAST_OVER_VS } from '../rules/leg-words.ts';
import { stepped } from './fixes/writing.ts';

/** One answer: a number in SI, rounded on the safe side, and a sentence. */
export interface AnswerSaid {
  readonly kind: 'headwind' | 'height' | 'speed';
  /** The leg, from 1; null for the whole task. */
  readonly leg: number | null;
  /** m/s, or m above the sea; null where there is none. */
  readonly value: number | null;
  /** What it answers: `Highest headwind on leg 4 to Larkfield`. */
  readonly question: string;
  /** `7 kt more than planned`, or why there is none. */
  readonly text: string;
  /** What makes it so, where there is a change for it. */
  readonly changes: WhatIfChanges | null;
}

const name = (text: string): string => harmless(text) || '?';

/** Why there is no answer, as a clause. */
function noneText(none: NoAnswer, leg: number | null, task: TaskEvaluation, with_: Show): string {
  const of = task.legs[(leg ?? 1) - 1];
  const what = of ? `leg ${of.number} to ${name(of.toName)}` : 'the leg';
  switch (none) {
    case 'short':
      return `none: ${what} arrives too low as it is (margin ${of ? marginText(of, with_) : '–'})`;
    case 'not computed':
      return `none: ${what} is not computed${of?.cause ? `, since ${of.cause.text}` : ''}`;
    case 'no headway':
      return `none: ${what} makes no headway`;
    case 'soared':
      return `none: ${what} is soared, so it climbs as often as it must`;
    case 'no limit':
      return `none found: it still makes it in ${with_.speed(MOST_HEADWIND_MPS, 'down')} more`;
  }
}

const speedStep = ({ text }: Unit): number => (text === 'm/s' ? 0.1 : 1);

/** A speed rounded down to what is shown, or a step or two further down, where it holds; undefined where none does. */
function downTo(mps: number, unit: Unit, holds: (mps: number) => boolean): number | undefined {
  const step = speedStep(unit);
  const rounded = stepped(mps, unit, step, 'down');
  for (let i = 0; i < 3; i += 1) {
    const value = rounded - i * step;
    if (value < 0) return undefined;
    if (holds(toSi(value, unit))) return toSi(value, unit);
  }
  return undefined;
}

function headwind(answer: HeadwindAnswer, task: TaskEvaluation, with_: Show): AnswerSaid {
  const { leg, moreMps, limit, none } = answer;
  const of = leg === null ? undefined : task.legs[leg - 1];
  const where = of ? `on leg ${of.number} to ${name(of.toName)}` : 'on every leg at once';
  const said = {
    kind: 'headwind' as const,
    leg,
    question: `Highest headwind ${where}, on top of the planned wind`,
    changes: null,
  };
  if (moreMps === null) return { ...said, value: null, text: noneText(none ?? 'not computed', limit, task, with_) };
  const value = downTo(moreMps, with_.units.speed, (mps) => makesItIn(task, leg, mps));
  if (value === undefined) return { ...said, value: null, text: 'none to spare' };
  const by =
    limit === null || limit === leg
      ? ''
      : `; leg ${limit} to ${name(task.legs[limit - 1]?.toName ?? '')} is the first to arrive too low`;
  return { ...said, value, text: `${with_.speed(value)} more${by}` };
}

function height(answer: HeightAnswer, task: TaskEvaluation, with_: Show): AnswerSaid {
  const { leg, from, afterM, altitudeM, plannedM, limit, none } = answer;
  const behind = afterM === null ? '' : `, ${with_.distance(afterM)} behind it`;
  const said = {
    kind: 'height' as const,
    leg,
    question: `Lowest height to leave ${name(from)}${behind}`,
    changes: null,
  };
  if (altitudeM === null) return { ...said, value: null, text: noneText(none ?? 'not computed', leg, task, with_) };
  const unit = with_.units.altitude;
  const value = toSi(stepped(altitudeM, unit, 1, 'up'), unit);
  const planned = plannedM === null ? '' : `, ${with_.altitude(plannedM, 'down')} planned`;
  const by = limit === leg ? '' : `; it is leg ${limit} to ${name(task.legs[limit - 1]?.toName ?? '')} that asks it`;
  const isStart = leg === 1 && afterM === null && task.legs[0]?.heightLine === task.start?.line;
  return {
    ...said,
    value,
    text: `${with_.altitude(value)}${planned}${by}`,
    changes: isStart ? { startAltitudeM: value } : null,
  };
}

function speed(answer: SpeedAnswer, task: TaskEvaluation, with_: Show): AnswerSaid {
  const { leg, to, indicatedMps, none } = answer;
  const said = { kind: 'speed' as const, leg, question: `Fastest speed home, on leg ${leg} to ${name(to)}` };
  const of = task.legs[leg - 1];
  const { input } = of ?? {};
  if (indicatedMps === null || !of || !input)
    return { ...said, value: null, changes: null, text: noneText(none ?? 'not computed', leg, task, with_) };
  const { limits } = input;
  const marginAt = (mps: number): number => {
    const result = evaluateLeg({ ...input, speed: { kind: 'indicated', indicatedMps: mps } });
    return result.problem === null ? result.marginM : -Infinity;
  };
  const value = downTo(indicatedMps, with_.units.speed, (mps) => marginAt(mps) >= 0);
  const least = LEAST_OVER_VS * limits.vsMps;
  if (value === undefined || value < least) {
    const text = `none: only below ${with_.speed(least, 'up')}, too near the stalling speed`;
    return { ...said, value: null, changes: null, text };
  }
  const unit = with_.units.altitude;
  const left = Math.floor(fromSi(marginAt(value), unit) + 1e-6);
  const why =
    answer.capped === null
      ? ''
      : `, the ${answer.capped === 'vno' ? 'highest speed in rough air (vno)' : 'speed never to exceed (vne)'}, with ${with_.height(toSi(left, unit), 'down')} left`;
  return {
    ...said,
    value,
    text: `${with_.speed(value)}${why}`,
    changes: { speeds: [{ leg, speed: { kind: 'indicated', indicatedMps: value } }] },
  };
}

/** Every answer for a task, in words. */
export function answersSaid(task: TaskEvaluation, with_: Show, answers: Answers = answersOf(task)): AnswerSaid[] {
  return [
    ...answers.headwinds.map((one) => headwind(one, task, with_)),
    ...answers.heights.map((one) => height(one, task, with_)),
    ...(answers.fastest ? [speed(answers.fastest, task, with_)] : []),
  ];
}

/** How the answers are meant, for the reader. */
export const ANSWERS_MEAN =
  'A headwind is wind on top of the planned one, the same at every height, straight against the course of each leg at its start, the heights to leave at as planned. The lowest height is that with which the leg, and those behind it up to the next climb, arrive with what is asked, at the speeds planned. The fastest speed is indicated, from the height planned. Speeds are rounded down, heights up.';
