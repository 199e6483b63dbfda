import type { Unreadable } from '../plan/workspace.ts';
import { pathLines } from './file-missing.ts';
import { quoted, type Rule } from './rule.ts';

/** What is told by this rule, and how; the other reasons have rules of their own. */
const REASONS: Partial<Record<Unreadable, string>> = {
  folder: 'is a folder, and a plan is wanted. Write the path of a file in it.',
  special: 'is a pipe, a device or a link in a circle, and a plan is wanted. Correct the path.',
  denied: 'is there, but may not be read. Ask whoever owns the file to let you read it.',
  'too-large': 'is larger than any plan. Split the file, or look whether it is a plan at all.',
  'not-text': 'is not text, so it is no plan. Correct the path, or save the file as UTF-8 text.',
};

/** A `use` line whose file is there and cannot be read. */
export const fileUnreadable: Rule = {
  code: 'file-unreadable',
  severity: 'error',
  title: 'A file that is used cannot be read',
  page: {
    means:
      'The file that the line leads to is there, but cannot be read as a plan: it is a folder, a pipe or the like, may not be read, is far too large, or is not text.',
    why: 'Whatever the file defines is not known here. A task that names its fields or its reserve has no heights, and looks unplanned though it was planned.',
    bad: 'use "photo.taskplan"\n\nreserve Training\n  arrive 1000 ft AGL\n',
    good: 'use "club.taskplan"\n\nreserve Careful\n  arrive 1000 ft AGL\n',
    turnDown: 'It is not turned down: correct the path, or make the file readable.',
  },
  *file(context) {
    const { workspace, understood } = context;
    for (const { entry, span, path, target } of pathLines(context)) {
      if (target === undefined) continue;
      const why = workspace.files.get(target)?.notText ? 'not-text' : workspace.unreadable.get(target);
      const reason = why && REASONS[why];
      if (reason) yield { at: { uri: understood.file.uri, entry, span }, message: `${quoted(path)} ${reason}` };
    }
  },
};
