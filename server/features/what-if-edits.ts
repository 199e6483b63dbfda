/**
 * The edits that write a what-if into its plan: as few as there are changes, in the reader's units. What other tasks
 * share is not touched unless that is asked for: the plan then gets an entry of its own, a copy with the changes, and
 * the task names it.
 */
import { parseFile } from '../../grammar/file.ts';
import { formatEntryText } from '../../grammar/format.ts';
import type { EntrySyntax, LineSyntax, QuantityNode, Span } from '../../grammar/syntax.ts';
import { fromSi, type Unit, unit } from '../../grammar/units.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import type { LegSpeed } from '../flight/index.ts';
import type { Meaning, Reserve, Weather } from '../plan/meaning.ts';
import { nameUsesIn } from '../plan/references.ts';
import { courseDigits } from '../plan/show.ts';
import type { Reference, TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { WhatIfChanges } from '../plan/what-if.ts';
import { fileName, lookUp, namesIn, type SourceFile, scopeOf, type Workspace } from '../plan/workspace.ts';
import { detailLine, type Edit, insertBelow, lineEndOf, replaceIn, rowAt, type Spot, spotOf } from './fixes/edit.ts';
import { nameText, plain } from './fixes/writing.ts';

/** Where a change of what other tasks share goes: into a copy of the plan's own, or where it stands. */
export type SharedChoice = 'copy' | 'in place';

/** A change as it is written, for the reader. */
export interface ChangeWritten {
  /** What it is about: `wind at 3000 ft MSL`, `start height`. */
  readonly label: string;
  /** As the plan has it; null where it writes none. */
  readonly before: string | null;
  readonly after: string;
}

/** An entry that a change is in and that other tasks name as well. */
export interface SharedEntry {
  readonly kind: 'weather' | 'reserve';
  readonly name: string;
  /** The file's name. */
  readonly file: string;
  /** Other tasks (and limits) that name it, at most a few of them, and how many there are in all. */
  readonly users: readonly string[];
  readonly count: number;
  /** What the plan's own copy is called. */
  readonly copy: string;
}

export interface WhatIfEdits {
  readonly edits: readonly Edit[];
  readonly changes: readonly ChangeWritten[];
  /** Why a change could not be made, a sentence each. */
  readonly refused: readonly string[];
  readonly shared: readonly SharedEntry[];
  /** Copies that the edits make, by their name: what they are copies of. */
  readonly copies: ReadonlyMap<string, string>;
}

/** A piece of an entry's text that becomes another. */
interface Piece {
  readonly span: Span;
  readonly text: string;
}

/** An entry changed: pieces of its text, and lines that it gets besides. */
interface EntryChange {
  readonly pieces: Piece[];
  /** Whole details: keyword, and what it says. */
  readonly more: (readonly [string, string])[];
}

/** Numbers as a plan has them are no closer than this to count as the same. */
const SAME = 1e-6;
/** Other tasks that are named to the reader. */
const MOST_NAMED = 5;

/** Decimals that a reader can set and the eye can take in. */
function decimalsOf({ text }: Unit): number {
  if (text === 'm/s') return 2;
  return text === 'm' || text === 'ft' || text === 'ft/min' ? 0 : 1;
}

/** A quantity as it is written, and shown. */
export function quantity(si: number, of: Unit, decimals = decimalsOf(of)): string {
  const text = plain(fromSi(si, of), decimals);
  return `${text === '-0' ? '0' : text} ${of.text}`;
}

/** The speed of the wind with the changes, in SI; `index` counts the wind lines. */
function windSpeed(changes: WhatIfChanges, index: number, base: number): number {
  const own = changes.winds?.find((wind) => wind.index === index)?.speedMps ?? base;
  return Math.max(0, own * (changes.windFactor ?? 1) + (changes.windMoreMps ?? 0));
}

const textIn = (entry: EntrySyntax, span: Span): string =>
  entry.text.slice(span.start, span.end).replace(/\s+/g, ' ').trim();

/** Gathers the edits of a what-if, change by change. */
class Writer {
  readonly edits: Edit[] = [];
  readonly changes: ChangeWritten[] = [];
  readonly refused: string[] = [];
  readonly shared: SharedEntry[] = [];
  readonly copies = new Map<string, string>();
  private readonly heads: string[] = [];
  private readonly workspace: Workspace;
  private readonly understood: Understood;
  private readonly task: TaskEvaluation;
  private readonly spot: Spot;
  private readonly choice: SharedChoice;

  constructor(workspace: Workspace, understood: Understood, task: TaskEvaluation, spot: Spot, choice: SharedChoice) {
    this.workspace = workspace;
    this.understood = understood;
    this.task = task;
    this.spot = spot;
    this.choice = choice;
  }

  private changed(label: string, before: string | null, after: string): void {
    this.changes.push({ label, before, after });
  }

  wind(changes: WhatIfChanges): void {
    const { winds = [], windFactor, windMoreMps } = changes;
    if (winds.length === 0 && windFactor === undefined && windMoreMps === undefined) return;
    const { weather, task } = this.task;
    if (!weather && task.weather) {
      this.refused.push('The wind cannot be changed: the weather of the task is not known.');
      return;
    }
    const lines = weather?.meaning.winds ?? [];
    const beyond = winds.find(({ index }) => index >= Math.max(lines.length, 1));
    if (beyond) this.refused.push(`There is no wind line ${beyond.index + 1} in the weather.`);
    const change: EntryChange = { pieces: [], more: [] };
    const { speed: speedUnit } = this.understood.units;
    for (const [index, { line, altitude, direction, speedMps }] of lines.entries()) {
      const entry = (weather as Reference<Weather>).meaning.entry;
      const nodes = line.slots as { direction?: QuantityNode; speed?: QuantityNode; altitude?: { span: Span } };
      if (!nodes.direction || !nodes.speed) continue;
      const label =
        altitude === 'surface' ? 'surface wind' : `wind at ${textIn(entry, nodes.altitude?.span ?? line.span)}`;
      const before = [textIn(entry, nodes.direction.span), textIn(entry, nodes.speed.span)];
      const after = [...before] as [string, string];
      const own = winds.find((wind) => wind.index === index);
      if (own?.fromDeg !== undefined && turned(own.fromDeg, direction.degrees) > SAME) {
        after[0] = `${courseDigits(own.fromDeg)}${direction.magnetic ? '°M' : '°'}`;
        change.pieces.push({ span: nodes.direction.span, text: after[0] });
      }
      const wanted = windSpeed(changes, index, speedMps);
      if (Math.abs(wanted - speedMps) > SAME) {
        after[1] = quantity(wanted, speedUnit);
        change.pieces.push({ span: nodes.speed.span, text: after[1] });
      }
      if (before.join() !== after.join()) this.changed(label, before.join(' at '), after.join(' at '));
    }
    if (lines.length === 0) {
      const own = winds.find(({ index }) => index === 0);
      const speedMps = windSpeed(changes, 0, 0);
      if (speedMps <= SAME) return;
      const says = `${courseDigits(own?.fromDeg ?? 0)}° at ${quantity(speedMps, speedUnit)}`;
      change.more.push(['wind', `surface from ${says}`]);
      this.changed('surface wind', null, says);
    }
    if (weather) this.entry('weather', weather, change);
    else if (change.more.length > 0) this.newWeather(change);
  }

  share(changes: WhatIfChanges): void {
    const { share } = changes;
    if (share === undefined) return;
    const { reserve } = this.task;
    if (!reserve || this.task.share === undefined) {
      this.refused.push('The performance share cannot be changed: the reserve of the task is not known.');
      return;
    }
    if (Math.abs(share - this.task.share) <= SAME) return;
    const { entry, performance } = reserve.meaning;
    const text = quantity(share, unit('%'));
    this.changed('performance', performance ? textIn(entry, performance.span) : null, text);
    this.entry(
      'reserve',
      reserve,
      performance
        ? { pieces: [{ span: performance.span, text }], more: [] }
        : { pieces: [], more: [['performance', text]] },
    );
  }

  start(changes: WhatIfChanges): void {
    const { startAltitudeM } = changes;
    if (startAltitudeM === undefined) return;
    const { start } = this.task;
    const node = start?.line.slots['altitude'];
    if (!start || start.altitudeM === undefined || !node) {
      this.refused.push('The start height cannot be changed: the line `start` cannot be read.');
      return;
    }
    if (Math.abs(startAltitudeM - start.altitudeM) <= SAME) return;
    const elevationM = start.point?.meaning.elevationM;
    const overGround = node.kind === 'quantity' && node.datum?.datum === 'AGL' && elevationM !== undefined;
    const heightM = overGround ? startAltitudeM - elevationM : startAltitudeM;
    if (overGround && heightM < 0) {
      this.refused.push('The start height cannot be changed: it would lie below the ground of the start.');
      return;
    }
    const text = `${quantity(heightM, this.understood.units.altitude)} ${overGround ? 'AGL' : 'MSL'}`;
    const before = textIn(this.task.entry, node.span);
    if (before === text) return;
    this.changed('start height', before, text);
    this.edits.push(replaceIn(this.spot, node.span, text));
  }

  speeds(changes: WhatIfChanges): void {
    const { speeds = [] } = changes;
    if (speeds.length === 0) return;
    const all = speeds.findLast(({ leg }) => leg === undefined);
    for (const { leg } of speeds)
      if (leg !== undefined && leg > this.task.legs.length) this.refused.push(`There is no leg ${leg}.`);
    for (const leg of this.task.legs) {
      const change = speeds.findLast((one) => one.leg === leg.number) ?? all;
      const point = leg.line.slots['point'];
      if (!change) continue;
      const item = this.task.task.itinerary.find(({ line }) => line === leg.line);
      const written = item && 'speed' in item ? item.speed : undefined;
      if (!point || !written) {
        this.refused.push(`The speed of leg ${leg.number} cannot be changed: its line cannot be read.`);
        continue;
      }
      // Where the glider soars, a line without a speed means another than one that says best glide.
      const says = written.kind !== 'bestGlide' || written.span !== undefined;
      if (sameSpeed(written, change.speed) && (says || !leg.soar)) continue;
      const before = textIn(this.task.entry, { start: point.span.end, end: leg.line.span.end }).replace(/^at /, '');
      const text = this.speedText(change.speed);
      this.changed(`speed of leg ${leg.number} to ${leg.toName}`, before === '' ? null : before, text);
      this.edits.push(replaceIn(this.spot, { start: point.span.end, end: leg.line.span.end }, ` at ${text}`));
    }
  }

  private speedText(speed: LegSpeed): string {
    const { units } = this.understood;
    if (speed.kind === 'bestGlide') return 'best glide';
    if (speed.kind === 'indicated') return quantity(speed.indicatedMps, units.speed);
    return `maccready ${quantity(speed.climbMps, units.climb)}`;
  }

  load(changes: WhatIfChanges): void {
    const wanted = { pilot: changes.pilotKg, ballast: changes.ballastKg };
    if (wanted.pilot === undefined && wanted.ballast === undefined) return;
    const aircraft = this.task.task.aircraft;
    const name = aircraft?.line.slots['aircraft'];
    if (!aircraft || !name || aircraft.line.problems.length > 0) {
      this.refused.push('The masses cannot be changed: the line `aircraft` of the task cannot be read.');
      return;
    }
    const { mass } = this.understood.units;
    const { line, pilotKg, ballastKg } = aircraft;
    const known = { pilot: pilotKg, ballast: ballastKg };
    const texts: Record<'pilot' | 'ballast', string | null> = { pilot: null, ballast: null };
    let differs = false;
    for (const what of ['pilot', 'ballast'] as const) {
      const node = line.slots[what];
      const before = node ? textIn(this.task.entry, node.span) : null;
      const kg = wanted[what];
      const was = known[what];
      const is = typeof was === 'object' ? was.value : what === 'ballast' && was === undefined ? 0 : undefined;
      texts[what] = before;
      if (kg === undefined || (is !== undefined && Math.abs(kg - is) <= SAME)) continue;
      const text = quantity(kg, mass);
      texts[what] = what === 'ballast' && kg <= SAME ? null : text;
      differs = true;
      this.changed(what, before, text);
    }
    if (!differs) return;
    const order = (line.slots['ballast']?.span.start ?? Infinity) < (line.slots['pilot']?.span.start ?? 0);
    const parts = (order ? (['ballast', 'pilot'] as const) : (['pilot', 'ballast'] as const)).flatMap((what) =>
      texts[what] === null ? [] : [`${what} ${texts[what]}`],
    );
    const text = parts.length === 0 ? '' : ` with ${parts.join(' and ')}`;
    this.edits.push(replaceIn(this.spot, { start: name.span.end, end: line.span.end }, text));
  }

  /** Changes an entry that the task names: where it stands, or in a copy where others name it too. */
  private entry(kind: 'weather' | 'reserve', reference: Reference<Weather | Reserve>, change: EntryChange): void {
    if (change.pieces.length + change.more.length === 0) return;
    const { meaning, at } = reference;
    const others = usersOf(this.workspace, kind, meaning).filter(({ entry }) => entry !== this.task.entry);
    const elsewhere = at.uri !== this.task.uri;
    // What stands in another file is there for others, named by a task already or not.
    const isShared = elsewhere || others.length > 0;
    const copy = this.freeName(kind, `${meaning.name} for ${this.task.task.name}`);
    if (isShared) {
      this.shared.push({
        kind,
        name: meaning.name,
        file: fileName(at.uri),
        users: others.slice(0, MOST_NAMED).map(({ name }) => name),
        count: others.length,
        copy,
      });
    }
    const spot = spotOf(this.workspace, at.uri, meaning.entry);
    if (!isShared || this.choice === 'in place') {
      if (!spot) return;
      this.edits.push(...change.pieces.map(({ span, text }) => replaceIn(spot, span, text)));
      const last = meaning.entry.details.at(-1);
      const rows = change.more.map(([keyword, says]) => detailLine(meaning.entry, keyword, says));
      if (rows.length > 0) this.edits.push(insertBelow(spot, last, rows));
      return;
    }
    const text = copyOf(meaning.entry, change, copy, lineEndOf(this.spot.file.syntax.text));
    if (text === undefined) {
      this.refused.push(`No copy of the ${kind} can be made: its first line cannot be read.`);
      return;
    }
    this.copies.set(copy, meaning.name);
    this.heads.push(text);
    this.edits.push(replaceIn(this.spot, reference.node.span, nameText(copy) ?? copy));
  }

  private newWeather(change: EntryChange): void {
    const name = this.freeName('weather', `Weather for ${this.task.task.name}`);
    const eol = lineEndOf(this.spot.file.syntax.text);
    const rows = change.more.map(([keyword, says]) => `  ${keyword} ${says}`);
    this.heads.push(standard(`weather ${nameText(name)}${eol}${rows.join(eol)}`, eol));
    const { entry, task } = this.task;
    const below = task.aircraft?.line;
    this.edits.push(insertBelow(this.spot, below, [detailLine(entry, 'weather', nameText(name) ?? name)]));
  }

  private freeName(namespace: Namespace, wish: string): string {
    const taken = new Set(namesIn(this.understood.scope, namespace));
    let name = wish;
    for (let n = 2; taken.has(name); n++) name = `${wish} ${n}`;
    return name;
  }

  /** Puts the new entries above the task, and above the remark that stands over it. */
  finish(): void {
    if (this.heads.length === 0) return;
    const { file, placed } = this.spot;
    const { text } = file.syntax;
    const eol = lineEndOf(text);
    let { start } = rowAt(text, placed.offset + (placed.syntax.head?.span.start ?? 0));
    while (start > 0) {
      const above = rowAt(text, start - (text.slice(0, start).endsWith('\r\n') ? 2 : 1));
      if (above.start >= start || !text.slice(above.start, above.end).startsWith('#')) break;
      start = above.start;
    }
    const joined = this.heads.map((head) => `${head}${eol}${eol}`).join('');
    this.edits.push({ uri: file.uri, start, end: start, text: joined });
  }
}

/** How far two directions lie apart, degrees. */
function turned(one: number, other: number): number {
  const apart = Math.abs(one - other) % 360;
  return Math.min(apart, 360 - apart);
}

function sameSpeed(one: LegSpeed, other: LegSpeed): boolean {
  if (one.kind === 'indicated' && other.kind === 'indicated')
    return Math.abs(one.indicatedMps - other.indicatedMps) <= SAME;
  if (one.kind === 'maccready' && other.kind === 'maccready') return Math.abs(one.climbMps - other.climbMps) <= SAME;
  return one.kind === 'bestGlide' && other.kind === 'bestGlide';
}

/** Text of an entry in the standard layout, with these line ends and none at its end. */
function standard(text: string, eol: string): string {
  const entry = parseFile(text).entries[0]?.syntax;
  return ((entry && formatEntryText(entry)) ?? text).trimEnd().replace(/\r\n|\n|\r/g, eol);
}

/** A copy of an entry, changed and under another name; undefined for one whose name cannot be read. */
function copyOf(entry: EntrySyntax, { pieces, more }: EntryChange, name: string, eol: string): string | undefined {
  const { head } = entry;
  const named = nameText(name);
  if (!entry.name || !head || named === undefined) return undefined;
  const last: LineSyntax = entry.details.at(-1) ?? head;
  const { end } = rowAt(entry.text, last.span.start);
  let text = entry.text.slice(0, end);
  // A remark on a reserve speaks of the figures that it had.
  const notes = entry.details.filter(({ form }) => entry.form?.keyword === 'reserve' && form?.id === 'note');
  const without = notes.map((line) => {
    const row = rowAt(text, line.span.start);
    return { span: { start: row.start, end: row.next }, text: '' };
  });
  const all = [...pieces, ...without, { span: entry.name.span, text: named }];
  for (const { span, text: piece } of all.toSorted((a, b) => b.span.start - a.span.start))
    text = text.slice(0, span.start) + piece + text.slice(span.end);
  text = text.slice(head.span.start);
  const rows = more.map(([keyword, says]) => `${eol}  ${keyword} ${says}`).join('');
  return standard(text.trimEnd() + rows, eol);
}

/** A task, or limits, that mean an entry by its name. */
interface User {
  readonly entry: EntrySyntax;
  readonly name: string;
}

interface KeptUsers {
  readonly files: readonly SourceFile[];
  readonly users: Map<EntrySyntax, readonly User[]>;
}

const usersKept = new WeakMap<Workspace, KeptUsers>();

/** Those that mean an entry by its name, in the whole workspace; kept for as long as no file changes. */
function usersOf(workspace: Workspace, namespace: Namespace, meaning: Meaning): readonly User[] {
  const files = [...workspace.files.values()];
  let kept = usersKept.get(workspace);
  if (!kept || kept.files.length !== files.length || files.some((file, i) => file !== kept?.files[i])) {
    kept = { files, users: new Map() };
    usersKept.set(workspace, kept);
  }
  let users = kept.users.get(meaning.entry);
  if (!users) {
    users = files.flatMap((file) => usersIn(file, workspace, namespace, meaning));
    kept.users.set(meaning.entry, users);
  }
  return users;
}

function usersIn(file: SourceFile, workspace: Workspace, namespace: Namespace, meaning: Meaning): User[] {
  const users = file.syntax.trees.flatMap((syntax): User[] => {
    const keyword = syntax.form?.keyword;
    if (keyword !== 'task' && keyword !== 'limits') return [];
    if (!nameUsesIn(syntax).some((use) => use.namespace === namespace && use.node.text === meaning.name)) return [];
    const name = `${keyword === 'limits' ? 'the limits ' : ''}${syntax.name?.text ?? ''}`.trim();
    return [{ entry: syntax, name }];
  });
  if (users.length === 0) return [];
  const found = lookUp(scopeOf(workspace, file), namespace, meaning.name)[0];
  return found?.meaning.entry === meaning.entry ? users : [];
}

/**
 * The edits that change a task so. `choice` is for weather and reserves that other tasks name as well, or that stand in
 * another file. Edits do not overlap.
 */
export function whatIfEdits(
  workspace: Workspace,
  understood: Understood,
  task: TaskEvaluation,
  changes: WhatIfChanges,
  choice: SharedChoice,
): WhatIfEdits {
  const spot = spotOf(workspace, task.uri, task.entry);
  if (!spot) return { edits: [], changes: [], refused: [], shared: [], copies: new Map() };
  const writer = new Writer(workspace, understood, task, spot, choice);
  writer.wind(changes);
  writer.start(changes);
  writer.speeds(changes);
  writer.share(changes);
  writer.load(changes);
  writer.finish();
  const { edits, changes: written, refused, shared, copies } = writer;
  return { edits, changes: written, refused, shared, copies };
}
