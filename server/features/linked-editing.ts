/** A name and its uses in the same file, to be edited together while one types. */
import type { Range } from 'vscode-languageserver-types';
import { type LinePosition, rangeAt } from '../../grammar/file.ts';
import type { Understood } from '../plan/understand.ts';
import { definitionsOf, isSame, nameAt, usesInFile } from './names.ts';
import { insideOf } from './rename.ts';

/** As the protocol has it. */
export interface LinkedEditingRanges {
  readonly ranges: Range[];
  readonly wordPattern: string;
}

/**
 * What may be typed in a bare name, and between quotes. Clients read these without the flag that knows letters of every
 * script, so whatever lies beyond the signs of Latin counts as one.
 */
const BARE =
  '[A-Za-z_\\u00c0-\\u1fff\\u2c00-\\u2fff\\u3001-\\uffff][\\w\\u00c0-\\u1fff\\u2c00-\\u2fff\\u3001-\\uffff-]*';
const QUOTED = '[^"\\r\\n]+';

/**
 * The places of the name at a position that stand in this file, its definition among them; undefined when the file does
 * not define it, when nothing uses it, or when one is written otherwise than the others.
 */
export function linkedEditing(understood: Understood, position: LinePosition): LinkedEditingRanges | undefined {
  const name = nameAt(understood, position);
  if (!name) return undefined;
  const [definition] = definitionsOf(understood, name);
  const own = definition?.placed.syntax.name;
  if (!own || definition.file.uri !== understood.file.uri) return undefined;
  // Of two entries of one name in a file the first is the one that lines mean.
  const [first] = definitionsOf(understood, { ...name, isDefinition: false });
  if (!first || !isSame(first, definition)) return undefined;
  const uses = usesInFile(understood.file, name.namespace, own.text);
  const places = [
    { placed: definition.placed, node: own },
    ...uses.map(({ placed, use }) => ({ placed, node: use.node })),
  ];
  const written = places.map(({ placed, node }) => placed.syntax.text.slice(node.span.start, node.span.end));
  const isClosed = !own.quoted || /^".*"$/.test(written[0] ?? '');
  if (places.length < 2 || !isClosed || written.some((text) => text !== written[0])) return undefined;
  return {
    ranges: places.map(({ placed, node }) => rangeAt(placed, insideOf(placed, node))),
    wordPattern: own.quoted ? QUOTED : BARE,
  };
}
