/** The evening at the finish: where and when the Sun sets, and where it does not. */
import { describe, expect, test } from 'vitest';
import { eveningOf, finishUtcS, legalEndOf, legalEndS, legalEndText, SUNSET } from '../../server/plan/day.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { check } from '../../server/rules/run.ts';

const CLUB = EXAMPLE_CLUB.slice(EXAMPLE_CLUB.indexOf('aircraft Finch'));
const PLACES = `field Far at 70.0 N 30.0 E
  elevation 10 m

field Near at 70.0 N 30.01 E
  elevation 10 m
`;

interface Given {
  readonly date?: string;
  readonly takeoff?: string;
  readonly lines?: string;
  readonly places?: string;
}

function understood({ date = '2026-05-16', takeoff = '12:00Z', lines, places = PLACES }: Given) {
  const workspace = createWorkspace(['file:///plans']);
  const weather = date === '' ? CLUB : CLUB.replaceAll('2026-06-13', date);
  const task = `task Out\n  aircraft Finch with pilot 82 kg\n  weather Calm\n  reserve Training\n${takeoff === '' ? '' : `  takeoff ${takeoff}\n`}${lines ?? '  start Near at 4000 ft MSL\n  finish Far\n'}`;
  const club = date === '' ? weather.replaceAll(/ {2}date.*\n/g, '') : weather;
  const plan = understand(workspace, setFile(workspace, 'file:///plans/plan.taskplan', `${places}\n${club}\n${task}`));
  return { workspace, plan };
}

function taskOf(given: Given): TaskEvaluation {
  const [task] = understood(given).plan.tasks;
  if (!task) throw new Error('no task');
  return task;
}

const evening = (given: Given) => eveningOf(taskOf(given));
const late = (given: Given) => {
  const { workspace, plan } = understood(given);
  return check(workspace, plan).flatMap(({ code, message }) => (code === 'after-sunset' ? [message] : []));
};
/** Seconds after midnight of a time of day. */
const at = (hours: number, minutes: number) => (hours * 60 + minutes) * 60;

describe('where the Sun does not set', () => {
  // By sunTimes (tests/flight/sun.test.ts): at 70 N 30 E the Sun last sets on 2026-05-15 and rises at 22:23Z.
  test('on the first day of those on which it stays up, it has risen', () => {
    expect(evening({ takeoff: '20:00Z' })).toStrictEqual({ sunsetS: null, civilDuskS: null, lightAllDay: true });
    // Also when the take-off is of the night before it rises, which by the Sun is that day's.
    expect(evening({ date: '2026-05-15', takeoff: '22:10Z' })?.lightAllDay).toBe(true);
    expect(late({ takeoff: '20:00Z' })).toStrictEqual([]);
  });

  test('the evening before, it sets', () => {
    const { sunsetS, civilDuskS, lightAllDay } = evening({ date: '2026-05-15' }) ?? {};
    expect(Math.abs((sunsetS as number) - at(21, 27))).toBeLessThan(60);
    expect([civilDuskS, lightAllDay]).toStrictEqual([null, false]);
  });

  test('nor on the days after, whether it stands high or half below the horizon', () => {
    for (const takeoff of ['12:00Z', '22:00Z'])
      expect(evening({ date: '2026-05-17', takeoff })).toStrictEqual({
        sunsetS: null,
        civilDuskS: null,
        lightAllDay: true,
      });
  });

  test('on the last of those days it sets without having risen', () => {
    const { sunsetS, lightAllDay } = evening({ date: '2026-07-27' }) ?? {};
    expect(Math.abs((sunsetS as number) - at(21, 39))).toBeLessThan(60);
    expect(lightAllDay).toBe(false);
  });

  test('a day on which it comes no higher than 0.96° below the horizon is night', () => {
    // Its upper limb is seen from 0.83° below on: zenith 90° 50', Almanac for Computers.
    const { sunsetS, civilDuskS, lightAllDay } = evening({ date: '2027-01-16', takeoff: '10:00Z' }) ?? {};
    expect([sunsetS, lightAllDay]).toStrictEqual([null, false]);
    expect(Math.abs((civilDuskS as number) - at(13, 4))).toBeLessThan(60);
    expect(late({ date: '2027-01-16', takeoff: '10:00Z' })).toStrictEqual([
      'leg 1 to Far ends by night: the sun does not rise there that day. Choose another day.',
    ]);
  });
});

describe('the evening', () => {
  test('is that of another take-off or date on the same plan, however many were asked before', () => {
    const workspace = createWorkspace(['file:///plans']);
    const club = (day: number) => CLUB.replaceAll('2026-06-13', `2026-08-${String(day).padStart(2, '0')}`);
    const text = (day: number) =>
      `${PLACES}\n${club(day)}\ntask Out\n  aircraft Finch with pilot 82 kg\n  weather Calm\n  reserve Training\n  takeoff 12:00Z\n  start Near at 4000 ft MSL\n  finish Far\n`;
    const asked = (day: number) =>
      understand(workspace, setFile(workspace, 'file:///plans/plan.taskplan', text(day))).tasks.map(eveningOf)[0];
    // The days grow shorter by some minutes each.
    let before = Number.POSITIVE_INFINITY;
    for (let day = 1; day <= 25; day++) {
      const sunsetS = asked(day)?.sunsetS as number;
      expect(before - sunsetS).toBeGreaterThan(day === 1 ? 0 : 240);
      before = sunsetS;
      expect(asked(day)?.sunsetS).toBe(sunsetS);
    }
    expect(asked(1)).toStrictEqual(evening({ date: '2026-08-01' }));
  });

  test('is known from 1800 on', () => {
    expect(evening({ date: '1800-08-20' })?.sunsetS).toBeGreaterThan(at(17, 0));
    expect(evening({ date: '1799-08-20' })).toBeUndefined();
  });

  test('needs a take-off, a date, a finish and its position', () => {
    const turn = '  start Near at 4000 ft MSL\n  turn Far\n';
    for (const given of [
      { takeoff: '' },
      { date: '' },
      { lines: turn },
      { lines: '' },
      { places: PLACES.replace('at 70.0 N 30.0 E', '') },
    ]) {
      const task = taskOf({ date: '2026-08-20', ...given });
      expect(eveningOf(task)).toBeUndefined();
      expect(legalEndS(task, SUNSET)).toBeUndefined();
    }
    for (const given of [{ takeoff: '' }, { lines: turn }, { lines: '' }])
      expect(finishUtcS(taskOf({ date: '2026-08-20', ...given }))).toBeUndefined();
    const { totals, ...task } = taskOf({ date: '2026-08-20' });
    expect(finishUtcS({ ...task, totals })).toBeCloseTo(at(12, 0) + (totals.timeS as number), 6);
  });
});

describe('the end of the legal day', () => {
  test('is sunset, so many minutes from it, or the end of civil twilight', () => {
    const task = taskOf({ date: '2026-08-20' });
    const { sunsetS, civilDuskS } = eveningOf(task) ?? {};
    expect(SUNSET).toStrictEqual({ kind: 'sunset', plusMinutes: 0 });
    expect(legalEndS(task, SUNSET)).toBe(sunsetS);
    expect(legalEndS(task, { kind: 'sunset', plusMinutes: -15 })).toBe((sunsetS as number) - 900);
    expect(legalEndS(task, { kind: 'civilDusk' })).toBe(civilDuskS);
    expect(civilDuskS).toBeGreaterThan((sunsetS as number) + 1800);
    expect(legalEndS(taskOf({ date: '2026-06-13' }), { kind: 'sunset', plusMinutes: 30 })).toBeNull();
  });

  test('as a setting writes it, with and without spaces', () => {
    const minutes = (text: string) => {
      const end = legalEndOf(text);
      return end?.kind === 'sunset' ? end.plusMinutes : end?.kind;
    };
    expect(minutes('sunset+30 min')).toBe(30);
    expect(minutes('sunset -5min')).toBe(-5);
    expect(minutes('SUNSET  +  120  min ')).toBe(120);
    expect(minutes('civil dusk')).toBe('civilDusk');
    for (const text of ['after sunset', 'sunset + 30 minutes', 'sunset + 1000 min', 'sunset 30 min', 'a civil dusk'])
      expect(minutes(text)).toBeUndefined();
  });

  test('as it is told', () => {
    expect(legalEndText({ kind: 'civilDusk' })).toBe('the end of civil twilight');
    expect(legalEndText(SUNSET)).toBe('sunset');
    expect(legalEndText({ kind: 'sunset', plusMinutes: 30 })).toBe('30 min after sunset');
    expect(legalEndText({ kind: 'sunset', plusMinutes: -15 })).toBe('15 min before sunset');
  });
});
