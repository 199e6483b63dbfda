import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { type Field, meaningOf, type Turnpoint } from '../../server/plan/meaning.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { exportedOf } from '../../server/reports/export-data.ts';
import { exportGeojson } from '../../server/reports/export-geojson.ts';
import { exportGpx } from '../../server/reports/export-gpx.ts';
import { ImportError, type ImportFormat, importPoints } from '../../server/reports/import.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';

const OPTIONS = { as: 'turnpoint', unit: undefined } as const;
const read = (text: string, format: ImportFormat, options: Parameters<typeof importPoints>[2] = OPTIONS) =>
  importPoints(text, format, options);

type ReadBack = [string, string, number | undefined, number | undefined, number | undefined];

function pointsOf(text: string): ReadBack[] {
  return parseFile(text)
    .entries.map(({ syntax }) => meaningOf(syntax))
    .filter((meaning): meaning is Field | Turnpoint => meaning.kind !== 'none')
    .map(({ kind, name, position, elevationM }) => [kind, name, position?.latDeg, position?.lonDeg, elevationM]);
}

describe('csv', () => {
  test('spaces in a cell, however many, are gone through once', () => {
    const spaces = ' '.repeat(600_000);
    expect(read(`name,lat,lon,elevation\nA,1,2,1${spaces}90\n`, 'csv', { as: 'field', unit: 'm' }).left).toHaveLength(
      1,
    );
    expect(read(`name,lat,lon,elevation\nA,1,2,190${spaces}m\n`, 'csv').text).toContain('elevation 190 m');
    expect(read(`name,lat,lon,elevation${spaces}x\nA,1,2,190\n`, 'csv').text).not.toContain('elevation');
    expect(read(`name,lat,lon,elevation (${spaces}m )\nA,1,2,190\n`, 'csv').text).toContain('elevation 190 m');
  });

  test('named columns, in any order; quotes where a name needs them', () => {
    const { text, left, notes } = read(
      'Longitude,name,extra,LAT,elevation (ft),kind\n-19.441,Larkfield,x,47.2031,623,field\n19.524 E,Withy Bridge,,47.338 S,459.3,\n1,task,,2,3,turnpoint\n',
      'csv',
    );
    expect(text).toBe(`field Larkfield at 47.2031 N 19.441 W
  elevation 623 ft

turnpoint "Withy Bridge" at 47.338 S 19.524 E
  elevation 459.3 ft

turnpoint "task" at 2 N 1 E
  elevation 3 ft
`);
    expect({ left, notes }).toEqual({ left: [], notes: [] });
  });

  test('semicolons and tabs; the unit in the header, in the cell or in the option', () => {
    expect(read('name;lat;lon;ele_m\nA;1;2;190\n', 'csv').text).toContain('elevation 190 m');
    expect(read('name\tlat\tlon\telev\nA\t1\t2\t190 ft\n', 'csv').text).toContain('elevation 190 ft');
    expect(read('name,lat,lon,elevation\nA,1,2,190\n', 'csv', { as: 'field', unit: 'm' }).text).toBe(
      'field A at 1 N 2 E\n  elevation 190 m\n',
    );
    expect(() => read('name,lat,lon,elevation\nA,1,2,190\n', 'csv')).toThrow(/unit/);
    expect(read('\uFEFFname,lat,lon\r\nA,1,2\r\n', 'csv').notes).toEqual([
      'line 2 (A) has no elevation; no height is computed there',
    ]);
  });

  test('what is not certain is left out, and said', () => {
    const { count, left } = read(
      'name,lat,lon,elevation m\nA,91,2,3\nB,1,181,3\nC,"47,2",2,3\nD,,2,3\n,1,2,3\nE,1,2,high\nF,1 E,2,3\nG,1,2,99999\nH,-1 S,2,3\nOK,1,2,3\nOK,1,3,3\n',
      'csv',
    );
    expect(count).toBe(1);
    expect(left).toEqual([
      'line 2 (A) is left out: 91 is no latitude in degrees',
      'line 3 (B) is left out: 181 is no longitude in degrees',
      'line 4 (C) is left out: 47,2 is no latitude in degrees',
      'line 5 (D) is left out: nothing is no latitude in degrees',
      'line 6 is left out: it has no name',
      'line 7 (E) is left out: high is no elevation',
      'line 8 (F) is left out: 1 E is no latitude in degrees',
      'line 9 (G) is left out: its elevation makes no sense',
      'line 10 (H) is left out: -1 S is no latitude in degrees',
      'line 12 (OK) is left out: another point has that name',
    ]);
  });

  test('a unit of elevations that is none is told whole, and leaves out its point alone', () => {
    const { left, count } = read(
      'name,lat,lon,elevation\nA,1,2,1 km\nB,1,2,300 Fm\nC,1,2,m\nD,1,2,100FT\nE,1,2,1.m\n',
      'csv',
    );
    expect(left).toEqual([
      'line 2 (A) is left out: 1 km is no elevation',
      'line 3 (B) is left out: 300 Fm is no elevation',
      'line 4 (C) is left out: m is no elevation',
    ]);
    expect(count).toBe(2);
  });

  test('what is rounded to nought has no sign and lies on no side', () => {
    expect(read('name,lat,lon,elevation\nA,-0.00000001,-0.00000001,-0.001 m\n', 'csv').text).toBe(
      'turnpoint A at 0 N 0 E\n  elevation 0 m\n',
    );
    expect(read('name,lat,lon\nA,-0.0000001,-0.0000001\n', 'csv').text).toBe(
      'turnpoint A at 0.0000001 S 0.0000001 W\n',
    );
  });

  test('files that are none', () => {
    for (const text of ['', 'lat,lon\n1,2\n', 'name,lat,lat,lon\n', 'name,lat,lon\n"A,1,2\n'])
      expect(() => read(text, 'csv')).toThrow(ImportError);
  });
});

describe('names', () => {
  const csv = (name: string) => `name,lat,lon,elevation m\n"${name.replaceAll('"', '""')}",1,2,3\n`;

  test('hostile names are cleaned, with a message', () => {
    const { text, notes } = read(csv('Evil" at 9 N 9 E\n  elevation 1 m\nuse "/etc/passwd\u202e\u0007#\u200b'), 'csv');
    expect(text).toBe(`turnpoint "Evil' at 9 N 9 E elevation 1 m use '/etc/passwd #" at 1 N 2 E\n  elevation 3 m\n`);
    expect(notes).toEqual(["line 4: the name is written as Evil' at 9 N 9 E elevation 1 m use '/etc/passwd #"]);
    expect(read(csv('\u200b\u202e'), 'csv').left[0]).toContain('no name');
    expect(read(csv('x'.repeat(200)), 'csv').left[0]).toContain('longer than 120');
  });

  test('any name makes one entry of that name, or none', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 40 }), (name) => {
        const { text, count } = read(csv(name), 'csv');
        const points = pointsOf(text);
        expect(points).toHaveLength(count);
        for (const [kind, , lat, lon, elevation] of points)
          expect([kind, lat, lon, elevation]).toEqual(['turnpoint', 1, 2, 3]);
        const again = formatFile(parseFile(text));
        expect('text' in again && again.text).toBe(text);
      }),
      { numRuns: 1000 },
    );
  });
});

describe('GeoJSON and GPX', () => {
  function club() {
    const workspace = createWorkspace(['plan:/']);
    const file = setFile(workspace, 'plan:/club.taskplan', EXAMPLE_CLUB);
    const understood = understand(workspace, file);
    return { understood, exported: exportedOf(understood, understood.tasks, 'club.taskplan') };
  }

  test('what is exported comes back as it was', () => {
    const { understood, exported } = club();
    const own = understood.entries
      .map(({ meaning }) => meaning)
      .filter((meaning) => meaning.kind === 'field' || meaning.kind === 'turnpoint')
      .map(({ kind, name, position, elevationM }) => [kind, name, position?.latDeg, position?.lonDeg, elevationM]);
    expect(own.length).toBeGreaterThan(3);
    expect(pointsOf(read(exportGeojson(exported), 'geojson').text)).toEqual(own);
    expect(pointsOf(read(exportGpx(exported), 'gpx').text)).toEqual(own);
  });

  test('GeoJSON: a height in a position counts from the ellipsoid and is no elevation', () => {
    const point = (properties: object) =>
      JSON.stringify({ type: 'Feature', geometry: { type: 'Point', coordinates: [2, 1, 234] }, properties });
    expect(read(point({ name: 'A' }), 'geojson').text).toBe('turnpoint A at 1 N 2 E\n');
    expect(() => read(point({ name: 'A', ele: 3 }), 'geojson')).toThrow(/unit/);
    expect(read(point({ name: 'A', ele: 3 }), 'geojson', { as: 'field', unit: 'ft' }).text).toContain('elevation 3 ft');
    for (const text of ['', '{', '[]', '{"type":"Point"}', '{"type":"FeatureCollection","features":3}'])
      expect(() => read(text, 'geojson')).toThrow(ImportError);
    expect(
      read(
        '{"type":"FeatureCollection","features":[null,{},{"geometry":{"type":"Point","coordinates":["a"]}}]}',
        'geojson',
      ).count,
    ).toBe(0);
  });

  test('GPX: waypoints with a prefix, in pieces; nothing outside is fetched or expanded', () => {
    const gpx = (inside: string, head = '') =>
      `<?xml version="1.0"?>${head}<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1">${inside}</g:gpx>`;
    const { text, notes } = read(
      gpx(
        '<g:wpt lat="1" lon="2"><g:ele>3.5</g:ele><g:name>A &amp; <![CDATA[<b>]]></g:name><g:extensions><g:name>no</g:name></g:extensions></g:wpt><g:trk/>',
      ),
      'gpx',
    );
    expect(text).toBe('turnpoint "A & <b>" at 1 N 2 E\n  elevation 3.5 m\n');
    expect(notes[0]).toContain('no point');
    for (const wrong of [
      '',
      '<kml/>',
      gpx('<g:wpt'),
      gpx(
        '<g:wpt lat="1" lon="2"><g:name>&x;</g:name></g:wpt>',
        '<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/passwd">]>',
      ),
    ])
      expect(() => read(wrong, 'gpx')).toThrow(ImportError);
  });
});
