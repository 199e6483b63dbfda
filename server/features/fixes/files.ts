/** Fixes for `use` lines and the entries that files share: paths that lead nowhere, circles, and what nothing needs. */
import type { EntrySyntax } from '../../../grammar/syntax.ts';
import { linesOf } from '../../../grammar/syntax.ts';
import { keptFor } from '../../plan/last-few.ts';
import { nearest } from '../../plan/nearest.ts';
import { unitsIn } from '../../plan/understand.ts';
import { fileName, linksOf, resolvePath, someOf, type UseLink, type Workspace } from '../../plan/workspace.ts';
import { choicesIn } from '../../rules/defined-twice.ts';
import type { Finding } from '../../rules/rule.ts';
import { removeEntry } from './blocks.ts';
import { detailLine, type Edit, insertBelow, replaceAt, spotOf } from './edit.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import { relativePath, usable } from './paths.ts';
import { shownName, shownText } from './writing.ts';

function linkOf({ at }: Finding, { workspace, understood }: FixContext): UseLink | undefined {
  return linksOf(workspace, understood.file).find(({ entry }) => entry === at.entry);
}

/** Takes the whole entry of a finding out. */
function without({ at }: Finding, { understood }: FixContext): Edit[] {
  const edit = removeEntry(at.uri, understood.file.syntax, at.entry);
  return edit ? [edit] : [];
}

function written(finding: Finding, { workspace }: FixContext, path: string): Fix | undefined {
  if (/["\r\n]/.test(path)) return undefined;
  return { title: `Write ${shownText(path)}`, edits: replaceAt(workspace, finding.at, `"${path}"`) };
}

/** Paths to the known files whose names are nearest to the last part of a path. */
function nearestFiles(path: string, uri: string, workspace: Workspace): string[] {
  const last = path.slice(Math.max(path.lastIndexOf('/'), path.lastIndexOf('\\')) + 1);
  const files = usable(workspace, uri);
  const names = nearest(last, new Set(files.map((file) => fileName(file.uri))), 2);
  return names
    .flatMap((name) => files.filter((file) => fileName(file.uri) === name))
    .flatMap((file) => relativePath(workspace, uri, file.uri) ?? [])
    .slice(0, 3);
}

/** A path that leads to no file: written as paths are, to a file that is there, or to one that is made. */
export const pathToFile: Fixer = function* (finding, context) {
  const { workspace, understood } = context;
  const { uri } = finding.at;
  const node = finding.at.entry.head?.slots['path'];
  if (node?.kind !== 'text') return;
  const path = node.text;
  const link = linkOf(finding, context);
  if (link?.fault === 'itself') {
    yield { title: 'Take the line out', edits: without(finding, context), preferred: true };
    return;
  }
  const slashes = path.replaceAll('\\', '/');
  if (path !== slashes && 'uri' in resolvePath(uri, slashes, workspace.roots)) {
    const fix = written(finding, context, slashes);
    if (fix) yield { ...fix, preferred: true, safe: true };
    return;
  }
  // A plan has one ending, in small letters; it may have been left off.
  const ending = /\.taskplan$/i.test(path) ? path.replace(/\.taskplan$/i, '.taskplan') : `${path}.taskplan`;
  const there = resolvePath(uri, ending, workspace.roots);
  const known = ending !== path && 'uri' in there && workspace.files.has(there.uri) ? [ending] : [];
  const near = known.length > 0 ? known : nearestFiles(slashes, uri, workspace);
  for (const other of near) {
    const fix = written(finding, context, other);
    if (fix) yield { ...fix, preferred: near.length === 1 };
  }
  if (link?.target !== undefined && context.createFiles)
    yield {
      title: `Create ${shownName(fileName(link.target))}`,
      edits: [],
      created: [{ uri: link.target, text: '' }],
    };
  if (near.length === 0 && understood.file.uri === uri)
    yield { title: 'Take the line out', edits: without(finding, context) };
};

/** A file that uses this one in turn: this `use` goes. */
export const outOfCircle: Fixer = (finding, context) => {
  const link = linkOf(finding, context);
  return link ? [{ title: `No longer use ${shownText(link.path)}`, edits: without(finding, context) }] : [];
};

/** What nothing names goes, with the remarks that speak of it. */
export const unused: Fixer = (finding, context) => {
  const { entry } = finding.at;
  const edits = without(finding, context);
  const keyword = entry.form?.keyword;
  const title =
    keyword === 'use'
      ? `No longer use ${shownText(linkOf(finding, context)?.path ?? '')}`
      : `Take the ${keyword} ${shownName(entry.name?.text ?? '')} out`;
  return [{ title, edits, preferred: true }];
};

const gists = new WeakMap<EntrySyntax, string>();

/** What an entry says, whatever its layout and its remarks. */
function gist(entry: EntrySyntax): string {
  return keptFor(gists, entry, () =>
    linesOf(entry)
      .map((line) => line.tokens.map((tok) => tok.image).join(' '))
      .join('\n'),
  );
}

/** A second `units` entry: the lines that count go into the first one, and it goes itself. */
function unitsTogether(finding: Finding, context: FixContext): Fix[] {
  const { entry } = finding.at;
  const { file } = context.understood;
  const before = unitsIn(file.syntax).slice(0, unitsIn(file.syntax).indexOf(entry));
  const first = before[0] && spotOf(context.workspace, file.uri, before[0]);
  if (!first) return [];
  const counting = new Set(before.flatMap(choicesIn).map(({ form }) => form));
  const rows = choicesIn(entry).flatMap(({ form, slots: { unit } }) => {
    if (!form || counting.has(form) || unit?.kind !== 'unit') return [];
    counting.add(form);
    return [detailLine(first.placed.syntax, form.id, unit.text)];
  });
  const edits = without(finding, context);
  if (rows.length > 0) edits.push(insertBelow(first, first.placed.syntax.details.at(-1), rows));
  const title = rows.length > 0 ? 'Put what counts into the first `units`' : 'Take this `units` out: the first counts';
  return [{ title, edits, preferred: true, safe: before[0] !== undefined && gist(before[0]) === gist(entry) }];
}

/** Two entries of one name that say the same: this one goes. */
export const definedOnce: Fixer = (finding, context) => {
  const { at } = finding;
  const { understood } = context;
  if (at.entry.form?.keyword === 'units') return unitsTogether(finding, context);
  const namespace = at.entry.form?.namespace;
  if (!namespace || !at.entry.name) return [];
  const own = gist(at.entry);
  const sameAs = (entry: EntrySyntax) => entry !== at.entry && gist(entry) === own;
  if (!someOf(understood.scope, namespace, at.entry.name.text, sameAs)) return [];
  return [
    {
      title: `Take this ${shownName(at.entry.name.text)} out: the other says the same`,
      edits: without(finding, context),
      preferred: true,
      safe: true,
    },
  ];
};
