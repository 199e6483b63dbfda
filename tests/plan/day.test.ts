/** The evening at the finish: where and when the Sun sets, and where it does not. */
import { describe, expect, test } from 'vitest';
import {
  eveningOf,
  finishUtcS,
  legalEndOf,
  legalEndS,
  legalEndText,
  legalStartS,
  SUNSET,
  thermalsOf,
} from '../../server/plan/day.ts';
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
  readonly weather?: string;
  readonly date?: string;
  readonly takeoff?: string;
  readonly lines?: string;
  readonly places?: string;
}

function understood({ date = '2026-05-16', takeoff = '12:00Z', lines, places = PLACES, weather: by = 'Calm' }: Given) {
  const workspace = createWorkspace(['file:///plans']);
  const weather = date === '' ? CLUB : CLUB.replaceAll('2026-06-13', date);
  const task = `task Out\n  aircraft Finch with pilot 82 kg\n${by === '' ? '' : `  weather ${by}\n`}  reserve Training\n${takeoff === '' ? '' : `  takeoff ${takeoff}\n`}${lines ?? '  start Near at 4000 ft MSL\n  finish Far\n'}`;
  const club = date === '' ? weather.replaceAll(/ {2}date.*\n/g, '') : weather;
  const plan = understand(workspace, setFile(workspace, 'file:///plans/plan.taskplan', `${places}\n${club}\n${task}`));
  return { workspace, plan };
}

function taskOf(given: Given): TaskEvaluation {
  const [task] = understood(given).plan.tasks;
  if (!task) throw new Error('no task');
  return task;
}

/** The evening of the day at the finish, without its morning. */
function evening(given: Given) {
  const day = eveningOf(taskOf(given));
  if (!day) return undefined;
  const { civilDawnS, sunriseS, ...rest } = day;
  return rest;
}
const sunrise = (given: Given) => legalStartS(taskOf(given), SUNSET);
const early = (given: Given) => {
  const { workspace, plan } = understood(given);
  return check(workspace, plan).flatMap(({ code, message }) => (code === 'before-sunrise' ? [message] : []));
};
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
    expect(asked(1)).toStrictEqual(eveningOf(taskOf({ date: '2026-08-01' })));
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
    // Nobody knows how long a climb takes whose rate is not given.
    const climb = '  start Near at 4000 ft MSL\n  climb to 5000 ft MSL\n  finish Far\n';
    expect(finishUtcS(taskOf({ date: '2026-08-20', lines: climb, weather: '' }))).toBeUndefined();
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
    expect(minutes('sunset')).toBe(0);
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

describe('the beginning of the legal day', () => {
  // 47 N 19 E in the middle of June, by sunTimes: sunrise at 02:48Z (tests/published/sun-times.test.ts checks such).
  const HERE = 'field Near at 47.0 N 19.0 E\n  elevation 100 m\n\nfield Far at 47.0 N 19.01 E\n  elevation 100 m\n';
  const here = (takeoff: string, date = '2026-06-13') => ({ takeoff, date, places: HERE });

  test('is sunrise at the start, so many minutes from it, or the beginning of civil twilight', () => {
    const task = taskOf(here('10:00Z'));
    const sunriseS = legalStartS(task, SUNSET) as number;
    expect(Math.abs(sunriseS - at(2, 48))).toBeLessThan(60);
    expect(legalStartS(task, { kind: 'sunset', plusMinutes: 30 })).toBe(sunriseS - 1800);
    expect(legalStartS(task, { kind: 'sunset', plusMinutes: -15 })).toBe(sunriseS + 900);
    const dawnS = legalStartS(task, { kind: 'civilDusk' }) as number;
    expect(dawnS).toBeLessThan(sunriseS - 1800);
    expect(dawnS).toBeGreaterThan(sunriseS - 3600);
    // Of the start, not of the finish: a degree of longitude is four minutes of the Sun.
    const east = taskOf({ ...here('10:00Z'), places: HERE.replace('19.01 E', '20.0 E') });
    expect(legalStartS(east, SUNSET)).toBe(sunriseS);
    const west = taskOf({ ...here('10:00Z'), places: HERE.replace('at 47.0 N 19.0 E', 'at 47.0 N 20.0 E') });
    expect(Math.abs((legalStartS(west, SUNSET) as number) - sunriseS + 240)).toBeLessThan(5);
  });

  test('as it is told', () => {
    expect(legalEndText({ kind: 'civilDusk' }, true)).toBe('the beginning of civil twilight');
    expect(legalEndText(SUNSET, true)).toBe('sunrise');
    expect(legalEndText({ kind: 'sunset', plusMinutes: 30 }, true)).toBe('30 min before sunrise');
    expect(legalEndText({ kind: 'sunset', plusMinutes: -15 }, true)).toBe('15 min after sunrise');
  });

  test('every hour of the night is one or the other side of midnight', () => {
    for (const [takeoff, sunk, risen] of [
      ['18:00Z', 0, 0],
      ['19:00Z', 1, 0],
      ['22:00Z', 1, 0],
      // The Sun's midnight is at 22:44Z there.
      ['22:40Z', 1, 0],
      ['22:50Z', 0, 1],
      ['23:30Z', 0, 1],
      ['00:30Z', 0, 1],
      ['02:00Z', 0, 1],
      ['02:40Z', 0, 1],
      ['02:50Z', 0, 0],
      ['04:00Z', 0, 0],
      ['12:00Z', 0, 0],
    ] as const) {
      expect(late(here(takeoff)), takeoff).toHaveLength(sunk);
      expect(early(here(takeoff)), takeoff).toHaveLength(risen);
    }
  });

  test('a date is the day of the clock that the take-off is written in', () => {
    // The same instants, by three clocks.
    for (const [takeoff, date] of [
      ['23:30Z', '2026-06-12'],
      ['01:30+02:00', '2026-06-13'],
      ['11:30+12:00', '2026-06-13'],
      ['14:30-09:00', '2026-06-12'],
    ] as const)
      expect(early(here(takeoff, date))[0], takeoff).toMatch(
        /^the task takes off 3 h 1\d min before the legal day: at /,
      );
    for (const [takeoff, date] of [
      ['10:00Z', '2026-06-13'],
      ['22:00+12:00', '2026-06-13'],
      ['01:00-09:00', '2026-06-13'],
    ] as const)
      expect([...early(here(takeoff, date)), ...late(here(takeoff, date))], takeoff).toStrictEqual([]);
  });

  test('on both sides of 180°', () => {
    // 17 S in June: sunrise is about 06:40 and sunset about 17:40 by the Sun.
    for (const [east, takeoff, found] of [
      ['179.5 E', '05:00+12:00', 1],
      ['179.5 E', '12:00+12:00', 0],
      ['179.5 E', '07:00+12:00', 0],
      ['179.5 W', '05:00+12:00', 1],
      ['179.5 W', '12:00+12:00', 0],
      ['179.5 W', '05:00-12:00', 1],
      ['179.5 W', '12:00-12:00', 0],
      ['179.5 W', '17:00Z', 1],
      ['179.5 W', '00:00Z', 0],
    ] as const) {
      const places = `field Near at 17.0 S ${east}\n  elevation 10 m\n\nfield Far at 17.01 S ${east}\n  elevation 10 m\n`;
      expect(early({ takeoff, date: '2026-06-13', places }), `${east} ${takeoff}`).toHaveLength(found);
      expect(late({ takeoff, date: '2026-06-13', places }), `${east} ${takeoff}`).toHaveLength(0);
    }
  });

  test('where the Sun does not set, or does not rise', () => {
    // It rises at 22:23Z of the 15th, and stays up.
    expect(sunrise({ date: '2026-05-15', takeoff: '22:10Z' })).toBeGreaterThan(at(22, 20));
    expect(early({ date: '2026-05-15', takeoff: '22:10Z' })).toHaveLength(1);
    expect(early({ date: '2026-05-15', takeoff: '22:30Z' })).toStrictEqual([]);
    expect(late({ date: '2026-05-15', takeoff: '22:30Z' })).toStrictEqual([]);
    expect(sunrise({ date: '2026-05-17', takeoff: '23:00Z' })).toBeNull();
    expect(early({ date: '2026-05-17', takeoff: '23:00Z' })).toStrictEqual([]);
    // By night all day, which is told of the finish.
    expect(sunrise({ date: '2027-01-10', takeoff: '10:00Z' })).toBeNull();
    expect(early({ date: '2027-01-10', takeoff: '10:00Z' })).toStrictEqual([]);
    expect(late({ date: '2027-01-10', takeoff: '10:00Z' })).toHaveLength(1);
  });

  test('needs a take-off, a date, a start and its position, and no finish', () => {
    const turn = '  start Near at 4000 ft MSL\n  turn Far\n';
    expect(early({ ...here('02:00Z'), lines: turn })).toHaveLength(1);
    for (const given of [
      { takeoff: '' },
      { date: '' },
      { weather: '' },
      { lines: '' },
      { places: HERE.replace('at 47.0 N 19.0 E', '') },
    ]) {
      const task = taskOf({ ...here('02:00Z'), ...given });
      expect(legalStartS(task, SUNSET)).toBeUndefined();
      expect(legalStartS(task, { kind: 'civilDusk' })).toBeUndefined();
      expect(early({ ...here('02:00Z'), ...given })).toStrictEqual([]);
    }
  });
});

describe('the thermals', () => {
  const hours = (takeoff: string, thermals: string, weather = CLUB): string | undefined => {
    const workspace = createWorkspace(['file:///plans']);
    const with_ = weather.replace(/^weather Calm$/m, `weather Calm\n  thermals ${thermals}`);
    const task = `task Out\n  aircraft Finch with pilot 82 kg\n${weather === '' ? '' : '  weather Calm\n'}  reserve Training\n${takeoff === '' ? '' : `  takeoff ${takeoff}\n`}  start Near at 4000 ft MSL\n  finish Far\n`;
    const text = `${PLACES}\n${with_}\n${task}`;
    const [found] = understand(workspace, setFile(workspace, 'file:///plans/plan.taskplan', text)).tasks.map(
      thermalsOf,
    );
    return found && [found.fromS, found.toS].map((s) => (s / 3600).toFixed(2)).join(' ');
  };

  test('are those of the day of the take-off, as they are written', () => {
    expect(hours('12:00Z', '11:00Z to 16:30Z')).toBe('11.00 16.50');
    expect(hours('12:00+02:00', '11:00Z to 16:30Z')).toBe('11.00 16.50');
    // Half a day before the first of them, and behind the last.
    expect(hours('00:00Z', '12:00Z to 16:30Z')).toBe('12.00 16.50');
    expect(hours('23:30Z', '09:00Z to 11:30Z')).toBe('9.00 11.50');
  });

  test('are those of another day where these are nearer: by clocks with other midnights', () => {
    expect(hours('23:59Z', '00:05Z to 11:30Z')).toBe('24.08 35.50');
    expect(hours('00:10Z', '17:00Z to 23:50Z')).toBe('-7.00 -0.17');
    // Take-off at 01:30 by a clock 14 h ahead is 12 h 30 min before midnight UTC: two days before thermals 12 h behind.
    expect(hours('01:30+14:00', '21:00-12:00 to 23:30-12:00')).toBe('-15.00 -12.50');
    expect(hours('23:30-12:00', '00:30+14:00 to 02:00+14:00')).toBe('34.50 36.00');
    // Of two days that are as near the earlier: 11 h from the take-off to either side.
    expect(hours('00:00+12:00', '11:00-12:00 to 13:00-12:00')).toBe('-25.00 -23.00');
  });

  test('need a take-off, a weather, and an end behind their beginning', () => {
    expect(hours('', '11:00Z to 16:30Z')).toBeUndefined();
    expect(hours('12:00Z', '16:30Z to 11:00Z')).toBeUndefined();
    expect(hours('12:00Z', '11:00Z to 11:00Z')).toBeUndefined();
    expect(thermalsOf(taskOf({ weather: '' }))).toBeUndefined();
    expect(thermalsOf(taskOf({}))).toBeUndefined();
  });
});
