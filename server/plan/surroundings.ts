/**
 * What a task is flown among, named or not: the fields, obstacles, airspaces and elevation tiles of all the files that
 * it sees. Kept with the file for as long as what it holds is the same, so that what rests on it is kept as well.
 */
import { type PlaceIndex, type Position, placeIndex, type Tile, tileName } from '../flight/index.ts';
import { type Airspace, type Field, type Meaning, meaningOf, type Obstacle, type Turnpoint } from './meaning.ts';
import type { Place } from './place.ts';
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
  readonly entries: readonly Meaning[];
  readonly fields: SeenGroup<Field>;
  /** Fields of which the position or the height asked is not known. */
  readonly unreadFields: readonly Seen<Field>[];
  readonly turnpoints: SeenGroup<Turnpoint>;
  readonly obstacles: SeenGroup<Obstacle>;
  readonly airspaces: readonly Seen<Airspace>[];
  /** The URIs of folders of elevation tiles. */
  readonly terrain: readonly { readonly folder: string; readonly at: Place }[];
}

export interface Surroundings {
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

function groupOf<M extends Field | Turnpoint | Obstacle>(seen: readonly Seen<M>[]): SeenGroup<M> {
  const all = seen.flatMap((one) => {
    const { position } = one.meaning;
    return position ? [{ ...one, position }] : [];
  });
  let index: PlaceIndex | undefined;
  return {
    all,
    index: () => {
      index ??= placeIndex(all.map(({ position }) => position));
      return index;
    },
  };
}

const KINDS: ReadonlySet<string> = new Set(['field', 'turnpoint', 'obstacle', 'airspace', 'terrain']);

function same<T>(one: readonly T[], other: readonly T[]): boolean {
  return one.length === other.length && one.every((item, i) => item === other[i]);
}

function ownOf(file: SourceFile, roots: readonly string[], entries: readonly Meaning[]): Own {
  const seen = <M extends Meaning>(meaning: M): Seen<M> => {
    const { entry } = meaning;
    return { meaning, at: { uri: file.uri, entry, span: entry.name?.span ?? entry.head?.span ?? entry.span } };
  };
  const of = <K extends Meaning['kind']>(kind: K) =>
    entries.filter((meaning): meaning is Extract<Meaning, { kind: K }> => meaning.kind === kind);
  const fields = of('field');
  return {
    entries,
    fields: groupOf(fields.filter(canLand).map(seen)),
    unreadFields: fields.filter((field) => !canLand(field)).map(seen),
    turnpoints: groupOf(of('turnpoint').map(seen)),
    obstacles: groupOf(of('obstacle').map(seen)),
    airspaces: of('airspace').map(seen),
    terrain: of('terrain').flatMap((meaning) => {
      const resolved = meaning.path && resolvePath(file.uri, meaning.path.value, roots);
      return resolved && 'uri' in resolved ? [{ folder: resolved.uri.replace(/\/+$/, ''), at: seen(meaning).at }] : [];
    }),
  };
}

interface Kept {
  readonly own: Map<string, { readonly file: SourceFile; readonly roots: readonly string[]; readonly own: Own }>;
  readonly all: Map<
    string,
    {
      readonly owns: readonly Own[];
      readonly tiles: ReadonlyMap<string, Tile | Unreadable>;
      readonly made: Surroundings;
    }
  >;
}

const kept = new WeakMap<Workspace, Kept>();

function ownKept(known: Kept, workspace: Workspace, file: SourceFile): Own {
  const before = known.own.get(file.uri);
  const { roots } = workspace;
  if (before && before.file === file && before.roots === roots) return before.own;
  const entries = file.syntax.entries
    .filter(({ syntax }) => syntax.form && KINDS.has(syntax.form.keyword))
    .map(({ syntax }) => meaningOf(syntax));
  const own =
    before && before.roots === roots && same(before.own.entries, entries) ? before.own : ownOf(file, roots, entries);
  known.own.set(file.uri, { file, roots, own });
  return own;
}

/** What the tasks of the first file of a scope are flown among. */
export function surroundingsOf(workspace: Workspace, scope: Scope): Surroundings {
  let known = kept.get(workspace);
  if (!known) {
    known = { own: new Map(), all: new Map() };
    kept.set(workspace, known);
  }
  const [first] = scope.files;
  if (!first) return NO_SURROUNDINGS;
  const owns = scope.files.map((file) => ownKept(known, workspace, file)).filter(({ entries }) => entries.length > 0);
  const { tiles } = workspace;
  const before = known.all.get(first.uri);
  if (before && same(before.owns, owns) && (before.tiles === tiles || before.made.terrain === undefined))
    return before.made;
  const folders = owns.flatMap(({ terrain }) => terrain);
  const [nearest] = folders;
  const fields = owns.map((own) => own.fields).filter(({ all }) => all.length > 0);
  const made: Surroundings = {
    // The same list while it holds the same: what rests on the fields alone is kept with it.
    fields: before && same(before.made.fields, fields) ? before.made.fields : fields,
    unreadFields: owns.flatMap(({ unreadFields }) => unreadFields),
    turnpoints: owns.map(({ turnpoints }) => turnpoints).filter(({ all }) => all.length > 0),
    obstacles: owns.map(({ obstacles }) => obstacles).filter(({ all }) => all.length > 0),
    airspaces: owns.flatMap(({ airspaces }) => airspaces),
    terrain: nearest && { at: nearest.at, folders: [...new Set(folders.map(({ folder }) => folder))], tiles },
  };
  known.all.set(first.uri, { owns, tiles, made });
  return made;
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
