/** Code actions: the ways out of findings, the rewritings that keep what is meant, and what is done to a whole file. */
import { type CodeAction, CodeActionKind, type Diagnostic, type Range } from 'vscode-languageserver-types';
import { rangeOf } from '../plan/places.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import type { CheckOptions, Finding } from '../rules/rule.ts';
import { diagnostics, type PageLink } from './diagnostics.ts';
import { mostLooks, safeFixes } from './fixes/all.ts';
import { workspaceEdit } from './fixes/edit.ts';
import { type Fix, type FixContext, fixContext } from './fixes/fix.ts';
import { fixesOf } from './fixes/index.ts';
import { refactorings } from './refactors/index.ts';
import { organized } from './refactors/organize-uses.ts';

export { CODE_ACTION_KINDS } from './advertised.ts';

/** What a client can do besides. */
export interface CodeActionOptions {
  /** The link to a rule's page, so that the findings attached look like those that were published. */
  readonly pageLink?: PageLink;
  /** Whether the client can make files; taken to be so. */
  readonly createFiles?: boolean;
  /** What `check` was given, so that a fix is tried by the rules that made its finding. */
  readonly rules?: CheckOptions;
}

/** Whether actions of a kind are asked for: a kind stands for all that are below it. */
function wanted(only: readonly string[] | undefined, kind: string): boolean {
  return !only || only.length === 0 || only.some((one) => one === '' || kind === one || kind.startsWith(`${one}.`));
}

/** What is done to a whole file is worked out for clients that ask for it by its kind. */
function wantedByKind(only: readonly string[] | undefined, kind: string): boolean {
  return only !== undefined && only.length > 0 && wanted(only, kind);
}

function touches(a: Range, b: Range): boolean {
  const before = (p: Range['start'], q: Range['start']) =>
    p.line < q.line || (p.line === q.line && p.character <= q.character);
  return before(a.start, b.end) && before(b.start, a.end);
}

function quickFixes(
  range: Range,
  findings: readonly Finding[],
  context: FixContext,
  diagnosticOf: (finding: Finding) => Diagnostic[],
): CodeAction[] {
  const { workspace } = context;
  const actions = new Map<string, CodeAction>();
  const here = findings.filter(({ at }) => {
    const place = at.uri === context.understood.file.uri ? rangeOf(workspace, at) : undefined;
    return place && touches(place, range);
  });
  // Of a selection that holds thousands the first, so that its answer comes while one waits for it.
  for (const finding of here.slice(0, mostLooks(context))) {
    for (const fix of fixesOf(finding, findings, context)) {
      const edit = workspaceEdit(workspace, fix.edits, fix.created);
      const key = `${fix.title} ${JSON.stringify(edit)}`;
      const known = actions.get(key);
      if (known) {
        // One way out of two findings.
        known.diagnostics?.push(...diagnosticOf(finding));
        continue;
      }
      actions.set(key, {
        title: fix.title,
        kind: CodeActionKind.QuickFix,
        diagnostics: diagnosticOf(finding),
        ...(fix.preferred ? { isPreferred: true } : {}),
        edit,
      });
    }
  }
  return [...actions.values()];
}

/** All safe fixes as one; undefined when there is none. */
function fixAll(findings: readonly Finding[], context: FixContext): CodeAction | undefined {
  const fixes: Fix[] = safeFixes(findings, context);
  if (fixes.length === 0) return undefined;
  return {
    title: fixes.length === 1 ? 'Mend the slip with one reading' : `Mend the ${fixes.length} slips with one reading`,
    kind: CodeActionKind.SourceFixAll,
    edit: workspaceEdit(
      context.workspace,
      fixes.flatMap(({ edits }) => edits),
    ),
  };
}

/**
 * The code actions for a range of a file. `findings` are those of the whole file, from `check`; `only` are the kinds
 * that are asked for, all of them when it is left out, but for what is done to a whole file: editors ask for that by its
 * kind, when a file is saved and in a menu of its own. Every edit is worked out at once: none is left to be resolved.
 */
export function codeActions(
  workspace: Workspace,
  understood: Understood,
  range: Range,
  findings: readonly Finding[],
  only?: readonly string[],
  options: CodeActionOptions = {},
): CodeAction[] {
  if (understood.file.notText) return [];
  const { pageLink, createFiles = true, rules = {} } = options;
  const context = fixContext(workspace, understood, createFiles, rules);
  const diagnosticOf = (finding: Finding): Diagnostic[] => diagnostics(workspace, [finding], pageLink);
  const actions: CodeAction[] = [];
  if (wanted(only, CodeActionKind.QuickFix)) actions.push(...quickFixes(range, findings, context, diagnosticOf));
  const wants = {
    rewrite: wanted(only, CodeActionKind.RefactorRewrite),
    move: wanted(only, CodeActionKind.RefactorMove) || wanted(only, CodeActionKind.RefactorExtract),
  };
  for (const { title, kind, edits, created } of refactorings(range, context, wants)) {
    if (wanted(only, kind)) actions.push({ title, kind, edit: workspaceEdit(workspace, edits, created) });
  }
  if (wantedByKind(only, CodeActionKind.SourceFixAll)) {
    const all = fixAll(findings, context);
    if (all) actions.push(all);
  }
  if (wantedByKind(only, CodeActionKind.SourceOrganizeImports)) {
    const edits = organized(findings, context);
    if (edits.length > 0)
      actions.push({
        title: 'Put the use lines in order',
        kind: CodeActionKind.SourceOrganizeImports,
        edit: workspaceEdit(workspace, edits),
      });
  }
  return actions;
}
