import { picking } from '../../grammar/pick.ts';
import { type EntrySyntax, linesOf } from '../../grammar/syntax.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import { limitsForAll } from '../plan/limits.ts';
import { meaningOf } from '../plan/meaning.ts';
import { entriesNaming, nameUsesIn } from '../plan/references.ts';
import { tasksIn } from '../plan/understand.ts';
import { linksOf, lookUp, type Scope, type SourceFile, scopeOf, usersOf, type Workspace } from '../plan/workspace.ts';
import { type FileContext, type Found, quoted, type Rule } from './rule.ts';

const KINDS: ReadonlySet<string> = new Set(['weather', 'reserve', 'aircraft', 'limits', 'turnpoint']);
/** What counts without being named: one lands there, flies into it, or keeps out of it. */
const COUNTS_UNNAMED: ReadonlySet<string> = new Set(['field', 'obstacle', 'airspace', 'terrain']);

/** Words of lines that cannot be read: any of them may be a name that is meant. */
function wordsUnread(entry: EntrySyntax): string[] {
  if (entry.isSound) return [];
  return linesOf(entry)
    .filter((line) => line.problems.length > 0 || !line.form)
    .flatMap((line) => line.tokens.map((tok) => tok.image.replaceAll('"', '').normalize('NFC')));
}

const entriesUnsound = picking(({ isSound }) => !isSound);
const entriesToName = picking(({ form, name }) => name !== undefined && KINDS.has(form?.keyword ?? ''));
const entriesCounting = picking(({ form, head }) => (form ? COUNTS_UNNAMED.has(form.keyword) : head !== undefined));

/** The files that a file's entries, and what those rest on, come from. */
function filesNeeded(entries: readonly EntrySyntax[], scope: Scope): Set<SourceFile> {
  const needed = new Set<SourceFile>();
  // Limits for all tasks hold without being named.
  const forAll = limitsForAll(scope);
  for (const { file } of forAll) needed.add(file);
  const queue = [...entries, ...forAll.map(({ meaning }) => meaning.entry)];
  const seen = new Set<EntrySyntax>(queue);
  for (const entry of queue) {
    for (const { namespace, node } of nameUsesIn(entry)) {
      for (const { file, meaning } of lookUp(scope, namespace, node.text)) {
        needed.add(file);
        if (seen.has(meaning.entry)) continue;
        seen.add(meaning.entry);
        queue.push(meaning.entry);
      }
    }
  }
  return needed;
}

/** Whether an entry of a file is called by this name, or may be in a line that cannot be read. */
function namedIn({ syntax }: SourceFile): (namespace: Namespace, name: string) => boolean {
  const used = new Set<string>();
  const unread = new Set<string>();
  for (const entry of entriesNaming(syntax))
    for (const { namespace, node } of nameUsesIn(entry)) used.add(`${namespace} ${node.text}`);
  for (const entry of entriesUnsound(syntax)) for (const word of wordsUnread(entry)) unread.add(word);
  return (namespace, name) => used.has(`${namespace} ${name}`) || unread.has(name);
}

function* entriesUnused({ workspace, understood: { file } }: FileContext): Iterable<Found> {
  const isNamed = namedIn(file);
  // Files that use this one may name what stands here. They are looked for when there is something to tell.
  let users: ReturnType<typeof namedIn>[] | undefined;
  for (const entry of entriesToName(file.syntax)) {
    if (!entry.form || !entry.name) continue;
    const meaning = meaningOf(entry);
    const { kind, name } = meaning;
    const { namespace } = entry.form;
    if (!namespace || name === '' || !KINDS.has(kind)) continue;
    if (meaning.kind === 'limits' && meaning.forAllTasks) continue;
    if (isNamed(namespace, name)) continue;
    users ??= usersOf(workspace, file.uri).map(namedIn);
    if (users.some((isNamedThere) => isNamedThere(namespace, name))) continue;
    yield {
      at: { uri: file.uri, entry, span: entry.name.span },
      message: `${quoted(name)} is named by nothing in this file. Take the ${kind} out, or name it.`,
      unnecessary: true,
    };
  }
}

/** Whether everything that a file brings in is known. */
function isKnown(workspace: Workspace, scope: Scope): boolean {
  return (
    scope.wanted.length === 0 &&
    scope.files.every(
      (file) =>
        !file.notText &&
        linksOf(workspace, file).every(({ target }) => target !== undefined && workspace.files.has(target)),
    )
  );
}

function* usesUnused({ workspace, understood }: FileContext): Iterable<Found> {
  const { file, scope } = understood;
  if (linksOf(workspace, file).length === 0) return;
  const needed = new Map<SourceFile, ReadonlySet<SourceFile> | undefined>();
  /** Whether a file needs one of these; a line that cannot be read may be the one that names what they bring. */
  const needs = (by: SourceFile, brought: readonly SourceFile[]) => {
    if (!needed.has(by)) {
      const isUnread = entriesUnsound(by.syntax).some((unsound) => wordsUnread(unsound).length > 0);
      const seen = by === file ? scope : scopeOf(workspace, by);
      needed.set(by, isUnread ? undefined : filesNeeded(entriesNaming(by.syntax), seen));
    }
    const those = needed.get(by);
    return !those || brought.some((other) => those.has(other));
  };
  for (const { target, entry, span, path } of linksOf(workspace, file)) {
    const used = target === undefined ? undefined : workspace.files.get(target);
    if (!used) continue;
    const brought = scopeOf(workspace, used);
    if (!isKnown(workspace, brought)) continue;
    const others = brought.files.filter((other) => other !== file);
    if (others.some((other) => entriesCounting(other.syntax).length > 0) || needs(file, others)) continue;
    // What this file has no need of may be for those that use it.
    if (usersOf(workspace, file.uri).some((user) => needs(user, others))) continue;
    yield {
      at: { uri: file.uri, entry, span },
      message: `${quoted(path)} brings in nothing that this file names. Take the line out.`,
      unnecessary: true,
    };
  }
}

/** An entry or a file that no task of the file needs. */
export const neverUsed: Rule = {
  code: 'never-used',
  severity: 'hint',
  title: 'Something is not used',
  page: {
    means:
      'In a file that holds a task, a weather, reserve, aircraft, limits or turnpoint is named by nothing, or a file is used and brings in nothing that counts here. In the editor, what the files of its folders that use this one name is left alone; on the command line a file is looked at by itself. Fields, obstacles, airspace, terrain and limits for all tasks count without being named.',
    why: 'An unused weather beside the one that is flown by is easily taken for it, and a turnpoint that no task names may be one that was forgotten.',
    bad: 'use "club.taskplan"\n\nreserve Careful\n  arrive 1500 ft AGL\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft MSL\n  finish   Ashmoor\n',
    good: 'use "club.taskplan"\n\nreserve Careful\n  arrive 1500 ft AGL\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Careful\n  start    Larkfield at 6000 ft MSL\n  finish   Ashmoor\n',
    turnDown: '`severity` in the settings turns it off.',
  },
  *file(context) {
    if (tasksIn(context.understood.file.syntax).length === 0) return;
    yield* entriesUnused(context);
    yield* usesUnused(context);
  },
};
