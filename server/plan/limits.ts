/** The limits of a scope that hold without being named. */
import type { Limits } from './meaning.ts';
import { type Defined, type Scope, type SourceFile, tableOf } from './workspace.ts';

export interface DefinedLimits extends Defined {
  readonly meaning: Limits;
}

const kept = new WeakMap<SourceFile, readonly DefinedLimits[]>();

function forAllIn(file: SourceFile): readonly DefinedLimits[] {
  const known = kept.get(file);
  if (known) return known;
  const found = [...(tableOf(file).get('limits')?.values() ?? [])]
    .flat()
    .filter((one): one is DefinedLimits => one.meaning.kind === 'limits' && one.meaning.forAllTasks);
  kept.set(file, found);
  return found;
}

/** The limits of a scope that hold for all tasks, the nearest first. */
export function limitsForAll(scope: Scope): readonly DefinedLimits[] {
  return scope.files.flatMap(forAllIn);
}
