/** A budget for people: whole numbers that add up, and none that is shown better than it is. */
import { describe, expect, test } from 'vitest';
import { unit } from '../../grammar/units.ts';
import {
  budgetTerms,
  courseText,
  LEG_HEADS,
  legCells,
  marginText,
  signed,
  totalsText,
  wholeHeights,
} from '../../server/plan/budget-rows.ts';
import { DEFAULT_UNITS, show } from '../../server/plan/show.ts';
import type { LegEvaluation, TaskEvaluation, Totals } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';

const FT = 0.3048;
const NM = 1852;
const KT = 1852 / 3600;
const FEET = show(DEFAULT_UNITS);
const METRES = show({ ...DEFAULT_UNITS, altitude: unit('m') });

/** Heights in feet, at other values than whole ones. */
const BUDGET = { stillAir: 1000.4, wind: 200.4, sinkingAir: 100.4, performance: 50.4, reserve: 1000.2, altimeter: 150 };

interface Given {
  readonly budget?: Partial<typeof BUDGET>;
  readonly result?: object;
  readonly leg?: object;
}

/** A leg of given figures, with its heights in feet. */
function legOf({ budget, result, leg }: Given = {}): LegEvaluation {
  const feet = { ...BUDGET, ...budget };
  const inMetres = Object.fromEntries(Object.entries(feet).map(([name, height]) => [name, height * FT]));
  return {
    number: 2,
    fromName: 'Corran Dam',
    toName: 'Larkfield',
    departAssumed: false,
    variationDeg: undefined,
    input: { destination: { reserveM: feet.reserve * FT, altimeterM: feet.altimeter * FT } },
    result: {
      problem: null,
      distanceM: 12.34 * NM,
      courseDeg: 229.6,
      indicatedMps: 60.4 * KT,
      departAltitudeM: 5199.6 * FT,
      requiredDepartAltitudeM: 4850.2 * FT,
      arriveAltitudeM: 2124.9 * FT,
      arriveHeightM: 1500.9 * FT,
      timeS: 750,
      budget: inMetres,
      ...result,
    },
    ...leg,
  } as unknown as LegEvaluation;
}

describe('whole heights', () => {
  test('the terms are rounded so that they add up', () => {
    // The sums so far are 1000.4, 1200.8, 1301.2 and 1351.6 ft, which round to 1000, 1201, 1301 and 1352.
    // Asked are 1150.2 ft, rounded up; over the point are 1500.9 ft, rounded down.
    expect(wholeHeights(legOf(), FEET)).toEqual({
      spent: [1000, 201, 100, 51],
      lost: 1352,
      reserve: 1000,
      altimeter: 151,
      margin: 349,
      over: 1500,
    });
  });

  test('in the unit of the reader', () => {
    // 304.92, 61.08, 30.60 and 15.36 m: the sums so far are 304.92, 366.00, 396.61 and 411.97; asked are 304.86 + 45.72
    // = 350.58 m; over the point are 457.47 m.
    expect(wholeHeights(legOf(), METRES)).toEqual({
      spent: [305, 61, 31, 15],
      lost: 412,
      reserve: 305,
      altimeter: 46,
      margin: 106,
      over: 457,
    });
  });

  test('what is whole stays whole', () => {
    const whole = { stillAir: 900, wind: -50, sinkingAir: 0, performance: 300, reserve: 1000, altimeter: 150 };
    for (const over of [1150, 1500, 937]) {
      const heights = wholeHeights(legOf({ budget: whole, result: { arriveHeightM: over * FT } }), FEET);
      expect(heights).toEqual({
        spent: [900, -50, 0, 300],
        lost: 1150,
        reserve: 1000,
        altimeter: 150,
        margin: over - 1150,
        over,
      });
    }
  });

  test('a margin is never shown larger than it is', () => {
    const just = (over: number) => wholeHeights(legOf({ result: { arriveHeightM: over * FT } }), FEET)?.margin;
    expect(just(1150.2)).toBe(-1);
    expect(just(1151)).toBe(0);
    expect(just(1151.99)).toBe(0);
  });

  test('none for a leg that is not flown to its end', () => {
    expect(wholeHeights(legOf({ result: { problem: { kind: 'no-headway' } } }), FEET)).toBeUndefined();
    expect(wholeHeights(legOf({ leg: { result: undefined } }), FEET)).toBeUndefined();
  });

  test('every leg of a plan adds up as it is shown', () => {
    const workspace = createWorkspace(['plan:/']);
    setFile(workspace, 'plan:/club.taskplan', EXAMPLE_CLUB);
    const text = `use "club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 3200 ft MSL
  turn     "Withy Bridge"
  climb    to 5000 ft MSL
  turn     "Corran Dam" at 60 kt
  climb    to 5200 ft MSL
  finish   Larkfield at 65 kt
`;
    const task = understand(workspace, setFile(workspace, 'plan:/a.taskplan', text)).tasks[0] as TaskEvaluation;
    expect(task.legs).toHaveLength(3);
    for (const leg of task.legs) {
      for (const with_ of [FEET, METRES]) {
        const { spent, lost, reserve, altimeter, margin, over } = wholeHeights(leg, with_) as never as Record<
          'lost' | 'reserve' | 'altimeter' | 'margin' | 'over',
          number
        > & { spent: number[] };
        expect(spent.reduce((sum, one) => sum + one)).toBe(lost);
        expect(reserve + altimeter + margin).toBe(over);
        const { marginM, arriveHeightM } = leg.result as { marginM: number; arriveHeightM: number };
        const size = with_.units.altitude.factor;
        expect(margin).toBeLessThanOrEqual(marginM / size + 1e-5);
        expect(margin).toBeGreaterThan(marginM / size - 2);
        expect(over).toBeLessThanOrEqual(arriveHeightM / size + 1e-5);
      }
    }
  });
});

describe('the text of a leg', () => {
  test('a number with its sign', () => {
    const ft = unit('ft');
    expect(signed(1320, ft, '+')).toBe('+1,320 ft');
    expect(signed(1320, ft, '')).toBe('1,320 ft');
    expect(signed(-1320, ft, '+')).toBe('−1,320 ft');
    expect(signed(0, ft, '+')).toBe('0 ft');
  });

  test('its margin', () => {
    expect(marginText(legOf(), FEET)).toBe('+349 ft');
    expect(marginText(legOf({ result: { arriveHeightM: 1000 * FT } }), FEET)).toBe('−151 ft');
    expect(marginText(legOf({ leg: { result: undefined } }), FEET)).toBe('–');
  });

  test('its course, magnetic too where it is known', () => {
    expect(courseText(legOf(), FEET)).toBe('230°');
    // Variation east, magnetic least.
    expect(courseText(legOf({ leg: { variationDeg: 5 } }), FEET)).toBe('230° / 225°M');
    expect(courseText(legOf({ leg: { variationDeg: -4 } }), FEET)).toBe('230° / 234°M');
    expect(courseText(legOf({ leg: { variationDeg: 0 } }), FEET)).toBe('230° / 230°M');
    expect(courseText(legOf({ leg: { result: undefined } }), FEET)).toBe('–');
  });

  const row = (given?: Given) => {
    const cells = legCells(legOf(given), FEET);
    expect(cells).toHaveLength(LEG_HEADS.length);
    return Object.fromEntries(LEG_HEADS.map((head, i) => [head, cells[i]]));
  };

  test('all its cells', () => {
    expect(row()).toEqual({
      leg: '2 Corran Dam → Larkfield',
      distance: '12.3 NM',
      course: '230°',
      speed: '60 kt',
      depart: '5,199 ft',
      required: '4,851 ft',
      arrive: '2,124 ft',
      'over point': '1,500 ft',
      asked: '1,151 ft',
      margin: '+349 ft',
      time: '13 min',
    });
  });

  test('a leg that does not get there', () => {
    expect(
      row({
        leg: { departAssumed: true, fromName: '', toName: '' },
        result: { problem: { kind: 'no-headway' }, requiredDepartAltitudeM: null },
      }),
    ).toEqual({
      leg: '2 ? → ?',
      distance: '12.3 NM',
      course: '230°',
      speed: '60 kt',
      depart: '5,200 ft (asked there)',
      required: '–',
      arrive: '–',
      'over point': '–',
      asked: '1,151 ft',
      margin: '–',
      time: '–',
    });
  });

  test('a leg of which nothing is computed', () => {
    for (const leg of [{ result: undefined, input: undefined }, { result: undefined }, { input: undefined }])
      expect(legCells(legOf({ leg }), FEET)).toEqual(['2 Corran Dam → Larkfield', ...Array(10).fill('–')]);
  });

  test('what its height is spent on, and what is left', () => {
    expect(budgetTerms(legOf(), FEET)).toEqual({
      spent: [
        ['still air', '1,000 ft'],
        ['wind', '201 ft'],
        ['sinking air', '100 ft'],
        ['planned share of the polar', '51 ft'],
      ],
      left: [
        ['reserve', '1,000 ft'],
        ['altimeter', '151 ft'],
        ['margin', '349 ft'],
      ],
      lost: '1,352 ft',
      over: '1,500 ft',
    });
    const tail = budgetTerms(legOf({ budget: { wind: -200 }, result: { arriveHeightM: 1000 * FT } }), FEET);
    expect(tail?.spent[1]).toEqual(['wind', '−200 ft']);
    expect(tail?.left[2]).toEqual(['margin', '−151 ft']);
    expect(budgetTerms(legOf({ leg: { result: undefined } }), FEET)).toBeUndefined();
  });
});

describe('the totals of a task', () => {
  const none: Totals = { distanceM: null, glideTimeS: null, climbTimeS: null, timeS: null };
  const totals = (given: Partial<Totals>, legs: object[] = []) =>
    totalsText({ totals: { ...none, ...given }, legs } as unknown as TaskEvaluation, FEET);

  test('as far as they are known', () => {
    expect(totals({ distanceM: 39 * NM, glideTimeS: 2280, climbTimeS: 2100, timeS: 4440 })).toBe(
      '39.0 NM, 38 min gliding, 35 min climbing, 1 h 14 min in all',
    );
    expect(totals({ distanceM: 39 * NM })).toBe('39.0 NM');
    expect(totals({ glideTimeS: 2280 })).toBe('38 min gliding');
    expect(totals({ climbTimeS: 0 })).toBe('0 s climbing');
    expect(totals({ timeS: 4440 })).toBe('1 h 14 min in all');
    expect(totals({})).toBe('not computed');
  });

  test('with the climbs of soaring, and the average over the ground', () => {
    const leg = (climbs: number, averageMps?: number) => ({
      soar: { climbs: Array(climbs).fill({}), averageMps },
      result: { distanceM: 10000 },
    });
    expect(totals({}, [leg(1)])).toBe('1 climb soaring');
    expect(totals({}, [leg(2)])).toBe('2 climbs soaring');
    // 20 km at 40 kt each 10 km.
    expect(totals({ distanceM: 20000 }, [leg(1, 40 * KT), leg(2, 40 * KT)])).toBe(
      '10.8 NM, 3 climbs soaring, 40 kt on average',
    );
  });
});
