/** `export --to geojson`: RFC 7946. Heights stand in properties, not in positions: those count from the ellipsoid. */
import { harmless } from '../plan/text.ts';
import { degrees, type Exported, type ExportedLeg, type ExportedTask, linesBetween } from './export-data.ts';

const plain = (text: string): string => harmless(text.toWellFormed());

function legFeature({ leg, from, to, words }: ExportedLeg, task: ExportedTask): object {
  const { result } = leg;
  const flown = result?.problem === null ? result : undefined;
  const lines = linesBetween(from.position, to.position);
  return {
    type: 'Feature',
    geometry:
      lines.length === 1
        ? { type: 'LineString', coordinates: lines[0] }
        : { type: 'MultiLineString', coordinates: lines },
    properties: {
      kind: 'leg',
      task: plain(task.name),
      number: leg.number,
      from: plain(from.name),
      to: plain(to.name),
      distanceM: result?.distanceM ?? null,
      courseDeg: result?.courseDeg ?? null,
      departAltitudeM: result?.departAltitudeM ?? null,
      requiredDepartAltitudeM: result?.requiredDepartAltitudeM ?? null,
      arriveAltitudeM: flown?.arriveAltitudeM ?? null,
      marginM: flown?.marginM ?? null,
      timeS: flown?.timeS ?? null,
      notComputed: leg.cause ? plain(leg.cause.text) : null,
      description: plain(words.join('; ')),
    },
  };
}

export function exportGeojson({ name, points, tasks, caution }: Exported): string {
  const features = [
    ...points.map(({ name: of, point, position, elevationM, words }) => ({
      type: 'Feature',
      geometry: { type: 'Point', coordinates: [degrees(position.lonDeg), degrees(position.latDeg)] },
      properties: {
        kind: point.kind,
        name: plain(of),
        elevationM: elevationM ?? null,
        description: plain(words.join('; ')),
      },
    })),
    ...tasks.flatMap((task) => task.legs.map((leg) => legFeature(leg, task))),
  ];
  const collection = {
    type: 'FeatureCollection',
    // Foreign members (RFC 7946, 6.1): what the heights are made with.
    name: plain(name),
    caution,
    tasks: tasks.map((task) => ({ name: plain(task.name), madeWith: task.words.map(plain) })),
    features,
  };
  return `${JSON.stringify(collection, null, 2)}\n`;
}
