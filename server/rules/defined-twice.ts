import type { EntrySyntax, LineSyntax } from '../../grammar/syntax.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import { unitsIn } from '../plan/understand.ts';
import { type Defined, linksOf, type SourceFile, scopeOf, tableOf, type UseLink } from '../plan/workspace.ts';
import { fileName } from './file-missing.ts';
import { type FileContext, type Found, quoted, type Related, type Rule, textAt } from './rule.ts';

const NAMESPACES: readonly Namespace[] = [
  'point',
  'obstacle',
  'airspace',
  'aircraft',
  'weather',
  'reserve',
  'limits',
  'task',
];

function placeOf({ file, meaning: { entry } }: Defined) {
  return { uri: file.uri, entry, span: entry.name?.span ?? entry.span };
}

function related(defined: Defined): Related {
  return {
    at: placeOf(defined),
    message: `${defined.meaning.name} is defined here, in ${fileName(defined.file.uri)}`,
  };
}

/** Names that this file defines, and that it or a file it uses defines again. */
function* inThisFile(here: readonly Defined[], elsewhere: readonly Defined[]): Iterable<Found> {
  const [first, ...others] = here;
  if (!first) return;
  for (const other of others) {
    yield {
      at: placeOf(other),
      message: `${quoted(other.meaning.name)} is defined a second time, and only the first counts. Give one of the two another name, or take it out.`,
      related: [related(first)],
    };
  }
  const [used] = elsewhere;
  if (used) {
    yield {
      at: placeOf(first),
      message: `${quoted(first.meaning.name)} is defined here and in ${quoted(fileName(used.file.uri))}, and only this one counts. Give one of the two another name, or take it out.`,
      related: elsewhere.map(related),
    };
  }
}

interface Clash {
  readonly link: UseLink;
  readonly first: Defined;
  readonly other: Defined;
}

/** The first `use` of the file that brings in another. */
function bringing({ workspace, understood }: FileContext): (uri: string) => UseLink | undefined {
  let by: Map<string, UseLink> | undefined;
  return (uri) => {
    if (!by) {
      by = new Map();
      for (const link of linksOf(workspace, understood.file)) {
        const target = link.target === undefined ? undefined : workspace.files.get(link.target);
        if (!target) continue;
        for (const { uri: brought } of scopeOf(workspace, target).files) if (!by.has(brought)) by.set(brought, link);
      }
    }
    return by.get(uri);
  };
}

/** Names that two used files define: one finding for each pair of files, since that is one cause. */
function* amongUsed(clashes: readonly Clash[], uri: string): Iterable<Found> {
  const pairs = new Map<string, Clash[]>();
  for (const clash of clashes) {
    const key = `${clash.first.file.uri} ${clash.other.file.uri}`;
    const pair = pairs.get(key);
    if (pair) pair.push(clash);
    else pairs.set(key, [clash]);
  }
  for (const pair of pairs.values()) {
    const [{ link, first, other }] = pair as [Clash];
    const names = pair.map((clash) => quoted(clash.other.meaning.name));
    const more = names.length - 3;
    const listed = more > 0 ? [...names.slice(0, 3), `${more} more`] : names;
    const last = listed.pop() as string;
    const what = listed.length > 0 ? `${listed.join(', ')} and ${last} are` : `${last} is`;
    const counts = quoted(fileName(first.file.uri));
    yield {
      at: { uri, entry: link.entry, span: link.span },
      message: `${what} defined in ${counts} and in ${quoted(fileName(other.file.uri))}, and only the first counts. Keep one definition, in one of the files.`,
      related: pair.slice(0, 3).flatMap((clash) => [related(clash.first), related(clash.other)]),
      meets: pair.map(({ other: { meaning } }) => `${meaning.kind} ${meaning.name}`).join('\n'),
    };
  }
}

/** A name that two used files define. */
interface Shared {
  readonly namespace: Namespace;
  readonly name: string;
  readonly first: SourceFile;
  readonly other: SourceFile;
}

const sharedKept = new WeakMap<SourceFile, { readonly used: readonly SourceFile[]; readonly shared: Shared[] }>();

/**
 * The names that more than one of these files defines, with the first file that does and each later one; kept, since
 * used files seldom change. Each name is looked at once, however many files there are.
 */
function sharedNames(used: readonly SourceFile[]): readonly Shared[] {
  const [key] = used;
  if (!key || used.length < 2) return [];
  const known = sharedKept.get(key);
  if (known?.used.length === used.length && known.used.every((file, i) => file === used[i])) return known.shared;
  const found: { shared: Shared; i: number; j: number }[] = [];
  for (const namespace of NAMESPACES) {
    if (namespace === 'task') continue;
    const firstOf = new Map<string, number>();
    for (const [j, other] of used.entries()) {
      for (const name of tableOf(other).get(namespace)?.keys() ?? []) {
        const i = firstOf.get(name);
        if (i === undefined) firstOf.set(name, j);
        else found.push({ shared: { namespace, name, first: used[i] as SourceFile, other }, i, j });
      }
    }
  }
  const shared = found.sort((a, b) => a.i - b.i || a.j - b.j).map((one) => one.shared);
  sharedKept.set(key, { used, shared });
  return shared;
}

/** The lines of a `units` entry that choose a unit. */
export function choicesIn(entry: EntrySyntax): LineSyntax[] {
  return entry.details.filter(({ slots: { unit } }) => unit?.kind === 'unit' && unit.unit !== undefined);
}

/** `units` entries behind the first. They have no name; of each kind of number the first line in the file counts. */
function* unitsAgain({ understood: { file } }: FileContext): Iterable<Found> {
  const { uri } = file;
  const [first, ...others] = unitsIn(file.syntax);
  if (!first || others.length === 0) return;
  const counts = new Map<unknown, string>();
  const written = (entry: EntrySyntax, line: LineSyntax) => quoted(textAt(entry, line.span).replace(/\s+/gu, ' '));
  for (const line of choicesIn(first)) if (!counts.has(line.form)) counts.set(line.form, written(first, line));
  for (const entry of others) {
    const { head } = entry;
    if (!head) continue;
    const idle = new Map<string, string>();
    for (const line of choicesIn(entry)) {
      const counting = counts.get(line.form);
      const own = written(entry, line);
      if (counting === undefined) counts.set(line.form, own);
      else if (counting !== own && !idle.has(counting)) idle.set(counting, own);
    }
    const [pair] = idle;
    const which = pair ? `: ${pair[0]}, not ${pair[1]}` : '';
    yield {
      at: { uri, entry, span: head.keyword },
      message: `${quoted('units')} stands here again, and of lines of one kind only the first in the file counts${which}. Put the lines into one ${quoted('units')}, and take the other out.`,
      related: [
        { at: { uri, entry: first, span: first.head?.keyword ?? first.span }, message: 'the first is written here' },
      ],
    };
  }
}

/** A name with two meanings. */
export const definedTwice: Rule = {
  code: 'defined-twice',
  severity: 'error',
  title: 'A name is defined twice',
  page: {
    means:
      'Two entries of one kind have the same name, in this file, in this file and one that it uses, or in two files that it uses. Fields and turnpoints are one kind here, since an itinerary may name either. A file has one `units` entry, which has no name.',
    why: 'Of two fields called Larkfield a task means one, and a reader may think of the other. The nearer definition counts in what is computed; the pilot may fly to the other.',
    bad: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n\nfield Larkfield at 47.9030 N 19.1210 E\n  elevation 310 m\n',
    good: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n\nfield "Larkfield North" at 47.9030 N 19.1210 E\n  elevation 310 m\n',
    turnDown: 'It is not turned down: give one of the two another name, or take one out.',
  },
  *file(context) {
    const { understood } = context;
    const { scope, file } = understood;
    const clashes: Clash[] = [];
    const linkOf = bringing(context);
    const used = scope.files.filter((other) => other !== file);
    for (const namespace of NAMESPACES) {
      const own = tableOf(file).get(namespace);
      // Tasks of other files are not called by name here.
      const others = namespace === 'task' ? [] : used;
      const tables = others.flatMap((other) => tableOf(other).get(namespace) ?? []);
      for (const name of (tables.length === 0 ? own?.repeated() : own?.keys()) ?? []) {
        const elsewhere = tables.flatMap((table) => table.get(name) ?? []);
        yield* inThisFile(own?.get(name) ?? [], elsewhere);
      }
    }
    for (const { namespace, name, first: one, other } of sharedNames(used)) {
      const link = linkOf(other.uri);
      const [first] = tableOf(one).get(namespace)?.get(name) ?? [];
      const [again] = tableOf(other).get(namespace)?.get(name) ?? [];
      if (link && first && again && !tableOf(file).get(namespace)?.has(name))
        clashes.push({ link, first, other: again });
    }
    yield* amongUsed(clashes, file.uri);
    yield* unitsAgain(context);
  },
};
