/** Every family of refactorings. A new one is one line here. */
import type { Range } from 'vscode-languageserver-types';
import type { FixContext } from '../fixes/fix.ts';
import { rewriteCoordinates } from './coordinates.ts';
import type { Refactorer, Refactoring } from './refactoring.ts';

const REFACTORERS: readonly Refactorer[] = [rewriteCoordinates];

/** The refactorings for a range of a file. */
export function refactorings(range: Range, context: FixContext): Refactoring[] {
  return REFACTORERS.flatMap((refactorer) => [...refactorer(range, context)]);
}
