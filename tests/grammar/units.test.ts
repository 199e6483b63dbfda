/** The units against published values; the source stands beside each check. */
import { describe, expect, test } from 'vitest';
import {
  DIMENSION_WORDS,
  type Dimension,
  fromSi,
  toSi,
  UNITS,
  type Unit,
  type UnitText,
  unit,
  unitOf,
  unitsFor,
} from '../../grammar/units.ts';

const convert = (value: number, from: UnitText, to: UnitText) => fromSi(toSi(value, unit(from)), unit(to));

describe('published values', () => {
  test.each<[number, UnitText, number, UnitText]>([
    // BIPM SI Brochure, 9th edition, table 8: the nautical mile and the knot, exact.
    [1, 'NM', 1852, 'm'],
    [1, 'kt', 1.852, 'km/h'],
    [1, 'kt', 1852 / 3600, 'm/s'],
    // International yard and pound agreement of 1959 (NIST SP 811, appendix B.8), exact.
    [1, 'ft', 0.3048, 'm'],
    [1, 'mi', 1609.344, 'm'],
    [5280, 'ft', 1, 'mi'],
    [1, 'mph', 1.609344, 'km/h'],
    [1, 'lb', 0.45359237, 'kg'],
    // The zero points of the Celsius and Fahrenheit scales (NIST SP 811, appendix B.8), exact.
    [0, '°C', 32, '°F'],
    [100, '°C', 212, '°F'],
    [-40, '°C', -40, '°F'],
    [15, '°C', 59, '°F'],
  ])('%d %s is %d %s, exactly', (value, from, expected, to) => {
    expect(convert(value, from, to)).toBeCloseTo(expected, 9);
  });

  test('an inch of mercury is 3386.389 Pa (conventional, NIST SP 811, appendix B.8)', () => {
    expect(toSi(1, unit('inHg'))).toBe(3386.389);
  });

  test('29.92 inHg is 1013.21 hPa, and 1013.25 hPa is 29.9213 inHg', () => {
    expect(convert(29.92, 'inHg', 'hPa')).toBeCloseTo(1013.21, 2);
    expect(convert(1013.25, 'hPa', 'inHg')).toBeCloseTo(29.9213, 4);
  });

  test('a knot of climb is 101.269 ft/min, which handbooks round to 100 (FAA-H-8083-13B)', () => {
    expect(convert(1, 'kt', 'ft/min')).toBeCloseTo(101.269, 3);
  });

  // FAI badge distances as club pages print them in statute miles; some round 186.411 to 186.42 and 310.686 to 310.7.
  test.each([
    [50, 31.07],
    [300, 186.41],
    [500, 310.69],
  ])('a badge distance of %d km is %d statute miles', (km, miles) => {
    expect(convert(km, 'km', 'mi')).toBeCloseTo(miles, 2);
  });

  // FAI badge gains of height (silver, gold, diamond) as printed in feet, rounded.
  test.each([
    [1000, 3281],
    [3000, 9843],
    [5000, 16404],
  ])('a badge height of %d m is %d ft', (m, ft) => {
    expect(Math.round(convert(m, 'm', 'ft'))).toBe(ft);
  });

  test('a nautical mile is 6,076.1 ft (FAA-H-8083-13B uses it in its glide examples)', () => {
    expect(convert(1, 'NM', 'ft')).toBeCloseTo(6076.1, 1);
  });
});

describe('the table', () => {
  test('every unit is found by its text in any case, and by its other spellings', () => {
    for (const row of UNITS as readonly Unit[]) {
      for (const word of [row.text, ...(row.also ?? [])]) {
        expect(unitOf(word)).toBe(row);
        expect(unitOf(word.toUpperCase())).toBe(row);
        expect(unitOf(word.toLowerCase())).toBe(row);
      }
    }
    expect(unitOf('° c')?.text).toBe('°C');
    for (const word of ['', 'fpm', 'knots', 'kmh', 'nmi', 'fl']) expect(unitOf(word)).toBeUndefined();
  });

  test('to SI and back is the same number', () => {
    for (const row of UNITS)
      for (const value of [0, 1, -7.25, 1e6]) expect(fromSi(toSi(value, row), row)).toBeCloseTo(value, 6);
  });

  test('every dimension has a unit, and an example in it', () => {
    for (const [dimension, { example }] of Object.entries(DIMENSION_WORDS)) {
      const texts = unitsFor(dimension as Dimension).map((row) => row.text);
      expect(texts.some((text) => example.endsWith(text))).toBe(true);
    }
  });
});
