/** The limits of a scope that hold without being named. */
import { picking } from '../../grammar/pick.ts';
import { type Limits, meaningOf } from './meaning.ts';
import type { Defined, Scope, SourceFile } from './workspace.ts';

export interface DefinedLimits extends Omit<Defined, 'placed'> {
  readonly meaning: Limits;
}

const limitsIn = picking(({ form }) => form?.keyword === 'limits');

const kept = new WeakMap<SourceFile, readonly DefinedLimits[]>();

function forAllIn(file: SourceFile): readonly DefinedLimits[] {
  const known = kept.get(file);
  if (known) return known;
  const found: DefinedLimits[] = [];
  for (const entry of limitsIn(file.syntax)) {
    const meaning = meaningOf(entry);
    if (meaning.kind === 'limits' && meaning.name !== '' && meaning.forAllTasks) found.push({ file, meaning });
  }
  kept.set(file, found);
  return found;
}

/** The limits of a scope that hold for all tasks, the nearest first. */
export function limitsForAll(scope: Scope): readonly DefinedLimits[] {
  return scope.files.flatMap(forAllIn);
}
