/** `export --to kml`: KML 2.2, a folder of points and a folder a task, on the ground; heights are in the words. */
import { degreesText, type Exported, type ExportedLeg, type ExportedPoint, linesBetween } from './export-data.ts';
import { element, escapeXml } from './xml.ts';

/** A description is read as HTML behind the XML, so it is made harmless for both. */
const description = (parts: readonly string[]): string =>
  `<description>${escapeXml(parts.map(escapeXml).join('<br/>'))}</description>`;

function pointMark({ name, position, words }: ExportedPoint): string {
  const at = `${degreesText(position.lonDeg)},${degreesText(position.latDeg)}`;
  return `<Placemark>${element('name', name)}${description(words)}<Point><coordinates>${at}</coordinates></Point></Placemark>`;
}

function legMark({ leg, from, to, words }: ExportedLeg): string {
  const lines = linesBetween(from.position, to.position).map(
    (line) =>
      `<LineString><tessellate>1</tessellate><coordinates>${line.map((at) => at.map(degreesText).join(',')).join(' ')}</coordinates></LineString>`,
  );
  const shape = lines.length === 1 ? lines[0] : `<MultiGeometry>${lines.join('')}</MultiGeometry>`;
  const safe = leg.result?.problem === null && leg.result.marginM >= 0;
  const style = `<styleUrl>#${safe ? 'leg' : 'short'}</styleUrl>`;
  return `<Placemark>${element('name', `${leg.number} ${from.name} → ${to.name}`)}${description(words)}${style}${shape}</Placemark>`;
}

const style = (id: string, colour: string, width: number): string =>
  `    <Style id="${id}"><LineStyle><color>${colour}</color><width>${width}</width></LineStyle></Style>`;

export function exportKml({ name, points, tasks, caution }: Exported): string {
  return [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<kml xmlns="http://www.opengis.net/kml/2.2">',
    '  <Document>',
    `    ${element('name', name)}`,
    `    ${description([caution])}`,
    style('leg', 'ffb05a00', 3),
    style('short', 'ff1414c8', 4),
    '    <Folder>',
    '      <name>Points</name>',
    ...points.map((point) => `      ${pointMark(point)}`),
    '    </Folder>',
    ...tasks.flatMap((task) => [
      '    <Folder>',
      `      ${element('name', task.name)}`,
      `      ${description(task.words)}`,
      ...task.legs.map((leg) => `      ${legMark(leg)}`),
      '    </Folder>',
    ]),
    '  </Document>',
    '</kml>',
    '',
  ].join('\n');
}
