/** From a name to the entry that it stands for, and from a `use` line to the file that it brings in. */
import type { Location, LocationLink, Range } from 'vscode-languageserver-types';
import { type LinePosition, rangeAt } from '../../grammar/file.ts';
import type { NameNode } from '../../grammar/syntax.ts';
import { type Namespace, slotsOf } from '../../grammar/vocabulary.ts';
import type { Understood } from '../plan/understand.ts';
import { type Defined, linksOf, lookUp, type Workspace } from '../plan/workspace.ts';
import { entryRange, nameRange } from './defined-ranges.ts';
import { type Located, locate, touches } from './locate.ts';
import { definitionsOf, nameAt } from './names.ts';

/** A link from a range of the file that is looked at to an entry. */
export function linkTo(defined: Defined, originSelectionRange: Range): LocationLink {
  return {
    originSelectionRange,
    targetUri: defined.file.uri,
    targetRange: entryRange(defined),
    targetSelectionRange: nameRange(defined),
  };
}

/** Links for a client that knows only locations. */
export function asLocations(links: readonly LocationLink[]): Location[] {
  return links.map(({ targetUri, targetSelectionRange }) => ({ uri: targetUri, range: targetSelectionRange }));
}

/** The name that a line uses, for a position on the keyword that the line starts with. */
function nameBehindKeyword({ line, offset }: Located): { namespace: Namespace; node: NameNode } | undefined {
  if (!line?.form || !touches(line.keyword, offset)) return undefined;
  for (const [name, slot] of slotsOf(line.form)) {
    const node = line.slots[name];
    if (slot.refers && node?.kind === 'name') return { namespace: slot.refers, node };
  }
  return undefined;
}

const START: Range = { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } };

/**
 * Where what stands at a position is defined: the entry that counts for a name, or for the keyword of the line that
 * names it; the start of the file for a `use` line. Empty where nothing is.
 */
export function definition(workspace: Workspace, understood: Understood, position: LinePosition): LocationLink[] {
  const name = nameAt(understood, position);
  if (name) {
    const origin = rangeAt(name.placed, name.node.span);
    return definitionsOf(understood, name)
      .slice(0, 1)
      .map((defined) => linkTo(defined, origin));
  }
  const located = locate(understood.file.syntax, position);
  if (!located?.line) return [];
  const { placed, line, offset } = located;
  const link = linksOf(workspace, understood.file).find((one) => one.entry === placed.syntax && one.line === line);
  if (link) {
    if (!link.target || !workspace.files.has(link.target)) return [];
    const onPath = touches(link.span, offset) ? link.span : touches(line.keyword, offset) ? line.keyword : undefined;
    if (!onPath) return [];
    const origin = rangeAt(placed, onPath);
    return [{ originSelectionRange: origin, targetUri: link.target, targetRange: START, targetSelectionRange: START }];
  }
  const named = nameBehindKeyword(located);
  if (!named) return [];
  const [defined] = lookUp(understood.scope, named.namespace, named.node.text);
  return defined ? [linkTo(defined, rangeAt(placed, line.keyword))] : [];
}
