/** A file understood: what it sees, its tasks evaluated, and the units its reader wants. */
import { picking } from '../../grammar/pick.ts';
import { type Meaning, meaningOf } from './meaning.ts';
import { same } from './same.ts';
import { type ReaderUnits, readerUnits } from './show.ts';
import { surroundingsOf } from './surroundings.ts';
import { among, evaluateTask, type TaskEvaluation } from './task.ts';
import { type Defined, type Scope, type SourceFile, scopeOf, settle, type Workspace } from './workspace.ts';

export interface Understood {
  readonly file: SourceFile;
  readonly scope: Scope;
  /** Every entry of the file, with its meaning, in order. */
  readonly entries: readonly Defined[];
  readonly tasks: readonly TaskEvaluation[];
  readonly units: ReaderUnits;
}

interface Kept {
  readonly workspace: Workspace;
  readonly roots: Workspace['roots'];
  readonly tiles: Workspace['tiles'];
  readonly understood: Understood;
}

const kept = new WeakMap<SourceFile, Kept>();

const tasksAndUnits = picking(({ form }) => form?.keyword === 'task' || form?.keyword === 'units');

/**
 * Understands one file of a workspace with what is known of the others (`scope.wanted` lists files that would be needed
 * and are not there yet). What did not change since the last time is not computed again. Never throws.
 */
export function understand(workspace: Workspace, file: SourceFile): Understood {
  const scope = scopeOf(workspace, file);
  const { roots, tiles } = workspace;
  const known = kept.get(file);
  if (known && known.workspace === workspace && known.roots === roots && known.tiles === tiles) {
    const { scope: before } = known.understood;
    if (same(before.files, scope.files) && same(before.wanted, scope.wanted)) return known.understood;
  }
  const evaluated: TaskEvaluation[] = [];
  const units: Extract<Meaning, { kind: 'units' }>[] = [];
  for (const entry of tasksAndUnits(file.syntax)) {
    const meaning = meaningOf(entry);
    if (meaning.kind === 'units') units.push(meaning);
    const evaluation = evaluateTask({ file, meaning }, scope);
    if (evaluation) evaluated.push(evaluation);
  }
  const surroundings = evaluated.length > 0 ? surroundingsOf(workspace, scope) : undefined;
  let entries: readonly Defined[] | undefined;
  const understood: Understood = {
    file,
    scope,
    // Few ask for all of them.
    get entries() {
      entries ??= file.syntax.entries.map((placed) => ({ file, placed, meaning: meaningOf(placed.syntax) }));
      return entries;
    },
    tasks: surroundings ? evaluated.map((evaluation) => among(evaluation, surroundings)) : [],
    units: readerUnits(units),
  };
  settle(workspace, scope.files);
  kept.set(file, { workspace, roots, tiles, understood });
  return understood;
}
