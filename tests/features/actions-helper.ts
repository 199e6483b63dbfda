/** What the tests of code actions share: a plan's actions by their titles, and the plan after one of them. */
import type { CodeAction, Range, WorkspaceEdit } from 'vscode-languageserver-types';
import { codeActions } from '../../server/features/code-actions.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { scopeOf, setFile, setUnreadable, type Workspace } from '../../server/plan/workspace.ts';
import type { Finding } from '../../server/rules/rule.ts';
import { check } from '../../server/rules/run.ts';
import { applied, type Marked, marked } from './marked.ts';

/** A rule that throws fails the test. */
export function findingsIn(workspace: Workspace, understood: Understood): Finding[] {
  return check(workspace, understood, undefined, (code, error) => {
    throw new Error(`the rule ${code} failed`, { cause: error });
  });
}

/** The range of a marked plan: the caret, or from it to `until` of its lines below. */
function rangeOf({ position }: Marked, lines: number): Range {
  return lines === 0
    ? { start: position, end: position }
    : { start: position, end: { line: position.line + lines, character: 0 } };
}

/** The actions at the caret of a plan, of these kinds; with `lines`, for a selection of so many lines from it. */
export function actionsAt(plan: Marked, only?: string[], lines = 0): CodeAction[] {
  const { workspace, understood } = plan;
  return codeActions(workspace, understood, rangeOf(plan, lines), findingsIn(workspace, understood), only);
}

/** Their titles, the preferred ones with a star. */
export function titles(text: string, only?: string[], lines = 0): string[] {
  return actionsAt(marked(text), only, lines).map(({ title, isPreferred }) => (isPreferred ? `* ${title}` : title));
}

/** Every text of a workspace after an edit, by URI; files that it makes are made. */
export function textsAfter(workspace: Workspace, edit: WorkspaceEdit | undefined): Map<string, string> {
  const after = new Map<string, string>();
  const textOf = (uri: string) => after.get(uri) ?? workspace.files.get(uri)?.syntax.text ?? '';
  for (const [uri, edits] of Object.entries(edit?.changes ?? {})) after.set(uri, applied(textOf(uri), edits));
  for (const change of edit?.documentChanges ?? []) {
    if ('textDocument' in change)
      after.set(
        change.textDocument.uri,
        applied(
          textOf(change.textDocument.uri),
          change.edits.flatMap((one) => ('newText' in one ? [one] : [])),
        ),
      );
    else if (change.kind === 'create') after.set(change.uri, '');
  }
  return after;
}

/** The workspace with these texts, and one of its files understood. */
export function workspaceAfter(
  workspace: Workspace,
  texts: ReadonlyMap<string, string>,
  uri: string,
): { workspace: Workspace; understood: Understood; findings: Finding[] } {
  const after: Workspace = {
    ...workspace,
    files: new Map(workspace.files),
    unreadable: new Map(workspace.unreadable),
  };
  for (const [one, text] of texts) setFile(after, one, text);
  const file = after.files.get(uri);
  if (!file) throw new Error(`no file ${uri}`);
  for (const wanted of scopeOf(after, file).wanted) setUnreadable(after, wanted, 'missing');
  const understood = understand(after, file);
  return { workspace: after, understood, findings: findingsIn(after, understood) };
}

/** The plan with the caret after the action of this title; the other files with `name`. */
export function planAfter(text: string, title: string, only?: string[], lines = 0, name?: string): string {
  const plan = marked(text);
  const actions = actionsAt(plan, only, lines);
  const action = actions.find((one) => one.title === title);
  if (!action) throw new Error(`no action “${title}”, but:\n${actions.map((one) => one.title).join('\n')}`);
  const texts = textsAfter(plan.workspace, action.edit);
  const uri = name === undefined ? plan.uri : plan.uri.slice(0, plan.uri.lastIndexOf('/') + 1) + name;
  const now = texts.get(uri);
  if (now === undefined) throw new Error(`${uri} is not changed`);
  return now;
}

/** Only the lines of a text that another does not have. */
export function newLines(before: string, now: string): string {
  const known = new Set(before.replace('$0', '').split('\n'));
  return now
    .split('\n')
    .filter((line) => !known.has(line))
    .join('\n');
}
