import { pathLines } from './file-missing.ts';
import { quoted, type Rule } from './rule.ts';

/** A path that leads out of the folders that are open. */
export const useOutside: Rule = {
  code: 'use-outside',
  severity: 'error',
  title: 'A path leads outside the workspace',
  page: {
    means:
      'The path leads out of the folders that are open, or a symbolic link does. Such a file is not read: a plan sees only what lies with it. In a browser nothing tells where a link leads, so that any counts as one that leads out.',
    why: 'A plan that needs a file from elsewhere has other fields and other reserves on the next computer, or none. What a reviewer approved is then not what is flown.',
    bad: 'use "../../elsewhere.taskplan"\n\nreserve Training\n  arrive 1000 ft AGL\n',
    good: 'use "club.taskplan"\n\nreserve Careful\n  arrive 1000 ft AGL\n',
    turnDown: 'It is not turned down: move the file into the workspace, or open the folder that holds both.',
  },
  *file(context) {
    const { workspace, understood } = context;
    const { uri } = understood.file;
    for (const { entry, span, path, target, fault, keyword } of pathLines(context)) {
      if (fault !== 'outside' && (target === undefined || workspace.unreadable.get(target) !== 'outside')) continue;
      const what = keyword === 'use' ? 'file' : 'folder';
      let message = `${quoted(path)} leads outside the workspace and is not read. Move the ${what} into it, or open the folder that holds both.`;
      if (uri.startsWith('untitled:'))
        message = `${quoted(path)} leads nowhere as long as this plan is not saved: the path starts where the plan lies. Save it first.`;
      else if (fault !== 'outside')
        message = `${quoted(path)} goes through a symbolic link that leads outside the workspace, or may, and is not read. Put the ${what} itself in its place.`;
      yield { at: { uri, entry, span }, message };
    }
  },
};
