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

/** The tasks of a file. */
export const tasksIn = picking(({ form }) => form?.keyword === 'task');
/** The `units` entries of a file. */
export const unitsIn = picking(({ form }) => form?.keyword === 'units');

type Units = Extract<Meaning, { kind: 'units' }>;

/** What is made once it is asked for: to lay out a text nobody needs its tasks. */
class Understanding implements Understood {
  readonly file: SourceFile;
  readonly scope: Scope;
  private readonly workspace: Workspace;
  private all: readonly Defined[] | undefined;
  private evaluated: readonly TaskEvaluation[] | undefined;
  private readers: ReaderUnits | undefined;

  constructor(workspace: Workspace, file: SourceFile, scope: Scope) {
    this.workspace = workspace;
    this.file = file;
    this.scope = scope;
  }

  get entries(): readonly Defined[] {
    const { file } = this;
    this.all ??= file.syntax.entries.map((placed) => ({ file, placed, meaning: meaningOf(placed.syntax) }));
    return this.all;
  }

  get tasks(): readonly TaskEvaluation[] {
    this.evaluated ??= this.evaluate();
    return this.evaluated;
  }

  get units(): ReaderUnits {
    this.readers ??= readerUnits(unitsIn(this.file.syntax).map((entry) => meaningOf(entry) as Units));
    return this.readers;
  }

  private evaluate(): TaskEvaluation[] {
    const { workspace, file, scope } = this;
    const evaluated = tasksIn(file.syntax).map(
      (entry) => evaluateTask({ file, meaning: meaningOf(entry) }, scope) as TaskEvaluation,
    );
    const surroundings = evaluated.length > 0 ? surroundingsOf(workspace, scope) : undefined;
    settle(workspace, scope.files);
    return surroundings ? evaluated.map((evaluation) => among(evaluation, surroundings)) : [];
  }
}

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
  const understood = new Understanding(workspace, file, scope);
  kept.set(file, { workspace, roots, tiles, understood });
  return understood;
}
