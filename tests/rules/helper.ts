/** What the tests of the rules share: a small workspace in memory, and findings as text below their lines. */
import { type PlacedEntry, positionAt } from '../../grammar/file.ts';
import { understand } from '../../server/plan/understand.ts';
import {
  createWorkspace,
  type SourceFile,
  scopeOf,
  setFile,
  setUnreadable,
  type Unreadable,
  type Workspace,
} from '../../server/plan/workspace.ts';
import type { Finding } from '../../server/rules/rule.ts';
import { check, type OnFailure } from '../../server/rules/run.ts';

const ROOT = 'file:///plans';
const PLAN = `${ROOT}/plan.taskplan`;

/** Other files, by their path beside the plan: a text, or why it cannot be read. */
export type Files = Readonly<Record<string, string | { readonly unreadable: Unreadable }>>;

export interface Checked {
  readonly workspace: Workspace;
  readonly file: SourceFile;
  readonly findings: readonly Finding[];
}

/** A rule that throws is a failure of the test, unless the test wants to see it. */
const throwIt: OnFailure = (code, error) => {
  throw new Error(`the rule ${code} failed`, { cause: error });
};

/** Checks a plan among other files; a file that is wanted and not given is missing. */
export function checked(text: string, files: Files = {}, uri = PLAN, onFailure: OnFailure = throwIt): Checked {
  const workspace = createWorkspace([ROOT]);
  for (const [path, content] of Object.entries(files)) {
    if (typeof content === 'string') setFile(workspace, `${ROOT}/${path}`, content);
    else setUnreadable(workspace, `${ROOT}/${path}`, content.unreadable);
  }
  const file = setFile(workspace, uri, text);
  for (const wanted of scopeOf(workspace, file).wanted) setUnreadable(workspace, wanted, 'missing');
  return { workspace, file, findings: check(workspace, understand(workspace, file), undefined, onFailure) };
}

function placeText(workspace: Workspace, finding: Finding['related'][number]): string {
  const { uri, entry, span } = finding.at;
  const file = workspace.files.get(uri);
  const placed = file?.syntax.entries.find(({ syntax }) => syntax === entry) as PlacedEntry;
  const name = uri.slice(ROOT.length + 1);
  return `${name}:${positionAt(placed, span.start).line + 1} ${finding.message}`;
}

/** Findings as text: the line, then `^^^^ code message` below what is marked, then the related places. */
export function rendered({ workspace, file, findings }: Checked): string {
  const lines = file.syntax.text.split(/\r\n|\n|\r/);
  const out: string[] = [];
  let lastLine = -1;
  for (const finding of findings) {
    const placed = file.syntax.entries.find(({ syntax }) => syntax === finding.at.entry) as PlacedEntry;
    const { line, character } = positionAt(placed, finding.at.span.start);
    if (line !== lastLine) out.push(lines[line] ?? '');
    lastLine = line;
    const marks = '^'.repeat(Math.max(1, finding.at.span.end - finding.at.span.start));
    out.push(`${' '.repeat(character)}${marks} ${finding.code} ${finding.message}`);
    for (const related of finding.related) out.push(`${' '.repeat(character)}  ${placeText(workspace, related)}`);
  }
  return out.join('\n');
}

/** The findings of a plan as text; of these codes only, where they are given. */
export function findingsOf(text: string, files: Files = {}, codes?: ReadonlySet<string>): string {
  const all = checked(text, files);
  return rendered({ ...all, findings: all.findings.filter(({ code }) => !codes || codes.has(code)) });
}
