import { aircraftRelated, eastTask, massesApart, SAME } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A pilot lighter or heavier than the aircraft takes. */
export const pilotWeight: Rule = {
  code: 'pilot-weight',
  severity: 'error',
  title: 'The pilot is too light or too heavy for the aircraft',
  page: {
    means: 'The mass of the pilot lies outside the range that the aircraft gives in its line `pilot`.',
    why: 'The pilot sits far ahead of the wing, so the mass in the seat sets the centre of gravity. Too light, and the glider is hard to hold in a stall and may not come out of a spin; too heavy, and the elevator may not raise the nose enough to land. The flight manual and the placard in the cockpit come first.',
    bad: eastTask({ aircraft: 'Finch with pilot 50 kg' }),
    good: eastTask({ aircraft: 'Finch with pilot 60 kg' }),
    turnDown:
      'It is not turned off: with ballast fixed in the seat, write the mass of both as the pilot. `severity` in the settings can make it a warning, no less.',
  },
  *task({ evaluation, show, at }) {
    const { aircraft, task } = evaluation;
    const pilot = task.aircraft?.pilotKg;
    const range = aircraft?.meaning.pilot;
    if (!range || !pilot || pilot === 'unread' || range.leastKg > range.mostKg) return;
    const light = pilot.value < range.leastKg - SAME;
    if (!light && pilot.value <= range.mostKg + SAME) return;
    const name = aircraft.meaning.name;
    const { greater, less, by, excess } = light
      ? massesApart(range.leastKg, pilot.value, show)
      : massesApart(pilot.value, range.mostKg, show);
    yield {
      at: at(pilot.span),
      message: light
        ? `the pilot is ${by} too light for ${name}: ${less}, and ${greater} is the least. Fix ballast in the seat as the flight manual says and count it with the pilot, or take another aircraft.`
        : `the pilot is ${by} too heavy for ${name}: ${greater}, and ${less} is the most. Take another aircraft.`,
      related: aircraftRelated(evaluation, range),
      meets: light ? 'too light' : 'too heavy',
      excess,
    };
  },
};
