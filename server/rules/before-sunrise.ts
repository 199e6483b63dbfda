import { legalEndText, legalStartS, SUNSET } from '../plan/day.ts';
import { timeOfDay } from '../plan/show.ts';
import { durationsApart, eastTask } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** A task that begins before the legal day. */
export const beforeSunrise: Rule = {
  code: 'before-sunrise',
  severity: 'error',
  title: 'The task begins before the legal day',
  page: {
    means:
      'The take-off is after midnight and before the legal day begins at the start: sunrise, or as long before it as the settings let the day last after sunset (`sunset + 30 min` is 30 min before sunrise, `civil dusk` is civil dawn). Midnight is that of the sun there, so that neither the zone of the take-off nor the date line matters.',
    why: 'A glider has no lights, and by night nobody sees the field, the ground or the other pilots. A take-off at such an hour is mostly a slip: an hour of the afternoon without its twelve, or a wrong zone.',
    bad: eastTask({ takeoff: '02:00Z' }),
    good: eastTask({ takeoff: '14:00Z' }),
    turnDown:
      'It is not turned off: write the hour of the take-off by the clock of 24 hours, with its zone. The legal day is a setting (`--legal-end` on the command line); `severity` in the settings can make it a warning, no less.',
  },
  *task({ evaluation, show, options: { legalEnd = SUNSET }, at }) {
    const { takeoff } = evaluation.task;
    const startS = legalStartS(evaluation, legalEnd);
    if (!takeoff || typeof startS !== 'number' || takeoff.utcS >= startS) return;
    const time = (seconds: number) => timeOfDay(seconds, takeoff.zoneMinutes);
    yield {
      at: at(takeoff.line.span),
      message: `the task takes off ${durationsApart(startS, takeoff.utcS, show).by} before the legal day: at ${time(Math.floor(takeoff.utcS / 60) * 60)}, and ${legalEndText(legalEnd, true)} is ${time(Math.ceil(startS / 60) * 60)}. Take off by day.`,
      excess: { of: 'time', si: startS - takeoff.utcS },
    };
  },
};
