/** The limits of a scope that hold without being named. */
import { type Limits, meaningOf } from './meaning.ts';
import type { Defined, Scope, SourceFile } from './workspace.ts';

export interface DefinedLimits extends Defined {
  readonly meaning: Limits;
}

const kept = new WeakMap<SourceFile, readonly DefinedLimits[]>();

function forAllIn(file: SourceFile): readonly DefinedLimits[] {
  const known = kept.get(file);
  if (known) return known;
  const found: DefinedLimits[] = [];
  for (const placed of file.syntax.entries) {
    if (placed.syntax.form?.keyword !== 'limits') continue;
    const meaning = meaningOf(placed.syntax);
    if (meaning.kind === 'limits' && meaning.name !== '' && meaning.forAllTasks) found.push({ file, placed, meaning });
  }
  kept.set(file, found);
  return found;
}

/** The limits of a scope that hold for all tasks, the nearest first. */
export function limitsForAll(scope: Scope): readonly DefinedLimits[] {
  return scope.files.flatMap(forAllIn);
}
