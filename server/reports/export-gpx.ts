/** `export --to gpx`: GPX 1.1, each point a waypoint and each task a route. */
import { degreesText, type Exported, type ExportedPoint } from './export-data.ts';
import { element, escapeXml } from './xml.ts';

/** GPX takes longitudes from -180 up to, not including, 180. */
const lon = (value: number): string => degreesText(value).replace(/^180$/, '-180');

function place(
  tag: 'wpt' | 'rtept',
  { position, name, elevationM, words, point }: ExportedPoint,
  more: string,
): string {
  const parts = [
    ...(elevationM === undefined ? [] : [element('ele', degreesText(elevationM))]),
    element('name', name),
    element('desc', [more, words.join('; ')].filter((part) => part !== '').join('. ')),
    element('type', point.kind),
  ];
  return `<${tag} lat="${degreesText(position.latDeg)}" lon="${lon(position.lonDeg)}">${parts.join('')}</${tag}>`;
}

export function exportGpx({ name, points, tasks, caution }: Exported): string {
  const routes = tasks.map((task) => {
    const into = new Map(task.legs.map((leg) => [leg.to, leg]));
    return [
      '  <rte>',
      `    ${element('name', task.name)}`,
      `    ${element('desc', `${task.words.join('; ')}. ${caution}`)}`,
      ...task.route.map((point, i) => {
        const leg = task.legs.find(({ leg: { number }, to }) => number === i && to === point) ?? into.get(point);
        return `    ${place('rtept', point, i > 0 && leg ? `leg ${leg.leg.number}: ${leg.words.join('; ')}` : '')}`;
      }),
      '  </rte>',
    ].join('\n');
  });
  return [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<gpx version="1.1" creator="Legwise" xmlns="http://www.topografix.com/GPX/1/1" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="http://www.topografix.com/GPX/1/1 http://www.topografix.com/GPX/1/1/gpx.xsd">',
    `  <metadata>${element('name', name)}<desc>${escapeXml(caution)}</desc></metadata>`,
    ...points.map((point) => `  ${place('wpt', point, '')}`),
    ...routes,
    '</gpx>',
    '',
  ].join('\n');
}
