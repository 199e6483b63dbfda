import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  altitudeOfFlightLevel,
  density,
  densityAltitude,
  densityRatio,
  pressure,
  pressureAltitude,
  requireAir,
  STANDARD_AIR,
  speedOfSound,
  standardPressure,
  standardTemperature,
  tasPerIas,
  temperature,
  temperatureDeviation,
} from '../../server/flight/index.ts';
import { anyAir, between, cases } from './arbitraries.ts';

const anyHeight = between(-20_000, 50_000);

describe('the air', () => {
  test('true over indicated airspeed is 1/sqrt(sigma) at every altitude', () => {
    fc.assert(
      fc.property(anyAir, anyHeight, (air, h) => {
        expect(tasPerIas(air, h) * Math.sqrt(densityRatio(air, h))).toBeCloseTo(1, 9);
        expect(density(air, h) * 287.05287 * temperature(air, h)).toBeCloseTo(pressure(air, h), 6);
      }),
      cases,
    );
  });

  test('pressure altitude is the inverse of standard pressure', () => {
    fc.assert(
      fc.property(anyHeight, (h) => {
        expect(Math.abs(pressureAltitude(standardPressure(h)) - h)).toBeLessThan(1e-6);
      }),
      cases,
    );
  });

  test('pressure falls with height, without a step at 11 km', () => {
    fc.assert(
      fc.property(anyAir, between(-20_000, 49_000), between(1, 1000), (air, h, more) => {
        expect(pressure(air, h + more)).toBeLessThan(pressure(air, h));
      }),
      cases,
    );
    expect(pressure(STANDARD_AIR, 11_000.001) / pressure(STANDARD_AIR, 11_000)).toBeCloseTo(1, 6);
  });

  test('QNH is the pressure at sea level, whatever the temperature', () => {
    fc.assert(
      fc.property(anyAir, (air) => {
        expect(pressure(air, 0)).toBe(air.qnhPa);
      }),
      cases,
    );
  });

  test('warm air and a low QNH are thin: true airspeed is higher', () => {
    expect(tasPerIas({ ...STANDARD_AIR, deltaTK: 20 }, 1000)).toBeGreaterThan(tasPerIas(STANDARD_AIR, 1000));
    expect(tasPerIas({ ...STANDARD_AIR, qnhPa: 98_000 }, 1000)).toBeGreaterThan(tasPerIas(STANDARD_AIR, 1000));
  });

  test('beyond its range it is that of the end, so that nothing becomes NaN', () => {
    for (const h of [-1e9, -20_001, 50_001, 1e9]) {
      expect(tasPerIas(STANDARD_AIR, h)).toBe(tasPerIas(STANDARD_AIR, h < 0 ? -20_000 : 50_000));
    }
  });
});

describe('flight levels', () => {
  test('on the standard QNH a level is its height in feet', () => {
    for (const fl of [0, 65, 100, 195]) expect(altitudeOfFlightLevel(STANDARD_AIR, fl)).toBeCloseTo(fl * 30.48, 6);
  });

  test('lie where the pressure is the standard one', () => {
    fc.assert(
      fc.property(anyAir, between(0, 400), (air, fl) => {
        expect(pressure(air, altitudeOfFlightLevel(air, fl)) / standardPressure(fl * 30.48)).toBeCloseTo(1, 9);
      }),
      cases,
    );
  });

  test('a low QNH puts them lower, about 8 m for each hPa', () => {
    const low = altitudeOfFlightLevel({ qnhPa: 100_325, deltaTK: 0 }, 65) - altitudeOfFlightLevel(STANDARD_AIR, 65);
    expect(low).toBeLessThan(-75);
    expect(low).toBeGreaterThan(-90);
  });
});

describe('temperature', () => {
  test('deviation is measured from the standard at that altitude', () => {
    expect(temperatureDeviation(standardTemperature(800), 800)).toBe(0);
    expect(temperatureDeviation(298.15, 1000)).toBeCloseTo(16.5, 9);
  });
  test('density altitude of standard air is its altitude', () => {
    fc.assert(
      fc.property(between(-1000, 11_000), (h) => {
        expect(densityAltitude(standardPressure(h), standardTemperature(h))).toBeCloseTo(h, 5);
      }),
      cases,
    );
  });
});

describe('above the tropopause', () => {
  // ISO 2533:1975, table of the isothermal layer (from memory, and by hand: 226.320 hPa times e^(-(h - 11 km)/6341.62 m)).
  test.each([
    [12_000, 19_330.4],
    [15_000, 12_044.5],
    [20_000, 5474.9],
  ])('the pressure at %d m is %d Pa', (h, pPa) => {
    expect(Math.abs(standardPressure(h) - pPa)).toBeLessThan(0.1);
    expect(Math.abs(pressureAltitude(pPa) - h)).toBeLessThan(0.2);
    expect(standardTemperature(h)).toBeCloseTo(216.65, 9);
  });
});

test('a deviation of 150 K is still an air, more is none', () => {
  for (const deltaTK of [-150, 150]) expect(() => requireAir({ qnhPa: 101_325, deltaTK })).not.toThrow();
  for (const deltaTK of [-151, 151]) {
    expect(() => requireAir({ qnhPa: 101_325, deltaTK })).toThrow(
      `not an air: QNH 101325 Pa, temperature deviation ${deltaTK} K`,
    );
  }
});

test('at absolute zero sound stands still', () => expect(speedOfSound(0)).toBe(0));

test('wrong use throws', () => {
  expect(() => altitudeOfFlightLevel({ qnhPa: 0, deltaTK: 0 }, 65)).toThrow('not a pressure: 0 Pa');
  expect(() => altitudeOfFlightLevel(STANDARD_AIR, Infinity)).toThrow('not a flight level: Infinity');
  expect(() => densityAltitude(0, 288.15)).toThrow('not a pressure: 0 Pa');
  expect(() => speedOfSound(-1)).toThrow('not a temperature: -1 K');
  expect(() => requireAir({ qnhPa: 0, deltaTK: 0 })).toThrow(RangeError);
  expect(() => requireAir({ qnhPa: 101_325, deltaTK: Number.NaN })).toThrow(RangeError);
  expect(() => pressureAltitude(0)).toThrow(RangeError);
  expect(() => altitudeOfFlightLevel(STANDARD_AIR, Number.NaN)).toThrow(RangeError);
  expect(() => speedOfSound(-1)).toThrow(RangeError);
  expect(() => densityAltitude(101_325, 0)).toThrow(RangeError);
});
