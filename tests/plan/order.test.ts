/** Which of two heights is the higher one, by formulas written anew. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { difference, isEmptyAlways, isEmptyBy } from '../../server/plan/order.ts';
import type { Altitude } from '../../server/plan/values.ts';
import { between, cases } from '../flight/arbitraries.ts';

const msl = (metres: number): Altitude => ({ kind: 'msl', metres });
const agl = (metres: number): Altitude => ({ kind: 'agl', metres });
const fl = (level: number): Altitude => ({ kind: 'fl', level });

/** The altitude of a flight level, m, below 11 km. Source: ICAO Doc 7488, from memory: 44,330.77 m and the power 5.25588. */
function altitudeOf(level: number, qnhPa: number): number {
  const pressure = 101_325 * (1 - (level * 30.48) / 44_330.77) ** 5.255_88;
  return 44_330.77 * (1 - (pressure / qnhPa) ** (1 / 5.255_88));
}

describe('the difference of two heights', () => {
  test('is told where both are counted from the same thing, and has its sign', () => {
    expect(difference(msl(1200), msl(900))).toBe(300);
    expect(difference(agl(100), agl(450))).toBe(-350);
    expect(difference(fl(95), fl(65))).toBe(30);
  });

  test('and of no others', () => {
    const kinds = [msl(1), agl(1), fl(1)];
    for (const one of kinds)
      for (const other of kinds) expect(difference(one, other)).toBe(one === other ? 0 : undefined);
  });
});

describe('what is left between two heights', () => {
  test('by a QNH is nothing where the lower one is as high, or higher', () => {
    fc.assert(
      fc.property(between(10, 300), between(-500, 10_000), between(90_000, 106_000), (level, metres, qnhPa) => {
        const over = altitudeOf(level, qnhPa) - metres;
        // The constants are rounded: to half a metre.
        fc.pre(Math.abs(over) > 0.5);
        expect(isEmptyBy(fl(level), msl(metres), qnhPa)).toBe(over > 0);
        expect(isEmptyBy(msl(metres), fl(level), qnhPa)).toBe(over < 0);
      }),
      cases,
    );
  });

  test('by any QNH is nothing where two of one kind stand in the wrong order, or are one', () => {
    for (const of of [msl, agl, fl]) {
      expect([isEmptyBy(of(60), of(80), 101_325), isEmptyAlways(of(60), of(80))]).toStrictEqual([false, false]);
      for (const upper of [60, 40])
        expect([isEmptyBy(of(60), of(upper), 101_325), isEmptyAlways(of(60), of(upper))]).toStrictEqual([true, true]);
      // Closer than a millionth they are one: a height may have come out of a pressure.
      expect([isEmptyBy(of(0), of(1e-6), 101_325), isEmptyBy(of(0), of(1.1e-6), 101_325)]).toStrictEqual([true, false]);
    }
  });

  test('is not known where the ground decides', () => {
    for (const other of [msl(0), fl(0)])
      for (const [lower, upper] of [
        [agl(5000), other],
        [other, agl(5000)],
      ] as const) {
        expect(isEmptyBy(lower, upper, 101_325)).toBeUndefined();
        expect(isEmptyAlways(lower, upper)).toBe(false);
      }
  });

  test('is nothing whatever the pressure only where neither the lowest nor the highest leaves something', () => {
    // FL65 lies between 542 and 2,565 m MSL by a QNH from 850 to 1090 hPa.
    const [least, most] = [altitudeOf(65, 85_000), altitudeOf(65, 109_000)];
    expect([Math.round(least), Math.round(most)]).toStrictEqual([542, 2565]);
    expect(isEmptyAlways(fl(65), msl(least - 1))).toBe(true);
    expect(isEmptyAlways(fl(65), msl(least + 1))).toBe(false);
    expect(isEmptyAlways(msl(most + 1), fl(65))).toBe(true);
    expect(isEmptyAlways(msl(most - 1), fl(65))).toBe(false);
  });
});
