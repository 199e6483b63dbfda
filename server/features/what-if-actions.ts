/** The answers of a what-if that can be written at once, as code actions: for every client, also one without a panel. */
import { type CodeAction, CodeActionKind, type Range } from 'vscode-languageserver-types';
import type { Span } from '../../grammar/syntax.ts';
import { rangeOf } from '../plan/places.ts';
import { show } from '../plan/show.ts';
import type { Understood } from '../plan/understand.ts';
import { fastestHome, heightsOf } from '../plan/what-if-answers.ts';
import type { Workspace } from '../plan/workspace.ts';
import { workspaceEdit } from './fixes/edit.ts';
import { shownName } from './fixes/writing.ts';
import { whatIfEdits } from './what-if-edits.ts';
import { answersSaid } from './what-if-words.ts';

/**
 * On a task that makes it: the lowest start, from its `start` line, and the fastest speed home, from its last leg; both
 * from its first line. `only` are the kinds that are asked for, all without it. Ways out of one that does not make it are the quick fixes of its findings.
 */
export function whatIfActions(
  workspace: Workspace,
  understood: Understood,
  range: Range,
  only?: readonly string[],
): CodeAction[] {
  const rewrite = CodeActionKind.RefactorRewrite;
  const isWanted = !only || only.length === 0 || only.some((one) => one === '' || `${rewrite}.`.startsWith(`${one}.`));
  if (!isWanted || understood.file.notText) return [];
  const with_ = show(understood.units);
  return understood.tasks.flatMap((task): CodeAction[] => {
    const { uri, entry, start, legs } = task;
    const isOn = (span: Span | undefined): boolean => {
      const place = span && rangeOf(workspace, { uri, entry, span });
      return place !== undefined && place.start.line <= range.end.line && range.start.line <= place.end.line;
    };
    const last = legs.at(-1);
    const onHead = isOn(entry.head?.span);
    const wants = { height: onHead || isOn(start?.line.span), speed: onHead || isOn(last?.line.span) };
    if (!wants.height && !wants.speed) return [];
    const heights = wants.height ? heightsOf(task).slice(0, 1) : [];
    const fastest = wants.speed && last?.kind === 'finish' ? fastestHome(task) : null;
    const answers = answersSaid(task, with_, { headwinds: [], heights, fastest });
    return answers.flatMap(({ kind, value, changes }): CodeAction[] => {
      if (!changes || value === null) return [];
      // Lower than planned, or faster: the other way is a mistake, and has its finding.
      const better =
        kind === 'height' ? value < (start?.altitudeM ?? -Infinity) : value > (last?.result?.indicatedMps ?? Infinity);
      const { edits } = whatIfEdits(workspace, understood, task, changes, 'copy');
      if (!better || edits.length === 0) return [];
      const title =
        kind === 'height'
          ? `Start at ${with_.altitude(value)}, the lowest that makes it`
          : `Fly home to ${shownName(last?.toName ?? '')} at ${with_.speed(value)}, the fastest that makes it`;
      return [{ title, kind: rewrite, edit: workspaceEdit(workspace, edits) }];
    });
  });
}
