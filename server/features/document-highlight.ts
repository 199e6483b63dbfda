/** The same name elsewhere in the file that is looked at. */
import { type DocumentHighlight, DocumentHighlightKind } from 'vscode-languageserver-types';
import { type LinePosition, rangeAt } from '../../grammar/file.ts';
import type { Understood } from '../plan/understand.ts';
import { lookUp } from '../plan/workspace.ts';
import { nameRange } from './defined-ranges.ts';
import { definitionsOf, isSame, nameAt, usesInFile } from './names.ts';

/**
 * The name at a position wherever the file writes it and means the same: as written where it is defined, as read where
 * it is used. Empty on anything that is no name.
 */
export function documentHighlights(understood: Understood, position: LinePosition): DocumentHighlight[] {
  const name = nameAt(understood, position);
  if (!name) return [];
  const { file, scope } = understood;
  const [defined] = definitionsOf(understood, name);
  const found: DocumentHighlight[] = [];
  if (defined?.file.uri === file.uri) found.push({ range: nameRange(defined), kind: DocumentHighlightKind.Write });
  const [counts] = lookUp(scope, name.namespace, name.text);
  // Of two entries with one name the uses mean the one that counts.
  if (!defined || (counts && isSame(defined, counts))) {
    for (const { placed, use } of usesInFile(file, name.namespace, name.text))
      found.push({ range: rangeAt(placed, use.node.span), kind: DocumentHighlightKind.Read });
  }
  return found;
}
