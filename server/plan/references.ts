/** Where names stand: the names that lines use, and the entries that they stand for. */
import { picking } from '../../grammar/pick.ts';
import { type EntrySyntax, type LineSyntax, linesOf, type NameNode } from '../../grammar/syntax.ts';
import { ENTRIES, type EntryForm, type Namespace, slotsOf } from '../../grammar/vocabulary.ts';

/** A name that a line uses to mean an entry. */
export interface NameUse {
  readonly namespace: Namespace;
  readonly node: NameNode;
  readonly line: LineSyntax;
}

const kept = new WeakMap<EntrySyntax, readonly NameUse[]>();

const NONE: readonly NameUse[] = [];
/** Kinds of entries none of whose lines use a name: most entries of large files. */
const USES_NONE: ReadonlySet<EntryForm> = new Set(
  ENTRIES.filter(({ head, details }) =>
    [head, ...details].every((form) => [...slotsOf(form).values()].every((slot) => !slot.refers)),
  ),
);

/** The names that the lines of an entry use, in order; kept with the entry. */
export function nameUsesIn(entry: EntrySyntax): readonly NameUse[] {
  if (entry.form && USES_NONE.has(entry.form)) return NONE;
  const known = kept.get(entry);
  if (known) return known;
  const uses: NameUse[] = [];
  for (const line of linesOf(entry)) {
    if (!line.form) continue;
    for (const [name, slot] of slotsOf(line.form)) {
      const node = line.slots[name];
      if (slot.refers && node?.kind === 'name' && node.text !== '') uses.push({ namespace: slot.refers, node, line });
    }
  }
  kept.set(entry, uses);
  return uses;
}

/** The entries of a file whose lines use a name. */
export const entriesNaming = picking((entry) => nameUsesIn(entry).length > 0);

/** What a kind of name is called in a message. */
export const NAMESPACE_NOUNS: Readonly<Record<Namespace, string>> = {
  point: 'field or turnpoint',
  obstacle: 'obstacle',
  airspace: 'airspace',
  aircraft: 'aircraft',
  weather: 'weather',
  reserve: 'reserve',
  limits: 'limits',
  task: 'task',
};
