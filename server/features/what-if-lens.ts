/** A lens over each task that opens the what-if, for clients that have a command for it. */
import type { CodeLens } from 'vscode-languageserver-types';
import { rangeOf } from '../plan/places.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';

/** The lenses of a file; the command is given the file, as `uri` is called by the client, and the line of the task. */
export function whatIfLenses(workspace: Workspace, understood: Understood, command: string, uri: string): CodeLens[] {
  return understood.tasks.flatMap(({ uri: own, entry, legs }): CodeLens[] => {
    const { head } = entry;
    const range = head && legs.length > 0 ? rangeOf(workspace, { uri: own, entry, span: head.span }) : undefined;
    if (!range) return [];
    const { start, end } = range;
    return [{ range: { start, end }, command: { title: 'what if…', command, arguments: [uri, start.line] } }];
  });
}
