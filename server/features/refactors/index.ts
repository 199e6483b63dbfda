/** Every family of refactorings. A new one is one line here. */
import type { Range } from 'vscode-languageserver-types';
import type { FixContext } from '../fixes/fix.ts';
import { convertUnits } from './convert.ts';
import { rewriteCoordinates } from './coordinates.ts';
import { moveEntries } from './move-entries.ts';
import { rewritePolar } from './polar.ts';
import type { Refactorer, Refactoring } from './refactoring.ts';
import { reverseTask } from './reverse-task.ts';

const REWRITERS: readonly Refactorer[] = [convertUnits, rewriteCoordinates, reverseTask, rewritePolar];

/** The refactorings for a range of a file; `wants` tells which kinds are asked for. */
export function refactorings(
  range: Range,
  context: FixContext,
  wants: { readonly rewrite: boolean; readonly move: boolean },
): Refactoring[] {
  const families = [...(wants.rewrite ? REWRITERS : []), ...(wants.move ? [moveEntries] : [])];
  return families.flatMap((refactorer) => [...refactorer(range, context)]);
}
