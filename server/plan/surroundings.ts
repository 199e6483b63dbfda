/**
 * What a task is flown among, named or not: the fields, obstacles, airspaces and elevation tiles of all the files that
 * it sees. Kept with the file for as long as what it holds is the same, so that what rests on it is kept as well.
 */
import { type Change, indexOfEntry } from '../../grammar/file.ts';
import { picking } from '../../grammar/pick.ts';
import type { EntrySyntax } from '../../grammar/syntax.ts';
import { type PlaceIndex, type Position, placeIndex, type Tile, tileName } from '../flight/index.ts';
import { LastFew } from './last-few.ts';
import { type Airspace, type Field, type Meaning, meaningOf, type Obstacle, type Turnpoint } from './meaning.ts';
import type { Place } from './place.ts';
import { same } from './same.ts';
import { resolvePath, type Scope, type SourceFile, type Unreadable, type Workspace } from './workspace.ts';

/** An entry of some file in view. */
export interface Seen<M extends Meaning> {
  readonly meaning: M;
  readonly at: Place;
}

/** Entries with a position, and which of them lie near a place. */
export interface SeenGroup<M extends Meaning> {
  readonly all: readonly (Seen<M> & { readonly position: Position })[];
  /** Made when it is first asked. */
  index(): PlaceIndex;
}

/** What one file holds. */
interface Own {
  readonly entries: readonly EntrySyntax[];
  readonly fields: SeenGroup<Field>;
  /** Fields of which the position or the height asked is not known. */
  readonly unreadFields: readonly Seen<Field>[];
  readonly turnpoints: SeenGroup<Turnpoint>;
  readonly obstacles: SeenGroup<Obstacle>;
  readonly airspaces: readonly Seen<Airspace>[];
  /** Its `terrain` entries. */
  readonly written: readonly Seen<Extract<Meaning, { kind: 'terrain' }>>[];
  /** The URIs of folders of elevation tiles. */
  readonly terrain: readonly { readonly folder: string; readonly at: Place }[];
}

type Placed = SeenGroup<Field | Turnpoint | Obstacle>['all'][number];

/** Something with a place that took the place of another; undefined where it only came, or only went. */
export interface SeenChange {
  readonly before: Placed | undefined;
  readonly after: Placed | undefined;
}

/** How surroundings came from those before. Those that came back tell how they came the first time. */
export interface SurroundingsChange {
  /** The `self` of those before. */
  readonly before: object;
  readonly seen: readonly SeenChange[];
}

export interface Surroundings {
  readonly self: object;
  /** Undefined where more changed than a few things that have a place. */
  readonly change: SurroundingsChange | undefined;
  readonly fields: readonly SeenGroup<Field>[];
  readonly unreadFields: readonly Seen<Field>[];
  readonly turnpoints: readonly SeenGroup<Turnpoint>[];
  readonly obstacles: readonly SeenGroup<Obstacle>[];
  readonly airspaces: readonly Seen<Airspace>[];
  readonly terrain: Terrain | undefined;
}

/** The folders of elevation tiles in view, the nearest first, and the tiles that are known. */
export interface Terrain {
  readonly at: Place;
  readonly folders: readonly string[];
  readonly tiles: ReadonlyMap<string, Tile | Unreadable>;
}

export const NO_SURROUNDINGS: Surroundings = {
  self: {},
  change: undefined,
  fields: [],
  unreadFields: [],
  turnpoints: [],
  obstacles: [],
  airspaces: [],
  terrain: undefined,
};

/** Details of a field whose loss leaves the height that it asks as it is. */
const HARMLESS: ReadonlySet<string> = new Set(['note', 'runway', 'frequency']);

/** Whether all that a glide to a field needs could be read. */
function canLand({ position, elevationM, faulty }: Field): boolean {
  return (
    position !== undefined &&
    elevationM !== undefined &&
    !faulty.some(({ detail }) => detail !== undefined && !HARMLESS.has(detail))
  );
}

function groupOf<M extends Field | Turnpoint | Obstacle>(
  seen: readonly Seen<M>[],
  before: SeenGroup<M> | undefined,
): SeenGroup<M> {
  // The same things: the same group, so that what rests on it alone is kept as well.
  if (before && seen === before.all) return before;
  const all: (Seen<M> & { readonly position: Position })[] = [];
  for (const one of seen) {
    const { position } = one.meaning;
    if ('position' in one) all.push(one as (typeof all)[number]);
    else if (position) all.push({ ...one, position });
  }
  const isAt = ({ position }: (typeof all)[number], other: Position | undefined) =>
    position.latDeg === other?.latDeg && position.lonDeg === other.lonDeg;
  let index: PlaceIndex | undefined;
  return {
    all,
    index: () => {
      index ??=
        before && before.all.length === all.length && all.every((one, i) => isAt(one, before.all[i]?.position))
          ? before.index()
          : placeIndex(all.map(({ position }) => position));
      return index;
    },
  };
}

const KINDS: ReadonlySet<string> = new Set(['field', 'turnpoint', 'obstacle', 'airspace', 'terrain']);

type Changed = Pick<Change, 'removed' | 'added'>;

/** The same change without the entries around it that were read again and stayed. */
function without({ removed, added }: Changed): Changed {
  const [gone, come] = [new Set(removed), new Set(added)];
  const stay = removed.filter((entry) => come.has(entry));
  // Those that changed places do not stay.
  if (
    !same(
      stay,
      added.filter((entry) => gone.has(entry)),
    )
  )
    return { removed, added };
  return { removed: removed.filter((entry) => !come.has(entry)), added: added.filter((entry) => !gone.has(entry)) };
}

/** What a file holds; `before` and what changed since make it faster. */
function ownOf(
  file: SourceFile,
  roots: readonly string[],
  entries: readonly EntrySyntax[],
  before: Own | undefined,
  changed: Changed | undefined,
): Own {
  const seen = <M extends Meaning>(meaning: M): Seen<M> => {
    const { entry } = meaning;
    return { meaning, at: { uri: file.uri, entry, span: entry.name?.span ?? entry.head?.span ?? entry.span } };
  };
  /** Everything of one kind, in order; of the list before with what changed, where that is known. */
  const of = <K extends Meaning['kind']>(
    kind: K,
    known: readonly Seen<Extract<Meaning, { kind: K }>>[] | undefined,
    takes: (meaning: Extract<Meaning, { kind: K }>) => boolean = () => true,
  ): readonly Seen<Extract<Meaning, { kind: K }>>[] => {
    const isOf = (entry: EntrySyntax) => entry.form?.keyword === kind;
    const made = (from: readonly EntrySyntax[]) =>
      from.flatMap((entry) => {
        if (!isOf(entry)) return [];
        const meaning = meaningOf(entry) as Extract<Meaning, { kind: K }>;
        return takes(meaning) ? [seen(meaning)] : [];
      });
    if (!known || !changed) return made(entries);
    const { removed, added } = changed;
    if (!removed.some(isOf) && !added.some(isOf)) return known;
    const list = known.filter(({ at: { entry } }) => !removed.includes(entry));
    const place = (entry: EntrySyntax) => indexOfEntry(file.syntax, entry);
    for (const one of made(added)) {
      const own = place(one.at.entry);
      let low = 0;
      let high = list.length;
      while (low < high) {
        const middle = (low + high) >> 1;
        if (place((list[middle] as Seen<Meaning>).at.entry) < own) low = middle + 1;
        else high = middle;
      }
      list.splice(low, 0, one);
    }
    return list;
  };
  const written = of('terrain', before?.written);
  return {
    entries,
    written,
    fields: groupOf(of('field', before?.fields.all, canLand), before?.fields),
    unreadFields: of('field', before?.unreadFields, (field) => !canLand(field)),
    turnpoints: groupOf(of('turnpoint', before?.turnpoints.all), before?.turnpoints),
    obstacles: groupOf(of('obstacle', before?.obstacles.all), before?.obstacles),
    airspaces: of('airspace', before?.airspaces),
    terrain:
      before && written === before.written
        ? before.terrain
        : written.flatMap(({ meaning, at }) => {
            const resolved = meaning.path && resolvePath(file.uri, meaning.path.value, roots);
            return resolved && 'uri' in resolved ? [{ folder: resolved.uri.replace(/\/+$/, ''), at }] : [];
          }),
  };
}

/** More changes than these are not told one by one. */
const MOST_CHANGES = 16;

/** What differs of two states of a file; undefined where that is more than a few things that have a place. */
function changeOf(before: Own, own: Own): readonly SeenChange[] | undefined {
  // Of two files, too, these are never the same. A field that cannot be counted is told where no other is in reach, and
  // nowhere else.
  if (before.airspaces !== own.airspaces || before.terrain !== own.terrain) return undefined;
  const seen: SeenChange[] = [];
  for (const kind of ['fields', 'turnpoints', 'obstacles'] as const) {
    if (before[kind] === own[kind]) continue;
    const then: readonly Placed[] = before[kind].all;
    const now: readonly Placed[] = own[kind].all;
    const same = (one: number, other: number) => then[one]?.meaning === now[other]?.meaning;
    const least = Math.min(then.length, now.length);
    let start = 0;
    while (start < least && same(start, start)) start++;
    let end = 0;
    while (end < least - start && same(then.length - 1 - end, now.length - 1 - end)) end++;
    const rows = Math.max(then.length, now.length) - start - end;
    if (rows > MOST_CHANGES) return undefined;
    for (let i = start; i < start + rows; i++)
      seen.push({
        before: i < then.length - end ? then[i] : undefined,
        after: i < now.length - end ? now[i] : undefined,
      });
  }
  return seen;
}

interface Made {
  readonly owns: readonly Own[];
  readonly tiles: ReadonlyMap<string, Tile | Unreadable>;
  readonly made: Surroundings;
}

interface OwnKept {
  readonly file: SourceFile;
  readonly roots: readonly string[];
  readonly owns: LastFew<Own>;
}

interface Kept {
  /** Made last, for whichever file: many plans are flown among the same. */
  last: Made | undefined;
  /** By URI, of files that hold something that counts. */
  readonly own: Map<string, OwnKept>;
  readonly all: Map<string, LastFew<Made>>;
}

const kept = new WeakMap<Workspace, Kept>();

const counts = ({ form }: EntrySyntax): boolean => form !== undefined && KINDS.has(form.keyword);
const entriesThatCount = picking(counts);

/** What a file holds; undefined where that is nothing, as in most of thousands of plans. */
function ownKept(known: Kept, workspace: Workspace, file: SourceFile): Own | undefined {
  const { roots } = workspace;
  const entries = entriesThatCount(file.syntax);
  if (entries.length === 0) {
    known.own.delete(file.uri);
    return undefined;
  }
  const last = known.own.get(file.uri);
  const before = last?.roots === roots ? last : undefined;
  const owns = before?.owns ?? new LastFew<Own>();
  const now = owns.last;
  if (now && before?.file === file) return now;
  known.own.set(file.uri, { file, roots, owns });
  const own = owns.find((one) => one.entries === entries || same(one.entries, entries));
  if (own) return own;
  const { change } = file.syntax;
  const since = change && change.before === before?.file.syntax.self ? without(change) : undefined;
  return owns.put(ownOf(file, roots, entries, now, since));
}

/** What the tasks of the first file of a scope are flown among. */
export function surroundingsOf(workspace: Workspace, scope: Scope): Surroundings {
  let known = kept.get(workspace);
  if (!known) {
    known = { last: undefined, own: new Map(), all: new Map() };
    kept.set(workspace, known);
  }
  const [first] = scope.files;
  if (!first) return NO_SURROUNDINGS;
  const owns = scope.files.flatMap((file) => ownKept(known, workspace, file) ?? []);
  const { tiles } = workspace;
  const few = known.all.get(first.uri) ?? new LastFew<Made>();
  known.all.set(first.uri, few);
  const before = few.last;
  const holds = (one: Made) => same(one.owns, owns) && (one.tiles === tiles || one.made.terrain === undefined);
  const again = few.find(holds);
  if (again) return again.made;
  const { last } = known;
  // Those of another plan, if they came from what this one was flown among before.
  if (last && holds(last) && (!before || last.made.change?.before === before.made.self)) return few.put(last).made;
  /** The same list while it holds the same, so that what rests on it alone is kept with it. */
  const listOf = <T>(list: readonly T[], of: (made: Surroundings) => readonly T[]) => {
    const alike = [before, last].find((one) => one && same(of(one.made), list));
    return alike ? of(alike.made) : list;
  };
  const fields = owns.map((own) => own.fields).filter(({ all }) => all.length > 0);
  const unreadFields = owns.flatMap((own) => own.unreadFields);
  const turnpoints = owns.map((own) => own.turnpoints).filter(({ all }) => all.length > 0);
  const obstacles = owns.map((own) => own.obstacles).filter(({ all }) => all.length > 0);
  const airspaces = owns.flatMap((own) => own.airspaces);
  const folders = owns.flatMap((own) => own.terrain);
  const [nearest] = folders;
  const sameGround =
    before &&
    before.tiles === tiles &&
    same(
      before.owns.flatMap((own) => own.terrain),
      folders,
    );
  const made: Surroundings = {
    self: {},
    change: before && changeBetween(before, owns, tiles),
    fields: listOf(fields, (one) => one.fields),
    unreadFields: listOf(unreadFields, (one) => one.unreadFields),
    turnpoints: listOf(turnpoints, (one) => one.turnpoints),
    obstacles: listOf(obstacles, (one) => one.obstacles),
    airspaces: listOf(airspaces, (one) => one.airspaces),
    terrain: sameGround
      ? before.made.terrain
      : nearest && { at: nearest.at, folders: [...new Set(folders.map(({ folder }) => folder))], tiles },
  };
  known.last = { owns, tiles, made };
  return few.put(known.last).made;
}

/** What differs, where it is few things that have a place and nothing else. */
function changeBetween(
  before: Made,
  owns: readonly Own[],
  tiles: ReadonlyMap<string, Tile | Unreadable>,
): SurroundingsChange | undefined {
  if (before.owns.length !== owns.length || before.tiles !== tiles) return undefined;
  const seen: SeenChange[] = [];
  for (const [i, own] of owns.entries()) {
    const then = before.owns[i] as Own;
    if (own === then) continue;
    const change = changeOf(then, own);
    if (!change) return undefined;
    seen.push(...change);
  }
  return { before: before.made.self, seen };
}

/** The tile with a south-west corner, and the URIs where it may lie and nobody has looked yet. */
export function tileIn(
  { folders, tiles }: Terrain,
  corner: { readonly latDeg: number; readonly lonDeg: number },
): { readonly tile: Tile | null; readonly wanted: readonly string[] } {
  const name = tileName(corner);
  for (const folder of folders) {
    const uri = `${folder}/${name}`;
    const known = tiles.get(uri);
    if (known === undefined) return { tile: null, wanted: [uri] };
    if (typeof known === 'object') return { tile: known, wanted: [] };
  }
  return { tile: null, wanted: [] };
}
