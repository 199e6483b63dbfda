/** The day: sunset, thermals, and dates, as a pilot reads of them. */
import { describe, expect, test } from 'vitest';
import { legalEndOf } from '../../server/plan/day.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { eastTask } from '../../server/rules/leg-words.ts';
import type { CheckOptions } from '../../server/rules/rule.ts';
import { check } from '../../server/rules/run.ts';
import { thermalsExample } from '../../server/rules/thermal-words.ts';
import { type Files, findingsOf } from './helper.ts';

const CLUB: Files = { 'club.taskplan': EXAMPLE_CLUB };
const DAY = /sunrise|sunset|thermals|daylight|date-/;

function said(text: string, options?: CheckOptions): string[] {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  const file = setFile(workspace, 'file:///plans/plan.taskplan', text);
  const fail = (code: string, error: unknown) => {
    throw new Error(code, { cause: error });
  };
  return check(workspace, understand(workspace, file), undefined, fail, options)
    .filter(({ code }) => DAY.test(code))
    .map(({ severity, code, message }) => `${severity} ${code}: ${message}`);
}

const options = (text: string): CheckOptions => {
  const legalEnd = legalEndOf(text);
  if (!legalEnd) throw new Error(text);
  return { legalEnd };
};

describe('after sunset', () => {
  test('the legal day ends at sunset, unless said otherwise', () => {
    expect(
      `\n${findingsOf(eastTask({ takeoff: '18:30Z' }), CLUB, new Set(['after-sunset']))}\n`,
    ).toMatchInlineSnapshot(`
      "
        finish   Ashmoor
        ^^^^^^^^^^^^^^^^ after-sunset leg 1 to Ashmoor ends 4 min after the legal day: at 18:42Z, and sunset is 18:38Z. Take off by 18:26Z.
          plan.taskplan:7 the take-off
      "
    `);
    expect(said(eastTask({ takeoff: '18:20Z' }))).toEqual([]);
    expect(said(eastTask({ takeoff: '18:30Z' }), options('sunset + 30 min'))).toEqual([]);
    expect(said(eastTask({ takeoff: '19:00Z' }), options('Sunset +30 min'))).toMatchInlineSnapshot(`
      [
        "error after-sunset: leg 1 to Ashmoor ends 4 min after the legal day: at 19:12Z, and 30 min after sunset is 19:08Z. Take off by 18:56Z.",
      ]
    `);
    expect(said(eastTask({ takeoff: '20:30+02:00' }), options('civil dusk'))).toEqual([]);
    expect(said(eastTask({ takeoff: '21:30+02:00' }), options('civil dusk'))).toMatchInlineSnapshot(`
      [
        "error after-sunset: leg 1 to Ashmoor ends 24 min after the legal day: at 21:42+02:00, and the end of civil twilight is 21:18+02:00. Take off by 21:06+02:00.",
      ]
    `);
  });

  test('a limit that asks for more is met by the take-off that is told', () => {
    const solo = (takeoff: string) =>
      eastTask({ limits: 'Solo', takeoff }, 'limits Solo\n  land 60 min before sunset\n');
    expect(said(solo('18:30Z'))).toMatchInlineSnapshot(`
      [
        "error after-sunset: leg 1 to Ashmoor ends 4 min after the legal day: at 18:42Z, and sunset is 18:38Z; Solo asks to land 1 h 00 min before sunset. Take off by 17:26Z.",
      ]
    `);
    expect(said(solo('17:26Z'))).toEqual([]);
    expect(said(solo('17:28Z'))).toHaveLength(1);
  });

  test('a take-off before the legal day is no way out', () => {
    const slow = (takeoff: string) =>
      eastTask({ takeoff, climb: 'to 5500 ft MSL at 5 ft/min', start: 'Larkfield at 500 ft MSL' });
    expect(said(slow('06:00Z'))).toMatchInlineSnapshot(`
      [
        "error after-sunset: leg 1 to Ashmoor ends 4 h 14 min after the legal day: at 22:52Z, and sunset is 18:38Z. No take-off by day is early enough: fly less far.",
      ]
    `);
  });

  test('the settings that are read', () => {
    expect(legalEndOf('sunset')).toEqual({ kind: 'sunset', plusMinutes: 0 });
    expect(legalEndOf('sunset - 15 min')).toEqual({ kind: 'sunset', plusMinutes: -15 });
    expect(legalEndOf('  Civil  Dusk ')).toEqual({ kind: 'civilDusk' });
    for (const text of ['', 'dusk', 'sunset + 30', 'sunset + x min']) expect(legalEndOf(text)).toBeUndefined();
  });

  const far = (place: string, date: string, zone: string) => `field Far at ${place}
  elevation 10 m

weather Far
  date ${date}
  qnh 1013 hPa
  temperature 10 °C at 10 m MSL
  wind surface from 0° at 0 kt

${eastTask({ weather: 'Far', start: 'Far at 4000 ft MSL', finish: 'Far', takeoff: zone })}`;

  test('where the evening lies in another day of UTC, and where the zone is far from the place', () => {
    // 40 N 105 W in August: sunset is about 19:40 local time, 01:40Z of the next day.
    expect(said(far('40.0 N 105.0 W', '2026-08-25', '19:00-06:00'))).toEqual([]);
    expect(said(far('40.0 N 105.0 W', '2026-08-25', '20:00-06:00'))).toMatchInlineSnapshot(`
      [
        "error after-sunset: leg 1 to Far ends 18 min after the legal day: at 20:00-06:00, and sunset is 19:42-06:00. Take off by 19:42-06:00.",
      ]
    `);
    expect(said(far('40.0 N 105.0 W', '2026-08-25', '18:00Z'))).toEqual([]);
    // 33.9 S 151 E in December, by UTC of the same date: 00:30Z is 10:30 local time.
    expect(said(far('33.9 S 151.0 E', '2026-12-10', '00:30Z'))).toEqual([]);
    expect(said(far('33.9 S 151.0 E', '2026-12-10', '20:30+11:00'))).toHaveLength(1);
  });

  test('where the sun does not set, and where it does not rise', () => {
    expect(said(far('72.0 N 25.0 E', '2026-06-13', '23:30+02:00'))).toEqual([]);
    expect(said(far('72.0 N 25.0 E', '2026-12-13', '12:30+02:00'))).toMatchInlineSnapshot(`
      [
        "error after-sunset: leg 1 to Far ends by night: the sun does not rise there that day. Choose another day.",
      ]
    `);
  });
});

describe('before sunrise', () => {
  test('the legal day begins at sunrise, or as long before it as it lasts after sunset', () => {
    const task = eastTask({ takeoff: '04:20+02:00' });
    expect(`\n${findingsOf(task, CLUB, new Set(['before-sunrise']))}\n`).toMatchInlineSnapshot(`
      "
        takeoff  04:20+02:00
        ^^^^^^^^^^^^^^^^^^^^ before-sunrise the task takes off 26 min before the legal day: at 04:20+02:00, and sunrise is 04:46+02:00. Take off by day.
      "
    `);
    expect(said(task, options('sunset + 30 min'))).toEqual([]);
    expect(said(task, options('civil dusk'))).toEqual([]);
    expect(said(eastTask({ takeoff: '02:00Z' }), options('sunset + 30 min'))).toMatchInlineSnapshot(`
      [
        "error before-sunrise: the task takes off 16 min before the legal day: at 02:00Z, and 30 min before sunrise is 02:16Z. Take off by day.",
      ]
    `);
    expect(said(eastTask({ takeoff: '02:00Z' }), options('civil dusk'))).toMatchInlineSnapshot(`
      [
        "error before-sunrise: the task takes off 6 min before the legal day: at 02:00Z, and the beginning of civil twilight is 02:06Z. Take off by day.",
      ]
    `);
    expect(said(eastTask({ takeoff: '02:50Z' }), options('sunset - 15 min'))).toMatchInlineSnapshot(`
      [
        "error before-sunrise: the task takes off 11 min before the legal day: at 02:50Z, and 15 min after sunrise is 03:01Z. Take off by day.",
      ]
    `);
  });

  test('also where limits ask for a landing before sunset', () => {
    const solo = 'limits Solo\n  land 30 min before sunset\n';
    expect(said(eastTask({ limits: 'Solo', takeoff: '23:30Z' }, solo))).toMatchInlineSnapshot(`
      [
        "error before-sunrise: the task takes off 3 h 16 min before the legal day: at 23:30Z, and sunrise is 02:46Z. Take off by day.",
      ]
    `);
  });
});

describe('thermals', () => {
  const ofThermals = (text: string) => said(text).filter((one) => one.includes('-thermals'));
  const evening = (hours: string, takeoff: string, climb = 'to 5600 ft MSL at 1 kt') =>
    ofThermals(eastTask({ weather: 'Evening', takeoff, climb }, thermalsExample(hours)));

  test('a climb after the last, and one before the first', () => {
    expect(evening('11:00Z to 16:45Z', '16:43Z')).toMatchInlineSnapshot(`
      [
        "warning after-thermals: the climb to 5,600 ft MSL ends 2 min after the last usable thermals: they end at 16:45Z, and it ends at 16:47Z. Take off by 16:41Z.",
      ]
    `);
    expect(evening('11:00Z to 16:45Z', '17:43+01:00')).toMatchInlineSnapshot(`
      [
        "warning after-thermals: the climb to 5,600 ft MSL ends 2 min after the last usable thermals: they end at 17:45+01:00, and it ends at 17:47+01:00. Take off by 17:41+01:00.",
      ]
    `);
    expect(evening('11:00Z to 16:45Z', '17:00Z')).toMatchInlineSnapshot(`
      [
        "warning after-thermals: the climb to 5,600 ft MSL ends 19 min after the last usable thermals: they end at 16:45Z, and it would begin after them. Take off by 16:41Z.",
      ]
    `);
    expect(evening('11:00Z to 16:45Z', '10:30Z')).toMatchInlineSnapshot(`
      [
        "warning before-thermals: the climb to 5,600 ft MSL begins 30 min before the first usable thermals: at 10:30Z, and they begin at 11:00Z. Take off at 11:00Z or later.",
      ]
    `);
    expect(evening('11:00Z to 16:45Z', '12:00Z')).toEqual([]);
  });

  const TWO = (takeoff: string, hours: string) =>
    `${eastTask({ weather: 'Evening', takeoff, start: 'Larkfield at 3000 ft MSL' }, thermalsExample(hours)).replace(
      /^ {2}finish.*\n/m,
      '  climb    to 5000 ft MSL\n  turn     Ashmoor\n  climb    to 5000 ft MSL\n  finish   Larkfield\n',
    )}`;
  const takeoffIn = (message: string) => /Take off (?:by|at) (\S+?)\.? ?(?:or later\.)?$/.exec(message)?.[1] ?? '';

  test('of several climbs out of them the take-off has all in them', () => {
    const late = ofThermals(TWO('16:50Z', '10:00Z to 17:00Z'));
    expect(late).toMatchInlineSnapshot(`
      [
        "warning after-thermals: the climb to 5,000 ft MSL ends 20 min after the last usable thermals: they end at 17:00Z, and it would begin after them. Take off by 16:30Z.",
      ]
    `);
    for (const takeoff of ['16:35Z', '16:50Z', '20:00Z', '03:00Z'])
      for (const message of ofThermals(TWO(takeoff, '10:00Z to 17:00Z')))
        expect(ofThermals(TWO(takeoffIn(message), '10:00Z to 17:00Z'))).toEqual([]);
    // A minute later the last climb is late again.
    const [by] = late.map(takeoffIn);
    const [hour, minute] = (by ?? '').slice(0, 5).split(':').map(Number) as [number, number];
    expect(ofThermals(TWO(`${hour}:${minute + 1}Z`, '10:00Z to 17:00Z'))).toHaveLength(1);
  });

  test('climbs that take longer than they last', () => {
    expect(ofThermals(TWO('11:58Z', '12:00Z to 12:20Z'))).toMatchInlineSnapshot(`
      [
        "warning before-thermals: the climb to 5,000 ft MSL begins 2 min before the first usable thermals: at 11:58Z, and they begin at 12:00Z. No take-off has all climbs in them: from the first to the last it takes 30 min, and they last 20 min. Fly less far.",
        "warning after-thermals: the climb to 5,000 ft MSL ends 8 min after the last usable thermals: they end at 12:20Z, and it ends at 12:28Z. No take-off has all climbs in them: from the first to the last it takes 30 min, and they last 20 min. Fly less far.",
      ]
    `);
  });

  test('come every day: by clocks with other midnights, and over midnight, the nearest are meant', () => {
    const hours = '11:00+13:00 to 16:00+13:00';
    // 23:30Z is 12:30 by that clock, 18:40-11:00 is 18:40 a day and a clock farther west.
    expect(evening(hours, '23:30Z')).toEqual([]);
    expect(evening(hours, '12:30+13:00')).toEqual([]);
    expect(evening(hours, '18:40-11:00')).toMatchInlineSnapshot(`
      [
        "warning after-thermals: the climb to 5,600 ft MSL ends 2 h 44 min after the last usable thermals: they end at 16:00-11:00, and it would begin after them. Take off by 15:56-11:00.",
      ]
    `);
    expect(evening('00:05Z to 03:00Z', '23:50Z')).toMatchInlineSnapshot(`
      [
        "warning before-thermals: the climb to 5,600 ft MSL begins 15 min before the first usable thermals: at 23:50Z, and they begin at 00:05Z. Take off at 00:05Z or later.",
      ]
    `);
    // By one clock the morning before is the morning of the same day.
    expect(evening('11:00Z to 16:45Z', '00:30Z')).toMatchInlineSnapshot(`
      [
        "warning before-thermals: the climb to 5,600 ft MSL begins 10 h 30 min before the first usable thermals: at 00:30Z, and they begin at 11:00Z. Take off at 11:00Z or later.",
      ]
    `);
  });

  test('a glide after them is none', () => {
    expect(said(eastTask({ weather: 'Evening', takeoff: '17:00Z' }, thermalsExample('11:00Z to 16:45Z')))).toEqual([]);
  });
});

describe('dates', () => {
  test('none with a take-off', () => {
    const noDate = thermalsExample('11:00Z to 16:45Z').replace(/ {2}date.*\n/, '');
    expect(said(eastTask({ weather: 'Evening', takeoff: '12:00Z' }, noDate))).toMatchInlineSnapshot(`
      [
        "info daylight-unknown: whether the task ends before sunset is not checked: Evening has no \`date\`. Write it, such as \`date 2026-06-13\`.",
      ]
    `);
    expect(said(eastTask({ weather: '', takeoff: '12:00Z' }))).toMatchInlineSnapshot(`
      [
        "info daylight-unknown: whether the task ends before sunset is not checked: without a weather there is no \`date\`. Write it in a weather, such as \`date 2026-06-13\`.",
      ]
    `);
    expect(said(eastTask({ weather: 'Evening' }, noDate))).toEqual([]);
  });

  test('one beyond the magnetic model', () => {
    const later = thermalsExample('11:00Z to 16:45Z').replace('2026', '2031');
    expect(said(eastTask({ weather: 'Evening' }, later))).toMatchInlineSnapshot(`
      [
        "info date-outside-model: courses are shown true only: the magnetic model covers 2025 to 2029, and Evening is of 2031. Correct the date, or fly by true courses.",
      ]
    `);
    // A magnetic wind on such a day is an error of its own, and nothing is computed.
    expect(said(eastTask({ weather: 'Evening' }, later.replace('230°', '230°M')))).toEqual([]);
  });
});
