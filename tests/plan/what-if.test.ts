/** What may be changed in a what-if, read as a client sends it, and what a change makes of the legs. */
import { describe, expect, test } from 'vitest';
import { DEFAULT_UNITS, type ReaderUnits, readerUnits, show } from '../../server/plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { changesOf, sideOf, whatIfLegs } from '../../server/plan/what-if.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';

/** 400 kt: a knot is a nautical mile, 1,852 m, an hour. */
const FASTEST = 400 * (1852 / 3600);

const NO_SPEED = { refused: 'the `kind` of a speed is `indicated`, `bestGlide` or `maccready`' };
const NO_INDEX = { refused: 'the `index` of a wind counts its lines from 0' };
const NO_LEG = { refused: 'a `leg` is a number from 1' };

describe('changes', () => {
  test('are read as they are sent, and no others', () => {
    expect(
      changesOf({ share: 0.7, windFactor: null, winds: [{ index: 0, speedMps: 3, colour: 'red' }], other: 1 }),
    ).toStrictEqual({
      share: 0.7,
      winds: [{ index: 0, speedMps: 3 }],
    });
    expect(
      changesOf({
        windFactor: 1.5,
        windMoreMps: -2,
        startAltitudeM: 1500,
        share: 0.66,
        pilotKg: 95,
        ballastKg: 0,
        winds: [{ index: 1, fromDeg: 230 }, { index: 0 }, { index: 2, fromDeg: 0, speedMps: 0 }],
        speeds: [
          { leg: 2, speed: { kind: 'indicated', indicatedMps: 30 } },
          { speed: { kind: 'maccready', climbMps: 1.5 } },
          { leg: null, speed: { kind: 'bestGlide', climbMps: 1 } },
        ],
      }),
    ).toStrictEqual({
      windFactor: 1.5,
      windMoreMps: -2,
      startAltitudeM: 1500,
      share: 0.66,
      pilotKg: 95,
      ballastKg: 0,
      winds: [{ index: 1, fromDeg: 230 }, { index: 0 }, { index: 2, fromDeg: 0, speedMps: 0 }],
      speeds: [
        { leg: 2, speed: { kind: 'indicated', indicatedMps: 30 } },
        { speed: { kind: 'maccready', climbMps: 1.5 } },
        { speed: { kind: 'bestGlide' } },
      ],
    });
  });

  test('that are left out, or null, are none', () => {
    for (const value of [undefined, null, {}, { winds: null, speeds: undefined, share: null }])
      expect(changesOf(value)).toStrictEqual({});
    expect(changesOf({ winds: [], speeds: [] })).toStrictEqual({ winds: [], speeds: [] });
  });

  test('that are no object are refused', () => {
    for (const value of [3, 'share', true, [], [{ share: 0.7 }]])
      expect(changesOf(value)).toStrictEqual({ refused: '`changes` is no object' });
  });

  test.each([
    ['windFactor', 0, 5],
    ['windMoreMps', -FASTEST, FASTEST],
    ['startAltitudeM', -450, 20_000],
    ['share', 0.01, 1],
    ['pilotKg', 1, 2000],
    ['ballastKg', 0, 2000],
  ] as const)('%s is a number from %d to %d', (name, least, most) => {
    for (const value of [least, (least + most) / 2, most])
      expect(changesOf({ [name]: value })).toStrictEqual({ [name]: value });
    for (const value of [least - 0.001, most + 0.001, Number.NaN, Infinity, -Infinity, '1', true, [1], {}])
      expect(changesOf({ [name]: value })).toStrictEqual({
        refused: `\`${name}\` is no number from ${least} to ${most}`,
      });
  });

  test('a wind has the number of its line, and a direction and a speed within their ranges', () => {
    for (const index of [0, 7, 1000]) expect(changesOf({ winds: [{ index }] })).toStrictEqual({ winds: [{ index }] });
    for (const index of [-1, 1001, 0.5, '0', null, undefined, Number.NaN])
      expect(changesOf({ winds: [{ index }] })).toStrictEqual(NO_INDEX);
    for (const one of [3, null, undefined, 'wind', [0]]) expect(changesOf({ winds: [one] })).toStrictEqual(NO_INDEX);
    for (const [fromDeg, speedMps] of [
      [0, 0],
      [360, FASTEST],
    ])
      expect(changesOf({ winds: [{ index: 0, fromDeg, speedMps }] })).toStrictEqual({
        winds: [{ index: 0, fromDeg, speedMps }],
      });
    for (const fromDeg of [-0.1, 360.1, 'N'])
      expect(changesOf({ winds: [{ index: 0, fromDeg }] })).toStrictEqual({
        refused: '`fromDeg` is no number from 0 to 360',
      });
    for (const speedMps of [-0.1, FASTEST + 0.1, '5'])
      expect(changesOf({ winds: [{ index: 0, speedMps }] })).toStrictEqual({
        refused: `\`speedMps\` is no number from 0 to ${FASTEST}`,
      });
  });

  test('a speed is one of three kinds, with its number within a range', () => {
    const speed = (given: unknown) => changesOf({ speeds: [{ speed: given }] });
    for (const given of [
      { kind: 'bestGlide' },
      { kind: 'indicated', indicatedMps: 1 },
      { kind: 'indicated', indicatedMps: FASTEST },
      { kind: 'maccready', climbMps: 0 },
      { kind: 'maccready', climbMps: 30 },
    ])
      expect(speed(given)).toStrictEqual({ speeds: [{ speed: given }] });
    for (const given of [undefined, null, 3, 'bestGlide', ['bestGlide'], {}, { kind: 'fast', indicatedMps: 30 }])
      expect(speed(given)).toStrictEqual(NO_SPEED);
    expect(changesOf({ speeds: [null] })).toStrictEqual(NO_SPEED);
    expect(speed({ kind: 'indicated' })).toStrictEqual({ refused: '`indicatedMps` is missing' });
    expect(speed({ kind: 'indicated', climbMps: 2 })).toStrictEqual({ refused: '`indicatedMps` is missing' });
    expect(speed({ kind: 'maccready' })).toStrictEqual({ refused: '`climbMps` is missing' });
    for (const indicatedMps of [0.9, FASTEST + 0.1, 'fast'])
      expect(speed({ kind: 'indicated', indicatedMps })).toStrictEqual({
        refused: `\`indicatedMps\` is no number from 1 to ${FASTEST}`,
      });
    for (const climbMps of [-0.1, 30.1, 'strong'])
      expect(speed({ kind: 'maccready', climbMps })).toStrictEqual({
        refused: '`climbMps` is no number from 0 to 30',
      });
  });

  test('a leg is counted from 1', () => {
    const leg = (given: unknown) => changesOf({ speeds: [{ leg: given, speed: { kind: 'bestGlide' } }] });
    for (const given of [1, 1000])
      expect(leg(given)).toStrictEqual({ speeds: [{ leg: given, speed: { kind: 'bestGlide' } }] });
    for (const given of [0, 1001, 1.5, '1', Number.NaN, {}]) expect(leg(given)).toStrictEqual(NO_LEG);
  });

  test('a list is a list, of a thousand at most, and the first that is wrong is told', () => {
    const wind = { index: 0 };
    const thousand = Array.from({ length: 1000 }, () => wind);
    expect(changesOf({ winds: thousand })).toStrictEqual({ winds: thousand });
    for (const winds of [[...thousand, wind], {}, 'wind', 3, { length: 0 }])
      expect(changesOf({ winds })).toStrictEqual({ refused: '`winds` is no list' });
    expect(changesOf({ speeds: {} })).toStrictEqual({ refused: '`speeds` is no list' });
    expect(changesOf({ winds: [wind, { index: 0, fromDeg: 400 }, 3] })).toStrictEqual({
      refused: '`fromDeg` is no number from 0 to 360',
    });
  });
});

function taskOf(text: string): TaskEvaluation {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  const file = setFile(workspace, 'file:///plans/plan.taskplan', `use "club.taskplan"\n\n${text}`);
  const [task] = understand(workspace, file).tasks;
  if (!task) throw new Error('no task');
  return task;
}

/** Two legs in still air; the second of about 9.3 NM. */
const two = (start: string, behind = '', weather = 'Calm') =>
  taskOf(`weather Gale
  wind 6000 ft MSL from 070° at 90 kt

task Out
  aircraft Finch with pilot 82 kg
  weather ${weather}
  reserve Training
  start Larkfield at ${start}
  turn "Withy Bridge"
${behind}  finish Ashmoor at 60 kt
`);

const ofLeg = (task: TaskEvaluation, number: number): LegEvaluation => {
  const leg = task.legs[number - 1];
  if (!leg) throw new Error(`no leg ${number}`);
  return leg;
};

const FEET = show(DEFAULT_UNITS);
const metric: ReaderUnits = readerUnits([{ chosen: { altitude: 'm', speed: 'km/h' } } as never]);

describe('a leg', () => {
  test('that is flown has its numbers, and the same for the reader', () => {
    const leg = ofLeg(two('5200 ft MSL', '  climb to 5600 ft MSL\n'), 2);
    const { result } = leg;
    if (!result || result.problem) throw new Error('not flown');
    const side = sideOf(leg, FEET);
    const { text, ...numbers } = side;
    expect(numbers).toStrictEqual({
      indicatedMps: result.indicatedMps,
      departAltitudeM: result.departAltitudeM,
      departAssumed: false,
      requiredDepartAltitudeM: result.requiredDepartAltitudeM,
      arriveAltitudeM: result.arriveAltitudeM,
      arriveHeightM: result.arriveHeightM,
      askedAltitudeM: result.askedAltitudeM,
      marginM: result.marginM,
      timeS: result.timeS,
      makes: true,
    });
    // Ashmoor lies at 160 m; 1,000 ft over it and 150 ft for the altimeter are asked.
    expect(result.askedAltitudeM).toBeCloseTo(160 + 1150 * 0.3048, 9);
    expect(result.departAltitudeM).toBeCloseTo(5600 * 0.3048, 9);
    const feet = (metres: number | null) => (metres ?? Number.NaN) / 0.3048;
    const written = (whole: number) => `${Math.trunc(whole / 1000)},${String(whole % 1000).padStart(3, '0')}`;
    const over = Math.floor(feet(side.arriveHeightM));
    // Heights that one will have are rounded down, those that one must have up; 1,150 ft are asked.
    expect(text).toStrictEqual({
      margin: `+${written(over - 1150)} ft`,
      speed: '60 kt',
      depart: '5,600 ft MSL',
      required: `${written(Math.ceil(feet(side.requiredDepartAltitudeM)))} ft MSL`,
      arrive: `${written(Math.floor(feet(side.arriveAltitudeM)))} ft MSL`,
      over: `${written(over)} ft`,
      time: `${Math.floor((side.timeS ?? 0) / 60)} min ${String(Math.round(side.timeS ?? 0) % 60).padStart(2, '0')} s`,
    });
    expect(over).toBeGreaterThan(2150);
  });

  test('that arrives too low does not make it, and one with nothing left does', () => {
    const leg = ofLeg(two('5200 ft MSL'), 1);
    const { result } = leg;
    if (!result || result.problem) throw new Error('not flown');
    // A leg misses its height by more than the millimetre to which a glide is computed.
    const withMargin = (marginM: number) => sideOf({ ...leg, result: { ...result, marginM } }, FEET).makes;
    expect([-1, -0.0011, -0.001, 0, 1].map(withMargin)).toStrictEqual([false, false, true, true, true]);
    expect(sideOf(ofLeg(two('1500 ft MSL'), 1), FEET)).toMatchObject({ makes: false });
  });

  test('behind one that does not get there starts at the height asked', () => {
    const task = two('1200 ft MSL');
    const side = sideOf(ofLeg(task, 2), FEET);
    // Withy Bridge lies at 140 m (459.3 ft); 1,500 ft over it and 150 ft for the altimeter are asked.
    expect(side).toMatchObject({ departAssumed: true, text: { depart: '2,109 ft MSL (asked there)' } });
    expect(side.departAltitudeM).toBeCloseTo(140 + 1650 * 0.3048, 9);
    expect(sideOf(ofLeg(task, 1), FEET).departAssumed).toBe(false);
  });

  test('without headway has a speed and a height to leave at, and nothing at its end', () => {
    const leg = ofLeg(two('5200 ft MSL', '', 'Gale'), 2);
    const { result } = leg;
    expect(result?.problem).not.toBeNull();
    const side = sideOf(leg, FEET);
    expect(side).toStrictEqual({
      indicatedMps: (60 * 1852) / 3600,
      departAltitudeM: result?.departAltitudeM,
      departAssumed: side.departAssumed,
      requiredDepartAltitudeM: null,
      arriveAltitudeM: null,
      arriveHeightM: null,
      askedAltitudeM: result?.askedAltitudeM,
      marginM: null,
      timeS: null,
      makes: false,
      text: {
        margin: 'no headway',
        speed: '60 kt',
        depart: side.text.depart,
        required: 'no height is enough',
        arrive: '–',
        over: '–',
        time: '–',
      },
    });
  });

  test('that is not computed says why', () => {
    const leg = ofLeg(two('5200 ft MSL', '', 'Unwritten'), 1);
    expect(sideOf(leg, FEET)).toStrictEqual({
      indicatedMps: null,
      departAltitudeM: null,
      departAssumed: false,
      requiredDepartAltitudeM: null,
      arriveAltitudeM: null,
      arriveHeightM: null,
      askedAltitudeM: null,
      marginM: null,
      timeS: null,
      makes: null,
      text: {
        margin: 'not computed, since no weather `Unwritten` is known',
        speed: '–',
        depart: '–',
        required: '–',
        arrive: '–',
        over: '–',
        time: '–',
      },
    });
    expect(sideOf({ ...leg, cause: undefined }, FEET).text.margin).toBe('not computed');
  });

  test('is shown in the units of the reader', () => {
    expect(sideOf(ofLeg(two('1500 m MSL'), 2), show(metric)).text).toMatchObject({
      speed: '111 km/h',
      margin: expect.stringMatching(/^[+−][\d,]+ m$/),
      arrive: expect.stringMatching(/^[\d,]+ m MSL$/),
    });
  });
});

describe('before and after', () => {
  const high = two('5200 ft MSL');
  const low = two('5000 ft MSL');

  test('name the leg and show how its margin changes', () => {
    const [first, second, ...more] = whatIfLegs(high.legs, low.legs, FEET);
    expect(more).toEqual([]);
    expect(first).toMatchObject({ number: 1, from: 'Larkfield', to: 'Withy Bridge' });
    expect(second).toMatchObject({ number: 2, from: 'Withy Bridge', to: 'Ashmoor' });
    for (const [i, leg] of [first, second].entries()) {
      expect(leg?.before).toStrictEqual(sideOf(ofLeg(high, i + 1), FEET));
      expect(leg?.after).toStrictEqual(sideOf(ofLeg(low, i + 1), FEET));
      const change = (leg?.after.marginM ?? Number.NaN) - (leg?.before.marginM ?? Number.NaN);
      expect(leg?.marginChangeM).toBe(change);
      // 200 ft lower at the start are about as much lower at each end: sink and air differ little.
      expect(change / 0.3048).toBeGreaterThan(-205);
      expect(change / 0.3048).toBeLessThan(-195);
    }
  });

  test('differ by what the margins differ by as they are shown', () => {
    const feet = (text: string) => Number(text.replace('−', '-').replace(/[+,]| ft/g, ''));
    for (const [one, other] of [
      [high, low],
      [low, high],
      [high, two('1500 ft MSL')],
      [high, two('1800 m MSL')],
    ] as const)
      for (const { before, after, change } of whatIfLegs(one.legs, other.legs, FEET)) {
        expect(change).toMatch(/^[+−][\d,]+ ft$/);
        expect(feet(change)).toBe(feet(after.text.margin) - feet(before.text.margin));
      }
    for (const { change, marginChangeM } of whatIfLegs(high.legs, high.legs, FEET))
      expect([change, marginChangeM]).toEqual(['no change', 0]);
  });

  test('of a leg that has no margin are told in words', () => {
    const gale = two('5200 ft MSL', '', 'Gale');
    const none = two('5200 ft MSL', '', 'Unwritten');
    const last = (one: TaskEvaluation, other: TaskEvaluation) => {
      const { marginChangeM, change } = whatIfLegs(one.legs, other.legs, FEET)[1] ?? {};
      return [marginChangeM, change];
    };
    expect(last(high, gale)).toEqual([null, `${sideOf(ofLeg(high, 2), FEET).text.margin} before`]);
    expect(last(gale, high)).toEqual([null, 'no headway before']);
    expect(last(gale, gale)).toEqual([null, 'no change']);
    expect(last(none, gale)).toEqual([null, 'not computed, since no weather `Unwritten` is known before']);
  });

  test('are those of legs that both have', () => {
    expect(whatIfLegs(high.legs, high.legs.slice(0, 1), FEET)).toHaveLength(1);
    expect(whatIfLegs(high.legs, [], FEET)).toEqual([]);
    expect(whatIfLegs([], high.legs, FEET)).toEqual([]);
  });
});
