import { picking } from '../../grammar/pick.ts';
import type { EntrySyntax, LineSyntax, Span } from '../../grammar/syntax.ts';
import { meaningOf } from '../plan/meaning.ts';
import { linksOf, type PathFault, resolvePath } from '../plan/workspace.ts';
import { type FileContext, quoted, type Rule } from './rule.ts';

/** A `use` or `terrain` line whose path can be read, and why it leads nowhere or to what. */
export interface PathLine {
  readonly entry: EntrySyntax;
  readonly line: LineSyntax;
  readonly path: string;
  readonly span: Span;
  readonly keyword: 'use' | 'terrain';
  readonly target: string | undefined;
  readonly fault: PathFault | undefined;
}

const terrainsIn = picking(({ form }) => form?.keyword === 'terrain');

/** The path lines of the file, but those whose writing is at fault already. */
export function pathLines({ workspace, understood }: FileContext): PathLine[] {
  const { file } = understood;
  const lines: PathLine[] = linksOf(workspace, file).map((link) => ({ ...link, keyword: 'use' as const }));
  for (const syntax of terrainsIn(file.syntax)) {
    const meaning = meaningOf(syntax);
    if (meaning.kind !== 'terrain' || !meaning.path) continue;
    const { value: path, line, span } = meaning.path;
    const resolved = resolvePath(file.uri, path, workspace.roots);
    const fault = 'fault' in resolved ? resolved.fault : undefined;
    lines.push({ entry: meaning.entry, line, path, span, keyword: 'terrain', target: undefined, fault });
  }
  return lines.filter(({ line }) => !line.problems.some(({ kind }) => kind === 'text-unclosed'));
}

/** The last part of a URI, as a reader knows the file. */
export function fileName(uri: string): string {
  const last = uri.slice(uri.lastIndexOf('/') + 1);
  try {
    return decodeURIComponent(last);
  } catch {
    return last;
  }
}

function message({ path, fault, keyword, target }: PathLine): string | undefined {
  const written = quoted(`${keyword} "${path}"`);
  const example = keyword === 'use' ? '`use "club/fields.taskplan"`' : '`terrain "terrain"`';
  switch (fault) {
    case 'empty':
      return `the path is empty: write where the ${keyword === 'use' ? 'file' : 'folder'} lies as seen from this file, such as ${example}.`;
    case 'backslash':
      return `${quoted(path)} has backslashes. Write ${quoted(path.replaceAll('\\', '/'))}.`;
    case 'absolute':
      return `${quoted(path)} holds on one computer only. Write the path as seen from this file, such as ${example}.`;
    case 'ending':
      return /\.taskplan$/i.test(path)
        ? `${quoted(path)} does not end in \`.taskplan\`, in small letters. Name the file so, here and on disk.`
        : `${quoted(path)} does not end in \`.taskplan\`. Write the name of a plan, such as ${example}.`;
    case 'itself':
      return `${written} leads to this file itself, which knows its own entries. Take the line out.`;
    default:
      return target === undefined
        ? undefined
        : `${quoted(path)} is not there: no file lies at that path as seen from this one. Correct the path, or add the file.`;
  }
}

/** A `use` line that leads to no file. */
export const fileMissing: Rule = {
  code: 'file-missing',
  severity: 'error',
  title: 'A path leads to no file',
  page: {
    means:
      'The path leads to no file: there is none at that place, or the path is not written as paths are, relative to this file and with `/`.',
    why: 'The fields, the aircraft and the reserve of the club mostly stand in such a file. Without it the names in the task mean nothing, and no height is computed.',
    bad: 'use "clubb.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft MSL\n  finish   Ashmoor\n',
    good: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft MSL\n  finish   Ashmoor\n',
    turnDown: 'It is not turned down: correct the path, add the file, or take the line out.',
  },
  *file(context) {
    const { workspace, understood } = context;
    for (const link of pathLines(context)) {
      const missing = link.target !== undefined && workspace.unreadable.get(link.target) === 'missing';
      if ((link.fault === undefined && !missing) || link.fault === 'outside') continue;
      const text = message(link);
      if (text) yield { at: { uri: understood.file.uri, entry: link.entry, span: link.span }, message: text };
    }
  },
};
