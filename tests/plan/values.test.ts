/** From a value as written to a value in SI, or to the fault that keeps it from being read. */
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import type {
  CoordinatesNode,
  DateNode,
  DurationNode,
  EntrySyntax,
  QuantityNode,
  TimeNode,
} from '../../grammar/syntax.ts';
import { DIMENSION_WORDS, type Dimension } from '../../grammar/units.ts';
import type { SlotKind } from '../../grammar/vocabulary.ts';
import { meaningOf } from '../../server/plan/meaning.ts';
import {
  datumUse,
  dimensionOf,
  durationSi,
  isRealDate,
  positionOf,
  quantitySi,
  utcSeconds,
} from '../../server/plan/values.ts';

function entryOf(text: string): EntrySyntax {
  return (parseFile(text).entries[0] as { syntax: EntrySyntax }).syntax;
}

const HEADS: Readonly<Record<string, string>> = {
  field: 'field Larkfield at 47.2 N 19.4 E',
  turnpoint: 'turnpoint Mill at 47.2 N 19.4 E',
  obstacle: 'obstacle Mast at 47.2 N 19.4 E',
  units: 'units',
};

/** What is wrong with the values of one detail; each place as the text that stands there, and each unit as its text. */
function faultsIn(entry: string, detail: string): unknown[] {
  const syntax = entryOf(`${HEADS[entry] ?? `${entry} Some`}\n  ${detail}\n`);
  return meaningOf(syntax).faults.map(({ fault }) => ({
    ...fault,
    span: syntax.text.slice(fault.span.start, fault.span.end),
    ...('unit' in fault ? { unit: fault.unit.text } : {}),
  }));
}

/** The value in a slot of one detail. */
function valueIn<T>(entry: string, detail: string, slot: string): T {
  const syntax = entryOf(`${HEADS[entry] ?? `${entry} Some`}\n  ${detail}\n`);
  return syntax.details[0]?.slots[slot] as T;
}

describe('the datum of a height', () => {
  const OVER_PLACE = [
    ['field', 'arrive'],
    ['reserve', 'arrive'],
    ['reserve', 'turn'],
  ] as const;

  test.each(OVER_PLACE)('%s %s is above the ground, and nothing else', (entry, detail) => {
    expect(faultsIn(entry, `${detail} 900 ft AGL`)).toEqual([]);
    expect(faultsIn(entry, `${detail} 900 ft agl`)).toEqual([]);
    expect(faultsIn(entry, `${detail} 900 ft MSL`)).toEqual([
      { code: 'datum-wrong', span: 'MSL', text: 'MSL', where: 'over-place' },
    ]);
    expect(faultsIn(entry, `${detail} FL65`)).toEqual([
      { code: 'datum-wrong', span: 'FL65', text: 'FL65', where: 'over-place' },
    ]);
    expect(faultsIn(entry, `${detail} 900  ft`)).toEqual([
      { code: 'datum-missing', span: '900  ft', text: '900 ft', where: 'over-place' },
    ]);
  });

  const NO_PLACE = [
    ['weather', (height: string) => `temperature 24 °C at ${height}`],
    ['weather', (height: string) => `wind ${height} from 230° at 8 kt`],
    ['weather', (height: string) => `lift 3 kt to ${height}`],
    ['weather', (height: string) => `cloudbase ${height}`],
    ['obstacle', (height: string) => `top ${height}`],
    ['task', (height: string) => `soar between ${height} and 9000 ft MSL`],
    ['task', (height: string) => `climb to ${height} after 5 NM`],
  ] as const;

  test.each(NO_PLACE)('%s: no place lies under it (%#)', (entry, detail) => {
    expect(faultsIn(entry, detail('900 ft MSL'))).toEqual([]);
    expect(faultsIn(entry, detail('FL65'))).toEqual([]);
    expect(faultsIn(entry, detail('900 ft AGL'))).toEqual([
      { code: 'datum-wrong', span: 'AGL', text: 'AGL', where: 'no-place' },
    ]);
    expect(faultsIn(entry, detail('900 ft'))).toEqual([
      { code: 'datum-missing', span: '900 ft', text: '900 ft', where: 'no-place' },
    ]);
  });

  const PLACE = [
    ['airspace', (height: string) => `floor ${height}`],
    ['airspace', (height: string) => `ceiling ${height}`],
    ['task', (height: string) => `start Larkfield at ${height}`],
    ['task', (height: string) => `climb to ${height}`],
  ] as const;

  test.each(PLACE)('%s: over a place, above the sea or a level (%#)', (entry, detail) => {
    for (const height of ['900 ft MSL', '900 ft AGL', 'FL65']) expect(faultsIn(entry, detail(height))).toEqual([]);
    expect(faultsIn(entry, detail('900 ft'))).toEqual([
      { code: 'datum-missing', span: '900 ft', text: '900 ft', where: 'place' },
    ]);
    expect(faultsIn(entry, detail('900 ft AMSL'))).toEqual([
      { code: 'datum-wrong', span: 'AMSL', text: 'AMSL', where: 'place' },
    ]);
  });

  test('only a climb of a task stands on the way', () => {
    expect(datumUse('task', 'climb to', true)).toBe('no-place');
    expect(datumUse('task', 'climb to', false)).toBe('place');
    expect(datumUse('task', 'climb to')).toBe('place');
    expect(datumUse('task', 'start', true)).toBe('place');
    expect(datumUse('field', 'climb to', true)).toBe('place');
  });

  test('an elevation is above the sea, said or not', () => {
    for (const height of ['190 m', '190 m MSL', '190 m msl']) {
      expect(faultsIn('field', `elevation ${height}`)).toEqual([]);
      expect(faultsIn('turnpoint', `elevation ${height}`)).toEqual([]);
    }
    expect(faultsIn('field', 'elevation 190 m AGL')).toEqual([
      { code: 'datum-wrong', span: 'AGL', text: 'AGL', where: 'sea' },
    ]);
    expect(faultsIn('field', 'elevation 190 m AMSL')).toEqual([
      { code: 'datum-wrong', span: 'AMSL', text: 'AMSL', where: 'sea' },
    ]);
  });

  test('a difference of heights has none', () => {
    expect(faultsIn('reserve', 'clear 500 ft')).toEqual([]);
    expect(faultsIn('reserve', 'clear 500 ft AGL')).toEqual([
      { code: 'datum-wrong', span: 'AGL', text: 'AGL', where: 'sea' },
    ]);
    expect(faultsIn('reserve', 'altimeter 150 ft MSL')).toEqual([
      { code: 'datum-wrong', span: 'MSL', text: 'MSL', where: 'sea' },
    ]);
  });
});

describe('the unit of a quantity', () => {
  test('missing, unknown, of the wrong kind, or behind a number that is not clear', () => {
    expect(faultsIn('weather', 'qnh 1018')).toEqual([
      { code: 'unit-missing', span: '1018', number: '1018', dimension: 'pressure' },
    ]);
    expect(faultsIn('weather', 'qnh 1018 mbar')).toEqual([
      { code: 'unit-unknown', span: 'mbar', text: 'mbar', dimension: 'pressure' },
    ]);
    expect(faultsIn('weather', 'qnh 1018 ft')).toEqual([
      { code: 'unit-wrong-kind', span: 'ft', unit: 'ft', dimension: 'pressure' },
    ]);
    expect(faultsIn('weather', 'qnh 1,018 hPa')).toEqual([{ code: 'number-unclear', span: '1,018', text: '1,018' }]);
  });

  test('a missing unit is told with the datum behind it, and before a missing datum', () => {
    expect(faultsIn('reserve', 'arrive 900 AGL')).toEqual([
      { code: 'unit-missing', span: '900', number: '900', dimension: 'length', datum: 'AGL' },
    ]);
    expect(faultsIn('reserve', 'arrive 900')).toEqual([
      { code: 'unit-missing', span: '900', number: '900', dimension: 'length' },
    ]);
  });

  test('a knot measures speed and climb, and 1,000 ft/min no speed', () => {
    expect(faultsIn('aircraft', 'polar 60 kt sink 2 kt')).toEqual([]);
    expect(faultsIn('aircraft', 'polar 60 ft/min sink 2 km/h')).toEqual([
      { code: 'unit-wrong-kind', span: 'ft/min', unit: 'ft/min', dimension: 'speed' },
      { code: 'unit-wrong-kind', span: 'km/h', unit: 'km/h', dimension: 'climb' },
    ]);
  });

  test('of a duration every part has one', () => {
    expect(faultsIn('limits', 'duration 3 h 30 min')).toEqual([]);
    expect(faultsIn('limits', 'duration 3 h 30')).toEqual([
      { code: 'unit-missing', span: '30', number: '30', dimension: 'duration' },
    ]);
    expect(faultsIn('limits', 'duration 3 km 30 min')).toEqual([
      { code: 'unit-wrong-kind', span: 'km', unit: 'km', dimension: 'duration' },
    ]);
    expect(faultsIn('limits', 'duration 3,5 h')).toEqual([{ code: 'number-unclear', span: '3,5', text: '3,5' }]);
  });

  test('a unit for a reader is one of those that the line offers', () => {
    for (const line of ['altitude m', 'distance mi', 'speed mph', 'climb ft/min', 'mass lb'])
      expect(faultsIn('units', line)).toEqual([]);
    const wrong = (line: string, dimension: Dimension) => {
      const unit = line.split(' ')[1];
      expect(faultsIn('units', line)).toEqual([{ code: 'unit-wrong-kind', span: unit, unit, dimension }]);
    };
    wrong('altitude km', 'length');
    wrong('distance ft', 'length');
    wrong('speed ft/min', 'speed');
    wrong('climb km/h', 'climb');
    wrong('mass m', 'mass');
    expect(faultsIn('units', 'climb fpm')).toEqual([
      { code: 'unit-unknown', span: 'fpm', text: 'fpm', dimension: 'climb' },
    ]);
    expect(faultsIn('units', 'mass stone')).toEqual([
      { code: 'unit-unknown', span: 'stone', text: 'stone', dimension: 'mass' },
    ]);
  });

  test('what a slot measures', () => {
    for (const dimension of Object.keys(DIMENSION_WORDS) as Dimension[]) expect(dimensionOf(dimension)).toBe(dimension);
    expect(dimensionOf('altitude')).toBe('length');
    expect(dimensionOf('elevation')).toBe('length');
    expect(dimensionOf('performance')).toBe('share');
    for (const kind of ['name', 'text', 'coordinates', 'date', 'time', 'ratio', 'runway', 'unit', 'choice', 'word'])
      expect(dimensionOf(kind as SlotKind)).toBeUndefined();
  });
});

describe('coordinates', () => {
  const of = (text: string) => faultsIn('airspace', `edge ${text}`);

  test('latitude and longitude, each with its letter', () => {
    for (const good of ['47.2 N 19.4 E', '47.2 s 19.4 w', "47°12.19'N 019°26.46'E"]) expect(of(good)).toEqual([]);
    expect(of('47.2 N')).toEqual([
      { code: 'coordinates-incomplete', span: '47.2 N', reason: 'the longitude is missing' },
    ]);
    expect(of('47.2 19.4 E')).toEqual([
      { code: 'coordinates-incomplete', span: '47.2', reason: 'the latitude needs N or S behind it' },
    ]);
    expect(of('47.2 N 19.4')).toEqual([
      { code: 'coordinates-incomplete', span: '19.4', reason: 'the longitude needs E or W behind it' },
    ]);
    expect(of('19.4 E 47.2 N')).toEqual([
      { code: 'coordinates-incomplete', span: 'E', reason: 'the latitude ends in N or S, not E' },
    ]);
    expect(of('47.2 N 19.4 s')).toEqual([
      { code: 'coordinates-incomplete', span: 's', reason: 'the longitude ends in E or W, not s' },
    ]);
    expect(of('47,2 N 19.4 E')).toEqual([{ code: 'number-unclear', span: '47,2 N', text: '47,2' }]);
    expect(of('47.2 N 19,4 E')).toEqual([{ code: 'number-unclear', span: '19,4 E', text: '19,4' }]);
  });

  test('north and east count up, south and west down', () => {
    const at = (text: string) => positionOf(valueIn<CoordinatesNode>('airspace', `edge ${text}`, 'corner'));
    expect(at('47.25 N 19.5 E')).toEqual({ latDeg: 47.25, lonDeg: 19.5 });
    expect(at('47.25 S 19.5 W')).toEqual({ latDeg: -47.25, lonDeg: -19.5 });
    expect(at('47.25 s 19.5 w')).toEqual({ latDeg: -47.25, lonDeg: -19.5 });
    expect(at("47°15'00\"N 19°30'W")).toEqual({ latDeg: 47.25, lonDeg: -19.5 });
  });
});

describe('times and dates', () => {
  test('a time needs its zone', () => {
    expect(faultsIn('task', 'takeoff 14:30Z')).toEqual([]);
    expect(faultsIn('task', 'takeoff 14:30')).toEqual([{ code: 'zone-missing', span: '14:30', text: '14:30' }]);
  });

  test('seconds of the day in UTC', () => {
    const at = (text: string) => utcSeconds(valueIn<TimeNode>('task', `takeoff ${text}`, 'time'));
    expect(at('14:30Z')).toBe(14 * 3600 + 30 * 60);
    expect(at('14:30:15Z')).toBe(52215);
    expect(at('14:30+02:00')).toBe(45000);
    expect(at('14:30-03:30')).toBe(64800);
    // Just after midnight two hours east of Greenwich it is still the day before.
    expect(at('00:30+02:00')).toBe(-5400);
    // A time without a zone is a fault; its seconds are those it would have in UTC.
    expect(at('14:30')).toBe(52200);
  });

  test('days of the calendar', () => {
    const real = (text: string) => isRealDate(valueIn<DateNode>('weather', `date ${text}`, 'date'));
    for (const day of ['2026-01-31', '2026-12-31', '2024-02-29', '2000-02-29', '0096-02-29'])
      expect(real(day)).toBe(true);
    for (const day of [
      '2026-02-29',
      '1900-02-29',
      '2026-06-31',
      '2026-06-00',
      '2026-00-10',
      '2026-13-01',
      '0097-02-29',
    ])
      expect(real(day)).toBe(false);
  });
});

describe('values in SI', () => {
  test('a quantity', () => {
    const of = (entry: string, detail: string, slot: string) => quantitySi(valueIn<QuantityNode>(entry, detail, slot));
    expect(of('field', 'elevation 1000 ft', 'elevation')).toBeCloseTo(304.8, 9);
    expect(of('weather', 'qnh 1018 hPa', 'pressure')).toBe(101800);
    // 75.2 °F: (75.2 − 32) · 5 / 9 = 24 °C.
    expect(of('weather', 'temperature 75.2 °F at 190 m MSL', 'temperature')).toBeCloseTo(297.15, 9);
    expect(of('field', 'elevation −12 m', 'elevation')).toBe(-12);
  });

  test('a duration is the sum of its parts', () => {
    const of = (text: string) => durationSi(valueIn<DurationNode>('limits', `duration ${text}`, 'duration'));
    expect(of('3 h 30 min')).toBe(12600);
    expect(of('45 min')).toBe(2700);
    expect(of('1.5 h')).toBe(5400);
  });
});
