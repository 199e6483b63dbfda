import { check as checkGeojson } from '@placemarkio/check-geojson';
import * as togeojson from '@tmcw/togeojson';
import { DOMParser } from '@xmldom/xmldom';
import { describe, expect, test } from 'vitest';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { type Exported, exportedOf, linesBetween } from '../../server/reports/export-data.ts';
import { exportGeojson } from '../../server/reports/export-geojson.ts';
import { exportGpx } from '../../server/reports/export-gpx.ts';
import { exportKml } from '../../server/reports/export-kml.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { sampleWorkspace } from './samples.ts';
import { geojsonErrors, valid } from './xsd.ts';

const HOSTILE = `</name><script>alert(1)</script> & 'x' ]]> %s \u0001\u001b[31m \u202e \ufffe 😀 \ud800 <![CDATA[`;

function exported(more: string): Exported {
  const workspace = createWorkspace(['plan:/']);
  setFile(workspace, 'plan:/club.taskplan', EXAMPLE_CLUB);
  const file = setFile(workspace, 'plan:/a.taskplan', `use "club.taskplan"\n\n${more}`);
  const understood = understand(workspace, file);
  return exportedOf(understood, understood.tasks, 'a & b.taskplan');
}

const TASK = (name: string, point = 'Ashmoor') => `task "${name}"
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 4000 ft MSL
  turn     "Withy Bridge"
  turn     "${point}"
  finish   Larkfield at 95 kt
`;

function samples(): Record<string, Exported> {
  const workspace = sampleWorkspace();
  return Object.fromEntries(
    [...workspace.files.values()].map((file) => {
      const understood = understand(workspace, file);
      const name = file.uri.split('/').slice(-2).join('/');
      return [name, exportedOf(understood, understood.tasks, name)];
    }),
  );
}

const PLANS: Readonly<Record<string, Exported>> = {
  ...samples(),
  plain: exported(TASK('Round')),
  hostile: exported(`${TASK(HOSTILE, HOSTILE)}
turnpoint "${HOSTILE}" at 47.3380 N 19.6240 E
  elevation 140 m
  note      "${HOSTILE}"
`),
  'over the antimeridian': exported(`field West at 10.0 S 179.9 E
  elevation 3 m

field East at 10.2 S 179.9 W
  elevation 3 m

field Null at 0.0000001 N 0.0000001 W
  elevation 0 m

field Edge at 10.1 S 180.0 E
  elevation 0 m

task Over
  aircraft Finch
  reserve  Training
  start    West at 9000 ft MSL
  finish   East
`),
  'without heights': exported(
    'turnpoint Bare at 1 N 2 E\n\ntask Unset\n  aircraft Finch\n  start Bare at 3 m MSL\n  finish Ashmoor\n',
  ),
};

const reader = new DOMParser({
  onError: (level, message) => {
    if (level !== 'warning') throw new Error(message);
  },
});
const dom = (text: string) => reader.parseFromString(text, 'text/xml') as never;

describe.each(Object.keys(PLANS))('%s', (name) => {
  const plan = PLANS[name] as Exported;

  test('GeoJSON: valid by its published schema, and a checker of RFC 7946 takes it', () => {
    const text = exportGeojson(plan);
    expect(geojsonErrors(text)).toBe(null);
    const { features } = checkGeojson(text) as { features: { geometry: { type: string } }[] };
    const legs = plan.tasks.flatMap((task) => task.legs).length;
    expect(features).toHaveLength(plan.points.length + legs);
    expect(text.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\p{Cf}]/u);
    expect(text).toContain('planning aid');
    for (const { geometry } of features) expect(JSON.stringify(geometry)).not.toContain('null');
  });

  test('GPX 1.1: valid by its published schema, and another reader reads it', () => {
    const text = exportGpx(plan);
    valid(text, 'gpx11.xsd');
    const { features } = togeojson.gpx(dom(text));
    expect(features).toHaveLength(plan.points.length + plan.tasks.filter(({ route }) => route.length > 1).length);
    expect(text).toContain('planning aid');
  });

  test('KML 2.2: valid by its published schema, and another reader reads it', () => {
    const text = exportKml(plan);
    valid(text, 'ogckml22.xsd');
    // To the schema a position is a word; by its documentation longitude, latitude and no space.
    const number = String.raw`-?\d+(\.\d+)?`;
    for (const [, coordinates] of text.matchAll(/<coordinates>(.*?)<\/coordinates>/g))
      for (const position of (coordinates as string).split(' ')) {
        expect(position).toMatch(new RegExp(`^${number},${number}$`));
        const [lon, lat] = position.split(',').map(Number) as [number, number];
        expect(Math.abs(lon) <= 180 && Math.abs(lat) <= 90).toBe(true);
      }
    const { features } = togeojson.kml(dom(text));
    expect(features).toHaveLength(plan.points.length + plan.tasks.flatMap((task) => task.legs).length);
    // What a viewer reads as HTML holds no markup but its own line breaks.
    for (const one of features) {
      const words = one.properties?.['description'] as { value?: string } | string | undefined;
      const html = typeof words === 'string' ? words : (words?.value ?? '');
      expect(html.replaceAll('<br/>', '')).not.toContain('<');
    }
    expect(text).toContain('planning aid');
  });
});

test('the schemas refuse what is wrong', () => {
  const gpx = exportGpx(PLANS['plain'] as Exported);
  for (const wrong of [
    gpx.replace('lat="47.2031"', 'lat="97"'),
    gpx.replace('<ele>190</ele>', '<ele>1e2</ele>'),
    gpx.replace(/(<name>Larkfield<\/name>)(<desc>.*?<\/desc>)/, '$2$1'),
  ])
    expect(() => valid(wrong, 'gpx11.xsd')).toThrow();
  const kml = exportKml(PLANS['plain'] as Exported);
  for (const wrong of [
    kml.replace('<color>ffb05a00</color>', '<color>blue</color>'),
    kml.replace('<tessellate>1</tessellate>', '<tessellate>on</tessellate>'),
    kml.replace(/(<styleUrl>.*?<\/styleUrl>)(<LineString>.*?<\/LineString>)/, '$2$1'),
  ])
    expect(() => valid(wrong, 'ogckml22.xsd')).toThrow();
  const geojson = exportGeojson(PLANS['plain'] as Exported);
  expect(geojsonErrors(geojson.replace('"Point"', '"Place"'))).not.toBe(null);
});

test('a leg over the antimeridian is cut there', () => {
  const { features } = JSON.parse(exportGeojson(PLANS['over the antimeridian'] as Exported)) as {
    features: { geometry: { type: string; coordinates: number[][][] } }[];
  };
  const leg = features.at(-1)?.geometry;
  expect(leg).toEqual({
    type: 'MultiLineString',
    coordinates: [
      [
        [179.9, -10],
        [180, -10.1],
      ],
      [
        [-180, -10.1],
        [-179.9, -10.2],
      ],
    ],
  });
});

test.each([
  [
    '180 E',
    '180 W',
    [
      [
        [180, -10],
        [180, -10.2],
      ],
    ],
  ],
  [
    '180 W',
    '180 E',
    [
      [
        [-180, -10],
        [-180, -10.2],
      ],
    ],
  ],
  [
    '180 E',
    '179.9 W',
    [
      [
        [-180, -10],
        [-179.9, -10.2],
      ],
    ],
  ],
  [
    '180 W',
    '179.9 E',
    [
      [
        [180, -10],
        [179.9, -10.2],
      ],
    ],
  ],
  [
    '179.9 E',
    '180 W',
    [
      [
        [179.9, -10],
        [180, -10.2],
      ],
    ],
  ],
  [
    '179.9 W',
    '180 E',
    [
      [
        [-179.9, -10],
        [-180, -10.2],
      ],
    ],
  ],
  [
    '180 E',
    '180 E',
    [
      [
        [180, -10],
        [180, -10.2],
      ],
    ],
  ],
  [
    '179.8 E',
    '179.9 E',
    [
      [
        [179.8, -10],
        [179.9, -10.2],
      ],
    ],
  ],
])('a leg with an end on the antimeridian has no piece without length: %s to %s', (from, to, pieces) => {
  const plan = exported(`field One at 10.0 S ${from}
  elevation 3 m

field Other at 10.2 S ${to}
  elevation 3 m

task Over
  aircraft Finch
  reserve  Training
  start    One at 9000 ft MSL
  finish   Other
`);
  const { features } = JSON.parse(exportGeojson(plan)) as { features: { geometry: { coordinates: unknown } }[] };
  const [piece] = pieces;
  expect(features.at(-1)?.geometry).toEqual({ type: 'LineString', coordinates: piece });
  expect(exportKml(plan)).toContain(
    `<coordinates>${piece?.map((at) => at.join(',')).join(' ')}</coordinates></LineString>`,
  );
});

test('between two points on the antimeridian that are one there is a line', () => {
  expect(linesBetween({ latDeg: 5, lonDeg: 180 }, { latDeg: 5, lonDeg: -180 })).toEqual([
    [
      [180, 5],
      [180, 5],
    ],
  ]);
});

test('the numbers are those of the budget', () => {
  const plan = PLANS['plain'] as Exported;
  const { features } = JSON.parse(exportGeojson(plan)) as { features: { properties: Record<string, unknown> }[] };
  const legs = features.map(({ properties }) => properties).filter(({ kind }) => kind === 'leg');
  const results = plan.tasks[0]?.task.legs.map(({ result }) => result);
  expect(legs.map((leg) => leg['requiredDepartAltitudeM'])).toEqual(results?.map((r) => r?.requiredDepartAltitudeM));
  expect(legs.map((leg) => leg['marginM'])).toEqual(results?.map((r) => (r?.problem === null ? r.marginM : null)));
});
