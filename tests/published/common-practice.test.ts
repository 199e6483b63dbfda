/** Facts of the trade. Common practice, no source. */
import { expect, test } from 'vitest';
import { evaluateLeg, polarFromFigures, shareForRatio } from '../../server/flight/index.ts';
import { FT, KT, leg, present, SM, setting } from './table.ts';

const made = polarFromFigures(
  { bestGlideRatio: 32, bestGlideSpeedMps: 52 * KT, minimumSinkMps: 0.7, minimumSinkSpeedMps: null },
  360,
);
if (made.refused) throw new Error(made.refused);
const { polar } = made;

function lossFeet(miles: number, share: number): number {
  const flown = evaluateLeg(leg(setting(polar, miles * SM, { share }), 52 * KT, { departAltitudeM: 6000 * FT }));
  if (flown.problem) throw new Error(flown.problem);
  return (flown.departAltitudeM - flown.arriveAltitudeM) / FT;
}

test('common practice, no source: 32:1 is about six statute miles for each 1,000 ft (2 percent)', () => {
  expect(Math.abs(lossFeet(6, 1) - 1000)).toBeLessThan(20);
});

test('common practice, no source: arrive with 1,000 ft over the field', () => {
  const destination = { elevationM: 800 * FT, reserveM: 1000 * FT, altimeterM: 0 };
  const flown = evaluateLeg(leg(setting(polar, 12 * SM), 52 * KT, { departAltitudeM: 4000 * FT, destination }));
  if (flown.problem) throw new Error(flown.problem);
  expect(flown.askedAltitudeM / FT).toBeCloseTo(1800, 9);
  expect(Math.abs(present(flown.requiredDepartAltitudeM) / FT - (1800 + 2000))).toBeLessThan(40);
  expect(Math.abs(flown.marginM / FT - 200)).toBeLessThan(40);
});

test('common practice, no source: plan on less than best glide: 70 percent of 32:1 loses 1/0.7 the height', () => {
  expect(lossFeet(6, 0.7)).toBeCloseTo(lossFeet(6, 1) / 0.7, 3);
  // Half of best glide, the cautious student's rule: twice the height.
  expect(lossFeet(6, shareForRatio(16, polar))).toBeCloseTo(2 * lossFeet(6, 1), 3);
});
