import type { PolarProblem, PolarRefusal } from '../flight/index.ts';
import { number, type Show } from '../plan/show.ts';
import { exampleAircraft, sinkText } from './leg-words.ts';
import type { Rule } from './rule.ts';

function reason(refusal: PolarRefusal | PolarProblem, points: boolean, show: Show): string {
  if ('refused' in refusal) {
    switch (refusal.refused) {
      case 'too-few-speeds':
        return `it is given at ${refusal.distinctSpeeds === 1 ? '1 speed' : `${refusal.distinctSpeeds} different speeds`}, and a curve needs 3. Add points at other speeds, or give \`best glide\` and \`minimum sink\` instead.`;
      case 'not-positive':
        return 'a speed, a sink or the polar mass is not above zero. Correct that number.';
      case 'minimum-sink-not-below-best-glide-sink':
        return `its minimum sink of ${sinkText(refusal.minimumSinkMps, show)} is not below the sink at best glide, ${sinkText(refusal.bestGlideSinkMps, show)} (the speed divided by the ratio). Check these figures and their units.`;
      case 'minimum-sink-at-most-half-best-glide-sink':
        return `its minimum sink of ${sinkText(refusal.minimumSinkMps, show)} is no more than half of the sink at best glide, ${sinkText(refusal.bestGlideSinkMps, show)} (the speed divided by the ratio), and no curve has both. Check these figures and their units.`;
    }
  }
  const check = points
    ? 'Check the points and their units for a slip.'
    : 'Check the figures and their units for a slip.';
  switch (refusal.reason) {
    case 'curves-down':
      return `the curve through its points bends down, so that the faster the glider flies, the less its sink grows. ${check}`;
    case 'sink-not-positive':
      return `at ${show.speed(refusal.atSpeedMps)} its curve ${refusal.sinkMps < 0 ? `climbs at ${sinkText(-refusal.sinkMps, show)}` : 'does not sink'}, and a glider in still air sinks at every speed. ${check}`;
    case 'best-glide-below-vs':
      if (refusal.bestGlideSpeedMps === 0) return `its curve has no best glide at any speed. ${check}`;
      return `its best glide lies at ${show.speed(refusal.bestGlideSpeedMps, 'down')}, below the stall at ${show.speed(refusal.vsMps, 'up')}. ${check}`;
    case 'best-glide-above-vne':
      return `its best glide lies at ${show.speed(refusal.bestGlideSpeedMps, 'up')}, above the ${show.speed(refusal.vneMps, 'down')} never to exceed. ${check}`;
    case 'too-good':
      return `its best glide is ${number(refusal.ratio, 0, 'up')}:1, and no glider is better than ${refusal.highestRatio}:1. ${check}`;
  }
}

/** A polar that no glider can have. */
export const polarRefused: Rule = {
  code: 'polar-refused',
  severity: 'error',
  title: 'The polar cannot be that of a glider',
  page: {
    means:
      'The points or handbook figures of this aircraft make no curve, or one that no glider has: it does not sink, bends down, has its best glide outside the speeds that may be flown, or glides better than any glider.',
    why: 'Every height of every task with this aircraft comes out of the polar. One digit swapped, or a sink in m/s that was read off in kt, and all of them are wrong in a way that looks right; so none is computed.',
    bad: exampleAircraft(['polar 42 kt sink 1.35 kt', 'polar 60 kt sink 2.05 kt', 'polar 80 kt sink 0.37 kt']),
    good: exampleAircraft(['polar 42 kt sink 1.35 kt', 'polar 60 kt sink 2.05 kt', 'polar 80 kt sink 3.70 kt']),
    turnDown: 'It is not turned down: without a polar nothing is computed. Take the numbers from the flight manual.',
  },
  needs: 'aircraft',
  *entry({ meaning, show, at }) {
    if (meaning.kind !== 'aircraft' || meaning.polar.kind !== 'refused') return;
    const { refusal, source, line } = meaning.polar;
    // Too few points are told as missing details.
    if ('refused' in refusal && refusal.refused === 'too-few-speeds' && meaning.points.length < 3) return;
    yield {
      at: at(line.span),
      message: `the polar of ${meaning.name} is refused: ${reason(refusal, source === 'points', show)}`,
    };
  },
};
