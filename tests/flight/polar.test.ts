import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  atMass,
  bestGlideRatio,
  bestGlideSpeed,
  checkPolar,
  massFactor,
  minimumSink,
  minimumSinkSpeed,
  type Polar,
  planned,
  polarFromFigures,
  polarFromPoints,
  shareForRatio,
  sinkAt,
} from '../../server/flight/index.ts';
import { anyPolar, between, cases, notFinite } from './arbitraries.ts';

const polar: Polar = { a: 0.0016, b: -0.07, c: 1.36, massKg: 300 };
const range = { vsMps: 18, vneMps: 70 };

describe('from points', () => {
  const points = (of: Polar, speeds: number[]) =>
    speeds.map((speedMps) => ({ speedMps, sinkMps: sinkAt(of, speedMps) }));

  test('of a quadratic, any three or more, give it back', () => {
    const speeds = fc.uniqueArray(fc.integer({ min: 20, max: 70 }), { minLength: 3, maxLength: 12 });
    fc.assert(
      fc.property(anyPolar, speeds, (of, speeds) => {
        const made = polarFromPoints(points(of, speeds), of.massKg);
        if (made.refused) throw new Error(made.refused);
        for (const v of [20, 30, 45, 70]) expect(sinkAt(made.polar, v)).toBeCloseTo(sinkAt(of, v), 9);
        expect(made.residuals.maxMps).toBeLessThan(1e-10);
        expect([made.fromMps, made.toMps]).toEqual([Math.min(...speeds), Math.max(...speeds)]);
        expect(made.polar.massKg).toBe(of.massKg);
      }),
      cases,
    );
  });

  test('that scatter are fitted: no other quadratic near it is closer', () => {
    const scatter = fc.array(fc.record({ speedMps: between(20, 70), sinkMps: between(0.4, 4) }), {
      minLength: 4,
      maxLength: 9,
    });
    fc.assert(
      fc.property(scatter, between(-1, 1), between(-1, 1), between(-1, 1), (measured, da, db, dc) => {
        const made = polarFromPoints(measured, 300);
        if (made.refused) return;
        const squares = (of: Polar) => measured.reduce((sum, p) => sum + (sinkAt(of, p.speedMps) - p.sinkMps) ** 2, 0);
        const { a, b, c } = made.polar;
        const other = { a: a + da * 1e-4, b: b + db * 1e-2, c: c + dc * 0.1, massKg: 300 };
        expect(squares(made.polar)).toBeLessThanOrEqual(squares(other) + 1e-9);
        expect(made.residuals.rmsMps).toBeCloseTo(Math.sqrt(squares(made.polar) / measured.length), 9);
        expect(made.residuals.rmsMps).toBeLessThanOrEqual(made.residuals.maxMps + 1e-12);
      }),
      cases,
    );
  });

  test('the residual names the point that is farthest off', () => {
    const measured = points(polar, [22, 28, 34, 40, 46, 52]);
    const off = measured.map((point) => (point.speedMps === 40 ? { ...point, sinkMps: point.sinkMps + 0.2 } : point));
    const made = polarFromPoints(off, 300);
    if (made.refused) throw new Error(made.refused);
    expect(made.residuals.atSpeedMps).toBe(40);
    expect(made.residuals.maxMps).toBeGreaterThan(0.1);
    expect(made.residuals.maxMps).toBeLessThan(0.2);
  });

  test('without any residual names the first speed', () => {
    // W = V2/256 - V/8 + 2, at speeds at which every step of the fit is exact.
    const measured = [
      { speedMps: 16, sinkMps: 1 },
      { speedMps: 24, sinkMps: 1.25 },
      { speedMps: 40, sinkMps: 3.25 },
      { speedMps: 48, sinkMps: 5 },
    ];
    expect(polarFromPoints(measured, 300)).toMatchObject({
      polar: { a: 1 / 256, b: -1 / 8, c: 2 },
      residuals: { maxMps: 0, rmsMps: 0, atSpeedMps: 16 },
    });
  });

  test('fewer than three speeds are refused, and numbers that cannot be', () => {
    expect(polarFromPoints([], 300)).toEqual({ refused: 'too-few-speeds', distinctSpeeds: 0 });
    const same = [...points(polar, [25, 35]), { speedMps: 35, sinkMps: 1 }];
    expect(polarFromPoints(same, 300)).toEqual({ refused: 'too-few-speeds', distinctSpeeds: 2 });
    const rising = [...points(polar, [25, 35]), { speedMps: 45, sinkMps: -1 }];
    expect(polarFromPoints(rising, 300)).toEqual({ refused: 'not-positive' });
    expect(polarFromPoints(points(polar, [25, 35, 45]), 0)).toEqual({ refused: 'not-positive' });
    expect(polarFromPoints(points(polar, [25, 35, Number.NaN]), 300)).toEqual({ refused: 'not-positive' });
  });
});

describe('from handbook figures', () => {
  test('touches the best glide and has the minimum sink', () => {
    const figures = fc.record({ ratio: between(15, 70), speed: between(18, 40), share: between(0.501, 0.999) });
    fc.assert(
      fc.property(figures, ({ ratio, speed, share }) => {
        const minimumSinkMps = (speed / ratio) * share;
        const made = polarFromFigures(
          { bestGlideRatio: ratio, bestGlideSpeedMps: speed, minimumSinkMps, minimumSinkSpeedMps: null },
          300,
        );
        if (made.refused) throw new Error(made.refused);
        expect(bestGlideRatio(made.polar) / ratio).toBeCloseTo(1, 6);
        expect(bestGlideSpeed(made.polar) / speed).toBeCloseTo(1, 9);
        expect(minimumSink(made.polar)).toBeCloseTo(minimumSinkMps, 9);
        expect(minimumSinkSpeed(made.polar) / (2 * ratio * minimumSinkMps - speed)).toBeCloseTo(1, 6);
      }),
      cases,
    );
  });

  test('by hand: 40 at 28 m/s and 0.6 m/s', () => {
    // a = 1/(4 40 40 (0.7 - 0.6)) = 1/640, b = 1/40 - 2 28/640, c = 28 28/640; the minimum lies at 20 m/s.
    const made = polarFromFigures(
      { bestGlideRatio: 40, bestGlideSpeedMps: 28, minimumSinkMps: 0.6, minimumSinkSpeedMps: 22 },
      300,
    );
    if (made.refused) throw new Error(made.refused);
    expect(made.polar.a).toBeCloseTo(0.0015625, 12);
    expect(made.polar.b).toBeCloseTo(-0.0625, 12);
    expect(made.polar.c).toBeCloseTo(1.225, 12);
    expect(minimumSink(made.polar)).toBeCloseTo(0.6, 12);
    expect(made.minimumSinkSpeedMps).toBeCloseTo(20, 9);
    expect(made.minimumSinkSpeedOffMps).toBeCloseTo(-2, 9);
  });

  test('tells how far its own minimum lies from the stated speed', () => {
    const of = { bestGlideRatio: 40, bestGlideSpeedMps: 28, minimumSinkMps: 0.6, minimumSinkSpeedMps: 22 };
    const made = polarFromFigures(of, 300);
    if (made.refused) throw new Error(made.refused);
    expect(made.minimumSinkSpeedMps).toBeCloseTo(minimumSinkSpeed(made.polar), 12);
    expect(made.minimumSinkSpeedOffMps).toBeCloseTo(minimumSinkSpeed(made.polar) - 22, 12);
    const silent = polarFromFigures({ ...of, minimumSinkSpeedMps: null }, 300);
    expect(silent.refused === null && silent.minimumSinkSpeedOffMps).toBeNull();
  });

  test('a minimum sink that is not below the sink at best glide is refused, with both', () => {
    const of = { bestGlideRatio: 40, bestGlideSpeedMps: 28, minimumSinkMps: 0.7, minimumSinkSpeedMps: null };
    expect(polarFromFigures(of, 300)).toEqual({
      refused: 'minimum-sink-not-below-best-glide-sink',
      minimumSinkMps: 0.7,
      bestGlideSinkMps: 0.7,
    });
    expect(polarFromFigures({ ...of, bestGlideRatio: 0 }, 300)).toEqual({ refused: 'not-positive' });
  });

  test('so is one of at most half of it, where the curve would sink least at no speed above zero', () => {
    const of = { bestGlideRatio: 40, bestGlideSpeedMps: 28, minimumSinkSpeedMps: 22 };
    expect(polarFromFigures({ ...of, minimumSinkMps: 0.35 }, 300)).toEqual({
      refused: 'minimum-sink-at-most-half-best-glide-sink',
      minimumSinkMps: 0.35,
      bestGlideSinkMps: 0.7,
    });
    const made = polarFromFigures({ ...of, minimumSinkMps: 0.351 }, 300);
    if (made.refused) throw new Error(made.refused);
    expect(made.minimumSinkSpeedMps).toBeCloseTo(0.08, 9);
    expect(minimumSink(made.polar)).toBeCloseTo(0.351, 12);
  });
});

describe('the check', () => {
  test('lets a glider pass', () => expect(checkPolar(polar, range)).toBeNull());
  test.each([
    ['curves-down', { ...polar, a: -0.001 }, range],
    ['curves-down', { ...polar, a: 0 }, range],
    ['sink-not-positive', { ...polar, c: 0.7 }, range],
    ['sink-not-positive', { a: 0.001, b: 0, c: -2, massKg: 300 }, range],
    ['best-glide-below-vs', polar, { vsMps: 31, vneMps: 70 }],
    ['best-glide-below-vs', { a: 0.001, b: 0.02, c: 0, massKg: 300 }, range],
    ['best-glide-above-vne', polar, { vsMps: 18, vneMps: 28 }],
    ['too-good', { ...polar, c: 0.8 }, range],
    // V2/256 - V/4 + 4 is (V - 32)2/256: it just does not sink at 32 m/s.
    ['sink-not-positive', { a: 1 / 256, b: -0.25, c: 4, massKg: 300 }, range],
  ] as const)('%s', (reason, of, limits) => {
    const problem = checkPolar(of, limits);
    expect(problem?.reason).toBe(reason);
    expect(notFinite(problem)).toEqual([]);
  });
  test('lets a glide of 80 pass, and none above', () => {
    // 2 sqrt(a c) = 1/128, and b what is missing to 1/80.
    const best = { a: 2 ** -13, b: 1 / 80 - 1 / 128, c: 1 / 8, massKg: 300 };
    expect(checkPolar(best, range)).toBeNull();
    expect(checkPolar({ ...best, b: best.b - 1e-9 }, range)?.reason).toBe('too-good');
  });
  test('lets the best glide lie at either limit', () => {
    const at32 = { a: 1 / 256, b: -0.125, c: 4, massKg: 300 };
    expect(checkPolar(at32, { vsMps: 32, vneMps: 70 })).toBeNull();
    expect(checkPolar(at32, { vsMps: 18, vneMps: 32 })).toBeNull();
  });
});

describe('mass and performance', () => {
  test('every speed and its sink grow by the root of the mass, the glide ratio stays', () => {
    fc.assert(
      fc.property(anyPolar, between(0.5, 2), between(15, 60), (of, heavier, v) => {
        const heavy = atMass(of, of.massKg * heavier);
        const k = massFactor(of.massKg * heavier, of.massKg);
        expect(sinkAt(heavy, v * k)).toBeCloseTo(sinkAt(of, v) * k, 9);
        expect(bestGlideSpeed(heavy)).toBeCloseTo(bestGlideSpeed(of) * k, 9);
        expect(minimumSinkSpeed(heavy)).toBeCloseTo(minimumSinkSpeed(of) * k, 9);
        expect(bestGlideRatio(heavy)).toBeCloseTo(bestGlideRatio(of), 6);
        expect(sinkAt(atMass(heavy, of.massKg), v)).toBeCloseTo(sinkAt(of, v), 9);
      }),
      cases,
    );
  });

  test('a share is that part of the glide ratio at every speed, and of the best', () => {
    fc.assert(
      fc.property(anyPolar, between(0.4, 1.2), between(15, 60), (of, share, v) => {
        const plan = planned(of, of.massKg, share);
        expect(v / sinkAt(plan, v)).toBeCloseTo((share * v) / sinkAt(of, v), 6);
        expect(shareForRatio(bestGlideRatio(plan), of)).toBeCloseTo(share, 9);
      }),
      cases,
    );
  });

  test('wrong use throws', () => {
    expect(() => massFactor(0, 300)).toThrow('not masses: 0 kg, 300 kg');
    expect(() => atMass(polar, Number.NaN)).toThrow(RangeError);
    expect(() => planned(polar, 300, 0)).toThrow('not a performance share: 0');
  });

  test('a curve without best glide or minimum still answers with numbers, or Infinity as a ratio', () => {
    const flat = { a: 0, b: -0.1, c: 1, massKg: 300 };
    expect([bestGlideSpeed(flat), minimumSinkSpeed(flat), bestGlideRatio(flat)]).toEqual([0, 0, Infinity]);
    expect(bestGlideRatio({ ...polar, c: 0.7 })).toBe(Infinity);
    expect(shareForRatio(30, flat)).toBe(0);
    const best = (a: number, b: number, c: number) => {
      const curve = { a, b, c, massKg: 300 };
      return [bestGlideSpeed(curve), bestGlideRatio(curve)];
    };
    expect(best(0, 0.02, 1)).toEqual([0, Infinity]);
    expect(best(0.001, 0.02, 0)).toEqual([0, Infinity]);
    expect(best(0.001, 0.02, -2)).toEqual([0, Infinity]);
    expect(best(-0.001, 0.02, -2)).toEqual([0, Infinity]);
    for (const b of [0, 0.02]) expect(minimumSinkSpeed({ ...polar, b })).toBe(0);
  });
});
