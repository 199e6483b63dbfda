/** `import`: points of other formats as entries of a plan. What is not certain is left out, and said; nothing is guessed. */
import { parse as parseCsv } from 'csv-parse/sync';
import { SaxesParser } from 'saxes';
import { parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { writtenName } from '../../grammar/names.ts';
import { meaningOf } from '../plan/meaning.ts';
import { harmless } from '../plan/text.ts';

export type ImportFormat = 'geojson' | 'gpx' | 'csv';
export type PointKind = 'field' | 'turnpoint';
export type ElevationUnit = 'm' | 'ft';

export interface ImportOptions {
  /** What a point becomes that does not say it. */
  readonly as: PointKind;
  /** The unit of elevations that do not say theirs. */
  readonly unit: ElevationUnit | undefined;
}

export interface Imported {
  /** Entries in the standard layout. */
  readonly text: string;
  readonly count: number;
  /** Points that are left out, and why. */
  readonly left: readonly string[];
  /** What was changed, or is missing, in points that are there. */
  readonly notes: readonly string[];
}

/** The file as a whole cannot be used. */
export class ImportError extends Error {}

/** A point as it stands in a file: everything as text. */
interface Raw {
  /** Where it stands, for messages: `line 3`. */
  readonly where: string;
  readonly name: string;
  readonly lat: string;
  readonly lon: string;
  readonly elevation: string;
  readonly unit: ElevationUnit | undefined;
  readonly kind: string;
}

const NUMBER = /^[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:e[-+]?\d+)?$/i;

/** Degrees, with a sign or a letter. */
function angle(text: string, most: number, letters: string): number | undefined {
  const found = /^(\S+?)\s*([NSEW])?$/i.exec(text.trim());
  const letter = found?.[2]?.toUpperCase();
  if (!found || !NUMBER.test(found[1] as string) || (letter && !letters.includes(letter))) return undefined;
  if (letter && /^[-+]/.test(found[1] as string)) return undefined;
  const value = Number(found[1]) * (letter === letters[1] ? -1 : 1);
  return Math.abs(value) <= most ? value : undefined;
}

const decimal = (value: number, digits: number): string =>
  value
    .toFixed(digits)
    .replace(/\.?0+$/, '')
    .replace(/^-0$/, '0');

/** A name that a plan can hold: on one line, without quotation marks and signs that cannot be seen. */
function cleaned(name: string): string {
  return name
    .toWellFormed()
    .normalize('NFC')
    .replace(/[\p{Cc}\p{Zl}\p{Zp}]+/gu, ' ')
    .replace(/[\p{Cf}\p{Cs}\p{Co}\uFFFD\uFFFE\uFFFF]/gu, '')
    .replace(/["“”„]/g, "'")
    .replace(/\s+/g, ' ')
    .trim();
}

const LONGEST_NAME = 120;

function rawGeojson(text: string): { raws: Raw[]; others: number } {
  let data: unknown;
  try {
    data = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    throw new ImportError(`it is no JSON: ${(error as Error).message}`);
  }
  const object = (of: unknown): Record<string, unknown> =>
    typeof of === 'object' && of !== null ? (of as Record<string, unknown>) : {};
  const whole = object(data);
  const features =
    whole['type'] === 'FeatureCollection' ? whole['features'] : whole['type'] === 'Feature' ? [whole] : undefined;
  if (!Array.isArray(features)) throw new ImportError('it is no GeoJSON: a FeatureCollection is wanted');
  const word = (of: unknown): string => (typeof of === 'string' || typeof of === 'number' ? String(of) : '');
  const raws: Raw[] = [];
  let others = 0;
  for (const [i, feature] of features.entries()) {
    const geometry = object(object(feature)['geometry']);
    const properties = object(object(feature)['properties']);
    const at = geometry['coordinates'];
    if (geometry['type'] !== 'Point' || !Array.isArray(at)) {
      others++;
      continue;
    }
    const inMetres = properties['elevationM'];
    raws.push({
      where: `feature ${i + 1}`,
      name: word(properties['name']),
      lat: word(at[1]),
      lon: word(at[0]),
      elevation: word(inMetres ?? properties['elevation'] ?? properties['ele']),
      unit: inMetres === undefined || inMetres === null ? undefined : 'm',
      kind: word(properties['kind']),
    });
  }
  return { raws, others };
}

function rawGpx(text: string): { raws: Raw[]; others: number } {
  const raws: Raw[] = [];
  const path: string[] = [];
  let others = 0;
  let now: { where: string; name: string; lat: string; lon: string; ele: string; type: string } | undefined;
  const parser = new SaxesParser();
  const local = (name: string) => name.replace(/^.*:/, '');
  parser.on('error', (error) => {
    throw new ImportError(`it is no XML: ${error.message}`);
  });
  parser.on('opentag', ({ name, attributes }) => {
    path.push(local(name));
    if (path.length === 1 && path[0] !== 'gpx') throw new ImportError('it is no GPX');
    if (path.length !== 2) return;
    if (path[1] === 'wpt') {
      const { lat = '', lon = '' } = attributes as Record<string, string>;
      now = { where: `line ${parser.line}`, name: '', lat, lon, ele: '', type: '' };
    } else if (path[1] === 'rte' || path[1] === 'trk') others++;
  });
  const add = (words: string) => {
    const inside = path[2];
    if (now && path.length === 3 && (inside === 'name' || inside === 'ele' || inside === 'type')) now[inside] += words;
  };
  parser.on('text', add);
  parser.on('cdata', add);
  parser.on('closetag', () => {
    // GPX gives elevations in metres.
    if (path.length === 2 && now) raws.push({ ...now, elevation: now.ele, unit: 'm', kind: now.type });
    if (path.length === 2) now = undefined;
    path.pop();
  });
  parser.write(text.replace(/^\uFEFF/, '')).close();
  return { raws, others };
}

const COLUMNS: Readonly<Record<string, string>> = {
  name: 'name',
  lat: 'lat',
  latitude: 'lat',
  lon: 'lon',
  lng: 'lon',
  longitude: 'lon',
  elevation: 'elevation',
  elev: 'elevation',
  ele: 'elevation',
  kind: 'kind',
};

function rawCsv(text: string): { raws: Raw[]; others: number } {
  const head = text.replace(/^\uFEFF/, '').split(/\r\n|\n|\r/, 1)[0] ?? '';
  const delimiter = [',', ';', '\t'].reduce((most, one) =>
    head.split(one).length > head.split(most).length ? one : most,
  );
  let rows: { record: string[]; info: { lines: number } }[];
  try {
    rows = parseCsv(text, {
      bom: true,
      delimiter,
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
      trim: true,
    }) as unknown as typeof rows;
  } catch (error) {
    throw new ImportError(`it is no CSV: ${(error as Error).message}`);
  }
  const [first, ...rest] = rows;
  const columns = new Map<string, number>();
  let unit: ElevationUnit | undefined;
  for (const [i, cell] of (first?.record ?? []).entries()) {
    const found = /^([a-z]+)(?:[\s_]*(?:[([]\s*)?(m|ft|metres|meters|feet)\s*[)\]]?)?$/i.exec(cell.trim());
    const name = found?.[1]?.toLowerCase() ?? '';
    const column = Object.hasOwn(COLUMNS, name) ? COLUMNS[name] : undefined;
    if (!column || (found?.[2] && column !== 'elevation')) continue;
    if (columns.has(column)) throw new ImportError(`two columns give the ${column}`);
    columns.set(column, i);
    if (column === 'elevation' && found?.[2]) unit = /^m/i.test(found[2]) ? 'm' : 'ft';
  }
  for (const column of ['name', 'lat', 'lon'])
    if (!columns.has(column)) throw new ImportError(`its first line names no column ${column}`);
  const raws = rest.map(({ record, info }): Raw => {
    const cell = (column: string): string => {
      const at = columns.get(column);
      return at === undefined ? '' : (record[at] ?? '');
    };
    const own = /(?<=[\d.\s])(?:m|ft)$/i.exec(cell('elevation'));
    return {
      where: `line ${info.lines}`,
      name: cell('name'),
      lat: cell('lat'),
      lon: cell('lon'),
      elevation: cell('elevation').slice(0, own?.index),
      unit: own ? (own[0].toLowerCase() as ElevationUnit) : unit,
      kind: cell('kind'),
    };
  });
  return { raws, others: 0 };
}

const READERS = { geojson: rawGeojson, gpx: rawGpx, csv: rawCsv };

/** Whether an entry reads as what it was made from. */
function readsBack(entry: string, name: string, latDeg: number, lonDeg: number): string | undefined {
  const [placed, more] = parseFile(entry).entries;
  const meaning = placed && meaningOf(placed.syntax);
  if (more || (meaning?.kind !== 'field' && meaning?.kind !== 'turnpoint')) return 'it cannot be written as an entry';
  const { position, faults, faulty } = meaning;
  const [fault] = faults;
  if (fault?.fault.code === 'value-out-of-sense') return 'its elevation makes no sense';
  if (faults.length + faulty.length > 0 || meaning.name !== name) return 'it cannot be written as an entry';
  const near = (a: number | undefined, b: number) => a !== undefined && Math.abs(a - b) < 1e-6;
  return near(position?.latDeg, latDeg) && near(position?.lonDeg, lonDeg)
    ? undefined
    : 'its position cannot be written as an entry';
}

/** Makes entries from the text of a file. */
export function importPoints(text: string, format: ImportFormat, options: ImportOptions): Imported {
  const { raws, others } = READERS[format](text);
  const left: string[] = [];
  const notes: string[] = [];
  const entries: string[] = [];
  const names = new Set<string>();
  if (others > 0)
    notes.push(`${others} of what it holds ${others === 1 ? 'is no point and is' : 'are no points and are'} left out`);
  for (const raw of raws) {
    const name = cleaned(raw.name);
    const shown = `${raw.where}${name === '' ? '' : ` (${harmless(name)})`}`;
    const leave = (why: string) => left.push(`${shown} is left out: ${why}`);
    const latDeg = angle(raw.lat, 90, 'NS');
    const lonDeg = angle(raw.lon, 180, 'EW');
    const unit = raw.unit ?? options.unit;
    const elevation = raw.elevation.trim();
    const kind = /^(field|turnpoint)$/.exec(raw.kind.trim().toLowerCase())?.[1] ?? options.as;
    if (NUMBER.test(elevation) && !unit)
      throw new ImportError(
        `${raw.where} gives an elevation without a unit: name it in the column, or with --unit m|ft`,
      );
    if (name === '') leave('it has no name');
    else if (name.length > LONGEST_NAME) leave(`its name is longer than ${LONGEST_NAME} letters`);
    else if (names.has(name)) leave('another point has that name');
    else if (latDeg === undefined) leave(`${harmless(raw.lat.trim()) || 'nothing'} is no latitude in degrees`);
    else if (lonDeg === undefined) leave(`${harmless(raw.lon.trim()) || 'nothing'} is no longitude in degrees`);
    else if (elevation !== '' && !NUMBER.test(elevation)) leave(`${harmless(elevation)} is no elevation`);
    else {
      const side = (degrees: number, [plus, minus]: readonly [string, string]) => {
        const written = decimal(Math.abs(degrees), 7);
        return `${written} ${degrees < 0 && written !== '0' ? minus : plus}`;
      };
      const at = `${side(latDeg, ['N', 'S'])} ${side(lonDeg, ['E', 'W'])}`;
      const lines = [`${kind} ${writtenName(name)} at ${at}`];
      if (elevation !== '') lines.push(`  elevation ${decimal(Number(elevation), 2)} ${unit}`);
      const entry = `${lines.join('\n')}\n`;
      const wrong = readsBack(entry, name, latDeg, lonDeg);
      if (wrong) {
        leave(wrong);
        continue;
      }
      names.add(name);
      entries.push(entry);
      if (name !== raw.name.trim()) notes.push(`${raw.where}: the name is written as ${harmless(name)}`);
      if (elevation === '') notes.push(`${shown} has no elevation; no height is computed there`);
    }
  }
  const formatted = formatFile(parseFile(entries.join('\n')));
  if ('refused' in formatted) throw new ImportError(`its entries cannot be laid out: ${formatted.refused}`);
  return { text: formatted.text, count: entries.length, left, notes };
}
