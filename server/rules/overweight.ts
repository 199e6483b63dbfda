import { aircraftRelated, eastTask, massesApart, massesUp, SAME } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** More mass on board than the aircraft may weigh. */
export const overweight: Rule = {
  code: 'overweight',
  severity: 'error',
  title: 'The aircraft is heavier than it may be',
  page: {
    means: 'The empty mass, the pilot and the ballast add up to more than the maximum mass of the aircraft.',
    why: 'Above the maximum mass the structure has less strength in hand than it is certified for, the stall comes at a higher speed, and the glider may not be flown at all. The flight manual, with the weighing report of this very glider, comes first: it limits the place of the mass too, which a plan does not look at.',
    bad: eastTask({ aircraft: 'Finch with pilot 118 kg' }, ''),
    good: eastTask(),
    turnDown:
      'It is not turned off: take less ballast, or another aircraft. `severity` in the settings can make it a warning, no less.',
  },
  *task({ evaluation, show, at }) {
    const { aircraft, task } = evaluation;
    if (!aircraft || !task.aircraft) return;
    const { emptyMassKg, maximumMassKg, polarMassKg } = aircraft.meaning;
    const { pilotKg, ballastKg, line } = task.aircraft;
    if (!maximumMassKg || pilotKg === 'unread' || ballastKg === 'unread') return;
    // Without a pilot the mass of the polar is flown, as everywhere.
    const base = pilotKg ? emptyMassKg : polarMassKg;
    if (!base) return;
    const masses = [base.value, ...(pilotKg ? [pilotKg.value] : []), ...(ballastKg ? [ballastKg.value] : [])];
    const sumKg = masses.reduce((sum, mass) => sum + mass, 0);
    if (sumKg <= maximumMassKg.value + SAME) return;

    const { texts, total, totalKg } = massesUp(masses, show);
    const { less: most, by } = massesApart(totalKg, maximumMassKg.value, show);
    const words = [
      pilotKg ? 'empty' : 'of the polar',
      ...(pilotKg ? ['pilot'] : []),
      ...(ballastKg ? ['ballast'] : []),
    ];
    const terms = texts.map((text, i) => `${text} ${words[i]}`).join(' + ');
    const overKg = sumKg - maximumMassKg.value;
    const room = pilotKg && maximumMassKg.value - base.value;
    const way =
      ballastKg && ballastKg.value >= overKg
        ? `Take ${by} less ballast.`
        : room !== undefined && room > 0
          ? `${ballastKg?.value ? 'Even without ballast, the' : 'The'} pilot may weigh ${massesApart(room, room, show).less} at most: take another aircraft.`
          : 'Check the masses of the aircraft.';
    const spans = [pilotKg?.span, ballastKg?.span].filter((span) => span !== undefined);
    const span =
      spans.length === 0
        ? (task.aircraft.name?.span ?? line.span)
        : { start: Math.min(...spans.map((s) => s.start)), end: Math.max(...spans.map((s) => s.end)) };
    yield {
      at: at(span),
      message: `${aircraft.meaning.name} is ${by} overweight: ${terms} make ${total}, and ${most} is the maximum. ${way}`,
      related: aircraftRelated(evaluation, maximumMassKg),
      excess: { of: 'mass', si: overKg },
    };
  },
};
