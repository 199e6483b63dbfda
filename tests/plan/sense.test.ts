/** What no flight can have: the bounds of each kind of value, just within and just beyond, and the reason that is given. */
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import type { EntrySyntax } from '../../grammar/syntax.ts';
import { meaningOf } from '../../server/plan/meaning.ts';
import { isSensible } from '../../server/plan/sense.ts';

const HEADS: Readonly<Record<string, string>> = {
  field: 'field Larkfield at 47.2 N 19.4 E',
  turnpoint: 'turnpoint Mill at 47.2 N 19.4 E',
  obstacle: 'obstacle Mast at 47.2 N 19.4 E',
};

/** The faults of an entry's values: what is marked, and why. */
function reasonsOf(text: string): unknown[] {
  const { syntax } = parseFile(text).entries[0] as { syntax: EntrySyntax };
  return meaningOf(syntax).faults.map(({ fault }) => [
    syntax.text.slice(fault.span.start, fault.span.end),
    fault.code === 'value-out-of-sense' ? fault.reason : fault.code,
  ]);
}

const reasonsIn = (entry: string, detail: string) => reasonsOf(`${HEADS[entry] ?? `${entry} Some`}\n  ${detail}\n`);

describe('bounds', () => {
  const ZERO = 'is below zero';
  const AIR = 'is above 20,000 m, which is more than this model of the air covers';
  const DEEP = 'lies deeper than any land';
  // Entry, detail, the least and the most that are allowed, what is just too little and too much, and why.
  const BOUNDS = [
    ['field', 'elevation X', '-450 m', '9000 m', '-450.1 m', DEEP, '9000.1 m', 'is higher than any mountain'],
    ['task', 'start Mill at X', '-450 m MSL', '20000 m MSL', '-450.1 m MSL', DEEP, '20000.1 m MSL', AIR],
    ['task', 'start Mill at X', '0 m AGL', '20000 m AGL', '-0.1 m AGL', ZERO, '20000.1 m AGL', AIR],
    ['obstacle', 'radius X', '0 m', '20100 km', '-0.1 m', ZERO, '20100.1 km', 'is more than half way round the Earth'],
    ['aircraft', 'crosswind X', '0 kt', '400 kt', '-0.1 kt', ZERO, '400.1 kt', 'is faster than any glider'],
    ['weather', 'sink X', '0 m/s', '30 m/s', '-0.1 m/s', ZERO, '30.1 m/s', 'is more than any thermal or wave gives'],
    ['aircraft', 'ballast up to X', '0 kg', '2000 kg', '-0.1 kg', ZERO, '2000.1 kg', 'is more than any glider weighs'],
    [
      'weather',
      'qnh X',
      '850 hPa',
      '1090 hPa',
      '849.9 hPa',
      'is lower than any pressure measured at sea level',
      '1090.1 hPa',
      'is higher than any pressure measured at sea level',
    ],
    [
      'weather',
      'temperature X at 0 m MSL',
      '-100 °C',
      '60 °C',
      '-100.1 °C',
      'is colder than the air gets',
      '60.1 °C',
      'is hotter than the air gets',
    ],
    ['weather', 'wind surface from X at 8 kt', '0°', '360°', '-0.1°', ZERO, '360.1°', 'is more than a full circle'],
    [
      'reserve',
      'performance X',
      '0.1 %',
      '100 %',
      '0 %',
      'must be more than zero',
      '100.1 %',
      'is more than the whole polar',
    ],
    [
      'limits',
      'duration X',
      '0.1 min',
      '48 h',
      '0 min',
      'must be more than zero',
      '48 h 1 min',
      'is longer than two days',
    ],
    [
      'field',
      'frequency X',
      '117.975 MHz',
      '137 MHz',
      '117.97 MHz',
      'lies below the aeronautical band',
      '137.005 MHz',
      'lies above the aeronautical band',
    ],
    [
      'aircraft',
      'best glide X at 49 kt',
      '1:1',
      '200:1',
      '0.9:1',
      'is no glide at all',
      '201:1',
      'is better than any glider',
    ],
    ['reserve', 'performance X', '1:1', '200:1', '0.9:1', 'is no glide at all', '201:1', 'is better than any glider'],
  ] as const;

  test.each(BOUNDS)('%s, %s: from %s to %s', (entry, detail, least, most, below, whyBelow, above, whyAbove) => {
    const of = (value: string) => reasonsIn(entry, detail.replace('X', value));
    expect(of(least)).toEqual([]);
    expect(of(most)).toEqual([]);
    expect(of(below)).toEqual([[below, whyBelow]]);
    expect(of(above)).toEqual([[above, whyAbove]]);
  });

  test('a share or a duration below zero is said to be so', () => {
    expect(reasonsIn('reserve', 'performance -1 %')).toEqual([['-1 %', ZERO]]);
    expect(reasonsIn('limits', 'duration -5 min')).toEqual([['-5 min', ZERO]]);
  });

  test('a duration gives its hours and its minutes once each', () => {
    expect(reasonsIn('limits', 'duration 3 h 2 h')).toEqual([['3 h 2 h', 'gives its hours twice: write them once']]);
    expect(reasonsIn('limits', 'duration 3 min 20 min')).toEqual([
      ['3 min 20 min', 'gives its minutes twice: write them once'],
    ]);
    expect(reasonsIn('limits', 'duration 3 h 20 min')).toEqual([]);
    expect(reasonsIn('limits', 'duration 20 min 3 h')).toEqual([]);
  });

  test('a flight level', () => {
    expect(reasonsIn('airspace', 'ceiling FL650')).toEqual([]);
    expect(reasonsIn('airspace', 'ceiling FL651')).toEqual([['FL651', AIR]]);
  });

  test('no number is beyond all measure', () => {
    const huge = '9'.repeat(400);
    expect(reasonsIn('field', `elevation ${huge} m`)).toEqual([[`${huge} m`, 'is beyond all measure']]);
    expect(reasonsIn('aircraft', 'best glide 32:0 at 49 kt')).toEqual([['32:0', 'is beyond all measure']]);
    expect(reasonsIn('aircraft', 'best glide 0:0 at 49 kt')).toEqual([['0:0', 'is beyond all measure']]);
  });

  test('a value in SI of a kind', () => {
    expect(isSensible('altitude', -450)).toBe(true);
    expect(isSensible('altitude', -451)).toBe(false);
    expect(isSensible('altitude', 20000)).toBe(true);
    expect(isSensible('altitude', 20001)).toBe(false);
    expect(isSensible('elevation', 9001)).toBe(false);
    expect(isSensible('ratio', 1)).toBe(true);
    expect(isSensible('ratio', 0.9)).toBe(false);
    expect(isSensible('name', -1e9)).toBe(true);
  });
});

describe('what must be more than zero', () => {
  const POSITIVE = [
    ['field', 'runway 18/36 X', 'm'],
    ['turnpoint', 'radius X', 'm'],
    ['airspace', 'circle 47 N 19 E radius X', 'NM'],
    ['aircraft', 'polar X sink 1 kt', 'kt'],
    ['aircraft', 'polar 50 kt sink X', 'kt'],
    ['aircraft', 'best glide 32:1 at X', 'kt'],
    ['aircraft', 'minimum sink X at 40 kt', 'kt'],
    ['aircraft', 'minimum sink 1 kt at X', 'kt'],
    ['aircraft', 'polar mass X', 'kg'],
    ['aircraft', 'empty mass X', 'kg'],
    ['aircraft', 'maximum mass X', 'kg'],
    ['aircraft', 'vs X', 'kt'],
    ['aircraft', 'va X', 'kt'],
    ['aircraft', 'vno X', 'kt'],
    ['aircraft', 'vne X', 'kt'],
    ['aircraft', 'landing X', 'm'],
    ['weather', 'lift X to 5000 ft MSL', 'kt'],
    ['task', 'climb to 5000 ft MSL at X', 'kt'],
    ['task', 'turn Mill at X', 'kt'],
    ['task', 'finish Mill at X', 'kt'],
    ['limits', 'within X of Larkfield', 'km'],
    ['limits', 'distance X', 'km'],
  ] as const;

  test.each(POSITIVE)('%s, %s', (entry, detail, unit) => {
    const of = (number: string) => reasonsIn(entry, detail.replace('X', `${number} ${unit}`));
    expect(of('0.1')).toEqual([]);
    expect(of('0')).toEqual([[`0 ${unit}`, 'must be more than zero']]);
    expect(of('-1')).toEqual([[`-1 ${unit}`, 'is below zero']]);
  });

  test('what may be nought', () => {
    for (const [entry, detail] of [
      ['weather', 'wind surface from 230° at 0 kt'],
      ['weather', 'sink 0 kt'],
      ['reserve', 'clear 0 ft'],
      ['reserve', 'altimeter 0 ft'],
      ['reserve', 'arrive 0 ft AGL'],
      ['limits', 'crosswind 0 kt'],
      ['task', 'turn Mill at maccready 0 kt'],
      ['task', 'climb to 5000 ft MSL after 0 NM'],
      ['field', 'elevation 0 m'],
    ] as const)
      expect(reasonsIn(entry, detail)).toEqual([]);
  });
});

describe('places', () => {
  const of = (text: string) => reasonsIn('airspace', `edge ${text}`);

  test('a latitude ends at the pole, a longitude half way round', () => {
    expect(of('90 N 180 E')).toEqual([]);
    expect(of('90 S 180 W')).toEqual([]);
    expect(of('90.1 N 19 E')).toEqual([['90.1 N', 'lies beyond the pole: a latitude is at most 90°']]);
    expect(of('47 N 180.1 E')).toEqual([['180.1 E', 'is more than half way round: a longitude is at most 180°']]);
    expect(of('47 N 95 E')).toEqual([]);
    expect(of(`90°00.1'N 19°00'E`)).toEqual([[`90°00.1'N`, 'lies beyond the pole: a latitude is at most 90°']]);
  });

  test('the letter says the side, and no sign', () => {
    expect(of('-47 N 19 E')).toEqual([
      ['-47 N', 'has a sign: the letter behind it says on which side the latitude lies'],
    ]);
    expect(of('47 N -19 W')).toEqual([
      ['-19 W', 'has a sign: the letter behind it says on which side the longitude lies'],
    ]);
    expect(of('0 N 0 E')).toEqual([]);
  });

  test('minutes and seconds end at 60, and stand behind whole numbers', () => {
    expect(of(`47°59.9'N 19°59'59.9"E`)).toEqual([]);
    expect(of(`47°60.0'N 19°10'E`)).toEqual([[`47°60.0'N`, 'has 60 minutes or more']]);
    expect(of(`47°10'N 19°10'60"E`)).toEqual([[`19°10'60"E`, 'has 60 seconds or more']]);
    expect(of(`47.5°10'N 19°10'E`)).toEqual([[`47.5°10'N`, 'has minutes behind a fraction of a degree']]);
    expect(of(`47.5°10'20"N 19°10'E`)).toEqual([[`47.5°10'20"N`, 'has minutes behind a fraction of a degree']]);
    expect(of(`47°10'N 19°10.5'20"E`)).toEqual([[`19°10.5'20"E`, 'has seconds behind a fraction of a minute']]);
    expect(of(`47.5° N 19°10.5'E`)).toEqual([]);
  });
});

describe('runways', () => {
  const of = (ends: string) => reasonsIn('field', `runway ${ends} 900 m`);
  const NONE = 'is no runway: runways are numbered 01 to 36, a tenth of their magnetic direction';
  const NOT_OPPOSITE = 'names two ends that do not lie opposite each other: they differ by 18';
  const NOT_ONE = 'names two ends of different runways: the left one is the right one from the other end';

  test('their ends are numbered 01 to 36', () => {
    for (const good of ['01', '36', '18/36', '01/19']) expect(of(good)).toEqual([]);
    expect(of('00')).toEqual([['00', NONE]]);
    expect(of('37')).toEqual([['37', NONE]]);
    expect(of('19/37')).toEqual([['37', NONE]]);
    expect(of('00/18')).toEqual([['00', NONE]]);
  });

  test('two ends lie opposite each other', () => {
    expect(of('27/09')).toEqual([]);
    expect(of('09/28')).toEqual([['09/28', NOT_OPPOSITE]]);
    expect(of('09/26')).toEqual([['09/26', NOT_OPPOSITE]]);
    expect(of('09/09')).toEqual([['09/09', NOT_OPPOSITE]]);
  });

  test('and are ends of one runway', () => {
    for (const good of ['09L/27R', '09R/27L', '09C/27C', '09/27', '09L']) expect(of(good)).toEqual([]);
    for (const bad of ['09L/27L', '09R/27R', '09C/27', '09/27C', '09L/27C', '09/27R'])
      expect(of(bad)).toEqual([[bad, NOT_ONE]]);
  });
});

describe('the rest', () => {
  test('a day of the calendar', () => {
    expect(reasonsIn('weather', 'date 2024-02-29')).toEqual([]);
    expect(reasonsIn('weather', 'date 2026-02-29')).toEqual([['2026-02-29', 'is no day of the calendar']]);
  });

  test('a time of day, in a zone that there is', () => {
    const of = (time: string) => reasonsIn('task', `takeoff ${time}`);
    for (const good of ['00:00Z', '23:59Z', '23:59:59Z', '12:00+14:00', '12:00-14:00']) expect(of(good)).toEqual([]);
    for (const bad of ['24:00Z', '12:60Z', '12:00:60Z']) expect(of(bad)).toEqual([[bad, 'is no time of day']]);
    for (const bad of ['12:00+14:01', '12:00-14:01']) expect(of(bad)).toEqual([[bad, 'lies in no time zone']]);
  });

  test('one of a few words, in any case; and any word where any may stand', () => {
    const of = (more: string) => reasonsIn('field', `runway 18/36 900 m ${more}`);
    for (const good of ['circuit left', 'circuit RIGHT', 'surface moss']) expect(of(good)).toEqual([]);
    expect(of('circuit upwards')).toEqual([['upwards', 'is not `left` or `right`']]);
  });

  test('a name that says nothing', () => {
    expect(reasonsOf('reserve ""\n')).toEqual([['""', 'is an empty name']]);
    expect(reasonsOf('reserve "  "\n')).toEqual([['"  "', 'is an empty name']]);
    expect(reasonsOf('reserve "1"\n')).toEqual([]);
    expect(reasonsOf('use ""\n')).toEqual([]);
  });
});
