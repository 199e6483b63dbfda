/** What each entry means, stated in full: text in, SI values out. Places are shown as the text that stands there. */
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import type { EntrySyntax, Span } from '../../grammar/syntax.ts';
import { type Aircraft, type Meaning, meaningOf, namespaceOf } from '../../server/plan/meaning.ts';

const KT = 1852 / 3600;
const FT = 0.3048;
const NM = 1852;

function entryOf(text: string): EntrySyntax {
  return (parseFile(text).entries[0] as { syntax: EntrySyntax }).syntax;
}

/** A value with its lines and places as their text, its names as text, and its numbers without their last bits. */
function plain(value: unknown, entry: EntrySyntax): unknown {
  const textOf = ({ start, end }: Span) => entry.text.slice(start, end).replace(/\s+/g, ' ').trim();
  if (typeof value === 'number') return Number(value.toPrecision(11));
  if (Array.isArray(value)) return value.map((one) => plain(one, entry));
  if (typeof value !== 'object' || value === null) return value;
  if ('tokens' in value) return textOf((value as unknown as { span: Span }).span);
  if ('quoted' in value) return (value as unknown as { text: string }).text;
  if ('start' in value && 'end' in value) return textOf(value as Span);
  if ('words' in value) return (value as unknown as { slot: string }).slot;
  return Object.fromEntries(
    Object.entries(value)
      .filter(([key]) => key !== 'entry')
      .map(([key, one]) => {
        if (key === 'node') return [key, textOf((one as { span: Span }).span)];
        return [key, plain(one, entry)];
      }),
  );
}

/** The meaning of the only entry of a text, without what is wrong with it. */
function meant(text: string): unknown {
  const entry = entryOf(text);
  const { faulty: _, faults: __, ...rest } = plain(meaningOf(entry), entry) as Meaning;
  return rest;
}

/** Lines that could not be read in full, each with the detail it is or most likely is. */
function faultyOf(text: string): unknown {
  const entry = entryOf(text);
  return meaningOf(entry).faulty.map(({ line, detail }) => [plain(line, entry), detail]);
}

const rounded = (value: unknown) => plain(value, entryOf(''));
const expectMeant = (text: string, wanted: unknown) => expect(meant(text)).toEqual(rounded(wanted));

describe('what an entry means', () => {
  test('a field', () => {
    expectMeant(
      `field "North Larkfield" at 47.2031 N 19.4410 E
  elevation 190 m MSL
  runway    18/36 900 m surface grass circuit LEFT
  runway    09L 2000 ft
  frequency 122.905 MHz
  arrive    900 ft AGL
  note      "Soft after rain"
  note      "Sheep"
`,
      {
        kind: 'field',
        name: 'North Larkfield',
        position: { latDeg: 47.2031, lonDeg: 19.441 },
        elevationM: 190,
        arriveM: { value: 900 * FT, line: 'arrive 900 ft AGL', span: '900 ft AGL' },
        runways: [
          {
            line: 'runway 18/36 900 m surface grass circuit LEFT',
            text: '18/36',
            directions: [180, 360],
            lengthM: 900,
            surface: 'grass',
            circuit: 'left',
          },
          {
            line: 'runway 09L 2000 ft',
            text: '09L',
            directions: [90],
            lengthM: 609.6,
            surface: undefined,
            circuit: undefined,
          },
        ],
        frequencies: [{ hertz: 122.905e6, text: '122.905 MHz' }],
        notes: ['Soft after rain', 'Sheep'],
      },
    );
  });

  test('a field of which nothing is known but its name, or that has none', () => {
    const nothing = {
      kind: 'field',
      position: undefined,
      elevationM: undefined,
      arriveM: undefined,
      runways: [],
      frequencies: [],
      notes: [],
    };
    expectMeant('field Larkfield\n', { ...nothing, name: 'Larkfield' });
    expectMeant('field\n', { ...nothing, name: '' });
  });

  test('of a field what cannot be read is left out, line by line and value by value', () => {
    const text = `field Larkfield at 47.2031 N 119.4410
  elevation 190
  runway    18/37 900 m
  runway    05/23 700
  runway
  frequency 200 MHz
  frequency 122.9
  arrive    900 ft MSL
`;
    expectMeant(text, {
      kind: 'field',
      name: 'Larkfield',
      position: undefined,
      elevationM: undefined,
      arriveM: undefined,
      runways: [
        {
          line: 'runway 05/23 700',
          text: '05/23',
          directions: [50, 230],
          lengthM: undefined,
          surface: undefined,
          circuit: undefined,
        },
      ],
      frequencies: [],
      notes: [],
    });
    expect(faultyOf(text)).toEqual([
      ['field Larkfield at 47.2031 N 119.4410', 'field'],
      ['elevation 190', 'elevation'],
      ['runway 18/37 900 m', 'runway'],
      ['runway 05/23 700', 'runway'],
      ['runway', 'runway'],
      ['frequency 200 MHz', 'frequency'],
      ['frequency 122.9', 'frequency'],
      ['arrive 900 ft MSL', 'arrive'],
    ]);
    const entry = entryOf(text);
    expect(plain(meaningOf(entry).faults, entry)).toEqual([
      {
        line: 'field Larkfield at 47.2031 N 119.4410',
        slot: 'position',
        node: '47.2031 N 119.4410',
        fault: {
          code: 'coordinates-incomplete',
          span: '119.4410',
          reason: 'the longitude needs E or W behind it',
        },
      },
      {
        line: 'elevation 190',
        slot: 'elevation',
        node: '190',
        fault: { code: 'unit-missing', span: '190', number: '190', dimension: 'length' },
      },
      {
        line: 'runway 18/37 900 m',
        slot: 'ends',
        node: '18/37',
        fault: {
          code: 'value-out-of-sense',
          span: '37',
          reason: 'is no runway: runways are numbered 01 to 36, a tenth of their magnetic direction',
        },
      },
      {
        line: 'runway 05/23 700',
        slot: 'length',
        node: '700',
        fault: { code: 'unit-missing', span: '700', number: '700', dimension: 'length' },
      },
      {
        line: 'frequency 200 MHz',
        slot: 'frequency',
        node: '200 MHz',
        fault: { code: 'value-out-of-sense', span: '200 MHz', reason: 'lies above the aeronautical band' },
      },
      {
        line: 'frequency 122.9',
        slot: 'frequency',
        node: '122.9',
        fault: { code: 'unit-missing', span: '122.9', number: '122.9', dimension: 'frequency' },
      },
      {
        line: 'arrive 900 ft MSL',
        slot: 'height',
        node: '900 ft MSL',
        fault: { code: 'datum-wrong', span: 'MSL', text: 'MSL', where: 'over-place' },
      },
    ]);
  });

  test('a turnpoint, south and west, in degrees, minutes and seconds', () => {
    expectMeant(
      `turnpoint "Withy Bridge" at 47°20'30"S 019°30.6'W
  elevation 0.14 km
  radius    500 m
  note      "A weir"
`,
      {
        kind: 'turnpoint',
        name: 'Withy Bridge',
        position: { latDeg: -(47 + 20 / 60 + 30 / 3600), lonDeg: -19.51 },
        elevationM: 140,
        radiusM: 500,
        notes: ['A weir'],
      },
    );
    expectMeant('turnpoint Mill at 47 N 19 E\n  radius 0 m\n', {
      kind: 'turnpoint',
      name: 'Mill',
      position: { latDeg: 47, lonDeg: 19 },
      elevationM: undefined,
      radiusM: undefined,
      notes: [],
    });
  });

  test('an obstacle', () => {
    expectMeant('obstacle Mast at 47.25 N 19.5 E\n  top 1320 ft MSL\n  radius 800 m\n', {
      kind: 'obstacle',
      name: 'Mast',
      position: { latDeg: 47.25, lonDeg: 19.5 },
      top: { kind: 'msl', metres: 1320 * FT },
      radiusM: 800,
    });
    expectMeant('obstacle Mast at 47.25 N 19.5 E\n  top 300 ft AGL\n', {
      kind: 'obstacle',
      name: 'Mast',
      position: { latDeg: 47.25, lonDeg: 19.5 },
      top: undefined,
      radiusM: undefined,
    });
  });

  test('an airspace round a point', () => {
    expectMeant(
      `airspace "Corran Zone"
  floor   1500 ft AGL
  ceiling FL65
  circle  47.3 N 19.6 E radius 4 NM
  active  09:00Z to 17:30+02:00
  active  18:00Z to 19:00
  active  08:00 to 08:30Z
`,
      {
        kind: 'airspace',
        name: 'Corran Zone',
        floor: { value: { kind: 'agl', metres: 1500 * FT }, line: 'floor 1500 ft AGL', span: '1500 ft AGL' },
        ceiling: { value: { kind: 'fl', level: 65 }, line: 'ceiling FL65', span: 'FL65' },
        circle: { centre: { latDeg: 47.3, lonDeg: 19.6 }, radiusM: 4 * NM },
        edge: [],
        active: [{ fromS: 9 * 3600, toS: 15.5 * 3600 }],
      },
    );
  });

  test('an airspace within corners, of which one cannot be read', () => {
    expectMeant(
      `airspace Corran
  floor   2500
  edge    47.3 N 19.6 E
  edge    47.4 N 19.6
  edge    47.4 N 19.7 E
`,
      {
        kind: 'airspace',
        name: 'Corran',
        floor: undefined,
        ceiling: undefined,
        circle: undefined,
        edge: [
          { latDeg: 47.3, lonDeg: 19.6 },
          { latDeg: 47.4, lonDeg: 19.7 },
        ],
        active: [],
      },
    );
  });

  test('a circle without its centre or its radius is none', () => {
    for (const circle of ['47.3 N 19.6 radius 4 NM', '47.3 N 19.6 E radius 4', '47.3 N 19.6 E'])
      expect(meant(`airspace Corran\n  circle ${circle}\n`)).toMatchObject({ circle: undefined });
  });

  test('a weather', () => {
    expectMeant(
      `weather Breezy
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        3000 ft MSL from 045°M at 14 kt ± 4 kt
  wind        FL65 from 255° at 36 km/h
  lift        3 kt to 5800 ft MSL
  sink        0.5 m/s
  cloudbase   6200 ft MSL
  thermals    11:30Z to 18:45+02:00
`,
      {
        kind: 'weather',
        name: 'Breezy',
        date: { year: 2026, month: 6, day: 13 },
        qnhPa: { value: 101800, line: 'qnh 1018 hPa', span: '1018 hPa' },
        temperature: {
          kelvin: 297.15,
          at: { kind: 'msl', metres: 190 },
          line: 'temperature 24 °C at 190 m MSL',
        },
        winds: [
          {
            line: 'wind surface from 230° at 8 kt',
            altitude: 'surface',
            direction: { degrees: 230, magnetic: false },
            speedMps: 8 * KT,
            spreadMps: undefined,
          },
          {
            line: 'wind 3000 ft MSL from 045°M at 14 kt ± 4 kt',
            altitude: { kind: 'msl', metres: 3000 * FT },
            direction: { degrees: 45, magnetic: true },
            speedMps: 14 * KT,
            spreadMps: 4 * KT,
          },
          {
            line: 'wind FL65 from 255° at 36 km/h',
            altitude: { kind: 'fl', level: 65 },
            direction: { degrees: 255, magnetic: false },
            speedMps: 10,
            spreadMps: undefined,
          },
        ],
        lift: { rateMps: 3 * KT, top: { kind: 'msl', metres: 5800 * FT }, line: 'lift 3 kt to 5800 ft MSL' },
        sinkMps: { value: 0.5, line: 'sink 0.5 m/s', span: '0.5 m/s' },
        cloudbase: {
          value: { kind: 'msl', metres: 6200 * FT },
          line: 'cloudbase 6200 ft MSL',
          span: '6200 ft MSL',
        },
        thermals: { fromS: 11.5 * 3600, toS: 16.75 * 3600, line: 'thermals 11:30Z to 18:45+02:00' },
      },
    );
  });

  const NO_WEATHER = {
    kind: 'weather',
    name: 'Odd',
    date: undefined,
    qnhPa: undefined,
    temperature: undefined,
    winds: [],
    lift: undefined,
    sinkMps: undefined,
    cloudbase: undefined,
    thermals: undefined,
  };

  test('of a weather each line counts whole or not at all', () => {
    expectMeant(
      `weather Odd
  date        2026-06-31
  qnh         1018
  temperature 24 °C at 190 m
  wind        3000 ft AGL from 245° at 14 kt
  wind        3000 ft MSL from 245 at 14 kt
  wind        3000 ft MSL from 245° at 14
  lift        3 kt to 5800 ft
  sink        0.5
  cloudbase   6200 ft
  thermals    11:30Z to 16:45
`,
      NO_WEATHER,
    );
    expectMeant(
      `weather Odd
  temperature 24 at 190 m MSL
  wind        surface from 245 at 14 kt
  lift        3 to 5800 ft MSL
  thermals    11:30 to 16:45Z
`,
      NO_WEATHER,
    );
    expectMeant('weather Odd\n', NO_WEATHER);
  });

  test('a spread that cannot be read leaves the wind as it is', () => {
    expect(meant('weather W\n  wind surface from 245° at 14 kt ± 4\n')).toMatchObject({
      winds: [{ altitude: 'surface', spreadMps: undefined }],
    });
  });

  test('a reserve, with a share or with a glide ratio', () => {
    const text = (performance: string) => `reserve Training
  arrive      1000 ft AGL
  turn        450 m AGL
  clear       500 ft
  performance ${performance}
  altimeter   150 ft
`;
    const rest = {
      kind: 'reserve',
      name: 'Training',
      arriveM: { value: 304.8, line: 'arrive 1000 ft AGL', span: '1000 ft AGL' },
      turnM: { value: 450, line: 'turn 450 m AGL', span: '450 m AGL' },
      clearM: { value: 152.4, line: 'clear 500 ft', span: '500 ft' },
      altimeterM: { value: 45.72, line: 'altimeter 150 ft', span: '150 ft' },
    };
    expectMeant(text('70 %'), {
      ...rest,
      performance: { value: { kind: 'share', share: 0.7 }, line: 'performance 70 %', span: '70 %' },
    });
    expectMeant(text('20:1'), {
      ...rest,
      performance: { value: { kind: 'ratio', ratio: 20 }, line: 'performance 20:1', span: '20:1' },
    });
    expectMeant(text('70'), { ...rest, performance: undefined });
    expectMeant(text('170 %'), { ...rest, performance: undefined });
    expectMeant('reserve None\n', {
      kind: 'reserve',
      name: 'None',
      arriveM: undefined,
      turnM: undefined,
      clearM: undefined,
      performance: undefined,
      altimeterM: undefined,
    });
  });

  test('limits', () => {
    expectMeant(
      `limits Solo for all tasks
  within    12 NM of Larkfield
  within    20 km of "Corran Dam"
  within    20 of Ashmoor
  within    20 km of
  field in glide
  land      60 min before sunset
  crosswind 8 kt
  duration  3 h 30 min
  distance  80 km
  reserve at least Training
`,
      {
        kind: 'limits',
        name: 'Solo',
        forAllTasks: true,
        within: [
          { distanceM: 12 * NM, point: 'Larkfield', line: 'within 12 NM of Larkfield' },
          { distanceM: 20000, point: 'Corran Dam', line: 'within 20 km of "Corran Dam"' },
        ],
        fieldInGlide: 'field in glide',
        landBeforeSunsetS: { value: 3600, line: 'land 60 min before sunset', span: '60 min' },
        crosswindMps: { value: 8 * KT, line: 'crosswind 8 kt', span: '8 kt' },
        durationS: { value: 12600, line: 'duration 3 h 30 min', span: '3 h 30 min' },
        distanceM: { value: 80000, line: 'distance 80 km', span: '80 km' },
        reserve: { name: 'Training', line: 'reserve at least Training' },
      },
    );
    const none = {
      kind: 'limits',
      name: 'Few',
      forAllTasks: false,
      within: [],
      fieldInGlide: undefined,
      landBeforeSunsetS: undefined,
      crosswindMps: undefined,
      durationS: undefined,
      distanceM: undefined,
      reserve: undefined,
    };
    expectMeant('limits Few\n', none);
    expectMeant('limits Few\n  reserve at least\n  duration 3\n  within 20 km of ""\n', none);
  });

  test('the units of a reader', () => {
    expectMeant('units\n  altitude m\n  distance KM\n  speed km/h\n  climb m/s\n  mass lb\n', {
      kind: 'units',
      name: '',
      chosen: { altitude: 'm', distance: 'km', speed: 'km/h', climb: 'm/s', mass: 'lb' },
    });
    expectMeant('units\n  altitude kt\n  distance furlong\n', {
      kind: 'units',
      name: '',
      chosen: { altitude: undefined, distance: undefined, speed: undefined, climb: undefined, mass: undefined },
    });
  });

  test('what is brought in, and the terrain', () => {
    expectMeant('use "club/fields.taskplan"\n', {
      kind: 'use',
      name: '',
      path: {
        value: 'club/fields.taskplan',
        line: 'use "club/fields.taskplan"',
        span: '"club/fields.taskplan"',
      },
    });
    expectMeant('terrain "tiles"\n', {
      kind: 'terrain',
      name: '',
      path: { value: 'tiles', line: 'terrain "tiles"', span: '"tiles"' },
    });
    expectMeant('use\n', { kind: 'use', name: '', path: undefined });
  });

  test('text that is no entry means nothing', () => {
    for (const text of ['  elevation 190 m\n', 'feild Larkfield at 47.2 N 19.4 E\n  elevation 190 m\n']) {
      const entry = entryOf(text);
      expect(meaningOf(entry)).toEqual({ kind: 'none', entry, name: '', faulty: [], faults: [] });
    }
  });

  test('it is made once, and kept with the entry', () => {
    const entry = entryOf('use "club.taskplan"\n');
    expect(meaningOf(entry)).toBe(meaningOf(entry));
    expect(meaningOf(entryOf('use "other.taskplan"\n'))).not.toBe(meaningOf(entry));
  });

  test('the kind of name that an entry has', () => {
    const of = (text: string) => namespaceOf(meaningOf(entryOf(text)));
    expect(of('field Larkfield at 47 N 19 E\n')).toBe('point');
    expect(of('turnpoint Mill at 47 N 19 E\n')).toBe('point');
    expect(of('task Home\n')).toBe('task');
    expect(of('units\n')).toBeUndefined();
    expect(of('nothing\n')).toBeUndefined();
  });
});

describe('lines that cannot be read', () => {
  test('a misspelt detail counts as the detail it most likely is', () => {
    expect(
      faultyOf(`field Larkfield at 47.2031 N 19.4410 E
  ELEVATOIN 190 m
  arive     900 ft AGL
  qqqqqqqqq 12
  runways   18/36 900 m
`),
    ).toEqual([
      ['ELEVATOIN 190 m', 'elevation'],
      ['arive 900 ft AGL', 'arrive'],
      ['qqqqqqqqq 12', undefined],
      ['runways 18/36 900 m', 'runway'],
    ]);
  });

  test('a line of the right words that goes on with the wrong ones', () => {
    expect(faultyOf('field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m high\n')).toEqual([
      ['elevation 190 m high', 'elevation'],
    ]);
  });

  test('a note is read as it stands, and is never faulty', () => {
    const text = 'reserve Training\n  note "Kept\n  note "Once" and again\n  note\n  arrive 1000 ft AGL\n';
    expect(faultyOf(text)).toEqual([]);
    const field = 'field Larkfield at 47.2 N 19.4 E\n  note "Kept\n  note "Once" and again\n  note\n';
    expect(faultyOf(field)).toEqual([]);
    expect(meant(field)).toMatchObject({ notes: ['Kept', 'Once'] });
  });

  test('a detail that is not indented is read all the same', () => {
    const text = 'field Larkfield at 47.2 N 19.4 E\nelevation 190 m\n';
    expect(faultyOf(text)).toEqual([]);
    expect(meant(text)).toMatchObject({ elevationM: 190 });
  });

  test('a value out of sense makes its line faulty', () => {
    expect(faultyOf('weather W\n  qnh 700 hPa\n  date 2026-02-29\n')).toEqual([
      ['qnh 700 hPa', 'qnh'],
      ['date 2026-02-29', 'date'],
    ]);
  });

  test('above the ground there is no height on the way, where a climb begins after a distance', () => {
    const text = (climb: string) => `task Home\n  start Larkfield at 1000 ft AGL\n  climb to ${climb}\n`;
    expect(faultyOf(text('3000 ft AGL'))).toEqual([]);
    expect(faultyOf(text('3000 ft AGL after 5 NM'))).toEqual([['climb to 3000 ft AGL after 5 NM', 'climb to']]);
  });
});

describe('what a task means', () => {
  test('a task in full', () => {
    expectMeant(
      `task "Three Bridges"
  aircraft Finch with pilot 82 kg and ballast 22 lb
  weather  Breezy
  reserve  Training
  limits   Solo
  limits   "Early Days"
  takeoff  14:30+02:00
  start    Larkfield at 3200 ft MSL
  climb    to 4800 ft MSL
  turn     "Withy Bridge"
  climb    to 1000 m AGL at 3 kt
  turn     "Corran Dam" at 60 kt
  climb    to FL60 at 1 m/s after 8 NM
  turn     Ashmoor at best glide
  soar     between 2800 ft MSL and FL55
  turn     Mill at maccready 2 m/s
  glide
  finish   Larkfield at 108 km/h
`,
      {
        kind: 'task',
        name: 'Three Bridges',
        aircraft: {
          line: 'aircraft Finch with pilot 82 kg and ballast 22 lb',
          name: 'Finch',
          pilotKg: { value: 82, line: 'aircraft Finch with pilot 82 kg and ballast 22 lb', span: '82 kg' },
          ballastKg: {
            value: 22 * 0.45359237,
            line: 'aircraft Finch with pilot 82 kg and ballast 22 lb',
            span: '22 lb',
          },
        },
        weather: { line: 'weather Breezy', name: 'Breezy' },
        reserve: { line: 'reserve Training', name: 'Training' },
        limits: [
          { line: 'limits Solo', name: 'Solo' },
          { line: 'limits "Early Days"', name: 'Early Days' },
        ],
        takeoff: { utcS: 12.5 * 3600, zoneMinutes: 120, line: 'takeoff 14:30+02:00' },
        itinerary: [
          {
            kind: 'start',
            line: 'start Larkfield at 3200 ft MSL',
            point: 'Larkfield',
            altitude: { kind: 'msl', metres: 3200 * FT },
          },
          {
            kind: 'climb',
            line: 'climb to 4800 ft MSL',
            altitude: { kind: 'msl', metres: 4800 * FT },
            rateMps: undefined,
            afterM: undefined,
          },
          { kind: 'turn', line: 'turn "Withy Bridge"', point: 'Withy Bridge', speed: { kind: 'bestGlide' } },
          {
            kind: 'climb',
            line: 'climb to 1000 m AGL at 3 kt',
            altitude: { kind: 'agl', metres: 1000 },
            rateMps: 3 * KT,
            afterM: undefined,
          },
          {
            kind: 'turn',
            line: 'turn "Corran Dam" at 60 kt',
            point: 'Corran Dam',
            speed: { kind: 'indicated', indicatedMps: 60 * KT, span: '60 kt' },
          },
          {
            kind: 'climb',
            line: 'climb to FL60 at 1 m/s after 8 NM',
            altitude: { kind: 'fl', level: 60 },
            rateMps: 1,
            afterM: 8 * NM,
          },
          {
            kind: 'turn',
            line: 'turn Ashmoor at best glide',
            point: 'Ashmoor',
            speed: { kind: 'bestGlide', span: 'best' },
          },
          {
            kind: 'soar',
            line: 'soar between 2800 ft MSL and FL55',
            lower: { kind: 'msl', metres: 2800 * FT },
            upper: { kind: 'fl', level: 55 },
          },
          {
            kind: 'turn',
            line: 'turn Mill at maccready 2 m/s',
            point: 'Mill',
            speed: { kind: 'maccready', climbMps: 2, span: '2 m/s' },
          },
          { kind: 'glide', line: 'glide' },
          {
            kind: 'finish',
            line: 'finish Larkfield at 108 km/h',
            point: 'Larkfield',
            speed: { kind: 'indicated', indicatedMps: 30, span: '108 km/h' },
          },
        ],
      },
    );
  });

  test('a task without anything', () => {
    expectMeant('task Home\n', {
      kind: 'task',
      name: 'Home',
      aircraft: undefined,
      weather: undefined,
      reserve: undefined,
      limits: [],
      takeoff: undefined,
      itinerary: [],
    });
  });

  test('what is written and cannot be read is told from what is not written', () => {
    expectMeant(
      `task Home
  aircraft Finch with pilot 82
  weather
  reserve  ""
  takeoff  14:30
  climb    to 4800 ft MSL after 8
  turn     Mill at 60
  turn     ""
  finish   Larkfield at maccready 3
`,
      {
        kind: 'task',
        name: 'Home',
        aircraft: {
          line: 'aircraft Finch with pilot 82',
          name: 'Finch',
          pilotKg: 'unread',
          ballastKg: undefined,
        },
        weather: { line: 'weather', name: undefined },
        reserve: { line: 'reserve ""', name: undefined },
        limits: [],
        takeoff: undefined,
        itinerary: [
          {
            kind: 'climb',
            line: 'climb to 4800 ft MSL after 8',
            altitude: undefined,
            rateMps: undefined,
            afterM: 'unread',
          },
          { kind: 'turn', line: 'turn Mill at 60', point: 'Mill', speed: undefined },
          { kind: 'turn', line: 'turn ""', point: undefined, speed: undefined },
          { kind: 'finish', line: 'finish Larkfield at maccready 3', point: 'Larkfield', speed: undefined },
        ],
      },
    );
  });

  test('a line of the itinerary that cannot be read in full keeps its place, and no height of it counts', () => {
    expect(
      meant(`task Home
  climb to 4800 ft MSL at 3
  soar between 2800 ft MSL and 5500 ft
  soar between 2800 ft MSL and 5500 ft MSL or so
`),
    ).toMatchObject({
      itinerary: [
        { kind: 'climb', altitude: undefined, rateMps: undefined, afterM: undefined },
        { kind: 'soar', lower: undefined, upper: undefined },
        { kind: 'soar', lower: undefined, upper: undefined },
      ],
    });
  });

  test('a misspelt line of the itinerary keeps its place', () => {
    expectMeant(
      `task Home
  strt   Larkfield at 3200 ft MSL
  clmb   to 4800 ft MSL
  tunr   "Withy Bridge" at 60 kt
  soarr  between 2800 ft MSL and 5500 ft MSL
  glied
  finsh  Larkfield
  qqqqqq Larkfield
`,
      {
        kind: 'task',
        name: 'Home',
        aircraft: undefined,
        weather: undefined,
        reserve: undefined,
        limits: [],
        takeoff: undefined,
        itinerary: [
          { kind: 'start', line: 'strt Larkfield at 3200 ft MSL', point: undefined, altitude: undefined },
          {
            kind: 'climb',
            line: 'clmb to 4800 ft MSL',
            altitude: undefined,
            rateMps: undefined,
            afterM: undefined,
          },
          { kind: 'turn', line: 'tunr "Withy Bridge" at 60 kt', point: undefined, speed: undefined },
          {
            kind: 'soar',
            line: 'soarr between 2800 ft MSL and 5500 ft MSL',
            lower: undefined,
            upper: undefined,
          },
          { kind: 'glide', line: 'glied' },
          { kind: 'finish', line: 'finsh Larkfield', point: undefined, speed: undefined },
        ],
      },
    );
  });

  test('take-off in UTC, and in a zone behind it', () => {
    expect(meant('task Home\n  takeoff 14:30Z\n')).toMatchObject({ takeoff: { utcS: 52200, zoneMinutes: 0 } });
    expect(meant('task Home\n  takeoff 14:30-03:30\n')).toMatchObject({ takeoff: { utcS: 64800, zoneMinutes: -210 } });
  });
});

// A polar to reckon with by hand: W = 0.002 V² − 0.07 V + 1.25. At 20, 30 and 40 m/s it sinks 0.65, 0.95 and 1.65 m/s;
// it glides best at √(1.25 / 0.002) = 25 m/s, sinking 0.75 m/s (100:3), and sinks least at 0.07 / 0.004 = 17.5 m/s,
// 0.6375 m/s.
const LIMITS = `  polar mass   300 kg
  vs           16 m/s
  vne          60 m/s
`;
const POINTS = `  polar 20 m/s sink 0.65 m/s
  polar 30 m/s sink 0.95 m/s
  polar 40 m/s sink 1.65 m/s
`;
const FIGURES = `  best glide   100:3 at 25 m/s
  minimum sink 0.6375 m/s at 17.5 m/s
`;

describe('what an aircraft means', () => {
  test('an aircraft with points', () => {
    const { polar: _, ...rest } = meant(
      `aircraft Finch
${POINTS}${LIMITS}  empty mass    225 kg
  maximum mass  340 kg
  ballast up to 100 lb
  pilot         55 kg to 110 kg
  va            80 kt
  vno           85 kt
  crosswind     12 kt
  landing       450 m
  note          "Tail ballast out"
`,
    ) as Aircraft;
    expect(rest).toEqual(
      rounded({
        kind: 'aircraft',
        name: 'Finch',
        polarMassKg: { value: 300, line: 'polar mass 300 kg', span: '300 kg' },
        emptyMassKg: { value: 225, line: 'empty mass 225 kg', span: '225 kg' },
        maximumMassKg: { value: 340, line: 'maximum mass 340 kg', span: '340 kg' },
        ballastMostKg: { value: 45.359237, line: 'ballast up to 100 lb', span: '100 lb' },
        pilot: { leastKg: 55, mostKg: 110, line: 'pilot 55 kg to 110 kg' },
        vsMps: { value: 16, line: 'vs 16 m/s', span: '16 m/s' },
        vaMps: { value: 80 * KT, line: 'va 80 kt', span: '80 kt' },
        vnoMps: { value: 85 * KT, line: 'vno 85 kt', span: '85 kt' },
        vneMps: { value: 60, line: 'vne 60 m/s', span: '60 m/s' },
        crosswindMps: { value: 12 * KT, line: 'crosswind 12 kt', span: '12 kt' },
        landingM: { value: 450, line: 'landing 450 m', span: '450 m' },
        bestGlide: undefined,
        minimumSink: undefined,
        points: [
          {
            value: { speedMps: 20, sinkMps: 0.65 },
            line: 'polar 20 m/s sink 0.65 m/s',
            span: 'polar 20 m/s sink 0.65 m/s',
          },
          {
            value: { speedMps: 30, sinkMps: 0.95 },
            line: 'polar 30 m/s sink 0.95 m/s',
            span: 'polar 30 m/s sink 0.95 m/s',
          },
          {
            value: { speedMps: 40, sinkMps: 1.65 },
            line: 'polar 40 m/s sink 1.65 m/s',
            span: 'polar 40 m/s sink 1.65 m/s',
          },
        ],
        notes: ['Tail ballast out'],
      }),
    );
  });

  const polarOf = (text: string) => {
    const entry = entryOf(`aircraft Finch\n${text}`);
    return plain((meaningOf(entry) as Aircraft).polar, entry) as Extract<Aircraft['polar'], { kind: 'polar' }>;
  };

  test('the polar through points', () => {
    const { polar, residuals, ...rest } = polarOf(POINTS + LIMITS);
    expect(polar.a).toBeCloseTo(0.002, 10);
    expect(polar.b).toBeCloseTo(-0.07, 10);
    expect(polar.c).toBeCloseTo(1.25, 10);
    expect(polar.massKg).toBe(300);
    expect(residuals?.maxMps).toBeCloseTo(0, 10);
    expect(rest).toEqual({
      kind: 'polar',
      source: 'points',
      fromMps: 20,
      toMps: 40,
      minimumSinkSpeedOffMps: undefined,
      line: 'polar 20 m/s sink 0.65 m/s',
    });
  });

  test('the polar of handbook figures', () => {
    const { polar, minimumSinkSpeedOffMps, ...rest } = polarOf(FIGURES + LIMITS);
    expect(polar.a).toBeCloseTo(0.002, 10);
    expect(polar.b).toBeCloseTo(-0.07, 10);
    expect(polar.c).toBeCloseTo(1.25, 10);
    expect(polar.massKg).toBe(300);
    expect(minimumSinkSpeedOffMps).toBeCloseTo(0, 9);
    expect(rest).toEqual({
      kind: 'polar',
      source: 'figures',
      residuals: undefined,
      fromMps: 17.5,
      toMps: 25,
      line: 'best glide 100:3 at 25 m/s',
    });
    const off = polarOf(FIGURES.replace('17.5 m/s', '26 m/s') + LIMITS);
    expect(off.minimumSinkSpeedOffMps).toBeCloseTo(-8.5, 9);
    expect([off.fromMps, off.toMps]).toEqual([25, 26]);
    const entry = entryOf(`aircraft Finch\n${FIGURES}`);
    expect(plain(meaningOf(entry), entry)).toMatchObject({
      points: [],
      bestGlide: {
        value: { ratio: 33.333333333, speedMps: 25 },
        line: 'best glide 100:3 at 25 m/s',
        span: 'best glide 100:3 at 25 m/s',
      },
      minimumSink: {
        value: { sinkMps: 0.6375, speedMps: 17.5 },
        line: 'minimum sink 0.6375 m/s at 17.5 m/s',
        span: 'minimum sink 0.6375 m/s at 17.5 m/s',
      },
    });
  });

  test('points count before figures', () => {
    const { source, fromMps, toMps } = polarOf(FIGURES + POINTS + LIMITS);
    expect([source, fromMps, toMps]).toEqual(['points', 20, 40]);
  });

  test('a polar that no air would give is refused, with the reason and the line', () => {
    expect(polarOf(POINTS.split('\n').slice(0, 2).join('\n') + LIMITS.replace(/^/, '\n'))).toEqual({
      kind: 'refused',
      source: 'points',
      refusal: { refused: 'too-few-speeds', distinctSpeeds: 2 },
      line: 'polar 20 m/s sink 0.65 m/s',
    });
    expect(polarOf(POINTS.replace('0.95', '1.35') + LIMITS)).toMatchObject({
      kind: 'refused',
      source: 'points',
      refusal: { reason: 'curves-down', a: -0.002 },
      line: 'polar 20 m/s sink 0.65 m/s',
    });
    expect(polarOf(FIGURES.replace('0.6375', '0.76') + LIMITS)).toEqual({
      kind: 'refused',
      source: 'figures',
      refusal: {
        refused: 'minimum-sink-not-below-best-glide-sink',
        minimumSinkMps: 0.76,
        bestGlideSinkMps: 0.75,
      },
      line: 'best glide 100:3 at 25 m/s',
    });
    expect(polarOf(FIGURES + LIMITS.replace('16 m/s', '26 m/s'))).toMatchObject({
      kind: 'refused',
      source: 'figures',
      refusal: { reason: 'best-glide-below-vs', bestGlideSpeedMps: 25, vsMps: 26 },
      line: 'best glide 100:3 at 25 m/s',
    });
  });

  test('without its mass, its stall speed, its greatest speed or its figures there is no polar', () => {
    for (const line of ['polar mass   300 kg', 'vs           16 m/s', 'vne          60 m/s']) {
      expect(polarOf(POINTS + LIMITS.replace(line, ''))).toEqual({ kind: 'none' });
      expect(polarOf(FIGURES + LIMITS.replace(line, ''))).toEqual({ kind: 'none' });
    }
    for (const line of FIGURES.trimEnd().split('\n'))
      expect(polarOf(FIGURES.replace(line, '') + LIMITS)).toEqual({ kind: 'none' });
    expect(polarOf(LIMITS)).toEqual({ kind: 'none' });
  });

  test('one line of the polar that cannot be read, and there is none', () => {
    expect(polarOf(`${POINTS}  polar 50 m/s sink 3\n${LIMITS}`)).toEqual({ kind: 'none' });
    expect(polarOf(`${POINTS}  best glide 33 at 25 m/s\n${LIMITS}`)).toEqual({ kind: 'none' });
    expect(polarOf(`${POINTS}  minimum sink 0.6 at 17 m/s\n${LIMITS}`)).toEqual({ kind: 'none' });
    expect(polarOf(`${POINTS}  va 80\n${LIMITS}`).kind).toBe('polar');
  });

  test('a point, a figure or a span of masses counts whole or not at all', () => {
    const nothing = { points: [], bestGlide: undefined, minimumSink: undefined, pilot: undefined };
    expect(
      meant(`aircraft Finch
  polar 20 m/s sink 0.65
  polar 20 sink 0.65 m/s
  best glide 32:1 at 49
  minimum sink 1.3 at 41 kt
  pilot 55 to 110 kg
`),
    ).toMatchObject(nothing);
    expect(
      meant('aircraft Finch\n  best glide 0.5:1 at 49 kt\n  minimum sink 1.3 kt at 41\n  pilot 55 kg to 110\n'),
    ).toMatchObject(nothing);
    expect(meant('aircraft Finch\n')).toMatchObject(nothing);
  });
});
