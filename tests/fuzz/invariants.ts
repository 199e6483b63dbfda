/**
 * What holds for any text at all: nothing throws, nothing is lost, every place lies inside the text, every edit can be
 * applied, a figure is a number, a message has no word of the program, and the answer after an edit is that of reading
 * the text afresh. Each check throws an Error that says what does not hold.
 */
import type { Position, Range, SelectionRange, TextEdit } from 'vscode-languageserver-types';
import { type FileSyntax, parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { linesOf } from '../../grammar/syntax.ts';
import { codeActions } from '../../server/features/code-actions.ts';
import { codeLenses } from '../../server/features/code-lens.ts';
import { completion, resolveCompletion } from '../../server/features/completion.ts';
import { definition } from '../../server/features/definition.ts';
import { diagnostics } from '../../server/features/diagnostics.ts';
import { documentHighlights } from '../../server/features/document-highlight.ts';
import { documentLinks } from '../../server/features/document-links.ts';
import { documentSymbols } from '../../server/features/document-symbols.ts';
import { willRenameFiles } from '../../server/features/file-rename.ts';
import { foldingRanges } from '../../server/features/folding.ts';
import { formatDocument, formatOnType, formatRange } from '../../server/features/formatting.ts';
import { hover } from '../../server/features/hover.ts';
import { hintOptions, inlayHints } from '../../server/features/inlay-hints.ts';
import { linkedEditing } from '../../server/features/linked-editing.ts';
import { preparePathRename, renamePath } from '../../server/features/path-rename.ts';
import { references } from '../../server/features/references.ts';
import { prepareRename, rename } from '../../server/features/rename.ts';
import { selectionRanges } from '../../server/features/selection-ranges.ts';
import { deltaOf, tokensOf } from '../../server/features/semantic-tokens.ts';
import { typeDefinition } from '../../server/features/type-definition.ts';
import { workspaceSymbols } from '../../server/features/workspace-symbols.ts';
import { clockOf } from '../../server/plan/clock.ts';
import { rangeOf } from '../../server/plan/places.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, scopeOf, setFile, setUnreadable, type Workspace } from '../../server/plan/workspace.ts';
import { budgetJson } from '../../server/reports/budget-json.ts';
import { budgetMarkdown } from '../../server/reports/budget-markdown.ts';
import { compare, isNothing } from '../../server/reports/compare.ts';
import { compareMarkdown } from '../../server/reports/compare-markdown.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import type { Finding } from '../../server/rules/rule.ts';
import { check } from '../../server/rules/run.ts';
import { applied, liesIn, positionOf } from '../features/marked.ts';
import { meaning, plain } from '../grammar/reading.ts';

const ROOT = 'file:///plans';
const PLAN = `${ROOT}/plan.taskplan`;
const CLUB = `${ROOT}/club.taskplan`;

function must(holds: boolean, what: () => string): asserts holds {
  if (!holds) throw new Error(what());
}

/** Entries are the text in pieces; no two tokens overlap, and all but white space is in one. */
export function reads(text: string): FileSyntax {
  const file = parseFile(text);
  let at = 0;
  for (const { syntax, offset } of file.entries) {
    must(offset === at && text.startsWith(syntax.text, at), () => `an entry at ${offset}, not at ${at}`);
    at += syntax.text.length;
    const covered = new Uint8Array(syntax.text.length);
    const lines = linesOf(syntax);
    for (const token of [...lines.flatMap((line) => line.tokens), ...syntax.comments]) {
      const { image, startOffset } = token;
      must(syntax.text.startsWith(image, startOffset), () => `no ${image} at ${startOffset}`);
      for (let i = startOffset; i < startOffset + image.length; i++) {
        must(covered[i] === 0, () => `two tokens hold character ${i}`);
        covered[i] = 1;
      }
    }
    for (let i = 0; i < covered.length; i++)
      must(covered[i] === 1 || /\s/.test(syntax.text[i] as string), () => `no token holds character ${i}`);
    for (const { problems } of lines) must(problems.length <= 1, () => 'more than one problem in a line');
  }
  must(at === text.length, () => `${text.length - at} characters are in no entry`);
  return file;
}

/** Formatting again changes nothing, and no token, comment or written digit is lost. */
export function formats(text: string): void {
  const file = parseFile(text);
  const formatted = formatFile(file);
  must(!('refused' in formatted), () => `formatting is refused: ${JSON.stringify(formatted)}`);
  const after = parseFile(formatted.text);
  const again = formatFile(after);
  must(!('refused' in again) && again.text === formatted.text, () => 'formatting twice changes more than once');
  const [was, is] = [JSON.stringify(meaning(file)), JSON.stringify(meaning(after))];
  must(was === is, () => `formatting changes what is said:\n${was}\n${is}`);
}

/** Read after another text, a text is the same as read afresh. */
export function readsAlike(text: string, before: string): void {
  must(plain(parseFile(text, parseFile(before))) === plain(parseFile(text)), () => 'read after another it differs');
}

export interface Read {
  readonly workspace: Workspace;
  readonly understood: Understood;
  readonly findings: readonly Finding[];
}

function findingsOf(workspace: Workspace, understood: Understood): Finding[] {
  return check(workspace, understood, undefined, (code, error) => {
    throw new Error(`the rule ${code} failed`, { cause: error });
  });
}

/** The text understood beside a club that it may use; with `before`, after that text stood in its place. */
export function understoodText(text: string, before?: string): Read {
  const workspace = createWorkspace([ROOT]);
  setFile(workspace, CLUB, EXAMPLE_CLUB);
  const put = (one: string): Read => {
    const file = setFile(workspace, PLAN, one);
    for (const wanted of scopeOf(workspace, file).wanted) setUnreadable(workspace, wanted, 'missing');
    const understood = understand(workspace, file);
    return { workspace, understood, findings: findingsOf(workspace, understood) };
  };
  if (before !== undefined) allAt(put(before), 0);
  return put(text);
}

/** Every number in a value that is not a function's is finite. */
function finite(value: unknown, where: string, depth = 0): void {
  if (typeof value === 'number') must(Number.isFinite(value), () => `${where} is ${value}`);
  if (typeof value !== 'object' || value === null || depth > 6) return;
  for (const [key, inner] of Object.entries(value)) finite(inner, `${where}.${key}`, depth + 1);
}

/** What is computed of the tasks is numbers, and the parts add up. */
export function computes({ understood: { tasks } }: Read): void {
  for (const task of tasks) {
    finite(task.totals, `totals of ${task.task.name}`);
    finite(clockOf(task).finishS, 'the finish');
    for (const [i, { result }] of task.legs.entries()) {
      if (!result) continue;
      const where = `leg ${i + 1} of ${task.task.name}`;
      for (const [key, one] of Object.entries(result)) if (typeof one !== 'function') finite(one, `${where}.${key}`);
      if (result.problem) continue;
      const { budget, departAltitudeM, arriveAltitudeM, askedAltitudeM, marginM, climbs } = result;
      const gained = climbs.reduce((sum, climb) => sum + climb.toAltitudeM - climb.fromAltitudeM, 0);
      const lost = budget.stillAir + budget.wind + budget.sinkingAir + budget.performance;
      const size = Math.max(1, Math.abs(departAltitudeM), Math.abs(arriveAltitudeM), Math.abs(lost));
      const off = Math.abs(departAltitudeM + gained - arriveAltitudeM - lost);
      must(off <= 1e-6 * size, () => `${where}: the losses are off by ${off} m`);
      must(
        Math.abs(arriveAltitudeM - askedAltitudeM - marginM) <= 1e-6 * size,
        () => `${where}: ${arriveAltitudeM} m less ${askedAltitudeM} m is not ${marginM} m`,
      );
    }
  }
}

function inText(text: string, range: Range, what: string): void {
  must(liesIn(text, range), () => `${what} at ${JSON.stringify(range)} lies outside`);
}

function nested(text: string, selection: SelectionRange): void {
  inText(text, selection.range, 'a selection');
  const { parent, range } = selection;
  if (!parent) return;
  const outer = parent.range;
  const before = (a: Position, b: Position) => a.line < b.line || (a.line === b.line && a.character <= b.character);
  must(before(outer.start, range.start) && before(range.end, outer.end), () => 'a selection does not grow');
  nested(text, parent);
}

function editsApply(
  { workspace }: Read,
  changes: Readonly<Record<string, readonly TextEdit[]>> | undefined,
  what: string,
): void {
  for (const [uri, edits] of Object.entries(changes ?? {})) {
    const text = workspace.files.get(uri)?.syntax.text ?? '';
    for (const { range } of edits) inText(text, range, what);
    applied(text, edits); // throws where two overlap
  }
}

/** Words of the program, which no message has but in quoting the text. */
const MACHINE = /\[native code\]|\[object |\bfunction\b|\bundefined\b|\bNaN\b|\bInfinity\b/;

function speaks(text: string, message: string): void {
  must(!MACHINE.test(message) || MACHINE.test(text), () => `a message says “${message}”`);
}

/** Every feature at an offset of the text. */
export function allAt(read: Read, offset: number): void {
  const { workspace, understood, findings } = read;
  const { syntax } = understood.file;
  const { text } = syntax;
  const position = positionOf(text, offset);
  const whole: Range = { start: { line: 0, character: 0 }, end: positionOf(text, text.length) };
  const here: Range = { start: position, end: position };

  for (const { range, message, relatedInformation } of diagnostics(workspace, findings, undefined)) {
    inText(text, range, 'a finding');
    speaks(text, typeof message === 'string' ? message : message.value);
    for (const { location } of relatedInformation ?? [])
      inText(workspace.files.get(location.uri)?.syntax.text ?? '', location.range, 'a related place');
  }
  const shown = hover(understood, position);
  if (shown?.range) inText(text, shown.range, 'a hover');
  for (const item of completion(workspace, understood, position, { snippets: offset % 2 === 0 }).items.slice(0, 40)) {
    const own = item.textEdit as TextEdit;
    inText(text, own.range, `the completion ${item.label}`);
    applied(text, [own, ...(item.additionalTextEdits ?? [])]);
    resolveCompletion(workspace, item);
  }
  for (const { targetUri, targetRange } of [
    ...definition(workspace, understood, position),
    ...typeDefinition(understood, position),
  ])
    inText(workspace.files.get(targetUri)?.syntax.text ?? '', targetRange, 'a definition');
  for (const { uri, range } of references(workspace, understood, position, true))
    inText(workspace.files.get(uri)?.syntax.text ?? '', range, 'a reference');
  for (const { range } of documentHighlights(understood, position)) inText(text, range, 'a highlight');
  for (const { range } of documentLinks(workspace, understood)) inText(text, range, 'a link');
  const lines = text.split(/\r\n|\n|\r/).length;
  for (const { startLine, endLine } of foldingRanges(syntax))
    must(startLine >= 0 && startLine < endLine && endLine < lines, () => `a fold from ${startLine} to ${endLine}`);
  for (const selection of selectionRanges(syntax, [position])) nested(text, selection);
  for (const range of linkedEditing(understood, position)?.ranges ?? []) inText(text, range, 'a linked name');
  for (const symbol of documentSymbols(understood)) {
    inText(text, symbol.range, 'a symbol');
    inText(text, symbol.selectionRange, 'a symbol');
    must(symbol.name !== '', () => 'a symbol without a name');
  }
  workspaceSymbols(workspace, text.slice(offset, offset + 3));

  const prepared = preparePathRename(workspace, understood, position) ?? prepareRename(workspace, understood, position);
  if (!('refused' in prepared)) inText(text, prepared.range, 'a name');
  for (const newName of ['Other', 'task', 'a "b"', 'new.taskplan']) {
    const edit =
      renamePath(workspace, understood, position, newName, true) ?? rename(workspace, understood, position, newName);
    if (!('refused' in edit)) editsApply(read, edit.changes, `the rename to ${newName}`);
  }
  editsApply(read, willRenameFiles(workspace, [{ oldUri: CLUB, newUri: `${ROOT}/b/c.taskplan` }]).changes, 'a path');

  const tokens = tokensOf(understood);
  const textLines = text.split(/\r\n|\n|\r/);
  let [line, character, end] = [0, 0, 0];
  for (let i = 0; i < tokens.length; i += 5) {
    const [down, along, length] = tokens.slice(i, i + 3) as [number, number, number];
    if (down > 0) end = 0;
    character = down === 0 ? character + along : along;
    line += down;
    must(length > 0 && character >= end, () => `a colour at ${line}:${character} overlaps the one before`);
    end = character + length;
    must(end <= (textLines[line]?.length ?? -1), () => `a colour at ${line}:${character} leaves its line`);
  }
  deltaOf(tokens, tokensOf(understood, { start: whole.start, end: position }));
  const hints = hintOptions({ course: true, time: true });
  for (const hint of inlayHints(workspace, understood, whole, hints))
    inText(text, { start: hint.position, end: hint.position }, 'a hint');
  for (const { range } of codeLenses(workspace, understood)) inText(text, range, 'a lens');
  for (const { title, edit } of codeActions(workspace, understood, here, findings, [''])) {
    editsApply(read, edit?.changes, title);
    speaks(text, title);
  }

  const formatted = formatFile(syntax);
  const edits = formatDocument(understood);
  for (const { range } of edits) inText(text, range, 'a formatting edit');
  if (!understood.file.notText && !('refused' in formatted))
    must(applied(text, edits) === formatted.text, () => 'the edits do not make the formatted text');
  applied(text, formatRange(understood, { start: whole.start, end: position }));
  for (const typed of ['\n', ' ']) applied(text, formatOnType(understood, position, typed));
}

/** All that is said of a text, in plain values. */
export function saidOf({ workspace, understood, findings }: Read): string {
  return JSON.stringify({
    budget: budgetJson(understood.tasks, PLAN, []),
    tokens: tokensOf(understood),
    symbols: documentSymbols(understood),
    findings: findings.map(({ code, severity, message, at, related }) => [
      code,
      severity,
      message,
      rangeOf(workspace, at),
      related.map((one) => [one.message, rangeOf(workspace, one.at)]),
    ]),
  });
}

/** Every check of a text, the features at some offsets, and the text as an edit of another. */
export function holds(text: string, offsets: readonly number[], before?: string): void {
  reads(text);
  if (!text.includes('\0')) formats(text);
  const fresh = understoodText(text);
  computes(fresh);
  for (const offset of offsets) allAt(fresh, Math.abs(offset) % (text.length + 1));
  const { tasks, units } = fresh.understood;
  budgetMarkdown(tasks, units);
  if (before === undefined) return;
  readsAlike(text, before);
  const edited = understoodText(text, before);
  must(saidOf(edited) === saidOf(fresh), () => `after an edit it is told otherwise than afresh, from:\n${before}`);
  const old = understoodText(before);
  const side = ({ workspace, understood, findings }: Read) => [{ name: 'plan', workspace, understood, findings }];
  compareMarkdown(compare(side(old), side(fresh)));
  must(isNothing(compare(side(fresh), side(edited))), () => 'compared with itself it differs');
}
