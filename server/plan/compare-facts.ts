/**
 * What a task's numbers rest on, as single facts: each line of its aircraft, weather, reserve and points, and each line
 * of its itinerary. From any set of facts a plan is made and evaluated like any other, so that a fact can be changed
 * alone and nothing is computed in a second way.
 */
import type { EntrySyntax, LineSyntax, ValueNode } from '../../grammar/syntax.ts';
import { toSi } from '../../grammar/units.ts';
import type { ItineraryLine, Point } from './meaning.ts';
import type { TaskEvaluation } from './task.ts';
import { understand } from './understand.ts';
import { createWorkspace, setFile } from './workspace.ts';

/** One fact. Two are the same fact by `key`, and hold the same when `meaning` is the same. */
export interface Fact {
  readonly key: string;
  /** What it is about: `wind at 3000 ft MSL`. */
  readonly label: string;
  /** Its value, as written: `245° at 14 kt`. */
  readonly value: string;
  /** Its value whatever the units and the spacing that it is written in. */
  readonly meaning: string;
  /** The lines that say it in a plan. */
  readonly source: readonly string[];
}

export type Facts = ReadonlyMap<string, Fact>;

/** The itinerary without its heights and speeds. */
export interface Route {
  readonly key: string;
  readonly points: readonly string[];
}

const tidy = (text: string): string => text.replace(/\s+/g, ' ').trim();

/** A number without the last bits of a conversion. */
const exact = (value: number): string => String(Number(value.toPrecision(11)));

/** The value of a node whatever its units. */
function siOf(node: ValueNode): string {
  switch (node.kind) {
    case 'quantity': {
      const { number, unit, datum } = node;
      if (number.value === undefined || !unit?.unit) return `${number.text} ${unit?.text ?? ''} ${datum?.text ?? ''}`;
      const [dimension] = unit.unit.dimensions;
      // True and magnetic directions differ; a rate of climb may be written in units of speed.
      const kind = dimension === 'direction' ? unit.unit.text : dimension === 'climb' ? 'speed' : dimension;
      return `${exact(toSi(number.value, unit.unit))} ${kind} ${datum?.datum ?? ''}`;
    }
    case 'duration':
      return node.parts.map(siOf).join('+');
    case 'coordinates':
      return [node.first, node.second]
        .map((angle, i) => {
          const letter = angle?.hemisphere?.text.toUpperCase();
          const sign = letter === 'NE'[i] ? 1 : letter === 'SW'[i] ? -1 : undefined;
          if (angle?.value === undefined || sign === undefined) return `${angle?.text} ${letter}`;
          return exact(sign * angle.value);
        })
        .join(' ');
    case 'time':
      return `${node.hour * 3600 + node.minute * 60 + node.second - (node.zoneMinutes ?? 0) * 60} ${node.zoneMinutes === undefined}`;
    case 'date':
      return `${node.year}-${node.month}-${node.day}`;
    case 'flightLevel':
      return `FL${node.level}`;
    case 'ratio':
      return exact(node.value);
    case 'runway':
      return node.ends.map((end) => `${end.number}${end.letter}`).join('/');
    case 'unit':
      return node.unit?.text ?? node.text;
    case 'name':
    case 'text':
    case 'word':
      return node.text;
  }
}

/** Whether a line cannot be read in full; one that only lacks its indent can. */
const isBroken = (line: LineSyntax): boolean => line.problems.some(({ kind }) => kind !== 'not-indented');

/** The value in a slot; an elevation is above the sea, said or not. */
const slotText = (name: string, node: ValueNode): string =>
  name === 'elevation' ? siOf(node).replace(/MSL$/, '') : siOf(node);

/** What a line says, whatever its units and its spacing. */
export function meaningOfLine(entry: EntrySyntax, line: LineSyntax): string {
  const text = tidy(entry.text.slice(line.span.start, line.span.end));
  if (!line.form || isBroken(line)) return text;
  const slots = Object.entries(line.slots).flatMap(([name, node]) => (node ? [`${name}=${slotText(name, node)}`] : []));
  const flags = Object.entries(line.flags).flatMap(([name, span]) => (span ? [name] : []));
  return [line.form.id, ...slots.sort(), ...flags.sort()].join(' | ');
}

const textOf = (entry: EntrySyntax, span: { start: number; end: number }): string =>
  tidy(entry.text.slice(span.start, span.end));

/** The text behind a place of a line, up to its end. */
const restOf = (entry: EntrySyntax, line: LineSyntax, from: number): string =>
  textOf(entry, { start: from, end: line.span.end });

const lineText = (entry: EntrySyntax, line: LineSyntax): string => textOf(entry, line.span);

/** Details that no height, distance or time rests on. */
const SILENT: ReadonlySet<string> = new Set(['note', 'runway', 'frequency', 'crosswind', 'landing', 'radius']);

/** The lines of an aircraft that only together give a polar. */
const POLAR: ReadonlySet<string> = new Set(['polar', 'best glide', 'minimum sink', 'polar mass']);

interface Making {
  readonly facts: Map<string, Fact>;
}

function put({ facts }: Making, fact: Fact): void {
  // A line that stands twice is told apart by its turn.
  let { key } = fact;
  for (let n = 2; facts.has(key); n++) key = `${fact.key} ${n}`;
  facts.set(key, { ...fact, key });
}

function putLine(making: Making, role: string, about: string, entry: EntrySyntax, line: LineSyntax): void {
  const id = line.form?.id ?? 'unread';
  if (SILENT.has(id)) return;
  const source = [lineText(entry, line)];
  const meaning = meaningOfLine(entry, line);
  const altitude = role === 'weather' ? line.slots['altitude'] : undefined;
  if (id === 'wind' && !isBroken(line)) {
    const { direction, speed } = line.slots;
    const where = altitude ? siOf(altitude) : 'surface';
    const place = altitude ? `at ${textOf(entry, altitude.span)}` : 'at the surface';
    const value =
      direction && speed
        ? `${textOf(entry, direction.span)}/${restOf(entry, line, speed.span.start)}`
        : (source[0] as string);
    put(making, { key: `weather wind ${where}`, label: `wind ${place}`, value, meaning, source });
    return;
  }
  put(making, {
    key: role.startsWith('point') ? `${role}${id}` : `${role} ${id}`,
    label: `${textOf(entry, line.keyword)}${about}`,
    value: restOf(entry, line, line.keyword.end),
    meaning,
    source,
  });
}

function putAircraft(making: Making, task: TaskEvaluation): void {
  const { aircraft } = task;
  if (!aircraft) return;
  const { entry, name } = aircraft.meaning;
  const polar = entry.details.filter((line) => POLAR.has(line.form?.id ?? ''));
  if (polar.length > 0) {
    const lines = polar.map((line) => lineText(entry, line));
    put(making, {
      key: 'aircraft polar',
      label: `polar of ${name}`,
      value: lines.map((line) => line.replace(/^polar (?!mass)/, '')).join(', '),
      meaning: polar
        .map((line) => meaningOfLine(entry, line))
        .sort()
        .join('\n'),
      source: lines,
    });
  }
  for (const line of entry.details) {
    if (!polar.includes(line)) putLine(making, 'aircraft', ` of ${name}`, entry, line);
  }
}

function putLoad(making: Making, task: TaskEvaluation): void {
  const { aircraft: line } = task.task;
  if (!line) return;
  for (const what of ['pilot', 'ballast'] as const) {
    const node = line.line.slots[what];
    if (!node) continue;
    const text = textOf(task.entry, node.span);
    put(making, { key: `load ${what}`, label: what, value: text, meaning: siOf(node), source: [`${what} ${text}`] });
  }
}

function putPoint(making: Making, point: Point): void {
  const { entry, name, kind } = point;
  const head = entry.head?.slots['position'];
  put(making, { key: `point\n${name}\nkind`, label: name, value: kind, meaning: kind, source: [kind] });
  if (head) {
    const text = textOf(entry, head.span);
    put(making, {
      key: `point\n${name}\nposition`,
      label: `position of ${name}`,
      value: text,
      meaning: siOf(head),
      source: [text],
    });
  }
  for (const line of entry.details) putLine(making, `point\n${name}\n`, ` of ${name}`, entry, line);
}

/** The points that an itinerary names and that are known. */
function pointsOf(task: TaskEvaluation): Point[] {
  const points = new Map<string, Point>();
  for (const reference of [task.start?.point, ...task.legs.flatMap(({ from, to }) => [from, to])])
    if (reference) points.set(reference.meaning.name, reference.meaning);
  return [...points.values()];
}

/** What a line of the itinerary does, whatever its units: a line without a speed flies best glide. */
function meaningOfStep(entry: EntrySyntax, item: ItineraryLine): string {
  if (!('speed' in item) || !item.speed) return meaningOfLine(entry, item.line);
  const { speed } = item;
  return `${item.kind} ${item.point?.text} ${speed.kind} ${
    speed.kind === 'indicated' ? exact(speed.indicatedMps) : speed.kind === 'maccready' ? exact(speed.climbMps) : ''
  }`;
}

const LABELS: Readonly<Record<ItineraryLine['kind'], (point: string) => string>> = {
  start: (point) => `start over ${point}`,
  turn: (point) => `speed to ${point}`,
  finish: (point) => `speed to ${point}`,
  climb: (point) => `climb behind ${point}`,
  soar: (point) => `soaring behind ${point}`,
  glide: (point) => `glide behind ${point}`,
};

/** The itinerary, stop by stop; what stands behind a point belongs to it. */
function putItinerary(making: Making, task: TaskEvaluation): Route {
  const { entry } = task;
  const points: string[] = [];
  const parts: string[] = [];
  let name = '';
  let step = 0;
  for (const item of task.task.itinerary) {
    const { line, kind } = item;
    const node = 'point' in item ? item.point : undefined;
    if ('point' in item) {
      name = node?.text ?? '';
      points.push(name);
      parts.push(`${kind} ${name}`);
      step = 0;
    }
    const rest = restOf(entry, line, node ? node.span.end : line.keyword.end).replace(/^(?:at|to) /, '');
    put(making, {
      key: `line\n${points.length}\n${step++}`,
      label: LABELS[kind](name),
      value: rest === '' ? (kind === 'turn' || kind === 'finish' ? 'best glide' : 'set') : rest,
      meaning: meaningOfStep(entry, item),
      source: [lineText(entry, line)],
    });
  }
  return { key: parts.join('\n'), points };
}

export interface TaskFacts {
  readonly facts: Facts;
  readonly route: Route;
}

/** The facts of a task. */
export function factsOf(task: TaskEvaluation): TaskFacts {
  const making: Making = { facts: new Map() };
  putAircraft(making, task);
  putLoad(making, task);
  for (const [role, reference, named] of [
    ['weather', task.weather, task.task.weather],
    ['reserve', task.reserve, task.task.reserve],
  ] as const) {
    const state = reference ? 'known' : named ? 'not known' : 'none';
    put(making, { key: `named ${role}`, label: role, value: state, meaning: state, source: [] });
    if (!reference) continue;
    const about = role === 'reserve' ? ' of the reserve' : '';
    for (const line of reference.meaning.entry.details) putLine(making, role, about, reference.meaning.entry, line);
  }
  for (const point of pointsOf(task)) putPoint(making, point);
  const route = putItinerary(making, task);
  return { facts: making.facts, route };
}

/** A plan of these facts, with one task. */
function planOf(facts: Facts): string {
  const lines = (prefix: string): string[] =>
    [...facts.values()]
      .filter(({ key }) => key.startsWith(prefix))
      .flatMap(({ source }) => source.map((line) => `  ${line}`));
  const out: string[] = [];
  const aircraft = lines('aircraft ');
  if (aircraft.length > 0) out.push('aircraft "A"', ...aircraft);
  const task: string[] = ['task "T"'];
  const load = [facts.get('load pilot'), facts.get('load ballast')].flatMap((fact) => fact?.source ?? []);
  task.push(`  aircraft "A"${load.length > 0 ? ` with ${load.join(' and ')}` : ''}`);
  for (const role of ['weather', 'reserve']) {
    const state = facts.get(`named ${role}`)?.meaning;
    const details = lines(`${role} `);
    if (state === 'known' || details.length > 0) out.push(`${role} "R"`, ...details);
    if (state === 'not known') task.push(`  ${role} "not known"`);
    else if (state === 'known' || details.length > 0) task.push(`  ${role} "R"`);
  }
  for (const { key, meaning } of facts.values()) {
    const [role, name, what] = key.split('\n') as [string, string, string];
    if (role !== 'point' || what !== 'kind') continue;
    const position = facts.get(`point\n${name}\nposition`)?.source[0];
    out.push(`${meaning} "${name}"${position ? ` at ${position}` : ''}`);
    for (const [other, { source }] of facts) {
      const [itsRole, itsName, itsWhat] = other.split('\n');
      if (itsRole === 'point' && itsName === name && itsWhat !== 'kind' && itsWhat !== 'position')
        out.push(...source.map((line) => `  ${line}`));
    }
  }
  const place = (key: string): number => {
    const [, stop, step] = key.split('\n').map(Number) as [number, number, number];
    return stop * 10_000 + step;
  };
  const itinerary = [...facts.values()].filter(({ key }) => key.startsWith('line\n'));
  itinerary.sort((a, b) => place(a.key) - place(b.key));
  for (const { source } of itinerary) task.push(...source.map((line) => `  ${line}`));
  return `${[...out, ...task].join('\n')}\n`;
}

/** Evaluates the task that these facts make. */
export function evaluateFacts(facts: Facts): TaskEvaluation | undefined {
  const uri = 'facts:/plan.taskplan';
  const workspace = createWorkspace(['facts:/']);
  return understand(workspace, setFile(workspace, uri, planOf(facts))).tasks[0];
}
