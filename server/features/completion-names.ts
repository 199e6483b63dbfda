/** Names of the right kind with what they are; those of files that are not brought in yet bring their `use` line along. */
import { CompletionItemKind } from 'vscode-languageserver-types';
import { writtenName } from '../../grammar/names.ts';
import type { EntrySyntax } from '../../grammar/syntax.ts';
import type { Namespace, Slot } from '../../grammar/vocabulary.ts';
import { bestGlideRatio, type Position, track } from '../flight/index.ts';
import { keptFor, LastFew } from '../plan/last-few.ts';
import { type Meaning, meaningOf, type Point } from '../plan/meaning.ts';
import { SPHERE, sphereM } from '../plan/reach.ts';
import { number, type Show } from '../plan/show.ts';
import { harmless } from '../plan/text.ts';
import type { Understood } from '../plan/understand.ts';
import { type Defined, definedIn, lookUp, reaches, type SourceFile, tableOf } from '../plan/workspace.ts';
import type { Expected } from './completion-expected.ts';
import type { Draft, Making } from './completion-item.ts';
import { useEdit, usePath } from './completion-paths.ts';
import type { CompletionPlace } from './completion-place.ts';

/** As many names as a list shows, the nearest ones; with more the client asks again while one types. */
const MOST = 100;

/** More than any distance on Earth, with what is added to it. */
const RANK_M = 1e8;

const KINDS: Readonly<Record<string, CompletionItemKind>> = {
  field: CompletionItemKind.Constant,
  turnpoint: CompletionItemKind.Reference,
  aircraft: CompletionItemKind.Class,
  weather: CompletionItemKind.Event,
  reserve: CompletionItemKind.Struct,
  limits: CompletionItemKind.Interface,
};

/** Names of one kind that a file gives: the first entry of each, in the order of the text. */
interface Named {
  readonly file: SourceFile;
  readonly entries: readonly EntrySyntax[];
}

/** The entries of a kind, one a name: those in scope, then those of other files that could be brought in. */
function namesOf(
  { workspace, understood }: CompletionPlace,
  namespace: Namespace,
): { inScope: Named[]; elsewhere: Named[] } {
  const own = understood.file.uri;
  const brought = new Set(understood.scope.files);
  const others = [...workspace.files.values()]
    .filter((file) => !brought.has(file) && file.uri.endsWith('.taskplan') && tableOf(file).has(namespace))
    .filter((file) => !reaches(workspace, file.uri, own));
  const files = [...understood.scope.files, ...others].filter((file) => tableOf(file).has(namespace));
  const seen = new Set<string>();
  const take = (file: SourceFile, i: number): Named => {
    const all = tableOf(file).get(namespace)?.firsts() ?? [];
    const entries = seen.size === 0 ? all : all.filter(({ name }) => !seen.has(name?.text ?? ''));
    // The names of the last file, often the one of many thousand, hide no others.
    if (i < files.length - 1) for (const { name } of entries) seen.add(name?.text ?? '');
    return { file, entries };
  };
  const named = files.map(take);
  return {
    inScope: named.filter(({ file }) => brought.has(file)),
    elsewhere: named.filter(({ file }) => !brought.has(file)),
  };
}

/** The points of the itinerary around the caret's line: the last before it, and the start. */
interface Around {
  readonly last: Point | undefined;
  readonly start: Point | undefined;
}

/** The point of a name, as an itinerary has it. */
export function pointNamed({ scope }: Understood, name: string): Point | undefined {
  const meaning = lookUp(scope, 'point', name)[0]?.meaning;
  return meaning?.kind === 'field' || meaning?.kind === 'turnpoint' ? meaning : undefined;
}

function around({ placed, lineStart, understood }: CompletionPlace): Around {
  let last: Point | undefined;
  let start: Point | undefined;
  for (const { form, slots, span } of placed.syntax.details) {
    const node = slots['point'];
    if (!form?.itinerary || node?.kind !== 'name' || span.start >= lineStart) continue;
    const point = pointNamed(understood, node.text);
    last = point;
    if (form.id === 'start') start = point;
  }
  return { last, start };
}

/** What a named entry is, in a few words. */
function summary({ meaning }: Defined, with_: Show): string[] {
  switch (meaning.kind) {
    case 'field': {
      const runway = meaning.runways[0];
      const length = runway?.lengthM === undefined ? '' : ` ${number(runway.lengthM)} m`;
      return [
        meaning.elevationM === undefined ? '' : with_.altitude(meaning.elevationM),
        runway ? `runway ${runway.text}${length}` : '',
        meaning.frequencies[0]?.text ?? '',
      ];
    }
    case 'turnpoint':
      return [meaning.elevationM === undefined ? '' : `ground at ${with_.altitude(meaning.elevationM)}`];
    case 'aircraft':
      return [meaning.polar.kind === 'polar' ? with_.ratio(bestGlideRatio(meaning.polar.polar)) : 'no polar'];
    case 'weather': {
      const { date } = meaning;
      const two = (n: number) => String(n).padStart(2, '0');
      return [date ? `${date.year}-${two(date.month)}-${two(date.day)}` : ''];
    }
    case 'reserve':
      return [meaning.arriveM ? `${with_.height(meaning.arriveM.value, 'up')} over a field` : ''];
    default:
      return [];
  }
}

interface Away {
  readonly distanceM: number;
  readonly courseDeg: number;
}

function away(from: Position | undefined, { meaning }: Defined): Away | undefined {
  const to = meaning.kind === 'field' || meaning.kind === 'turnpoint' ? meaning.position : undefined;
  if (!from || !to) return undefined;
  const { distanceM, initialCourseDeg } = track(from, to);
  return distanceM > 0 ? { distanceM, courseDeg: initialCourseDeg } : undefined;
}

/** For a start and a finish a place to land comes first; home is where most tasks end; a turn leads somewhere else. */
function rankOf(detail: string, meaning: Meaning, { last, start }: Around): number {
  const isField = meaning.kind === 'field' ? 0 : 1;
  if (detail === 'finish') return meaning.entry === start?.entry ? 0 : 1 + isField;
  if (detail === 'start') return isField;
  return detail === 'turn' && meaning.entry === last?.entry ? 1 : 0;
}

/** What is told of a name, seen from a point of an itinerary. */
interface Told {
  readonly text: string;
  readonly label: string;
  readonly beside: string | undefined;
  readonly way: Away | undefined;
}

interface ToldFrom {
  readonly from: Point | undefined;
  readonly with: Show;
  readonly of: WeakMap<Meaning, Told>;
}

/** A list is asked for again and again from one point, while a name is typed or one line after the other is written. */
const toldFrom = new LastFew<ToldFrom>(16);

function tellingFrom(from: Point | undefined, with_: Show): (defined: Defined) => Told {
  const { of } =
    toldFrom.find((one) => one.from === from && one.with === with_) ??
    toldFrom.put({ from, with: with_, of: new WeakMap() });
  return (defined) => keptFor(of, defined.meaning, () => tell(defined, from, with_));
}

const legOf = (way: Away, with_: Show): string => `${with_.distance(way.distanceM)} ${with_.course(way.courseDeg)}`;

const aboutOf = (defined: Defined, with_: Show): string[] => summary(defined, with_).filter(Boolean);

function tell(defined: Defined, from: Point | undefined, with_: Show): Told {
  const { name } = defined.meaning;
  const way = away(from?.position, defined);
  return {
    text: writtenName(name),
    label: harmless(name),
    beside: way ? legOf(way, with_) : aboutOf(defined, with_)[0],
    way,
  };
}

/** What a name is and where it lies, seen from a point of an itinerary, in one line. */
export function nameDetail(
  defined: Defined,
  from: Point | undefined,
  with_: Show,
  way = away(from?.position, defined),
): string {
  const leg = way && `${legOf(way, with_)} from ${harmless(from?.name ?? '')}`;
  return [defined.meaning.kind, ...(leg ? [leg] : []), ...aboutOf(defined, with_)].join(', ');
}

/** Whether every letter that is typed is in the name, in order: as clients compare. */
function fits(typed: string, name: string): boolean {
  let at = 0;
  for (const letter of name.toLowerCase()) if (letter === typed[at]) at++;
  return at === typed.length;
}

/** How names come in a list, seen from the points of an itinerary. */
interface Keys {
  readonly detail: string;
  readonly points: Around;
  readonly entries: EntrySyntax[];
  /** By rank, then by the distance on the sphere, which is shorter than what a rank is worth. */
  readonly of: Float64Array;
  /** The greatest key that one of the first may have. */
  most: number;
}

/** A list is asked for at a few lines again and again, and an edit between changes few of its names. */
const keysKept = new LastFew<Keys>(16);

function keyOf(entry: EntrySyntax, detail: string, points: Around): number {
  const meaning = meaningOf(entry);
  const from = points.last?.position;
  const to = meaning.kind === 'field' || meaning.kind === 'turnpoint' ? meaning.position : undefined;
  return rankOf(detail, meaning, points) * RANK_M + (from && to ? sphereM(from, to) : 0);
}

function keysOf(all: readonly Named[], detail: string, points: Around): Keys {
  const entries = all.flatMap((one) => one.entries);
  const known = keysKept.find(
    (one) =>
      one.detail === detail &&
      one.points.last === points.last &&
      one.points.start === points.start &&
      one.entries.length === entries.length,
  );
  const of = known?.of ?? new Float64Array(entries.length);
  let isNew = !known;
  for (let i = 0; i < entries.length; i++) {
    const entry = entries[i] as EntrySyntax;
    if (known && known.entries[i] === entry) continue;
    const key = keyOf(entry, detail, points);
    isNew ||= of[i] !== key;
    of[i] = key;
    if (known) known.entries[i] = entry;
  }
  if (known && !isNew) return known;
  const last = of.toSorted()[MOST - 1] as number;
  const [rank, farM] = [Math.floor(last / RANK_M), last % RANK_M];
  const most = rank * RANK_M + farM * SPHERE * SPHERE + 1;
  if (!known) return keysKept.put({ detail, points, entries, of, most });
  known.most = most;
  return known;
}

/**
 * Those that may be among the first of a list, in the order of the text: of thousands the true distance is asked for few.
 */
function nearest(all: readonly Named[], detail: string, points: Around): Defined[] {
  const count = all.reduce((sum, { entries }) => sum + entries.length, 0);
  const keys = count > MOST ? keysOf(all, detail, points) : undefined;
  const found: Defined[] = [];
  let at = 0;
  for (const { file, entries } of all)
    for (const entry of entries)
      if (!keys || (keys.of[at++] as number) <= keys.most) found.push(definedIn(file, entry));
  return found;
}

/** The names that a slot may hold. `isCut` when there are more than are given. */
export function nameDrafts(
  place: CompletionPlace,
  { form, inside, goesOn }: Expected,
  slot: Slot & { readonly refers: Namespace },
  with_: Show,
): { drafts: Draft[]; isCut: boolean } {
  const first = inside[0];
  const from = first?.startOffset ?? place.runStart;
  const written = place.lineText.slice(from, place.runStart) + place.run;
  const inQuotes = written.startsWith('"');
  const typed = written.replace(/"/g, '').toLowerCase();
  const { inScope, elsewhere } = namesOf(place, slot.refers);
  const points = slot.refers === 'point' && form.itinerary ? around(place) : { last: undefined, start: undefined };
  const total = [...inScope, ...elsewhere].reduce((sum, { entries }) => sum + entries.length, 0);
  const fitting = (all: Named[]): Named[] => {
    if (typed === '' || (!first && total <= MOST)) return all;
    const isFitting = ({ name }: EntrySyntax): boolean => {
      const text = name?.text ?? '';
      return (!first || text.toLowerCase().startsWith(typed)) && (total <= MOST || fits(typed, text));
    };
    return all.map(({ file, entries }) => ({ file, entries: entries.filter(isFitting) }));
  };
  const telling = tellingFrom(points.last, with_);
  const sorted = (all: Named[]) =>
    nearest(all, form.id, points)
      .map((defined) => ({
        defined,
        told: telling(defined),
        rank: rankOf(form.id, defined.meaning, points),
      }))
      .sort((a, b) => a.rank - b.rank || (a.told.way?.distanceM ?? 0) - (b.told.way?.distanceM ?? 0));
  const [here, there] = [fitting(inScope), fitting(elsewhere)];
  const all = [...sorted(here), ...sorted(there)];
  const plain = {
    kind: 'name',
    namespace: slot.refers,
    ...(points.last ? { from: points.last.name } : {}),
  } as const;
  const isHere = new Set(inScope.map(({ file }) => file));
  const drafts: Draft[] = [];
  for (const { defined, told } of all.slice(0, MOST)) {
    const { meaning, file } = defined;
    const path = isHere.has(file) ? undefined : usePath(place, file.uri);
    if (!isHere.has(file) && path === undefined) continue;
    const { text, label, beside } = told;
    const detail = () => nameDetail(defined, points.last, with_, told.way);
    const of = file === place.understood.file ? plain : { ...plain, in: file.uri };
    const draft: Making<Draft> = {
      label,
      text,
      filter: inQuotes ? `"${meaning.name}"` : meaning.name,
      kind: KINDS[meaning.kind] ?? CompletionItemKind.Value,
      far: path === undefined ? meaning.kind : harmless(path),
      goesOn,
      data: label === meaning.name ? of : { ...of, name: meaning.name },
    };
    if (beside !== undefined) draft.beside = beside;
    if (first) draft.from = from;
    if (path === undefined) draft.detailAgain = detail;
    else {
      draft.detail = `${detail()} (brings in ${harmless(path)})`;
      draft.edits = [useEdit(place, path)];
    }
    drafts.push(draft);
  }
  return { drafts, isCut: [...here, ...there].reduce((sum, { entries }) => sum + entries.length, 0) > MOST };
}

/** For a list of names in a snippet: those in scope, as written. */
export function writtenNames(place: CompletionPlace, namespace: Namespace, only?: string): string[] {
  return namesOf(place, namespace)
    .inScope.flatMap(({ entries }) => entries)
    .map(meaningOf)
    .filter(({ kind }) => !only || kind === only)
    .slice(0, 20)
    .map(({ name }) => writtenName(name));
}
