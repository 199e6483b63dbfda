/** A file understood: what it sees, its tasks evaluated, and the units its reader wants. */
import { type Meaning, meaningOf } from './meaning.ts';
import { type ReaderUnits, readerUnits } from './show.ts';
import { surroundingsOf } from './surroundings.ts';
import { among, evaluateTask, type TaskEvaluation } from './task.ts';
import { type Defined, type Scope, type SourceFile, scopeOf, type Workspace } from './workspace.ts';

export interface Understood {
  readonly file: SourceFile;
  readonly scope: Scope;
  /** Every entry of the file, with its meaning, in order. */
  readonly entries: readonly Defined[];
  readonly tasks: readonly TaskEvaluation[];
  readonly units: ReaderUnits;
}

/**
 * Understands one file of a workspace with what is known of the others (`scope.wanted` lists files that would be needed
 * and are not there yet). What did not change since the last time is not computed again. Never throws.
 */
export function understand(workspace: Workspace, file: SourceFile): Understood {
  const scope = scopeOf(workspace, file);
  const entries = file.syntax.entries.map((placed): Defined => ({ file, placed, meaning: meaningOf(placed.syntax) }));
  const evaluated = entries.flatMap((defined) => evaluateTask(defined, scope) ?? []);
  const surroundings = evaluated.length > 0 ? surroundingsOf(workspace, scope) : undefined;
  const tasks = surroundings ? evaluated.map((evaluation) => among(evaluation, surroundings)) : [];
  const units = entries
    .map(({ meaning }) => meaning)
    .filter((meaning): meaning is Extract<Meaning, { kind: 'units' }> => meaning.kind === 'units');
  return { file, scope, entries, tasks, units: readerUnits(units) };
}
