/** Every place that names an entry, in all files of the workspace. */
import type { Location } from 'vscode-languageserver-types';
import { type LinePosition, rangeAt } from '../../grammar/file.ts';
import type { Understood } from '../plan/understand.ts';
import type { SourceFile, Workspace } from '../plan/workspace.ts';
import { nameRange } from './defined-ranges.ts';
import { definitionsOf, nameAt, type PlacedUse, usesInFile, usesOf } from './names.ts';

const locations = (file: SourceFile, uses: readonly PlacedUse[]): Location[] =>
  uses.map(({ placed, use }) => ({ uri: file.uri, range: rangeAt(placed, use.node.span) }));

/**
 * The uses of the name at a position, and where it is defined first if one asks for that. A name that no entry has is
 * looked for in its own file alone, since elsewhere it may be meant to be another's.
 */
export function references(
  workspace: Workspace,
  understood: Understood,
  position: LinePosition,
  includeDeclaration: boolean,
): Location[] {
  const name = nameAt(understood, position);
  if (!name) return [];
  const [defined] = definitionsOf(understood, name);
  if (!defined) return locations(understood.file, usesInFile(understood.file, name.namespace, name.text));
  const declared = includeDeclaration ? [{ uri: defined.file.uri, range: nameRange(defined) }] : [];
  return [...declared, ...usesOf(workspace, defined).flatMap(({ file, uses }) => locations(file, uses))];
}
