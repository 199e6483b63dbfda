/** Numbers as a reader sees them: rounded to the safe side, in the reader's units. */
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import { unit } from '../../grammar/units.ts';
import { meaningOf, type Units } from '../../server/plan/meaning.ts';
import {
  altitudeText,
  courseDigits,
  DEFAULT_UNITS,
  duration,
  inUnit,
  number,
  type ReaderUnits,
  readerUnits,
  rounded,
  show,
  timeOfDay,
} from '../../server/plan/show.ts';

const FT = 0.3048;
const KT = 1852 / 3600;

function unitsOf(text: string): Units[] {
  return parseFile(text).entries.map(({ syntax }) => meaningOf(syntax) as Units);
}

const textsOf = (units: ReaderUnits) => Object.values(units).map((one) => one.text);

describe('the units of a reader', () => {
  test('feet, nautical miles, knots and kilograms, unless a file chooses others', () => {
    const usual = { altitude: 'ft', distance: 'NM', speed: 'kt', climb: 'kt', mass: 'kg' };
    for (const [kind, text] of Object.entries(usual)) {
      expect(DEFAULT_UNITS[kind as keyof ReaderUnits].text).toBe(text);
      expect(readerUnits([])[kind as keyof ReaderUnits].text).toBe(text);
    }
    const chosen = readerUnits(unitsOf('units\n  altitude m\n  distance km\n  speed km/h\n  climb m/s\n  mass lb\n'));
    expect(chosen).toEqual({
      altitude: unit('m'),
      distance: unit('km'),
      speed: unit('km/h'),
      climb: unit('m/s'),
      mass: unit('lb'),
    });
  });

  test('the same units are the same object, whoever chose them, and others are another', () => {
    const metric = () => readerUnits(unitsOf('units\n  altitude m\n  distance km\n'));
    expect(show(metric())).toBe(show(metric()));
    expect(show(metric())).not.toBe(show(DEFAULT_UNITS));
  });

  test('the first choice of each kind counts', () => {
    const entries = unitsOf('units\n  altitude m\n\nunits\n  altitude ft\n  distance mi\n\nunits\n  distance km\n');
    expect(textsOf(readerUnits(entries))).toEqual(['m', 'mi', 'kt', 'kt', 'kg']);
  });

  test('a choice that cannot be read is none', () => {
    expect(textsOf(readerUnits(unitsOf('units\n  altitude furlong\n\nunits\n  altitude m\n')))[0]).toBe('m');
    const odd = { chosen: { altitude: 'furlong' } } as unknown as Units;
    expect(readerUnits([odd]).altitude.text).toBe('ft');
  });
});

describe('rounding', () => {
  test('to the nearest, up or down', () => {
    expect(rounded(2.5, 'nearest')).toBe(3);
    expect(rounded(2.4, 'nearest')).toBe(2);
    expect(rounded(2.1, 'up')).toBe(3);
    expect(rounded(2.9, 'down')).toBe(2);
    expect(rounded(-2.1, 'up')).toBe(-2);
    expect(rounded(-2.1, 'down')).toBe(-3);
  });

  test('what is whole but for the last bits of a conversion is whole', () => {
    expect(rounded(2.9999999, 'down')).toBe(3);
    expect(rounded(3.0000001, 'up')).toBe(3);
    expect(rounded(2.999998, 'down')).toBe(2);
    expect(rounded(3.000002, 'up')).toBe(4);
    expect(rounded(1e-6, 'up')).toBe(1);
  });
});

describe('numbers', () => {
  test('with a comma before each three digits, and a true minus', () => {
    expect(number(0)).toBe('0');
    expect(number(999)).toBe('999');
    expect(number(1000)).toBe('1,000');
    expect(number(1234567)).toBe('1,234,567');
    expect(number(-1234.5, 1)).toBe('−1,234.5');
    expect(number(1234.5678, 4)).toBe('1,234.5678');
  });

  test('with so many decimals, rounded the way that is asked', () => {
    expect(number(12.34, 1)).toBe('12.3');
    expect(number(12.34, 1, 'up')).toBe('12.4');
    expect(number(12.39, 1, 'down')).toBe('12.3');
    expect(number(12.5)).toBe('13');
    expect(number(12, 2)).toBe('12.00');
    expect(number(999.95, 1)).toBe('1,000.0');
  });

  test('what rounds to nought has no sign', () => {
    expect(number(-0.4)).toBe('0');
    expect(number(-0.04, 1)).toBe('0.0');
    expect(number(-0.6)).toBe('−1');
  });

  test('in any unit', () => {
    expect(inUnit(304.8, 'ft', 0)).toBe('1,000 ft');
    expect(inUnit(1.25 * 1852, 'NM', 2)).toBe('1.25 NM');
    expect(inUnit(297.15, '°C', 1)).toBe('24.0 °C');
  });
});

describe('quantities for a reader', () => {
  const usual = show(DEFAULT_UNITS);
  const metric = show({
    altitude: unit('m'),
    distance: unit('km'),
    speed: unit('m/s'),
    climb: unit('ft/min'),
    mass: unit('lb'),
  });

  test('in the usual units', () => {
    expect(usual.units).toBe(DEFAULT_UNITS);
    expect(usual.height(680.4 * FT)).toBe('680 ft');
    expect(usual.height(680.4 * FT, 'up')).toBe('681 ft');
    expect(usual.height(680.6 * FT, 'down')).toBe('680 ft');
    expect(usual.altitude(5720.4 * FT)).toBe('5,720 ft MSL');
    expect(usual.altitude(5720.4 * FT, 'up')).toBe('5,721 ft MSL');
    expect(usual.altitude(5720.6 * FT, 'down')).toBe('5,720 ft MSL');
    expect(usual.distance(12.34 * 1852)).toBe('12.3 NM');
    expect(usual.speed(75.4 * KT)).toBe('75 kt');
    expect(usual.speed(75.4 * KT, 'up')).toBe('76 kt');
    expect(usual.climb(1.34 * KT)).toBe('1.3 kt');
    expect(usual.mass(310.4)).toBe('310 kg');
    expect(usual.course(4.6)).toBe('005°');
    expect(usual.duration(270)).toBe('4 min 30 s');
    expect(usual.ratio(32)).toBe('32.0:1');
  });

  test('metres a second have a decimal as a speed, feet a minute have none as a climb', () => {
    expect(metric.height(680.4)).toBe('680 m');
    expect(metric.altitude(680.4)).toBe('680 m MSL');
    expect(metric.distance(12340)).toBe('12.3 km');
    expect(metric.speed(25.44)).toBe('25.4 m/s');
    expect(metric.climb((130.4 * FT) / 60)).toBe('130 ft/min');
    expect(metric.mass(100)).toBe('220 lb');
    expect(show({ ...DEFAULT_UNITS, climb: unit('m/s') }).climb(1.34)).toBe('1.3 m/s');
    expect(show({ ...DEFAULT_UNITS, speed: unit('km/h') }).speed(25)).toBe('90 km/h');
  });

  test('a course has three digits, from 001 to 360', () => {
    for (const [degrees, text] of [
      [0, '360'],
      [360, '360'],
      [359.6, '360'],
      [-0.4, '360'],
      [0.5, '001'],
      [45, '045'],
      [230.4, '230'],
      [-1, '359'],
      [725, '005'],
      [-725, '355'],
    ] as const)
      expect(courseDigits(degrees)).toBe(text);
  });

  test('a duration, with seconds under ten minutes', () => {
    for (const [seconds, text] of [
      [0, '0 s'],
      [59.4, '59 s'],
      [59.6, '1 min 00 s'],
      [61, '1 min 01 s'],
      [270, '4 min 30 s'],
      [599.4, '9 min 59 s'],
      [600, '10 min'],
      [629, '10 min'],
      [3569, '59 min'],
      [3571, '1 h 00 min'],
      [7500, '2 h 05 min'],
    ] as const)
      expect(duration(seconds)).toBe(text);
  });

  test('an altitude as it was meant', () => {
    expect(altitudeText({ kind: 'msl', metres: 3000 * FT }, usual)).toBe('3,000 ft MSL');
    expect(altitudeText({ kind: 'agl', metres: 3000 * FT }, usual)).toBe('3,000 ft AGL');
    expect(altitudeText({ kind: 'fl', level: 65 }, usual)).toBe('FL65');
  });

  test('a time of day, in its zone', () => {
    for (const [utcS, zone, text] of [
      [50700, 0, '14:05Z'],
      [50700, 120, '16:05+02:00'],
      [50700, -210, '10:35-03:30'],
      [50700, 345, '19:50+05:45'],
      [84600, 120, '01:30+02:00'],
      [-5400, 0, '22:30Z'],
      [-5400, 120, '00:30+02:00'],
      [29, 0, '00:00Z'],
      [31, 0, '00:01Z'],
      [540, 0, '00:09Z'],
    ] as const)
      expect(timeOfDay(utcS, zone)).toBe(text);
  });
});
