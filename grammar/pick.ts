/** Some of a file's entries, without a look at every one after each edit. */
import { type FileSyntax, indexOfEntry } from './file.ts';
import type { EntrySyntax } from './syntax.ts';

/** The entries of a file that are wanted, in the order of the text. */
export type Pick = (file: FileSyntax) => readonly EntrySyntax[];

/**
 * A pick of the entries that `takes` takes, whatever file they stand in. After an edit only what it changed is looked
 * at, and as long as what is picked stays the same it is the same list.
 */
export function picking(takes: (entry: EntrySyntax) => boolean): Pick {
  const kept = new WeakMap<object, readonly EntrySyntax[]>();
  const made = (file: FileSyntax): readonly EntrySyntax[] => {
    const { trees, change } = file;
    const before = change && kept.get(change.before);
    if (!before) return trees.filter(takes);
    const gone = change.removed.filter(takes);
    const come = change.added.filter(takes);
    if (gone.length === come.length && gone.every((entry, i) => entry === come[i])) return before;
    const list = [...before];
    // What was removed stood side by side; without any, what came stands before the first that is further down.
    const first = gone[0];
    let at = first ? list.indexOf(first) : list.length;
    if (!first) {
      let low = 0;
      while (low < at) {
        const middle = (low + at) >> 1;
        if (indexOfEntry(file, list[middle] as EntrySyntax) < change.index) low = middle + 1;
        else at = middle;
      }
    }
    list.splice(at, gone.length, ...come);
    return list;
  };
  return (file) => {
    const { self } = file;
    const known = kept.get(self);
    if (known) return known;
    const all = made(file);
    kept.set(self, all);
    return all;
  };
}
