/** Where tracks pass places, against geodesics. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { destination, inSpace, passing, staysClear, track } from '../../server/flight/index.ts';
import { between, cases } from './arbitraries.ts';

describe('where a track passes a place', () => {
  test('is within the radius, and nowhere else', () => {
    const from = { latDeg: 47.2, lonDeg: 19.4 };
    fc.assert(
      fc.property(
        between(0, 360),
        between(10, 60_000),
        between(0, 360),
        between(0, 60_000),
        between(100, 8000),
        (course, length, side, away, radius) => {
          const way = track(from, destination(from, course, length));
          const place = destination(from, side, away);
          const span = passing(way, place, radius);
          for (let i = 0; i <= 40; i += 1) {
            const xM = (way.distanceM * i) / 40;
            const distance = track(way.positionAt(xM), place).distanceM;
            const inside = span !== null && xM >= span.fromM - 3 && xM <= span.toM + 3;
            if (distance < radius - 3) expect(inside).toBe(true);
            if (distance > radius + 5 && span) expect(xM > span.fromM + 3 && xM < span.toM - 3).toBe(false);
          }
        },
      ),
      cases,
    );
  });

  // Along the equator, where a metre is the same share of a degree everywhere: 111,319.49 m a degree.
  const line = track({ latDeg: 0, lonDeg: 10 }, { latDeg: 0, lonDeg: 10.5 });
  const beside = (eastM: number, northM: number) =>
    destination(destination({ latDeg: 0, lonDeg: 10 }, 90, eastM), 0, northM);
  const span = (eastM: number, northM: number, radiusM: number): [number, number] | null => {
    const found = passing(line, beside(eastM, northM), radiusM);
    return found && [found.fromM, found.toM];
  };
  /** To a few metres, and rather too long. */
  const near = (found: [number, number] | null, fromM: number, toM: number): void => {
    if (!found) throw new Error('passes by');
    expect(found[0]).toBeLessThanOrEqual(fromM + 0.1);
    expect(found[0]).toBeGreaterThan(fromM - 4);
    expect(found[1]).toBeGreaterThanOrEqual(toM - 0.1);
    expect(found[1]).toBeLessThan(toM + 4);
  };

  test('by Pythagoras: 3 km beside a track, 5 km from it: 4 km to each side', () => {
    for (const northM of [3000, -3000]) near(span(20_000, northM, 5000), 16_000, 24_000);
    near(span(40_000, 3000, 5000), 36_000, 44_000);
    near(span(10_000, 0, 1000), 9000, 11_000);
  });

  test('only the part that there is', () => {
    near(span(1000, 3000, 5000), 0, 5000);
    near(span(line.distanceM - 1000, 3000, 5000), line.distanceM - 5000, line.distanceM);
    expect(span(1000, 3000, 5000)?.[0]).toBe(0);
    expect(span(line.distanceM - 1000, 3000, 5000)?.[1]).toBe(line.distanceM);
    expect(span(20_000, 0, 90_000)).toEqual([0, line.distanceM]);
  });

  test('before its start and beyond its end only the ends count', () => {
    near(span(-3000, 0, 4000), 0, 1000);
    near(span(line.distanceM + 3000, 0, 4000), line.distanceM - 1000, line.distanceM);
    // The end itself, not a place two metres from it.
    expect(span(-3000, 0, 3000.2)?.[0]).toBe(0);
    expect(span(line.distanceM + 3000, 0, 3000.2)?.[1]).toBe(line.distanceM);
    expect(span(-3000, 0, 2900)).toBeNull();
    expect(span(line.distanceM + 3000, 0, 2900)).toBeNull();
  });

  test('just within, just without', () => {
    expect(span(20_000, 3000, 3001)).not.toBeNull();
    expect(span(20_000, 3000, 2990)).toBeNull();
  });

  test('a track of no length passes where it is', () => {
    const still = track({ latDeg: 0, lonDeg: 10 }, { latDeg: 0, lonDeg: 10 });
    expect(passing(still, beside(0, 900), 1000)).toEqual({ fromM: 0, toM: 0 });
    expect(passing(still, beside(0, 1100), 1000)).toBeNull();
    expect(staysClear(still, inSpace(beside(0, 1100)), 1000)).toBe(true);
    expect(staysClear(still, inSpace(beside(0, 900)), 1000)).toBe(false);
  });
});

describe('a track that certainly stays clear of a place', () => {
  test('is no nearer to it than that, and a bound not far below the distance says so', () => {
    const from = { latDeg: 47.2, lonDeg: 19.4 };
    fc.assert(
      fc.property(
        between(0, 360),
        between(0, 100_000),
        between(0, 360),
        between(0, 100_000),
        (course, length, side, away) => {
          const way = track(from, destination(from, course, length));
          const place = destination(from, side, away);
          const least = Math.min(
            ...Array.from({ length: 201 }, (_, i) => track(way.positionAt((way.distanceM * i) / 200), place).distanceM),
          );
          const at = inSpace(place);
          expect(staysClear(way, at, least)).toBe(false);
          // The track stands off the straight line by a little; a step of the looking is half a kilometre.
          const slack = (length * length) / 40e6 + length / 200 + 3;
          expect(staysClear(way, at, least - slack)).toBe(true);
        },
      ),
      cases,
    );
  });

  test('the same track again: the same answer', () => {
    const way = track({ latDeg: 47, lonDeg: 19 }, { latDeg: 47.5, lonDeg: 19.5 });
    const at = inSpace({ latDeg: 47.25, lonDeg: 19.25 });
    expect([staysClear(way, at, 1000), staysClear(way, at, 1000)]).toEqual([false, false]);
  });
});
