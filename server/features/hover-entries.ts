/** What hover says of a name: what the entry behind it is, in the reader's units. */
import { detailsOf, type LineSyntax } from '../../grammar/syntax.ts';
import { fromSi, unit } from '../../grammar/units.ts';
import { bestGlideRatio, bestGlideSpeed, minimumSink, minimumSinkSpeed } from '../flight/index.ts';
import { totalsText } from '../plan/budget-rows.ts';
import { polarSource } from '../plan/caution.ts';
import type {
  Aircraft,
  Airspace,
  Field,
  Limits,
  Meaning,
  Obstacle,
  Reserve,
  Turnpoint,
  Weather,
} from '../plan/meaning.ts';
import { altitudeText, courseDigits, number, type Show } from '../plan/show.ts';
import { escapeMarkdown, shortened } from '../plan/text.ts';
import type { Understood } from '../plan/understand.ts';
import { type Defined, fileName } from '../plan/workspace.ts';

function positionText({ position }: { position: { latDeg: number; lonDeg: number } | undefined }): string {
  if (!position) return 'position not known';
  const { latDeg, lonDeg } = position;
  return `${Math.abs(latDeg).toFixed(4)} ${latDeg < 0 ? 'S' : 'N'} ${Math.abs(lonDeg).toFixed(4)} ${lonDeg < 0 ? 'W' : 'E'}`;
}

function ground(elevationM: number | undefined, with_: Show): string {
  return elevationM === undefined ? 'elevation not known' : `elevation ${with_.altitude(elevationM)}`;
}

/** Whether a line of one of these details stands in the entry and cannot be read: then nothing is assumed in its place. */
function isUnread({ faulty }: Meaning, ...details: readonly string[]): boolean {
  return faulty.some(({ detail }) => detail !== undefined && details.includes(detail));
}

/** A line as it is written, on one space between its words. */
function asWritten({ entry }: Meaning, { span }: LineSyntax): string {
  return escapeMarkdown(shortened(entry.text.slice(span.start, span.end).replace(/\s+/gu, ' '), 80));
}

/** More lines that cannot be read are counted. */
const MOST_UNREAD = 4;

/** What of an entry cannot be read, so that nothing is made from it. */
function unreadLines(meaning: Meaning): string[] {
  const lines = meaning.faulty.map(({ line }) => `cannot be read: ${asWritten(meaning, line)}`);
  const more = lines.length - MOST_UNREAD;
  return more > 1 ? [...lines.slice(0, MOST_UNREAD), `and ${more} more lines`] : lines;
}

/** The notes of an entry, of whatever kind. */
function notesOf({ entry }: Meaning): string[] {
  return detailsOf(entry, 'note').flatMap(({ slots: { text } }) =>
    text?.kind === 'text' ? [escapeMarkdown(text.text)] : [],
  );
}

function fieldLines(field: Field, with_: Show): string[] {
  const lines = [ground(field.elevationM, with_)];
  for (const runway of field.runways) {
    const length = runway.lengthM === undefined ? '' : `, ${number(runway.lengthM)} m`;
    const more = [runway.surface, runway.circuit && `circuit ${runway.circuit}`].filter(Boolean).join(', ');
    lines.push(`runway ${runway.text}${length}${more ? `, ${escapeMarkdown(more)}` : ''}`);
  }
  for (const { text } of field.frequencies) lines.push(text);
  if (field.arriveM) lines.push(`asks ${with_.height(field.arriveM.value, 'up')} over it`);
  lines.push(positionText(field));
  return lines;
}

function turnpointLines(point: Turnpoint, with_: Show): string[] {
  const zone = point.radiusM === undefined ? [] : [`observation zone ${number(point.radiusM)} m`];
  return [`${ground(point.elevationM, with_)} (the ground there)`, ...zone, positionText(point)];
}

function aircraftLines(aircraft: Aircraft, with_: Show): string[] {
  const lines: string[] = [];
  const { polar } = aircraft;
  if (polar.kind === 'polar') {
    lines.push(
      `best glide ${with_.ratio(bestGlideRatio(polar.polar))} at ${with_.speed(bestGlideSpeed(polar.polar))}`,
      `minimum sink ${with_.climb(minimumSink(polar.polar))} at ${with_.speed(minimumSinkSpeed(polar.polar))}`,
    );
  } else if (polar.kind === 'refused') lines.push('its polar is refused');
  else if (!isUnread(aircraft, 'polar', 'best glide', 'minimum sink')) lines.push('no polar');
  const { emptyMassKg: empty, maximumMassKg: most, ballastMostKg: ballast } = aircraft;
  const masses = [
    empty && `empty ${with_.mass(empty.value)}`,
    most && `at most ${with_.mass(most.value)}`,
    ballast && `ballast up to ${with_.mass(ballast.value)}`,
  ];
  const massText = masses.filter(Boolean).join(', ');
  if (massText) lines.push(massText);
  const speeds = (['vs', 'va', 'vno', 'vne'] as const).flatMap((name) => {
    const value = aircraft[`${name}Mps`];
    return value ? [`${name} ${with_.speed(value.value)}`] : [];
  });
  if (speeds.length > 0) lines.push(`${speeds.join(', ')} (indicated)`);
  if (aircraft.landingM) lines.push(`needs ${number(aircraft.landingM.value)} m to land`);
  if (polar.kind === 'polar') {
    const source =
      polar.source === 'points'
        ? `polar through ${aircraft.points.length} measured points`
        : "polar from the handbook's figures";
    lines.push(`${source}, for ${with_.mass(polar.polar.massKg)}`);
  }
  return lines;
}

function weatherLines(weather: Weather, with_: Show): string[] {
  const lines: string[] = [];
  const { date, qnhPa, temperature, lift, sinkMps, cloudbase } = weather;
  if (date) lines.push(`${date.year}-${String(date.month).padStart(2, '0')}-${String(date.day).padStart(2, '0')}`);
  if (qnhPa) lines.push(`QNH ${fromSi(qnhPa.value, unit('hPa')).toFixed(0)} hPa`);
  else if (!isUnread(weather, 'qnh')) lines.push('no QNH: 1013.25 hPa is assumed');
  if (temperature)
    lines.push(`${number(fromSi(temperature.kelvin, unit('°C')), 0)} °C at ${altitudeText(temperature.at, with_)}`);
  for (const wind of weather.winds) {
    const where = wind.altitude === 'surface' ? 'surface' : altitudeText(wind.altitude, with_);
    const spread = wind.spreadMps === undefined ? '' : ` ± ${with_.speed(wind.spreadMps)}`;
    lines.push(
      `wind ${where}: ${courseDigits(wind.direction.degrees)}°${wind.direction.magnetic ? 'M' : ''} / ${with_.speed(wind.speedMps)}${spread}`,
    );
  }
  if (lift) lines.push(`lift ${with_.climb(lift.rateMps)} to ${altitudeText(lift.top, with_)}`);
  if (sinkMps) lines.push(`air sinking at ${with_.climb(sinkMps.value)} on glides`);
  if (cloudbase) lines.push(`cloudbase ${altitudeText(cloudbase.value, with_)}`);
  if (weather.thermals) lines.push(asWritten(weather, weather.thermals.line));
  return lines;
}

function reserveLines(reserve: Reserve, with_: Show): string[] {
  const lines: string[] = [];
  const { arriveM, turnM, clearM, altimeterM, performance } = reserve;
  if (arriveM) lines.push(`${with_.height(arriveM.value, 'up')} over a field`);
  if (turnM) lines.push(`${with_.height(turnM.value, 'up')} over a turnpoint`);
  if (clearM) lines.push(`${with_.height(clearM.value, 'up')} over obstacles and ground`);
  if (altimeterM) lines.push(`${with_.height(altimeterM.value, 'up')} more for the altimeter`);
  if (performance)
    lines.push(
      performance.value.kind === 'ratio'
        ? `plans on ${with_.ratio(performance.value.ratio)}`
        : `plans on ${number(performance.value.share * 100)} % of the polar's glide ratio`,
    );
  else if (!isUnread(reserve, 'performance')) lines.push('plans on the whole polar');
  return lines;
}

function limitsLines(limits: Limits, with_: Show): string[] {
  const lines = limits.within.map(
    ({ distanceM, point }) => `within ${with_.distance(distanceM)} of ${escapeMarkdown(point.text)}`,
  );
  if (limits.forAllTasks) lines.unshift('for all tasks of the files that bring them in');
  if (limits.fieldInGlide) lines.push('a field in glide from every point');
  if (limits.landBeforeSunsetS) lines.push(`land ${with_.duration(limits.landBeforeSunsetS.value)} before sunset`);
  if (limits.crosswindMps) lines.push(`crosswind at most ${with_.speed(limits.crosswindMps.value)}`);
  if (limits.durationS) lines.push(`at most ${with_.duration(limits.durationS.value)}`);
  if (limits.distanceM) lines.push(`at most ${with_.distance(limits.distanceM.value)}`);
  if (limits.reserve) lines.push(`reserve at least ${escapeMarkdown(limits.reserve.name.text)}`);
  return lines;
}

function obstacleLines(obstacle: Obstacle, with_: Show): string[] {
  const lines = [obstacle.top ? `top ${altitudeText(obstacle.top, with_)}` : 'top not known', positionText(obstacle)];
  if (obstacle.radiusM !== undefined) lines.push(`radius ${number(obstacle.radiusM)} m`);
  return lines;
}

function airspaceLines(airspace: Airspace, with_: Show): string[] {
  const { floor, ceiling, circle, edge } = airspace;
  const lines = [
    `from ${floor ? altitudeText(floor.value, with_) : '?'} to ${ceiling ? altitudeText(ceiling.value, with_) : '?'}`,
  ];
  if (circle) lines.push(`circle of ${with_.distance(circle.radiusM)}`);
  else if (edge.length > 0) lines.push(`${edge.length} corners`);
  for (const line of detailsOf(airspace.entry, 'active'))
    if (!airspace.faulty.some((faulty) => faulty.line === line)) lines.push(asWritten(airspace, line));
  return lines;
}

function linesFor(meaning: Meaning, understood: Understood, with_: Show): string[] {
  switch (meaning.kind) {
    case 'field':
      return fieldLines(meaning, with_);
    case 'turnpoint':
      return turnpointLines(meaning, with_);
    case 'aircraft':
      return aircraftLines(meaning, with_);
    case 'weather':
      return weatherLines(meaning, with_);
    case 'reserve':
      return reserveLines(meaning, with_);
    case 'limits':
      return limitsLines(meaning, with_);
    case 'obstacle':
      return obstacleLines(meaning, with_);
    case 'airspace':
      return airspaceLines(meaning, with_);
    case 'task': {
      const task = understood.tasks.find(({ entry }) => entry === meaning.entry);
      if (!task) return [];
      const source = polarSource(task, with_);
      return [totalsText(task, with_), ...(source ? [source] : [])];
    }
    default:
      return [];
  }
}

/** A named entry in a few lines, and the file it stands in when that is another. */
export function describeEntry(defined: Defined, understood: Understood, with_: Show): string {
  const { meaning, file } = defined;
  const elsewhere = file.uri === understood.file.uri ? [] : [`*in ${escapeMarkdown(fileName(file.uri))}*`];
  return [
    `**${meaning.kind} ${escapeMarkdown(meaning.name)}**`,
    ...linesFor(meaning, understood, with_),
    ...unreadLines(meaning),
    ...notesOf(meaning),
    ...elsewhere,
  ].join('  \n');
}
