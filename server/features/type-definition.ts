/** From a name to what it is made by: a task to its aircraft, a line of it to the point, the reserve or the limits it names. */
import type { LocationLink } from 'vscode-languageserver-types';
import { type LinePosition, rangeAt } from '../../grammar/file.ts';
import { meaningOf } from '../plan/meaning.ts';
import type { Understood } from '../plan/understand.ts';
import { lookUp } from '../plan/workspace.ts';
import { linkTo } from './definition.ts';
import { locate, touches } from './locate.ts';
import { definitionsOf, nameAt } from './names.ts';

/**
 * The entry that a used name stands for; anywhere else on a task's lines, the task's aircraft, since that is what flies
 * it. Empty elsewhere.
 */
export function typeDefinition(understood: Understood, position: LinePosition): LocationLink[] {
  const name = nameAt(understood, position);
  if (name && !name.isDefinition) {
    const [defined] = definitionsOf(understood, name);
    return defined ? [linkTo(defined, rangeAt(name.placed, name.node.span))] : [];
  }
  const located = locate(understood.file.syntax, position);
  if (!located?.line || !touches(located.line.span, located.offset)) return [];
  const meaning = meaningOf(located.placed.syntax);
  if (meaning.kind !== 'task' || !meaning.aircraft?.name) return [];
  const [aircraft] = lookUp(understood.scope, 'aircraft', meaning.aircraft.name.text);
  return aircraft ? [linkTo(aircraft, rangeAt(located.placed, located.node?.span ?? located.line.span))] : [];
}
