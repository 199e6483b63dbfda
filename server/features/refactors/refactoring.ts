/** What a refactoring is: a rewriting that keeps what is meant. */
import type { CodeActionKind, Range } from 'vscode-languageserver-types';
import type { Edit, NewFile } from '../fixes/edit.ts';
import type { FixContext } from '../fixes/fix.ts';

export interface Refactoring {
  /** What it does, as an order in plain words. */
  readonly title: string;
  readonly kind: CodeActionKind;
  readonly edits: readonly Edit[];
  readonly created?: readonly NewFile[];
}

/** The refactorings of one family for a range of the file. */
export type Refactorer = (range: Range, context: FixContext) => Iterable<Refactoring>;
