/** Where an entry of some file stands, and its name. */
import type { Range } from 'vscode-languageserver-types';
import { rangeAt } from '../../grammar/file.ts';
import type { Defined } from '../plan/workspace.ts';
import { extentsOf } from './folding.ts';

/** The range of an entry with the comment above it. */
export function entryRange({ file, placed }: Defined): Range {
  return extentsOf(file.syntax).get(placed) ?? rangeAt(placed, placed.syntax.span);
}

/** The range of what an entry is called; of its first line where it has no name. */
export function nameRange({ placed }: Defined): Range {
  const { name, head, span } = placed.syntax;
  return rangeAt(placed, name?.span ?? head?.span ?? span);
}
