import { linksOf, reaches, type Workspace } from '../plan/workspace.ts';
import { fileName } from './file-missing.ts';
import { quoted, type Related, type Rule } from './rule.ts';

/** The shortest way by `use` lines from one file to another: the lines on it, as places. */
function wayBack(workspace: Workspace, from: string, to: string): Related[] {
  const came = new Map<string, { readonly via: string | undefined; readonly line: Related | undefined }>([
    [from, { via: undefined, line: undefined }],
  ]);
  const queue = [from];
  for (const uri of queue) {
    const file = workspace.files.get(uri);
    for (const { target, entry, line } of file ? linksOf(workspace, file) : []) {
      if (target === undefined || came.has(target)) continue;
      const message = `${fileName(uri)} uses ${fileName(target)} here`;
      came.set(target, { via: uri, line: { at: { uri, entry, span: line.span }, message } });
      queue.push(target);
    }
  }
  const way: Related[] = [];
  for (let step = came.get(to); step?.line; step = step.via === undefined ? undefined : came.get(step.via))
    way.unshift(step.line);
  return way;
}

/** A `use` line whose file brings in this one again. */
export const useCycle: Rule = {
  code: 'use-cycle',
  severity: 'error',
  title: 'Files use each other in a circle',
  page: {
    means:
      'The file that is used here uses this one in turn, directly or through others. Nothing breaks: every file is read once. But which file rests on which can no longer be told.',
    why: 'A club keeps its fields in one file and its tasks in others, so that a change to a field is made once. In a circle a change anywhere may change the heights everywhere, and no reviewer can see how far it goes.',
    bad: 'use "round.taskplan"\n\nreserve Training\n  arrive 1000 ft AGL\n',
    good: 'use "club.taskplan"\n\nreserve Careful\n  arrive 1000 ft AGL\n',
    turnDown: 'It is not turned down: take out one `use` of the circle, and move what both files need into a third.',
  },
  *file({ workspace, understood }) {
    const { file } = understood;
    for (const { entry, span, target, path } of linksOf(workspace, file)) {
      if (target === undefined || !reaches(workspace, target, file.uri)) continue;
      const way = wayBack(workspace, target, file.uri);
      const through = way.length > 1 ? `, through ${way.length - 1} other${way.length > 2 ? 's' : ''}` : '';
      yield {
        at: { uri: file.uri, entry, span },
        message: `${quoted(path)} uses this file in turn${through}. Take out one \`use\` of the circle, and move what both need into a file of its own.`,
        related: way,
      };
    }
  },
};
